/*
 * train.c – learning a voice: rounds of alignment and estimation. First ten
 * broad classes, which even a rough start tells apart, then single sounds,
 * with one, two and four Gaussians; lengths are estimated anew every round.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    BLOCK = 16,          /* frames taken together in estimation */
    SPLIT_FRAMES = 24,   /* frames per Gaussian before it is split */
    SPREAD_STRENGTH = 10 /* frames that a Gaussian's spread leans on its slot's */
};
static const float least_spread = 0.03f; /* share of the spread of everything */

struct estimation {
    const struct ear_example *examples;
    size_t example_count;
    const struct ear_training *how;
    const struct ear_densities *previous, *prior;
    struct ear_densities *out;
    int mix;
    float all_mean[EAR_DIM], all_var[EAR_DIM];
    /* the frames of each slot: rows[first[s] … first[s+1]) */
    const float **rows;
    size_t *first;
    int32_t *entries; /* per slot: times a state of it was entered */
};

/* --- which models get densities of their own -------------------------------- */
static void slots_of_broad_classes(struct ear_densities *d)
{
    for (int m = 0; m < EAR_MODEL_COUNT; m++)
        for (int s = 0; s < EAR_STATES; s++)
            d->slot_of[m * EAR_STATES + s] =
                (int16_t)((int)ear_model_broad((enum ear_model_id)m) * EAR_STATES + s);
}

/* Of the models that were heard, the one most heard; like: only those of its broad class, unless it
 * is EAR_MODEL_COUNT. Silence where there is none. */
static int most_heard(const size_t *frames, int like)
{
    int best = EAR_MODEL_SILENCE;
    for (int k = 1; k < EAR_MODEL_COUNT; k++)
        if (frames[k] > 0 && (best == EAR_MODEL_SILENCE || frames[k] > frames[best]) &&
            (like == EAR_MODEL_COUNT ||
             ear_model_broad((enum ear_model_id)k) == ear_model_broad((enum ear_model_id)like)))
            best = k;
    return best;
}

/* The model itself if it was heard, else the nearest that was. */
static int heard_model(int model, const size_t *frames)
{
    int m = model;
    for (int step = 0; step < EAR_MODEL_COUNT && frames[m] == 0; step++)
        m = (int)ear_model_stand_in((enum ear_model_id)m);
    if (frames[m] > 0)
        return m;
    int best = most_heard(frames, model);
    if (best == EAR_MODEL_SILENCE) /* and stays it where no sound at all was heard long enough */
        best = most_heard(frames, EAR_MODEL_COUNT);
    return best;
}

/* Gives the number of slots; slot_of is filled. */
static int32_t slots_of_heard_models(const struct ear_example *examples, size_t count,
                                     int16_t slot_of[EAR_PDF_COUNT])
{
    size_t frames[EAR_MODEL_COUNT] = {0};
    int16_t slot_of_model[EAR_MODEL_COUNT];
    int16_t slots = 0;
    for (size_t e = 0; e < count; e++)
        for (size_t t = 0; t < examples[e].features->frame_count; t++)
            if (ear_frame_counts(&examples[e], t))
                frames[examples[e].graph->pdf[examples[e].path[t]] / EAR_STATES]++;
    for (int m = 0; m < EAR_MODEL_COUNT; m++) {
        if (frames[m] < 9 && m != EAR_MODEL_SILENCE)
            frames[m] = 0;
        slot_of_model[m] = slots;
        if (frames[m] > 0 || m == EAR_MODEL_SILENCE)
            slots = (int16_t)(slots + EAR_STATES);
    }
    for (int m = 0; m < EAR_MODEL_COUNT; m++) {
        int heard = m == EAR_MODEL_SILENCE ? m : heard_model(m, frames);
        for (int s = 0; s < EAR_STATES; s++)
            slot_of[m * EAR_STATES + s] = (int16_t)(slot_of_model[heard] + s);
    }
    return slots;
}

/* --- one slot -------------------------------------------------------------------- */
struct mixture {
    int count;
    float weight[EAR_MAX_MIX];
    float mean[EAR_MAX_MIX][EAR_DIM], var[EAR_MAX_MIX][EAR_DIM];
};
struct sums {
    double n[EAR_MAX_MIX];
    double x[EAR_MAX_MIX][EAR_DIM], xx[EAR_MAX_MIX][EAR_DIM];
};

static void moments(const float *const *rows, size_t count, float mean[EAR_DIM], float var[EAR_DIM])
{
    double sum[EAR_DIM] = {0}, squares[EAR_DIM] = {0};
    for (size_t i = 0; i < count; i++)
        for (int k = 0; k < EAR_DIM; k++) {
            sum[k] += (double)rows[i][k];
            squares[k] += (double)rows[i][k] * (double)rows[i][k];
        }
    for (int k = 0; k < EAR_DIM; k++) {
        double m = sum[k] / (double)count, v = squares[k] / (double)count - m * m;
        mean[k] = (float)m;
        var[k] = (float)(v > 0 ? v : 0);
    }
}

/* Each Gaussian becomes two, a fifth of its spread to each side. */
static void split(struct mixture *mix)
{
    int n = mix->count;
    for (int m = 0; m < n; m++) {
        mix->weight[m] /= 2;
        mix->weight[n + m] = mix->weight[m];
        for (int k = 0; k < EAR_DIM; k++) {
            float step = 0.2f * sqrtf(mix->var[m][k]);
            mix->var[n + m][k] = mix->var[m][k];
            mix->mean[n + m][k] = mix->mean[m][k] + step;
            mix->mean[m][k] -= step;
        }
    }
    mix->count = 2 * n;
}

/* Responsibilities of a block of frames, and their sums. */
EAR_FAST static void add_block(const struct mixture *mix, const float bias[EAR_MAX_MIX],
                               float inverse[EAR_MAX_MIX][EAR_DIM], const float *const *rows,
                               size_t count, struct sums *sums)
{
    float x[EAR_DIM][BLOCK], log_p[EAR_MAX_MIX][BLOCK], top[BLOCK], total[BLOCK];
    for (size_t i = 0; i < BLOCK; i++)
        for (int k = 0; k < EAR_DIM; k++)
            x[k][i] = rows[i < count ? i : 0][k];
    for (int m = 0; m < mix->count; m++) {
        for (int i = 0; i < BLOCK; i++)
            log_p[m][i] = bias[m];
        for (int k = 0; k < EAR_DIM; k++) {
            float mean = mix->mean[m][k], half = -0.5f * inverse[m][k];
            for (int i = 0; i < BLOCK; i++) {
                float off = x[k][i] - mean;
                log_p[m][i] += half * off * off;
            }
        }
    }
    for (int i = 0; i < BLOCK; i++) {
        top[i] = log_p[0][i];
        for (int m = 1; m < mix->count; m++)
            top[i] = log_p[m][i] > top[i] ? log_p[m][i] : top[i];
        total[i] = 0;
    }
    for (int m = 0; m < mix->count; m++)
        for (int i = 0; i < BLOCK; i++) {
            log_p[m][i] = expf(log_p[m][i] - top[i]);
            total[i] += log_p[m][i];
        }
    for (int m = 0; m < mix->count; m++) {
        float n = 0, sum[EAR_DIM] = {0}, squares[EAR_DIM] = {0};
        for (size_t i = 0; i < count; i++) {
            float share = log_p[m][i] / total[i];
            n += share;
            for (int k = 0; k < EAR_DIM; k++) {
                float part = share * rows[i][k];
                sum[k] += part;
                squares[k] += part * rows[i][k];
            }
        }
        sums->n[m] += (double)n;
        for (int k = 0; k < EAR_DIM; k++) {
            sums->x[m][k] += (double)sum[k];
            sums->xx[m][k] += (double)squares[k];
        }
    }
}

static void expect(const struct mixture *mix, const float *const *rows, size_t count,
                   struct sums *sums)
{
    float bias[EAR_MAX_MIX], inverse[EAR_MAX_MIX][EAR_DIM];
    memset(sums, 0, sizeof *sums);
    for (int m = 0; m < mix->count; m++) {
        double logs = 0;
        for (int k = 0; k < EAR_DIM; k++) {
            inverse[m][k] = 1.0f / mix->var[m][k];
            logs += log((double)mix->var[m][k]);
        }
        bias[m] = (float)(log((double)mix->weight[m] + 1e-10) - 0.5 * logs);
    }
    for (size_t i = 0; i < count; i += BLOCK)
        add_block(mix, bias, inverse, rows + i, count - i < BLOCK ? count - i : BLOCK, sums);
}

static void maximise(const struct estimation *e, struct mixture *mix, const struct sums *sums,
                     const float slot_var[EAR_DIM])
{
    double total = 0;
    for (int m = 0; m < mix->count; m++)
        total += sums->n[m] + 0.5;
    for (int m = 0; m < mix->count; m++) {
        double n = sums->n[m];
        mix->weight[m] = (float)((n + 0.5) / total);
        if (n <= 3)
            continue;
        for (int k = 0; k < EAR_DIM; k++) {
            double mean = sums->x[m][k] / n, var = sums->xx[m][k] / n - mean * mean;
            var = (n * fmax(var, 0) + SPREAD_STRENGTH * ((double)slot_var[k] + 1e-3)) /
                  (n + SPREAD_STRENGTH);
            mix->mean[m][k] = (float)mean;
            mix->var[m][k] = fmaxf((float)var, least_spread * e->all_var[k]);
        }
    }
}

/* Towards the prior: as if each of its Gaussians had been heard for tau frames already. */
static void maximise_with_prior(const struct estimation *e, struct mixture *mix,
                                const struct sums *sums, const struct mixture *prior)
{
    double tau = (double)e->how->tau, total = 0;
    for (int m = 0; m < mix->count; m++)
        total += sums->n[m];
    for (int m = 0; m < mix->count; m++) {
        double n = sums->n[m];
        mix->weight[m] = (float)((n + tau * (double)prior->weight[m]) / (total + tau));
        for (int k = 0; k < EAR_DIM; k++) {
            double pm = (double)prior->mean[m][k], pv = (double)prior->var[m][k];
            double mean = (sums->x[m][k] + tau * pm) / (n + tau);
            double square = (sums->xx[m][k] + tau * (pv + pm * pm)) / (n + tau);
            mix->mean[m][k] = (float)mean;
            mix->var[m][k] = fmaxf((float)(square - mean * mean), least_spread * e->all_var[k]);
        }
    }
}

static void mixture_get(const struct ear_densities *d, size_t slot, struct mixture *mix)
{
    size_t g = slot * EAR_MAX_MIX;
    mix->count = d->mix_of[slot];
    memcpy(mix->weight, d->weight + g, sizeof mix->weight);
    memcpy(mix->mean, d->mean + g * EAR_DIM, sizeof mix->mean);
    memcpy(mix->var, d->var + g * EAR_DIM, sizeof mix->var);
}

static void mixture_put(struct ear_densities *d, size_t slot, const struct mixture *mix)
{
    size_t g = slot * EAR_MAX_MIX;
    d->mix_of[slot] = (uint8_t)mix->count;
    memcpy(d->weight + g, mix->weight, sizeof mix->weight);
    memcpy(d->mean + g * EAR_DIM, mix->mean, sizeof mix->mean);
    memcpy(d->var + g * EAR_DIM, mix->var, sizeof mix->var);
}

static void estimate_slot(void *ctx, size_t slot)
{
    struct estimation *e = ctx;
    const float *const *rows = e->rows + e->first[slot];
    size_t count = e->first[slot + 1] - e->first[slot];
    struct mixture mix = {0}, prior = {0};
    float slot_mean[EAR_DIM], slot_var[EAR_DIM];
    if (count > 0)
        moments(rows, count, slot_mean, slot_var);
    if (e->prior)
        mixture_get(e->prior, slot, &prior);
    if (e->previous) {
        mixture_get(e->previous, slot, &mix);
        while (mix.count < e->mix && count >= (size_t)(mix.count * SPLIT_FRAMES) && !e->prior)
            split(&mix);
    } else {
        mix.count = 1;
        mix.weight[0] = 1;
        for (int k = 0; k < EAR_DIM; k++) {
            mix.mean[0][k] = count > 0 ? slot_mean[k] : e->all_mean[k];
            mix.var[0][k] = count > 3 ? slot_var[k] + 0.01f : e->all_var[k];
        }
    }
    for (int i = 0; i < 2 && count >= 5; i++) {
        struct sums sums;
        expect(&mix, rows, count, &sums);
        if (e->prior)
            maximise_with_prior(e, &mix, &sums, &prior);
        else
            maximise(e, &mix, &sums, slot_var);
    }
    mixture_put(e->out, slot, &mix);
    float stay = 1.0f - (float)(e->entries[slot] + 1) / (float)(count + 2);
    if (e->prior && count < 5)
        stay = e->prior->stay[slot];
    e->out->stay[slot] = fminf(fmaxf(stay, 0.3f), 0.985f);
    e->out->frames[slot] = (float)count + (e->prior ? e->prior->frames[slot] : 0);
}

/* --- all slots --------------------------------------------------------------------- */
static int gather(struct estimation *e)
{
    const struct ear_densities *d = e->out;
    size_t total = 0, slots = (size_t)d->slot_count;
    for (size_t x = 0; x < e->example_count; x++)
        total += e->examples[x].features->frame_count;
    e->first = calloc(slots + 2, sizeof *e->first);
    e->entries = calloc(slots, sizeof *e->entries);
    e->rows = malloc((total + 1) * sizeof *e->rows);
    if (!e->first || !e->entries || !e->rows)
        return -1;
    for (int pass = 0; pass < 2; pass++) {
        for (size_t x = 0; x < e->example_count; x++) {
            const struct ear_example *example = &e->examples[x];
            for (size_t t = 0; t < example->features->frame_count; t++) {
                int16_t slot = d->slot_of[example->graph->pdf[example->path[t]]];
                if (!ear_frame_counts(example, t))
                    continue;
                if (pass == 0) {
                    e->first[slot + 2]++;
                    if (t == 0 || example->path[t] != example->path[t - 1])
                        e->entries[slot]++;
                } else {
                    e->rows[e->first[slot + 1]++] = ear_row(example->features, t);
                }
            }
        }
        if (pass == 0)
            for (size_t s = 2; s <= slots + 1; s++)
                e->first[s] += e->first[s - 1];
    }
    return 0;
}

/* Mean and spread of all frames together. */
static void overall_moments(struct estimation *e)
{
    double sum[EAR_DIM] = {0}, squares[EAR_DIM] = {0}, n = 0;
    for (size_t x = 0; x < e->example_count; x++)
        for (size_t t = 0; t < e->examples[x].features->frame_count; t += 3) {
            const float *row = ear_row(e->examples[x].features, t);
            n++;
            for (int k = 0; k < EAR_DIM; k++) {
                sum[k] += (double)row[k];
                squares[k] += (double)row[k] * (double)row[k];
            }
        }
    for (int k = 0; k < EAR_DIM; k++) {
        double m = sum[k] / n;
        e->all_mean[k] = (float)m;
        e->all_var[k] = (float)fmax(squares[k] / n - m * m, 1e-4);
    }
}

enum mst_status ear_estimate(const struct ear_example *examples, size_t count,
                             const struct ear_training *how, int broad, int mix,
                             const struct ear_model *previous, struct ear_model *out,
                             struct mst_error *err)
{
    struct estimation e = {.examples = examples, .example_count = count, .how = how, .mix = mix};
    struct ear_lengths lengths = {0};
    enum mst_status status;
    int16_t slot_of[EAR_PDF_COUNT];
    int32_t slots = EAR_BROAD_COUNT * EAR_STATES;
    memset(out, 0, sizeof *out);
    if (how->prior)
        e.prior = &how->prior->densities;
    if (previous)
        e.previous = &previous->densities;
    if (e.previous)
        slots = e.previous->slot_count;
    else if (!broad)
        slots = slots_of_heard_models(examples, count, slot_of);
    status = ear_densities_make(&out->densities, slots, err);
    if (status)
        return status;
    e.out = &out->densities;
    if (e.previous)
        memcpy(e.out->slot_of, e.previous->slot_of, sizeof slot_of);
    else if (!broad)
        memcpy(e.out->slot_of, slot_of, sizeof slot_of);
    else
        slots_of_broad_classes(e.out);
    overall_moments(&e);
    if (gather(&e) != 0) {
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while learning a voice");
        goto out;
    }
    ear_parallel(how->threads, (size_t)slots, estimate_slot, &e);
    status = ear_densities_pack(&out->densities, err);
    if (status)
        goto out;
    for (size_t x = 0; x < count; x++)
        ear_lengths_of_path(examples[x].graph, examples[x].path, examples[x].features->frame_count,
                            &lengths);
    float short_frames = 8;
    if (lengths.count[MST_LENGTH_SHORT] > 0) {
        double sum = 0; /* mean of logs: like the median, without sorting */
        for (int32_t i = 0; i < lengths.count[MST_LENGTH_SHORT]; i++)
            sum += log(lengths.frames[MST_LENGTH_SHORT][i]);
        short_frames = (float)exp(sum / lengths.count[MST_LENGTH_SHORT]);
    }
    /* Lengths laid out by weights say nothing of this voice but its pace. */
    status = ear_durations_make(&out->durations, previous || !broad ? &lengths : NULL,
                                how->prior ? &how->prior->durations : NULL, short_frames,
                                how->duration_weight, err);
out:
    ear_lengths_clear(&lengths);
    free(e.first);
    free(e.entries);
    free(e.rows);
    if (status)
        ear_model_clear(out);
    return status;
}

/* --- paths as units ------------------------------------------------------------------ */
size_t ear_unit_end(const struct ear_graph *g, const int32_t *path, size_t from, size_t frames)
{
    int32_t unit = g->unit_of[path[from]];
    int silent = g->units[unit].model == EAR_MODEL_SILENCE;
    size_t t = from + 1;
    while (t < frames && g->unit_of[path[t]] == unit && (silent || path[t] >= path[t - 1]))
        t++;
    return t;
}

void ear_lengths_of_path(const struct ear_graph *g, const int32_t *path, size_t frames,
                         struct ear_lengths *out)
{
    for (size_t t = 0; t < frames;) {
        size_t end = ear_unit_end(g, path, t, frames);
        const struct ear_graph_unit *u = &g->units[g->unit_of[path[t]]];
        if (u->model != EAR_MODEL_SILENCE)
            ear_lengths_add(out, u->cls, (int32_t)(end - t));
        t = end;
    }
}

/* --- rounds ---------------------------------------------------------------------------- */
struct round_work {
    struct ear_example *examples;
    const struct ear_model *model;
    struct ear_search search;
    enum mst_status *status;
    struct mst_error *errors;
    double *scores;
};

static void align_example(void *ctx, size_t index)
{
    struct round_work *work = ctx;
    struct ear_example *example = &work->examples[index];
    work->status[index] = ear_viterbi(example->graph, work->model, example->features, &work->search,
                                      example->path, &work->scores[index], &work->errors[index]);
}

/* Align all examples anew with the model as it stands. */
static enum mst_status align_all(struct ear_example *examples, size_t count,
                                 struct ear_model *model, const struct ear_training *how,
                                 int extras, double from, double to, struct mst_error *err)
{
    struct round_work work = {.examples = examples, .model = model};
    enum mst_status status = MST_OK;
    double score = 0, frames = 0;
    work.status = calloc(count, sizeof *work.status);
    work.errors = calloc(count, sizeof *work.errors);
    work.scores = calloc(count, sizeof *work.scores);
    if (!work.status || !work.errors || !work.scores) {
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while learning a voice");
        goto out;
    }
    work.search = (struct ear_search){.beam = how->beam,
                                      .extras = extras,
                                      .threads = count == 1 ? how->threads : 1,
                                      .progress = count == 1 ? how->progress : NULL,
                                      .progress_from = from,
                                      .progress_to = to};
    ear_parallel(count == 1 ? 1 : how->threads, count, align_example, &work);
    for (size_t i = 0; i < count; i++) {
        if (work.status[i]) {
            if (err)
                *err = work.errors[i];
            status = work.status[i];
            goto out;
        }
        score += work.scores[i];
        frames += (double)examples[i].features->frame_count;
    }
    model->mean_log_likelihood = (float)(score / frames);
    status = ear_progress(how->progress, to, err);
out:
    free(work.status);
    free(work.errors);
    free(work.scores);
    return status;
}

static enum mst_status run_stages(struct ear_example *examples, size_t count,
                                  const struct ear_training *how, int broad,
                                  const struct ear_stage *stages, size_t stage_count,
                                  struct ear_model *model, double from, double to,
                                  struct mst_error *err)
{
    int rounds = 0, done = 0;
    for (size_t s = 0; s < stage_count; s++)
        rounds += stages[s].rounds;
    for (size_t s = 0; s < stage_count; s++) {
        for (int r = 0; r < stages[s].rounds; r++) {
            struct ear_model next;
            double a = from + (to - from) * done / rounds;
            double b = from + (to - from) * (done + 1) / rounds;
            done++;
            int extras = how->strays && !broad && stages[s].mix > 1;
            enum mst_status status = align_all(examples, count, model, how, extras, a, b, err);
            if (!status)
                status =
                    ear_estimate(examples, count, how, broad, stages[s].mix, model, &next, err);
            if (status)
                return status;
            next.mean_log_likelihood = model->mean_log_likelihood;
            ear_model_clear(model);
            *model = next;
        }
    }
    return MST_OK;
}

enum mst_status ear_self_train(struct ear_example *examples, size_t count,
                               const struct ear_training *how, int from_start,
                               struct ear_model *out, struct mst_error *err)
{
    static const struct ear_stage broad[] = {{1, 6}, {2, 3}};
    static const struct ear_stage single[] = {{1, 6}, {2, 4}, {4, 3}};
    static const size_t few_seconds = 150; /* too little for four Gaussians */
    double from = how->progress_from, to = how->progress_to, middle = from;
    enum mst_status status;
    size_t frames = 0;
    memset(out, 0, sizeof *out);
    for (size_t i = 0; i < count; i++)
        frames += examples[i].features->frame_count;
    if (from_start) {
        struct ear_training wide = *how;
        wide.beam = how->beam * 1.6f;
        middle = from + 0.4 * (to - from);
        status = ear_estimate(examples, count, how, 1, 1, NULL, out, err);
        if (!status)
            status = run_stages(examples, count, &wide, 1, broad, sizeof broad / sizeof *broad, out,
                                from, middle, err);
        if (!status)
            status = align_all(examples, count, out, &wide, 0, middle, middle, err);
        ear_model_clear(out);
        if (status)
            return status;
    }
    status = ear_estimate(examples, count, how, 0, 1, NULL, out, err);
    if (!status)
        status =
            run_stages(examples, count, how, 0, single,
                       frames * EAR_FRAME_MS < few_seconds * 1000 ? 2 : 3, out, middle, to, err);
    if (status)
        ear_model_clear(out);
    return status;
}
