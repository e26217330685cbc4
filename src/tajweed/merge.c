/*
 * tajweed/merge.c – merging of letters other than nūn and mīm: the article's
 * lām, equals, kin and neighbours.
 *
 * Source: Tuḥfat al-aṭfāl, chapters on the article's lām and on the two equal,
 * neighbouring and kindred letters; al-Jazariyya, chapter on merging; al-Dānī,
 * al-Taysīr, for which pairs Ḥafṣ merges.
 */
#include "internal.h"

struct pair {
    uint8_t from, to;
    uint8_t partial, nasal;
    uint8_t across_only;
};

/* Kin: the same place of articulation. */
static const struct pair kin[] = {
    {MST_PHONE_DAL, MST_PHONE_TA, 0, 0, 0}, /* قَد تَّبَيَّنَ, عَبَدتُّمۡ */
    {MST_PHONE_TA, MST_PHONE_DAL, 0, 0, 1}, /* 7:189, 10:89 */
    {MST_PHONE_TA, MST_PHONE_TAH, 0, 0, 1}, /* وَدَّت طَّآئِفَةٞ */
    {MST_PHONE_TAH, MST_PHONE_TA, 1, 0, 0}, /* 5:28, 12:80, 27:22, 39:56 */
    {MST_PHONE_DHAL, MST_PHONE_ZAH, 0, 0, 1}, /* 4:64, 43:39 */
    {MST_PHONE_THA, MST_PHONE_DHAL, 0, 0, 1}, /* 7:176 */
    {MST_PHONE_BA, MST_PHONE_MIM, 0, 1, 1},   /* 11:42 */
};

/* The letters that merge into kin. */
#define PHONES_WITH_KIN                                                                            \
    (PHONE_BIT(DAL) | PHONE_BIT(TA) | PHONE_BIT(TAH) | PHONE_BIT(DHAL) | PHONE_BIT(THA) |          \
     PHONE_BIT(BA))

static void merge(struct chain *c, int32_t i, int32_t host, bool partial, bool nasal)
{
    struct seg *s = &c->segs[i];

    s->merged = partial ? 2 : 1;
    s->nasal = nasal;
    s->host = (int16_t)host;
    if (!partial && !c->segs[host].outside) {
        c->segs[host].takes = (int16_t)i;
        c->segs[host].doubled = 1;
        c->stock.doubled |= SEG_BIT(host);
    }
}

static struct mst_site *merging_site(struct chain *c, enum mst_rule rule, int32_t i, int32_t host,
                                     bool partial, uint16_t reason)
{
    struct mst_site *site = mst_site_add(c, rule, &c->segs[i], &c->segs[host], reason);

    site->complete = !partial;
    return site;
}

static void article(struct chain *c, int32_t i, int32_t host)
{
    if (phone_in(c->segs[host].phone, PHONES_SUN)) {
        merge(c, i, host, false, false);
        merging_site(c, MST_RULE_LAM_SHAMSIYYA, i, host, false, REASON_LAM_SHAMSIYYA);
    } else {
        mst_site_add(c, MST_RULE_LAM_QAMARIYYA, &c->segs[i], &c->segs[host], REASON_LAM_QAMARIYYA);
    }
}

static void neighbours(struct chain *c, int32_t i, int32_t host)
{
    const struct seg *s = &c->segs[i], *h = &c->segs[host];
    bool partial;

    if (s->phone == MST_PHONE_QAF && h->phone == MST_PHONE_KAF && !h->outside) { /* 77:20 */
        partial = c->opt->nakhluqkum_partial != 0;
        merge(c, i, host, partial, false);
        merging_site(c, MST_RULE_IDGHAM_MUTAQARIBAYN, i, host, partial,
                     partial ? REASON_NEIGHBOURS_PARTIAL : REASON_NEIGHBOURS)
            ->both_ways = 1;
    } else if (s->phone == MST_PHONE_LAM && h->phone == MST_PHONE_RA && h->outside &&
               c->form->qul_or_bal) {
        merge(c, i, host, false, false);
        merging_site(c, MST_RULE_IDGHAM_MUTAQARIBAYN, i, host, false, REASON_NEIGHBOURS);
    }
}

static bool kindred(struct chain *c, int32_t i, int32_t host)
{
    if (!phone_in(c->segs[i].phone, PHONES_WITH_KIN))
        return false;
    for (size_t k = 0; k < sizeof kin / sizeof *kin; k++) {
        const struct pair *p = &kin[k];
        struct mst_site *site;

        if (p->from != c->segs[i].phone || p->to != c->segs[host].phone ||
            (p->across_only && !c->segs[host].outside))
            continue;
        merge(c, i, host, p->partial, p->nasal);
        site = merging_site(c, MST_RULE_IDGHAM_MUTAJANISAYN, i, host, p->partial,
                            p->partial ? REASON_KIN_PARTIAL
                            : p->nasal ? REASON_KIN_NASAL
                                       : REASON_KIN);
        if (p->nasal) {
            site->nasal = 1;
            mst_site_counts(site, 2, 2, 2);
            c->segs[i].site = (int16_t)(c->site_count - 1);
        }
        return true;
    }
    return false;
}

void mst_rules_merge(struct chain *c)
{
    const struct stock *k = &c->stock;

    for (EACH_BIT(i, (k->bare & ~(k->of[CONCERN_NUN] | k->of[CONCERN_MIM])) | k->article)) {
        struct seg *s = &c->segs[i];
        int32_t host;

        if (s->flags & SLOT_ARTICLE_ONE && seg_consonant(s)) {
            mst_site_add(c, MST_RULE_LAM_SHAMSIYYA, s, s, REASON_LAM_ONE_LETTER)->complete = 1;
            continue;
        }
        if (HAS_PLACE(c->form, ISM) && s->flags & SLOT_ARTICLE && s->vowel) {
            mst_site_add(c, MST_RULE_ILTIQA_SAKINAYN, s, NULL, REASON_ILTIQA_ISM);
            continue;
        }
        if (!seg_vowelless(s))
            continue;
        host = seg_next(c, (int32_t)i);
        if (host < 0 || !seg_consonant(&c->segs[host]))
            continue;
        if (s->flags & SLOT_ARTICLE) {
            article(c, (int32_t)i, host);
        } else if (s->phone == c->segs[host].phone) {
            merge(c, (int32_t)i, host, false, false);
            merging_site(c, MST_RULE_IDGHAM_MITHLAYN, (int32_t)i, host, false, REASON_EQUALS);
        } else if (!kindred(c, (int32_t)i, host)) {
            neighbours(c, (int32_t)i, host);
        }
    }
}
