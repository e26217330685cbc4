/*
 * listen.c – the way from a take and a passage to a timeline: learn the voice
 * from the take, or bring a stored one near to it; find the best path; ask
 * whether the take holds the passage at all.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    ENOUGH_SECONDS = 110, /* of speech, to learn a voice from the take alone … */
    LEAST_SECONDS = 55,   /* … and what lengths can be told from at all: docs/measurements.md */
    MAP_ROUNDS = 2
};

struct listening {
    const struct mst_features *f;
    const struct mst_listen_options *options;
    int threads;
    struct ear_graph graph;
    struct ear_model model;
    struct ear_model near;       /* the stored voice brought near to the take */
    struct mst_features *warped; /* the take as the stored voice would have said it */
    double warp, learned_seconds, pause_cost;
    int32_t *path;
    struct ear_pin_frame *pins;
};

static const struct mst_features *features_at_work(const struct listening *l)
{
    return l->warped ? l->warped : l->f;
}

static int compare_pins(const void *a, const void *b)
{
    const struct ear_pin_frame *x = a, *y = b;
    return (x->frame > y->frame) - (x->frame < y->frame);
}

/* By how much the edge is heard late, if the words are joined; the first form stands for all. */
static int32_t pin_late_ms(const struct mst_script *script, const struct mst_pin *pin)
{
    const struct ear_form *form = &script->forms[script->words[pin->word].first_form];
    int32_t unit = form->first_unit + pin->sound, before = unit - 1;
    if (pin->sound >= form->unit_count)
        return 0;
    if (pin->sound == 0) {
        if (pin->word == 0)
            return 0;
        form = &script->forms[script->words[pin->word - 1].first_form];
        before = form->first_unit + form->unit_count - 1;
    }
    return ear_edge_late_ms((enum ear_model_id)script->units[before].model,
                            (enum ear_model_id)script->units[unit].model);
}

static enum mst_status take_pins(struct listening *l, struct mst_error *err)
{
    size_t count = l->options->pin_count;
    if (count == 0)
        return MST_OK;
    l->pins = malloc(count * sizeof *l->pins);
    if (!l->pins)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the pinned edges");
    for (size_t i = 0; i < count; i++) {
        const struct mst_pin *pin = &l->options->pins[i];
        int known = pin->word >= 0 && pin->word < l->graph.script->word_count && pin->sound >= 0;
        int32_t late = known ? pin_late_ms(l->graph.script, pin) : 0;
        int64_t frame = (pin->ms + late - EAR_EDGE_MS + EAR_FRAME_MS / 2) / EAR_FRAME_MS;
        if (!known || frame < 1 || frame >= (int64_t)l->f->frame_count)
            return mst_fail(err, MST_USAGE,
                            "the edge pinned at %d ms (word %d) lies outside the take or the "
                            "passage",
                            pin->ms, pin->word + 1);
        l->pins[i] = (struct ear_pin_frame){frame, pin->word, pin->sound, pin->ms};
    }
    qsort(l->pins, count, sizeof *l->pins, compare_pins);
    return MST_OK;
}

/* Learn the voice from this take and nothing else. */
static enum mst_status learn_alone(struct listening *l, int refuge, struct mst_error *err)
{
    enum mst_status status = ear_start_path(&l->graph, l->f, refuge, l->path, &l->pause_cost, err);
    if (status)
        return status;
    struct ear_example example = {l->f, &l->graph, l->path, 0};
    struct ear_training how = {.duration_weight = EAR_DURATION_WEIGHT,
                               .beam = EAR_BEAM,
                               .strays = 1,
                               .threads = l->threads,
                               .progress = l->options->progress,
                               .progress_from = 0.02,
                               .progress_to = 0.9};
    l->learned_seconds = mst_features_speech_seconds(l->f);
    return ear_self_train(&example, 1, &how, 1, &l->model, err);
}

/* One map of all the stored voice's means, along the path as it stands. */
static enum mst_status bring_nearer(struct listening *l, struct mst_error *err)
{
    struct ear_model next;
    enum mst_status status = ear_map_voice(&l->graph, l->path, features_at_work(l),
                                           &l->options->voice->model, &next, err);
    if (!status) {
        ear_model_clear(&l->near);
        l->near = next;
    }
    return status;
}

/* The stored voice brought near to the take: the length of the vocal tract, then one map of all
 * its means, found anew along the better path that it gives. */
static enum mst_status near_voice(struct listening *l, struct mst_error *err)
{
    const struct ear_model *voice = &l->options->voice->model;
    enum mst_status status = ear_find_warp(&l->graph, voice, l->f, l->threads, &l->warp, err);
    if (!status && fabs(l->warp - 1) > 0.01)
        status = ear_features_warp(l->f, l->warp, &l->warped, err);
    if (!status)
        status = ear_model_copy(&l->near, voice, err);
    int rounds = l->options->keep_voice ? 0 : MAP_ROUNDS; /* a voice kept as it is, is not moved */
    for (int round = 0; round < rounds && !status; round++) {
        struct ear_search search = {.beam = EAR_BEAM * 1.6f,
                                    .extras = 1,
                                    .loose_ends = 1,
                                    .threads = l->threads,
                                    .progress = l->options->progress,
                                    .progress_from = 0.2 + 0.1 * round,
                                    .progress_to = 0.3 + 0.1 * round};
        double score;
        status =
            ear_viterbi(&l->graph, &l->near, features_at_work(l), &search, l->path, &score, err);
        if (!status)
            status = bring_nearer(l, err);
    }
    return status;
}

/* Start from a stored voice: bring it near, then learn from the take what it tells, leaning on
 * the voice. */
static enum mst_status start_from_voice(struct listening *l, struct mst_error *err)
{
    const struct mst_voice *voice = l->options->voice;
    l->learned_seconds = voice->speech_seconds + mst_features_speech_seconds(l->f);
    if (fabs(voice->band.low_hz - l->f->options.low_hz) > 1 ||
        fabs(voice->band.high_hz - l->f->options.high_hz) > 1)
        return mst_fail(err, MST_USAGE,
                        "the voice was learned on the band %.0f–%.0f Hz; listen to the take on "
                        "the same",
                        voice->band.low_hz, voice->band.high_hz);
    enum mst_status status = near_voice(l, err);
    if (!status)
        status = ear_model_copy(&l->model, l->options->keep_voice ? &voice->model : &l->near, err);
    if (status || l->options->keep_voice)
        return status;
    struct ear_example example = {features_at_work(l), &l->graph, l->path, 0};
    struct ear_training how = {.duration_weight = EAR_DURATION_WEIGHT,
                               .beam = EAR_BEAM * 1.6f,
                               .threads = l->threads,
                               .prior = &l->near,
                               .tau = EAR_RELEVANCE};
    for (int round = 0; round < 3 && !status; round++) {
        struct ear_search search = {.beam = how.beam,
                                    .extras = 1,
                                    .loose_ends = 1,
                                    .threads = l->threads,
                                    .progress = l->options->progress,
                                    .progress_from = 0.5 + 0.13 * round,
                                    .progress_to = 0.63 + 0.13 * round};
        struct ear_model next;
        double score;
        status = ear_viterbi(&l->graph, &l->model, example.features, &search, l->path, &score, err);
        if (!status)
            status = ear_estimate(&example, 1, &how, 0, EAR_MAX_MIX, &l->model, &next, err);
        if (!status) {
            ear_model_clear(&l->model);
            l->model = next;
        }
    }
    return status;
}

static enum mst_status final_path(struct listening *l, double *score, struct mst_error *err)
{
    struct ear_search how = {.beam = EAR_BEAM,
                             .extras = 1,
                             .loose_ends = 1,
                             .threads = l->threads,
                             .pins = l->pins,
                             .pin_count = l->options->pin_count,
                             .progress = l->options->progress,
                             .progress_from = 0.9,
                             .progress_to = 0.99};
    enum mst_status status =
        ear_viterbi(&l->graph, &l->model, features_at_work(l), &how, l->path, score, err);
    /* a hand may pin an edge where the sound would never have put it: look wider */
    for (int wider = 0; wider < 3 && status == MST_MISMATCH && l->pins; wider++) {
        how.beam *= 5;
        status = ear_viterbi(&l->graph, &l->model, features_at_work(l), &how, l->path, score, err);
    }
    if (status == MST_MISMATCH && l->pins)
        return mst_fail(err, MST_USAGE,
                        "the pinned edges cannot all hold together; loosen the last one set");
    return status;
}

/* From the passage to the best path and the judgement on it. */
static enum mst_status hear_once(struct listening *l, const struct mst_script *script, int refuge,
                                 struct ear_fit *judged, struct mst_error *err)
{
    double score = 0;
    *judged = (struct ear_fit){.first = -1, .last = -1};
    l->warp = 1;
    l->threads = l->options->threads > 0 ? l->options->threads : 2;
    enum mst_status status = ear_graph_make(&l->graph, script, err);
    if (status)
        return status;
    l->path = malloc(l->f->frame_count * sizeof *l->path);
    if (!l->path)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out before listening began");
    if (!status)
        status = take_pins(l, err);
    if (!status)
        status = l->options->voice ? start_from_voice(l, err) : learn_alone(l, refuge, err);
    if (!status)
        status = final_path(l, &score, err);
    judged->pause_cost = l->pause_cost;
    judged->refuge = refuge;
    if (!status && l->options->voice && l->options->keep_voice)
        status = bring_nearer(l, err); /* to judge by; the path is the kept voice's */
    if (!status)
        status =
            ear_judge_fit(&l->graph, l->options->voice ? &l->near : &l->model, features_at_work(l),
                          l->path, l->threads, l->options->voice != NULL, judged, err);
    return status;
}

static void listening_clear(struct listening *l)
{
    ear_graph_clear(&l->graph);
    ear_model_clear(&l->model);
    ear_model_clear(&l->near);
    mst_features_free(l->warped);
    free(l->path);
    free(l->pins);
}

/* A voice hears whether refuge was sought first. A take that is its own voice is heard as if it was
 * not; where that does not surely fit, as if it was. */
static enum mst_status hear(struct listening *l, const struct mst_script *script,
                            struct ear_fit *judged, struct mst_error *err)
{
    enum mst_status status = hear_once(l, script, script->refuge_told, judged, err);
    int sure = status == MST_OK && judged->accepted && !judged->unsure;
    if (sure || (status != MST_OK && status != MST_MISMATCH) || l->options->voice ||
        script->refuge_told || !ear_script_begins_with_refuge(script))
        return status;
    struct mst_ear_progress still = {ear_stand_still, (void *)l->options->progress};
    struct mst_listen_options options = *l->options;
    struct listening again = {.f = l->f, .options = &options};
    struct ear_fit other;
    struct mst_error why = {0};
    if (options.progress && options.progress->report)
        options.progress = &still;
    enum mst_status second = hear_once(&again, script, 1, &other, &why);
    if (second == MST_OK && (status != MST_OK || other.score > judged->score)) {
        struct listening first = *l;
        *l = again;
        l->options = first.options;
        again = first;
        *judged = other;
        status = MST_OK;
    } else if (second != MST_OK && second != MST_MISMATCH) {
        status = second;
        if (err)
            *err = why;
    }
    listening_clear(&again);
    return status;
}

enum mst_status ear_hear_passage(const struct mst_features *f, const struct mst_script *script,
                                 const struct mst_listen_options *options, struct ear_fit *out,
                                 struct mst_error *err)
{
    struct listening l = {.f = f, .options = options};
    enum mst_status status = hear(&l, script, out, err);
    listening_clear(&l);
    return status;
}

enum mst_status ear_hear_against(const struct mst_features *f, const struct mst_script *script,
                                 const struct mst_script *part,
                                 const struct mst_listen_options *options, struct ear_fit *out,
                                 double *gain, struct mst_error *err)
{
    struct listening l = {.f = f, .options = options};
    enum mst_status status = hear(&l, script, out, err);
    if (!status)
        status = ear_gain_over(features_at_work(&l), script, part, &l.model, l.threads, gain, err);
    listening_clear(&l);
    return status;
}

/* MISMATCH that says which stretch the take may hold instead, when it does not hold the passage;
 * judged: what the listening so far came to. */
static enum mst_status refuse_misfit(const struct listening *l, const struct mst_script *script,
                                     enum mst_status heard, const struct ear_fit *judged,
                                     struct mst_error *err)
{
    struct mst_range found;
    enum mst_status status = MST_OK;
    int any = 0, misfit = heard == MST_MISMATCH || !judged->accepted;
    if (heard != MST_OK && heard != MST_MISMATCH)
        return heard;
    int doubtful = judged->unsure || (judged->too_short && !l->options->given);
    if (heard == MST_OK && doubtful && !l->options->among_others)
        return ear_explain_doubt(script->range, err);
    if (misfit)
        status = ear_find_stretch(l->f, script, l->options, &found, &any, err);
    else if (l->options->voice && l->options->pin_count == 0)
        status = ear_fits_better(features_at_work(l), &l->graph, &l->near, l->threads, &found, &any,
                                 err);
    else if (!l->options->voice && l->options->pin_count == 0)
        status = ear_verse_miscounted(l->f, &l->graph, &l->model, l->path, l->options, judged,
                                      &found, &any, err);
    if (status || (!misfit && !any))
        return status;
    return ear_explain_misfit(script->range, any ? &found : NULL, err);
}

/* How far lengths can be trusted, by how much of the voice was known. Words still lie about where
 * they were said when that is too little for lengths. */
static void set_trust(struct mst_timeline *tl, double learned_seconds)
{
    tl->learned_seconds = learned_seconds;
    tl->trust = learned_seconds < LEAST_SECONDS    ? MST_TRUST_NONE
                : learned_seconds < ENOUGH_SECONDS ? MST_TRUST_FAIR
                                                   : MST_TRUST_GOOD;
    for (int32_t n = 0; tl->trust == MST_TRUST_NONE && n < tl->sound_count; n++)
        tl->sounds[n].trust = MST_TRUST_NONE;
}

enum mst_status mst_listen(const struct mst_features *f, const struct mst_script *script,
                           const struct mst_listen_options *options, struct mst_arena *arena,
                           struct mst_timeline **out, double *fit, struct mst_error *err)
{
    static const struct mst_listen_options defaults = {0};
    struct listening l = {.f = f, .options = options ? options : &defaults};
    struct ear_fit judged;
    *out = NULL;
    enum mst_status status = hear(&l, script, &judged, err);
    if (fit)
        *fit = status ? 0 : judged.fit;
    if (!l.options->skip_fit_test)
        status = refuse_misfit(&l, script, status, &judged, err);
    if (fit && status == MST_MISMATCH && *fit > 0.49) /* it fits, but not as well as others */
        *fit = 0.49;
    if (!status)
        status = ear_timeline_make(&l.graph, &l.model, features_at_work(&l), l.path, l.pins,
                                   l.pins ? l.options->pin_count : 0, l.threads, arena, out, err);
    if (!status) {
        (*out)->fit = judged.fit;
        (*out)->warp = l.warp;
        set_trust(*out, l.learned_seconds);
        status = ear_progress(l.options->progress, 1, err);
    }
    listening_clear(&l);
    return status;
}
