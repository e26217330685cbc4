/* survey.c – the whole text read once, and what the searches count in it. */
#include "parts.h"

#include <stdlib.h>
#include <string.h>

enum mst_status mst_find_no_memory(struct mst_error *err)
{
    return mst_fail(err, MST_NO_MEMORY, "memory ran out while searching the text");
}

void mst_find_sites_phones(const struct mst_reading *r, uint8_t *phone)
{
    memset(phone, PHONE_NONE, (size_t)r->site_count);
    for (int32_t n = 0; n < r->sound_count; n++)
        if (r->sounds[n].site >= 0)
            phone[r->sounds[n].site] = r->sounds[n].phone;
}

/* FNV-1a over the code points. */
uint64_t mst_find_letters_hash(const struct mst_reading *r, int32_t first_letter,
                               int32_t end_letter)
{
    uint64_t hash = UINT64_C(14695981039346656037);
    for (int32_t n = first_letter; n < end_letter; n++)
        hash = (hash ^ r->letters[n].base) * UINT64_C(1099511628211);
    return hash;
}

struct hashed_word {
    uint64_t hash;
    int32_t word;
};

static int by_hash(const void *a, const void *b)
{
    const struct hashed_word *x = a, *y = b;
    if (x->hash != y->hash)
        return x->hash < y->hash ? -1 : 1;
    return (x->word > y->word) - (x->word < y->word);
}

static enum mst_status count_words(struct survey *s, struct mst_arena *arena, struct mst_error *err)
{
    const struct mst_reading *r = s->r;
    size_t count = (size_t)r->word_count;
    struct hashed_word *words = mst_arena_alloc_raw(arena, count, sizeof *words);
    s->frequency = mst_arena_alloc_raw(arena, count, sizeof *s->frequency);
    if (!words || !s->frequency)
        return mst_find_no_memory(err);
    for (int32_t w = 0; w < r->word_count; w++) {
        const struct mst_word *word = &r->words[w];
        words[w] = (struct hashed_word){
            mst_find_letters_hash(r, word->first_letter, word->first_letter + word->letter_count),
            w};
    }
    qsort(words, count, sizeof *words, by_hash);
    for (size_t n = 0, end; n < count; n = end) {
        for (end = n; end < count && words[end].hash == words[n].hash; end++)
            ;
        for (size_t k = n; k < end; k++)
            s->frequency[words[k].word] = (int32_t)(end - n);
        if ((int32_t)(end - n) > s->most_frequent)
            s->most_frequent = (int32_t)(end - n);
    }
    return MST_OK;
}

static enum mst_status index_places(struct survey *s, struct mst_arena *arena,
                                    struct mst_error *err)
{
    const struct mst_reading *r = s->r;
    s->first_word = mst_arena_alloc(arena, MST_VERSE_COUNT + 1, sizeof *s->first_word);
    s->site_from = mst_arena_alloc(arena, (size_t)r->word_count + 1, sizeof *s->site_from);
    s->site_phone = mst_arena_alloc_raw(arena, (size_t)r->site_count + 1, 1);
    s->word_rules = mst_arena_alloc(arena, (size_t)r->word_count, sizeof *s->word_rules);
    s->alone = mst_arena_alloc(arena, (size_t)r->word_count, sizeof *s->alone);
    s->cuts = mst_arena_alloc(arena, (size_t)r->word_count + MST_VERSE_COUNT, 1);
    if (!s->first_word || !s->site_from || !s->site_phone || !s->word_rules || !s->alone ||
        !s->cuts)
        return mst_find_no_memory(err);
    mst_find_sites_phones(r, s->site_phone);
    int32_t verse = -1, site = 0;
    for (int32_t w = 0; w < r->word_count; w++) {
        if (r->words[w].word == 1 && ++verse < MST_VERSE_COUNT)
            s->first_word[verse] = w;
        while (site < r->site_count && r->letters[r->sites[site].trigger].word_idx < w)
            site++;
        s->site_from[w] = site;
        for (int32_t n = site; n < r->site_count && r->letters[r->sites[n].trigger].word_idx == w;
             n++)
            s->word_rules[w] |= UINT64_C(1) << r->sites[n].rule;
    }
    if (verse != MST_VERSE_COUNT - 1)
        return mst_fail(err, MST_INTERNAL, "the whole text read has %d verses", verse + 1);
    s->first_word[MST_VERSE_COUNT] = r->word_count;
    s->site_from[r->word_count] = r->site_count;
    return MST_OK;
}

enum mst_status mst_find_survey_make(const struct mst_text *text,
                                     const struct mst_find_scope *scope, struct mst_arena *arena,
                                     struct survey *out, struct mst_error *err)
{
    *out = (struct survey){.text = text};
    if (scope->options)
        out->options = *scope->options;
    if (out->options.stops != MST_STOPS_VERSES && out->options.stops != MST_STOPS_SIGNS)
        return mst_fail(err, MST_USAGE,
                        "a search reads each verse to its end; --stops can only be verses or signs "
                        "here");
    out->options.no_basmala = 1;
    out->options.istiadha = 0;
    mst_find_letter_index_fill(&out->letters);
    struct mst_range whole = {mst_text_verse_addr(text, 0),
                              mst_text_verse_addr(text, MST_VERSE_COUNT - 1)};
    enum mst_status status = mst_reading_new(text, whole, &out->options, arena, &out->r, err);
    if (status == MST_OK)
        status = index_places(out, arena, err);
    if (status == MST_OK)
        status = count_words(out, arena, err);
    return status;
}

int32_t mst_find_verse_of_word(const struct survey *s, int32_t word_idx)
{
    const struct mst_word *word = &s->r->words[word_idx];
    return mst_text_verse_index(s->text, word->sura, word->verse);
}

static enum mst_status stretch_of(const struct survey *s, struct mst_range range, int whole_verses,
                                  struct word_stretch *out, struct mst_error *err)
{
    /* A bare sura means the whole of it, as in every range; verse 0 is not searched. */
    const struct mst_sura *last_sura = mst_text_sura(s->text, range.last.sura);
    int32_t first_verse = range.first.verse ? range.first.verse : 1;
    int32_t last_verse = range.last.verse || !last_sura ? range.last.verse : last_sura->verse_count;
    int32_t first = mst_text_verse_index(s->text, range.first.sura, first_verse);
    int32_t last = mst_text_verse_index(s->text, range.last.sura, last_verse);
    char text[96];
    if (first < 0 || last < first)
        return mst_fail(err, MST_USAGE, "%s is no range of the text", mst_range_print(range, text));
    out->first = s->first_word[first];
    out->last = s->first_word[last + 1] - 1;
    if (!whole_verses && range.first.word > 1)
        out->first += range.first.word - 1;
    if (!whole_verses && range.last.word)
        out->last = s->first_word[last] + range.last.word - 1;
    if (out->last < out->first || out->first >= s->first_word[first + 1] ||
        out->last >= s->first_word[last + 1])
        return mst_fail(err, MST_USAGE, "%s is no range of the text", mst_range_print(range, text));
    return MST_OK;
}

static int by_first(const void *a, const void *b)
{
    const struct word_stretch *x = a, *y = b;
    return (x->first > y->first) - (x->first < y->first);
}

enum mst_status mst_find_scope_stretches(const struct survey *s, const struct mst_find_scope *scope,
                                         int whole_verses, struct mst_arena *arena,
                                         struct word_stretch **out, size_t *count,
                                         struct mst_error *err)
{
    struct word_stretch *list = mst_arena_alloc(arena, scope->range_count + 1, sizeof *list);
    if (!list)
        return mst_find_no_memory(err);
    list[0] = (struct word_stretch){0, s->r->word_count - 1};
    for (size_t n = 0; n < scope->range_count; n++) {
        enum mst_status status = stretch_of(s, scope->ranges[n], whole_verses, &list[n], err);
        if (status != MST_OK)
            return status;
    }
    qsort(list, scope->range_count, sizeof *list, by_first);
    size_t kept = 0;
    for (size_t n = 1; n < scope->range_count; n++) {
        if (list[n].first <= list[kept].last + 1) {
            if (list[n].last > list[kept].last)
                list[kept].last = list[n].last;
        } else {
            list[++kept] = list[n];
        }
    }
    *out = list;
    *count = kept + 1;
    return MST_OK;
}
