/* text.c – `mistara text`: verses to read, or verses to find. */
#include "cli.h"

#include <string.h>

enum { TRANSLATIONS_MAX = 16, LIMIT = 50, ADDRESS_COLUMN = 9 };

struct request {
    int json, search, limit;
    const char *with, *in;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"with", 0, OPTION_TEXT, "CODE,…", "print these translations too, such as en,fr; also translit",
     TARGET(with)},
    {"search", 0, OPTION_FLAG, NULL, "take the words as a search even if they name a passage",
     TARGET(search)},
    {"in", 0, OPTION_TEXT, "CODE", "search this translation (default: en)", TARGET(in)},
    {"limit", 0, OPTION_COUNT, "N", "print at most N finds (default 50)", TARGET(limit)},
    {"json", 0, OPTION_FLAG, NULL, "JSON Lines, one verse or find a line", TARGET(json)},
};
static const struct option_group group = {"Options:", rows, sizeof rows / sizeof rows[0]};

/* What one run of the command works with. */
struct session {
    const struct mst_text *text;
    struct out *out;
    int json;
    int with[TRANSLATIONS_MAX]; /* translations to print */
    int with_count;
};

static enum mst_status translation_chosen(const struct mst_text *text, struct mst_span code,
                                          int *translation, struct mst_error *err)
{
    *translation = mst_text_translation_find(text, code);
    if (*translation >= 0)
        return MST_OK;
    struct mst_string codes = {0};
    for (int n = 0; n < mst_text_translation_count(text); n++) {
        struct mst_span known = mst_text_translation(text, n)->code;
        mst_string_addf(&codes, "%s%.*s", n ? ", " : "", (int)known.len, known.ptr);
    }
    enum mst_status status =
        mst_fail(err, MST_NOT_FOUND, "there is no translation “%.*s”; there are %s",
                 (int)(code.len < 40 ? code.len : 40), code.ptr, codes.ptr ? codes.ptr : "none");
    mst_string_free(&codes);
    return status;
}

static enum mst_status translations_chosen(struct session *session, const char *typed,
                                           struct mst_error *err)
{
    enum mst_status status = MST_OK;
    for (const char *at = typed; at && *at && status == MST_OK;) {
        size_t len = strcspn(at, ",");
        if (session->with_count == TRANSLATIONS_MAX)
            return mst_fail(err, MST_USAGE, "--with takes at most %d translations",
                            TRANSLATIONS_MAX);
        status = translation_chosen(session->text, (struct mst_span){at, len},
                                    &session->with[session->with_count++], err);
        at += len + (at[len] == ',');
    }
    return status;
}

/* text with bytes off…off+len of it marked as the hit. */
static void marked(struct out *out, struct mst_span text, int32_t off, int32_t len, int arabic)
{
    struct mst_string *s = &out->text;
    if (arabic)
        mst_string_add_cp(s, 0x2067);
    mst_string_add(s, text.ptr, (size_t)off);
    out_ink(out, INK_HIT);
    mst_string_add(s, text.ptr + off, (size_t)len);
    out_ink(out, INK_PLAIN);
    mst_string_add(s, text.ptr + off + len, text.len - (size_t)(off + len));
    if (arabic)
        mst_string_add_cp(s, 0x2069);
    mst_string_adds(s, "\n");
}

static void address_column(struct out *out, struct mst_addr at)
{
    char address[48];
    out_ink(out, INK_STRONG);
    out_padded(out, mst_span_of(mst_addr_print(at, address)), ADDRESS_COLUMN);
    out_ink(out, INK_PLAIN);
}

static void print_translation(const struct session *session, int translation, struct mst_addr at,
                              const struct mst_hit *hit)
{
    struct out *out = session->out;
    struct mst_span words = mst_text_translated(session->text, translation, at.sura, at.verse);
    if (words.len == 0)
        return;
    int rtl = mst_text_translation(session->text, translation)->right_to_left;
    mst_string_addf(&out->text, "%*s", ADDRESS_COLUMN, "");
    if (hit && hit->translation == translation)
        marked(out, words, hit->byte_off, hit->byte_len, rtl);
    else if (rtl)
        marked(out, words, 0, 0, rtl);
    else
        out_wrapped(out, words, ADDRESS_COLUMN, out->columns);
}

static void json_translations(const struct session *session, struct mst_addr at,
                              struct mst_string *s)
{
    json_key(s, "translations");
    mst_string_adds(s, "{");
    for (int n = 0; n < session->with_count; n++) {
        struct mst_span code = mst_text_translation(session->text, session->with[n])->code;
        char key[24];
        size_t len = code.len < sizeof key - 1 ? code.len : sizeof key - 1;
        memcpy(key, code.ptr, len);
        key[len] = '\0';
        json_text(s, key, mst_text_translated(session->text, session->with[n], at.sura, at.verse));
    }
    mst_string_adds(s, "}");
}

/* --- a passage ---------------------------------------------------------------- */

/* The printed words first…last of a verse; they lie side by side in it. */
static struct mst_span words_between(const struct mst_text *text, struct mst_addr verse,
                                     int32_t first, int32_t last)
{
    struct mst_span from = mst_text_word(text, verse.sura, verse.verse, first);
    struct mst_span to = mst_text_word(text, verse.sura, verse.verse, last);
    return (struct mst_span){from.ptr, (size_t)(to.ptr + to.len - from.ptr)};
}

static void passage_verse(const struct session *session, struct mst_addr at, struct mst_span words)
{
    struct mst_string *s = &session->out->text;
    if (!session->json) {
        address_column(session->out, at);
        marked(session->out, words, 0, 0, 1);
        for (int n = 0; n < session->with_count; n++)
            print_translation(session, session->with[n], at, NULL);
        return;
    }
    char address[48];
    struct mst_place place = mst_text_place(session->text, at.sura, at.verse);
    mst_string_adds(s, "{");
    json_text(s, "at", mst_span_of(mst_addr_print(at, address)));
    json_text(s, "text", words);
    json_number(s, "juz", place.juz);
    json_number(s, "hizb", place.hizb);
    json_number(s, "page", place.page);
    json_bool(s, "sajda", place.sajda);
    json_translations(session, at, s);
    mst_string_adds(s, "}\n");
}

static void print_passage(const struct session *session, struct mst_range range)
{
    struct mst_addr at = {range.first.sura, range.first.verse, 0, 0};
    while (at.sura < range.last.sura ||
           (at.sura == range.last.sura && at.verse <= range.last.verse)) {
        int is_first = at.sura == range.first.sura && at.verse == range.first.verse;
        int is_last = at.sura == range.last.sura && at.verse == range.last.verse;
        int32_t first = is_first && range.first.word ? range.first.word : 1;
        int32_t last = is_last && range.last.word
                           ? range.last.word
                           : mst_text_word_count(session->text, at.sura, at.verse);
        passage_verse(session, at, words_between(session->text, at, first, last));
        out_more(session->out);
        if (at.verse < mst_text_sura(session->text, at.sura)->verse_count)
            at.verse++;
        else
            at = (struct mst_addr){at.sura + 1, 1, 0, 0};
    }
}

/* --- a search ------------------------------------------------------------------ */

static void print_hit(const struct session *session, const struct mst_hit *hit)
{
    struct out *out = session->out;
    struct mst_addr at = mst_text_verse_addr(session->text, hit->verse_index);
    struct mst_span verse = mst_text_verse(session->text, at.sura, at.verse);
    int arabic = hit->translation < 0;
    if (!session->json) {
        address_column(out, at);
        marked(out, verse, arabic ? hit->byte_off : 0, arabic ? hit->byte_len : 0, 1);
        if (!arabic)
            print_translation(session, hit->translation, at, hit);
        for (int n = 0; n < session->with_count; n++)
            if (session->with[n] != hit->translation)
                print_translation(session, session->with[n], at, NULL);
        return;
    }
    struct mst_string *s = &out->text;
    char address[48];
    mst_string_adds(s, "{");
    json_text(s, "at", mst_span_of(mst_addr_print(at, address)));
    json_text(s, "text", verse);
    if (arabic) {
        struct mst_addr word = {at.sura, at.verse, hit->first_word, 0};
        json_null(s, "in");
        json_text(s, "first_word", mst_span_of(mst_addr_print(word, address)));
        word.word = hit->last_word;
        json_text(s, "last_word", mst_span_of(mst_addr_print(word, address)));
        json_text(s, "hit", (struct mst_span){verse.ptr + hit->byte_off, (size_t)hit->byte_len});
    } else {
        struct mst_span words =
            mst_text_translated(session->text, hit->translation, at.sura, at.verse);
        json_text(s, "in", mst_text_translation(session->text, hit->translation)->code);
        json_null(s, "first_word");
        json_null(s, "last_word");
        json_text(s, "hit", (struct mst_span){words.ptr + hit->byte_off, (size_t)hit->byte_len});
    }
    json_translations(session, at, s);
    mst_string_adds(s, "}\n");
}

static enum mst_status print_search(const struct session *session, struct mst_span query,
                                    int translation, size_t limit, struct mst_arena *arena,
                                    struct mst_error *err)
{
    struct mst_hit *hits;
    size_t count;
    /* One more than is printed, to know whether there are more. */
    enum mst_status status =
        mst_text_search(session->text, query, translation, limit + 1, arena, &hits, &count, err);
    if (status != MST_OK)
        return status;
    for (size_t n = 0; n < count && n < limit; n++) {
        print_hit(session, &hits[n]);
        out_more(session->out);
    }
    if (count > limit && !session->json)
        mst_string_addf(&session->out->text,
                        "\nThese are the first %zu finds; --limit asks for more.\n", limit);
    if (count == 0)
        return mst_fail(err, MST_NOT_FOUND, "“%.*s” is neither a passage nor found in any verse",
                        (int)(query.len < 200 ? query.len : 200), query.ptr);
    return MST_OK;
}

/* Whoever types digits means a place, and wants to hear what is wrong with it. */
static int has_digit(struct mst_span words)
{
    size_t off = 0;
    while (off < words.len) {
        uint32_t cp = mst_utf8_next(words.ptr, words.len, &off);
        if ((cp >= '0' && cp <= '9') || (cp >= 0x660 && cp <= 0x669) ||
            (cp >= 0x6F0 && cp <= 0x6F9))
            return 1;
    }
    return 0;
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {.limit = LIMIT};
    void *const targets[] = {&request};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct session session = {.out = out};
    struct mst_span words;
    struct mst_range range;
    int translation = -1;

    enum mst_status status = options_read(self, argc, argv, targets, arena, &words, err);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    session.text = text;
    session.json = request.json;
    if (status == MST_OK)
        status = translations_chosen(&session, request.with, err);
    if (status == MST_OK && request.in)
        status = translation_chosen(text, mst_span_of(request.in), &translation, err);
    if (status != MST_OK)
        goto done;

    status =
        request.search || request.in ? MST_NOT_FOUND : mst_range_parse(text, words, &range, err);
    if (status == MST_OK)
        print_passage(&session, range);
    else if (request.search || request.in || !has_digit(words))
        status = print_search(&session, words, translation, (size_t)request.limit, arena, err);
done:
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_text = {
    .name = "text",
    .arguments = "PASSAGE|SEARCH",
    .asks = "a passage or words to find, for example: mistara text 112",
    .summary = "the verses of a passage, or those that hold certain words",
    .about = "Prints the verses of a passage, byte for byte as in the print, or finds words.\n"
             "Arabic with vowel signs must match them; without, the letters alone are compared.\n"
             "Words in Latin letters are sought in the English translation (see --in). What names\n"
             "a passage is taken as one, unless --search is given.",
    .examples = "  mistara text 67:1-5 --with en          with the English translation\n"
                "  mistara text al-Ikhlas                 a sura by its name\n"
                "  mistara text طباقا                     find an Arabic word\n"
                "  mistara text --search الملك            the word, not the sura of that name\n"
                "  mistara text layers                    find a word of the English translation\n",
    .groups = {&group},
    .run = run,
};
