/*
 * The sheet inside: a reading's words shaped (word.h), broken into lines
 * (lines.c), marked (marks.c), and composed into pages (page.c).
 */
#ifndef TYPESET_SHEET_H
#define TYPESET_SHEET_H

#include "label.h"
#include "sign.h"
#include "skyline.h"

/* A word, or the medallion that ends a verse, in a line. */
struct line_item {
    int32_t word; /* -1: the medallion of … */
    int32_t sura, verse;
    double x; /* left edge on the page */
    double width;
};

struct line {
    struct line_item *items;
    int item_count;
    struct skyline sky;
    enum mst_fade stage;
    int centred;
    int paragraph;
    int places;                     /* how many letters bear a mark of the lesson's rules */
    int32_t first_mark, mark_count; /* in mst_sheet.marks */
    int page;
    double baseline; /* on the page */
};

/* Lines of one paragraph follow one another; a new paragraph may bring a heading or a gloss. */
struct paragraph {
    int first_line, line_count;
    int32_t first_word, word_count;
    int32_t sura;
    int heading;                  /* a sura begins or is taken up here */
    int32_t verse_from, verse_to; /* for a heading that covers part of a sura */
    int32_t gloss_verse;          /* a gloss of this verse follows, 0 = none */
};

struct mst_sheet {
    struct mst_typeset *ts;
    const struct mst_reading *reading;
    struct mst_sheet_options options; /* with every default filled in */
    struct mst_page_geometry page;
    struct mst_arena *arena;
    const struct mst_font *font;
    double em;
    double text_left, text_right; /* of the lines */
    int gloss;                    /* index of the translation, -1 = none */
    int missing;

    struct word *words;
    struct paragraph *paragraphs;
    int paragraph_count;
    struct line *lines;
    int line_count, line_cap;
    struct mark *marks; /* by line */
    struct mst_mark_box *mark_boxes;
    int32_t mark_count, mark_cap;
    struct mst_letter_box *boxes;
    struct mst_line *credits; /* at the foot of every page */
    int credit_count;
    struct scene *pages;
    int page_count, page_cap;
};

/* Clearance between a mark and any ink, between two marks, and between two lines, in points: the
 * first is never under the 0.3 mm (0.85 pt) that the proof test asks for. */
double sheet_gap_ink(const struct mst_sheet *sheet);
double sheet_gap_marks(const struct mst_sheet *sheet);
double sheet_gap_lines(const struct mst_sheet *sheet);

/* Each returns MST_OK or fills err. */
enum mst_status lines_break(struct mst_sheet *sheet, struct mst_error *err);
enum mst_status marks_place(struct mst_sheet *sheet, struct mst_error *err);
enum mst_status pages_compose(struct mst_sheet *sheet, struct mst_error *err);

/* Whether a site is drawn at all: asked for, and with a sign. Fills what the sign says. */
int sheet_site_mark(const struct mst_sheet *sheet, const struct mst_site *site, struct mark *out);
/* The label of a mark in words. */
void sheet_mark_label(const struct mst_sheet *sheet, const struct mark *mark, enum mst_lang lang,
                      struct mst_string *out);

/* Medallion: width in em, and its strokes centred on x at this baseline. */
double medallion_width(void);
void medallion_profile(struct skyline *sky, double x, double em);
int medallion_draw(struct mst_sheet *sheet, struct scene *scene, int32_t verse, double x,
                   double baseline);

/* The key of the signs on some lines. */
struct key_entry {
    struct mark like;
    int32_t rule; /* -1: a pause sign */
};
struct key {
    struct key_entry *entries;
    int count;
};
int key_collect(const struct mst_sheet *sheet, int first_line, int line_count, struct key *out);
double key_foot_height(const struct mst_sheet *sheet, const struct key *key);
int key_foot_draw(struct mst_sheet *sheet, struct scene *scene, const struct key *key, double top);
/* As many pages of the key as needed. */
enum mst_status key_pages(struct mst_sheet *sheet, const struct key *key, struct mst_error *err);

/* Furniture of a page: header, footer, credits. */
double page_head_height(const struct mst_sheet *sheet, int first_page);
int page_foot_prepare(struct mst_sheet *sheet); /* once, before the others */
double page_foot_height(const struct mst_sheet *sheet);
/* sura: the one the page begins with, named on every page after the first; 0 = none. */
int page_head_draw(struct mst_sheet *sheet, struct scene *s, int first_page, int32_t sura);
int page_foot_draw(struct mst_sheet *sheet, struct scene *scene, int number);
/* Text, and the gloss where there is one: one line. */
void sheet_credits(const struct mst_sheet *sheet, struct mst_string *out);
int sheet_has_language(const struct mst_sheet *sheet, enum mst_lang lang);
struct scene *sheet_add_page(struct mst_sheet *sheet);
double heading_height(const struct mst_sheet *sheet);
int heading_draw(struct mst_sheet *sheet, struct scene *s, const struct paragraph *p, double top);

/* The column beside the lines: rule names (stage 0), or how many (stage 3). */
int margin_draw(struct mst_sheet *sheet, struct scene *s, const struct line *line, double room,
                uint64_t *named);

/* Decimal number in the Arabic-Indic digits of the print. */
struct mst_span arabic_number(int32_t n, char buf[24]);

#endif
