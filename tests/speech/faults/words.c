/* Words left out, doubled, exchanged in made-up syllables under a timeline that hides them; leaps
 * that the timeline shows; verses that are alike. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../../../src/speech/faults/parts.h"
#include "synth.h"
#include "text.h"

enum { WORDS = 72, VERSE = 6, MISSING = 20, DOUBLED = 39, SWAPPED = 63, SQUEEZED_MS = 40 };

static struct mst_similar *similar;

struct scene {
    struct mst_script *script;
    struct synth said;
    struct mst_features *features;
    struct mst_timeline timeline;
};

/* What was said is all; nothing of it is heard yet. */
static void hears(struct scene *s)
{
    s->features = synth_features(&s->said);
    assert_non_null(s->features);
    s->timeline.script = s->script;
    s->timeline.words = calloc(2 * WORDS, sizeof *s->timeline.words);
    s->timeline.sounds = calloc((size_t)2 * WORDS * 8, sizeof *s->timeline.sounds);
}

/* Say the passage in this order of words, with a pause at each verse's end. */
static void say(struct scene *s, const int *order, int count)
{
    s->script = synth_script(WORDS, VERSE, 2);
    s->said.seed = 9;
    synth_pause(&s->said, 300);
    for (int i = 0; i < count; i++) {
        synth_say(&s->said, s->script, order[i], 1);
        if (order[i] % VERSE == VERSE - 1)
            synth_pause(&s->said, 450);
    }
    hears(s);
}

static void clear_scene(struct scene *s)
{
    free(s->timeline.words);
    free(s->timeline.sounds);
    mst_features_free(s->features);
    synth_script_free(s->script);
    synth_free(&s->said);
}

/* The timeline's next word: its sounds share the time from start to end, in parts that its said
 * sounds had when `as_said` is the first of them, evenly when it is -1. */
static void hear(struct scene *s, int word, double start_ms, double end_ms, int as_said)
{
    struct mst_timeline *tl = &s->timeline;
    const struct ear_form *form = &s->script->forms[word];
    struct mst_heard_word *w = &tl->words[tl->word_count];
    *w = (struct mst_heard_word){.at = s->script->words[word].at,
                                 .start_ms = (int32_t)start_ms,
                                 .end_ms = (int32_t)end_ms,
                                 .first_sound = tl->sound_count,
                                 .sound_count = form->unit_count,
                                 .started = word % VERSE == 0,
                                 .stopped = word % VERSE == VERSE - 1};
    for (int i = 0; i < form->unit_count; i++) {
        double part = (end_ms - start_ms) / form->unit_count;
        double from = start_ms + i * part, to = from + part;
        if (as_said >= 0) {
            from = i == 0 ? start_ms : s->said.sounds[as_said + i].start_ms;
            to = i + 1 == form->unit_count ? end_ms : s->said.sounds[as_said + i].end_ms;
        }
        tl->sounds[tl->sound_count++] = (struct mst_heard_sound){.heard_word = tl->word_count,
                                                                 .sound_idx = -1,
                                                                 .start_ms = (int32_t)from,
                                                                 .end_ms = (int32_t)to};
    }
    tl->word_count++;
}

/* Begin and end of the nth utterance, and its first said sound. */
struct said {
    double start_ms, end_ms;
    int first;
};
static struct said nth_said(const struct scene *s, const int *order, int n)
{
    struct said said = {0};
    int at = 0;
    for (int i = 0; i <= n; i++) {
        said.first = at;
        at += s->script->forms[s->said.sounds[at].word].unit_count;
        assert_int_equal(s->said.sounds[said.first].word, order[i]);
    }
    said.start_ms = s->said.sounds[said.first].start_ms;
    said.end_ms = s->said.sounds[at - 1].end_ms;
    return said;
}

static size_t find(struct scene *s, struct mst_arena *arena, struct mst_word_fault **out)
{
    struct mst_fault_ear *ear;
    struct mst_error err = {0};
    size_t count;
    if (mst_fault_ear_open(&s->timeline, s->features, NULL, 1, &ear, &err) != MST_OK)
        fail_msg("%s", err.message);
    assert_int_equal(mst_fault_words(ear, similar, arena, out, &count, &err), MST_OK);
    mst_fault_ear_close(ear);
    return count;
}

static void nothing_where_nothing_is(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(0);
    struct scene s = {0};
    struct mst_word_fault *found;
    int order[WORDS];
    for (int w = 0; w < WORDS; w++)
        order[w] = w;
    say(&s, order, WORDS);
    for (int w = 0; w < WORDS; w++) {
        struct said said = nth_said(&s, order, w);
        hear(&s, w, said.start_ms, said.end_ms, said.first);
    }
    assert_int_equal(find(&s, arena, &found), 0);
    clear_scene(&s);
    mst_arena_free(arena);
}

static void hidden_faults_are_found(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(0);
    struct scene s = {0};
    struct mst_word_fault *found;
    int order[WORDS + 1], count = 0;
    for (int w = 0; w < WORDS; w++) {
        if (w == MISSING)
            continue;
        order[count++] = w == SWAPPED ? SWAPPED + 1 : w == SWAPPED + 1 ? SWAPPED : w;
        if (w == DOUBLED)
            order[count++] = w;
    }
    say(&s, order, count);
    /* as an ear hears it that trusts the text: every word once, in order */
    for (int w = 0, n = 0; w < WORDS; w++) {
        if (w == MISSING) {
            struct said next = nth_said(&s, order, n);
            hear(&s, w, next.start_ms, next.start_ms + SQUEEZED_MS * 4, -1);
            continue;
        }
        struct said said = nth_said(&s, order, n++);
        double start = w == MISSING + 1 ? said.start_ms + SQUEEZED_MS * 4 : said.start_ms;
        if (w == DOUBLED)
            said.end_ms = nth_said(&s, order, n++).end_ms;
        int as_said =
            w == SWAPPED || w == SWAPPED + 1 || w == MISSING + 1 || w == DOUBLED ? -1 : said.first;
        hear(&s, w, start, said.end_ms, as_said);
    }
    size_t n = find(&s, arena, &found);
    assert_int_equal(n, 3);
    assert_int_equal(found[0].kind, MST_WORD_FAULT_LEFT_OUT);
    assert_int_equal(mst_addr_compare(found[0].first, s.script->words[MISSING].at), 0);
    assert_int_equal(found[1].kind, MST_WORD_FAULT_TWICE);
    assert_int_equal(mst_addr_compare(found[1].first, s.script->words[DOUBLED].at), 0);
    assert_int_equal(found[2].kind, MST_WORD_FAULT_ORDER);
    assert_int_equal(mst_addr_compare(found[2].first, s.script->words[SWAPPED].at), 0);
    assert_true(found[0].sureness > 0.4 && found[0].sureness <= 1);
    clear_scene(&s);
    mst_arena_free(arena);
}

/* A timeline that leaps over whole verses says so; a word taken up again after a breath is no
 * fault. */
static void leaps_are_named(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(0);
    struct scene s = {0};
    struct mst_word_fault *found;
    int order[WORDS], count = 0;
    for (int w = 0; w < WORDS; w++) {
        if (w >= 2 * VERSE && w < 3 * VERSE)
            continue;
        order[count++] = w;
    }
    say(&s, order, count);
    for (int i = 0; i < count; i++) {
        struct said said = nth_said(&s, order, i);
        hear(&s, order[i], said.start_ms, said.end_ms, said.first);
    }
    assert_int_equal(find(&s, arena, &found), 1);
    assert_int_equal(found[0].kind, MST_WORD_FAULT_LEFT_OUT);
    assert_int_equal(found[0].word_count, VERSE);
    assert_int_equal(mst_addr_compare(found[0].first, s.script->words[2 * VERSE].at), 0);
    for (int lang = MST_LANG_EN; lang <= MST_LANG_AR; lang++) {
        struct mst_string sentence = {0};
        mst_word_fault_text(&found[0], (enum mst_lang)lang, &sentence);
        assert_non_null(strstr(sentence.ptr, "1:3:1–1:3:6"));
        mst_string_free(&sentence);
    }
    clear_scene(&s);
    mst_arena_free(arena);
}

/* Three words said twice: the ear went back a word too far; it heard a stop where there was none;
 * there was a breath, and no fault. */
static void again_is_weighed(void **state)
{
    enum { BREATH = 15, TOO_FAR = 39, NO_STOP = 56, STOP_MS = 210 };
    (void)state;
    struct mst_arena *arena = mst_arena_new(0);
    struct scene s = {.script = synth_script(WORDS, VERSE, 2), .said.seed = 9};
    struct mst_word_fault *found;
    int order[WORDS + 3], count = 0;
    synth_pause(&s.said, 300);
    for (int w = 0; w < WORDS; w++) {
        int times = w == BREATH || w == TOO_FAR || w == NO_STOP ? 2 : 1;
        for (int n = 0; n < times; n++) {
            order[count++] = w;
            synth_say(&s.said, s.script, w, 1);
            if (w == BREATH && n == 0)
                synth_pause(&s.said, 700);
        }
        if (w % VERSE == VERSE - 1)
            synth_pause(&s.said, 450);
    }
    hears(&s);
    for (int n = 0; n < count; n++) {
        struct said said = nth_said(&s, order, n);
        int w = order[n], second = n > 0 && order[n - 1] == w;
        int first = n + 1 < count && order[n + 1] == w;
        if (second && w == TOO_FAR) {
            hear(&s, w - 1, said.start_ms, said.start_ms + 2 * SQUEEZED_MS, -1);
            hear(&s, w, said.start_ms + 2 * SQUEEZED_MS, said.end_ms, -1);
            continue;
        }
        int clipped = first && w == NO_STOP;
        hear(&s, w, said.start_ms, said.end_ms - (clipped ? STOP_MS : 0),
             clipped ? -1 : said.first);
        struct mst_heard_word *heard = &s.timeline.words[s.timeline.word_count - 1];
        heard->stopped |= (uint8_t)(first && w != TOO_FAR);
        heard->started |= (uint8_t)(second && w != TOO_FAR);
    }
    assert_int_equal(find(&s, arena, &found), 2);
    for (int n = 0; n < 2; n++) {
        int word = n == 0 ? TOO_FAR : NO_STOP;
        assert_int_equal(found[n].kind, MST_WORD_FAULT_TWICE);
        assert_int_equal(found[n].word_count, 1);
        assert_int_equal(mst_addr_compare(found[n].first, s.script->words[word].at), 0);
    }
    clear_scene(&s);
    mst_arena_free(arena);
}

/* Two verses begin with the same two words; in the second the reader goes on as in the first, and
 * the ear takes the word that follows for the second's own. */
static void a_jump_is_named_where_it_was_made(void **state)
{
    enum { FIRST = 2 * VERSE, SECOND = 5 * VERSE, ALIKE = 2 };
    (void)state;
    struct mst_arena *arena = mst_arena_new(0);
    struct scene s = {.script = synth_script(WORDS, VERSE, 2), .said.seed = 9};
    struct mst_word_fault *found;
    int order[2 * WORDS], count = 0;
    for (int n = 0; n < ALIKE; n++)
        s.script->forms[SECOND + n] = s.script->forms[FIRST + n];
    for (int w = 0; w < SECOND + ALIKE; w++)
        order[count++] = w;
    for (int w = FIRST + ALIKE; w < WORDS; w++)
        order[count++] = w;
    synth_pause(&s.said, 300);
    for (int n = 0; n < count; n++) {
        synth_say(&s.said, s.script, order[n], 1);
        if (order[n] % VERSE == VERSE - 1)
            synth_pause(&s.said, 450);
    }
    hears(&s);
    for (int n = 0; n < count; n++) {
        struct said said = nth_said(&s, order, n);
        if (n == SECOND + ALIKE)
            hear(&s, SECOND + ALIKE, said.start_ms, said.end_ms, -1);
        else
            hear(&s, order[n], said.start_ms, said.end_ms, said.first);
    }
    assert_int_equal(find(&s, arena, &found), 1);
    assert_int_equal(found[0].kind, MST_WORD_FAULT_JUMP);
    assert_int_equal(found[0].from.verse, s.script->words[SECOND].at.verse);
    assert_int_equal(found[0].taken_for.verse, s.script->words[FIRST].at.verse);
    assert_int_equal(mst_addr_compare(found[0].first, s.script->words[FIRST + ALIKE].at), 0);
    assert_int_equal(mst_addr_compare(found[0].last, s.script->words[SECOND + ALIKE - 1].at), 0);
    clear_scene(&s);
    mst_arena_free(arena);
}

/* At a pause it takes more; behind a stop there is one, even when no silence was heard. */
static void at_a_pause_it_takes_more(void **state)
{
    (void)state;
    struct mst_heard_word words[] = {
        {.started = 1}, {.stopped = 1}, {.word_idx = 2}, {.word_idx = 3}};
    struct mst_timeline tl = {.words = words, .word_count = 4};
    const int twice_takes_more[] = {1, 0, 1, 0}, left_out_takes_more[] = {1, 1, 1, 0};
    for (int i = 0; i < 4; i++) {
        double twice = fault_word_believed_from(&tl, i, MST_WORD_FAULT_TWICE);
        double left_out = fault_word_believed_from(&tl, i, MST_WORD_FAULT_LEFT_OUT);
        assert_int_equal(twice > FAULT_WORD_BELIEVED, twice_takes_more[i]);
        assert_int_equal(left_out > FAULT_WORD_BELIEVED, left_out_takes_more[i]);
    }
}

/* 109:3:4 was not said twice, 77:35:2 and 70:38:2 were (docs/measurements.md). */
static void twice_is_denied_by_either(void **state)
{
    (void)state;
    assert_true(fault_word_agreed(320, -146, MST_WORD_FAULT_TWICE) < FAULT_WORD_BELIEVED);
    assert_true(fault_word_agreed(133, -4, MST_WORD_FAULT_TWICE) == 133);
    assert_true(fault_word_agreed(103, 479, MST_WORD_FAULT_TWICE) == 479);
    assert_true(fault_word_agreed(952, -557, MST_WORD_FAULT_LEFT_OUT) == 952);
}

/* Verses that the text repeats word for word: the refrains of 55 and 77, 109:3 and 109:5; counted
 * by hand in the print: 55 has its refrain 31 times, 77 its refrain 10 times. */
static void verses_alike(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_similar_hit *hits;
    size_t count;
    struct mst_error err;
    struct mst_addr a = {109, 3, 0, 0}, b = {109, 5, 0, 0}, c = {112, 1, 0, 0};
    assert_true(mst_similar_verses(similar, a, b) == 1.0);
    assert_true(mst_similar_verses(similar, a, c) == 0.0);
    assert_int_equal(mst_similar_find(similar, (struct mst_addr){55, 13, 0, 0}, 0.99, arena, &hits,
                                      &count, &err),
                     MST_OK);
    assert_int_equal(count, 30);
    for (size_t i = 0; i < count; i++)
        assert_int_equal(hits[i].at.sura, 55);
    assert_int_equal(
        mst_similar_find(similar, (struct mst_addr){77, 15, 0, 0}, 0.5, arena, &hits, &count, &err),
        MST_OK);
    size_t here = 0;
    for (size_t i = 0; i < count; i++)
        here += hits[i].at.sura == 77 && hits[i].alike == 1.0;
    assert_int_equal(here, 9);
    assert_true(count > 9); /* 83:10 and 52:11 have nearly the same words */
    assert_int_equal(
        mst_similar_find(similar, (struct mst_addr){114, 7, 0, 0}, 0.5, arena, &hits, &count, &err),
        MST_USAGE);
    mst_arena_free(arena);
}

static int open_all(void **state)
{
    struct mst_error err;
    return open_text(state) || mst_similar_open(text, &similar, &err) != MST_OK;
}

static int close_all(void **state)
{
    mst_similar_close(similar);
    return close_text(state);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_where_nothing_is),
        cmocka_unit_test(hidden_faults_are_found),
        cmocka_unit_test(leaps_are_named),
        cmocka_unit_test(again_is_weighed),
        cmocka_unit_test(a_jump_is_named_where_it_was_made),
        cmocka_unit_test(at_a_pause_it_takes_more),
        cmocka_unit_test(twice_is_denied_by_either),
        cmocka_unit_test(verses_alike),
    };
    return cmocka_run_group_tests(tests, open_all, close_all);
}
