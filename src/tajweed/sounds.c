/*
 * tajweed/sounds.c – segs to sounds: what is to be heard, in order, each with
 * its letters and its length. A sound that joins two words is counted with the
 * word of its last letter.
 */
#include "internal.h"

#include <stddef.h>
#include <string.h>

/* A short vowel; its letter and word are filled in. */
static const struct mst_sound shorts[] = {
    [V_NONE] = {.site = -1},
    [V_A] = {.site = -1, .phone = MST_PHONE_A, .counts = 1, .counts_min = 1, .counts_max = 1},
    [V_I] = {.site = -1, .phone = MST_PHONE_I, .counts = 1, .counts_min = 1, .counts_max = 1},
    [V_U] = {.site = -1, .phone = MST_PHONE_U, .counts = 1, .counts_min = 1, .counts_max = 1},
};

/* What a seg and its sound say in the same order and bytes: phone to geminate. */
enum { HEARD = offsetof(struct mst_sound, echo) - offsetof(struct mst_sound, phone) };
#define SAME_PLACE(of_seg, of_sound)                                                               \
    _Static_assert(offsetof(struct seg, of_seg) - offsetof(struct seg, becomes) ==                 \
                       offsetof(struct mst_sound, of_sound) - offsetof(struct mst_sound, phone),   \
                   "seg and sound are copied at once")
SAME_PLACE(counts, counts);
SAME_PLACE(counts_min, counts_min);
SAME_PLACE(counts_max, counts_max);
SAME_PLACE(nasal, nasal);
SAME_PLACE(heavy, heavy);
SAME_PLACE(rank, rank);
SAME_PLACE(doubled, geminate);

static inline void sound_of(struct mst_sound *o, const struct seg *s, int32_t word_idx,
                            int32_t site)
{
    o->first_letter = o->last_letter = s->letter;
    o->word_idx = word_idx;
    o->site = site;
    memcpy(&o->phone, &s->becomes, HEARD);
    o->echo = (int8_t)s->echo;
    o->rawm = o->pause = 0;
}

/* Its short vowel. */
static inline void short_of(struct mst_sound *o, const struct seg *s, int32_t word_idx)
{
    const struct mst_sound *v = &shorts[s->vowel];

    o->first_letter = o->last_letter = s->letter;
    o->word_idx = word_idx;
    o->site = -1;
    memcpy(&o->phone, &v->phone, sizeof *o - offsetof(struct mst_sound, phone));
    o->rawm = (int8_t)s->rawm;
    o->heavy = (s->heavy != 0) & (s->vowel == V_A);
}

/* A consonant that took up one that vanished into it in this word. */
static void take(struct mst_sound *o, const struct seg *t, const int32_t *order)
{
    o->geminate = 1;
    if (t->letter < o->first_letter)
        o->first_letter = t->letter;
    if (t->nasal) {
        o->nasal = 1;
        o->site = order[t->site];
    }
}

/* … at the end of the word before. */
static void take_carried(struct mst_sound *o, const struct seg *s, const struct carry *carry)
{
    o->first_letter = carry->first_letter;
    o->geminate = !carry->partial;
    if (carry->nasal) {
        o->nasal = 1;
        o->site = carry->site;
        if (carry->partial)
            o->phone = s->phone == MST_PHONE_WAW ? MST_PHONE_WAW_NASAL : MST_PHONE_YA_NASAL;
    }
}

/* Wholly merged, or merged into a nasal w or y: heard with its host. */
static inline bool vanishes(const struct seg *s)
{
    return (s->merged == 1) | ((s->merged == 2) & (s->nasal != 0));
}

/*
 * Every seg that is not mute is written as a sound with a short vowel behind it,
 * and counts as none, one or two of them: which, cannot be foreseen, and asking
 * would cost more than writing. A lengthening takes back the short vowel that it
 * carries on.
 */
int32_t mst_sounds_emit(const struct chain *c, const int32_t *order, struct carry *carry,
                        int32_t word_idx, struct mst_sound *out)
{
    struct mst_sound *o = out;
    bool carried = carry->first_letter >= 0;
    const struct seg *end = NULL;
    uint8_t latest_short = V_NONE;

    for (const struct seg *s = c->segs, *past = s + c->count; s < past; s++) {
        bool heard, has_short;

        if (s->kind == SLOT_MUTE)
            continue;
        end = s;
        heard = !vanishes(s);
        has_short = heard & (s->kind == SLOT_CONSONANT) & (s->vowel != V_NONE);
        o -= (s->kind == SLOT_LONG) & (s->vowel == latest_short);
        sound_of(o, s, word_idx, order[s->site]);
        if (s->takes >= 0)
            take(o, &c->segs[s->takes], order);
        else if (carried && s->kind == SLOT_CONSONANT)
            take_carried(o, s, carry);
        if (o->nasal)
            o->counts = o->counts_min = o->counts_max = 2;
        short_of(&o[1], s, word_idx);
        o += heard + has_short;
        latest_short = (uint8_t)(s->vowel * has_short);
        carried = false;
    }
    *carry = (struct carry){.first_letter = -1, .site = -1};
    if (end && end->host >= 0 && c->segs[end->host].outside && vanishes(end))
        *carry = (struct carry){.first_letter = end->letter,
                                .site = order[end->site],
                                .nasal = end->nasal,
                                .partial = end->merged == 2};
    if (!c->next && o > out)
        o[-1].pause = c->sakt ? 2 : 1;
    return (int32_t)(o - out);
}

const char *mst_pause_ipa(int pause)
{
    return pause == 1 ? " |" : pause == 2 ? " (.)" : "";
}

void mst_sounds_ipa(const struct mst_reading *r, int32_t first, int32_t end, struct mst_string *out)
{
    for (int32_t i = first; i < end && i < r->sound_count; i++) {
        const struct mst_sound *s = &r->sounds[i];

        if (i > first && s->word_idx != r->sounds[i - 1].word_idx)
            mst_string_addf(out, "%s ", mst_pause_ipa(r->sounds[i - 1].pause));
        mst_string_adds(out, mst_phone_ipa(s->phone));
        if (s->heavy && (s->phone == MST_PHONE_RA || s->phone == MST_PHONE_LAM))
            mst_string_adds(out, "ˤ");
        if (s->geminate || s->nasal)
            mst_string_adds(out, "ː");
        /* a long vowel's IPA holds one mark, two counts; a soft w or y none */
        for (int k = mst_phone_kind(s->phone) == MST_PHONE_KIND_LONG ? 2 : 0;
             k < s->counts && !s->nasal && s->counts > 1; k += 2)
            mst_string_adds(out, "ː");
        if (s->echo)
            mst_string_adds(out, "ᵊ");
    }
}
