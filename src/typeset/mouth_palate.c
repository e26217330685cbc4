/*
 * The palate seen from below, front teeth at the top: where the tongue touches
 * (hatched) and where the air passes beside it. For the two letters that the
 * side of the tongue makes.
 */
#include "mouth_pen.h"

#include <math.h>

/* The arch of the teeth: half the width is 34, the depth 66, in the same 100 as the section. */
static struct mst_point arch(double t, double inset)
{
    /* t from -1 (back right) over 0 (between the front teeth) to 1 (back left) */
    double a = t * 1.36, flat = 1 - 0.12 * t * t;
    return (struct mst_point){50 + (36 - inset) * sin(a) * flat,
                              80 - inset * 0.2 - (66 - inset) * cos(a) * flat};
}

static void tooth(struct pen *pen, double t, double along, double across)
{
    struct mst_point c = arch(t, 0), e = arch(t + 0.01, 0), ring[13];
    double angle = atan2(e.y - c.y, e.x - c.x);
    for (int i = 0; i < 13; i++) {
        double a = i * 3.14159265358979 / 6;
        double u = along * copysign(pow(fabs(cos(a)), 0.7), cos(a)),
               v = across * copysign(pow(fabs(sin(a)), 0.7), sin(a));
        ring[i] = (struct mst_point){c.x + u * cos(angle) - v * sin(angle),
                                     c.y + u * sin(angle) + v * cos(angle)};
    }
    pen_through(pen, ring, 13, 0);
    pen_stroke(pen, INK_TEXT, 0.45);
}

/* Where the tongue touches: a band inside the teeth from t0 to t1, hatched across. */
static void touch(struct pen *pen, double t0, double t1, double near, double far)
{
    enum { STEPS = 14 };
    struct mst_point out[STEPS + 1], in[STEPS + 1];
    for (int i = 0; i <= STEPS; i++) {
        double s = (double)i / STEPS, t = t0 + (t1 - t0) * s;
        double swell = sqrt(sin(3.14159265358979 * (0.06 + 0.88 * s)));
        out[i] = arch(t, near);
        in[STEPS - i] = arch(t, near + (far - near) * swell);
    }
    for (int pass = 0; pass < 2; pass++) {
        pen_through(pen, out, STEPS + 1, 0);
        pen_through(pen, in, STEPS + 1, 1);
        scene_close(pen->scene);
        if (pass == 0) {
            pen->scene->ink = INK_WASH;
            scene_fill(pen->scene);
        } else {
            pen_stroke(pen, INK_FAMILY + MST_FAMILY_ECHO, 0.7);
        }
    }
    for (int i = 1; i < STEPS; i++) {
        pen_from(pen, out[i].x, out[i].y);
        pen_to(pen, in[STEPS - i].x, in[STEPS - i].y);
        pen_stroke(pen, INK_FAMILY + MST_FAMILY_ECHO, 0.35);
    }
}

static void air(struct pen *pen, int side, double from, double to, double deep)
{
    struct mst_point a = arch(side * 0.99, deep + 8), way[] = {{50 + side * 6, 92},
                                                               {(50 + side * 6 + a.x) / 2, 82},
                                                               arch(side * from, deep),
                                                               arch(side * to, -1),
                                                               arch(side * to, -9)};
    pen_air(pen, way, sizeof way / sizeof *way, INK_FAMILY + MST_FAMILY_LENGTH, 0);
}

void palate_draw(struct pen *pen, const struct mst_figure *figure)
{
    static const struct {
        double t, along, across;
    } half[] = {{0.075, 3.9, 2.5}, {0.2, 3.3, 2.4}, {0.32, 3.3, 2.9},  {0.44, 3.3, 3.6},
                {0.56, 3.4, 3.8},  {0.7, 4.3, 4.4}, {0.845, 4.3, 4.4}, {0.98, 3.9, 4.2}};
    for (size_t i = 0; i < sizeof half / sizeof *half; i++) {
        tooth(pen, half[i].t, half[i].along, half[i].across);
        tooth(pen, -half[i].t, half[i].along, half[i].across);
    }
    /* folds behind the front teeth, and the seam of the palate */
    for (int i = 0; i < 3; i++) {
        double y = 24 + 4.6 * i, w = 6 + 2.5 * i;
        for (int side = -1; side <= 1; side += 2) {
            pen_from(pen, 50 + side * 1.2, y);
            pen_curve(pen, 50 + side * w * 0.5, y - 1.6, 50 + side * w * 0.8, y + 1.6,
                      50 + side * w, y + 0.4);
            pen_stroke(pen, INK_SOFT, 0.3);
        }
    }
    pen_from(pen, 50, 39);
    pen_to(pen, 50, 80);
    pen_stroke(pen, INK_RULE, 0.4);
    if (figure->palate == 1) { /* lām: the front sides and the tip */
        touch(pen, -0.5, 0.5, 4.2, 10);
        air(pen, -1, 0.8, 0.77, 9);
        air(pen, 1, 0.8, 0.77, 9);
    } else { /* ḍād: both sides at the molars, joined in front; the air is squeezed along them */
        touch(pen, -1.0, -0.1, 5.2, 12);
        touch(pen, 0.1, 1.0, 5.2, 12);
        air(pen, -1, 0.9, 0.63, 8);
        air(pen, 1, 0.9, 0.63, 8);
    }
}
