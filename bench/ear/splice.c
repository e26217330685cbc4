#include "splice.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { FADE = 160, REACH = 80 }; /* samples: the cross-fade; how far the best place is sought */

/* Where around `to` the waves look most like those at `from`. */
static long best_shift(const float *x, size_t n, size_t from, size_t to)
{
    double best = -2;
    long at = 0;
    for (long shift = -REACH; shift <= REACH; shift++) {
        double both = 0, a = 0, b = 0;
        if ((long)to + shift < 0 || (size_t)((long)to + shift) + FADE > n)
            continue;
        for (size_t i = 0; i < FADE; i++) {
            double p = (double)x[from + i], q = (double)x[(size_t)((long)to + shift) + i];
            both += p * q;
            a += p * p;
            b += q * q;
        }
        double alike = both / sqrt(a * b + 1e-12);
        if (alike > best) {
            best = alike;
            at = shift;
        }
    }
    return at;
}

/* Play x up to `leave`, then go on from `enter`. Returns samples written. */
static size_t jump(const float *x, size_t n, size_t leave, size_t enter, float *out)
{
    enter = (size_t)((long)enter + best_shift(x, n, leave, enter));
    memcpy(out, x, leave * sizeof *out);
    for (size_t i = 0; i < FADE; i++) {
        float share = ((float)i + 0.5f) / FADE;
        out[leave + i] = x[leave + i] * (1 - share) + x[enter + i] * share;
    }
    memcpy(out + leave + FADE, x + enter + FADE, (n - enter - FADE) * sizeof *out);
    return leave + n - enter;
}

static size_t change(const float *x, size_t n, double ratio, float *out)
{
    size_t wanted = (size_t)((double)n * ratio);
    if (n < 6 * FADE || wanted < 4 * FADE) {
        memcpy(out, x, n * sizeof *out);
        return n;
    }
    if (ratio < 1)
        return jump(x, n, wanted / 2, wanted / 2 + n - wanted, out);
    size_t enter = n / 2 - (wanted - n) / 2;
    return jump(x, n, enter + wanted - n, enter, out);
}

float *splice(const float *samples, size_t n, struct piece *pieces, size_t piece_count,
              size_t *count)
{
    float *out = malloc((2 * n + 16000) * sizeof *out);
    size_t in = 0, written = 0;
    if (!out)
        abort();
    for (size_t p = 0; p < piece_count; p++) {
        size_t start = (size_t)pieces[p].start_ms * 16, end = (size_t)pieces[p].end_ms * 16;
        end = end > n ? n : end;
        memcpy(out + written, samples + in, (start - in) * sizeof *out);
        written += start - in;
        size_t got = change(samples + start, end - start, pieces[p].ratio, out + written);
        pieces[p].true_ratio = (double)got / (double)(end - start);
        written += got;
        in = end;
    }
    memcpy(out + written, samples + in, (n - in) * sizeof *out);
    *count = written + n - in;
    return out;
}
