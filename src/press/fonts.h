/* fonts.h – the opened fonts, seen from inside the press. */
#ifndef PRESS_FONTS_H
#define PRESS_FONTS_H

#include <hb.h>
#include <mistara/press.h>

struct freetype; /* shared by the faces, see fonts.c */

struct mst_fonts {
    struct mst_font fonts[MST_FONT_ROLES];
    struct freetype *freetype;
    hb_buffer_t *buffer; /* reused for every line */
};

#endif
