/* api_reading.c – a reading as four lists, one place of it explained, and how far letters reach. */
#include "desk.h"

#include <stdio.h>
#include <string.h>

static enum mst_status reading_of(struct request *rq, struct mst_range range,
                                  struct mst_reading **out, struct mst_error *err)
{
    struct mst_reading_options how;
    enum mst_status status = passage_not_too_long(rq->desk->text, range, err);
    if (status == MST_OK)
        status = how_of_request(rq, &how, err);
    if (status == MST_OK)
        status = mst_reading_new(rq->desk->text, range, &how, rq->arena, out, err);
    return status;
}

static void pair(struct mst_string *s, const char *key, int32_t first, int32_t count)
{
    js_open(s, key, '[');
    js_integer(s, NULL, first);
    js_integer(s, NULL, count);
    js_close(s, ']');
}

static void word_json(struct mst_string *s, const struct mst_reading *r, int32_t n)
{
    static const char *const signs[] = {NULL,    "must",     "better",   "either",
                                        "go_on", "must_not", "embracing"};
    static const char *const seams[] = {"join", "stop", "sakt"};
    const struct mst_word *word = &r->words[n];
    struct mst_span printed = mst_reading_word(r, n);
    const int32_t at[] = {word->sura, word->verse, word->word};
    js_open(s, NULL, '{');
    js_numbers(s, "at", at, 3);
    js_numbers(s, "verse", at, 2);
    js_span(s, "text", printed);
    display(s, "display", printed);
    pair(s, "letters", word->first_letter, word->letter_count);
    pair(s, "sounds", word->first_sound, word->sound_count);
    js_text(s, "sign", signs[word->pause_sign]);
    js_text(s, "seam", seams[word->seam]);
    js_bool(s, "quarter", word->quarter_before);
    js_bool(s, "sajda", word->sajda);
    js_close(s, '}');
}

static void words_json(struct mst_string *s, const struct mst_reading *r)
{
    js_open(s, "words", '[');
    for (int32_t n = 0; n < r->word_count; n++)
        word_json(s, r, n);
    js_close(s, ']');
}

/* Bytes of a word from off on, as displayed, in UTF-16 units. */
static int shown_units(const struct mst_reading *r, const struct mst_word *word, int32_t off,
                       int32_t len, struct mst_string *scratch)
{
    struct mst_span verse = mst_reading_verse(r, word->sura, word->verse);
    scratch->len = 0;
    mst_text_for_display((struct mst_span){verse.ptr + off, (size_t)len}, scratch);
    return utf16_length((struct mst_span){scratch->ptr, scratch->len});
}

static void letters_json(struct mst_string *s, const struct mst_reading *r)
{
    struct mst_string scratch = {0};
    int units = 0;
    int32_t in_word = -1, byte = 0;
    js_open(s, "letters", '[');
    for (int32_t n = 0; n < r->letter_count; n++) {
        const struct mst_letter *letter = &r->letters[n];
        const struct mst_word *word = &r->words[letter->word_idx];
        char base[4];
        if (letter->word_idx != in_word) {
            in_word = letter->word_idx;
            byte = word->byte_off;
            units = 0;
        }
        units += shown_units(r, word, byte, letter->byte_off - byte, &scratch);
        int length = shown_units(r, word, letter->byte_off, letter->byte_len, &scratch);
        js_open(s, NULL, '{');
        js_letter_address(s, "at", r, n);
        js_integer(s, "word", letter->word_idx);
        js_span(s, "base", (struct mst_span){base, mst_utf8_put(letter->base, base)});
        js_integer(s, "start", units);
        js_integer(s, "length", length);
        js_open(s, "sites", '[');
        int32_t first, end;
        mst_sites_at(r, n, &first, &end);
        for (int32_t site = first; site < end; site++)
            js_integer(s, NULL, site);
        mst_string_adds(s, "]}");
        units += length;
        byte = letter->byte_off + letter->byte_len;
    }
    js_close(s, ']');
    s->failed |= scratch.failed;
    mst_string_free(&scratch);
}

static void index_or_null(struct mst_string *s, const char *key, int32_t index)
{
    if (index < 0)
        js_null(s, key);
    else
        js_integer(s, key, index);
}

static void sites_json(struct mst_string *s, const struct mst_reading *r, enum mst_lang lang,
                       int with_reasons)
{
    char sign[MST_SIGN_ID_SIZE];
    js_open(s, "sites", '[');
    for (int32_t n = 0; n < r->site_count; n++) {
        const struct mst_site *site = &r->sites[n];
        js_open(s, NULL, '{');
        js_text(s, "rule", mst_rule_id(site->rule));
        js_integer(s, "trigger", site->trigger);
        index_or_null(s, "host", site->host);
        js_integer(s, "first", site->first);
        js_integer(s, "last", site->last);
        js_letter_address(s, "at", r, site->trigger);
        js_text(s, "sign", mst_sign_id(site, sign) ? sign : NULL);
        js_site_facts(s, site);
        js_label(s, "label", r, site, lang);
        if (with_reasons)
            js_reason(s, "reason", r, site, lang);
        js_close(s, '}');
    }
    js_close(s, ']');
}

/* The shape of every sign among the sites, once. */
static enum mst_status signs_json(struct mst_string *s, const struct mst_reading *r,
                                  struct mst_arena *arena, struct mst_error *err)
{
    enum { SIGNS_MOST = 64 };
    char(*known)[MST_SIGN_ID_SIZE] = mst_arena_alloc(arena, SIGNS_MOST, sizeof *known);
    int count = 0;
    if (!known)
        return no_memory(err);
    js_open(s, "signs", '{');
    for (int32_t n = 0; n < r->site_count && count < SIGNS_MOST; n++) {
        int k = 0;
        if (!mst_sign_id(&r->sites[n], known[count]))
            continue;
        while (strcmp(known[k], known[count]) != 0)
            k++;
        if (k < count)
            continue;
        js_key(s, known[count++]);
        enum mst_status status = mst_sign_shape(&r->sites[n], arena, s, err);
        if (status != MST_OK)
            return status;
    }
    js_close(s, '}');
    return MST_OK;
}

static void sounds_json(struct mst_string *s, const struct mst_reading *r)
{
    static const char *const pauses[] = {NULL, "stop", "sakt"};
    js_open(s, "sounds", '[');
    for (int32_t n = 0; n < r->sound_count; n++) {
        const struct mst_sound *sound = &r->sounds[n];
        js_open(s, NULL, '{');
        js_text(s, "phone", mst_phone_id(sound->phone));
        js_text(s, "ipa", mst_phone_ipa(sound->phone));
        js_integer(s, "word", sound->word_idx);
        pair(s, "letters", sound->first_letter, sound->last_letter);
        index_or_null(s, "site", sound->site);
        js_count(s, "counts", sound->counts);
        js_count(s, "counts_min", sound->counts ? sound->counts_min : 0);
        js_count(s, "counts_max", sound->counts ? sound->counts_max : 0);
        js_bool(s, "nasal", sound->nasal);
        js_bool(s, "heavy", sound->heavy);
        js_count(s, "rank", sound->rank);
        js_bool(s, "geminate", sound->geminate);
        js_count(s, "echo", sound->echo);
        js_bool(s, "rawm", sound->rawm);
        js_text(s, "pause", pauses[sound->pause]);
        js_close(s, '}');
    }
    js_close(s, ']');
}

enum reading_part { PART_WORDS, PART_LETTERS, PART_SITES, PART_REASONS, PART_SOUNDS, PART_COUNT };

/* Who draws a page needs neither sounds nor reasons: they are two thirds of the whole. */
static enum mst_status parts_of(const struct request *rq, uint32_t *out, struct mst_error *err)
{
    static const char *const names[] = {"words", "letters", "sites", "reasons", "sounds"};
    const char *value = param(rq, "parts");
    struct mst_span word;
    *out = 0;
    if (mst_list_bits(mst_span_of(value && *value ? value : "all"), names, PART_COUNT, out, &word))
        return MST_OK;
    return mst_fail(err, MST_USAGE,
                    "parts takes words, letters, sites, reasons, sounds; “%.*s” given",
                    (int)(word.len < 40 ? word.len : 40), word.ptr);
}

enum mst_status get_reading(struct request *rq, struct mst_error *err)
{
    struct mst_range range;
    struct mst_reading *r;
    enum mst_lang lang;
    uint32_t parts;
    enum mst_status status = param_passage(rq, &range, err);
    if (status == MST_OK)
        status = param_lang(rq, &lang, err);
    if (status == MST_OK)
        status = parts_of(rq, &parts, err);
    if (status == MST_OK)
        status = reading_of(rq, range, &r, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_range(s, range);
    how_write(s, "how", &r->options);
    if (parts >> PART_WORDS & 1u)
        words_json(s, r);
    if (parts >> PART_LETTERS & 1u)
        letters_json(s, r);
    if (parts >> PART_SITES & 1u) {
        sites_json(s, r, lang, parts >> PART_REASONS & 1u);
        status = signs_json(s, r, rq->arena, err);
        if (status != MST_OK)
            return status;
    }
    if (parts >> PART_SOUNDS & 1u)
        sounds_json(s, r);
    js_close(s, '}');
    return MST_OK;
}

/* --- how far letters reach --------------------------------------------------- */

static void ink_json(struct mst_string *s, const struct mst_reading *r,
                     const struct mst_sheet *sheet, double em)
{
    size_t count;
    const struct mst_letter_box *boxes = mst_sheet_boxes(sheet, &count);
    int32_t in_word = -1;
    char at[64];
    js_open(s, "words", '{');
    for (size_t n = 0; n < count; n++) {
        const struct mst_letter_box *box = &boxes[n];
        const struct mst_word *word = &r->words[r->letters[box->letter].word_idx];
        if (r->letters[box->letter].word_idx != in_word) {
            if (in_word >= 0)
                js_close(s, ']');
            in_word = r->letters[box->letter].word_idx;
            snprintf(at, sizeof at, "%d:%d:%d", word->sura, word->verse, word->word);
            js_open(s, at, '[');
        }
        js_open(s, NULL, '[');
        js_real(s, NULL, (box->y + box->height - box->baseline) / em, 3);
        js_real(s, NULL, (box->baseline - box->y) / em, 3);
        js_close(s, ']');
    }
    if (in_word >= 0)
        js_close(s, ']');
    js_close(s, '}');
}

enum mst_status get_ink(struct request *rq, struct mst_error *err)
{
    struct mst_range range;
    struct mst_reading *r = NULL;
    struct mst_typeset *ts = NULL;
    struct mst_sheet *sheet = NULL;
    struct mst_reading_options how = {.istiadha = 1};
    struct mst_sheet_options options = {
        .page = mst_page_a4(), .key = MST_KEY_NONE, .stage = MST_FADE_NOTHING};
    enum mst_status status = param_passage(rq, &range, err);
    if (status == MST_OK)
        status = passage_not_too_long(rq->desk->text, range, err);
    if (status == MST_OK)
        status = mst_reading_new(rq->desk->text, range, &how, rq->arena, &r, err);
    if (status == MST_OK)
        status = typeset_borrow(rq->desk, &ts, err);
    if (status == MST_OK)
        status = mst_sheet_new(ts, r, &options, rq->arena, &sheet, err);
    if (status == MST_OK) {
        struct mst_string *s = &rq->reply.body;
        js_open(s, NULL, '{');
        js_range(s, range);
        js_text(s, "font", "Amiri Quran");
        ink_json(s, r, sheet, options.page.type_size);
        js_close(s, '}');
    }
    typeset_give_back(rq->desk, ts);
    return status;
}

/* --- one place explained ------------------------------------------------------- */

/* From the verse before to the verse after, so that what reaches across a verse end is seen. */
static struct mst_range surroundings(const struct mst_text *text, struct mst_addr at)
{
    int32_t index = mst_text_verse_index(text, at.sura, at.verse ? at.verse : 1);
    int32_t before = index > 0 && at.verse ? index - 1 : index;
    int32_t after = index + 1 < MST_VERSE_COUNT ? index + 1 : index;
    return (struct mst_range){mst_text_verse_addr(text, before), mst_text_verse_addr(text, after)};
}

/* Of the stops of a long passage those that are set here. */
static enum mst_status stops_within(const struct mst_text *text, struct mst_range range,
                                    struct mst_reading_options *how, struct mst_arena *arena,
                                    struct mst_error *err)
{
    if (how->stops != MST_STOPS_LIST)
        return MST_OK;
    struct mst_addr *here = mst_arena_alloc(arena, how->stop_count, sizeof *here);
    if (!here && how->stop_count)
        return no_memory(err);
    int32_t first = mst_text_verse_index(text, range.first.sura, range.first.verse);
    int32_t last = mst_text_verse_index(text, range.last.sura, range.last.verse);
    size_t count = 0;
    for (size_t n = 0; n < how->stop_count; n++) {
        const struct mst_addr *stop = &how->stop_list[n];
        int32_t index = mst_text_verse_index(text, stop->sura, stop->verse ? stop->verse : 1);
        if (index >= first && index <= last)
            here[count++] = *stop;
    }
    how->stop_list = here;
    how->stop_count = count;
    if (count == 0)
        how->stops = MST_STOPS_NONE;
    return MST_OK;
}

static enum mst_status place_find(const struct mst_reading *r, struct mst_addr at, int32_t *word,
                                  int32_t *first, int32_t *last, struct mst_error *err)
{
    char text[48];
    for (int32_t w = 0; w < r->word_count; w++) {
        const struct mst_word *here = &r->words[w];
        if (here->sura != at.sura || here->verse != at.verse || here->word != at.word)
            continue;
        if (at.letter > here->letter_count)
            return mst_fail(err, MST_NOT_FOUND, "that word has %d letters; %d asked",
                            here->letter_count, at.letter);
        *word = w;
        *first = at.letter ? here->first_letter + at.letter - 1 : here->first_letter;
        *last = at.letter ? *first : here->first_letter + here->letter_count - 1;
        return MST_OK;
    }
    return mst_fail(err, MST_NOT_FOUND, "%s is not read here", mst_addr_print(at, text));
}

static void explained_site(struct mst_string *s, const struct mst_reading *r,
                           const struct mst_site *site)
{
    struct mst_string words = {0};
    for (int32_t w = r->letters[site->first].word_idx; w <= r->letters[site->last].word_idx; w++) {
        if (words.len)
            mst_string_adds(&words, " ");
        mst_text_for_display(mst_reading_word(r, w), &words);
    }
    js_open(s, NULL, '{');
    js_text(s, "rule", mst_rule_id(site->rule));
    js_text(s, "family", family_ids[mst_rule_family(site->rule)]);
    js_text(s, "name", mst_rule_name(site->rule, MST_LANG_EN));
    js_text(s, "name_ar", mst_rule_name(site->rule, MST_LANG_AR));
    js_letter_address(s, "at", r, site->trigger);
    js_letter_address(s, "trigger", r, site->trigger);
    js_letter_address(s, "host", r, site->host);
    js_letter_address(s, "first", r, site->first);
    js_letter_address(s, "last", r, site->last);
    js_site_facts(s, site);
    js_take(s, "words", &words);
    js_label(s, "label", r, site, MST_LANG_EN);
    js_label(s, "label_ar", r, site, MST_LANG_AR);
    js_reason(s, "reason", r, site, MST_LANG_EN);
    js_reason(s, "reason_ar", r, site, MST_LANG_AR);
    js_text(s, "mouth", mst_rule_mouth(site->rule, MST_LANG_EN));
    js_text(s, "mouth_ar", mst_rule_mouth(site->rule, MST_LANG_AR));
    js_text(s, "source", mst_rule_source(site->rule));
    js_text(s, "source_ar", mst_rule_source_ar(site->rule));
    js_close(s, '}');
}

enum mst_status get_explain(struct request *rq, struct mst_error *err)
{
    const struct mst_text *text = rq->desk->text;
    const char *typed;
    struct mst_addr at;
    struct mst_reading_options how;
    struct mst_reading *r = NULL;
    int32_t word = 0, first = 0, last = 0;
    enum mst_status status = param_wanted(rq, "at", "67:3:17:2", &typed, err);
    if (status == MST_OK)
        status = mst_addr_parse(text, mst_span_of(typed), &at, err);
    if (status == MST_OK && at.word == 0)
        status = mst_fail(err, MST_USAGE,
                          "explaining takes a word (67:3:2) or a letter (67:3:2:1); “%.40s” given",
                          typed);
    if (status == MST_OK)
        status = how_of_request(rq, &how, err);
    struct mst_range around = status == MST_OK ? surroundings(text, at) : (struct mst_range){0};
    if (status == MST_OK)
        status = stops_within(text, around, &how, rq->arena, err);
    if (status == MST_OK)
        status = mst_reading_new(text, around, &how, rq->arena, &r, err);
    if (status == MST_OK)
        status = place_find(r, at, &word, &first, &last, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    const struct mst_articulation *letter =
        at.letter ? mst_articulation_of(r->letters[first].base) : NULL;
    js_open(s, NULL, '{');
    js_text(s, "at", typed);
    at.letter = 0;
    js_address(s, "word", at);
    display(s, "display", mst_reading_word(r, word));
    if (letter)
        js_articulation(s, "letter", letter);
    else
        js_null(s, "letter");
    js_open(s, "sites", '[');
    for (int32_t n = 0; n < r->site_count; n++) {
        const struct mst_site *site = &r->sites[n];
        if ((site->first <= last && site->last >= first) ||
            (site->host >= first && site->host <= last))
            explained_site(s, r, site);
    }
    mst_string_adds(s, "]}");
    return MST_OK;
}
