/* practice.c – sound to practise with: slower, place by place, call and answer. */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { REPEATS = 3, SLOWEST = 40, REPEATS_MOST = 20 };
static const double room_ms = 60; /* heard before and after a cut, so that no sound is clipped … */
static const double seam_ms = 12;    /* … and where the neighbour's sound begins at once */
static const double fade_ms = 8;     /* at a cut; less would click */
static const double breath_ms = 400; /* a learner's own breath, added to every gap */

struct maker {
    struct mst_take *sound;
    const struct mst_timeline *tl;
    struct mst_practice_options options;
    struct mst_practice *out;
    size_t part_room;
};

/* --- putting together ------------------------------------------------------------------ */

static enum mst_status out_of_memory(struct mst_error *err)
{
    return mst_fail(err, MST_NO_MEMORY, "memory ran out while making the sound to practise with");
}

static enum mst_status append(struct maker *m, const float *samples, size_t count,
                              enum mst_practice_part_kind kind, struct mst_addr at, int32_t site,
                              struct mst_error *err)
{
    struct mst_practice *out = m->out;
    if (out->part_count == m->part_room) {
        size_t room = m->part_room ? 2 * m->part_room : 64;
        struct mst_practice_part *more = realloc(out->parts, room * sizeof *more);
        if (!more)
            return out_of_memory(err);
        out->parts = more;
        m->part_room = room;
    }
    float *longer = realloc(out->samples, (out->sample_count + count + 1) * sizeof *longer);
    if (!longer)
        return out_of_memory(err);
    out->samples = longer;
    if (samples)
        memcpy(longer + out->sample_count, samples, count * sizeof *longer);
    else
        memset(longer + out->sample_count, 0, count * sizeof *longer);
    out->parts[out->part_count++] =
        (struct mst_practice_part){kind, out->sample_count, count, at, site};
    out->sample_count += count;
    return MST_OK;
}

static int64_t sample_at_ms(const struct mst_take *sound, double ms)
{
    return llround(ms * mst_take_rate_hz(sound) / 1000);
}

/* A stretch of the sound at the pace asked for, its ends softened; malloc'd. */
static enum mst_status cut(struct mst_take *sound, double start_ms, double end_ms, int percent,
                           float **out, size_t *count, struct mst_error *err)
{
    int64_t first = sample_at_ms(sound, start_ms > 0 ? start_ms : 0);
    size_t want = (size_t)(sample_at_ms(sound, end_ms) - first), got = 0;
    float *as_it_is = malloc((want + 1) * sizeof *as_it_is);
    *out = NULL;
    if (!as_it_is)
        return out_of_memory(err);
    enum mst_status status = mst_take_read_at(sound, first, as_it_is, want, &got, err);
    if (status == MST_OK)
        status = film_slow(as_it_is, got, mst_take_rate_hz(sound), percent, out, count, err);
    free(as_it_is);
    if (status != MST_OK) {
        free(*out);
        *out = NULL;
        return status;
    }
    size_t fade = (size_t)sample_at_ms(sound, fade_ms);
    for (size_t n = 0; n < fade && n < *count / 2; n++) {
        float gain = (float)(0.5 - 0.5 * cos(M_PI * (double)n / (double)fade));
        (*out)[n] *= gain;
        (*out)[*count - 1 - n] *= gain;
    }
    return MST_OK;
}

enum mst_status film_clip(struct mst_take *sound, double start_ms, double end_ms, int percent,
                          struct mst_practice *out, struct mst_error *err)
{
    *out = (struct mst_practice){.rate_hz = mst_take_rate_hz(sound)};
    return cut(sound, start_ms, end_ms, percent, &out->samples, &out->sample_count, err);
}

/* Heard words first…end-1, then silence to say them in, as often as asked. */
static enum mst_status call(struct maker *m, int32_t first, int32_t end, int repeats, int32_t site,
                            struct mst_error *err)
{
    const struct mst_heard_word *words = m->tl->words;
    int joined_before = first > 0 && words[first - 1].end_ms == words[first].start_ms;
    int joined_after = end < m->tl->word_count && words[end].start_ms == words[end - 1].end_ms;
    double from = words[first].start_ms - (joined_before ? seam_ms : room_ms);
    double to = words[end - 1].end_ms + (joined_after ? seam_ms : room_ms);
    float *clip;
    size_t count;
    enum mst_status status = cut(m->sound, from, to, m->options.percent, &clip, &count, err);
    struct mst_addr at = words[first].at;
    size_t gap = (size_t)llround((double)count * m->options.gap_share) +
                 (size_t)sample_at_ms(m->sound, breath_ms);
    for (int n = 0; n < repeats && status == MST_OK; n++) {
        status = append(m, clip, count, MST_PRACTICE_CALL, at, site, err);
        if (status == MST_OK)
            status = append(m, NULL, gap, MST_PRACTICE_GAP, at, site, err);
    }
    free(clip);
    return status;
}

/* --- the kinds ----------------------------------------------------------------------------- */

static enum mst_status make_whole(struct maker *m, struct mst_error *err)
{
    enum mst_status status = mst_take_read_all(m->sound, err);
    float *clip = NULL;
    size_t count = 0;
    if (status == MST_OK)
        status = cut(m->sound, 0,
                     (double)mst_take_sample_count(m->sound) * 1000 / mst_take_rate_hz(m->sound),
                     m->options.percent, &clip, &count, err);
    if (status == MST_OK)
        status = append(m, clip, count, MST_PRACTICE_CALL, m->tl->reading->range.first, -1, err);
    free(clip);
    return status;
}

static enum mst_status make_answers(struct maker *m, int by_breath, struct mst_error *err)
{
    enum mst_status status = MST_OK;
    for (int32_t first = 0, end; first < m->tl->word_count && status == MST_OK; first = end) {
        end = by_breath ? film_breath_end(m->tl, first) : film_verse_end(m->tl, first);
        status = call(m, first, end, 1, -1, err);
    }
    return status;
}

/* The heard word that was not taken up again. */
static int32_t heard_of(const struct mst_timeline *tl, int32_t word_idx)
{
    for (int32_t n = 0; n < tl->word_count; n++)
        if (tl->words[n].word_idx == word_idx && !tl->words[n].again)
            return n;
    return -1;
}

static enum mst_status make_places(struct maker *m, struct mst_error *err)
{
    const struct mst_reading *r = m->tl->reading;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_sounding *places;
    size_t count = 0;
    int32_t last_first = -1, last_end = -1;
    if (!arena)
        return out_of_memory(err);
    enum mst_status status = mst_soundings(m->tl, m->options.rules, arena, &places, &count, err);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        const struct mst_site *site = &r->sites[places[n].site];
        int32_t first = heard_of(m->tl, r->letters[site->first].word_idx);
        int32_t end = heard_of(m->tl, r->letters[site->last].word_idx) + 1;
        if (first < 0 || end <= first || (first == last_first && end == last_end))
            continue; /* words that already stand there hold this place too */
        status = call(m, first, end, m->options.repeats, places[n].site, err);
        last_first = first;
        last_end = end;
    }
    mst_arena_free(arena);
    if (status == MST_OK && m->out->part_count == 0)
        status = mst_fail(err, MST_NOT_FOUND, "no place of these rules is heard in this take");
    return status;
}

static enum mst_status make_phrases(struct maker *m, struct mst_error *err)
{
    enum mst_status status = MST_OK;
    for (size_t n = 0; n < m->options.phrase_count && status == MST_OK; n++) {
        int32_t first, end = film_phrase_end(m->tl, m->options.phrases[n], &first);
        if (end > 0)
            status = call(m, first, end, m->options.repeats, -1, err);
    }
    if (status == MST_OK && m->out->part_count == 0)
        status = mst_fail(err, MST_NOT_FOUND, "none of these phrases is heard in this take");
    return status;
}

enum mst_status mst_practice_make(struct mst_take *take, const struct mst_timeline *timeline,
                                  const struct mst_practice_options *options,
                                  struct mst_practice *out, struct mst_error *err)
{
    struct maker m = {.tl = timeline, .options = *options, .out = out};
    *out = (struct mst_practice){0};
    if (m.options.percent == 0)
        m.options.percent = 100;
    if (m.options.repeats == 0)
        m.options.repeats = REPEATS;
    if (!(m.options.gap_share > 0))
        m.options.gap_share = 1;
    if (!m.options.rules.bits)
        m.options.rules = mst_sheet_default_rules();
    if (m.options.percent < SLOWEST || m.options.percent > 100)
        return mst_fail(err, MST_USAGE, "the pace can be %d to 100 percent; %d asked", SLOWEST,
                        m.options.percent);
    if (m.options.repeats < 1 || m.options.repeats > REPEATS_MOST)
        return mst_fail(err, MST_USAGE, "each place can be heard 1 to %d times; %d asked",
                        REPEATS_MOST, m.options.repeats);
    enum mst_status status = mst_take_open_sound(take, &m.sound, err);
    if (status != MST_OK)
        return status;
    out->rate_hz = mst_take_rate_hz(m.sound);
    switch (m.options.kind) {
    case MST_PRACTICE_WHOLE:
        status = make_whole(&m, err);
        break;
    case MST_PRACTICE_VERSES:
    case MST_PRACTICE_BREATHS:
        status = make_answers(&m, m.options.kind == MST_PRACTICE_BREATHS, err);
        break;
    case MST_PRACTICE_PLACES:
        status = make_places(&m, err);
        break;
    case MST_PRACTICE_PHRASES:
        status = make_phrases(&m, err);
        break;
    }
    mst_take_close(m.sound);
    if (status != MST_OK)
        mst_practice_free(out);
    return status;
}

void mst_practice_free(struct mst_practice *practice)
{
    free(practice->samples);
    free(practice->parts);
    *practice = (struct mst_practice){0};
}
