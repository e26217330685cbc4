/* joining.c – codes on paper by which someone joins a class, once. */
#include "store.h"

#include <mistara/classbook.h>
#include <sodium.h>
#include <string.h>

enum { LETTERS = 16, HASH_BYTES = 32 };
/* Crockford's base 32: no letter that is taken for a digit, and no u. */
static const char code_letters[] = "0123456789abcdefghjkmnpqrstvwxyz";

/* As typed → its letters alone; 0: it cannot be a code. */
static int letters_of(const char *typed, char out[LETTERS])
{
    int count = 0;
    for (const char *at = typed; *at; at++) {
        char letter = (char)(*at >= 'A' && *at <= 'Z' ? *at + ('a' - 'A') : *at);
        if (letter == '-' || letter == ' ')
            continue;
        if (letter == 'o')
            letter = '0';
        else if (letter == 'i' || letter == 'l')
            letter = '1';
        if (count == LETTERS || !strchr(code_letters, letter))
            return 0;
        out[count++] = letter;
    }
    return count == LETTERS;
}

static void hash_of(const char letters[LETTERS], uint8_t hash[HASH_BYTES])
{
    crypto_generichash(hash, HASH_BYTES, (const uint8_t *)letters, LETTERS, NULL, 0);
}

static enum mst_status revoke(struct mst_store *store, const char *person, struct mst_error *err)
{
    return db_do(&store->db, err, NULL,
                 "UPDATE join_code SET revoked_ms=$1 "
                 "WHERE person=$2 AND used_ms=0 AND revoked_ms=0",
                 "it", mst_store_now_ms(), person);
}

enum mst_status mst_join_make(struct mst_store *store, const char *person, int64_t lives_ms,
                              char code[MST_JOIN_CODE_SIZE], struct mst_error *err)
{
    char letters[LETTERS];
    uint8_t chance[LETTERS], hash[HASH_BYTES];
    int64_t now = mst_store_now_ms(), rows = 0;
    randombytes_buf(chance, sizeof chance);
    size_t at = 0;
    for (int n = 0; n < LETTERS; n++) {
        letters[n] = code_letters[chance[n] & 31];
        if (n > 0 && n % 4 == 0)
            code[at++] = '-';
        code[at++] = letters[n];
    }
    code[at] = '\0';
    hash_of(letters, hash);
    enum mst_status status = db_begin(&store->db, err);
    if (status == MST_OK) {
        status = store_row_lock(store, "person", person, err); /* two at once: one code lives */
        if (status == MST_OK)
            status = revoke(store, person, err);
        if (status == MST_OK)
            status = db_do(&store->db, err, &rows,
                           "INSERT INTO join_code(hash,person,made_ms,ends_ms,used_ms,revoked_ms) "
                           "SELECT $1,id,$2,$3,0,0 FROM person WHERE id=$4",
                           "biit", hash, sizeof hash, now, now + lives_ms, person);
        if (status == MST_OK && rows == 0)
            status = store_no_such("person", person, err);
        status = db_settle(&store->db, status, err);
    }
    sodium_memzero(letters, sizeof letters);
    sodium_memzero(chance, sizeof chance);
    if (status != MST_OK)
        sodium_memzero(code, MST_JOIN_CODE_SIZE);
    return status;
}

enum mst_status mst_join_use(struct mst_store *store, const char *code, char person[MST_ID_SIZE],
                             struct mst_error *err)
{
    char letters[LETTERS];
    uint8_t hash[HASH_BYTES];
    int64_t now = mst_store_now_ms();
    int found = 0;
    enum mst_status status = MST_OK;
    if (letters_of(code, letters)) {
        hash_of(letters, hash);
        struct query q = query_begin(
            &store->db, err,
            "UPDATE join_code SET used_ms=$1 WHERE hash=$2 AND used_ms=0 AND revoked_ms=0 AND "
            "ends_ms>$3 AND EXISTS(SELECT 1 FROM person p JOIN class c ON c.id=p.class WHERE "
            "p.id=join_code.person AND p.left_ms=0 AND c.closed_ms=0) RETURNING person",
            "ibi", now, hash, sizeof hash, now);
        found = query_row(&q);
        if (found) {
            query_bytes(&q, 0, person, MST_ID_SIZE);
            while (query_row(&q))
                ;
        }
        status = query_end(&q);
    }
    sodium_memzero(letters, sizeof letters);
    return status == MST_OK && !found
               ? mst_fail(err, MST_NOT_FOUND,
                          "this code does not open anything (any more); ask your teacher for a "
                          "new one")
               : status;
}

enum mst_status mst_join_revoke(struct mst_store *store, const char *person, struct mst_error *err)
{
    return revoke(store, person, err);
}

enum mst_status mst_join_get(struct mst_store *store, const char *person, struct mst_join_code *out,
                             struct mst_error *err)
{
    *out = (struct mst_join_code){0};
    /* Two codes of the same millisecond: the one that is not revoked came later. */
    struct query q = query_begin(&store->db, err,
                                 "SELECT made_ms,ends_ms,used_ms,revoked_ms FROM join_code "
                                 "WHERE person=$1 ORDER BY made_ms DESC, revoked_ms LIMIT 1",
                                 "t", person);
    if (query_row(&q))
        *out = (struct mst_join_code){query_integer(&q, 0), query_integer(&q, 1),
                                      query_integer(&q, 2), query_integer(&q, 3)};
    return query_end(&q);
}
