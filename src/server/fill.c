/* fill.c – text with places in it (fill.h). A name is capitals: style sheets have an @ of their
 * own. */
#include "fill.h"

#include <string.h>

static int is_capital(char c)
{
    return c >= 'A' && c <= 'Z';
}

void fill(struct mst_string *out, struct mst_span text, fill_place *place, void *with)
{
    const char *at = text.ptr, *end = text.ptr + text.len, *mark = at;
    while (mark < end && (mark = memchr(mark, '@', (size_t)(end - mark))) != NULL) {
        const char *name = ++mark, *more, *close;
        while (mark < end && is_capital(*mark))
            mark++;
        if (mark == name || mark == end || (*mark != '@' && *mark != ' ') ||
            !(close = memchr(mark, '@', (size_t)(end - mark))))
            continue;
        more = mark < close ? mark + 1 : mark;
        mst_string_add(out, at, (size_t)(name - 1 - at));
        place(with, (struct mst_span){name, (size_t)(mark - name)},
              (struct mst_span){more, (size_t)(close - more)}, out);
        at = mark = close + 1;
    }
    mst_string_add(out, at, (size_t)(end - at));
}

int fill_is(struct mst_span name, const char *wanted)
{
    return mst_span_equal(name, mst_span_of(wanted));
}
