/*
 * adapt.c – a take by another mouth than the stored voice's: how much longer
 * or shorter the vocal tract is, and the features as the voice would have
 * given them.
 *
 * A vocal tract α times as long moves every resonance to 1/α of its place
 * (Fant, Acoustic Theory of Speech Production, 1960). On cepstra that is a
 * matrix: back to log band energies, read these at moved places, forth again.
 * It is the same for slopes.
 *
 * What a vocal tract's length does not explain – the microphone, the room, a
 * band cut off, a way of speaking – moves all sounds alike: one linear map of
 * the voice's means, found by least squares along a path (Leggetter and
 * Woodland, Computer Speech and Language, 1995).
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LISTEN_FRAMES = 9000 /* this much is enough to tell a vocal tract */ };

static double mel(double hz)
{
    return 1127.0 * log(1.0 + hz / 700.0);
}

/* The warp matrix for cepstra as features.c makes them. */
static void warp_matrix(double low_hz, double high_hz, double warp,
                        double out[EAR_CEPSTRA][EAR_CEPSTRA])
{
    double low = mel(low_hz), step = (mel(high_hz) - low) / (EAR_MEL + 1);
    double scale = sqrt(2.0 / EAR_MEL);
    memset(out, 0, sizeof(double[EAR_CEPSTRA][EAR_CEPSTRA]));
    for (int m = 0; m < EAR_MEL; m++) {
        double hz = 700.0 * (exp((low + (m + 1) * step) / 1127.0) - 1.0);
        double from = hz / warp, knee = 0.8 * high_hz; /* above the knee straight to the edge */
        if (hz > knee)
            from = knee / warp + (hz - knee) * (high_hz - knee / warp) / (high_hz - knee);
        double place = (mel(from) - low) / step - 1;
        place = fmin(fmax(place, 0), EAR_MEL - 1);
        for (int a = 0; a < EAR_CEPSTRA; a++)
            for (int b = 0; b < EAR_CEPSTRA; b++)
                out[a][b] += scale * cos(M_PI * a * (m + 0.5) / EAR_MEL) * scale *
                             (b == 0 ? 0.5 : cos(M_PI * b * (place + 0.5) / EAR_MEL));
    }
}

static void warp_row(double matrix[EAR_CEPSTRA][EAR_CEPSTRA], const struct mst_features *f,
                     const float *row, double out[EAR_DIM])
{
    for (int part = 0; part < EAR_DIM; part += EAR_CEPSTRA)
        for (int a = 0; a < EAR_CEPSTRA; a++) {
            double sum = 0;
            for (int b = 0; b < EAR_CEPSTRA; b++) {
                int d = part + b;
                sum += matrix[a][b] * ((double)row[d] * (double)f->sd[d] + (double)f->mean[d]);
            }
            out[part + a] = sum;
        }
}

static struct mst_features *copy_features(const struct mst_features *f, size_t frames)
{
    struct mst_features *copy = calloc(1, sizeof *copy);
    if (!copy)
        return NULL;
    copy->options = f->options;
    copy->frame_count = frames;
    copy->sample_count = f->sample_count;
    copy->finished = 1;
    memcpy(copy->mean, f->mean, sizeof copy->mean);
    memcpy(copy->sd, f->sd, sizeof copy->sd);
    copy->speech_c0 = f->speech_c0;
    copy->floor_c0 = f->floor_c0;
    size_t chunks = (frames + EAR_CHUNK_FRAMES - 1) / EAR_CHUNK_FRAMES;
    copy->level = malloc(frames * sizeof *copy->level);
    copy->quiet = malloc(frames);
    copy->chunks = calloc(chunks, sizeof *copy->chunks);
    if (!copy->level || !copy->quiet || !copy->chunks)
        goto failed;
    memcpy(copy->level, f->level, frames * sizeof *copy->level);
    memcpy(copy->quiet, f->quiet, frames);
    for (size_t i = 0; i < chunks; i++) {
        size_t bytes = (size_t)EAR_CHUNK_FRAMES * EAR_ROW * sizeof(float);
        copy->chunks[i] = malloc(bytes);
        if (!copy->chunks[i])
            goto failed;
        copy->chunk_count++;
        memcpy(copy->chunks[i], f->chunks[i], bytes);
    }
    return copy;
failed:
    mst_features_free(copy);
    return NULL;
}

enum mst_status ear_features_warp(const struct mst_features *f, double warp,
                                  struct mst_features **out, struct mst_error *err)
{
    double matrix[EAR_CEPSTRA][EAR_CEPSTRA], sum[EAR_DIM] = {0}, squares[EAR_DIM] = {0}, n = 0;
    struct mst_features *warped = copy_features(f, f->frame_count);
    *out = warped;
    if (!warped)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing voices");
    warp_matrix(f->options.low_hz, f->options.high_hz, warp, matrix);
    for (size_t t = 0; t < f->frame_count; t++) {
        double row[EAR_DIM];
        float *to = warped->chunks[t / EAR_CHUNK_FRAMES] + (t % EAR_CHUNK_FRAMES) * EAR_ROW;
        int speech = to[0] > f->speech_c0;
        warp_row(matrix, f, to, row);
        n += speech;
        for (int d = 0; d < EAR_DIM; d++) {
            to[d] = (float)row[d];
            sum[d] += speech ? row[d] : 0;
            squares[d] += speech ? row[d] * row[d] : 0;
        }
    }
    for (int d = 0; d < EAR_DIM; d++) {
        double mean = sum[d] / fmax(n, 1), var = squares[d] / fmax(n, 1) - mean * mean;
        warped->mean[d] = (float)mean;
        warped->sd[d] = (float)(sqrt(fmax(var, 0)) + 1e-3);
    }
    for (size_t t = 0; t < f->frame_count; t++) {
        float *to = warped->chunks[t / EAR_CHUNK_FRAMES] + (t % EAR_CHUNK_FRAMES) * EAR_ROW;
        for (int d = 0; d < EAR_DIM; d++)
            to[d] = (to[d] - warped->mean[d]) / warped->sd[d];
    }
    return MST_OK;
}

/* How likely the take is under a warp; EAR_NOWHERE when it does not go through. */
static enum mst_status likelihood_of_warp(const struct ear_graph *g, const struct ear_model *m,
                                          const struct mst_features *f, double warp, int threads,
                                          int32_t *path, double *score, struct mst_error *err)
{
    struct mst_features *warped;
    struct ear_search how = {.beam = 2500, .extras = 1, .loose_ends = 1, .threads = threads};
    enum mst_status status = ear_features_warp(f, warp, &warped, err);
    if (status)
        return status;
    status = ear_viterbi(g, m, warped, &how, path, score, err);
    mst_features_free(warped);
    if (status == MST_MISMATCH) {
        *score = (double)EAR_NOWHERE;
        status = MST_OK;
    }
    return status;
}

enum mst_status ear_find_warp(const struct ear_graph *g, const struct ear_model *m,
                              const struct mst_features *f, int threads, double *warp,
                              struct mst_error *err)
{
    static const double tries[] = {1.0, 0.94, 1.06, 0.88, 1.13, 0.82, 1.2, 0.76, 1.28};
    const int count = sizeof tries / sizeof *tries;
    size_t frames = f->frame_count < LISTEN_FRAMES ? f->frame_count : LISTEN_FRAMES;
    struct mst_features *head = copy_features(f, frames);
    int32_t *path = malloc(frames * sizeof *path);
    enum mst_status status = MST_OK;
    double scores[sizeof tries / sizeof *tries], best = (double)EAR_NOWHERE;
    int best_try = -1;
    if (!head || !path) {
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing voices");
        goto out;
    }
    for (int i = 0; i < count && !status; i++) {
        status = likelihood_of_warp(g, m, head, tries[i], threads, path, &scores[i], err);
        if (!status && scores[i] > best) {
            best = scores[i];
            best_try = i;
        }
    }
    if (!status && best_try < 0)
        status = mst_fail(err, MST_MISMATCH, "the stored voice cannot follow the take");
    if (!status)
        *warp = tries[best_try];
out:
    mst_features_free(head);
    free(path);
    return status;
}

/* --- one linear map for all means ------------------------------------------------ */
enum { TERMS = EAR_CEPSTRA + 1 /* a constant and a block of coefficients */ };
static const double identity_frames = 100; /* how much the map leans on leaving all as it is */

/* What the frames of a path say of each Gaussian. */
struct heard {
    double n, x[EAR_DIM];
};

/* Gaussian of a slot that a frame fits best. */
static size_t nearest_gaussian(const struct ear_densities *d, size_t slot, const float *row)
{
    size_t best = slot * EAR_MAX_MIX;
    double best_log = (double)EAR_NOWHERE;
    for (size_t g = slot * EAR_MAX_MIX; g < slot * EAR_MAX_MIX + d->mix_of[slot]; g++) {
        double log_p = log((double)d->weight[g] + 1e-10);
        for (int k = 0; k < EAR_DIM; k++) {
            double off = (double)(row[k] - d->mean[g * EAR_DIM + (size_t)k]);
            double var = (double)d->var[g * EAR_DIM + (size_t)k];
            log_p -= 0.5 * (off * off / var + log(var));
        }
        if (log_p > best_log) {
            best_log = log_p;
            best = g;
        }
    }
    return best;
}

/* Solve a x = b, a symmetric and positive (Cholesky); b becomes x. */
static void solve(double a[TERMS][TERMS], double b[TERMS])
{
    for (int i = 0; i < TERMS; i++)
        for (int j = 0; j <= i; j++) {
            double sum = a[i][j];
            for (int k = 0; k < j; k++)
                sum -= a[i][k] * a[j][k];
            a[i][j] = i == j ? sqrt(fmax(sum, 1e-9)) : sum / a[j][j];
        }
    for (int i = 0; i < TERMS; i++) {
        for (int k = 0; k < i; k++)
            b[i] -= a[i][k] * b[k];
        b[i] /= a[i][i];
    }
    for (int i = TERMS - 1; i >= 0; i--) {
        for (int k = i + 1; k < TERMS; k++)
            b[i] -= a[k][i] * b[k];
        b[i] /= a[i][i];
    }
}

/* The row of the map that gives dimension dim, from the coefficients of its block. */
static void map_row(const struct ear_densities *d, const struct heard *heard, int dim,
                    double out[TERMS])
{
    double normal[TERMS][TERMS] = {{0}};
    size_t block = (size_t)(dim / EAR_CEPSTRA * EAR_CEPSTRA);
    memset(out, 0, TERMS * sizeof *out);
    for (size_t g = EAR_STATES * EAR_MAX_MIX; g < (size_t)d->slot_count * EAR_MAX_MIX; g++) {
        if (heard[g].n <= 0)
            continue;
        double var = (double)d->var[g * EAR_DIM + (size_t)dim], term[TERMS] = {1};
        for (size_t k = 0; k < EAR_CEPSTRA; k++)
            term[k + 1] = (double)d->mean[g * EAR_DIM + block + k];
        for (int i = 0; i < TERMS; i++) {
            out[i] += heard[g].x[dim] / var * term[i];
            for (int j = 0; j < TERMS; j++)
                normal[i][j] += heard[g].n / var * term[i] * term[j];
        }
    }
    for (int i = 0; i < TERMS; i++)
        normal[i][i] += identity_frames;
    out[1 + dim - (int)block] += identity_frames;
    solve(normal, out);
}

enum mst_status ear_map_voice(const struct ear_graph *g, const int32_t *path,
                              const struct mst_features *f, const struct ear_model *voice,
                              struct ear_model *out, struct mst_error *err)
{
    const struct ear_densities *d = &voice->densities;
    size_t gaussians = (size_t)d->slot_count * EAR_MAX_MIX;
    struct heard *heard = calloc(gaussians, sizeof *heard);
    if (!heard)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing voices");
    enum mst_status status = ear_model_copy(out, voice, err);
    if (status) {
        free(heard);
        return status;
    }
    for (size_t t = 0; t < f->frame_count; t++) {
        int16_t pdf = g->pdf[path[t]];
        const float *row = ear_row(f, t);
        if (pdf < EAR_STATES) /* silence has a room of its own; it is learned anew */
            continue;
        struct heard *h = &heard[nearest_gaussian(d, (size_t)d->slot_of[pdf], row)];
        h->n++;
        for (int k = 0; k < EAR_DIM; k++)
            h->x[k] += (double)row[k];
    }
    for (int dim = 0; dim < EAR_DIM; dim++) {
        double map[TERMS];
        size_t block = (size_t)(dim / EAR_CEPSTRA * EAR_CEPSTRA);
        map_row(d, heard, dim, map);
        for (size_t n = EAR_STATES * EAR_MAX_MIX; n < gaussians; n++) {
            double mean = map[0];
            for (size_t k = 0; k < EAR_CEPSTRA; k++)
                mean += map[k + 1] * (double)d->mean[n * EAR_DIM + block + k];
            out->densities.mean[n * EAR_DIM + (size_t)dim] = (float)mean;
        }
    }
    free(heard);
    status = ear_densities_pack(&out->densities, err);
    if (status)
        ear_model_clear(out);
    return status;
}
