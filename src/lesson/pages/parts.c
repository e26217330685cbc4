/* Pieces of a lesson's pages: words, mouths, examples, the passage. */
#include "parts.h"

#include <stdio.h>
#include <string.h>

double setting_left(const struct setting *s)
{
    return s->page.left;
}

double setting_width(const struct setting *s)
{
    return s->page.width - s->page.left - s->page.right;
}

/* Page numbers stand where a sheet has them (page_foot_draw of the sheets). */
static const double NUMBER_ROOM = 2.2, NUMBER_SIZE = 1.05, NUMBER_RISE = 0.175;

double setting_bottom(const struct setting *s)
{
    return s->page.height - s->page.bottom - NUMBER_ROOM * s->page.label_size;
}

void page_turn(struct setting *s)
{
    struct mst_string number = {0};
    char digits[12];
    mst_leaves_turn(s->leaves);
    snprintf(digits, sizeof digits, "%d", mst_leaves_count(s->leaves));
    for (const char *d = digits; *d; d++)
        mst_string_add_cp(&number, s->ar ? 0x660u + (uint32_t)(*d - '0') : (uint32_t)*d);
    double size = NUMBER_SIZE * s->page.label_size,
           baseline = s->page.height - s->page.bottom - NUMBER_RISE * s->page.label_size;
    struct mst_words words = {.text = text_kept(s->arena, &number, &s->failed),
                              .align = MST_WORDS_CENTRE,
                              .size = size,
                              .leading = 1,
                              .y = baseline - 0.58 * size,
                              .width = s->page.width};
    mst_leaf_words(s->leaves, &words);
}

enum mst_status setting_open(struct setting *s, struct mst_error *err)
{
    s->en = s->handout->labels != MST_LABELS_AR;
    s->ar = s->handout->labels != MST_LABELS_EN;
    if (s->handout->rules.bits == 0)
        return mst_fail(err, MST_USAGE, "a handout needs a rule to teach, such as ikhfa");
    return mst_leaves_new(s->ts, s->page, title_of(s, s->en ? MST_LANG_EN : MST_LANG_AR),
                          s->handout->labels, s->arena, &s->leaves, err);
}

enum mst_status setting_close(struct setting *s, enum mst_status status, struct mst_sheet **out,
                              struct mst_error *err)
{
    if (status == MST_OK && s->failed)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the pages");
    return status == MST_OK ? mst_leaves_close(s->leaves, out, err) : status;
}

/* --- words ---------------------------------------------------------------------- */

static double words_in_both(struct setting *s, struct mst_span en, struct mst_span ar,
                            enum mst_words_style style, double size, double y, int draw)
{
    double (*const set)(struct mst_leaves *, const struct mst_words *) =
        draw ? mst_leaf_words : mst_leaf_words_end;
    double width = setting_width(s), column = s->en && s->ar ? (width - size * 2) / 2 : width;
    double end = y, ends;
    struct mst_words words = {
        .text = en, .style = style, .size = size, .x = setting_left(s), .y = y, .width = column};
    if (s->en)
        end = set(s->leaves, &words);
    words.text = ar;
    words.align = MST_WORDS_RIGHT;
    words.x = setting_left(s) + width - column;
    words.size = size * 1.08;
    words.leading = 1.65;
    ends = s->ar ? set(s->leaves, &words) : y;
    return ends > end ? ends : end;
}

double words_both(struct setting *s, struct mst_span en, struct mst_span ar,
                  enum mst_words_style style, double size, double y)
{
    return words_in_both(s, en, ar, style, size, y, 1);
}

double words_both_end(struct setting *s, struct mst_span en, struct mst_span ar,
                      enum mst_words_style style, double size, double y)
{
    return words_in_both(s, en, ar, style, size, y, 0);
}

double class_line(struct setting *s, struct mst_span line, double y)
{
    struct mst_words words = {.text = line,
                              .size = s->size,
                              .x = setting_left(s),
                              .y = y,
                              .width = setting_width(s),
                              .soft = 1};
    return line.len ? mst_leaf_words(s->leaves, &words) : y;
}

double heading(struct setting *s, struct mst_span en, struct mst_span ar, double y)
{
    y = words_both(s, en, ar, MST_WORDS_BOLD, s->size * 1.25, y) + s->size * 0.2;
    mst_leaf_line(s->leaves, setting_left(s), y, setting_left(s) + setting_width(s), y);
    return y + s->size * 0.7;
}

struct mst_span text_kept(struct mst_arena *arena, struct mst_string *text, int *failed)
{
    char *copy = mst_arena_strndup(arena, text->ptr ? text->ptr : "", text->len);
    *failed |= text->failed || !copy;
    struct mst_span span = {copy ? copy : "", copy ? text->len : 0};
    mst_string_free(text);
    return span;
}

struct mst_span title_of(struct setting *s, enum mst_lang lang)
{
    struct mst_span given = lang == MST_LANG_AR ? s->handout->title_ar : s->handout->title_en;
    if (given.len)
        return given;
    struct mst_string names = {0};
    for (int r = 0; r < MST_RULE_COUNT; r++)
        if (mst_rule_set_has(s->handout->rules, (enum mst_rule)r)) {
            if (names.len)
                mst_string_adds(&names, lang == MST_LANG_AR ? "، " : ", ");
            mst_string_adds(&names, mst_rule_name((enum mst_rule)r, lang));
        }
    return text_kept(s->arena, &names, &s->failed);
}

/* In one line, for a page that sets one title. */
static struct mst_span title_both(struct setting *s)
{
    struct mst_span en = title_of(s, MST_LANG_EN), ar = title_of(s, MST_LANG_AR);
    struct mst_string both = {0};
    if (!s->en || !s->ar)
        return s->en ? en : ar;
    mst_string_addf(&both, "%.*s · %.*s", (int)en.len, en.ptr, (int)ar.len, ar.ptr);
    return text_kept(s->arena, &both, &s->failed);
}

double explanation(struct setting *s, double y)
{
    const struct mst_handout *h = s->handout;
    if (h->explain_en.len || h->explain_ar.len)
        y = words_both(s, h->explain_en, h->explain_ar, MST_WORDS_PLAIN, s->size, y) +
            s->size * 0.8;
    else
        for (int r = 0; r < MST_RULE_COUNT; r++) {
            enum mst_rule rule = (enum mst_rule)r;
            if (!mst_rule_set_has(h->rules, rule))
                continue;
            y = words_both(s, mst_span_of(mst_rule_name(rule, MST_LANG_EN)),
                           mst_span_of(mst_rule_name(rule, MST_LANG_AR)), MST_WORDS_BOLD, s->size,
                           y);
            y = words_both(s, mst_span_of(mst_rule_mouth(rule, MST_LANG_EN)),
                           mst_span_of(mst_rule_mouth(rule, MST_LANG_AR)), MST_WORDS_PLAIN, s->size,
                           y) +
                s->size * 0.8;
        }
    return y;
}

/* --- the mouth -------------------------------------------------------------------- */

static double caption(struct setting *s, const struct mst_figure *f, double x, double y,
                      double width)
{
    struct mst_words words = {.text = mst_span_of(f->caption_en),
                              .align = MST_WORDS_CENTRE,
                              .size = s->size * 0.85,
                              .x = x,
                              .y = y,
                              .width = width};
    if (s->en)
        words.y = mst_leaf_words(s->leaves, &words);
    words.text = mst_span_of(f->caption_ar);
    words.size = s->size * 0.95;
    return s->ar ? mst_leaf_words(s->leaves, &words) : words.y;
}

/* A row of pictures; y unchanged when there is no room for them. */
static double row_of_mouths(struct setting *s, const struct mst_figure *figures, int count,
                            double y, double room)
{
    double captions = s->size * 3.4, width = setting_width(s);
    double each = (room - captions) / 1.2, most = width / MST_FIGURES_MAX - s->size;
    each = each > most ? most : each;
    if (each < 60)
        return y;
    double step = width / count, end = y;
    for (int i = 0; i < count; i++) {
        double x = setting_left(s) + step * i;
        mst_leaf_figure(s->leaves, &figures[i], x + (step - each) / 2, y, each);
        double e = caption(s, &figures[i], x, y + each * 1.2, step);
        end = e > end ? e : end;
    }
    return end + s->size * 0.6;
}

/* The pictures of the nth rule of the lesson that has any; 0 past the last. */
static int pictured(const struct setting *s, int nth, struct mst_figure figures[MST_FIGURES_MAX])
{
    for (int r = 0; r < MST_RULE_COUNT; r++) {
        struct mst_card card = {.kind = MST_CARD_RULE, .rule = (enum mst_rule)r};
        int count =
            mst_rule_set_has(s->handout->rules, card.rule) ? mst_card_figures(&card, figures) : 0;
        if (count > 0 && nth-- == 0)
            return count;
    }
    return 0;
}

int mouths_count(const struct setting *s)
{
    struct mst_figure figures[MST_FIGURES_MAX];
    int rows = 0;
    while (pictured(s, rows, figures))
        rows++;
    return rows;
}

double mouths(struct setting *s, int first, int rows, double y, double room)
{
    struct mst_figure figures[MST_FIGURES_MAX];
    for (int n = 0, count; n < rows && (count = pictured(s, first + n, figures)) > 0; n++) {
        double end = row_of_mouths(s, figures, count, y, room / (rows - n));
        room -= end - y;
        y = end;
    }
    return y;
}

/* --- examples ----------------------------------------------------------------------- */

static void reach(struct example *e, double x, double y, double width, double height)
{
    e->left = x < e->left ? x : e->left;
    e->top = y < e->top ? y : e->top;
    e->right = x + width > e->right ? x + width : e->right;
    e->bottom = y + height > e->bottom ? y + height : e->bottom;
}

enum mst_status example_set(struct setting *s, struct mst_range range, double type_size,
                            double width, struct example *out, struct mst_error *err)
{
    struct mst_reading_options how = s->handout->reading;
    struct mst_reading *reading;
    how.stops = MST_STOPS_NONE;
    how.stop_list = NULL;
    how.stop_count = 0;
    how.no_basmala = 1;
    *out = (struct example){.top = 1e9, .left = 1e9, .right = -1e9, .bottom = -1e9};
    enum mst_status status = mst_reading_new(s->text, range, &how, s->arena, &reading, err);
    if (status != MST_OK)
        return status;
    struct mst_sheet_options options = {.page = {.width = width,
                                                 .height = 60 * type_size,
                                                 .top = 10,
                                                 .right = 10,
                                                 .bottom = 10,
                                                 .left = 10,
                                                 .type_size = type_size,
                                                 .label_size = s->size * 0.8},
                                        .font = s->handout->font,
                                        .rules = s->handout->rules,
                                        .stage = s->plain ? MST_FADE_NOTHING : MST_FADE_MARKS,
                                        .no_stops = 1,
                                        .labels = s->handout->labels,
                                        .key = MST_KEY_NONE};
    status = mst_sheet_new(s->ts, reading, &options, s->arena, &out->sheet, err);
    if (status != MST_OK)
        return status;
    size_t count;
    const struct mst_letter_box *boxes = mst_sheet_boxes(out->sheet, &count);
    for (size_t i = 0; i < count; i++)
        if (boxes[i].width > 0)
            reach(out, boxes[i].x, boxes[i].y, boxes[i].width, boxes[i].height);
    const struct mst_mark_box *marks = mst_sheet_marks(out->sheet, &count);
    for (size_t i = 0; i < count; i++)
        reach(out, marks[i].x, marks[i].y, marks[i].width, marks[i].height);
    (void)mst_range_print(range, out->where);
    return MST_OK;
}

void example_lay(struct setting *s, const struct example *e, double y, int middle)
{
    double right = setting_left(s) + setting_width(s);
    double dx = middle ? setting_left(s) + setting_width(s) / 2 - (e->left + e->right) / 2
                       : right - e->right;
    mst_leaf_lay(s->leaves, e->sheet, 0, MST_LAYER_SCRIPTURE | MST_LAYER_MARKS, dx, y - e->top);
}

/* --- the passage ---------------------------------------------------------------------- */

enum mst_status passage_append(struct setting *s, enum passage_as as, struct mst_error *err)
{
    const struct mst_handout *h = s->handout;
    struct mst_reading *reading;
    struct mst_sheet *sheet;
    struct mst_span title =
        as == PASSAGE_KEY ? (s->en ? MST_SPAN("Key: every place · المفتاح") : MST_SPAN("المفتاح"))
                          : title_both(s);
    struct mst_sheet_options options = {.page = s->page,
                                        .font = h->font,
                                        .rules = h->rules,
                                        .title = title,
                                        .class_line = h->class_line,
                                        .labels = h->labels,
                                        .key = MST_KEY_NONE,
                                        .pages_before = mst_leaves_count(s->leaves)};
    if (as == PASSAGE_KEY) {
        options.key = MST_KEY_PAGE;
        options.stage = MST_FADE_NAMES;
    } else if (h->line_stage_count) {
        options.line_stages = h->line_stages;
        options.line_stage_count = h->line_stage_count;
    } else {
        options.fade_evenly = !h->full_marks;
    }
    enum mst_status status =
        mst_reading_new(s->text, h->passage, &h->reading, s->arena, &reading, err);
    if (status == MST_OK)
        status = mst_sheet_new(s->ts, reading, &options, s->arena, &sheet, err);
    if (status == MST_OK)
        mst_leaves_append(s->leaves, sheet);
    return status;
}
