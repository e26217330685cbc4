/*
 * api_backups.c – the whole book as one file to carry away, and which such
 * files there are: receipts name them until the teacher says that one was
 * destroyed. The file is nameless in the data folder before the first byte is
 * sent: nothing of it stays behind.
 */
#include "desk.h"

#include <fcntl.h>
#include <mistara/backup.h>
#include <stdio.h>
#include <time.h>
#include <unistd.h>

static void backup_json(struct mst_string *s, const struct mst_backup *backup)
{
    js_open(s, NULL, '{');
    js_text(s, "id", backup->id);
    js_text(s, "name", backup->name);
    js_text(s, "digest", *backup->digest ? backup->digest : NULL);
    js_integer(s, "bytes", backup->bytes);
    js_integer(s, "made_ms", backup->made_ms);
    js_close(s, '}');
}

enum mst_status get_backups(struct request *rq, struct mst_error *err)
{
    struct mst_backup *backups;
    size_t count;
    struct mst_string *s = &rq->reply.body;
    enum mst_status status = mst_backup_list(rq->desk->store, rq->arena, &backups, &count, err);
    if (status != MST_OK)
        return status;
    js_open(s, NULL, '{');
    js_open(s, "backups", '[');
    for (size_t n = 0; n < count; n++)
        backup_json(s, &backups[n]);
    mst_string_adds(s, "]}");
    return MST_OK;
}

enum mst_status post_backups(struct request *rq, struct mst_error *err)
{
    struct mst_backup_result made;
    char name[48], id[MST_ID_SIZE];
    time_t now = time(NULL);
    struct tm at = {0};
    gmtime_r(&now, &at);
    mst_store_new_id(id);
    size_t len = strftime(name, sizeof name, "mistara-%Y%m%d-%H%M%S-", &at);
    snprintf(name + len, sizeof name - len, "%.4s.tar", id); /* two in a second are two */
    enum mst_status status = body_only(rq, "", err);
    char *path =
        mst_arena_printf(rq->arena, "%s/incoming/%s", mst_store_folder(rq->desk->store), name);
    if (status == MST_OK && !path)
        status = no_memory(err);
    if (status == MST_OK)
        status = mst_backup_make(mst_store_folder(rq->desk->store), path, &made, err);
    if (status != MST_OK)
        return status;
    rq->reply.fd = open(path, O_RDONLY | O_CLOEXEC);
    unlink(path);
    if (rq->reply.fd < 0)
        return mst_fail(err, MST_IO, "the backup cannot be read again");
    rq->reply.fd_bytes = (uint64_t)made.bytes;
    rq->reply.type = "application/x-tar";
    reply_header(rq, "Content-Disposition",
                 mst_arena_printf(rq->arena, "attachment; filename=\"%s\"", name));
    return MST_OK;
}

enum mst_status delete_backup(struct request *rq, struct mst_error *err)
{
    enum mst_status status = mst_backup_forget(rq->desk->store, rq->args[0], err);
    rq->reply.status = status == MST_OK ? 204 : 0;
    return status;
}
