/* `mistara find` from outside: its three forms of output agree, and its errors say what to do. */
#include "program.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void examples_in_three_forms(void **state)
{
    (void)state;
    struct run table = run_well("mistara find examples ikhfa --in 78 --hosts ث"),
               csv = run_well("mistara find examples ikhfa --in 78 --hosts ث --csv"),
               json = run_well("mistara find examples ikhfa --in 78 --hosts ث --json");
    json_t *lines = json_lines(json.out);
    assert_int_equal(json_array_size(lines), 1);
    const json_t *line = json_array_get(lines, 0);
    assert_string_equal(text_of(line, "at"), "78:14:1–5");
    assert_string_equal(text_of(json_object_get(line, "site"), "trigger"), "78:14:4:3");
    assert_non_null(strstr(table.out, "78:14:1–5"));
    assert_non_null(strstr(table.out, text_of(line, "words")));
    assert_non_null(strstr(csv.out, text_of(line, "words")));
    assert_non_null(strstr(csv.out, "78:14:4:3\r\n"));
    json_decref(lines);
    run_free(&table);
    run_free(&csv);
    run_free(&json);
}

static void absent_members_are_printed(void **state)
{
    (void)state;
    struct run r = run_well("mistara find cover ikhfa --in 78");
    assert_non_null(strstr(r.out, "does not occur in the range"));
    run_free(&r);
    r = run_well("mistara find examples qalqala --in 108 --lang ar");
    assert_non_null(strstr(r.out, "does not occur here"));
    run_free(&r);
}

/* Where nothing is found that is said, with what to widen. */
static void nothing_found(void **state)
{
    (void)state;
    static const char *const asked[] = {"examples ikhfa --in 78 --hosts ب",
                                        "examples ikhfa --in 112", "passages imala --in 78"};
    for (size_t n = 0; n < sizeof asked / sizeof *asked; n++) {
        struct run r = run_well("mistara find %s", asked[n]);
        assert_non_null(strstr(r.out, n < 2 ? "Nothing was found." : "No passage"));
        assert_non_null(strstr(r.out, "(--in)"));
        assert_null(strstr(r.out, "Clarity"));
        run_free(&r);
    }
}

/* A passage behind an option needs no quotes, wherever the option stands. */
static void ranges_without_quotes(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {
        {"--in juz 30 examples qalqala", "examples qalqala --in 'juz 30'"},
        {"examples qalqala --in juz 29, juz 30", "examples qalqala --in 'juz 29,juz 30'"},
        {"--in al-Mulk 1-5 examples qalqala", "examples qalqala --in 67:1-5"},
        {"examples qalqala --in الملك ١-٥", "examples qalqala --in 67:1-5"},
        {"--in=juz 30 examples qalqala", "examples qalqala --in 'juz 30'"},
        {"--in 78 examples qalqala", "examples qalqala --in 78"}};
    for (size_t n = 0; n < sizeof pairs / sizeof *pairs; n++) {
        struct run bare = run_well("mistara find %s", pairs[n][0]),
                   quoted = run_well("mistara find %s", pairs[n][1]);
        assert_string_equal(bare.out, quoted.out);
        run_free(&bare);
        run_free(&quoted);
    }
}

static void cover_in_json(void **state)
{
    (void)state;
    struct run r = run_well("mistara find cover qalqala --in 67,78 --cost words --json");
    json_t *lines = json_lines(r.out);
    const json_t *cover = json_array_get(lines, 0);
    assert_true(json_is_true(json_object_get(cover, "proved")));
    assert_int_equal(json_array_size(json_object_get(cover, "members")), 5);
    assert_int_equal(json_integer_value(json_object_get(cover, "cost")),
                     json_integer_value(json_object_get(cover, "words")));
    json_decref(lines);
    run_free(&r);
}

static void passages_in_three_forms(void **state)
{
    (void)state;
    struct run table = run_well("mistara find passages ikhfa --in 67 --minutes 1-2 --limit 2"),
               json =
                   run_well("mistara find passages ikhfa --in 67 --minutes 1-2 --limit 2 --json"),
               csv = run_well("mistara find passages ikhfa --in 67 --minutes 1-2 --limit 2 --csv");
    json_t *lines = json_lines(json.out);
    assert_int_equal(json_array_size(lines), 2);
    size_t n;
    json_t *line;
    json_array_foreach(lines, n, line)
    {
        double seconds = json_real_value(json_object_get(line, "seconds"));
        assert_true(seconds >= 60 && seconds <= 120);
        assert_non_null(strstr(table.out, text_of(line, "at")));
        assert_non_null(strstr(csv.out, text_of(line, "at")));
    }
    json_decref(lines);
    run_free(&table);
    run_free(&json);
    run_free(&csv);
}

static void errors(void **state)
{
    (void)state;
    run_fails(2, "what to find", "mistara find");
    run_fails(2, "what to find", "mistara find examples");
    run_fails(2, "“verses” cannot be found", "mistara find verses ikhfa");
    run_fails(3, "ikhfaa", "mistara find examples ikhfaa");
    run_fails(3, "115", "mistara find cover ikhfa --in 115");
    run_fails(2, "verses or signs", "mistara find cover ikhfa --stops none");
    run_fails(2, "--nun and --tanwin", "mistara find examples ikhfa --nun --tanwin");
    run_fails(2, "“x-3”", "mistara find passages ikhfa --words x-3");
    run_fails(2, "smaller", "mistara find passages ikhfa --words 30-3");
    run_fails(2, "“zz” names no letter", "mistara find examples ikhfa --hosts zz");
    run_fails(3, "no member", "mistara find cover imala --in 112");
    run_fails(2, "--json and --csv", "mistara find cover ikhfa --json --csv");
    run_fails(2, "times", "mistara find cover ikhfa --times -2");
    run_fails(2, "--times takes a number from 1", "mistara find cover ikhfa --times 0");
    run_fails(2, "--per takes a number from 1", "mistara find examples ikhfa --per 0");
    run_fails(2, "--words takes a number above 0", "mistara find examples ikhfa --words 0");
    run_fails(2, "--words counts from 1", "mistara find examples ikhfa --words 0-4");
    run_fails(2, "--minutes takes a number above 0", "mistara find passages ikhfa --minutes 0");
    run_fails(2, "--pace takes a number above 0", "mistara find passages ikhfa --pace 0");
}

/* Every option stands in the man page, in docs/commands.md and in docs/finding.md. */
static void options_written_down(void **state)
{
    (void)state;
    struct run r = run_well("mistara find --help | sed -n '/^Options/,/^How/p' | "
                            "grep -oE '^  --[a-z-]+' | tr -d ' -' ");
    char *man = file_read(source_path("docs/mistara.1"), NULL),
         *handbook = file_read(source_path("docs/commands.md"), NULL);
    int options = 0;
    for (char *name = strtok(r.out, "\n"); name; name = strtok(NULL, "\n"), options++) {
        char typed[64], fl[64];
        const char *full = !strcmp(name, "oneword") ? "one-word" : name;
        snprintf(typed, sizeof typed, "--%s", full);
        snprintf(fl, sizeof fl, "Fl -%s", full);
        if (!strstr(handbook, typed) || !strstr(man, fl))
            fail_msg("--%s is not written down", full);
    }
    assert_true(options > 20);
    free(man);
    free(handbook);
    run_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(examples_in_three_forms),
        cmocka_unit_test(absent_members_are_printed),
        cmocka_unit_test(nothing_found),
        cmocka_unit_test(ranges_without_quotes),
        cmocka_unit_test(cover_in_json),
        cmocka_unit_test(passages_in_three_forms),
        cmocka_unit_test(errors),
        cmocka_unit_test(options_written_down),
    };
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
