/* similar.c – verses that are alike, by the pairs of neighbouring words they share. */
#include "parts.h"

#include <stdlib.h>
#include <string.h>

struct pair {
    uint64_t words; /* two neighbours, hashed together */
    int32_t verse;
};
struct mst_similar {
    const struct mst_text *text;
    struct pair *by_verse, *by_words; /* the same, in two orders */
    int32_t *first;                   /* per verse + 1, in by_verse */
    int32_t verse_count, pair_count;
};

enum { VERSE_END = 1 /* stands before the first word and after the last */ };

static int is_mark(uint32_t cp)
{
    return (cp >= 0x610 && cp <= 0x61a) || cp == 0x640 || (cp >= 0x64b && cp <= 0x65f) ||
           cp == 0x670 || (cp >= 0x6d6 && cp <= 0x6ed) || cp < 0x80;
}

/* FNV-1a over the letters, their marks left out. */
static uint64_t hash_of_word(struct mst_span word)
{
    uint64_t hash = UINT64_C(0xcbf29ce484222325);
    for (size_t off = 0; off < word.len;) {
        uint32_t cp = mst_utf8_next(word.ptr, word.len, &off);
        if (is_mark(cp))
            continue;
        for (int k = 0; k < 4; k++) {
            hash ^= cp >> 8 * k & 0xff;
            hash *= UINT64_C(0x100000001b3);
        }
    }
    return hash;
}

static uint64_t joined(uint64_t a, uint64_t b)
{
    uint64_t x = a * UINT64_C(0x9e3779b97f4a7c15) ^ (b + UINT64_C(0x632be59bd9b4e019));
    x ^= x >> 29;
    return x * UINT64_C(0xbf58476d1ce4e5b9);
}

static int by_verse_then_words(const void *a, const void *b)
{
    const struct pair *x = a, *y = b;
    if (x->verse != y->verse)
        return x->verse < y->verse ? -1 : 1;
    return (x->words > y->words) - (x->words < y->words);
}

static int by_words_then_verse(const void *a, const void *b)
{
    const struct pair *x = a, *y = b;
    if (x->words != y->words)
        return x->words < y->words ? -1 : 1;
    return (x->verse > y->verse) - (x->verse < y->verse);
}

enum mst_status mst_similar_open(const struct mst_text *text, struct mst_similar **out,
                                 struct mst_error *err)
{
    int32_t words = 0, verses = 0;
    *out = NULL;
    for (int32_t sura = 1; sura <= 114; sura++)
        for (int32_t v = 1; v <= mst_text_sura(text, sura)->verse_count; v++, verses++)
            words += mst_text_word_count(text, sura, v) + 1;
    struct mst_similar *s = calloc(1, sizeof *s);
    if (s) {
        s->by_verse = malloc((size_t)words * sizeof *s->by_verse);
        s->by_words = malloc((size_t)words * sizeof *s->by_words);
        s->first = calloc((size_t)verses + 1, sizeof *s->first);
    }
    if (!s || !s->by_verse || !s->by_words || !s->first) {
        mst_similar_close(s);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing verses");
    }
    s->text = text;
    s->verse_count = verses;
    for (int32_t sura = 1, verse = 0; sura <= 114; sura++)
        for (int32_t v = 1; v <= mst_text_sura(text, sura)->verse_count; v++, verse++) {
            uint64_t before = VERSE_END;
            int32_t count = mst_text_word_count(text, sura, v);
            s->first[verse] = s->pair_count;
            for (int32_t w = 1; w <= count + 1; w++) {
                uint64_t here =
                    w <= count ? hash_of_word(mst_text_word(text, sura, v, w)) : VERSE_END;
                s->by_verse[s->pair_count++] = (struct pair){joined(before, here), verse};
                before = here;
            }
        }
    s->first[verses] = s->pair_count;
    memcpy(s->by_words, s->by_verse, (size_t)s->pair_count * sizeof *s->by_words);
    qsort(s->by_verse, (size_t)s->pair_count, sizeof *s->by_verse, by_verse_then_words);
    qsort(s->by_words, (size_t)s->pair_count, sizeof *s->by_words, by_words_then_verse);
    *out = s;
    return MST_OK;
}

void mst_similar_close(struct mst_similar *s)
{
    if (!s)
        return;
    free(s->by_verse);
    free(s->by_words);
    free(s->first);
    free(s);
}

static double dice(const struct mst_similar *s, int32_t a, int32_t b)
{
    int32_t i = s->first[a], j = s->first[b], common = 0;
    while (i < s->first[a + 1] && j < s->first[b + 1]) {
        uint64_t x = s->by_verse[i].words, y = s->by_verse[j].words;
        common += x == y;
        i += x <= y;
        j += y <= x;
    }
    int32_t all = s->first[a + 1] - s->first[a] + s->first[b + 1] - s->first[b];
    return 2.0 * common / all;
}

static int32_t verse_of(const struct mst_similar *s, struct mst_addr at)
{
    if (at.sura < 1 || at.sura > 114 || at.verse < 1 ||
        at.verse > mst_text_sura(s->text, at.sura)->verse_count)
        return -1;
    return mst_text_verse_index(s->text, at.sura, at.verse);
}

double mst_similar_verses(const struct mst_similar *s, struct mst_addr a, struct mst_addr b)
{
    int32_t x = verse_of(s, a), y = verse_of(s, b);
    return x < 0 || y < 0 ? 0 : dice(s, x, y);
}

static int likest_first(const void *a, const void *b)
{
    const struct mst_similar_hit *x = a, *y = b;
    if (x->alike != y->alike)
        return x->alike > y->alike ? -1 : 1;
    return mst_addr_compare(x->at, y->at);
}

/* First of by_words that is not before words. */
static int32_t lower_bound(const struct mst_similar *s, uint64_t words)
{
    int32_t low = 0, high = s->pair_count;
    while (low < high) {
        int32_t middle = low + (high - low) / 2;
        if (s->by_words[middle].words < words)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

enum mst_status mst_similar_find(const struct mst_similar *s, struct mst_addr verse, double least,
                                 struct mst_arena *arena, struct mst_similar_hit **out,
                                 size_t *count, struct mst_error *err)
{
    int32_t own = verse_of(s, verse);
    *out = NULL;
    *count = 0;
    if (own < 0)
        return mst_fail(err, MST_USAGE, "there is no verse %d:%d", verse.sura, verse.verse);
    uint8_t *seen = calloc((size_t)s->verse_count, 1);
    struct mst_similar_hit *hits = NULL;
    size_t cap = 0;
    if (!seen)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing verses");
    seen[own] = 1;
    for (int32_t p = s->first[own]; p < s->first[own + 1]; p++)
        for (int32_t i = lower_bound(s, s->by_verse[p].words);
             i < s->pair_count && s->by_words[i].words == s->by_verse[p].words; i++) {
            int32_t other = s->by_words[i].verse;
            if (seen[other])
                continue;
            seen[other] = 1;
            double alike = dice(s, own, other);
            if (alike < least)
                continue;
            if (*count == cap) {
                size_t wanted = cap ? cap * 2 : 16;
                hits = mst_arena_grow(arena, hits, cap, wanted, sizeof *hits);
                if (!hits) {
                    free(seen);
                    return mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing verses");
                }
                cap = wanted;
            }
            hits[(*count)++] = (struct mst_similar_hit){mst_text_verse_addr(s->text, other), alike};
        }
    free(seen);
    if (*count > 0)
        qsort(hits, *count, sizeof *hits, likest_first);
    *out = hits;
    return MST_OK;
}
