/* What is told of a learner's sites, in which order, and what a teacher's rulings teach. */
#include "../speech/report/built.h"
#include "test.h"

#include <math.h>
#include <mistara/round.h>
#include <stdlib.h>
#include <string.h>

static struct mst_round *make(struct built *b, const struct mst_fault_report *faults,
                              const struct mst_measure_limits *limits)
{
    struct mst_round *round = NULL;
    struct mst_error err = {0};
    succeed(mst_round_make(b->measures, faults, limits, b->arena, &round, &err), &err);
    return round;
}

static const struct mst_round_site *worst(const struct mst_round *round)
{
    const struct mst_round_site *out = &round->sites[0];
    for (int32_t n = 1; n < round->count; n++)
        if (round->sites[n].rank > out->rank)
            out = &round->sites[n];
    return out;
}

/* One hold cut to less than half is the first to be listened to; nothing else is called wrong. */
static void a_cut_hold_comes_first(void **state)
{
    (void)state;
    struct built b;
    build(&b, 1, 0.4);
    const struct mst_round *round = make(&b, NULL, NULL);
    const struct mst_round_site *first = worst(round);
    assert_int_equal(round->count, b.measures->site_count);
    assert_int_equal(first->told, MST_TOLD_SHORT);
    assert_true(first->wrong > 0.9);
    assert_true(first->measured->length >= MST_LENGTH_GHUNNA &&
                first->measured->length <= MST_LENGTH_MERGE_Y);
    for (int32_t n = 0; n < round->count; n++) {
        const struct mst_round_site *s = &round->sites[n];
        assert_true(n == 0 || s->start_ms >= round->sites[n - 1].start_ms);
        assert_true(s == first || s->told == MST_TOLD_RIGHT || s->told == MST_TOLD_UNSURE);
    }
    build_free(&b);
}

/* The more is wrong, the sooner a take is listened to. */
static void need_grows(void **state)
{
    (void)state;
    double before = -1;
    for (int n = 0; n < 3; n++) {
        struct built b;
        build(&b, 1, 1 - 0.3 * n);
        double need = make(&b, NULL, NULL)->need;
        assert_true(need > before && need <= 1);
        before = need;
        build_free(&b);
    }
}

/* A plain error weighs more than any length, and what cannot be told is told as such. */
static void faults_are_laid_among_the_lengths(void **state)
{
    (void)state;
    struct built b;
    build(&b, 1, 1);
    const struct mst_timeline *tl = b.timeline;
    struct mst_fault letter = {.id = "letter", .grade = MST_FAULT_PLAIN};
    struct mst_kind_fault kind = {.fault = &letter, .sound = 3, .at = tl->words[0].at};
    struct mst_kind_fault untold = kind;
    untold.cannot_tell = 1;
    struct mst_word_fault word = {.kind = MST_WORD_FAULT_LEFT_OUT, .first = tl->words[2].at};
    struct mst_fault_report faults = {
        .items = {{MST_FAULT_PLAIN, &word, NULL, word.first, 900, 1900, 0.9, 0},
                  {MST_FAULT_PLAIN, NULL, &kind, kind.at, 500, 600, 0.8, 0},
                  {MST_FAULT_PLAIN, NULL, &untold, kind.at, 700, 800, 0.8, 0}},
        .count = 3};
    const struct mst_round *round = make(&b, &faults, NULL), *plain = make(&b, NULL, NULL);
    int seen = 0, unsure = 0;
    assert_int_equal(round->count, plain->count + 3);
    assert_ptr_equal(worst(round)->fault, &faults.items[0]);
    assert_true(round->need > plain->need);
    for (int32_t n = 0; n < round->count; n++) {
        seen += round->sites[n].told == MST_TOLD_FAULT;
        unsure += round->sites[n].fault && round->sites[n].told == MST_TOLD_UNSURE;
    }
    assert_int_equal(seen, 2);
    assert_int_equal(unsure, 1);
    build_free(&b);
}

/* Where every natural lengthening is half the model's, each of them is told short, though none
 * strays from its kin; the same take without a model tells nothing of it. */
static void a_whole_length_is_told_at_each_site(void **state)
{
    (void)state;
    struct built b;
    build(&b, 1, 1);
    struct mst_length_measure *l = &b.measures->lengths[MST_LENGTH_NATURAL];
    assert_true(l->trusted > 3);
    l->model_median_ms = 2 * l->median_ms;
    l->ratio = 0.5;
    l->ratio_low = 0.45;
    l->ratio_high = 0.55;
    const struct mst_round *round = make(&b, NULL, NULL);
    int natural = 0;
    for (int32_t n = 0; n < round->count; n++) {
        const struct mst_round_site *s = &round->sites[n];
        if (s->measured->length != MST_LENGTH_NATURAL || s->told == MST_TOLD_UNSURE)
            continue;
        natural++;
        assert_int_equal(s->told, MST_TOLD_SHORT);
        assert_true(s->wrong > 0.95);
        assert_true(s->deviation == 0); /* ruling on it says nothing of the limit */
    }
    assert_true(natural > 3);
    build_free(&b);
}

/* A sound that could not be measured is never called right. */
static void what_was_not_measured_is_not_told(void **state)
{
    (void)state;
    struct built b;
    build(&b, 1, 0.4);
    for (int32_t n = 0; n < b.measures->site_count; n++)
        b.measures->sites[n].trust = MST_TRUST_NONE;
    const struct mst_round *round = make(&b, NULL, NULL);
    for (int32_t n = 0; n < round->count; n++)
        assert_int_equal(round->sites[n].told, MST_TOLD_UNSURE);
    assert_true(fabs(round->need - 0.5) < 1e-9);
    build_free(&b);
}

/* At the limit right and wrong are as likely; the rest follows Student's t with four degrees of
 * freedom, whose density at 0 is 0.375 and at 2 is 0.0662913 (any table of it). */
static void the_odds_are_students(void **state)
{
    (void)state;
    struct built b;
    build(&b, 1, 1);
    struct mst_measured_site *s = &b.measures->sites[0];
    struct mst_measure_limits limits = {.site_deviation = 2};
    s->trust = MST_TRUST_GOOD;
    b.measures->lengths[s->length].trusted = 5;
    s->deviation = -2;
    assert_true(fabs(make(&b, NULL, &limits)->sites[0].wrong - 0.5) < 1e-9);
    s->deviation = 0;
    double odds = 0.375 / 0.0662913;
    assert_true(fabs(make(&b, NULL, &limits)->sites[0].wrong - 1 / (1 + odds)) < 1e-6);
    build_free(&b);
}

/* --- rulings ------------------------------------------------------------------------- */

static double chance_of(uint64_t *seed)
{
    return random_below(seed, 1000000) / 1e6;
}

/* A teacher who calls wrong what lies beyond a limit of their own, and errs by a logistic curve:
 * not the model that is fitted. */
static double limit_after(size_t count, double own, uint64_t seed)
{
    struct mst_round_ruling *rulings = calloc(count + 1, sizeof *rulings);
    for (size_t n = 0; n < count; n++) {
        rulings[n].deviation = (chance_of(&seed) * 2 - 1) * 5;
        rulings[n].wrong =
            chance_of(&seed) < 1 / (1 + exp(-4 * (fabs(rulings[n].deviation) - own)));
    }
    double limit = mst_round_limit(rulings, count);
    free(rulings);
    return limit;
}

static void rulings_move_the_limit(void **state)
{
    (void)state;
    static const double teachers[] = {1.6, 2.2, 3.4, 4.2};
    assert_true(fabs(mst_round_limit(NULL, 0) - 2.6) < 1e-9);
    for (int k = 0; k < 4; k++) {
        double few = 0, many = 0;
        for (uint64_t seed = 1; seed <= 20; seed++) {
            few += limit_after(8, teachers[k], seed) / 20;
            many += limit_after(400, teachers[k], seed) / 20;
        }
        assert_true(fabs(log(many / teachers[k])) < log(1.12));
        /* a handful of rulings moves it in the right direction, and not past it */
        assert_true((few - 2.6) * (teachers[k] - 2.6) > 0);
        assert_true(fabs(few - 2.6) <= fabs(teachers[k] - 2.6) * 1.15);
    }
}

/* By Bayes' rule: where so many are right, a site at the limit is as likely wrong as right. The
 * density of Student's t with four degrees of freedom at 2 is 0.0662913. */
static void what_is_usual_agrees_with_the_limit(void **state)
{
    (void)state;
    double right = mst_round_usually_right(2, 0.5);
    assert_true(fabs(right * 0.0662913 - (1 - right) / 12) < 1e-6);
    assert_true(fabs(mst_round_usually_right(-2, 0.5) - right) < 1e-12);
    assert_true(fabs(mst_round_usually_right(0, 0.9) - 0.72) < 0.01);
    assert_true(mst_round_usually_right(4, 0.5) > right);
}

static double right_for_usual(double deviation, double wrong)
{
    double usual = mst_round_usually_right(deviation, wrong);
    return log((1 - wrong) / wrong) - log(usual / (1 - usual));
}

/* What a place tells of a learner is its length, whatever the limit of the class was or became: the
 * density of Student's t at it against that of what is wrong, one in twelve spreads. */
static void a_limit_that_moves_changes_no_place(void **state)
{
    (void)state;
    static const double deviations[] = {0.2, -1, 2, -4};
    for (size_t n = 0; n < sizeof deviations / sizeof *deviations; n++)
        for (int limit = 0; limit < 3; limit++) {
            struct built b;
            build(&b, 1, 1);
            struct mst_measured_site *s = &b.measures->sites[0];
            struct mst_measure_limits limits = {.site_deviation = 1.5 + limit};
            s->trust = MST_TRUST_GOOD;
            b.measures->lengths[s->length].trusted = 5;
            s->deviation = deviations[n];
            const struct mst_round_site *site = &make(&b, NULL, &limits)->sites[0];
            double density = 0.375 * pow(1 + deviations[n] * deviations[n] / 4, -2.5);
            assert_true(fabs(site->deviation - deviations[n]) < 1e-12);
            assert_true(fabs(right_for_usual(site->deviation, site->wrong) - log(density * 12)) <
                        1e-9);
            build_free(&b);
        }
}

static void names_are_known(void **state)
{
    (void)state;
    for (int n = 0; n < MST_TOLD_COUNT; n++) {
        assert_int_equal(mst_told_called(mst_told_id((enum mst_told)n)), n);
        assert_string_not_equal(mst_told_text((enum mst_told)n, MST_LANG_EN),
                                mst_told_text((enum mst_told)n, MST_LANG_AR));
    }
    assert_int_equal(mst_told_called("wrong"), MST_TOLD_COUNT);
}

/* What could not be told is right when the teacher agrees, and wrong when not. */
static void a_ruling_is_read_by_what_was_told(void **state)
{
    (void)state;
    static const struct {
        const char *told;
        int agreed, overruled;
    } rows[] = {
        {"right", 0, 1}, {"unsure", 0, 1}, {"short", 1, 0}, {"long", 1, 0}, {"fault", 1, 0},
    };
    for (size_t n = 0; n < sizeof rows / sizeof rows[0]; n++) {
        assert_int_equal(mst_round_ruled_wrong(rows[n].told, "agree"), rows[n].agreed);
        assert_int_equal(mst_round_ruled_wrong(rows[n].told, "overrule"), rows[n].overruled);
        assert_int_equal(mst_round_ruled_wrong(rows[n].told, ""), -1);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cut_hold_comes_first),
        cmocka_unit_test(need_grows),
        cmocka_unit_test(faults_are_laid_among_the_lengths),
        cmocka_unit_test(a_whole_length_is_told_at_each_site),
        cmocka_unit_test(what_was_not_measured_is_not_told),
        cmocka_unit_test(the_odds_are_students),
        cmocka_unit_test(rulings_move_the_limit),
        cmocka_unit_test(what_is_usual_agrees_with_the_limit),
        cmocka_unit_test(a_limit_that_moves_changes_no_place),
        cmocka_unit_test(names_are_known),
        cmocka_unit_test(a_ruling_is_read_by_what_was_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
