/*
 * lengths.c – what takes tell of a reciter's lengths, so that another take can
 * be compared with them without the takes at hand: the middle and spread of
 * each class, and the middle of every sound that has no length of its own,
 * which tells how fast both are.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Sorts; count > 0. */
static double middle_of(double *values, int32_t count)
{
    qsort(values, (size_t)count, sizeof *values, compare_doubles);
    return (values[(count - 1) / 2] + values[count / 2]) / 2;
}

int ear_sound_is_plain(const struct mst_heard_sound *s)
{
    return s->length == MST_LENGTH_NONE || s->length == MST_LENGTH_SHORT;
}

/* Takes of one reciter, with what each has to be moved by, in logs, to be at the first one's
 * pace. */
struct pool {
    const struct mst_measures *const *takes;
    size_t count;
    double *shift;
    double *logs;
};

static int32_t collect_plain(const struct pool *p, size_t from, size_t to, int phone)
{
    int32_t n = 0;
    for (size_t t = from; t < to; t++) {
        const struct mst_timeline *tl = p->takes[t]->timeline;
        for (int32_t i = 0; i < tl->sound_count; i++) {
            const struct mst_heard_sound *s = &tl->sounds[i];
            if ((int)s->phone == phone && ear_sound_is_plain(s))
                p->logs[n++] = log(fmax(s->end_ms - s->start_ms, 10)) + p->shift[t];
        }
    }
    return n;
}

static void measure_plain(const struct pool *p, size_t from, size_t to,
                          struct mst_length_model *out)
{
    for (int phone = 0; phone < MST_PHONE_COUNT; phone++) {
        int32_t n = collect_plain(p, from, to, phone);
        out->plain[phone].count = n;
        out->plain[phone].middle_log = n > 0 ? middle_of(p->logs, n) : 0;
    }
}

static void measure_classes(const struct pool *p, struct mst_length_model *out)
{
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        int32_t n = 0;
        for (size_t t = 0; t < p->count; t++)
            for (int32_t i = 0; i < p->takes[t]->site_count; i++) {
                const struct mst_measured_site *s = &p->takes[t]->sites[i];
                if ((int)s->length == k && s->trust != MST_TRUST_NONE)
                    p->logs[n++] = log(s->held_ms) + p->shift[t];
            }
        out->lengths[k].count = n;
        if (n == 0)
            continue;
        double middle = middle_of(p->logs, n);
        for (int32_t i = 0; i < n; i++)
            p->logs[i] = fabs(p->logs[i] - middle);
        out->lengths[k].median_ms = exp(middle);
        out->lengths[k].spread_log = 1.4826 * middle_of(p->logs, n);
    }
}

double ear_pace_ratio(const struct mst_length_model *own, const struct mst_length_model *other)
{
    double sum = 0, weight = 0;
    for (int phone = 0; phone < MST_PHONE_COUNT; phone++) {
        if (own->plain[phone].count < 2 || other->plain[phone].count < 2)
            continue;
        double w = 1.0 / (1.0 / own->plain[phone].count + 1.0 / other->plain[phone].count);
        sum += w * (other->plain[phone].middle_log - own->plain[phone].middle_log);
        weight += w;
    }
    return weight > 0 ? exp(sum / weight) : 1;
}

enum mst_status mst_length_model_make(const struct mst_measures *const *takes, size_t count,
                                      struct mst_length_model *out, struct mst_error *err)
{
    struct pool p = {.takes = takes, .count = count};
    struct mst_length_model one;
    size_t sounds = 1;
    memset(out, 0, sizeof *out);
    for (size_t t = 0; t < count; t++) {
        sounds += (size_t)takes[t]->timeline->sound_count;
        out->speech_seconds += takes[t]->timeline->speech_seconds;
    }
    p.shift = calloc(count + 1, sizeof *p.shift);
    p.logs = malloc(sounds * sizeof *p.logs);
    if (!p.shift || !p.logs) {
        free(p.shift);
        free(p.logs);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while measuring lengths");
    }
    measure_plain(&p, 0, count > 0, out);
    for (size_t t = 1; t < count; t++) {
        measure_plain(&p, t, t + 1, &one);
        p.shift[t] = log(ear_pace_ratio(&one, out));
    }
    if (count > 1)
        measure_plain(&p, 0, count, out);
    measure_classes(&p, out);
    const struct mst_model_length *parted = &out->lengths[MST_LENGTH_MUNFASIL];
    out->munfasil_way =
        ear_munfasil_way(parted->count, parted->median_ms, out->lengths[MST_LENGTH_NATURAL].count,
                         out->lengths[MST_LENGTH_NATURAL].median_ms);
    free(p.shift);
    free(p.logs);
    return MST_OK;
}
