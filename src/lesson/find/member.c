/* member.c – members of families: their numbers, their names, and which one a site belongs to. */
#include "parts.h"

#include <string.h>

enum { AFTER_RULES = RULE_SLOTS * (1 + SLOTS_OF_RULE), NUN = 0x646 };

void mst_find_letter_index_fill(struct letter_index *index)
{
    memset(index->of, -1, sizeof index->of);
    for (uint32_t cp = 0x600; cp < 0x700; cp++) {
        const struct mst_articulation *letter = mst_articulation_of(cp);
        for (int n = 0; letter && mst_articulation_at(n); n++)
            if (mst_articulation_at(n) == letter)
                index->of[cp - 0x600] = (int8_t)n;
    }
}

int mst_find_letter_index_of(const struct letter_index *index, uint32_t cp)
{
    return cp >= 0x600 && cp < 0x700 ? index->of[cp - 0x600] : -1;
}

int mst_find_member_id(struct mst_member m)
{
    int of_rule = RULE_SLOTS + m.rule * SLOTS_OF_RULE;
    switch ((enum mst_member_kind)m.kind) {
    case MST_MEMBER_RULE:
        return m.rule;
    case MST_MEMBER_HOST:
        return of_rule + m.letter;
    case MST_MEMBER_TRIGGER:
        return of_rule + LETTER_SLOTS + m.letter;
    case MST_MEMBER_SOUND:
        return of_rule + 2 * LETTER_SLOTS + m.phone;
    case MST_MEMBER_LETTER:
        return AFTER_RULES + m.letter;
    case MST_MEMBER_PHONE:
        return AFTER_RULES + LETTER_SLOTS + m.phone;
    }
    return 0;
}

struct mst_member mst_find_member_of_id(int id)
{
    struct mst_member m = {0};
    if (id < RULE_SLOTS) {
        m.kind = MST_MEMBER_RULE;
        m.rule = (uint8_t)id;
    } else if (id < AFTER_RULES) {
        int slot = (id - RULE_SLOTS) % SLOTS_OF_RULE;
        m.rule = (uint8_t)((id - RULE_SLOTS) / SLOTS_OF_RULE);
        if (slot < 2 * LETTER_SLOTS) {
            m.kind = slot < LETTER_SLOTS ? MST_MEMBER_HOST : MST_MEMBER_TRIGGER;
            m.letter = (uint8_t)(slot % LETTER_SLOTS);
        } else {
            m.kind = MST_MEMBER_SOUND;
            m.phone = (uint8_t)(slot - 2 * LETTER_SLOTS);
        }
    } else if (id < AFTER_RULES + LETTER_SLOTS) {
        m.kind = MST_MEMBER_LETTER;
        m.letter = (uint8_t)(id - AFTER_RULES);
    } else {
        m.kind = MST_MEMBER_PHONE;
        m.phone = (uint8_t)(id - AFTER_RULES - LETTER_SLOTS);
    }
    return m;
}

static const char *letter_name(uint8_t letter, enum mst_lang lang)
{
    const struct mst_articulation *a = mst_articulation_at(letter);
    if (!a)
        return "?";
    return lang == MST_LANG_AR ? a->name_ar : a->name_en;
}

/* What is held, as a teacher calls it; a wāw or yāʾ that is lengthened without being long is the
 * soft one. Sounds that no letter has to itself keep their sign. */
static const struct {
    uint8_t phone;
    const char *en, *ar;
} held[] = {{MST_PHONE_AA, "alif", "الألف"},
            {MST_PHONE_II, "long yāʾ", "الياء المدية"},
            {MST_PHONE_UU, "long wāw", "الواو المدية"},
            {MST_PHONE_EE, "inclined alif", "الألف الممالة"},
            {MST_PHONE_YA, "soft yāʾ", "الياء اللينة"},
            {MST_PHONE_WAW, "soft wāw", "الواو اللينة"}};

const char *mst_member_sound(struct mst_member m, enum mst_lang lang)
{
    for (size_t n = 0; n < sizeof held / sizeof *held; n++)
        if (held[n].phone == m.phone && mst_rule_family(m.rule) == MST_FAMILY_LENGTH)
            return lang == MST_LANG_AR ? held[n].ar : held[n].en;
    return mst_phone_ipa(m.phone);
}

void mst_member_name(struct mst_member m, enum mst_lang lang, struct mst_string *out)
{
    int ar = lang == MST_LANG_AR;
    switch ((enum mst_member_kind)m.kind) {
    case MST_MEMBER_RULE:
        mst_string_adds(out, mst_rule_name(m.rule, lang));
        return;
    case MST_MEMBER_HOST:
        mst_string_addf(out, ar ? "%s مع %s" : "%s with %s", mst_rule_name(m.rule, lang),
                        letter_name(m.letter, lang));
        return;
    case MST_MEMBER_TRIGGER:
        /* One “of” is enough: “merging of equals: bāʾ”. */
        mst_string_addf(out,
                        ar                                            ? "%s في %s"
                        : strstr(mst_rule_name(m.rule, lang), " of ") ? "%s: %s"
                                                                      : "%s of %s",
                        mst_rule_name(m.rule, lang), letter_name(m.letter, lang));
        return;
    case MST_MEMBER_SOUND:
        mst_string_addf(out, "%s: %s", mst_rule_name(m.rule, lang), mst_member_sound(m, lang));
        return;
    case MST_MEMBER_LETTER:
        mst_string_adds(out, letter_name(m.letter, lang));
        return;
    case MST_MEMBER_PHONE:
        mst_string_addf(out, "%s [%s]", mst_phone_id(m.phone), mst_phone_ipa(m.phone));
        return;
    }
}

/* The phones of the echo letters, and the letters. */
static const struct {
    uint8_t phone;
    uint32_t letter;
} echoes[] = {{MST_PHONE_QAF, 0x642},
              {MST_PHONE_TAH, 0x637},
              {MST_PHONE_BA, 0x628},
              {MST_PHONE_JIM, 0x62C},
              {MST_PHONE_DAL, 0x62F}};

/* In an opening a letter stands for its name: what echoes at the end of ṣād's is a dāl. */
static uint32_t echoing_letter(const struct mst_reading *r, const struct mst_site *site)
{
    const struct mst_letter *trigger = &r->letters[site->trigger];
    const struct mst_word *word = &r->words[trigger->word_idx];
    for (int32_t n = word->first_sound; n < word->first_sound + word->sound_count; n++) {
        const struct mst_sound *sound = &r->sounds[n];
        if (!sound->echo || sound->last_letter != site->trigger)
            continue;
        for (size_t k = 0; k < sizeof echoes / sizeof *echoes; k++)
            if (echoes[k].phone == sound->phone)
                return echoes[k].letter;
    }
    return trigger->base;
}

int mst_find_site_trigger(const struct letter_index *letters, const struct mst_reading *r,
                          const struct mst_site *site)
{
    if (mst_rule_family(site->rule) == MST_FAMILY_ECHO)
        return mst_find_letter_index_of(letters, echoing_letter(r, site));
    return mst_find_letter_index_of(letters, site->tanwin ? NUN : r->letters[site->trigger].base);
}

int mst_find_site_host(const struct letter_index *letters, const struct mst_reading *r,
                       const struct mst_site *site)
{
    return site->host < 0 ? -1 : mst_find_letter_index_of(letters, r->letters[site->host].base);
}

static struct mst_member by_letter(enum mst_member_kind kind, uint8_t rule, int letter)
{
    if (letter < 0)
        return (struct mst_member){.kind = MST_MEMBER_RULE, .rule = rule};
    return (struct mst_member){.kind = (uint8_t)kind, .rule = rule, .letter = (uint8_t)letter};
}

struct mst_member mst_find_site_member(const struct letter_index *letters,
                                       const struct mst_reading *r, const struct mst_site *site,
                                       uint8_t phone, enum mst_by by)
{
    if (by == MST_BY_OWN) {
        /* A dagger alif shares the address of its letter: only the sound says what is long. */
        if (mst_rule_family(site->rule) == MST_FAMILY_LENGTH)
            by = MST_BY_SOUND;
        else
            by = site->host >= 0 ? MST_BY_HOST : MST_BY_TRIGGER;
    }
    switch (by) {
    case MST_BY_HOST:
        return by_letter(MST_MEMBER_HOST, site->rule, mst_find_site_host(letters, r, site));
    case MST_BY_TRIGGER:
        return by_letter(MST_MEMBER_TRIGGER, site->rule, mst_find_site_trigger(letters, r, site));
    case MST_BY_SOUND:
        if (phone != PHONE_NONE)
            return (struct mst_member){
                .kind = MST_MEMBER_SOUND, .rule = site->rule, .phone = phone};
        break;
    case MST_BY_RULE:
    case MST_BY_OWN:
        break;
    }
    return (struct mst_member){.kind = MST_MEMBER_RULE, .rule = site->rule};
}
