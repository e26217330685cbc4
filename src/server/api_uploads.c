/*
 * api_uploads.c – a recording on its way from a learner's phone, part by part
 * over whatever line there is: begun, gone on with where it broke off, handed
 * in. The desk says how much it has; a part that is not the next one is
 * refused with that number. What it answered is on disk.
 */
#include "desk.h"

#include <stdlib.h>
#include <string.h>

enum { UPLOAD_MOST_MIB = 64, UPLOADS_MOST = 12, MARKS_MOST = 500 };

/* Nothing is taken in before it was agreed to, nor when the class is over. *allowed 0: the reply
 * says why. */
static enum mst_status may_record(struct request *rq, int *allowed, struct mst_error *err)
{
    struct mst_class c;
    int holds;
    *allowed = 0;
    enum mst_status status = consent_look(rq, rq->person, &c, &holds, err);
    if (status != MST_OK)
        return status;
    if (!holds)
        return reply_error(rq, 403, "consent",
                           "before anything is recorded, you or your parent or guardian agree to "
                           "what is done with it");
    if (c.closed_ms != 0)
        return reply_error(rq, 409, "conflict", "this class has ended");
    *allowed = 1;
    return MST_OK;
}

/* What browsers record and files of sound are; nothing else is ever served back under its name. */
static const char *sound_type(const char *said)
{
    static const char *const types[] = {"audio/webm",  "audio/ogg",  "audio/mp4",   "audio/mpeg",
                                        "audio/aac",   "audio/wav",  "audio/x-wav", "audio/flac",
                                        "audio/x-m4a", "audio/3gpp", "video/webm",  "video/mp4"};
    size_t len = strcspn(said, "; ");
    for (size_t n = 0; n < sizeof types / sizeof types[0]; n++)
        if (strlen(types[n]) == len && strncmp(types[n], said, len) == 0)
            return types[n];
    return NULL;
}

static void upload_json(struct request *rq, const struct mst_upload *upload, const char *submission)
{
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_text(s, "upload", upload->id);
    js_integer(s, "have", upload->have);
    js_integer(s, "bytes", upload->bytes);
    js_text(s, "submission", submission);
    js_close(s, '}');
}

static enum mst_status assignment_open(struct request *rq, const char *id, struct mst_error *err)
{
    struct mst_assignment a;
    enum mst_status status = mst_assignment_get(rq->desk->store, id, rq->arena, &a, err);
    if (status == MST_OK && strcmp(a.class_id, rq->person->class_id) != 0)
        status = mst_fail(err, MST_NOT_FOUND, "there is no assignment “%.40s”", id);
    if (status == MST_OK && a.withdrawn_ms != 0)
        return reply_error(rq, 409, "conflict", "your teacher has withdrawn this");
    return status;
}

enum mst_status post_mine_uploads(struct request *rq, struct mst_error *err)
{
    struct mst_upload upload = {.type = "", .bytes = 0}, *open;
    const char *assignment = NULL, *said = NULL;
    char id[MST_ID_SIZE];
    size_t count = 0;
    int allowed = 0;
    enum mst_status status = may_record(rq, &allowed, err);
    if (status != MST_OK || !allowed)
        return status;
    status = body_only(rq, "assignment type bytes", err);
    if (status == MST_OK)
        status = body_text(rq, "assignment", 40, &assignment, err);
    if (status == MST_OK)
        status = body_text(rq, "type", 100, &said, err);
    if (status == MST_OK)
        status = body_integer(rq, "bytes", &upload.bytes, err);
    if (status == MST_OK && (!assignment || upload.bytes <= 0))
        status = mst_fail(err, MST_USAGE, "say for which assignment it is and how many bytes");
    if (status != MST_OK)
        return status;
    upload.type = sound_type(said ? said : "");
    if (!upload.type)
        return reply_error(rq, 415, "media_type", "a recording is expected, such as audio/webm");
    if (upload.bytes > (int64_t)UPLOAD_MOST_MIB << 20)
        return reply_error(rq, 413, "too_large", "a recording may have at most %d MiB",
                           UPLOAD_MOST_MIB);
    status = assignment_open(rq, assignment, err);
    if (status != MST_OK || rq->reply.status)
        return status;
    status = mst_upload_list(rq->desk->store, rq->person->id, rq->arena, &open, &count, err);
    if (status == MST_OK && count >= UPLOADS_MOST)
        return reply_error(
            rq, 429, "too_many",
            "many recordings of yours were begun and not finished; finish one first");
    if (status == MST_OK)
        status = mst_upload_open(rq->desk->store, rq->person->id, assignment, upload.type,
                                 upload.bytes, id, err);
    if (status != MST_OK)
        return status;
    upload.id = id;
    rq->reply.status = 201;
    upload_json(rq, &upload, NULL);
    return MST_OK;
}

/* One that was handed in already is a submission of the same id. */
enum mst_status get_mine_upload(struct request *rq, struct mst_error *err)
{
    struct mst_upload upload;
    struct mst_submission row;
    struct mst_kept_take take = {0};
    enum mst_status status = mst_upload_get(rq->desk->store, rq->args[0], rq->arena, &upload, err);
    if (status == MST_OK)
        upload_json(rq, &upload, NULL);
    if (status != MST_NOT_FOUND)
        return status;
    status = mst_submission_get(rq->desk->store, rq->args[0], rq->arena, &row, err);
    if (status == MST_OK && row.take)
        status = mst_store_take_get(rq->desk->store, row.take, rq->arena, &take, err);
    if (status != MST_OK)
        return status;
    upload = (struct mst_upload){.id = row.id, .have = take.bytes, .bytes = take.bytes};
    upload_json(rq, &upload, row.id);
    return MST_OK;
}

static enum mst_status out_of_order(struct request *rq, int64_t have)
{
    struct mst_string *s = &rq->reply.body;
    rq->reply.status = 409;
    js_open(s, NULL, '{');
    js_integer(s, "have", have);
    js_open(s, "error", '{');
    js_text(s, "code", "conflict");
    js_said(s, "message", "that part is not the next one; go on from what the desk has");
    js_null(s, "line");
    mst_string_adds(s, "}}");
    return MST_OK;
}

enum mst_status put_mine_upload(struct request *rq, struct mst_error *err)
{
    struct mst_upload upload;
    int64_t offset = -1, have = 0;
    int allowed = 0;
    enum mst_status status = may_record(rq, &allowed, err);
    if (status != MST_OK || !allowed)
        return status;
    status = param_integer(rq, "offset", 0, INT64_C(1) << 40, &offset, err);
    if (status == MST_OK && offset < 0)
        status = mst_fail(err, MST_USAGE, "the parameter offset is missing, for example offset=0");
    if (status == MST_OK && rq->body.len == 0)
        status = mst_fail(err, MST_USAGE, "the part is empty");
    if (status == MST_OK)
        status = mst_upload_get(rq->desk->store, rq->args[0], rq->arena, &upload, err);
    if (status != MST_OK)
        return status;
    if (offset != upload.have)
        return out_of_order(rq, upload.have);
    if (offset + (int64_t)rq->body.len > upload.bytes)
        return reply_error(rq, 413, "too_large", "the recording was said to have %lld bytes",
                           (long long)upload.bytes);
    status = mst_upload_append(rq->desk->store, upload.id, offset, rq->body.ptr, rq->body.len,
                               &have, err);
    if (status == MST_MISMATCH) /* the same part came twice at once */
        return out_of_order(rq, have);
    if (status != MST_OK)
        return status;
    upload.have = have;
    upload_json(rq, &upload, NULL);
    return MST_OK;
}

/* What the learner marked while listening back, checked and as it is kept. */
static enum mst_status marks_read(struct request *rq, struct mst_string *out, struct mst_error *err)
{
    const json_t *marks = json_object_get(rq->json, "marks"), *one;
    size_t n;
    enum mst_status status = MST_OK;
    if (marks && (!json_is_array(marks) || json_array_size(marks) > MARKS_MOST))
        return mst_fail(err, MST_USAGE, "the member marks is a list of at most %d", MARKS_MOST);
    js_open(out, NULL, '[');
    json_array_foreach(marks, n, one)
    {
        struct mst_addr at;
        char text[48];
        const char *place = json_string_value(json_object_get(one, "at"));
        const char *mark = json_string_value(json_object_get(one, "mark"));
        if (!place || !mark || strlen(mark) > 20 || !*mark ||
            strspn(mark, "abcdefghijklmnopqrstuvwxyz_") != strlen(mark))
            return mst_fail(err, MST_USAGE,
                            "a mark is {\"at\": \"78:31:2\", \"mark\": \"unsure\"}");
        status = mst_addr_parse(rq->desk->text, mst_span_of(place), &at, err);
        if (status != MST_OK)
            return status;
        js_open(out, NULL, '{');
        js_text(out, "at", mst_addr_print(at, text));
        js_text(out, "mark", mark);
        js_close(out, '}');
    }
    js_close(out, ']');
    return out->failed ? no_memory(err) : MST_OK;
}

enum mst_status post_mine_upload_submit(struct request *rq, struct mst_error *err)
{
    struct mst_string marks = {0};
    struct mst_submission row;
    char id[MST_ID_SIZE];
    int allowed = 0;
    enum mst_status status = body_only(rq, "marks", err);
    if (status == MST_OK)
        status = mst_submission_get(rq->desk->store, rq->args[0], rq->arena, &row, err);
    if (status == MST_OK) /* said before; the answer was lost on the way */
        return submission_reply(rq, row.id, 200, err);
    if (status == MST_NOT_FOUND)
        status = may_record(rq, &allowed, err);
    if (status != MST_OK || !allowed)
        return status;
    status = marks_read(rq, &marks, err);
    if (status == MST_OK)
        status = mst_upload_submit(rq->desk->store, rq->args[0], marks.ptr, id, err);
    mst_string_free(&marks);
    if (status != MST_OK)
        return status;
    status = submission_listen(rq->desk, id, err);
    if (status != MST_OK)
        return status;
    submission_say(rq->desk, id);
    return submission_reply(rq, id, 201, err);
}
