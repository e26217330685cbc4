/* phrases.c – the report's sentences in both languages, and small things said often. */
#include "parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const phrases[SAY_COUNT][2] = {
#define X(name, en, ar) [SAY_##name] = {en, ar},
    REPORT_PHRASE_LIST(X)
#undef X
};

const char *report_say(enum report_phrase phrase, enum mst_lang lang)
{
    return phrases[phrase][lang == MST_LANG_AR];
}

void report_say_with(struct mst_string *out, enum mst_lang lang, enum report_phrase phrase, ...)
{
    char small[2048];
    va_list args;
    va_start(args, phrase);
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
    int len = vsnprintf(small, sizeof small, report_say(phrase, lang), args);
#pragma GCC diagnostic pop
    va_end(args);
    if (len < 0)
        return;
    size_t kept = (size_t)len < sizeof small ? (size_t)len : sizeof small - 1;
    while ((size_t)len >= sizeof small && kept > 0 && ((unsigned char)small[kept] & 0xC0) == 0x80)
        kept--; /* never half a character */
    mst_string_add(out, small, kept);
}

const char *report_base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

void report_takes(const struct mst_report *r, struct mst_string *out)
{
    enum { NAMED = 3 };
    size_t shown = r->take_count <= NAMED ? r->take_count : 1;
    for (size_t n = 0; n < shown; n++)
        mst_string_addf(out, "%s%s", n ? ", " : "", report_base_name(r->take_names[n]));
    if (shown < r->take_count)
        mst_string_addf(out, " … %s (%zu)", report_base_name(r->take_names[r->take_count - 1]),
                        r->take_count);
}

char *report_clock(double ms, char out[24])
{
    unsigned tenths = (unsigned)lround((ms > 0 ? ms : 0) / 100);
    unsigned hours = tenths / 36000 % 1000;
    if (hours > 0)
        snprintf(out, 24, "%u:%02u:%02u", hours, tenths / 600 % 60, tenths / 10 % 60);
    else
        snprintf(out, 24, "%u:%02u.%u", tenths / 600 % 60, tenths / 10 % 60, tenths % 10);
    return out;
}

char *report_word_addr(struct mst_addr at, char out[48])
{
    snprintf(out, 48, "%d:%d:%d", at.sura, at.verse, at.word);
    return out;
}

int report_class_shown(const struct mst_measures *m, int length)
{
    return m->lengths[length].count > 0;
}
