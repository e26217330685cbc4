/*
 * The fit against a general-purpose library and against what it promises. The
 * library: GHMM (General Hidden Markov Model library, Debian's libghmm), its
 * Baum-Welch for discrete models. It knows sure symbols and equal steps only, so
 * there the two must agree; what it does not know (soft evidence, gaps of any
 * length) paths.c holds against the sum over all paths.
 */
#include "../test.h"
#include "simulate.h"

#include "parts.h"

#include <ghmm/foba.h>
#include <ghmm/ghmm.h>
#include <ghmm/model.h>
#include <ghmm/reestimate.h>
#include <ghmm/sequence.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DAY_MS INT64_C(86400000)

enum { LEARNERS = 400, DAYS = 12 };

static const struct mst_member one_skill[] = {{.kind = MST_MEMBER_RULE, .rule = MST_RULE_IKHFA}};

/* Debian's libghmm wants these three of a LAPACK other than the one it names, for its models of
 * continuous observations. Nothing here comes near them. */
void clapack_dgetrf(void);
void clapack_dgetri(void);
void clapack_dpotrf(void);
void clapack_dgetrf(void)
{
    abort();
}
void clapack_dgetri(void)
{
    abort();
}
void clapack_dpotrf(void)
{
    abort();
}

/* Sequences of a chain, a day apart, each item sure. */
static void draw(uint64_t seed, const struct chain *c, struct mst_evidence *items,
                 int symbols[LEARNERS][DAYS])
{
    for (int l = 0; l < LEARNERS; l++) {
        int known = simulate_uniform(&seed) < c->start;
        for (int d = 0; d < DAYS; d++) {
            int right = simulate_uniform(&seed) < (known ? 1 - c->slip : c->guess);
            symbols[l][d] = right;
            items[l * DAYS + d] = (struct mst_evidence){
                .learner = l, .time_ms = (20000 + d) * DAY_MS, .weight = right ? 7.0f : -7.0f};
            if (!known)
                known = simulate_uniform(&seed) < c->learn;
            if (known && simulate_uniform(&seed) >= exp(-c->forget_per_day))
                known = 0;
        }
    }
}

/* The same chain as two states with two symbols: 0 known, 1 not; symbol 1 right. */
static ghmm_dmodel *as_ghmm(double start, const double a[2][2], const double right[2])
{
    int degrees[2] = {2, 2};
    ghmm_dmodel *m = ghmm_dmodel_calloc(2, 2, GHMM_kDiscreteHMM, degrees, degrees);
    assert_non_null(m);
    m->prior = -1;
    for (int i = 0; i < 2; i++) {
        ghmm_dstate *s = &m->s[i];
        s->pi = i == 0 ? start : 1 - start;
        s->b[0] = 1 - right[i];
        s->b[1] = right[i];
        s->in_states = s->out_states = 2;
        for (int k = 0; k < 2; k++) {
            s->out_id[k] = s->in_id[k] = k;
            s->out_a[k] = a[i][k];
            s->in_a[k] = a[k][i];
        }
    }
    return m;
}

static ghmm_dseq *sequences(int symbols[LEARNERS][DAYS])
{
    ghmm_dseq *s = ghmm_dseq_calloc(LEARNERS);
    assert_non_null(s);
    s->total_w = LEARNERS;
    for (int l = 0; l < LEARNERS; l++) {
        s->seq[l] = malloc(DAYS * sizeof(int)); /* theirs to free */
        assert_non_null(s->seq[l]);
        memcpy(s->seq[l], symbols[l], DAYS * sizeof(int));
        s->seq_len[l] = DAYS;
        s->seq_w[l] = 1;
    }
    return s;
}

static double ghmm_likelihood(ghmm_dmodel *m, int symbols[LEARNERS][DAYS])
{
    double sum = 0, one;
    for (int l = 0; l < LEARNERS; l++) {
        assert_int_equal(ghmm_dmodel_logp(m, symbols[l], DAYS, &one), 0);
        sum += one;
    }
    return sum;
}

/* A weight of 7 is right with 0.9991: what the library's symbols then show of each state. */
static double shown(double right)
{
    double sure = logistic(7);
    return right * sure + (1 - right) * (1 - sure);
}

/* The library's model of the same numbers; its likelihood has no factor 1/sure each. */
static ghmm_dmodel *model_of(const struct mst_know_skill *s)
{
    double keep = exp(-s->forget_per_day);
    double a[2][2] = {{keep, 1 - keep}, {s->learn * keep, 1 - s->learn * keep}};
    double right[2] = {shown(1 - s->slip), shown(s->guess)};
    return as_ghmm(s->start, a, right);
}

static void as_baum_welch_has_it(void **state)
{
    static struct mst_evidence items[LEARNERS * DAYS];
    static int symbols[LEARNERS][DAYS];
    const struct chain truth = {0.3, 0.15, 0.06, 0.2, 0.08};
    struct mst_class_evidence e = {one_skill, 1, LEARNERS, items, LEARNERS * DAYS};
    struct mst_know_options options = {.no_priors = 1, .rounds_most = 4000};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_know_model *model;
    struct mst_error err = {0};
    (void)state;
    draw(20261125, &truth, items, symbols);
    succeed(mst_know_fit(&e, &options, arena, &model, &err), &err);
    const struct mst_know_skill *ours = &model->of[0];

    /* our likelihood, computed by the library */
    ghmm_dmodel *same = model_of(ours);
    double theirs_of_ours = ghmm_likelihood(same, symbols);
    assert_true(fabs(theirs_of_ours - model->log_likelihood) < 0.01);

    /* the library's own maximum, begun elsewhere */
    const double a[2][2] = {{0.9, 0.1}, {0.3, 0.7}}, right[2] = {0.85, 0.35};
    ghmm_dmodel *fitted = as_ghmm(0.5, a, right);
    ghmm_dseq *seq = sequences(symbols);
    assert_int_equal(ghmm_dmodel_baum_welch_nstep(fitted, seq, 20000, 1e-14), 0);
    double theirs = ghmm_likelihood(fitted, symbols);
    print_message("log likelihood: ours %.4f, GHMM's maximum %.4f\n", theirs_of_ours, theirs);
    assert_true(fabs(theirs - theirs_of_ours) < 0.02);

    double keep = fitted->s[0].out_a[0], learn = fitted->s[1].out_a[0] / keep;
    print_message("start %.3f %.3f, learn %.3f %.3f, forget %.3f %.3f, guess %.3f %.3f, "
                  "slip %.3f %.3f\n",
                  ours->start, fitted->s[0].pi, ours->learn, learn, ours->forget_per_day,
                  -log(keep), shown(ours->guess), fitted->s[1].b[1], 1 - shown(1 - ours->slip),
                  fitted->s[0].b[0]);
    assert_true(fabs(ours->start - fitted->s[0].pi) < 0.01);
    assert_true(fabs(ours->learn - learn) < 0.01);
    assert_true(fabs(ours->forget_per_day + log(keep)) < 0.01);
    assert_true(fabs(shown(ours->guess) - fitted->s[1].b[1]) < 0.01);
    assert_true(fabs(1 - shown(1 - ours->slip) - fitted->s[0].b[0]) < 0.01);
    ghmm_dseq_free(&seq);
    ghmm_dmodel_free(&fitted);
    ghmm_dmodel_free(&same);
    mst_arena_free(arena);
}

/* --- what it promises ---------------------------------------------------------------------- */

static void simulated(uint64_t seed, struct mst_arena *arena, struct simulated *s)
{
    simulate(seed, 10, 3, arena, s);
}

/* Each further round is at least as good. */
static void no_round_loses(void **state)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct simulated s;
    struct mst_error err = {0};
    double last = -INFINITY;
    (void)state;
    simulated(3, arena, &s);
    for (int rounds = 1; rounds <= 24; rounds++) {
        struct mst_know_options options = {.rounds_most = rounds};
        struct mst_know_model *m;
        succeed(mst_know_fit(&s.evidence, &options, arena, &m, &err), &err);
        if (m->log_posterior < last - 1e-7)
            fail_msg("round %d: %.9f after %.9f", rounds, m->log_posterior, last);
        last = m->log_posterior;
    }
    mst_arena_free(arena);
}

/* In whatever order the evidence comes. */
static void order_does_not_matter(void **state)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct simulated s;
    struct mst_know_model *a, *b;
    struct mst_error err = {0};
    uint64_t seed = 5;
    (void)state;
    simulated(4, arena, &s);
    succeed(mst_know_fit(&s.evidence, NULL, arena, &a, &err), &err);
    for (size_t n = s.evidence.count; n > 1; n--) {
        size_t k = (size_t)(simulate_uniform(&seed) * (double)n);
        struct mst_evidence swap = s.items[k];
        s.items[k] = s.items[n - 1];
        s.items[n - 1] = swap;
    }
    succeed(mst_know_fit(&s.evidence, NULL, arena, &b, &err), &err);
    assert_memory_equal(a->of, b->of, (size_t)a->skill_count * sizeof *a->of);
    assert_true(a->log_posterior == b->log_posterior);
    mst_arena_free(arena);
}

/* Nothing heard: what the priors say, for everyone; little heard: near its rule. */
static void little_is_drawn_to_the_rule(void **state)
{
    enum { PEOPLE = 60, EACH = 8 };
    static struct mst_evidence items[PEOPLE * EACH + 2];
    const struct mst_member skills[] = {{.kind = MST_MEMBER_HOST, .rule = MST_RULE_IKHFA},
                                        {MST_MEMBER_HOST, MST_RULE_IKHFA, 3, 0},
                                        {.kind = MST_MEMBER_TRIGGER, .rule = MST_RULE_QALQALA}};
    struct mst_class_evidence e = {skills, 3, PEOPLE, items, 0};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_know_model *none, *m;
    struct mst_error err = {0};
    uint64_t seed = 9;
    (void)state;
    succeed(mst_know_fit(&e, NULL, arena, &none, &err), &err);
    for (int k = 1; k < 3; k++)
        assert_memory_equal(&none->of[k], &none->of[0], sizeof *none->of);
    assert_true(none->of[0].start > 0.4 && none->of[0].start < 0.7);
    for (int n = 0; n < PEOPLE * EACH; n++) /* the first letter is hardly ever right */
        items[e.count++] =
            (struct mst_evidence){.learner = n / EACH,
                                  .skill = 0,
                                  .time_ms = (20000 + 7 * (n % EACH)) * DAY_MS,
                                  .weight = simulate_uniform(&seed) < 0.2 ? 4.0f : -4.0f};
    items[e.count++] =
        (struct mst_evidence){.learner = 0, .skill = 1, .time_ms = 20000 * DAY_MS, .weight = 0};
    succeed(mst_know_fit(&e, NULL, arena, &m, &err), &err);
    /* the second letter follows the first one's rule, the other rule hardly */
    assert_true(m->of[0].start < 0.35);
    assert_true(m->of[1].start < none->of[1].start - 0.05);
    assert_true(m->of[2].start > m->of[1].start);
    mst_arena_free(arena);
}

/* The bounds that keep guessing apart from knowing (Beck & Chang 2007) hold whatever is heard. */
static void bounds_hold(void **state)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_error err = {0};
    (void)state;
    for (uint64_t seed = 1; seed <= 6; seed++) {
        struct simulated s;
        struct mst_know_model *m;
        simulated(seed, arena, &s);
        for (size_t n = 0; n < s.evidence.count;
             n++) /* all wrong, all right, the wrong way round */
            s.items[n].weight = seed < 3 ? -7 : seed < 5 ? 7 : -s.items[n].weight;
        succeed(mst_know_fit(&s.evidence, NULL, arena, &m, &err), &err);
        for (int32_t k = 0; k < m->skill_count; k++) {
            const struct mst_know_skill *of = &m->of[k];
            assert_true(of->guess <= 0.5 + 1e-9 && of->slip <= 0.25 + 1e-9);
            assert_true(of->guess + of->slip < 1);
            assert_true(of->learn > 0.004 && of->learn < 0.61);
            assert_true(of->forget_per_day > 0 && of->forget_per_day < 0.16);
            for (int i = 0; i < MST_KNOW_PARAMETERS; i++)
                assert_true(m->covariance[k][i * MST_KNOW_PARAMETERS + i] > 0);
        }
    }
    mst_arena_free(arena);
}

static void refuses(void **state)
{
    struct mst_evidence item = {.time_ms = 1};
    struct mst_class_evidence e = {one_skill, 1, 1, &item, 1};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_know_model *m;
    struct mst_spacing *spacing;
    struct mst_error err = {0};
    (void)state;
    succeed(mst_know_fit(&e, NULL, arena, &m, &err), &err);
    item.learner = 1;
    assert_int_equal(mst_know_fit(&e, NULL, arena, &m, &err), MST_USAGE);
    assert_null(m);
    assert_string_equal(err.message, "evidence 1 is of learner 1, but there are 1");
    assert_int_equal(mst_spacing_fit(&e, arena, &spacing, &err), MST_USAGE);
    item = (struct mst_evidence){.skill = -1};
    assert_int_equal(mst_know_fit(&e, NULL, arena, &m, &err), MST_USAGE);
    item = (struct mst_evidence){.weight = NAN};
    assert_int_equal(mst_know_fit(&e, NULL, arena, &m, &err), MST_USAGE);
    item = (struct mst_evidence){.time_ms = -1};
    assert_int_equal(mst_know_fit(&e, NULL, arena, &m, &err), MST_USAGE);
    mst_arena_free(arena);
}

/* Weights as the law of likelihood has them: verdicts by their rates, sureness by its odds. */
static void weights(void **state)
{
    (void)state;
    assert_true(fabs(mst_weight_of_verdict(1, 0.02, 0.3) - log(0.98 / 0.3)) < 1e-12);
    assert_true(fabs(mst_weight_of_verdict(0, 0.02, 0.3) - log(0.02 / 0.7)) < 1e-12);
    assert_true(fabs(mst_weight_of_sureness(0.8, 0.5) - log(4)) < 1e-12);
    assert_true(fabs(mst_weight_of_sureness(0.8, 0.8)) < 1e-12);
    assert_true(mst_weight_of_ruling(1) > mst_weight_of_live(1));
    assert_true(mst_weight_of_ruling(0) < mst_weight_of_live(0));
    assert_true(mst_weight_of_sureness(0, 0.5) == -MST_WEIGHT_MOST);
    assert_true(mst_weight_of_sureness(1, 0.5) == MST_WEIGHT_MOST);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(as_baum_welch_has_it),
                                       cmocka_unit_test(no_round_loses),
                                       cmocka_unit_test(order_does_not_matter),
                                       cmocka_unit_test(little_is_drawn_to_the_rule),
                                       cmocka_unit_test(bounds_hold),
                                       cmocka_unit_test(refuses),
                                       cmocka_unit_test(weights)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
