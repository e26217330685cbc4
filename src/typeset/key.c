/* The key: the signs that some lines use, each with its rule's name and how it is read. */
#include "phrase.h"
#include "sheet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NO_RULE = MST_RULE_COUNT };

/* Merging with ghunna may be complete or partial; one specimen of the commoner, complete, kind. */
static int better_specimen(const struct mark *a, const struct mark *b)
{
    return (b->broken && !a->broken) || (a->counts_max == a->counts_min &&
                                         b->counts_max > b->counts_min && a->sign == SIGN_RULER);
}

static void key_add(struct key *key, const struct mark *mark, int32_t rule)
{
    for (int i = 0; i < key->count; i++) {
        struct key_entry *e = &key->entries[i];
        if (e->rule != rule || (rule == NO_RULE && e->like.sign != mark->sign))
            continue;
        if (better_specimen(mark, &e->like))
            e->like = *mark;
        return;
    }
    struct key_entry *e = &key->entries[key->count++];
    e->like = *mark;
    e->like.has_foot = 0;
    e->rule = rule;
}

static int by_rule(const void *a, const void *b)
{
    const struct key_entry *m = a, *n = b;
    if (m->rule != n->rule)
        return m->rule < n->rule ? -1 : 1;
    return (int)m->like.sign - (int)n->like.sign;
}

int key_collect(const struct mst_sheet *sheet, int first_line, int line_count, struct key *out)
{
    const struct mst_reading *r = sheet->reading;
    out->count = 0;
    out->entries =
        mst_arena_alloc(sheet->arena, (size_t)MST_RULE_COUNT + SIGN_COUNT, sizeof *out->entries);
    if (!out->entries)
        return 0;
    for (int n = first_line; n < first_line + line_count; n++) {
        const struct line *line = &sheet->lines[n];
        for (int i = 0; i < line->item_count; i++) {
            int32_t w = line->items[i].word;
            for (int k = 0; w >= 0 && k < r->words[w].letter_count; k++) {
                int32_t first, end;
                mst_sites_at(r, r->words[w].first_letter + k, &first, &end);
                for (; first < end; first++) {
                    struct mark mark;
                    if (sheet_site_mark(sheet, &r->sites[first], &mark))
                        key_add(out, &mark, (int32_t)r->sites[first].rule);
                }
            }
        }
        for (int32_t i = 0; i < line->mark_count; i++) {
            const struct mark *mark = &sheet->marks[line->first_mark + i];
            if (mark->site >= 0 && mark->sign != SIGN_DOT)
                continue;
            key_add(out, mark, NO_RULE);
            if (mark->has_foot) {
                struct mark foot = *mark;
                foot.sign = SIGN_STOP_READER;
                key_add(out, &foot, NO_RULE);
            }
        }
    }
    for (int n = first_line; n < first_line + line_count; n++)
        if (sheet->lines[n].stage == MST_FADE_COUNT) {
            struct mark number = {.sign = SIGN_NUMBER, .ink = INK_PLAIN, .site = -1};
            key_add(out, &number, NO_RULE);
            break;
        }
    qsort(out->entries, (size_t)out->count, sizeof *out->entries, by_rule);
    return 1;
}

static struct mst_span entry_name(const struct key_entry *e, enum mst_lang lang)
{
    return mst_span_of(e->rule == NO_RULE ? sign_meaning(e->like.sign, lang)
                                          : mst_rule_name((enum mst_rule)e->rule, lang));
}

/* A pause sign's name says it all. */
static struct mst_span entry_meaning(const struct key_entry *e, enum mst_lang lang)
{
    return mst_span_of(e->rule == NO_RULE ? "" : sign_meaning(e->like.sign, lang));
}

/* The sign as the key shows it; a number is a number. */
static int draw_specimen(struct mst_sheet *sheet, struct scene *s, const struct mark *like,
                         double em, double x, double y)
{
    struct mst_line three;
    if (like->sign != SIGN_NUMBER) {
        sign_specimen(s, like, em, x, y);
        return 1;
    }
    if (!label_shape(sheet->ts, sheet->arena, mst_span_of("٣"), MST_PRINT_BOLD, em * 0.5, &three))
        return 0;
    s->ink = like->ink;
    label_draw(s, &three, x, y + em * 0.2, LABEL_CENTRE);
    return 1;
}

/* --- at the foot of a page ------------------------------------------------------- */

static const double SPECIMEN_SCALE = 1.9; /* em of a specimen in label sizes */

static int foot_columns(const struct mst_sheet *sheet)
{
    return sheet->options.labels == MST_LABELS_BOTH ? 2 : 3;
}

static double foot_row(const struct mst_sheet *sheet)
{
    return sheet->page.label_size * 2.75;
}

double key_foot_height(const struct mst_sheet *sheet, const struct key *key)
{
    if (key->count == 0)
        return 0;
    int rows = (key->count + foot_columns(sheet) - 1) / foot_columns(sheet);
    return rows * foot_row(sheet) + sheet->page.label_size * 1.4;
}

static int draw_text(struct mst_sheet *sheet, struct scene *s, struct mst_span text,
                     enum mst_print style, double size, double most, double x, double y,
                     enum label_align align, int ink)
{
    struct mst_line label;
    if (text.len == 0)
        return 1;
    if (!label_shape(sheet->ts, sheet->arena, text, style, size, &label))
        return 0;
    if (label.width > most && /* smaller rather than over the edge */
        !label_shape(sheet->ts, sheet->arena, text, style, size * most / label.width, &label))
        return 0;
    s->ink = ink;
    label_draw(s, &label, x, y, align);
    return 1;
}

int key_foot_draw(struct mst_sheet *sheet, struct scene *s, const struct key *key, double top)
{
    double size = sheet->page.label_size, left = sheet->page.left;
    double right = sheet->page.width - sheet->page.right;
    int columns = foot_columns(sheet), rows = (key->count + columns - 1) / columns;
    double cell = (right - left) / columns, specimen = size * SPECIMEN_SCALE;
    s->ink = INK_RULE;
    scene_segment(s, left, top, right, top, 0.4);
    for (int i = 0; i < key->count; i++) {
        /* entries run down the columns, the first column on the right */
        const struct key_entry *e = &key->entries[i];
        double x0 = right - (i / rows + 1) * cell, x1 = x0 + cell - size * 1.2;
        double y = top + size * 1.4 + (i % rows) * foot_row(sheet);
        double box = 3.1 * specimen * 0.6;
        if (!draw_specimen(sheet, s, &e->like, specimen, x1 - box / 2, y + size * 0.25))
            return 0;
        x1 -= box + size * 0.3;
        double room = x1 - x0;
        int both = sheet->options.labels == MST_LABELS_BOTH;
        for (int lang = 0; lang < 2; lang++) {
            if (!sheet_has_language(sheet, (enum mst_lang)lang))
                continue;
            double share = both ? room * (lang == MST_LANG_EN ? 0.58 : 0.40) : room;
            double x = lang == MST_LANG_EN ? x0 : x1;
            enum label_align align = lang == MST_LANG_EN ? LABEL_LEFT : LABEL_RIGHT;
            if (!draw_text(sheet, s, entry_name(e, (enum mst_lang)lang), MST_PRINT_BOLD, size,
                           share, x, y, align, INK_TEXT) ||
                !draw_text(sheet, s, entry_meaning(e, (enum mst_lang)lang), MST_PRINT_PLAIN,
                           size * 0.78, share, x, y + size * 1.1, align, INK_SOFT))
                return 0;
        }
    }
    return 1;
}

/* --- pages of its own --------------------------------------------------------------- */

/* `rows` of the key from entry `from`. */
static int key_page_draw(struct mst_sheet *sheet, struct scene *s, const struct key *key, int from,
                         int rows, double row_height)
{
    double size = sheet->page.label_size, left = sheet->page.left;
    double right = sheet->page.width - sheet->page.right, middle = (left + right) / 2;
    double y = sheet->page.top + size * 2.0;
    if (sheet_has_language(sheet, MST_LANG_EN) &&
        !draw_text(sheet, s, phrase(PHRASE_KEY_TITLE, MST_LANG_EN), MST_PRINT_BOLD, size * 1.7, 1e9,
                   left, y, LABEL_LEFT, INK_TEXT))
        return 0;
    if (sheet_has_language(sheet, MST_LANG_AR) &&
        !draw_text(sheet, s, phrase(PHRASE_KEY_TITLE, MST_LANG_AR), MST_PRINT_BOLD, size * 1.7, 1e9,
                   right, y, LABEL_RIGHT, INK_TEXT))
        return 0;
    double top = y + size * 1.6, specimen = size * 3.2, box = size * 6;
    double share = middle - left - box / 2 - size;
    for (int i = 0; i < rows && from + i < key->count; i++) {
        const struct key_entry *e = &key->entries[from + i];
        double line = top + i * row_height;
        s->ink = INK_RULE;
        scene_segment(s, left, line, right, line, 0.3);
        double centre = line + row_height / 2;
        if (!draw_specimen(sheet, s, &e->like, specimen, middle, centre))
            return 0;
        for (int lang = 0; lang < 2; lang++) {
            if (!sheet_has_language(sheet, (enum mst_lang)lang))
                continue;
            double x = lang == MST_LANG_EN ? left : right;
            enum label_align align = lang == MST_LANG_EN ? LABEL_LEFT : LABEL_RIGHT;
            struct mst_span meaning = entry_meaning(e, (enum mst_lang)lang);
            double name_y = meaning.len ? centre - size * 0.15 : centre + size * 0.35;
            if (!draw_text(sheet, s, entry_name(e, (enum mst_lang)lang), MST_PRINT_BOLD, size * 1.1,
                           share, x, name_y, align, INK_TEXT) ||
                !draw_text(sheet, s, meaning, MST_PRINT_PLAIN, size * 0.9, share, x,
                           centre + size * 1.3, align, INK_SOFT))
                return 0;
        }
    }
    return 1;
}

enum mst_status key_pages(struct mst_sheet *sheet, const struct key *key, struct mst_error *err)
{
    double size = sheet->page.label_size;
    double room = sheet->page.height - sheet->page.top - sheet->page.bottom -
                  page_foot_height(sheet) - size * 3.6;
    int most = (int)floor(room / (size * 3.3));
    if (most < 1)
        return mst_fail(err, MST_USAGE, "the page is too small for the key; choose a larger one");
    /* as many rows on each page, as high as there is room for */
    int pages = (key->count + most - 1) / most;
    int rows = pages > 0 ? (key->count + pages - 1) / pages : 1;
    double row_height = fmin(size * 4.0, room / rows);
    for (int from = 0; from < key->count; from += rows) {
        struct scene *s = sheet_add_page(sheet);
        if (!s || !key_page_draw(sheet, s, key, from, rows, row_height) ||
            !page_foot_draw(sheet, s, sheet->page_count) || s->failed)
            return mst_fail(err, MST_NO_MEMORY, "memory ran out while drawing the key");
    }
    return MST_OK;
}
