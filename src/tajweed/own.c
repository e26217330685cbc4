/*
 * tajweed/own.c – words of their own: imāla, easing, ishmām, ṣād and sīn, ḍaʿf,
 * and the pauses without breath. Their places and sources: places.c.
 */
#include "internal.h"

static struct seg *first_of(struct chain *c, enum mst_phone phone)
{
    for (int32_t i = 0; i < c->count; i++)
        if (c->segs[i].phone == phone && seg_consonant(&c->segs[i]))
            return &c->segs[i];
    return NULL;
}

static void imala(struct chain *c)
{
    struct seg *ra = first_of(c, MST_PHONE_RA);
    int32_t after = ra ? seg_next(c, (int32_t)(ra - c->segs)) : -1;

    if (after < 0)
        return;
    c->segs[after].becomes = MST_PHONE_EE;
    mst_site_add(c, MST_RULE_IMALA, ra, NULL, REASON_IMALA)->last = c->segs[after].letter;
}

static void tamanna(struct chain *c)
{
    struct seg *nun = first_of(c, MST_PHONE_NUN);
    struct mst_site *site;

    if (!nun)
        return;
    if (c->opt->tamanna_rawm)
        site = mst_site_add(c, MST_RULE_RAWM, nun, NULL, REASON_TAMANNA_RAWM);
    else
        site = mst_site_add(c, MST_RULE_ISHMAM, nun, NULL, REASON_TAMANNA_ISHMAM);
    site->both_ways = 1;
}

static void sad(struct chain *c, bool either)
{
    struct seg *s = first_of(c, MST_PHONE_SAD);
    uint16_t reason = either ? REASON_SAD_EITHER : REASON_SAD_ONLY;

    if (!s) {
        s = first_of(c, MST_PHONE_SIN);
        reason = either ? REASON_SAD_EITHER_SIN : REASON_SAD_AS_SIN;
    }
    if (s)
        mst_site_add(c, MST_RULE_SAD_SIN, s, NULL, reason)->both_ways = either;
}

static void sakt(struct chain *c)
{
    struct seg last = {.letter = c->form->first_letter + c->form->letter_count - 1};
    struct mst_site *site = mst_site_add(c, MST_RULE_SAKT, &last, NULL, REASON_SAKT);

    site->when = MST_JOINING;
    site->both_ways = HAS_PLACE(c->form, MALIYAH) || HAS_PLACE(c->form, LAST_OF_ANFAL);
}

void mst_rules_own(struct chain *c)
{
    struct seg *s;

    if (c->sakt)
        sakt(c);
    for (EACH_BIT(i, c->stock.of[CONCERN_EASED]))
        mst_site_add(c, MST_RULE_TASHIL, &c->segs[i], NULL,
                     HAS_PLACE(c->form, TASHIL) ? REASON_TASHIL : REASON_TASHIL_QUESTION)
            ->both_ways = !HAS_PLACE(c->form, TASHIL);
    if (!c->form->places)
        return;
    if (HAS_PLACE(c->form, IMALA))
        imala(c);
    if (HAS_PLACE(c->form, TAMANNA))
        tamanna(c);
    if (HAS_PLACE(c->form, SAD_AS_SIN) || HAS_PLACE(c->form, SAD_ONLY))
        sad(c, false);
    if (HAS_PLACE(c->form, SAD_OR_SIN))
        sad(c, true);
    if (HAS_PLACE(c->form, DUF) && (s = first_of(c, MST_PHONE_DAD)) != NULL)
        mst_site_add(c, MST_RULE_FATH_DAMM, s, NULL, REASON_FATH_DAMM)->both_ways = 1;
}
