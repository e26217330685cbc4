/*
 * pen.h – words set in the press's fonts, on a cairo surface or measured for a
 * page that a browser sets: Latin and Arabic mixed, in the order they are read,
 * scripture in the Qurʾan's font. Sizes and places in points.
 */
#ifndef SPEECH_REPORT_PEN_H
#define SPEECH_REPORT_PEN_H

#include <cairo.h>
#include <mistara/press.h>

struct pen;
/* folder NULL: $MISTARA_FONTS, the build's fonts, the installed ones. */
MST_MUST_CHECK enum mst_status pen_open(const char *folder, struct pen **out,
                                        struct mst_error *err);
void pen_close(struct pen *pen); /* accepts NULL */
/* How wide one line of text is. */
double pen_width(struct pen *pen, enum mst_print print, double size, struct mst_span text);
/* Draws it from x on with the baseline at y, in cr's source. right_to_left: of the line as a
 * whole. Returns the width. */
double pen_draw(struct pen *pen, cairo_t *cr, enum mst_print print, double size, double x, double y,
                int right_to_left, struct mst_span text);
/* Did memory run out for a line? Then the page is not whole. */
int pen_failed(const struct pen *pen);
/* The bytes of the scripture's font, for pages that carry it along. */
struct mst_span pen_scripture_font(const struct pen *pen);

#endif
