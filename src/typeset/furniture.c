/*
 * What surrounds the scripture on a page: title and class line, the heading of
 * a sura, the foot with page number, credits and the line that defers to the
 * teacher.
 */
#include "phrase.h"
#include "sheet.h"

#include <stdio.h>
#include <string.h>

int sheet_has_language(const struct mst_sheet *sheet, enum mst_lang lang)
{
    enum mst_sheet_labels labels = sheet->options.labels;
    return labels == MST_LABELS_BOTH || (lang == MST_LANG_EN) == (labels == MST_LABELS_EN);
}

static double text_middle(const struct mst_sheet *sheet)
{
    return sheet->page.width / 2;
}

/* --- head -------------------------------------------------------------------- */

static const double TITLE_SCALE = 1.9, CLASS_SCALE = 1.2;

/* The teacher's words over the page, in as many lines as they need; a word wider than the page
 * makes all of them smaller rather than run over its edge. NULL when memory ran out. */
static struct mst_line *head_lines(const struct mst_sheet *sheet, struct mst_span words,
                                   enum mst_print style, double *size, double width, int *count)
{
    struct mst_line *lines = label_wrap(sheet->ts, sheet->arena, words, style, *size, width, count);
    double widest = 0;
    for (int i = 0; lines && i < *count; i++)
        widest = lines[i].width > widest ? lines[i].width : widest;
    if (widest <= width)
        return lines;
    *size *= width / widest;
    return label_wrap(sheet->ts, sheet->arena, words, style, *size, width * 1.02, count);
}

static double head_width(const struct mst_sheet *sheet)
{
    const struct mst_page_geometry *page = &sheet->page;
    return page->width - 2 * (page->left > page->right ? page->left : page->right);
}

/* Title and class line from y downwards, drawn if there is a scene; returns where they end,
 * or a negative number when memory ran out. */
static double head_words(const struct mst_sheet *sheet, struct scene *s, double y)
{
    const struct {
        struct mst_span words;
        enum mst_print style;
        double scale, leading;
        enum ink ink;
    } parts[] = {
        {sheet->options.title, MST_PRINT_BOLD, TITLE_SCALE, 1.45, INK_TEXT},
        {sheet->options.class_line, MST_PRINT_PLAIN, CLASS_SCALE, 1.6, INK_SOFT},
    };
    for (size_t p = 0; p < sizeof parts / sizeof *parts; p++) {
        if (!parts[p].words.len)
            continue;
        double size = sheet->page.label_size * parts[p].scale;
        int count;
        const struct mst_line *lines =
            head_lines(sheet, parts[p].words, parts[p].style, &size, head_width(sheet), &count);
        if (!lines)
            return -1;
        for (int i = 0; i < count; i++, y += size * parts[p].leading) {
            if (!s)
                continue;
            s->ink = parts[p].ink;
            label_draw(s, &lines[i], text_middle(sheet), y + size * 0.85, LABEL_CENTRE);
        }
    }
    return y;
}

double page_head_height(const struct mst_sheet *sheet, int first_page)
{
    double height = first_page ? head_words(sheet, NULL, 0) : 0;
    return height > 0 ? height + sheet->page.label_size * 0.9 : 0;
}

/* The running head of a later page: the title, and the sura it goes on with. */
static int running_head(struct mst_sheet *sheet, struct scene *s, int32_t sura_number)
{
    double size = sheet->page.label_size, y = sheet->page.top - size * 1.4;
    const struct mst_sura *sura = mst_text_sura(sheet->reading->text, sura_number);
    struct mst_line label;
    s->ink = INK_SOFT;
    if (sheet->options.title.len) {
        /* its first line, clear of the sura's name on the other side */
        double small = size * 0.95;
        int count;
        const struct mst_line *lines = head_lines(sheet, sheet->options.title, MST_PRINT_PLAIN,
                                                  &small, head_width(sheet) * 0.65, &count);
        if (!lines)
            return 0;
        if (count)
            label_draw(s, &lines[0], sheet->page.left, y, LABEL_LEFT);
    }
    if (sura) {
        struct mst_string name = {0};
        struct mst_span word = phrase(PHRASE_SURA, MST_LANG_AR);
        mst_string_addf(&name, "%.*s %.*s", (int)word.len, word.ptr, (int)sura->name_ar.len,
                        sura->name_ar.ptr);
        int ok = !name.failed &&
                 label_shape(sheet->ts, sheet->arena, (struct mst_span){name.ptr, name.len},
                             MST_PRINT_PLAIN, size, &label);
        mst_string_free(&name);
        if (!ok)
            return 0;
        label_draw(s, &label, sheet->page.width - sheet->page.right, y, LABEL_RIGHT);
    }
    return 1;
}

int page_head_draw(struct mst_sheet *sheet, struct scene *s, int first_page, int32_t sura)
{
    if (!first_page)
        return running_head(sheet, s, sura);
    return head_words(sheet, s, sheet->page.top) >= 0;
}

/* --- foot -------------------------------------------------------------------- */

static const double CREDIT_SCALE = 0.72, CREDIT_LEADING = 1.35;

void sheet_credits(const struct mst_sheet *sheet, struct mst_string *out)
{
    struct mst_span credits = mst_text_credits(sheet->reading->text);
    mst_string_add(out, credits.ptr, credits.len);
    if (sheet->gloss >= 0) {
        struct mst_span gloss = mst_text_translation(sheet->reading->text, sheet->gloss)->credit;
        mst_string_adds(out, " · ");
        mst_string_add(out, gloss.ptr, gloss.len);
    }
}

int page_foot_prepare(struct mst_sheet *sheet)
{
    struct mst_string credits = {0};
    double width = sheet->page.width - sheet->page.left - sheet->page.right;
    sheet_credits(sheet, &credits);
    if (!credits.failed)
        sheet->credits = label_wrap(
            sheet->ts, sheet->arena, (struct mst_span){credits.ptr, credits.len}, MST_PRINT_PLAIN,
            sheet->page.label_size * CREDIT_SCALE, width, &sheet->credit_count);
    mst_string_free(&credits);
    return sheet->credits != NULL;
}

static int language_count(const struct mst_sheet *sheet)
{
    return sheet_has_language(sheet, MST_LANG_EN) + sheet_has_language(sheet, MST_LANG_AR);
}

/* The line that defers to the teacher: both languages on one row where the page is wide enough. */
static int deferral_labels(struct mst_sheet *sheet, struct mst_line out[2])
{
    int count = 0;
    for (int lang = 0; lang < 2; lang++)
        if (sheet_has_language(sheet, (enum mst_lang)lang)) {
            if (!label_shape(sheet->ts, sheet->arena, phrase(PHRASE_DEFER, (enum mst_lang)lang),
                             MST_PRINT_PLAIN, sheet->page.label_size * 0.85, &out[count]))
                return -1;
            count++;
        }
    return count;
}

double page_foot_height(const struct mst_sheet *sheet)
{
    double size = sheet->page.label_size;
    return size * (1.5 + 0.85 * 1.5 * (language_count(sheet) > 0) +
                   sheet->credit_count * CREDIT_SCALE * CREDIT_LEADING) +
           size * 2.0;
}

int page_foot_draw(struct mst_sheet *sheet, struct scene *s, int number)
{
    double size = sheet->page.label_size, x = text_middle(sheet);
    double left = sheet->page.left, right = sheet->page.width - sheet->page.right;
    struct mst_line deferral[2], page;
    int deferrals = deferral_labels(sheet, deferral);
    char digits[24], western[12];
    number += sheet->options.pages_before;
    struct mst_span text = arabic_number(number, digits);
    if (!sheet_has_language(sheet, MST_LANG_AR)) {
        snprintf(western, sizeof western, "%d", number);
        text = mst_span_of(western);
    }
    if (deferrals < 0 ||
        !label_shape(sheet->ts, sheet->arena, text, MST_PRINT_PLAIN, size * 1.05, &page))
        return 0;
    double y = sheet->page.height - sheet->page.bottom - page_foot_height(sheet) + size * 2.0;
    s->ink = INK_RULE;
    scene_segment(s, left, y - size * 0.55, right, y - size * 0.55, 0.4);
    y += size * 0.6;
    s->ink = INK_SOFT;
    if (deferrals == 2) {
        label_draw(s, &deferral[0], left, y, LABEL_LEFT);
        label_draw(s, &deferral[1], right, y, LABEL_RIGHT);
    } else if (deferrals == 1) {
        label_draw(s, &deferral[0], x, y, LABEL_CENTRE);
    }
    y += size * 1.25;
    for (int i = 0; i < sheet->credit_count; i++) {
        label_draw(s, &sheet->credits[i], x, y, LABEL_CENTRE);
        y += size * CREDIT_SCALE * CREDIT_LEADING;
    }
    s->ink = INK_TEXT;
    label_draw(s, &page, x, y + size * 0.75, LABEL_CENTRE);
    return 1;
}

/* --- heading of a sura --------------------------------------------------------- */

double heading_height(const struct mst_sheet *sheet)
{
    return 1.3 * sheet->em + sheet->page.label_size * 1.9;
}

int heading_draw(struct mst_sheet *sheet, struct scene *s, const struct paragraph *p, double top)
{
    const struct mst_sura *sura = mst_text_sura(sheet->reading->text, p->sura);
    if (!sura)
        return 1;
    double em = sheet->em, size = sheet->page.label_size;
    double x = (sheet->text_left + sheet->text_right) / 2;
    int whole = p->verse_from <= 1 && p->verse_to >= sura->verse_count;
    struct mst_string name = {0}, detail = {0};
    struct mst_line label, small;
    struct mst_span word = phrase(PHRASE_SURA, MST_LANG_AR);
    mst_string_add(&name, word.ptr, word.len);
    mst_string_adds(&name, " ");
    mst_string_add(&name, sura->name_ar.ptr, sura->name_ar.len);
    if (sheet_has_language(sheet, MST_LANG_EN)) {
        mst_string_addf(&detail, "%.*s · %d", (int)sura->name_en.len, sura->name_en.ptr,
                        (int)p->sura);
        if (!whole && p->verse_from == p->verse_to)
            mst_string_addf(&detail, ":%d", (int)p->verse_from);
        else if (!whole)
            mst_string_addf(&detail, ":%d–%d", (int)p->verse_from, (int)p->verse_to);
    } else if (!whole) {
        char a[24], b[24];
        struct mst_span from = arabic_number(p->verse_from, a), to = arabic_number(p->verse_to, b);
        struct mst_span verses =
            phrase(p->verse_from == p->verse_to ? PHRASE_VERSE : PHRASE_VERSES, MST_LANG_AR);
        mst_string_addf(&detail, "%.*s %.*s", (int)verses.len, verses.ptr, (int)from.len, from.ptr);
        if (p->verse_from != p->verse_to)
            mst_string_addf(&detail, "–%.*s", (int)to.len, to.ptr);
    }
    int ok = !name.failed && !detail.failed &&
             label_shape(sheet->ts, sheet->arena, (struct mst_span){name.ptr, name.len},
                         MST_PRINT_BOLD, 0.62 * em, &label) &&
             label_shape(sheet->ts, sheet->arena,
                         (struct mst_span){detail.ptr ? detail.ptr : "", detail.len},
                         MST_PRINT_PLAIN, size, &small);
    mst_string_free(&name);
    mst_string_free(&detail);
    if (!ok)
        return 0;
    /* two cords of a ruling board, parted by the name */
    double y = top + 0.86 * em, gap = label.width / 2 + 0.45 * em;
    s->ink = INK_RULE;
    for (int side = -1; side <= 1; side += 2) {
        double end = side < 0 ? sheet->text_left : sheet->text_right;
        for (int cord = 0; cord < 2; cord++) {
            double cy = y - 0.2 * em + (cord ? 0.05 : -0.05) * em;
            scene_segment(s, x + side * gap, cy, end, cy, 0.5);
        }
        scene_circle(s, x + side * gap, y - 0.2 * em, 0.09 * em);
        scene_fill(s);
    }
    s->ink = INK_TEXT;
    label_draw(s, &label, x, y, LABEL_CENTRE);
    s->ink = INK_SOFT;
    label_draw(s, &small, x, y + 0.2 * em + size * 1.15, LABEL_CENTRE);
    return 1;
}
