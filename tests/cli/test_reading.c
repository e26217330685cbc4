/* `mistara explain`, `sounds`, `text` and `rules`: what they print, in both forms. */
#include "program.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void explain(void **state)
{
    (void)state;
    /* A letter: the rule with reason, mouth and source in both languages, and the letter itself. */
    struct run r = run_well("mistara explain 67:3:17:2");
    static const char *const letter[] = {"67:3:17:2", "(ikhfa)", "إخفاء",          "fāʾ",
                                         "the nose",  "Jamzūrī", "The letter nūn", "of 17)",
                                         "ghunna",    "فُطُورٖ"};
    for (size_t n = 0; n < sizeof letter / sizeof letter[0]; n++)
        if (!strstr(r.out, letter[n]))
            fail_msg("“%s” is not in:\n%s", letter[n], r.out);
    run_free(&r);

    /* The letter that hides it is told so too. */
    r = run_well("mistara explain 67:3:18:1");
    assert_non_null(strstr(r.out, "(ikhfa)"));
    run_free(&r);

    /* What reaches across a verse end shows when the reader goes on. */
    r = run_well("mistara explain 112:1:4:3 --stops none");
    assert_non_null(strstr(r.out, "(tanwin_kasra)"));
    /* the rule; the letter's quality of that name is told of anyway */
    assert_null(strstr(r.out, "(qalqala)\n"));
    run_free(&r);
    r = run_well("mistara explain 112:1:4:3");
    assert_null(strstr(r.out, "(tanwin_kasra)"));
    assert_non_null(strstr(r.out, "(qalqala)\n"));
    run_free(&r);

    /* The basmala of a sura, its first word, the very first and the very last of the text. */
    static const char *const edges[] = {"67:0:2", "67:1:1", "1:1:1", "114:6:3", "9:1:1", "2:1:1"};
    for (size_t n = 0; n < sizeof edges / sizeof edges[0]; n++) {
        r = run_well("mistara explain %s", edges[n]);
        assert_int_equal(strncmp(r.out, edges[n], strlen(edges[n])), 0);
        run_free(&r);
    }
    run_fails(3, "the basmala is left out", "mistara explain 67:0:2 --no-basmala");
}

static void explain_json(void **state)
{
    (void)state;
    struct run r = run_well("mistara explain 67:3:17 --json");
    json_t *lines = json_lines(r.out), *place = json_array_get(lines, 0);
    assert_int_equal(json_array_size(lines), 1);
    assert_string_equal(text_of(place, "at"), "67:3:17");
    assert_string_equal(text_of(place, "word"), "مِن");
    json_t *sites = json_object_get(place, "sites");
    assert_true(json_array_size(sites) >= 1);
    json_t *site = json_array_get(sites, 0);
    assert_string_equal(text_of(site, "rule"), "ikhfa");
    assert_true(strlen(text_of(site, "mouth")) > 20 && strlen(text_of(site, "mouth_ar")) > 20 &&
                strlen(text_of(site, "source")) > 10);
    json_decref(lines);
    run_free(&r);
}

static void sounds(void **state)
{
    (void)state;
    /* 112:1: q-u-l h-u-w-a, the Name with a doubled heavy lām, ʾaḥad with its echo. */
    struct run r = run_well("mistara sounds 112:1 --no-basmala --json");
    json_t *sounds = json_lines(r.out), *sound;
    static const char *const phones[] = {"q",  "u", "l", "h",     "u", "w",  "a", "l",
                                         "aa", "h", "u", "hamza", "a", "hh", "a", "d"};
    size_t n;
    assert_int_equal(json_array_size(sounds), sizeof phones / sizeof phones[0]);
    json_array_foreach(sounds, n, sound)
    {
        assert_string_equal(text_of(sound, "phone"), phones[n]);
        assert_true(json_is_array(json_object_get(sound, "letters")));
        assert_true(json_array_size(json_object_get(sound, "letters")) >= 1);
        assert_non_null(text_of(sound, "word"));
        assert_true(json_is_boolean(json_object_get(sound, "nasal")));
        assert_true(json_is_boolean(json_object_get(sound, "heavy")));
        assert_true(json_is_boolean(json_object_get(sound, "geminate")));
        static const char *const keys[] = {"counts", "echo", "pause", "ipa", "rank"};
        for (size_t k = 0; k < sizeof keys / sizeof keys[0]; k++)
            assert_non_null(json_object_get(sound, keys[k]));
    }
    json_t *lam = json_array_get(sounds, 7), *end = json_array_get(sounds, 15);
    assert_true(json_is_true(json_object_get(lam, "geminate")));
    assert_true(json_is_true(json_object_get(lam, "heavy")));
    assert_string_equal(text_of(end, "pause"), "stop");
    assert_true(json_integer_value(json_object_get(end, "echo")) >= 1);
    assert_true(json_is_null(json_object_get(lam, "pause")));
    json_decref(sounds);
    run_free(&r);

    r = run_well("mistara sounds 112:1-2");
    assert_non_null(strstr(r.out, "112:1"));
    assert_non_null(strstr(r.out, "qul huwa"));
    assert_non_null(strstr(r.out, "أَحَدٌ"));
    run_free(&r);
}

static void text_passage(void **state)
{
    (void)state;
    struct run r = run_well("mistara text 112 --json --with en,translit");
    json_t *verses = json_lines(r.out), *verse = json_array_get(verses, 0);
    assert_int_equal(json_array_size(verses), 4);
    assert_string_equal(text_of(verse, "at"), "112:1");
    /* The bytes of the print: the shadda stands before the vowel, against Unicode's order. */
    assert_string_equal(text_of(verse, "text"), "\u0642\u064f\u0644\u06e1 "
                                                "\u0647\u064f\u0648\u064e "
                                                "\u0671\u0644\u0644\u0651\u064e\u0647\u064f "
                                                "\u0623\u064e\u062d\u064e\u062f\u064c");
    assert_int_equal(json_integer_value(json_object_get(verse, "juz")), 30);
    assert_int_equal(json_integer_value(json_object_get(verse, "page")), 604);
    json_t *translations = json_object_get(verse, "translations");
    assert_non_null(text_of(translations, "en"));
    assert_non_null(text_of(translations, "translit"));
    json_decref(verses);
    run_free(&r);

    r = run_well("mistara text 67:3:2-4");
    assert_non_null(strstr(r.out, "\u2067خَلَقَ سَبۡعَ سَمَٰوَٰتٖ\u2069"));
    run_free(&r);

    /* Every verse, and no word of any lost or doubled on the way. */
    r = run_well("mistara text all | wc -l");
    assert_int_equal(strtol(r.out, NULL, 10), 6236);
    run_free(&r);
    r = run_well("mistara text 113-114 --json | tail -1");
    assert_non_null(strstr(r.out, "\"114:6\""));
    run_free(&r);
}

static void text_search(void **state)
{
    (void)state;
    struct run r = run_well("mistara text طباقا --json");
    json_t *hits = json_lines(r.out), *first = json_array_get(hits, 0);
    assert_int_equal(json_array_size(hits), 2); /* 67:3 and 71:15, by any concordance */
    assert_string_equal(text_of(first, "at"), "67:3");
    assert_string_equal(text_of(first, "first_word"), "67:3:5");
    json_decref(hits);
    run_free(&r);

    r = run_well("mistara text layers --json");
    hits = json_lines(r.out);
    first = json_array_get(hits, 0);
    assert_string_equal(text_of(first, "in"), "en");
    assert_string_equal(text_of(first, "hit"), "layers");
    json_decref(hits);
    run_free(&r);

    /* A sura's name is a passage; asked for as a word it is sought. */
    struct run sura = run_well("mistara text الملك --json | wc -l");
    assert_int_equal(strtol(sura.out, NULL, 10), 30);
    run_free(&sura);
    r = run_well("mistara text --search الملك --limit 3");
    assert_non_null(strstr(r.out, "These are the first 3 finds"));
    run_free(&r);
    run_fails(3, "nor found", "mistara text --search 67:1");
}

static void rules(void **state)
{
    (void)state;
    struct run all = run_well("mistara rules --json");
    json_t *list = json_lines(all.out), *rule;
    size_t n;
    assert_true(json_array_size(list) > 40);
    json_array_foreach(list, n, rule)
    {
        /* Each id is one that --rule takes. */
        static const char *const keys[] = {"rule", "name", "name_ar", "family", "mouth", "source"};
        for (size_t k = 0; k < sizeof keys / sizeof keys[0]; k++)
            assert_true(text_of(rule, keys[k]) && *text_of(rule, keys[k]));
        struct run one = run_well("mistara rules %s", text_of(rule, "rule"));
        assert_int_equal(strncmp(one.out, text_of(rule, "rule"), strlen(text_of(rule, "rule"))), 0);
        assert_non_null(strstr(one.out, text_of(rule, "name_ar")));
        run_free(&one);
    }
    json_decref(list);
    run_free(&all);
    run_fails(3, "ikhfa", "mistara rules ikhfaa");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(explain),      cmocka_unit_test(explain_json), cmocka_unit_test(sounds),
        cmocka_unit_test(text_passage), cmocka_unit_test(text_search),  cmocka_unit_test(rules),
    };
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
