/*
 * tajweed/seam.c – slots to segs: what is sounded of a word, given how the
 * reader comes to it and leaves it. Starting, joining, stopping.
 *
 * Source: al-Muqaddima al-Jazariyya, chapters on the joining hamza and on
 * stopping at word ends (rawm and ishmām); al-Dānī, al-Taysīr, for the words
 * of Ḥafṣ's own; the pronoun's hāʾ at a stop: Ibn al-Jazarī's choice in
 * al-Nashr (others differ), from memory.
 */
#include "internal.h"

struct mst_site *mst_site_add(struct chain *c, enum mst_rule rule, const struct seg *trigger,
                              const struct seg *host, uint16_t reason)
{
    struct mst_site *s = &c->sites[c->site_count++];

    *s = (struct mst_site){.rule = (uint8_t)rule,
                           .first = trigger->letter,
                           .last = trigger->letter,
                           .trigger = trigger->letter,
                           .host = host ? host->letter : -1,
                           .complete = -1,
                           .heavy = -1,
                           .tanwin = trigger->tanwin,
                           .reason = reason};
    if (host && host->letter > s->last)
        s->last = host->letter;
    return s;
}

static inline struct seg *push(struct chain *c, const struct slot *from, enum slot_kind kind,
                               uint8_t phone, enum vowel vowel)
{
    static const struct seg fresh = {.host = -1, .takes = -1, .site = -1};
    struct seg *s = &c->segs[c->count++];

    *s = fresh;
    s->letter = from->letter;
    s->kind = (uint8_t)kind;
    s->phone = s->becomes = phone;
    s->vowel = (uint8_t)vowel;
    s->flags = from->flags;
    return s;
}

/* The latest seg that sounds, or NULL. */
static struct seg *last_sounding(struct chain *c)
{
    int32_t i = seg_prev(c, c->count);

    return i < 0 ? NULL : &c->segs[i];
}

static void make_long(struct seg *s, enum vowel v)
{
    s->kind = SLOT_LONG;
    s->vowel = (uint8_t)v;
    s->phone = v == V_I ? MST_PHONE_II : v == V_U ? MST_PHONE_UU : MST_PHONE_AA;
    s->becomes = s->phone;
}

static void mute(struct seg *s, enum mute why)
{
    s->kind = SLOT_MUTE;
    s->mute = (uint8_t)why;
}

/* --- the head of the word --------------------------------------------------- */

static void read_wasla(struct chain *c, const struct slot *slot)
{
    bool starts = c->prev == NULL;
    struct seg *s = push(c, slot, starts ? SLOT_CONSONANT : SLOT_MUTE, MST_PHONE_HAMZA,
                         starts ? (enum vowel)c->form->wasl_vowel : V_NONE);
    static const uint16_t reasons[] = {[V_NONE] = REASON_WASL_START_I,
                                       [V_A] = REASON_WASL_START_A,
                                       [V_I] = REASON_WASL_START_I,
                                       [V_U] = REASON_WASL_START_U};
    struct mst_site *site;

    s->mute = starts ? MUTE_NOT : MUTE_WASLA;
    s->wasl = starts;
    site = mst_site_add(c, MST_RULE_HAMZAT_WASL, s, NULL,
                        starts ? reasons[c->form->wasl_vowel] : REASON_WASL_JOINED);
    site->when = starts ? MST_STARTING : MST_JOINING;
    site->both_ways = starts && HAS_PLACE(c->form, ISM);
}

/* The word's first letter, where the spelling leaves something to the start. */
static void read_head(struct chain *c, const struct slot *slot)
{
    if (c->prev)
        return;
    if (HAS_PLACE(c->form, START_AYKA)) {
        struct seg *s = push(c, slot, SLOT_CONSONANT, MST_PHONE_HAMZA, V_A);

        s->flags = SLOT_ADDED;
        s->wasl = 1;
        mst_site_add(c, MST_RULE_HAMZAT_WASL, s, NULL, REASON_WASL_AYKA)->when = MST_STARTING;
    }
}

/* --- the tanwīn ---------------------------------------------------------------- */

static void read_tanwin(struct chain *c, const struct slot *slot, bool joined)
{
    struct seg *nun;

    if (!joined)
        return;
    nun = push(c, slot, SLOT_CONSONANT, MST_PHONE_NUN, V_NONE);
    nun->tanwin = 1;
    nun->flags = 0;
}

/* --- joining ---------------------------------------------------------------------- */

static void join_to_wasl(struct chain *c)
{
    struct seg *s = last_sounding(c);
    const struct seg wasla = {.letter = c->next->first_letter};

    if (!s)
        return;
    if (s->kind == SLOT_LONG) {
        mute(s, MUTE_DROPPED);
        mst_site_add(c, MST_RULE_HADHF_MADD, s, &wasla, REASON_HADHF);
    } else if (s->tanwin) {
        s->vowel = V_I;
        s->flags |= SLOT_PASSING;
        mst_site_add(c, MST_RULE_TANWIN_KASRA, s, &wasla, REASON_TANWIN_KASRA);
    } else if (s->vowel == V_NONE) {
        s->vowel = HAS_PLACE(c->form, ALIM_ALLAH) ? V_A : V_I;
        s->flags |= SLOT_PASSING;
        mst_site_add(c, MST_RULE_ILTIQA_SAKINAYN, s, &wasla,
                     s->vowel == V_A ? REASON_ILTIQA_ALIM : REASON_ILTIQA_KASRA);
    } else if (s->flags & SLOT_PASSING) {
        static const uint16_t reasons[] = {[V_NONE] = REASON_ILTIQA_KASRA,
                                           [V_A] = REASON_ILTIQA_FATHA,
                                           [V_I] = REASON_ILTIQA_KASRA,
                                           [V_U] = REASON_ILTIQA_DAMMA};

        mst_site_add(c, MST_RULE_ILTIQA_SAKINAYN, s, &wasla, reasons[s->vowel]);
    }
}

/* Look at the next word's first sound. */
static void look_ahead(struct chain *c)
{
    const struct form *next = c->next;

    c->total = c->count;
    for (int32_t i = 0; i < next->slot_count; i++) {
        const struct slot *slot = &next->slots[i];
        struct seg *s;

        if (slot->kind == SLOT_MUTE)
            continue;
        s = push(c, slot, (enum slot_kind)slot->kind, slot->phone, (enum vowel)slot->vowel);
        s->outside = 1;
        c->count--;
        c->total = c->count + 1;
        return;
    }
}

/* --- stopping --------------------------------------------------------------------- */

/* يَوۡمَئِذٖ, حِينَئِذٖ: the dhāl's kasra passes, with tanwīn or without. */
static bool is_idhin(const struct chain *c, const struct seg *s)
{
    return s->phone == MST_PHONE_DHAL && s > c->segs && s[-1].phone == MST_PHONE_HAMZA &&
           s[-1].vowel == V_I;
}

static bool faint_vowel_allowed(struct chain *c, const struct seg *s, bool had_tanwin)
{
    int32_t before = seg_prev(c, (int32_t)(s - c->segs));
    const struct seg *p = before < 0 ? NULL : &c->segs[before];

    if (s->vowel != V_I && s->vowel != V_U)
        return false;
    if (s->flags & (SLOT_TA_MARBUTA | SLOT_PASSING) || (had_tanwin && is_idhin(c, s)))
        return false;
    if (s->flags & SLOT_PRONOUN && p)
        return !(p->vowel == V_U || p->vowel == V_I ||
                 (seg_vowelless(p) && (p->phone == MST_PHONE_WAW || p->phone == MST_PHONE_YA)));
    return true;
}

/* هُوَ, هِيَ: without its vowel the wāw or yāʾ lengthens the vowel before it. */
static bool turns_long(struct chain *c, const struct seg *s)
{
    int32_t before = seg_prev(c, (int32_t)(s - c->segs));
    enum vowel own = s->phone == MST_PHONE_WAW ? V_U : V_I;

    return (s->phone == MST_PHONE_WAW || s->phone == MST_PHONE_YA) && !s->doubled && before >= 0 &&
           seg_consonant(&c->segs[before]) && c->segs[before].vowel == own;
}

static void drop_vowel(struct chain *c, struct seg *s, bool had_tanwin)
{
    enum vowel v = (enum vowel)s->vowel;
    bool faint = faint_vowel_allowed(c, s, had_tanwin);
    enum mst_stop_manner manner = c->sakt ? MST_STOP_SUKUN : c->opt->stop_manner;
    struct mst_site *site;

    if (s->flags & SLOT_TA_MARBUTA) {
        s->phone = s->becomes = MST_PHONE_HA;
        s->vowel = V_NONE;
        s->stopped = 1;
        mst_site_add(c, MST_RULE_WAQF_HA, s, NULL, REASON_WAQF_HA);
        return;
    }
    if (manner == MST_STOP_RAWM && faint) {
        s->rawm = 1;
        site = mst_site_add(c, MST_RULE_RAWM, s, NULL, REASON_RAWM);
    } else {
        bool ishmam = manner == MST_STOP_ISHMAM && faint && v == V_U;

        s->vowel = V_NONE;
        s->stopped = 1;
        site = mst_site_add(c, ishmam ? MST_RULE_ISHMAM : MST_RULE_WAQF_SUKUN, s, NULL,
                            ishmam       ? REASON_ISHMAM
                            : had_tanwin ? REASON_WAQF_TANWIN
                                         : REASON_WAQF_SUKUN);
        if (turns_long(c, s))
            make_long(s, s->phone == MST_PHONE_WAW ? V_U : V_I);
    }
    site->rawm = faint;
    site->ishmam = faint && v == V_U;
}

/* تَوَّابٗا → تَوَّابَا: fatḥa tanwīn becomes an alif, on its seat if it has one. */
static void lengthen_tanwin(struct chain *c, const struct slot *bearer, const struct slot *seat)
{
    struct seg *s = push(c, seat ? seat : bearer, SLOT_LONG, MST_PHONE_AA, V_A);

    s->iwad = 1;
    s->flags = 0;
}

static void stop_after_last(struct chain *c, bool had_tanwin)
{
    struct seg *s = last_sounding(c);

    if (!s)
        return;
    if (s->kind == SLOT_LONG && s->flags & SLOT_SILA) {
        mute(s, MUTE_DROPPED);
        s = last_sounding(c);
    }
    if (HAS_PLACE(c->form, ATANI)) {
        if (!c->opt->atani_without_ya) {
            make_long(s, V_I);
            return;
        }
        mute(s, MUTE_DROPPED);
        s = last_sounding(c);
    }
    if (s && s->kind == SLOT_CONSONANT && s->vowel != V_NONE)
        drop_vowel(c, s, had_tanwin);
}

/* --- the whole word ------------------------------------------------------------------ */

/* Letters read in a way of their own (places.c). */
static void read_own(struct chain *c, const struct slot *slot, struct seg *s, int32_t i)
{
    const struct form *f = c->form;

    if (i == 0 && !c->prev && HAS_PLACE(f, START_KASRA))
        s->vowel = V_I;
    if (HAS_PLACE(f, SAD_AS_SIN) && s->phone == MST_PHONE_SAD)
        s->phone = s->becomes = MST_PHONE_SIN;
    if (HAS_PLACE(f, SAD_OR_SIN) && s->phone == MST_PHONE_SAD && c->opt->musaytirun_sin)
        s->phone = s->becomes = MST_PHONE_SIN;
    if (HAS_PLACE(f, DUF) && s->phone == MST_PHONE_DAD && c->opt->duf_damm)
        s->vowel = V_U;
    if (HAS_PLACE(f, TAMANNA) && s->doubled && c->opt->tamanna_rawm) {
        s->doubled = 0; /* the first of two nūns, its ḍamma faint */
        s->vowel = V_U;
        s->rawm = 1;
        push(c, slot, SLOT_CONSONANT, slot->phone, V_A);
    }
}

static void read_consonant(struct chain *c, const struct slot *slot, int32_t i)
{
    struct seg *s = push(c, slot, SLOT_CONSONANT, slot->phone, (enum vowel)slot->vowel);

    s->doubled = slot->doubled;
    /* ٱئۡتُونِي at a start: the vowelless hamza becomes a lengthening */
    if (i == 1 && s > c->segs && s[-1].wasl && s->phone == MST_PHONE_HAMZA && s->vowel == V_NONE)
        make_long(s, (enum vowel)s[-1].vowel);
    if (c->form->places)
        read_own(c, slot, s, i);
}
static void read_mute(struct chain *c, const struct slot *slot, bool joined)
{
    struct seg *s = push(c, slot, SLOT_MUTE, MST_PHONE_AA, V_NONE);

    s->mute = slot->mute;
    switch ((enum mute)slot->mute) {
    case MUTE_ROUND:
        if (HAS_PLACE(c->form, SALASILA) && !joined && c->opt->salasila_alif)
            make_long(s, V_A);
        else
            mst_site_add(c, MST_RULE_SIFR_MUSTADIR, s, NULL, REASON_SIFR_MUSTADIR);
        break;
    case MUTE_RECT:
        if (joined)
            mst_site_add(c, MST_RULE_SIFR_MUSTATIL, s, NULL, REASON_SIFR_MUSTATIL);
        else
            make_long(s, V_A);
        break;
    case MUTE_WASLA:
        mst_site_add(c, MST_RULE_HAMZAT_WASL, s, NULL, REASON_WASL_INSIDE);
        break;
    default:
        break;
    }
}

static void take_stock(struct chain *c)
{
    c->heard = c->bare = c->doubled = 0;
    c->flags = 0;
    c->lengthens = false;
    for (int32_t i = 0; i < c->count; i++) {
        const struct seg *s = &c->segs[i];
        uint64_t bit = UINT64_C(1) << s->phone;

        if (s->kind == SLOT_LONG) {
            c->lengthens = true;
        } else if (s->kind == SLOT_CONSONANT) {
            c->heard |= bit;
            c->flags |= s->flags;
            if (s->vowel == V_NONE)
                c->bare |= bit;
            if (s->doubled)
                c->doubled |= bit;
        }
    }
}

void mst_chain_build(struct chain *c, int32_t from)
{
    const struct form *f = c->form;
    bool joined = c->next != NULL;
    bool had_tanwin = false;

    c->count = c->total = 0;
    c->next_wasl = joined && c->next->slot_count > 0 && c->next->slots[0].kind == SLOT_WASLA;
    c->before = (uint8_t)(c->prev ? mst_form_last_vowel(c->prev) : V_A);
    if (from == 0 && f->slot_count > 0)
        read_head(c, &f->slots[0]);
    for (int32_t i = from; i < f->slot_count; i++) {
        const struct slot *slot = &f->slots[i];
        const struct slot *seat = NULL;
        struct seg *s;

        switch ((enum slot_kind)slot->kind) {
        case SLOT_WASLA:
            read_wasla(c, slot);
            break;
        case SLOT_CONSONANT:
            read_consonant(c, slot, i);
            if (!slot->tanwin)
                break;
            had_tanwin = true;
            read_tanwin(c, slot, joined);
            if (i + 1 < f->slot_count && f->slots[i + 1].mute == MUTE_SEAT)
                seat = &f->slots[i + 1];
            if (!joined && slot->vowel == V_A && !(slot->flags & SLOT_TA_MARBUTA)) {
                lengthen_tanwin(c, slot, seat);
                had_tanwin = false;
                if (seat)
                    i++;
            }
            break;
        case SLOT_LONG:
            s = push(c, slot, SLOT_LONG, slot->phone, (enum vowel)slot->vowel);
            s->iwad = (slot->flags & SLOT_IWAJA) != 0;
            if (slot->flags & SLOT_QUESTION && c->opt->question_easing) {
                s->kind = SLOT_CONSONANT;
                s->phone = s->becomes = MST_PHONE_HAMZA_EASED;
            }
            break;
        case SLOT_MUTE:
            read_mute(c, slot, joined);
            break;
        }
    }
    if (!joined)
        stop_after_last(c, had_tanwin);
    else if (c->next_wasl)
        join_to_wasl(c);
    if (joined && !c->next_wasl)
        look_ahead(c);
    else
        c->total = c->count;
    take_stock(c);
}

enum vowel mst_form_last_vowel(const struct form *f)
{
    for (int32_t i = f->slot_count - 1; i >= 0; i--) {
        const struct slot *s = &f->slots[i];

        if (s->kind == SLOT_MUTE)
            continue;
        if (s->kind == SLOT_CONSONANT && s->tanwin)
            return V_I;
        if (s->kind == SLOT_CONSONANT && s->vowel == V_NONE)
            return HAS_PLACE(f, ALIM_ALLAH) ? V_A : V_I;
        return (enum vowel)s->vowel;
    }
    return V_A;
}
