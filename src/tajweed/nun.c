/*
 * tajweed/nun.c – nūn without a vowel, and the nūn of tanwīn.
 * Source: Tuḥfat al-aṭfāl, chapter on vowelless nūn and tanwīn.
 */
#include "internal.h"

/* ء ه ع ح غ خ */
#define PHONES_THROAT                                                                              \
    (PHONE_BIT(HAMZA) | PHONE_BIT(HAMZA_EASED) | PHONE_BIT(HA) | PHONE_BIT(AYN) |                  \
     PHONE_BIT(HA_HUTTI) | PHONE_BIT(GHAYN) | PHONE_BIT(KHA))
/* The hidden nūn is heavy before these. */
#define PHONES_HEAVY_HIDING                                                                        \
    (PHONE_BIT(SAD) | PHONE_BIT(DAD) | PHONE_BIT(TAH) | PHONE_BIT(ZAH) | PHONE_BIT(QAF))
#define PHONES_NEAREST  (PHONE_BIT(TAH) | PHONE_BIT(DAL) | PHONE_BIT(TA))
#define PHONES_FARTHEST (PHONE_BIT(QAF) | PHONE_BIT(KAF))

static void merge(struct chain *c, int32_t i, int32_t host, bool nasal, bool partial)
{
    struct seg *s = &c->segs[i], *h = &c->segs[host];
    struct mst_site *site = mst_site_add(
        c, nasal ? MST_RULE_IDGHAM_GHUNNA : MST_RULE_IDGHAM_BILA_GHUNNA, s, h,
        nasal ? (partial ? REASON_IDGHAM_PARTIAL : REASON_IDGHAM_COMPLETE) : REASON_IDGHAM_BILA);

    site->complete = !partial;
    site->nasal = nasal;
    if (nasal)
        mst_site_counts(site, 2, 2, 2);
    s->merged = partial ? 2 : 1;
    s->nasal = nasal;
    s->host = (int16_t)host;
    s->site = (int16_t)(c->site_count - 1);
    if (!h->outside) { /* between the names of opening letters */
        h->takes = (int16_t)i;
        h->doubled = 1;
        c->stock.doubled |= SEG_BIT(host);
    }
}

static void hold(struct chain *c, int32_t i, int32_t host, enum mst_rule rule, uint16_t reason,
                 enum mst_phone becomes)
{
    struct seg *s = &c->segs[i];
    struct mst_site *site = mst_site_add(c, rule, s, &c->segs[host], reason);

    site->nasal = 1;
    mst_site_counts(site, 2, 2, 2);
    s->nasal = 1;
    s->becomes = (uint8_t)becomes;
    s->site = (int16_t)(c->site_count - 1);
}

static void hide(struct chain *c, int32_t i, int32_t host)
{
    uint8_t phone = c->segs[host].phone;
    struct mst_site *site;

    hold(c, i, host, MST_RULE_IKHFA, REASON_IKHFA, MST_PHONE_NUN_HIDDEN);
    site = &c->sites[c->site_count - 1];
    site->heavy = phone_in(phone, PHONES_HEAVY_HIDING);
    site->grade = phone_in(phone, PHONES_NEAREST) ? 1 : phone_in(phone, PHONES_FARTHEST) ? 3 : 2;
    c->segs[i].heavy = (uint8_t)site->heavy;
}

/* In one word, and in يسٓ and نٓ read on into wāw, nūn stays clear before و ي. */
static bool stays_clear(const struct seg *s, const struct seg *h)
{
    if (s->flags & SLOT_OPENING)
        return h->outside;
    return !h->outside;
}

void mst_rules_nun(struct chain *c)
{
    for (EACH_BIT(bit, c->stock.bare & c->stock.of[CONCERN_NUN])) {
        int32_t i = (int32_t)bit;
        struct seg *s = &c->segs[i];
        int32_t host = seg_next(c, i);
        const struct seg *h;

        if (host < 0 || !seg_consonant(&c->segs[host]))
            continue;
        h = &c->segs[host];
        if (phone_in(h->phone, PHONES_THROAT)) {
            mst_site_add(c, MST_RULE_IZHAR_HALQI, s, h, REASON_IZHAR_HALQI);
        } else if (h->phone == MST_PHONE_WAW || h->phone == MST_PHONE_YA) {
            if (stays_clear(s, h))
                mst_site_add(c, MST_RULE_IZHAR_MUTLAQ, s, h,
                             s->flags & SLOT_OPENING ? REASON_IZHAR_OPENING : REASON_IZHAR_MUTLAQ);
            else
                merge(c, i, host, true, true);
        } else if (h->phone == MST_PHONE_NUN || h->phone == MST_PHONE_MIM) {
            merge(c, i, host, true, false);
        } else if (h->phone == MST_PHONE_LAM || h->phone == MST_PHONE_RA) {
            merge(c, i, host, false, false);
        } else if (h->phone == MST_PHONE_BA) {
            hold(c, i, host, MST_RULE_IQLAB, REASON_IQLAB, MST_PHONE_MIM_HIDDEN);
        } else {
            hide(c, i, host);
        }
    }
}
