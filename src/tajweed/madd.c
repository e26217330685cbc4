/*
 * tajweed/madd.c – lengthening.
 *
 * Source: Tuḥfat al-aṭfāl, chapters on the lengthenings, their rules and the
 * kinds of the binding one; the counts of Ḥafṣ by way of al-Shāṭibiyya: 4 or 5
 * for muttaṣil and munfaṣil (al-Taysīr). Where two causes meet the stronger
 * wins: lāzim, muttaṣil, ʿāriḍ, munfaṣil, badal.
 */
#include "internal.h"

enum { GRADE_LIGHT = 1, GRADE_HEAVY = 2 }; /* mukhaffaf, muthaqqal */

static struct mst_site *lengthen(struct chain *c, int32_t i, enum mst_rule rule,
                                 const struct seg *cause, uint16_t reason, int chosen, int min,
                                 int max)
{
    struct seg *s = &c->segs[i];
    struct mst_site *site = mst_site_add(c, rule, s, NULL, reason);

    if (cause)
        site->host = cause->letter;
    mst_site_counts(site, chosen, min, max);
    s->counts = (int8_t)chosen;
    s->counts_min = (int8_t)min;
    s->counts_max = (int8_t)max;
    s->site = (int16_t)(c->site_count - 1);
    return site;
}

/* Two counts, whatever the kind. */
static void natural(struct chain *c, int32_t i)
{
    const struct seg *s = &c->segs[i];
    int32_t before = seg_prev(c, i);
    const struct seg *p = before < 0 ? NULL : &c->segs[before];
    enum mst_rule rule = MST_RULE_MADD_TABII;
    uint16_t reason = REASON_TABII;

    if (s->iwad) {
        rule = MST_RULE_MADD_IWAD;
        reason = REASON_IWAD;
    } else if (s->flags & SLOT_SILA) {
        rule = MST_RULE_MADD_SILA_SUGHRA;
        reason = REASON_SILA_SUGHRA;
    } else if (s->flags & SLOT_OPENING) {
        reason = REASON_TABII_OPENING;
    } else if (s->flags & SLOT_NAME) {
        reason = REASON_TABII_NAME;
    } else if (p && p->phone == MST_PHONE_HAMZA) {
        rule = MST_RULE_MADD_BADAL;
        reason = REASON_BADAL;
    } else if (p && p->phone == MST_PHONE_YA && p->doubled && s->vowel == V_I) {
        rule = MST_RULE_MADD_TAMKIN;
        reason = REASON_TAMKIN;
    }
    lengthen(c, i, rule, NULL, reason, 2, 2, 2);
}

/* Before the hamza of another word. 2 counts are the way of another path. */
static void parted(struct chain *c, int32_t i, const struct seg *hamza)
{
    int chosen = c->opt->munfasil;
    int min = chosen == 2 ? 2 : 4;

    if (c->segs[i].flags & SLOT_SILA)
        lengthen(c, i, MST_RULE_MADD_SILA_KUBRA, hamza, REASON_SILA_KUBRA, chosen, min, 5);
    else
        lengthen(c, i, MST_RULE_MADD_MUNFASIL, hamza,
                 hamza->outside ? REASON_MUNFASIL : REASON_MUNFASIL_JOINED, chosen, min, 5);
}

static void joined(struct chain *c, int32_t i, const struct seg *hamza)
{
    bool stopped = hamza->stopped || hamza->rawm;
    bool six = hamza->stopped && c->opt->muttasil_stop_6;

    lengthen(c, i, MST_RULE_MADD_MUTTASIL, hamza, stopped ? REASON_MUTTASIL_STOP : REASON_MUTTASIL,
             six ? 6 : c->opt->muttasil, 4, hamza->stopped ? 6 : 5);
}

static void binding(struct chain *c, int32_t i, const struct seg *cause, bool heavy)
{
    struct mst_site *site = lengthen(c, i, MST_RULE_MADD_LAZIM_WORD, cause,
                                     heavy ? REASON_LAZIM_HEAVY : REASON_LAZIM_LIGHT, 6, 6, 6);

    site->grade = heavy ? GRADE_HEAVY : GRADE_LIGHT;
    site->heavy = heavy;
    site->both_ways = (c->segs[i].flags & SLOT_QUESTION) != 0;
}

/* The middle of an opening letter's name: a lengthening, or ʿayn's soft yāʾ. */
static void binding_letter(struct chain *c, int32_t i)
{
    const struct seg *end = &c->segs[i + 1];
    struct mst_site *site;

    if (seg_consonant(&c->segs[i])) {
        site =
            lengthen(c, i, MST_RULE_MADD_LAZIM_LETTER, NULL, REASON_LAZIM_AYN, c->opt->ayn, 4, 6);
    } else if (end->flags & SLOT_PASSING) { /* 3:1–2 joined: the cause has passed */
        site = lengthen(c, i, MST_RULE_MADD_LAZIM_LETTER, NULL, REASON_LAZIM_ALIM,
                        c->opt->alim_allah_2 ? 2 : 6, 2, 6);
        site->both_ways = 1;
    } else {
        site =
            lengthen(c, i, MST_RULE_MADD_LAZIM_LETTER, NULL,
                     end->merged ? REASON_LAZIM_LETTER_HEAVY : REASON_LAZIM_LETTER_LIGHT, 6, 6, 6);
    }
    site->grade = end->merged ? GRADE_HEAVY : GRADE_LIGHT;
    site->heavy = end->merged != 0;
}

static void long_vowel(struct chain *c, int32_t i)
{
    const struct seg *s = &c->segs[i];
    int32_t after = seg_next(c, i);
    const struct seg *n = after < 0 ? NULL : &c->segs[after];

    if (s->flags & SLOT_THREE) {
        binding_letter(c, i);
    } else if (!n || !seg_consonant(n) || s->flags & SLOT_OPENING) {
        if (n && n->outside && n->phone == MST_PHONE_HAMZA && !(s->flags & SLOT_OPENING))
            parted(c, i, n);
        else
            natural(c, i);
    } else if (n->outside) {
        if (n->phone == MST_PHONE_HAMZA)
            parted(c, i, n);
        else
            natural(c, i);
    } else if (n->phone == MST_PHONE_HAMZA) {
        if (s->flags & SLOT_HAMZA_INSIDE)
            parted(c, i, n);
        else
            joined(c, i, n);
    } else if (n->doubled || n->merged == 1) {
        binding(c, i, n->merged ? &c->segs[n->host] : n, true);
    } else if (n->stopped) {
        lengthen(c, i, MST_RULE_MADD_ARID, n, REASON_ARID, c->opt->arid, 2, 6);
    } else if (seg_vowelless(n)) {
        binding(c, i, n, false);
    } else {
        natural(c, i);
    }
}

/* و or ي without a vowel after fatḥa, before a letter that lost its vowel at the stop. */
static void soft(struct chain *c, int32_t i)
{
    int32_t before = seg_prev(c, i), after = seg_next(c, i);
    const struct seg *n = after < 0 ? NULL : &c->segs[after];

    if (c->segs[i].flags & SLOT_THREE) {
        binding_letter(c, i);
        return;
    }
    if (before < 0 || c->segs[before].vowel != V_A || !seg_consonant(&c->segs[before]) || !n ||
        n->outside || !n->stopped || n->kind != SLOT_CONSONANT || c->segs[i].merged)
        return;
    lengthen(c, i, MST_RULE_MADD_LIN, n, REASON_LIN, c->opt->lin, 2, 6);
}

void mst_rules_madd(struct chain *c)
{
    const struct stock *k = &c->stock;

    for (EACH_BIT(i, k->of[CONCERN_LENGTHENING] | (k->bare & k->of[CONCERN_SOFT]))) {
        if (c->segs[i].kind == SLOT_LONG)
            long_vowel(c, (int32_t)i);
        else
            soft(c, (int32_t)i);
    }
}
