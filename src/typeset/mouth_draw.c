/* The head in section, drawn with thin ink; every moving line follows a shape (mouth.c). */
#include "mouth_pen.h"

#include <math.h>

/* --- the pen -------------------------------------------------------------------- */

static double px(const struct pen *pen, double x)
{
    return pen->x + x * pen->scale;
}
static double py(const struct pen *pen, double y)
{
    return pen->y + y * pen->scale;
}

void pen_from(struct pen *pen, double x, double y)
{
    scene_move(pen->scene, px(pen, x), py(pen, y));
}

void pen_to(struct pen *pen, double x, double y)
{
    scene_line(pen->scene, px(pen, x), py(pen, y));
}

void pen_curve(struct pen *pen, double x1, double y1, double x2, double y2, double x, double y)
{
    scene_curve(pen->scene, px(pen, x1), py(pen, y1), px(pen, x2), py(pen, y2), px(pen, x),
                py(pen, y));
}

void pen_through(struct pen *pen, const struct mst_point *p, int count, int go_on)
{
    if (go_on)
        pen_to(pen, p[0].x, p[0].y);
    else
        pen_from(pen, p[0].x, p[0].y);
    for (int i = 1; i < count; i++) {
        const struct mst_point *a = &p[i > 1 ? i - 2 : 0], *b = &p[i - 1], *c = &p[i],
                               *d = &p[i + 1 < count ? i + 1 : i];
        pen_curve(pen, b->x + (c->x - a->x) / 6, b->y + (c->y - a->y) / 6, c->x - (d->x - b->x) / 6,
                  c->y - (d->y - b->y) / 6, c->x, c->y);
    }
}

void pen_stroke(struct pen *pen, int ink, double width)
{
    pen->scene->ink = ink;
    scene_stroke(pen->scene, width * pen->scale, DASH_NONE);
}

void pen_dashes(struct pen *pen, int ink, double width)
{
    pen->scene->ink = ink;
    scene_stroke(pen->scene, width * pen->scale, DASH_BROKEN);
}

void pen_tissue(struct pen *pen, pen_path *draw, const void *of, int fill, double width)
{
    draw(pen, of);
    scene_close(pen->scene);
    pen->scene->ink = fill;
    scene_fill(pen->scene);
    draw(pen, of);
    scene_close(pen->scene);
    pen_stroke(pen, INK_TEXT, width);
}

void pen_air(struct pen *pen, const struct mst_point *p, int count, int ink, int held)
{
    const struct mst_point *end = &p[count - 1];
    double back_x = end->x - p[count - 2].x, back_y = end->y - p[count - 2].y;
    double len = hypot(back_x, back_y);
    if (len <= 0)
        return;
    back_x /= len;
    back_y /= len;
    pen_through(pen, p, count, 0);
    pen_dashes(pen, ink, 0.85);
    if (held) {
        pen_from(pen, end->x - 2.6 * back_y, end->y + 2.6 * back_x);
        pen_to(pen, end->x + 2.6 * back_y, end->y - 2.6 * back_x);
        pen_stroke(pen, ink, 1.1);
        return;
    }
    pen_from(pen, end->x + 2.2 * back_x, end->y + 2.2 * back_y);
    pen_to(pen, end->x - 1.6 * back_x - 1.7 * back_y, end->y - 1.6 * back_y + 1.7 * back_x);
    pen_to(pen, end->x - 1.6 * back_x + 1.7 * back_y, end->y - 1.6 * back_y - 1.7 * back_x);
    scene_close(pen->scene);
    pen->scene->ink = ink;
    scene_fill(pen->scene);
}

void pen_place(struct pen *pen, struct mst_point p, int touching)
{
    pen->scene->ink = INK_FAMILY + MST_FAMILY_ECHO;
    if (touching) {
        scene_circle(pen->scene, px(pen, p.x), py(pen, p.y), 1.1 * pen->scale);
        scene_fill(pen->scene);
    }
    scene_circle(pen->scene, px(pen, p.x), py(pen, p.y), 3.4 * pen->scale);
    pen_stroke(pen, INK_FAMILY + MST_FAMILY_ECHO, 0.5);
}

/* --- what moves ------------------------------------------------------------------ */

static void tongue_path(struct pen *pen, const void *of)
{
    const struct mst_mouth *m = of;
    double jaw = m->posture.jaw;
    struct mst_point tip = m->tongue[0], some[MST_MOUTH_TONGUE / 2 + 1];
    int n = 0;
    for (int i = 0; i < MST_MOUTH_TONGUE; i += 2)
        some[n++] = m->tongue[i];
    pen_through(pen, some, n, 0);
    pen_curve(pen, 63, 92, 60, 95, 54, 93);
    pen_curve(pen, 46, 90, 36, 85 + jaw, 29, 78.5 + jaw);
    /* the underside: from the floor of the mouth forward to the tip */
    pen_curve(pen, 29.5, 75 + jaw, 31, 73.5 + jaw, 30, 71.5 + jaw * 0.7);
    pen_curve(pen, tip.x + 4.5, tip.y + 4.6, tip.x - 1.2, tip.y + 3.2, tip.x, tip.y);
}

static void upper_lip_path(struct pen *pen, const void *of)
{
    const struct mst_mouth *m = of;
    double x = m->upper_lip.x, y = m->upper_lip.y;
    pen_from(pen, 12.6, 51);
    pen_curve(pen, 12, 54.5, x - 2, y - 6, x - 3.4, y - 3.4);
    pen_curve(pen, x - 4.4, y - 1.4, x - 2, y, x, y);
    pen_curve(pen, x + 2.4, y, x + 3.6, y - 2, 17.2, y - 5.4);
    pen_curve(pen, 17.6, 55.5, 18.2, 53.5, 19, 52.4);
}

static void lower_lip_path(struct pen *pen, const void *of)
{
    const struct mst_mouth *m = of;
    double x = m->lower_lip.x, y = m->lower_lip.y, jaw = m->posture.jaw;
    pen_from(pen, 14.6, 77.5 + jaw);
    pen_curve(pen, 12.8, 74.5 + jaw, x - 1.6, y + 7, x - 3, y + 3.8);
    pen_curve(pen, x - 4, y + 1.4, x - 2, y, x, y);
    pen_curve(pen, x + 1.6, y, x + 3.2, y + 1.8, x + 3.8 > 19 ? 19.4 : x + 3.8, y + 4.4);
    pen_curve(pen, 18.2, 72 + jaw, 18.6, 75 + jaw, 20, 77.5 + jaw);
}

static void upper_tooth_path(struct pen *pen, const void *of)
{
    const struct mst_mouth *m = of;
    pen_from(pen, 18.4, 53.5);
    pen_curve(pen, 18.2, 57, 18.4, 61, 19.4, 64);
    pen_to(pen, m->roof[0].x, m->roof[0].y);
    pen_curve(pen, 21.2, 62, 22.2, 60, 22.8, 58);
    pen_curve(pen, 23.4, 55.5, 22.5, 53, 20.6, 52);
}

static void lower_tooth_path(struct pen *pen, const void *of)
{
    const struct mst_mouth *m = of;
    double y = 67.4 + m->posture.jaw;
    pen_from(pen, 21, y);
    pen_curve(pen, 20.2, y + 3, 20, y + 7, 21, y + 10.5);
    pen_to(pen, 24, y + 10.5);
    pen_curve(pen, 24.6, y + 7, 23.6, y + 3, 21.8, y);
}

static void palate_path(struct pen *pen, const void *of)
{
    const struct mst_mouth *m = of;
    struct mst_point back[VEIL_POINTS], turned[VEIL_POINTS], some[64];
    int n = 0;
    mouth_veil_back(m, back);
    for (int i = 14; i <= m->roof_uvula; i += 2)
        some[n++] = m->roof[i];
    pen_through(pen, some, n, 0);
    for (int i = 0; i < VEIL_POINTS; i++)
        turned[i] = back[VEIL_POINTS - 1 - i];
    pen_through(pen, turned, VEIL_POINTS, 1);
    pen_curve(pen, 46, 41.2, 34, 41.6, 26, 45.2);
    pen_curve(pen, 21, 47.5, 17, 49, 15, 50.6);
    pen_curve(pen, 16, 53, 19, 53, 20.6, 52.6);
}

static void epiglottis_path(struct pen *pen, const void *of)
{
    const struct mst_mouth *m = of;
    double x = m->epiglottis.x, y = m->epiglottis.y;
    pen_from(pen, 63.4, 92.5);
    pen_curve(pen, 64.4, 88, x - 1.8, y + 4, x - 0.8, y);
    pen_curve(pen, x - 0.4, y - 0.8, x, y - 0.6, x, y);
    pen_curve(pen, x + 0.6, y + 6, 66, 90, 65.2, 94);
}

static void folds(struct pen *pen, const struct mst_mouth *m)
{
    double half = m->glottis_gap / 2, middle = (glottis_front + glottis_back) / 2;
    for (int side = 0; side < 2; side++) {
        double wall = side ? glottis_back : glottis_front;
        double edge = side ? middle + half : middle - half;
        pen_from(pen, wall, glottis_y - 1.9);
        pen_curve(pen, wall, glottis_y - 1.2, edge, glottis_y - 1.2, edge, glottis_y);
        pen_curve(pen, edge, glottis_y + 1.2, wall, glottis_y + 1.2, wall, glottis_y + 1.9);
        scene_close(pen->scene);
        pen->scene->ink = INK_TEXT;
        scene_fill(pen->scene);
    }
}

/* --- what does not ----------------------------------------------------------------- */

static void head(struct pen *pen, const struct mst_mouth *m)
{
    double jaw = m->posture.jaw;
    /* forehead, nose */
    pen_from(pen, 18.5, 1);
    pen_curve(pen, 15.6, 9, 16, 17, 16.6, 22.5);
    pen_curve(pen, 16.4, 28, 9, 36.5, 5.2, 43);
    pen_curve(pen, 3.8, 46, 5, 48.8, 7.4, 49.2);
    pen_stroke(pen, INK_TEXT, 0.75);
    /* the nostril's wing and the strip under the nose */
    pen_from(pen, 12.2, 49.4);
    pen_curve(pen, 12.9, 49.8, 13, 50.3, 12.6, 51);
    pen_stroke(pen, INK_TEXT, 0.75);
    /* chin, floor of the jaw, neck */
    pen_from(pen, 14.6, 77.5 + jaw);
    pen_curve(pen, 13.6, 80 + jaw, 12.6, 83 + jaw, 14.4, 86.6 + jaw);
    pen_curve(pen, 16.4, 91 + jaw, 23, 92 + jaw, 30, 92.6 + jaw * 0.8);
    pen_curve(pen, 40, 94 + jaw * 0.4, 50, 96.5, 54.5, 100);
    pen_curve(pen, 56.4, 104, 54.6, 110, 55, 119);
    pen_stroke(pen, INK_TEXT, 0.75);
    /* the nose's hollow */
    pen_from(pen, 8.6, 48.6);
    pen_curve(pen, 8, 43, 13, 34, 22, 29.4);
    pen_curve(pen, 32, 25, 50, 24.8, 60, 26.4);
    pen_curve(pen, 69, 28, 75, 34, 75, 42);
    pen_stroke(pen, INK_TEXT, 0.5);
    pen_from(pen, 24, 32.4);
    pen_curve(pen, 34, 29, 48, 29, 56, 31);
    pen_stroke(pen, INK_SOFT, 0.3);
    pen_from(pen, 22, 39.4);
    pen_curve(pen, 32, 37.6, 46, 37.4, 55, 38.6);
    pen_stroke(pen, INK_SOFT, 0.3);
    /* back wall of the throat */
    struct mst_point wall[20];
    int n = 0;
    for (double y = 42; n < 20; y += 4)
        wall[n++] = (struct mst_point){y > glottis_y - 6 ? glottis_back : mouth_wall(y), y};
    pen_through(pen, wall, n, 0);
    pen_stroke(pen, INK_TEXT, 0.75);
    /* front wall of the larynx and the windpipe */
    pen_from(pen, 63.4, 92.5);
    pen_curve(pen, 62.4, 96, 63.6, 99, glottis_front, glottis_y - 1.9);
    pen_to(pen, glottis_front, glottis_y + 1.9);
    pen_to(pen, 63.2, 118);
    pen_stroke(pen, INK_TEXT, 0.75);
}

/* Rings that go out from the place: the echo of a release. */
static void rings(struct pen *pen, struct mst_point p)
{
    for (int i = 1; i <= 3; i++) {
        scene_circle(pen->scene, px(pen, p.x), py(pen, p.y), (3.4 + 1.9 * i) * pen->scale);
        pen_stroke(pen, INK_FAMILY + MST_FAMILY_ECHO, 0.55 - 0.1 * i);
    }
}

/* Beside the plane of the section the edge of the tongue meets the molars: hatched up to the roof.
 */
static void side_contact(struct pen *pen, const struct mst_mouth *m)
{
    for (int i = 15; i <= 38; i += 2) {
        struct mst_point a = m->tongue[i], near = m->roof[0];
        for (int k = 0; k <= m->roof_uvula; k++)
            if (point_apart(m->roof[k], a) < point_apart(near, a))
                near = m->roof[k];
        pen_from(pen, a.x, a.y);
        pen_to(pen, near.x, near.y);
        pen_stroke(pen, INK_FAMILY + MST_FAMILY_ECHO, 0.45);
    }
}

static void section(struct pen *pen, const struct mst_posture *posture)
{
    struct mst_mouth m;
    mst_mouth_shape(posture, &m);
    head(pen, &m);
    pen_tissue(pen, palate_path, &m, INK_WASH, 0.6);
    pen_tissue(pen, tongue_path, &m, INK_WASH, 0.95);
    pen_tissue(pen, epiglottis_path, &m, INK_WASH, 0.5);
    pen_tissue(pen, lower_lip_path, &m, INK_WASH, 0.75);
    pen_tissue(pen, upper_lip_path, &m, INK_WASH, 0.75);
    pen_tissue(pen, lower_tooth_path, &m, INK_PAPER, 0.5);
    pen_tissue(pen, upper_tooth_path, &m, INK_PAPER, 0.5);
    folds(pen, &m);
    int held = posture->manner == MST_MANNER_CLOSED;
    if (m.mouth_air_count)
        pen_air(pen, m.mouth_air, m.mouth_air_count, INK_FAMILY + MST_FAMILY_LENGTH, held);
    if (m.nose_air_count)
        pen_air(pen, m.nose_air, m.nose_air_count, INK_FAMILY + MST_FAMILY_NASAL, 0);
    int touching = m.gap < 0.3;
    if (posture->manner == MST_MANNER_SIDES && !touching)
        side_contact(pen, &m);
    if (posture->maker != MST_MAKER_NONE)
        pen_place(pen, m.place, touching);
    if (posture->echo)
        rings(pen, m.place);
}

void mst_leaf_figure(struct mst_leaves *leaves, const struct mst_figure *figure, double x, double y,
                     double width)
{
    struct pen pen = {leaves_page(leaves), x, y, width / 100};
    if (!pen.scene)
        return;
    if (figure->palate)
        palate_draw(&pen, figure);
    else
        section(&pen, &figure->posture);
}
