/*
 * features.c – from samples to what the ear keeps of them: every 10 ms the
 * shape of the spectrum (13 mel cepstra) with its slope and the slope of
 * that, normalised over the speech of the whole take; loudness; and the
 * stretches that are surely without speech.
 *
 * Mel scale: O'Shaughnessy, Speech Communication (1987), 1127 ln(1 + f/700).
 * Cepstra and slopes: Davis and Mermelstein (1980); Furui (1986).
 *
 * While samples come in, a row holds the 26 band energies; the cepstra need a
 * floor that only the whole take can tell, so mst_features_finish() rewrites
 * every row in place.
 */
#include "parts.h"

#include <fftw3.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    BATCH = 32,        /* frames transformed by one call of FFTW */
    SLOPE = 2,         /* frames to each side for a slope */
    QUIET_FRAMES = 30, /* a quiet stretch shorter than this may be a stop consonant */
    QUIET_INSET = 4,   /* its ends are left to the trellis */
    SHORTEST_TAKE = 30 /* frames */
};

struct filter {
    int32_t first_bin, bin_count;
    float gain[EAR_BINS];
};
struct ear_bank {
    fftwf_plan plan;
    float *time;         /* [BATCH][EAR_FFT] */
    fftwf_complex *freq; /* [BATCH][EAR_BINS] */
    float window[EAR_WINDOW];
    float power[EAR_BINS];
    struct filter filters[EAR_MEL];
    float block[(BATCH - 1) * EAR_SHIFT + EAR_WINDOW];
};

static double mel_of_hz(double hz)
{
    return 1127.0 * log(1.0 + hz / 700.0);
}

static double hz_of_mel(double mel)
{
    return 700.0 * (exp(mel / 1127.0) - 1.0);
}

static void make_filters(struct filter filters[EAR_MEL], double low_hz, double high_hz)
{
    double low = mel_of_hz(low_hz), step = (mel_of_hz(high_hz) - low) / (EAR_MEL + 1);
    for (int m = 0; m < EAR_MEL; m++) {
        double left = hz_of_mel(low + m * step), middle = hz_of_mel(low + (m + 1) * step),
               right = hz_of_mel(low + (m + 2) * step);
        struct filter *filter = &filters[m];
        filter->first_bin = -1;
        for (int bin = 0; bin < EAR_BINS; bin++) {
            double hz = bin * (double)EAR_RATE_HZ / EAR_FFT;
            double up = (hz - left) / (middle - left), down = (right - hz) / (right - middle);
            double gain = up < down ? up : down;
            if (gain <= 0)
                continue;
            if (filter->first_bin < 0)
                filter->first_bin = bin;
            filter->gain[filter->bin_count++] = (float)gain;
        }
        if (filter->first_bin < 0) { /* narrower than a bin: take the nearest */
            filter->first_bin = (int32_t)(middle * EAR_FFT / EAR_RATE_HZ + 0.5);
            filter->bin_count = 1;
            filter->gain[0] = 1;
        }
    }
}

static void bank_free(struct ear_bank *bank)
{
    if (!bank)
        return;
    if (bank->plan)
        fftwf_destroy_plan(bank->plan);
    fftwf_free(bank->time);
    fftwf_free(bank->freq);
    free(bank);
}

static struct ear_bank *bank_new(double low_hz, double high_hz)
{
    struct ear_bank *bank = calloc(1, sizeof *bank);
    if (!bank)
        return NULL;
    bank->time = fftwf_alloc_real((size_t)BATCH * EAR_FFT);
    bank->freq = fftwf_alloc_complex((size_t)BATCH * EAR_BINS);
    if (bank->time && bank->freq) {
        const int size = EAR_FFT;
        memset(bank->time, 0, (size_t)BATCH * EAR_FFT * sizeof *bank->time);
        fftwf_make_planner_thread_safe();
        /* ESTIMATE chooses without timing anything, so results do not vary from run to run. */
        bank->plan =
            fftwf_plan_many_dft_r2c(1, &size, BATCH, bank->time, NULL, 1, EAR_FFT, bank->freq, NULL,
                                    1, EAR_BINS, FFTW_ESTIMATE | FFTW_PRESERVE_INPUT);
    }
    if (!bank->plan) {
        bank_free(bank);
        return NULL;
    }
    for (int i = 0; i < EAR_WINDOW; i++)
        bank->window[i] = (float)(0.54 - 0.46 * cos(2.0 * M_PI * i / (EAR_WINDOW - 1)));
    make_filters(bank->filters, low_hz, high_hz);
    return bank;
}

enum mst_status mst_features_new(const struct mst_features_options *options,
                                 struct mst_features **out, struct mst_error *err)
{
    struct mst_features *f = calloc(1, sizeof *f);
    *out = NULL;
    if (!f)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out before listening began");
    if (options)
        f->options = *options;
    if (f->options.low_hz <= 0)
        f->options.low_hz = 80;
    if (f->options.high_hz <= 0)
        f->options.high_hz = 7600;
    if (f->options.high_hz > EAR_RATE_HZ / 2.0 || f->options.low_hz * 4 > f->options.high_hz) {
        struct mst_features_options asked = f->options;
        mst_features_free(f);
        return mst_fail(err, MST_USAGE,
                        "the band %.0f–%.0f Hz cannot be listened to; it must lie below 8000 Hz "
                        "and span two octaves",
                        asked.low_hz, asked.high_hz);
    }
    f->bank = bank_new(f->options.low_hz, f->options.high_hz);
    f->tail = malloc(sizeof f->bank->block);
    if (!f->bank || !f->tail) {
        mst_features_free(f);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out before listening began");
    }
    *out = f;
    return MST_OK;
}

void mst_features_free(struct mst_features *f)
{
    if (!f)
        return;
    bank_free(f->bank);
    for (size_t i = 0; i < f->chunk_count; i++)
        free(f->chunks[i]);
    free(f->chunks);
    free(f->tail);
    free(f->level);
    free(f->quiet);
    free(f);
}

static float *row_for_writing(struct mst_features *f, size_t frame)
{
    return f->chunks[frame / EAR_CHUNK_FRAMES] + (frame % EAR_CHUNK_FRAMES) * EAR_ROW;
}

static int make_room(struct mst_features *f, size_t frames)
{
    while (f->chunk_count * EAR_CHUNK_FRAMES < frames) {
        if (f->chunk_count == f->chunk_cap) {
            size_t cap = f->chunk_cap ? f->chunk_cap * 2 : 16;
            float **chunks = realloc(f->chunks, cap * sizeof *chunks);
            if (!chunks)
                return -1;
            f->chunks = chunks;
            f->chunk_cap = cap;
        }
        float *chunk = calloc((size_t)EAR_CHUNK_FRAMES * EAR_ROW, sizeof *chunk);
        if (!chunk)
            return -1;
        f->chunks[f->chunk_count++] = chunk;
    }
    if (f->level_cap < frames) {
        size_t cap = f->level_cap ? f->level_cap * 2 : 4 * EAR_CHUNK_FRAMES;
        while (cap < frames)
            cap *= 2;
        float *level = realloc(f->level, cap * sizeof *level);
        if (!level)
            return -1;
        f->level = level;
        f->level_cap = cap;
    }
    return 0;
}

EAR_FAST static void power_spectrum(const fftwf_complex *freq, float *power)
{
    for (int bin = 0; bin < EAR_BINS; bin++)
        power[bin] = freq[bin][0] * freq[bin][0] + freq[bin][1] * freq[bin][1];
}

/* Turn the first `frames` frames of bank->block into rows of band energies. before: the sample
 * before the block. */
static void analyse(struct mst_features *f, const float *block, float before, size_t frames)
{
    struct ear_bank *bank = f->bank;
    for (size_t n = 0; n < frames; n++) {
        const float *x = block + n * EAR_SHIFT;
        float *time = bank->time + n * EAR_FFT;
        float previous = n > 0 ? x[-1] : before;
        double energy = 0;
        for (int i = 0; i < EAR_WINDOW; i++) {
            time[i] = (x[i] - 0.97f * previous) * bank->window[i];
            previous = x[i];
        }
        for (int i = 0; i < EAR_WINDOW; i++)
            energy += (double)x[i] * (double)x[i];
        f->level[f->frame_count + n] = (float)log(energy / EAR_WINDOW + 1e-12);
    }
    fftwf_execute(bank->plan);
    for (size_t n = 0; n < frames; n++) {
        float *row = row_for_writing(f, f->frame_count + n);
        power_spectrum(bank->freq + n * EAR_BINS, bank->power);
        for (int m = 0; m < EAR_MEL; m++) {
            const struct filter *filter = &bank->filters[m];
            const float *power = bank->power + filter->first_bin;
            float sum = 0;
            for (int k = 0; k < filter->bin_count; k++)
                sum += filter->gain[k] * power[k];
            row[m] = sum;
        }
    }
    f->frame_count += frames;
}

enum mst_status mst_features_push(struct mst_features *f, const float *samples, size_t count,
                                  struct mst_error *err)
{
    const size_t full = (BATCH - 1) * EAR_SHIFT + EAR_WINDOW;
    if (f->finished)
        return mst_fail(err, MST_USAGE, "the take was already closed to further sound");
    while (count > 0) {
        size_t take = full - f->tail_len < count ? full - f->tail_len : count;
        for (size_t i = 0; i < take; i++) /* a broken sample must not poison the whole take */
            f->tail[f->tail_len + i] =
                isfinite(samples[i]) ? fminf(fmaxf(samples[i], -8.0f), 8.0f) : 0.0f;
        if (f->sample_count == 0)
            f->before_tail = f->tail[0];
        f->tail_len += take;
        f->sample_count += take;
        samples += take;
        count -= take;
        if (f->tail_len < full)
            break;
        if (make_room(f, f->frame_count + BATCH) != 0)
            return mst_fail(err, MST_NO_MEMORY, "memory ran out %.0f minutes into the take",
                            (double)f->sample_count / (60.0 * EAR_RATE_HZ));
        analyse(f, f->tail, f->before_tail, BATCH);
        size_t used = BATCH * EAR_SHIFT;
        f->before_tail = f->tail[used - 1];
        f->tail_len -= used;
        memmove(f->tail, f->tail + used, f->tail_len * sizeof *f->tail);
    }
    return MST_OK;
}

/* --- what only the whole take can tell ------------------------------------- */
static int compare_floats(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

/* The values at the given shares (0…1) of the sorted list; sorts it. */
static float percentile(float *sorted, size_t count, double share)
{
    return sorted[(size_t)((double)(count - 1) * share)];
}

static void cepstra_of(const float dct[EAR_CEPSTRA][EAR_MEL], const float *bands, float floor,
                       float out[EAR_CEPSTRA])
{
    float logs[EAR_MEL];
    for (int m = 0; m < EAR_MEL; m++)
        logs[m] = logf(bands[m] + floor);
    for (int c = 0; c < EAR_CEPSTRA; c++) {
        float sum = 0;
        for (int m = 0; m < EAR_MEL; m++)
            sum += dct[c][m] * logs[m];
        out[c] = sum;
    }
}

static void cepstra_of_take(struct mst_features *f, float floor)
{
    float dct[EAR_CEPSTRA][EAR_MEL];
    for (int c = 0; c < EAR_CEPSTRA; c++)
        for (int m = 0; m < EAR_MEL; m++)
            dct[c][m] = (float)(sqrt(2.0 / EAR_MEL) * cos(M_PI * c * (m + 0.5) / EAR_MEL));
    for (size_t t = 0; t < f->frame_count; t++) {
        float *row = row_for_writing(f, t), cepstra[EAR_CEPSTRA];
        cepstra_of(dct, row, floor, cepstra);
        memset(row, 0, EAR_ROW * sizeof *row);
        memcpy(row, cepstra, sizeof cepstra);
    }
}

/* Slopes of the coefficients [from, from + EAR_CEPSTRA) into the next EAR_CEPSTRA. */
static void slopes_of_take(struct mst_features *f, int from)
{
    int64_t last = (int64_t)f->frame_count - 1;
    for (int64_t t = 0; t <= last; t++) {
        float *row = row_for_writing(f, (size_t)t);
        float sum[EAR_CEPSTRA] = {0};
        for (int k = 1; k <= SLOPE; k++) {
            const float *after = ear_row(f, (size_t)(t + k > last ? last : t + k)) + from;
            const float *before = ear_row(f, (size_t)(t - k < 0 ? 0 : t - k)) + from;
            for (int c = 0; c < EAR_CEPSTRA; c++)
                sum[c] += (float)k * (after[c] - before[c]);
        }
        for (int c = 0; c < EAR_CEPSTRA; c++)
            row[from + EAR_CEPSTRA + c] = sum[c] / 10.0f; /* 2 (1² + 2²) */
    }
}

/* Mean 0 and spread 1 over the frames loud enough to be speech. */
static void normalise(struct mst_features *f, float threshold)
{
    double sum[EAR_DIM] = {0}, squares[EAR_DIM] = {0};
    size_t count = 0;
    for (size_t t = 0; t < f->frame_count; t++) {
        const float *row = ear_row(f, t);
        if (row[0] <= threshold)
            continue;
        count++;
        for (int d = 0; d < EAR_DIM; d++) {
            sum[d] += (double)row[d];
            squares[d] += (double)row[d] * (double)row[d];
        }
    }
    double n = count ? (double)count : 1;
    for (int d = 0; d < EAR_DIM; d++) {
        double mean = sum[d] / n, variance = squares[d] / n - mean * mean;
        f->mean[d] = (float)mean;
        f->sd[d] = (float)(sqrt(variance > 0 ? variance : 0) + 1e-3);
    }
    for (size_t t = 0; t < f->frame_count; t++) {
        float *row = row_for_writing(f, t);
        for (int d = 0; d < EAR_DIM; d++)
            row[d] = (row[d] - f->mean[d]) / f->sd[d];
    }
}

/* Quiet stretches of 300 ms and more, without their ends. Without this clamp a vowel's density
 * learns to like silence, and whole suras slip. */
static void mark_quiet(struct mst_features *f)
{
    float threshold = f->floor_c0 < -2 ? 0.6f * f->floor_c0 : -9.0f;
    size_t run = 0;
    for (size_t t = 0; t <= f->frame_count; t++) {
        if (t < f->frame_count && ear_row(f, t)[0] < threshold) {
            run++;
            continue;
        }
        if (run >= QUIET_FRAMES)
            memset(f->quiet + t - run + QUIET_INSET, 1, run - 2 * QUIET_INSET);
        run = 0;
    }
}

enum mst_status mst_features_finish(struct mst_features *f, struct mst_error *err)
{
    enum mst_status status = MST_OK;
    float *sorted = NULL;
    if (f->finished)
        return MST_OK;
    if (f->tail_len >= EAR_WINDOW) {
        size_t frames = 1 + (f->tail_len - EAR_WINDOW) / EAR_SHIFT;
        if (make_room(f, f->frame_count + frames) != 0)
            return mst_fail(err, MST_NO_MEMORY, "memory ran out at the end of the take");
        analyse(f, f->tail, f->before_tail, frames);
    }
    bank_free(f->bank);
    free(f->tail);
    f->bank = NULL;
    f->tail = NULL;
    f->finished = 1;
    if (f->frame_count < SHORTEST_TAKE)
        return mst_fail(err, MST_BAD_DATA,
                        "the take lasts %.2f seconds; that is too short to hold a passage",
                        (double)f->sample_count / EAR_RATE_HZ);
    sorted = malloc(f->frame_count * sizeof *sorted);
    f->quiet = calloc(f->frame_count, 1);
    if (!sorted || !f->quiet) {
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out at the end of the take");
        goto out;
    }
    for (size_t t = 0; t < f->frame_count; t++) {
        const float *row = ear_row(f, t);
        float sum = 0;
        for (int m = 0; m < EAR_MEL; m++)
            sum += row[m];
        sorted[t] = sum;
    }
    qsort(sorted, f->frame_count, sizeof *sorted, compare_floats);
    float loud = percentile(sorted, f->frame_count, 0.95);
    if (loud < 1e-7f) {
        status = mst_fail(err, MST_BAD_DATA, "the take holds silence from end to end");
        goto out;
    }
    cepstra_of_take(f, loud * 1e-7f);
    slopes_of_take(f, 0);
    slopes_of_take(f, EAR_CEPSTRA);
    for (size_t t = 0; t < f->frame_count; t++)
        sorted[t] = ear_row(f, t)[0];
    qsort(sorted, f->frame_count, sizeof *sorted, compare_floats);
    float high = percentile(sorted, f->frame_count, 0.95),
          low = percentile(sorted, f->frame_count, 0.02), threshold = high - 0.55f * (high - low);
    normalise(f, threshold);
    f->speech_c0 = (threshold - f->mean[0]) / f->sd[0];
    f->floor_c0 = (low - f->mean[0]) / f->sd[0];
    mark_quiet(f);
out:
    free(sorted);
    return status;
}

int64_t mst_features_duration_ms(const struct mst_features *f)
{
    return (int64_t)(f->sample_count * 1000 / EAR_RATE_HZ);
}

double mst_features_level_db(const struct mst_features *f, int32_t ms)
{
    int64_t frame = ms / EAR_FRAME_MS;
    if (frame < 0 || (size_t)frame >= f->frame_count)
        return -120;
    return 10.0 / log(10.0) * (double)f->level[frame];
}

double mst_features_speech_seconds(const struct mst_features *f)
{
    size_t count = 0;
    for (size_t t = 0; t < f->frame_count; t++)
        count += ear_row(f, t)[0] > f->speech_c0;
    return (double)count * EAR_FRAME_MS / 1000.0;
}
