/* Where memory may leap in the passage, and what is said of faults that cannot be told. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../../../src/speech/faults/parts.h"
#include "text.h"

static struct mst_script *script_of(int sura)
{
    struct mst_script *script;
    struct mst_error err;
    struct mst_range range = {{sura, 1, 0, 0},
                              {sura, mst_text_sura(text, sura)->verse_count, 0, 0}};
    assert_int_equal(mst_script_new(text, range, NULL, &script, &err), MST_OK);
    return script;
}

static int is_word(struct mst_addr at, int verse, int word)
{
    return at.verse == verse && at.word == word;
}

/* 109:3 and 109:5 are the same five words (counted in the print), so after each one may go on with
 * what follows the other. */
static void leaps_follow_the_same_words(void **state)
{
    (void)state;
    struct mst_script *script = script_of(109);
    struct mst_error err;
    struct ear_leap *leaps;
    size_t count;
    int forward = 0, back = 0;
    assert_int_equal(ear_alike_leaps(script, &leaps, &count, &err), MST_OK);
    for (size_t n = 0; n < count; n++) {
        int32_t from = leaps[n].from, to = leaps[n].to;
        forward += is_word(script->words[from].at, 3, 5) && is_word(script->words[to].at, 6, 1);
        back += is_word(script->words[from].at, 5, 5) && is_word(script->words[to].at, 4, 1);
        assert_true(to != from + 1);
        assert_true(ear_alike_before(script, from, to - 1) >= 2);
        assert_true(n == 0 || leaps[n - 1].from <= from);
    }
    assert_int_equal(forward, 1);
    assert_int_equal(back, 1);
    free(leaps);
    mst_script_free(script);
}

/* 112 says no two neighbouring words twice. */
static void no_leaps_where_nothing_is_alike(void **state)
{
    (void)state;
    struct mst_script *script = script_of(112);
    struct mst_error err;
    struct ear_leap *leaps;
    size_t count;
    assert_int_equal(ear_alike_leaps(script, &leaps, &count, &err), MST_OK);
    assert_int_equal(count, 0);
    free(leaps);
    mst_script_free(script);
}

static const struct mst_fault plain = {.id = "q_as_k",
                                       .name_en = "qāf said as kāf",
                                       .name_ar = "إبدال القاف كافًا",
                                       .grade = MST_FAULT_PLAIN},
                              fine = {.id = "heavy_r_light",
                                      .name_en = "heavy rāʾ made light",
                                      .name_ar = "ترقيق الراء المفخمة",
                                      .grade = MST_FAULT_FINE};

static struct mst_kind_fault place(const struct mst_fault *fault, int32_t sound, double sureness,
                                   unsigned why)
{
    return (struct mst_kind_fault){.fault = fault,
                                   .sound = sound,
                                   .at = {78, 1, sound + 1, 0},
                                   .start_ms = 1000 * sound,
                                   .end_ms = 1000 * sound + 80,
                                   .sureness = sureness,
                                   .cannot_tell = (uint8_t)why};
}

/* The first sound of 78:1 is an ʿayn: what is said of a doubt names the fault, both sounds, the
 * reasons and the place, in both languages. */
static void a_doubt_says_why(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_error err;
    struct mst_reading *reading;
    struct mst_range range = {{78, 1, 0, 0}, {78, 1, 0, 0}};
    char path[400];
    const char *paths[] = {path};
    struct mst_fault_list *list;
    snprintf(path, sizeof path, "%s/data/faults/default.faults", getenv("MISTARA_SOURCE_ROOT"));
    assert_int_equal(mst_faults_read(paths, 1, arena, &list, &err), MST_OK);
    assert_int_equal(mst_reading_new(text, range, NULL, arena, &reading, &err), MST_OK);
    const struct mst_fault *fault = mst_fault_called(list, MST_SPAN("ayn_as_hamza"));
    int32_t ayn = 0;
    while (ayn < reading->sound_count && reading->sounds[ayn].phone != MST_PHONE_AYN)
        ayn++;
    struct mst_heard_sound sound = {.sound_idx = ayn};
    struct mst_timeline tl = {.reading = reading, .sounds = &sound, .sound_count = 1};
    struct mst_fault_doubt d = {.fault = fault,
                                .why = 1u << MST_CANNOT_CLOSE | 1u << MST_CANNOT_LISTED,
                                .place_count = 3,
                                .likeliest = place(fault, 0, 0.6, 1u << MST_CANNOT_CLOSE)};
    for (int lang = MST_LANG_EN; lang <= MST_LANG_AR; lang++) {
        struct mst_string said = {0};
        enum mst_lang in = (enum mst_lang)lang;
        mst_fault_doubt_text(&tl, &d, in, &said);
        assert_non_null(strstr(said.ptr, in == MST_LANG_AR ? fault->name_ar : fault->name_en));
        assert_non_null(strstr(said.ptr, mst_cannot_text(MST_CANNOT_CLOSE, in)));
        assert_non_null(strstr(said.ptr, mst_cannot_text(MST_CANNOT_LISTED, in)));
        assert_non_null(strstr(said.ptr, "[ʕ]"));
        assert_non_null(strstr(said.ptr, "[ʔ]"));
        assert_non_null(strstr(said.ptr, "78:1:1"));
        mst_string_free(&said);
    }
    mst_arena_free(arena);
}

/* Places are counted by fault, the likeliest one is named, reasons are gathered, plain faults come
 * first; what can be told is no doubt. */
static void doubts_are_gathered(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_fault_report r = {.count = 0};
    struct mst_error err;
    struct mst_kind_fault list[] = {
        place(&fine, 0, 0.9, 1u << MST_CANNOT_SHORT),
        place(&plain, 1, 0.2, 1u << MST_CANNOT_CLOSE),
        place(&plain, 2, 0.99, 0),
        place(&plain, 3, 0.6, 1u << MST_CANNOT_LISTED),
        place(&plain, 4, 0.4, 1u << MST_CANNOT_LISTED),
    };
    struct mst_heard_word words[5];
    struct mst_heard_sound sounds[5];
    for (int n = 0; n < 5; n++) {
        words[n] = (struct mst_heard_word){.start_ms = 1000 * n, .end_ms = 1000 * n + 900};
        sounds[n] = (struct mst_heard_sound){.heard_word = n};
    }
    words[3].end_ms = 5000; /* the whole word is to be heard */
    struct mst_timeline tl = {.words = words, .sounds = sounds, .word_count = 5, .sound_count = 5};
    assert_int_equal(fault_doubts(&tl, list, 5, arena, &r, &err), MST_OK);
    assert_int_equal(r.doubt_count, 2);
    assert_int_equal(r.doubts_found, 2);
    assert_ptr_equal(r.doubts[0].fault, &plain);
    assert_int_equal(r.doubts[0].place_count, 3);
    assert_int_equal(r.doubts[0].why, 1u << MST_CANNOT_CLOSE | 1u << MST_CANNOT_LISTED);
    assert_int_equal(r.doubts[0].likeliest.sound, 3);
    assert_int_equal(r.doubts[0].start_ms, 2500);
    assert_int_equal(r.doubts[0].end_ms, 5000);
    assert_int_equal(r.doubts[1].start_ms, 0);
    mst_arena_free(arena);
}

/* Of each sound the surest fault that can be told, from the default on. */
static void what_can_be_told_is_kept(void **state)
{
    (void)state;
    struct mst_kind_fault list[] = {
        place(&fine, 0, 0.999, 1u << MST_CANNOT_SHORT),
        place(&plain, 1, 0.98, 0),
        place(&fine, 1, 0.99, 0),
        place(&plain, 2, 0.5, 0),
    };
    assert_int_equal(fault_keep_best(list, 4, 0), 1);
    assert_ptr_equal(list[0].fault, &fine);
    assert_int_equal(list[0].sound, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(leaps_follow_the_same_words),
        cmocka_unit_test(no_leaps_where_nothing_is_alike),
        cmocka_unit_test(doubts_are_gathered),
        cmocka_unit_test(a_doubt_says_why),
        cmocka_unit_test(what_can_be_told_is_kept),
    };
    return cmocka_run_group_tests(tests, open_text, close_text);
}
