/*
 * measures.c – how long each site was held, in the reciter's own measure.
 *
 * A site is never judged by so many times a natural vowel: lengths of
 * different classes do not stand in whole ratios in real recitation. The
 * expected length is the middle of the same class of sound, in the model
 * voice's take brought to this take's pace, or else in this take itself.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double usual_spread = 0.18; /* of log length in professionals' takes: docs */
enum { USUAL_STRENGTH = 4 /* sites that the usual spread weighs */ };
static const double least_edge_ms = 10;

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double share_of(const double *sorted, int32_t count, double share)
{
    double at = share * (count - 1);
    int32_t low = (int32_t)at, high = low + 1 < count ? low + 1 : low;
    return sorted[low] + (at - low) * (sorted[high] - sorted[low]);
}

int ear_length_is_measured(enum mst_length length)
{
    return length >= MST_LENGTH_NATURAL && length <= MST_LENGTH_MERGE_Y;
}

int ear_length_is_nasal(enum mst_length length)
{
    return length >= MST_LENGTH_GHUNNA && length <= MST_LENGTH_MERGE_Y;
}

/* --- the sites of the take ---------------------------------------------------- */
static void list_sites(struct mst_measures *m)
{
    const struct mst_timeline *tl = m->timeline;
    const struct mst_reading *r = tl->reading;
    for (int32_t i = 0; i < tl->sound_count; i++) {
        const struct mst_heard_sound *heard = &tl->sounds[i];
        if (heard->sound_idx < 0 || !ear_length_is_measured(heard->length))
            continue;
        const struct mst_sound *sound = &r->sounds[heard->sound_idx];
        if (sound->site < 0)
            continue;
        const struct mst_site *site = &r->sites[sound->site];
        m->sites[m->site_count++] =
            (struct mst_measured_site){.site_idx = sound->site,
                                       .sound = i,
                                       .rule = site->rule,
                                       .length = heard->length,
                                       .at = mst_letter_addr(r, site->trigger),
                                       .start_ms = heard->start_ms,
                                       .end_ms = heard->end_ms,
                                       .held_ms = heard->end_ms - heard->start_ms,
                                       .expected_counts = sound->counts,
                                       .trust = heard->trust};
    }
}

/* --- classes -------------------------------------------------------------------- */
static void measure_length(struct mst_measures *m, enum mst_length length, double *logs)
{
    struct mst_length_measure *l = &m->lengths[length];
    int32_t n = 0;
    l->length = length;
    for (int32_t i = 0; i < m->site_count; i++) {
        if (m->sites[i].length != length)
            continue;
        l->count++;
        if (m->sites[i].trust != MST_TRUST_NONE)
            logs[n++] = log(m->sites[i].held_ms);
    }
    l->trusted = n;
    if (n == 0)
        return;
    qsort(logs, (size_t)n, sizeof *logs, compare_doubles);
    double middle = share_of(logs, n, 0.5);
    l->median_ms = exp(middle);
    l->low_ms = exp(share_of(logs, n, 0.05));
    l->high_ms = exp(share_of(logs, n, 0.95));
    int32_t even = 0;
    for (int32_t i = 0; i < n; i++) {
        even += exp(logs[i] - middle) > 0.75 && exp(logs[i] - middle) < 1.25;
        logs[i] = fabs(logs[i] - middle);
    }
    l->even_share = (double)even / n;
    qsort(logs, (size_t)n, sizeof *logs, compare_doubles);
    l->spread_log = 1.4826 * share_of(logs, n, 0.5);
}

/* --- the reciter's own hand ------------------------------------------------------- */
/* How kin stand to one another: middles of two voices, the first of its kin = 1. */
static const double among_kin[MST_LENGTH_COUNT] = {
    [MST_LENGTH_GHUNNA] = 1,           [MST_LENGTH_GHUNNA_STOP] = 1, [MST_LENGTH_HIDING] = 0.98,
    [MST_LENGTH_LIPS] = 1.06,          [MST_LENGTH_MERGE_W] = 1.03,  [MST_LENGTH_MERGE_Y] = 1.12,
    [MST_LENGTH_MUTTASIL] = 1,         [MST_LENGTH_MUNFASIL] = 0.9,  [MST_LENGTH_LAZIM] = 1.5,
    [MST_LENGTH_MUTTASIL_STOP] = 1.12,
};

enum kin { ALONE, HELD_IN_THE_NOSE, LONG_LENGTHENINGS, KIN_COUNT };

static enum kin kin_of(const struct mst_measures *m, enum mst_length length)
{
    switch (length) {
    case MST_LENGTH_MUTTASIL:
    case MST_LENGTH_MUTTASIL_STOP:
    case MST_LENGTH_LAZIM:
        return LONG_LENGTHENINGS;
    case MST_LENGTH_MUNFASIL: /* the shortened way is no kin of the long ones */
        return m->munfasil_way == 4 ? LONG_LENGTHENINGS : ALONE;
    default:
        return ear_length_is_nasal(length) ? HELD_IN_THE_NOSE : ALONE;
    }
}

/* Where most of the values lie and how far they spread, whatever the rest do. */
struct bulk {
    double middle, spread;
    int32_t count; /* values that belong to it */
};

static double lean_on_usual(double spread, int32_t count)
{
    double own = count * spread * spread;
    double usual = USUAL_STRENGTH * usual_spread * usual_spread;
    return sqrt((own + usual) / (count + USUAL_STRENGTH));
}

/*
 * Faults draw a plain middle and spread to their side, the more the more there
 * are: so begin with the narrowest half of all values and take in what lies
 * within 2.5 spreads. sorted is not changed; work has room for as many.
 */
static struct bulk bulk_of(const double *sorted, int32_t count, double *work)
{
    struct bulk b = {share_of(sorted, count, 0.5), usual_spread, count};
    int32_t half = count / 2 + 1;
    if (count < 4)
        return b;
    double narrowest = INFINITY;
    for (int32_t i = 0; i + half <= count; i++) {
        double width = sorted[i + half - 1] - sorted[i];
        if (width >= narrowest)
            continue;
        narrowest = width;
        b.middle = share_of(sorted + i, half, 0.5);
    }
    b.spread = lean_on_usual(narrowest / 2 / 0.6745, half);
    for (int round = 0; round < 3; round++) {
        int32_t first = 0, n = 0;
        while (first < count && sorted[first] < b.middle - 2.5 * b.spread)
            first++;
        while (first + n < count && sorted[first + n] <= b.middle + 2.5 * b.spread)
            n++;
        b.count = n;
        b.middle = share_of(sorted + first, n, 0.5);
        for (int32_t i = 0; i < n; i++)
            work[i] = fabs(sorted[first + i] - b.middle);
        qsort(work, (size_t)n, sizeof *work, compare_doubles);
        /* the tails cut off at 2.5 spreads make the rest look 2 % narrower */
        b.spread = lean_on_usual(1.02 * 1.4826 * share_of(work, n, 0.5), n);
    }
    return b;
}

/* Logs of the trusted sites of one class, or of a whole kin with each class's standing taken
 * out; sorted. */
static int32_t logs_of(const struct mst_measures *m, enum mst_length length, enum kin kin,
                       double *logs)
{
    int32_t n = 0;
    for (int32_t i = 0; i < m->site_count; i++) {
        const struct mst_measured_site *s = &m->sites[i];
        if (s->trust == MST_TRUST_NONE)
            continue;
        if (kin == ALONE && s->length == length)
            logs[n++] = log(s->held_ms);
        else if (kin != ALONE && kin_of(m, s->length) == kin)
            logs[n++] = log(s->held_ms) - log(among_kin[s->length]);
    }
    qsort(logs, (size_t)n, sizeof *logs, compare_doubles);
    return n;
}

/*
 * Where a site of a class should lie by the reciter's own hand, and the spread
 * to judge it by. A class leans on its kin – all holds with ghunna together,
 * the long lengthenings together –, the more the fewer sites it has, else a
 * single short site would be its own measure; and what lies far off all kin is
 * no part of the hand.
 */
static void expect_by_own_hand(struct mst_measures *m, double *logs, double *work)
{
    enum { KIN_STRENGTH = 3 };
    static const double kin_width = 0.45; /* how far a class may lie off its kin, besides */
    struct bulk kin[KIN_COUNT] = {0};
    for (int k = HELD_IN_THE_NOSE; k < KIN_COUNT; k++) {
        int32_t n = logs_of(m, MST_LENGTH_NONE, (enum kin)k, logs);
        if (n > 0)
            kin[k] = bulk_of(logs, n, work);
    }
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        struct mst_length_measure *l = &m->lengths[k];
        int32_t n = logs_of(m, (enum mst_length)k, ALONE, logs), first = 0;
        if (n == 0)
            continue;
        const struct bulk *by = &kin[kin_of(m, (enum mst_length)k)];
        if (by->count > n) {
            double middle = by->middle + log(among_kin[k]);
            int32_t last = n;
            while (first < last && logs[first] < middle - kin_width)
                first++;
            while (last > first && logs[last - 1] > middle + kin_width)
                last--;
            struct bulk own = {middle, by->spread, 0};
            if (last > first)
                own = bulk_of(logs + first, last - first, work);
            l->own_expected_ms =
                exp((own.count * own.middle + KIN_STRENGTH * middle) / (own.count + KIN_STRENGTH));
            l->own_spread_log =
                sqrt((own.count * own.spread * own.spread + 2 * by->spread * by->spread) /
                     (own.count + 2));
        } else {
            struct bulk own = bulk_of(logs, n, work);
            l->own_expected_ms = exp(own.middle);
            l->own_spread_log = own.spread;
        }
    }
}

/* The spread of the whole class, leaning on the usual one where sites are few. */
static double spread_for(const struct mst_length_measure *l)
{
    return lean_on_usual(l->spread_log, l->trusted);
}

/* --- pace ------------------------------------------------------------------------- */
/* Plain sounds a second between two moments. */
static double pace_between(const struct mst_timeline *tl, double from_ms, double to_ms)
{
    double count = 0, ms = 0;
    for (int32_t i = 0; i < tl->sound_count; i++) {
        const struct mst_heard_sound *s = &tl->sounds[i];
        if (!ear_sound_is_plain(s) || s->start_ms < from_ms || s->start_ms >= to_ms)
            continue;
        count++;
        ms += s->end_ms - s->start_ms;
    }
    return ms > 0 ? 1000 * count / ms : 0;
}

static void measure_pace(struct mst_measures *m)
{
    const struct mst_timeline *tl = m->timeline;
    double end = (double)tl->duration_ms;
    double first = pace_between(tl, 0, end / 4), last = pace_between(tl, end * 3 / 4, end + 1);
    m->pace = pace_between(tl, 0, end + 1);
    m->pace_drift = first > 0 && last > 0 ? last / first : 1;
}

static void compare_with_model(struct mst_measures *m, const struct mst_length_model *own,
                               const struct mst_length_model *model)
{
    m->model_pace_ratio = ear_pace_ratio(own, model);
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        struct mst_length_measure *l = &m->lengths[k];
        const struct mst_model_length *other = &model->lengths[k];
        if (other->count == 0)
            continue;
        /* the other way of parted lengthening is no fault, only another way */
        if (k == MST_LENGTH_MUNFASIL && m->munfasil_way && model->munfasil_way &&
            m->munfasil_way != model->munfasil_way)
            continue;
        l->model_median_ms = other->median_ms / m->model_pace_ratio;
        l->model_spread_log = other->spread_log;
        if (l->trusted == 0)
            continue;
        double a = spread_for(l), b = lean_on_usual(other->spread_log, other->count);
        /* the middle of n values strays by 1.25 sd / √n, the class against the pace besides */
        double stray = sqrt(1.57 * (a * a / l->trusted + b * b / other->count) +
                            EAR_PACE_STRAY * EAR_PACE_STRAY);
        l->ratio = l->median_ms / l->model_median_ms;
        l->ratio_low = l->ratio * exp(-1.96 * stray);
        l->ratio_high = l->ratio * exp(1.96 * stray);
    }
}

/* --- single sites --------------------------------------------------------------------- */
static void judge_site(const struct mst_measures *m, struct mst_measured_site *s)
{
    const struct mst_length_measure *l = &m->lengths[s->length];
    int by_model = l->model_median_ms > 0;
    s->expected_ms = by_model ? l->model_median_ms : l->own_expected_ms;
    if (s->expected_ms <= 0)
        s->expected_ms = s->held_ms;
    double slack = m->timeline->sounds[s->sound].slack_ms / 3.0;
    double edge = (slack > least_edge_ms ? slack : least_edge_ms) * sqrt(2.0);
    double middle = l->own_spread_log / sqrt(l->trusted > 0 ? l->trusted : 1);
    double stray = sqrt(edge * edge / ((double)s->held_ms * s->held_ms) + middle * middle);
    s->ratio = s->held_ms / s->expected_ms;
    s->measured_counts = s->expected_counts * s->ratio;
    s->counts_low = s->measured_counts * exp(-1.96 * stray);
    s->counts_high = s->measured_counts * exp(1.96 * stray);
    double own = l->own_expected_ms > 0 ? log(s->held_ms / l->own_expected_ms) : 0;
    s->deviation = l->own_spread_log > 0 ? own / l->own_spread_log : 0;
}

int ear_munfasil_way(int32_t parted, double parted_ms, int32_t natural, double natural_ms)
{
    if (parted < 2 || natural < 5)
        return 0;
    return parted_ms < 1.8 * natural_ms ? 2 : 4;
}

enum mst_status mst_measure_by(const struct mst_timeline *timeline,
                               const struct mst_length_model *model, struct mst_arena *arena,
                               struct mst_measures **out, struct mst_error *err)
{
    struct mst_measures *m = mst_arena_alloc(arena, 1, sizeof *m);
    size_t sounds = (size_t)timeline->sound_count + 1;
    double *logs = malloc(2 * sounds * sizeof *logs);
    struct mst_length_model own;
    *out = NULL;
    if (m)
        m->sites = mst_arena_alloc(arena, sounds, sizeof *m->sites);
    if (!m || !m->sites || !logs) {
        free(logs);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while measuring");
    }
    m->timeline = timeline;
    list_sites(m);
    for (int k = 0; k < MST_LENGTH_COUNT; k++)
        measure_length(m, (enum mst_length)k, logs);
    const struct mst_length_measure *natural = &m->lengths[MST_LENGTH_NATURAL];
    const struct mst_length_measure *parted = &m->lengths[MST_LENGTH_MUNFASIL];
    m->count_ms = natural->median_ms / 2;
    m->munfasil_way =
        ear_munfasil_way(parted->trusted, parted->median_ms, natural->trusted, natural->median_ms);
    expect_by_own_hand(m, logs, logs + sounds);
    free(logs);
    measure_pace(m);
    if (model) {
        const struct mst_measures *const takes[] = {m};
        enum mst_status status = mst_length_model_make(takes, 1, &own, err);
        if (status)
            return status;
        compare_with_model(m, &own, model);
    }
    for (int32_t i = 0; i < m->site_count; i++)
        judge_site(m, &m->sites[i]);
    *out = m;
    return MST_OK;
}

enum mst_status mst_measure(const struct mst_timeline *timeline, const struct mst_measures *model,
                            struct mst_arena *arena, struct mst_measures **out,
                            struct mst_error *err)
{
    struct mst_length_model lengths;
    enum mst_status status = MST_OK;
    *out = NULL;
    if (model)
        status = mst_length_model_make(&model, 1, &lengths, err);
    return status ? status : mst_measure_by(timeline, model ? &lengths : NULL, arena, out, err);
}

/* --- two takes ---------------------------------------------------------------------------- */
static int order_of(const struct mst_measured_site *a, const struct mst_measured_site *b)
{
    int order = mst_addr_compare(a->at, b->at);
    if (order)
        return order;
    return ((int)a->rule > (int)b->rule) - ((int)a->rule < (int)b->rule);
}

struct site_key {
    const struct mst_measured_site *site;
    int32_t index;
};

static int compare_keys(const void *a, const void *b)
{
    const struct site_key *x = a, *y = b;
    return order_of(x->site, y->site);
}

static struct site_key *sorted_sites(const struct mst_measures *m)
{
    struct site_key *keys = malloc(((size_t)m->site_count + 1) * sizeof *keys);
    if (!keys)
        return NULL;
    for (int32_t i = 0; i < m->site_count; i++)
        keys[i] = (struct site_key){&m->sites[i], i};
    qsort(keys, (size_t)m->site_count, sizeof *keys, compare_keys);
    return keys;
}

enum mst_status mst_compare(const struct mst_measures *first, const struct mst_measures *second,
                            struct mst_arena *arena, struct mst_comparison **out,
                            struct mst_error *err)
{
    struct mst_comparison *c = mst_arena_alloc(arena, 1, sizeof *c);
    struct site_key *a = sorted_sites(first), *b = sorted_sites(second);
    struct mst_length_model lengths[2];
    enum mst_status status = mst_length_model_make(&first, 1, &lengths[0], err);
    *out = NULL;
    if (!status)
        status = mst_length_model_make(&second, 1, &lengths[1], err);
    if (status)
        goto out;
    if (c)
        c->sites = mst_arena_alloc(arena, (size_t)first->site_count + 1, sizeof *c->sites);
    if (!c || !c->sites || !a || !b) {
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing two takes");
        goto out;
    }
    c->first = first;
    c->second = second;
    c->pace_ratio = ear_pace_ratio(&lengths[1], &lengths[0]);
    int32_t i = 0, j = 0;
    while (i < first->site_count && j < second->site_count) {
        int order = order_of(a[i].site, b[j].site);
        if (order < 0) {
            c->only_first++;
            i++;
        } else if (order > 0) {
            c->only_second++;
            j++;
        } else {
            c->sites[c->site_count++] = (struct mst_compared_site){
                a[i].index, b[j].index, c->pace_ratio * b[j].site->held_ms / a[i].site->held_ms};
            i++;
            j++;
        }
    }
    c->only_first += first->site_count - i;
    c->only_second += second->site_count - j;
    for (int k = 0; k < MST_LENGTH_COUNT; k++)
        if (first->lengths[k].trusted > 0 && second->lengths[k].trusted > 0)
            c->length_ratio[k] =
                c->pace_ratio * second->lengths[k].median_ms / first->lengths[k].median_ms;
    *out = c;
out:
    free(a);
    free(b);
    return status;
}
