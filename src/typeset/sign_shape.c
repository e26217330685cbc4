/*
 * sign_shape.c – a sign as data, for pages that lay marks over a text of their
 * own (mistara/typeset.h). Nothing is drawn here: the sign's own strokes are
 * taken at two lengths, and what they say of every length between is written
 * down, each x as a + b · length. What a wave does with its length, whole waves
 * of about one size, is written as the wave it is.
 */
#include "sign.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Where a tie's ends have reached their full bend. */
static const double TIE_FULL = 0.44;

int mst_sign_id(const struct mst_site *site, char out[MST_SIGN_ID_SIZE])
{
    static const char *const names[SIGN_COUNT] = {
#define X(name, en, ar) #name,
        SIGN_LIST(X)
#undef X
    };
    struct mark m = {0};
    if (!sign_for_site(site, &m))
        return 0;
    size_t len = 0;
    for (const char *c = names[m.sign]; *c && len + 1 < MST_SIGN_ID_SIZE; c++)
        out[len++] = (char)tolower((unsigned char)*c);
    out[len] = '\0';
    char *rest = out + len;
    size_t room = MST_SIGN_ID_SIZE - len;
    switch (m.sign) {
    case SIGN_RULER:
        snprintf(rest, room, ".%d.%d.%d", m.counts, m.counts_min, m.counts_max);
        break;
    case SIGN_RINGS:
        snprintf(rest, room, ".%d", m.grade);
        break;
    case SIGN_WAVE:
    case SIGN_DOTTED_WAVE:
    case SIGN_LOZENGE:
    case SIGN_TIE:
    case SIGN_TIE_WAVE:
        snprintf(rest, room, ".%d%s", m.counts, m.broken ? ".part" : "");
        break;
    default:
        break;
    }
    return 1;
}

static void number(struct mst_string *s, double value)
{
    mst_string_addf(s, "%.5g", fabs(value) < 1e-5 ? 0 : value);
}

/* A step of a path at one length; a run of half waves is one. */
struct step {
    char verb; /* M L C Z, W: waves to x[0] y[0], the first one bowed by bow, with these handles */
    double x[3], y[3];
    double bow, handle[2];
};

static int has_waves(enum sign sign)
{
    return sign == SIGN_WAVE || sign == SIGN_DOTTED_WAVE || sign == SIGN_LOZENGE ||
           sign == SIGN_TIE_WAVE;
}

static int is_half_wave(const struct path_op *op, double y)
{
    return op->verb == PATH_CURVE && op->y[0] == op->y[1] && fabs(op->y[2] - y) < 1e-9;
}

static int steps_of(const struct scene_item *item, int waves, struct step *out)
{
    int count = 0;
    double x = 0, y = 0;
    for (int n = 0; n < item->op_count; n++) {
        const struct path_op *op = &item->ops[n];
        struct step *step = &out[count++];
        int last = op->verb == PATH_CURVE ? 2 : 0;
        *step = (struct step){.verb = "MLCZ"[op->verb]};
        memcpy(step->x, op->x, sizeof step->x);
        memcpy(step->y, op->y, sizeof step->y);
        if (waves && is_half_wave(op, y)) {
            double run = op->x[2] - x;
            step->verb = 'W';
            step->bow = op->y[0] - y;
            step->handle[0] = (op->x[0] - x) / run;
            step->handle[1] = (op->x[1] - x) / run;
            while (n + 1 < item->op_count && is_half_wave(&item->ops[n + 1], y))
                op = &item->ops[++n];
            step->x[0] = op->x[2];
            step->y[0] = op->y[2];
        }
        if (step->verb != 'Z') {
            x = op->x[last];
            y = op->y[last];
        }
    }
    return count;
}

static struct scene *drawn(struct mst_arena *arena, const struct mark *like, double length)
{
    struct scene *scene = mst_arena_alloc(arena, 1, sizeof *scene);
    struct mark m = *like;
    if (!scene)
        return NULL;
    scene->arena = arena;
    m.from = length; /* from the right end to the left one, at 0 */
    m.to = 0;
    m.anchor = length / 2;
    sign_measure(&m, 1);
    sign_draw(scene, &m, 1);
    return scene->failed ? NULL : scene;
}

static void stroke(struct mst_string *s, const struct scene_item *a, const struct scene_item *b,
                   const struct step *steps_a, const struct step *steps_b, int count, double la,
                   double lb)
{
    double dash[2];
    int dashes = a->kind == SCENE_STROKE ? scene_dash_pattern(a->dash, a->stroke_width, dash) : 0;
    mst_string_adds(s, "{\"width\":");
    if (a->kind == SCENE_STROKE)
        number(s, a->stroke_width);
    else
        mst_string_adds(s, "null");
    mst_string_adds(s, ",\"dash\":[");
    for (int n = 0; n < dashes; n++) {
        mst_string_adds(s, n ? "," : "");
        number(s, dash[n]);
    }
    mst_string_adds(s, "],\"path\":[");
    for (int n = 0; n < count; n++) {
        const struct step *p = &steps_a[n], *q = &steps_b[n];
        int points = p->verb == 'C' ? 3 : p->verb == 'Z' ? 0 : 1;
        mst_string_addf(s, "%s[\"%c\"", n ? "," : "", p->verb);
        for (int k = 0; k < points; k++) {
            double slope = lb > la ? (q->x[k] - p->x[k]) / (lb - la) : 0;
            mst_string_adds(s, ",");
            number(s, p->x[k] - slope * la);
            mst_string_adds(s, ",");
            number(s, slope);
            mst_string_adds(s, ",");
            number(s, p->y[k]);
        }
        if (p->verb == 'W') {
            mst_string_adds(s, ",");
            number(s, p->bow);
            mst_string_adds(s, ",");
            number(s, p->handle[0]);
            mst_string_adds(s, ",");
            number(s, p->handle[1]);
        }
        mst_string_adds(s, "]");
    }
    mst_string_adds(s, "]}");
    (void)b;
}

/* The strokes for lengths from la on; lb: a second length at which they are the same ones. */
static enum mst_status piece(struct mst_string *s, struct mst_arena *arena, const struct mark *m,
                             double la, double lb, struct mst_error *err)
{
    const struct scene *a = drawn(arena, m, la), *b = drawn(arena, m, lb);
    if (!a || !b)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out");
    mst_string_adds(s, "{\"from\":");
    number(s, la);
    mst_string_adds(s, ",\"strokes\":[");
    for (size_t n = 0; n < a->count && n < b->count; n++) {
        int most = a->items[n].op_count + b->items[n].op_count;
        struct step *pa = mst_arena_alloc(arena, (size_t)most, sizeof *pa);
        struct step *pb = mst_arena_alloc(arena, (size_t)most, sizeof *pb);
        if (!pa || !pb)
            return mst_fail(err, MST_NO_MEMORY, "memory ran out");
        int count = steps_of(&a->items[n], has_waves(m->sign), pa);
        steps_of(&b->items[n], has_waves(m->sign), pb);
        mst_string_adds(s, n ? "," : "");
        stroke(s, &a->items[n], &b->items[n], pa, pb, count, la, lb);
    }
    mst_string_adds(s, "]}");
    return MST_OK;
}

static enum mst_status pieces(struct mst_string *s, struct mst_arena *arena, const struct mark *m,
                              double least, int spans, struct mst_error *err)
{
    enum mst_status status;
    int bends = (m->sign == SIGN_TIE || m->sign == SIGN_TIE_WAVE) && least < TIE_FULL;
    double full = bends ? TIE_FULL : least;
    mst_string_adds(s, "[");
    if (bends) {
        status = piece(s, arena, m, least, full, err);
        if (status != MST_OK)
            return status;
        mst_string_adds(s, ",");
    }
    status = piece(s, arena, m, full, spans ? full + 1 : full, err);
    mst_string_adds(s, "]");
    return status;
}

enum mst_status mst_sign_shape(const struct mst_site *site, struct mst_arena *arena,
                               struct mst_string *json, struct mst_error *err)
{
    struct mark m = {0};
    double least, tall;
    if (!sign_for_site(site, &m)) {
        mst_string_adds(json, "null");
        return MST_OK;
    }
    sign_size(&m, &least, &tall);
    const char *spans = m.sign == SIGN_BRACKET       ? "\"letters\""
                        : m.sign == SIGN_DOTTED_WAVE ? "\"toward\""
                        : sign_is_spanning(m.sign)   ? "\"host\""
                                                     : "null";
    mst_string_adds(json, "{\"least\":");
    number(json, least);
    mst_string_adds(json, ",\"tall\":");
    number(json, tall);
    mst_string_addf(json, ",\"over\":%s,\"spans\":%s,\"wave\":", m.over ? "true" : "false", spans);
    number(json, sign_wave_length());
    mst_string_adds(json, ",\"whole\":");
    enum mst_status status = pieces(json, arena, &m, least, spans[0] != 'n', err);
    if (status == MST_OK && sign_is_spanning(m.sign)) {
        struct mark left = m, right = m;
        left.opens_left = right.opens_right = 1;
        mst_string_adds(json, ",\"opens_left\":");
        status = pieces(json, arena, &left, least, 1, err);
        mst_string_adds(json, ",\"opens_right\":");
        if (status == MST_OK)
            status = pieces(json, arena, &right, least, 1, err);
    }
    mst_string_adds(json, "}");
    return status == MST_OK && json->failed ? mst_fail(err, MST_NO_MEMORY, "memory ran out")
                                            : status;
}
