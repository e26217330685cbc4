/*
 * viterbi.c – the best path through a graph for a take.
 *
 * One pass over time. Every state holds one token: its score, its age in the
 * unit, and the record of how it came. A record is written when a token
 * enters a state, not every frame; records that no living token goes back to
 * are swept away when their pool fills, so memory does not grow with the
 * length of the take. While one group of frames runs through the trellis the
 * likelihoods of the next are worked out beside it.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    GROUP_FRAMES = 1024,
    BLOCK_FRAMES = 128, /* frames per likelihood task */
    FIRST_POOL = 1 << 16
};
/* What a state other than silence costs per frame where there is surely no speech. */
static const float quiet_price = 100.0f;

struct record {
    int32_t state, frame, before;
};
struct token {
    int32_t state, record, age;
    float score;
};
/* A state as the trellis sees it, two to a cache line: where the tokens of the next frame gather,
 * and what every frame asks of it. */
struct place {
    float score;
    int32_t stamp; /* frame + 1 it was written for */
    int32_t from;  /* index of the token it came from */
    int16_t age;
    uint8_t moved;  /* it came from another state, or into the same unit anew */
    uint8_t onward; /* enum onward */
    float log_stay, log_move;
    int32_t lengths; /* where the state's class begins in the table of lengths */
    int16_t slot;
    uint8_t speech;
};
/* Nearly every state leads to the one behind it and nowhere else; the trellis then asks no list. */
enum onward { ONWARD_LIST, ONWARD_IN_UNIT, ONWARD_NEXT_UNIT };
/* Of a class and an age: what it costs to live on to the next, what to end at it. */
struct length_cost {
    float stay, leave;
};
struct trellis {
    const struct ear_graph *g;
    const struct ear_model *m;
    const struct mst_features *f;
    const struct ear_search *how;
    struct length_cost *lengths;
    struct token *now, *then;
    int32_t now_count, touched_count;
    int32_t *touched;
    struct place *places;
    struct record *pool;
    int32_t pool_count, pool_cap;
    int32_t *moved_to; /* marks, then new places, for sweeping */
    size_t next_pin;
    const struct ear_pin_frame *pin; /* the one that holds at this frame, or NULL */
    int failed;
    double carried; /* taken off every token so far: scores stay small, floats stay exact */
    /* group being run, group being prepared */
    float *likelihoods[2];
    size_t group_first[2], group_count[2];
};

/* --- records ---------------------------------------------------------------- */
static int grow_pool(struct trellis *t)
{
    int32_t cap = t->pool_cap ? t->pool_cap * 2 : FIRST_POOL;
    struct record *pool = realloc(t->pool, (size_t)cap * sizeof *pool);
    if (!pool)
        return -1;
    t->pool = pool;
    int32_t *moved_to = realloc(t->moved_to, (size_t)cap * sizeof *moved_to);
    if (!moved_to)
        return -1;
    t->moved_to = moved_to;
    t->pool_cap = cap;
    return 0;
}

/* Keep the records that a token of `list` goes back to. Older records have smaller places, so
 * one sweep downwards marks and one upwards moves. */
static void sweep(struct trellis *t, struct token *list, int32_t count)
{
    memset(t->moved_to, 0, (size_t)t->pool_count * sizeof *t->moved_to);
    for (int32_t i = 0; i < count; i++)
        if (list[i].record >= 0)
            t->moved_to[list[i].record] = 1;
    for (int32_t r = t->pool_count - 1; r >= 0; r--)
        if (t->moved_to[r] && t->pool[r].before >= 0)
            t->moved_to[t->pool[r].before] = 1;
    int32_t kept = 0;
    for (int32_t r = 0; r < t->pool_count; r++) {
        if (!t->moved_to[r])
            continue;
        struct record record = t->pool[r];
        record.before = record.before >= 0 ? t->moved_to[record.before] : -1;
        t->pool[kept] = record;
        t->moved_to[r] = kept++;
    }
    for (int32_t i = 0; i < count; i++)
        if (list[i].record >= 0)
            list[i].record = t->moved_to[list[i].record];
    t->pool_count = kept;
}

static int32_t new_record(struct trellis *t, int32_t state, int32_t frame, int32_t before)
{
    t->pool[t->pool_count] = (struct record){state, frame, before};
    return t->pool_count++;
}

/* --- one frame ----------------------------------------------------------------- */
/* Is the state an allowed one at the frame of a pin? */
static int pin_allows(const struct trellis *t, int32_t state, int moved)
{
    const struct ear_pin_frame *pin = t->pin;
    const struct ear_graph *g = t->g;
    const struct ear_graph_unit *u = &g->units[g->unit_of[state]];
    if (!moved || u->word != pin->word || u->form < 0)
        return 0;
    if (state > 0 && g->unit_of[state - 1] == g->unit_of[state])
        return 0; /* not the unit's first state */
    return u->unit - g->script->forms[u->form].first_unit == pin->sound;
}

static inline void offer(struct trellis *t, int32_t state, float score, int32_t from, int32_t age,
                         uint8_t moved, int32_t stamp)
{
    struct place *p = &t->places[state];
    if (t->pin && !pin_allows(t, state, moved))
        return;
    if (p->stamp != stamp)
        t->touched[t->touched_count++] = state;
    else if (score <= p->score)
        return;
    p->score = score;
    p->stamp = stamp;
    p->from = from;
    p->age = (int16_t)age;
    p->moved = moved;
}

/* May an arc lead on within the unit? The last state of a unit may lead back into the unit's
 * first, which is a new life; a pause may grow longer. */
static int within_unit(const struct ear_graph *g, int32_t from, int32_t to)
{
    int32_t unit = g->unit_of[from];
    return g->unit_of[to] == unit && (to > from || g->units[unit].model == EAR_MODEL_SILENCE);
}

static void offer_arcs(struct trellis *t, const struct ear_arc *arc, const struct ear_arc *end,
                       int32_t i, float score, float stay, float leave, int32_t age, int32_t stamp)
{
    int32_t from = t->now[i].state;
    for (; arc < end; arc++) {
        if (within_unit(t->g, from, arc->to))
            offer(t, arc->to, score + arc->cost + stay, i, age, 1, stamp);
        else
            offer(t, arc->to, score + arc->cost + leave, i, 1, 1, stamp);
    }
}

/* Offer every token to the states it may be in at the next frame. */
static void offer_tokens(struct trellis *t, int32_t stamp)
{
    enum { AHEAD = 8 /* tokens whose places are fetched while this one is at work */ };
    const struct ear_graph *g = t->g;
    for (int32_t i = 0; i < t->now_count; i++) {
        const struct token *token = &t->now[i];
        int32_t s = token->state, age = token->age + 1;
        const struct place *p = &t->places[s];
        const struct length_cost *cost = &t->lengths[p->lengths + token->age];
        if (i + AHEAD < t->now_count)
            __builtin_prefetch(&t->places[token[AHEAD].state]);
        float stay = cost->stay, leave = cost->leave, score = token->score + p->log_move;
        enum onward onward = (enum onward)p->onward;
        if (age >= EAR_MAX_AGE)
            age = EAR_MAX_AGE - 1;
        offer(t, s, token->score + p->log_stay + stay, i, age, 0, stamp);
        if (onward == ONWARD_IN_UNIT) {
            offer(t, s + 1, score + stay, i, age, 1, stamp);
        } else if (onward == ONWARD_NEXT_UNIT) {
            offer(t, s + 1, score + leave, i, 1, 1, stamp);
        } else {
            offer_arcs(t, g->arcs + g->arc_first[s], g->arcs + g->arc_first[s + 1], i, score, stay,
                       leave, age, stamp);
            if (t->how->extras)
                offer_arcs(t, g->extras + g->extra_first[s], g->extras + g->extra_first[s + 1], i,
                           score, stay, leave, age, stamp);
        }
    }
}

/* The places that are good enough become tokens of `then`; gives how many. Every one is written
 * and only counted where it is kept: which are cannot be foreseen, and there is room for all. */
static int32_t keep_tokens(struct trellis *t, int32_t frame, float threshold, float best)
{
    struct token *restrict out = t->then;
    struct record *restrict pool = t->pool;
    int32_t kept = 0, records = t->pool_count;
    for (int32_t i = 0; i < t->touched_count; i++) {
        int32_t state = t->touched[i];
        const struct place *p = &t->places[state];
        int32_t before = t->now[p->from].record, keep = !(p->score < threshold);
        pool[records] = (struct record){state, frame, before};
        out[kept] = (struct token){.state = state,
                                   .record = p->moved ? records : before,
                                   .age = p->age,
                                   .score = p->score - best};
        kept += keep;
        records += keep & p->moved;
    }
    t->pool_count = records;
    return kept;
}

/* Move every token on to frame. */
static void advance(struct trellis *t, size_t frame, const float *likelihoods)
{
    int quiet = t->f->quiet[frame];
    t->touched_count = 0;
    t->pin = NULL;
    if (t->next_pin < t->how->pin_count && t->how->pins[t->next_pin].frame <= (int64_t)frame)
        t->pin = &t->how->pins[t->next_pin++];
    offer_tokens(t, (int32_t)frame + 1);
    float best = EAR_NOWHERE;
    for (int32_t i = 0; i < t->touched_count; i++) {
        struct place *p = &t->places[t->touched[i]];
        p->score += likelihoods[p->slot];
        if (quiet && p->speech)
            p->score -= quiet_price;
        if (p->score > best)
            best = p->score;
    }
    float threshold = best - t->how->beam;
    t->carried += (double)best;
    if (best <= EAR_NOWHERE) {
        t->now_count = 0;
        return;
    }
    if (t->pool_count + t->touched_count >= t->pool_cap) {
        sweep(t, t->now, t->now_count);
        while (t->pool_count + t->touched_count > t->pool_cap / 2)
            if (grow_pool(t) != 0) {
                t->failed = 1;
                t->now_count = 0;
                return;
            }
    }
    t->now_count = keep_tokens(t, (int32_t)frame, threshold, best);
    struct token *spare = t->now;
    t->now = t->then;
    t->then = spare;
}

static void begin(struct trellis *t, const float *likelihoods)
{
    const struct ear_graph *g = t->g;
    int32_t count = t->how->loose_ends ? g->start_count : g->strict_start_count;
    t->touched_count = 0;
    for (int32_t i = 0; i < count; i++)
        offer(t, g->starts[i].to, g->starts[i].cost, 0, 1, 1, 1);
    for (int32_t i = 0; i < t->touched_count; i++) {
        int32_t s = t->touched[i];
        float score = t->places[s].score + likelihoods[t->places[s].slot];
        if (t->f->quiet[0] && t->places[s].speech)
            score -= quiet_price;
        t->now[t->now_count++] =
            (struct token){.state = s, .record = new_record(t, s, 0, -1), .age = 1, .score = score};
    }
}

/* --- groups of frames --------------------------------------------------------------- */
struct group_work {
    struct trellis *t;
    int run, prepare; /* which of the two buffers; -1 = none */
};

static void prepare_block(struct trellis *t, int buffer, size_t block)
{
    size_t first = t->group_first[buffer] + block * BLOCK_FRAMES;
    size_t end = t->group_first[buffer] + t->group_count[buffer];
    size_t count = end - first < BLOCK_FRAMES ? end - first : BLOCK_FRAMES;
    float *out = t->likelihoods[buffer] + block * BLOCK_FRAMES * (size_t)t->m->densities.padded;
    /* a block never crosses a chunk: both are powers of two and start at one */
    ear_log_likelihoods(&t->m->densities, ear_row(t->f, first), count, out);
}

static void run_group(struct trellis *t, int buffer)
{
    for (size_t i = 0; i < t->group_count[buffer]; i++) {
        const float *row = t->likelihoods[buffer] + i * (size_t)t->m->densities.padded;
        size_t frame = t->group_first[buffer] + i;
        if (frame == 0)
            begin(t, row);
        else
            advance(t, frame, row);
    }
}

static void group_task(void *ctx, size_t index)
{
    struct group_work *work = ctx;
    if (work->run >= 0 && index == 0)
        run_group(work->t, work->run);
    else
        prepare_block(work->t, work->prepare, index - (work->run >= 0));
}

static enum mst_status run_all(struct trellis *t, struct mst_error *err)
{
    const struct ear_search *how = t->how;
    size_t groups = (t->f->frame_count + GROUP_FRAMES - 1) / GROUP_FRAMES;
    for (size_t n = 0; n <= groups; n++) {
        struct group_work work = {.t = t, .run = n > 0 ? (int)((n - 1) % 2) : -1, .prepare = -1};
        size_t tasks = n > 0;
        if (n < groups) {
            work.prepare = (int)(n % 2);
            t->group_first[work.prepare] = n * GROUP_FRAMES;
            size_t left = t->f->frame_count - n * GROUP_FRAMES;
            size_t count = left < GROUP_FRAMES ? left : GROUP_FRAMES;
            t->group_count[work.prepare] = count;
            tasks += (count + BLOCK_FRAMES - 1) / BLOCK_FRAMES;
        }
        ear_parallel(how->threads, tasks, group_task, &work);
        if (t->failed)
            return mst_fail(err, MST_NO_MEMORY, "memory ran out while listening");
        double share = (double)n / (double)groups;
        enum mst_status status =
            ear_progress(how->progress,
                         how->progress_from + share * (how->progress_to - how->progress_from), err);
        if (status)
            return status;
        if (n > 0 && t->now_count == 0)
            break;
    }
    return MST_OK;
}

/* A graph with one way through it has no extra arcs at all. */
static int has_extras(const struct ear_graph *g, int32_t state)
{
    return g->extra_first && g->extra_first[state + 1] > g->extra_first[state];
}

static enum onward onward_of(const struct ear_graph *g, int32_t state)
{
    const struct ear_arc *arc = &g->arcs[g->arc_first[state]];
    if (g->arc_first[state + 1] - g->arc_first[state] != 1 || arc->to != state + 1 ||
        arc->cost < 0 || has_extras(g, state))
        return ONWARD_LIST;
    return within_unit(g, state, arc->to) ? ONWARD_IN_UNIT : ONWARD_NEXT_UNIT;
}

/* What lasts too long stays at the greatest age. */
static void fill_lengths(struct trellis *t)
{
    const struct ear_durations *d = &t->m->durations;
    for (int32_t row = 0; row < EAR_CLASS_COUNT * EAR_MAX_AGE; row += EAR_MAX_AGE)
        for (int32_t age = 0; age < EAR_MAX_AGE; age++)
            t->lengths[row + age] = (struct length_cost){
                d->stay[row + (age + 1 < EAR_MAX_AGE ? age + 1 : age)], d->leave[row + age]};
}

static enum mst_status trellis_make(struct trellis *t, struct mst_error *err)
{
    const struct ear_graph *g = t->g;
    const struct ear_densities *d = &t->m->densities;
    size_t states = (size_t)g->state_count;
    t->lengths = malloc((size_t)EAR_CLASS_COUNT * EAR_MAX_AGE * sizeof *t->lengths);
    t->now = malloc(states * sizeof *t->now);
    t->then = malloc(states * sizeof *t->then);
    t->touched = malloc(states * sizeof *t->touched);
    t->places = aligned_alloc(64, (states * sizeof *t->places + 63) / 64 * 64);
    for (int i = 0; i < 2; i++)
        t->likelihoods[i] =
            malloc((size_t)GROUP_FRAMES * (size_t)d->padded * sizeof *t->likelihoods[i]);
    if (!t->lengths || !t->now || !t->then || !t->touched || !t->places || !t->likelihoods[0] ||
        !t->likelihoods[1] || grow_pool(t) != 0)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while listening");
    while (t->pool_cap < g->start_count)
        if (grow_pool(t) != 0)
            return mst_fail(err, MST_NO_MEMORY, "memory ran out while listening");
    fill_lengths(t);
    for (int32_t s = 0; s < g->state_count; s++) {
        int16_t slot = d->slot_of[g->pdf[s]];
        t->places[s] = (struct place){.onward = (uint8_t)onward_of(g, s),
                                      .log_stay = logf(d->stay[slot]),
                                      .log_move = logf(1.0f - d->stay[slot]),
                                      .lengths = (int32_t)g->units[g->unit_of[s]].cls * EAR_MAX_AGE,
                                      .slot = slot,
                                      .speech = g->pdf[s] >= EAR_STATES};
    }
    return MST_OK;
}

static void trellis_clear(struct trellis *t)
{
    free(t->lengths);
    free(t->now);
    free(t->then);
    free(t->touched);
    free(t->places);
    free(t->pool);
    free(t->moved_to);
    free(t->likelihoods[0]);
    free(t->likelihoods[1]);
}

enum mst_status ear_viterbi(const struct ear_graph *g, const struct ear_model *m,
                            const struct mst_features *f, const struct ear_search *how,
                            int32_t *path, double *score, struct mst_error *err)
{
    struct trellis t = {.g = g, .m = m, .f = f, .how = how};
    const float *ends = how->loose_ends ? g->loose_final : g->final_cost;
    enum mst_status status = trellis_make(&t, err);
    if (!status)
        status = run_all(&t, err);
    if (status)
        goto out;
    int32_t best = -1;
    float best_score = EAR_NOWHERE / 2;
    for (int32_t i = 0; i < t.now_count; i++) {
        float total = t.now[i].score + ends[t.now[i].state];
        if (total > best_score) {
            best_score = total;
            best = i;
        }
    }
    if (best < 0) {
        status = mst_fail(err, MST_MISMATCH, "the take does not go through to the passage's end");
        goto out;
    }
    int32_t end = (int32_t)f->frame_count;
    for (int32_t r = t.now[best].record; r >= 0; r = t.pool[r].before) {
        for (int32_t frame = t.pool[r].frame; frame < end; frame++)
            path[frame] = t.pool[r].state;
        end = t.pool[r].frame;
    }
    *score = t.carried + (double)best_score;
out:
    trellis_clear(&t);
    return status;
}
