/*
 * own.c – the take's own sounds, held against one another. A reciter says qāf
 * at many places and kāf at others: does this one lie with the former or with
 * the latter? Every sound becomes a row of numbers (the cepstra of its three
 * thirds, the logarithm of its length); how much rows of one sort differ is
 * taken from all sorts together (linear discriminant analysis: R. A. Fisher,
 * Annals of Eugenics 7, 1936; the common spread drawn towards its diagonal:
 * J. H. Friedman, JASA 84, 1989). The sound in question is left out of its own
 * sort, and of each sort the rows far outside are left aside, so that a fault
 * does not pass for usual. Where a sort has few sounds, the stored voice's,
 * brought near, stand in.
 *
 * How far two sorts lie apart, in spreads, tells what can be told at all: a
 * learner who always says kāf for qāf, noise that covers the difference, a band
 * that does not carry it, all bring them together.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    SPECTRUM = EAR_STATES * EAR_CEPSTRA,
    TERMS = SPECTRUM + 1, /* and the length */
    GROUPS = 2,           /* consonants, vowels: each has a common spread of its own */
    SORTS = 2 * EAR_MODEL_COUNT,
    LENGTHS = 2 * EAR_CLASS_COUNT,
    LEAST_ROWS = 3 * TERMS /* for a common spread */
};
/* As many sounds as the stored voice weighs; the share of the diagonal; a spread's least. Ours, no
 * source. */
static const double voice_weighs = 3, diagonal_share = 0.15, least_variance = 0.02;
/* Rows beyond this squared distance are left aside: a χ² of 40 degrees exceeds it twice in 10,000.
 */
static const double far_outside = 80;

struct sort {
    double n, sum[SPECTRUM], voice[SPECTRUM];
};
struct length {
    double n, sum, voice;
};
struct fault_own {
    const struct fault_heard *heard;
    int32_t count;
    double (*rows)[TERMS]; /* per unit; pauses: zero */
    uint8_t *aside;        /* per unit: far outside its sort */
    struct sort sorts[SORTS];
    struct length lengths[LENGTHS];
    double root[GROUPS][TERMS][TERMS]; /* Cholesky factor of the common spread */
    int able[GROUPS];
};

static int group_of(const struct ear_unit *u)
{
    return u->model >= EAR_MODEL_A;
}
static int sort_of(const struct ear_unit *u)
{
    return 2 * u->model + (u->geminate != 0);
}
static int length_of(const struct ear_unit *u)
{
    return 2 * u->cls + (u->geminate != 0);
}
static int is_pause(const struct ear_unit *u)
{
    return u->model == EAR_MODEL_SILENCE;
}

static void fill_row(const struct mst_features *f, const struct fault_unit *u, double out[TERMS])
{
    int32_t len = u->end_fr - u->start_fr;
    for (int third = 0; third < EAR_STATES; third++) {
        int32_t from = u->start_fr + third * len / EAR_STATES;
        int32_t to = u->start_fr + (third + 1) * len / EAR_STATES;
        to = to > from ? to : from + 1;
        for (int32_t t = from; t < to; t++)
            for (int k = 0; k < EAR_CEPSTRA; k++)
                out[third * EAR_CEPSTRA + k] +=
                    (double)ear_row(f, (size_t)t)[k] / (double)(to - from);
    }
    out[SPECTRUM] = log(len > 1 ? len : 1);
}

/* What the stored voice says of every sort. */
static void ask_voice(struct fault_own *o, const struct ear_model *m)
{
    const struct ear_densities *d = &m->densities;
    for (int sort = 0; sort < SORTS; sort++)
        for (int third = 0; third < EAR_STATES; third++) {
            size_t slot = (size_t)d->slot_of[sort / 2 * EAR_STATES + third];
            for (size_t g = slot * EAR_MAX_MIX; g < slot * EAR_MAX_MIX + d->mix_of[slot]; g++)
                for (size_t k = 0; k < EAR_CEPSTRA; k++)
                    o->sorts[sort].voice[third * EAR_CEPSTRA + (int)k] +=
                        (double)d->weight[g] * (double)d->mean[g * EAR_DIM + k];
        }
    double pace = 0, n = 0;
    for (int32_t i = 0; i < o->count; i++) {
        const struct ear_unit *u = &o->heard->units[i].unit;
        if (is_pause(u) || m->durations.classes[u->cls].median_frames <= 0)
            continue;
        pace += o->rows[i][SPECTRUM] - log((double)m->durations.classes[u->cls].median_frames);
        n++;
    }
    for (int i = 0; i < LENGTHS; i++)
        o->lengths[i].voice =
            log(fmax((double)m->durations.classes[i / 2].median_frames, 1)) + pace / fmax(n, 1);
}

static void sum_up(struct fault_own *o)
{
    for (int i = 0; i < SORTS; i++) {
        o->sorts[i].n = 0;
        memset(o->sorts[i].sum, 0, sizeof o->sorts[i].sum);
    }
    for (int i = 0; i < LENGTHS; i++)
        o->lengths[i].n = o->lengths[i].sum = 0;
    for (int32_t i = 0; i < o->count; i++) {
        const struct ear_unit *u = &o->heard->units[i].unit;
        if (is_pause(u) || o->aside[i])
            continue;
        struct sort *s = &o->sorts[sort_of(u)];
        struct length *l = &o->lengths[length_of(u)];
        for (int k = 0; k < SPECTRUM; k++)
            s->sum[k] += o->rows[i][k];
        s->n++;
        l->sum += o->rows[i][SPECTRUM];
        l->n++;
    }
}

/* The middle of a sort, without this row of it (NULL: with all). Returns how many sounds it rests
 * on. */
static double middle_of(const struct fault_own *o, const struct ear_unit *u, const double *without,
                        double out[TERMS])
{
    const struct sort *s = &o->sorts[sort_of(u)];
    const struct length *l = &o->lengths[length_of(u)];
    double n = s->n - (without != NULL), lengths = l->n - (without != NULL);
    for (int k = 0; k < SPECTRUM; k++)
        out[k] = (s->sum[k] - (without ? without[k] : 0) + voice_weighs * s->voice[k]) /
                 (n + voice_weighs);
    out[SPECTRUM] = (l->sum - (without ? without[SPECTRUM] : 0) + voice_weighs * l->voice) /
                    (lengths + voice_weighs);
    return n + voice_weighs;
}

static int factor(double a[TERMS][TERMS])
{
    for (int i = 0; i < TERMS; i++)
        for (int j = 0; j <= i; j++) {
            double sum = a[i][j];
            for (int k = 0; k < j; k++)
                sum -= a[i][k] * a[j][k];
            if (i == j && sum <= 0)
                return 0;
            a[i][j] = i == j ? sqrt(sum) : sum / a[j][j];
        }
    return 1;
}

/* Squared length of x in spreads. */
static double squared(const struct fault_own *o, int group, const double x[TERMS])
{
    double y[TERMS], sum = 0;
    for (int i = 0; i < TERMS; i++) {
        y[i] = x[i];
        for (int k = 0; k < i; k++)
            y[i] -= o->root[group][i][k] * y[k];
        y[i] /= o->root[group][i][i];
        sum += y[i] * y[i];
    }
    return sum;
}

static void common_spread(struct fault_own *o, int group)
{
    double(*a)[TERMS] = o->root[group], n = 0, kinds = 0;
    memset(o->root[group], 0, sizeof o->root[group]);
    for (int32_t i = 0; i < o->count; i++) {
        const struct ear_unit *u = &o->heard->units[i].unit;
        double middle[TERMS];
        if (is_pause(u) || o->aside[i] || group_of(u) != group || o->sorts[sort_of(u)].n < 3)
            continue;
        middle_of(o, u, NULL, middle);
        for (int p = 0; p < TERMS; p++)
            for (int q = 0; q <= p; q++)
                a[p][q] += (o->rows[i][p] - middle[p]) * (o->rows[i][q] - middle[q]);
        n++;
    }
    for (int i = 0; i < SORTS; i++)
        kinds += (i / 2 >= EAR_MODEL_A) == group && o->sorts[i].n >= 3;
    o->able[group] = n - kinds >= LEAST_ROWS;
    if (!o->able[group])
        return;
    for (int p = 0; p < TERMS; p++)
        for (int q = 0; q <= p; q++)
            a[p][q] = p == q ? a[p][q] / (n - kinds) + least_variance
                             : a[p][q] / (n - kinds) * (1 - diagonal_share);
    o->able[group] = factor(a);
}

static void set_aside(struct fault_own *o)
{
    for (int32_t i = 0; i < o->count; i++) {
        const struct ear_unit *u = &o->heard->units[i].unit;
        double middle[TERMS], off[TERMS];
        if (is_pause(u) || !o->able[group_of(u)])
            continue;
        middle_of(o, u, NULL, middle);
        for (int k = 0; k < TERMS; k++)
            off[k] = o->rows[i][k] - middle[k];
        o->aside[i] = squared(o, group_of(u), off) > far_outside;
    }
}

enum mst_status fault_own_make(struct fault_own **out, const struct fault_heard *h,
                               const struct fault_judge *j, struct mst_error *err)
{
    struct fault_own *o = calloc(1, sizeof *o);
    *out = NULL;
    if (o) {
        o->heard = h;
        o->count = h->count;
        o->rows = calloc((size_t)h->count + 1, sizeof *o->rows);
        o->aside = calloc((size_t)h->count + 1, 1);
    }
    if (!o || !o->rows || !o->aside) {
        fault_own_free(o);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
    }
    for (int32_t i = 0; i < o->count; i++)
        if (!is_pause(&h->units[i].unit))
            fill_row(j->f, &h->units[i], o->rows[i]);
    ask_voice(o, &j->model);
    for (int round = 0; round < 2; round++) {
        sum_up(o);
        for (int group = 0; group < GROUPS; group++)
            common_spread(o, group);
        if (round == 0)
            set_aside(o);
    }
    *out = o;
    return MST_OK;
}

void fault_own_free(struct fault_own *o)
{
    if (!o)
        return;
    free(o->rows);
    free(o->aside);
    free(o);
}

/* Log likelihood of a row that lies `off` from the middle of a sort of n sounds. */
static double likelihood(const struct fault_own *o, int group, const double off[TERMS], double n)
{
    double wider = 1 + 1 / n; /* the middle itself is known only so well */
    return -0.5 * squared(o, group, off) / wider - 0.5 * TERMS * log(wider);
}

enum fault_own_answer fault_own_compare(const struct fault_own *o, const struct fault_contrast *c,
                                        double *evidence, double *apart)
{
    double squares = 0, ratio = 0;
    *evidence = *apart = 0;
    if (c->right_count != c->wrong_count)
        return FAULT_OWN_UNLIKE;
    for (int32_t i = c->same_before; i < c->right_count - c->same_after; i++) {
        const struct ear_unit *right = &c->right[i], *wrong = &c->wrong[i];
        int32_t unit = c->first_unit + i;
        int group = group_of(right);
        double a[TERMS], b[TERMS], between[TERMS];
        if (is_pause(right) || is_pause(wrong) || group != group_of(wrong))
            return FAULT_OWN_UNLIKE;
        if (!o->able[group])
            return FAULT_OWN_SHORT;
        const double *row = o->rows[unit];
        const struct ear_unit *heard = &o->heard->units[unit].unit;
        int counted = !o->aside[unit] && sort_of(heard) == sort_of(right) &&
                      length_of(heard) == length_of(right);
        double with_right = middle_of(o, right, counted ? row : NULL, a);
        double with_wrong = middle_of(o, wrong, NULL, b);
        for (int k = 0; k < TERMS; k++) {
            between[k] = b[k] - a[k];
            a[k] = row[k] - a[k];
            b[k] = row[k] - b[k];
        }
        ratio += likelihood(o, group, b, with_wrong) - likelihood(o, group, a, with_right);
        squares += squared(o, group, between);
    }
    if (squares <= 0)
        return FAULT_OWN_UNLIKE;
    *evidence = ratio;
    *apart = sqrt(squares);
    return FAULT_OWN_COMPARED;
}
