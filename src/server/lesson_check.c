/*
 * lesson_check.c – where the desk meets the lesson floor: what does not hold
 * in a lesson or a course, line by line.
 */
#include "hear.h"

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

static void problem_json(struct mst_string *s, const struct mst_lesson_problem *p)
{
    js_open(s, NULL, '{');
    if (p->line > 0)
        js_integer(s, "line", p->line);
    else
        js_null(s, "line");
    js_bool(s, "advice", p->advice);
    js_said(s, "message", p->message);
    js_close(s, '}');
}

/* A lesson from elsewhere may name a voice that was never learned here. */
static void voice_problem(struct desk *desk, const struct mst_lesson *lesson, struct mst_string *s)
{
    struct mst_voice *voice = NULL;
    struct mst_error why;
    enum mst_status status = voice_kept(desk, lesson->voice, &voice, &why);
    mst_voice_free(voice);
    if (status != MST_OK)
        problem_json(s, &(struct mst_lesson_problem){.advice = 1, .message = why.message});
}

/* What was recorded for it may have been deleted since. */
static void take_problems(struct desk *desk, const struct mst_lesson *lesson,
                          struct mst_arena *arena, struct mst_string *s)
{
    for (int32_t n = 0; n < lesson->take_count; n++) {
        const struct mst_lesson_recording *named = &lesson->takes[n];
        const char *id = take_named(named->file, arena);
        struct mst_kept_take take;
        struct mst_error why;
        if (!id || mst_store_take_get(desk->store, id, arena, &take, &why) != MST_NOT_FOUND)
            continue;
        (void)mst_fail(&why, MST_NOT_FOUND,
                       "the take “%.100s” was deleted; take its line out, or put another recording "
                       "in its place",
                       *named->name ? named->name : named->file);
        problem_json(s, &(struct mst_lesson_problem){
                            .line = named->line, .advice = 1, .message = why.message});
    }
}

/* Kept and printed, but not shown on the page. */
static void example_problems(struct desk *desk, const struct mst_lesson *lesson,
                             struct mst_string *s)
{
    for (int32_t n = 0; n < lesson->example_count; n++) {
        const struct mst_lesson_example *one = &lesson->examples[n];
        struct mst_error why;
        if (one->range.first.sura != 0 &&
            passage_not_too_long(desk->text, one->range, &why) != MST_OK)
            problem_json(s, &(struct mst_lesson_problem){
                                .line = one->line, .advice = 1, .message = why.message});
    }
}

static void problems_json(struct mst_string *s, struct desk *desk, const struct mst_lesson *lesson,
                          const struct mst_lesson_problems *problems, struct mst_arena *arena)
{
    js_open(s, NULL, '[');
    for (int32_t n = 0; n < problems->count; n++)
        problem_json(s, &problems->items[n]);
    example_problems(desk, lesson, s);
    take_problems(desk, lesson, arena, s);
    voice_problem(desk, lesson, s);
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
    problems_json(problems, desk, &lesson, &found, arena);
    return *title && !problems->failed ? MST_OK : no_memory(err);
}
