/* pinch.c – one passage twice, the second time with the nose shut: what became of the holds. */
#include "bands.h"
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NEIGHBOURS = 4 /* sounds to each side in which a vowel is sought */, LEAST_ORAL = 8 };
/* A change beyond this many spreads and dB is one; from `doubt` spreads on it cannot be told. A
 * hold this much weaker has died away. */
static const double changed_spreads = 4, changed_db = 4, doubt_spreads = 2.5, dies_db = -6;
/* Bands this far below the vowels are noise. */
static const double deepest_db = -45;
/* The edges of a sound belong to its neighbours too. */
static const double margin_ms = 12;

const char *mst_pinch_id(enum mst_pinch_verdict verdict)
{
    static const char *const ids[MST_PINCH_COUNT] = {
#define X(name, id, en, ar) id,
        MST_PINCH_LIST(X)
#undef X
    };
    return ids[verdict];
}

const char *mst_pinch_text(enum mst_pinch_verdict verdict, enum mst_lang lang)
{
    static const char *const texts[MST_PINCH_COUNT][2] = {
#define X(name, id, en, ar) {en, ar},
        MST_PINCH_LIST(X)
#undef X
    };
    return texts[verdict][lang == MST_LANG_AR];
}

struct comparing {
    struct mst_pinch_take takes[2];
    struct bands_meter *meter;
    struct bands *bands[2]; /* per heard sound; measured when first asked for */
    uint8_t *measured[2];
    struct mst_error *err;
};

static enum mst_status measure(struct comparing *c, int take, int32_t sound)
{
    const struct mst_heard_sound *s = &c->takes[take].timeline->sounds[sound];
    if (c->measured[take][sound])
        return MST_OK;
    c->measured[take][sound] = 1;
    return bands_measure(c->meter, c->takes[take].take, s->start_ms + margin_ms,
                         s->end_ms - margin_ms, &c->bands[take][sound], c->err);
}

/* The strength of the vowels beside a sound; none: NAN. */
static enum mst_status beside(struct comparing *c, int take, int32_t sound, double *db)
{
    const struct mst_timeline *tl = c->takes[take].timeline;
    double sum = 0;
    int count = 0;
    for (int step = -1; step <= 1; step += 2)
        for (int k = 1; k <= NEIGHBOURS; k++) {
            int32_t n = sound + step * k;
            if (n < 0 || n >= tl->sound_count || !fault_is_vowel(tl->sounds[n].phone))
                continue;
            enum mst_status status = measure(c, take, n);
            if (status)
                return status;
            sum += c->bands[take][n].all_db;
            count++;
            break;
        }
    *db = count > 0 ? sum / count : NAN;
    return MST_OK;
}

/* How a sound changed from the open take (first) to the pinched one. */
struct change {
    double level_db, shape_db;
};

static struct change change_of(const struct bands *open, double open_vowels,
                               const struct bands *pinched, double pinched_vowels)
{
    double sum = 0;
    for (int band = 0; band < BAND_COUNT; band++) {
        double before = fmax(open->db[band] - open_vowels, deepest_db);
        double after = fmax(pinched->db[band] - pinched_vowels, deepest_db);
        sum += (after - before) * (after - before);
    }
    return (struct change){.level_db =
                               pinched->all_db - pinched_vowels - (open->all_db - open_vowels),
                           .shape_db = sqrt(sum / BAND_COUNT)};
}

static enum mst_status compare_sound(struct comparing *c, const int32_t sounds[2],
                                     struct change *out)
{
    double vowels[2];
    enum mst_status status = MST_OK;
    for (int take = 0; take < 2 && !status; take++) {
        status = measure(c, take, sounds[take]);
        if (!status)
            status = beside(c, take, sounds[take], &vowels[take]);
    }
    if (!status)
        *out = change_of(&c->bands[0][sounds[0]], vowels[0], &c->bands[1][sounds[1]], vowels[1]);
    return status;
}

static enum mst_status compare_thirds(struct comparing *c, const int32_t sounds[2], double out[3],
                                      struct mst_error *err)
{
    for (int third = 0; third < 3; third++) {
        struct bands b[2];
        double vowels[2];
        for (int take = 0; take < 2; take++) {
            const struct mst_heard_sound *s = &c->takes[take].timeline->sounds[sounds[take]];
            double from = s->start_ms + margin_ms, step = (s->end_ms - margin_ms - from) / 3;
            enum mst_status status =
                bands_measure(c->meter, c->takes[take].take, from + third * step,
                              from + (third + 1) * step, &b[take], err);
            if (!status)
                status = beside(c, take, sounds[take], &vowels[take]);
            if (status)
                return status;
        }
        out[third] = change_of(&b[0], vowels[0], &b[1], vowels[1]).level_db;
    }
    return MST_OK;
}

/* The same sound of the same word in the pinched take, or -1. */
static int32_t counterpart(const struct comparing *c, int32_t sound)
{
    const struct mst_timeline *a = c->takes[0].timeline, *b = c->takes[1].timeline;
    const struct mst_heard_word *word = &a->words[a->sounds[sound].heard_word];
    for (int32_t w = 0; w < b->word_count; w++) {
        int32_t n = b->words[w].first_sound + sound - word->first_sound;
        if (b->words[w].again || mst_addr_compare(b->words[w].at, word->at) != 0)
            continue;
        if (sound - word->first_sound >= b->words[w].sound_count || b->sounds[n].sound_idx < 0 ||
            b->sounds[n].phone != a->sounds[sound].phone)
            return -1;
        return n;
    }
    return -1;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* What oral sounds change by: vowels long enough to be measured. */
static enum mst_status usual_change(struct comparing *c, struct mst_pinch *p, double *room)
{
    const struct mst_timeline *tl = c->takes[0].timeline;
    size_t n = 0;
    for (int32_t i = 0; i < tl->sound_count; i++) {
        const struct mst_heard_sound *s = &tl->sounds[i];
        int32_t pair[2] = {i, -1};
        struct change change;
        if (s->sound_idx < 0 || !fault_is_vowel(s->phone) || s->end_ms - s->start_ms < 60)
            continue;
        pair[1] = counterpart(c, i);
        if (pair[1] < 0)
            continue;
        enum mst_status status = compare_sound(c, pair, &change);
        if (status)
            return status;
        if (!isnan(change.shape_db))
            room[n++] = change.shape_db;
    }
    p->oral_count = (int32_t)n;
    if (n == 0)
        return MST_OK;
    qsort(room, n, sizeof *room, ascending);
    p->usual_db = room[n / 2];
    for (size_t i = 0; i < n; i++)
        room[i] = fabs(room[i] - p->usual_db);
    qsort(room, n, sizeof *room, ascending);
    p->usual_spread_db = fmax(1.4826 * room[n / 2], 0.7);
    return MST_OK;
}

static void decide(const struct mst_pinch *p, struct mst_pinch_site *s)
{
    s->spreads = (s->shape_db - p->usual_db) / p->usual_spread_db;
    if (p->oral_count < LEAST_ORAL || isnan(s->shape_db)) {
        s->verdict = MST_PINCH_CANNOT_TELL;
        return;
    }
    if (s->spreads >= changed_spreads && s->shape_db >= changed_db)
        s->verdict = s->level_db <= dies_db ? MST_PINCH_DIES : MST_PINCH_CHANGES;
    else if (s->spreads >= doubt_spreads && s->shape_db >= changed_db)
        s->verdict = MST_PINCH_CANNOT_TELL;
    else
        s->verdict = MST_PINCH_STAYS;
    double middle = (changed_spreads + doubt_spreads) / 2;
    s->sureness = 1 / (1 + exp(-fabs(s->spreads - middle)));
}

static enum mst_status compare_holds(struct comparing *c, struct mst_pinch *p,
                                     struct mst_error *err)
{
    const struct mst_timeline *tl = c->takes[0].timeline;
    for (int32_t i = 0; i < tl->sound_count; i++) {
        int32_t pair[2] = {i, -1};
        struct change change;
        const struct mst_sound *said = fault_said(tl, i);
        if (!said || !said->nasal || said->counts < 2)
            continue;
        pair[1] = counterpart(c, i);
        if (pair[1] < 0) {
            p->missing_count++;
            continue;
        }
        struct mst_pinch_site *s = &p->sites[p->site_count];
        *s = (struct mst_pinch_site){.at = tl->words[tl->sounds[i].heard_word].at,
                                     .site_idx = said->site,
                                     .open_sound = i,
                                     .pinched_sound = pair[1]};
        enum mst_status status = compare_sound(c, pair, &change);
        if (!status)
            status = compare_thirds(c, pair, s->third_db, err);
        if (status)
            return status;
        s->level_db = change.level_db;
        s->shape_db = change.shape_db;
        decide(p, s);
        p->counts[s->verdict]++;
        p->site_count++;
    }
    return MST_OK;
}

enum mst_status mst_pinch_compare(struct mst_pinch_take open, struct mst_pinch_take pinched,
                                  struct mst_arena *arena, struct mst_pinch **out,
                                  struct mst_error *err)
{
    struct comparing c = {.takes = {open, pinched}, .err = err};
    struct mst_pinch *p = mst_arena_alloc(arena, 1, sizeof *p);
    size_t most = (size_t)open.timeline->sound_count + 1;
    double *room = malloc(most * sizeof *room);
    int enough = p && room;
    *out = NULL;
    for (int take = 0; take < 2; take++) {
        size_t n = (size_t)c.takes[take].timeline->sound_count + 1;
        c.bands[take] = calloc(n, sizeof *c.bands[take]);
        c.measured[take] = calloc(n, 1);
        enough = enough && c.bands[take] && c.measured[take];
    }
    if (enough)
        p->sites = mst_arena_alloc(arena, most, sizeof *p->sites);
    enum mst_status status =
        enough && p->sites ? bands_meter_new(&c.meter, err)
                           : mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing takes");
    if (!status)
        status = usual_change(&c, p, room);
    if (!status)
        status = compare_holds(&c, p, err);
    if (!status)
        *out = p;
    bands_meter_free(c.meter);
    for (int take = 0; take < 2; take++) {
        free(c.bands[take]);
        free(c.measured[take]);
    }
    free(room);
    return status;
}
