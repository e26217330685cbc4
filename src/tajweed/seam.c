/*
 * tajweed/seam.c – segs to segs: what is sounded of a word, given how the
 * reader comes to it and leaves it. Starting, joining, stopping.
 *
 * Source: al-Muqaddima al-Jazariyya, chapters on the joining hamza and on
 * stopping at word ends (rawm and ishmām); al-Dānī, al-Taysīr, for the words
 * of Ḥafṣ's own; the pronoun's hāʾ at a stop: Ibn al-Jazarī's choice in
 * al-Nashr (others differ), from memory.
 */
#include "internal.h"

#include <string.h>

/* The latest seg that sounds, or NULL. */
static struct seg *last_sounding(struct chain *c)
{
    int32_t i = seg_prev(c, c->count);

    return i < 0 ? NULL : &c->segs[i];
}

/* Whatever turns into another kind of seg goes through these two, or says so itself. */
static void change(struct chain *c, const struct seg *s)
{
    int32_t i = (int32_t)(s - c->segs);

    if (i < c->changed)
        c->changed = i;
}

static void make_long(struct chain *c, struct seg *s, enum vowel v)
{
    s->kind = SLOT_LONG;
    s->vowel = (uint8_t)v;
    s->phone = v == V_I ? MST_PHONE_II : v == V_U ? MST_PHONE_UU : MST_PHONE_AA;
    s->becomes = s->phone;
    change(c, s);
}

static void mute(struct chain *c, struct seg *s, enum mute why)
{
    s->kind = SLOT_MUTE;
    s->mute = (uint8_t)why;
    change(c, s);
}

/* --- the head of the word --------------------------------------------------- */

static void read_wasla(struct chain *c)
{
    static const uint16_t reasons[] = {[V_NONE] = REASON_WASL_START_I,
                                       [V_A] = REASON_WASL_START_A,
                                       [V_I] = REASON_WASL_START_I,
                                       [V_U] = REASON_WASL_START_U};
    struct seg *s = &c->segs[0];
    struct mst_site *site;

    if (c->prev) {
        s->kind = SLOT_MUTE; /* no rule's concern before, none now */
        s->mute = MUTE_WASLA;
        mst_site_add(c, MST_RULE_HAMZAT_WASL, s, NULL, REASON_WASL_JOINED)->when = MST_JOINING;
        return;
    }
    s->kind = SLOT_CONSONANT;
    s->vowel = c->form->wasl_vowel;
    s->wasl = 1;
    site = mst_site_add(c, MST_RULE_HAMZAT_WASL, s, NULL, reasons[s->vowel]);
    site->when = MST_STARTING;
    site->both_ways = HAS_PLACE(c->form, ISM);
    /* ٱئۡتُونِي: the vowelless hamza becomes a lengthening */
    if (c->count > 1 && seg_vowelless(&s[1]) && s[1].phone == MST_PHONE_HAMZA)
        make_long(c, &s[1], (enum vowel)s->vowel);
}

/* Words that the spelling leaves to the reader to begin. */
static void read_head_of_its_own(struct chain *c)
{
    struct seg *s = &c->segs[0];

    if (HAS_PLACE(c->form, START_KASRA))
        s->vowel = V_I;
    if (HAS_PLACE(c->form, START_AYKA)) {
        memmove(s + 1, s, (size_t)c->count * sizeof *s);
        c->count++;
        seg_init(s, s->letter, SLOT_CONSONANT, MST_PHONE_HAMZA, V_A);
        s->wasl = 1;
        mst_site_add(c, MST_RULE_HAMZAT_WASL, s, NULL, REASON_WASL_AYKA)->when = MST_STARTING;
    }
}

/* --- joining ---------------------------------------------------------------------- */

static void join_to_wasl(struct chain *c)
{
    struct seg *s = last_sounding(c);
    const struct seg wasla = {.letter = c->next->first_letter};

    if (!s)
        return;
    if (s->kind == SLOT_LONG) {
        mute(c, s, MUTE_DROPPED);
        mst_site_add(c, MST_RULE_HADHF_MADD, s, &wasla, REASON_HADHF);
    } else if (s->tanwin) {
        s->vowel = V_I;
        s->flags |= SLOT_PASSING;
        change(c, s);
        mst_site_add(c, MST_RULE_TANWIN_KASRA, s, &wasla, REASON_TANWIN_KASRA);
    } else if (s->vowel == V_NONE) {
        s->vowel = HAS_PLACE(c->form, ALIM_ALLAH) ? V_A : V_I;
        s->flags |= SLOT_PASSING;
        change(c, s);
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
    for (int32_t i = 0; i < next->seg_count; i++) {
        const struct seg *slot = &next->segs[i];
        struct seg *s;

        if (slot->kind == SLOT_MUTE)
            continue;
        s = &c->segs[c->count];
        *s = *slot;
        s->outside = 1;
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

    change(c, s);
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
            make_long(c, s, s->phone == MST_PHONE_WAW ? V_U : V_I);
    }
    site->rawm = faint;
    site->ishmam = faint && v == V_U;
}

/*
 * The tanwīn's nūn falls; with fatḥa an alif takes its place, on its seat if it
 * has one: تَوَّابٗا → تَوَّابَا. True where a vowel is left to be dropped.
 */
static bool drop_tanwin(struct chain *c, struct seg *nun)
{
    const struct seg *bearer = &nun[-1];
    struct seg *end = c->segs + c->count, *alif = nun;

    if (bearer->vowel != V_A || bearer->flags & SLOT_TA_MARBUTA) {
        mute(c, nun, MUTE_DROPPED);
        return true;
    }
    if (nun + 1 < end && nun[1].mute == MUTE_SEAT) {
        mute(c, nun, MUTE_DROPPED);
        alif = nun + 1;
    }
    make_long(c, alif, V_A);
    alif->tanwin = 0;
    alif->iwad = 1;
    return false;
}

static void stop_after_last(struct chain *c)
{
    struct seg *s = last_sounding(c);
    bool had_tanwin = s && s->tanwin;

    if (!s || (had_tanwin && !drop_tanwin(c, s)))
        return;
    s = last_sounding(c);
    if (s->kind == SLOT_LONG && s->flags & SLOT_SILA) {
        mute(c, s, MUTE_DROPPED);
        s = last_sounding(c);
    }
    if (HAS_PLACE(c->form, ATANI)) {
        if (!c->opt->atani_without_ya) {
            make_long(c, s, V_I);
            return;
        }
        mute(c, s, MUTE_DROPPED);
        s = last_sounding(c);
    }
    if (s && s->kind == SLOT_CONSONANT && s->vowel != V_NONE)
        drop_vowel(c, s, had_tanwin);
}

/* --- the whole word ------------------------------------------------------------------ */

/* Letters read in a way of their own (places.c). */
static void read_own(struct chain *c)
{
    const struct form *f = c->form;

    for (int32_t i = 0; i < c->count; i++) {
        struct seg *s = &c->segs[i];

        if (s->flags & SLOT_IWAJA)
            s->iwad = 1;
        if (s->kind != SLOT_CONSONANT)
            continue;
        if (s->phone == MST_PHONE_SAD &&
            (HAS_PLACE(f, SAD_AS_SIN) || (HAS_PLACE(f, SAD_OR_SIN) && c->opt->musaytirun_sin)))
            s->phone = s->becomes = MST_PHONE_SIN;
        if (s->phone == MST_PHONE_DAD && HAS_PLACE(f, DUF) && c->opt->duf_damm)
            s->vowel = V_U;
        if (HAS_PLACE(f, TAMANNA) && s->doubled && c->opt->tamanna_rawm) {
            memmove(s + 1, s, (size_t)(c->count - i) * sizeof *s);
            c->count++;
            s->doubled = s[1].doubled = 0; /* the first of two nūns, its ḍamma faint */
            s->vowel = V_U;
            s->rawm = 1;
        }
    }
}

/* ءَآلذَّكَرَيۡنِ with easing: no lengthening, but a second hamza made soft. */
static void ease_question(struct chain *c)
{
    for (int32_t i = 0; i < c->count; i++)
        if (c->segs[i].flags & SLOT_QUESTION) {
            c->segs[i].kind = SLOT_CONSONANT;
            c->segs[i].phone = c->segs[i].becomes = MST_PHONE_HAMZA_EASED;
            change(c, &c->segs[i]);
        }
}

static void read_mute(struct chain *c, struct seg *s)
{
    bool joined = c->next != NULL;

    switch ((enum mute)s->mute) {
    case MUTE_ROUND:
        if (HAS_PLACE(c->form, SALASILA) && !joined && c->opt->salasila_alif)
            make_long(c, s, V_A);
        else
            mst_site_add(c, MST_RULE_SIFR_MUSTADIR, s, NULL,
                         HAS_PLACE(c->form, SALASILA) ? REASON_SIFR_BOTH : REASON_SIFR_MUSTADIR);
        break;
    case MUTE_RECT:
        if (joined)
            mst_site_add(c, MST_RULE_SIFR_MUSTATIL, s, NULL, REASON_SIFR_MUSTATIL);
        else
            make_long(c, s, V_A);
        break;
    case MUTE_WASLA:
        mst_site_add(c, MST_RULE_HAMZAT_WASL, s, NULL, REASON_WASL_INSIDE);
        break;
    default:
        break;
    }
}

/* --- the stock ------------------------------------------------------------------------- */

const uint8_t mst_concerns[MST_PHONE_COUNT] = {
    [MST_PHONE_AA] = CONCERN_LENGTHENING,
    [MST_PHONE_II] = CONCERN_LENGTHENING,
    [MST_PHONE_UU] = CONCERN_LENGTHENING,
    [MST_PHONE_NUN] = CONCERN_NUN,
    [MST_PHONE_MIM] = CONCERN_MIM,
    [MST_PHONE_LAM] = CONCERN_LAM,
    [MST_PHONE_WAW] = CONCERN_SOFT,
    [MST_PHONE_YA] = CONCERN_SOFT,
    [MST_PHONE_BA] = CONCERN_ECHO,
    [MST_PHONE_JIM] = CONCERN_ECHO,
    [MST_PHONE_DAL] = CONCERN_ECHO,
    [MST_PHONE_QAF] = CONCERN_ECHO_AND_WEIGHT,
    [MST_PHONE_TAH] = CONCERN_ECHO_AND_WEIGHT,
    [MST_PHONE_KHA] = CONCERN_WEIGHT,
    [MST_PHONE_SAD] = CONCERN_WEIGHT,
    [MST_PHONE_DAD] = CONCERN_WEIGHT,
    [MST_PHONE_GHAYN] = CONCERN_WEIGHT,
    [MST_PHONE_ZAH] = CONCERN_WEIGHT,
    [MST_PHONE_RA] = CONCERN_WEIGHT,
    [MST_PHONE_HAMZA_EASED] = CONCERN_EASED,
};

/* Bring the stock of the segs from…count-1 up to date: no branch, each seg's bit goes where its
 * phone says. */
static void take_stock(struct chain *c, int32_t from)
{
    struct stock *k = &c->stock;
    uint64_t keep = from < 64 ? SEG_BIT(from) - 1 : ~UINT64_C(0);

    for (int n = 0; n < CONCERN_COUNT; n++)
        k->of[n] &= keep;
    k->bare &= keep;
    k->doubled &= keep;
    k->article &= keep;
    k->name &= keep;
    for (int32_t i = from; i < c->count && i < 64; i++) {
        const struct seg *s = &c->segs[i];

        k->of[s->kind == SLOT_MUTE ? CONCERN_MUTE : mst_concerns[s->phone]] |= SEG_BIT(i);
        k->bare |= (uint64_t)seg_vowelless(s) << i;
        k->doubled |= (uint64_t)s->doubled << i;
        k->article |= (uint64_t)((s->flags & SLOT_ARTICLE) != 0) << i;
        k->name |= (uint64_t)((s->flags & SLOT_NAME) != 0 && s->kind == SLOT_CONSONANT) << i;
    }
}

/* The form's stock, as the segs from `from` on count it. */
static void shift_stock(struct stock *k, int32_t from)
{
    for (int n = 0; n < CONCERN_COUNT; n++)
        k->of[n] >>= from;
    k->bare >>= from;
    k->doubled >>= from;
    k->article >>= from;
    k->name >>= from;
}

/* --- the whole word, again ------------------------------------------------------------- */

/* The segs and their stock, as spelled. */
static void copy_form(struct chain *c, int32_t from)
{
    const struct form *f = c->form;

    c->count = c->total = c->changed = f->seg_count - from;
    memcpy(c->segs, f->segs + from, (size_t)c->count * sizeof *c->segs);
    c->stock = f->stock;
    if (from > 0 && f->seg_count <= 64)
        shift_stock(&c->stock, from);
    else if (from > 0) /* so long only in broken input */
        take_stock(c, 0);
}

void mst_chain_build(struct chain *c, int32_t from)
{
    const struct form *f = c->form;
    uint64_t mutes;

    copy_form(c, from);
    c->next_wasl = c->next && c->next->seg_count > 0 && c->next->segs[0].kind == SLOT_WASLA;
    if (from == 0 && c->count > 0 && c->segs[0].kind == SLOT_WASLA)
        read_wasla(c);
    if (f->places) {
        if (from == 0 && !c->prev && c->count > 0)
            read_head_of_its_own(c);
        read_own(c);
        take_stock(c, 0);
    }
    if (f->opening)
        take_stock(c, 0);
    if (c->opt->question_easing)
        ease_question(c);
    mutes = c->stock.of[CONCERN_MUTE];
    for (EACH_BIT(i, from == 0 ? mutes & ~UINT64_C(1) : mutes))
        read_mute(c, &c->segs[i]);
    if (!c->next)
        stop_after_last(c);
    else if (c->next_wasl)
        join_to_wasl(c);
    if (c->changed < c->count) /* the other segs are as spelled */
        take_stock(c, c->changed);
    c->total = c->count;
    if (c->next && !c->next_wasl)
        look_ahead(c);
}

bool mst_chain_ends_alike(const struct chain *c)
{
    int32_t i = seg_prev(c, c->count);
    const struct seg *s = i < 0 ? NULL : &c->segs[i];

    if (!s || c->changed < c->count || c->form->places || c->form->ana)
        return false;
    return s->kind == SLOT_LONG ? !(s->flags & SLOT_SILA) : seg_vowelless(s) && !s->tanwin;
}

enum vowel mst_form_last_vowel(const struct form *f)
{
    for (int32_t i = f->seg_count - 1; i >= 0; i--) {
        const struct seg *s = &f->segs[i];

        if (s->kind == SLOT_MUTE)
            continue;
        if (s->kind == SLOT_CONSONANT && s->vowel == V_NONE)
            return HAS_PLACE(f, ALIM_ALLAH) ? V_A : V_I;
        return (enum vowel)s->vowel;
    }
    return V_A;
}
