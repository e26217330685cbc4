/* ask.c – `mistara ask`: questions for a class, the key apart from them. */
#include "cli.h"

#include <mistara/ask.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct request {
    const char *range, *kinds, *seed, *version, *lang;
    int count, key, json;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"range", 0, OPTION_PASSAGE, "RANGE,…",
     "verses from here: 78-80, juz 30, … (default: the whole text)", TARGET(range)},
    {"kinds", 0, OPTION_TEXT, "KIND,…",
     "mark, name, count, without, both, find, order (default: all, in turn; with --lang ar all but "
     "find, which quotes an English translation)",
     TARGET(kinds)},
    {"count", 0, OPTION_COUNT, "N", "so many questions (10)", TARGET(count)},
    {"seed", 0, OPTION_TEXT, "N", "the same number gives the same questions again (1)",
     TARGET(seed)},
    {"version", 0, OPTION_TEXT, "A-Z", "other questions of the same kinds in the same order (A)",
     TARGET(version)},
    {"key", 0, OPTION_FLAG, NULL, "the key, on a page of its own after the questions", TARGET(key)},
    {"json", 0, OPTION_FLAG, NULL, "JSON Lines; with --key the keys in lines of their own",
     TARGET(json)},
    {"lang", 0, OPTION_TEXT, "en|ar", "language of the questions", TARGET(lang)},
};
static const struct option_group options_group = {"Options:", rows, sizeof rows / sizeof rows[0]};

static void words_add(struct out *out, const char *en, const char *ar, enum mst_lang lang)
{
    if (lang == MST_LANG_AR || en == ar)
        out_arabic(out, mst_span_of(ar));
    else
        mst_string_adds(&out->text, en);
}

static void question_print(size_t number, const struct mst_question *q, enum mst_lang lang,
                           struct out *out)
{
    mst_string_addf(&out->text, "%zu. ", number);
    words_add(out, q->prompt_en, q->prompt_ar, lang);
    mst_string_adds(&out->text, "\n");
    if (q->verse) {
        char at[96];
        mst_string_addf(&out->text, "   %s  ", mst_range_print(q->range, at));
        out_arabic(out, mst_span_of(q->verse));
        mst_string_adds(&out->text, "\n");
    }
    if (q->translation)
        mst_string_addf(&out->text, "   “%s”\n", q->translation);
    for (int32_t n = 0; n < q->option_count; n++) {
        mst_string_addf(&out->text, "   %c) ", 'a' + (int)n);
        words_add(out, q->options[n].en, q->options[n].ar, lang);
        mst_string_adds(&out->text, "\n");
    }
    mst_string_adds(&out->text, "\n");
    out_more(out);
}

static void letters_add(uint32_t bits, struct mst_string *s)
{
    const char *between = "";
    if (!bits)
        mst_string_adds(s, "–");
    for (int n = 0; n < 32; n++)
        if (bits >> n & 1u) {
            mst_string_addf(s, "%s%c", between, 'a' + n);
            between = ", ";
        }
}

static void key_print(size_t number, const struct mst_question *q, enum mst_lang lang,
                      struct out *out)
{
    char at[48];
    mst_string_addf(&out->text, "%zu. ", number);
    if (q->kind == MST_ASK_COUNT)
        mst_string_addf(&out->text, "%d", (int)q->place_count);
    for (int32_t n = 0; n < q->place_count && q->kind == MST_ASK_MARK; n++)
        mst_string_addf(&out->text, "%s%s", n ? ", " : "", mst_addr_print(q->places[n], at));
    if (q->kind == MST_ASK_BOTH)
        mst_string_adds(&out->text, lang == MST_LANG_AR ? "وصلًا: " : "going on: ");
    if (q->order)
        for (int32_t n = 0; n < q->option_count; n++)
            mst_string_addf(&out->text, "%s%c", n ? ", " : "", 'a' + (int)q->order[n]);
    else if (q->option_count)
        letters_add(q->right, &out->text);
    if (q->kind == MST_ASK_BOTH) {
        mst_string_adds(&out->text, lang == MST_LANG_AR ? "؛ وقفًا: " : "; stopping: ");
        letters_add(q->right_stopping, &out->text);
    }
    mst_string_adds(&out->text, "\n   ");
    words_add(out, q->why_en, q->why_ar, lang);
    mst_string_adds(&out->text, "\n");
    out_more(out);
}

static void json_maybe(struct mst_string *s, const char *key, const char *text)
{
    if (text)
        json_text(s, key, mst_span_of(text));
    else
        json_null(s, key);
}

static void question_json(size_t number, const struct mst_question *q, struct mst_string *s)
{
    char at[96];
    mst_string_adds(s, "{");
    json_number(s, "question", (long)number);
    json_text(s, "kind", mst_span_of(mst_ask_kind_id(q->kind)));
    json_maybe(s, "rule",
               q->rule < 0 || q->kind == MST_ASK_NAME ? NULL : mst_rule_id((enum mst_rule)q->rule));
    json_text(s, "prompt", mst_span_of(q->prompt_en));
    json_text(s, "prompt_ar", mst_span_of(q->prompt_ar));
    json_maybe(s, "at", q->verse ? mst_range_print(q->range, at) : NULL);
    json_maybe(s, "verse", q->verse);
    json_maybe(s, "letter", q->at.sura ? mst_addr_print(q->at, at) : NULL);
    json_maybe(s, "translation", q->translation);
    json_key(s, "options");
    mst_string_adds(s, "[");
    for (int32_t n = 0; n < q->option_count; n++) {
        mst_string_adds(s, n ? ",{" : "{");
        json_text(s, "text", mst_span_of(q->options[n].en));
        json_text(s, "text_ar", mst_span_of(q->options[n].ar));
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]}\n");
}

static void json_bits(struct mst_string *s, const char *key, uint32_t bits)
{
    const char *between = "";
    json_key(s, key);
    mst_string_adds(s, "[");
    for (int n = 0; n < 32; n++)
        if (bits >> n & 1u) {
            mst_string_addf(s, "%s%d", between, n);
            between = ",";
        }
    mst_string_adds(s, "]");
}

static void key_json(size_t number, const struct mst_question *q, struct mst_string *s)
{
    char at[48];
    mst_string_adds(s, "{");
    json_number(s, "key", (long)number);
    json_bits(s, "right", q->right);
    if (q->kind == MST_ASK_BOTH)
        json_bits(s, "right_stopping", q->right_stopping);
    if (q->order) {
        json_key(s, "order");
        mst_string_adds(s, "[");
        for (int32_t n = 0; n < q->option_count; n++)
            mst_string_addf(s, "%s%d", n ? "," : "", (int)q->order[n]);
        mst_string_adds(s, "]");
    }
    json_key(s, "places");
    mst_string_adds(s, "[");
    for (int32_t n = 0; n < q->place_count; n++)
        mst_string_addf(s, "%s\"%s\"", n ? "," : "", mst_addr_print(q->places[n], at));
    mst_string_adds(s, "]");
    json_text(s, "why", mst_span_of(q->why_en));
    json_text(s, "why_ar", mst_span_of(q->why_ar));
    mst_string_adds(s, "}\n");
}

static void set_print(const struct mst_question *list, size_t count, const struct request *r,
                      enum mst_lang lang, struct out *out)
{
    for (size_t n = 0; n < count; n++)
        if (r->json)
            question_json(n + 1, &list[n], &out->text);
        else
            question_print(n + 1, &list[n], lang, out);
    if (!r->key)
        return;
    if (!r->json)
        mst_string_adds(&out->text, lang == MST_LANG_AR ? "\fالإجابات\n\n" : "\fKey\n\n");
    for (size_t n = 0; n < count; n++)
        if (r->json)
            key_json(n + 1, &list[n], &out->text);
        else
            key_print(n + 1, &list[n], lang, out);
}

static enum mst_status query_read(const struct request *r, struct mst_span rules,
                                  const struct mst_text *text, struct mst_arena *arena,
                                  struct mst_ask_query *q, struct mst_error *err)
{
    struct mst_range *ranges = NULL;
    char *end = NULL;
    enum mst_status status = MST_OK;
    q->count = r->count;
    q->seed = 1;
    if (rules.len)
        status = mst_rule_set_parse(rules, &q->rules, err);
    if (status == MST_OK && r->kinds)
        status = mst_ask_kinds_parse(mst_span_of(r->kinds), &q->kinds, err);
    if (status == MST_OK && r->range)
        status = mst_ranges_parse(text, mst_span_of(r->range), arena, &ranges,
                                  &q->scope.range_count, err);
    q->scope.ranges = ranges;
    if (status == MST_OK && r->seed) {
        q->seed = strtoull(r->seed, &end, 10);
        if (r->seed[0] < '0' || r->seed[0] > '9' || *end)
            return mst_fail(err, MST_USAGE, "--seed takes a whole number; “%.60s” is none",
                            r->seed);
    }
    if (status == MST_OK && r->version) {
        if (strlen(r->version) != 1 || r->version[0] < 'A' || r->version[0] > 'Z')
            return mst_fail(err, MST_USAGE, "--version takes a letter from A to Z; “%.60s” is none",
                            r->version);
        q->version = r->version[0];
    }
    return status;
}

/* On standard error, so that what is printed stays the questions. */
static void absent_say(struct mst_rule_set absent)
{
    for (int rule = 0; rule < MST_RULE_COUNT; rule++)
        if (mst_rule_set_has(absent, (enum mst_rule)rule))
            fprintf(stderr,
                    "mistara: %s has no place in this range; rules near it are asked about "
                    "instead\n",
                    mst_rule_id((enum mst_rule)rule));
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {0};
    struct reading_request how = {0};
    void *const targets[] = {&request, &how};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_reading_options options;
    struct mst_rule_set absent = {0};
    struct mst_ask_query query = {.scope = {.options = &options}, .absent = &absent};
    struct mst_question *list;
    struct mst_span words;
    enum mst_lang lang = MST_LANG_EN;
    size_t count;

    enum mst_status status = options_read(self, argc, argv, targets, arena, &words, err);
    if (status == MST_OK)
        status = lang_chosen(request.lang, &lang, err);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = reading_options(&how, text, arena, &options, err);
    if (status == MST_OK)
        status = query_read(&request, words, text, arena, &query, err);
    if (lang == MST_LANG_AR && !request.kinds) /* that kind quotes an English translation */
        query.kinds = ((1u << MST_ASK_COUNT_OF_KINDS) - 1) & ~(1u << MST_ASK_FIND);
    if (status == MST_OK)
        status = mst_ask(text, &query, arena, &list, &count, err);
    if (status == MST_OK)
        absent_say(absent);
    if (status == MST_OK)
        set_print(list, count, &request, lang, out);
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_ask = {
    .name = "ask",
    .arguments = "RULE,…",
    .summary = "questions for a class, with a key",
    .about = "Each question has one answer that can be defended: where two ways of reading are\n"
             "allowed, nothing is asked. Without --key no answer is printed.\n",
    .examples = "  mistara ask ikhfa --range 78-80 --seed 7            ten questions\n"
                "  mistara ask ikhfa --range 78-80 --seed 7 --key      the same, with the key\n"
                "  mistara ask qalqala --range juz 30 --version B    for the next row of desks\n",
    .groups = {&options_group, &reading_group},
    .run = run,
};
