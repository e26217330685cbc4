/* film.c – the film of a take: its scene, and what is lit in it when. */
#include "reel.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static int same_letter(const struct mst_reading *a, int32_t x, const struct mst_reading *b,
                       int32_t y)
{
    return mst_addr_compare(mst_letter_addr(a, x), mst_letter_addr(b, y)) == 0;
}

/* The word at this address in a reading, or -1. */
static int32_t word_at(const struct mst_reading *r, struct mst_addr at)
{
    for (int32_t n = 0; n < r->word_count; n++)
        if (r->words[n].sura == at.sura && r->words[n].verse == at.verse &&
            r->words[n].word == at.word)
            return n;
    return -1;
}

/* The same rule at the same letter, or -1: read apart from its neighbours a word may lose one. */
static int32_t site_like(const struct mst_reading *r, const struct mst_reading *other, int32_t site)
{
    const struct mst_site *wanted = &other->sites[site];
    if (r == other)
        return site;
    for (int32_t n = 0; n < r->site_count; n++)
        if (r->sites[n].rule == wanted->rule &&
            same_letter(r, r->sites[n].trigger, other, wanted->trigger))
            return n;
    return -1;
}

static int32_t scaled(double ms, double from_ms, int percent)
{
    return (int32_t)lround((ms - from_ms) * 100 / percent);
}

enum mst_status scene_light(struct scene *scene, const struct mst_timeline *tl, int32_t first,
                            int32_t end, double from_ms, int percent, struct mst_arena *arena,
                            struct mst_error *err)
{
    struct mst_rule_set every = {.bits = ~UINT64_C(0)}; /* the sheet has chosen which are drawn */
    struct mst_sounding *soundings;
    size_t count;
    const struct mst_reading *r = scene->reading;
    enum mst_status status = mst_soundings(tl, every, arena, &soundings, &count, err);
    if (status != MST_OK)
        return status;
    scene->words = mst_arena_alloc(arena, (size_t)(end - first) + 1, sizeof *scene->words);
    scene->sites = mst_arena_alloc(arena, count + 1, sizeof *scene->sites);
    if (!scene->words || !scene->sites)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out before the film was begun");
    for (int32_t n = first; n < end; n++) {
        const struct mst_heard_word *w = &tl->words[n];
        int32_t word = r == tl->reading ? w->word_idx : word_at(r, w->at);
        if (word >= 0)
            scene->words[scene->word_count++] = (struct light){
                scaled(w->start_ms, from_ms, percent), scaled(w->end_ms, from_ms, percent), word};
    }
    for (size_t n = 0; n < count; n++) {
        const struct mst_sounding *s = &soundings[n];
        int32_t site =
            s->end_ms > tl->words[first].start_ms && s->start_ms < tl->words[end - 1].end_ms
                ? site_like(r, tl->reading, s->site)
                : -1;
        if (site >= 0)
            scene->sites[scene->site_count++] = (struct light){
                scaled(s->start_ms, from_ms, percent), scaled(s->end_ms, from_ms, percent), site};
    }
    return MST_OK;
}

enum mst_status reel_take(struct reel *reel, struct mst_take *take, const struct mst_timeline *tl,
                          const struct mst_sheet *sheet, struct mst_error *err)
{
    if (tl->word_count == 0)
        return mst_fail(err, MST_USAGE, "no word is heard in this take; there is nothing to film");
    double begin_ms = (double)reel_frames(reel) * 1000 / FILM_FPS;
    struct mst_take *sound;
    enum mst_status status = mst_take_read_all(take, err);
    if (status == MST_OK)
        status = reel_sound(reel, take, &sound, err);
    if (status != MST_OK)
        return status;
    struct scene *s = reel_scene(reel);
    if (!s)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out before the film was begun");
    s->sheet = sheet;
    s->reading = tl->reading;
    s->take = sound;
    s->frame_count = reel_frames_of_ms(mst_take_ms_at_sample(mst_take_sample_count(take)));
    for (int32_t n = 0; n < tl->word_count && status == MST_OK; n = film_verse_end(tl, n)) {
        char title[32];
        snprintf(title, sizeof title, "%d:%d", tl->words[n].at.sura, tl->words[n].at.verse);
        /* what comes before the first word belongs to the first verse */
        status = reel_chapter(reel, begin_ms + (n == 0 ? 0 : tl->words[n].start_ms), title, err);
    }
    if (status == MST_OK)
        status = scene_light(s, tl, 0, tl->word_count, 0, 100, reel->arena, err);
    return status;
}

enum mst_status mst_film_write(struct mst_take *take, const struct mst_timeline *timeline,
                               const struct mst_sheet *sheet,
                               const struct mst_film_options *options, const char *path,
                               struct mst_error *err)
{
    static const struct mst_film_options defaults = {0};
    struct reel reel = reel_new();
    char passage[96];
    if (!options)
        options = &defaults;
    if (!reel.arena)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out before the film was begun");
    snprintf(reel.title, sizeof reel.title, "%s",
             mst_range_print(timeline->reading->range, passage));
    enum mst_status status = reel_take(&reel, take, timeline, sheet, err);
    if (status == MST_OK)
        status = reel_shoot(&reel, options->theme, options->progress, path, err);
    reel_free(&reel);
    return status;
}
