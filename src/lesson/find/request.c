/* request.c – what a teacher types for places and letters. */
#include "parts.h"

#include <string.h>

static struct mst_span trimmed(const char *from, const char *end)
{
    while (from < end && *from == ' ')
        from++;
    while (end > from && end[-1] == ' ')
        end--;
    return (struct mst_span){from, (size_t)(end - from)};
}

/* The next item of a list parted by ASCII or Arabic commas; *at moves past the comma. */
static struct mst_span next_item(struct mst_span s, size_t *at)
{
    size_t from = *at;
    while (*at < s.len) {
        size_t off = *at;
        uint32_t cp = mst_utf8_next(s.ptr, s.len, at);
        if (cp == ',' || cp == 0x60C)
            return trimmed(s.ptr + from, s.ptr + off);
    }
    *at = s.len + 1;
    return trimmed(s.ptr + from, s.ptr + s.len);
}

enum mst_status mst_ranges_parse(const struct mst_text *text, struct mst_span s,
                                 struct mst_arena *arena, struct mst_range **out, size_t *count,
                                 struct mst_error *err)
{
    size_t room = 1;
    for (size_t n = 0; n < s.len; n++)
        room += s.ptr[n] == ',' || (unsigned char)s.ptr[n] == 0xD8;
    *count = 0;
    *out = mst_arena_alloc(arena, room, sizeof **out);
    if (!*out)
        return mst_find_no_memory(err);
    size_t at = 0;
    do {
        struct mst_span item = next_item(s, &at);
        enum mst_status status = mst_range_parse(text, item, &(*out)[*count], err);
        if (status != MST_OK)
            return status;
        *count += 1;
    } while (at <= s.len);
    return MST_OK;
}

static int named_letter(struct mst_span name)
{
    const struct mst_articulation *letter;
    for (int n = 0; (letter = mst_articulation_at(n)) != NULL; n++)
        if (mst_span_equal(name, mst_span_of(letter->name_en)) ||
            mst_span_equal(name, mst_span_of(letter->name_ar)))
            return n;
    return -1;
}

/* Letters written one after another; 0 when something else is among them. */
static uint32_t written_letters(struct mst_span s)
{
    struct letter_index letters;
    mst_find_letter_index_fill(&letters);
    uint32_t bits = 0;
    for (size_t at = 0; at < s.len;) {
        uint32_t cp = mst_utf8_next(s.ptr, s.len, &at);
        int n = mst_find_letter_index_of(&letters, cp);
        if (cp == ' ')
            continue;
        if (n < 0)
            return 0;
        bits |= UINT32_C(1) << n;
    }
    return bits;
}

enum mst_status mst_letter_list_parse(struct mst_span s, uint32_t *bits, struct mst_error *err)
{
    size_t at = 0;
    *bits = 0;
    do {
        struct mst_span item = next_item(s, &at);
        int n = named_letter(item);
        uint32_t found = n >= 0 ? UINT32_C(1) << n : written_letters(item);
        if (!found)
            return mst_fail(err, MST_USAGE,
                            "“%.*s” names no letter; write the letters themselves, such as ك,ق, or "
                            "names such as kāf,qāf",
                            (int)(item.len > 60 ? 60 : item.len), item.ptr ? item.ptr : "");
        *bits |= found;
    } while (at <= s.len);
    return MST_OK;
}
