/*
 * mistara/typeset.h – the sheet: a reading becomes pages of scripture with the
 * measure notation (docs/notation.md) drawn under and over the lines, for
 * paper, slides, screen and film frames from one layout. It knows no rule of
 * recitation: it draws the sites a reading brings. Scripture is drawn as
 * printed, black, never broken inside a word.
 *
 * Ownership: a sheet and everything in it live in the caller's arena and
 * borrow from the reading (with its text) and the mst_typeset, which must
 * outlive it. Writers fill a caller's mst_string or write a whole file.
 * Threads: an mst_typeset and the sheets made with it belong to one thread at
 * a time. Units: points (1/72 inch), y downwards, origin at the page's top
 * left; em = the type size.
 */
#ifndef MISTARA_TYPESET_H
#define MISTARA_TYPESET_H

#include <mistara/press.h>
#include <mistara/tajweed.h>

#ifdef __cplusplus
extern "C" {
#endif

struct mst_typeset; /* the opened fonts */
struct mst_sheet;

/* font_dir NULL: $MISTARA_FONTS, then the build's fonts, then the installed ones. */
MST_MUST_CHECK enum mst_status mst_typeset_open(const char *font_dir, struct mst_typeset **out,
                                                struct mst_error *err);
void mst_typeset_close(struct mst_typeset *ts); /* accepts NULL */

enum mst_sheet_font { MST_SHEET_AMIRI_QURAN, MST_SHEET_SCHEHERAZADE };
enum mst_sheet_labels { MST_LABELS_BOTH, MST_LABELS_EN, MST_LABELS_AR };
enum mst_sheet_key {
    MST_KEY_AUTO, /* at the foot of the page where it is short and the sheet does not fade, else on
                     a page of its own */
    MST_KEY_FOOT,
    MST_KEY_PAGE,
    MST_KEY_NONE
};

/* How much the marks tell (docs/notation.md, "Fading"). */
enum mst_fade {
    MST_FADE_NAMES, /* marks, and the rules' names in the margin */
    MST_FADE_MARKS, /* marks */
    MST_FADE_WHERE, /* a dot: where, not what */
    MST_FADE_COUNT, /* a number in the margin: how many in the line */
    MST_FADE_NOTHING,
    MST_FADE_STAGES
};

/* The page; everything in points. Sides are those of the reader. */
struct mst_page_geometry {
    double width, height;
    double top, right, bottom, left; /* margins round everything but header and footer */
    double names;                    /* width of the column for rule names, on the left; 0 = none */
    double type_size;                /* the scripture's em */
    double label_size;
};
struct mst_page_geometry mst_page_a4(void);
struct mst_page_geometry mst_page_letter(void);
struct mst_page_geometry mst_page_slide(void); /* 16:9, 960 × 540 */
/* "a4", "letter", "slide". */
MST_MUST_CHECK enum mst_status mst_page_parse(struct mst_span s, struct mst_page_geometry *out,
                                              struct mst_error *err);

/* Zeroed = A4, Amiri Quran, the default rules, stage 0, both languages, key where it fits. */
struct mst_sheet_options {
    struct mst_page_geometry page; /* width 0: A4 */
    double type_size;              /* 0: the page's own */
    enum mst_sheet_font font;
    struct mst_rule_set rules;  /* only these are drawn; empty: mst_sheet_default_rules() */
    int no_stops;               /* leave out the signs for pausing and stopping */
    enum mst_fade stage;        /* for every line … */
    int fade_evenly;            /* … or from 0 to 4 over the sheet's lines … */
    const uint8_t *line_stages; /* … or line by line; lines beyond the list take the last */
    size_t line_stage_count;
    struct mst_span title, class_line; /* UTF-8, any direction; may be empty */
    struct mst_span gloss; /* code of a translation set under each verse: "translit", "en" */
    enum mst_sheet_labels labels;
    enum mst_sheet_key key;
    int pages_before; /* where the sheet is a part of something: its page numbers go on from there
                       */
};

/* Everything that is not plain from the letters: without clear letters, the article's lām, natural
 * lengthening, heavy letters, joining hamzas and how words end at a stop. */
struct mst_rule_set mst_sheet_default_rules(void);

/*
 * Lay the sheet out. USAGE when the type is too large for the page, or the
 * gloss has no such code.
 */
MST_MUST_CHECK enum mst_status mst_sheet_new(struct mst_typeset *ts,
                                             const struct mst_reading *reading,
                                             const struct mst_sheet_options *options,
                                             struct mst_arena *arena, struct mst_sheet **out,
                                             struct mst_error *err);

int mst_sheet_page_count(const struct mst_sheet *sheet);
/* How many lines of scripture: what line_stages counts. */
int mst_sheet_line_count(const struct mst_sheet *sheet);
/* Glyphs the font did not have; 0 for the whole text in both fonts. */
int mst_sheet_missing_glyphs(const struct mst_sheet *sheet);

/* A letter where it stands. Boxes are ink boxes of the letter with its marks. */
struct mst_letter_box {
    int32_t letter;             /* in mst_reading.letters */
    int page, line;             /* both from 0; the line counts through the sheet */
    double x, y, width, height; /* ink */
    double left, right;         /* its share of the line's width, without overhang */
    double baseline;
};
/* In order of letters. */
const struct mst_letter_box *mst_sheet_boxes(const struct mst_sheet *sheet, size_t *count);

/* A mark where it stands. Ties that go on in the next line are two marks. */
struct mst_mark_box {
    int32_t site; /* in mst_reading.sites; -1: a pause sign of the print */
    int page, line;
    double x, y, width, height; /* everything it draws, strokes included */
    double anchor_x;            /* the point that belongs to the trigger */
};
const struct mst_mark_box *mst_sheet_marks(const struct mst_sheet *sheet, size_t *count);

/* What a picture shows, for checks and for films that bring their marks in later. */
enum mst_layer {
    MST_LAYER_PAPER = 1,
    MST_LAYER_SCRIPTURE = 2,
    MST_LAYER_MARKS = 4,
    MST_LAYER_FURNITURE = 8,
    MST_LAYER_ALL = 15
};

/* PDF of all pages, fonts embedded, language and title set. */
MST_MUST_CHECK enum mst_status mst_sheet_pdf(const struct mst_sheet *sheet, struct mst_string *out,
                                             struct mst_error *err);
/* One page as a picture; dpi 72 = a pixel a point. */
MST_MUST_CHECK enum mst_status mst_sheet_png(const struct mst_sheet *sheet, int page, double dpi,
                                             enum mst_theme theme, struct mst_string *out,
                                             struct mst_error *err);
/*
 * The same into the caller's pixels (0xXXRRGGBB, native byte order), scaled to
 * fill width. first…last: letters to light up behind the ink, -1 = none.
 */
MST_MUST_CHECK enum mst_status mst_sheet_draw(const struct mst_sheet *sheet, int page,
                                              unsigned layers, enum mst_theme theme, int32_t first,
                                              int32_t last, uint32_t *pixels, int width, int height,
                                              int stride_bytes, struct mst_error *err);
/* One page; words are groups with data-at and a <title>, marks with data-site, data-at, data-rule,
 * a <title> and an aria-label. Where single letters lie is in mst_sheet_boxes_json. */
MST_MUST_CHECK enum mst_status mst_sheet_svg(const struct mst_sheet *sheet, int page,
                                             enum mst_theme theme, struct mst_string *out,
                                             struct mst_error *err);
/*
 * One page's boxes: {"page":1,"width":…,"height":…,"letters":[{"at":"67:1:1:1","x":…,"y":…,"w":…,
 * "h":…,"left":…,"right":…,"low":…,"high":…,"line":…,"sites":[…]}],"marks":[{"site":…,"rule":…,
 * "x":…,…,"label":…}]}. Site numbers are indices into mst_reading.sites. low and high are the
 * letter's ink under and over the baseline in em, for pages that let a browser set the text.
 */
MST_MUST_CHECK enum mst_status mst_sheet_boxes_json(const struct mst_sheet *sheet, int page,
                                                    struct mst_string *out, struct mst_error *err);
/* The sheet in plain text: each line of scripture, then its marks in words. */
MST_MUST_CHECK enum mst_status mst_sheet_text(const struct mst_sheet *sheet, enum mst_lang lang,
                                              struct mst_string *out, struct mst_error *err);

/*
 * Write a file by the ending of its name: .pdf .svg .png .json .txt. With
 * several pages, .svg and .png become name-1.svg, name-2.svg …, and .json a
 * list of pages. Leaves (leaves.h) hold no reading: no .json and .txt of them.
 */
MST_MUST_CHECK enum mst_status mst_sheet_write(const struct mst_sheet *sheet, const char *path,
                                               double dpi, enum mst_theme theme,
                                               struct mst_error *err);

/* The paper as 0xRRGGBB, for front end and films. */
uint32_t mst_paper_colour(enum mst_theme theme);

/*
 * The sign of a site as data, for a page that lays marks over a text of its own
 * (docs/api.md, “reading”): how much room it takes and its strokes for every
 * length, in em. Sites with the same id have the same shape.
 */
enum { MST_SIGN_ID_SIZE = 48 };
int mst_sign_id(const struct mst_site *site, char out[MST_SIGN_ID_SIZE]); /* 0: none is drawn */
MST_MUST_CHECK enum mst_status mst_sign_shape(const struct mst_site *site, struct mst_arena *arena,
                                              struct mst_string *json, struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
