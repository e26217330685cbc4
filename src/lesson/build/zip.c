/*
 * zip.c – the folder as one zip (minizip). The same files give the same bytes
 * each time: every entry carries the same date, in the order of the folder.
 */
#include "parts.h"

#include <errno.h>
#include <minizip/zip.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <zlib.h>

/* PKWARE APPNOTE 6.3: made by unix (3), version 2.0; bit 11: names are UTF-8. */
enum { MADE_BY = 3 << 8 | 20, NAMES_UTF8 = 1 << 11, BLOCK = 64 * 1024 };

/* Packed already: nothing is won by packing again. */
static int packed(const char *path)
{
    static const char *const endings[] = {".png", ".flac", ".mp4", ".webm", ".pdf"};
    const char *dot = strrchr(path, '.');
    for (size_t n = 0; dot && n < sizeof endings / sizeof endings[0]; n++)
        if (strcmp(dot, endings[n]) == 0)
            return 1;
    return 0;
}

static enum mst_status copy(struct build *b, zipFile zip, FILE *file, double done, double share)
{
    char block[BLOCK];
    struct stat info;
    double size = fstat(fileno(file), &info) == 0 && info.st_size > 0 ? (double)info.st_size : 1;
    double read = 0;
    for (size_t len; (len = fread(block, 1, sizeof block, file)) > 0;) {
        if (zipWriteInFileInZip(zip, block, (unsigned)len) != ZIP_OK)
            return mst_fail_errno(b->err, MST_IO, errno,
                                  "the zip could not be written; is the disk full?");
        read += (double)len;
        enum mst_status status = mst_build_tell(b, done + share * read / size);
        if (status != MST_OK)
            return status;
    }
    return ferror(file) ? mst_fail_errno(b->err, MST_IO, errno, "a file could not be read again")
                        : MST_OK;
}

static enum mst_status add(struct build *b, zipFile zip, const char *top, int32_t n)
{
    const struct mst_built_file *f = &b->out->files[n];
    /* the earliest date a zip can tell; tm_year counts whole years here */
    zip_fileinfo about = {.tmz_date = {.tm_mday = 1, .tm_mon = 0, .tm_year = 1980},
                          .external_fa = (uLong)(S_IFREG | 0644) << 16};
    const char *path = mst_arena_printf(b->arena, "%s/%s", b->folder, f->path);
    const char *name = mst_arena_printf(b->arena, "%s/%s", top, f->path);
    FILE *file = path && name ? fopen(path, "rbe") : NULL;
    if (!path || !name)
        return mst_build_no_memory(b->err);
    if (!file)
        return mst_fail_errno(b->err, MST_IO, errno, "“%s” could not be read again", f->path);
    enum mst_status status = MST_OK;
    if (zipOpenNewFileInZip4_64(zip, name, &about, NULL, 0, NULL, 0, NULL,
                                packed(name) ? 0 : Z_DEFLATED, Z_DEFAULT_COMPRESSION, 0, -MAX_WBITS,
                                DEF_MEM_LEVEL, Z_DEFAULT_STRATEGY, NULL, 0, MADE_BY, NAMES_UTF8,
                                f->bytes > INT32_MAX) != ZIP_OK)
        status = mst_fail(b->err, MST_IO, "the zip could not be written; is the disk full?");
    else {
        double share = 1.0 / b->out->file_count;
        status = copy(b, zip, file, n * share, share);
        if (zipCloseFileInZip(zip) != ZIP_OK && status == MST_OK)
            status = mst_fail(b->err, MST_IO, "the zip could not be written; is the disk full?");
    }
    fclose(file);
    return status;
}

enum mst_status mst_build_zip(struct build *b, const char *path, const char *top)
{
    zipFile zip = zipOpen64(path, APPEND_STATUS_CREATE);
    if (!zip)
        return mst_fail_errno(b->err, MST_IO, errno,
                              "cannot write “%s”: check the folder and its permissions", path);
    enum mst_status status = MST_OK;
    for (int32_t n = 0; status == MST_OK && n < b->out->file_count; n++)
        status = add(b, zip, top, n);
    if (zipClose(zip, NULL) != ZIP_OK && status == MST_OK)
        status = mst_fail(b->err, MST_IO, "the zip could not be written; is the disk full?");
    return status;
}
