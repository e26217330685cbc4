#include "font.h"

#include <hb-ot.h>
#include <math.h>
#include <stdlib.h>

enum mst_status mst_typeset_open(const char *font_dir, struct mst_typeset **out,
                                 struct mst_error *err)
{
    *out = NULL;
    struct mst_typeset *ts = calloc(1, sizeof *ts);
    if (!ts)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the fonts");
    ts->arena = mst_arena_new(0);
    ts->buffer = hb_buffer_create();
    enum mst_status status = mst_fonts_open(font_dir, &ts->fonts, err);
    int ok = ts->arena != NULL;
    for (int role = 0; role < MST_FONT_ROLES && status == MST_OK && ok; role++) {
        unsigned glyphs = mst_font_of(ts->fonts, (enum mst_font_role)role)->glyph_count;
        ts->profiles[role] = mst_arena_alloc(ts->arena, glyphs, sizeof *ts->profiles[role]);
        ok = ts->profiles[role] != NULL;
    }
    if (status == MST_OK && !ok)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the fonts");
    if (status == MST_OK) {
        const struct mst_font *font = mst_font_of(ts->fonts, MST_FONT_QURAN);
        hb_font_get_nominal_glyph(font->hb, ' ', &ts->blank.id);
        double width = hb_font_get_glyph_h_advance(font->hb, ts->blank.id);
        ts->blank.x = (float)(-width / font->upem);
    }
    if (status != MST_OK) {
        mst_typeset_close(ts);
        return status;
    }
    *out = ts;
    return MST_OK;
}

void mst_typeset_close(struct mst_typeset *ts)
{
    if (!ts)
        return;
    mst_fonts_close(ts->fonts);
    hb_buffer_destroy(ts->buffer);
    mst_arena_free(ts->arena);
    free(ts);
}

int font_is_mark(const struct mst_font *font, unsigned glyph)
{
    return hb_ot_layout_get_glyph_class(hb_font_get_face(font->hb), glyph) ==
           HB_OT_LAYOUT_GLYPH_CLASS_MARK;
}

/* --- profiles: the outline walked once, segment by segment ---------------- */

enum { PROFILE_COLUMNS_PER_EM = 64, CURVE_STEPS = 10 };

struct profiler {
    struct glyph_profile *profile;
    double slack; /* what flattening a curve may leave out, in font units */
};

/* Widen columns a…b of the profile by the piece of the segment that lies in each. */
static void profile_segment(struct profiler *p, double x0, double y0, double x1, double y1)
{
    struct glyph_profile *g = p->profile;
    if (x1 < x0) {
        double t = x0;
        x0 = x1;
        x1 = t;
        t = y0;
        y0 = y1;
        y1 = t;
    }
    int a = (int)floor((x0 - (double)g->x0) / (double)g->step);
    int b = (int)floor((x1 - (double)g->x0) / (double)g->step);
    for (int i = a < 0 ? 0 : a; i <= b && i < g->count; i++) {
        double left = (double)g->x0 + i * (double)g->step, right = left + (double)g->step;
        double u = x1 > x0 ? (left - x0) / (x1 - x0) : 0,
               v = x1 > x0 ? (right - x0) / (x1 - x0) : 1;
        u = u < 0 ? 0 : u;
        v = v > 1 ? 1 : v;
        double ya = y0 + (y1 - y0) * u, yb = y0 + (y1 - y0) * v;
        /* font units grow upwards, the page downwards */
        float top = (float)-((ya > yb ? ya : yb) + p->slack);
        float bottom = (float)-((ya < yb ? ya : yb) - p->slack);
        if (top < g->top[i])
            g->top[i] = top;
        if (bottom > g->bottom[i])
            g->bottom[i] = bottom;
    }
}

static void profile_move(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, float x,
                         float y, void *user)
{
    (void)funcs, (void)data, (void)state, (void)x, (void)y, (void)user;
}

static void profile_line(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, float x,
                         float y, void *user)
{
    (void)funcs, (void)user;
    profile_segment(data, (double)state->current_x, (double)state->current_y, (double)x, (double)y);
}

static void profile_cubic(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, float ax,
                          float ay, float bx, float by, float x, float y, void *user)
{
    (void)funcs, (void)user;
    double px = (double)state->current_x, py = (double)state->current_y, qx = px, qy = py;
    for (int i = 1; i <= CURVE_STEPS; i++) {
        double t = (double)i / CURVE_STEPS, s = 1 - t;
        double a = s * s * s, b = 3 * s * s * t, c = 3 * s * t * t, d = t * t * t;
        double nx = a * px + b * (double)ax + c * (double)bx + d * (double)x;
        double ny = a * py + b * (double)ay + c * (double)by + d * (double)y;
        profile_segment(data, qx, qy, nx, ny);
        qx = nx, qy = ny;
    }
}

static void profile_quadratic(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, float cx,
                              float cy, float x, float y, void *user)
{
    float px = state->current_x, py = state->current_y;
    profile_cubic(funcs, data, state, px + (cx - px) * 2 / 3, py + (cy - py) * 2 / 3,
                  x + (cx - x) * 2 / 3, y + (cy - y) * 2 / 3, x, y, user);
}

const struct glyph_profile *font_profile(struct mst_typeset *ts, const struct mst_font *font,
                                         unsigned glyph)
{
    static const struct glyph_profile blank;
    if (glyph >= font->glyph_count)
        return &blank;
    struct glyph_profile **kept = &ts->profiles[font->role][glyph];
    if (*kept)
        return *kept;
    hb_glyph_extents_t box = {0};
    hb_font_get_glyph_extents(font->hb, glyph, &box);
    struct glyph_profile *g = mst_arena_alloc(ts->arena, 1, sizeof *g);
    if (!g)
        return NULL;
    g->step = (float)(font->upem / PROFILE_COLUMNS_PER_EM);
    g->x0 = (float)box.x_bearing;
    g->count = box.width > 0 ? (int)((float)box.width / g->step) + 1 : 0;
    g->top = mst_arena_alloc(ts->arena, (size_t)g->count + 1, sizeof *g->top);
    g->bottom = mst_arena_alloc(ts->arena, (size_t)g->count + 1, sizeof *g->bottom);
    if (!g->top || !g->bottom)
        return NULL;
    for (int i = 0; i < g->count; i++)
        g->top[i] = 1e9f, g->bottom[i] = -1e9f;

    struct profiler profiler = {g, font->upem / 500};
    hb_draw_funcs_t *draw = hb_draw_funcs_create();
    hb_draw_funcs_set_move_to_func(draw, profile_move, NULL, NULL);
    hb_draw_funcs_set_line_to_func(draw, profile_line, NULL, NULL);
    hb_draw_funcs_set_quadratic_to_func(draw, profile_quadratic, NULL, NULL);
    hb_draw_funcs_set_cubic_to_func(draw, profile_cubic, NULL, NULL);
    hb_font_get_glyph_shape(font->hb, glyph, draw, &profiler);
    hb_draw_funcs_destroy(draw);

    float unit = (float)(1 / font->upem);
    for (int i = 0; i < g->count; i++)
        g->top[i] *= unit, g->bottom[i] *= unit;
    g->x0 *= unit, g->step *= unit;
    g->x_min = (float)box.x_bearing * unit;
    g->x_max = (float)(box.x_bearing + box.width) * unit;
    g->y_min = -(float)box.y_bearing * unit;
    g->y_max = -(float)(box.y_bearing + box.height) * unit;
    *kept = g;
    return g;
}
