/* check.c – the book looked through: the database by its own check, and every file a row names. */
#include "store.h"

#include <errno.h>
#include <limits.h>
#include <mistara/backup.h>
#include <mistara/shelf.h>
#include <sodium.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

struct looking {
    struct mst_store *store;
    struct mst_arena *arena;
    const char **list;
    size_t count, room;
};

static enum mst_status MST_PRINTF(3, 4)
    found(struct looking *l, struct mst_error *err, const char *fmt, ...)
{
    char text[400];
    va_list args;
    va_start(args, fmt);
    vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    if (l->count == l->room) {
        size_t room = l->room ? 2 * l->room : 16;
        const char **list = mst_arena_alloc(l->arena, room, sizeof *list);
        if (!list)
            return store_no_memory(err);
        if (l->count)
            memcpy(list, l->list, l->count * sizeof *list);
        l->list = list;
        l->room = room;
    }
    l->list[l->count] = mst_arena_strndup(l->arena, text, strlen(text));
    return l->list[l->count++] ? MST_OK : store_no_memory(err);
}

static int hash_is(const char *path, const char *hash)
{
    struct mst_map map;
    struct mst_error none;
    uint8_t digest[MST_KEY_BYTES];
    char hex[MST_HASH_HEX_SIZE];
    if (mst_map_open(path, &map, &none) != MST_OK)
        return 0;
    crypto_generichash(digest, sizeof digest, map.ptr, map.len, NULL, 0);
    mst_map_close(&map);
    sodium_bin2hex(hex, sizeof hex, digest, sizeof digest);
    return strcmp(hex, hash) == 0;
}

/* What a row names and how it is called for people. */
struct named {
    const char *what, *id, *name;
    int64_t bytes;
};
static void row(struct query *q, struct mst_arena *arena, void *place)
{
    struct named *out = place;
    *out = (struct named){query_text(q, 0, arena), query_text(q, 1, arena), query_text(q, 2, arena),
                          query_integer(q, 3)};
}

static enum mst_status look_at(struct looking *l, const struct named *n, struct mst_error *err)
{
    char path[PATH_MAX];
    struct stat info;
    const char *folder = l->store->folder;
    switch (*n->what) {
    case 't': /* the sound of a take or a note */
    case 'n':
        snprintf(path, sizeof path, "%s/sound/%.2s/%.64s", folder, n->name, n->name);
        if (stat(path, &info) != 0)
            return found(l, err, "the sound of the %s %s is missing", n->what, n->id);
        return hash_is(path, n->name)
                   ? MST_OK
                   : found(l, err, "the sound of the %s %s is damaged", n->what, n->id);
    case 'r':
        snprintf(path, sizeof path, "%s/reports/%.16s", folder, n->id);
        return stat(path, &info) == 0 ? MST_OK
                                      : found(l, err,
                                              "the report of the take %s is missing; "
                                              "listen to it again",
                                              n->id);
    case 'u':
        snprintf(path, sizeof path, "%s/uploads/%.16s", folder, n->id);
        return stat(path, &info) == 0 && info.st_size >= n->bytes
                   ? MST_OK
                   : found(l, err, "of the upload %s bytes are missing that were acknowledged",
                           n->id);
    default: /* a voice */
        snprintf(path, sizeof path, "%s/voices/%.60s.voice", folder, n->name);
        return stat(path, &info) == 0
                   ? MST_OK
                   : found(l, err, "the voice of the person %s is missing; learn it again", n->id);
    }
}

enum mst_status store_check_files(struct mst_store *store, struct mst_arena *arena,
                                  const char ***problems, size_t *count, struct mst_error *err)
{
    struct looking l = {.store = store, .arena = arena};
    size_t named = 0;
    struct query q =
        query_begin(&store->db, err,
                    "SELECT 'take',id,hash,0 FROM take UNION ALL "
                    "SELECT 'note',id,hash,0 FROM note WHERE hash IS NOT NULL UNION ALL "
                    "SELECT 'report',id,'',0 FROM take WHERE report=1 UNION ALL "
                    "SELECT 'upload',id,'',have FROM upload UNION ALL "
                    "SELECT 'voice',id,voice,0 FROM person WHERE voice IS NOT NULL",
                    "");
    struct named *rows = query_rows(&q, sizeof *rows, row, arena, &named);
    enum mst_status status = query_end(&q);
    for (size_t n = 0; n < named && status == MST_OK; n++)
        status = look_at(&l, &rows[n], err);
    *problems = l.list;
    *count = l.count;
    return status;
}

enum mst_status mst_book_check(const char *folder, struct mst_arena *arena, const char ***problems,
                               size_t *count, struct mst_error *err)
{
    struct mst_store *store;
    struct mst_error why = {0};
    *problems = NULL;
    *count = 0;
    enum mst_status status = store_beside(folder, &store, err);
    if (status != MST_OK)
        return status;
    enum mst_status whole = mst_store_check(store, &why);
    if (whole == MST_BAD_DATA) {
        struct looking l = {.store = store, .arena = arena};
        status = found(&l, err, "%s", why.message);
        *problems = l.list;
        *count = l.count;
    } else if (whole != MST_OK) {
        if (err)
            *err = why;
        status = whole;
    } else {
        status = store_check_files(store, arena, problems, count, err);
    }
    mst_store_close(store);
    return status;
}
