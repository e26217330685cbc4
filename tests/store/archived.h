/* archived.h – a backup as a stranger, or an earlier Mistara, could have made it. */
#ifndef TESTS_STORE_ARCHIVED_H
#define TESTS_STORE_ARCHIVED_H

#include "folder.h"

#include <archive.h>
#include <archive_entry.h>
#include <sodium.h>
#include <sqlite3.h>

/* Memory is the caller's. */
static inline char *bytes_of(const char *path, size_t *len)
{
    FILE *f = fopen(path, "rb");
    assert_non_null(f);
    fseek(f, 0, SEEK_END);
    *len = (size_t)ftell(f);
    rewind(f);
    char *bytes = malloc(*len);
    assert_int_equal(fread(bytes, 1, *len, f), *len);
    fclose(f);
    return bytes;
}

/* The database of a folder, after some statements at it; memory is the caller's. */
static inline char *database_of(const char *folder, const char *sql, size_t *len)
{
    char path[160];
    sqlite3 *db;
    snprintf(path, sizeof path, "%s/mistara.db", folder);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "PRAGMA journal_mode=DELETE", NULL, NULL, NULL), SQLITE_OK);
    if (sql)
        assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
    return bytes_of(path, len);
}

struct planted {
    const char *name, *content;
    mode_t type;       /* 0: a plain file */
    const char *to;    /* of a link */
    int64_t announced; /* length, when it is not that of the content */
};

struct archived {
    const char *readme; /* NULL: as we write it */
    const char *db;
    size_t db_len;
    const struct planted *planted; /* one file more, or NULL */
    int gzip;
};

/* An archive as a stranger could make it: SUMS is right, so that nothing but the name or the kind
 * of what is planted can be the reason to refuse. */
static inline void make_archive(const char *file, const struct archived *of)
{
    const struct planted *planted = of->planted;
    const char *db = of->db, *readme = of->readme ? of->readme : "Mistara backup 1\n";
    struct archive *tar = archive_write_new();
    struct archive_entry *entry = archive_entry_new();
    char sums[4096] = "";
    if (of->gzip)
        archive_write_add_filter_gzip(tar);
    archive_write_set_format_pax_restricted(tar);
    assert_int_equal(archive_write_open_filename(tar, file), ARCHIVE_OK);
    const struct planted all[] = {{.name = "README", .content = readme},
                                  planted ? *planted : (struct planted){0},
                                  {.name = "mistara.db", .content = db},
                                  {.name = "SUMS", .content = sums}};
    for (size_t n = 0; n < sizeof all / sizeof all[0]; n++) {
        const struct planted *p = &all[n];
        if (!p->name)
            continue;
        size_t len = p->content == db ? of->db_len : p->content ? strlen(p->content) : 0;
        uint8_t hash[32];
        char hex[65];
        archive_entry_clear(entry);
        archive_entry_set_pathname(entry, p->name);
        archive_entry_set_perm(entry, 0600);
        archive_entry_set_filetype(entry, p->type == 1 || p->type == 0 ? AE_IFREG : p->type);
        archive_entry_set_size(entry, p->announced ? p->announced : (int64_t)len);
        if (p->type == AE_IFLNK)
            archive_entry_set_symlink(entry, p->to);
        if (p->type == 1)
            archive_entry_set_hardlink(entry, p->to);
        if (p->announced) { /* a hole: long, and takes nothing in the file */
            archive_entry_sparse_add_entry(entry, p->announced - 1, 1);
        }
        archive_write_header(tar, entry);
        if (len > 0)
            archive_write_data(tar, p->content, len);
        crypto_generichash(hash, sizeof hash, (const uint8_t *)(p->content ? p->content : ""), len,
                           NULL, 0);
        sodium_bin2hex(hex, sizeof hex, hash, sizeof hash);
        if (p->content != sums && strcmp(p->name, "README") != 0)
            snprintf(sums + strlen(sums), sizeof sums - strlen(sums), "%s  %s\n", hex, p->name);
        else if (p->content != sums)
            snprintf(sums, sizeof sums, "%s  README\n", hex);
    }
    archive_entry_free(entry);
    archive_write_close(tar);
    archive_write_free(tar);
}

#endif
