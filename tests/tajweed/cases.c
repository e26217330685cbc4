/*
 * The hand-worked cases of tests/cases: one test per file, and a check that the cases can fail.
 *
 * Without arguments every .case file of the source tree is run; with arguments only those named.
 */
#include "case_run.h"

#include <glob.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum { FILES_MAX = 64, CASES_AT_LEAST = 180 };

static struct mst_text *text; /* the program's one text, opened before the tests */
static struct case_tally total;

static void test_file(void **state)
{
    const char *path = *state;
    const char *slash = strrchr(path, '/');
    struct mst_map map;
    struct mst_error err = {0};
    if (mst_map_open(path, &map, &err) != MST_OK)
        fail_msg("%s", err.message);
    struct case_tally tally = case_run(text, slash ? slash + 1 : path,
                                       (struct mst_span){(const char *)map.ptr, map.len}, stderr);
    mst_map_close(&map);
    print_message("             %d cases, %d claims, %d failures\n", tally.cases, tally.claims,
                  tally.failures);
    total.cases += tally.cases;
    assert_true(tally.cases > 0);
    if (tally.failures)
        fail_msg("%d claims do not hold", tally.failures);
}

/* A true case with one thing wrong in it must fail, whatever that thing is. */
static void test_wrong_claims_fail(void **state)
{
    (void)state;
    static const char head[] = "case: c\nsource: s\npassage: 67:3:11-12\n";
    static const char *const wrong[] = {
        "site iqlab 67:3:11:2",
        "site ikhfa 67:3:11:1",
        "site ikhfa 67:3:11:2 > 67:3:12:2",
        "site ikhfa 67:3:11:2 counts=3",
        "site ikhfa 67:3:11:2 grade=2",
        "site ikhfa 67:3:11:2 when=always",
        "site ikhfa 67:3:11:2 heavy=1",
        "site ikhfa 67:3:11:2 to=67:3:11:2",
        "site ikhfa 67:3:11:2 colour=1",
        "no ikhfa 67:3:11:2",
        "no ikhfa 67:3:11:9",
        "none-at 67:3:11:2 iqlab ikhfa",
        "all ikhfa",
        "all ikhfa 67:3:11:2 67:3:12:1",
        "sounds 67:3:11 = m i n",
        "sounds 67:3:11 = m i",
        "sounds 67:3:11 = m i n_hidden t",
        "sounds 67:3:11 = m i n_hidden(3)",
        "sounds 67:3:11 = m i n_hidden |",
        "sounds 67:3:12 = t a f aa w u t",
        "sounds 67:3:12 = t a f aa w u t(gem) |",
        "seam 67:3:11 stop",
        "seam 67:3:13 stop",
        "sign 67:3:12 none",
        "site hiding 67:3:11:2",
        "stie ikhfa 67:3:11:2",
        "passage: 67:4",

        "",
    };
    static const char *const right[] = {
        "site ikhfa 67:3:11:2 > 67:3:12:1 counts=2 grade=1 when=joining heavy=0",
        "no iqlab 67:3:11:2",
        "all ikhfa 67:3:11:2",
        "sounds 67:3:11..67:3:12 = m i n_hidden(2,nasal) t a f aa(2) w u t |",
        "seam 67:3:11 join",
    };
    char file[512];
    for (size_t i = 0; i < sizeof right / sizeof *right; i++) {
        snprintf(file, sizeof file, "%s%s\n", head, right[i]);
        struct case_tally tally = case_run(text, "self-check", mst_span_of(file), stderr);
        assert_int_equal(tally.failures, 0);
        assert_int_equal(tally.claims, 1);
    }
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        /* "passage:" after a claim and "error: OK" after a good head are wrong as well. */
        snprintf(file, sizeof file, "%s%s%s\n", head,
                 strncmp(wrong[i], "passage", 7) == 0 ? "no iqlab 67:3:11:2\n" : "", wrong[i]);
        if (case_run(text, "self-check", mst_span_of(file), NULL).failures == 0 &&
            strcmp(wrong[i], "error: OK") != 0)
            fail_msg("this wrong line passed: %s", wrong[i]);
    }
    snprintf(file, sizeof file, "%serror: USAGE\n", head);
    assert_int_equal(case_run(text, "self-check", mst_span_of(file), NULL).failures, 1);
}

static void test_enough_cases(void **state)
{
    (void)state;
    print_message("             %d cases in all\n", total.cases);
    assert_true(total.cases >= CASES_AT_LEAST);
}

int main(int argc, char **argv)
{
    struct mst_error err = {0};
    if (mst_text_open(NULL, &text, &err) != MST_OK) {
        fprintf(stderr, "%s\n", err.message);
        return 1;
    }
    glob_t found = {0};
    char pattern[1024];
    const char *root = getenv("MISTARA_SOURCE_ROOT");
    snprintf(pattern, sizeof pattern, "%s/tests/cases/*.case", root ? root : ".");
    if (argc == 1 && glob(pattern, 0, NULL, &found) != 0) {
        fprintf(stderr, "no case files at %s\n", pattern);
        return 1;
    }
    char **path = argc > 1 ? argv + 1 : found.gl_pathv;
    size_t count = argc > 1 ? (size_t)argc - 1 : found.gl_pathc;
    struct CMUnitTest tests[FILES_MAX + 2] = {cmocka_unit_test(test_wrong_claims_fail)};
    size_t n = 1;
    for (size_t i = 0; i < count && n <= FILES_MAX; i++, n++) {
        const char *slash = strrchr(path[i], '/');
        tests[n] = (struct CMUnitTest){
            .name = slash ? slash + 1 : path[i], .test_func = test_file, .initial_state = path[i]};
    }
    if (argc == 1)
        tests[n++] = (struct CMUnitTest)cmocka_unit_test(test_enough_cases);
    int failed = _cmocka_run_group_tests("cases", tests, n, NULL, NULL);
    globfree(&found);
    mst_text_close(text);
    return failed ? 1 : 0;
}
