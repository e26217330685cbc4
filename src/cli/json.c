/* json.c – members of a JSON object under way. */
#include "cli.h"

#include <string.h>

void json_key(struct mst_string *s, const char *key)
{
    if (s->len > 0 && !strchr("{[\n", s->ptr[s->len - 1]))
        mst_string_adds(s, ",");
    mst_string_add_json(s, key, strlen(key));
    mst_string_adds(s, ":");
}

void json_text(struct mst_string *s, const char *key, struct mst_span value)
{
    json_key(s, key);
    mst_string_add_json(s, value.ptr, value.len);
}

void json_text_or_null(struct mst_string *s, const char *key, struct mst_span value)
{
    if (value.len > 0)
        json_text(s, key, value);
    else
        json_null(s, key);
}

void json_number(struct mst_string *s, const char *key, long value)
{
    json_key(s, key);
    mst_string_addf(s, "%ld", value);
}

void json_bool(struct mst_string *s, const char *key, int value)
{
    json_key(s, key);
    mst_string_adds(s, value ? "true" : "false");
}

void json_null(struct mst_string *s, const char *key)
{
    json_key(s, key);
    mst_string_adds(s, "null");
}
