/* retitle.c – the same lesson under another title. */
#include "parts.h"

/* What stands before a line's colon, without the space around it; empty when there is none. */
static struct mst_span key_of(struct mst_span line)
{
    size_t colon = 0;
    while (colon < line.len && line.ptr[colon] != ':')
        colon++;
    return colon < line.len ? mst_plan_trim((struct mst_span){line.ptr, colon})
                            : (struct mst_span){line.ptr, 0};
}

struct titles {
    struct mst_span first_line; /* of the file */
    struct mst_span main, arabic;
};

/* The head ends with the first "[section]". */
static struct titles titles_find(struct mst_span source)
{
    struct titles found = {0};
    for (size_t at = 0, end; at < source.len; at = end + 1) {
        for (end = at; end < source.len && source.ptr[end] != '\n' && source.ptr[end] != '\r';)
            end++;
        struct mst_span line = {source.ptr + at, end - at}, key = key_of(line);
        struct mst_span trimmed = mst_plan_trim(line);
        if (at == 0)
            found.first_line = line;
        if (trimmed.len > 0 && trimmed.ptr[0] == '[')
            break;
        if (!found.main.ptr && mst_span_equal(key, MST_SPAN("title")))
            found.main = line;
        if (!found.arabic.ptr && mst_span_equal(key, MST_SPAN("title ar")))
            found.arabic = line;
    }
    return found;
}

void mst_lesson_retitle(struct mst_span source, struct mst_span title, struct mst_string *out)
{
    struct titles there = titles_find(source);
    struct mst_span line = there.main.ptr ? there.main : there.arabic;
    const char *key = there.main.ptr || !there.arabic.ptr ? "title" : "title ar";
    if (!line.ptr) { /* a new line after the first */
        line = there.first_line;
        mst_string_add(out, source.ptr, line.len);
        mst_string_adds(out, "\n");
        line = (struct mst_span){line.ptr + line.len, 0};
    } else {
        mst_string_add(out, source.ptr, (size_t)(line.ptr - source.ptr));
    }
    mst_string_addf(out, "%s: ", key);
    for (size_t n = 0; n < title.len; n++)
        mst_string_add(out, title.ptr[n] == '\n' || title.ptr[n] == '\r' ? " " : title.ptr + n, 1);
    const char *rest = line.ptr ? line.ptr + line.len : source.ptr;
    mst_string_add(out, rest, source.len - (size_t)(rest - source.ptr));
}
