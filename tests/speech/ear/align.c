/* Made-up syllables with known edges: found from the sound alone, the same on any number of
 * threads, repeats and left-out words seen, a closure too short for a stop, pins obeyed, a request
 * to stop heard. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "synth.h"

enum { WORDS = 90, VERSE = 6 };

struct scene {
    struct mst_script *script;
    struct synth said;
    struct mst_features *features;
    struct ear_graph graph;
    struct ear_model model;
    int32_t *path;
};

/* Read everything, with a pause at each verse and now and then inside. */
static void read_all(struct scene *s, double held)
{
    uint64_t seed = 17;
    synth_pause(&s->said, 300);
    for (int w = 0; w < WORDS; w++) {
        synth_say(&s->said, s->script, w, held);
        if (w % VERSE == VERSE - 1)
            synth_pause(&s->said, 400 + 300 * synth_random(&seed));
        else if (w % 11 == 4)
            synth_pause(&s->said, 350);
    }
}

static void set_scene(struct scene *s)
{
    struct mst_error err;
    memset(s, 0, sizeof *s);
    s->script = synth_script(WORDS, VERSE, 2);
    s->said.seed = 9;
    read_all(s, 1);
    s->features = synth_features(&s->said);
    assert_non_null(s->features);
    assert_int_equal(ear_graph_make(&s->graph, s->script, &err), MST_OK);
    s->path = malloc(s->features->frame_count * sizeof *s->path);
}

static void train(struct scene *s, int threads)
{
    struct mst_error err = {0};
    double cost;
    assert_int_equal(ear_start_path(&s->graph, s->features, 0, s->path, &cost, &err), MST_OK);
    struct ear_example example = {s->features, &s->graph, s->path, 0};
    struct ear_training how = {
        .duration_weight = EAR_DURATION_WEIGHT, .beam = EAR_BEAM, .threads = threads, .strays = 1};
    assert_int_equal(ear_self_train(&example, 1, &how, 1, &s->model, &err), MST_OK);
}

static void clear_scene(struct scene *s)
{
    ear_model_clear(&s->model);
    ear_graph_clear(&s->graph);
    mst_features_free(s->features);
    synth_script_free(s->script);
    synth_free(&s->said);
    free(s->path);
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static enum mst_status search(struct scene *s, const struct mst_features *f,
                              const struct ear_search *how, int32_t *path)
{
    struct mst_error err;
    double score;
    return ear_viterbi(&s->graph, &s->model, f, how, path, &score, &err);
}

static void edges_are_found(void **state)
{
    (void)state;
    struct scene s;
    struct ear_search how = {.beam = EAR_BEAM, .extras = 1, .loose_ends = 1, .threads = 1};
    set_scene(&s);
    train(&s, 1);
    assert_int_equal(search(&s, s.features, &how, s.path), MST_OK);
    double *off = malloc((size_t)s.said.sound_count * sizeof *off);
    int n = 0;
    for (size_t t = 0; t < s.features->frame_count;) {
        size_t end = ear_unit_end(&s.graph, s.path, t, s.features->frame_count);
        const struct ear_graph_unit *u = &s.graph.units[s.graph.unit_of[s.path[t]]];
        if (u->form >= 0) {
            assert_true(n < s.said.sound_count);
            assert_int_equal(u->word, s.said.sounds[n].word);
            assert_int_equal(u->model, s.said.sounds[n].model);
            off[n] = fabs(ear_ms_of_frame((int64_t)t) - s.said.sounds[n].start_ms);
            n++;
        }
        t = end;
    }
    assert_int_equal(n, s.said.sound_count);
    qsort(off, (size_t)n, sizeof *off, compare_doubles);
    print_message("%d edges: off by %.0f ms (median), %.0f ms (95 %%)\n", n, off[n / 2],
                  off[n * 95 / 100]);
    assert_true(off[n / 2] <= 15);
    assert_true(off[n * 95 / 100] <= 45);
    free(off);
    clear_scene(&s);
}

static void threads_do_not_matter(void **state)
{
    (void)state;
    struct scene a, b;
    set_scene(&a);
    set_scene(&b);
    train(&a, 1);
    train(&b, 3);
    const struct ear_densities *x = &a.model.densities, *y = &b.model.densities;
    size_t gaussians = (size_t)x->slot_count * EAR_MAX_MIX;
    assert_int_equal(x->slot_count, y->slot_count);
    assert_memory_equal(x->mean, y->mean, gaussians * EAR_DIM * sizeof(float));
    assert_memory_equal(x->var, y->var, gaussians * EAR_DIM * sizeof(float));
    assert_memory_equal(a.model.durations.stay, b.model.durations.stay,
                        (size_t)EAR_CLASS_COUNT * EAR_MAX_AGE * sizeof(float));
    for (int threads = 1; threads <= 3; threads++) {
        struct ear_search how = {
            .beam = EAR_BEAM, .extras = 1, .loose_ends = 1, .threads = threads};
        assert_int_equal(search(&a, a.features, &how, threads == 1 ? a.path : b.path), MST_OK);
        if (threads > 1)
            assert_memory_equal(a.path, b.path, a.features->frame_count * sizeof *a.path);
    }
    clear_scene(&a);
    clear_scene(&b);
}

/* Count how often each word begins on a path. */
static void count_words(const struct scene *s, const struct mst_features *f, const int32_t *path,
                        int counts[WORDS])
{
    memset(counts, 0, WORDS * sizeof *counts);
    for (size_t t = 0; t < f->frame_count;) {
        const struct ear_graph_unit *u = &s->graph.units[s->graph.unit_of[path[t]]];
        if (u->form >= 0 && u->unit == s->script->forms[u->form].first_unit)
            counts[u->word]++;
        t = ear_unit_end(&s->graph, path, t, f->frame_count);
    }
}

/* Words 12–14 are said, then taken up again after a pause; words 30–33 are left out. */
static void repeats_and_gaps_are_seen(void **state)
{
    (void)state;
    struct scene s;
    struct synth said = {.seed = 23};
    struct ear_search how = {.beam = EAR_BEAM, .extras = 1, .loose_ends = 1, .threads = 2};
    int counts[WORDS];
    set_scene(&s);
    train(&s, 2);
    synth_pause(&said, 200);
    for (int w = 0; w < WORDS; w++) {
        if (w >= 30 && w <= 33)
            continue;
        synth_say(&said, s.script, w, 1);
        if (w % VERSE == VERSE - 1 || w == 29)
            synth_pause(&said, 500);
        if (w == 14) {
            synth_pause(&said, 500);
            for (int again = 12; again <= 14; again++)
                synth_say(&said, s.script, again, 1);
        }
    }
    struct mst_features *f = synth_features(&said);
    int32_t *path = malloc(f->frame_count * sizeof *path);
    assert_int_equal(search(&s, f, &how, path), MST_OK);
    count_words(&s, f, path, counts);
    for (int w = 0; w < WORDS; w++)
        assert_int_equal(counts[w], w >= 12 && w <= 14 ? 2 : w >= 30 && w <= 33 ? 0 : 1);
    free(path);
    mst_features_free(f);
    synth_free(&said);
    clear_scene(&s);
}

/* A verse of sixteen words is said twice in the very take that the voice is learned from. */
static void a_verse_said_twice_is_heard_twice(void **state)
{
    (void)state;
    enum { LONG_VERSE = 16 };
    struct scene s;
    struct mst_error err;
    struct ear_search how = {.beam = EAR_BEAM, .extras = 1, .loose_ends = 1, .threads = 2};
    int counts[WORDS];
    memset(&s, 0, sizeof s);
    s.script = synth_script(WORDS, LONG_VERSE, 2);
    s.said.seed = 31;
    synth_pause(&s.said, 300);
    for (int w = 0, again = 0; w < WORDS; w++) {
        synth_say(&s.said, s.script, w, 1);
        if (w % LONG_VERSE == LONG_VERSE - 1 || w == WORDS - 1)
            synth_pause(&s.said, 600);
        if (w == 2 * LONG_VERSE - 1 && !again++)
            w = LONG_VERSE - 1;
    }
    s.features = synth_features(&s.said);
    assert_non_null(s.features);
    assert_int_equal(ear_graph_make(&s.graph, s.script, &err), MST_OK);
    s.path = malloc(s.features->frame_count * sizeof *s.path);
    train(&s, 2);
    assert_int_equal(search(&s, s.features, &how, s.path), MST_OK);
    count_words(&s, s.features, s.path, counts);
    for (int w = 0; w < WORDS; w++)
        assert_int_equal(counts[w], w / LONG_VERSE == 1 ? 2 : 1);
    clear_scene(&s);
}

/* Inside a verse nobody stops for less than a breath; at a verse's end, where files are cut, a
 * pause may be shorter. Frames are states that a path cannot pass over. */
static void a_stop_inside_a_verse_takes_a_breath(void **state)
{
    (void)state;
    struct scene s;
    struct mst_error err;
    int frames[WORDS + 1] = {0};
    memset(&s, 0, sizeof s);
    s.script = synth_script(WORDS, VERSE, 2);
    s.script->words[20].sakt = 1; /* a pause without a breath */
    assert_int_equal(ear_graph_make(&s.graph, s.script, &err), MST_OK);
    for (int32_t i = 0; i < s.graph.state_count; i++) {
        const struct ear_graph_unit *u = &s.graph.units[s.graph.unit_of[i]];
        if (u->form < 0)
            frames[u->word + 1]++;
    }
    assert_int_equal(frames[0] * EAR_FRAME_MS, 100); /* before all */
    for (int w = 0; w < WORDS; w++)
        assert_int_equal(frames[w + 1] * EAR_FRAME_MS,
                         w % VERSE == VERSE - 1 || w == 20 ? 100 : 250);
    clear_scene(&s);
}

/* Nobody holds a consonant or a short vowel for more than a second; what is held by rule may be. */
static void what_is_never_held_lasts_no_second(void **state)
{
    (void)state;
    struct ear_durations d = {0};
    d.classes[MST_LENGTH_SHORT].median_frames = 15;
    static const int never[] = {MST_LENGTH_SHORT, MST_LENGTH_DOUBLED, EAR_CLASS_FIRST_CONSONANT};
    static const int may[] = {MST_LENGTH_LAZIM, MST_LENGTH_GHUNNA, MST_LENGTH_NATURAL,
                              MST_LENGTH_FINAL};
    for (size_t i = 0; i < sizeof never / sizeof *never; i++) {
        assert_false(ear_lasts_like_a_hold(&d, never[i], 75));
        assert_true(ear_lasts_like_a_hold(&d, never[i], 150));
    }
    for (size_t i = 0; i < sizeof may / sizeof *may; i++)
        assert_false(ear_lasts_like_a_hold(&d, may[i], 350));
}

static void pins_are_obeyed(void **state)
{
    (void)state;
    struct scene s;
    set_scene(&s);
    train(&s, 2);
    /* pin the start of word 40 a little beside where it is: the edge goes where the hand says */
    double true_ms = 0;
    for (int i = 0; i < s.said.sound_count && true_ms <= 0; i++)
        if (s.said.sounds[i].word == 40)
            true_ms = s.said.sounds[i].start_ms;
    struct ear_pin_frame pin = {(int64_t)(true_ms / 10) + 6, 40, 0, 0};
    /* clean made-up sound is very sure of its edges: moving one takes a wide beam */
    struct ear_search how = {.beam = 40 * EAR_BEAM, .threads = 2, .pins = &pin, .pin_count = 1};
    assert_int_equal(search(&s, s.features, &how, s.path), MST_OK);
    int32_t before = s.path[pin.frame - 1], at = s.path[pin.frame];
    const struct ear_graph_unit *u = &s.graph.units[s.graph.unit_of[at]];
    assert_int_equal(u->word, 40);
    assert_int_equal(u->unit, s.script->forms[u->form].first_unit);
    assert_int_not_equal(s.graph.unit_of[before], s.graph.unit_of[at]);
    /* two pins in the wrong order cannot both hold */
    struct ear_pin_frame both[2] = {{pin.frame - 100, 41, 0, 0}, {pin.frame, 20, 0, 0}};
    how.pins = both;
    how.pin_count = 2;
    assert_int_equal(search(&s, s.features, &how, s.path), MST_MISMATCH);
    clear_scene(&s);
}

static int stop_half_way(void *user, double done)
{
    *(double *)user = done;
    return done > 0.5;
}

static void a_request_to_stop_is_heard(void **state)
{
    (void)state;
    struct scene s;
    double seen = -1;
    struct mst_error err;
    struct mst_ear_progress progress = {stop_half_way, &seen};
    set_scene(&s);
    train(&s, 1);
    struct ear_search how = {.beam = EAR_BEAM,
                             .threads = 1,
                             .progress = &progress,
                             .progress_from = 0,
                             .progress_to = 1};
    double score;
    assert_int_equal(ear_viterbi(&s.graph, &s.model, s.features, &how, s.path, &score, &err),
                     MST_CANCELLED);
    assert_true(seen > 0.5 && seen < 1);
    clear_scene(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(edges_are_found),
                                       cmocka_unit_test(threads_do_not_matter),
                                       cmocka_unit_test(repeats_and_gaps_are_seen),
                                       cmocka_unit_test(a_verse_said_twice_is_heard_twice),
                                       cmocka_unit_test(a_stop_inside_a_verse_takes_a_breath),
                                       cmocka_unit_test(pins_are_obeyed),
                                       cmocka_unit_test(what_is_never_held_lasts_no_second),
                                       cmocka_unit_test(a_request_to_stop_is_heard)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
