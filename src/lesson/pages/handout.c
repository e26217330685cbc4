/* The handout on paper (mistara/pages.h): from top to bottom, page by page. */
#include "parts.h"

static const char *const examples_title[] = {"Examples", "أمثلة"};
static const char *const write_title[] = {"Write down the places you found, and how each is read",
                                          "اكتب المواضع التي وجدتها وكيف يُقرأ كل منها"};

static enum mst_status first_page(struct setting *s)
{
    const struct mst_handout *h = s->handout;
    page_turn(s);
    double y = words_both(s, title_of(s, MST_LANG_EN), title_of(s, MST_LANG_AR), MST_WORDS_BOLD,
                          s->size * 2, s->page.top);
    y = class_line(s, h->class_line, y);
    mst_leaf_line(s->leaves, setting_left(s), y + 4, setting_left(s) + setting_width(s), y + 4);
    y = explanation(s, y + s->size * 1.4);
    mouths(s, 0, mouths_count(s), y, setting_bottom(s) - y);
    return MST_OK;
}

static double examples_head(struct setting *s)
{
    page_turn(s);
    return heading(s, mst_span_of(examples_title[0]), mst_span_of(examples_title[1]), s->page.top);
}

static enum mst_status examples(struct setting *s, struct mst_error *err)
{
    const struct mst_handout *h = s->handout;
    double room = setting_bottom(s), y = room + 1;
    for (size_t i = 0; i < h->example_count; i++) {
        struct example e;
        enum mst_status status =
            example_set(s, h->examples[i], s->page.type_size, setting_width(s), &e, err);
        if (status != MST_OK)
            return status;
        double height = e.bottom - e.top;
        if (y + height + s->size * 4 > room)
            y = examples_head(s);
        struct mst_words where = {.text = mst_span_of(e.where),
                                  .size = s->size * 0.85,
                                  .x = setting_left(s),
                                  .y = y + height - s->size,
                                  .width = 80,
                                  .soft = 1};
        mst_leaf_words(s->leaves, &where);
        example_lay(s, &e, y, 0);
        y += height + s->size * 2.4; /* a line to write on */
        mst_leaf_line(s->leaves, setting_left(s), y, setting_left(s) + setting_width(s), y);
        y += s->size * 1.2;
    }
    return MST_OK;
}

static void space_to_write(struct setting *s)
{
    page_turn(s);
    double y = heading(s, mst_span_of(write_title[0]), mst_span_of(write_title[1]), s->page.top);
    for (y += 26; y < setting_bottom(s); y += 26)
        mst_leaf_line(s->leaves, setting_left(s), y, setting_left(s) + setting_width(s), y);
}

enum mst_status mst_handout_new(struct mst_typeset *ts, const struct mst_text *text,
                                const struct mst_handout *handout, struct mst_arena *arena,
                                struct mst_sheet **out, struct mst_error *err)
{
    struct setting s = {.ts = ts, .text = text, .handout = handout, .arena = arena, .size = 12};
    s.page = handout->page.width > 0 ? handout->page : mst_page_a4();
    *out = NULL;
    enum mst_status status = setting_open(&s, err);
    if (status == MST_OK)
        status = first_page(&s);
    if (status == MST_OK)
        status = examples(&s, err);
    if (status == MST_OK)
        status = passage_append(&s, PASSAGE_TAUGHT, err);
    if (status == MST_OK) {
        space_to_write(&s);
        status = passage_append(&s, PASSAGE_KEY, err);
    }
    return setting_close(&s, status, out, err);
}
