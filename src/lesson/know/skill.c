/* skill.c – a skill is a member of a family of find.h. */
#include "parts.h"

#include "../find/parts.h"

enum mst_status know_no_memory(struct mst_error *err)
{
    return mst_fail(err, MST_NO_MEMORY, "memory ran out while working out what is known");
}

enum mst_status know_learner_exists(int32_t learner, int32_t count, struct mst_error *err)
{
    if (learner < 0 || learner >= count)
        return mst_fail(err, MST_USAGE, "there is no learner %d among %d", (int)learner,
                        (int)count);
    return MST_OK;
}

int mst_skill_number(struct mst_member skill)
{
    return mst_find_member_id(skill);
}

int mst_skill_equal(struct mst_member a, struct mst_member b)
{
    return mst_find_member_id(a) == mst_find_member_id(b);
}

int mst_skill_of_number(int number, struct mst_member *out)
{
    if (number < 0 || number >= MEMBER_IDS)
        return 0;
    struct mst_member m = mst_find_member_of_id(number);
    int of_rule = m.kind == MST_MEMBER_RULE || m.kind == MST_MEMBER_HOST ||
                  m.kind == MST_MEMBER_TRIGGER || m.kind == MST_MEMBER_SOUND;
    if (!of_rule || m.rule >= MST_RULE_COUNT)
        return 0;
    if ((m.kind == MST_MEMBER_HOST || m.kind == MST_MEMBER_TRIGGER) &&
        !mst_articulation_at(m.letter))
        return 0;
    if (m.kind == MST_MEMBER_SOUND && m.phone >= MST_PHONE_COUNT)
        return 0;
    *out = m;
    return 1;
}

void mst_skills_of_reading(const struct mst_reading *reading, struct mst_member *out)
{
    struct letter_index letters;
    mst_find_letter_index_fill(&letters);
    for (int32_t n = 0; n < reading->site_count; n++)
        out[n] =
            mst_find_site_member(&letters, reading, &reading->sites[n], PHONE_NONE, MST_BY_OWN);
    for (int32_t n = 0; n < reading->sound_count; n++) { /* lengthenings: by what is held */
        int32_t site = reading->sounds[n].site;
        if (site >= 0)
            out[site] = mst_find_site_member(&letters, reading, &reading->sites[site],
                                             reading->sounds[n].phone, MST_BY_OWN);
    }
}
