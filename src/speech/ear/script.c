/*
 * script.c – everything that may be said for a passage: each word joined or
 * started, going on or stopping. The sounds come from four readings of the
 * same passage (stops at no word, at every word, at the even words, at the
 * odd ones), so no rule of recitation is known here.
 */
#include "parts.h"

#include <stdlib.h>
#include <string.h>

enum base_reading { STOPS_NONE, STOPS_ALL, STOPS_EVEN, STOPS_ODD };

static const enum ear_form_mask masks[4] = {EAR_JOINED_GOING, EAR_JOINED_STOPPING,
                                            EAR_STARTED_GOING, EAR_STARTED_STOPPING};

int32_t ear_script_form(const struct mst_script *s, int32_t word, enum ear_form_mask mask)
{
    const struct ear_script_word *w = &s->words[word];
    for (int32_t f = w->first_form; f < w->first_form + w->form_count; f++)
        if (s->forms[f].mask & mask)
            return f;
    return -1;
}

/* Which base reading shows the word in this way; -1 = the word cannot be said so. */
static int base_for(int32_t word, int32_t words, enum ear_form_mask mask)
{
    int odd = (int)(word % 2);
    int first = word == 0, last = word + 1 == words;
    switch (mask) {
    case EAR_JOINED_GOING:
        return first || last ? -1 : STOPS_NONE;
    case EAR_JOINED_STOPPING:
        if (first)
            return -1;
        return last ? STOPS_NONE : odd ? STOPS_ODD : STOPS_EVEN;
    case EAR_STARTED_GOING:
        if (last)
            return -1;
        return first ? STOPS_NONE : odd ? STOPS_EVEN : STOPS_ODD;
    case EAR_STARTED_STOPPING:
        return STOPS_ALL;
    }
    return -1;
}

/* A vowel takes the colour of the heavy consonant before it. */
static int after_heavy(const struct mst_sound *before)
{
    return before && before->heavy && mst_phone_kind(before->phone) == MST_PHONE_KIND_CONSONANT;
}

/* Append the units of a word as a base reading has it; returns how many. */
static int32_t append_units(struct mst_script *s, int base, int32_t word)
{
    const struct mst_reading *r = s->base[base];
    const struct mst_word *w = &r->words[word];
    for (int32_t i = 0; i < w->sound_count; i++) {
        const struct mst_sound *sound = &r->sounds[w->first_sound + i];
        int rule = sound->site >= 0 ? (int)r->sites[sound->site].rule : -1;
        int at_stop = i + 1 == w->sound_count && w->seam == MST_SEAM_STOP;
        s->units[s->unit_count + i] =
            ear_unit_of_sound(sound, rule, after_heavy(i > 0 ? sound - 1 : NULL), at_stop);
    }
    return w->sound_count;
}

static int same_units(const struct ear_unit *a, const struct ear_unit *b, int32_t count)
{
    for (int32_t i = 0; i < count; i++)
        if (a[i].model != b[i].model || a[i].cls != b[i].cls || a[i].geminate != b[i].geminate)
            return 0;
    return 1;
}

/* The forms of one word; forms that sound alike become one. */
static void add_forms(struct mst_script *s, int32_t word)
{
    struct ear_script_word *w = &s->words[word];
    w->first_form = s->form_count;
    for (int k = 0; k < 4; k++) {
        int base = base_for(word, s->word_count, masks[k]);
        if (base < 0)
            continue;
        int32_t count = append_units(s, base, word);
        if (count == 0)
            continue;
        struct ear_form *same = NULL;
        for (int32_t f = w->first_form; f < s->form_count && !same; f++)
            if (s->forms[f].unit_count == count &&
                same_units(s->units + s->forms[f].first_unit, s->units + s->unit_count, count))
                same = &s->forms[f];
        if (!same) {
            same = &s->forms[s->form_count++];
            *same = (struct ear_form){.first_unit = s->unit_count, .unit_count = count};
            s->unit_count += count;
        }
        same->mask |= (uint8_t)masks[k];
        same->source[k] = (int8_t)base;
    }
    w->form_count = s->form_count - w->first_form;
}

static struct mst_addr addr_of(const struct mst_word *w)
{
    return (struct mst_addr){w->sura, w->verse, w->word, 0};
}

/* The readings whose stops are at all, the even, the odd words. */
static enum mst_status read_bases(struct mst_script *s, struct mst_error *err)
{
    struct mst_reading_options options = s->options;
    options.stops = MST_STOPS_NONE;
    enum mst_status status =
        mst_reading_new(s->text, s->range, &options, s->arena, &s->base[STOPS_NONE], err);
    if (status)
        return status;
    const struct mst_reading *plain = s->base[STOPS_NONE];
    struct mst_addr *stops = mst_arena_alloc(s->arena, (size_t)plain->word_count, sizeof *stops);
    if (!stops)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the passage");
    for (int base = STOPS_ALL; base <= STOPS_ODD; base++) {
        size_t count = 0;
        for (int32_t w = 0; w < plain->word_count; w++)
            if (base == STOPS_ALL || (w % 2 == 1) == (base == STOPS_ODD))
                stops[count++] = addr_of(&plain->words[w]);
        options.stops = MST_STOPS_LIST;
        options.stop_list = stops;
        options.stop_count = count;
        status = mst_reading_new(s->text, s->range, &options, s->arena, &s->base[base], err);
        if (status)
            return status;
        if (s->base[base]->word_count != plain->word_count)
            return mst_fail(err, MST_INTERNAL, "two readings of a passage differ in their words");
    }
    return MST_OK;
}

static enum mst_status lay_out(struct mst_script *s, struct mst_error *err)
{
    const struct mst_reading *plain = s->base[STOPS_NONE];
    size_t sounds = 0;
    for (int base = 0; base < 4; base++)
        sounds += (size_t)s->base[base]->sound_count;
    s->word_count = plain->word_count;
    s->words = mst_arena_alloc(s->arena, (size_t)s->word_count, sizeof *s->words);
    s->forms = mst_arena_alloc(s->arena, 4 * (size_t)s->word_count, sizeof *s->forms);
    s->units = mst_arena_alloc(s->arena, sounds, sizeof *s->units);
    if (!s->words || !s->forms || !s->units)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the passage");
    const struct mst_word *last = &plain->words[s->word_count - 1];
    int holds_verses =
        last->sura > 0 && last->verse > 0; /* and not only what is said before them */
    for (int32_t w = 0; w < s->word_count; w++) {
        const struct mst_word *word = &plain->words[w];
        const struct mst_word *next = w + 1 < s->word_count ? word + 1 : NULL;
        s->words[w] = (struct ear_script_word){
            .at = addr_of(word),
            .verse_end = !next || next->verse != word->verse || next->sura != word->sura,
            .stop_sign =
                word->pause_sign != MST_PAUSE_NONE && word->pause_sign != MST_PAUSE_MUST_NOT,
            .sakt = word->seam == MST_SEAM_SAKT,
            .optional = word->sura == 0 || (word->verse == 0 && holds_verses)};
        add_forms(s, w);
        if (s->words[w].form_count == 0)
            return mst_fail(err, MST_INTERNAL, "a word of the passage has no sound");
    }
    return MST_OK;
}

enum mst_status mst_script_new(const struct mst_text *text, struct mst_range range,
                               const struct mst_reading_options *options, struct mst_script **out,
                               struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_script *s = arena ? mst_arena_alloc(arena, 1, sizeof *s) : NULL;
    *out = NULL;
    if (!s) {
        mst_arena_free(arena);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the passage");
    }
    s->arena = arena;
    s->text = text;
    s->range = range;
    if (options)
        s->options = *options;
    s->refuge_told = s->options.istiadha;
    s->options.istiadha = 1; /* whether it was said is heard, not told */
    enum mst_status status = read_bases(s, err);
    if (!status)
        status = lay_out(s, err);
    if (status) {
        mst_script_free(s);
        return status;
    }
    *out = s;
    return MST_OK;
}

int ear_script_begins_with_refuge(const struct mst_script *s)
{
    return s->word_count > 0 && s->words[0].optional && s->words[0].at.sura == 0;
}

void mst_script_free(struct mst_script *s)
{
    if (s)
        mst_arena_free(s->arena);
}

int32_t mst_script_word_count(const struct mst_script *s)
{
    return s->word_count;
}

struct mst_addr mst_script_word_addr(const struct mst_script *s, int32_t word)
{
    return s->words[word].at;
}
