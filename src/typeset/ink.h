/*
 * The notation's inks. One hue per family, all from the qualitative schemes
 * that Paul Tol designed for readers with any colour vision ("Colour Schemes",
 * SRON technical note SRON/EPS/TN/09-002, issue 3.2, 2021): for paper his
 * vibrant, muted, dark and medium-contrast values, for a dark screen their
 * lighter kin. Hue never stands alone: every family has its own shape.
 */
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
