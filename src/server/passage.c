/* passage.c – pieces that many answers hold: addresses, words for display, sites. */
#include "desk.h"

#include <stdio.h>
#include <string.h>

const char *const family_ids[MST_FAMILY_COUNT] = {
    [MST_FAMILY_LENGTH] = "length", [MST_FAMILY_NASAL] = "nasal",   [MST_FAMILY_MERGE] = "merge",
    [MST_FAMILY_TURN] = "turn",     [MST_FAMILY_HIDE] = "hide",     [MST_FAMILY_CLEAR] = "clear",
    [MST_FAMILY_ECHO] = "echo",     [MST_FAMILY_WEIGHT] = "weight", [MST_FAMILY_SILENT] = "silent",
    [MST_FAMILY_SEAM] = "seam",     [MST_FAMILY_OWN] = "own",
};

char *passage_id(struct mst_range range, char out[96])
{
    char *to = out;
    mst_range_print(range, out);
    for (const char *from = out; *from;) { /* the dash of print becomes that of the keyboard */
        if (strncmp(from, "–", 3) == 0) {
            *to++ = '-';
            from += 3;
        } else {
            *to++ = *from++;
        }
    }
    *to = '\0';
    return out;
}

int32_t passage_verses(const struct mst_text *text, struct mst_range range)
{
    return mst_text_verse_index(text, range.last.sura, range.last.verse ? range.last.verse : 1) -
           mst_text_verse_index(text, range.first.sura, range.first.verse ? range.first.verse : 1) +
           1;
}

struct mst_range passage_part(const struct mst_text *text, struct mst_range range)
{
    if (passage_verses(text, range) <= VERSES_MOST)
        return range;
    int32_t first =
        mst_text_verse_index(text, range.first.sura, range.first.verse ? range.first.verse : 1);
    struct mst_addr last = mst_text_verse_addr(text, first + VERSES_MOST - 1);
    if (last.sura > range.first.sura && last.verse < mst_text_sura(text, last.sura)->verse_count)
        last =
            (struct mst_addr){last.sura - 1, mst_text_sura(text, last.sura - 1)->verse_count, 0, 0};
    range.last = (struct mst_addr){last.sura, last.verse, 0, 0};
    return range;
}

int passages_meet(const struct mst_text *text, struct mst_range a, struct mst_range b)
{
    int32_t a_first = mst_text_verse_index(text, a.first.sura, a.first.verse ? a.first.verse : 1);
    int32_t b_first = mst_text_verse_index(text, b.first.sura, b.first.verse ? b.first.verse : 1);
    return a_first < b_first + passage_verses(text, b) &&
           b_first < a_first + passage_verses(text, a);
}

enum mst_status passage_not_too_long(const struct mst_text *text, struct mst_range range,
                                     struct mst_error *err)
{
    int32_t verses = passage_verses(text, range);
    if (verses <= VERSES_MOST)
        return MST_OK;
    char part[96];
    return mst_fail(err, MST_USAGE, "these are %d verses; at most %d at a time, such as %s", verses,
                    VERSES_MOST, mst_range_print(passage_part(text, range), part));
}

int utf16_length(struct mst_span text)
{
    int length = 0;
    for (size_t at = 0; at < text.len;)
        length += mst_utf8_next(text.ptr, text.len, &at) > 0xFFFF ? 2 : 1;
    return length;
}

void display(struct mst_string *s, const char *key, struct mst_span printed)
{
    struct mst_string shown = {0};
    mst_text_for_display(printed, &shown);
    js_take(s, key, &shown);
}

void display_reading(struct mst_string *s, const char *key, const struct mst_reading *r)
{
    struct mst_string shown = {0};
    for (int32_t w = 0; w < r->word_count; w++) {
        if (w)
            mst_string_adds(&shown, " ");
        mst_text_for_display(mst_reading_word(r, w), &shown);
    }
    js_take(s, key, &shown);
}

void js_address(struct mst_string *s, const char *key, struct mst_addr at)
{
    char text[48];
    js_text(s, key, mst_addr_print(at, text));
}

void js_letter_address(struct mst_string *s, const char *key, const struct mst_reading *r,
                       int32_t letter)
{
    if (letter < 0) {
        js_null(s, key);
        return;
    }
    /* The basmala is verse 0: addresses are printed in full. */
    const struct mst_word *word = &r->words[r->letters[letter].word_idx];
    const int32_t parts[] = {word->sura, word->verse, word->word, r->letters[letter].number};
    js_numbers(s, key, parts, 4);
}

void js_range(struct mst_string *s, struct mst_range range)
{
    char text[96];
    js_text(s, "passage", passage_id(range, text));
    js_text(s, "title", mst_range_print(range, text));
}

void js_site_facts(struct mst_string *s, const struct mst_site *site)
{
    js_count(s, "counts", site->counts);
    js_count(s, "counts_min", site->counts ? site->counts_min : 0);
    js_count(s, "counts_max", site->counts ? site->counts_max : 0);
    js_bool(s, "nasal", site->nasal);
    js_yes_no(s, "complete", site->complete);
    js_count(s, "grade", site->grade);
    js_yes_no(s, "heavy", site->heavy);
    js_bool(s, "tanwin", site->tanwin);
    js_bool(s, "both_ways", site->both_ways);
    js_bool(s, "rawm", site->rawm);
    js_bool(s, "ishmam", site->ishmam);
    js_text(s, "when", mst_when_id(site->when));
}

void js_label(struct mst_string *s, const char *key, const struct mst_reading *r,
              const struct mst_site *site, enum mst_lang lang)
{
    struct mst_string words = {0};
    mst_site_label(r, site, lang, &words);
    js_take(s, key, &words);
}

void js_reason(struct mst_string *s, const char *key, const struct mst_reading *r,
               const struct mst_site *site, enum mst_lang lang)
{
    struct mst_string words = {0};
    mst_site_reason(r, site, lang, &words);
    js_take(s, key, &words);
}

void js_articulation(struct mst_string *s, const char *key, const struct mst_articulation *a)
{
    char letter[4];
    js_open(s, key, '{');
    js_span(s, "letter", (struct mst_span){letter, mst_utf8_put(a->letter, letter)});
    js_text(s, "name", a->name_en);
    js_text(s, "name_ar", a->name_ar);
    js_integer(s, "place", a->place);
    js_text(s, "region", a->region_en);
    js_text(s, "region_ar", a->region_ar);
    js_text(s, "place_name", a->place_en);
    js_text(s, "place_name_ar", a->place_ar);
    js_open(s, "qualities", '[');
    for (int q = 0; q < MST_QUALITY_COUNT; q++) {
        if (!(a->qualities >> q & 1u))
            continue;
        static const char *const ids[] = {
#define X(name, id, en, ar) id,
            MST_QUALITY_LIST(X)
#undef X
        };
        js_open(s, NULL, '{');
        js_text(s, "quality", ids[q]);
        js_text(s, "name", mst_quality_name(q, MST_LANG_EN));
        js_text(s, "name_ar", mst_quality_name(q, MST_LANG_AR));
        js_close(s, '}');
    }
    js_close(s, ']');
    js_close(s, '}');
}
