/* soundings.c – from the timeline of sounds to the times in which marks sound. */
#include <mistara/film.h>

#include <stdlib.h>

static int holds(const struct mst_sound *sound, int32_t letter)
{
    return letter >= sound->first_letter && letter <= sound->last_letter;
}

/*
 * How surely this sound is the one a mark tells of: it was given its length by
 * the site, it is the one sound that trigger and host became, it is the
 * trigger's consonant, it comes from the trigger at all. 0: it is not.
 */
static int nearness(const struct mst_reading *r, int32_t site_idx, int32_t sound_idx)
{
    const struct mst_site *site = &r->sites[site_idx];
    const struct mst_sound *sound = &r->sounds[sound_idx];
    enum { CARRIES = 4, MERGED = 3, CONSONANT = 2, LETTER = 1 };
    if (sound->site == site_idx)
        return CARRIES;
    if (!holds(sound, site->trigger))
        return 0;
    if (site->host >= 0 && holds(sound, site->host))
        return MERGED;
    return mst_phone_kind(sound->phone) == MST_PHONE_KIND_CONSONANT ? CONSONANT : LETTER;
}

static int in_order(const void *a, const void *b)
{
    const struct mst_sounding *one = a, *other = b;
    if (one->start_ms != other->start_ms)
        return one->start_ms < other->start_ms ? -1 : 1;
    return (one->site > other->site) - (one->site < other->site);
}

enum mst_status mst_soundings(const struct mst_timeline *tl, struct mst_rule_set rules,
                              struct mst_arena *arena, struct mst_sounding **out, size_t *count,
                              struct mst_error *err)
{
    const struct mst_reading *r = tl->reading;
    size_t sites = (size_t)r->site_count + 1;
    int *best = mst_arena_alloc(arena, sites, sizeof *best);
    struct mst_sounding *times = mst_arena_alloc(arena, sites, sizeof *times);
    *out = times;
    *count = 0;
    if (!best || !times)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out");
    for (int32_t n = 0; n < tl->sound_count; n++) {
        const struct mst_heard_sound *h = &tl->sounds[n];
        if (h->sound_idx < 0 || h->end_ms <= h->start_ms)
            continue;
        const struct mst_sound *sound = &r->sounds[h->sound_idx];
        int32_t from, end, none;
        mst_sites_at(r, sound->first_letter, &from, &end);
        mst_sites_at(r, sound->last_letter, &none, &end);
        /* The carrying sound may come from another letter than the trigger. */
        int32_t extra =
            sound->site >= 0 && (sound->site < from || sound->site >= end) ? sound->site : -1;
        for (int32_t at = extra >= 0 ? from - 1 : from; at < end; at++) {
            int32_t site = at < from ? extra : at;
            if (!mst_rule_set_has(rules, r->sites[site].rule))
                continue;
            int near = nearness(r, site, h->sound_idx);
            struct mst_sounding *time = &times[site];
            if (near == 0 || near < best[site])
                continue;
            if (near > best[site])
                *time = (struct mst_sounding){site, h->start_ms, h->end_ms};
            else if (h->start_ms <= time->end_ms)
                time->end_ms = h->end_ms; /* the same hold goes on */
            best[site] = near;
        }
    }
    for (size_t n = 0; n < (size_t)r->site_count; n++)
        if (best[n])
            times[(*count)++] = times[n];
    qsort(times, *count, sizeof *times, in_order);
    return MST_OK;
}
