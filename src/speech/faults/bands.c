/*
 * bands.c – five bands. The nose adds a strong low resonance near 250 Hz and
 * another near 1 kHz, and takes away between them (O. Fujimura, “Analysis of
 * nasal consonants”, JASA 34, 1962; M. Y. Chen, “Acoustic correlates of English
 * and French nasalized vowels”, JASA 102, 1997: his P0 and P1): the borders
 * follow these.
 */
#include "bands.h"

#include <fftw3.h>
#include <math.h>
#include <stdlib.h>

enum { WINDOW = 400, STEP = 160, TRANSFORM = 512, BINS = TRANSFORM / 2 + 1 };
static const double border_hz[BAND_COUNT + 1] = {100, 450, 800, 1300, 2500, 5000};

struct bands_meter {
    fftwf_plan plan;
    float *in;
    fftwf_complex *out;
    float window[WINDOW];
};

enum mst_status bands_meter_new(struct bands_meter **out, struct mst_error *err)
{
    struct bands_meter *m = calloc(1, sizeof *m);
    *out = NULL;
    if (m) {
        fftwf_make_planner_thread_safe();
        m->in = fftwf_alloc_real(TRANSFORM);
        m->out = fftwf_alloc_complex(BINS);
        m->plan =
            m->in && m->out ? fftwf_plan_dft_r2c_1d(TRANSFORM, m->in, m->out, FFTW_ESTIMATE) : NULL;
    }
    if (!m || !m->plan) {
        bands_meter_free(m);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while measuring the sound");
    }
    for (int n = 0; n < WINDOW; n++)
        m->window[n] = (float)(0.5 - 0.5 * cos(2 * M_PI * (n + 0.5) / WINDOW)); /* Hann */
    *out = m;
    return MST_OK;
}

void bands_meter_free(struct bands_meter *m)
{
    if (!m)
        return;
    if (m->plan)
        fftwf_destroy_plan(m->plan);
    fftwf_free(m->in);
    fftwf_free(m->out);
    free(m);
}

static void add_frame(struct bands_meter *m, const float *samples, double power[BAND_COUNT])
{
    const double hz_per_bin = (double)MST_TAKE_RATE_HZ / TRANSFORM;
    for (int n = 0; n < TRANSFORM; n++)
        m->in[n] = n < WINDOW ? samples[n] * m->window[n] : 0;
    fftwf_execute(m->plan);
    for (int band = 0; band < BAND_COUNT; band++)
        for (int bin = (int)ceil(border_hz[band] / hz_per_bin);
             bin < BINS && bin * hz_per_bin < border_hz[band + 1]; bin++)
            power[band] += (double)m->out[bin][0] * (double)m->out[bin][0] +
                           (double)m->out[bin][1] * (double)m->out[bin][1];
}

enum mst_status bands_measure(struct bands_meter *m, struct mst_take *take, double start_ms,
                              double end_ms, struct bands *out, struct mst_error *err)
{
    const double window_ms = 1000.0 * WINDOW / MST_TAKE_RATE_HZ;
    if (end_ms - start_ms < window_ms) {
        start_ms = (start_ms + end_ms - window_ms) / 2;
        end_ms = start_ms + window_ms;
    }
    int64_t from = mst_take_sample_at_ms(start_ms < 0 ? 0 : start_ms);
    size_t count = (size_t)(mst_take_sample_at_ms(end_ms) - from), got = 0, frames = 0;
    double power[BAND_COUNT] = {0}, all = 0;
    float *samples = calloc(count + WINDOW, sizeof *samples);
    if (!samples)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while measuring the sound");
    enum mst_status status = mst_take_read_at(take, from, samples, count, &got, err);
    for (size_t at = 0; !status && (at == 0 || at + WINDOW <= count); at += STEP, frames++)
        add_frame(m, samples + at, power);
    free(samples);
    for (int band = 0; band < BAND_COUNT && !status; band++) {
        power[band] /= (double)frames;
        all += power[band];
        out->db[band] = 10 * log10(power[band] + 1e-9);
    }
    out->all_db = 10 * log10(all + 1e-9);
    return status;
}
