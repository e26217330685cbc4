/* sessions.c – who is signed in, and named texts. */
#include "store.h"

#include <string.h>

enum mst_status mst_store_session_add(struct mst_store *store, const struct mst_session *session,
                                      struct mst_error *err)
{
    return db_do(&store->db, err, NULL,
                 "INSERT INTO session(key,token,role,made_ms,seen_ms,person) "
                 "VALUES($1,$2,$3,$4,$5,$6)",
                 "bttiit", session->key, sizeof session->key, session->token, session->role,
                 session->made_ms, session->seen_ms, *session->person ? session->person : NULL);
}

enum mst_status mst_store_session_get(struct mst_store *store, const uint8_t key[MST_KEY_BYTES],
                                      struct mst_session *out, struct mst_error *err)
{
    struct query q = query_begin(
        &store->db, err, "SELECT token,role,made_ms,seen_ms,person FROM session WHERE key=$1", "b",
        key, (size_t)MST_KEY_BYTES);
    int found = query_row(&q);
    *out = (struct mst_session){0};
    if (found) {
        memcpy(out->key, key, MST_KEY_BYTES);
        query_bytes(&q, 0, out->token, sizeof out->token - 1);
        query_bytes(&q, 1, out->role, sizeof out->role - 1);
        out->made_ms = query_integer(&q, 2);
        out->seen_ms = query_integer(&q, 3);
        query_bytes(&q, 4, out->person, sizeof out->person - 1);
    }
    enum mst_status status = query_end(&q);
    return status == MST_OK && !found ? mst_fail(err, MST_NOT_FOUND, "nobody is signed in")
                                      : status;
}

enum mst_status mst_store_session_seen(struct mst_store *store, const uint8_t key[MST_KEY_BYTES],
                                       int64_t seen_ms, struct mst_error *err)
{
    return db_do(&store->db, err, NULL, "UPDATE session SET seen_ms=$1 WHERE key=$2", "ib", seen_ms,
                 key, (size_t)MST_KEY_BYTES);
}

enum mst_status mst_store_session_remove(struct mst_store *store, const uint8_t *key,
                                         const uint8_t *keep, struct mst_error *err)
{
    static const uint8_t nobody[MST_KEY_BYTES];
    if (key)
        return db_do(&store->db, err, NULL, "DELETE FROM session WHERE key=$1", "b", key,
                     (size_t)MST_KEY_BYTES);
    return db_do(&store->db, err, NULL, "DELETE FROM session WHERE key<>$1 AND person IS NULL", "b",
                 keep ? keep : nobody, (size_t)MST_KEY_BYTES);
}

enum mst_status mst_store_session_expire(struct mst_store *store, int64_t seen_before_ms,
                                         struct mst_error *err)
{
    return db_do(&store->db, err, NULL, "DELETE FROM session WHERE seen_ms<$1", "i",
                 seen_before_ms);
}

enum mst_status mst_store_setting_get(struct mst_store *store, const char *name,
                                      struct mst_arena *arena, const char **out,
                                      struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "SELECT value FROM setting WHERE name=$1", "t", name);
    *out = query_row(&q) ? query_text(&q, 0, arena) : NULL;
    return query_end(&q);
}

enum mst_status mst_store_setting_put(struct mst_store *store, const char *name, const char *value,
                                      struct mst_error *err)
{
    if (!value)
        return db_do(&store->db, err, NULL, "DELETE FROM setting WHERE name=$1", "t", name);
    return db_do(&store->db, err, NULL,
                 "INSERT INTO setting(name,value) VALUES($1,$2) "
                 "ON CONFLICT(name) DO UPDATE SET value=excluded.value",
                 "tt", name, value);
}
