/*
 * alike.c – where memory may leap: two neighbouring words of the passage that
 * sound as two others do, but are followed by something else. Who knows a text
 * by heart goes on there as in the other place.
 */
#include "parts.h"

#include <stdlib.h>

/* What a word sounds like where one stops on it: what follows does not change that. FNV-1a. */
static uint64_t sound_of(const struct mst_script *s, int32_t word)
{
    uint64_t hash = UINT64_C(0xcbf29ce484222325);
    int32_t form = ear_script_form(s, word, EAR_JOINED_STOPPING);
    if (form < 0)
        form = ear_script_form(s, word, EAR_STARTED_STOPPING);
    for (int32_t u = 0; form >= 0 && u < s->forms[form].unit_count; u++) {
        const struct ear_unit *unit = &s->units[s->forms[form].first_unit + u];
        hash =
            (hash ^ (uint64_t)(2 * unit->model + (unit->geminate != 0))) * UINT64_C(0x100000001b3);
    }
    return hash;
}

int32_t ear_alike_before(const struct mst_script *s, int32_t a, int32_t b)
{
    int32_t same = 0;
    while (a >= same && b >= same && a != b && !s->words[a - same].optional &&
           !s->words[b - same].optional && sound_of(s, a - same) == sound_of(s, b - same))
        same++;
    return same;
}

struct pair {
    uint64_t sound;
    int32_t last; /* the second of the two words */
};

static int by_sound(const void *a, const void *b)
{
    const struct pair *x = a, *y = b;
    if (x->sound != y->sound)
        return x->sound < y->sound ? -1 : 1;
    return (x->last > y->last) - (x->last < y->last);
}

static int by_place(const void *a, const void *b)
{
    const struct ear_leap *x = a, *y = b;
    if (x->from != y->from)
        return x->from < y->from ? -1 : 1;
    return (x->to > y->to) - (x->to < y->to);
}

enum mst_status ear_alike_leaps(const struct mst_script *s, struct ear_leap **out, size_t *count,
                                struct mst_error *err)
{
    size_t words = (size_t)s->word_count, cap = 64, pairs = 0;
    uint64_t *sounds = malloc((words + 1) * sizeof *sounds);
    struct pair *list = malloc((words + 1) * sizeof *list);
    struct ear_leap *leaps = malloc(cap * sizeof *leaps);
    *out = NULL;
    *count = 0;
    if (!sounds || !list || !leaps)
        goto no_memory;
    for (size_t w = 0; w < words; w++) {
        sounds[w] = sound_of(s, (int32_t)w);
        if (w > 0 && !s->words[w].optional && !s->words[w - 1].optional)
            list[pairs++] = (struct pair){sounds[w - 1] * 31 + sounds[w], (int32_t)w};
    }
    qsort(list, pairs, sizeof *list, by_sound);
    for (size_t first = 0, end; first < pairs; first = end) {
        for (end = first + 1; end < pairs && list[end].sound == list[first].sound; end++)
            ;
        for (size_t i = first; i < end; i++)
            for (size_t k = first; k < end; k++) {
                size_t from = (size_t)list[i].last, to = (size_t)list[k].last + 1;
                if (i == k || to >= words || from + 1 == to ||
                    (from + 1 < words && sounds[from + 1] == sounds[to]))
                    continue;
                if (*count == cap) {
                    struct ear_leap *bigger = realloc(leaps, 2 * cap * sizeof *leaps);
                    if (!bigger)
                        goto no_memory;
                    leaps = bigger;
                    cap *= 2;
                }
                leaps[(*count)++] = (struct ear_leap){(int32_t)from, (int32_t)to};
            }
    }
    qsort(leaps, *count, sizeof *leaps, by_place);
    free(sounds);
    free(list);
    *out = leaps;
    return MST_OK;
no_memory:
    free(sounds);
    free(list);
    free(leaps);
    *count = 0;
    return mst_fail(err, MST_NO_MEMORY, "memory ran out while laying out the passage");
}
