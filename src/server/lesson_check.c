/*
 * lesson_check.c – where the desk meets the lesson floor: what does not hold
 * in a lesson or a course, line by line.
 */
#include "desk.h"

#include <mistara/lesson.h>
#include <string.h>

/* The text's first line with words in it, without what marks it as a heading. */
static const char *first_line(const char *text, struct mst_arena *arena)
{
    while (*text) {
        size_t len = strcspn(text, "\r\n");
        size_t skip = strspn(text, "# \t");
        size_t take = skip < len ? len - skip : 0;
        for (take = take < 200 ? take : 200; take > 0 && (text[skip + take] & 0xC0) == 0x80;)
            take--; /* whole characters */
        if (take > 0)
            return mst_arena_strndup(arena, text + skip, take);
        text += len + (text[len] != '\0');
    }
    return mst_arena_strndup(arena, "", 0);
}

static void problems_json(struct mst_string *s, const struct mst_lesson_problems *problems)
{
    js_open(s, NULL, '[');
    for (int32_t n = 0; n < problems->count; n++) {
        const struct mst_lesson_problem *p = &problems->items[n];
        js_open(s, NULL, '{');
        if (p->line > 0)
            js_integer(s, "line", p->line);
        else
            js_null(s, "line");
        js_bool(s, "advice", p->advice);
        js_text(s, "message", p->message);
        js_close(s, '}');
    }
    js_close(s, ']');
}

/* A text with mistakes is no error here: they are what was asked for. */
enum mst_status lesson_check(struct desk *desk, const char *kind, const char *text,
                             struct mst_arena *arena, const char **title,
                             struct mst_string *problems, int *count, struct mst_error *err)
{
    struct mst_lesson lesson = {0};
    struct mst_course course = {0};
    struct mst_lesson_problems found = {0};
    int is_course = strcmp(kind, "course") == 0;
    struct mst_span source = mst_span_of(text);
    enum mst_status status =
        is_course ? mst_course_parse(desk->text, source, NULL, arena, &course, &found, err)
                  : mst_lesson_parse(desk->text, source, NULL, arena, &lesson, &found, err);
    if (status == MST_OK && !is_course)
        status = mst_lesson_check(desk->text, &lesson, arena, &found, err);
    if (status != MST_OK && status != MST_BAD_DATA)
        return status;
    const char *named = is_course ? course.title : lesson.title;
    *title = named && *named ? named : first_line(text, arena);
    *count = found.mistakes;
    problems_json(problems, &found);
    return *title && !problems->failed ? MST_OK : no_memory(err);
}
