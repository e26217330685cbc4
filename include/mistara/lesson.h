/*
 * mistara/lesson.h – the lesson as a file, the course as a list of lessons.
 * Both are small texts that a teacher reads and edits (docs/lesson.md). Here
 * they are read with every mistake named by its line, printed, drafted from
 * what the searches find, and held against what the class already knows. It
 * makes no question and no film: it says which are wanted.
 *
 * Ownership: everything read lives in the caller's arena and borrows from the
 * mst_text alone; the source may be freed.
 * Threads: no globals.
 */
#ifndef MISTARA_LESSON_H
#define MISTARA_LESSON_H

#include <mistara/ask.h>

#ifdef __cplusplus
extern "C" {
#endif

enum { MST_LESSON_VERSION = 1, MST_COURSE_VERSION = 1 };

/* What does not hold, or, as advice, what a teacher may want to look at. */
struct mst_lesson_problem {
    int32_t line; /* 1-based; 0: the file as a whole */
    int advice;
    const char *message; /* one sentence; quotes the input, says what to do */
};
struct mst_lesson_problems {
    struct mst_lesson_problem *items; /* by line; those of the whole file last */
    int32_t count, mistakes /* those that are no advice */;
};

/* --- the lesson -------------------------------------------------------------- */

#define MST_LESSON_LEVEL_LIST(X)                                                                   \
    X(BEGINNER, "beginner")                                                                        \
    X(INTERMEDIATE, "intermediate")                                                                \
    X(ADVANCED, "advanced")
enum mst_lesson_level {
#define X(name, id) MST_LEVEL_##name,
    MST_LESSON_LEVEL_LIST(X)
#undef X
        MST_LEVEL_COUNT
};
const char *mst_lesson_level_id(enum mst_lesson_level level);

enum mst_lesson_language { MST_LESSON_BOTH, MST_LESSON_EN, MST_LESSON_AR, MST_LESSON_LANGUAGES };
const char *mst_lesson_language_id(enum mst_lesson_language language);

struct mst_lesson_example {
    struct mst_range range;
    const char *note; /* never NULL */
    int32_t line;
};

struct mst_lesson_passage {
    struct mst_range range;
    enum mst_stops stops;
    struct mst_addr *stop_list; /* MST_STOPS_LIST */
    int32_t stop_count;
    int fade_evenly; /* from full marks to none over the lines … */
    uint8_t *stages; /* … or a stage 0–4 for each line, the last one goes on; as the sheet's */
    int32_t stage_count; /* 0 and not evenly: every line with full marks */
    int32_t line;
};

struct mst_lesson_question {
    uint8_t kind; /* enum mst_ask_kind */
    struct mst_range range;
    int32_t count; /* 1–100 */
    uint32_t seed;
    int32_t line;
};

struct mst_lesson_recording {
    const char *name;
    const char *file; /* as written, relative to the lesson's folder */
    struct mst_range range;
    const char *path; /* links followed, inside the folder; NULL when no folder was given */
    int32_t line;
};

/* Texts are never NULL. */
struct mst_lesson {
    const char *title, *title_ar;
    struct mst_rule_set rules; /* taught here; not empty */
    struct mst_rule_set known; /* taught before */
    int known_given;           /* else nothing is said about other rules */
    enum mst_lesson_level level;
    enum mst_lesson_language language;
    struct mst_reading_options reading;  /* stops: the passages' own */
    const char *explain_en, *explain_ar; /* paragraphs parted by an empty line */
    const char *narration;               /* a recording of the teacher explaining; may be empty */
    const char *narration_path;          /* as of a recording's path */
    const char *voice;                   /* learned before, that its takes are heard with; may be
                                            empty or, in a lesson made by hand, NULL */
    struct mst_lesson_example *examples;
    struct mst_lesson_passage *passages;
    struct mst_lesson_question *questions;
    struct mst_lesson_recording *takes;
    int32_t example_count, passage_count, question_count, take_count;
};

/*
 * folder: where the lesson lies, to see that its takes are there and inside
 * it; NULL: files are not looked at. BAD_DATA when there are mistakes: all of
 * them are in *problems, the first one also in *err, and *out holds what could
 * be read.
 */
MST_MUST_CHECK enum mst_status mst_lesson_parse(const struct mst_text *text, struct mst_span source,
                                                const char *folder, struct mst_arena *arena,
                                                struct mst_lesson *out,
                                                struct mst_lesson_problems *problems,
                                                struct mst_error *err);
/* The file at path, its folder looked at. */
MST_MUST_CHECK enum mst_status mst_lesson_open(const struct mst_text *text, const char *path,
                                               struct mst_arena *arena, struct mst_lesson *out,
                                               struct mst_lesson_problems *problems,
                                               struct mst_error *err);
/* Parsing it again gives the same lesson. Remarks are not kept. */
void mst_lesson_print(const struct mst_lesson *lesson, struct mst_string *out);
/* The lesson file of another title, everything else byte for byte: its first title's line is put
 * anew, or comes after the first line. A blank stands in the place of a line's end. */
void mst_lesson_retitle(struct mst_span source, struct mst_span title, struct mst_string *out);
/* How a passage of the lesson is read. */
struct mst_reading_options mst_lesson_reading(const struct mst_lesson *lesson,
                                              const struct mst_lesson_passage *passage);

/* Beyond its form: does each example show a rule of the lesson, does the passage hold one, which
 * rules stand in them that the class does not know. Adds to *problems. */
MST_MUST_CHECK enum mst_status mst_lesson_check(const struct mst_text *text,
                                                const struct mst_lesson *lesson,
                                                struct mst_arena *arena,
                                                struct mst_lesson_problems *problems,
                                                struct mst_error *err);

struct mst_lesson_draft {
    struct mst_rule_set rules;
    struct mst_rule_set known;
    int known_given;
    struct mst_find_scope scope; /* where to look; options: also the lesson's reading */
    enum mst_lesson_level level;
    enum mst_lesson_language language;
    int per_member; /* examples; 0: 2 */
    uint32_t seed;
};
/* A first draft: examples for each member, a passage that fades, questions. NOT_FOUND when the
 * scope holds no place of the rules. */
MST_MUST_CHECK enum mst_status mst_lesson_draft(const struct mst_text *text,
                                                const struct mst_lesson_draft *wanted,
                                                struct mst_arena *arena, struct mst_lesson *out,
                                                struct mst_error *err);

/* --- the course ---------------------------------------------------------------- */

struct mst_course_lesson {
    const char *title, *title_ar;
    const char *chapter, *chapter_ar; /* of which poem; may be empty */
    struct mst_rule_set rules;        /* empty: a lesson of practice */
    const char *examples_typed;       /* "67-114": where they are sought; empty: the whole text */
    struct mst_range *examples;
    size_t example_count;
    const char *passage_typed; /* "juz 30": what the class reads */
    struct mst_range *passage;
    size_t passage_count;
    const char *file; /* the lesson's own file, relative to the course's folder; may be empty */
    const char *path; /* links followed, when a folder was given */
    const char *date; /* the evening it is planned for, "2026-12-01"; may be empty */
    int32_t line;
};
struct mst_course {
    const char *title, *title_ar, *source, *source_ar;
    struct mst_rule_set assumed; /* read by imitation until their lesson comes */
    struct mst_course_lesson *lessons;
    int32_t lesson_count;
};
/* As of lessons. */
MST_MUST_CHECK enum mst_status mst_course_parse(const struct mst_text *text, struct mst_span source,
                                                const char *folder, struct mst_arena *arena,
                                                struct mst_course *out,
                                                struct mst_lesson_problems *problems,
                                                struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_course_open(const struct mst_text *text, const char *path,
                                               struct mst_arena *arena, struct mst_course *out,
                                               struct mst_lesson_problems *problems,
                                               struct mst_error *err);
void mst_course_print(const struct mst_course *course, struct mst_string *out);
/* Where the default course lies: $MISTARA_COURSE, beside the source tree, or installed. In the
 * arena; NULL when it is nowhere. */
const char *mst_course_default_path(struct mst_arena *arena);

/* A lesson needs a rule that only a later one teaches, or none. */
struct mst_course_use {
    int32_t lesson; /* index */
    struct mst_member shows;
    uint8_t rule;
    int32_t taught_in; /* index, -1: never */
    struct mst_range range;
};
struct mst_course_gap {
    struct mst_member member;
    int32_t lesson; /* the first that teaches its rule */
    int32_t in_text;
};
struct mst_course_report {
    struct mst_course_use *uses;
    struct mst_course_gap *gaps; /* letters and kinds never exemplified */
    int32_t use_count, gap_count;
    struct mst_rule_set never_taught;
    uint32_t juz_untouched; /* bit n - 1 */
    int32_t members, members_shown;
};
/* A lesson with a file is judged by its examples and passages, one without by whether clean
 * examples can be found. One pass over the text for every lesson without a file. */
MST_MUST_CHECK enum mst_status mst_course_check(const struct mst_text *text,
                                                const struct mst_course *course,
                                                struct mst_arena *arena,
                                                struct mst_course_report *out,
                                                struct mst_error *err);

/* --- the enrolment passage -------------------------------------------------------- */

struct mst_enrol_query {
    struct mst_find_scope scope;
    int times;                /* of every phone; 0: as often as fits into the seconds */
    double seconds;           /* 0: 180 */
    double pace_counts_per_s; /* 0: 2.5 */
    int32_t node_limit;       /* of the search, for each number of times; 0: 2000 */
};
struct mst_enrol {
    struct mst_cover cover; /* cost and bound in tenths of a second */
    int times;
    double seconds;
};
/* The verses that take least time to recite and hold every phone so often. NOT_FOUND when even once
 * takes longer than the seconds. No clock decides: the same query has the same answer on every
 * machine. Where cover.bound is below cover.cost the search ended at its limit, and no set takes
 * less than the bound. */
MST_MUST_CHECK enum mst_status mst_lesson_enrol(const struct mst_text *text,
                                                const struct mst_enrol_query *query,
                                                struct mst_arena *arena, struct mst_enrol *out,
                                                struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
