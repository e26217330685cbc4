#include "scene.h"

static struct scene_item *scene_add(struct scene *s, enum scene_kind kind)
{
    if (s->failed)
        return NULL;
    if (s->count == s->cap) {
        size_t cap = s->cap ? s->cap * 2 : 256;
        struct scene_item *items =
            mst_arena_grow(s->arena, s->items, s->cap, cap, sizeof *s->items);
        if (!items) {
            s->failed = 1;
            return NULL;
        }
        s->items = items;
        s->cap = cap;
    }
    struct scene_item *item = &s->items[s->count++];
    *item = (struct scene_item){
        .kind = kind, .layer = s->layer, .ink = s->ink, .word = s->word, .mark = s->mark};
    return item;
}

void scene_glyphs(struct scene *s, const struct mst_line_run *run, double x, double y)
{
    struct scene_item *item = run->glyph_count > 0 ? scene_add(s, SCENE_GLYPHS) : NULL;
    if (!item)
        return;
    item->run = *run;
    item->x = x;
    item->y = y;
}

static void scene_op(struct scene *s, struct path_op op)
{
    if (s->failed)
        return;
    if (!s->ops || s->op_count == s->op_cap) {
        int cap = s->ops ? s->op_cap * 2 : 16;
        struct path_op *ops = mst_arena_grow(s->arena, s->ops, (size_t)(s->ops ? s->op_cap : 0),
                                             (size_t)cap, sizeof *s->ops);
        if (!ops) {
            s->failed = 1;
            return;
        }
        s->ops = ops;
        s->op_cap = cap;
    }
    s->ops[s->op_count++] = op;
}

void scene_move(struct scene *s, double x, double y)
{
    scene_op(s, (struct path_op){PATH_MOVE, {x}, {y}});
}

void scene_line(struct scene *s, double x, double y)
{
    scene_op(s, (struct path_op){PATH_LINE, {x}, {y}});
}

void scene_curve(struct scene *s, double x1, double y1, double x2, double y2, double x, double y)
{
    scene_op(s, (struct path_op){PATH_CURVE, {x1, x2, x}, {y1, y2, y}});
}

void scene_close(struct scene *s)
{
    scene_op(s, (struct path_op){.verb = PATH_CLOSE});
}

void scene_circle(struct scene *s, double x, double y, double r)
{
    /* four cubic arcs; the usual constant 4/3 (√2 − 1) */
    const double k = 0.5522847498 * r;
    scene_move(s, x + r, y);
    scene_curve(s, x + r, y + k, x + k, y + r, x, y + r);
    scene_curve(s, x - k, y + r, x - r, y + k, x - r, y);
    scene_curve(s, x - r, y - k, x - k, y - r, x, y - r);
    scene_curve(s, x + k, y - r, x + r, y - k, x + r, y);
    scene_close(s);
}

void scene_rect(struct scene *s, double x0, double y0, double x1, double y1)
{
    scene_move(s, x0, y0);
    scene_line(s, x1, y0);
    scene_line(s, x1, y1);
    scene_line(s, x0, y1);
    scene_close(s);
}

static struct scene_item *scene_path(struct scene *s, enum scene_kind kind)
{
    struct scene_item *item = s->op_count > 0 ? scene_add(s, kind) : NULL;
    if (item) {
        item->ops = s->ops;
        item->op_count = s->op_count;
    }
    s->ops = NULL;
    s->op_count = s->op_cap = 0;
    return item;
}

void scene_stroke(struct scene *s, double width, enum scene_dash dash)
{
    struct scene_item *item = scene_path(s, SCENE_STROKE);
    if (item) {
        item->stroke_width = width;
        item->dash = dash;
    }
}

void scene_fill(struct scene *s)
{
    scene_path(s, SCENE_FILL);
}

void scene_segment(struct scene *s, double x0, double y0, double x1, double y1, double width)
{
    scene_move(s, x0, y0);
    scene_line(s, x1, y1);
    scene_stroke(s, width, DASH_NONE);
}

int scene_dash_pattern(enum scene_dash dash, double width, double out[2])
{
    /* round caps add one width to every dash */
    switch (dash) {
    case DASH_NONE:
        return 0;
    case DASH_BROKEN:
        out[0] = 2.2 * width;
        out[1] = 2.6 * width;
        return 2;
    case DASH_DOTTED:
        out[0] = 0;
        out[1] = 2.1 * width;
        return 2;
    }
    return 0;
}
