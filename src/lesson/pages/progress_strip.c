/* One strip of a progress page: ruler, ticks, band and cord (progress.h). */
#include "progress.h"

#include <math.h>

enum { MARGIN = 3 };

/* The middle of a week, and the height of a share. */
static double week_x(const struct strip *s, int week, double x, double width, int leftward)
{
    double at = (week + 0.5) / s->weeks;
    return x + width * (leftward ? 1 - at : at);
}

static double tick_length(int32_t heard)
{
    double length = 2 + 2.2 * sqrt((double)heard);
    return heard == 0 ? 1.6 : length > 10 ? 10 : length;
}

void strip_draw(struct mst_leaves *leaves, const struct strip *s, double x, double y, double width,
                double height, int leftward)
{
    double ruler = y + height - 11, top = y + MARGIN, rise = ruler - 4 - top;
    double xs[WEEKS_MOST], known[WEEKS_MOST], low[WEEKS_MOST], high[WEEKS_MOST];
    int first = 0, count = 0, ink = (int)s->family;
    while (first < s->weeks && s->by_then[first] == 0)
        first++;
    for (int w = first; w < s->weeks; w++, count++) {
        xs[count] = week_x(s, w, x, width, leftward);
        known[count] = top + rise * (1 - s->known[w]);
        low[count] = top + rise * (1 - s->low[w]);
        high[count] = top + rise * (1 - s->high[w]);
    }
    mst_leaf_band(leaves, xs, high, low, count, MST_LEAF_WASH);
    const double edge[2] = {x, x + width}, taut[2] = {top, top};
    mst_leaf_cord(leaves, &(struct mst_cord){edge, taut, 2, 0.7, 1, MST_LEAF_SOFT});
    mst_leaf_stroke(leaves, x, ruler, x + width, ruler, 0.7, MST_LEAF_SOFT);
    for (int w = 0; w < s->weeks; w++) {
        double at = week_x(s, w, x, width, leftward);
        mst_leaf_stroke(leaves, at, ruler, at, ruler + tick_length(s->heard[w]),
                        s->heard[w] ? 1.3 : 0.5, s->heard[w] ? ink : MST_LEAF_SOFT);
    }
    if (count == 0)
        return;
    mst_leaf_cord(leaves, &(struct mst_cord){xs, known, count, 1.7, 0, ink});
    mst_leaf_dot(leaves, xs[0], known[0], 1.7, ink);
    mst_leaf_dot(leaves, xs[count - 1], known[count - 1], 2.3, ink);
}
