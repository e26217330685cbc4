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

/* How the passage is read, for another stretch of the text. */
static struct mst_reading_options ways_of(const struct mst_script *script)
{
    struct mst_reading_options ways = script->options;
    ways.istiadha = script->refuge_told;
    return ways;
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
    struct mst_reading_options ways = ways_of(script);
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
    enum mst_status status =
        mst_script_new(script->text, widen(script->text, script->range), &ways, &wide, err);
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

/* --- a verse too many or too few --------------------------------------------- */
enum {
    LONG_PLAIN = 35, /* frames that no sound without a length of its own lasts … */
    LOUD_PAUSE = 15  /* … and no pause is as loud as speech */
};
/* How much better a longer passage must fit, … */
static const double better_fit = 0.1;
/* … and how much less likely that asked for must then be: verses that were said gave 8,145 and more
 * (two words 19,227), one that was not gave 834 once (docs/measurements.md). */
static const double surely_longer = 2500;

/* Log likelihood of the take as these words and no others; EAR_NOWHERE when they cannot be it. */
static enum mst_status score_as(const struct mst_features *f, const struct mst_script *script,
                                const struct ear_model *m, int threads, int32_t *path,
                                double *score, struct mst_error *err)
{
    struct ear_graph g = {0};
    struct ear_search how = {.beam = EAR_BEAM, .threads = threads};
    *score = (double)EAR_NOWHERE;
    enum mst_status status = ear_graph_make(&g, script, err);
    if (!status)
        status = ear_viterbi(&g, m, f, &how, path, score, err);
    ear_graph_clear(&g);
    return status == MST_MISMATCH ? MST_OK : status;
}

/* Words before which the passage's first verse ends, and its last one begins. */
static int32_t end_of_first_verse(const struct mst_script *s)
{
    int32_t w = 0;
    while (w < s->word_count && (s->words[w].optional || !s->words[w].verse_end))
        w++;
    return w + 1;
}

static int32_t begin_of_last_verse(const struct mst_script *s)
{
    int32_t w = s->word_count - 1;
    while (w > 0 && !s->words[w - 1].verse_end)
        w--;
    return w;
}

/* Was speech squeezed in where the passage has none? */
static int squeezed(const struct ear_graph *g, const struct mst_features *f, const int32_t *path)
{
    for (size_t t = 0; t < f->frame_count;) {
        size_t end = ear_unit_end(g, path, t, f->frame_count), loud = 0;
        const struct ear_graph_unit *u = &g->units[g->unit_of[path[t]]];
        int plain = u->cls == MST_LENGTH_SHORT || u->cls >= EAR_CLASS_FIRST_CONSONANT;
        if (u->form >= 0 && plain && end - t > LONG_PLAIN)
            return 1;
        for (size_t k = t; u->form < 0 && k < end; k++) {
            loud = ear_row(f, k)[0] > f->speech_c0 ? loud + 1 : 0;
            if (loud > LOUD_PAUSE)
                return 1;
        }
        t = end;
    }
    return 0;
}

/* The passage with a verse more at its beginning or end; 0 where there is none such. */
static int one_more(const struct mst_text *text, struct mst_range asked, int before,
                    struct mst_range *out)
{
    struct mst_addr *end = before ? &out->first : &out->last;
    *out = asked;
    end->verse += before ? -1 : 1;
    return asked.first.sura == asked.last.sura && asked.first.verse > 0 && end->word == 0 &&
           end->verse >= 1 && end->verse <= mst_text_sura(text, end->sura)->verse_count;
}

enum mst_status ear_gain_over(const struct mst_features *f, const struct mst_script *script,
                              const struct mst_script *part, const struct ear_model *m, int threads,
                              double *gain, struct mst_error *err)
{
    int32_t *path = malloc(f->frame_count * sizeof *path);
    double whole, less;
    if (!path)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while looking for the passage");
    enum mst_status status = score_as(f, script, m, threads, path, &whole, err);
    if (!status)
        status = score_as(f, part, m, threads, path, &less, err);
    if (!status)
        *gain = whole - less;
    free(path);
    return status;
}

/* The passage without its first verse, or its last; 0 where nothing is left. */
static int without_verse(const struct mst_script *script, int first_one, struct mst_script *part)
{
    int32_t first = first_one ? end_of_first_verse(script) : 0;
    int32_t end = first_one ? script->word_count : begin_of_last_verse(script);
    if (first >= end)
        return 0;
    *part = ear_script_part(script, first, end);
    return 1;
}

static enum mst_status try_one_less(const struct mst_features *f, const struct ear_graph *asked,
                                    const struct ear_model *m, int threads, struct mst_range *found,
                                    int *any, struct mst_error *err)
{
    enum mst_status status = MST_OK;
    double gain, least = -clearly_better;
    struct mst_script part;
    for (int way = 0; way < 2 && !status; way++) {
        if (!without_verse(asked->script, way == 0, &part))
            continue;
        status = ear_gain_over(f, asked->script, &part, m, threads, &gain, err);
        if (!status && gain < least) {
            least = gain;
            *found = part.range;
            *any = 1;
        }
    }
    return status;
}

/* Learn the voice anew as if one verse more had been asked for: it must fit better, and with the
 * voice so learned the passage asked for must be the worse one. */
static enum mst_status try_one_more(const struct mst_features *f, const struct mst_script *script,
                                    const struct mst_listen_options *options, double score,
                                    struct mst_range *found, int *any, struct mst_error *err)
{
    struct mst_range whole = ear_script_part(script, 0, script->word_count).range;
    struct mst_reading_options ways = ways_of(script);
    enum mst_status status = MST_OK;
    for (int before = 1; before >= 0 && !status; before--) {
        struct mst_range range;
        struct mst_script *longer = NULL, part;
        struct ear_fit fit = {0};
        double gain = 0;
        if (!one_more(script->text, whole, before, &range))
            continue;
        status = mst_script_new(script->text, range, &ways, &longer, err);
        if (!status && without_verse(longer, before, &part))
            status = ear_hear_against(f, longer, &part, options, &fit, &gain, err);
        if (!status && fit.accepted && fit.score > score + better_fit && gain > surely_longer) {
            score = fit.score;
            *found = range;
            *any = 1;
        }
        mst_script_free(longer);
        status = status == MST_MISMATCH ? MST_OK : status;
    }
    return status;
}

static int same_range(struct mst_range a, struct mst_range b)
{
    return mst_addr_compare(a.first, b.first) == 0 && mst_addr_compare(a.last, b.last) == 0;
}

/* The bar stands still while other passages are tried; a request to stop is still heard. */
int ear_stand_still(void *user, double done)
{
    const struct mst_ear_progress *progress = user;
    (void)done;
    return progress->report(progress->user, 0.99);
}

enum mst_status ear_verse_miscounted(const struct mst_features *f, const struct ear_graph *asked,
                                     const struct ear_model *m, const int32_t *path,
                                     const struct mst_listen_options *options,
                                     const struct ear_fit *judged, struct mst_range *found,
                                     int *any, struct mst_error *err)
{
    struct mst_ear_progress still = {ear_stand_still, (void *)options->progress};
    struct mst_listen_options plain = {
        .progress = options->progress && options->progress->report ? &still : NULL,
        .threads = options->threads > 0 ? options->threads : 2};
    *any = 0;
    if (!asked->script->text || f->frame_count > LONGEST_FRAMES / 2)
        return MST_OK;
    enum mst_status status = try_one_less(f, asked, m, plain.threads, found, any, err);
    if (!status && !*any && (judged->left_out > 0 || squeezed(asked, f, path)))
        status = try_one_more(f, asked->script, &plain, judged->score, found, any, err);
    return status;
}

enum mst_status ear_find_stretch(const struct mst_features *f, const struct mst_script *asked,
                                 const struct mst_listen_options *options, struct mst_range *found,
                                 int *any, struct mst_error *err)
{
    struct mst_listen_options plain = {
        .voice = options->voice, .keep_voice = options->keep_voice, .threads = options->threads};
    struct mst_ear_progress still = {ear_stand_still, (void *)options->progress};
    struct mst_reading_options ways = ways_of(asked);
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

enum mst_status ear_explain_doubt(struct mst_range asked, struct mst_error *err)
{
    char wanted[96];
    mst_range_print(asked, wanted);
    return mst_fail(err, MST_MISMATCH,
                    "this take is too short to tell by itself whether it holds %s; start from a "
                    "learned voice, or listen to a longer take",
                    wanted);
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
