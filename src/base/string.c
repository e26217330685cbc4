/* A growing string whose error is asked for once, at the end. */
#include <mistara/base.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Room for more bytes and the terminator. */
static int reserve(struct mst_string *s, size_t more)
{
    if (s->failed)
        return 0;
    size_t need;
    if (__builtin_add_overflow(s->len, more, &need) || need == SIZE_MAX) {
        s->failed = 1;
        return 0;
    }
    need += 1;
    if (need <= s->cap)
        return 1;
    size_t cap = s->cap == 0 ? 64 : s->cap;
    while (cap < need)
        cap = cap > SIZE_MAX / 2 ? need : cap * 2;
    char *grown = realloc(s->ptr, cap);
    if (grown == NULL) {
        s->failed = 1;
        return 0;
    }
    s->ptr = grown;
    s->cap = cap;
    return 1;
}

void mst_string_add(struct mst_string *s, const char *bytes, size_t len)
{
    if (len == 0 || !reserve(s, len))
        return;
    memcpy(s->ptr + s->len, bytes, len);
    s->len += len;
    s->ptr[s->len] = '\0';
}

void mst_string_adds(struct mst_string *s, const char *cstr)
{
    mst_string_add(s, cstr, strlen(cstr));
}

void mst_string_addf(struct mst_string *s, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    int len = vsnprintf(NULL, 0, fmt, args);
    va_end(args);
    if (len < 0) {
        s->failed = 1;
        return;
    }
    if (len == 0 || !reserve(s, (size_t)len))
        return;
    va_start(args, fmt);
    vsnprintf(s->ptr + s->len, (size_t)len + 1, fmt, args);
    va_end(args);
    s->len += (size_t)len;
}

void mst_string_add_cp(struct mst_string *s, uint32_t cp)
{
    char bytes[4];
    mst_string_add(s, bytes, mst_utf8_put(cp, bytes));
}

/* Append text[from, to) unless it is empty: the stretch that needed no escaping. */
static void add_plain(struct mst_string *s, const char *text, size_t from, size_t to)
{
    mst_string_add(s, text + from, to - from);
}

/* Is the code point that ends at off really in the text, or did mst_utf8_next stand in for it? */
static int ill_formed(uint32_t cp, size_t start, size_t end)
{
    return cp == 0xFFFD && end - start == 1;
}

void mst_string_add_json(struct mst_string *s, const char *bytes, size_t len)
{
    mst_string_adds(s, "\"");
    size_t plain = 0;
    for (size_t off = 0; off < len;) {
        size_t start = off;
        uint32_t cp = mst_utf8_next(bytes, len, &off);
        const char *escape = cp == '"'    ? "\\\""
                             : cp == '\\' ? "\\\\"
                             : cp == '\n' ? "\\n"
                             : cp == '\r' ? "\\r"
                             : cp == '\t' ? "\\t"
                                          : NULL;
        int bad = ill_formed(cp, start, off);
        if (escape == NULL && !bad && cp >= 0x20 && cp != 0x7F)
            continue;
        add_plain(s, bytes, plain, start);
        plain = off;
        if (escape != NULL)
            mst_string_adds(s, escape);
        else if (bad)
            mst_string_add_cp(s, 0xFFFD);
        else
            mst_string_addf(s, "\\u%04x", (unsigned)cp);
    }
    add_plain(s, bytes, plain, len);
    mst_string_adds(s, "\"");
}

/* XML 1.0, production 2 (Char). */
static int is_xml_char(uint32_t cp)
{
    return cp == '\t' || cp == '\n' || cp == '\r' || (cp >= 0x20 && cp != 0xFFFE && cp != 0xFFFF);
}

void mst_string_add_xml(struct mst_string *s, const char *bytes, size_t len)
{
    size_t plain = 0;
    for (size_t off = 0; off < len;) {
        size_t start = off;
        uint32_t cp = mst_utf8_next(bytes, len, &off);
        const char *entity = cp == '&'    ? "&amp;"
                             : cp == '<'  ? "&lt;"
                             : cp == '>'  ? "&gt;"
                             : cp == '"'  ? "&quot;"
                             : cp == '\'' ? "&#39;"
                             : cp == '\r' ? "&#13;" /* a bare one would be read as a newline */
                                          : NULL;
        int bad = ill_formed(cp, start, off) || !is_xml_char(cp);
        if (entity == NULL && !bad)
            continue;
        add_plain(s, bytes, plain, start);
        plain = off;
        if (bad)
            mst_string_add_cp(s, 0xFFFD);
        else
            mst_string_adds(s, entity);
    }
    add_plain(s, bytes, plain, len);
}

/* What makes a spreadsheet take a cell for a formula (OWASP, "CSV Injection"). */
static int starts_formula(char first)
{
    return first == '=' || first == '+' || first == '-' || first == '@' || first == '\t' ||
           first == '\r';
}

void mst_string_add_csv(struct mst_string *s, const char *bytes, size_t len)
{
    int guarded = len > 0 && starts_formula(bytes[0]);
    int quoted = 0;
    for (size_t i = 0; i < len && !quoted; i++)
        quoted = bytes[i] == '"' || bytes[i] == ',' || bytes[i] == '\n' || bytes[i] == '\r';
    if (quoted)
        mst_string_adds(s, "\"");
    if (guarded)
        mst_string_adds(s, "'");
    size_t plain = 0;
    for (size_t i = 0; i < len; i++) {
        if (bytes[i] != '"')
            continue;
        add_plain(s, bytes, plain, i + 1);
        plain = i; /* the quote once more */
    }
    add_plain(s, bytes, plain, len);
    if (quoted)
        mst_string_adds(s, "\"");
}

void mst_string_free(struct mst_string *s)
{
    free(s->ptr);
    *s = (struct mst_string){0};
}
