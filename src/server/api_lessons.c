/* api_lessons.c – lessons and the course: texts that are saved whatever state they are in. */
#include "desk.h"

#include <mistara/lesson.h>
#include <stdlib.h>
#include <string.h>

enum { TEXT_MOST = 512 * 1024, TITLE_MOST = 400 };

static enum mst_status document_reply(struct request *rq, const char *kind, const char *id,
                                      unsigned wanted, struct mst_error *err)
{
    struct mst_document d;
    const char *title;
    struct mst_string problems = {0};
    int count;
    enum mst_status status = mst_store_document_get(rq->desk->store, kind, id, rq->arena, &d, err);
    if (status == MST_OK)
        status = lesson_check(rq->desk, kind, d.text, rq->arena, &title, &problems, &count, err);
    if (status == MST_OK) {
        struct mst_string *s = &rq->reply.body;
        js_open(s, NULL, '{');
        js_text(s, "id", d.id);
        js_text(s, "title", d.title);
        js_text(s, "text", d.text);
        js_integer(s, "revision", d.revision);
        js_date(s, "made", d.made_ms);
        js_date(s, "changed", d.changed_ms);
        js_raw(s, "problems", problems.ptr);
        js_close(s, '}');
        s->failed |= problems.failed;
        rq->reply.status = wanted;
    }
    mst_string_free(&problems);
    return status;
}

static void document_say(struct desk *desk, const char *kind, const char *id)
{
    struct mst_string s = {0};
    js_open(&s, NULL, '{');
    js_text(&s, "id", id);
    js_close(&s, '}');
    if (!s.failed)
        events_say(desk, kind, s.ptr, s.len);
    mst_string_free(&s);
}

/* What was sent, checked. */
static enum mst_status document_read(struct request *rq, const char *kind, const char *members,
                                     struct mst_document *d, struct mst_string *problems,
                                     struct mst_error *err)
{
    enum mst_status status = body_only(rq, members, err);
    d->kind = kind;
    if (status == MST_OK)
        status = body_text(rq, "text", TEXT_MOST, &d->text, err);
    if (status == MST_OK)
        status = body_integer(rq, "revision", &d->revision, err);
    if (status == MST_OK && !d->text)
        status = mst_fail(err, MST_USAGE, "the member text is missing");
    if (status == MST_OK)
        status = lesson_check(rq->desk, kind, d->text, rq->arena, &d->title, problems, &d->problems,
                              err);
    return status;
}

enum mst_status get_lessons(struct request *rq, struct mst_error *err)
{
    struct mst_document *rows;
    size_t count;
    enum mst_status status =
        mst_store_document_list(rq->desk->store, "lesson", rq->arena, &rows, &count, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "lessons", '[');
    for (size_t n = 0; n < count; n++) {
        js_open(s, NULL, '{');
        js_text(s, "id", rows[n].id);
        js_text(s, "title", rows[n].title);
        js_date(s, "changed", rows[n].changed_ms);
        js_integer(s, "revision", rows[n].revision);
        js_integer(s, "problems", rows[n].problems);
        js_close(s, '}');
    }
    mst_string_adds(s, "]}");
    return MST_OK;
}

enum mst_status post_lessons(struct request *rq, struct mst_error *err)
{
    struct mst_document d = {0};
    struct mst_string problems = {0};
    char id[MST_ID_SIZE];
    enum mst_status status = document_read(rq, "lesson", "text", &d, &problems, err);
    mst_string_free(&problems);
    if (status == MST_OK)
        status = mst_store_document_add(rq->desk->store, &d, id, err);
    if (status != MST_OK)
        return status;
    document_say(rq->desk, "lesson", id);
    return document_reply(rq, "lesson", id, 201, err);
}

enum mst_status post_lesson_check(struct request *rq, struct mst_error *err)
{
    struct mst_document d = {0};
    struct mst_string problems = {0};
    enum mst_status status = document_read(rq, "lesson", "text", &d, &problems, err);
    if (status == MST_OK) {
        js_open(&rq->reply.body, NULL, '{');
        js_text(&rq->reply.body, "title", d.title);
        js_raw(&rq->reply.body, "problems", problems.ptr);
        js_close(&rq->reply.body, '}');
    }
    mst_string_free(&problems);
    return status;
}

enum mst_status get_lesson(struct request *rq, struct mst_error *err)
{
    return document_reply(rq, "lesson", rq->args[0], 200, err);
}

enum mst_status put_lesson(struct request *rq, struct mst_error *err)
{
    struct mst_document d = {.id = rq->args[0]}, there;
    struct mst_string problems = {0};
    enum mst_status status =
        mst_store_document_get(rq->desk->store, "lesson", d.id, rq->arena, &there, err);
    if (status == MST_OK)
        status = document_read(rq, "lesson", "text revision", &d, &problems, err);
    mst_string_free(&problems);
    if (status == MST_OK)
        status = mst_store_document_put(rq->desk->store, &d, err);
    if (status == MST_MISMATCH)
        return reply_error(rq, 409, "conflict", "%s", err->message);
    if (status != MST_OK)
        return status;
    document_say(rq->desk, "lesson", d.id);
    return document_reply(rq, "lesson", d.id, 200, err);
}

/* The same text under another title, or under its own. */
enum mst_status post_lesson_duplicate(struct request *rq, struct mst_error *err)
{
    const char *title = NULL;
    struct mst_document there, copy = {.kind = "lesson"};
    struct mst_string text = {0}, problems = {0};
    char id[MST_ID_SIZE];
    enum mst_status status = body_only(rq, "title", err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "title", TITLE_MOST, &title, err);
    if (status == MST_OK)
        status =
            mst_store_document_get(rq->desk->store, "lesson", rq->args[0], rq->arena, &there, err);
    if (status == MST_OK && title && *title)
        mst_lesson_retitle(mst_span_of(there.text), mst_span_of(title), &text);
    copy.text = text.ptr ? text.ptr : status == MST_OK ? there.text : "";
    if (status == MST_OK && text.failed)
        status = no_memory(err);
    if (status == MST_OK && strlen(copy.text) > TEXT_MOST)
        status = mst_fail(err, MST_USAGE, "with this title the lesson becomes too long");
    if (status == MST_OK)
        status = lesson_check(rq->desk, "lesson", copy.text, rq->arena, &copy.title, &problems,
                              &copy.problems, err);
    if (status == MST_OK)
        status = mst_store_document_add(rq->desk->store, &copy, id, err);
    mst_string_free(&problems);
    mst_string_free(&text);
    if (status != MST_OK)
        return status;
    document_say(rq->desk, "lesson", id);
    return document_reply(rq, "lesson", id, 201, err);
}

enum mst_status delete_lesson(struct request *rq, struct mst_error *err)
{
    enum mst_status status = mst_store_document_delete(rq->desk->store, "lesson", rq->args[0], err);
    if (status == MST_OK) {
        events_gone(rq->desk, "lesson", rq->args[0]);
        rq->reply.status = 204;
    }
    return status;
}

/* --- the course: one text, there from the beginning ---------------------------------- */

enum mst_status get_course(struct request *rq, struct mst_error *err)
{
    struct mst_document d;
    struct mst_error why;
    char id[MST_ID_SIZE];
    enum mst_status status =
        mst_store_document_get(rq->desk->store, "course", "course", rq->arena, &d, &why);
    if (status == MST_NOT_FOUND) {
        struct mst_document empty = {.id = "course", .kind = "course", .title = "", .text = ""};
        status = mst_store_document_add(rq->desk->store, &empty, id, err);
    } else if (status != MST_OK) {
        return mst_fail(err, status, "%s", why.message);
    }
    return status == MST_OK ? document_reply(rq, "course", "course", 200, err) : status;
}

enum mst_status put_course(struct request *rq, struct mst_error *err)
{
    struct mst_document d = {.id = "course"};
    struct mst_string problems = {0};
    enum mst_status status = get_course(rq, err); /* makes it when it is not there */
    mst_string_free(&rq->reply.body);
    if (status == MST_OK)
        status = document_read(rq, "course", "text revision", &d, &problems, err);
    mst_string_free(&problems);
    if (status == MST_OK)
        status = mst_store_document_put(rq->desk->store, &d, err);
    if (status == MST_MISMATCH)
        return reply_error(rq, 409, "conflict", "%s", err->message);
    if (status != MST_OK)
        return status;
    document_say(rq->desk, "course", "course");
    return document_reply(rq, "course", "course", 200, err);
}
