/*
 * case_run.h – runs the hand-worked cases of one file (notation: tests/cases/README.md).
 *
 * A file is read line by line: `case:` opens a case, its head says what is read and how, and the
 * first claim makes the reading. Each claim is held against it at once. Whatever is not understood
 * – a key, a rule, a phone, a letter that is not there – counts as a failure, so that no claim can
 * be empty.
 */
#ifndef MISTARA_TESTS_CASE_RUN_H
#define MISTARA_TESTS_CASE_RUN_H

#include <mistara/tajweed.h>

#include <stdio.h>

struct case_tally {
    int cases, claims, failures;
};

/*
 * name: the file's name for the report; failures go to report as "name:line: …" (NULL = silent).
 */
struct case_tally case_run(const struct mst_text *text, const char *name, struct mst_span content,
                           FILE *report);

#endif
