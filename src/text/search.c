/*
 * Search.  Arabic is compared symbol by symbol (skeleton.c), letters that one
 * spelling may lack being passed over; translations letter by letter, from
 * the head of a word on.
 */
#include "text_private.h"

#include <stdlib.h>
#include <string.h>

enum { MAX_QUERY = 256, MAX_VERSE_SYMBOLS = 4096, WAW = 0x0648, ALIF = 0x0627, YEH = 0x064A };

/* Hits growing in the caller's arena. */
struct hits {
    struct mst_arena *arena;
    struct mst_hit *at;
    size_t count, room, max;
    int failed;
};

static int full(const struct hits *hits)
{
    return hits->failed || hits->count >= hits->max;
}

static void add_hit(struct hits *hits, struct mst_hit hit)
{
    if (hits->count == hits->room) {
        size_t room = hits->room == 0 ? 32 : hits->room * 2;
        struct mst_hit *grown =
            mst_arena_grow(hits->arena, hits->at, hits->room, room, sizeof *grown);
        if (grown == NULL) {
            hits->failed = 1;
            return;
        }
        hits->at = grown;
        hits->room = room;
    }
    hits->at[hits->count++] = hit;
}

/* --- Arabic --------------------------------------------------------------- */

/* Marks that the query gives must be there; those it does not give may be anything. */
static int marks_agree(uint8_t asked, uint8_t printed)
{
    const uint8_t vowel = MARK_FATHA | MARK_DAMMA | MARK_KASRA | MARK_TANWIN;
    if ((asked & vowel) != 0 && (asked & vowel) != (printed & vowel))
        return 0;
    if ((asked & MARK_SHADDA) != 0 && (printed & MARK_SHADDA) == 0)
        return 0;
    return (asked & MARK_SUKUN) == 0 || (printed & vowel) == 0;
}

static int agree(const struct symbol *asked, const struct symbol *printed)
{
    int same = (asked->hamza && printed->hamza) ||
               (asked->letter != 0 &&
                (asked->letter == printed->letter || asked->letter == printed->other));
    return same && marks_agree(asked->marks, printed->marks);
}

/*
 * Match the whole query from verse[0] on. reached[i]: the first i symbols of
 * the query have been met. Returns how many symbols of the verse the longest
 * match takes, 0 when there is none.
 */
static size_t match_here(const struct symbol *verse, size_t verse_len, const struct symbol *query,
                         size_t query_len)
{
    unsigned char reached[MAX_QUERY + 1] = {1};
    size_t top = 0, longest = 0; /* no reached[i] beyond top is set */
    for (size_t v = 0; v < verse_len; v++) {
        size_t limit = top < query_len ? top + 1 : query_len, alive = 0;
        unsigned char skips = v > 0 && verse[v].optional;
        /* Downwards, so that each symbol of the verse is used once. */
        for (size_t i = limit; i > 0; i--) {
            unsigned char met = reached[i - 1] && agree(&query[i - 1], &verse[v]);
            if (met && i == query_len)
                longest = v + 1;
            reached[i] = met || (reached[i] && skips);
        }
        reached[0] = 0;
        top = 0;
        for (size_t i = 1; i <= limit && i < query_len; i++) {
            if (!reached[i])
                continue;
            alive = 1;
            top = i;
            if (!query[i].optional)
                continue;
            if (i + 1 == query_len)
                longest = v + 1;
            reached[i + 1] = 1;
            if (limit < i + 1)
                limit = i + 1;
        }
        if (!alive)
            break;
    }
    return longest;
}

/* "يا أيها" is printed as one word: the vocative's space is dropped from the query. */
static size_t join_vocatives(struct symbol *query, size_t len)
{
    size_t kept = 0;
    for (size_t i = 0; i < len; i++) {
        int after_ya =
            query[i].letter == ' ' && kept >= 2 && query[kept - 1].letter == ALIF &&
            !query[kept - 1].hamza && query[kept - 2].letter == YEH &&
            (kept == 2 || query[kept - 3].letter == ' ' ||
             (query[kept - 3].letter == WAW && (kept == 3 || query[kept - 4].letter == ' ')));
        if (!after_ya)
            query[kept++] = query[i];
    }
    return kept;
}

static int32_t word_at(const struct mst_text *text, int32_t verse_index, uint32_t byte_off)
{
    uint32_t first = text->verse_words[verse_index], end = text->verse_words[verse_index + 1];
    uint32_t word = first;
    while (word + 1 < end && text->word_offsets[word + 1] <= byte_off)
        word++;
    return (int32_t)(word - first) + 1;
}

/* A hit takes in the signs of its last letter, and what is silent at the end of the word. */
static size_t end_of_hit(const struct symbol *verse, size_t verse_len, size_t after)
{
    while (after < verse_len && verse[after].sign)
        after++;
    size_t end = after;
    while (end < verse_len && verse[end].optional)
        end++;
    return end == verse_len || verse[end].letter == ' ' ? end : after;
}

static void search_verse(const struct mst_text *text, int32_t verse_index,
                         const struct symbol *verse, size_t verse_len, const struct symbol *query,
                         size_t query_len, struct hits *hits)
{
    struct mst_span printed = text_verse_at(text, verse_index);
    for (size_t at = 0; at < verse_len && !full(hits); at++) {
        if (verse[at].sign || !agree(&query[0], &verse[at]))
            continue;
        size_t len = match_here(verse + at, verse_len - at, query, query_len);
        if (len == 0)
            continue;
        size_t after = end_of_hit(verse, verse_len, at + len);
        int with_hamza = query[0].hamza && at > 0 && verse[at - 1].letter == 0;
        uint32_t start = verse[with_hamza ? at - 1 : at].byte_off;
        uint32_t end = after < verse_len ? verse[after].byte_off : (uint32_t)printed.len;
        add_hit(hits, (struct mst_hit){
                          .verse_index = verse_index,
                          .first_word = word_at(text, verse_index, start),
                          .last_word = word_at(text, verse_index, end - 1),
                          .byte_off = (int32_t)start,
                          .byte_len = (int32_t)(end - start),
                          .translation = -1,
                      });
        at = after - 1;
    }
}

static enum mst_status search_arabic(const struct mst_text *text, struct mst_span asked,
                                     struct hits *hits, struct mst_error *err)
{
    struct symbol query[MAX_QUERY];
    /* Words copied from the print carry its sukūn; then 0652 is its zero. */
    int from_print = memmem(asked.ptr, asked.len, "\u06E1", 2) != NULL;
    size_t query_len = join_vocatives(query, text_symbols(asked, from_print, query, MAX_QUERY));
    while (query_len > 0 && query[query_len - 1].letter == ' ')
        query_len--;
    /* A hamza that was typed is meant, whatever its seat in the print. */
    for (size_t i = 0; i < query_len; i++)
        if (query[i].hamza)
            query[i].optional = 0;
    /* A match begins at a letter that must be there. */
    size_t skipped = 0;
    while (skipped + 1 < query_len && query[skipped].optional)
        skipped++;
    if (query_len == 0)
        return mst_fail(err, MST_USAGE, "“%.*s” holds no letter to search for",
                        (int)(asked.len < 100 ? asked.len : 100), asked.ptr);

    struct symbol *verse = malloc(MAX_VERSE_SYMBOLS * sizeof *verse);
    if (verse == NULL)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while searching");
    for (int32_t i = 0; i < MST_VERSE_COUNT && !full(hits); i++) {
        size_t len = text_symbols(text_verse_at(text, i), 1, verse, MAX_VERSE_SYMBOLS);
        search_verse(text, i, verse, len, query + skipped, query_len - skipped, hits);
    }
    free(verse);
    return MST_OK;
}

/* --- translations --------------------------------------------------------- */

/* A script that is written without gaps: any character may begin a word. */
static int has_no_gaps(uint32_t cp)
{
    return cp >= 0x2E80 && cp <= 0xFFFF && !(cp >= 0xFB00 && cp <= 0xFEFF);
}

/* Folded letters of a text with the place each came from; gaps once, none at either end. */
struct folded {
    uint32_t *cp, *from;
    size_t len, room;
};

static void fold_text(struct mst_span s, struct folded *out)
{
    out->len = 0;
    for (size_t off = 0; off < s.len;) {
        size_t start = off;
        uint32_t folded[2];
        int count = text_fold(mst_utf8_next(s.ptr, s.len, &off), folded);
        for (int i = 0; i < count && out->len < out->room; i++) {
            if (folded[i] == ' ' && (out->len == 0 || out->cp[out->len - 1] == ' '))
                continue;
            out->cp[out->len] = folded[i];
            out->from[out->len++] = (uint32_t)start;
        }
    }
    if (out->len > 0 && out->cp[out->len - 1] == ' ')
        out->len--;
}

static int folded_new(struct folded *f, size_t room)
{
    *f = (struct folded){.room = room};
    f->cp = malloc(room * sizeof *f->cp);
    f->from = malloc(room * sizeof *f->from);
    return f->cp != NULL && f->from != NULL;
}

static void folded_free(struct folded *f)
{
    free(f->cp);
    free(f->from);
}

/* The end of the character that begins at off. */
static size_t end_of_character(struct mst_span s, size_t off)
{
    mst_utf8_next(s.ptr, s.len, &off);
    return off;
}

static void search_translated(struct mst_span words, int32_t verse_index, int translation,
                              const struct folded *verse, const struct folded *query,
                              struct hits *hits)
{
    for (size_t at = 0; at + query->len <= verse->len && !full(hits); at++) {
        int begins = at == 0 || verse->cp[at - 1] == ' ' || has_no_gaps(verse->cp[at]);
        if (!begins || verse->cp[at] != query->cp[0] ||
            memcmp(verse->cp + at, query->cp, query->len * sizeof *query->cp) != 0)
            continue;
        uint32_t start = verse->from[at];
        size_t end = end_of_character(words, verse->from[at + query->len - 1]);
        add_hit(hits, (struct mst_hit){
                          .verse_index = verse_index,
                          .byte_off = (int32_t)start,
                          .byte_len = (int32_t)(end - start),
                          .translation = translation,
                      });
        at += query->len - 1;
    }
}

static enum mst_status search_translation(const struct mst_text *text, struct mst_span asked,
                                          int translation, struct hits *hits, struct mst_error *err)
{
    enum { MAX_LETTERS = 16384 }; /* the longest verse of the longest translation has 3000 */
    struct folded query = {0}, verse = {0};
    enum mst_status status = mst_text_translation_check(text, translation, err);
    if (status != MST_OK)
        return status;
    if (!folded_new(&query, MAX_QUERY) || !folded_new(&verse, MAX_LETTERS)) {
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while searching");
        goto done;
    }
    fold_text(asked, &query);
    if (query.len == 0) {
        status = mst_fail(err, MST_USAGE, "“%.*s” holds no letter to search for",
                          (int)(asked.len < 100 ? asked.len : 100), asked.ptr);
        goto done;
    }
    for (int32_t i = 0; i < MST_VERSE_COUNT && !full(hits); i++) {
        struct mst_addr addr = mst_text_verse_addr(text, i);
        struct mst_span words = mst_text_translated(text, translation, addr.sura, addr.verse);
        fold_text(words, &verse);
        search_translated(words, i, translation, &verse, &query, hits);
    }
done:
    folded_free(&query);
    folded_free(&verse);
    return status;
}

static int holds_arabic(struct mst_span s)
{
    for (size_t off = 0; off < s.len;)
        if (text_is_arabic(mst_utf8_next(s.ptr, s.len, &off)))
            return 1;
    return 0;
}

enum mst_status mst_text_search(const struct mst_text *text, struct mst_span query, int translation,
                                size_t max, struct mst_arena *arena, struct mst_hit **hits,
                                size_t *count, struct mst_error *err)
{
    *hits = NULL;
    *count = 0;
    struct hits found = {.arena = arena, .max = max};
    const struct mst_translation *told = mst_text_translation(text, translation);
    enum mst_status status;

    if (holds_arabic(query) && (told == NULL || !told->right_to_left)) {
        status = search_arabic(text, query, &found, err);
    } else {
        if (translation < 0)
            translation = mst_text_translation_find(text, MST_SPAN("en"));
        status = mst_text_translation(text, translation) == NULL
                     ? mst_fail(err, MST_NOT_FOUND, "this text carries no such translation")
                     : search_translation(text, query, translation, &found, err);
    }
    if (status == MST_OK && found.failed)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while searching");
    if (status == MST_OK) {
        *hits = found.at;
        *count = found.count;
    }
    return status;
}
