/* contrast.c – a sound with its neighbours, as it should be and as it might have been said. */
#include "parts.h"

#include <string.h>

const char *mst_contrast_id(enum mst_contrast contrast)
{
    static const char *const ids[MST_CONTRAST_COUNT] = {
#define X(name, id) id,
        MST_CONTRAST_LIST(X)
#undef X
    };
    return ids[contrast];
}

/* The sound of the reading that a unit was heard as, or -1. */
static int32_t sound_of(const struct fault_heard *h, int32_t unit)
{
    if (unit < 0 || unit >= h->count || h->units[unit].sound < 0)
        return -1;
    return h->timeline->sounds[h->units[unit].sound].sound_idx;
}

static int same_unit(const struct ear_unit *a, const struct ear_unit *b)
{
    return a->model == b->model && a->cls == b->cls && a->geminate == b->geminate;
}

struct row {
    struct mst_sound sounds[FAULT_ROW_MAX];
    uint8_t first_of_word[FAULT_ROW_MAX], pale[FAULT_ROW_MAX];
    int32_t count;
};

static void add_sound(struct row *row, const struct mst_sound *sound, int first_of_word, int pale)
{
    row->sounds[row->count] = *sound;
    row->first_of_word[row->count] = (uint8_t)first_of_word;
    row->pale[row->count++] = (uint8_t)pale;
}

static void add_right(struct row *row, const struct mst_reading *r, int32_t sound)
{
    const struct mst_sound *s = &r->sounds[sound];
    add_sound(row, s, r->words[s->word_idx].first_sound == sound, 0);
}

static int32_t units_of(const struct row *row, const struct mst_reading *r, struct ear_unit *out)
{
    for (int32_t i = 0; i < row->count; i++)
        out[i] = fault_unit_of(r, &row->sounds[i],
                               i > 0 && !row->first_of_word[i] ? &row->sounds[i - 1] : NULL,
                               row->pale[i]);
    return row->count;
}

static enum mst_contrast kind_of(const struct mst_fault_way *way, const struct mst_sound *right,
                                 const struct mst_sound *said)
{
    enum { WEIGHT = 1u << MST_FAULT_CHANGE_HEAVY | 1u << MST_FAULT_CHANGE_LIGHT };
    enum mst_phone_kind before = mst_phone_kind((enum mst_phone)right->phone);
    enum mst_phone_kind after = mst_phone_kind((enum mst_phone)said->phone);
    if (way->count > 1)
        return MST_CONTRAST_ADDED;
    if (way->sounds[0].changes & WEIGHT)
        return MST_CONTRAST_WEIGHT;
    if (before == MST_PHONE_KIND_NASAL || after == MST_PHONE_KIND_NASAL)
        return MST_CONTRAST_NASAL;
    if (right->phone == said->phone)
        return MST_CONTRAST_DOUBLING;
    if (before == MST_PHONE_KIND_CONSONANT)
        return MST_CONTRAST_LETTER;
    return before == after ? MST_CONTRAST_VOWEL : MST_CONTRAST_LENGTH;
}

int fault_contrast_make(struct fault_contrast *c, const struct fault_heard *h, int32_t unit,
                        const struct mst_fault_way *way)
{
    const struct mst_reading *r = h->timeline->reading;
    struct row right = {.count = 0}, wrong = {.count = 0};
    struct mst_sound said[MST_FAULT_SOUNDS_MAX];
    int32_t sound = sound_of(h, unit), first = unit, last = unit;
    if (sound < 0 || way->sounds[0].changes >> MST_FAULT_CHANGE_ORAL & 1u)
        return 0; /* what the nose does is measured otherwise */
    while (first > unit - FAULT_REACH && sound_of(h, first - 1) >= 0 &&
           sound_of(h, first - 1) == sound - (unit - first) - 1)
        first--;
    while (last < unit + FAULT_REACH && sound_of(h, last + 1) == sound + (last - unit) + 1)
        last++;
    int32_t count = mst_fault_said(way, r, sound, said);
    for (int32_t u = first; u <= last; u++) {
        add_right(&right, r, sound_of(h, u));
        if (u != unit) {
            add_right(&wrong, r, sound_of(h, u));
            continue;
        }
        for (int32_t k = 0; k < count; k++) {
            int pale = way->sounds[k].changes >> MST_FAULT_CHANGE_LIGHT & 1u &&
                       mst_phone_kind((enum mst_phone)said[k].phone) >= MST_PHONE_KIND_SHORT;
            add_sound(&wrong, &said[k], k == 0 && right.first_of_word[unit - first], pale);
        }
    }
    c->right_count = units_of(&right, r, c->right);
    c->wrong_count = units_of(&wrong, r, c->wrong);
    int32_t least = c->right_count < c->wrong_count ? c->right_count : c->wrong_count;
    c->same_before = c->same_after = 0;
    while (c->same_before < least &&
           same_unit(&c->right[c->same_before], &c->wrong[c->same_before]))
        c->same_before++;
    while (c->same_before + c->same_after < least &&
           same_unit(&c->right[c->right_count - 1 - c->same_after],
                     &c->wrong[c->wrong_count - 1 - c->same_after]))
        c->same_after++;
    c->first_unit = first;
    c->start_fr = h->units[first].start_fr;
    c->end_fr = h->units[last].end_fr;
    c->kind = kind_of(way, &r->sounds[sound], &said[0]);
    return c->same_before + c->same_after < c->wrong_count ||
           c->same_before + c->same_after < c->right_count;
}
