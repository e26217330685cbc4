/* no_postgresql.c – in the place of hailing.c and bringing.c where PostgreSQL's library is missing:
 * a book in one folder has nobody to call out to. */
#include "store.h"

enum mst_status mst_hail_open(struct mst_store *store, struct mst_hail **out, struct mst_error *err)
{
    (void)store;
    *out = NULL;
    return mst_fail(err, MST_UNSUPPORTED, "this Mistara was built without PostgreSQL");
}

enum mst_status mst_hail_wait(struct mst_hail *hail, int wake_fd, int timeout_ms,
                              struct mst_error *err)
{
    (void)hail;
    (void)wake_fd;
    (void)timeout_ms;
    return mst_fail(err, MST_UNSUPPORTED, "this Mistara was built without PostgreSQL");
}

int mst_hail_next(struct mst_hail *hail, struct mst_string *from, struct mst_string *text)
{
    (void)hail;
    (void)from;
    (void)text;
    return 0;
}

enum mst_status mst_hail_out(struct mst_hail *hail, const char *text, size_t len,
                             struct mst_error *err)
{
    (void)hail;
    (void)text;
    (void)len;
    return mst_fail(err, MST_UNSUPPORTED, "this Mistara was built without PostgreSQL");
}

void mst_hail_close(struct mst_hail *hail)
{
    (void)hail;
}

enum mst_status mst_store_bring(const char *folder, const char *database, int64_t *rows,
                                struct mst_error *err)
{
    (void)folder;
    (void)database;
    *rows = 0;
    return mst_fail(err, MST_UNSUPPORTED, "this Mistara was built without PostgreSQL");
}
