/*
 * The outline of what a line already holds, column by column: how far down it
 * reaches (floor) and how far up (roof). Marks are set under the floor or over
 * the roof and then become part of it. In points; y relative to the baseline,
 * downwards; columns are SKYLINE_STEP_PT wide.
 */
#ifndef TYPESET_SKYLINE_H
#define TYPESET_SKYLINE_H

#include "word.h"

#define SKYLINE_STEP_PT 0.5

struct skyline {
    int count;
    double x0;    /* page x of column 0 */
    float *floor; /* −1e9 where nothing stands */
    float *roof;  /* 1e9 where nothing stands */
};

/* Covers x0…x1 of the page. Returns 0 when memory ran out. */
int skyline_init(struct skyline *s, struct mst_arena *arena, double x0, double x1);
void skyline_add_rect(struct skyline *s, double x0, double y0, double x1, double y1);
/* Returns 0 when memory ran out. */
int skyline_add_glyphs(struct skyline *s, struct mst_typeset *ts, const struct mst_font *font,
                       double size, double x, const struct mst_glyph *glyphs, int count);
/* The lowest ink between x0 and x1 (−1e9 = none), and the highest (1e9 = none). */
double skyline_floor(const struct skyline *s, double x0, double x1);
double skyline_roof(const struct skyline *s, double x0, double x1);
/* How far apart the baselines of two lines must be so that nothing of the upper comes nearer than
 * gap, in x or y, to anything of the lower. Both cover the same columns. */
double skyline_pitch(const struct skyline *upper, const struct skyline *lower, double gap);

#endif
