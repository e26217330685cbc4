/*
 * tajweed/mim.c – mīm without a vowel; nūn and mīm doubled.
 * Source: Tuḥfat al-aṭfāl, chapters on vowelless mīm and on doubled nūn and mīm.
 */
#include "internal.h"

static void vowelless(struct chain *c, int32_t i, int32_t host)
{
    struct seg *s = &c->segs[i], *h = &c->segs[host];
    struct mst_site *site;

    if (h->phone == MST_PHONE_BA) {
        site = mst_site_add(c, MST_RULE_IKHFA_SHAFAWI, s, h, REASON_IKHFA_SHAFAWI);
        s->becomes = MST_PHONE_MIM_HIDDEN;
    } else if (h->phone == MST_PHONE_MIM) {
        site = mst_site_add(c, MST_RULE_IDGHAM_SHAFAWI, s, h,
                            s->flags & SLOT_OPENING ? REASON_IDGHAM_SHAFAWI_OPENING
                                                    : REASON_IDGHAM_SHAFAWI);
        site->complete = 1;
        s->merged = 1;
        s->host = (int16_t)host;
        if (!h->outside) { /* الٓمٓ */
            h->takes = (int16_t)i;
            h->doubled = 1;
            c->stock.doubled |= SEG_BIT(host);
        }
    } else {
        mst_site_add(c, MST_RULE_IZHAR_SHAFAWI, s, h,
                     h->phone == MST_PHONE_WAW || h->phone == MST_PHONE_FA
                         ? REASON_IZHAR_SHAFAWI_CARE
                         : REASON_IZHAR_SHAFAWI);
        return;
    }
    site->nasal = 1;
    mst_site_counts(site, 2, 2, 2);
    s->nasal = 1;
    s->site = (int16_t)(c->site_count - 1);
}

/* A letter doubled by a merging that is itself nasal is held by that merging. */
static void doubled(struct chain *c, struct seg *s)
{
    struct mst_site *site;

    if (s->takes >= 0 && c->segs[s->takes].nasal)
        return;
    site = mst_site_add(c, MST_RULE_GHUNNA, s, NULL,
                        s->phone == MST_PHONE_NUN ? REASON_GHUNNA_NUN : REASON_GHUNNA_MIM);
    site->nasal = 1;
    mst_site_counts(site, 2, 2, 2);
    s->nasal = 1;
    s->site = (int16_t)(c->site_count - 1);
}

void mst_rules_mim(struct chain *c)
{
    const struct stock *k = &c->stock;

    for (EACH_BIT(bit, (k->bare & k->of[CONCERN_MIM]) |
                           (k->doubled & (k->of[CONCERN_NUN] | k->of[CONCERN_MIM])))) {
        int32_t i = (int32_t)bit, host;
        struct seg *s = &c->segs[i];

        if (s->doubled && (s->phone == MST_PHONE_NUN || s->phone == MST_PHONE_MIM))
            doubled(c, s);
        else if (s->phone == MST_PHONE_MIM && seg_vowelless(s) && (host = seg_next(c, i)) >= 0 &&
                 seg_consonant(&c->segs[host]))
            vowelless(c, i, host);
    }
}
