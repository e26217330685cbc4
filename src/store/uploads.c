/*
 * uploads.c – a recording that comes in parts over a bad line. A part that was
 * acknowledged is on disk; the row says how many bytes that are, and a part
 * that a crash left behind it is simply written over.
 */
#include "store.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <mistara/classbook.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define COLUMNS "id,person,assignment,type,bytes,have,made_ms"

static void row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_upload *out = place;
    *out = (struct mst_upload){.id = query_text(q, 0, arena),
                               .person = query_text(q, 1, arena),
                               .assignment = query_text(q, 2, arena),
                               .type = query_text(q, 3, arena),
                               .bytes = query_integer(q, 4),
                               .have = query_integer(q, 5),
                               .made_ms = query_integer(q, 6)};
}

static void path_of(const struct mst_store *store, const char *id, char path[PATH_MAX])
{
    snprintf(path, PATH_MAX, "%s/uploads/%s", store->folder, id);
}

const char *mst_upload_path(const struct mst_store *store, const char *id, struct mst_arena *arena)
{
    return mst_store_is_id(id) ? store_path(store, arena, "uploads/%s", id) : NULL;
}

static enum mst_status not_written(int errnum, struct mst_error *err)
{
    return mst_fail_errno(err, MST_IO, errnum,
                          errnum == ENOSPC || errnum == EDQUOT || errnum == EFBIG
                              ? "the disk is full: the recording cannot be kept yet"
                              : "the recording cannot be written to the data folder");
}

enum mst_status mst_upload_open(struct mst_store *store, const char *person, const char *assignment,
                                const char *type, int64_t bytes, char id[MST_ID_SIZE],
                                struct mst_error *err)
{
    char path[PATH_MAX];
    int64_t rows = 0;
    if (bytes <= 0)
        return mst_fail(err, MST_USAGE, "a recording has at least one byte");
    mst_store_new_id(id);
    path_of(store, id, path);
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0)
        return not_written(errno, err);
    int errnum = mst_name_sync(path);
    close(fd);
    enum mst_status status = errnum ? not_written(errnum, err) : MST_OK;
    /* Only for an assignment of their own class. */
    if (status == MST_OK)
        status = db_do(&store->db, err, &rows,
                       "INSERT INTO upload(" COLUMNS ") SELECT $1,p.id,$2,$3,$4,0,$5 FROM person p "
                       "WHERE p.id=$6 AND ($7='' OR EXISTS(SELECT 1 FROM assignment a WHERE "
                       "a.id=$8 AND a.class=p.class))",
                       "tttiittt", id, assignment, type, bytes, mst_store_now_ms(), person,
                       assignment ? assignment : "", assignment ? assignment : "");
    if (status == MST_OK && rows == 0)
        status = store_no_such(assignment ? "assignment" : "person",
                               assignment ? assignment : person, err);
    /* Where the book itself failed, the row may be there when it is opened again, and wants its
     * file; a file without a row is swept up then. */
    if (errnum || status == MST_NOT_FOUND)
        unlink(path);
    return status;
}

enum mst_status mst_upload_get(struct mst_store *store, const char *id, struct mst_arena *arena,
                               struct mst_upload *out, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "SELECT " COLUMNS " FROM upload WHERE id=$1", "t", id);
    return store_one(&q, row, arena, out, "upload", id, err);
}

enum mst_status mst_upload_list(struct mst_store *store, const char *person,
                                struct mst_arena *arena, struct mst_upload **out, size_t *count,
                                struct mst_error *err)
{
    struct query q = query_begin(
        &store->db, err, "SELECT " COLUMNS " FROM upload WHERE person=$1 ORDER BY made_ms, id", "t",
        person);
    *out = query_rows(&q, sizeof **out, row, arena, count);
    return query_end(&q);
}

/* The bytes at their place and on the disk; 0, or an errno. */
static int write_part(const char *path, int64_t offset, const char *bytes, size_t len)
{
    int errnum = 0, fd = open(path, O_WRONLY | O_CLOEXEC);
    if (fd < 0)
        return errno;
    while (len > 0 && !errnum) {
        ssize_t put = pwrite(fd, bytes, len, offset);
        if (put < 0) {
            errnum = errno == EINTR ? 0 : errno;
            continue;
        }
        bytes += put;
        offset += put;
        len -= (size_t)put;
    }
    if (!errnum && fdatasync(fd) != 0)
        errnum = errno;
    close(fd);
    return errnum;
}

static pthread_mutex_t *lock_of(struct mst_store *store, const char *id)
{
    unsigned sum = 0;
    for (const char *letter = id; *letter; letter++)
        sum = sum * 31 + (unsigned char)*letter;
    return &store->upload_locks[sum % UPLOAD_LOCKS];
}

enum mst_status mst_upload_append(struct mst_store *store, const char *id, int64_t offset,
                                  const void *bytes, size_t len, int64_t *have,
                                  struct mst_error *err)
{
    char path[PATH_MAX];
    struct mst_upload upload;
    *have = 0;
    struct mst_arena *arena = mst_arena_new(1024);
    if (!arena)
        return store_no_memory(err);
    /* One part at a time: two of the same upload must not mix. */
    pthread_mutex_t *lock = lock_of(store, id);
    pthread_mutex_lock(lock);
    enum mst_status status = mst_upload_get(store, id, arena, &upload, err);
    if (status == MST_OK) {
        *have = upload.have;
        if (offset != upload.have)
            status = mst_fail(err, MST_MISMATCH, "the recording goes on at byte %lld, not at %lld",
                              (long long)upload.have, (long long)offset);
        else if ((int64_t)len > upload.bytes - upload.have)
            status = mst_fail(err, MST_USAGE,
                              "the recording was to have %lld bytes; this part is too much",
                              (long long)upload.bytes);
    }
    if (status == MST_OK) {
        path_of(store, upload.id, path);
        int errnum = write_part(path, offset, bytes, len);
        status = errnum ? not_written(errnum, err) : MST_OK;
    }
    /* Where the book is shared another server may have taken this part already, and the next. */
    int64_t rows = 0;
    if (status == MST_OK)
        status = db_do(&store->db, err, &rows, "UPDATE upload SET have=$1 WHERE id=$2 AND have=$3",
                       "iti", upload.have + (int64_t)len, id, upload.have);
    if (status == MST_OK && rows == 0) {
        status = mst_upload_get(store, id, arena, &upload, err);
        *have = status == MST_OK ? upload.have : 0;
        if (status == MST_OK)
            status = mst_fail(err, MST_MISMATCH, "the recording goes on at byte %lld, not at %lld",
                              (long long)upload.have, (long long)offset);
    } else if (status == MST_OK) {
        *have = upload.have + (int64_t)len;
    }
    pthread_mutex_unlock(lock);
    mst_arena_free(arena);
    return status;
}

static enum mst_status whole(struct mst_store *store, const char *id, struct mst_arena *arena,
                             struct mst_upload *out, struct mst_error *err)
{
    enum mst_status status = mst_upload_get(store, id, arena, out, err);
    if (status == MST_OK && out->have < out->bytes)
        status = mst_fail(err, MST_USAGE,
                          "of the recording %lld of %lld bytes are here; send the "
                          "rest first",
                          (long long)out->have, (long long)out->bytes);
    return status;
}

static enum mst_status drop_file(struct mst_store *store, const char *id, struct mst_error *err)
{
    char path[PATH_MAX];
    path_of(store, id, path);
    if (unlink(path) != 0 && errno != ENOENT)
        return mst_fail_errno(err, MST_IO, errno, "an upload cannot be deleted");
    return MST_OK;
}

enum mst_status mst_upload_drop(struct mst_store *store, const char *id, struct mst_error *err)
{
    if (!mst_store_is_id(id))
        return MST_OK;
    enum mst_status status =
        db_do(&store->db, err, NULL, "DELETE FROM upload WHERE id=$1", "t", id);
    return status == MST_OK ? drop_file(store, id, err) : status;
}

/* Was it handed in before? */
static enum mst_status submitted(struct mst_store *store, const char *id, int *found,
                                 struct mst_error *err)
{
    struct query q = query_begin(&store->db, err, "SELECT 1 FROM submission WHERE id=$1", "t", id);
    *found = query_row(&q);
    return query_end(&q);
}

static enum mst_status hand_in(struct mst_store *store, const struct mst_upload *upload,
                               const char *hash, const char *marks, struct mst_arena *arena,
                               struct mst_error *err)
{
    char take_id[MST_ID_SIZE], id[MST_ID_SIZE];
    struct mst_assignment given;
    int64_t rows = 0;
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = db_do(&store->db, err, &rows, "DELETE FROM upload WHERE id=$1", "t", upload->id);
    if (status == MST_OK && rows == 0)
        status = store_no_such("upload", upload->id, err);
    if (status == MST_OK)
        status = mst_assignment_get(store, upload->assignment, arena, &given, err);
    if (status == MST_OK) {
        struct mst_kept_take take = {.name = given.title,
                                     .passage = given.passage,
                                     .how = given.how,
                                     .hash = hash,
                                     .type = upload->type,
                                     .note = "",
                                     .pins = "[]",
                                     .person = upload->person,
                                     .bytes = upload->bytes};
        status = store_take_insert(store, &take, take_id, err);
    }
    if (status == MST_OK) {
        struct mst_submission submission = {.id = upload->id,
                                            .class_id = given.class_id,
                                            .assignment = given.id,
                                            .person = upload->person,
                                            .passage = given.passage,
                                            .how = given.how,
                                            .marks = marks,
                                            .state = "received"};
        status = store_submission_insert(store, &submission, take_id, id, err);
    }
    return db_settle(&store->db, status, err);
}

enum mst_status mst_upload_submit(struct mst_store *store, const char *upload_id, const char *marks,
                                  char id[MST_ID_SIZE], struct mst_error *err)
{
    char path[PATH_MAX], hash[MST_HASH_HEX_SIZE];
    struct mst_upload upload;
    int before = 0;
    if (!mst_store_is_id(upload_id))
        return store_no_such("upload", upload_id, err);
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        return store_no_memory(err);
    /* Of two at once the second one finds what the first one made. */
    pthread_mutex_t *lock = lock_of(store, upload_id);
    pthread_mutex_lock(lock);
    enum mst_status status = submitted(store, upload_id, &before, err);
    if (status == MST_OK && before) /* what the one that died after it left */
        status = drop_file(store, upload_id, err);
    if (status == MST_OK && !before) {
        status = whole(store, upload_id, arena, &upload, err);
        if (status == MST_OK && !upload.assignment)
            status = mst_fail(err, MST_USAGE, "this recording was sent for no assignment");
        path_of(store, upload_id, path);
        if (status == MST_OK)
            status = store_sound_adopt(store, path, hash, err);
        if (status == MST_OK)
            status = hand_in(store, &upload, hash, marks, arena, err);
        struct mst_error why;
        if (status == MST_NOT_FOUND && submitted(store, upload_id, &before, &why) == MST_OK &&
            before)
            status = MST_OK; /* another server was asked the same at the same moment */
        if (status == MST_OK)
            status = drop_file(store, upload_id, err);
    }
    pthread_mutex_unlock(lock);
    mst_arena_free(arena);
    if (status == MST_OK)
        memcpy(id, upload_id, MST_ID_SIZE);
    return status;
}
