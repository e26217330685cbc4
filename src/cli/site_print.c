/* site_print.c – one site in JSON, and the pieces of it that several commands print. */
#include "cli.h"

#include <stdio.h>

char *letter_address(const struct mst_reading *r, int32_t letter, char text[48])
{
    text[0] = '\0';
    return letter < 0 ? text : mst_addr_print(mst_letter_addr(r, letter), text);
}

char *verse_address(const struct mst_word *word, char text[48])
{
    snprintf(text, 48, "%d:%d", word->sura, word->verse);
    return text;
}

char *counts_text(const struct mst_site *site, char text[24])
{
    text[0] = '\0';
    if (site->counts && site->counts_min != site->counts_max)
        snprintf(text, 24, "%d (%d–%d)", site->counts, site->counts_min, site->counts_max);
    else if (site->counts)
        snprintf(text, 24, "%d", site->counts);
    return text;
}

void words_of_letters(const struct mst_reading *r, int32_t first, int32_t last,
                      struct mst_string *s)
{
    int32_t first_word = r->letters[first].word_idx, last_word = r->letters[last].word_idx;
    for (int32_t w = first_word; w <= last_word; w++) {
        struct mst_span printed = mst_reading_word(r, w);
        if (w > first_word)
            mst_string_adds(s, " ");
        mst_string_add(s, printed.ptr, printed.len);
    }
}

static void json_address(const struct mst_reading *r, const char *key, int32_t letter,
                         struct mst_string *s)
{
    char text[48];
    json_text_or_null(s, key, mst_span_of(letter_address(r, letter, text)));
}

/* A yes, a no, or (-1) a question the rule does not raise. */
static void json_yes_no(struct mst_string *s, const char *key, int value)
{
    if (value < 0)
        json_null(s, key);
    else
        json_bool(s, key, value);
}

static void json_count(struct mst_string *s, const char *key, int value)
{
    if (value)
        json_number(s, key, value);
    else
        json_null(s, key);
}

static void json_reason(const struct mst_reading *r, const struct mst_site *site, const char *key,
                        enum mst_lang lang, struct mst_string *s)
{
    struct mst_string reason = {0};
    mst_site_reason(r, site, lang, &reason);
    json_text(s, key, (struct mst_span){reason.ptr, reason.len});
    s->failed |= reason.failed;
    mst_string_free(&reason);
}

void site_json(const struct mst_reading *r, const struct mst_site *site, struct mst_string *s)
{
    struct mst_string words = {0};
    words_of_letters(r, site->first, site->last, &words);
    mst_string_adds(s, "{");
    json_text(s, "rule", mst_span_of(mst_rule_id(site->rule)));
    json_text(s, "rule_name", mst_span_of(mst_rule_name(site->rule, MST_LANG_EN)));
    json_text(s, "rule_name_ar", mst_span_of(mst_rule_name(site->rule, MST_LANG_AR)));
    json_address(r, "at", site->first, s);
    json_address(r, "to", site->last, s);
    json_address(r, "trigger", site->trigger, s);
    json_address(r, "host", site->host, s);
    json_count(s, "counts", site->counts);
    json_count(s, "counts_min", site->counts ? site->counts_min : 0);
    json_count(s, "counts_max", site->counts ? site->counts_max : 0);
    json_bool(s, "nasal", site->nasal);
    json_yes_no(s, "complete", site->complete);
    json_count(s, "grade", site->grade);
    json_yes_no(s, "heavy", site->heavy);
    json_bool(s, "tanwin", site->tanwin);
    json_bool(s, "both_ways", site->both_ways);
    json_bool(s, "rawm", site->rawm);
    json_bool(s, "ishmam", site->ishmam);
    json_text(s, "when", mst_span_of(mst_when_id(site->when)));
    json_text_or_null(s, "words", (struct mst_span){words.ptr, words.len});
    json_reason(r, site, "reason", MST_LANG_EN, s);
    json_reason(r, site, "reason_ar", MST_LANG_AR, s);
    mst_string_adds(s, "}");
    s->failed |= words.failed;
    mst_string_free(&words);
}
