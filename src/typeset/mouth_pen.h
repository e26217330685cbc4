/* A pen for pictures of the mouth: millimetres of the schema on a page. */
#ifndef TYPESET_MOUTH_PEN_H
#define TYPESET_MOUTH_PEN_H

#include "mouth.h"

struct pen {
    struct scene *scene;
    double x, y, scale; /* where the schema's origin lies, points a millimetre */
};

/* Smooth path through points (Catmull-Rom as Béziers), begun with a move or going on. */
void pen_through(struct pen *pen, const struct mst_point *p, int count, int go_on);
void pen_to(struct pen *pen, double x, double y);
void pen_from(struct pen *pen, double x, double y);
void pen_curve(struct pen *pen, double x1, double y1, double x2, double y2, double x, double y);
void pen_stroke(struct pen *pen, int ink, double width);
void pen_dashes(struct pen *pen, int ink, double width);
/* Fill with the wash, then draw the same outline. draw: makes the path. */
typedef void pen_path(struct pen *pen, const void *of);
void pen_tissue(struct pen *pen, pen_path *draw, const void *of, int fill, double width);
/* The air: a dashed way with an arrow's head, or with a bar where it is held. */
void pen_air(struct pen *pen, const struct mst_point *p, int count, int ink, int held);
/* The place: a ring, filled where two parts touch. */
void pen_place(struct pen *pen, struct mst_point p, int touching);
void palate_draw(struct pen *pen, const struct mst_figure *figure);

#endif
