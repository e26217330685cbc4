/*
 * Half-life regression against a general-purpose library: the same loss written
 * down a second time and given to GSL's multimin (GNU Scientific Library,
 * Debian's libgsl: Broyden-Fletcher-Goldfarb-Shanno with numeric slopes). The
 * minima must be one. Constants of the loss: Settles & Meeder, ACL 2016, section
 * 3.3 (α = 0.01, λ = 0.1, half-lives within 15 minutes and nine months).
 */
#include "../test.h"
#include "simulate.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_multimin.h>
#include <math.h>
#include <string.h>

#define DAY_MS INT64_C(86400000)
enum { PEOPLE = 40, SESSIONS = 9, SKILLS = 3, SIZE = 3 + 2 + SKILLS };

static const struct mst_member skills[SKILLS] = {
    {.kind = MST_MEMBER_HOST, .rule = MST_RULE_IKHFA, .letter = 3},
    {.kind = MST_MEMBER_HOST, .rule = MST_RULE_IKHFA, .letter = 5},
    {.kind = MST_MEMBER_TRIGGER, .rule = MST_RULE_QALQALA, .letter = 7}};
static const int rule_at[SKILLS] = {3, 3, 4}, skill_at[SKILLS] = {5, 6, 7};

struct seen {
    double right, other, days, share;
    int skill;
};
static struct mst_evidence items[PEOPLE * SESSIONS * SKILLS * 2];
static struct seen seen[PEOPLE * SESSIONS * SKILLS];
static size_t item_count, seen_count;

/* Two items a sitting, all of them sure, so that what was right is plain. */
static void draw(void)
{
    uint64_t seed = 11;
    item_count = seen_count = 0;
    for (int l = 0; l < PEOPLE; l++)
        for (int s = 0; s < SKILLS; s++) {
            double right = 0, other = 0, day = 20000, last = 0;
            for (int n = 0; n < SESSIONS; n++) {
                double h = (s == 2 ? 3 : 9) * exp2(0.5 * (sqrt(1 + right) - sqrt(1 + other)));
                double chance = n ? exp2(-(day - last) / h) : 0.5;
                int hits = (simulate_uniform(&seed) < chance) + (simulate_uniform(&seed) < chance);
                for (int k = 0; k < 2; k++)
                    items[item_count++] =
                        (struct mst_evidence){.learner = l,
                                              .skill = s,
                                              .time_ms = (int64_t)(day * (double)DAY_MS) + k * 1000,
                                              .weight = k < hits ? 7.0f : -7.0f};
                if (n)
                    seen[seen_count++] = (struct seen){right, other, day - last, hits / 2.0, s};
                right += hits;
                other += 2 - hits;
                last = day;
                day += 1 + floor(14 * simulate_uniform(&seed));
            }
        }
}

static double within(double x, double low, double high)
{
    return fmin(fmax(x, low), high);
}

static double loss(const gsl_vector *theta, void *unused)
{
    double sum = 0;
    (void)unused;
    for (size_t n = 0; n < seen_count; n++) {
        const struct seen *s = &seen[n];
        double z = gsl_vector_get(theta, 0) + gsl_vector_get(theta, 1) * sqrt(1 + s->right) +
                   gsl_vector_get(theta, 2) * sqrt(1 + s->other) +
                   gsl_vector_get(theta, (size_t)rule_at[s->skill]) +
                   gsl_vector_get(theta, (size_t)skill_at[s->skill]);
        double h = within(exp2(z), 15 / 1440.0, 274), p = within(s->share, 0.0001, 0.9999);
        double seen_h = within(-s->days / log2(p), 15 / 1440.0, 274);
        sum += pow(p - exp2(-s->days / h), 2) + 0.01 * pow(h - seen_h, 2);
    }
    for (size_t k = 0; k < SIZE; k++)
        sum += 0.1 * pow(gsl_vector_get(theta, k) - (k == 0 ? log2(14) : 0), 2);
    return sum;
}

static void slopes(const gsl_vector *theta, void *unused, gsl_vector *out)
{
    gsl_vector *moved = gsl_vector_alloc(SIZE);
    gsl_vector_memcpy(moved, theta);
    for (size_t k = 0; k < SIZE; k++) {
        double at = gsl_vector_get(theta, k), step = 1e-5;
        gsl_vector_set(moved, k, at + step);
        double up = loss(moved, unused);
        gsl_vector_set(moved, k, at - step);
        gsl_vector_set(out, k, (up - loss(moved, unused)) / (2 * step));
        gsl_vector_set(moved, k, at);
    }
    gsl_vector_free(moved);
}

static void loss_and_slopes(const gsl_vector *theta, void *unused, double *f, gsl_vector *out)
{
    *f = loss(theta, unused);
    slopes(theta, unused, out);
}

/* Ours as a vector: a skill's bias is its rule's and its own, which the ridge tells apart; here
 * only their sum is asked, so the best split is computed. */
static double loss_of_ours(const struct mst_spacing *s)
{
    gsl_vector *theta = gsl_vector_calloc(SIZE);
    gsl_vector_set(theta, 0, s->base);
    gsl_vector_set(theta, 1, s->right);
    gsl_vector_set(theta, 2, s->other);
    double hiding = (s->bias[0] + s->bias[1]) / 3, echo = s->bias[2] / 2;
    gsl_vector_set(theta, 3, hiding);
    gsl_vector_set(theta, 4, echo);
    gsl_vector_set(theta, 5, s->bias[0] - hiding);
    gsl_vector_set(theta, 6, s->bias[1] - hiding);
    gsl_vector_set(theta, 7, s->bias[2] - echo);
    double sum = loss(theta, NULL);
    gsl_vector_free(theta);
    return sum;
}

static void as_the_library_has_it(void **state)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_spacing *ours;
    struct mst_error err = {0};
    (void)state;
    gsl_set_error_handler_off();
    draw();
    struct mst_class_evidence e = {skills, SKILLS, PEOPLE, items, item_count};
    succeed(mst_spacing_fit(&e, arena, &ours, &err), &err);
    assert_int_equal(ours->fitted_to, seen_count);

    gsl_multimin_function_fdf f = {loss, slopes, loss_and_slopes, SIZE, NULL};
    gsl_vector *begin = gsl_vector_calloc(SIZE);
    gsl_vector_set(begin, 0, 2);
    gsl_multimin_fdfminimizer *m =
        gsl_multimin_fdfminimizer_alloc(gsl_multimin_fdfminimizer_vector_bfgs2, SIZE);
    gsl_multimin_fdfminimizer_set(m, &f, begin, 0.01, 0.1);
    for (int n = 0; n < 2000; n++)
        if (gsl_multimin_fdfminimizer_iterate(m) ||
            gsl_multimin_test_gradient(m->gradient, 1e-5) == GSL_SUCCESS)
            break;
    double least = m->f, mine = loss_of_ours(ours);
    print_message("loss: ours %.6f, GSL's minimum %.6f; base %.4f %.4f, right %.4f %.4f, other "
                  "%.4f %.4f\n",
                  mine, least, ours->base, gsl_vector_get(m->x, 0), ours->right,
                  gsl_vector_get(m->x, 1), ours->other, gsl_vector_get(m->x, 2));
    assert_true(mine <= least * (1 + 1e-3)); /* items weigh 0.9991, not 1 */
    assert_true(fabs(ours->right - gsl_vector_get(m->x, 1)) < 0.02);
    assert_true(fabs(ours->other - gsl_vector_get(m->x, 2)) < 0.02);
    assert_true(ours->right > ours->other);
    gsl_multimin_fdfminimizer_free(m);
    gsl_vector_free(begin);
    mst_arena_free(arena);
}

/* More right lengthens, more not right shortens; what decays faster is due sooner; bounds hold. */
static void half_lives(void **state)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_spacing *s;
    struct mst_error err = {0};
    (void)state;
    draw();
    struct mst_class_evidence e = {skills, SKILLS, PEOPLE, items, item_count};
    succeed(mst_spacing_fit(&e, arena, &s, &err), &err);
    assert_true(mst_spacing_half_life_days(s, 0, 9, 1) > mst_spacing_half_life_days(s, 0, 1, 9));
    assert_true(mst_spacing_half_life_days(s, 0, 5, 2) > mst_spacing_half_life_days(s, 2, 5, 2));
    assert_true(mst_spacing_half_life_days(s, 0, 1e9, 0) <= 274);
    assert_true(mst_spacing_half_life_days(s, 0, 0, 1e9) >= 15 / 1440.0);

    struct mst_know_model *model;
    struct mst_knowledge *k;
    int64_t now = 20200 * DAY_MS;
    succeed(mst_know_fit(&e, NULL, arena, &model, &err), &err);
    succeed(mst_know_now(model, &e, s, now, arena, &k, &err), &err);
    for (size_t n = 0; n < k->count; n++) { /* due where 2^(−d/h) falls to 0.8 */
        const struct mst_known *row = &k->rows[n];
        double days = (double)(row->due_ms - row->last_ms) / (double)DAY_MS;
        assert_true(fabs(exp2(-days / row->half_life_days) - 0.8) < 1e-4);
    }
    /* nothing heard twice: the half-life it starts from */
    e.count = 1;
    succeed(mst_spacing_fit(&e, arena, &s, &err), &err);
    assert_int_equal(s->fitted_to, 0);
    assert_true(fabs(mst_spacing_half_life_days(s, 0, 0, 0) - 14) < 1e-6);
    mst_arena_free(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(as_the_library_has_it),
                                       cmocka_unit_test(half_lives)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
