/* The drawing of a mouth: lines of the head that no posture moves. */
#ifndef TYPESET_MOUTH_H
#define TYPESET_MOUTH_H

#include "leaves.h"

#include <mistara/mouth.h>

struct mst_point point_lerp(struct mst_point a, struct mst_point b, double t);
double point_apart(struct mst_point a, struct mst_point b);
/* The back wall of the throat at this height. */
double mouth_wall(double y);
/* Veil of the palate, upper side, from the bone to the tip of the uvula; count points. */
enum { VEIL_POINTS = 7 };
void mouth_veil_back(const struct mst_mouth *mouth, struct mst_point out[VEIL_POINTS]);
/* Where the folds of the glottis lie. */
extern const double glottis_y, glottis_front, glottis_back;

#endif
