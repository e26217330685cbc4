/*
 * gmm.c – densities: mixtures of Gaussians with diagonal spread, and the
 * kernel that evaluates all of them for a block of frames.
 *
 * log N(x) = bias + Σ mean/var · x  − Σ 1/(2 var) · x²: a product of matrices.
 * The kernel's tables keep slots side by side, so that one instruction works
 * on eight of them; a plain twin stands in tests/speech/ear.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    STEP = 16,       /* slots that the kernel takes at a time … */
    ROWS = 4,        /* … and frames */
    MOST_SLOTS = 256 /* EAR_PDF_COUNT rounded up to STEP is fewer */
};

enum mst_status ear_densities_make(struct ear_densities *d, int32_t slots, struct mst_error *err)
{
    size_t gaussians = (size_t)slots * EAR_MAX_MIX;
    memset(d, 0, sizeof *d);
    d->slot_count = slots;
    d->padded = (slots + STEP - 1) / STEP * STEP;
    d->mix_of = calloc((size_t)slots, sizeof *d->mix_of);
    d->stay = calloc((size_t)slots, sizeof *d->stay);
    d->frames = calloc((size_t)slots, sizeof *d->frames);
    d->weight = calloc(gaussians, sizeof *d->weight);
    d->mean = calloc(gaussians * EAR_DIM, sizeof *d->mean);
    d->var = calloc(gaussians * EAR_DIM, sizeof *d->var);
    if (!d->mix_of || !d->stay || !d->frames || !d->weight || !d->mean || !d->var) {
        ear_densities_clear(d);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while learning a voice");
    }
    return MST_OK;
}

void ear_densities_clear(struct ear_densities *d)
{
    free(d->mix_of);
    free(d->stay);
    free(d->frames);
    free(d->weight);
    free(d->mean);
    free(d->var);
    free(d->kernel);
    free(d->bias);
    memset(d, 0, sizeof *d);
}

enum mst_status ear_densities_copy(struct ear_densities *to, const struct ear_densities *from,
                                   struct mst_error *err)
{
    size_t slots = (size_t)from->slot_count, gaussians = slots * EAR_MAX_MIX;
    enum mst_status status = ear_densities_make(to, from->slot_count, err);
    if (status)
        return status;
    memcpy(to->slot_of, from->slot_of, sizeof to->slot_of);
    memcpy(to->mix_of, from->mix_of, slots * sizeof *to->mix_of);
    memcpy(to->stay, from->stay, slots * sizeof *to->stay);
    memcpy(to->frames, from->frames, slots * sizeof *to->frames);
    memcpy(to->weight, from->weight, gaussians * sizeof *to->weight);
    memcpy(to->mean, from->mean, gaussians * EAR_DIM * sizeof *to->mean);
    memcpy(to->var, from->var, gaussians * EAR_DIM * sizeof *to->var);
    return ear_densities_pack(to, err);
}

enum mst_status ear_densities_pack(struct ear_densities *d, struct mst_error *err)
{
    int32_t mix = 1;
    for (int32_t s = 0; s < d->slot_count; s++)
        if (d->mix_of[s] > mix)
            mix = d->mix_of[s];
    size_t wide = (size_t)d->padded, cells = wide * (size_t)mix;
    free(d->kernel);
    free(d->bias);
    d->mix = mix;
    d->kernel = aligned_alloc(64, cells * 2 * EAR_DIM * sizeof *d->kernel);
    d->bias = aligned_alloc(64, cells * sizeof *d->bias);
    if (!d->kernel || !d->bias)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while learning a voice");
    memset(d->kernel, 0, cells * 2 * EAR_DIM * sizeof *d->kernel);
    for (size_t i = 0; i < cells; i++)
        d->bias[i] = EAR_NOWHERE;
    for (int32_t s = 0; s < d->slot_count; s++) {
        for (int32_t m = 0; m < d->mix_of[s]; m++) {
            size_t g = (size_t)s * EAR_MAX_MIX + (size_t)m;
            const float *mean = d->mean + g * EAR_DIM, *var = d->var + g * EAR_DIM;
            size_t column = (size_t)m * wide + (size_t)s;
            double bias = log((double)d->weight[g] + 1e-10) - 0.5 * EAR_DIM * log(2 * M_PI);
            for (int k = 0; k < EAR_DIM; k++) {
                double inverse = 1.0 / (double)var[k];
                bias -= 0.5 * (log((double)var[k]) + (double)mean[k] * (double)mean[k] * inverse);
                d->kernel[(size_t)(2 * k) * cells + column] = (float)((double)mean[k] * inverse);
                d->kernel[(size_t)(2 * k + 1) * cells + column] = (float)(-0.5 * inverse);
            }
            d->bias[column] = (float)bias;
        }
    }
    return MST_OK;
}

/* 2^t for -126 ≤ t ≤ 0, to 2 parts in 10^7. Written out so that it vectorises and gives the same
 * bits everywhere. */
static inline __attribute__((always_inline)) float power_of_two(float t)
{
    int32_t whole = (int32_t)t;                     /* towards zero */
    float part = (t - (float)whole) * 0.693147181f; /* (-ln 2, 0] */
    float series =
        1.0f +
        part * (1.0f +
                part * (0.5f + part * (0.166666667f +
                                       part * (0.0416666667f +
                                               part * (0.00833333333f + part * 0.00138888889f)))));
    int32_t bits = (whole + 127) << 23;
    float scale;
    memcpy(&scale, &bits, sizeof scale);
    return series * scale;
}

/* One tile: STEP columns of the tables, ROWS frames. */
EAR_FAST static void tile(const float *kernel, const float *bias, size_t cells, const float *rows,
                          float *restrict out, size_t out_stride)
{
    float sum0[STEP], sum1[STEP], sum2[STEP], sum3[STEP];
    for (int c = 0; c < STEP; c++)
        sum0[c] = sum1[c] = sum2[c] = sum3[c] = bias[c];
    for (int k = 0; k < EAR_DIM; k++) {
        const float *lin = kernel + (size_t)(2 * k) * cells;
        const float *quad = lin + cells;
        float x0 = rows[k], x1 = rows[EAR_ROW + k], x2 = rows[2 * EAR_ROW + k],
              x3 = rows[3 * EAR_ROW + k];
        for (int c = 0; c < STEP; c++) {
            float a = lin[c], b = quad[c];
            sum0[c] += x0 * (a + b * x0);
            sum1[c] += x1 * (a + b * x1);
            sum2[c] += x2 * (a + b * x2);
            sum3[c] += x3 * (a + b * x3);
        }
    }
    for (size_t c = 0; c < STEP; c++) {
        out[c] = sum0[c];
        out[out_stride + c] = sum1[c];
        out[2 * out_stride + c] = sum2[c];
        out[3 * out_stride + c] = sum3[c];
    }
}

/* Sum the Gaussians of each slot: log Σ exp. Slots run inside, so that all but the last loop
 * vectorise. */
EAR_FAST static void mix_down(const float *restrict parts, size_t padded, int32_t mix,
                              float *restrict out)
{
    float sum[MOST_SLOTS], power[MOST_SLOTS];
    for (size_t s = 0; s < padded; s++) {
        out[s] = parts[s];
        sum[s] = 0;
    }
    for (size_t m = 1; m < (size_t)mix; m++)
        for (size_t s = 0; s < padded; s++)
            out[s] = parts[m * padded + s] > out[s] ? parts[m * padded + s] : out[s];
    for (size_t m = 0; m < (size_t)mix; m++) {
        for (size_t s = 0; s < padded; s++) { /* e^x as a power of two; 0 below e^-87 */
            float t = (parts[m * padded + s] - out[s]) * 1.44269504f;
            power[s] = t > -126.0f ? t : -126.0f;
        }
        for (size_t s = 0; s < padded; s++)
            sum[s] += power_of_two(power[s]);
    }
    for (size_t s = 0; s < padded; s++)
        if (sum[s] > 1.0f) /* the others often lie too far below to count */
            out[s] += logf(sum[s]);
}

void ear_log_likelihoods(const struct ear_densities *d, const float *rows, size_t row_count,
                         float *out)
{
    size_t wide = (size_t)d->padded, cells = wide * (size_t)d->mix;
    float parts[ROWS * MOST_SLOTS * EAR_MAX_MIX];
    float last[ROWS * EAR_ROW];
    for (size_t r = 0; r < row_count; r += ROWS) {
        size_t here = row_count - r < ROWS ? row_count - r : ROWS;
        const float *block = rows + r * EAR_ROW;
        if (here < ROWS) {
            memset(last, 0, sizeof last);
            memcpy(last, block, here * EAR_ROW * sizeof *last);
            block = last;
        }
        for (size_t c = 0; c < cells; c += STEP)
            tile(d->kernel + c, d->bias + c, cells, block, parts + c, cells);
        for (size_t n = 0; n < here; n++) {
            float *to = out + (r + n) * wide;
            if (d->mix == 1)
                memcpy(to, parts + n * cells, wide * sizeof *to);
            else
                mix_down(parts + n * cells, wide, d->mix, to);
        }
    }
}

void ear_model_clear(struct ear_model *m)
{
    ear_densities_clear(&m->densities);
    ear_durations_clear(&m->durations);
    memset(m, 0, sizeof *m);
}

enum mst_status ear_model_copy(struct ear_model *to, const struct ear_model *from,
                               struct mst_error *err)
{
    memset(to, 0, sizeof *to);
    to->mean_log_likelihood = from->mean_log_likelihood;
    enum mst_status status = ear_densities_copy(&to->densities, &from->densities, err);
    if (!status)
        status = ear_durations_copy(&to->durations, &from->durations, err);
    if (status)
        ear_model_clear(to);
    return status;
}
