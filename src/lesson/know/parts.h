/*
 * know/parts.h – what fitting and telling share: the evidence in order, the two
 * states of a skill and one pass over what was heard of it.
 */
#ifndef MISTARA_LESSON_KNOW_PARTS_H
#define MISTARA_LESSON_KNOW_PARTS_H

#include <mistara/know.h>

MST_MUST_CHECK enum mst_status know_no_memory(struct mst_error *err);
/* USAGE for a number that is none of `count` learners. */
MST_MUST_CHECK enum mst_status know_learner_exists(int32_t learner, int32_t count,
                                                   struct mst_error *err);

/* --- evidence in order (order.c) ------------------------------------------------------ */

/* One item: when, and how likely it was right had we known nothing else of it. */
struct heard {
    double day; /* since 1970 */
    double right;
};
/* What was heard of one learner's skill: items[first … first+count-1], by time. */
struct sequence {
    int32_t learner, skill;
    size_t first;
    int32_t count;
    int64_t first_ms, last_ms;
};
struct ordered {
    struct heard *items;
    struct sequence *sequences;
    size_t sequence_count, item_count;
};
enum order { BY_SKILL, BY_LEARNER };
/* Without items later than until_ms, and, with learner ≥ 0, without everyone else's. */
MST_MUST_CHECK enum mst_status know_order(const struct mst_class_evidence *evidence,
                                          enum order order, int32_t learner, int64_t until_ms,
                                          struct mst_arena *arena, struct ordered *out,
                                          struct mst_error *err);

/* --- the chain (chain.c) ----------------------------------------------------------------- */

/* A skill's parameters where they have no bounds: logits, and ln of forgetting. */
enum parameter { START, LEARN, FORGET, GUESS, SLIP, PARAMETERS };
struct chain {
    double start, learn, forget_per_day, guess, slip;
};
struct chain chain_of(const double x[PARAMETERS], double aptitude);
/* By how much of it aptitude shifts a parameter. */
extern const double know_shift[PARAMETERS];
double logit(double p);
double logistic(double x);

/* Hearings less than half a day apart are one sitting: an evening's hearing. */
#define SITTING_DAYS 0.5

/* What EM counts: how often each step was taken, given everything heard. */
struct counts {
    double log_likelihood;
    double started, not_started;
    double learned, not_learned;
    double forgotten, days_known; /* and for how long it could have been */
    double slipped, not_slipped, guessed, not_guessed;
};
/* An item under way. The upper half is the same for learners of every aptitude. */
struct step {
    double right;            /* as in struct heard */
    double keep, days;       /* until the next item: P(a known skill is kept), and how long it is */
    double days_lost;        /* expected days until forgetting, where it came within them */
    int sitting_ends;        /* with this item, and another sitting follows */
    double known, not_known; /* likelihood of what was observed, in either state */
    double before, after;    /* P(known) before it, and after what was learned from it */
    double scale;
};
void chain_steps(const struct chain *c, const struct heard *items, int32_t count,
                 struct step *steps);
/* ln of the likelihood of all items. */
double chain_forward(const struct chain *c, int32_t count, struct step *steps);
/* P(known) so many days after the last item. */
double chain_onward(const struct chain *c, int32_t count, const struct step *steps, double days);
/* chain_forward and the way back. */
void chain_count(const struct chain *c, int32_t count, struct step *steps, struct counts *out);

/* --- aptitude (aptitude.c) ---------------------------------------------------------------- */

/* A learner's aptitude for one skill lies at one of these, in logits. */
extern const double know_nodes[MST_KNOW_NODES];
/* ln of each node's share for a learner of this aptitude. */
void know_node_shares(double aptitude, double spread, double log_share[MST_KNOW_NODES]);
/* ln shares + ln likelihoods → shares given the evidence; returns ln of their sum. */
double know_node_posterior(const double log_share[MST_KNOW_NODES],
                           const double log_likelihood[MST_KNOW_NODES],
                           double share[MST_KNOW_NODES]);

/* What the fit keeps of a learner's places for the next round. */
struct leanings {
    double sum, squares; /* of expected node and its square */
    double places;
};
/* The aptitude that suits them best under its prior; the spread that suits all learners. */
double know_aptitude(const struct leanings *leanings, double spread);
double know_spread(const struct leanings *of, const double *aptitude, int32_t learners,
                   double spread);
double know_aptitude_log_prior(double aptitude);
double know_spread_log_prior(double spread);

/* --- priors (prior.c) --------------------------------------------------------------------------
 */

/* Normal on the unbounded scale: a skill's about its rule's, a rule's about that of all. */
struct prior {
    double centre[PARAMETERS];
    double skill_sd[PARAMETERS], rule_sd[PARAMETERS], all_sd[PARAMETERS];
    double low[PARAMETERS], high[PARAMETERS]; /* bounds, on the same scale */
};
void know_prior(struct prior *out);

/* --- telling (now.c) ---------------------------------------------------------------------------
 */

/* A skill is due when its chance, the paper's 2^(−d/h), has fallen to this: our choice, no source.
 */
#define DUE_AT_CHANCE 0.8
int64_t know_due_ms(const struct mst_spacing *spacing, const struct mst_known *row);

#endif
