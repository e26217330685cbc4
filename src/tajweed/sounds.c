/*
 * tajweed/sounds.c – segs to sounds: what is to be heard, in order, each with
 * its letters and its length. A sound that joins two words is counted with the
 * word of its last letter.
 */
#include "internal.h"

struct emitter {
    const struct chain *c;
    const int32_t *order;
    int32_t word_idx;
    struct mst_sound *out;
    int32_t n;
};

static inline struct mst_sound *push(struct emitter *e, const struct seg *s, uint8_t phone)
{
    static const struct mst_sound fresh = {.site = -1};
    struct mst_sound *o = &e->out[e->n++];

    *o = fresh;
    o->phone = phone;
    o->first_letter = o->last_letter = s->letter;
    o->word_idx = e->word_idx;
    return o;
}

static void set_counts(struct mst_sound *o, int chosen, int min, int max)
{
    o->counts = (int8_t)chosen;
    o->counts_min = (int8_t)min;
    o->counts_max = (int8_t)max;
}

/* A consonant that took up one that vanished into it, here or at the end of the word before. */
static void take(struct emitter *e, struct mst_sound *o, const struct seg *s,
                 const struct carry *carry)
{
    if (s->takes >= 0) {
        const struct seg *t = &e->c->segs[s->takes];

        o->geminate = 1;
        if (t->letter < o->first_letter)
            o->first_letter = t->letter;
        if (t->nasal) {
            o->nasal = 1;
            o->site = e->order[t->site];
        }
    } else if (carry) {
        o->first_letter = carry->first_letter;
        o->geminate = !carry->partial;
        if (carry->nasal) {
            o->nasal = 1;
            o->site = carry->site;
            if (carry->partial)
                o->phone = s->phone == MST_PHONE_WAW ? MST_PHONE_WAW_NASAL : MST_PHONE_YA_NASAL;
        }
    }
}

static void consonant(struct emitter *e, int32_t i, const struct carry *carry)
{
    const struct chain *c = e->c;
    const struct seg *s = &c->segs[i];
    int32_t after = seg_next(c, i);
    struct mst_sound *o;

    /* wholly merged, or merged into a nasal w or y: heard with its host */
    if (s->merged == 1 || (s->merged == 2 && s->nasal))
        return;
    o = push(e, s, s->becomes);
    o->heavy = (int8_t)s->heavy;
    o->rank = (int8_t)s->rank;
    if (s->site >= 0)
        o->site = e->order[s->site];
    o->geminate = (int8_t)s->doubled;
    o->nasal = (int8_t)s->nasal;
    o->echo = (int8_t)s->echo;
    take(e, o, s, carry);
    if (o->nasal)
        set_counts(o, 2, 2, 2);
    else if (s->counts)
        set_counts(o, s->counts, s->counts_min, s->counts_max);
    if (s->vowel == V_NONE)
        return;
    if (after >= 0 && c->segs[after].kind == SLOT_LONG && !c->segs[after].outside &&
        c->segs[after].vowel == s->vowel)
        return;
    o = push(e, s, s->vowel == V_A ? MST_PHONE_A : s->vowel == V_I ? MST_PHONE_I : MST_PHONE_U);
    set_counts(o, 1, 1, 1);
    o->rawm = (int8_t)s->rawm;
    o->heavy = s->heavy && s->vowel == V_A;
}

int32_t mst_sounds_emit(const struct chain *c, const int32_t *order, struct carry *carry,
                        int32_t word_idx, struct mst_sound *out)
{
    struct emitter e = {.c = c, .order = order, .word_idx = word_idx, .out = out};
    bool first = true;
    const struct seg *end = NULL;

    for (int32_t i = 0; i < c->count; i++) {
        const struct seg *s = &c->segs[i];

        if (s->kind == SLOT_MUTE)
            continue;
        if (s->kind == SLOT_LONG) {
            struct mst_sound *o = push(&e, s, s->becomes);

            o->heavy = (int8_t)s->heavy;
            o->site = s->site < 0 ? -1 : order[s->site];
            set_counts(o, s->counts, s->counts_min, s->counts_max);
        } else {
            consonant(&e, i, first && carry->first_letter >= 0 ? carry : NULL);
        }
        first = false;
        end = s;
    }
    *carry = (struct carry){.first_letter = -1, .site = -1};
    if (end && end->host >= 0 && c->segs[end->host].outside &&
        (end->merged == 1 || (end->merged == 2 && end->nasal)))
        *carry = (struct carry){.first_letter = end->letter,
                                .site = end->site < 0 ? -1 : order[end->site],
                                .nasal = end->nasal,
                                .partial = end->merged == 2};
    if (!c->next && e.n > 0)
        e.out[e.n - 1].pause = c->sakt ? 2 : 1;
    return e.n;
}

void mst_sounds_ipa(const struct mst_reading *r, int32_t first, int32_t end, struct mst_string *out)
{
    for (int32_t i = first; i < end && i < r->sound_count; i++) {
        const struct mst_sound *s = &r->sounds[i];

        if (i > first && s->word_idx != r->sounds[i - 1].word_idx)
            mst_string_adds(out, r->sounds[i - 1].pause == 1   ? " | "
                                 : r->sounds[i - 1].pause == 2 ? " ‿ "
                                                               : " ");
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
