#include "fixture.h"

#include <stdlib.h>

int fixture_open(void **state)
{
    struct mst_error err = {0};
    struct fixture *f = calloc(1, sizeof *f);
    if (!f)
        return -1;
    f->arena = mst_arena_new(0);
    if (mst_text_open(NULL, &f->text, &err) != MST_OK ||
        mst_typeset_open(NULL, &f->typeset, &err) != MST_OK) {
        print_error("%s\n", err.message);
        return -1;
    }
    *state = f;
    return 0;
}

int fixture_close(void **state)
{
    struct fixture *f = *state;
    mst_arena_free(f->arena);
    mst_typeset_close(f->typeset);
    mst_text_close(f->text);
    free(f);
    return 0;
}

struct mst_rule_set all_rules(void)
{
    return (struct mst_rule_set){((uint64_t)1 << MST_RULE_COUNT) - 1};
}

const struct mst_reading *read_passage(struct fixture *f, const char *passage, enum mst_stops stops)
{
    struct mst_error err = {0};
    struct mst_range range;
    struct mst_reading_options how = {.stops = stops};
    struct mst_reading *reading = NULL;
    if (mst_range_parse(f->text, mst_span_of(passage), &range, &err) != MST_OK ||
        mst_reading_new(f->text, range, &how, f->arena, &reading, &err) != MST_OK)
        fail_msg("%s: %s", passage, err.message);
    return reading;
}

struct mst_sheet *lay_out(struct fixture *f, const char *passage, enum mst_stops stops,
                          const struct mst_sheet_options *options,
                          const struct mst_reading **reading)
{
    struct mst_error err = {0};
    struct mst_sheet *sheet = NULL;
    const struct mst_reading *r = read_passage(f, passage, stops);
    if (mst_sheet_new(f->typeset, r, options, f->arena, &sheet, &err) != MST_OK)
        fail_msg("%s: %s", passage, err.message);
    if (reading)
        *reading = r;
    return sheet;
}
