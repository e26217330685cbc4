/* Borrowed text and the code points in it. */
#include <mistara/base.h>

#include <string.h>

enum { REPLACEMENT = 0xFFFD };

struct mst_span mst_span_of(const char *cstr)
{
    return (struct mst_span){cstr, cstr == NULL ? 0 : strlen(cstr)};
}

int mst_span_equal(struct mst_span a, struct mst_span b)
{
    return a.len == b.len && (a.len == 0 || memcmp(a.ptr, b.ptr, a.len) == 0);
}

/* The byte at off if it continues a sequence, else -1. */
static int continuation(const char *s, size_t len, size_t off)
{
    if (off >= len)
        return -1;
    unsigned char byte = (unsigned char)s[off];
    return (byte & 0xC0) == 0x80 ? byte & 0x3F : -1;
}

uint32_t mst_utf8_next(const char *s, size_t len, size_t *off)
{
    size_t at = *off;
    unsigned char lead = (unsigned char)s[at];
    *off = at + 1;
    if (lead < 0x80)
        return lead;
    if (lead < 0xC2 || lead > 0xF4) /* a stray continuation, an overlong form, beyond Unicode */
        return REPLACEMENT;

    int b1 = continuation(s, len, at + 1);
    if (b1 < 0)
        return REPLACEMENT;
    if (lead < 0xE0) {
        *off = at + 2;
        return (uint32_t)(lead & 0x1F) << 6 | (uint32_t)b1;
    }

    int b2 = continuation(s, len, at + 2);
    if (b2 < 0)
        return REPLACEMENT;
    if (lead < 0xF0) {
        uint32_t cp = (uint32_t)(lead & 0x0F) << 12 | (uint32_t)b1 << 6 | (uint32_t)b2;
        if (cp < 0x800 || (cp >= 0xD800 && cp <= 0xDFFF))
            return REPLACEMENT;
        *off = at + 3;
        return cp;
    }

    int b3 = continuation(s, len, at + 3);
    if (b3 < 0)
        return REPLACEMENT;
    uint32_t cp =
        (uint32_t)(lead & 0x07) << 18 | (uint32_t)b1 << 12 | (uint32_t)b2 << 6 | (uint32_t)b3;
    if (cp < 0x10000 || cp > 0x10FFFF)
        return REPLACEMENT;
    *off = at + 4;
    return cp;
}

int mst_utf8_letters(struct mst_span s)
{
    int letters = 0;
    for (size_t at = 0; at < s.len; letters++) {
        size_t from = at;
        uint32_t cp = mst_utf8_next(s.ptr, s.len, &at);
        if (cp == 0 || (cp == 0xFFFD && at - from == 1)) /* U+FFFD itself takes three bytes */
            return -1;
    }
    return letters;
}

size_t mst_utf8_put(uint32_t cp, char out[4])
{
    if (cp > 0x10FFFF || (cp >= 0xD800 && cp <= 0xDFFF))
        cp = REPLACEMENT;
    if (cp < 0x80) {
        out[0] = (char)cp;
        return 1;
    }
    if (cp < 0x800) {
        out[0] = (char)(0xC0 | cp >> 6);
        out[1] = (char)(0x80 | (cp & 0x3F));
        return 2;
    }
    if (cp < 0x10000) {
        out[0] = (char)(0xE0 | cp >> 12);
        out[1] = (char)(0x80 | (cp >> 6 & 0x3F));
        out[2] = (char)(0x80 | (cp & 0x3F));
        return 3;
    }
    out[0] = (char)(0xF0 | cp >> 18);
    out[1] = (char)(0x80 | (cp >> 12 & 0x3F));
    out[2] = (char)(0x80 | (cp >> 6 & 0x3F));
    out[3] = (char)(0x80 | (cp & 0x3F));
    return 4;
}

int mst_list_next(struct mst_span list, size_t *at, struct mst_span *word)
{
    if (*at > list.len)
        return 0;
    size_t from = *at, end = from;
    while (end < list.len && list.ptr[end] != ',')
        end++;
    *at = end + 1;
    while (from < end && list.ptr[from] == ' ')
        from++;
    while (end > from && list.ptr[end - 1] == ' ')
        end--;
    *word = (struct mst_span){list.ptr + from, end - from};
    return 1;
}

int mst_list_bits(struct mst_span list, const char *const names[], int count, uint32_t *bits,
                  struct mst_span *word)
{
    *bits = 0;
    for (size_t at = 0; mst_list_next(list, &at, word);) {
        int n = 0;
        while (n < count && !mst_span_equal(*word, mst_span_of(names[n])))
            n++;
        if (n < count)
            *bits |= UINT32_C(1) << n;
        else if (mst_span_equal(*word, MST_SPAN("all")))
            *bits |= (UINT32_C(1) << count) - 1;
        else
            return 0;
    }
    return 1;
}
