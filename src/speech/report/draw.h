/* draw.h – the report's figures, on any canvas. */
#ifndef SPEECH_REPORT_DRAW_H
#define SPEECH_REPORT_DRAW_H

#include "canvas.h"
#include "parts.h"
#include "spectrum.h"

/* The quiet inks; a rule has that of its family. */
enum draw_ink {
    DRAW_TEXT = 0x1A1A1A,
    DRAW_SOFT = 0x6B6B66,
    DRAW_HAIR = 0xC9C5BB,
    DRAW_BAND = 0xEFEDE6,
    DRAW_SOUND = 0x7C8894,
    DRAW_EXPECTED = 0x9A978E
};
uint32_t draw_ink_of(enum mst_rule rule);
uint32_t draw_ink_of_length(enum mst_length length);

/* The measure notation's rulers: straight for lengthening, wavy for what is held in the nose,
 * dotted for hiding, a bead for merging, a lozenge for turning. */
enum draw_ruler { RULER_STRAIGHT, RULER_WAVE, RULER_DOTTED, RULER_TIE, RULER_LOZENGE };
enum draw_ruler draw_ruler_of(enum mst_rule rule);
/* From x on, counts × count_width wide, a tick at the end of each count. */
void draw_ruler(struct canvas *c, enum draw_ruler kind, double x, double y, double counts,
                double count_width, double weight, uint32_t colour);

/* Every class as a strip: each site a dot, the middle, the model's middle. */
double draw_strips_height(const struct mst_report *r);
void draw_strips(struct canvas *c, const struct mst_report *r, double x, double y, double width);

/* The take in lines of equal scale. Times are ms into the take. */
struct draw_row {
    double start_ms, end_ms;
    int32_t first_word, end_word; /* in the timeline's words */
    double height;
    int levels; /* one above the other, so that words do not touch */
};
struct draw_rows {
    struct draw_row *rows;
    int32_t count;
    double width, points_per_ms;
    double loudest; /* amplitude that fills the height of the waveform */
    struct spectrum *spectrum;
};
/* Of the width given; rows in the arena, the spectrum to be freed by draw_rows_end. */
MST_MUST_CHECK enum mst_status draw_rows_plan(struct pen *pen, const struct mst_report *r,
                                              double width, struct mst_arena *arena,
                                              struct draw_rows *out, struct mst_error *err);
MST_MUST_CHECK enum mst_status draw_row(struct canvas *c, const struct mst_report *r,
                                        const struct draw_rows *rows, int32_t row, double x,
                                        double y, struct mst_error *err);
void draw_rows_end(struct draw_rows *rows);
/* How the lines are to be read: a measured ruler over an expected one. */
enum { DRAW_KEY_HEIGHT = 26 };
void draw_rows_key(struct canvas *c, const struct mst_report *r, double x, double y, double width);

#endif
