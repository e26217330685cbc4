/*
 * judge.c – a voice to judge a take by. A voice that learned from the take
 * itself would take its faults for normal; so it is another one (the
 * teacher's, or any stored voice), brought near by the length of the vocal
 * tract and by one linear map of all means (maximum likelihood linear
 * regression: Leggetter & Woodland, Computer Speech and Language 9, 1995):
 * too few numbers to learn single faults.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MAP_ROUNDS = 2, ROWS = 128 };

/* What was heard as a graph with one way through it. */
static enum mst_status row_graph(const struct fault_heard *h, struct ear_graph *g,
                                 struct mst_error *err)
{
    size_t most = (size_t)h->count * 4 + 1;
    memset(g, 0, sizeof *g);
    g->units = calloc((size_t)h->count + 1, sizeof *g->units);
    g->pdf = calloc(most, sizeof *g->pdf);
    g->unit_of = calloc(most, sizeof *g->unit_of);
    g->arc_first = calloc(most + 1, sizeof *g->arc_first);
    g->arcs = calloc(most, sizeof *g->arcs);
    g->starts = calloc(1, sizeof *g->starts);
    g->final_cost = malloc(most * sizeof *g->final_cost);
    g->loose_final = malloc(most * sizeof *g->loose_final);
    if (!g->units || !g->pdf || !g->unit_of || !g->arc_first || !g->arcs || !g->starts ||
        !g->final_cost || !g->loose_final) {
        ear_graph_clear(g);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
    }
    g->script = h->timeline->script;
    g->start_count = g->strict_start_count = 1;
    for (int32_t u = 0; u < h->count; u++) {
        const struct ear_unit *unit = &h->units[u].unit;
        int pause = unit->model == EAR_MODEL_SILENCE;
        int32_t states = unit->geminate ? 4 : 3;
        g->units[u] = (struct ear_graph_unit){.model = unit->model,
                                              .cls = pause ? MST_LENGTH_NONE : unit->cls,
                                              .last = 1,
                                              .word = h->units[u].word,
                                              .form = pause ? -1 : 0,
                                              .unit = pause ? -1 : u};
        for (int32_t k = 0; k < states; k++) {
            int third = k == 0 ? 0 : k + 1 == states ? 2 : 1;
            g->pdf[g->state_count] = (int16_t)(unit->model * EAR_STATES + third);
            g->unit_of[g->state_count++] = u;
        }
    }
    g->unit_count = h->count;
    for (int32_t s = 0; s < g->state_count; s++) {
        g->arc_first[s] = s;
        g->arcs[s] = (struct ear_arc){s + 1, 0};
        g->final_cost[s] = g->loose_final[s] = s + 1 == g->state_count ? 0 : EAR_NOWHERE;
    }
    if (g->state_count > 0)
        g->arc_first[g->state_count] = g->state_count - 1; /* nothing follows the last */
    return MST_OK;
}

/* A first path: each unit in equal parts. */
static void even_path(const struct fault_heard *h, int32_t *path, int64_t frames)
{
    int32_t state = 0, last = 0;
    for (int32_t u = 0; u < h->count; u++) {
        int32_t states = h->units[u].unit.geminate ? 4 : 3;
        int32_t len = h->units[u].end_fr - h->units[u].start_fr;
        for (int32_t t = 0; t < len; t++)
            path[h->units[u].start_fr + t] = state + (int32_t)((int64_t)t * states / len);
        state += states;
        last = h->units[u].end_fr;
    }
    for (int64_t t = last; t < frames; t++)
        path[t] = state - 1;
}

static double path_likelihood(const struct ear_graph *g, const struct ear_model *m,
                              const struct mst_features *f, const int32_t *path, float *room)
{
    size_t wide = (size_t)m->densities.padded;
    double sum = 0;
    for (size_t t = 0; t < f->frame_count; t += ROWS) {
        size_t count = f->frame_count - t < ROWS ? f->frame_count - t : ROWS;
        ear_log_likelihoods(&m->densities, ear_row(f, t), count, room);
        for (size_t i = 0; i < count; i++)
            if (g->pdf[path[t + i]] >= EAR_STATES)
                sum +=
                    fmax((double)room[i * wide + (size_t)m->densities.slot_of[g->pdf[path[t + i]]]],
                         -150);
    }
    return sum;
}

/* The vocal tract's length by trying, along the path as it stands. */
static enum mst_status find_warp(struct fault_judge *j, const struct ear_graph *g,
                                 const struct mst_features *f, const struct ear_model *voice,
                                 const int32_t *path, struct mst_error *err)
{
    static const double tries[] = {1.0, 0.94, 1.06, 0.88, 1.13, 0.82, 1.2, 1.28};
    float *room = malloc(ROWS * (size_t)voice->densities.padded * sizeof *room);
    if (!room)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
    double best = path_likelihood(g, voice, f, path, room);
    enum mst_status status = MST_OK;
    for (size_t n = 1; n < sizeof tries / sizeof tries[0] && !status; n++) {
        struct mst_features *warped;
        status = ear_features_warp(f, tries[n], &warped, err);
        if (status)
            break;
        double here = path_likelihood(g, voice, warped, path, room);
        if (here > best) {
            best = here;
            mst_features_free(j->warped);
            j->warped = warped;
        } else {
            mst_features_free(warped);
        }
    }
    free(room);
    if (j->warped)
        j->f = j->warped;
    return status;
}

static enum mst_status bring_near(struct fault_judge *j, const struct ear_graph *g,
                                  const struct ear_model *voice, int32_t *path, int threads,
                                  struct mst_error *err)
{
    struct ear_search how = {.beam = EAR_BEAM, .threads = threads};
    enum mst_status status = ear_map_voice(g, path, j->f, voice, &j->model, err);
    for (int round = 1; round < MAP_ROUNDS && !status; round++) {
        double score;
        struct ear_model next;
        status = ear_viterbi(g, &j->model, j->f, &how, path, &score, err);
        if (status == MST_MISMATCH) /* the map as it is must do */
            return MST_OK;
        if (!status)
            status = ear_map_voice(g, path, j->f, voice, &next, err);
        if (!status) {
            ear_model_clear(&j->model);
            j->model = next;
        }
    }
    return status;
}

enum mst_status fault_judge_make(struct fault_judge *j, const struct fault_heard *h,
                                 const struct mst_features *f, const struct mst_voice *voice,
                                 int threads, struct mst_error *err)
{
    struct ear_graph g;
    int32_t *path = malloc((f->frame_count + 1) * sizeof *path);
    memset(j, 0, sizeof *j);
    j->f = f;
    if (!path)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
    enum mst_status status = row_graph(h, &g, err);
    if (status) {
        free(path);
        return status;
    }
    even_path(h, path, (int64_t)f->frame_count);
    if (voice) {
        status = find_warp(j, &g, f, &voice->model, path, err);
        if (!status)
            status = bring_near(j, &g, &voice->model, path, threads, err);
    } else {
        struct ear_example example = {f, &g, path, 0};
        struct ear_training how = {
            .duration_weight = EAR_DURATION_WEIGHT, .beam = EAR_BEAM, .threads = threads};
        status = ear_self_train(&example, 1, &how, 0, &j->model, err);
    }
    ear_graph_clear(&g);
    free(path);
    if (status)
        fault_judge_clear(j);
    return status;
}

void fault_judge_clear(struct fault_judge *j)
{
    mst_features_free(j->warped);
    ear_model_clear(&j->model);
    memset(j, 0, sizeof *j);
}
