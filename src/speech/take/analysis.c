#include "analysis.h"

#include <fftw3.h>
#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

/* --- spectra ---------------------------------------------------------------------- */

struct transform {
    int size;
    float *hann; /* scaled so that the powers add up to the frame's mean square */
    float *time;
    fftwf_complex *freq;
    fftwf_plan plan;
};

struct spectra {
    struct transform brief, extended;
    float power[LONG_BINS];
};

static void transform_close(struct transform *t)
{
    if (t->plan)
        fftwf_destroy_plan(t->plan);
    fftwf_free(t->time);
    fftwf_free(t->freq);
    free(t->hann);
}

static int transform_open(struct transform *t, int size)
{
    t->size = size;
    t->hann = malloc((size_t)size * sizeof(float));
    t->time = fftwf_alloc_real((size_t)size);
    t->freq = fftwf_alloc_complex((size_t)size / 2 + 1);
    if (!t->hann || !t->time || !t->freq)
        return -1;
    /* ESTIMATE: a fixed plan, so that results do not vary from run to run. */
    t->plan = fftwf_plan_dft_r2c_1d(size, t->time, t->freq, FFTW_ESTIMATE);
    if (!t->plan)
        return -1;
    /* Parseval; a Hann window keeps 3/8 of the power; one side of the spectrum holds half. */
    const double scale = sqrt(2.0 / (0.375 * size) / size);
    for (int n = 0; n < size; n++)
        t->hann[n] = (float)(scale * (0.5 - 0.5 * cos(2 * M_PI * n / size)));
    return 0;
}

static void transform_run(struct transform *t, const float *samples, float *power)
{
    for (int n = 0; n < t->size; n++)
        t->time[n] = samples[n] * t->hann[n];
    fftwf_execute(t->plan);
    for (int n = 0; n <= t->size / 2; n++)
        power[n] = t->freq[n][0] * t->freq[n][0] + t->freq[n][1] * t->freq[n][1];
}

/* --- levels in dB -------------------------------------------------------------------- */

double power_db(double power)
{
    return power > 1e-12 ? 10 * log10(power) : lowest_db;
}

void level_count(struct level_counts *counts, double db)
{
    int at = (int)((db - lowest_db) * LEVEL_STEPS_PER_DB);
    counts->at[at < 0 ? 0 : at >= LEVEL_BINS ? LEVEL_BINS - 1 : at]++;
    counts->total++;
}

double level_quantile(const struct level_counts *counts, double part, double floor_db)
{
    int from = (int)((floor_db - lowest_db) * LEVEL_STEPS_PER_DB);
    int64_t total = 0, seen = 0;
    for (int n = from; n < LEVEL_BINS; n++)
        total += counts->at[n];
    if (total == 0)
        return lowest_db;
    for (int n = from; n < LEVEL_BINS; n++) {
        seen += counts->at[n];
        if ((double)seen >= part * (double)total)
            return lowest_db + (n + 0.5) / LEVEL_STEPS_PER_DB;
    }
    return lowest_db;
}

/* --- the stream ------------------------------------------------------------------------ */

/* FFTW's planner is shared by the whole process. */
static void make_planner_safe(void)
{
    fftwf_make_planner_thread_safe();
}

struct analysis *analysis_new(void)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, make_planner_safe);
    struct analysis *analysis = calloc(1, sizeof *analysis);
    if (!analysis)
        return NULL;
    analysis->spectra = calloc(1, sizeof *analysis->spectra);
    if (!analysis->spectra || transform_open(&analysis->spectra->brief, SHORT_FRAME) ||
        transform_open(&analysis->spectra->extended, LONG_FRAME)) {
        analysis_free(analysis);
        return NULL;
    }
    return analysis;
}

void analysis_free(struct analysis *analysis)
{
    if (!analysis)
        return;
    if (analysis->spectra) {
        transform_close(&analysis->spectra->brief);
        transform_close(&analysis->spectra->extended);
    }
    free(analysis->spectra);
    free(analysis);
}

static void run_frames(struct analysis *a)
{
    struct spectra *s = a->spectra;
    for (; a->short_at + SHORT_FRAME <= a->fill; a->short_at += SHORT_HOP) {
        transform_run(&s->brief, a->window + a->short_at, s->power);
        levels_add(&a->levels, s->power);
        band_add(&a->band, s->power);
    }
    for (; a->long_at + LONG_FRAME <= a->fill; a->long_at += LONG_HOP) {
        transform_run(&s->extended, a->window + a->long_at, s->power);
        hum_add(&a->hum, s->power);
        harmony_add(&a->harmony, s->power);
    }
    /* Keep only what a frame to come still needs. */
    size_t done = a->short_at < a->long_at ? a->short_at : a->long_at;
    memmove(a->window, a->window + done, (a->fill - done) * sizeof(float));
    a->fill -= done;
    a->short_at -= done;
    a->long_at -= done;
}

void analysis_add(struct analysis *a, const float *samples, size_t count)
{
    a->sample_count += (int64_t)count;
    for (size_t n = 0; n < count; n++)
        if (fabsf(samples[n]) > a->peak)
            a->peak = fabsf(samples[n]);
    while (count > 0) {
        size_t n = sizeof a->window / sizeof *a->window - a->fill;
        if (n > count)
            n = count;
        memcpy(a->window + a->fill, samples, n * sizeof(float));
        a->fill += n;
        samples += n;
        count -= n;
        run_frames(a);
    }
}
