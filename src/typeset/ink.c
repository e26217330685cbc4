#include "ink.h"

struct ink_pair {
    uint32_t light, dark;
};

/* From INK_TEXT on. */
static const struct ink_pair inks[INK_COUNT - INK_TEXT] = {
    [INK_TEXT - INK_TEXT] = {0x000000, 0xECEAE4},  [INK_SOFT - INK_TEXT] = {0x555555, 0xA8A8A4},
    [INK_RULE - INK_TEXT] = {0xB8B2A6, 0x4A4E54},  [INK_PLAIN - INK_TEXT] = {0x333333, 0xDDDDDD},
    [INK_PAPER - INK_TEXT] = {0xFFFFFF, 0x15181C}, [INK_LIGHT_UP - INK_TEXT] = {0xFFF1C2, 0x3A3418},
    [INK_WASH - INK_TEXT] = {0xF0E9DD, 0x2B2F35},
};

uint32_t ink_colour(int ink, enum mst_theme theme)
{
    if (ink < INK_TEXT)
        return mst_ink_of_family((enum mst_family)(ink - INK_FAMILY), theme);
    const struct ink_pair *pair = &inks[ink - INK_TEXT];
    return theme == MST_THEME_DARK ? pair->dark : pair->light;
}

uint32_t mst_paper_colour(enum mst_theme theme)
{
    return ink_colour(INK_PAPER, theme);
}
