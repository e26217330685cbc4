/*
 * edges.c – by how much the change from one sound to the next is heard late.
 *
 * A frame is heard with its slopes, and the slope of a slope reaches 45 ms to
 * each side: so the change between two sounds looks like something of its own,
 * and goes as a whole to one of them, nearly always to the one before. (Heard
 * without slopes most of the delay goes, and so does much of what makes the
 * path sure; edges sought anew without slopes along the sure path are earlier,
 * but scatter more. Both were tried.) How late each kind of edge comes was read
 * by hand on two voices, which agree; each voice's delays halve the other's
 * errors: docs/measurements.md, "Lengths: the order, and readings by hand".
 */
#include "parts.h"

enum {
    LATE_HARD_TO_VOWEL = 50, /* after stops, hisses and sounds of the throat */
    LATE_SOFT_TO_VOWEL = 30, /* after the others */
    LATE_TO_HOLD = 20,       /* a hold in the nose begins */
    LATE_FROM_HOLD = 25,     /* … and ends, whatever follows */
    LATE_FROM_VOWEL = 10,
    LATE_BETWEEN = 20, /* two consonants: not read by hand, the middle of the others */
    SHORTEST = 10      /* no sound is left with less */
};

static int is_vowel(enum ear_model_id model)
{
    return model >= EAR_MODEL_A;
}

int32_t ear_edge_late_ms(enum ear_model_id before, enum ear_model_id after)
{
    if (before == EAR_MODEL_SILENCE || after == EAR_MODEL_SILENCE)
        return 0;
    if (ear_model_is_nasal_hold(before))
        return LATE_FROM_HOLD;
    if (ear_model_is_nasal_hold(after))
        return LATE_TO_HOLD;
    if (is_vowel(before))
        return LATE_FROM_VOWEL;
    if (!is_vowel(after))
        return LATE_BETWEEN;
    enum ear_broad broad = ear_model_broad(before);
    return broad == EAR_BROAD_STOP || broad == EAR_BROAD_HISS || broad == EAR_BROAD_THROAT
               ? LATE_HARD_TO_VOWEL
               : LATE_SOFT_TO_VOWEL;
}

int32_t ear_edge_earliest_ms(int32_t start_before_ms)
{
    return start_before_ms + SHORTEST;
}
