/*
 * `mistara sites`: table, JSON Lines and CSV say the same, and say it in the
 * agreed form. Whether the engine is right is tested in tests/tajweed; the few
 * places named here are the plainest of the handbooks (al-Jamzūrī, Tuḥfat
 * al-aṭfāl, chapters on vowelless nūn and on echo).
 */
#include "program.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int is_address(const char *text)
{
    int sura, verse, word, letter, end = 0;
    return text && sscanf(text, "%d:%d:%d:%d%n", &sura, &verse, &word, &letter, &end) == 4 &&
           text[end] == '\0' && sura >= 1 && sura <= 114 && verse >= 0 && word >= 1 && letter >= 1;
}

/* key is there, and its value of one of these kinds: s text, n number, b truth, 0 null. */
static void assert_kind(const json_t *site, const char *key, const char *kinds)
{
    const json_t *value = json_object_get(site, key);
    if (!value)
        fail_msg("the key %s is missing", key);
    int ok = (json_is_string(value) && strchr(kinds, 's')) ||
             (json_is_integer(value) && strchr(kinds, 'n')) ||
             (json_is_boolean(value) && strchr(kinds, 'b')) ||
             (json_is_null(value) && strchr(kinds, '0'));
    if (!ok)
        fail_msg("%s is of the wrong kind", key);
}

static void json_form(void **state)
{
    (void)state;
    struct run r = run_well("mistara sites 78 --json");
    json_t *sites = json_lines(r.out);
    assert_true(json_array_size(sites) > 200);
    size_t n;
    json_t *site;
    json_array_foreach(sites, n, site)
    {
        static const char *const kinds[][2] = {
            {"rule", "s"},      {"at", "s"},          {"to", "s"},           {"trigger", "s"},
            {"host", "s0"},     {"counts", "n0"},     {"counts_max", "n0"},  {"nasal", "b"},
            {"complete", "b0"}, {"grade", "n0"},      {"when", "s"},         {"reason", "s"},
            {"reason_ar", "s"}, {"counts_min", "n0"}, {"heavy", "b0"},       {"tanwin", "b"},
            {"words", "s"},     {"rule_name", "s"},   {"rule_name_ar", "s"},
        };
        for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
            assert_kind(site, kinds[k][0], kinds[k][1]);
        assert_true(is_address(text_of(site, "at")));
        assert_true(is_address(text_of(site, "to")));
        assert_true(is_address(text_of(site, "trigger")));
        if (text_of(site, "host"))
            assert_true(is_address(text_of(site, "host")));
        const char *when = text_of(site, "when");
        assert_true(!strcmp(when, "always") || !strcmp(when, "joining") ||
                    !strcmp(when, "stopping") || !strcmp(when, "starting"));
        assert_true(strlen(text_of(site, "reason")) > 10);
        json_int_t counts = json_integer_value(json_object_get(site, "counts"));
        json_int_t most = json_integer_value(json_object_get(site, "counts_max"));
        assert_true(counts <= most && most <= 6);
    }
    json_decref(sites);
    run_free(&r);
}

/* The sites with this rule and trigger, of a JSON array of sites. */
static json_t *site_at(json_t *sites, const char *rule, const char *trigger)
{
    size_t n;
    json_t *site;
    json_array_foreach(sites, n, site) if (!strcmp(text_of(site, "rule"), rule) &&
                                           !strcmp(text_of(site, "trigger"), trigger)) return site;
    return NULL;
}

static void known_places(void **state)
{
    (void)state;
    /* 67:3 مِن فُطُورٖ: nūn before fāʾ of the next word is hidden, two counts. */
    struct run r = run_well("mistara sites 67:3 --json");
    json_t *sites = json_lines(r.out);
    json_t *hidden = site_at(sites, "ikhfa", "67:3:17:2");
    assert_non_null(hidden);
    assert_string_equal(text_of(hidden, "host"), "67:3:18:1");
    assert_string_equal(text_of(hidden, "at"), "67:3:17:2");
    assert_string_equal(text_of(hidden, "to"), "67:3:18:1");
    assert_int_equal(json_integer_value(json_object_get(hidden, "counts")), 2);
    assert_int_equal(json_integer_value(json_object_get(hidden, "counts_max")), 2);
    assert_true(json_is_true(json_object_get(hidden, "nasal")));
    assert_true(json_is_null(json_object_get(hidden, "complete")));
    assert_true(json_is_false(json_object_get(hidden, "tanwin")));
    json_decref(sites);
    run_free(&r);

    /* 112:1 أَحَدٌ: at a stop the dāl echoes; read on, its tanwīn takes a passing kasra. */
    static const struct {
        const char *stops;
        int echo, kasra;
    } cases[] = {{"verses", 1, 0}, {"none", 0, 1}, {"112:1:4", 1, 0}, {"112:2", 0, 1}};
    for (size_t n = 0; n < sizeof cases / sizeof cases[0]; n++) {
        r = run_well("mistara sites 112:1-2 --json --stops %s", cases[n].stops);
        sites = json_lines(r.out);
        json_t *echo = site_at(sites, "qalqala", "112:1:4:3");
        json_t *kasra = site_at(sites, "tanwin_kasra", "112:1:4:3");
        assert_int_equal(echo != NULL, cases[n].echo);
        assert_int_equal(kasra != NULL, cases[n].kasra);
        if (echo)
            assert_true(json_is_null(json_object_get(echo, "host")) &&
                        json_is_null(json_object_get(echo, "counts")) &&
                        json_is_null(json_object_get(echo, "counts_max")) &&
                        !strcmp(text_of(echo, "when"), "stopping"));
        json_decref(sites);
        run_free(&r);
    }
}

/* Options reach the engine. */
static void counts_chosen(void **state)
{
    (void)state;
    static const struct {
        const char *options, *passage, *rule;
        int counts;
    } cases[] = {
        {"", "78:1", "madd_muttasil", 4},
        {"--muttasil 5", "78:1", "madd_muttasil", 5},
        {"", "112:2-3", "madd_arid", 0},
        {"", "1:2", "madd_arid", 4},
        {"--arid 2", "1:2", "madd_arid", 2},
        {"--arid=6", "1:2", "madd_arid", 6},
        {"", "67:6", "madd_munfasil", 0},
        {"--munfasil 5 --muttasil 5", "108:1", "madd_munfasil", 5},
        {"--munfasil 2", "108:1", "madd_munfasil", 2},
        {"", "106:1", "madd_lin", 4},
        {"--lin 2", "106:1", "madd_lin", 2},
    };
    for (size_t n = 0; n < sizeof cases / sizeof cases[0]; n++) {
        struct run r = run_well("mistara sites %s %s --rule %s --json --no-basmala",
                                cases[n].passage, cases[n].options, cases[n].rule);
        json_t *sites = json_lines(r.out), *first = json_array_get(sites, 0);
        json_int_t counts = json_integer_value(json_object_get(first, "counts"));
        if (counts != cases[n].counts)
            fail_msg("%s %s: %s has %d counts", cases[n].passage, cases[n].options, cases[n].rule,
                     (int)counts);
        json_decref(sites);
        run_free(&r);
    }
}

static void rules_filtered(void **state)
{
    (void)state;
    struct run all = run_well("mistara sites 67 --json");
    struct run two = run_well("mistara sites 67 --json --rule ikhfa,qalqala");
    json_t *every = json_lines(all.out), *chosen = json_lines(two.out), *site;
    size_t n, wanted = 0;
    json_array_foreach(every, n, site) wanted +=
        !strcmp(text_of(site, "rule"), "ikhfa") || !strcmp(text_of(site, "rule"), "qalqala");
    assert_true(wanted > 20);
    assert_int_equal(json_array_size(chosen), wanted);
    json_array_foreach(chosen, n, site) assert_true(!strcmp(text_of(site, "rule"), "ikhfa") ||
                                                    !strcmp(text_of(site, "rule"), "qalqala"));
    json_decref(every);
    json_decref(chosen);
    run_free(&all);
    run_free(&two);
    struct run none = run_well("mistara sites 112 --rule imala");
    assert_string_equal(none.out, "No place of these rules in 112:1–4.\n");
    run_free(&none);
}

/* Cells of a CSV row (RFC 4180), read into place; returns the start of the next row. */
static char *csv_row(char *at, char *cells[], size_t most, size_t *count)
{
    *count = 0;
    for (;;) {
        assert_true(*count < most);
        char *to = at, *cell = at;
        if (*at == '"') {
            at++;
            while (*at != '"' || at[1] == '"') {
                assert_true(*at != '\0');
                at += *at == '"';
                *to++ = *at++;
            }
            at++;
        } else {
            while (*at && *at != ',' && *at != '\r')
                *to++ = *at++;
        }
        cells[(*count)++] = cell;
        int more = *at == ',';
        if (!more)
            assert_int_equal(strncmp(at, "\r\n", 2), 0);
        char *next = at + (more ? 1 : 2);
        *to = '\0';
        at = next;
        if (!more)
            return at;
    }
}

static void csv_same_as_json(void **state)
{
    (void)state;
    enum { COLUMNS = 22 };
    struct run csv = run_well("mistara sites 67:1-9 --csv");
    struct run json = run_well("mistara sites 67:1-9 --json");
    json_t *sites = json_lines(json.out);
    char *heads[COLUMNS], *cells[COLUMNS];
    size_t count;
    char *at = csv_row(csv.out, heads, COLUMNS, &count);
    assert_int_equal(count, COLUMNS);
    size_t row = 0;
    for (; *at; row++) {
        at = csv_row(at, cells, COLUMNS, &count);
        assert_int_equal(count, COLUMNS);
        json_t *site = json_array_get(sites, row);
        for (size_t c = 0; c < COLUMNS; c++) {
            json_t *value = json_object_get(site, heads[c]);
            char number[24] = "";
            const char *wanted = number;
            if (json_is_integer(value))
                snprintf(number, sizeof number, "%d", (int)json_integer_value(value));
            else if (json_is_boolean(value))
                wanted = json_is_true(value) ? "yes" : "no";
            else if (json_is_string(value))
                wanted = json_string_value(value);
            assert_non_null(value);
            assert_string_equal(cells[c], wanted);
        }
    }
    assert_int_equal(row, json_array_size(sites));
    json_decref(sites);
    run_free(&csv);
    run_free(&json);
}

static void table_same_as_json(void **state)
{
    (void)state;
    struct run table = run_well("mistara sites al-Mulk 1-9");
    struct run json = run_well("mistara sites 67:1-9 --json");
    json_t *sites = json_lines(json.out);
    size_t row = 0;
    char said[64];
    for (char *line = strtok(table.out, "\n"); line; line = strtok(NULL, "\n")) {
        int sura, verse, word, letter;
        if (sscanf(line, "%d:%d:%d:%d", &sura, &verse, &word, &letter) != 4) {
            snprintf(said, sizeof said, "%s", line);
            continue;
        }
        json_t *site = json_array_get(sites, row++);
        const char *trigger = text_of(site, "trigger");
        assert_int_equal(strncmp(line, trigger, strlen(trigger)), 0);
        assert_non_null(strstr(line, text_of(site, "rule")));
        assert_non_null(strstr(line, text_of(site, "words")));
        assert_non_null(strstr(line, text_of(site, "reason")));
    }
    assert_int_equal(row, json_array_size(sites));
    char wanted[64];
    snprintf(wanted, sizeof wanted, "%zu places in 67:1–9", row);
    assert_string_equal(said, wanted);
    json_decref(sites);
    run_free(&table);
    run_free(&json);
}

/* The words of a passage need no quotes, and options may stand anywhere. */
static void typed_freely(void **state)
{
    (void)state;
    struct run plain = run_well("mistara sites 67:1-5 --json");
    static const char *const ways[] = {
        "mistara sites --json al-Mulk 1-5", "mistara sites al-Mulk --json 1-5",
        "mistara sites --json -- 67:1-5",   "mistara sites 'mulk 1–5' --json",
        "mistara sites الملك ١-٥ --json",
    };
    for (size_t n = 0; n < sizeof ways / sizeof ways[0]; n++) {
        struct run other = run_well("%s", ways[n]);
        assert_string_equal(plain.out, other.out);
        run_free(&other);
    }
    run_free(&plain);
}

/* The whole text runs through, and every line of it is sound JSON. */
static void whole_text(void **state)
{
    (void)state;
    struct run r = run_well("mistara sites all --json --stops none");
    size_t lines = 0;
    for (const char *at = r.out; *at; lines++) {
        const char *end = strchr(at, '\n');
        assert_non_null(end);
        if (lines % 97 == 0) {
            json_t *site = json_loadb(at, (size_t)(end - at), 0, NULL);
            assert_non_null(site);
            json_decref(site);
        }
        at = end + 1;
    }
    assert_true(lines > 100000);
    run_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json_form),        cmocka_unit_test(known_places),
        cmocka_unit_test(counts_chosen),    cmocka_unit_test(rules_filtered),
        cmocka_unit_test(csv_same_as_json), cmocka_unit_test(table_same_as_json),
        cmocka_unit_test(typed_freely),     cmocka_unit_test(whole_text),
    };
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
