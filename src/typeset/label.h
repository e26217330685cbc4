/*
 * Small print on a page: titles, names, credits. One line at a time (press.h);
 * label_wrap cuts a paragraph into lines.
 */
#ifndef TYPESET_LABEL_H
#define TYPESET_LABEL_H

#include "scene.h"

enum label_align { LABEL_LEFT, LABEL_CENTRE, LABEL_RIGHT };

/* Shape text (one line). A failure to get memory shows as `scene`'s in label_draw: runs is NULL
 * and run_count 0. Returns 0 when memory ran out. */
int label_shape(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                enum mst_print style, double size, struct mst_line *out);
/* x is the left edge, middle or right edge as align says; y the baseline. */
void label_draw(struct scene *scene, const struct mst_line *label, double x, double y,
                enum label_align align);
/* Break at spaces into lines not wider than width; *count lines. NULL when memory ran out. */
struct mst_line *label_wrap(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                            enum mst_print style, double size, double width, int *count);

#endif
