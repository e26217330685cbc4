/*
 * mistara/leaves.h – pages set piece by piece: words, rules, pictures, parts
 * of sheets and whole sheets. What comes out is a sheet without a reading, so
 * that every writer of typeset.h (PDF, pictures, SVG, pixels) takes it.
 *
 * Ownership: the leaves live in the caller's arena and borrow from the
 * mst_typeset and from the sheets laid on them. Units: points, y downwards.
 * Errors: building is sticky; mst_leaves_close says whether memory ran out.
 */
#ifndef MISTARA_LEAVES_H
#define MISTARA_LEAVES_H

#include <mistara/typeset.h>

#ifdef __cplusplus
extern "C" {
#endif

struct mst_leaves;

/* title: that of the file. labels: the language its readers have. */
MST_MUST_CHECK enum mst_status mst_leaves_new(struct mst_typeset *ts, struct mst_page_geometry page,
                                              struct mst_span title, enum mst_sheet_labels labels,
                                              struct mst_arena *arena, struct mst_leaves **out,
                                              struct mst_error *err);
/* Turn to a new, empty page; everything below draws on the latest one. */
void mst_leaves_turn(struct mst_leaves *leaves);
int mst_leaves_count(const struct mst_leaves *leaves);

/* A code, to be typed from paper, is bold and has no ligatures. */
enum mst_words_style { MST_WORDS_PLAIN, MST_WORDS_BOLD, MST_WORDS_ITALIC, MST_WORDS_CODE };
enum mst_words_align { MST_WORDS_LEFT, MST_WORDS_CENTRE, MST_WORDS_RIGHT };
/* A paragraph, or several parted by newlines. */
struct mst_words {
    struct mst_span text; /* any mixture of Latin and Arabic */
    enum mst_words_style style;
    enum mst_words_align align;
    double size;
    double x, y, width; /* the column, and its top */
    double leading;     /* from baseline to baseline in sizes; 0: 1.4 */
    int soft;           /* small print rather than text */
};
/* Both return where the paragraph ends (the top of what may follow). */
double mst_leaf_words(struct mst_leaves *leaves, const struct mst_words *words);
double mst_leaf_words_end(struct mst_leaves *leaves, const struct mst_words *words); /* not drawn */
/* A hairline. */
void mst_leaf_line(struct mst_leaves *leaves, double x0, double y0, double x1, double y1);
/* Plain figures such as the squares of a code to be read by a camera: filled in the ink of text. */
struct mst_leaf_box {
    double x, y, width, height;
};
void mst_leaf_fill(struct mst_leaves *leaves, const struct mst_leaf_box *boxes, size_t count);

/* The notation's inks: that of a family, enum mst_family, or one of these. */
enum mst_leaf_ink {
    MST_LEAF_TEXT = MST_FAMILY_COUNT,
    MST_LEAF_SOFT,
    MST_LEAF_HAIR, /* of mst_leaf_line */
    MST_LEAF_WASH, /* a pale area */
    MST_LEAF_PAPER
};
/* A line drawn through points, x falling or rising: smooth, and nowhere higher or lower than the
 * points beside it (Fritsch & Butland, SIAM J. Sci. Stat. Comput. 5, 1984). */
struct mst_cord {
    const double *x, *y;
    int count;
    double width;
    int dotted;
    int ink;
};
void mst_leaf_cord(struct mst_leaves *leaves, const struct mst_cord *cord);
/* The area between two such lines over the same x. */
void mst_leaf_band(struct mst_leaves *leaves, const double *x, const double *high,
                   const double *low, int count, int ink);
void mst_leaf_stroke(struct mst_leaves *leaves, double x0, double y0, double x1, double y1,
                     double width, int ink);
void mst_leaf_dot(struct mst_leaves *leaves, double x, double y, double radius, int ink);
/* The rule's sign as the key shows it, its middle at x, y; returns its width, 0 when nothing is
 * drawn for this rule. em: that of the scripture it would stand under. */
double mst_leaf_sign(struct mst_leaves *leaves, enum mst_rule rule, double em, double x, double y);

/* One page of a sheet, moved by dx, dy. */
void mst_leaf_lay(struct mst_leaves *leaves, const struct mst_sheet *sheet, int page,
                  unsigned layers, double dx, double dy);
/* Every page of a sheet, each as a page of its own; the pages must be equally large. */
void mst_leaves_append(struct mst_leaves *leaves, const struct mst_sheet *sheet);

MST_MUST_CHECK enum mst_status mst_leaves_close(struct mst_leaves *leaves, struct mst_sheet **out,
                                                struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
