#include "whole.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static int read_all(struct whole *w, struct mst_reading_options options, struct mst_reading **out)
{
    struct mst_range all;
    struct mst_error err = {0};
    if (mst_range_parse(w->text, MST_SPAN("all"), &all, &err) == MST_OK &&
        mst_reading_new(w->text, all, &options, w->arena, out, &err) == MST_OK)
        return 1;
    fprintf(stderr, "%s\n", err.message);
    return 0;
}

int whole_open(struct whole *w)
{
    struct mst_error err = {0};
    *w = (struct whole){.arena = mst_arena_new(1u << 20)};
    if (!w->arena || mst_text_open(NULL, &w->text, &err) != MST_OK) {
        fprintf(stderr, "%s\n", w->arena ? err.message : "memory ran out");
        return 0;
    }
    if (!read_all(w, (struct mst_reading_options){.stops = MST_STOPS_NONE}, &w->joined) ||
        !read_all(w, (struct mst_reading_options){.stops = MST_STOPS_VERSES}, &w->verses))
        return 0;
    const struct mst_reading *r = w->joined;
    struct mst_addr *every = mst_arena_alloc(w->arena, (size_t)r->word_count, sizeof *every);
    if (!every)
        return 0;
    for (int32_t i = 0; i < r->word_count; i++)
        every[i] = (struct mst_addr){r->words[i].sura, r->words[i].verse, r->words[i].word, 0};
    return read_all(w,
                    (struct mst_reading_options){.stops = MST_STOPS_LIST,
                                                 .stop_list = every,
                                                 .stop_count = (size_t)r->word_count},
                    &w->words);
}

void whole_close(struct whole *w)
{
    mst_arena_free(w->arena);
    mst_text_close(w->text);
}

/* --- addresses ----------------------------------------------------------------- */

static int word_compare(const void *key, const void *element)
{
    const struct mst_addr *a = key;
    const struct mst_word *w = element;
    struct mst_addr b = {w->sura, w->verse, w->word, a->letter};
    return mst_addr_compare(*a, b);
}

static const struct mst_word *word_at(const struct mst_reading *r, const char *addr,
                                      struct mst_addr *a)
{
    *a = (struct mst_addr){0};
    if (sscanf(addr, "%d:%d:%d:%d", &a->sura, &a->verse, &a->word, &a->letter) < 3)
        return NULL;
    return bsearch(a, r->words, (size_t)r->word_count, sizeof *r->words, word_compare);
}

int32_t letter_at(const struct mst_reading *r, const char *addr)
{
    struct mst_addr a;
    const struct mst_word *w = word_at(r, addr, &a);
    if (!w || a.letter < 1 || a.letter > w->letter_count)
        return -1;
    return w->first_letter + a.letter - 1;
}

/* --- sets ------------------------------------------------------------------------ */

unsigned char *places_new(struct whole *w, const struct mst_reading *r)
{
    unsigned char *set = mst_arena_alloc(w->arena, (size_t)r->letter_count, 1);
    if (!set)
        fail_msg("memory ran out");
    return set;
}

void places_add(const struct mst_reading *r, unsigned char *set, const char *addr,
                const unsigned char *of)
{
    struct mst_addr a;
    const struct mst_word *w = word_at(r, addr, &a);
    if (!w || a.letter > w->letter_count)
        fail_msg("there is no letter %s", addr);
    int found = 0;
    for (int32_t k = 0; k < w->letter_count; k++) {
        if (a.letter ? k == a.letter - 1 : of && of[w->first_letter + k])
            found = set[w->first_letter + k] = 1;
    }
    if (!found && !a.letter)
        fail_msg("nothing at word %s", addr);
}

unsigned char *places_of_rule(struct whole *w, const struct mst_reading *r, enum mst_rule rule)
{
    unsigned char *set = places_new(w, r);
    for (int32_t i = 0; i < r->site_count; i++) {
        if (r->sites[i].rule == rule)
            set[r->sites[i].trigger] = 1;
    }
    return set;
}

int places_count(const struct mst_reading *r, const unsigned char *set)
{
    int count = 0;
    for (int32_t i = 0; i < r->letter_count; i++)
        count += set[i];
    return count;
}

void places_must_equal(const struct mst_reading *r, const char *title,
                       const unsigned char *expected, const unsigned char *got)
{
    enum { SHOWN = 20 };
    int different = 0;
    for (int32_t i = 0; i < r->letter_count; i++) {
        char name[48];
        if (expected[i] == got[i])
            continue;
        if (different++ < SHOWN)
            print_error("%s: %s at %s\n", title, expected[i] ? "missing" : "too much",
                        mst_addr_print(mst_letter_addr(r, i), name));
    }
    if (different)
        fail_msg("%s: %d places differ", title, different);
    print_message("             %s: %d places\n", title, places_count(r, expected));
}

void rule_must_be_at(struct whole *w, const struct mst_reading *r, const char *title,
                     enum mst_rule rule, const char *const addr[], size_t count)
{
    unsigned char *expected = places_new(w, r), *got = places_of_rule(w, r, rule);
    for (size_t i = 0; i < count; i++)
        places_add(r, expected, addr[i], got);
    places_must_equal(r, title, expected, got);
}

const struct mst_site *site_of(const struct mst_reading *r, int32_t letter, enum mst_rule rule)
{
    int32_t from, to;
    mst_sites_at(r, letter, &from, &to);
    for (int32_t i = from; i < to; i++) {
        if (r->sites[i].rule == rule)
            return &r->sites[i];
    }
    return NULL;
}

/* --- the print -------------------------------------------------------------------- */

/* Calls of the two below walk the same few bytes: base letter, then its marks. */
static struct mst_span letter_bytes(const struct mst_reading *r, int32_t letter)
{
    const struct mst_letter *l = &r->letters[letter];
    const struct mst_word *w = &r->words[l->word_idx];
    struct mst_span verse = mst_text_verse(r->text, w->sura, w->verse);
    return (struct mst_span){verse.ptr + l->byte_off, (size_t)l->byte_len};
}

int letter_bears(const struct mst_reading *r, int32_t letter, uint32_t mark)
{
    struct mst_span s = letter_bytes(r, letter);
    for (size_t off = 0; off < s.len;) {
        if (mst_utf8_next(s.ptr, s.len, &off) == mark)
            return 1;
    }
    return 0;
}

int letter_mark_count(const struct mst_reading *r, int32_t letter)
{
    struct mst_span s = letter_bytes(r, letter);
    int count = -1; /* the base */
    for (size_t off = 0; off < s.len;) {
        uint32_t cp = mst_utf8_next(s.ptr, s.len, &off);
        int between_words = (cp >= 0x06D6 && cp <= 0x06DB) || cp == 0x06DE || cp == 0x06E9;
        if (!between_words && cp != 0x0640)
            count++;
    }
    return count;
}

int letter_is_last(const struct mst_reading *r, int32_t letter)
{
    const struct mst_word *w = &r->words[r->letters[letter].word_idx];
    return letter == w->first_letter + w->letter_count - 1;
}
