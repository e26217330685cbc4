/* Lines, areas and signs on a leaf (mistara/leaves.h). */
#include "leaves.h"
#include "sign.h"

#include <math.h>

static int ink_of(int ink)
{
    switch (ink) {
    case MST_LEAF_TEXT:
        return INK_TEXT;
    case MST_LEAF_SOFT:
        return INK_SOFT;
    case MST_LEAF_HAIR:
        return INK_RULE;
    case MST_LEAF_WASH:
        return INK_WASH;
    case MST_LEAF_PAPER:
        return INK_PAPER;
    default:
        return ink >= 0 && ink < MST_FAMILY_COUNT ? INK_FAMILY + ink : INK_TEXT;
    }
}

/* The slope at point i: none where the line turns, else a mean of its neighbours' that leans to the
 * smaller one. */
static double slope_at(const double *x, const double *y, int count, int i)
{
    if (count < 2)
        return 0;
    if (i == 0)
        return (y[1] - y[0]) / (x[1] - x[0]);
    if (i == count - 1)
        return (y[i] - y[i - 1]) / (x[i] - x[i - 1]);
    double h0 = x[i] - x[i - 1], h1 = x[i + 1] - x[i];
    double d0 = (y[i] - y[i - 1]) / h0, d1 = (y[i + 1] - y[i]) / h1;
    if (d0 * d1 <= 0)
        return 0;
    double share = (1 + h1 / (h0 + h1)) / 3;
    return d0 * d1 / (share * d1 + (1 - share) * d0);
}

/* From point `from` to point `to`, forwards or backwards; the pen is at the first one. */
static void smooth(struct scene *s, const double *x, const double *y, int count, int from, int to)
{
    int step = to > from ? 1 : -1;
    for (int i = from; i != to; i += step) {
        int k = i + step;
        double third = (x[k] - x[i]) / 3;
        scene_curve(s, x[i] + third, y[i] + slope_at(x, y, count, i) * third, x[k] - third,
                    y[k] - slope_at(x, y, count, k) * third, x[k], y[k]);
    }
}

void mst_leaf_cord(struct mst_leaves *leaves, const struct mst_cord *cord)
{
    struct scene *s = leaves_page(leaves);
    if (!s || cord->count < 1)
        return;
    s->ink = ink_of(cord->ink);
    scene_move(s, cord->x[0], cord->y[0]);
    if (cord->count == 1)
        scene_line(s, cord->x[0], cord->y[0]);
    smooth(s, cord->x, cord->y, cord->count, 0, cord->count - 1);
    scene_stroke(s, cord->width, cord->dotted ? DASH_DOTTED : DASH_NONE);
}

void mst_leaf_band(struct mst_leaves *leaves, const double *x, const double *high,
                   const double *low, int count, int ink)
{
    struct scene *s = leaves_page(leaves);
    if (!s || count < 2)
        return;
    s->ink = ink_of(ink);
    scene_move(s, x[0], high[0]);
    smooth(s, x, high, count, 0, count - 1);
    scene_line(s, x[count - 1], low[count - 1]);
    smooth(s, x, low, count, count - 1, 0);
    scene_close(s);
    scene_fill(s);
}

void mst_leaf_stroke(struct mst_leaves *leaves, double x0, double y0, double x1, double y1,
                     double width, int ink)
{
    struct scene *s = leaves_page(leaves);
    if (!s)
        return;
    s->ink = ink_of(ink);
    scene_segment(s, x0, y0, x1, y1, width);
}

void mst_leaf_dot(struct mst_leaves *leaves, double x, double y, double radius, int ink)
{
    struct scene *s = leaves_page(leaves);
    if (!s)
        return;
    s->ink = ink_of(ink);
    scene_circle(s, x, y, radius);
    scene_fill(s);
}

double mst_leaf_sign(struct mst_leaves *leaves, enum mst_rule rule, double em, double x, double y)
{
    struct scene *s = leaves_page(leaves);
    /* a plain specimen: two counts, the middle grade, complete */
    struct mst_site site = {.rule = (uint8_t)rule,
                            .host = -1,
                            .counts = 2,
                            .counts_min = 2,
                            .counts_max = 2,
                            .complete = 1,
                            .grade = 2};
    enum mst_family family = mst_rule_family(rule);
    struct mark mark = {0};
    site.nasal = family == MST_FAMILY_NASAL || family == MST_FAMILY_HIDE ||
                 family == MST_FAMILY_TURN || rule == MST_RULE_IDGHAM_GHUNNA;
    site.heavy =
        family == MST_FAMILY_WEIGHT && rule != MST_RULE_TARQIQ_RA && rule != MST_RULE_TARQIQ_LAM;
    if (!s || !sign_for_site(&site, &mark))
        return 0;
    return sign_specimen(s, &mark, em, x, y);
}
