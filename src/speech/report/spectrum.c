#include "spectrum.h"

#include <mistara/report.h>

#include <fftw3.h>
#include <math.h>
#include <stdlib.h>

/* A window of 16 ms shows both the formants and the edges of sounds. */
enum { WINDOW = 256, TRANSFORM = 512, BINS = TRANSFORM / 2 + 1, BLOCK_COLUMNS = 64 };
static const double range_db = 52; /* from white to black */

struct spectrum {
    fftwf_plan plan;
    float *in;
    fftwf_complex *out;
    float window[WINDOW];
    double black_db;
};

enum mst_status spectrum_new(double speech_dbfs, struct spectrum **out, struct mst_error *err)
{
    struct spectrum *s = calloc(1, sizeof *s);
    *out = NULL;
    if (s) {
        fftwf_make_planner_thread_safe();
        s->in = fftwf_alloc_real(TRANSFORM);
        s->out = fftwf_alloc_complex(BINS);
        s->plan =
            s->in && s->out ? fftwf_plan_dft_r2c_1d(TRANSFORM, s->in, s->out, FFTW_ESTIMATE) : NULL;
    }
    if (!s || !s->plan) {
        spectrum_free(s);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while drawing the sound");
    }
    double power = 0;
    for (int n = 0; n < WINDOW; n++) {
        s->window[n] = (float)(0.5 - 0.5 * cos(2 * M_PI * (n + 0.5) / WINDOW)); /* Hann */
        power += s->window[n];
    }
    /* Black only where one harmonic is well above the voice's mean level, so that formants show
     * within vowels. */
    s->black_db = speech_dbfs + 20 * log10(power / 2) + 8;
    *out = s;
    return MST_OK;
}

void spectrum_free(struct spectrum *s)
{
    if (!s)
        return;
    if (s->plan)
        fftwf_destroy_plan(s->plan);
    fftwf_free(s->in);
    fftwf_free(s->out);
    free(s);
}

/* Strength of each row, from the bottom; high tones are lifted by 6 dB an octave above 500 Hz as
 * the ear hears speech. */
static void column_db(struct spectrum *s, const float *samples, double rows[SPECTRUM_ROWS])
{
    for (int n = 0; n < TRANSFORM; n++)
        s->in[n] = n < WINDOW ? samples[n] * s->window[n] : 0;
    fftwf_execute(s->plan);
    for (int row = 0; row < SPECTRUM_ROWS; row++) {
        double hz_per_bin = (double)MST_TAKE_RATE_HZ / TRANSFORM;
        double low = (double)row * SPECTRUM_TOP_HZ / SPECTRUM_ROWS / hz_per_bin;
        double high = (double)(row + 1) * SPECTRUM_TOP_HZ / SPECTRUM_ROWS / hz_per_bin;
        double strongest = 1e-12;
        for (int bin = (int)floor(low); bin <= (int)ceil(high) && bin < BINS; bin++) {
            double power = (double)s->out[bin][0] * (double)s->out[bin][0] +
                           (double)s->out[bin][1] * (double)s->out[bin][1];
            strongest = power > strongest ? power : strongest;
        }
        double hz = (row + 0.5) * SPECTRUM_TOP_HZ / SPECTRUM_ROWS;
        rows[row] = 10 * log10(strongest) + (hz > 500 ? 20 * log10(hz / 500) : 0);
    }
}

enum mst_status spectrum_draw(struct spectrum *s, struct mst_take *take, double start_ms,
                              double end_ms, int columns, uint8_t *grey, struct mst_error *err)
{
    double step = (end_ms - start_ms) / columns * MST_TAKE_RATE_HZ / 1000; /* samples */
    size_t room = (size_t)(step * BLOCK_COLUMNS) + 2 * WINDOW;
    float *samples = malloc(room * sizeof *samples);
    if (!samples)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while drawing the sound");
    enum mst_status status = MST_OK;
    for (int first = 0; first < columns && status == MST_OK; first += BLOCK_COLUMNS) {
        double at = start_ms * MST_TAKE_RATE_HZ / 1000 + first * step - WINDOW / 2.0;
        int64_t from = at > 0 ? (int64_t)at : 0;
        size_t got = 0;
        status = mst_take_read_at(take, from, samples, room, &got, err);
        for (size_t n = got; n < room; n++)
            samples[n] = 0;
        for (int n = first; n < columns && n < first + BLOCK_COLUMNS && status == MST_OK; n++) {
            double rows[SPECTRUM_ROWS];
            size_t offset = (size_t)((n - first) * step);
            column_db(s, samples + offset, rows);
            for (int row = 0; row < SPECTRUM_ROWS; row++) {
                double dark = (rows[row] - s->black_db + range_db) / range_db;
                dark = dark < 0 ? 0 : dark > 1 ? 1 : dark;
                grey[(size_t)(SPECTRUM_ROWS - 1 - row) * (size_t)columns + (size_t)n] =
                    (uint8_t)lround(255 - 225 * pow(dark, 1.7));
            }
        }
    }
    free(samples);
    return status;
}

enum mst_status mst_take_spectrogram(struct mst_take *take, double start_ms, double end_ms,
                                     int column_count, uint8_t *grey, struct mst_error *err)
{
    struct mst_quality quality;
    struct spectrum *s = NULL;
    _Static_assert((int)MST_SPECTROGRAM_ROWS == (int)SPECTRUM_ROWS, "the header tells the rows");
    mst_take_quality(take, &quality);
    enum mst_status status = spectrum_new(quality.speech_dbfs, &s, err);
    if (status == MST_OK)
        status = spectrum_draw(s, take, start_ms, end_ms, column_count, grey, err);
    spectrum_free(s);
    return status;
}
