/* The lesson on the wall (mistara/pages.h): one thing a slide. */
#include "parts.h"

static void first_slide(struct setting *s)
{
    struct mst_words words = {.style = MST_WORDS_BOLD,
                              .align = MST_WORDS_CENTRE,
                              .size = 40,
                              .x = setting_left(s),
                              .y = 0.34 * s->page.height,
                              .width = setting_width(s)};
    mst_leaves_turn(s->leaves);
    words.text = title_of(s, MST_LANG_AR);
    if (s->ar)
        words.y = mst_leaf_words(s->leaves, &words) + 10;
    words.text = title_of(s, MST_LANG_EN);
    if (s->en)
        words.y = mst_leaf_words(s->leaves, &words) + 10;
    words.text = s->handout->class_line;
    words.style = MST_WORDS_PLAIN;
    words.size = 18;
    words.soft = 1;
    mst_leaf_words(s->leaves, &words);
}

static void rule_slides(struct setting *s)
{
    mst_leaves_turn(s->leaves);
    double y = heading(s, title_of(s, MST_LANG_EN), title_of(s, MST_LANG_AR), s->page.top);
    explanation(s, y);
    /* the mouth large, on slides of its own */
    for (int n = 0, rows = mouths_count(s); n < rows; n++) {
        mst_leaves_turn(s->leaves);
        y = heading(s, title_of(s, MST_LANG_EN), title_of(s, MST_LANG_AR), s->page.top);
        mouths(s, n, 1, y, s->page.height - s->page.bottom - y);
    }
}

static enum mst_status examples(struct setting *s, struct mst_error *err)
{
    const struct mst_handout *h = s->handout;
    for (size_t i = 0; i < h->example_count; i++) {
        struct example e;
        enum mst_status status =
            example_set(s, h->examples[i], 1.3 * s->page.type_size, setting_width(s), &e, err);
        if (status != MST_OK)
            return status;
        mst_leaves_turn(s->leaves);
        example_lay(s, &e, (s->page.height - (e.bottom - e.top)) / 2, 1);
        struct mst_words where = {.text = mst_span_of(e.where),
                                  .align = MST_WORDS_CENTRE,
                                  .size = s->size * 0.85,
                                  .x = setting_left(s),
                                  .y = s->page.height - s->page.bottom - s->size * 1.4,
                                  .width = setting_width(s),
                                  .soft = 1};
        mst_leaf_words(s->leaves, &where);
    }
    return MST_OK;
}

/* The rules the class knows, one a line. */
static void known_slide(struct setting *s, struct mst_rule_set known)
{
    mst_leaves_turn(s->leaves);
    double y = heading(s, MST_SPAN("What we know"), MST_SPAN("مراجعة"), s->page.top);
    double room = s->page.height - s->page.bottom;
    for (int r = 0; r < MST_RULE_COUNT && y + 1.8 * s->size < room; r++)
        if (mst_rule_set_has(known, (enum mst_rule)r))
            y = words_both(s, mst_span_of(mst_rule_name((enum mst_rule)r, MST_LANG_EN)),
                           mst_span_of(mst_rule_name((enum mst_rule)r, MST_LANG_AR)),
                           MST_WORDS_PLAIN, s->size, y);
}

static struct setting on_the_wall(struct mst_typeset *ts, const struct mst_text *text,
                                  const struct mst_handout *look, struct mst_arena *arena)
{
    return (struct setting){.ts = ts,
                            .text = text,
                            .handout = look,
                            .arena = arena,
                            .page = mst_page_slide(),
                            .size = 20};
}

enum mst_status mst_recap_slides_new(struct mst_typeset *ts, const struct mst_text *text,
                                     const struct mst_handout *look, struct mst_rule_set known,
                                     struct mst_arena *arena, struct mst_sheet **out,
                                     struct mst_error *err)
{
    struct setting s = on_the_wall(ts, text, look, arena);
    *out = NULL;
    enum mst_status status = setting_open(&s, err);
    if (status == MST_OK)
        first_slide(&s);
    if (status == MST_OK && known.bits)
        known_slide(&s, known);
    return setting_close(&s, status, out, err);
}

enum mst_status mst_rule_slides_new(struct mst_typeset *ts, const struct mst_text *text,
                                    const struct mst_handout *look, struct mst_arena *arena,
                                    struct mst_sheet **out, struct mst_error *err)
{
    struct setting s = on_the_wall(ts, text, look, arena);
    *out = NULL;
    enum mst_status status = setting_open(&s, err);
    if (status == MST_OK)
        rule_slides(&s);
    return setting_close(&s, status, out, err);
}

enum mst_status mst_slides_new(struct mst_typeset *ts, const struct mst_text *text,
                               const struct mst_handout *handout, struct mst_arena *arena,
                               struct mst_sheet **out, struct mst_error *err)
{
    struct setting s = on_the_wall(ts, text, handout, arena);
    *out = NULL;
    enum mst_status status = setting_open(&s, err);
    if (status == MST_OK) {
        first_slide(&s);
        rule_slides(&s);
        status = examples(&s, err);
    }
    if (status == MST_OK)
        status = passage_append(&s, PASSAGE_TAUGHT, err);
    if (status == MST_OK)
        status = passage_append(&s, PASSAGE_KEY, err);
    return setting_close(&s, status, out, err);
}
