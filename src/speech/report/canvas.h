/*
 * canvas.h – strokes, words and pictures, drawn once and shown twice: on a
 * cairo surface for paper, or as SVG for a page in the browser. Points, y
 * downwards. Colours are 0xRRGGBB.
 */
#ifndef SPEECH_REPORT_CANVAS_H
#define SPEECH_REPORT_CANVAS_H

#include "pen.h"

struct canvas {
    struct pen *pen;
    cairo_t *cr;            /* paper, or … */
    struct mst_string *svg; /* … the browser */
};

enum canvas_anchor { ANCHOR_START, ANCHOR_MIDDLE, ANCHOR_END };

struct canvas_point {
    double x, y;
};

/* dash: length of dashes and gaps, 0 = whole. */
void canvas_line(struct canvas *c, double x0, double y0, double x1, double y1, double width,
                 double dash, uint32_t colour);
void canvas_path(struct canvas *c, const struct canvas_point *points, size_t count, double width,
                 double dash, uint32_t colour);
void canvas_fill(struct canvas *c, const struct canvas_point *points, size_t count, double opacity,
                 uint32_t colour);
void canvas_box(struct canvas *c, double x, double y, double width, double height, double opacity,
                uint32_t colour);
void canvas_dot(struct canvas *c, double x, double y, double radius, int filled, double opacity,
                uint32_t colour);
/* One line; right_to_left for the line as a whole. */
void canvas_words(struct canvas *c, double x, double y, enum mst_print print, double size,
                  enum canvas_anchor anchor, uint32_t colour, int right_to_left,
                  struct mst_span words);
/* Grey levels, 255 = white, row by row from the top. */
MST_MUST_CHECK enum mst_status canvas_picture(struct canvas *c, double x, double y, double width,
                                              double height, const uint8_t *grey, int columns,
                                              int rows, struct mst_error *err);
void canvas_base64(struct mst_string *out, const unsigned char *bytes, size_t len);
/* What follows belongs together and says this when pointed at; in the browser only. */
void canvas_group(struct canvas *c, const char *kind, struct mst_span title);
void canvas_group_end(struct canvas *c);

#endif
