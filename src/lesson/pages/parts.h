/* Pieces that handout and slides share. */
#ifndef LESSON_PAGES_PARTS_H
#define LESSON_PAGES_PARTS_H

#include <mistara/pages.h>

/* Everything a piece needs; `failed` is sticky. */
struct setting {
    struct mst_typeset *ts;
    const struct mst_text *text;
    const struct mst_handout *handout;
    struct mst_arena *arena;
    struct mst_leaves *leaves;
    struct mst_page_geometry page;
    double size; /* of plain words; titles and captions follow it */
    int plain;   /* examples without marks */
    int en, ar;
    int failed;
};

double setting_left(const struct setting *s);
double setting_width(const struct setting *s);
/* A new page with its number at the foot, and where what stands over the number ends. */
void page_turn(struct setting *s);
double setting_bottom(const struct setting *s);
/* Both languages side by side (or the one there is); returns where the longer one ends. */
double words_both(struct setting *s, struct mst_span en, struct mst_span ar,
                  enum mst_words_style style, double size, double y);
/* Where words_both would end; nothing is drawn. */
double words_both_end(struct setting *s, struct mst_span en, struct mst_span ar,
                      enum mst_words_style style, double size, double y);
/* A text copied into the arena, and given back; *failed is set when memory ran out on the way. */
struct mst_span text_kept(struct mst_arena *arena, struct mst_string *text, int *failed);
struct mst_span title_of(struct setting *s, enum mst_lang lang);
double heading(struct setting *s, struct mst_span en, struct mst_span ar, double y);
/* The class's line in small print; returns where it ends, y when there is none. */
double class_line(struct setting *s, struct mst_span line, double y);
/* Names and explanation of the rules. */
double explanation(struct setting *s, double y);
/* A row of pictures for every rule that has any; how many rows, and some of them under one
 * another, in a room of this height. Rows too small to be read are left out. */
int mouths_count(const struct setting *s);
double mouths(struct setting *s, int first, int rows, double y, double room);

/* An example laid out on its own, to be put where it fits. */
struct example {
    struct mst_sheet *sheet;
    double top, bottom, left, right; /* of its ink */
    char where[96];
};
MST_MUST_CHECK enum mst_status example_set(struct setting *s, struct mst_range range,
                                           double type_size, double width, struct example *out,
                                           struct mst_error *err);
/* Its ink's top at y, its right edge at the right margin, or in the middle. */
void example_lay(struct setting *s, const struct example *example, double y, int middle);

enum passage_as { PASSAGE_TAUGHT, PASSAGE_KEY };
/* The passage on pages of its own: as taught, or as a key with every mark. */
MST_MUST_CHECK enum mst_status passage_append(struct setting *s, enum passage_as as,
                                              struct mst_error *err);
MST_MUST_CHECK enum mst_status setting_open(struct setting *s, struct mst_error *err);
/* What came of it, when all went well up to here. */
MST_MUST_CHECK enum mst_status setting_close(struct setting *s, enum mst_status status,
                                             struct mst_sheet **out, struct mst_error *err);

#endif
