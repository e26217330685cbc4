/*
 * backup.c – the book at one moment, into one file, while the desk goes on:
 * the database is copied in one read of its own (a second connection; the log
 * lets the desk write on meanwhile), then come the files that this copy names.
 * Sounds never change under their names; one that was deleted meanwhile is
 * simply not there; the copy then forgets it, too.
 */
#include "pack.h"
#include "schema.h"
#include "store.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <mistara/backup.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static enum mst_status no_book(const struct mst_store *store, struct mst_error *err)
{
    char path[PATH_MAX];
    snprintf(path, sizeof path, "%s/school", store->folder);
    return access(path, F_OK) == 0
               ? mst_fail(err, MST_UNSUPPORTED,
                          "the book of the folder “%.200s” is in PostgreSQL, which has backups of "
                          "its own (docs/school.md)",
                          store->folder)
               : mst_fail(err, MST_NOT_FOUND, "there is no book in the folder “%.200s”",
                          store->folder);
}

/* A book that nobody of this version has opened yet is brought forward, as the desk would. */
static enum mst_status forward(const char *folder, struct mst_error *err)
{
    struct mst_store *store;
    enum mst_status status = mst_store_open(folder, &store, err);
    if (status == MST_OK)
        mst_store_close(store);
    return status;
}

static enum mst_status look(const char *folder, struct mst_store **out, struct mst_error *err)
{
    const struct mst_store_options options = {.folder = folder};
    char path[PATH_MAX];
    enum mst_status status = store_new(&options, out, err);
    if (status != MST_OK)
        return status;
    snprintf(path, sizeof path, "%s/mistara.db", (*out)->folder);
    if (access(path, F_OK) != 0)
        status = no_book(*out, err);
    if (status == MST_OK)
        status = db_open(&(*out)->db, &db_sqlite, path, err);
    if (status == MST_OK) /* to 0: only looks which version it is, and refuses a later one */
        status = db_sqlite.migrate((*out)->db.lines[0].handle, 0, &(*out)->version, err);
    if (status != MST_OK) {
        mst_store_close(*out);
        *out = NULL;
    }
    return status;
}

enum mst_status store_beside(const char *folder, struct mst_store **out, struct mst_error *err)
{
    enum mst_status status = look(folder, out, err);
    if (status != MST_OK || (*out)->version == SCHEMA_VERSION)
        return status;
    mst_store_close(*out);
    *out = NULL;
    status = forward(folder, err);
    return status == MST_OK ? look(folder, out, err) : status;
}

enum mst_status mst_book_look(const char *folder, struct mst_store **out, struct mst_error *err)
{
    return store_beside(folder, out, err);
}

/* --- what goes into it ---------------------------------------------------------------- */

struct making {
    struct mst_store *book, *copy; /* copy: of the database alone */
    struct pack *pack;
    struct mst_backup_result *out;
    struct mst_arena *arena;
};

struct one_name {
    const char *name;
    int64_t bytes;
};
static void name_row(struct query *q, struct mst_arena *arena, void *place)
{
    *(struct one_name *)place = (struct one_name){query_text(q, 0, arena), query_integer(q, 1)};
}

static enum mst_status names_of(struct making *m, const char *sql, struct one_name **out,
                                size_t *count, struct mst_error *err)
{
    struct query q = query_begin(&m->copy->db, err, sql, "");
    *out = query_rows(&q, sizeof **out, name_row, m->arena, count);
    return query_end(&q);
}

/* Not there: the copy must not say it is. Either it was deleted while we were at it, or it was
 * missing before. */
static enum mst_status sound_absent(struct making *m, const char *hash, struct mst_error *err)
{
    struct query q = query_begin(&m->book->db, err,
                                 "SELECT 1 FROM take WHERE hash=$1 UNION ALL SELECT 1 FROM note "
                                 "WHERE hash=$2",
                                 "tt", hash, hash);
    int wanted = query_row(&q);
    enum mst_status status = query_end(&q);
    if (status != MST_OK)
        return status;
    if (wanted) { /* the row may come to be of use: the sound may be in an older backup */
        m->out->missing++;
        return MST_OK;
    }
    m->out->gone++;
    status = db_do(&m->copy->db, err, NULL, "DELETE FROM take WHERE hash=$1", "t", hash);
    return status == MST_OK
               ? db_do(&m->copy->db, err, NULL, "DELETE FROM note WHERE hash=$1", "t", hash)
               : status;
}

static enum mst_status each_sound(struct making *m, struct mst_error *err)
{
    struct one_name *sounds;
    size_t count;
    enum mst_status status = names_of(m,
                                      "SELECT hash,0 FROM take UNION SELECT hash,0 FROM note "
                                      "WHERE hash IS NOT NULL ORDER BY 1",
                                      &sounds, &count, err);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        char name[128], path[PATH_MAX], hash[MST_HASH_HEX_SIZE];
        const char *wanted = sounds[n].name;
        int there;
        snprintf(name, sizeof name, "sound/%.2s/%.64s", wanted, wanted);
        snprintf(path, sizeof path, "%s/%s", m->book->folder, name);
        status = pack_file(m->pack, name, path, -1, &there, hash, err);
        if (status == MST_OK && !there)
            status = sound_absent(m, wanted, err);
        else if (status == MST_OK)
            m->out->damaged += strcmp(hash, wanted) != 0;
    }
    return status;
}

/* What was acknowledged of each; one that was handed in or given up meanwhile is none any more. */
static enum mst_status each_upload(struct making *m, struct mst_error *err)
{
    struct one_name *uploads;
    size_t count;
    enum mst_status status =
        names_of(m, "SELECT id,have FROM upload ORDER BY id", &uploads, &count, err);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        char name[64], path[PATH_MAX], hash[MST_HASH_HEX_SIZE];
        int there;
        snprintf(name, sizeof name, "uploads/%.16s", uploads[n].name);
        snprintf(path, sizeof path, "%s/%s", m->book->folder, name);
        status = pack_file(m->pack, name, path, uploads[n].bytes, &there, hash, err);
        if (status == MST_OK && !there)
            status = db_do(&m->copy->db, err, NULL, "DELETE FROM upload WHERE id=$1", "t",
                           uploads[n].name);
    }
    return status;
}

/* The plain files of a folder of the book and of those in it, by name; what comes and goes in it
 * meanwhile is of work under way. */
static enum mst_status each_file(struct making *m, const char *below, int depth,
                                 struct mst_error *err)
{
    char path[PATH_MAX], name[PATH_MAX];
    struct dirent **entries;
    enum mst_status status = MST_OK;
    snprintf(path, sizeof path, "%s/%s", m->book->folder, below);
    int count = scandir(path, &entries, NULL, alphasort);
    if (count < 0)
        return errno == ENOENT || errno == ENOTDIR
                   ? MST_OK
                   : mst_fail_errno(err, MST_IO, errno, "“%.200s” cannot be read", path);
    for (int n = 0; n < count; n++) {
        const char *entry = entries[n]->d_name;
        struct stat info;
        char hash[MST_HASH_HEX_SIZE];
        int there,
            fits = snprintf(name, sizeof name, "%s/%s", below, entry) < (int)sizeof name &&
                   snprintf(path, sizeof path, "%s/%s", m->book->folder, name) < (int)sizeof path;
        if (status == MST_OK && fits && *entry != '.' && lstat(path, &info) == 0) {
            size_t len = strlen(entry);
            int half = len > 5 && strcmp(entry + len - 5, ".part") == 0;
            if (S_ISREG(info.st_mode) && !half)
                status = pack_file(m->pack, name, path, -1, &there, hash, err);
            else if (S_ISDIR(info.st_mode) && depth > 0)
                status = each_file(m, name, depth - 1, err);
        }
        free(entries[n]);
    }
    free(entries);
    return status;
}

static enum mst_status each_folder(struct making *m, const char *kind, const char *sql,
                                   struct mst_error *err)
{
    struct one_name *ids;
    size_t count;
    enum mst_status status = names_of(m, sql, &ids, &count, err);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        char below[64];
        snprintf(below, sizeof below, "%s/%.16s", kind, ids[n].name);
        status = each_file(m, below, 2, err);
    }
    return status;
}

static enum mst_status readme(struct making *m, int64_t now_ms, struct mst_error *err)
{
    char when[32];
    time_t seconds = (time_t)(now_ms / 1000);
    struct tm utc;
    gmtime_r(&seconds, &utc);
    strftime(when, sizeof when, "%Y-%m-%dT%H:%M:%SZ", &utc);
    struct mst_string text = {0};
    mst_string_addf(
        &text,
        "Mistara backup 1\n"
        "made %s by Mistara " MISTARA_VERSION ", tables of version %d\n\n"
        "This is the whole book of a class: rows in mistara.db (SQLite), recordings\n"
        "under sound/, reports, voices, and work made from them. It holds recordings of\n"
        "people who trusted a teacher with them: keep it as you would keep those.\n\n"
        "To bring it back:      mistara restore THIS-FILE NEW-FOLDER\n"
        "To see that it is whole, unpack it and:  b2sum -l 256 -c SUMS\n",
        when, m->copy->version);
    enum mst_status status =
        text.failed ? store_no_memory(err) : pack_bytes(m->pack, "README", text.ptr, text.len, err);
    mst_string_free(&text);
    return status;
}

/* Uploads first: they are what changes soonest. The database last: it then knows what was there. */
static enum mst_status fill(struct making *m, int copy_fd, struct mst_error *err)
{
    enum mst_status status = readme(m, mst_store_now_ms(), err);
    if (status == MST_OK)
        status = each_upload(m, err);
    if (status == MST_OK)
        status = each_sound(m, err);
    if (status == MST_OK)
        status = each_folder(m, "reports", "SELECT id,0 FROM take ORDER BY id", err);
    if (status == MST_OK)
        status = each_file(m, "voices", 0, err);
    if (status == MST_OK)
        status = each_folder(m, "work", "SELECT id,0 FROM job WHERE state='done' ORDER BY id", err);
    mst_store_close(m->copy);
    m->copy = NULL;
    return status == MST_OK ? pack_fd(m->pack, "mistara.db", copy_fd, err) : status;
}

/* --- the copy -------------------------------------------------------------------------- */

/*
 * Of the database, in a folder of its own under incoming/, which the desk
 * empties when it opens: a copy that was broken off is not left for long.
 * VACUUM INTO reads at one moment, and copies no page that was deleted from.
 * Through *fd the copy stays readable even if a desk opens now.
 */
static enum mst_status copy_of(struct making *m, char folder[PATH_MAX], int *fd,
                               struct mst_error *err)
{
    static const char *const to_one_file[] = {
        /* A backup signs nobody in, opens no door, and does not list what is only being made. */
        "DELETE FROM session", "DELETE FROM join_code", "DELETE FROM held",
        "DELETE FROM backup WHERE bytes=0",
        /* One file without a log beside it, nor one that would want a place. */
        "PRAGMA journal_mode=DELETE", "PRAGMA journal_mode=MEMORY"};
    char id[MST_ID_SIZE], path[PATH_MAX + 16];
    mst_store_new_id(id);
    snprintf(folder, PATH_MAX, "%s/incoming", m->book->folder);
    enum mst_status status = store_folder_make(folder, err);
    snprintf(folder, PATH_MAX, "%s/incoming/%s", m->book->folder, id);
    if (status == MST_OK)
        status = store_folder_make(folder, err);
    snprintf(path, sizeof path, "%s/mistara.db", folder);
    if (status == MST_OK)
        status = db_do(&m->book->db, err, NULL, "VACUUM INTO $1", "t", path);
    if (status == MST_OK)
        status = store_beside(folder, &m->copy, err);
    *fd = status == MST_OK ? open(path, O_RDONLY | O_CLOEXEC) : -1;
    if (status == MST_OK && *fd < 0)
        status = mst_fail_errno(err, MST_IO, errno, "the copy of the book cannot be read");
    for (size_t n = 0; n < sizeof to_one_file / sizeof to_one_file[0] && status == MST_OK; n++)
        status = db_do(&m->copy->db, err, NULL, to_one_file[n], "");
    return status;
}

/* Who was deleted while we read the book could not be wiped from it then. */
static enum mst_status wipe_what_waited(struct mst_store *book, struct mst_error *err)
{
    struct query q = query_begin(&book->db, err, "SELECT 1 FROM doomed WHERE path='scrub'", "");
    int waits = query_row(&q), done = 0;
    enum mst_status status = query_end(&q);
    if (status == MST_OK && waits)
        status = store_scrub(book, 1, &done, err);
    return status == MST_OK && done
               ? db_do(&book->db, err, NULL, "DELETE FROM doomed WHERE path='scrub'", "")
               : status;
}

static enum mst_status put_together(struct making *m, const char *file, struct mst_error *err)
{
    char folder[PATH_MAX] = "";
    int fd = -1;
    enum mst_status status = pack_open_tar(file, &m->pack, err);
    if (status == MST_OK)
        status = copy_of(m, folder, &fd, err);
    int64_t read_ms = mst_store_now_ms();
    if (status == MST_OK)
        status = fill(m, fd, err);
    mst_store_close(m->copy);
    if (fd >= 0)
        close(fd);
    if (*folder)
        (void)!store_folder_remove(folder, NULL);
    if (status == MST_OK) {
        struct pack *pack = m->pack;
        m->pack = NULL;
        m->out->files = pack_count(pack) - 1; /* without the README */
        m->out->made_ms = read_ms;
        status = pack_close(pack, &m->out->bytes, m->out->digest, err);
    }
    pack_drop(m->pack);
    return status;
}

enum mst_status mst_backup_make(const char *folder, const char *file, struct mst_backup_result *out,
                                struct mst_error *err)
{
    char id[MST_ID_SIZE];
    struct making m = {.out = out};
    const char *slash = strrchr(file, '/'), *name = slash ? slash + 1 : file;
    *out = (struct mst_backup_result){0};
    if (!*name)
        return mst_fail(err, MST_USAGE, "“%.200s” is no name for a file", file);
    m.arena = mst_arena_new(0);
    enum mst_status status = m.arena ? store_beside(folder, &m.book, err) : store_no_memory(err);
    if (status == MST_OK) /* one that was broken off is none */
        status = db_do(&m.book->db, err, NULL, "DELETE FROM backup WHERE bytes=0 AND name=$1", "t",
                       name);
    /* Said before the copy is made: who is deleted meanwhile is in it, and is told so. */
    mst_store_new_id(id);
    if (status == MST_OK)
        status = db_do(&m.book->db, err, NULL,
                       "INSERT INTO backup(id,name,made_ms,bytes,digest) VALUES($1,$2,$3,0,'')",
                       "tti", id, name, mst_store_now_ms());
    int listed = status == MST_OK;
    if (status == MST_OK)
        status = put_together(&m, file, err);
    if (status == MST_OK)
        status = db_do(&m.book->db, err, NULL,
                       "UPDATE backup SET made_ms=$1,bytes=$2,digest=$3 WHERE id=$4", "iitt",
                       out->made_ms, out->bytes, out->digest, id);
    else if (listed)
        (void)!db_do(&m.book->db, NULL, NULL, "DELETE FROM backup WHERE id=$1", "t", id);
    if (status == MST_OK)
        status = wipe_what_waited(m.book, err);
    mst_store_close(m.book);
    mst_arena_free(m.arena);
    return status;
}

/* --- what the book knows of its backups ------------------------------------------------- */

static void row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_backup *out = place;
    *out = (struct mst_backup){.id = query_text(q, 0, arena),
                               .name = query_text(q, 1, arena),
                               .digest = query_text(q, 2, arena),
                               .made_ms = query_integer(q, 3),
                               .bytes = query_integer(q, 4)};
}

enum mst_status mst_backup_list(struct mst_store *store, struct mst_arena *arena,
                                struct mst_backup **out, size_t *count, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err,
                    "SELECT id,name,digest,made_ms,bytes FROM backup ORDER BY number DESC", "");
    *out = query_rows(&q, sizeof **out, row, arena, count);
    return query_end(&q);
}

enum mst_status mst_backup_forget(struct mst_store *store, const char *id, struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status =
        db_do(&store->db, err, &rows, "DELETE FROM backup WHERE id=$1", "t", id);
    return status == MST_OK && rows == 0 ? store_no_such("backup", id, err) : status;
}
