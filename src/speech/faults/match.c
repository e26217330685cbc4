/* match.c – which faults can befall a sound, and what is then said instead of it. */
#include "parts.h"

#include <string.h>

int32_t fault_site_of(const struct mst_reading *r, int32_t sound_idx, enum mst_rule rule)
{
    const struct mst_sound *s = &r->sounds[sound_idx];
    if (s->site >= 0 && r->sites[s->site].rule == rule)
        return s->site;
    for (int32_t letter = s->first_letter; letter <= s->last_letter; letter++) {
        int32_t first, end;
        mst_sites_at(r, letter, &first, &end);
        for (int32_t i = first; i < end; i++)
            if (r->sites[i].rule == rule)
                return i;
    }
    return -1;
}

/* The engine marks heaviness on the consonant; a vowel takes it from the consonant before it. */
static int is_heavy(const struct mst_reading *r, int32_t sound_idx)
{
    const struct mst_sound *s = &r->sounds[sound_idx];
    if (mst_phone_kind((enum mst_phone)s->phone) <= MST_PHONE_KIND_NASAL || sound_idx == 0)
        return s->heavy;
    return s->heavy || (s - 1)->heavy;
}

static int conditions_hold(uint32_t only, const struct mst_reading *r, int32_t sound_idx)
{
    const struct mst_sound *s = &r->sounds[sound_idx];
    const int holds[MST_FAULT_ONLY_COUNT] = {
        [MST_FAULT_ONLY_SINGLE] = !s->geminate,
        [MST_FAULT_ONLY_DOUBLE] = s->geminate,
        [MST_FAULT_ONLY_ECHO] = s->echo > 0,
        [MST_FAULT_ONLY_NASAL] = s->nasal,
        [MST_FAULT_ONLY_HEAVY] = is_heavy(r, sound_idx),
        [MST_FAULT_ONLY_LIGHT] = !is_heavy(r, sound_idx),
        [MST_FAULT_ONLY_GOING] = s->pause == 0,
        [MST_FAULT_ONLY_STOPPED] = s->pause == 1,
    };
    for (int n = 0; n < MST_FAULT_ONLY_COUNT; n++)
        if (only >> n & 1u && !holds[n])
            return 0;
    return 1;
}

int mst_fault_befalls(const struct mst_fault *f, const struct mst_reading *r, int32_t sound_idx)
{
    const struct mst_sound *s = &r->sounds[sound_idx];
    if (!(f->phones >> s->phone & 1u) || !conditions_hold(f->only, r, sound_idx))
        return 0;
    if (f->rules.bits == 0)
        return 1;
    for (int rule = 0; rule < MST_RULE_COUNT; rule++) {
        int32_t site = mst_rule_set_has(f->rules, (enum mst_rule)rule)
                           ? fault_site_of(r, sound_idx, (enum mst_rule)rule)
                           : -1;
        if (site >= 0)
            return !r->sites[site].both_ways;
    }
    return 0;
}

static int counts_of(enum mst_phone phone)
{
    switch (mst_phone_kind(phone)) {
    case MST_PHONE_KIND_SHORT:
        return 1;
    case MST_PHONE_KIND_LONG:
    case MST_PHONE_KIND_NASAL:
        return 2;
    default:
        return 0;
    }
}

int32_t mst_fault_said(const struct mst_fault_way *way, const struct mst_reading *r,
                       int32_t sound_idx, struct mst_sound out[MST_FAULT_SOUNDS_MAX])
{
    const struct mst_sound *right = &r->sounds[sound_idx];
    for (int32_t i = 0; i < way->count; i++) {
        const struct mst_fault_sound *said = &way->sounds[i];
        struct mst_sound *s = &out[i];
        *s = *right;
        if (said->phone >= 0 && said->phone != (int8_t)right->phone) {
            s->phone = (uint8_t)said->phone;
            s->site = -1;
            s->counts = s->counts_min = s->counts_max =
                (int8_t)counts_of((enum mst_phone)said->phone);
            s->nasal = mst_phone_kind((enum mst_phone)said->phone) == MST_PHONE_KIND_NASAL;
            s->heavy = s->rank = s->echo = 0;
            if (way->count > 1)
                s->geminate = 0;
        }
        for (int n = 0; n < MST_FAULT_CHANGE_COUNT; n++) {
            if (!(said->changes >> n & 1u))
                continue;
            switch ((enum mst_fault_change)n) {
            case MST_FAULT_CHANGE_SINGLE:
            case MST_FAULT_CHANGE_DOUBLE:
                s->geminate = n == MST_FAULT_CHANGE_DOUBLE;
                if (!s->geminate && counts_of((enum mst_phone)s->phone) == 0)
                    s->counts = s->counts_min = s->counts_max = s->nasal = 0;
                s->site = -1;
                break;
            case MST_FAULT_CHANGE_HEAVY:
            case MST_FAULT_CHANGE_LIGHT:
                s->heavy = n == MST_FAULT_CHANGE_HEAVY;
                break;
            default:
                s->nasal = 0;
            }
        }
        s->pause = i + 1 == way->count ? right->pause : 0;
    }
    return way->count;
}

void mst_fault_said_ipa(const struct mst_fault_way *way, const struct mst_reading *r,
                        int32_t sound_idx, struct mst_string *out)
{
    struct mst_sound said[MST_FAULT_SOUNDS_MAX];
    int32_t count = mst_fault_said(way, r, sound_idx, said);
    for (int32_t i = 0; i < count; i++) {
        mst_string_adds(out, mst_phone_ipa((enum mst_phone)said[i].phone));
        if (said[i].geminate)
            mst_string_adds(out, "ː");
    }
}
