/*
 * Lines onto pages. The distance between two baselines is what their ink and
 * marks need (skyline_pitch) and never less than a calm minimum; what room is
 * left on a page evens those distances out. Then everything is drawn into the
 * page's scene in its final place.
 */
#include "sheet.h"

#include <math.h>
#include <string.h>

static const double PITCH_LEAST = 2.2; /* em */

struct scene *sheet_add_page(struct mst_sheet *sheet)
{
    if (sheet->page_count == sheet->page_cap) {
        int cap = sheet->page_cap ? sheet->page_cap * 2 : 8;
        struct scene *pages = mst_arena_grow(sheet->arena, sheet->pages, (size_t)sheet->page_cap,
                                             (size_t)cap, sizeof *pages);
        if (!pages)
            return NULL;
        sheet->pages = pages;
        sheet->page_cap = cap;
    }
    struct scene *s = &sheet->pages[sheet->page_count++];
    memset(s, 0, sizeof *s);
    s->arena = sheet->arena;
    s->width = sheet->page.width;
    s->height = sheet->page.height;
    s->layer = MST_LAYER_FURNITURE;
    s->word = s->mark = -1;
    return s;
}

/* What stands on a page, from top to bottom. */
enum element_kind { ELEMENT_HEADING, ELEMENT_LINE, ELEMENT_GLOSS };
struct element {
    enum element_kind kind;
    int index;    /* of the line or the paragraph */
    double top;   /* heading, gloss */
    double pitch; /* line: from the baseline before; 0 = not below a line */
    struct mst_line *gloss;
    int gloss_count; /* its lines here, */
    int gloss_of;    /* … of so many */
};

struct filling {
    struct mst_sheet *sheet;
    struct mst_error *err;
    struct element *elements; /* of the page being filled */
    int count, cap;
    double cursor; /* bottom of what stands so far */
    double limit;  /* of the page without a key */
    int first_line, line_count;
};

static double line_roof(const struct line *line)
{
    return skyline_roof(&line->sky, line->sky.x0, line->sky.x0 + 1e5);
}

static double line_floor(const struct line *line)
{
    return fmax(0, skyline_floor(&line->sky, line->sky.x0, line->sky.x0 + 1e5));
}

static enum mst_status out_of_memory(struct filling *f)
{
    return mst_fail(f->err, MST_NO_MEMORY, "memory ran out while composing the pages");
}

static int key_at_foot(const struct mst_sheet *sheet)
{
    return sheet->options.key == MST_KEY_FOOT;
}

static void page_begin(struct filling *f)
{
    struct mst_sheet *sheet = f->sheet;
    f->count = 0;
    f->first_line += f->line_count;
    f->line_count = 0;
    f->cursor = sheet->page.top + page_head_height(sheet, sheet->page_count == 0);
    f->limit = sheet->page.height - sheet->page.bottom - page_foot_height(sheet);
}

/* Raise the shortest distances between lines to a common one as far as there is room, so that a
 * page looks ruled. */
static void even_out(struct filling *f, double room)
{
    double most = 0, low = 0;
    for (int i = 0; i < f->count; i++)
        most = fmax(most, f->elements[i].pitch);
    for (double level = most; level > 0; level -= 0.25) {
        double need = 0;
        for (int i = 0; i < f->count; i++)
            if (f->elements[i].pitch > 0)
                need += fmax(0, level - f->elements[i].pitch);
        if (need <= room) {
            low = level;
            break;
        }
    }
    double shift = 0;
    for (int i = 0; i < f->count; i++) {
        struct element *e = &f->elements[i];
        if (e->pitch > 0)
            shift += fmax(0, low - e->pitch);
        if (e->kind == ELEMENT_LINE)
            f->sheet->lines[e->index].baseline += shift;
        e->top += shift;
    }
}

static int draw_line(struct mst_sheet *sheet, struct scene *s, int index)
{
    struct line *line = &sheet->lines[index];
    for (int i = 0; i < line->item_count; i++) {
        const struct line_item *item = &line->items[i];
        s->layer = MST_LAYER_SCRIPTURE;
        s->mark = -1;
        s->word = item->word;
        if (item->word >= 0) {
            const struct word *word = &sheet->words[item->word];
            s->ink = INK_TEXT;
            const struct mst_line_run run = {.font = sheet->font,
                                             .size = sheet->em,
                                             .glyphs = word->blank,
                                             .glyph_count = word->glyph_count + 1,
                                             .text = word->said};
            scene_glyphs(s, &run, item->x, line->baseline);
        } else if (!medallion_draw(sheet, s, item->verse, item->x + item->width / 2,
                                   line->baseline)) {
            return 0;
        }
    }
    s->word = -1;
    s->layer = MST_LAYER_MARKS;
    for (int32_t i = line->first_mark; i < line->first_mark + line->mark_count; i++) {
        struct mark *m = &sheet->marks[i];
        m->y0 += line->baseline;
        m->y1 += line->baseline;
        s->mark = i;
        sign_draw(s, m, sheet->em);
    }
    s->mark = -1;
    s->layer = MST_LAYER_FURNITURE;
    return 1;
}

static enum mst_status page_end(struct filling *f)
{
    struct mst_sheet *sheet = f->sheet;
    if (f->count == 0)
        return MST_OK;
    struct key key = {0};
    double key_height = 0;
    if (key_at_foot(sheet)) {
        if (!key_collect(sheet, f->first_line, f->line_count, &key))
            return out_of_memory(f);
        key_height = key_foot_height(sheet, &key);
    }
    even_out(f, fmax(0, f->limit - key_height - f->cursor));
    struct scene *s = sheet_add_page(sheet);
    int number = sheet->page_count - 1;
    int32_t sura = 0; /* a page that begins with a heading says its sura there */
    if (f->elements[0].kind == ELEMENT_LINE)
        sura = sheet->paragraphs[sheet->lines[f->elements[0].index].paragraph].sura;
    if (!s || !page_head_draw(sheet, s, number == 0, sura))
        return out_of_memory(f);
    uint64_t named = 0;
    for (int i = 0; i < f->count; i++) {
        struct element *e = &f->elements[i];
        int ok = 1;
        if (e->kind == ELEMENT_HEADING) {
            ok = heading_draw(sheet, s, &sheet->paragraphs[e->index], e->top);
        } else if (e->kind == ELEMENT_LINE) {
            struct line *line = &sheet->lines[e->index];
            double next = f->limit - key_height;
            for (int k = i + 1; k < f->count; k++)
                if (f->elements[k].kind == ELEMENT_LINE) {
                    next = sheet->lines[f->elements[k].index].baseline - 0.62 * sheet->em;
                    break;
                }
            line->page = number;
            ok = draw_line(sheet, s, e->index) &&
                 margin_draw(sheet, s, line, next - line->baseline + 0.62 * sheet->em, &named);
        } else {
            double size = sheet->page.label_size * 1.15, y = e->top + size;
            int rtl = mst_text_translation(sheet->reading->text, sheet->gloss)->right_to_left;
            /* a short one stands under its verse, at the line's beginning */
            rtl |= e->gloss_of == 1;
            s->ink = INK_SOFT;
            for (int k = 0; k < e->gloss_count; k++, y += size * 1.4)
                label_draw(s, &e->gloss[k], rtl ? sheet->text_right : sheet->text_left, y,
                           rtl ? LABEL_RIGHT : LABEL_LEFT);
        }
        if (!ok)
            return out_of_memory(f);
    }
    if (key.count && !key_foot_draw(sheet, s, &key, f->limit - key_height))
        return out_of_memory(f);
    if (!page_foot_draw(sheet, s, sheet->page_count) || s->failed)
        return out_of_memory(f);
    return MST_OK;
}

static int push(struct filling *f, struct element e)
{
    if (f->count == f->cap) {
        int cap = f->cap ? f->cap * 2 : 32;
        struct element *elements = mst_arena_grow(f->sheet->arena, f->elements, (size_t)f->cap,
                                                  (size_t)cap, sizeof *elements);
        if (!elements)
            return 0;
        f->elements = elements;
        f->cap = cap;
    }
    f->elements[f->count++] = e;
    return 1;
}

/* The room a key would take if this line joined the page. */
static double key_room(struct filling *f, int lines)
{
    struct key key;
    if (!key_at_foot(f->sheet) || !key_collect(f->sheet, f->first_line, lines, &key))
        return 0;
    return key_foot_height(f->sheet, &key);
}

static enum mst_status add_line(struct filling *f, int index)
{
    struct mst_sheet *sheet = f->sheet;
    struct line *line = &sheet->lines[index];
    for (int attempt = 0;; attempt++) {
        double pitch = 0, baseline;
        const struct element *before = f->count ? &f->elements[f->count - 1] : NULL;
        if (before && before->kind == ELEMENT_LINE) {
            const struct line *upper = &sheet->lines[before->index];
            pitch = fmax(skyline_pitch(&upper->sky, &line->sky, sheet_gap_lines(sheet)),
                         PITCH_LEAST * sheet->em);
            baseline = upper->baseline + pitch;
        } else {
            baseline = f->cursor + fmax(-line_roof(line), 1.0 * sheet->em) +
                       (before ? sheet_gap_lines(sheet) : 0);
        }
        double bottom = baseline + line_floor(line);
        int fits = bottom + sheet_gap_lines(sheet) + key_room(f, f->line_count + 1) <= f->limit;
        int only_heading = f->line_count == 0;
        if (fits) {
            line->baseline = baseline;
            f->cursor = bottom;
            f->line_count++;
            return push(f, (struct element){ELEMENT_LINE, index, 0, pitch, NULL, 0, 0})
                       ? MST_OK
                       : out_of_memory(f);
        }
        if (attempt > 0 || only_heading)
            return mst_fail(f->err, MST_USAGE,
                            "the page is too small: a line of type of %g points with its marks "
                            "does not fit on it; choose smaller type, a larger page, or the key on "
                            "a page of its own",
                            sheet->em);
        enum mst_status status = page_end(f);
        if (status != MST_OK)
            return status;
        page_begin(f);
    }
}

static enum mst_status add_gloss(struct filling *f, int index)
{
    struct mst_sheet *sheet = f->sheet;
    const struct paragraph *p = &sheet->paragraphs[index];
    struct mst_span text =
        mst_text_translated(sheet->reading->text, sheet->gloss, p->sura, p->gloss_verse);
    double size = sheet->page.label_size * 1.15;
    int count = 0;
    struct mst_line *lines = label_wrap(sheet->ts, sheet->arena, text, MST_PRINT_ITALIC, size,
                                        sheet->text_right - sheet->text_left, &count);
    if (!lines)
        return out_of_memory(f);
    double top = f->cursor + 0.06 * sheet->em;
    /* a long gloss may run into the foot of a full page: then it goes on at the head of the next */
    double room = f->limit - key_room(f, f->line_count) - top;
    int here = (int)fmax(0, fmin(count, floor(room / (size * 1.4))));
    /* no line of it alone at the foot or the head of a page */
    if (here < count && count - here == 1)
        here--;
    if (here < count && here == 1)
        here = 0;
    if (here > 0 && !push(f, (struct element){ELEMENT_GLOSS, index, top, 0, lines, here, count}))
        return out_of_memory(f);
    f->cursor = top + here * size * 1.4 + 0.1 * sheet->em;
    if (here >= count)
        return MST_OK;
    enum mst_status status = page_end(f);
    if (status != MST_OK)
        return status;
    page_begin(f);
    if (!push(f, (struct element){ELEMENT_GLOSS, index, f->cursor, 0, lines + here, count - here,
                                  count}))
        return out_of_memory(f);
    f->cursor += (count - here) * size * 1.4 + 0.1 * sheet->em;
    return MST_OK;
}

static enum mst_status add_heading(struct filling *f, int index)
{
    struct mst_sheet *sheet = f->sheet;
    double gap = f->count ? 0.9 * sheet->em : 0, height = heading_height(sheet);
    /* never alone at the foot: with the lines it heads, the basmala and one more */
    double need = gap + height + 2 * PITCH_LEAST * sheet->em + 1.4 * sheet->em;
    if (f->line_count > 0 && f->cursor + need + key_room(f, f->line_count) > f->limit) {
        enum mst_status status = page_end(f);
        if (status != MST_OK)
            return status;
        page_begin(f);
        gap = 0;
    }
    if (!push(f, (struct element){ELEMENT_HEADING, index, f->cursor + gap, 0, NULL, 0, 0}))
        return out_of_memory(f);
    f->cursor += gap + height;
    return MST_OK;
}

/* Boxes to their pages, and the marks as the outside sees them. */
static int publish(struct mst_sheet *sheet)
{
    for (int32_t i = 0; i < sheet->reading->letter_count; i++) {
        struct mst_letter_box *box = &sheet->boxes[i];
        const struct line *line = &sheet->lines[box->line];
        box->page = line->page;
        box->baseline = line->baseline;
        box->y += line->baseline;
    }
    sheet->mark_boxes =
        mst_arena_alloc(sheet->arena, (size_t)sheet->mark_count + 1, sizeof *sheet->mark_boxes);
    if (!sheet->mark_boxes)
        return 0;
    for (int n = 0; n < sheet->line_count; n++)
        for (int32_t i = 0; i < sheet->lines[n].mark_count; i++) {
            int32_t k = sheet->lines[n].first_mark + i;
            const struct mark *m = &sheet->marks[k];
            sheet->mark_boxes[k] = (struct mst_mark_box){.site = m->site,
                                                         .page = sheet->lines[n].page,
                                                         .line = n,
                                                         .x = m->x0,
                                                         .y = m->y0,
                                                         .width = m->x1 - m->x0,
                                                         .height = m->y1 - m->y0,
                                                         .anchor_x = m->anchor};
        }
    return 1;
}

static int fades(const struct mst_sheet *sheet)
{
    for (int n = 0; n < sheet->line_count; n++)
        if (sheet->lines[n].stage > MST_FADE_MARKS)
            return 1;
    return 0;
}

enum mst_status pages_compose(struct mst_sheet *sheet, struct mst_error *err)
{
    struct filling f = {.sheet = sheet, .err = err};
    struct key key = {0};
    enum { FOOT_MOST = 6 };
    if (!key_collect(sheet, 0, sheet->line_count, &key))
        return out_of_memory(&f);
    if (sheet->options.key == MST_KEY_AUTO)
        sheet->options.key = key.count > FOOT_MOST || fades(sheet) ? MST_KEY_PAGE : MST_KEY_FOOT;
    page_begin(&f);
    enum mst_status status = MST_OK;
    for (int i = 0; i < sheet->paragraph_count && status == MST_OK; i++) {
        const struct paragraph *p = &sheet->paragraphs[i];
        if (p->heading)
            status = add_heading(&f, i);
        for (int n = p->first_line; n < p->first_line + p->line_count && status == MST_OK; n++)
            status = add_line(&f, n);
        if (status == MST_OK && p->gloss_verse)
            status = add_gloss(&f, i);
    }
    if (status == MST_OK)
        status = page_end(&f);
    if (status == MST_OK && sheet->options.key == MST_KEY_PAGE)
        status = key_pages(sheet, &key, err);
    if (status == MST_OK && !publish(sheet))
        status = out_of_memory(&f);
    return status;
}
