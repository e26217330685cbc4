/* doubts.c – the faults of which it cannot be told whether they were made, and why. */
#include "parts.h"

#include <math.h>
#include <stdlib.h>

const char *mst_cannot_id(enum mst_cannot why)
{
    static const char *const ids[MST_CANNOT_COUNT] = {
#define X(name, id, en, ar) id,
        MST_CANNOT_LIST(X)
#undef X
    };
    return ids[why];
}

const char *mst_cannot_text(enum mst_cannot why, enum mst_lang lang)
{
    static const char *const texts[MST_CANNOT_COUNT][2] = {
#define X(name, id, en, ar) {en, ar},
        MST_CANNOT_LIST(X)
#undef X
    };
    return texts[why][lang == MST_LANG_AR];
}

static int graver_first(const void *a, const void *b)
{
    const struct mst_fault_doubt *x = a, *y = b;
    if (x->fault->grade != y->fault->grade)
        return x->fault->grade < y->fault->grade ? -1 : 1;
    double p = x->likeliest.sureness, q = y->likeliest.sureness;
    if (p != q)
        return p > q ? -1 : 1;
    return mst_addr_compare(x->likeliest.at, y->likeliest.at);
}

void fault_clip(const struct mst_timeline *tl, const struct mst_kind_fault *k, int32_t *start_ms,
                int32_t *end_ms)
{
    const struct mst_heard_word *word = &tl->words[tl->sounds[k->sound].heard_word];
    int32_t start = k->start_ms - FAULT_CLIP_MS, end = k->end_ms + FAULT_CLIP_MS;
    start = word->start_ms < start ? word->start_ms : start;
    *start_ms = start > 0 ? start : 0;
    *end_ms = word->end_ms > end ? word->end_ms : end;
}

static void add_place(struct mst_fault_doubt *d, const struct mst_timeline *tl,
                      const struct mst_kind_fault *k)
{
    d->why |= k->cannot_tell;
    if (d->place_count == 0 || k->sureness > d->likeliest.sureness) {
        d->likeliest = *k;
        fault_clip(tl, k, &d->start_ms, &d->end_ms);
    }
    d->fault = k->fault;
    d->place_count++;
}

enum mst_status fault_doubts(const struct mst_timeline *tl, const struct mst_kind_fault *list,
                             size_t count, struct mst_arena *arena, struct mst_fault_report *r,
                             struct mst_error *err)
{
    struct mst_fault_doubt *doubts = NULL;
    size_t n = 0, cap = 0;
    for (size_t i = 0; i < count; i++) {
        size_t d = 0;
        if (!list[i].cannot_tell)
            continue;
        while (d < n && doubts[d].fault != list[i].fault)
            d++;
        if (d == cap) {
            size_t wanted = cap ? 2 * cap : 16;
            doubts = mst_arena_grow(arena, doubts, cap, wanted, sizeof *doubts);
            if (!doubts)
                return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
            cap = wanted;
        }
        if (d == n)
            doubts[n++] = (struct mst_fault_doubt){.fault = NULL};
        add_place(&doubts[d], tl, &list[i]);
    }
    if (n > 0)
        qsort(doubts, n, sizeof *doubts, graver_first);
    r->doubts = doubts;
    r->doubts_found = n;
    r->doubt_count = n < MST_FINDINGS_MAX ? n : MST_FINDINGS_MAX;
    return MST_OK;
}
