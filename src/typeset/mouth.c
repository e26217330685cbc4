/*
 * The mouth as curves. A resting tongue is bent so that chosen points of it
 * reach chosen points of the roof; each bend dies away along the tongue like a
 * bell curve, and together they meet every wish exactly (a small linear
 * system). What would then pass through the roof is laid against it, which is
 * how a soft tongue touches.
 *
 * Proportions are a schema of our own after the general description of the
 * vocal tract in phonetics (International Phonetic Association, Handbook,
 * 1999, part 1, figure 2, names the same parts); measures are ours.
 */
#include "mouth.h"

#include <math.h>
#include <string.h>

const double glottis_y = 104, glottis_front = 63.6, glottis_back = 69.4;

struct mst_point point_lerp(struct mst_point a, struct mst_point b, double t)
{
    return (struct mst_point){a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t};
}

double point_apart(struct mst_point a, struct mst_point b)
{
    return hypot(a.x - b.x, a.y - b.y);
}

double mouth_wall(double y)
{
    double below = y > 42 ? y - 42 : 0;
    return 75 - 0.00125 * below * below;
}

/* --- the roof ---------------------------------------------------------------- */

static void roof_add(struct mst_mouth *m, struct mst_point p)
{
    if (m->roof_count < MST_MOUTH_ROOF_MAX)
        m->roof[m->roof_count++] = p;
}

/* Cubic from the last point on. */
static void roof_curve(struct mst_mouth *m, struct mst_point b, struct mst_point c,
                       struct mst_point d)
{
    enum { STEPS = 14 };
    struct mst_point a = m->roof[m->roof_count - 1];
    for (int i = 1; i <= STEPS; i++) {
        double t = (double)i / STEPS;
        struct mst_point ab = point_lerp(a, b, t), bc = point_lerp(b, c, t),
                         cd = point_lerp(c, d, t);
        roof_add(m, point_lerp(point_lerp(ab, bc, t), point_lerp(bc, cd, t), t));
    }
}

/* The same point of a raised and of a hanging veil. */
static struct mst_point veil(const struct mst_mouth *m, double ux, double uy, double hx, double hy)
{
    double t = m->posture.nose ? 1 : 0;
    return (struct mst_point){ux + (hx - ux) * t, uy + (hy - uy) * t};
}

static void roof_shape(struct mst_mouth *m)
{
    roof_add(m, (struct mst_point){20.2, 64});
    roof_curve(m, (struct mst_point){21.2, 62}, (struct mst_point){22.2, 60},
               (struct mst_point){22.8, 58});
    roof_curve(m, (struct mst_point){23.2, 56}, (struct mst_point){26, 55.6},
               (struct mst_point){28, 53.2});
    roof_curve(m, (struct mst_point){31, 49}, (struct mst_point){36, 44.9},
               (struct mst_point){43, 44.5});
    roof_curve(m, (struct mst_point){48, 44.2}, (struct mst_point){52, 45},
               (struct mst_point){56, 46.6});
    roof_curve(m, veil(m, 60, 48, 59.5, 48.3), veil(m, 65, 49, 63, 50.5),
               veil(m, 68.5, 52.5, 65, 54.5));
    roof_curve(m, veil(m, 70.4, 54.6, 66, 56.8), veil(m, 70.8, 57.4, 66.4, 59.4),
               veil(m, 70, 60.2, 66.2, 62.6));
    m->roof_uvula = m->roof_count - 1;
    for (double y = 62; y < glottis_y + 1; y += 1.5)
        roof_add(m, (struct mst_point){mouth_wall(y), y});
}

void mouth_veil_back(const struct mst_mouth *m, struct mst_point out[VEIL_POINTS])
{
    out[0] = (struct mst_point){56, 43};
    out[1] = veil(m, 62, 42.4, 60.5, 44.2);
    out[2] = veil(m, 69, 42.6, 65, 47.6);
    out[3] = veil(m, 74, 45.5, 67.6, 51.5);
    out[4] = veil(m, 74.7, 49.5, 68.8, 55.5);
    out[5] = veil(m, 73, 54.5, 68.6, 59.4);
    out[6] = m->roof[m->roof_uvula];
}

struct mst_point mst_mouth_passive(const struct mst_mouth *m, enum mst_passive at)
{
    /* x along the roof; the throat by its height */
    static const double x[MST_PASSIVE_COUNT] = {20.2, 22.4, 24.2, 27.2, 38, 58, 0, 0};
    if (at == MST_AT_THROAT)
        return (struct mst_point){mouth_wall(82), 82};
    if (at == MST_AT_UVULA)
        return m->roof[m->roof_uvula - 18];
    for (int i = 1; i <= m->roof_uvula; i++)
        if (m->roof[i].x >= x[at]) {
            double t = (x[at] - m->roof[i - 1].x) / (m->roof[i].x - m->roof[i - 1].x);
            return point_lerp(m->roof[i - 1], m->roof[i], t);
        }
    return m->roof[0];
}

/* --- the tongue --------------------------------------------------------------- */

static struct mst_point through(const struct mst_point *k, const double *at, int count, double u)
{
    int i = 1;
    while (i < count - 1 && u > at[i])
        i++;
    /* Hermite with slopes of the neighbours */
    double span = at[i] - at[i - 1], t = (u - at[i - 1]) / span;
    int before = i > 1 ? i - 2 : 0, after = i < count - 1 ? i + 1 : i;
    double d0 = at[i] - at[before], d1 = at[after] - at[i - 1];
    double h00 = (1 + 2 * t) * (1 - t) * (1 - t), h10 = t * (1 - t) * (1 - t),
           h01 = t * t * (3 - 2 * t), h11 = t * t * (t - 1);
    return (struct mst_point){h00 * k[i - 1].x + h10 * span * (k[i].x - k[before].x) / d0 +
                                  h01 * k[i].x + h11 * span * (k[after].x - k[i - 1].x) / d1,
                              h00 * k[i - 1].y + h10 * span * (k[i].y - k[before].y) / d0 +
                                  h01 * k[i].y + h11 * span * (k[after].y - k[i - 1].y) / d1};
}

static struct mst_point at_rest(double u, double jaw)
{
    static const struct mst_point rest[] = {{25.2, 65}, {28.3, 60.6}, {34, 58},
                                            {42, 56.6}, {50, 57.2},   {57, 60.4},
                                            {61.4, 67}, {63.4, 76},   {64, 88}};
    static const double at[] = {0, 0.08, 0.2, 0.34, 0.48, 0.61, 0.73, 0.86, 1};
    struct mst_point p = through(rest, at, sizeof at / sizeof *at, u);
    p.y += jaw * (1 - u) * (1 - u); /* the front goes down with the jaw */
    return p;
}

/* How far a bend at one point is felt at another: shorter towards the tip. */
static double felt(double at, double u)
{
    double reach = 0.07 + 0.16 * at;
    double d = (u - at) / (u > at ? reach * 1.25 : reach);
    return exp(-d * d);
}

/* The direction away from the roof, into the mouth. */
static struct mst_point inward(const struct mst_mouth *m, struct mst_point p)
{
    int best = 0, count = m->roof_count;
    for (int i = 1; i < count; i++)
        if (point_apart(m->roof[i], p) < point_apart(m->roof[best], p))
            best = i;
    int to = best < m->roof_uvula ? best + 1 : best;
    int from = best > 0 && best != m->roof_uvula + 1 ? best - 1 : best;
    if (best > m->roof_uvula)
        to = best + 1 < count ? best + 1 : best;
    double dx = m->roof[to].x - m->roof[from].x, dy = m->roof[to].y - m->roof[from].y;
    double len = hypot(dx, dy);
    return len > 0 ? (struct mst_point){-dy / len, dx / len} : (struct mst_point){0, 1};
}

struct wish {
    double u;
    struct mst_point target;
};

/* Bend the tongue so that every wish is met: solve for the strength of each bend. */
static void bend(struct mst_mouth *m, const struct wish *wishes, int count)
{
    enum { MOST = MST_TOUCHES_MAX + 2 };
    double a[MOST][MOST + 2];
    for (int i = 0; i < count; i++) {
        struct mst_point rest = at_rest(wishes[i].u, m->posture.jaw);
        for (int k = 0; k < count; k++)
            a[i][k] = felt(wishes[k].u, wishes[i].u);
        a[i][count] = wishes[i].target.x - rest.x;
        a[i][count + 1] = wishes[i].target.y - rest.y;
    }
    for (int p = 0; p < count; p++) /* the diagonal leads: felt(u, u) = 1 is the largest */
        for (int i = 0; i < count; i++) {
            double f = i == p ? 0 : a[i][p] / a[p][p];
            for (int k = p; k < count + 2 && i != p; k++)
                a[i][k] -= f * a[p][k];
        }
    for (int n = 0; n < MST_MOUTH_TONGUE; n++) {
        double u = (double)n / (MST_MOUTH_TONGUE - 1);
        struct mst_point p = at_rest(u, m->posture.jaw);
        for (int k = 0; k < count; k++) {
            double w = felt(wishes[k].u, u) / a[k][k];
            p.x += w * a[k][count];
            p.y += w * a[k][count + 1];
        }
        m->tongue[n] = p;
    }
}

/* Lay against the roof whatever would pass through it, or, where nothing may touch, come too near.
 */
static void lay_against(struct mst_mouth *m, double clearance)
{
    for (int n = 0; n < MST_MOUTH_TONGUE; n++) {
        struct mst_point *p = &m->tongue[n];
        for (int i = 1; i <= m->roof_uvula; i++) {
            struct mst_point a = m->roof[i - 1], b = m->roof[i];
            if (p->x < a.x || p->x > b.x || b.x <= a.x)
                continue;
            double y = a.y + (b.y - a.y) * (p->x - a.x) / (b.x - a.x) + clearance;
            if (p->y < y)
                p->y = y;
        }
        double wall = mouth_wall(p->y) - 1.2;
        if (p->x > wall)
            p->x = wall;
    }
}

static void tongue_shape(struct mst_mouth *m)
{
    const struct mst_posture *q = &m->posture;
    struct wish wishes[MST_TOUCHES_MAX + 2];
    int count = 0;
    double clearance = 0.7;
    for (int i = 0; i < q->touch_count; i++) {
        const struct mst_touch *t = &q->touches[i];
        struct mst_point p = mst_mouth_passive(m, t->at), n = inward(m, p);
        /* pressed: a stretch lies on, not a point; the back of the tongue is broader */
        double press = t->gap > 0 ? t->gap : t->tongue < 0.15 ? -0.6 : -3.2;
        wishes[count++] = (struct wish){t->tongue, {p.x + press * n.x, p.y + press * n.y}};
        if (t->gap <= 0)
            clearance = 0;
    }
    if (q->tip_down > 0)
        wishes[count++] = (struct wish){0, {24.2, 66.4 + q->jaw * 0.6}};
    if (q->back_up > 0)
        wishes[count++] = (struct wish){0.62, {58.5, 60.4 - q->back_up}};
    bend(m, wishes, count);
    lay_against(m, clearance);
}

/* --- lips, glottis, what makes the sound --------------------------------------- */

static void lips_shape(struct mst_mouth *m)
{
    static const struct {
        double out, gap;
    } stands[] = {[MST_LIPS_OPEN] = {0, 4.5},
                  [MST_LIPS_CLOSED] = {0, 0},
                  [MST_LIPS_LIGHT] = {0, 0.35},
                  [MST_LIPS_ROUNDED] = {3.4, 2.0},
                  [MST_LIPS_TEETH] = {0, 0.7}};
    const struct mst_posture *q = &m->posture;
    double out = stands[q->lips].out, gap = stands[q->lips].gap;
    if (q->lips == MST_LIPS_OPEN)
        gap += q->jaw;
    m->upper_lip = (struct mst_point){13.4 - out, 62.8};
    m->lower_lip = (struct mst_point){13.4 - out, 62.8 + gap};
    m->lip_gap = gap;
    if (q->lips == MST_LIPS_TEETH) {
        m->upper_lip = (struct mst_point){12.6, 60.4};
        m->lower_lip = (struct mst_point){m->roof[0].x - 0.6, m->roof[0].y + gap};
    }
    static const double folds[] = {
        [MST_GLOTTIS_OPEN] = 2.0, [MST_GLOTTIS_NARROW] = 0.9, [MST_GLOTTIS_CLOSED] = 0};
    m->glottis_gap = folds[q->glottis];
}

static double to_segment(struct mst_point p, struct mst_point a, struct mst_point b,
                         struct mst_point *near)
{
    double dx = b.x - a.x, dy = b.y - a.y, len = dx * dx + dy * dy;
    double t = len > 0 ? ((p.x - a.x) * dx + (p.y - a.y) * dy) / len : 0;
    *near = point_lerp(a, b, t < 0 ? 0 : t > 1 ? 1 : t);
    return point_apart(p, *near);
}

/* The roof's nearest point; the gap of veil and wall is no roof. */
static double to_roof(const struct mst_mouth *m, struct mst_point p, struct mst_point *near)
{
    double best = 1e9;
    for (int i = 1; i < m->roof_count; i++) {
        struct mst_point q;
        if (i == m->roof_uvula + 1)
            continue;
        double d = to_segment(p, m->roof[i - 1], m->roof[i], &q);
        if (d < best) {
            best = d;
            *near = q;
        }
    }
    return best;
}

static void maker(struct mst_mouth *m)
{
    const struct mst_posture *q = &m->posture;
    struct mst_point wall;
    m->epiglottis = (struct mst_point){m->tongue[58].x + 4.2, m->tongue[58].y - 3};
    double limit = mouth_wall(m->epiglottis.y) - 0.9;
    if (m->epiglottis.x > limit)
        m->epiglottis.x = limit;
    switch (q->maker) {
    case MST_MAKER_LIPS:
        if (q->lips == MST_LIPS_TEETH) {
            m->gap = point_apart(m->lower_lip, m->roof[0]);
            m->place = point_lerp(m->lower_lip, m->roof[0], 0.5);
        } else {
            m->gap = m->lip_gap;
            m->place = point_lerp(m->lower_lip, m->upper_lip, 0.5);
        }
        break;
    case MST_MAKER_GLOTTIS:
        m->gap = m->glottis_gap;
        m->place = (struct mst_point){(glottis_front + glottis_back) / 2, glottis_y};
        break;
    case MST_MAKER_ROOT:
        wall = (struct mst_point){mouth_wall(m->epiglottis.y), m->epiglottis.y};
        m->gap = point_apart(m->epiglottis, wall);
        m->place = point_lerp(m->epiglottis, wall, 0.5);
        break;
    case MST_MAKER_TONGUE: {
        /* near the place that was asked for: the roof may be touched elsewhere too */
        struct mst_point asked = mst_mouth_passive(m, q->touches[0].at), near = asked;
        m->gap = 1e9;
        for (int n = 0; n < MST_MOUTH_TONGUE; n++) {
            double d = to_roof(m, m->tongue[n], &near);
            if (point_apart(near, asked) < 3.5 && d < m->gap - 0.02) {
                m->gap = d;
                m->place = point_lerp(near, m->tongue[n], 0.5);
            }
        }
        break;
    }
    case MST_MAKER_NONE:
        m->gap = 0;
        m->place = (struct mst_point){0, 0};
        break;
    }
}

/* --- the air -------------------------------------------------------------------- */

static void mouth_air(struct mst_mouth *m)
{
    const struct mst_posture *q = &m->posture;
    struct mst_point *air = m->mouth_air;
    int n = 0;
    air[n++] = (struct mst_point){66.6, 117};
    air[n++] = (struct mst_point){66.5, glottis_y + 4};
    if (q->maker == MST_MAKER_GLOTTIS && q->manner == MST_MANNER_CLOSED) {
        m->mouth_air_count = n;
        return;
    }
    air[n++] = (struct mst_point){66.5, glottis_y};
    air[n++] = (struct mst_point){66.9, glottis_y - 6};
    air[n++] = (struct mst_point){(m->epiglottis.x + mouth_wall(m->epiglottis.y + 3)) / 2,
                                  m->epiglottis.y + 3};
    for (int i = 54; i >= 0; i -= 2) { /* halfway between the tongue and what is above it */
        struct mst_point near;
        double d = to_roof(m, m->tongue[i], &near);
        if (i < 5 && near.x < 21.5)
            break;
        if (q->manner == MST_MANNER_CLOSED && q->maker == MST_MAKER_TONGUE &&
            (d < 1.4 || point_apart(m->tongue[i], m->place) < 3)) {
            m->mouth_air_count = n;
            return;
        }
        struct mst_point middle = point_lerp(m->tongue[i], near, 0.5);
        if (d > 14) /* wide: keep to the tongue's side of it */
            middle = point_lerp(m->tongue[i], near, 7 / d);
        air[n++] = middle;
    }
    if (q->lips == MST_LIPS_TEETH) {
        air[n++] = m->place;
        air[n++] = (struct mst_point){14, 63.4};
    } else {
        air[n++] = (struct mst_point){20.4, (m->roof[0].y + 0.9 + m->lower_lip.y) / 2};
        if (m->lip_gap < 1 && q->maker == MST_MAKER_LIPS) {
            air[n - 1] = (struct mst_point){18.2, 64.6};
            m->mouth_air_count = n;
            return;
        }
        air[n++] = point_lerp(m->upper_lip, m->lower_lip, 0.5);
    }
    air[n] = (struct mst_point){air[n - 1].x - 10, air[n - 1].y + 0.4};
    m->mouth_air_count = n + 1;
}

static void nose_air(struct mst_mouth *m)
{
    struct mst_point way[] = {{66.6, 117}, {66.5, glottis_y}, {67.2, 96}, {69.2, 84}, {71, 72},
                              {71.2, 62},  {71.6, 53},        {70, 42},   {62, 35},   {48, 33.6},
                              {32, 35.5},  {18, 41},          {10.5, 48}, {6.5, 55.5}};
    double left = m->epiglottis.x + 1;
    if (way[3].x < left)
        way[3].x = (left + mouth_wall(84)) / 2;
    memcpy(m->nose_air, way, sizeof way);
    m->nose_air_count = sizeof way / sizeof *way;
}

void mst_mouth_shape(const struct mst_posture *posture, struct mst_mouth *m)
{
    struct mst_point back[VEIL_POINTS];
    memset(m, 0, sizeof *m);
    m->posture = *posture;
    roof_shape(m);
    tongue_shape(m);
    lips_shape(m);
    maker(m);
    mouth_veil_back(m, back);
    m->veil_gap = 1e9;
    for (int i = 0; i < VEIL_POINTS; i++) {
        double d = mouth_wall(back[i].y) - back[i].x;
        m->veil_gap = d < m->veil_gap ? d : m->veil_gap;
    }
    if (posture->mouth)
        mouth_air(m);
    if (posture->nose)
        nose_air(m);
}
