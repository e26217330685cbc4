/* Pages set piece by piece (mistara/leaves.h). */
#include "leaves.h"

#include <string.h>

enum mst_status mst_leaves_new(struct mst_typeset *ts, struct mst_page_geometry page,
                               struct mst_span title, enum mst_sheet_labels labels,
                               struct mst_arena *arena, struct mst_leaves **out,
                               struct mst_error *err)
{
    struct mst_leaves *leaves = mst_arena_alloc(arena, 1, sizeof *leaves);
    *out = leaves;
    if (!leaves)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the pages");
    struct mst_sheet *sheet = &leaves->sheet;
    sheet->ts = ts;
    sheet->arena = arena;
    sheet->reading = &leaves->nothing;
    sheet->page = page;
    sheet->em = page.type_size;
    sheet->font = mst_font_of(ts->fonts, MST_FONT_QURAN);
    sheet->gloss = -1;
    sheet->options.page = page;
    sheet->options.title = title;
    sheet->options.labels = labels;
    return MST_OK;
}

void mst_leaves_turn(struct mst_leaves *leaves)
{
    leaves->failed |= sheet_add_page(&leaves->sheet) == NULL;
}

int mst_leaves_count(const struct mst_leaves *leaves)
{
    return leaves->sheet.page_count;
}

struct scene *leaves_page(struct mst_leaves *leaves)
{
    int count = leaves->sheet.page_count;
    return leaves->failed || count == 0 ? NULL : &leaves->sheet.pages[count - 1];
}

/* One paragraph without newlines. */
static double paragraph(struct mst_leaves *leaves, const struct mst_words *w, struct mst_span text,
                        double y, struct scene *scene)
{
    static const enum mst_print styles[] = {MST_PRINT_PLAIN, MST_PRINT_BOLD, MST_PRINT_ITALIC,
                                            MST_PRINT_CODE};
    static const enum label_align aligns[] = {LABEL_LEFT, LABEL_CENTRE, LABEL_RIGHT};
    const double step = w->size * (w->leading > 0 ? w->leading : 1.4);
    int count;
    struct mst_line *lines = label_wrap(leaves->sheet.ts, leaves->sheet.arena, text,
                                        styles[w->style], w->size, w->width, &count);
    leaves->failed |= lines == NULL;
    double x = w->x + w->width * (w->align == MST_WORDS_LEFT    ? 0
                                  : w->align == MST_WORDS_RIGHT ? 1
                                                                : 0.5);
    for (int i = 0; lines && i < count; i++, y += step)
        if (scene)
            label_draw(scene, &lines[i], x, y + step - 0.42 * w->size, aligns[w->align]);
    return y;
}

static double words_set(struct mst_leaves *leaves, const struct mst_words *w, struct scene *scene)
{
    double y = w->y;
    size_t from = 0;
    while (from < w->text.len) {
        const char *newline = memchr(w->text.ptr + from, '\n', w->text.len - from);
        size_t end = newline ? (size_t)(newline - w->text.ptr) : w->text.len;
        if (end > from)
            y = paragraph(leaves, w, (struct mst_span){w->text.ptr + from, end - from}, y, scene);
        from = end + 1;
    }
    return y;
}

double mst_leaf_words(struct mst_leaves *leaves, const struct mst_words *words)
{
    struct scene *scene = leaves_page(leaves);
    if (!scene)
        return words->y;
    scene->ink = words->soft ? INK_SOFT : INK_TEXT;
    return words_set(leaves, words, scene);
}

double mst_leaf_words_end(struct mst_leaves *leaves, const struct mst_words *words)
{
    return words_set(leaves, words, NULL);
}

void mst_leaf_line(struct mst_leaves *leaves, double x0, double y0, double x1, double y1)
{
    struct scene *scene = leaves_page(leaves);
    if (!scene)
        return;
    scene->ink = INK_RULE;
    scene_segment(scene, x0, y0, x1, y1, 0.6);
}

void mst_leaf_fill(struct mst_leaves *leaves, const struct mst_leaf_box *boxes, size_t count)
{
    struct scene *scene = leaves_page(leaves);
    if (!scene || count == 0)
        return;
    scene->ink = INK_TEXT;
    for (size_t n = 0; n < count; n++)
        scene_rect(scene, boxes[n].x, boxes[n].y, boxes[n].x + boxes[n].width,
                   boxes[n].y + boxes[n].height);
    scene_fill(scene);
}

static int copy_item(struct scene *to, const struct scene_item *item, double dx, double dy)
{
    switch (item->kind) {
    case SCENE_GLYPHS:
        scene_glyphs(to, &item->run, item->x + dx, item->y + dy);
        return !to->failed;
    case SCENE_STROKE:
    case SCENE_FILL:
        break;
    }
    for (int i = 0; i < item->op_count; i++) {
        const struct path_op *op = &item->ops[i];
        const double *x = op->x, *y = op->y;
        switch (op->verb) {
        case PATH_MOVE:
            scene_move(to, x[0] + dx, y[0] + dy);
            break;
        case PATH_LINE:
            scene_line(to, x[0] + dx, y[0] + dy);
            break;
        case PATH_CURVE:
            scene_curve(to, x[0] + dx, y[0] + dy, x[1] + dx, y[1] + dy, x[2] + dx, y[2] + dy);
            break;
        case PATH_CLOSE:
            scene_close(to);
            break;
        }
    }
    if (item->kind == SCENE_FILL)
        scene_fill(to);
    else
        scene_stroke(to, item->stroke_width, item->dash);
    return !to->failed;
}

void mst_leaf_lay(struct mst_leaves *leaves, const struct mst_sheet *sheet, int page,
                  unsigned layers, double dx, double dy)
{
    struct scene *to = leaves_page(leaves);
    if (!to || page < 0 || page >= sheet->page_count)
        return;
    const struct scene *from = &sheet->pages[page];
    enum mst_layer layer = to->layer;
    for (size_t i = 0; i < from->count; i++) {
        const struct scene_item *item = &from->items[i];
        if (!(layers & item->layer))
            continue;
        to->layer = item->layer;
        to->ink = item->ink;
        if (!copy_item(to, item, dx, dy))
            break;
    }
    to->layer = layer;
}

void mst_leaves_append(struct mst_leaves *leaves, const struct mst_sheet *sheet)
{
    for (int page = 0; page < sheet->page_count; page++) {
        mst_leaves_turn(leaves);
        mst_leaf_lay(leaves, sheet, page, MST_LAYER_ALL, 0, 0);
    }
}

enum mst_status mst_leaves_close(struct mst_leaves *leaves, struct mst_sheet **out,
                                 struct mst_error *err)
{
    *out = NULL;
    for (int page = 0; page < leaves->sheet.page_count; page++)
        leaves->failed |= leaves->sheet.pages[page].failed;
    if (leaves->failed)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the pages");
    *out = &leaves->sheet;
    return MST_OK;
}
