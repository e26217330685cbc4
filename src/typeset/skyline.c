#include "skyline.h"

#include <math.h>

int skyline_init(struct skyline *s, struct mst_arena *arena, double x0, double x1)
{
    s->x0 = x0;
    s->count = (int)ceil((x1 - x0) / SKYLINE_STEP_PT) + 1;
    s->floor = mst_arena_alloc(arena, (size_t)s->count, sizeof *s->floor);
    s->roof = mst_arena_alloc(arena, (size_t)s->count, sizeof *s->roof);
    if (!s->floor || !s->roof)
        return 0;
    for (int i = 0; i < s->count; i++) {
        s->floor[i] = -1e9f;
        s->roof[i] = 1e9f;
    }
    return 1;
}

/* First and last column touched by x0…x1, cut to what the skyline covers. */
static void columns(const struct skyline *s, double x0, double x1, int *first, int *last)
{
    *first = (int)floor((x0 - s->x0) / SKYLINE_STEP_PT);
    *last = (int)floor((x1 - s->x0) / SKYLINE_STEP_PT);
    if (*first < 0)
        *first = 0;
    if (*last >= s->count)
        *last = s->count - 1;
}

void skyline_add_rect(struct skyline *s, double x0, double y0, double x1, double y1)
{
    int first, last;
    columns(s, x0, x1, &first, &last);
    for (int i = first; i <= last; i++) {
        if ((float)y1 > s->floor[i])
            s->floor[i] = (float)y1;
        if ((float)y0 < s->roof[i])
            s->roof[i] = (float)y0;
    }
}

int skyline_add_glyphs(struct skyline *s, struct mst_typeset *ts, const struct mst_font *font,
                       double size, double x, const struct mst_glyph *glyphs, int count)
{
    for (int g = 0; g < count; g++) {
        const struct glyph_profile *p = font_profile(ts, font, glyphs[g].id);
        if (!p)
            return 0;
        double left = x + ((double)glyphs[g].x + (double)p->x0) * size;
        double y = (double)glyphs[g].y * size;
        double step = (double)p->step * size;
        for (int i = 0; i < p->count; i++)
            if (p->bottom[i] > -1e3f)
                skyline_add_rect(s, left + i * step, y + (double)p->top[i] * size,
                                 left + (i + 1) * step, y + (double)p->bottom[i] * size);
    }
    return 1;
}

double skyline_floor(const struct skyline *s, double x0, double x1)
{
    int first, last;
    float low = -1e9f;
    columns(s, x0, x1, &first, &last);
    for (int i = first; i <= last; i++)
        low = s->floor[i] > low ? s->floor[i] : low;
    return (double)low;
}

double skyline_roof(const struct skyline *s, double x0, double x1)
{
    int first, last;
    float high = 1e9f;
    columns(s, x0, x1, &first, &last);
    for (int i = first; i <= last; i++)
        high = s->roof[i] < high ? s->roof[i] : high;
    return (double)high;
}

double skyline_pitch(const struct skyline *upper, const struct skyline *lower, double gap)
{
    int reach = (int)ceil(gap / SKYLINE_STEP_PT);
    double pitch = 0;
    for (int i = 0; i < upper->count; i++) {
        if (upper->floor[i] < -1e8f)
            continue;
        for (int k = i - reach; k <= i + reach; k++) {
            if (k < 0 || k >= lower->count || lower->roof[k] > 1e8f)
                continue;
            double need = (double)upper->floor[i] - (double)lower->roof[k] + gap;
            pitch = need > pitch ? need : pitch;
        }
    }
    return pitch;
}
