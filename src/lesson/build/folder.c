/*
 * folder.c – the folder of a lesson while it is being made: beside its place
 * under another name, its files noted as they come, so that they can be led
 * to, zipped, or taken away again.
 */
#include "parts.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum mst_status mst_build_no_memory(struct mst_error *err)
{
    return mst_fail(err, MST_NO_MEMORY, "memory ran out while building the lesson");
}

enum mst_status mst_build_folder_open(struct build *b, const char *wanted)
{
    b->folder = mst_arena_printf(b->arena, "%s.XXXXXX", wanted);
    if (!b->folder)
        return mst_build_no_memory(b->err);
    if (!mkdtemp(b->folder)) {
        int errnum = errno;
        b->folder = NULL;
        return mst_fail_errno(b->err, MST_IO, errnum, "cannot make a folder beside “%s”: %s",
                              wanted,
                              errnum == ENOENT ? "the folder it is to lie in does not exist"
                                               : "check the folder's permissions and free space");
    }
    return MST_OK;
}

enum mst_status mst_build_subfolder(struct build *b, const char *name)
{
    for (int n = 0; n < b->subfolder_count; n++)
        if (strcmp(b->subfolders[n], name) == 0)
            return MST_OK;
    const char *path = mst_arena_printf(b->arena, "%s/%s", b->folder, name);
    if (!path || b->subfolder_count == BUILD_SUBFOLDERS_MOST)
        return mst_build_no_memory(b->err);
    if (mkdir(path, 0755) != 0)
        return mst_fail_errno(b->err, MST_IO, errno, "cannot make the folder “%s”", path);
    b->subfolders[b->subfolder_count++] = name;
    return MST_OK;
}

void mst_build_subfolder_drop(struct build *b)
{
    char path[2048];
    const char *name = b->subfolders[--b->subfolder_count];
    if (snprintf(path, sizeof path, "%s/%s", b->folder, name) < (int)sizeof path)
        rmdir(path);
}

const char *mst_build_file(struct build *b, const char *name, const char *en, const char *ar)
{
    struct mst_built *out = b->out;
    const char *kept = mst_arena_strndup(b->arena, name, strlen(name));
    if (!kept || !en || !ar)
        return NULL;
    if (out->file_count == b->file_room) {
        int32_t room = b->file_room ? 2 * b->file_room : 64;
        void *grown = mst_arena_grow(b->arena, out->files, (size_t)b->file_room, (size_t)room,
                                     sizeof *out->files);
        if (!grown)
            return NULL;
        out->files = grown;
        b->file_room = room;
    }
    out->files[out->file_count++] =
        (struct mst_built_file){.path = kept, .en = en, .ar = ar, .part = b->part};
    return mst_arena_printf(b->arena, "%s/%s", b->folder, kept);
}

enum mst_status mst_build_file_write(struct build *b, const char *name, const char *en,
                                     const char *ar, struct mst_string *bytes)
{
    const char *path = mst_build_file(b, name, en, ar);
    enum mst_status status = path && !bytes->failed
                                 ? mst_file_write(path, bytes->ptr, bytes->len, b->err)
                                 : mst_build_no_memory(b->err);
    mst_string_free(bytes);
    return status;
}

enum mst_status mst_build_missing(struct build *b, const char *en, const char *ar)
{
    struct mst_built *out = b->out;
    if (out->missing_count == b->missing_room) {
        int32_t room = b->missing_room ? 2 * b->missing_room : 16;
        void *grown = mst_arena_grow(b->arena, out->missing, (size_t)b->missing_room, (size_t)room,
                                     sizeof *out->missing);
        if (!grown)
            return mst_build_no_memory(b->err);
        out->missing = grown;
        b->missing_room = room;
    }
    if (!en || !ar)
        return mst_build_no_memory(b->err);
    out->missing[out->missing_count++] = (struct mst_build_missing){b->part, en, ar};
    return MST_OK;
}

enum mst_status mst_build_folder_settle(struct build *b)
{
    struct stat info;
    for (int32_t n = 0; n < b->out->file_count; n++) {
        const char *path = mst_arena_printf(b->arena, "%s/%s", b->folder, b->out->files[n].path);
        if (!path)
            return mst_build_no_memory(b->err);
        if (stat(path, &info) != 0)
            return mst_fail_errno(b->err, MST_IO, errno, "“%s” is not where it was written", path);
        b->out->files[n].bytes = info.st_size;
    }
    int errnum = 0;
    for (int n = 0; n <= b->subfolder_count && errnum == 0; n++) {
        const char *path = n < b->subfolder_count
                               ? mst_arena_printf(b->arena, "%s/%s", b->folder, b->subfolders[n])
                               : b->folder;
        errnum = path ? mst_folder_sync(path) : ENOMEM;
    }
    if (errnum == 0 && chmod(b->folder, 0755) != 0)
        errnum = errno;
    return errnum
               ? mst_fail_errno(b->err, MST_IO, errnum, "cannot finish the folder “%s”", b->folder)
               : MST_OK;
}

void mst_build_folder_drop(struct build *b)
{
    char path[2048];
    if (!b->folder)
        return;
    for (int32_t n = 0; n < b->out->file_count; n++)
        if (snprintf(path, sizeof path, "%s/%s", b->folder, b->out->files[n].path) <
            (int)sizeof path)
            unlink(path);
    for (int n = 0; n < b->subfolder_count; n++)
        if (snprintf(path, sizeof path, "%s/%s", b->folder, b->subfolders[n]) < (int)sizeof path)
            rmdir(path);
    rmdir(b->folder);
}
