/*
 * durations.c – how long a sound of each class lasts in this voice: a
 * log-normal law per class, and the tables the trellis adds up while a token
 * grows old in a unit.
 *
 * stay[a]  log of S(a) / S(a-1), living on from age a-1 to a;
 * leave[a] log of the density over *log* duration at age a, relative to the
 *          stays already paid. A density over plain duration would favour
 *          short units more at every round until they shrink away.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const float prior_counts[MST_LENGTH_COUNT] = {
#define X(name, id, ar, en, prior, weight) (float)(prior),
    MST_LENGTH_LIST(X)
#undef X
};

enum {
    PRIOR_STRENGTH = 5,      /* as many sounds as the prior weighs */
    MOST_VOICE_STRENGTH = 10 /* and a stored voice at most, besides */
};

void ear_lengths_add(struct ear_lengths *l, int cls, int32_t frames)
{
    if (l->count[cls] == l->cap[cls]) {
        int32_t cap = l->cap[cls] ? l->cap[cls] * 2 : 64;
        int32_t *grown = realloc(l->frames[cls], (size_t)cap * sizeof *grown);
        if (!grown) {
            l->failed = 1;
            return;
        }
        l->frames[cls] = grown;
        l->cap[cls] = cap;
    }
    l->frames[cls][l->count[cls]++] = frames;
}

void ear_lengths_clear(struct ear_lengths *l)
{
    for (int c = 0; c < EAR_CLASS_COUNT; c++)
        free(l->frames[c]);
    memset(l, 0, sizeof *l);
}

int ear_class_is_held(int cls)
{
    return cls >= MST_LENGTH_MUTTASIL && cls <= MST_LENGTH_MERGE_Y;
}

int ear_lasts_like_a_hold(const struct ear_durations *d, int cls, int32_t frames)
{
    static const double short_vowels = 8; /* about a second; ours */
    int held_never =
        cls == MST_LENGTH_SHORT || cls == MST_LENGTH_DOUBLED || cls >= EAR_CLASS_FIRST_CONSONANT;
    return held_never && frames > short_vowels * (double)d->classes[MST_LENGTH_SHORT].median_frames;
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Middle and robust spread of the logs. logs is reordered. */
static void middle_and_spread(double *logs, int32_t count, double *middle, double *spread)
{
    qsort(logs, (size_t)count, sizeof *logs, compare_doubles);
    double m = (logs[(count - 1) / 2] + logs[count / 2]) / 2;
    for (int32_t i = 0; i < count; i++)
        logs[i] = fabs(logs[i] - m);
    qsort(logs, (size_t)count, sizeof *logs, compare_doubles);
    *middle = m;
    *spread = 1.4826 * (logs[(count - 1) / 2] + logs[count / 2]) / 2;
}

/* log of the upper tail of the standard normal law, safe far out. */
static double log_tail(double z)
{
    if (z < 25)
        return log(0.5 * erfc(z / sqrt(2.0)));
    return -0.5 * z * z - log(z * sqrt(2.0 * M_PI));
}

enum mst_status ear_durations_tabulate(struct ear_durations *d, struct mst_error *err)
{
    size_t cells = (size_t)EAR_CLASS_COUNT * EAR_MAX_AGE;
    if (!d->stay)
        d->stay = malloc(cells * sizeof *d->stay);
    if (!d->leave)
        d->leave = malloc(cells * sizeof *d->leave);
    if (!d->stay || !d->leave)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while learning lengths");
    memset(d->stay, 0, cells * sizeof *d->stay);
    memset(d->leave, 0, cells * sizeof *d->leave);
    double log_age[EAR_MAX_AGE], log_middle[EAR_MAX_AGE]; /* the same for every class */
    for (int age = 0; age < EAR_MAX_AGE; age++) {
        log_age[age] = log(age > 0 ? age : 0.5);
        log_middle[age] = log(age + 0.5);
    }
    for (int c = 0; c < EAR_CLASS_COUNT; c++) {
        double median = (double)d->classes[c].median_frames, sd = (double)d->classes[c].sd_log;
        if (median <= 0 || sd <= 0)
            continue; /* pauses last as they like */
        float *stay = d->stay + (size_t)c * EAR_MAX_AGE;
        float *leave = d->leave + (size_t)c * EAR_MAX_AGE;
        double mu = log(median), of_spread = log(sd * sqrt(2.0 * M_PI)), before = 0, paid = 0;
        for (int age = 0; age < EAR_MAX_AGE; age++) {
            double tail = log_tail((log_age[age] - mu) / sd);
            double z = (log_middle[age] - mu) / sd;
            double density = -0.5 * z * z - of_spread;
            if (age > 0) {
                double step = fmax(tail - before, -3.0);
                paid += step;
                stay[age] = (float)(d->weight * step);
            }
            before = tail;
            leave[age] = (float)(d->weight * fmin(fmax(density - paid, -15.0), 8.0));
        }
    }
    return MST_OK;
}

enum mst_status ear_durations_make(struct ear_durations *d, const struct ear_lengths *heard,
                                   const struct ear_durations *voice, float short_frames,
                                   float weight, struct mst_error *err)
{
    double *logs = NULL;
    int32_t most = 0;
    for (int c = 0; c < EAR_CLASS_COUNT; c++)
        if (heard && heard->count[c] > most)
            most = heard->count[c];
    logs = malloc((size_t)(most + 1) * sizeof *logs);
    if (!logs || (heard && heard->failed)) {
        free(logs);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while learning lengths");
    }
    d->weight = weight;
    for (int c = 0; c < EAR_CLASS_COUNT; c++) {
        struct ear_duration *e = &d->classes[c];
        double narrowest = ear_class_is_held(c) ? 0.25 : 0.35;
        double prior = log(short_frames * (c < MST_LENGTH_COUNT ? prior_counts[c] : 1.0f));
        double prior_spread = 0.5, strength = PRIOR_STRENGTH;
        if (voice && voice->classes[c].median_frames > 0) {
            prior = log((double)voice->classes[c].median_frames * (double)short_frames /
                        (double)voice->classes[MST_LENGTH_SHORT].median_frames);
            prior_spread = (double)voice->classes[c].sd_log;
            strength += fmin(voice->classes[c].seen, MOST_VOICE_STRENGTH);
        }
        double middle = prior, spread = prior_spread;
        int32_t n = heard ? heard->count[c] : 0;
        *e = (struct ear_duration){.seen = n};
        if (c == MST_LENGTH_NONE || c == EAR_CLASS_FIRST_CONSONANT + EAR_MODEL_SILENCE)
            continue;
        if (n > 0) {
            for (int32_t i = 0; i < n; i++)
                logs[i] = log(heard->frames[c][i] > 0 ? heard->frames[c][i] : 1);
            middle_and_spread(logs, n, &middle, &spread);
        }
        double total = n + strength;
        e->median_frames = (float)exp((n * middle + strength * prior) / total);
        e->sd_log = (float)fmax((n * spread + strength * prior_spread) / total, narrowest);
    }
    free(logs);
    return ear_durations_tabulate(d, err);
}

enum mst_status ear_durations_copy(struct ear_durations *to, const struct ear_durations *from,
                                   struct mst_error *err)
{
    memcpy(to->classes, from->classes, sizeof to->classes);
    to->weight = from->weight;
    return ear_durations_tabulate(to, err);
}

void ear_durations_clear(struct ear_durations *d)
{
    free(d->stay);
    free(d->leave);
    memset(d, 0, sizeof *d);
}
