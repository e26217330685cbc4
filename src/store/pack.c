/* pack.c – a tar file through libarchive, or a folder beside its place until it is whole. */
#include "pack.h"
#include "store.h"

#include <archive.h>
#include <archive_entry.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PART_BYTES = 1 << 18 };

struct pack {
    crypto_generichash_state whole, one;
    struct archive *tar;      /* NULL: a folder */
    struct mst_outfile *file; /* the tar file */
    char *folder, *temp;      /* where it is to be, and is meanwhile */
    struct mst_string sums;
    int64_t bytes;
    int count, fd; /* of the file under way in a folder */
    char part[PART_BYTES];
};

static void pack_free(struct pack *pack)
{
    mst_string_free(&pack->sums);
    free(pack->folder);
    free(pack->temp);
    free(pack);
}

static struct pack *pack_new(struct mst_error *err)
{
    size_t size = (sizeof(struct pack) + 63) / 64 * 64; /* the states of the hashes want 64 */
    struct pack *pack = aligned_alloc(64, size);
    if (pack) {
        memset(pack, 0, size);
        pack->fd = -1;
    } else {
        (void)!store_no_memory(err);
    }
    return pack;
}

static la_ssize_t put(struct archive *tar, void *data, const void *bytes, size_t len)
{
    struct pack *pack = data;
    (void)tar;
    crypto_generichash_update(&pack->whole, bytes, len);
    pack->bytes += (int64_t)len;
    if (pack->file)
        mst_outfile_write(pack->file, bytes, len); /* what fails is told when it is closed */
    return (la_ssize_t)len;
}

static enum mst_status tar_failed(struct pack *pack, struct mst_error *err)
{
    const char *why = archive_error_string(pack->tar);
    return mst_fail(err, MST_IO, "the file cannot be put together: %.200s", why ? why : "");
}

enum mst_status pack_open_tar(const char *file, struct pack **out, struct mst_error *err)
{
    *out = NULL;
    if (access(file, F_OK) == 0)
        return mst_fail(err, MST_USAGE, "“%.200s” is there already; give another name", file);
    struct pack *pack = pack_new(err);
    if (!pack)
        return MST_NO_MEMORY;
    crypto_generichash_init(&pack->whole, NULL, 0, MST_KEY_BYTES);
    enum mst_status status = mst_outfile_open(file, &pack->file, err);
    if (status == MST_OK && chmod(mst_outfile_temp_path(pack->file), 0600) != 0)
        status = mst_fail_errno(err, MST_IO, errno, "“%.200s” cannot be made private", file);
    if (status == MST_OK) {
        pack->tar = archive_write_new();
        /* GNU's form: names as their bytes, whatever language this program was started in. */
        if (!pack->tar || archive_write_set_format_gnutar(pack->tar) != ARCHIVE_OK ||
            archive_write_set_bytes_in_last_block(pack->tar, 1) != ARCHIVE_OK ||
            archive_write_open(pack->tar, pack, NULL, put, NULL) != ARCHIVE_OK)
            status = pack->tar ? tar_failed(pack, err) : store_no_memory(err);
    }
    if (status != MST_OK) {
        pack_drop(pack);
        return status;
    }
    *out = pack;
    return MST_OK;
}

enum mst_status pack_open_folder(const char *folder, struct pack **out, struct mst_error *err)
{
    *out = NULL;
    if (access(folder, F_OK) == 0)
        return mst_fail(err, MST_USAGE, "“%.200s” is there already; give another name", folder);
    struct pack *pack = pack_new(err);
    if (!pack)
        return MST_NO_MEMORY;
    pack->folder = strdup(folder);
    for (size_t len = pack->folder ? strlen(pack->folder) : 0;
         len > 1 && pack->folder[len - 1] == '/'; len--)
        pack->folder[len - 1] = '\0';
    if (!pack->folder || asprintf(&pack->temp, "%s.part-XXXXXX", pack->folder) < 0) {
        pack->temp = NULL;
        pack_drop(pack);
        return store_no_memory(err);
    }
    if (!mkdtemp(pack->temp)) {
        enum mst_status status =
            mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be made", folder);
        free(pack->temp);
        pack->temp = NULL;
        pack_drop(pack);
        return status;
    }
    *out = pack;
    return MST_OK;
}

/* --- one file ------------------------------------------------------------------------ */

static enum mst_status folder_begin(struct pack *pack, const char *name, struct mst_error *err)
{
    char path[PATH_MAX];
    if (snprintf(path, sizeof path, "%s/%s", pack->temp, name) >= (int)sizeof path)
        return mst_fail(err, MST_USAGE, "the name “%.200s” is too long", name);
    for (char *at = strchr(path + strlen(pack->temp) + 1, '/'); at; at = strchr(at + 1, '/')) {
        *at = '\0';
        if (mkdir(path, 0700) != 0 && errno != EEXIST)
            return mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be made", path);
        *at = '/';
    }
    pack->fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    return pack->fd < 0 ? mst_fail_errno(err, MST_IO, errno, "“%.200s” cannot be written", path)
                        : MST_OK;
}

static enum mst_status one_begin(struct pack *pack, const char *name, int64_t size, int64_t mtime,
                                 struct mst_error *err)
{
    crypto_generichash_init(&pack->one, NULL, 0, MST_KEY_BYTES);
    if (!pack->tar)
        return folder_begin(pack, name, err);
    struct archive_entry *entry = archive_entry_new();
    if (!entry)
        return store_no_memory(err);
    archive_entry_set_pathname(entry, name);
    archive_entry_set_size(entry, size);
    archive_entry_set_filetype(entry, AE_IFREG);
    archive_entry_set_perm(entry, 0600);
    archive_entry_set_mtime(entry, mtime, 0);
    enum mst_status status =
        archive_write_header(pack->tar, entry) == ARCHIVE_OK ? MST_OK : tar_failed(pack, err);
    archive_entry_free(entry);
    return status;
}

static enum mst_status one_write(struct pack *pack, const char *bytes, size_t len,
                                 struct mst_error *err)
{
    crypto_generichash_update(&pack->one, (const uint8_t *)bytes, len);
    if (pack->tar)
        return archive_write_data(pack->tar, bytes, len) == (la_ssize_t)len ? MST_OK
                                                                            : tar_failed(pack, err);
    while (len > 0) {
        ssize_t done = write(pack->fd, bytes, len);
        if (done < 0 && errno == EINTR)
            continue;
        if (done < 0)
            return mst_fail_errno(err, MST_IO, errno, "“%.200s” cannot be written%s", pack->folder,
                                  errno == ENOSPC ? ": the disk is full" : "");
        bytes += done;
        len -= (size_t)done;
    }
    return MST_OK;
}

static enum mst_status one_end(struct pack *pack, const char *name, enum mst_status status,
                               char hex[MST_HASH_HEX_SIZE])
{
    uint8_t hash[MST_KEY_BYTES];
    if (pack->fd >= 0)
        close(pack->fd); /* folder_close() brings all of them to the disk */
    pack->fd = -1;
    crypto_generichash_final(&pack->one, hash, sizeof hash);
    sodium_bin2hex(hex, MST_HASH_HEX_SIZE, hash, sizeof hash);
    mst_string_addf(&pack->sums, "%s  %s\n", hex, name);
    pack->count++;
    return status;
}

static enum mst_status add(struct pack *pack, const char *name, const char *bytes, size_t len,
                           struct mst_error *err)
{
    enum mst_status status = one_begin(pack, name, (int64_t)len, mst_store_now_ms() / 1000, err);
    if (status == MST_OK)
        status = one_write(pack, bytes, len, err);
    char hash[MST_HASH_HEX_SIZE];
    return one_end(pack, name, status, hash);
}

enum mst_status pack_bytes(struct pack *pack, const char *name, const void *bytes, size_t len,
                           struct mst_error *err)
{
    return add(pack, name, bytes, len, err);
}

static enum mst_status add_fd(struct pack *pack, const char *name, int fd, const struct stat *info,
                              int64_t limit, char hash[MST_HASH_HEX_SIZE], struct mst_error *err)
{
    int64_t left = limit >= 0 && limit < info->st_size ? limit : info->st_size;
    enum mst_status status = one_begin(pack, name, left, info->st_mtime, err);
    for (off_t at = 0; status == MST_OK && left > 0;) {
        ssize_t got = pread(fd, pack->part, left < PART_BYTES ? (size_t)left : PART_BYTES, at);
        if (got < 0 && errno == EINTR)
            continue;
        if (got <= 0) {
            status = mst_fail_errno(err, MST_IO, got < 0 ? errno : 0,
                                    "“%.200s” was changed while it was read; try again", name);
            break;
        }
        status = one_write(pack, pack->part, (size_t)got, err);
        at += got;
        left -= got;
    }
    return one_end(pack, name, status, hash);
}

enum mst_status pack_file(struct pack *pack, const char *name, const char *path, int64_t limit,
                          int *there, char hash[MST_HASH_HEX_SIZE], struct mst_error *err)
{
    struct stat info;
    *there = 0;
    int fd = open(path, O_RDONLY | O_NOFOLLOW | O_CLOEXEC);
    if (fd < 0 && errno == ENOENT)
        return MST_OK;
    *there = fd >= 0 && fstat(fd, &info) == 0 && S_ISREG(info.st_mode);
    enum mst_status status =
        *there ? add_fd(pack, name, fd, &info, limit, hash, err)
               : mst_fail_errno(err, MST_IO, fd < 0 ? errno : 0, "“%.200s” cannot be read", path);
    if (fd >= 0)
        close(fd);
    return status;
}

enum mst_status pack_fd(struct pack *pack, const char *name, int fd, struct mst_error *err)
{
    struct stat info;
    char hash[MST_HASH_HEX_SIZE];
    if (fstat(fd, &info) != 0)
        return mst_fail_errno(err, MST_IO, errno, "“%.200s” cannot be read", name);
    return add_fd(pack, name, fd, &info, -1, hash, err);
}

/* --- the end --------------------------------------------------------------------------- */

static enum mst_status folder_close(struct pack *pack, struct mst_error *err)
{
    int errnum = store_folder_sync(pack->temp);
    if (!errnum && rename(pack->temp, pack->folder) != 0)
        errnum = errno;
    if (errnum)
        return mst_fail_errno(err, MST_IO, errnum, "“%.200s” cannot be written", pack->folder);
    free(pack->temp);
    pack->temp = NULL; /* nothing to take back any more */
    errnum = mst_name_sync(pack->folder);
    return errnum ? mst_fail_errno(err, MST_IO, errnum, "“%.200s” could not be written safely",
                                   pack->folder)
                  : MST_OK;
}

enum mst_status pack_close(struct pack *pack, int64_t *bytes, char digest[MST_HASH_HEX_SIZE],
                           struct mst_error *err)
{
    uint8_t hash[MST_KEY_BYTES];
    struct mst_string sums = pack->sums;
    pack->sums = (struct mst_string){0};
    enum mst_status status = sums.failed
                                 ? store_no_memory(err)
                                 : add(pack, "SUMS", sums.ptr ? sums.ptr : "", sums.len, err);
    mst_string_free(&sums);
    *bytes = 0;
    *digest = '\0';
    if (status == MST_OK && !pack->tar)
        status = folder_close(pack, err);
    else if (status == MST_OK) {
        if (archive_write_close(pack->tar) != ARCHIVE_OK)
            status = tar_failed(pack, err);
        if (status == MST_OK) {
            struct mst_outfile *file = pack->file;
            pack->file = NULL;
            status = mst_outfile_commit(file, err);
        }
        crypto_generichash_final(&pack->whole, hash, sizeof hash);
        sodium_bin2hex(digest, MST_HASH_HEX_SIZE, hash, sizeof hash);
        *bytes = pack->bytes;
    }
    pack_drop(pack);
    return status;
}

void pack_drop(struct pack *pack)
{
    if (!pack)
        return;
    if (pack->tar)
        archive_write_free(pack->tar); /* may still write: before the file is taken back */
    mst_outfile_abort(pack->file);
    if (pack->fd >= 0)
        close(pack->fd);
    if (pack->temp)
        (void)!store_folder_remove(pack->temp, NULL);
    pack_free(pack);
}

int pack_count(const struct pack *pack)
{
    return pack->count;
}
