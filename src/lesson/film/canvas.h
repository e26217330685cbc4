/*
 * canvas.h – the picture of a film that changes little by little. A page of
 * the sheet is drawn twice, plain and with every letter lit; from then on
 * pieces of one are laid over the other, and only those are turned into what
 * the encoder takes.
 */
#ifndef LESSON_FILM_CANVAS_H
#define LESSON_FILM_CANVAS_H

#include <mistara/typeset.h>

enum { CANVAS_WIDTH = 1920, CANVAS_HEIGHT = 1080, CANVAS_PIECES = 64 };

/* In pixels; right and bottom exclusive. */
struct piece {
    int left, top, right, bottom;
};
struct canvas {
    enum mst_theme theme;
    double scale;                  /* pixels a point */
    const struct mst_sheet *sheet; /* what is drawn; NULL = nothing yet */
    int page;
    uint32_t *plain, *lit, *shown;
    uint8_t *planes; /* Y, Cb, Cr (4:2:0, ITU-R BT.709, narrow range) of what is shown */
    size_t plane_bytes;
    struct piece laid[CANVAS_PIECES]; /* what differs from plain at present */
    int laid_count;
};

MST_MUST_CHECK enum mst_status canvas_open(struct canvas *c, double page_width,
                                           enum mst_theme theme, struct mst_error *err);
void canvas_close(struct canvas *c);

/* Turn to a page (nothing where it is there already) and take every light away. */
MST_MUST_CHECK enum mst_status canvas_clear(struct canvas *c, const struct mst_sheet *sheet,
                                            int page, struct mst_error *err);
/* Light a letter as the sheet does; letters of other pages are passed over. */
void canvas_light(struct canvas *c, const struct mst_letter_box *boxes, size_t box_count,
                  int32_t letter);
/* Lay a wash of an ink (0xRRGGBB) over a mark. */
void canvas_wash(struct canvas *c, const struct mst_mark_box *mark, uint32_t ink);

#endif
