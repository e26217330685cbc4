/* What every test of the sheet begins with: text, fonts, and sheets of a passage. */
#ifndef TESTS_TYPESET_FIXTURE_H
#define TESTS_TYPESET_FIXTURE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <mistara/typeset.h>

struct fixture {
    struct mst_text *text;
    struct mst_typeset *typeset;
    struct mst_arena *arena;
};

int fixture_open(void **state);
int fixture_close(void **state);

/* Every rule the engine knows. */
struct mst_rule_set all_rules(void);
/* Read and lay out a passage; the test fails with the message where that fails. */
const struct mst_reading *read_passage(struct fixture *f, const char *passage,
                                       enum mst_stops stops);
struct mst_sheet *lay_out(struct fixture *f, const char *passage, enum mst_stops stops,
                          const struct mst_sheet_options *options,
                          const struct mst_reading **reading);

#endif
