/*
 * stretch.c – a take that does not hold its passage: which stretch of the text
 * around it does it hold? A teacher who gave the wrong verses, too few or too
 * many, is told the right ones.
 *
 * Without a voice the pauses propose a few stretches of whole verses; with one
 * the best path through the whole text proposes one. Each is then heard as a
 * passage of its own and judged like any other.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    WIDEST_BYTES = 24000,   /* of text looked at around the passage: about 1,200 words */
    LONGEST_FRAMES = 60000, /* of a take; looking through longer ones takes too long */
    CANDIDATES = 2
};
/* Per stretch of speech between pauses: what a true layout costs at most, and how much worse than
 * the best a candidate may be. */
static const double dearest = 1.6, dearer = 0.6;
/* A candidate that fits so well ends the search. */
static const double surely = 0.9;
/* How much likelier (log) the take must be as another stretch before the asked one is doubted. */
static const double clearly_better = 300;

struct mst_script ear_script_part(const struct mst_script *whole, int32_t first, int32_t end)
{
    struct mst_script part = *whole;
    part.arena = NULL;
    part.words += first;
    part.word_count = end - first;
    int32_t head = first; /* the basmala before a sura has no place of its own */
    while (head + 1 < end && whole->words[head].optional)
        head++;
    part.range.first = whole->words[head].at;
    part.range.last = part.words[part.word_count - 1].at;
    if (head == 0 || whole->words[head - 1].verse_end)
        part.range.first.word = 0;
    if (part.words[part.word_count - 1].verse_end)
        part.range.last.word = 0;
    return part;
}

static int32_t bytes_of(const struct mst_text *text, int32_t sura, int32_t verse)
{
    return (int32_t)mst_text_verse(text, sura, verse).len;
}

/* The passage and the verses before and behind it, within its suras, as far as the measure goes. */
static struct mst_range widen(const struct mst_text *text, struct mst_range asked)
{
    struct mst_range wide = {{asked.first.sura, asked.first.verse, 0, 0},
                             {asked.last.sura, asked.last.verse, 0, 0}};
    int32_t bytes = 0, verses = mst_text_sura(text, wide.last.sura)->verse_count, before;
    if (wide.first.verse < 1)
        wide.first.verse = 1;
    if (wide.last.verse < 1)
        wide.last.verse = verses;
    do {
        before = bytes;
        if (wide.first.verse > 1)
            bytes += bytes_of(text, wide.first.sura, --wide.first.verse);
        if (wide.last.verse < verses)
            bytes += bytes_of(text, wide.last.sura, ++wide.last.verse);
    } while (bytes > before && bytes < WIDEST_BYTES);
    return wide;
}

/* The words that a path spans; none when it holds pauses only. */
static struct ear_stretch span_of_path(const struct ear_graph *g, const int32_t *path,
                                       size_t frames)
{
    struct ear_stretch span = {g->script->word_count, 0, 0};
    for (size_t t = 0; t < frames; t++) {
        const struct ear_graph_unit *u = &g->units[g->unit_of[path[t]]];
        if (u->form < 0)
            continue;
        span.first = u->word < span.first ? u->word : span.first;
        span.end = u->word + 1 > span.end ? u->word + 1 : span.end;
    }
    return span;
}

/* What the best path of a known voice through the whole text says. */
static enum mst_status propose_by_voice(const struct ear_graph *g, const struct mst_features *f,
                                        const struct mst_listen_options *options,
                                        struct ear_stretch *out, size_t *count,
                                        struct mst_error *err)
{
    const struct ear_model *m = &options->voice->model;
    struct mst_features *warped = NULL;
    int threads = options->threads > 0 ? options->threads : 2;
    struct ear_search how = {
        .beam = EAR_BEAM * 1.6f, .extras = 1, .loose_ends = 1, .threads = threads};
    double warp, score;
    int32_t *path = malloc(f->frame_count * sizeof *path);
    enum mst_status status = MST_OK;
    *count = 0;
    if (!path)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while looking for the passage");
    status = ear_find_warp(g, m, f, threads, &warp, err);
    if (!status)
        status = ear_features_warp(f, warp, &warped, err);
    for (int round = 0; round < 2 && !status; round++) {
        struct ear_model near = {0};
        if (round > 0)
            status = ear_map_voice(g, path, warped, m, &near, err);
        if (!status)
            status = ear_viterbi(g, round > 0 ? &near : m, warped, &how, path, &score, err);
        ear_model_clear(&near);
    }
    if (!status) {
        out[0] = span_of_path(g, path, f->frame_count);
        *count = out[0].first < out[0].end;
    }
    mst_features_free(warped);
    free(path);
    return status;
}

enum mst_status ear_fits_better(const struct mst_features *f, const struct ear_graph *asked,
                                const struct ear_model *near, int threads, struct mst_range *found,
                                int *any, struct mst_error *err)
{
    const struct mst_script *script = asked->script;
    struct mst_script *wide = NULL;
    struct ear_graph g = {0};
    struct ear_search how = {.beam = EAR_BEAM, .extras = 1, .loose_ends = 1, .threads = threads};
    double score_asked, score_wide;
    *any = 0;
    if (!script->text || f->frame_count > LONGEST_FRAMES / 2)
        return MST_OK;
    int32_t *path = malloc(f->frame_count * sizeof *path);
    if (!path)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while looking for the passage");
    enum mst_status status = mst_script_new(script->text, widen(script->text, script->range),
                                            &script->options, &wide, err);
    if (!status && wide->word_count > script->word_count) {
        status = ear_viterbi(asked, near, f, &how, path, &score_asked, err);
        if (!status)
            status = ear_graph_make(&g, wide, err);
        if (!status)
            status = ear_viterbi(&g, near, f, &how, path, &score_wide, err);
        if (!status && score_wide > score_asked + clearly_better) {
            struct ear_stretch span = span_of_path(&g, path, f->frame_count);
            if (span.first < span.end) {
                *found = ear_script_part(wide, span.first, span.end).range;
                *any = 1;
            }
        }
    }
    ear_graph_clear(&g);
    mst_script_free(wide);
    free(path);
    return status == MST_MISMATCH ? MST_OK : status;
}

static int same_range(struct mst_range a, struct mst_range b)
{
    return mst_addr_compare(a.first, b.first) == 0 && mst_addr_compare(a.last, b.last) == 0;
}

/* The bar stands still while other passages are tried; a request to stop is still heard. */
static int stand_still(void *user, double done)
{
    const struct mst_ear_progress *progress = user;
    (void)done;
    return progress->report(progress->user, 0.99);
}

enum mst_status ear_find_stretch(const struct mst_features *f, const struct mst_script *asked,
                                 const struct mst_listen_options *options, struct mst_range *found,
                                 int *any, struct mst_error *err)
{
    struct mst_listen_options plain = {
        .voice = options->voice, .keep_voice = options->keep_voice, .threads = options->threads};
    struct mst_ear_progress still = {stand_still, (void *)options->progress};
    struct mst_reading_options ways = asked->options;
    struct mst_range asked_range = ear_script_part(asked, 0, asked->word_count).range;
    struct ear_stretch candidates[CANDIDATES];
    struct mst_script *wide = NULL;
    struct ear_graph g = {0};
    size_t count = 0;
    double best = 0;
    *any = 0;
    if (!asked->text || f->frame_count > LONGEST_FRAMES)
        return MST_OK;
    if (options->progress && options->progress->report)
        plain.progress = &still;
    enum mst_status status =
        mst_script_new(asked->text, widen(asked->text, asked->range), &ways, &wide, err);
    if (!status)
        status = ear_graph_make(&g, wide, err);
    if (!status)
        status = plain.voice ? propose_by_voice(&g, f, &plain, candidates, &count, err)
                             : ear_start_stretches(&g, f, candidates, CANDIDATES, &count, err);
    if (status == MST_MISMATCH)
        status = MST_OK;
    for (size_t i = 0; i < count && best < surely && !status; i++) {
        if (candidates[i].cost > fmin(dearest, candidates[0].cost + dearer))
            continue;
        struct mst_script part = ear_script_part(wide, candidates[i].first, candidates[i].end);
        struct ear_fit fit = {0};
        if (same_range(part.range, asked_range))
            continue;
        status = ear_hear_passage(f, &part, &plain, &fit, err);
        if (!status && fit.accepted && fit.fit > best) {
            best = fit.fit;
            *found = part.range;
            *any = 1;
        }
        if (status == MST_MISMATCH)
            status = MST_OK;
    }
    ear_graph_clear(&g);
    mst_script_free(wide);
    return status;
}

enum mst_status ear_explain_misfit(struct mst_range asked, const struct mst_range *found,
                                   struct mst_error *err)
{
    char wanted[96], best[96];
    mst_range_print(asked, wanted);
    if (!found)
        return mst_fail(err, MST_MISMATCH,
                        "this take does not seem to hold %s; no stretch near it fits either",
                        wanted);
    mst_range_print(*found, best);
    return mst_fail(err, MST_MISMATCH, "this take does not seem to hold %s; the best stretch is %s",
                    wanted, best);
}
