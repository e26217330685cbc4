/*
 * tajweed/noted.c – which rule a teacher's word about a letter is about, said while somebody
 * recites.
 */
#include "internal.h"

#include <string.h>

/* Too short or too long is said of a length, no echo of an echo. What is about the letter itself,
 * such as another letter, is about no rule. */
static bool is_about(const char *what, const struct mst_site *site)
{
    enum mst_family family = mst_rule_family((enum mst_rule)site->rule);

    if (strcmp(what, "well") == 0)
        return true;
    if (strcmp(what, "short") == 0 || strcmp(what, "long") == 0)
        return site->counts > 0;
    if (strcmp(what, "nasal") == 0)
        return site->nasal == 1;
    if (strcmp(what, "echo") == 0)
        return family == MST_FAMILY_ECHO;
    if (strcmp(what, "heavy") == 0 || strcmp(what, "light") == 0)
        return family == MST_FAMILY_WEIGHT;
    return false;
}

enum mst_rule mst_rule_noted(const struct mst_reading *r, const char *what, int32_t first,
                             int32_t end)
{
    enum mst_rule found = MST_RULE_COUNT;

    for (int32_t n = 0; n < r->site_count; n++) {
        const struct mst_site *site = &r->sites[n];

        if (site->trigger < first || site->trigger >= end || !is_about(what, site))
            continue;
        if (found != MST_RULE_COUNT && found != (enum mst_rule)site->rule)
            return MST_RULE_COUNT;
        found = (enum mst_rule)site->rule;
    }
    return found;
}
