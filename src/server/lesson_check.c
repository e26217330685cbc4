/*
 * lesson_check.c – where the desk meets the lesson floor. That floor's format
 * and builder are not part of this build yet: texts are kept as they are, and
 * building answers that it cannot.
 */
#include "desk.h"

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

enum mst_status lesson_check(struct desk *desk, const char *kind, const char *text,
                             struct mst_arena *arena, const char **title,
                             struct mst_string *problems, int *count, struct mst_error *err)
{
    (void)desk;
    (void)kind;
    *count = 0;
    mst_string_adds(problems, "[]");
    *title = first_line(text, arena);
    return *title && !problems->failed ? MST_OK : no_memory(err);
}

enum mst_status post_lesson_build(struct request *rq, struct mst_error *err)
{
    struct mst_document d;
    enum mst_status status =
        mst_store_document_get(rq->desk->store, "lesson", rq->args[0], rq->arena, &d, err);
    return status == MST_OK ? mst_fail(err, MST_UNSUPPORTED, "this build makes no lessons yet")
                            : status;
}

enum mst_status get_course_plan(struct request *rq, struct mst_error *err)
{
    (void)rq;
    return mst_fail(err, MST_UNSUPPORTED, "this build checks no courses yet");
}

enum mst_status job_lesson(struct work *work, struct mst_error *err)
{
    (void)work;
    return mst_fail(err, MST_UNSUPPORTED, "this build makes no lessons yet");
}
