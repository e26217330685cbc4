/* Which examples a handout shows when nobody chose them. */
#include <mistara/pages.h>

static int same_words(struct mst_range a, struct mst_range b)
{
    char x[96], y[96];
    return mst_span_equal(mst_span_of(mst_range_print(a, x)), mst_span_of(mst_range_print(b, y)));
}

struct choice {
    struct mst_range *ranges;
    size_t count;
};

/* The clearest example of this rule that is not shown yet: first ones of all members, then second
 * ones. 0: there is no further one. */
static int choose(struct choice *choice, const struct mst_examples *found, enum mst_rule rule)
{
    int32_t deepest = 0;
    for (int32_t g = 0; g < found->group_count; g++)
        if (found->groups[g].count > deepest)
            deepest = found->groups[g].count;
    for (int32_t nth = 0; nth < deepest; nth++)
        for (int32_t g = 0; g < found->group_count; g++) {
            const struct mst_example_group *group = &found->groups[g];
            if (group->member.rule != rule || nth >= group->count)
                continue;
            struct mst_range range = group->examples[nth].range;
            size_t i = 0;
            while (i < choice->count && !same_words(choice->ranges[i], range))
                i++;
            if (i < choice->count)
                continue;
            choice->ranges[choice->count++] = range;
            return 1;
        }
    return 0;
}

enum mst_status mst_handout_examples(const struct mst_text *text,
                                     const struct mst_find_scope *scope, struct mst_rule_set rules,
                                     size_t most, struct mst_arena *arena, struct mst_range **out,
                                     size_t *count, struct mst_error *err)
{
    struct mst_example_query query = {.scope = *scope, .rules = rules, .per_member = 3};
    struct mst_examples found;
    struct choice choice = {mst_arena_alloc(arena, most + 1, sizeof **out), 0};
    *out = choice.ranges;
    *count = 0;
    if (!choice.ranges)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while choosing examples");
    enum mst_status status = mst_find_examples(text, &query, arena, &found, err);
    /* the rules take turns */
    for (int more = 1; status == MST_OK && more;) {
        more = 0;
        for (int r = 0; r < MST_RULE_COUNT && choice.count < most; r++)
            if (mst_rule_set_has(rules, (enum mst_rule)r))
                more |= choose(&choice, &found, (enum mst_rule)r);
    }
    *count = choice.count;
    return status;
}
