/* uses.c – who counts on a take: the lessons that name it, the assignments that play it; and what a
 * take is called where something is said of its file. */
#include "hear.h"

#include <mistara/classbook.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char before[] = "takes/";

const char *take_named(const char *file, struct mst_arena *arena)
{
    if (strncmp(file, before, sizeof before - 1) != 0)
        return NULL;
    file += sizeof before - 1;
    return mst_arena_strndup(arena, file, strcspn(file, "./"));
}

/* Wherever it stands in the text: a lesson that is still full of mistakes counts on it too. */
static int names_take(const char *text, const char *id)
{
    size_t len = strlen(id);
    for (const char *at = strstr(text, before); at; at = strstr(at, before)) {
        at += sizeof before - 1;
        if (strncmp(at, id, len) == 0)
            return 1;
    }
    return 0;
}

static enum mst_status lessons_json(struct request *rq, const char *id, struct mst_error *err)
{
    struct mst_document *rows, d;
    size_t count;
    enum mst_status status =
        mst_store_document_list(rq->desk->store, "lesson", rq->arena, &rows, &count, err);
    struct mst_string *s = &rq->reply.body;
    js_open(s, "lessons", '[');
    for (size_t n = 0; status == MST_OK && n < count; n++) {
        status = mst_store_document_get(rq->desk->store, "lesson", rows[n].id, rq->arena, &d, err);
        if (status == MST_NOT_FOUND) {
            status = MST_OK; /* deleted meanwhile */
        } else if (status == MST_OK && names_take(d.text, id)) {
            js_open(s, NULL, '{');
            js_text(s, "id", d.id);
            js_text(s, "title", d.title);
            js_close(s, '}');
        }
    }
    js_close(s, ']');
    return status;
}

static enum mst_status assignments_json(struct request *rq, const char *id, struct mst_error *err)
{
    struct mst_class *classes;
    size_t class_count;
    struct mst_string *s = &rq->reply.body;
    enum mst_status status =
        mst_class_list(rq->desk->store, rq->arena, &classes, &class_count, err);
    js_open(s, "assignments", '[');
    for (size_t c = 0; status == MST_OK && c < class_count; c++) {
        struct mst_assignment *rows;
        size_t count;
        status = mst_assignment_list(rq->desk->store, classes[c].id, rq->arena, &rows, &count, err);
        for (size_t n = 0; status == MST_OK && n < count; n++) {
            if (!rows[n].take || strcmp(rows[n].take, id) != 0)
                continue;
            js_open(s, NULL, '{');
            js_text(s, "id", rows[n].id);
            js_text(s, "class", rows[n].class_id);
            js_text(s, "title", *rows[n].title ? rows[n].title : rows[n].passage);
            js_close(s, '}');
        }
    }
    js_close(s, ']');
    return status;
}

enum mst_status get_take_uses(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take take;
    enum mst_status status =
        mst_store_take_get(rq->desk->store, rq->args[0], rq->arena, &take, err);
    if (status != MST_OK)
        return status;
    js_open(&rq->reply.body, NULL, '{');
    status = lessons_json(rq, take.id, err);
    if (status == MST_OK)
        status = assignments_json(rq, take.id, err);
    js_close(&rq->reply.body, '}');
    return status;
}

/* Floors below speak of files. Where the desk keeps them is nobody's business, nor a name that a
 * teacher knows: a quoted path into the data folder becomes the recording. */
void path_hide(struct desk *desk, struct mst_error *err)
{
    static const char called[] = "the recording";
    const char *folder = mst_store_folder(desk->store);
    size_t len = strlen(folder);
    for (char *at = err->message; (at = strstr(at, folder)) != NULL;) {
        char *end = at + len;
        end += strcspn(end, " :;,\xE2"); /* a blank, a mark, or the first byte of ” */
        if (at - err->message >= 3 && memcmp(at - 3, "“", 3) == 0 && strncmp(end, "”", 3) == 0) {
            at -= 3;
            end += 3;
        }
        struct mst_string rest = {0};
        mst_string_adds(&rest, end);
        snprintf(at, sizeof err->message - (size_t)(at - err->message), "%s%s", called,
                 rest.ptr ? rest.ptr : "");
        mst_string_free(&rest);
        at += strnlen(at, sizeof called - 1);
    }
}
