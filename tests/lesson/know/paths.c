/*
 * The passes of src/lesson/know/chain.c against the sum over every hidden path,
 * written down here a second time: for each item known or not, for each gap
 * learned or not and forgotten or not, every combination's probability, nothing
 * carried from step to step. Times until forgetting are integrated, not solved.
 */
#include "../test.h"
#include "simulate.h"

#include "parts.h"

#include <math.h>
#include <string.h>

enum { LONGEST = 6 };

struct all {
    const struct chain *c;
    const struct heard *items;
    int count;
    double total; /* of the probabilities */
    struct counts sums;
    double known_at[LONGEST];
    double known_later, days_later;
    double lost[LONGEST]; /* expected days until forgetting within each gap, times its chance */
};

/* ∫ t φ e^(−φt) dt from 0 to d, by Simpson's rule. */
static double lost_time(double rate, double days)
{
    enum { PARTS = 2000 };
    double h = days / PARTS, sum = 0;
    for (int n = 0; n <= PARTS; n++) {
        double t = n * h, f = t * rate * exp(-rate * t);
        sum += f * (n == 0 || n == PARTS ? 1 : n % 2 ? 4 : 2);
    }
    return sum * h / 3;
}

struct path {
    int known[LONGEST], learned[LONGEST], forgot[LONGEST]; /* learned, forgot: after the item */
};

static void weigh(struct all *a, const struct path *path)
{
    const struct chain *c = a->c;
    double p = path->known[0] ? c->start : 1 - c->start;
    double time_kept = 0, lost[LONGEST] = {0};
    for (int n = 0; n < a->count; n++) {
        double right = a->items[n].right;
        p *= path->known[n] ? (1 - c->slip) * right + c->slip * (1 - right)
                            : c->guess * right + (1 - c->guess) * (1 - right);
        if (n + 1 == a->count)
            break;
        double days = a->items[n + 1].day - a->items[n].day;
        int may_learn = days >= 0.5 && !path->known[n];
        if (path->learned[n] && !may_learn)
            return;
        if (may_learn)
            p *= path->learned[n] ? c->learn : 1 - c->learn;
        int after = path->known[n] || path->learned[n];
        if (path->forgot[n] && (!after || days <= 0))
            return;
        if (after && days > 0) {
            double keep = exp(-c->forget_per_day * days);
            p *= path->forgot[n] ? 1 - keep : keep;
            if (path->forgot[n])
                lost[n] = a->lost[n] / (1 - keep);
            else
                time_kept += days;
        }
        if ((after && !path->forgot[n]) != path->known[n + 1])
            return;
    }
    a->total += p;
    for (int n = 0; n < a->count; n++) {
        double right = a->items[n].right, s = c->slip, g = c->guess;
        struct counts *t = &a->sums;
        if (path->known[n]) {
            double wrong_share = s * (1 - right) / ((1 - s) * right + s * (1 - right));
            t->slipped += p * wrong_share;
            t->not_slipped += p * (1 - wrong_share);
            a->known_at[n] += p;
        } else {
            double right_share = g * right / (g * right + (1 - g) * (1 - right));
            t->guessed += p * right_share;
            t->not_guessed += p * (1 - right_share);
        }
        if (n + 1 == a->count)
            break;
        int may_learn = a->items[n + 1].day - a->items[n].day >= 0.5 && !path->known[n];
        t->learned += p * (may_learn && path->learned[n]);
        t->not_learned += p * (may_learn && !path->learned[n]);
        t->forgotten += p * path->forgot[n];
        if (path->forgot[n])
            t->days_known += p * lost[n];
    }
    a->sums.days_known += p * time_kept;
    a->sums.started += p * path->known[0];
    a->sums.not_started += p * !path->known[0];
    int last = a->count - 1;
    double known = path->known[last];
    if (a->days_later >= 0.5 && !path->known[last])
        known = c->learn;
    a->known_later += p * known * exp(-c->forget_per_day * a->days_later);
}

static void walk(struct all *a, struct path *path, int n)
{
    if (n == a->count) {
        weigh(a, path);
        return;
    }
    for (int way = 0; way < 8; way++) {
        path->known[n] = way & 1;
        path->learned[n] = way >> 1 & 1;
        path->forgot[n] = way >> 2 & 1;
        if (n + 1 == a->count && way > 1)
            continue;
        walk(a, path, n + 1);
    }
}

static void near(double a, double b)
{
    if (!(fabs(a - b) <= 1e-9 * (1 + fabs(b))))
        fail_msg("%.15g where all paths say %.15g", a, b);
}

static void counts_agree(const struct counts *ours, const struct all *a)
{
    const struct counts *t = &a->sums;
    double p = a->total;
    near(ours->log_likelihood, log(p));
    near(ours->started, t->started / p);
    near(ours->not_started, t->not_started / p);
    near(ours->learned, t->learned / p);
    near(ours->not_learned, t->not_learned / p);
    near(ours->forgotten, t->forgotten / p);
    near(ours->days_known, t->days_known / p);
    near(ours->slipped, t->slipped / p);
    near(ours->not_slipped, t->not_slipped / p);
    near(ours->guessed, t->guessed / p);
    near(ours->not_guessed, t->not_guessed / p);
}

static struct chain some_chain(uint64_t *seed)
{
    return (struct chain){.start = 0.05 + 0.9 * simulate_uniform(seed),
                          .learn = 0.01 + 0.5 * simulate_uniform(seed),
                          .forget_per_day = 0.001 + 0.2 * simulate_uniform(seed),
                          .guess = 0.02 + 0.5 * simulate_uniform(seed),
                          .slip = 0.01 + 0.3 * simulate_uniform(seed)};
}

/* Sessions of several items, gaps from none to a month, evidence from sure to none. */
static void some_items(uint64_t *seed, struct heard *items, int count)
{
    double day = 20000;
    for (int n = 0; n < count; n++) {
        static const double gaps[] = {0, 0.01, 0.4, 0.6, 7, 31};
        day += gaps[(int)(6 * simulate_uniform(seed))];
        items[n] = (struct heard){day, logistic(14 * simulate_uniform(seed) - 7)};
    }
}

static void every_path(void **state)
{
    uint64_t seed = 20261125;
    (void)state;
    for (int round = 0; round < 120; round++) {
        struct heard items[LONGEST];
        struct step steps[LONGEST];
        struct path path;
        struct counts counts;
        struct chain c = some_chain(&seed);
        int count = 1 + round % LONGEST;
        some_items(&seed, items, count);
        struct all a = {.c = &c,
                        .items = items,
                        .count = count,
                        .days_later = 40 * simulate_uniform(&seed) * (round % 3)};
        memset(&path, 0, sizeof path);
        for (int n = 0; n + 1 < count; n++)
            a.lost[n] = lost_time(c.forget_per_day, items[n + 1].day - items[n].day);
        walk(&a, &path, 0);
        chain_steps(&c, items, count, steps);
        chain_count(&c, count, steps, &counts);
        counts_agree(&counts, &a);
        near(chain_onward(&c, count, steps, a.days_later), a.known_later / a.total);
    }
}

/* Long sequences: the scaled pass against plain sums of logarithms, where probabilities themselves
 * would be long below the least number there is. */
static double log_sum(double a, double b)
{
    double most = fmax(a, b);
    return most == -INFINITY ? most : most + log(exp(a - most) + exp(b - most));
}

static double in_logarithms(const struct chain *c, const struct heard *items, int count)
{
    double known = log(c->start), not_known = log1p(-c->start);
    for (int n = 0; n < count; n++) {
        double right = items[n].right;
        known += log((1 - c->slip) * right + c->slip * (1 - right));
        not_known += log(c->guess * right + (1 - c->guess) * (1 - right));
        if (n + 1 == count)
            break;
        double days = items[n + 1].day - items[n].day;
        if (days >= 0.5) {
            known = log_sum(known, not_known + log(c->learn));
            not_known += log1p(-c->learn);
        }
        double forget = -expm1(-c->forget_per_day * days);
        not_known = log_sum(not_known, known + log(forget));
        known -= c->forget_per_day * days;
    }
    return log_sum(known, not_known);
}

static void long_sequences(void **state)
{
    enum { COUNT = 20000 };
    uint64_t seed = 7;
    struct heard *items = test_malloc(COUNT * sizeof *items);
    struct step *steps = test_malloc(COUNT * sizeof *steps);
    (void)state;
    for (int round = 0; round < 5; round++) {
        struct chain c = some_chain(&seed);
        struct counts counts;
        some_items(&seed, items, COUNT);
        chain_steps(&c, items, COUNT, steps);
        chain_count(&c, COUNT, steps, &counts);
        assert_true(counts.log_likelihood < -1500); /* below the least double */
        near(counts.log_likelihood, in_logarithms(&c, items, COUNT));
        near(counts.started + counts.not_started, 1);
        near(counts.slipped + counts.not_slipped + counts.guessed + counts.not_guessed, COUNT);
    }
    test_free(items);
    test_free(steps);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_path),
                                       cmocka_unit_test(long_sequences)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
