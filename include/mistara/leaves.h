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

enum mst_words_style { MST_WORDS_PLAIN, MST_WORDS_BOLD, MST_WORDS_ITALIC };
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
