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

enum {
    ROWS = 128,
    STRETCH_FRAMES = 250, /* of speech, looked at together */
    STRANGEST = -12,
    NOTHING_FRAMES =
        2000,            /* 20 seconds: of so little a wrong text scores as high as the right one */
    SHORT_FRAMES = 6000, /* a minute: below that a take tells little of itself */
    LONG_FRAMES = 10000  /* from here on a take that is its own voice is told by its score alone */
};
/* Scores between which right and wrong passages of such short takes were both met; the doubt
 * narrows from a short take to a long one. */
static const double surely_not = -1.4, surely = 1.1;
static const double strange_below = 3;
/* Of the words; a take with more of them missing holds another, shorter passage. */
static const double most_left_out = 0.4;

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

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
    return fmax(margin, STRANGEST);
}

struct tally {
    double margin, frames;
};

/* Sum the margins of speech frames that the half-model was not taught. */
static enum mst_status tally_margins(const struct ear_example *taught, const struct ear_model *m,
                                     struct tally *out, struct mst_error *err)
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
            if (pdf < EAR_STATES || ear_frame_counts(taught, t + i))
                continue;
            out->margin += margin_of(d, likelihoods + i * wide, d->slot_of[pdf]);
            out->frames++;
        }
    }
    free(likelihoods);
    return MST_OK;
}

/*
 * Margins under a model that knows all sounds: their mean, and the share of
 * the speech that is strange to it though the rest is not. Words that were
 * said but do not belong to the passage are squeezed in somewhere, or passed
 * over as if they were a pause; either shows as a stretch of a few seconds
 * that lies far below the take's good ones.
 */
static enum mst_status margins_of_take(const struct ear_graph *g, const struct mst_features *f,
                                       const int32_t *path, const struct ear_model *m,
                                       struct ear_fit *out, struct mst_error *err)
{
    const struct ear_densities *d = &m->densities;
    size_t wide = (size_t)d->padded, frames = f->frame_count, count = 0, stretches = 0;
    float *likelihoods = malloc(wide * sizeof *likelihoods);
    double *means = malloc((frames / STRETCH_FRAMES + 1) * sizeof *means), sum = 0;
    struct tally all = {0, 0};
    enum mst_status status = MST_OK;
    if (!likelihoods || !means) {
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the take");
        goto out;
    }
    for (size_t t = 0; t < frames; t++) {
        int16_t pdf = g->pdf[path[t]];
        const float *row = ear_row(f, t);
        double margin = STRANGEST;
        if (pdf < EAR_STATES && row[0] <= f->speech_c0)
            continue;
        if (pdf >= EAR_STATES) {
            ear_log_likelihoods(d, row, 1, likelihoods);
            margin = margin_of(d, likelihoods, d->slot_of[pdf]);
            all.margin += margin;
            all.frames++;
        }
        sum += margin;
        if (++count == STRETCH_FRAMES) {
            means[stretches++] = sum / STRETCH_FRAMES;
            sum = 0;
            count = 0;
        }
    }
    out->ratio = all.frames > 0 ? all.margin / all.frames : STRANGEST;
    out->strange = 0;
    qsort(means, stretches, sizeof *means, ascending);
    if (stretches > 0) {
        double good = means[stretches * 4 / 5];
        size_t strange = 0;
        while (strange < stretches && means[strange] < good - strange_below)
            strange++;
        out->strange = (double)strange / (double)stretches;
    }
out:
    free(likelihoods);
    free(means);
    return status;
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
            status = tally_margins(&example, &model, &tally, err);
            ear_model_clear(&model);
        }
        if (status)
            return status;
    }
    *out = tally.frames > 0 ? tally.margin / tally.frames : STRANGEST;
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

/* A voice that never heard this take knows its own sounds; another mouth's, brought near, well
 * enough. Words need not be left out to follow it, and none may be left over. */
static double score_by_voice(const struct ear_fit *fit, double *limit)
{
    *limit = -2.1;
    return fit->ratio + 0.4 * fit->cross_broad - 4 * fit->left_out - 4 * fit->strange;
}

/* Whether neither yes nor no can be relied on of a take that is its own voice. */
static int doubtful(double score, size_t frames)
{
    double share = (LONG_FRAMES - (double)frames) / (LONG_FRAMES - SHORT_FRAMES);
    share = fmin(fmax(share, 0), 1);
    return score > share * surely_not && score < share * surely;
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
    status = margins_of_take(g, f, path, m, out, err);
    if (status)
        return status;
    if (with_voice)
        score = score_by_voice(out, &limit);
    else
        score = score_alone(out, (double)frames * EAR_FRAME_MS / 1000, &limit);
    out->score = score - limit;
    out->fit = 1 / (1 + exp(-2.5 * out->score));
    out->accepted = out->score >= 0 && out->left_out <= most_left_out;
    out->unsure = !with_voice && out->left_out <= most_left_out && doubtful(out->score, frames);
    out->too_short = !with_voice && frames < NOTHING_FRAMES;
    return status;
}
