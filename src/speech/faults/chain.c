/*
 * chain.c – how likely is a row of sounds in a stretch of the take: the
 * trellis of the ear (viterbi.c), for one way only, so that a right row and a
 * wrong one can be held against each other with everything else equal.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* As in viterbi.c: what speech costs per frame where there is surely none. */
static const float quiet_price = 100.0f;

enum mst_status fault_window_make(struct fault_window *w, const struct fault_judge *judge,
                                  int32_t first_fr, int32_t end_fr, struct mst_error *err)
{
    const struct ear_densities *d = &judge->model.densities;
    memset(w, 0, sizeof *w);
    w->judge = judge;
    w->first_fr = first_fr;
    w->frames = end_fr - first_fr;
    w->likelihoods = malloc((size_t)(w->frames + 1) * (size_t)d->padded * sizeof *w->likelihoods);
    if (!w->likelihoods)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
    for (int32_t t = 0; t < w->frames;) {
        size_t frame = (size_t)(first_fr + t), left = EAR_CHUNK_FRAMES - frame % EAR_CHUNK_FRAMES;
        size_t count = (size_t)(w->frames - t) < left ? (size_t)(w->frames - t) : left;
        ear_log_likelihoods(d, ear_row(judge->f, frame), count,
                            w->likelihoods + (size_t)t * (size_t)d->padded);
        t += (int32_t)count;
    }
    return MST_OK;
}

void fault_window_clear(struct fault_window *w)
{
    free(w->likelihoods);
    free(w->best);
    free(w->spare);
    free(w->age);
    free(w->spare_age);
    memset(w, 0, sizeof *w);
}

static int make_room(struct fault_window *w, int32_t states)
{
    if (states <= w->state_cap)
        return 1;
    free(w->best);
    free(w->spare);
    free(w->age);
    free(w->spare_age);
    size_t n = (size_t)states;
    w->best = malloc(n * sizeof *w->best);
    w->spare = malloc(n * sizeof *w->spare);
    w->age = malloc(n * sizeof *w->age);
    w->spare_age = malloc(n * sizeof *w->spare_age);
    w->state_cap = w->best && w->spare && w->age && w->spare_age ? states : 0;
    return w->state_cap > 0;
}

struct chain_state {
    int16_t slot;
    uint8_t silent, first; /* first: of its unit */
    int32_t class_row;
    float log_stay, log_move;
};

/* One frame on: every state stays, or the one before it moves in. */
static void advance(struct fault_window *w, const struct chain_state *states, int32_t count,
                    const float *row, int quiet)
{
    const struct ear_durations *lengths = &w->judge->model.durations;
    for (int32_t s = 0; s < count; s++) {
        const struct chain_state *c = &states[s];
        int32_t age = w->age[s] + 1 < EAR_MAX_AGE ? w->age[s] + 1 : EAR_MAX_AGE - 1;
        float best = w->best[s] + c->log_stay + lengths->stay[c->class_row + age];
        int32_t best_age = age;
        if (s > 0 && w->best[s - 1] > EAR_NOWHERE / 2) {
            const struct chain_state *b = &states[s - 1];
            int32_t old = w->age[s - 1];
            int32_t older = old + 1 < EAR_MAX_AGE ? old + 1 : EAR_MAX_AGE - 1;
            float moved = w->best[s - 1] + b->log_move +
                          (c->first ? lengths->leave[b->class_row + old]
                                    : lengths->stay[b->class_row + older]);
            if (moved > best) {
                best = moved;
                best_age = c->first ? 1 : older;
            }
        }
        w->spare[s] = best > EAR_NOWHERE / 2
                          ? best + row[c->slot] - (quiet && !c->silent ? quiet_price : 0)
                          : EAR_NOWHERE;
        w->spare_age[s] = best_age;
    }
    float *best = w->best;
    int32_t *age = w->age;
    w->best = w->spare;
    w->spare = best;
    w->age = w->spare_age;
    w->spare_age = age;
}

double fault_chain_score(struct fault_window *w, const struct ear_unit *units, int32_t count)
{
    const struct ear_model *m = &w->judge->model;
    struct chain_state *states = malloc((size_t)count * 4 * sizeof *states);
    int32_t n = 0;
    for (int32_t u = 0; states && u < count; u++) {
        int silent = units[u].model == EAR_MODEL_SILENCE;
        int32_t here = units[u].geminate ? 4 : 3;
        for (int32_t k = 0; k < here; k++) {
            int third = k == 0 ? 0 : k + 1 == here ? 2 : 1;
            int16_t slot = m->densities.slot_of[units[u].model * EAR_STATES + third];
            float stay = m->densities.stay[slot];
            states[n++] = (struct chain_state){
                .slot = slot,
                .silent = (uint8_t)silent,
                .first = k == 0,
                .class_row = (silent ? MST_LENGTH_NONE : (int32_t)units[u].cls) * EAR_MAX_AGE,
                .log_stay = logf(stay),
                .log_move = logf(1 - stay)};
        }
    }
    double carried = 0;
    if (!states || n == 0 || n > w->frames || !make_room(w, n)) {
        free(states);
        return (double)EAR_NOWHERE;
    }
    const uint8_t *quiet = w->judge->f->quiet + w->first_fr;
    size_t wide = (size_t)m->densities.padded;
    for (int32_t s = 0; s < n; s++) {
        w->best[s] = EAR_NOWHERE;
        w->age[s] = 1;
    }
    w->best[0] = w->likelihoods[states[0].slot] - (quiet[0] && !states[0].silent ? quiet_price : 0);
    for (int32_t t = 1; t < w->frames; t++) {
        advance(w, states, n, w->likelihoods + (size_t)t * wide, quiet[t]);
        if (t % 256 == 0) { /* small numbers stay exact */
            float top = EAR_NOWHERE;
            for (int32_t s = 0; s < n; s++)
                top = w->best[s] > top ? w->best[s] : top;
            carried += (double)top;
            for (int32_t s = 0; s < n; s++)
                w->best[s] = w->best[s] > EAR_NOWHERE / 2 ? w->best[s] - top : EAR_NOWHERE;
        }
    }
    double score = (double)w->best[n - 1];
    if (score > (double)EAR_NOWHERE / 2)
        score += carried + (double)states[n - 1].log_move +
                 (double)m->durations.leave[states[n - 1].class_row + w->age[n - 1]];
    free(states);
    return score;
}
