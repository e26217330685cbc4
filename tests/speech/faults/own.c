/* A take's own sounds held against one another: made-up rows of two sorts that lie apart, that lie
 * together, and one that was said as the other. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../../../src/speech/faults/parts.h"
#include "synth.h"

enum { SOUNDS = 240, FRAMES = 6, EXCHANGED = 100 };

struct scene {
    struct mst_features features;
    float *rows;
    struct fault_heard heard;
    struct fault_judge judge;
};

static int is_kaf(int sound)
{
    return sound % 2;
}

/* Sounds in turn, qāf and kāf, `apart` spreads from each other in one coefficient; the one at
 * EXCHANGED says kāf where qāf should be. */
static void set_scene(struct scene *s, double apart)
{
    uint64_t seed = 11;
    struct mst_error err;
    memset(s, 0, sizeof *s);
    s->rows = calloc((size_t)EAR_CHUNK_FRAMES * EAR_ROW, sizeof *s->rows);
    s->features.chunks = &s->rows;
    s->features.chunk_count = 1;
    s->features.frame_count = (size_t)SOUNDS * FRAMES;
    s->heard.units = calloc(SOUNDS, sizeof *s->heard.units);
    s->heard.count = SOUNDS;
    for (int i = 0; i < SOUNDS; i++) {
        s->heard.units[i] = (struct fault_unit){
            .unit = {.model = is_kaf(i) ? EAR_MODEL_KAF : EAR_MODEL_QAF, .cls = MST_LENGTH_NONE},
            .sound = i,
            .start_fr = i * FRAMES,
            .end_fr = (i + 1) * FRAMES};
        double middle = is_kaf(i) || i == EXCHANGED ? apart : 0;
        for (int k = 0; k < EAR_CEPSTRA; k++) {
            double own = 0; /* of this sound: near normal, spread 1 */
            for (int n = 0; n < 12; n++)
                own += synth_random(&seed);
            for (int t = 0; t < FRAMES; t++)
                s->rows[(i * FRAMES + t) * EAR_ROW + k] =
                    (float)(own - 6 + (k == 2 ? middle : 0) + 0.2 * synth_random(&seed));
        }
    }
    s->judge.f = &s->features;
    assert_int_equal(ear_densities_make(&s->judge.model.densities, EAR_PDF_COUNT, &err), MST_OK);
    for (int pdf = 0; pdf < EAR_PDF_COUNT; pdf++) { /* a voice that knows nothing */
        s->judge.model.densities.slot_of[pdf] = (int16_t)pdf;
        s->judge.model.densities.mix_of[pdf] = 1;
        s->judge.model.densities.weight[pdf * EAR_MAX_MIX] = 1;
    }
}

static void clear_scene(struct scene *s)
{
    ear_densities_clear(&s->judge.model.densities);
    free(s->heard.units);
    free(s->rows);
}

static enum fault_own_answer compare(const struct fault_own *own, int sound, double *evidence,
                                     double *apart)
{
    struct fault_contrast c = {.right_count = 1, .wrong_count = 1, .first_unit = sound};
    c.right[0].model = is_kaf(sound) ? EAR_MODEL_KAF : EAR_MODEL_QAF;
    c.wrong[0].model = is_kaf(sound) ? EAR_MODEL_QAF : EAR_MODEL_KAF;
    c.right[0].cls = c.wrong[0].cls = MST_LENGTH_NONE;
    return fault_own_compare(own, &c, evidence, apart);
}

static void the_exchanged_one_stands_out(void **state)
{
    (void)state;
    struct scene s;
    struct fault_own *own;
    struct mst_error err;
    double evidence, apart;
    int wrong = 0;
    set_scene(&s, 8);
    assert_int_equal(fault_own_make(&own, &s.heard, &s.judge, &err), MST_OK);
    for (int i = 0; i < SOUNDS; i++) {
        assert_int_equal(compare(own, i, &evidence, &apart), FAULT_OWN_COMPARED);
        assert_true(apart > 4);
        if (i == EXCHANGED)
            assert_true(evidence > 5);
        else
            wrong += evidence > 0;
    }
    assert_true(wrong <= 2);
    fault_own_free(own);
    clear_scene(&s);
}

static void what_is_not_parted_cannot_be_told(void **state)
{
    (void)state;
    struct scene s;
    struct fault_own *own;
    struct mst_error err;
    double evidence, apart;
    set_scene(&s, 0);
    assert_int_equal(fault_own_make(&own, &s.heard, &s.judge, &err), MST_OK);
    for (int i = 0; i < SOUNDS; i++) {
        assert_int_equal(compare(own, i, &evidence, &apart), FAULT_OWN_COMPARED);
        assert_true(apart < 2.2 && evidence < 5);
    }
    fault_own_free(own);
    clear_scene(&s);
}

/* A take of a few words says so, instead of judging by what it does not hold. */
static void a_short_take_is_not_compared(void **state)
{
    (void)state;
    struct scene s;
    struct fault_own *own;
    struct mst_error err;
    double evidence, apart;
    set_scene(&s, 8);
    s.heard.count = 60;
    assert_int_equal(fault_own_make(&own, &s.heard, &s.judge, &err), MST_OK);
    assert_int_equal(compare(own, 10, &evidence, &apart), FAULT_OWN_SHORT);
    assert_true(apart <= 0 && evidence <= 0);
    fault_own_free(own);
    clear_scene(&s);
}

/* A row of two sounds for one is not compared, nor a vowel with a consonant. */
static void only_like_with_like(void **state)
{
    (void)state;
    struct scene s;
    struct fault_own *own;
    struct mst_error err;
    double evidence, apart;
    set_scene(&s, 8);
    assert_int_equal(fault_own_make(&own, &s.heard, &s.judge, &err), MST_OK);
    struct fault_contrast c = {.right_count = 1, .wrong_count = 2};
    assert_int_equal(fault_own_compare(own, &c, &evidence, &apart), FAULT_OWN_UNLIKE);
    c.wrong_count = 1;
    c.right[0].model = EAR_MODEL_QAF;
    c.wrong[0].model = EAR_MODEL_A;
    assert_int_equal(fault_own_compare(own, &c, &evidence, &apart), FAULT_OWN_UNLIKE);
    assert_true(apart <= 0);
    fault_own_free(own);
    clear_scene(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_exchanged_one_stands_out),
        cmocka_unit_test(what_is_not_parted_cannot_be_told),
        cmocka_unit_test(a_short_take_is_not_compared),
        cmocka_unit_test(only_like_with_like),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
