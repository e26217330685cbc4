/*
 * timeline.c – from the best path to what a teacher sees: words, sounds and
 * pauses with their times, the stops that were made, the words taken up again
 * or left out; and the reading as it was really read, so that sites are found
 * where this reciter's stops put them.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    MOST_SLACK = 20, /* frames an edge is tried to each side */
    BLOCK_ROWS = 256
};
/* Moving an edge by this much log likelihood is not yet implausible. */
static const float slack_price = 6.0f;

const char *mst_edge_trust_id(enum mst_edge_trust trust)
{
    static const char *const ids[] = {"good", "fair", "none"};
    return ids[trust];
}

/* A run of frames in one unit. */
struct run {
    int32_t unit, start, end;
    float score;      /* mean log ratio against the best density of all */
    int32_t slack[2]; /* frames that its start and end may be off */
    int32_t start_ms, late_ms;
};
struct listing {
    const struct ear_graph *g;
    const struct ear_model *m;
    const struct mst_features *f;
    const int32_t *path;
    const struct ear_pin_frame *pins; /* in order of frame */
    size_t pin_count;
    int threads;
    struct mst_arena *arena;
    struct run *runs;
    int32_t run_count;
    int32_t *reading_word; /* per word of the script: index in the reading, or -1 */
};

/* --- runs -------------------------------------------------------------------- */
static int list_runs(struct listing *l)
{
    size_t frames = l->f->frame_count, count = 0;
    for (size_t t = 0; t < frames; t = ear_unit_end(l->g, l->path, t, frames))
        count++;
    l->runs = mst_arena_alloc(l->arena, count, sizeof *l->runs);
    if (!l->runs)
        return -1;
    for (size_t t = 0; t < frames;) {
        size_t end = ear_unit_end(l->g, l->path, t, frames);
        l->runs[l->run_count++] = (struct run){
            .unit = l->g->unit_of[l->path[t]], .start = (int32_t)t, .end = (int32_t)end};
        t = end;
    }
    return 0;
}

/* The density a unit begins (third 0) or ends with (third 2). */
static int16_t slot_of_unit(const struct listing *l, int32_t unit, int third)
{
    return l->m->densities.slot_of[l->g->units[unit].model * EAR_STATES + third];
}

/* Frames by which an edge may move later (step 1) or earlier (-1): the frames beyond it would be
 * said by `slot` instead of what the path says. */
static int32_t slack_of_edge(const struct listing *l, const float *likelihoods, int32_t first,
                             int32_t frames, int32_t edge, int16_t slot, int step)
{
    float cost = 0;
    int32_t slack = 0, wide = l->m->densities.padded;
    for (int32_t k = 0; k < MOST_SLACK; k++) {
        int32_t t = (step > 0 ? edge + k : edge - 1 - k) - first;
        if (t < 0 || t >= frames)
            break;
        const float *row = likelihoods + (size_t)t * (size_t)wide;
        cost += row[l->m->densities.slot_of[l->g->pdf[l->path[t + first]]]] - row[slot];
        if (cost > slack_price)
            break;
        if (cost <= slack_price)
            slack = k + 1;
    }
    return slack;
}

struct scoring {
    struct listing *l;
    int32_t *first_run; /* per task */
    int32_t task_count;
    int failed;
};

/* Score the runs of one task, over their own stretch of frames with a margin to each side. */
static void score_runs(void *ctx, size_t index)
{
    struct scoring *s = ctx;
    struct listing *l = s->l;
    const struct ear_densities *d = &l->m->densities;
    int32_t from = s->first_run[index], to = s->first_run[index + 1];
    int32_t first = l->runs[from].start - MOST_SLACK, end = l->runs[to - 1].end + MOST_SLACK;
    first = first < 0 ? 0 : first;
    end = end > (int32_t)l->f->frame_count ? (int32_t)l->f->frame_count : end;
    size_t frames = (size_t)(end - first), wide = (size_t)d->padded;
    float *likelihoods = malloc(frames * wide * sizeof *likelihoods);
    if (!likelihoods) {
        s->failed = 1;
        return;
    }
    for (size_t t = 0; t < frames;) {
        size_t frame = (size_t)first + t, left = EAR_CHUNK_FRAMES - frame % EAR_CHUNK_FRAMES;
        size_t count = frames - t < left ? frames - t : left;
        ear_log_likelihoods(d, ear_row(l->f, frame), count, likelihoods + t * wide);
        t += count;
    }
    for (int32_t r = from; r < to; r++) {
        struct run *run = &l->runs[r];
        double sum = 0;
        for (int32_t t = run->start; t < run->end; t++) {
            const float *row = likelihoods + (size_t)(t - first) * wide;
            float best = row[0];
            for (int32_t k = 1; k < d->slot_count; k++)
                best = row[k] > best ? row[k] : best;
            sum += (double)(row[d->slot_of[l->g->pdf[l->path[t]]]] - best);
        }
        run->score = (float)(sum / (run->end - run->start));
        if (r > 0) {
            int32_t later = slack_of_edge(l, likelihoods, first, (int32_t)frames, run->start,
                                          slot_of_unit(l, l->runs[r - 1].unit, 2), 1);
            int32_t earlier = slack_of_edge(l, likelihoods, first, (int32_t)frames, run->start,
                                            slot_of_unit(l, run->unit, 0), -1);
            run->slack[0] = later > earlier ? later : earlier;
        }
    }
    free(likelihoods);
}

static int score_all(struct listing *l)
{
    struct scoring s = {.l = l};
    s.first_run = malloc(((size_t)l->run_count + 2) * sizeof *s.first_run);
    if (!s.first_run)
        return -1;
    int32_t r = 0;
    while (r < l->run_count) {
        int32_t start = l->runs[r].start;
        s.first_run[s.task_count++] = r;
        while (r < l->run_count && l->runs[r].start - start < BLOCK_ROWS * 4)
            r++;
    }
    s.first_run[s.task_count] = l->run_count;
    ear_parallel(l->threads, (size_t)s.task_count, score_runs, &s);
    for (r = 0; r + 1 < l->run_count; r++)
        l->runs[r].slack[1] = l->runs[r + 1].slack[0];
    free(s.first_run);
    return s.failed ? -1 : 0;
}

/* --- from frames to ms of the take ------------------------------------------------ */
static int is_pause(const struct listing *l, int32_t r)
{
    return l->g->units[l->runs[r].unit].form < 0;
}

/* Where each run begins: at its frame, less what such edges are heard late. A pinned edge lies
 * where the hand set it. */
static void set_starts(struct listing *l)
{
    size_t pin = 0;
    for (int32_t r = 0; r < l->run_count; r++) {
        struct run *run = &l->runs[r];
        const struct run *before = r > 0 ? run - 1 : NULL;
        int32_t ms = ear_ms_of_frame(run->start);
        run->start_ms = ms;
        while (pin < l->pin_count && l->pins[pin].frame < run->start)
            pin++;
        if (pin < l->pin_count && l->pins[pin].frame == run->start)
            run->start_ms = l->pins[pin].ms;
        else if (before && is_pause(l, r - 1) && !is_pause(l, r))
            run->start_ms = ms + EAR_ONSET_MS;
        else if (before)
            run->start_ms =
                ms - ear_edge_late_ms((enum ear_model_id)l->g->units[before->unit].model,
                                      (enum ear_model_id)l->g->units[run->unit].model);
        if (before && run->start_ms < ear_edge_earliest_ms(before->start_ms))
            run->start_ms = ear_edge_earliest_ms(before->start_ms);
        int32_t heard_ms = before && is_pause(l, r - 1) ? ms + EAR_ONSET_MS : ms;
        run->late_ms = heard_ms - run->start_ms;
    }
}

static int32_t end_ms_of_run(const struct listing *l, int32_t r)
{
    return r + 1 < l->run_count ? l->runs[r + 1].start_ms : ear_ms_of_frame(l->runs[r].end);
}

/* --- words, sounds, pauses ------------------------------------------------------ */
/* Does the run begin a word's utterance? */
static int begins_word(const struct listing *l, int32_t r)
{
    const struct ear_graph_unit *u = &l->g->units[l->runs[r].unit];
    return u->form >= 0 && u->unit == l->g->script->forms[u->form].first_unit;
}

/* Has the path lost its way at this run? */
static int is_overlong(const struct listing *l, int32_t r)
{
    if (r < 0 || r >= l->run_count || is_pause(l, r))
        return 0;
    int cls = l->g->script->units[l->g->units[l->runs[r].unit].unit].cls;
    return ear_lasts_like_a_hold(&l->m->durations, cls, l->runs[r].end - l->runs[r].start);
}

static enum mst_edge_trust trust_of_run(const struct listing *l, int32_t r,
                                        const struct ear_unit *u)
{
    const struct run *run = &l->runs[r];
    int32_t shortest = u->geminate ? 4 : 3, frames = run->end - run->start;
    const struct ear_duration *d = &l->m->durations.classes[u->cls];
    double z = (log(frames) - log((double)d->median_frames)) / (double)d->sd_log;
    if (is_overlong(l, r - 1) || is_overlong(l, r) || is_overlong(l, r + 1))
        return MST_TRUST_NONE;
    if (u->cls != MST_LENGTH_NONE && ear_class_is_held(u->cls) &&
        (frames <= shortest || fabs(z) > 5))
        return MST_TRUST_NONE;
    if (frames <= shortest && u->cls == MST_LENGTH_NATURAL)
        return MST_TRUST_NONE;
    int32_t slack = run->slack[0] > run->slack[1] ? run->slack[0] : run->slack[1];
    if (run->score < -12 || slack > frames / 2 || slack > 15)
        return MST_TRUST_FAIR;
    return MST_TRUST_GOOD;
}

static void add_sound(const struct listing *l, struct mst_timeline *tl, int32_t r)
{
    const struct run *run = &l->runs[r];
    const struct ear_unit *u = &l->g->script->units[l->g->units[run->unit].unit];
    int32_t slack = run->slack[0] > run->slack[1] ? run->slack[0] : run->slack[1];
    tl->sounds[tl->sound_count++] = (struct mst_heard_sound){
        .heard_word = tl->word_count - 1,
        .sound_idx = -1,
        .phone = (enum mst_phone)u->phone,
        .length = u->cls < MST_LENGTH_COUNT ? (enum mst_length)u->cls : MST_LENGTH_NONE,
        .start_ms = run->start_ms,
        .end_ms = end_ms_of_run(l, r),
        .slack_ms = slack * EAR_FRAME_MS,
        .late_ms = run->late_ms,
        .score = run->score,
        .trust = trust_of_run(l, r, u)};
}

/*
 * A vowel that ends the word before a stop runs out in breath and room, and a
 * joined lengthening whose hamza is stopped at may be held longer: lengths of
 * their own, though the sounds are the same and are listened for as such.
 */
static void tell_lengths_at_stops(struct mst_timeline *tl)
{
    for (int32_t i = 0; i < tl->word_count; i++) {
        const struct mst_heard_word *word = &tl->words[i];
        if (!word->stopped || word->sound_count < 2)
            continue;
        struct mst_heard_sound *last = &tl->sounds[word->first_sound + word->sound_count - 1];
        if (last->length == MST_LENGTH_NATURAL)
            last->length = MST_LENGTH_NATURAL_STOP;
        else if (last[-1].length == MST_LENGTH_MUTTASIL && last->phone == MST_PHONE_HAMZA)
            last[-1].length = MST_LENGTH_MUTTASIL_STOP;
    }
}

static void list_words(const struct listing *l, struct mst_timeline *tl, int32_t *script_word)
{
    int after_pause = 1;
    for (int32_t r = 0; r < l->run_count; r++) {
        const struct run *run = &l->runs[r];
        const struct ear_graph_unit *u = &l->g->units[run->unit];
        if (is_pause(l, r)) {
            if (tl->word_count > 0)
                tl->words[tl->word_count - 1].stopped = 1;
            int same =
                tl->pause_count > 0 && tl->pauses[tl->pause_count - 1].end_ms == run->start_ms;
            if (same)
                tl->pauses[tl->pause_count - 1].end_ms = end_ms_of_run(l, r);
            else
                tl->pauses[tl->pause_count++] = (struct mst_heard_pause){
                    .start_ms = run->start_ms,
                    .end_ms = end_ms_of_run(l, r),
                    .after_word = tl->word_count - 1,
                    .at_verse_end = u->word >= 0 && l->g->script->words[u->word].verse_end};
            after_pause = 1;
            continue;
        }
        if (begins_word(l, r)) {
            script_word[tl->word_count] = u->word;
            tl->words[tl->word_count++] =
                (struct mst_heard_word){.word_idx = -1,
                                        .at = l->g->script->words[u->word].at,
                                        .start_ms = run->start_ms,
                                        .first_sound = tl->sound_count,
                                        .started = (uint8_t)after_pause};
            after_pause = 0;
        }
        struct mst_heard_word *word = &tl->words[tl->word_count - 1];
        add_sound(l, tl, r);
        int32_t frames = (word->end_ms - word->start_ms) / EAR_FRAME_MS;
        int32_t here = run->end - run->start;
        frames = frames > 0 ? frames : 0;
        word->score =
            (word->score * (float)frames + run->score * (float)here) / (float)(frames + here);
        word->end_ms = end_ms_of_run(l, r);
        word->sound_count++;
        /* a take that ends or is cut without silence still stops there */
        if (u->last && (r + 1 == l->run_count ||
                        (!is_pause(l, r + 1) && !(l->g->script->forms[u->form].mask &
                                                  (EAR_JOINED_GOING | EAR_STARTED_GOING)))))
            word->stopped = 1;
    }
}

/* Which utterances were taken up again; which words were never said. */
static int settle_repeats(const struct listing *l, struct mst_timeline *tl,
                          const int32_t *script_word)
{
    int32_t words = l->g->script->word_count;
    int32_t *last = calloc((size_t)words, sizeof *last); /* 1 + index of the last utterance */
    if (!last)
        return -1;
    for (int32_t i = 0; i < tl->word_count; i++) {
        int32_t *seen = &last[script_word[i]];
        if (*seen > 0)
            tl->words[*seen - 1].again = 1;
        if (i > 0 && script_word[i] <= script_word[i - 1])
            tl->repeat_count++;
        *seen = i + 1;
    }
    for (int32_t p = 0; p < tl->pause_count; p++) {
        int32_t after = tl->pauses[p].after_word;
        if (after >= 0 && after + 1 < tl->word_count &&
            script_word[after + 1] <= script_word[after])
            tl->pauses[p].taken_up_again = 1;
    }
    tl->left_out = mst_arena_alloc(l->arena, (size_t)words, sizeof *tl->left_out);
    if (!tl->left_out) {
        free(last);
        return -1;
    }
    for (int32_t w = 0; w < words; w++)
        if (!last[w] && !l->g->script->words[w].optional)
            tl->left_out[tl->left_out_count++] = l->g->script->words[w].at;
    free(last);
    return 0;
}

/* --- the reading as it was read ---------------------------------------------------- */
static int same_place(struct mst_addr a, const struct mst_word *w)
{
    return a.sura == w->sura && a.verse == w->verse && a.word == w->word;
}

static enum mst_status read_as_heard(struct listing *l, struct mst_timeline *tl,
                                     const int32_t *script_word, struct mst_error *err)
{
    const struct mst_script *script = l->g->script;
    struct mst_reading_options options = script->options;
    struct mst_addr *stops = mst_arena_alloc(l->arena, (size_t)tl->word_count + 1, sizeof *stops);
    int basmala = 0, refuge = 0;
    size_t count = 0;
    if (!stops)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while listing what was heard");
    for (int32_t i = 0; i < tl->word_count; i++) {
        const struct mst_heard_word *w = &tl->words[i];
        basmala |= w->at.sura > 0 && w->at.verse == 0;
        refuge |= w->at.sura == 0;
        if (w->stopped && !w->again && !script->words[script_word[i]].sakt)
            stops[count++] = w->at;
    }
    options.stops = MST_STOPS_LIST;
    options.stop_list = stops;
    options.stop_count = count;
    options.istiadha = refuge;
    if (!basmala)
        options.no_basmala = 1;
    enum mst_status status =
        mst_reading_new(script->text, script->range, &options, l->arena, &tl->reading, err);
    if (status == MST_USAGE) { /* a stop that no reading allows: as if it had gone on */
        options.stops = MST_STOPS_NONE;
        options.stop_list = NULL;
        options.stop_count = 0;
        status =
            mst_reading_new(script->text, script->range, &options, l->arena, &tl->reading, err);
    }
    if (status)
        return status;
    int32_t at = 0;
    for (int32_t w = 0; w < script->word_count; w++) {
        l->reading_word[w] = -1;
        if (at < tl->reading->word_count &&
            same_place(script->words[w].at, &tl->reading->words[at]))
            l->reading_word[w] = at++;
    }
    return MST_OK;
}

/* Lay the sounds of an utterance on those of the reading, where it is the one that counts and
 * sounds as the reading says. */
static void match_word(const struct listing *l, struct mst_timeline *tl, int32_t i)
{
    struct mst_heard_word *heard = &tl->words[i];
    if (heard->word_idx < 0)
        return;
    const struct mst_word *word = &tl->reading->words[heard->word_idx];
    if (heard->again || word->sound_count != heard->sound_count)
        return;
    for (int32_t k = 0; k < heard->sound_count; k++)
        if (tl->reading->sounds[word->first_sound + k].phone !=
            tl->sounds[heard->first_sound + k].phone)
            return;
    for (int32_t k = 0; k < heard->sound_count; k++)
        tl->sounds[heard->first_sound + k].sound_idx = word->first_sound + k;
    (void)l;
}

enum mst_status ear_timeline_make(const struct ear_graph *g, const struct ear_model *m,
                                  const struct mst_features *f, const int32_t *path,
                                  const struct ear_pin_frame *pins, size_t pin_count, int threads,
                                  struct mst_arena *arena, struct mst_timeline **out,
                                  struct mst_error *err)
{
    struct listing l = {.g = g,
                        .m = m,
                        .f = f,
                        .path = path,
                        .pins = pins,
                        .pin_count = pin_count,
                        .threads = threads,
                        .arena = arena};
    struct mst_timeline *tl = mst_arena_alloc(arena, 1, sizeof *tl);
    int32_t *script_word = NULL;
    enum mst_status status = MST_OK;
    *out = NULL;
    l.reading_word = mst_arena_alloc(arena, (size_t)g->script->word_count, sizeof *l.reading_word);
    if (!tl || !l.reading_word || list_runs(&l) != 0 || score_all(&l) != 0)
        goto no_memory;
    set_starts(&l);
    size_t runs = (size_t)l.run_count;
    tl->script = g->script;
    tl->words = mst_arena_alloc(arena, runs, sizeof *tl->words);
    tl->sounds = mst_arena_alloc(arena, runs, sizeof *tl->sounds);
    tl->pauses = mst_arena_alloc(arena, runs, sizeof *tl->pauses);
    script_word = malloc(runs * sizeof *script_word);
    if (!tl->words || !tl->sounds || !tl->pauses || !script_word)
        goto no_memory;
    tl->duration_ms = mst_features_duration_ms(f);
    tl->speech_seconds = mst_features_speech_seconds(f);
    tl->warp = 1;
    list_words(&l, tl, script_word);
    tell_lengths_at_stops(tl);
    if (settle_repeats(&l, tl, script_word) != 0)
        goto no_memory;
    status = read_as_heard(&l, tl, script_word, err);
    for (int32_t i = 0; i < tl->word_count && !status; i++) {
        tl->words[i].word_idx = l.reading_word[script_word[i]];
        match_word(&l, tl, i);
    }
    if (!status)
        *out = tl;
    goto out;
no_memory:
    status = mst_fail(err, MST_NO_MEMORY, "memory ran out while listing what was heard");
out:
    free(script_word);
    return status;
}
