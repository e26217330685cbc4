/* What the tests of this folder start with: cmocka wants these headers before its own. */
#ifndef TEST_LESSON_TEST_H
#define TEST_LESSON_TEST_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <mistara/find.h>

/* An error's sentence where success was expected. */
static inline void succeed(enum mst_status status, const struct mst_error *err)
{
    if (status != MST_OK)
        fail_msg("%s: %s", mst_status_name(status), err->message);
}

static inline struct mst_rule_set rules_of(const char *ids)
{
    struct mst_rule_set set;
    struct mst_error err = {0};
    succeed(mst_rule_set_parse(mst_span_of(ids), &set, &err), &err);
    return set;
}

static inline void scope_of(const struct mst_text *text, const char *where, struct mst_arena *arena,
                            struct mst_find_scope *scope)
{
    struct mst_range *ranges;
    struct mst_error err = {0};
    succeed(mst_ranges_parse(text, mst_span_of(where), arena, &ranges, &scope->range_count, &err),
            &err);
    scope->ranges = ranges;
}

/* xorshift64*: the same numbers everywhere from one seed. */
static inline uint32_t random_below(uint64_t *state, uint32_t below)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (uint32_t)((*state * UINT64_C(2685821657736338717)) >> 33) % below;
}

#endif
