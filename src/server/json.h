/* json.h – members of a JSON text under way; the comma is put where it belongs. */
#ifndef SERVER_JSON_H
#define SERVER_JSON_H

#include <mistara/base.h>

/* key NULL: an item of a list. */
void js_key(struct mst_string *s, const char *key);
void js_span(struct mst_string *s, const char *key, struct mst_span value);
void js_text(struct mst_string *s, const char *key, const char *value); /* NULL: null */
/* A sentence of an error, and under key_ar the same in Arabic (arabic/arabic.h); NULL: two nulls.
 */
void js_said(struct mst_string *s, const char *key, const char *sentence);
void js_text_or_null(struct mst_string *s, const char *key,
                     struct mst_span value); /* empty: null */
void js_integer(struct mst_string *s, const char *key, int64_t value);
/* An address: "67:1:2:3". */
void js_numbers(struct mst_string *s, const char *key, const int32_t *parts, int count);
void js_count(struct mst_string *s, const char *key, int value); /* 0: null */
void js_real(struct mst_string *s, const char *key, double value, int decimals);
void js_bool(struct mst_string *s, const char *key, int value);
void js_yes_no(struct mst_string *s, const char *key, int value); /* below 0: null */
void js_null(struct mst_string *s, const char *key);
void js_open(struct mst_string *s, const char *key, char bracket);
void js_close(struct mst_string *s, char bracket);
/* A value that is JSON already; NULL: null. */
void js_raw(struct mst_string *s, const char *key, const char *json);
/* ms since 1970 as "2026-11-25T18:30:00Z"; 0: null. */
void js_date(struct mst_string *s, const char *key, int64_t ms);
/* What a finished string holds; frees it. */
void js_take(struct mst_string *s, const char *key, struct mst_string *value);

#endif
