/* json.c – members of a JSON text under way. */
#include "json.h"

#include "arabic/arabic.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

/* Keys are ours: letters and underlines, short. */
enum { KEY_MOST = 64, HEAD_MOST = KEY_MOST + 8 };

/* The comma where it belongs and the key, to be added in one go with what follows. */
static size_t head(const struct mst_string *s, const char *key, char out[HEAD_MOST])
{
    size_t len = 0;
    if (s->len > 0) {
        char last = s->ptr[s->len - 1];
        if (last != '{' && last != '[' && last != ':')
            out[len++] = ',';
    }
    if (!key)
        return len;
    size_t key_len = strnlen(key, KEY_MOST);
    out[len++] = '"';
    memcpy(out + len, key, key_len);
    len += key_len;
    out[len++] = '"';
    out[len++] = ':';
    return len;
}

static void with_key(struct mst_string *s, const char *key, const char *value, size_t value_len)
{
    char out[HEAD_MOST + 32];
    size_t len = head(s, key, out);
    memcpy(out + len, value, value_len);
    mst_string_add(s, out, len + value_len);
}

void js_key(struct mst_string *s, const char *key)
{
    char out[HEAD_MOST];
    mst_string_add(s, out, head(s, key, out));
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

void js_said(struct mst_string *s, const char *key, const char *sentence)
{
    struct mst_string arabic = {0};
    char key_ar[HEAD_MOST];
    snprintf(key_ar, sizeof key_ar, "%s_ar", key);
    js_text(s, key, sentence);
    if (sentence)
        arabic_of(sentence, &arabic);
    js_text(s, key_ar, arabic.ptr);
    s->failed |= arabic.failed;
    mst_string_free(&arabic);
}

void js_text_or_null(struct mst_string *s, const char *key, struct mst_span value)
{
    if (value.len > 0)
        js_span(s, key, value);
    else
        js_null(s, key);
}

/* Digits before end; returns where they begin. */
static char *digits_before(char *end, uint64_t value)
{
    do {
        *--end = (char)('0' + value % 10);
        value /= 10;
    } while (value > 0);
    return end;
}

void js_numbers(struct mst_string *s, const char *key, const int32_t *parts, int count)
{
    char out[HEAD_MOST + 64], digits[16];
    size_t len = head(s, key, out);
    out[len++] = '"';
    for (int n = 0; n < count && n < 4; n++) {
        char *at = digits_before(digits + sizeof digits, (uint64_t)parts[n]);
        size_t digit_count = (size_t)(digits + sizeof digits - at);
        if (n > 0)
            out[len++] = ':';
        memcpy(out + len, at, digit_count);
        len += digit_count;
    }
    out[len++] = '"';
    mst_string_add(s, out, len);
}

void js_integer(struct mst_string *s, const char *key, int64_t value)
{
    char digits[24], *end = digits + sizeof digits;
    char *at = digits_before(end, value < 0 ? 0 - (uint64_t)value : (uint64_t)value);
    if (value < 0)
        *--at = '-';
    with_key(s, key, at, (size_t)(end - at));
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
    with_key(s, key, value ? "true" : "false", value ? 4 : 5);
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
    with_key(s, key, "null", 4);
}

void js_open(struct mst_string *s, const char *key, char bracket)
{
    with_key(s, key, &bracket, 1);
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
