/* api_draft.c – what a teacher begins from: a lesson drafted by the searches, the default course.
 */
#include "desk.h"

#include <mistara/lesson.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

static enum mst_status body_choice(const struct request *rq, const char *name,
                                   const char *(*id_of)(int), int count, int *out,
                                   struct mst_error *err)
{
    const char *typed = NULL;
    enum mst_status status = body_text_or_null(rq, name, 40, &typed, err);
    if (status != MST_OK || !typed)
        return status;
    for (*out = 0; *out < count; ++*out)
        if (strcmp(typed, id_of(*out)) == 0)
            return MST_OK;
    return mst_fail(err, MST_USAGE, "there is no %s “%.40s”", name, typed);
}

static const char *level_id(int n)
{
    return mst_lesson_level_id((enum mst_lesson_level)n);
}
static const char *language_id(int n)
{
    return mst_lesson_language_id((enum mst_lesson_language)n);
}

enum mst_status post_lesson_draft(struct request *rq, struct mst_error *err)
{
    struct mst_lesson_draft wanted = {0};
    struct mst_reading_options how = {0};
    struct mst_lesson lesson;
    struct mst_range *ranges = NULL;
    struct mst_string text = {0};
    const char *rules = NULL, *known = NULL, *in = NULL;
    int64_t seed = 0;
    int level = 0, language = 0;
    enum mst_status status = body_only(rq, "rules known in level language seed", err);
    if (status == MST_OK)
        status = body_text(rq, "rules", 4096, &rules, err);
    if (status == MST_OK && (!rules || !*rules))
        status = mst_fail(err, MST_USAGE, "say in rules what the lesson teaches, such as ikhfa");
    if (status == MST_OK)
        status = mst_rule_set_parse(mst_span_of(rules), &wanted.rules, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "known", 4096, &known, err);
    if (status == MST_OK && known)
        status = mst_rule_set_parse(mst_span_of(known), &wanted.known, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "in", 4096, &in, err);
    if (status == MST_OK && in && *in)
        status = mst_ranges_parse(rq->desk->text, mst_span_of(in), rq->arena, &ranges,
                                  &wanted.scope.range_count, err);
    if (status == MST_OK)
        status = body_choice(rq, "level", level_id, MST_LEVEL_COUNT, &level, err);
    if (status == MST_OK)
        status = body_choice(rq, "language", language_id, MST_LESSON_LANGUAGES, &language, err);
    if (status == MST_OK)
        status = body_integer(rq, "seed", &seed, err);
    if (status == MST_OK && (seed < 0 || seed > INT32_MAX))
        status = mst_fail(err, MST_USAGE, "seed is a number from 0 to 2147483647");
    wanted.known_given = known != NULL;
    wanted.scope.ranges = ranges;
    wanted.scope.options = &how;
    wanted.level = (enum mst_lesson_level)level;
    wanted.language = (enum mst_lesson_language)language;
    wanted.seed = (uint32_t)seed;
    if (status == MST_OK)
        status = mst_lesson_draft(rq->desk->text, &wanted, rq->arena, &lesson, err);
    if (status != MST_OK)
        return status;
    mst_lesson_print(&lesson, &text);
    js_open(&rq->reply.body, NULL, '{');
    js_take(&rq->reply.body, "text", &text);
    js_close(&rq->reply.body, '}');
    mst_string_free(&text);
    return MST_OK;
}

enum mst_status get_course_default(struct request *rq, struct mst_error *err)
{
    /* As it stands, remarks and all. */
    enum { LONGEST = 256 * 1024 };
    const char *path = mst_course_default_path(rq->arena);
    FILE *file = path ? fopen(path, "re") : NULL;
    if (!file)
        return mst_fail(err, MST_NOT_FOUND, "the default course was not installed");
    char *text = mst_arena_alloc(rq->arena, LONGEST, 1);
    size_t len = text ? fread(text, 1, LONGEST, file) : 0;
    int whole = text && feof(file) && !ferror(file);
    fclose(file);
    if (!text)
        return no_memory(err);
    if (!whole)
        return mst_fail(err, MST_IO, "the default course could not be read");
    js_open(&rq->reply.body, NULL, '{');
    js_span(&rq->reply.body, "text", (struct mst_span){text, len});
    js_close(&rq->reply.body, '}');
    return MST_OK;
}
