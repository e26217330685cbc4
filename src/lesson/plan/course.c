/* course.c – a course file: an ordered list of lessons, what each teaches and where it reads. */
#include "parts.h"

#include <stdio.h>
#include <string.h>

enum key {
    TITLE,
    TITLE_AR,
    ASSUMED,
    SOURCE,
    SOURCE_AR,
    RULES,
    CHAPTER,
    CHAPTER_AR,
    EXAMPLES,
    PASSAGE,
    FILE_NAME,
    DATE,
    KEYS
};
static const char *const keys[] = {"title", "title ar", "assumed",    "source",   "source ar",
                                   "rules", "chapter",  "chapter ar", "examples", "passage",
                                   "file",  "date",     NULL};

struct parser {
    struct plan_source s;
    struct mst_course *c;
    struct mst_course_lesson *lesson; /* being read; NULL at the head */
    int full;
    int32_t seen[KEYS];
};

static void lesson_begin(struct parser *p, int32_t number)
{
    struct mst_course *c = p->c;
    memset(p->seen, 0, sizeof p->seen);
    p->full = !mst_plan_room(&p->s, number, c->lesson_count, "lessons");
    struct mst_course_lesson *list =
        p->full ? NULL : mst_plan_grow(&p->s, c->lessons, c->lesson_count, sizeof *list);
    p->full |= !list;
    if (p->full)
        return;
    c->lessons = list;
    p->lesson = &list[c->lesson_count++];
    *p->lesson = (struct mst_course_lesson){.title = "",
                                            .title_ar = "",
                                            .chapter = "",
                                            .chapter_ar = "",
                                            .examples_typed = "",
                                            .passage_typed = "",
                                            .file = "",
                                            .date = "",
                                            .line = number};
}

/* What ends a lesson: it needs a title and something to do. */
static void lesson_end(struct parser *p)
{
    const struct mst_course_lesson *l = p->lesson;
    if (!l || p->full)
        return;
    if (!*l->title && !*l->title_ar)
        mst_plan_problem(&p->s, l->line, 0,
                         "the lesson has no title; write title: … under [lesson]");
    if (!l->rules.bits && !l->passage_count && !*l->file)
        mst_plan_problem(&p->s, l->line, 0,
                         "the lesson has neither rules nor a passage nor a file; write such as "
                         "rules: ikhfa and passage: juz 30");
}

static void ranges(struct parser *p, const struct plan_line *line, const char **typed,
                   struct mst_range **out, size_t *count)
{
    struct mst_error why;
    enum mst_status status = mst_ranges_parse(p->s.text, line->value, p->s.arena, out, count, &why);
    *typed = mst_plan_copy(&p->s, line->value);
    if (status == MST_OK)
        return;
    *count = 0;
    p->s.failed |= status == MST_NO_MEMORY;
    mst_plan_problem(&p->s, line->number, 0, "%s", why.message);
}

/* "2026-12-01", a day there is. */
static int is_day(const char *s)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int year, month, day, end = 0;
    if (strlen(s) != 10 || strspn(s, "0123456789-") != 10 ||
        sscanf(s, "%4d-%2d-%2d%n", &year, &month, &day, &end) != 3 || end != 10)
        return 0;
    int leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return month >= 1 && month <= 12 && day >= 1 && day <= days[month - 1] + (month == 2 && leap);
}

static int belongs(const struct parser *p, enum key key)
{
    return key <= TITLE_AR || (p->lesson ? key >= RULES : key < RULES);
}

static void value(struct parser *p, const struct plan_line *line, enum key key)
{
    struct mst_course_lesson *l = p->lesson;
    const char *copy = mst_plan_copy(&p->s, line->value);
    switch (key) {
    case TITLE:
        *(l ? &l->title : &p->c->title) = copy;
        break;
    case TITLE_AR:
        *(l ? &l->title_ar : &p->c->title_ar) = copy;
        break;
    case ASSUMED:
        (void)mst_plan_rules(&p->s, line, &p->c->assumed);
        break;
    case SOURCE:
        p->c->source = copy;
        break;
    case SOURCE_AR:
        p->c->source_ar = copy;
        break;
    case RULES:
        (void)mst_plan_rules(&p->s, line, &l->rules);
        break;
    case CHAPTER:
        l->chapter = copy;
        break;
    case CHAPTER_AR:
        l->chapter_ar = copy;
        break;
    case EXAMPLES:
        ranges(p, line, &l->examples_typed, &l->examples, &l->example_count);
        break;
    case PASSAGE:
        ranges(p, line, &l->passage_typed, &l->passage, &l->passage_count);
        break;
    case FILE_NAME:
        l->file = copy;
        mst_plan_file(&p->s, line->number, "lesson", line->value, &l->path);
        break;
    case DATE:
        if (is_day(copy))
            l->date = copy;
        else
            mst_plan_problem(&p->s, line->number, 0,
                             "“%.*s” is no date; write the day such as 2026-12-01",
                             PLAN_SHOWN(line->value));
        break;
    case KEYS:
        break;
    }
}

static void keyed_line(struct parser *p, const struct plan_line *line)
{
    enum key key = 0;
    if (!line->key.ptr) {
        mst_plan_problem(&p->s, line->number, 0,
                         "“%.*s” is no “name: value” and no [lesson]; put # before a remark",
                         PLAN_SHOWN(line->whole));
        return;
    }
    while (key < KEYS && !mst_span_equal(line->key, mst_span_of(keys[key])))
        key++;
    if (key == KEYS || !belongs(p, key)) {
        const char *near = key == KEYS ? mst_plan_nearest(line->key, keys) : NULL;
        mst_plan_problem(
            &p->s, line->number, 0, "“%.*s” is not known %s%s%s; there are %s",
            PLAN_SHOWN(line->key),
            p->lesson ? "in a lesson of a course" : "at the head of a course",
            near ? "; nearest: " : "", near ? near : "",
            p->lesson ? "title, title ar, rules, chapter, chapter ar, examples, passage, file, date"
                      : "title, title ar, assumed, source, source ar");
        return;
    }
    if (p->seen[key]) {
        mst_plan_problem(&p->s, line->number, 0,
                         "“%s” stands here again, first in line %d; keep one of them", keys[key],
                         p->seen[key]);
        return;
    }
    p->seen[key] = line->number;
    if (line->value.len == 0)
        mst_plan_problem(&p->s, line->number, 0,
                         "nothing stands after “%s:”; fill it in or take the line out", keys[key]);
    else
        value(p, line, key);
}

enum mst_status mst_course_parse(const struct mst_text *text, struct mst_span source,
                                 const char *folder, struct mst_arena *arena,
                                 struct mst_course *out, struct mst_lesson_problems *problems,
                                 struct mst_error *err)
{
    struct parser p = {.s = {.text = text,
                             .arena = arena,
                             .problems = problems,
                             .folder = folder,
                             .bytes = source},
                       .c = out};
    struct plan_line line;
    struct mst_span name;
    *problems = (struct mst_lesson_problems){0};
    *out = (struct mst_course){.title = "", .title_ar = "", .source = "", .source_ar = ""};
    int readable = mst_plan_header(&p.s, "course", MST_COURSE_VERSION);
    while (readable && mst_plan_next_line(&p.s, &line)) {
        if (mst_plan_line_empty(&line))
            continue;
        if (!mst_plan_line_head(&line, &name)) {
            if (!p.full)
                keyed_line(&p, &line);
            continue;
        }
        lesson_end(&p);
        if (!mst_span_equal(name, MST_SPAN("lesson")))
            mst_plan_problem(&p.s, line.number, 0,
                             "there is no section [%.*s] in a course; each lesson begins with "
                             "[lesson]",
                             PLAN_SHOWN(name));
        lesson_begin(&p, line.number);
    }
    lesson_end(&p);
    if (readable && out->lesson_count == 0)
        mst_plan_problem(&p.s, 0, 0, "the course has no lesson; begin each with [lesson]");
    return mst_plan_end(&p.s, "course", err);
}

enum mst_status mst_course_open(const struct mst_text *text, const char *path,
                                struct mst_arena *arena, struct mst_course *out,
                                struct mst_lesson_problems *problems, struct mst_error *err)
{
    struct mst_span bytes;
    const char *folder;
    *problems = (struct mst_lesson_problems){0};
    enum mst_status status = mst_plan_load(path, arena, &bytes, &folder, err);
    return status == MST_OK ? mst_course_parse(text, bytes, folder, arena, out, problems, err)
                            : status;
}

static void text_line(struct mst_string *s, const char *key, const char *words)
{
    if (*words)
        mst_string_addf(s, "%s: %s\n", key, words);
}

static void rules_line(struct mst_string *s, const char *key, struct mst_rule_set rules)
{
    if (!rules.bits)
        return;
    mst_string_addf(s, "%s: ", key);
    mst_plan_rules_print(rules, s);
    mst_string_adds(s, "\n");
}

void mst_course_print(const struct mst_course *c, struct mst_string *s)
{
    mst_string_addf(s, "mistara course %d\n\n", MST_COURSE_VERSION);
    text_line(s, "title", c->title);
    text_line(s, "title ar", c->title_ar);
    rules_line(s, "assumed", c->assumed);
    text_line(s, "source", c->source);
    text_line(s, "source ar", c->source_ar);
    for (int32_t n = 0; n < c->lesson_count; n++) {
        const struct mst_course_lesson *l = &c->lessons[n];
        mst_string_adds(s, "\n[lesson]\n");
        text_line(s, "title", l->title);
        text_line(s, "title ar", l->title_ar);
        text_line(s, "chapter", l->chapter);
        text_line(s, "chapter ar", l->chapter_ar);
        rules_line(s, "rules", l->rules);
        text_line(s, "examples", l->examples_typed);
        text_line(s, "passage", l->passage_typed);
        text_line(s, "file", l->file);
        text_line(s, "date", l->date);
    }
}

const char *mst_course_default_path(struct mst_arena *arena)
{
    char path[4400];
    return mst_data_path("MISTARA_COURSE", "course/default.course", path, sizeof path)
               ? mst_arena_strndup(arena, path, strlen(path))
               : NULL;
}
