/* Edges come late by their kind. What two voices showed (medians of the edges that were read by
 * hand, bench/ear/hand.c; docs/measurements.md) is within 10 ms of what is taken off. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>

#include <cmocka.h>

#include "synth.h"

static void what_is_taken_off_is_what_was_read(void **state)
{
    static const struct {
        enum ear_model_id before, after;
        int32_t voice_a, voice_b; /* ms */
    } read[] = {
        {EAR_MODEL_BA, EAR_MODEL_AA, 54, 50},         {EAR_MODEL_FA, EAR_MODEL_AA, 54, 50},
        {EAR_MODEL_HA, EAR_MODEL_AA, 54, 50},         {EAR_MODEL_NUN, EAR_MODEL_AA, 29, 31},
        {EAR_MODEL_LAM, EAR_MODEL_AA, 29, 31},        {EAR_MODEL_AA, EAR_MODEL_LAM, 10, 10},
        {EAR_MODEL_I, EAR_MODEL_NUN_HELD, 22, 19},    {EAR_MODEL_A, EAR_MODEL_NUN_HIDDEN, 22, 19},
        {EAR_MODEL_MIM_HELD, EAR_MODEL_AA, 27, 23},   {EAR_MODEL_NUN_HELD, EAR_MODEL_A, 27, 23},
        {EAR_MODEL_NUN_HIDDEN, EAR_MODEL_SIN, 27, 23}};
    (void)state;
    for (size_t i = 0; i < sizeof read / sizeof *read; i++) {
        int32_t late = ear_edge_late_ms(read[i].before, read[i].after);
        assert_in_range(abs(late - read[i].voice_a), 0, 10);
        assert_in_range(abs(late - read[i].voice_b), 0, 10);
    }
}

static void edges_at_pauses_stay(void **state)
{
    (void)state;
    for (int m = 0; m < EAR_MODEL_COUNT; m++) {
        assert_int_equal(ear_edge_late_ms(EAR_MODEL_SILENCE, (enum ear_model_id)m), 0);
        assert_int_equal(ear_edge_late_ms((enum ear_model_id)m, EAR_MODEL_SILENCE), 0);
    }
}

/* Whatever follows whatever, no sound loses more than its edge may take, and every sound keeps
 * some of its length. */
static void no_sound_is_lost(void **state)
{
    (void)state;
    for (int a = 1; a < EAR_MODEL_COUNT; a++)
        for (int b = 1; b < EAR_MODEL_COUNT; b++)
            assert_in_range(ear_edge_late_ms((enum ear_model_id)a, (enum ear_model_id)b), 1, 60);
    assert_true(ear_edge_earliest_ms(1000) > 1000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(what_is_taken_off_is_what_was_read),
                                       cmocka_unit_test(edges_at_pauses_stay),
                                       cmocka_unit_test(no_sound_is_lost)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
