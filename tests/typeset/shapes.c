/*
 * The signs as data (mst_sign_shape) against the signs as they are drawn: for
 * every family, at lengths that the data were not taken from, each point lies
 * where sign_draw puts it, within a thousandth of an em.
 */
#include "fixture.h"

#include "../../src/typeset/sign.h"
#include <jansson.h>
#include <math.h>
#include <string.h>

enum { POINTS_MOST = 2000 };
struct points {
    double x[POINTS_MOST], y[POINTS_MOST];
    int count;
};

static void add(struct points *p, double x, double y)
{
    assert_true(p->count < POINTS_MOST);
    p->x[p->count] = x;
    p->y[p->count++] = y;
}

/* What sign_draw says. */
static int drawn(struct mst_arena *arena, const struct mark *like, double length,
                 struct points *out)
{
    struct scene scene = {.arena = arena};
    struct mark m = *like;
    m.from = length;
    m.to = 0;
    m.anchor = length / 2;
    sign_measure(&m, 1);
    sign_draw(&scene, &m, 1);
    for (size_t n = 0; n < scene.count; n++)
        for (int k = 0; k < scene.items[n].op_count; k++) {
            const struct path_op *op = &scene.items[n].ops[k];
            int points = op->verb == PATH_CURVE ? 3 : op->verb == PATH_CLOSE ? 0 : 1;
            for (int q = 0; q < points; q++)
                add(out, op->x[q], op->y[q]);
        }
    return (int)scene.count;
}

static double at(const json_t *list, size_t n)
{
    return json_number_value(json_array_get(list, n));
}

/* What the data say, read as docs/api.md tells to. */
static int told(const json_t *pieces, double wave, double length, struct points *out)
{
    const json_t *piece = json_array_get(pieces, 0), *one, *step;
    size_t n, k, q;
    json_array_foreach(pieces, n, one) if (json_number_value(json_object_get(one, "from")) <=
                                           length + 1e-6) piece = one;
    const json_t *strokes = json_object_get(piece, "strokes");
    json_array_foreach(strokes, n, one)
    {
        double x = 0;
        json_array_foreach(json_object_get(one, "path"), k, step)
        {
            const char *verb = json_string_value(json_array_get(step, 0));
            if (*verb == 'W') {
                double to = at(step, 1) + at(step, 2) * length, y = at(step, 3);
                int halves = 2 * (int)fmax(1, round(fabs(x - to) / wave));
                double run = (to - x) / halves;
                for (int i = 0; i < halves; i++, x += run) {
                    double bow = y + (i & 1 ? -1 : 1) * at(step, 4);
                    add(out, x + run * at(step, 5), bow);
                    add(out, x + run * at(step, 6), bow);
                    add(out, x + run, y);
                }
                continue;
            }
            for (q = 1; q + 2 < json_array_size(step); q += 3) {
                x = at(step, q) + at(step, q + 1) * length;
                add(out, x, at(step, q + 2));
            }
        }
    }
    return (int)json_array_size(strokes);
}

static void same(struct mst_arena *arena, const struct mark *mark, const json_t *shape,
                 const char *open, double length)
{
    static struct points a, b;
    a.count = b.count = 0;
    double wave = json_number_value(json_object_get(shape, "wave"));
    int strokes = drawn(arena, mark, length, &a);
    assert_int_equal(told(json_object_get(shape, open), wave, length, &b), strokes);
    assert_int_equal(a.count, b.count);
    for (int n = 0; n < a.count; n++) {
        assert_true(fabs(a.x[n] - b.x[n]) < 1e-3);
        assert_true(fabs(a.y[n] - b.y[n]) < 1e-3);
    }
}

static void check_site(struct mst_site site)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_error err;
    struct mst_string text = {0};
    struct mark mark = {0};
    char id[MST_SIGN_ID_SIZE];
    if (!sign_for_site(&site, &mark)) {
        assert_int_equal(mst_sign_id(&site, id), 0);
        mst_arena_free(arena);
        return;
    }
    assert_int_equal(mst_sign_id(&site, id), 1);
    assert_int_equal(mst_sign_shape(&site, arena, &text, &err), MST_OK);
    json_t *shape = json_loadb(text.ptr, text.len, 0, NULL);
    assert_non_null(shape);
    double least, tall;
    sign_size(&mark, &least, &tall);
    assert_true(fabs(json_number_value(json_object_get(shape, "least")) - least) < 1e-4);
    assert_true(fabs(json_number_value(json_object_get(shape, "tall")) - tall) < 1e-4);
    int stretches = json_is_string(json_object_get(shape, "spans"));
    static const double more[] = {0, 0.03, 0.11, 0.37, 0.9, 1.83, 3.1};
    for (size_t n = 0; n < (stretches ? sizeof more / sizeof *more : 1); n++) {
        same(arena, &mark, shape, "whole", least + more[n]);
        if (!sign_is_spanning(mark.sign))
            continue;
        struct mark part = mark;
        part.opens_left = 1;
        same(arena, &part, shape, "opens_left", least + more[n]);
        part.opens_left = 0;
        part.opens_right = 1;
        same(arena, &part, shape, "opens_right", least + more[n]);
    }
    json_decref(shape);
    mst_string_free(&text);
    mst_arena_free(arena);
}

static void every_rule(void **state)
{
    (void)state;
    for (int rule = 0; rule < MST_RULE_COUNT; rule++)
        for (int way = 0; way < 6; way++)
            check_site((struct mst_site){.rule = (uint8_t)rule,
                                         .host = -1,
                                         .counts = (int8_t)(way < 2 ? 2 : way + 1),
                                         .counts_min = (int8_t)(way & 1 ? 2 : way + 1),
                                         .counts_max = (int8_t)(way < 2 ? 2 : 6),
                                         .nasal = (int8_t)(way & 1),
                                         .complete = (int8_t)(way % 2),
                                         .heavy = (int8_t)(way % 2),
                                         .grade = (int8_t)(1 + way % 3)});
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_rule)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
