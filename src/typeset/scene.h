/*
 * A page as a list of things to draw, in order. Layout fills it; the writers
 * (PDF, pictures, SVG) walk it. Coordinates in points on the page, y down.
 * Building is sticky: once memory ran out `failed` is set and every further
 * call does nothing, so one check at the end suffices.
 */
#ifndef TYPESET_SCENE_H
#define TYPESET_SCENE_H

#include "font.h"
#include "ink.h"
#include "word.h"

enum scene_kind { SCENE_GLYPHS, SCENE_STROKE, SCENE_FILL };

enum path_verb { PATH_MOVE, PATH_LINE, PATH_CURVE, PATH_CLOSE };
struct path_op {
    enum path_verb verb;
    double x[3], y[3]; /* the end point is the last one used */
};

enum scene_dash { DASH_NONE, DASH_BROKEN, DASH_DOTTED };

struct scene_item {
    enum scene_kind kind;
    enum mst_layer layer;
    int ink;
    int32_t word; /* in the reading, -1 = none */
    int32_t mark; /* in the sheet's marks, -1 = none */
    /* glyphs */
    struct mst_line_run run;
    double x, y; /* its origin */
    /* paths */
    const struct path_op *ops;
    int op_count;
    double stroke_width;
    enum scene_dash dash;
};

struct scene {
    struct mst_arena *arena;
    double width, height;
    struct scene_item *items;
    size_t count, cap;
    int failed;
    /* what the next items belong to */
    enum mst_layer layer;
    int ink;
    int32_t word, mark;
    /* the path being built */
    struct path_op *ops;
    int op_count, op_cap;
};

void scene_glyphs(struct scene *s, const struct mst_line_run *run, double x, double y);
void scene_move(struct scene *s, double x, double y);
void scene_line(struct scene *s, double x, double y);
void scene_curve(struct scene *s, double x1, double y1, double x2, double y2, double x, double y);
void scene_close(struct scene *s);
void scene_circle(struct scene *s, double x, double y, double r);
void scene_rect(struct scene *s, double x0, double y0, double x1, double y1);
/* End the path. */
void scene_stroke(struct scene *s, double width, enum scene_dash dash);
void scene_fill(struct scene *s);
/* One straight stroke. */
void scene_segment(struct scene *s, double x0, double y0, double x1, double y1, double width);

/* Dash lengths for a stroke of this width; returns how many (0 = solid). */
int scene_dash_pattern(enum scene_dash dash, double width, double out[2]);

#endif
