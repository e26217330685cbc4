/*
 * now.c – what a learner knows at a time, from a fitted model.
 *
 * The 90 % interval takes in two doubts: how easily this learner comes by this
 * skill (the nodes, weighed by how well they explain what was heard), and how
 * well the skill's parameters are known (the delta method on logits). That a
 * skill is either known or not is in the probability itself.
 */
#include "parts.h"

#include <math.h>
#include <string.h>

#define NORMAL_95 1.6448536269514722

struct teller {
    const struct mst_know_model *model;
    const struct mst_spacing *spacing;
    struct step *steps;
};

/* The numbers of one skill's parameters where they have no bounds. */
static void unbounded(const struct mst_know_skill *skill, double x[PARAMETERS])
{
    x[START] = logit(skill->start);
    x[LEARN] = logit(skill->learn);
    x[FORGET] = log(skill->forget_per_day);
    x[GUESS] = logit(skill->guess);
    x[SLIP] = logit(skill->slip);
}

struct standing {
    double known, chance, right;
    double known_apart, chance_apart; /* variance of the logits over the nodes */
};

static double logit_within(double p)
{
    return logit(fmin(fmax(p, 1e-9), 1 - 1e-9));
}

/* counting: how many were right as well. */
static struct standing stand(const struct teller *t, const double x[PARAMETERS], double aptitude,
                             const struct heard *items, int32_t count, double day, int counting)
{
    double shares[MST_KNOW_NODES], likelihoods[MST_KNOW_NODES], share[MST_KNOW_NODES];
    double known[MST_KNOW_NODES], chance[MST_KNOW_NODES], right[MST_KNOW_NODES] = {0};
    struct standing s = {0};
    struct chain c = chain_of(x, 0);
    double days = fmax(day - items[count - 1].day, 0);
    know_node_shares(aptitude, t->model->aptitude_spread, shares);
    chain_steps(&c, items, count, t->steps);
    for (int q = 0; q < MST_KNOW_NODES; q++) {
        struct counts counts;
        c = chain_of(x, know_nodes[q]);
        if (counting) {
            chain_count(&c, count, t->steps, &counts);
            likelihoods[q] = counts.log_likelihood;
            right[q] = counts.not_slipped + counts.guessed;
        } else
            likelihoods[q] = chain_forward(&c, count, t->steps);
        known[q] = chain_onward(&c, count, t->steps, days);
        chance[q] = (1 - c.slip) * known[q] + c.guess * (1 - known[q]);
    }
    know_node_posterior(shares, likelihoods, share);
    double known_mean = 0, chance_mean = 0, known_square = 0, chance_square = 0;
    for (int q = 0; q < MST_KNOW_NODES; q++) {
        double a = logit_within(known[q]), b = logit_within(chance[q]);
        s.known += share[q] * known[q];
        s.chance += share[q] * chance[q];
        s.right += share[q] * right[q];
        known_mean += share[q] * a;
        known_square += share[q] * a * a;
        chance_mean += share[q] * b;
        chance_square += share[q] * b * b;
    }
    s.known_apart = fmax(known_square - known_mean * known_mean, 0);
    s.chance_apart = fmax(chance_square - chance_mean * chance_mean, 0);
    return s;
}

static double quadratic(const double c[PARAMETERS * PARAMETERS], const double g[PARAMETERS])
{
    double sum = 0;
    for (int i = 0; i < PARAMETERS; i++)
        for (int k = 0; k < PARAMETERS; k++)
            sum += g[i] * c[i * PARAMETERS + k] * g[k];
    return fmax(sum, 0);
}

static void interval(double p, double variance, double *low, double *high)
{
    double x = logit_within(p), d = NORMAL_95 * sqrt(variance);
    *low = logistic(x - d);
    *high = logistic(x + d);
}

/* The first `count` items of a sequence, seen from `day` on. */
static void tell(const struct teller *t, const struct sequence *seq, const struct heard *items,
                 int32_t count, int64_t time_ms, struct mst_known *out)
{
    double x[PARAMETERS], known_slope[PARAMETERS], chance_slope[PARAMETERS];
    const double step = 0.02, day = (double)time_ms / 86400e3;
    double aptitude = t->model->aptitude[seq->learner];
    unbounded(&t->model->of[seq->skill], x);
    struct standing here = stand(t, x, aptitude, items, count, day, 1);
    for (int p = 0; p < PARAMETERS; p++) {
        double kept = x[p];
        x[p] += step;
        struct standing there = stand(t, x, aptitude, items, count, day, 0);
        x[p] = kept;
        known_slope[p] = (logit_within(there.known) - logit_within(here.known)) / step;
        chance_slope[p] = (logit_within(there.chance) - logit_within(here.chance)) / step;
    }
    const double *covariance = t->model->covariance[seq->skill];
    *out = (struct mst_known){.learner = seq->learner,
                              .skill = seq->skill,
                              .heard = count,
                              .right = here.right,
                              .first_ms = seq->first_ms,
                              .last_ms = (int64_t)llround(items[count - 1].day * 86400e3),
                              .known = here.known,
                              .chance = here.chance};
    interval(here.known, here.known_apart + quadratic(covariance, known_slope), &out->known_low,
             &out->known_high);
    interval(here.chance, here.chance_apart + quadratic(covariance, chance_slope), &out->chance_low,
             &out->chance_high);
    if (t->spacing) {
        out->half_life_days =
            mst_spacing_half_life_days(t->spacing, seq->skill, here.right, count - here.right);
        out->due_ms = know_due_ms(t->spacing, out);
    }
}

static enum mst_status fits(const struct mst_know_model *model, const struct mst_class_evidence *e,
                            const struct mst_spacing *spacing, struct mst_error *err)
{
    if (e->skill_count > model->skill_count || e->learner_count > model->learner_count ||
        (spacing && e->skill_count > spacing->skill_count))
        return mst_fail(err, MST_USAGE,
                        "the evidence names more skills or learners than the model was fitted to");
    return MST_OK;
}

static enum mst_status teller_begin(struct teller *t, const struct ordered *heard,
                                    struct mst_arena *work, struct mst_error *err)
{
    int32_t longest = 0;
    for (size_t n = 0; n < heard->sequence_count; n++)
        longest = heard->sequences[n].count > longest ? heard->sequences[n].count : longest;
    t->steps = mst_arena_alloc(work, (size_t)longest + 1, sizeof *t->steps);
    return t->steps ? MST_OK : know_no_memory(err);
}

static enum mst_status know_now(struct teller *t, const struct mst_class_evidence *e,
                                int64_t time_ms, struct mst_arena *work, struct mst_arena *arena,
                                struct mst_knowledge **out, struct mst_error *err)
{
    struct ordered heard;
    enum mst_status status = know_order(e, BY_LEARNER, -1, time_ms, work, &heard, err);
    if (status == MST_OK)
        status = teller_begin(t, &heard, work, err);
    if (status != MST_OK)
        return status;
    struct mst_knowledge *k = mst_arena_alloc(arena, 1, sizeof *k);
    if (!k)
        return know_no_memory(err);
    *k = (struct mst_knowledge){
        .skills = e->skills,
        .skill_count = e->skill_count,
        .learner_count = e->learner_count,
        .time_ms = time_ms,
        .rows = mst_arena_alloc(arena, heard.sequence_count + 1, sizeof *k->rows),
        .count = heard.sequence_count,
        .first = mst_arena_alloc(arena, (size_t)e->learner_count + 1, sizeof *k->first)};
    if (!k->rows || !k->first)
        return know_no_memory(err);
    for (size_t n = 0; n < heard.sequence_count; n++) {
        const struct sequence *seq = &heard.sequences[n];
        tell(t, seq, heard.items + seq->first, seq->count, time_ms, &k->rows[n]);
        k->first[seq->learner + 1]++;
    }
    for (int32_t l = 0; l < e->learner_count; l++)
        k->first[l + 1] += k->first[l];
    *out = k;
    return MST_OK;
}

enum mst_status mst_know_now(const struct mst_know_model *model,
                             const struct mst_class_evidence *evidence,
                             const struct mst_spacing *spacing, int64_t time_ms,
                             struct mst_arena *arena, struct mst_knowledge **out,
                             struct mst_error *err)
{
    struct teller t = {.model = model, .spacing = spacing};
    *out = NULL;
    enum mst_status status = fits(model, evidence, spacing, err);
    if (status != MST_OK)
        return status;
    struct mst_arena *work = mst_arena_new(0);
    status = work ? know_now(&t, evidence, time_ms, work, arena, out, err) : know_no_memory(err);
    mst_arena_free(work);
    return status;
}

static enum mst_status histories(struct teller *t, const struct mst_class_evidence *e,
                                 int32_t learner, const int64_t *times_ms, int32_t time_count,
                                 struct mst_arena *work, struct mst_arena *arena,
                                 struct mst_know_history **out, int32_t *count,
                                 struct mst_error *err)
{
    struct ordered heard;
    int64_t last = 0;
    for (int32_t k = 0; k < time_count; k++)
        last = times_ms[k] > last ? times_ms[k] : last;
    enum mst_status status = know_order(e, BY_LEARNER, learner, last, work, &heard, err);
    if (status == MST_OK)
        status = teller_begin(t, &heard, work, err);
    if (status != MST_OK)
        return status;
    *out = mst_arena_alloc(arena, heard.sequence_count + 1, sizeof **out);
    if (!*out)
        return know_no_memory(err);
    for (size_t n = 0; n < heard.sequence_count; n++) {
        const struct sequence *seq = &heard.sequences[n];
        const struct heard *items = heard.items + seq->first;
        struct mst_known *at = mst_arena_alloc(arena, (size_t)time_count + 1, sizeof *at);
        if (!at)
            return know_no_memory(err);
        (*out)[n] = (struct mst_know_history){seq->learner, seq->skill, at};
        for (int32_t k = 0; k < time_count; k++) {
            int32_t by_then = 0;
            while (by_then < seq->count && llround(items[by_then].day * 86400e3) <= times_ms[k])
                by_then++;
            if (by_then > 0)
                tell(t, seq, items, by_then, times_ms[k], &at[k]);
            else
                at[k] = (struct mst_known){.learner = seq->learner, .skill = seq->skill};
        }
    }
    *count = (int32_t)heard.sequence_count;
    return MST_OK;
}

enum mst_status mst_know_histories(const struct mst_know_model *model,
                                   const struct mst_class_evidence *evidence, int32_t learner,
                                   const int64_t *times_ms, int32_t time_count,
                                   struct mst_arena *arena, struct mst_know_history **out,
                                   int32_t *count, struct mst_error *err)
{
    struct teller t = {.model = model};
    *out = NULL;
    *count = 0;
    enum mst_status status = fits(model, evidence, NULL, err);
    if (status == MST_OK)
        status = know_learner_exists(learner, evidence->learner_count, err);
    if (status != MST_OK)
        return status;
    struct mst_arena *work = mst_arena_new(0);
    status =
        work ? histories(&t, evidence, learner, times_ms, time_count, work, arena, out, count, err)
             : know_no_memory(err);
    mst_arena_free(work);
    return status;
}
