/*
 * fit.c – does the take hold the passage?
 *
 * A voice learned from the take itself will follow any text to some degree,
 * so its likelihood proves little. What proves it: sounds of the same name
 * must be alike. The path's labels of every other stretch teach a small model,
 * which must then know the sounds of the stretches in between by name (and
 * the other way round). With the wrong text the labels say nothing about the
 * sound, and the names are no better than any others.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ROWS = 128 };

/* How much likelier a frame is under its own name than under the average one, capped so that a
 * few odd frames do not decide. */
static double margin_of(const struct ear_densities *d, const float *row, int16_t slot)
{
    double top = (double)row[slot], sum = 0;
    for (int32_t k = EAR_STATES; k < d->slot_count; k++)
        top = fmax(top, (double)row[k]);
    for (int32_t k = EAR_STATES; k < d->slot_count; k++)
        sum += exp((double)row[k] - top);
    double margin = (double)row[slot] - top - log(sum / (d->slot_count - EAR_STATES));
    return fmax(margin, -12);
}

struct tally {
    double margin, frames;
};

/* Sum the margins of speech frames that the half-model was not taught. */
static enum mst_status tally_margins(const struct ear_example *taught, const struct ear_model *m,
                                     int whole, struct tally *out, struct mst_error *err)
{
    const struct ear_densities *d = &m->densities;
    const struct ear_graph *g = taught->graph;
    size_t wide = (size_t)d->padded, frames = taught->features->frame_count;
    float *likelihoods = malloc(ROWS * wide * sizeof *likelihoods);
    if (!likelihoods)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the take");
    for (size_t t = 0; t < frames; t += ROWS) {
        size_t count = frames - t < ROWS ? frames - t : ROWS;
        ear_log_likelihoods(d, ear_row(taught->features, t), count, likelihoods);
        for (size_t i = 0; i < count; i++) {
            int16_t pdf = g->pdf[taught->path[t + i]];
            if (pdf < EAR_STATES || (!whole && ear_frame_counts(taught, t + i)))
                continue;
            out->margin += margin_of(d, likelihoods + i * wide, d->slot_of[pdf]);
            out->frames++;
        }
    }
    free(likelihoods);
    return MST_OK;
}

static enum mst_status cross_margin(const struct ear_graph *g, const struct mst_features *f,
                                    const int32_t *path, int threads, int broad, double *out,
                                    struct mst_error *err)
{
    struct ear_training how = {.duration_weight = 0, .threads = threads};
    struct tally tally = {0, 0};
    for (int half = 1; half <= 2; half++) {
        struct ear_example example = {f, g, (int32_t *)path, half};
        struct ear_model model;
        enum mst_status status = ear_estimate(&example, 1, &how, broad, 1, NULL, &model, err);
        if (!status) {
            status = tally_margins(&example, &model, 0, &tally, err);
            ear_model_clear(&model);
        }
        if (status)
            return status;
    }
    *out = tally.frames > 0 ? tally.margin / tally.frames : -12;
    return MST_OK;
}

/* Words on the path, and the stretch they span. */
static double said_share(const struct ear_graph *g, const int32_t *path, size_t frames,
                         int32_t *first, int32_t *last)
{
    int32_t words = g->script->word_count, needed = 0, said = 0;
    uint8_t *heard = calloc((size_t)words, 1);
    *first = *last = -1;
    if (!heard)
        return 1;
    for (size_t t = 0; t < frames; t++) {
        const struct ear_graph_unit *u = &g->units[g->unit_of[path[t]]];
        if (u->form >= 0)
            heard[u->word] = 1;
    }
    for (int32_t w = 0; w < words; w++) {
        if (g->script->words[w].optional)
            continue;
        needed++;
        if (!heard[w])
            continue;
        said++;
        if (*first < 0)
            *first = w;
        *last = w;
    }
    free(heard);
    return needed > 0 ? (double)said / needed : 1;
}

/* One of several straight lines between points. */
static double between(double x, const double points[][2], int count)
{
    if (x <= points[0][0])
        return points[0][1];
    for (int i = 1; i < count; i++)
        if (x < points[i][0])
            return points[i - 1][1] + (x - points[i - 1][0]) * (points[i][1] - points[i - 1][1]) /
                                          (points[i][0] - points[i - 1][0]);
    return points[count - 1][1];
}

/*
 * The weights and limits below were found on pairs of takes and passages of
 * two reciters that do and do not belong together (docs/measurements.md).
 * A take of less than 40 s says little of itself; there the pauses, which must
 * fit the verses, are asked too.
 */
static double score_alone(const struct ear_fit *fit, double seconds, double *limit)
{
    static const double limits[][2] = {{20, -0.65}, {40, 1.25}, {100, 2.3}};
    double share = fmin(fmax((40 - seconds) / 20, 0), 1);
    *limit = between(seconds, limits, 3);
    return fit->ratio + 0.5 * fit->cross_broad + 0.2 * fit->cross - 4 * fit->left_out -
           share * fit->pause_cost;
}

/* A voice that never heard this take knows its own sounds; another mouth's are strange to it, but
 * words need not be left out to follow it. */
static double score_by_voice(const struct ear_fit *fit, double *limit)
{
    *limit = -3.4;
    return fit->ratio + 0.4 * fit->cross_broad - 4 * fit->left_out;
}

enum mst_status ear_judge_fit(const struct ear_graph *g, const struct ear_model *m,
                              const struct mst_features *f, const int32_t *path, int threads,
                              int with_voice, struct ear_fit *out, struct mst_error *err)
{
    size_t frames = f->frame_count;
    double limit, score;
    out->left_out = 1 - said_share(g, path, frames, &out->first, &out->last);
    enum mst_status status = cross_margin(g, f, path, threads, 0, &out->cross, err);
    if (!status)
        status = cross_margin(g, f, path, threads, 1, &out->cross_broad, err);
    if (status)
        return status;
    struct ear_example whole = {f, g, (int32_t *)path, 0};
    struct tally tally = {0, 0};
    status = tally_margins(&whole, m, 1, &tally, err);
    out->ratio = tally.frames > 0 ? tally.margin / tally.frames : -12;
    if (with_voice)
        score = score_by_voice(out, &limit);
    else
        score = score_alone(out, (double)frames * EAR_FRAME_MS / 1000, &limit);
    out->fit = 1 / (1 + exp(-2.5 * (score - limit)));
    out->accepted = score >= limit;
    return status;
}

enum mst_status ear_explain_misfit(const struct ear_graph *g, const struct ear_fit *fit,
                                   struct mst_error *err)
{
    const struct mst_script *script = g->script;
    struct mst_range best;
    char asked[96], found[96];
    mst_range_print(script->range, asked);
    if (fit->first < 0 || fit->left_out < 0.02)
        return mst_fail(err, MST_MISMATCH,
                        "this take does not seem to hold %s; no stretch of the passage fits it",
                        asked);
    best.first = script->words[fit->first].at;
    best.last = script->words[fit->last].at;
    if (fit->first == 0 || script->words[fit->first - 1].verse_end)
        best.first.word = 0;
    if (script->words[fit->last].verse_end)
        best.last.word = 0;
    mst_range_print(best, found);
    return mst_fail(err, MST_MISMATCH, "this take does not seem to hold %s; the best stretch is %s",
                    asked, found);
}
