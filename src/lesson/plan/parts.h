/*
 * plan/parts.h – what reading a lesson and a course share: lines of a file of
 * ours, problems with their line, lists that grow in an arena.
 */
#ifndef MISTARA_LESSON_PLAN_PARTS_H
#define MISTARA_LESSON_PLAN_PARTS_H

#include <mistara/lesson.h>

enum {
    PLAN_BYTES_MOST = 512 * 1024,
    PLAN_ITEMS_MOST = 400, /* of one kind in one file */
    PLAN_PROBLEMS_MOST = 100
};

/* What to hand to "%.*s" for input that is quoted: whole characters, not too many. */
#define PLAN_SHOWN(span) mst_plan_shown(span), (span).ptr ? (span).ptr : ""
int mst_plan_shown(struct mst_span s);

struct plan_source {
    const struct mst_text *text;
    struct mst_arena *arena;
    struct mst_lesson_problems *problems;
    const char *folder;
    struct mst_span bytes;
    size_t at;
    int32_t number; /* of the line read last */
    int failed;     /* memory ran out */
};

/* A line without its end and the space around it. */
struct plan_line {
    int32_t number;
    struct mst_span whole;
    struct mst_span key, value; /* of "key: value"; key.ptr NULL when there is no colon */
};
int mst_plan_next_line(struct plan_source *s, struct plan_line *line);
/* Blank or a remark. */
int mst_plan_line_empty(const struct plan_line *line);
/* "[passage]" → "passage"; 0 when it is no head. */
int mst_plan_line_head(const struct plan_line *line, struct mst_span *name);
/* The file's first line: "mistara lesson 1". Names what is wrong; 0 when nothing can be read. */
int mst_plan_header(struct plan_source *s, const char *kind, int version);
/* The next field of "a | b | c"; *rest becomes what is behind the bar. */
struct mst_span mst_plan_field(struct mst_span *rest);
struct mst_span mst_plan_trim(struct mst_span s);

void mst_plan_problem(struct plan_source *s, int32_t line, int advice, const char *fmt, ...)
    MST_PRINTF(4, 5);
/* The nearest of the names (ending with NULL) to what was typed; NULL when none is near. */
const char *mst_plan_nearest(struct mst_span typed, const char *const names[]);
const char *mst_plan_copy(struct plan_source *s, struct mst_span span);
/* items with room for one more; NULL when memory ran out (s->failed). */
void *mst_plan_grow(struct plan_source *s, void *items, int32_t count, size_t size);
/* 0 with a problem when the list is full. */
int mst_plan_room(struct plan_source *s, int32_t line, int32_t count, const char *what);
void mst_plan_sort(struct mst_lesson_problems *problems);
/* First mistake → *err; what parsing ends in. */
MST_MUST_CHECK enum mst_status mst_plan_end(const struct plan_source *s, const char *what,
                                            struct mst_error *err);
/* 0 with a problem. */
int mst_plan_range(struct plan_source *s, const struct plan_line *line, struct mst_span typed,
                   struct mst_range *out);
int mst_plan_rules(struct plan_source *s, const struct plan_line *line, struct mst_rule_set *out);
int mst_plan_number(struct mst_span typed, int32_t least, int32_t most, int32_t *out);
void mst_plan_rules_print(struct mst_rule_set rules, struct mst_string *out);

/* Is it a path that stays in its folder? Names the problem; with a folder given, *path is where it
 * lies. what: "take" or "lesson". */
void mst_plan_file(struct plan_source *s, int32_t line, const char *what, struct mst_span file,
                   const char **path);

/* "arid 4, lin 2, rawm" ↔ the options of a reading, stops apart. */
void mst_plan_reading(struct plan_source *s, const struct plan_line *line,
                      struct mst_reading_options *out);
void mst_plan_reading_print(const struct mst_reading_options *options, struct mst_string *out);
void mst_plan_stops_print(const struct mst_lesson_passage *passage, struct mst_string *out);

/* A whole file in the arena, and the folder it lies in. */
MST_MUST_CHECK enum mst_status mst_plan_load(const char *path, struct mst_arena *arena,
                                             struct mst_span *bytes, const char **folder,
                                             struct mst_error *err);

#endif
