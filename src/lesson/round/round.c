/*
 * round.c – a learner's take laid out for the teacher's ruling, and what the
 * rulings teach. The one thing decided here is the order in which a teacher
 * listens.
 */
#include <mistara/round.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Ours, no source, where nothing else is said. */
static const double usual_limit = 2.6;                 /* spreads: as of mst_find, ear.h */
static const double limit_least = 1.2, limit_most = 6; /* that rulings may move it to */
static const double limit_spread_log = 0.22;           /* how far it may be expected to move */
static const double fair_doubt = 1.5;                  /* blurred edges: spreads count less */
/* Of log length, in one hand: between those measured, 0.11 and 0.24 (docs/measurements.md). */
static const double own_spread_usual = 0.18;
static const double plain_weight = 1.5, fine_weight = 0.8; /* errors that change the word first */
enum { OWN_LEAST = 3 /* sites from which a reciter's own hand is known */ };

static const struct {
    const char *id, *en, *ar;
} told_names[MST_TOLD_COUNT] = {
#define X(name, id, en, ar) {id, en, ar},
    MST_TOLD_LIST(X)
#undef X
};

static const double weights[MST_LENGTH_COUNT] = {
#define X(name, id, ar, en, prior, weight) weight,
    MST_LENGTH_LIST(X)
#undef X
};

const char *mst_told_id(enum mst_told told)
{
    return told_names[told].id;
}

const char *mst_told_text(enum mst_told told, enum mst_lang lang)
{
    return lang == MST_LANG_AR ? told_names[told].ar : told_names[told].en;
}

enum mst_told mst_told_called(const char *id)
{
    int n = 0;
    while (n < MST_TOLD_COUNT && strcmp(told_names[n].id, id) != 0)
        n++;
    return (enum mst_told)n;
}

int mst_round_ruled_wrong(const char *told, const char *ruling)
{
    enum mst_told t = mst_told_called(told);
    int told_wrong = t == MST_TOLD_SHORT || t == MST_TOLD_LONG || t == MST_TOLD_FAULT;
    if (strcmp(ruling, "agree") == 0)
        return told_wrong;
    return strcmp(ruling, "overrule") == 0 ? !told_wrong : -1;
}

/* --- how likely a site is wrong ---------------------------------------------------- */

/* Log density of Student's t with four degrees of freedom, without its constant. */
static double log_t4(double d)
{
    return -2.5 * log1p(d * d / 4);
}

static double wrong_at(double deviation, double limit)
{
    return 1 / (1 + exp(log_t4(deviation) - log_t4(limit)));
}

double mst_round_usually_right(double deviation, double wrong)
{
    static const double t4_at_0 = 0.375, wrong_density = 1.0 / 12;
    /* wrong_at() the other way round */
    double log_at_limit = deviation != 0 && wrong > 0 && wrong < 1
                              ? log_t4(deviation) - log1p(-wrong) + log(wrong)
                              : log_t4(usual_limit);
    return 1 / (1 + t4_at_0 * exp(log_at_limit) / wrong_density);
}

/* Spreads from what was expected; NAN when nothing can be told. */
static double deviation_of(const struct mst_measures *m, const struct mst_measured_site *s)
{
    const struct mst_length_measure *l = &m->lengths[s->length];
    double d = NAN;
    if (s->trust == MST_TRUST_NONE)
        return NAN;
    if (l->trusted >= OWN_LEAST) {
        d = s->deviation;
    } else if (l->model_median_ms > 0) {
        double spread =
            l->model_spread_log > own_spread_usual ? l->model_spread_log : own_spread_usual;
        d = log(s->held_ms / l->model_median_ms) / spread;
    }
    return s->trust == MST_TRUST_FAIR ? d / fair_doubt : d;
}

static struct mst_round_site length_site(const struct mst_measures *m,
                                         const struct mst_measured_site *s,
                                         const struct mst_measure_limits *limits, double limit)
{
    struct mst_round_site site = {.measured = s,
                                  .rule = s->rule,
                                  .at = s->at,
                                  .start_ms = s->start_ms,
                                  .end_ms = s->end_ms,
                                  .told = MST_TOLD_UNSURE};
    double d = deviation_of(m, s);
    if (isnan(d))
        return site;
    site.deviation = d;
    site.wrong = wrong_at(d, limit);
    int is_short = d < 0;
    double ratio, off = mst_length_off(m, s->length, limits, &ratio);
    /* of a length that is off as a whole, those sites that are not held as the model holds them */
    double expected = log(s->held_ms / m->lengths[s->length].model_median_ms);
    if (off > site.wrong && expected * log(ratio) > 0 && fabs(expected) > fabs(log(ratio)) / 2) {
        site.wrong = off;
        site.deviation = 0; /* nothing that is ruled here tells of single sites */
        is_short = ratio < 1;
    }
    site.told = site.wrong < 0.5 ? MST_TOLD_RIGHT : is_short ? MST_TOLD_SHORT : MST_TOLD_LONG;
    site.rank = site.wrong * weights[s->length];
    return site;
}

static struct mst_round_site fault_site(const struct mst_timeline *timeline,
                                        const struct mst_fault_item *item)
{
    struct mst_round_site site = {.fault = item,
                                  .rule = MST_RULE_COUNT,
                                  .at = item->at,
                                  .start_ms = item->start_ms,
                                  .end_ms = item->end_ms,
                                  .told = MST_TOLD_FAULT,
                                  .wrong = item->sureness};
    if (item->kind) {
        const struct mst_heard_sound *heard = &timeline->sounds[item->kind->sound];
        const struct mst_reading *r = timeline->reading;
        int32_t at = heard->sound_idx >= 0 ? r->sounds[heard->sound_idx].site : -1;
        if (at >= 0)
            site.rule = r->sites[at].rule;
        if (item->kind->cannot_tell)
            site.told = MST_TOLD_UNSURE;
    }
    if (site.told == MST_TOLD_FAULT)
        site.rank = site.wrong * (item->grade == MST_FAULT_PLAIN ? plain_weight : fine_weight);
    return site;
}

static int by_time(const void *a, const void *b)
{
    const struct mst_round_site *x = a, *y = b;
    if (x->start_ms != y->start_ms)
        return x->start_ms < y->start_ms ? -1 : 1;
    if (!x->fault != !y->fault)
        return x->fault ? -1 : 1;
    return (x->rule > y->rule) - (x->rule < y->rule);
}

/* Errors of words and kinds weigh as much as they do in the order, and are never diluted by the
 * many lengths that are right. */
static double need_of(const struct mst_round *round)
{
    double wrong = 0, whole = 0, faults = 0;
    for (int32_t n = 0; n < round->count; n++) {
        const struct mst_round_site *s = &round->sites[n];
        if (s->fault) {
            faults += s->rank / 5;
            continue;
        }
        double weight = weights[s->measured->length];
        whole += weight;
        wrong += weight * (s->told == MST_TOLD_UNSURE ? 0.5 : s->wrong);
    }
    double need = (whole > 0 ? wrong / whole : 1) + faults;
    return need < 1 ? need : 1;
}

enum mst_status mst_round_make(const struct mst_measures *measures,
                               const struct mst_fault_report *faults,
                               const struct mst_measure_limits *limits, struct mst_arena *arena,
                               struct mst_round **out, struct mst_error *err)
{
    size_t fault_count = faults ? faults->count : 0;
    double limit = limits && limits->site_deviation > 0 ? limits->site_deviation : usual_limit;
    struct mst_round *round = mst_arena_alloc(arena, 1, sizeof *round);
    *out = NULL;
    if (round)
        round->sites = mst_arena_alloc(arena, (size_t)measures->site_count + fault_count + 1,
                                       sizeof *round->sites);
    if (!round || !round->sites)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while laying out a take");
    for (int32_t n = 0; n < measures->site_count; n++)
        round->sites[round->count++] = length_site(measures, &measures->sites[n], limits, limit);
    for (size_t n = 0; n < fault_count; n++)
        round->sites[round->count++] = fault_site(measures->timeline, &faults->items[n]);
    qsort(round->sites, (size_t)round->count, sizeof *round->sites, by_time);
    round->need = need_of(round);
    *out = round;
    return MST_OK;
}

/* --- what rulings teach ------------------------------------------------------------- */

static double log_posterior(const struct mst_round_ruling *rulings, size_t count, double limit)
{
    double off = log(limit / usual_limit) / limit_spread_log;
    double sum = -off * off / 2;
    for (size_t n = 0; n < count; n++) {
        double wrong = wrong_at(rulings[n].deviation, limit);
        sum += log(rulings[n].wrong ? wrong : 1 - wrong);
    }
    return sum;
}

double mst_round_limit(const struct mst_round_ruling *rulings, size_t count)
{
    enum { STEPS = 240 };
    double best = usual_limit, highest = log_posterior(rulings, count, usual_limit);
    for (int n = 0; n <= STEPS; n++) {
        double limit = limit_least * pow(limit_most / limit_least, n / (double)STEPS);
        double p = log_posterior(rulings, count, limit);
        if (p > highest) {
            highest = p;
            best = limit;
        }
    }
    return best;
}
