/*
 * mistara/pages.h – what a teacher hands out and throws on the wall: the rule
 * in plain words with the picture of the mouth, marked examples, the passage
 * fading from full marks to none, space to write, and the key on a page of
 * its own. Paper and slides come from the same pieces; the result is a sheet
 * for the writers of typeset.h.
 *
 * Ownership: the sheet lives in the arena and borrows from text and typeset.
 */
#ifndef MISTARA_PAGES_H
#define MISTARA_PAGES_H

#include <mistara/ask.h>
#include <mistara/find.h>
#include <mistara/mouth.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Zeroed where it may be: the default stands beside it. */
struct mst_handout {
    struct mst_span title_en, title_ar;     /* empty: the rules' names */
    struct mst_span class_line;             /* "Tuesday, the town library"; may be empty */
    struct mst_rule_set rules;              /* not empty */
    struct mst_span explain_en, explain_ar; /* empty: what the engine says of mouth and nose */
    const struct mst_range *examples;
    size_t example_count;
    struct mst_range passage;
    struct mst_reading_options reading; /* of the passage; examples stop at their last word */
    int full_marks;                     /* do not fade evenly: every line with its marks … */
    const uint8_t *line_stages;         /* … or a stage a line, as of mst_sheet_options */
    size_t line_stage_count;
    enum mst_sheet_labels labels;
    enum mst_sheet_font font;
    struct mst_page_geometry page; /* width 0: A4 */
};

/* USAGE when there is no rule, or a range is not of the text. */
MST_MUST_CHECK enum mst_status mst_handout_new(struct mst_typeset *ts, const struct mst_text *text,
                                               const struct mst_handout *handout,
                                               struct mst_arena *arena, struct mst_sheet **out,
                                               struct mst_error *err);
/* The same lesson for the wall, 16:9; `page` is not looked at. */
MST_MUST_CHECK enum mst_status mst_slides_new(struct mst_typeset *ts, const struct mst_text *text,
                                              const struct mst_handout *handout,
                                              struct mst_arena *arena, struct mst_sheet **out,
                                              struct mst_error *err);
/* Parts of them: the title and what the class knows already; the rule in words, then its pictures,
 * one row a slide. look: titles, rules, words, languages and font. */
MST_MUST_CHECK enum mst_status mst_recap_slides_new(struct mst_typeset *ts,
                                                    const struct mst_text *text,
                                                    const struct mst_handout *look,
                                                    struct mst_rule_set known,
                                                    struct mst_arena *arena, struct mst_sheet **out,
                                                    struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_rule_slides_new(struct mst_typeset *ts,
                                                   const struct mst_text *text,
                                                   const struct mst_handout *look,
                                                   struct mst_arena *arena, struct mst_sheet **out,
                                                   struct mst_error *err);
/*
 * Up to `most` short examples of these rules, the clearest of each member
 * first, then the second ones. In the arena.
 */
MST_MUST_CHECK enum mst_status mst_handout_examples(const struct mst_text *text,
                                                    const struct mst_find_scope *scope,
                                                    struct mst_rule_set rules, size_t most,
                                                    struct mst_arena *arena, struct mst_range **out,
                                                    size_t *count, struct mst_error *err);

/* --- questions on paper ---------------------------------------------------------- */
struct mst_question_pages {
    struct mst_span title_en, title_ar, class_line; /* may be empty */
    const struct mst_question *questions;
    size_t count;
    size_t first_number; /* of the first question; 0: 1 */
    char version;        /* printed beside the title; 0: none */
    struct mst_reading_options reading;
    enum mst_sheet_labels labels;
    enum mst_sheet_font font;
    struct mst_page_geometry page; /* width 0: A4 */
};
/* The questions with room for the answers, verses without marks; or their key. */
MST_MUST_CHECK enum mst_status mst_questions_new(struct mst_typeset *ts,
                                                 const struct mst_text *text,
                                                 const struct mst_question_pages *pages, int key,
                                                 struct mst_arena *arena, struct mst_sheet **out,
                                                 struct mst_error *err);

/* --- single verses on paper --------------------------------------------------------- */
struct mst_verse_pages {
    struct mst_span title_en, title_ar;
    const int32_t *verses; /* running indices, as of mst_text_verse_addr */
    size_t count;
    struct mst_reading_options reading;
    enum mst_sheet_labels labels;
    enum mst_sheet_font font;
    struct mst_page_geometry page; /* width 0: A4 */
};
/* One below the other with their addresses, without marks. */
MST_MUST_CHECK enum mst_status mst_verses_new(struct mst_typeset *ts, const struct mst_text *text,
                                              const struct mst_verse_pages *pages,
                                              struct mst_arena *arena, struct mst_sheet **out,
                                              struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
