/* ink.h – what a page is drawn in: the families' inks (press.h), and those of all else on it. */
#ifndef TYPESET_INK_H
#define TYPESET_INK_H

#include <mistara/typeset.h>

enum ink {
    INK_FAMILY,                  /* INK_FAMILY + family */
    INK_TEXT = MST_FAMILY_COUNT, /* scripture, titles */
    INK_SOFT,                    /* small print, medallions */
    INK_RULE,                    /* hairlines of heading and footer */
    INK_PLAIN,                   /* marks that do not tell their family; stops */
    INK_PAPER,
    INK_LIGHT_UP, /* behind the letters being recited */
    INK_WASH,     /* tongue and lips on an articulation card */
    INK_COUNT
};

uint32_t ink_colour(int ink, enum mst_theme theme);

#endif
