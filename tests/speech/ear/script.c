/* The forms of every word against readings made with just these stops: no way of saying a word is
 * lost, none is added. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "synth.h"

static struct mst_text *text;

static struct mst_script *script_of(const char *passage, int istiadha)
{
    struct mst_range range;
    struct mst_script *s = NULL;
    struct mst_error err;
    struct mst_reading_options options = {.istiadha = istiadha};
    assert_int_equal(mst_range_parse(text, mst_span_of(passage), &range, &err), MST_OK);
    assert_int_equal(mst_script_new(text, range, &options, &s, &err), MST_OK);
    return s;
}

/* A reading that stops before and after the word as the mask says; its sounds must be the form's.
 */
static void check_form(const struct mst_script *s, int32_t word, enum ear_form_mask mask)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_addr stops[2];
    struct mst_reading_options options = s->options;
    struct mst_reading *r = NULL;
    struct mst_error err;
    int started = mask == EAR_STARTED_GOING || mask == EAR_STARTED_STOPPING;
    int stopping = mask == EAR_JOINED_STOPPING || mask == EAR_STARTED_STOPPING;
    size_t count = 0;
    if (started && word > 0)
        stops[count++] = s->words[word - 1].at;
    if (stopping)
        stops[count++] = s->words[word].at;
    options.stops = MST_STOPS_LIST;
    options.stop_list = stops;
    options.stop_count = count;
    assert_int_equal(mst_reading_new(s->text, s->range, &options, arena, &r, &err), MST_OK);
    assert_int_equal(r->word_count, s->word_count);
    int32_t form = ear_script_form(s, word, mask);
    assert_true(form >= 0);
    const struct ear_form *f = &s->forms[form];
    assert_int_equal(f->unit_count, r->words[word].sound_count);
    for (int32_t i = 0; i < f->unit_count; i++) {
        const struct mst_sound *sound = &r->sounds[r->words[word].first_sound + i];
        const struct ear_unit *u = &s->units[f->first_unit + i];
        assert_int_equal(u->phone, sound->phone);
        assert_true(u->model > EAR_MODEL_SILENCE && u->model < EAR_MODEL_COUNT);
        assert_true(u->cls < EAR_CLASS_COUNT && u->weight > 0);
    }
    mst_arena_free(arena);
}

static void forms_are_those_of_readings(void **state)
{
    (void)state;
    const char *const passages[] = {"67:1-6", "112", "78:31-40", "75:26-28", "18:1-2"};
    for (size_t p = 0; p < sizeof passages / sizeof *passages; p++) {
        struct mst_script *s = script_of(passages[p], 0);
        for (int32_t w = 0; w < s->word_count; w++) {
            int first = w == 0, last = w + 1 == s->word_count;
            int masks = 0;
            for (int32_t f = 0; f < s->words[w].form_count; f++)
                masks |= s->forms[s->words[w].first_form + f].mask;
            assert_int_equal(masks, (first || last ? 0 : EAR_JOINED_GOING) |
                                        (first ? 0 : EAR_JOINED_STOPPING) |
                                        (last ? 0 : EAR_STARTED_GOING) | EAR_STARTED_STOPPING);
            for (int bit = 1; bit <= 8; bit *= 2)
                if (masks & bit)
                    check_form(s, w, (enum ear_form_mask)bit);
        }
        mst_script_free(s);
    }
}

static void opening_words_are_optional(void **state)
{
    (void)state;
    struct mst_script *s =
        script_of("67:1-2", 0); /* whether refuge was sought is heard, not told */
    int refuge = 0, basmala = 0;
    for (int32_t w = 0; w < s->word_count; w++) {
        refuge += s->words[w].at.sura == 0;
        basmala += s->words[w].at.sura == 67 && s->words[w].at.verse == 0;
        assert_int_equal(s->words[w].optional, s->words[w].at.verse == 0);
    }
    assert_int_equal(refuge, 5);
    assert_int_equal(basmala, 4);
    assert_int_equal(mst_script_word_count(s), s->word_count);
    mst_script_free(s);
    s = script_of("1:1", 0); /* here the basmala is the verse itself */
    for (int32_t w = 0; w < s->word_count; w++)
        assert_int_equal(s->words[w].optional, s->words[w].at.sura == 0);
    mst_script_free(s);
}

/* The whole text can be laid out as a graph whose every state can be reached. */
static void graphs_are_whole(void **state)
{
    (void)state;
    const char *const passages[] = {"67", "112-114", "19:1-6"};
    for (size_t p = 0; p < sizeof passages / sizeof *passages; p++) {
        struct mst_script *s = script_of(passages[p], 0);
        struct ear_graph g;
        struct mst_error err;
        assert_int_equal(ear_graph_make(&g, s, &err), MST_OK);
        uint8_t *seen = calloc((size_t)g.state_count, 1);
        int32_t *stack = malloc((size_t)g.state_count * sizeof *stack), depth = 0, count = 0;
        for (int32_t i = 0; i < g.strict_start_count; i++)
            if (!seen[g.starts[i].to]) {
                seen[g.starts[i].to] = 1;
                stack[depth++] = g.starts[i].to;
            }
        while (depth > 0) {
            int32_t at = stack[--depth];
            count++;
            for (int32_t a = g.arc_first[at]; a < g.arc_first[at + 1]; a++)
                if (!seen[g.arcs[a].to]) {
                    seen[g.arcs[a].to] = 1;
                    stack[depth++] = g.arcs[a].to;
                }
        }
        assert_int_equal(count, g.state_count);
        free(seen);
        free(stack);
        ear_graph_clear(&g);
        mst_script_free(s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(forms_are_those_of_readings),
                                       cmocka_unit_test(opening_words_are_optional),
                                       cmocka_unit_test(graphs_are_whole)};
    struct mst_error err;
    if (mst_text_open(NULL, &text, &err)) {
        fprintf(stderr, "%s\n", err.message);
        return 1;
    }
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    mst_text_close(text);
    return failed;
}
