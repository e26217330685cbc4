/*
 * Questions on paper and their key (mistara/pages.h). A question is never
 * parted: what does not fit below goes to the next page. Options that are
 * names stand in a line of their own each; options that are verses are set in
 * the type of scripture.
 */
#include "parts.h"

#include <stdio.h>

struct laid {
    struct setting *s;
    double y;
    int draw; /* else only measured */
};

static void both(struct laid *at, struct mst_span en, struct mst_span ar,
                 enum mst_words_style style)
{
    at->y = at->draw ? words_both(at->s, en, ar, style, at->s->size, at->y)
                     : words_both_end(at->s, en, ar, style, at->s->size, at->y);
}

static struct mst_span made(struct setting *s, char *text)
{
    s->failed |= text == NULL;
    return mst_span_of(text ? text : "");
}

/* A line across both languages, from the left. */
static void note(struct laid *at, const char *text, double indent)
{
    struct setting *s = at->s;
    struct mst_words words = {.text = mst_span_of(text),
                              .size = s->size * 0.9,
                              .x = setting_left(s) + indent,
                              .y = at->y,
                              .width = setting_width(s) - indent,
                              .soft = 1};
    at->y = at->draw ? mst_leaf_words(s->leaves, &words) : mst_leaf_words_end(s->leaves, &words);
}

static enum mst_status verse(struct laid *at, struct mst_range range, const char *label,
                             double type, struct mst_error *err)
{
    struct setting *s = at->s;
    struct example e;
    double indent = label ? s->size * 2 : 0;
    enum mst_status status = example_set(s, range, type, setting_width(s) - indent, &e, err);
    if (status != MST_OK)
        return status;
    double height = e.bottom - e.top;
    if (at->draw && label) {
        struct mst_words words = {.text = mst_span_of(label),
                                  .style = MST_WORDS_BOLD,
                                  .size = s->size,
                                  .x = setting_left(s),
                                  .y = at->y + height / 2 - s->size * 0.7,
                                  .width = indent};
        mst_leaf_words(s->leaves, &words);
    }
    if (at->draw)
        example_lay(s, &e, at->y, 0);
    at->y += height + s->size * 0.7;
    return MST_OK;
}

/* --- a question ------------------------------------------------------------------------ */

static void writing_line(struct laid *at)
{
    struct setting *s = at->s;
    at->y += s->size * 1.6;
    if (at->draw)
        mst_leaf_line(s->leaves, setting_left(s), at->y, setting_left(s) + setting_width(s), at->y);
    at->y += s->size * 0.5;
}

static void options_of_words(struct laid *at, const struct mst_question *q)
{
    struct setting *s = at->s;
    const char *const box = q->kind == MST_ASK_ORDER ? "___ " : "";
    for (int32_t n = 0; n < q->option_count; n++) {
        char letter = (char)('a' + n);
        both(at, made(s, mst_arena_printf(s->arena, "%s%c) %s", box, letter, q->options[n].en)),
             made(s, mst_arena_printf(s->arena, "\u200f%s(%c) %s", box, letter, q->options[n].ar)),
             MST_WORDS_PLAIN);
        at->y += s->size * 0.15;
    }
}

static enum mst_status question(struct laid *at, size_t number, const struct mst_question *q,
                                struct mst_error *err)
{
    struct setting *s = at->s;
    enum mst_status status = MST_OK;
    char where[96], text[128];
    both(at, made(s, mst_arena_printf(s->arena, "\u200e%zu. %s", number, q->prompt_en)),
         made(s, mst_arena_printf(s->arena, "\u200f%zu. %s", number, q->prompt_ar)),
         MST_WORDS_BOLD);
    at->y += s->size * 0.5;
    if (q->translation) {
        note(at, q->translation, s->size);
        at->y += s->size * 0.4;
    }
    if (q->verse) {
        status = verse(at, q->range, NULL, s->page.type_size, err);
        snprintf(text, sizeof text, "%s", mst_range_print(q->range, where));
        note(at, text, 0);
    }
    int of_verses = q->option_count > 0 && q->options[0].range.first.sura != 0;
    if (!of_verses)
        options_of_words(at, q);
    for (int32_t n = 0; status == MST_OK && of_verses && n < q->option_count; n++) {
        char label[8];
        snprintf(label, sizeof label, "%c)", 'a' + (int)n);
        status = verse(at, q->options[n].range, label, s->page.type_size * 0.85, err);
    }
    if (q->option_count == 0 || q->kind == MST_ASK_BOTH)
        writing_line(at);
    at->y += s->size * 1.2;
    return status;
}

/* --- its key --------------------------------------------------------------------------- */

static void letters(uint32_t bits, struct mst_string *out)
{
    int some = 0;
    for (int n = 0; n < 32; n++)
        if (bits >> n & 1u)
            mst_string_addf(out, "%s%c", some++ ? ", " : "", 'a' + n);
    if (!some)
        mst_string_adds(out, "–");
}

static void answer_line(const struct mst_question *q, enum mst_lang lang, struct mst_string *out)
{
    char at[48];
    switch (q->kind) {
    case MST_ASK_MARK:
        for (int32_t n = 0; n < q->place_count; n++)
            mst_string_addf(out, "%s%s", n ? ", " : "", mst_addr_print(q->places[n], at));
        break;
    case MST_ASK_COUNT:
        mst_string_addf(out, "%d", (int)q->place_count);
        break;
    case MST_ASK_BOTH:
        mst_string_adds(out, lang == MST_LANG_AR ? "وصلًا: " : "going on: ");
        letters(q->right, out);
        mst_string_adds(out, lang == MST_LANG_AR ? "؛ وقفًا: " : "; stopping: ");
        letters(q->right_stopping, out);
        break;
    case MST_ASK_ORDER:
        for (int32_t n = 0; n < q->option_count; n++)
            mst_string_addf(out, "%s%c", n ? ", " : "", 'a' + q->order[n]);
        break;
    default:
        letters(q->right, out);
    }
}

static enum mst_status key(struct laid *at, size_t number, const struct mst_question *q,
                           struct mst_error *err)
{
    struct setting *s = at->s;
    struct mst_span lines[2];
    (void)err;
    for (int lang = 0; lang < 2; lang++) {
        struct mst_string line = {0};
        mst_string_addf(&line, "%zu. ", number);
        answer_line(q, lang ? MST_LANG_AR : MST_LANG_EN, &line);
        s->failed |= line.failed;
        lines[lang] = made(s, mst_arena_strndup(s->arena, line.ptr ? line.ptr : "", line.len));
        mst_string_free(&line);
    }
    both(at, lines[0], lines[1], MST_WORDS_BOLD);
    /* a mark of direction first: an English sentence may begin with a word of scripture */
    both(at, made(s, mst_arena_printf(s->arena, "\u200e%s", q->why_en)), mst_span_of(q->why_ar),
         MST_WORDS_PLAIN);
    at->y += s->size * 0.9;
    return MST_OK;
}

/* --- the pages ---------------------------------------------------------------------------- */

static int on_the_wall(const struct setting *s)
{
    return s->page.width > s->page.height;
}

static double head(struct setting *s, const struct mst_question_pages *pages, int is_key)
{
    const struct mst_span en = pages->title_en.len ? pages->title_en : MST_SPAN("Questions"),
                          ar = pages->title_ar.len ? pages->title_ar : MST_SPAN("أسئلة");
    const char *what_en = is_key ? "Key" : "Questions", *what_ar = is_key ? "الإجابات" : "أسئلة";
    char version[2] = {pages->version, 0};
    double y = heading(
        s,
        made(s, mst_arena_printf(s->arena, "%.*s · %s %s", (int)en.len, en.ptr, what_en, version)),
        made(s, mst_arena_printf(s->arena, "%.*s · %s %s", (int)ar.len, ar.ptr, what_ar, version)),
        s->page.top);
    if (pages->class_line.len)
        y = class_line(s, pages->class_line, y) + s->size * 0.4;
    if (!is_key && !on_the_wall(s)) { /* common practice, no source: who answers writes a name */
        y = words_both(s, MST_SPAN("Name:"), MST_SPAN("الاسم:"), MST_WORDS_PLAIN, s->size, y);
        y += s->size * 0.6;
    }
    return y;
}

enum mst_status mst_questions_new(struct mst_typeset *ts, const struct mst_text *text,
                                  const struct mst_question_pages *pages, int is_key,
                                  struct mst_arena *arena, struct mst_sheet **out,
                                  struct mst_error *err)
{
    struct mst_handout like = {.title_en = pages->title_en,
                               .title_ar = pages->title_ar,
                               .rules = mst_sheet_default_rules(),
                               .reading = pages->reading,
                               .labels = pages->labels,
                               .font = pages->font};
    struct setting s = {
        .ts = ts, .text = text, .handout = &like, .arena = arena, .size = 11, .plain = 1};
    s.page = pages->page.width > 0 ? pages->page : mst_page_a4();
    if (on_the_wall(&s))
        s.size = 16;
    enum mst_status (*const set)(struct laid *, size_t, const struct mst_question *,
                                 struct mst_error *) = is_key ? key : question;
    *out = NULL;
    enum mst_status status = setting_open(&s, err);
    if (status != MST_OK)
        return status;
    double bottom = s.page.height - s.page.bottom;
    mst_leaves_turn(s.leaves);
    double y = head(&s, pages, is_key);
    size_t from = pages->first_number ? pages->first_number : 1;
    for (size_t n = 0; status == MST_OK && n < pages->count; n++) {
        struct laid at = {.s = &s, .y = 0};
        status = set(&at, from + n, &pages->questions[n], err);
        if (status == MST_OK && y + at.y > bottom && y > s.page.top) {
            mst_leaves_turn(s.leaves);
            y = s.page.top;
        }
        at = (struct laid){.s = &s, .y = y, .draw = 1};
        if (status == MST_OK)
            status = set(&at, from + n, &pages->questions[n], err);
        y = at.y;
    }
    return setting_close(&s, status, out, err);
}
