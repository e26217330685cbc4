/* api_text.c – the text, its divisions, search; the rules and the letters. */
#include "desk.h"

#include <mistara/ear.h>
#include <stdio.h>
#include <string.h>

enum mst_status get_suras(struct request *rq, struct mst_error *err)
{
    (void)err;
    const struct mst_text *text = rq->desk->text;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "suras", '[');
    for (int32_t n = 1; n <= MST_SURA_COUNT; n++) {
        const struct mst_sura *sura = mst_text_sura(text, n);
        js_open(s, NULL, '{');
        js_integer(s, "sura", n);
        js_span(s, "name", sura->name_en);
        js_span(s, "name_ar", sura->name_ar);
        js_text_or_null(s, "meaning", sura->meaning_en);
        js_integer(s, "verses", sura->verse_count);
        js_integer(s, "first_index", sura->first_index);
        js_bool(s, "meccan", sura->meccan);
        js_close(s, '}');
    }
    js_close(s, ']');
    js_span(s, "credits", mst_text_credits(text));
    js_span(s, "version", mst_text_version(text));
    js_close(s, '}');
    return MST_OK;
}

enum mst_status get_translations(struct request *rq, struct mst_error *err)
{
    (void)err;
    const struct mst_text *text = rq->desk->text;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "translations", '[');
    for (int n = 0; n < mst_text_translation_count(text); n++) {
        const struct mst_translation *t = mst_text_translation(text, n);
        js_open(s, NULL, '{');
        js_span(s, "code", t->code);
        js_span(s, "title", t->title);
        js_span(s, "credit", t->credit);
        js_bool(s, "rtl", t->right_to_left);
        js_close(s, '}');
    }
    mst_string_adds(s, "]}");
    return MST_OK;
}

enum mst_status get_divisions(struct request *rq, struct mst_error *err)
{
    static const char *const names[] = {"juz", "hizb", "quarter", "page", "ruku", "manzil", NULL};
    const struct mst_text *text = rq->desk->text;
    struct mst_string *s = &rq->reply.body;
    char passage[96];
    int kind = MST_JUZ;
    enum mst_status status = param_choice(rq, "kind", names, &kind, err);
    if (status != MST_OK)
        return status;
    js_open(s, NULL, '{');
    js_text(s, "kind", names[kind]);
    js_open(s, "parts", '[');
    int32_t count = mst_text_division_count(text, (enum mst_division)kind);
    for (int32_t n = 1; n <= count && status == MST_OK; n++) {
        struct mst_range range;
        status = mst_text_division_range(text, (enum mst_division)kind, n, &range, err);
        if (status != MST_OK)
            break;
        js_open(s, NULL, '{');
        js_integer(s, "n", n);
        js_text(s, "passage", passage_id(range, passage));
        js_address(s, "first", range.first);
        js_address(s, "last", range.last);
        js_close(s, '}');
    }
    mst_string_adds(s, "]}");
    return status;
}

/* The verses of a range one by one; *at begins zeroed. 0: past the end. */
static int next_verse(const struct mst_text *text, struct mst_range range, struct mst_addr *at)
{
    if (at->sura == 0)
        *at = (struct mst_addr){range.first.sura, range.first.verse, 0, 0};
    else if (at->verse < mst_text_sura(text, at->sura)->verse_count)
        at->verse++;
    else
        *at = (struct mst_addr){at->sura + 1, 1, 0, 0};
    return at->sura < range.last.sura ||
           (at->sura == range.last.sura && at->verse <= range.last.verse);
}

static void first_and_last_word(const struct mst_text *text, struct mst_range range,
                                struct mst_addr at, int32_t *first, int32_t *last)
{
    int is_first = at.sura == range.first.sura && at.verse == range.first.verse;
    int is_last = at.sura == range.last.sura && at.verse == range.last.verse;
    *first = is_first && range.first.word ? range.first.word : 1;
    *last =
        is_last && range.last.word ? range.last.word : mst_text_word_count(text, at.sura, at.verse);
}

/* A passage in parts that one answer holds each. */
static void parts_json(struct mst_string *s, const struct mst_text *text, struct mst_range range)
{
    char id[96];
    js_open(s, "parts", '[');
    for (int more = 1; more;) {
        struct mst_range part = passage_part(text, range);
        js_text(s, NULL, passage_id(part, id));
        more = mst_addr_compare(part.last, range.last) != 0;
        if (more)
            range.first = mst_text_verse_addr(
                text, mst_text_verse_index(text, part.last.sura, part.last.verse) + 1);
    }
    js_close(s, ']');
}

enum mst_status get_passage(struct request *rq, struct mst_error *err)
{
    const struct mst_text *text = rq->desk->text;
    struct mst_range range;
    const char *typed;
    enum mst_status status = param_wanted(rq, "q", "al-Mulk 1-5", &typed, err);
    if (status == MST_OK)
        status = mst_range_parse(text, mst_span_of(typed), &range, err);
    if (status != MST_OK)
        return status;
    int64_t words = 0;
    for (struct mst_addr at = {0}; next_verse(text, range, &at);) {
        int32_t first, last;
        first_and_last_word(text, range, at, &first, &last);
        words += last - first + 1;
    }
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_range(s, range);
    js_address(s, "first", range.first);
    js_address(s, "last", range.last);
    js_integer(s, "verses", passage_verses(text, range));
    js_integer(s, "words", words);
    parts_json(s, text, range);
    js_close(s, '}');
    return MST_OK;
}

static enum mst_status no_translation(struct mst_span code, struct mst_error *err)
{
    return mst_fail(err, MST_NOT_FOUND, "there is no translation “%.*s”",
                    (int)(code.len < 40 ? code.len : 40), code.ptr);
}

static void verse_json(struct mst_string *s, const struct mst_text *text, struct mst_range range,
                       struct mst_addr at, const int *with, int with_count)
{
    int32_t first, last;
    first_and_last_word(text, range, at, &first, &last);
    struct mst_span from = mst_text_word(text, at.sura, at.verse, first);
    struct mst_span to = mst_text_word(text, at.sura, at.verse, last);
    struct mst_span words = {from.ptr, (size_t)(to.ptr + to.len - from.ptr)};
    struct mst_place place = mst_text_place(text, at.sura, at.verse);
    js_open(s, NULL, '{');
    js_address(s, "at", at);
    js_span(s, "text", words);
    display(s, "display", words);
    js_integer(s, "juz", place.juz);
    js_integer(s, "hizb", place.hizb);
    js_integer(s, "quarter", place.hizb_quarter);
    js_integer(s, "page", place.page);
    js_integer(s, "ruku", place.ruku);
    js_integer(s, "manzil", place.manzil);
    js_bool(s, "sajda", place.sajda);
    js_open(s, "translations", '{');
    for (int n = 0; n < with_count; n++) {
        struct mst_span code = mst_text_translation(text, with[n])->code;
        char key[32];
        snprintf(key, sizeof key, "%.*s", (int)code.len, code.ptr);
        js_span(s, key, mst_text_translated(text, with[n], at.sura, at.verse));
    }
    mst_string_adds(s, "}}");
}

enum mst_status get_verses(struct request *rq, struct mst_error *err)
{
    enum { WITH_MOST = 8 };
    const struct mst_text *text = rq->desk->text;
    struct mst_range range;
    int with[WITH_MOST], with_count = 0;
    enum mst_status status = param_passage(rq, &range, err);
    if (status == MST_OK)
        status = passage_not_too_long(text, range, err);
    const char *at = param(rq, "with");
    while (status == MST_OK && at && *at) {
        struct mst_span code = {at, strcspn(at, ",")};
        if (with_count == WITH_MOST)
            return mst_fail(err, MST_USAGE, "at most %d translations at a time", WITH_MOST);
        with[with_count] = mst_text_translation_find(text, code);
        if (with[with_count] < 0)
            return no_translation(code, err);
        status = mst_text_translation_check(text, with[with_count++], err);
        at += code.len + (at[code.len] == ',');
    }
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_range(s, range);
    js_open(s, "verses", '[');
    for (struct mst_addr verse = {0}; next_verse(text, range, &verse);)
        verse_json(s, text, range, verse, with, with_count);
    mst_string_adds(s, "]}");
    return MST_OK;
}

static void hit_json(struct mst_string *s, const struct mst_text *text, const struct mst_hit *hit)
{
    struct mst_addr at = mst_text_verse_addr(text, hit->verse_index);
    int arabic = hit->translation < 0;
    js_open(s, NULL, '{');
    js_address(s, "at", at);
    js_integer(s, "sura", at.sura);
    js_integer(s, "verse", at.verse);
    js_count(s, "first_word", arabic ? hit->first_word : 0);
    js_count(s, "last_word", arabic ? hit->last_word : 0);
    display(s, "display", mst_text_verse(text, at.sura, at.verse));
    if (arabic) {
        js_null(s, "translation");
    } else {
        struct mst_span words = mst_text_translated(text, hit->translation, at.sura, at.verse);
        js_open(s, "translation", '{');
        js_span(s, "code", mst_text_translation(text, hit->translation)->code);
        js_span(s, "text", words);
        js_integer(s, "start", utf16_length((struct mst_span){words.ptr, (size_t)hit->byte_off}));
        js_integer(
            s, "length",
            utf16_length((struct mst_span){words.ptr + hit->byte_off, (size_t)hit->byte_len}));
        js_close(s, '}');
    }
    js_close(s, '}');
}

enum mst_status get_search(struct request *rq, struct mst_error *err)
{
    const struct mst_text *text = rq->desk->text;
    const char *query, *in = param(rq, "in");
    int limit = 50, translation = -1;
    struct mst_hit *hits;
    size_t count;
    enum mst_status status = param_wanted(rq, "q", "mercy", &query, err);
    if (status == MST_OK)
        status = param_int(rq, "limit", 1, 500, &limit, err);
    if (status == MST_OK && in && *in) {
        translation = mst_text_translation_find(text, mst_span_of(in));
        if (translation < 0)
            return no_translation(mst_span_of(in), err);
    }
    if (status == MST_OK)
        status = mst_text_search(text, mst_span_of(query), translation, (size_t)limit + 1,
                                 rq->arena, &hits, &count, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_text(s, "query", query);
    js_bool(s, "more", count > (size_t)limit);
    js_open(s, "hits", '[');
    for (size_t n = 0; n < count && n < (size_t)limit; n++)
        hit_json(s, text, &hits[n]);
    mst_string_adds(s, "]}");
    return MST_OK;
}

static void colour(struct mst_string *s, const char *key, uint32_t rgb)
{
    char text[12];
    snprintf(text, sizeof text, "#%06x", rgb & 0xFFFFFF);
    js_text(s, key, text);
}

enum mst_status get_rules(struct request *rq, struct mst_error *err)
{
    (void)err;
    struct mst_string *s = &rq->reply.body;
    struct mst_rule_set sheet = mst_sheet_default_rules();
    int choice = 0;
    js_open(s, NULL, '{');
    js_open(s, "families", '[');
    for (int f = 0; f < MST_FAMILY_COUNT; f++) {
        js_open(s, NULL, '{');
        js_text(s, "family", family_ids[f]);
        js_text(s, "name", mst_family_name((enum mst_family)f, MST_LANG_EN));
        js_text(s, "name_ar", mst_family_name((enum mst_family)f, MST_LANG_AR));
        colour(s, "ink", mst_ink_of_family((enum mst_family)f, MST_THEME_LIGHT));
        colour(s, "ink_dark", mst_ink_of_family((enum mst_family)f, MST_THEME_DARK));
        js_close(s, '}');
    }
    js_close(s, ']');
    js_open(s, "rules", '[');
    for (int r = 0; r < MST_RULE_COUNT; r++) {
        enum mst_rule rule = (enum mst_rule)r;
        js_open(s, NULL, '{');
        js_text(s, "rule", mst_rule_id(rule));
        js_text(s, "family", family_ids[mst_rule_family(rule)]);
        js_text(s, "name", mst_rule_name(rule, MST_LANG_EN));
        js_text(s, "name_ar", mst_rule_name(rule, MST_LANG_AR));
        js_text(s, "mouth", mst_rule_mouth(rule, MST_LANG_EN));
        js_text(s, "mouth_ar", mst_rule_mouth(rule, MST_LANG_AR));
        js_text(s, "source", mst_rule_source(rule));
        js_bool(s, "on_sheet", mst_rule_set_has(sheet, rule));
        js_close(s, '}');
    }
    js_close(s, ']');
    colour(s, "paper", mst_paper_colour(MST_THEME_LIGHT));
    colour(s, "paper_dark", mst_paper_colour(MST_THEME_DARK));
    js_open(s, "lengths", '[');
    for (int n = 0; n < MST_LENGTH_COUNT; n++) {
        js_open(s, NULL, '{');
        js_text(s, "length", mst_length_id((enum mst_length)n));
        js_text(s, "name", mst_length_name((enum mst_length)n, MST_LANG_EN));
        js_text(s, "name_ar", mst_length_name((enum mst_length)n, MST_LANG_AR));
        js_close(s, '}');
    }
    js_close(s, ']');
    js_open(s, "choices", '[');
    for (const struct mst_count_choice *c; (c = mst_count_choice_at(choice)) != NULL; choice++) {
        js_open(s, NULL, '{');
        js_text(s, "option", c->option);
        js_open(s, "counts", '[');
        for (int k = 0; k < c->count; k++)
            js_integer(s, NULL, c->counts[k]);
        js_close(s, ']');
        js_close(s, '}');
    }
    mst_string_adds(s, "]}");
    return MST_OK;
}

enum mst_status get_letters(struct request *rq, struct mst_error *err)
{
    (void)err;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "letters", '[');
    for (int n = 0; mst_articulation_at(n); n++)
        js_articulation(s, NULL, mst_articulation_at(n));
    js_close(s, ']');
    js_text(s, "source", mst_articulation_source());
    js_close(s, '}');
    return MST_OK;
}
