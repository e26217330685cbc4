/* The medallion that ends a verse: two rings with twelve beads, the verse's number inside. */
#include "sheet.h"

#include <math.h>
#include <stdio.h>

/* In em. */
static const double RADIUS = 0.40, INNER = 0.335, BEAD_CIRCLE = 0.455, BEAD = 0.02, RISE = 0.30;

double medallion_width(void)
{
    return 2 * (BEAD_CIRCLE + BEAD) + 0.04;
}

void medallion_profile(struct skyline *sky, double x, double em)
{
    double r = (BEAD_CIRCLE + BEAD) * em, middle = -RISE * em;
    for (double dx = -r; dx < r; dx += SKYLINE_STEP_PT) {
        double near = dx < 0 ? fmax(0, -dx - SKYLINE_STEP_PT) : dx;
        double h = sqrt(r * r - near * near);
        skyline_add_rect(sky, x + dx, middle - h, x + dx + SKYLINE_STEP_PT, middle + h);
    }
}

struct mst_span arabic_number(int32_t n, char buf[24])
{
    char digits[12];
    int count = snprintf(digits, sizeof digits, "%d", (int)n);
    size_t len = 0;
    for (int i = 0; i < count; i++)
        len += mst_utf8_put(0x660u + (uint32_t)(digits[i] - '0'), buf + len);
    return (struct mst_span){buf, len};
}

int medallion_draw(struct mst_sheet *sheet, struct scene *s, int32_t verse, double x,
                   double baseline)
{
    double em = sheet->em, y = baseline - RISE * em;
    s->ink = INK_SOFT;
    scene_circle(s, x, y, RADIUS * em);
    scene_stroke(s, 0.028 * em, DASH_NONE);
    scene_circle(s, x, y, INNER * em);
    scene_stroke(s, 0.012 * em, DASH_NONE);
    for (int i = 0; i < 12; i++) {
        double a = i * 3.14159265358979 / 6;
        scene_circle(s, x + BEAD_CIRCLE * em * cos(a), y + BEAD_CIRCLE * em * sin(a), BEAD * em);
    }
    scene_fill(s);
    char buf[24];
    struct mst_line number;
    double size = (verse < 10 ? 0.46 : verse < 100 ? 0.40 : 0.31) * em;
    if (!label_shape(sheet->ts, sheet->arena, arabic_number(verse, buf), MST_PRINT_BOLD, size,
                     &number))
        return 0;
    s->ink = INK_TEXT;
    label_draw(s, &number, x, y + 0.42 * size, LABEL_CENTRE);
    return 1;
}
