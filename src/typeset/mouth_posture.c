/*
 * How the mouth stands for each letter: the numbers behind the drawing of what
 * the engine's table says in words (mst_articulation). The manner of each is
 * that of the IPA symbol by which the engine names the phone (International
 * Phonetic Association, Handbook, 1999: stop, fricative, lateral, nasal,
 * approximant, tap), save ḍād, drawn as the books of recitation describe it:
 * the side of the tongue at the molars.
 */
#include "mouth.h"

#define TONGUE(u, place, opening)                                                                  \
    {                                                                                              \
        {                                                                                          \
            u, MST_AT_##place, opening                                                             \
        }                                                                                          \
    }
#define MADE(maker_, manner_)  .maker = MST_MAKER_##maker_, .manner = MST_MANNER_##manner_
#define FREE                   .mouth = 1, .glottis = MST_GLOTTIS_OPEN
#define ONE(u, place, opening) .touches = TONGUE(u, place, opening), .touch_count = 1

enum { HEAVY = 7, BACK = 4 };

static const struct {
    uint32_t letter;
    struct mst_posture posture;
} postures[] = {
    {0x627, {MADE(NONE, OPEN), .jaw = 4, FREE}},
    {0x621, {MADE(GLOTTIS, CLOSED), .jaw = 2, .mouth = 1, .glottis = MST_GLOTTIS_CLOSED}},
    {0x647, {MADE(GLOTTIS, NARROW), .jaw = 2, .mouth = 1, .glottis = MST_GLOTTIS_NARROW}},
    {0x639, {ONE(0.9, THROAT, 5.8), MADE(ROOT, NARROW), .jaw = 2, FREE}},
    {0x62D, {ONE(0.9, THROAT, 5.8), MADE(ROOT, NARROW), .jaw = 2, FREE}},
    {0x63A, {ONE(0.66, UVULA, 1.3), MADE(TONGUE, NARROW), .jaw = 2, FREE}},
    {0x62E, {ONE(0.66, UVULA, 1.3), MADE(TONGUE, NARROW), .jaw = 2, FREE}},
    {0x642, {ONE(0.64, UVULA, 0), MADE(TONGUE, CLOSED), .jaw = 2, FREE}},
    {0x643, {ONE(0.55, VEIL, 0), MADE(TONGUE, CLOSED), .jaw = 1, FREE}},
    {0x62C, {ONE(0.3, PALATE, 0), MADE(TONGUE, CLOSED), .jaw = 0.5, FREE}},
    {0x634, {ONE(0.26, PALATE, 1.3), MADE(TONGUE, NARROW), .jaw = 0.5, FREE}},
    {0x64A, {ONE(0.32, PALATE, 3), MADE(TONGUE, NARROW), .jaw = 1, FREE}},
    {0x636, {ONE(0.34, PALATE, 3.5), MADE(TONGUE, SIDES), .jaw = 1, .back_up = HEAVY, FREE}},
    {0x644, {ONE(0.01, GUMS, 0), MADE(TONGUE, SIDES), .jaw = 1, FREE}},
    {0x646,
     {ONE(0.01, GUMS, 0), MADE(TONGUE, CLOSED), .jaw = 1, .nose = 1, .glottis = MST_GLOTTIS_OPEN}},
    {0x631, {ONE(0.01, RIDGE, 0.8), MADE(TONGUE, NARROW), .jaw = 1.5, .back_up = BACK / 2.0, FREE}},
    {0x637, {ONE(0.01, TEETH_ROOT, 0), MADE(TONGUE, CLOSED), .jaw = 1, .back_up = HEAVY, FREE}},
    {0x62F, {ONE(0.01, TEETH_ROOT, 0), MADE(TONGUE, CLOSED), .jaw = 0.5, FREE}},
    {0x62A, {ONE(0.01, TEETH_ROOT, 0), MADE(TONGUE, CLOSED), .jaw = 0.5, FREE}},
    {0x635, {ONE(0.1, GUMS, 1.1), MADE(TONGUE, NARROW), .tip_down = 1, .back_up = HEAVY, FREE}},
    {0x633, {ONE(0.1, GUMS, 1.0), MADE(TONGUE, NARROW), .tip_down = 1, FREE}},
    {0x632, {ONE(0.1, GUMS, 1.0), MADE(TONGUE, NARROW), .tip_down = 1, FREE}},
    {0x638, {ONE(0.02, TEETH_EDGE, 0.8), MADE(TONGUE, NARROW), .jaw = 3, .back_up = HEAVY, FREE}},
    {0x630, {ONE(0.02, TEETH_EDGE, 0.8), MADE(TONGUE, NARROW), .jaw = 3, FREE}},
    {0x62B, {ONE(0.02, TEETH_EDGE, 0.8), MADE(TONGUE, NARROW), .jaw = 3, FREE}},
    {0x641, {MADE(LIPS, NARROW), .lips = MST_LIPS_TEETH, FREE}},
    {0x628, {MADE(LIPS, CLOSED), .lips = MST_LIPS_CLOSED, FREE}},
    {0x645, {MADE(LIPS, CLOSED), .lips = MST_LIPS_CLOSED, .nose = 1}},
    {0x648, {ONE(0.58, VEIL, 6), MADE(LIPS, NARROW), .jaw = 1, .lips = MST_LIPS_ROUNDED, FREE}},
};

int mst_posture_of_letter(uint32_t letter, struct mst_posture *out)
{
    const struct mst_articulation *a = mst_articulation_of(letter);
    for (size_t i = 0; a && i < sizeof postures / sizeof *postures; i++)
        if (postures[i].letter == a->letter) {
            *out = postures[i].posture;
            return 1;
        }
    return 0;
}
