/* rows.c – what the tables of the class have in common: words from a list, revisions, a row that is
 * not there. */
#include "store.h"

#include <string.h>

enum mst_status store_one_of(const char *what, const char *value, const char *allowed,
                             struct mst_error *err)
{
    size_t at = 0;
    for (struct mst_span word; value && mst_list_next(mst_span_of(allowed), &at, &word);)
        if (mst_span_equal(word, mst_span_of(value)))
            return MST_OK;
    return mst_fail(err, MST_USAGE, "“%.40s” is no %s; there are: %s", value ? value : "", what,
                    allowed);
}

enum mst_status store_no_such(const char *what, const char *id, struct mst_error *err)
{
    return mst_fail(err, MST_NOT_FOUND, "there is no %s “%.40s”", what, id ? id : "");
}

enum mst_status store_changed(enum mst_status status, int64_t changed, const char *what,
                              struct mst_error *err)
{
    return status == MST_OK && changed == 0
               ? mst_fail(err, MST_MISMATCH, "the %s was changed in between; look at it again",
                          what)
               : status;
}

enum mst_status store_one(struct query *q, void (*read)(struct query *, struct mst_arena *, void *),
                          struct mst_arena *arena, void *out, const char *what, const char *id,
                          struct mst_error *err)
{
    int found = query_row(q);
    if (found)
        read(q, arena, out);
    enum mst_status status = query_end(q);
    return status == MST_OK && !found ? store_no_such(what, id, err) : status;
}
