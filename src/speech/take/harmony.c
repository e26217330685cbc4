#include "analysis.h"

#include <math.h>
#include <string.h>

/*
 * One voice, however melodious, is one harmonic series at a time: its partials
 * are the multiples of one fundamental. Instruments together, or an instrument
 * beneath a voice, hold partials that no single fundamental explains, and hold
 * them steadily. So, frame by frame (256 ms every 64 ms):
 *
 *   1. the partials: narrow peaks that stand out of their surroundings and
 *      stood at the same frequency in the frame before (a voice glides and
 *      quivers, and where it holds, it is one series);
 *   2. the fundamental, 70–1000 Hz, that explains most of them while having
 *      few of its own multiples missing;
 *   3. the frame is polyphonic when what remains unexplained is several
 *      partials and no small part of the whole.
 *
 * Room echo lets the end of one pitch sound into the next, so single frames of
 * a voice look polyphonic too; the measure is how many do. Multiples of the
 * mains frequencies are left to hum.c. A single flute cannot be told from a
 * voice in this way, nor drums alone.
 */
static const double lowest_hz = 75, highest_hz = 3200;
static const double stand_out_db = 14;   /* above the median around */
static const double range_db = 45;       /* below the frame's strongest partial */
static const double faintest_db = -85;   /* what lies below is no music anyone added */
static const double steady_part = 0.006; /* a tenth of a semitone */
static const double lowest_f0_hz = 70, highest_f0_hz = 1000;
static const double bin_hz = 16000.0 / LONG_FRAME;

enum {
    AROUND = 12, /* bins to either side */
    FEWEST_PARTIALS = 4,
    REST_PARTIALS = 3,
    CANDIDATES = 16, /* partials whose fractions are tried as fundamental, strongest first */
    DEEPEST = 8,     /* the partial may be the 8th multiple of the fundamental */
};

static const double rest_share = 0.22;

static int near_mains(double hz)
{
    return hz < 400 &&
           (fabs(hz - 50 * round(hz / 50)) < 1.5 || fabs(hz - 60 * round(hz / 60)) < 1.5);
}

static double median_around(const float *db, int at)
{
    float sorted[2 * AROUND];
    int count = 0;
    for (int d = 3; d < 3 + AROUND; d++)
        for (int side = -1; side <= 1; side += 2) {
            int n = at + side * d;
            if (n < 2 || n >= LONG_BINS)
                n = at - side * d;
            float v = db[n];
            int i = count++;
            for (; i > 0 && sorted[i - 1] > v; i--)
                sorted[i] = sorted[i - 1];
            sorted[i] = v;
        }
    return (sorted[count / 2 - 1] + sorted[count / 2]) / 2;
}

/* Peaks of the spectrum, strongest kept when there are too many. */
static int find_partials(const float power[LONG_BINS], struct partial partials[HARMONY_PARTIALS])
{
    const int first = (int)(lowest_hz / bin_hz), end = (int)(highest_hz / bin_hz);
    static const int margin = 3 + AROUND;
    float db[LONG_BINS];
    double top = lowest_db;
    for (int n = 0; n < end + margin + 1; n++) {
        db[n] = (float)power_db(power[n]);
        if (n >= first && n < end && db[n] > top)
            top = db[n];
    }
    int count = 0;
    const double least = fmax(top - range_db, faintest_db);
    for (int n = first; n < end; n++) {
        if (db[n] < least || db[n] <= db[n - 1] || db[n] < db[n + 1])
            continue;
        if (db[n] - median_around(db, n) < stand_out_db)
            continue;
        const double a = db[n - 1], b = db[n], c = db[n + 1];
        const double shift = a - 2 * b + c < 0 ? 0.5 * (a - c) / (a - 2 * b + c) : 0;
        struct partial p = {.hz = (float)((n + shift) * bin_hz), .db = db[n]};
        if (near_mains(p.hz))
            continue;
        if (count < HARMONY_PARTIALS) {
            partials[count++] = p;
            continue;
        }
        int weakest = 0;
        for (int i = 1; i < count; i++)
            if (partials[i].db < partials[weakest].db)
                weakest = i;
        if (partials[weakest].db < p.db)
            partials[weakest] = p;
    }
    return count;
}

static double off_by(double hz)
{
    return fmax(hz * steady_part, 0.4 * bin_hz);
}

/* Those that stood there before. */
static int keep_steady(const struct partial *now, int count, const struct partial *before,
                       int before_count, struct partial *steady)
{
    int kept = 0;
    for (int n = 0; n < count; n++)
        for (int m = 0; m < before_count; m++)
            if (fabs((double)now[n].hz - (double)before[m].hz) < off_by(now[n].hz)) {
                steady[kept++] = now[n];
                break;
            }
    return kept;
}

static int explains(double f0, double hz)
{
    double k = round(hz / f0);
    return k >= 1 && fabs(hz - k * f0) < fmax(1.25 * off_by(hz), 0.65 * bin_hz);
}

/* How much of the partials' weight f0 explains, less for multiples of its own that are missing. */
static double explained(const struct partial *p, const double *weight, int count, double f0,
                        double *share, int *rest)
{
    double sum = 0, total = 0, last = 0;
    int found = 0;
    *rest = 0;
    for (int n = 0; n < count; n++) {
        total += weight[n];
        if (explains(f0, p[n].hz)) {
            sum += weight[n];
            found++;
            last = fmax(last, round(p[n].hz / f0));
        } else {
            ++*rest;
        }
    }
    *share = total > 0 ? sum / total : 1;
    if (found == 0)
        return 0;
    return *share * (0.5 + 0.5 * found / fmin(fmax(last, found), 12));
}

static void strongest_first(struct partial *p, int count)
{
    for (int n = 1; n < count; n++) {
        struct partial held = p[n];
        int at = n;
        for (; at > 0 && p[at - 1].db < held.db; at--)
            p[at] = p[at - 1];
        p[at] = held;
    }
}

void harmony_add(struct harmony *harmony, const float power[LONG_BINS])
{
    struct partial now[HARMONY_PARTIALS], steady[HARMONY_PARTIALS];
    double weight[HARMONY_PARTIALS];
    const int count = find_partials(power, now);
    const int held = keep_steady(now, count, harmony->last, harmony->last_count, steady);
    memcpy(harmony->last, now, sizeof now);
    harmony->last_count = count;
    harmony->frames++;
    if (held < FEWEST_PARTIALS)
        return;
    harmony->sounding++;
    strongest_first(steady, held);
    const double top = steady[0].db;
    for (int n = 0; n < held; n++)
        weight[n] = steady[n].db - (top - range_db);
    double best = 0, best_share = 0;
    int best_rest = held;
    for (int n = 0; n < held && n < CANDIDATES; n++)
        for (int k = 1; k <= DEEPEST; k++) {
            double f0 = (double)steady[n].hz / k, share;
            int rest;
            if (f0 < lowest_f0_hz || f0 > highest_f0_hz)
                continue;
            double score = explained(steady, weight, held, f0, &share, &rest);
            if (score > best) {
                best = score;
                best_share = share;
                best_rest = rest;
            }
        }
    if (best_rest >= REST_PARTIALS && 1 - best_share >= rest_share)
        harmony->polyphonic++;
}

double harmony_fraction(const struct harmony *harmony)
{
    return harmony->frames ? (double)harmony->polyphonic / (double)harmony->frames : 0;
}

/*
 * Measured on professional recitations, reverberation and all: whole suras
 * 0.07–0.14, single verses of a few seconds up to 0.29. Music of several
 * instruments: 0.31–0.83, and 0.34–0.46 when it lies 20 dB under a voice.
 */
double harmony_allowance(const struct harmony *harmony)
{
    return 0.19 + 1.5 / sqrt((double)harmony->frames + 1);
}
