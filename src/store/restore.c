/*
 * restore.c – a backup becomes a folder again. The file may have been tampered
 * with or be no backup at all, so nothing in it is believed: names are those a
 * backup can have, and lead nowhere else; files are plain; together they are
 * no longer than the file; each has the content SUMS says; and the database
 * has exactly our tables and passes its own check. All of it is put together
 * beside the folder and takes its place at the end.
 */
#include "store.h"

#include <archive.h>
#include <archive_entry.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <mistara/backup.h>
#include <mistara/shelf.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

enum { SUMS_MOST = 1 << 28, NAME_MOST = 200 };

struct restoring {
    const char *file;
    char temp[PATH_MAX];
    struct archive *tar;
    struct mst_string sums;   /* as we counted them */
    struct mst_string wanted; /* as the backup says */
    int64_t room;             /* bytes there can still be */
    struct mst_backup_result *out;
};

static enum mst_status no_backup(const struct restoring *r, struct mst_error *err, const char *why)
{
    return mst_fail(err, MST_BAD_DATA, "“%.160s” is no backup that can be trusted: %s", r->file,
                    why);
}

/* --- names ------------------------------------------------------------------------- */

static int is_hash(const char *text, size_t len)
{
    return len == MST_HASH_HEX_SIZE - 1 && strspn(text, "0123456789abcdef") >= len;
}

static int is_id(const char *text, size_t len)
{
    char id[MST_ID_SIZE];
    if (len != MST_ID_SIZE - 1)
        return 0;
    memcpy(id, text, len);
    id[len] = '\0';
    return mst_store_is_id(id);
}

/* One name in a folder: visible, no control characters. */
static int is_plain(const char *text, size_t len)
{
    if (len == 0 || len > NAME_MOST || text[0] == '.')
        return 0;
    for (size_t n = 0; n < len; n++)
        if ((unsigned char)text[n] < 0x20 || text[n] == 0x7f || text[n] == '\\')
            return 0;
    return 1;
}

static int is_voice(const char *text, size_t len)
{
    static const char ending[] = ".voice";
    char name[NAME_MOST];
    if (len <= strlen(ending) || len >= sizeof name ||
        memcmp(text + len - strlen(ending), ending, strlen(ending)) != 0)
        return 0;
    memcpy(name, text, len - strlen(ending));
    name[len - strlen(ending)] = '\0';
    return mst_shelf_check_name(name, NULL) == MST_OK;
}

/* The names that a backup has, and no others. */
static int name_allowed(const char *name)
{
    enum { DEEPEST = 5 };
    struct mst_span part[DEEPEST];
    int parts = 0;
    for (const char *at = name;; at++) {
        const char *end = at + strcspn(at, "/");
        if (parts == DEEPEST || !is_plain(at, (size_t)(end - at)))
            return 0;
        part[parts++] = (struct mst_span){at, (size_t)(end - at)};
        at = end;
        if (!*at)
            break;
    }
    if (parts == 1)
        return strcmp(name, "README") == 0 || strcmp(name, "mistara.db") == 0 ||
               strcmp(name, "SUMS") == 0;
    if (mst_span_equal(part[0], MST_SPAN("sound")))
        return parts == 3 && is_hash(part[2].ptr, part[2].len) && part[1].len == 2 &&
               memcmp(part[1].ptr, part[2].ptr, 2) == 0;
    if (mst_span_equal(part[0], MST_SPAN("uploads")))
        return parts == 2 && is_id(part[1].ptr, part[1].len);
    if (mst_span_equal(part[0], MST_SPAN("voices")))
        return parts == 2 && is_voice(part[1].ptr, part[1].len);
    if (mst_span_equal(part[0], MST_SPAN("reports")) || mst_span_equal(part[0], MST_SPAN("work")))
        return parts >= 3 && is_id(part[1].ptr, part[1].len);
    return 0;
}

/* --- one file of it ------------------------------------------------------------------- */

static enum mst_status open_below(struct restoring *r, const char *name, int *fd,
                                  struct mst_error *err)
{
    char path[PATH_MAX + 1024];
    if (snprintf(path, sizeof path, "%s/%s", r->temp, name) >= PATH_MAX)
        return no_backup(r, err, "a name in it is too long");
    for (char *at = strchr(path + strlen(r->temp) + 1, '/'); at; at = strchr(at + 1, '/')) {
        *at = '\0';
        if (mkdir(path, 0700) != 0 && errno != EEXIST)
            return mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be made", path);
        *at = '/';
    }
    *fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (*fd < 0 && errno == EEXIST)
        return no_backup(r, err, "a file is in it twice");
    return *fd < 0 ? mst_fail_errno(err, MST_IO, errno, "“%.200s” cannot be written", path)
                   : MST_OK;
}

static enum mst_status take_part(struct restoring *r, int fd, const char *bytes, size_t len,
                                 struct mst_error *err)
{
    if ((int64_t)len > r->room)
        return no_backup(r, err, "what is in it is larger than itself");
    r->room -= (int64_t)len;
    while (fd >= 0 && len > 0) {
        ssize_t put = write(fd, bytes, len);
        if (put < 0 && errno == EINTR)
            continue;
        if (put < 0)
            return mst_fail_errno(err, MST_IO, errno, "the backup cannot be unpacked%s",
                                  errno == ENOSPC ? ": the disk is full" : "");
        bytes += put;
        len -= (size_t)put;
    }
    return MST_OK;
}

/* The first line of the README says what made it. */
static enum mst_status made_by_us(const struct restoring *r, const char *text, size_t len,
                                  struct mst_error *err)
{
    static const char begins[] = "Mistara backup ";
    size_t named = strlen(begins);
    if (len <= named || memcmp(text, begins, named) != 0)
        return no_backup(r, err, "it is something else");
    return len > named + 1 && memcmp(text + named, "1\n", 2) == 0
               ? MST_OK
               : mst_fail(err, MST_BAD_DATA,
                          "“%.160s” was made by a later Mistara than this; use that to restore it",
                          r->file);
}

static enum mst_status take_file(struct restoring *r, const char *name, struct mst_error *err)
{
    int is_sums = strcmp(name, "SUMS") == 0, is_readme = strcmp(name, "README") == 0, fd = -1;
    crypto_generichash_state state;
    uint8_t hash[MST_KEY_BYTES];
    char hex[MST_HASH_HEX_SIZE], part[1 << 16];
    la_ssize_t got = 0;
    int read = 0;
    enum mst_status status = is_sums || is_readme ? MST_OK : open_below(r, name, &fd, err);
    crypto_generichash_init(&state, NULL, 0, sizeof hash);
    while (status == MST_OK && (got = archive_read_data(r->tar, part, sizeof part)) > 0) {
        crypto_generichash_update(&state, (const uint8_t *)part, (size_t)got);
        status = take_part(r, fd, part, (size_t)got, err);
        if (is_readme && status == MST_OK && !read++)
            status = made_by_us(r, part, (size_t)got, err);
        if (is_sums && status == MST_OK && r->wanted.len + (size_t)got <= SUMS_MOST)
            mst_string_add(&r->wanted, part, (size_t)got);
    }
    if (status == MST_OK && got < 0)
        status = no_backup(r, err, "it is cut off or damaged");
    if (status == MST_OK && is_readme && !read)
        status = no_backup(r, err, "it is something else");
    if (fd >= 0)
        close(fd); /* settle() brings all of them to the disk at once */
    if (status != MST_OK || is_sums)
        return status;
    crypto_generichash_final(&state, hash, sizeof hash);
    sodium_bin2hex(hex, sizeof hex, hash, sizeof hash);
    mst_string_addf(&r->sums, "%s  %s\n", hex, name);
    r->out->files += !is_readme;
    return MST_OK;
}

static enum mst_status unpack(struct restoring *r, struct mst_error *err)
{
    struct archive_entry *entry;
    enum mst_status status = MST_OK;
    int code, first = 1, last = 0;
    while (status == MST_OK && (code = archive_read_next_header(r->tar, &entry)) == ARCHIVE_OK) {
        const char *name = archive_entry_pathname(entry);
        if (!name || !name_allowed(name))
            status = no_backup(r, err, "a name in it is none that a backup has");
        else if (archive_entry_filetype(entry) != AE_IFREG || archive_entry_hardlink(entry) ||
                 archive_entry_symlink(entry))
            status = no_backup(r, err, "there is something else than plain files in it");
        else if (first != (strcmp(name, "README") == 0) || last)
            status = no_backup(r, err, "its files are not in the order of a backup");
        else
            status = take_file(r, name, err);
        last = status == MST_OK && strcmp(name, "SUMS") == 0;
        first = 0;
    }
    if (status == MST_OK && (code != ARCHIVE_EOF || !last))
        status = first ? no_backup(r, err, "it is something else")
                       : no_backup(r, err, "it is cut off or damaged");
    if (status == MST_OK && (r->sums.failed || r->wanted.failed))
        status = store_no_memory(err);
    if (status == MST_OK &&
        (r->sums.len != r->wanted.len || memcmp(r->sums.ptr, r->wanted.ptr, r->sums.len) != 0))
        status = no_backup(r, err, "its files are not those that its list says");
    return status;
}

/* --- the database of it ------------------------------------------------------------------- */

/* Receipts of the new folder name the backup it came from, as it holds the same people. */
static enum mst_status list_itself(struct restoring *r, struct mst_store *store,
                                   struct mst_error *err)
{
    char id[MST_ID_SIZE];
    uint8_t hash[MST_KEY_BYTES];
    struct mst_map map;
    struct stat info;
    const char *slash = strrchr(r->file, '/'), *name = slash ? slash + 1 : r->file;
    enum mst_status status = mst_map_open(r->file, &map, err);
    if (status != MST_OK)
        return status;
    crypto_generichash(hash, sizeof hash, map.ptr, map.len, NULL, 0);
    mst_map_close(&map);
    sodium_bin2hex(r->out->digest, sizeof r->out->digest, hash, sizeof hash);
    struct query q = query_begin(&store->db, err, "SELECT max(made_ms) FROM person", "");
    if (query_row(&q))
        r->out->made_ms = query_integer(&q, 0);
    status = query_end(&q);
    if (stat(r->file, &info) == 0 && (int64_t)info.st_mtime * 1000 > r->out->made_ms)
        r->out->made_ms = (int64_t)info.st_mtime * 1000;
    mst_store_new_id(id);
    return status == MST_OK
               ? db_do(&store->db, err, NULL,
                       "INSERT INTO backup(id,name,made_ms,bytes,digest) VALUES($1,$2,$3,$4,$5)",
                       "ttiit", id, name, r->out->made_ms, r->out->bytes, r->out->digest)
               : status;
}

static enum mst_status book_in_order(struct restoring *r, struct mst_error *err)
{
    char path[PATH_MAX + 16];
    struct mst_store *store = NULL;
    const char **problems;
    size_t count = 0;
    snprintf(path, sizeof path, "%s/mistara.db", r->temp);
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        return store_no_memory(err);
    enum mst_status status = store_stranger_is_book(path, err);
    if (status == MST_OK)
        status = mst_store_open(r->temp, &store, err);
    if (status == MST_OK)
        status = mst_store_check(store, err);
    if (status == MST_OK)
        status = db_do(&store->db, err, NULL, "DELETE FROM session", "");
    if (status == MST_OK)
        status = db_do(&store->db, err, NULL, "DELETE FROM join_code", "");
    if (status == MST_OK)
        status = list_itself(r, store, err);
    if (status == MST_OK)
        status = store_check_files(store, arena, &problems, &count, err);
    /* Not a reason to refuse: whoever restores has nothing better. */
    r->out->missing = (int)count;
    mst_store_close(store);
    mst_arena_free(arena);
    return status;
}

/* --- the place of it ---------------------------------------------------------------------- */

static enum mst_status place_is_free(const char *folder, struct mst_error *err)
{
    char path[PATH_MAX];
    struct stat info;
    if (stat(folder, &info) != 0)
        return errno == ENOENT ? MST_OK
                               : mst_fail_errno(err, MST_IO, errno,
                                                "the folder “%.200s” cannot be looked at", folder);
    if (!S_ISDIR(info.st_mode))
        return mst_fail(err, MST_USAGE, "“%.200s” is a file; name a new folder", folder);
    snprintf(path, sizeof path, "%s/lock", folder);
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    int used = fd >= 0 && flock(fd, LOCK_EX | LOCK_NB) != 0;
    if (fd >= 0)
        close(fd);
    if (used)
        return mst_fail(err, MST_USAGE,
                        "the folder “%.200s” is in use by a desk; name a new folder", folder);
    DIR *dir = opendir(folder);
    if (!dir)
        return mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be used", folder);
    int entries = 0;
    for (struct dirent *entry; !entries && (entry = readdir(dir)) != NULL;)
        entries = strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    closedir(dir);
    return entries ? mst_fail(err, MST_USAGE,
                              "the folder “%.200s” is not empty; a backup is restored into a new "
                              "one, so that nothing is lost",
                              folder)
                   : MST_OK;
}

static enum mst_status settle(struct restoring *r, const char *folder, struct mst_error *err)
{
    int errnum = store_folder_sync(r->temp);
    if (!errnum &&
        rename(r->temp, folder) != 0) /* also in place of an empty one, and of no other */
        errnum = errno;
    if (!errnum) {
        *r->temp = '\0';
        errnum = mst_name_sync(folder);
    }
    return errnum
               ? mst_fail_errno(err, MST_IO, errnum, "the folder “%.200s” cannot be made", folder)
               : MST_OK;
}

enum mst_status mst_backup_restore(const char *file, const char *folder,
                                   struct mst_backup_result *out, struct mst_error *err)
{
    char place[PATH_MAX];
    struct stat info;
    struct restoring r = {.file = file, .out = out};
    *out = (struct mst_backup_result){0};
    if (sodium_init() < 0)
        return mst_fail(err, MST_UNSUPPORTED, "this machine gives no random numbers");
    if (stat(file, &info) != 0)
        return mst_fail_errno(err, errno == ENOENT ? MST_NOT_FOUND : MST_IO, errno,
                              "there is no file “%.200s”", file);
    if (!S_ISREG(info.st_mode))
        return no_backup(&r, err, "it is a folder or a device");
    snprintf(place, sizeof place, "%s", folder);
    for (size_t len = strlen(place); len > 1 && place[len - 1] == '/'; len--)
        place[len - 1] = '\0';
    enum mst_status status = place_is_free(place, err);
    if (status != MST_OK)
        return status;
    out->bytes = info.st_size;
    r.room = info.st_size;
    if (snprintf(r.temp, sizeof r.temp, "%s.part-XXXXXX", place) >= (int)sizeof r.temp - 64)
        return mst_fail(err, MST_USAGE, "the name of the folder is too long");
    if (!mkdtemp(r.temp))
        return mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be made", place);
    r.tar = archive_read_new();
    if (!r.tar || archive_read_support_format_tar(r.tar) != ARCHIVE_OK)
        status = store_no_memory(err);
    else if (archive_read_open_filename(r.tar, file, 1 << 16) != ARCHIVE_OK)
        status = no_backup(&r, err, "it is something else");
    if (status == MST_OK)
        status = unpack(&r, err);
    if (r.tar)
        archive_read_free(r.tar);
    if (status == MST_OK)
        status = book_in_order(&r, err);
    if (status == MST_OK)
        status = settle(&r, place, err);
    if (*r.temp)
        (void)!store_folder_remove(r.temp, NULL);
    mst_string_free(&r.sums);
    mst_string_free(&r.wanted);
    return status;
}
