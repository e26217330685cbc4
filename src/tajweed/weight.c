/*
 * tajweed/weight.c – heavy and light: the seven letters of elevation, the alif
 * that follows them, rāʾ, and the lām of the Name.
 *
 * Source: al-Muqaddima al-Jazariyya, chapters on rāʾ and on the lāms; the five
 * ranks of the heavy letters and the preferred way of words that have two at a
 * stop: from memory.
 */
#include "internal.h"

enum { RANK_ALIF = 1, RANK_FATHA, RANK_DAMMA, RANK_VOWELLESS, RANK_KASRA };

/* The lengthening that carries on this consonant's vowel, or NULL. */
static struct seg *long_after(struct chain *c, int32_t i)
{
    int32_t n = seg_next(c, i);

    if (n < 0 || c->segs[n].kind != SLOT_LONG || c->segs[n].outside)
        return NULL;
    return c->segs[i].vowel == c->segs[n].vowel ? &c->segs[n] : NULL;
}

static void elevated(struct chain *c, int32_t i)
{
    static const uint8_t ranks[] = {
        [V_NONE] = RANK_VOWELLESS, [V_A] = RANK_FATHA, [V_I] = RANK_KASRA, [V_U] = RANK_DAMMA};
    static const uint16_t reasons[] = {REASON_RANK_1, REASON_RANK_2, REASON_RANK_3, REASON_RANK_4,
                                       REASON_RANK_5};
    struct seg *s = &c->segs[i];
    struct mst_site *site;

    s->heavy = 1;
    s->rank = s->vowel == V_A && long_after(c, i) ? RANK_ALIF : ranks[s->vowel];
    site = mst_site_add(c, MST_RULE_TAFKHIM, s, NULL, reasons[s->rank - 1]);
    site->grade = (int8_t)s->rank;
    site->heavy = 1;
}

/* --- rāʾ ------------------------------------------------------------------------ */

struct verdict {
    bool heavy, both_ways;
    uint16_t reason;
};

static const struct verdict HEAVY_OF_VOWEL = {true, false, REASON_RA_HEAVY_VOWEL};
static const struct verdict LIGHT_OF_KASRA = {false, false, REASON_RA_LIGHT_KASRA};

/* Vowelless, and so already when going on. */
static struct verdict ra_vowelless(const struct chain *c, int32_t i)
{
    int32_t before = seg_prev(c, i), after = seg_next(c, i);
    const struct seg *p = before < 0 ? NULL : &c->segs[before];

    if (!p || p->wasl)
        return (struct verdict){true, false, REASON_RA_HEAVY_PASSING};
    if (p->vowel != V_I)
        return (struct verdict){true, false, REASON_RA_HEAVY_BEFORE};
    if (after >= 0 && !c->segs[after].outside && phone_in(c->segs[after].phone, PHONES_HEAVY)) {
        if (HAS_PLACE(c->form, RA_HEAVY_EITHER)) /* فِرۡقٖ */
            return (struct verdict){!c->opt->firq_light, true, REASON_RA_FIRQ};
        return (struct verdict){true, false, REASON_RA_HEAVY_AFTER};
    }
    return (struct verdict){false, false, REASON_RA_LIGHT_BEFORE};
}

/* Its vowel dropped at the stop: the sound before it decides, or the one before that. */
static struct verdict ra_stopped(const struct chain *c, int32_t i)
{
    int32_t before = seg_prev(c, i);
    const struct seg *p = before < 0 ? NULL : &c->segs[before];
    const struct seg *pp;

    if (HAS_PLACE(c->form, RA_STOP_HEAVY_EITHER))
        return (struct verdict){true, true, REASON_RA_STOP_HEAVY_EITHER};
    if (HAS_PLACE(c->form, RA_STOP_LIGHT_EITHER))
        return (struct verdict){false, true, REASON_RA_STOP_LIGHT_EITHER};
    if (!p)
        return (struct verdict){true, false, REASON_RA_STOP_HEAVY};
    if (p->kind == SLOT_LONG && p->becomes == MST_PHONE_EE)
        return (struct verdict){false, false, REASON_RA_LIGHT_IMALA};
    if (p->kind == SLOT_LONG || p->vowel != V_NONE) {
        if (p->vowel != V_I)
            return (struct verdict){true, false, REASON_RA_STOP_HEAVY};
        return (struct verdict){
            false, false, p->kind == SLOT_LONG ? REASON_RA_STOP_LIGHT_YA : REASON_RA_STOP_LIGHT};
    }
    if (p->phone == MST_PHONE_YA)
        return (struct verdict){false, false, REASON_RA_STOP_LIGHT_YA};
    before = seg_prev(c, before);
    pp = before < 0 ? NULL : &c->segs[before];
    if (pp && pp->vowel == V_I && !phone_in(p->phone, PHONES_HEAVY))
        return (struct verdict){false, false, REASON_RA_STOP_LIGHT};
    return (struct verdict){true, false, REASON_RA_STOP_HEAVY};
}

static void ra(struct chain *c, int32_t i)
{
    struct seg *s = &c->segs[i];
    struct verdict v;
    struct mst_site *site;

    if (HAS_PLACE(c->form, IMALA) && s->vowel == V_A)
        v = (struct verdict){false, false, REASON_RA_LIGHT_IMALA};
    else if (s->vowel == V_I)
        v = LIGHT_OF_KASRA;
    else if (s->vowel != V_NONE)
        v = HEAVY_OF_VOWEL;
    else if (s->stopped)
        v = ra_stopped(c, i);
    else
        v = ra_vowelless(c, i);
    s->heavy = v.heavy;
    site = mst_site_add(c, v.heavy ? MST_RULE_TAFKHIM_RA : MST_RULE_TARQIQ_RA, s, NULL, v.reason);
    site->heavy = v.heavy;
    site->both_ways = v.both_ways;
}

/* --- the Name --------------------------------------------------------------------- */

static void name_lam(struct chain *c, int32_t i)
{
    struct seg *s = &c->segs[i];
    enum vowel heard = c->prev ? mst_form_last_vowel(c->prev) : V_A; /* at a start: the hamza's */
    struct mst_site *site;

    for (int32_t k = seg_prev(c, i); k >= 0; k = seg_prev(c, k))
        if (c->segs[k].vowel != V_NONE) {
            heard = (enum vowel)c->segs[k].vowel;
            break;
        }
    s->heavy = heard != V_I;
    site = mst_site_add(c, s->heavy ? MST_RULE_TAFKHIM_LAM : MST_RULE_TARQIQ_LAM, s, NULL,
                        s->heavy ? REASON_NAME_HEAVY : REASON_NAME_LIGHT);
    site->heavy = (int8_t)s->heavy;
}

void mst_rules_weight(struct chain *c)
{
    const struct stock *k = &c->stock;

    for (EACH_BIT(bit, k->of[CONCERN_WEIGHT] | k->of[CONCERN_ECHO_AND_WEIGHT] | k->name)) {
        int32_t i = (int32_t)bit;
        struct seg *s = &c->segs[i];
        struct seg *alif;

        if (s->merged == 1)
            continue;
        if (phone_in(s->phone, PHONES_HEAVY))
            elevated(c, i);
        else if (s->phone == MST_PHONE_RA)
            ra(c, i);
        else if (s->flags & SLOT_NAME)
            name_lam(c, i);
        if (s->heavy && s->vowel == V_A && (alif = long_after(c, i)) != NULL) {
            alif->heavy = 1;
            mst_site_add(c, MST_RULE_TAFKHIM_ALIF, alif, NULL, REASON_ALIF_HEAVY)->heavy = 1;
        }
    }
}
