/*
 * likeness.c – whose voice is it? How well each of several stored voices, as
 * it is, explains a take along its own best path through the passage. Nothing
 * is adapted: an adapted voice explains everyone.
 */
#include "parts.h"

#include <stdlib.h>

/* Mean log likelihood of the frames of sounds; pauses tell of the room, not of the voice. */
static double mean_along(const struct ear_graph *g, const struct ear_densities *d,
                         const struct mst_features *f, const int32_t *path, float *work)
{
    double sum = 0;
    size_t frames = 0;
    for (size_t at = 0; at < f->frame_count; at += EAR_CHUNK_FRAMES) {
        size_t count =
            f->frame_count - at < EAR_CHUNK_FRAMES ? f->frame_count - at : EAR_CHUNK_FRAMES;
        ear_log_likelihoods(d, ear_row(f, at), count, work);
        for (size_t n = 0; n < count; n++) {
            int16_t pdf = g->pdf[path[at + n]];
            if (pdf / EAR_STATES == EAR_MODEL_SILENCE)
                continue;
            sum += (double)work[n * (size_t)d->padded + (size_t)d->slot_of[pdf]];
            frames++;
        }
    }
    return frames ? sum / (double)frames : (double)EAR_NOWHERE;
}

static enum mst_status likeness_of(const struct ear_graph *g, const struct mst_features *f,
                                   const struct mst_voice *voice, int threads, int32_t *path,
                                   double *out, struct mst_error *err)
{
    const struct ear_search search = {
        .beam = EAR_BEAM * 1.6f, .extras = 1, .loose_ends = 1, .threads = threads};
    double score;
    float *work =
        malloc((size_t)EAR_CHUNK_FRAMES * (size_t)voice->model.densities.padded * sizeof *work);
    enum mst_status status = MST_OK;
    if (!work)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing voices");
    *out = (double)EAR_NOWHERE;
    status = ear_viterbi(g, &voice->model, f, &search, path, &score, err);
    if (status == MST_OK)
        *out = mean_along(g, &voice->model.densities, f, path, work);
    else if (status == MST_MISMATCH) /* this voice finds no way through: it is not the one */
        status = MST_OK;
    free(work);
    return status;
}

enum mst_status mst_voice_likeness(const struct mst_features *f, const struct mst_script *script,
                                   const struct mst_voice *const *voices, size_t count, int threads,
                                   double *out, struct mst_error *err)
{
    struct ear_graph graph;
    enum mst_status status = ear_graph_make(&graph, script, err);
    if (status)
        return status;
    int32_t *path = malloc((f->frame_count + 1) * sizeof *path);
    if (!path)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing voices");
    for (size_t n = 0; n < count && !status; n++)
        status = likeness_of(&graph, f, voices[n], threads > 0 ? threads : 2, path, &out[n], err);
    free(path);
    ear_graph_clear(&graph);
    return status;
}
