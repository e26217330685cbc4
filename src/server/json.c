/* json.c – members of a JSON text under way. */
#include "json.h"

#include <math.h>
#include <string.h>
#include <time.h>

void js_key(struct mst_string *s, const char *key)
{
    if (s->len > 0) {
        char last = s->ptr[s->len - 1];
        if (last != '{' && last != '[' && last != ':')
            mst_string_add(s, ",", 1);
    }
    if (!key)
        return;
    /* Keys are ours: letters and underlines. */
    mst_string_add(s, "\"", 1);
    mst_string_adds(s, key);
    mst_string_add(s, "\":", 2);
}

void js_span(struct mst_string *s, const char *key, struct mst_span value)
{
    js_key(s, key);
    mst_string_add_json(s, value.ptr ? value.ptr : "", value.len);
}

void js_text(struct mst_string *s, const char *key, const char *value)
{
    if (value)
        js_span(s, key, mst_span_of(value));
    else
        js_null(s, key);
}

void js_text_or_null(struct mst_string *s, const char *key, struct mst_span value)
{
    if (value.len > 0)
        js_span(s, key, value);
    else
        js_null(s, key);
}

void js_integer(struct mst_string *s, const char *key, int64_t value)
{
    char digits[24];
    size_t at = sizeof digits;
    uint64_t rest = value < 0 ? 0 - (uint64_t)value : (uint64_t)value;
    do {
        digits[--at] = (char)('0' + rest % 10);
        rest /= 10;
    } while (rest > 0);
    if (value < 0)
        digits[--at] = '-';
    js_key(s, key);
    mst_string_add(s, digits + at, sizeof digits - at);
}

void js_count(struct mst_string *s, const char *key, int value)
{
    if (value)
        js_integer(s, key, value);
    else
        js_null(s, key);
}

void js_real(struct mst_string *s, const char *key, double value, int decimals)
{
    js_key(s, key);
    if (isfinite(value))
        mst_string_addf(s, "%.*f", decimals, value);
    else
        mst_string_adds(s, "null");
}

void js_bool(struct mst_string *s, const char *key, int value)
{
    js_key(s, key);
    if (value)
        mst_string_add(s, "true", 4);
    else
        mst_string_add(s, "false", 5);
}

void js_yes_no(struct mst_string *s, const char *key, int value)
{
    if (value < 0)
        js_null(s, key);
    else
        js_bool(s, key, value);
}

void js_null(struct mst_string *s, const char *key)
{
    js_key(s, key);
    mst_string_add(s, "null", 4);
}

void js_open(struct mst_string *s, const char *key, char bracket)
{
    js_key(s, key);
    mst_string_add(s, &bracket, 1);
}

void js_close(struct mst_string *s, char bracket)
{
    mst_string_add(s, &bracket, 1);
}

void js_raw(struct mst_string *s, const char *key, const char *json)
{
    js_key(s, key);
    mst_string_adds(s, json ? json : "null");
}

void js_date(struct mst_string *s, const char *key, int64_t ms)
{
    struct tm day;
    time_t seconds = (time_t)(ms / 1000);
    char text[40];
    if (ms == 0 || !gmtime_r(&seconds, &day)) {
        js_null(s, key);
        return;
    }
    strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &day);
    js_text(s, key, text);
}

void js_take(struct mst_string *s, const char *key, struct mst_string *value)
{
    js_span(s, key, (struct mst_span){value->ptr, value->len});
    s->failed |= value->failed;
    mst_string_free(value);
}
