/*
 * fit.c – expectation maximisation over all learners (Dempster, Laird & Rubin
 * 1977). Expectation: each sequence under each node of aptitude, weighed by how
 * well the node explains it. Maximisation: each parameter by itself, where the
 * derivative of its part of the log posterior, which only falls, crosses zero;
 * bounds cut the search off, so no round lowers the posterior.
 */
#include "parts.h"

#include <math.h>

enum { ROUNDS_MOST = 100 };

/* Of one skill: by node where aptitude shifts the parameter, yes and no. */
struct tally {
    double yes[PARAMETERS][MST_KNOW_NODES], no[PARAMETERS][MST_KNOW_NODES];
    double forgotten, days_known;
};

struct fit {
    struct prior prior;
    int plain; /* maximum likelihood: no priors, everyone's aptitude 0 */
    struct ordered heard;
    struct mst_know_model *model;
    double (*skill)[PARAMETERS]; /* of each skill, unbounded scale */
    double rule[MST_RULE_COUNT][PARAMETERS], all[PARAMETERS];
    struct leanings *leanings; /* of each learner */
    struct step *steps;
    double log_likelihood;
};

/* --- expectation --------------------------------------------------------------------- */

static void add(struct tally *t, int q, double share, const struct counts *c)
{
    t->yes[START][q] += share * c->started;
    t->no[START][q] += share * c->not_started;
    t->yes[LEARN][q] += share * c->learned;
    t->no[LEARN][q] += share * c->not_learned;
    t->yes[GUESS][q] += share * c->guessed;
    t->no[GUESS][q] += share * c->not_guessed;
    t->yes[SLIP][q] += share * c->slipped;
    t->no[SLIP][q] += share * c->not_slipped;
    t->forgotten += share * c->forgotten;
    t->days_known += share * c->days_known;
}

/* The nodes that count: all of them, or the middle one alone. */
static void nodes_of(const struct fit *f, int *first, int *end)
{
    *first = f->plain ? MST_KNOW_NODES / 2 : 0;
    *end = f->plain ? MST_KNOW_NODES / 2 + 1 : MST_KNOW_NODES;
}

/* One learner's sequence of a skill with these parameters. */
static double count_sequence(const struct fit *f, const struct chain chains[MST_KNOW_NODES],
                             const struct sequence *seq, struct tally *tally,
                             struct leanings *leanings)
{
    struct counts counts[MST_KNOW_NODES];
    double shares[MST_KNOW_NODES], likelihoods[MST_KNOW_NODES], share[MST_KNOW_NODES] = {0}, sum;
    const struct heard *items = f->heard.items + seq->first;
    int first, end;
    nodes_of(f, &first, &end);
    chain_steps(&chains[first], items, seq->count, f->steps);
    for (int q = first; q < end; q++) {
        chain_count(&chains[q], seq->count, f->steps, &counts[q]);
        likelihoods[q] = counts[q].log_likelihood;
    }
    if (f->plain) {
        share[first] = 1;
        sum = likelihoods[first];
    } else {
        know_node_shares(f->model->aptitude[seq->learner], f->model->aptitude_spread, shares);
        sum = know_node_posterior(shares, likelihoods, share);
    }
    for (int q = first; q < end; q++) {
        add(tally, q, share[q], &counts[q]);
        if (leanings) {
            leanings->sum += share[q] * know_nodes[q];
            leanings->squares += share[q] * know_nodes[q] * know_nodes[q];
        }
    }
    if (leanings)
        leanings->places += 1;
    return sum;
}

/* All sequences of a skill from `from` on; returns where the next skill's begin. */
static size_t count_skill(struct fit *f, size_t from, const double x[PARAMETERS],
                          struct leanings *leanings, struct tally *tally, double *log_likelihood)
{
    const struct sequence *all = f->heard.sequences;
    struct chain chains[MST_KNOW_NODES];
    size_t n = from;
    for (int q = 0; q < MST_KNOW_NODES; q++)
        chains[q] = chain_of(x, know_nodes[q]);
    *tally = (struct tally){0};
    for (; n < f->heard.sequence_count && all[n].skill == all[from].skill; n++)
        *log_likelihood +=
            count_sequence(f, chains, &all[n], tally, leanings ? &leanings[all[n].learner] : NULL);
    return n;
}

/* --- maximisation ----------------------------------------------------------------------- */

/* The derivative of one parameter's part, without its prior. */
static double slope(const struct tally *t, enum parameter p, double x)
{
    double sum = 0;
    if (p == FORGET) /* ln of the rate of an exponential waiting time */
        return t->forgotten - t->days_known * exp(x);
    for (int q = 0; q < MST_KNOW_NODES; q++) {
        double chance = logistic(x + know_shift[p] * know_nodes[q]);
        sum += t->yes[p][q] * (1 - chance) - t->no[p][q] * chance;
    }
    return sum;
}

static double prior_slope(const struct fit *f, enum mst_rule rule, enum parameter p, double x)
{
    double sd = f->prior.skill_sd[p];
    return f->plain ? 0 : (f->rule[rule][p] - x) / (sd * sd);
}

static double best(const struct fit *f, const struct tally *t, enum mst_rule rule, enum parameter p,
                   double now)
{
    double low = f->plain ? -14 : f->prior.low[p], high = f->plain ? 14 : f->prior.high[p];
    double at = now < low ? low : now > high ? high : now, step = 0.25;
    double here = slope(t, p, at) + prior_slope(f, rule, p, at);
    if (here == 0)
        return at;
    /* First near where it stood, which after some rounds is near enough. */
    for (int up = here > 0; step < 64; step *= 2) {
        double next = up ? fmin(at + step, high) : fmax(at - step, low);
        double there = slope(t, p, next) + prior_slope(f, rule, p, next);
        *(up ? &low : &high) = at;
        at = next;
        if (up ? there <= 0 || next >= high : there >= 0 || next <= low) {
            if (up ? there > 0 : there < 0)
                return next; /* a bound */
            *(up ? &high : &low) = next;
            break;
        }
    }
    for (int n = 0; n < 46; n++) {
        at = (low + high) / 2;
        *(slope(t, p, at) + prior_slope(f, rule, p, at) > 0 ? &low : &high) = at;
    }
    return (low + high) / 2;
}

static double weighed(double sum, double count, double sd, double above, double above_sd)
{
    double own = 1 / (sd * sd), parent = 1 / (above_sd * above_sd);
    return (sum * own + above * parent) / (count * own + parent);
}

static enum mst_rule rule_of(const struct fit *f, int32_t skill)
{
    return (enum mst_rule)f->model->skills[skill].rule;
}

/* Rules from the skills heard, all from the rules heard; what was not heard follows. */
static void draw_together(struct fit *f)
{
    for (int p = 0; p < PARAMETERS; p++) {
        double sums[MST_RULE_COUNT] = {0}, counts[MST_RULE_COUNT] = {0}, sum = 0, count = 0;
        for (int32_t s = 0; s < f->model->skill_count; s++)
            if (f->model->of[s].heard > 0) {
                sums[rule_of(f, s)] += f->skill[s][p];
                counts[rule_of(f, s)] += 1;
            }
        for (int r = 0; r < MST_RULE_COUNT; r++)
            if (counts[r] > 0) {
                f->rule[r][p] = weighed(sums[r], counts[r], f->prior.skill_sd[p], f->all[p],
                                        f->prior.rule_sd[p]);
                sum += f->rule[r][p];
                count += 1;
            }
        f->all[p] =
            weighed(sum, count, f->prior.rule_sd[p], f->prior.centre[p], f->prior.all_sd[p]);
        for (int r = 0; r < MST_RULE_COUNT; r++)
            if (counts[r] == 0)
                f->rule[r][p] = f->all[p];
        for (int32_t s = 0; s < f->model->skill_count; s++)
            if (f->model->of[s].heard == 0)
                f->skill[s][p] = f->rule[rule_of(f, s)][p];
    }
}

static double normal(double x, double mean, double sd)
{
    double z = (x - mean) / sd;
    return -z * z / 2;
}

static double log_prior(const struct fit *f)
{
    double sum = 0;
    if (f->plain)
        return 0;
    for (int p = 0; p < PARAMETERS; p++) {
        for (int32_t s = 0; s < f->model->skill_count; s++)
            sum += normal(f->skill[s][p], f->rule[rule_of(f, s)][p], f->prior.skill_sd[p]);
        for (int r = 0; r < MST_RULE_COUNT; r++)
            sum += normal(f->rule[r][p], f->all[p], f->prior.rule_sd[p]);
        sum += normal(f->all[p], f->prior.centre[p], f->prior.all_sd[p]);
    }
    for (int32_t l = 0; l < f->model->learner_count; l++)
        sum += know_aptitude_log_prior(f->model->aptitude[l]);
    return sum + know_spread_log_prior(f->model->aptitude_spread);
}

static void round_of(struct fit *f)
{
    struct mst_know_model *m = f->model;
    f->log_likelihood = 0;
    for (int32_t l = 0; l < m->learner_count; l++)
        f->leanings[l] = (struct leanings){0};
    for (size_t n = 0, end; n < f->heard.sequence_count; n = end) {
        struct tally tally;
        int32_t s = f->heard.sequences[n].skill;
        end = count_skill(f, n, f->skill[s], f->leanings, &tally, &f->log_likelihood);
        for (int p = 0; p < PARAMETERS; p++)
            f->skill[s][p] = best(f, &tally, rule_of(f, s), (enum parameter)p, f->skill[s][p]);
    }
}

/* The rest of the maximisation, once the posterior of the round before has been looked at. */
static void round_close(struct fit *f)
{
    struct mst_know_model *m = f->model;
    if (f->plain)
        return;
    for (int32_t l = 0; l < m->learner_count; l++)
        m->aptitude[l] = know_aptitude(&f->leanings[l], m->aptitude_spread);
    m->aptitude_spread =
        know_spread(f->leanings, m->aptitude, m->learner_count, m->aptitude_spread);
    draw_together(f);
}

/* --- how well it is known: the curvature of the posterior ---------------------------------- */

static void gradient(struct fit *f, size_t from, const double x[PARAMETERS], double out[PARAMETERS])
{
    struct tally tally;
    double unused = 0;
    enum mst_rule rule = rule_of(f, f->heard.sequences[from].skill);
    count_skill(f, from, x, NULL, &tally, &unused);
    for (int p = 0; p < PARAMETERS; p++) /* Fisher's identity */
        out[p] =
            slope(&tally, (enum parameter)p, x[p]) + prior_slope(f, rule, (enum parameter)p, x[p]);
}

/* In place, by Cholesky; 0 when it is not positive definite. */
static int invert(double a[PARAMETERS][PARAMETERS])
{
    double l[PARAMETERS][PARAMETERS] = {{0}};
    for (int i = 0; i < PARAMETERS; i++)
        for (int j = 0; j <= i; j++) {
            double sum = a[i][j];
            for (int k = 0; k < j; k++)
                sum -= l[i][k] * l[j][k];
            if (i == j && !(sum > 1e-12))
                return 0;
            l[i][j] = i == j ? sqrt(sum) : sum / l[j][j];
        }
    for (int column = 0; column < PARAMETERS; column++) {
        double y[PARAMETERS];
        for (int i = 0; i < PARAMETERS; i++) {
            y[i] = i == column;
            for (int k = 0; k < i; k++)
                y[i] -= l[i][k] * y[k];
            y[i] /= l[i][i];
        }
        for (int i = PARAMETERS - 1; i >= 0; i--) {
            for (int k = i + 1; k < PARAMETERS; k++)
                y[i] -= l[k][i] * y[k];
            y[i] /= l[i][i];
        }
        for (int i = 0; i < PARAMETERS; i++)
            a[i][column] = y[i];
    }
    return 1;
}

/* Central differences of the gradient. Where a bound holds the curvature may be of the wrong sign:
 * then the prior's alone is added until it is not. */
static void curvature(struct fit *f, size_t from, const double x[PARAMETERS], double *out)
{
    double h[PARAMETERS][PARAMETERS], a[PARAMETERS][PARAMETERS];
    const double step = 0.05;
    for (int p = 0; p < PARAMETERS; p++) {
        double up[PARAMETERS], down[PARAMETERS], g_up[PARAMETERS], g_down[PARAMETERS];
        for (int k = 0; k < PARAMETERS; k++)
            up[k] = down[k] = x[k];
        up[p] += step;
        down[p] -= step;
        gradient(f, from, up, g_up);
        gradient(f, from, down, g_down);
        for (int k = 0; k < PARAMETERS; k++)
            h[p][k] = -(g_up[k] - g_down[k]) / (2 * step);
    }
    for (double more = 0; more<1e6; more = more> 0 ? more * 4 : 0.25) {
        for (int i = 0; i < PARAMETERS; i++)
            for (int k = 0; k < PARAMETERS; k++)
                a[i][k] = (h[i][k] + h[k][i]) / 2 +
                          (i == k ? more / (f->prior.skill_sd[i] * f->prior.skill_sd[i]) : 0);
        if (invert(a))
            break;
    }
    for (int i = 0; i < PARAMETERS; i++)
        for (int k = 0; k < PARAMETERS; k++)
            out[i * PARAMETERS + k] = a[i][k];
}

static void tell_covariances(struct fit *f)
{
    struct mst_know_model *m = f->model;
    for (int32_t s = 0; s < m->skill_count; s++) /* nothing heard: the prior's */
        for (int p = 0; p < PARAMETERS; p++)
            m->covariance[s][p * PARAMETERS + p] = f->prior.skill_sd[p] * f->prior.skill_sd[p];
    for (size_t n = 0; n < f->heard.sequence_count; n++) {
        int32_t s = f->heard.sequences[n].skill;
        if (n == 0 || f->heard.sequences[n - 1].skill != s)
            curvature(f, n, f->skill[s], m->covariance[s]);
    }
}

/* --- the whole ------------------------------------------------------------------------------ */

static enum mst_status begin(struct fit *f, const struct mst_class_evidence *e,
                             struct mst_arena *arena, struct mst_arena *work, struct mst_error *err)
{
    struct mst_know_model *m = mst_arena_alloc(arena, 1, sizeof *m);
    if (!m)
        return know_no_memory(err);
    size_t skills = (size_t)e->skill_count + 1, learners = (size_t)e->learner_count + 1;
    m->skills = e->skills;
    m->skill_count = e->skill_count;
    m->learner_count = e->learner_count;
    m->of = mst_arena_alloc(arena, skills, sizeof *m->of);
    m->covariance = mst_arena_alloc(arena, skills, sizeof *m->covariance);
    m->aptitude = mst_arena_alloc(arena, learners, sizeof *m->aptitude);
    m->aptitude_spread = 0.9;
    f->model = m;
    f->skill = mst_arena_alloc(work, skills, sizeof *f->skill);
    f->leanings = mst_arena_alloc(work, learners, sizeof *f->leanings);
    if (!m->of || !m->covariance || !m->aptitude || !f->skill || !f->leanings)
        return know_no_memory(err);
    for (int32_t s = 0; s < e->skill_count; s++)
        if (e->skills[s].rule >= MST_RULE_COUNT)
            return mst_fail(err, MST_USAGE, "skill %d is of no rule", (int)s);
    enum mst_status status = know_order(e, BY_SKILL, -1, INT64_MAX, work, &f->heard, err);
    if (status != MST_OK)
        return status;
    int32_t longest = 0;
    for (size_t n = 0; n < f->heard.sequence_count; n++) {
        const struct sequence *seq = &f->heard.sequences[n];
        longest = seq->count > longest ? seq->count : longest;
        m->of[seq->skill].heard += seq->count;
        m->of[seq->skill].learners++;
    }
    f->steps = mst_arena_alloc(work, (size_t)longest + 1, sizeof *f->steps);
    if (!f->steps)
        return know_no_memory(err);
    know_prior(&f->prior);
    for (int p = 0; p < PARAMETERS; p++) {
        f->all[p] = f->prior.centre[p];
        for (int r = 0; r < MST_RULE_COUNT; r++)
            f->rule[r][p] = f->all[p];
        for (int32_t s = 0; s < e->skill_count; s++)
            f->skill[s][p] = f->all[p];
    }
    return MST_OK;
}

/* Rounds until one gains less than a hair for all that was heard. */
static void climb(struct fit *f, int rounds_most)
{
    struct mst_know_model *m = f->model;
    const double hair = 1e-3 + 1e-7 * (double)f->heard.item_count;
    double last = -INFINITY;
    for (m->rounds = 0; m->rounds < rounds_most && !m->settled; m->rounds++) {
        double prior = log_prior(f);
        round_of(f);
        m->log_likelihood = f->log_likelihood;
        m->log_posterior = f->log_likelihood + prior;
        m->settled = m->log_posterior - last < hair;
        last = m->log_posterior;
        round_close(f);
    }
}

enum mst_status mst_know_fit(const struct mst_class_evidence *evidence,
                             const struct mst_know_options *options, struct mst_arena *arena,
                             struct mst_know_model **out, struct mst_error *err)
{
    struct mst_arena *work = mst_arena_new(0);
    struct fit f = {.plain = options && options->no_priors};
    *out = NULL;
    enum mst_status status = work ? begin(&f, evidence, arena, work, err) : know_no_memory(err);
    if (status == MST_OK) {
        climb(&f, options && options->rounds_most > 0 ? options->rounds_most : ROUNDS_MOST);
        for (int32_t s = 0; s < f.model->skill_count; s++) {
            struct chain c = chain_of(f.skill[s], 0);
            struct mst_know_skill *of = &f.model->of[s];
            of->start = c.start;
            of->learn = c.learn;
            of->forget_per_day = c.forget_per_day;
            of->guess = c.guess;
            of->slip = c.slip;
        }
        tell_covariances(&f);
        *out = f.model;
    }
    mst_arena_free(work);
    return status;
}
