/* ruler.c – the measure notation's rulers, drawn to the scale of time. */
#include "draw.h"

#include <math.h>

uint32_t draw_ink_of(enum mst_rule rule)
{
    return mst_ink_of_family(mst_rule_family(rule), MST_THEME_LIGHT);
}

uint32_t draw_ink_of_length(enum mst_length length)
{
    switch (length) {
    case MST_LENGTH_GHUNNA:
    case MST_LENGTH_GHUNNA_STOP:
        return draw_ink_of(MST_RULE_GHUNNA);
    case MST_LENGTH_HIDING:
        return draw_ink_of(MST_RULE_IKHFA);
    case MST_LENGTH_LIPS:
        return draw_ink_of(MST_RULE_IQLAB);
    case MST_LENGTH_MERGE_W:
    case MST_LENGTH_MERGE_Y:
        return draw_ink_of(MST_RULE_IDGHAM_GHUNNA);
    default:
        return draw_ink_of(MST_RULE_MADD_TABII);
    }
}

enum draw_ruler draw_ruler_of(enum mst_rule rule)
{
    switch (mst_rule_family(rule)) {
    case MST_FAMILY_NASAL:
        return RULER_WAVE;
    case MST_FAMILY_HIDE:
        return RULER_DOTTED;
    case MST_FAMILY_MERGE:
        return RULER_TIE;
    case MST_FAMILY_TURN:
        return RULER_LOZENGE;
    default:
        return RULER_STRAIGHT;
    }
}

static void wave(struct canvas *c, double x, double y, double width, double weight, double dash,
                 uint32_t colour)
{
    enum { POINTS_MAX = 400 };
    struct canvas_point points[POINTS_MAX];
    const double length = 4.4, amplitude = 1.1;
    size_t count = (size_t)(width / 0.55) + 2;
    count = count < POINTS_MAX ? count : POINTS_MAX;
    for (size_t n = 0; n < count; n++) {
        double at = width * (double)n / (double)(count - 1);
        points[n] = (struct canvas_point){x + at, y - amplitude * sin(2 * M_PI * at / length)};
    }
    canvas_path(c, points, count, weight, dash, colour);
}

void draw_ruler(struct canvas *c, enum draw_ruler kind, double x, double y, double counts,
                double count_width, double weight, uint32_t colour)
{
    double width = counts * count_width;
    if (!(width > 0))
        return;
    if (kind == RULER_STRAIGHT)
        canvas_line(c, x, y, x + width, y, weight, 0, colour);
    else
        wave(c, x, y, width, weight, kind == RULER_DOTTED ? 1.1 : 0, colour);
    if (kind == RULER_TIE)
        canvas_dot(c, x, y, 1.3, 1, 1, colour);
    if (kind == RULER_LOZENGE) {
        struct canvas_point lozenge[] = {
            {x + width, y - 1.9}, {x + width + 1.9, y}, {x + width, y + 1.9}, {x + width - 1.9, y}};
        canvas_fill(c, lozenge, 4, 1, colour);
    }
    for (int n = 0; n <= (int)(counts + 1e-6) && n <= 40; n++)
        canvas_line(c, x + n * count_width, y, x + n * count_width, y + 3, weight * 0.8, 0, colour);
}
