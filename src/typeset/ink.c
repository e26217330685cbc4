#include "ink.h"

struct ink_pair {
    uint32_t light, dark;
};

static const struct ink_pair inks[INK_COUNT] = {
    [INK_FAMILY + MST_FAMILY_LENGTH] = {0x0077BB, 0x77AADD}, /* vibrant blue; light blue */
    [INK_FAMILY + MST_FAMILY_NASAL] = {0x882255, 0xFFAABB},  /* muted wine; light pink */
    [INK_FAMILY + MST_FAMILY_MERGE] = {0x225555, 0x44BB99},  /* dark cyan; light mint */
    [INK_FAMILY + MST_FAMILY_TURN] = {0xAA4499, 0xCC6677},   /* muted purple; muted rose */
    [INK_FAMILY + MST_FAMILY_HIDE] = {0x332288, 0x99DDFF},   /* muted indigo; light cyan */
    [INK_FAMILY + MST_FAMILY_CLEAR] = {0x666633, 0xBBCC33},  /* dark yellow; light pear */
    [INK_FAMILY + MST_FAMILY_ECHO] = {0xCC3311, 0xEE8866},   /* vibrant red; light orange */
    [INK_FAMILY + MST_FAMILY_WEIGHT] = {0x663333, 0xEEDD88}, /* dark red; light yellow */
    [INK_FAMILY + MST_FAMILY_SILENT] = {0x117733, 0xCCDDAA}, /* muted green; pale green */
    [INK_FAMILY + MST_FAMILY_SEAM] = {0x555555, 0xBBBBBB},   /* dark grey; bright grey */
    [INK_FAMILY + MST_FAMILY_OWN] = {0x994455, 0xEE99AA}, /* medium-contrast dark and light red */
    [INK_TEXT] = {0x000000, 0xECEAE4},
    [INK_SOFT] = {0x555555, 0xA8A8A4},
    [INK_RULE] = {0xB8B2A6, 0x4A4E54},
    [INK_PLAIN] = {0x333333, 0xDDDDDD},
    [INK_PAPER] = {0xFFFFFF, 0x15181C},
    [INK_LIGHT_UP] = {0xFFF1C2, 0x3A3418},
    [INK_WASH] = {0xF0E9DD, 0x2B2F35},
};

uint32_t ink_colour(int ink, enum mst_theme theme)
{
    return theme == MST_THEME_DARK ? inks[ink].dark : inks[ink].light;
}

uint32_t mst_ink_of_family(enum mst_family family, enum mst_theme theme)
{
    return ink_colour(INK_FAMILY + (int)family, theme);
}

uint32_t mst_paper_colour(enum mst_theme theme)
{
    return ink_colour(INK_PAPER, theme);
}
