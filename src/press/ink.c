/*
 * ink.c – the notation's inks. One hue per family, all from the qualitative
 * schemes that Paul Tol designed for readers with any colour vision ("Colour
 * Schemes", SRON technical note SRON/EPS/TN/09-002, issue 3.2, 2021): for paper
 * his vibrant, muted, dark and medium-contrast values, for a dark screen their
 * lighter kin. Hue never stands alone: every family has its own shape.
 */
#include <mistara/press.h>

struct ink_pair {
    uint32_t light, dark;
};

static const struct ink_pair inks[MST_FAMILY_COUNT] = {
    [MST_FAMILY_LENGTH] = {0x0077BB, 0x77AADD}, /* vibrant blue; light blue */
    [MST_FAMILY_NASAL] = {0x882255, 0xFFAABB},  /* muted wine; light pink */
    [MST_FAMILY_MERGE] = {0x225555, 0x44BB99},  /* dark cyan; light mint */
    [MST_FAMILY_TURN] = {0xAA4499, 0xCC6677},   /* muted purple; muted rose */
    [MST_FAMILY_HIDE] = {0x332288, 0x99DDFF},   /* muted indigo; light cyan */
    [MST_FAMILY_CLEAR] = {0x666633, 0xBBCC33},  /* dark yellow; light pear */
    [MST_FAMILY_ECHO] = {0xCC3311, 0xEE8866},   /* vibrant red; light orange */
    [MST_FAMILY_WEIGHT] = {0x663333, 0xEEDD88}, /* dark red; light yellow */
    [MST_FAMILY_SILENT] = {0x117733, 0xCCDDAA}, /* muted green; pale green */
    [MST_FAMILY_SEAM] = {0x555555, 0xBBBBBB},   /* dark grey; bright grey */
    [MST_FAMILY_OWN] = {0x994455, 0xEE99AA},    /* medium-contrast dark and light red */
};

uint32_t mst_ink_of_family(enum mst_family family, enum mst_theme theme)
{
    return theme == MST_THEME_DARK ? inks[family].dark : inks[family].light;
}
