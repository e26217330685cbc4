/*
 * What a teacher types for a passage → a range that exists.
 *
 *   passage := "all" | division | place [dash end]
 *   division := juz|hizb|quarter|page|ruku|manzil number [dash number]
 *   place   := ["sura"] (number | name) [verse [word [letter]]]
 *   end     := number of the same kind as the last one of place | place
 *
 * Numbers are parted by colons or gaps; a hyphen inside a name is no dash.
 */
#include "text_private.h"

#include <stdio.h>
#include <string.h>

enum { MAX_TOKENS = 24, MAX_NUMBER = 99999 };

enum token_kind { TOKEN_END, TOKEN_NUMBER, TOKEN_COLON, TOKEN_DASH, TOKEN_WORD };

struct token {
    enum token_kind kind;
    int32_t number;
    struct mst_span word; /* a run of letters with the hyphens inside it */
};

struct tokens {
    const struct mst_text *text;
    struct mst_span typed;
    struct token at[MAX_TOKENS + 1];
    size_t count, next;
    struct mst_error *err;
};

/* What was typed, cut to a length that leaves an error message room for its advice. */
static int shown_len(struct mst_span s)
{
    size_t len = s.len < 80 ? s.len : 80;
    while (len > 0 && len < s.len && ((unsigned char)s.ptr[len] & 0xC0) == 0x80)
        len--;
    return (int)len;
}
#define SHOWN(s) shown_len(s), (s).ptr

/* --- tokens --------------------------------------------------------------- */

static int is_dash(uint32_t cp)
{
    return cp == '-' || (cp >= 0x2010 && cp <= 0x2015) || cp == 0x2212 || cp == 0xFE58 ||
           cp == 0xFE63 || cp == 0xFF0D;
}

static int is_gap(uint32_t cp)
{
    return cp <= 0x20 || cp == 0xA0 || (cp >= 0x2000 && cp <= 0x200A) || cp == 0x202F ||
           cp == 0x3000;
}

static int is_colon(uint32_t cp)
{
    return cp == ':' || cp == 0xFF1A || cp == 0x2236;
}

/* Part of a name: letters, their marks, apostrophes. */
static int is_letter(uint32_t cp)
{
    return !is_gap(cp) && !is_dash(cp) && !is_colon(cp) && text_digit_value(cp) < 0 &&
           (cp > 0x7F || (cp >= 'a' && cp <= 'z') || (cp >= 'A' && cp <= 'Z') || cp == '\'' ||
            cp == '`');
}

/* The code point at off without moving; a gap beyond the end. */
static uint32_t peek(struct mst_span s, size_t off)
{
    while (off < s.len) {
        uint32_t cp = mst_utf8_next(s.ptr, s.len, &off);
        if (!text_is_invisible(cp))
            return cp;
    }
    return ' ';
}

/* A word goes on over a hyphen that stands between two letters. */
static size_t end_of_word(struct mst_span s, size_t off)
{
    for (size_t end = off;;) {
        if (off >= s.len)
            return off;
        uint32_t cp = mst_utf8_next(s.ptr, s.len, &off);
        if (is_letter(cp) || text_is_invisible(cp) || (is_dash(cp) && is_letter(peek(s, off))))
            end = off;
        else
            return end;
    }
}

static enum mst_status scan(struct tokens *t)
{
    struct mst_span s = t->typed;
    for (size_t off = 0; off < s.len;) {
        size_t start = off;
        uint32_t cp = mst_utf8_next(s.ptr, s.len, &off);
        if (is_gap(cp) || text_is_invisible(cp))
            continue;
        struct token token = {0};
        if (text_digit_value(cp) >= 0) {
            token.kind = TOKEN_NUMBER;
            for (off = start; off < s.len;) {
                size_t before = off;
                int digit = text_digit_value(mst_utf8_next(s.ptr, s.len, &off));
                if (digit < 0) {
                    off = before;
                    break;
                }
                token.number = token.number * 10 + digit;
                if (token.number > MAX_NUMBER)
                    return mst_fail(t->err, MST_NOT_FOUND,
                                    "“%.*s” holds a number that is too large", SHOWN(s));
            }
        } else if (is_colon(cp)) {
            token.kind = TOKEN_COLON;
        } else if (is_dash(cp)) {
            token.kind = TOKEN_DASH;
        } else if (is_letter(cp)) {
            token.kind = TOKEN_WORD;
            off = end_of_word(s, start);
            token.word = (struct mst_span){s.ptr + start, off - start};
        } else {
            return mst_fail(t->err, MST_USAGE,
                            "“%.*s” cannot be read as a passage at “%.*s”; write it like 67:1-5",
                            SHOWN(s), (int)(off - start), s.ptr + start);
        }
        if (t->count == MAX_TOKENS)
            return mst_fail(t->err, MST_USAGE,
                            "“%.*s…” is too long for a passage; write it like 67:1-5", SHOWN(s));
        t->at[t->count++] = token;
    }
    t->at[t->count].kind = TOKEN_END;
    return MST_OK;
}

static const struct token *current(const struct tokens *t)
{
    return &t->at[t->next];
}

static int accept(struct tokens *t, enum token_kind kind)
{
    if (current(t)->kind != kind)
        return 0;
    t->next++;
    return 1;
}

/* Two words alike but for case, accents and the spelling of their letters. */
static int words_alike(struct mst_span a, struct mst_span b)
{
    size_t i = 0, j = 0;
    uint32_t fa[2], fb[2];
    for (;;) {
        int na = 0, nb = 0;
        while (i < a.len && na == 0)
            na = text_fold(mst_utf8_next(a.ptr, a.len, &i), fa);
        while (j < b.len && nb == 0)
            nb = text_fold(mst_utf8_next(b.ptr, b.len, &j), fb);
        if (na != nb || (na > 0 && fa[0] != fb[0]) || (na > 1 && fa[1] != fb[1]))
            return 0;
        if (na == 0)
            return 1;
    }
}

static int is_one_of(struct mst_span word, const char *const *list)
{
    for (; *list != NULL; list++)
        if (words_alike(word, mst_span_of(*list)))
            return 1;
    return 0;
}

static int accept_word(struct tokens *t, const char *const *list)
{
    return current(t)->kind == TOKEN_WORD && is_one_of(current(t)->word, list) &&
           accept(t, TOKEN_WORD);
}

/* --- the words of the grammar ----------------------------------------------- */

static const char *const all_words[] = {"all", "everything", "whole",  "quran", "الكل",
                                        "كله", "القرآن",     "المصحف", NULL};
static const char *const sura_words[] = {"sura",   "surah", "surat", "surats", "suras",
                                         "surahs", "سورة",  "سور",   "السورة", NULL};
static const char *const verse_words[] = {"verse", "verses", "v",      "vv",      "aya",
                                          "ayah",  "ayas",   "ayat",   "ayahs",   "آية",
                                          "آيات",  "الآية",  "الآيات", "الآيتان", NULL};
static const char *const word_words[] = {"word",   "words",   "كلمة", "كلمات",
                                         "الكلمة", "الكلمات", NULL};
static const char *const to_words[] = {"to", "until", "till", "through", "إلى", "حتى", NULL};

static const struct {
    enum mst_division division;
    const char *const *words;
} divisions[] = {
    {MST_JUZ, (const char *const[]){"juz", "juzs", "ajza", "para", "جزء", "الجزء", "أجزاء",
                                    "الأجزاء", NULL}},
    {MST_HIZB, (const char *const[]){"hizb", "hizbs", "حزب", "الحزب", NULL}},
    {MST_HIZB_QUARTER,
     (const char *const[]){"quarter", "quarters", "rub", "rubs", "ربع", "الربع", NULL}},
    {MST_PAGE,
     (const char *const[]){"page", "pages", "p", "pp", "صفحة", "الصفحة", "صفحات", "الصفحات", NULL}},
    {MST_RUKU, (const char *const[]){"ruku", "rukus", "ركوع", "الركوع", NULL}},
    {MST_MANZIL, (const char *const[]){"manzil", "manzils", "منزل", "المنزل", NULL}},
};

/* The two juz that go by the word they begin with. */
static const char *const juz_29_words[] = {"tabarak", "tabaraka", "تبارك", NULL};
static const char *const juz_30_words[] = {"amma", "عم", NULL};

/* --- places ------------------------------------------------------------------ */

/* What was given of an address; parts counts sura, verse, word, letter. */
struct place {
    struct mst_addr addr;
    int parts;
};

static enum mst_status check_place(const struct tokens *t, const struct place *p)
{
    int32_t sura = p->addr.sura, verse = p->addr.verse;
    const struct mst_sura *s = mst_text_sura(t->text, sura);
    if (s == NULL)
        return mst_fail(t->err, MST_NOT_FOUND, "there are 114 suras; %d asked", sura);
    if (p->parts >= 2 && (verse < 0 || verse > s->verse_count))
        return mst_fail(t->err, MST_NOT_FOUND, "sura %d has %d verses; %d asked", sura,
                        s->verse_count, verse);
    if (p->parts >= 2 && verse == 0 && mst_text_word_count(t->text, sura, 0) == 0)
        return mst_fail(t->err, MST_NOT_FOUND,
                        sura == 1 ? "in sura 1 the basmala is verse 1; 1:0 asked"
                                  : "no basmala is read before sura %d; verse 0 asked",
                        sura);
    if (p->parts >= 3) {
        int32_t words = mst_text_word_count(t->text, sura, verse);
        if (p->addr.word < 1 || p->addr.word > words)
            return mst_fail(t->err, MST_NOT_FOUND, "verse %d:%d has %d words; word %d asked", sura,
                            verse, words, p->addr.word);
    }
    if (p->parts >= 4 && p->addr.letter < 1)
        return mst_fail(t->err, MST_NOT_FOUND, "letters are counted from 1; %d asked",
                        p->addr.letter);
    return MST_OK;
}

static enum mst_status unknown_name(const struct tokens *t, struct mst_span name,
                                    const int32_t nearest[3])
{
    struct mst_string offer = {0};
    for (int i = 0; i < 3 && nearest[i] != 0; i++) {
        const struct mst_sura *s = mst_text_sura(t->text, nearest[i]);
        mst_string_addf(&offer, "%s%.*s (%d)",
                        i == 0                          ? ""
                        : i == 2 || nearest[i + 1] == 0 ? " or "
                                                        : ", ",
                        (int)s->name_en.len, s->name_en.ptr, nearest[i]);
    }
    enum mst_status status =
        offer.len > 0 && !offer.failed
            ? mst_fail(t->err, MST_NOT_FOUND, "no sura is called “%.*s”; did you mean %s?",
                       SHOWN(name), offer.ptr)
            : mst_fail(t->err, MST_NOT_FOUND,
                       "no sura is called “%.*s”; give its number (1 to 114) or its name",
                       SHOWN(name));
    mst_string_free(&offer);
    return status;
}

/* The words from token first up to token end as they were typed. */
static struct mst_span words_between(const struct tokens *t, size_t first, size_t end)
{
    const struct token *head = &t->at[first], *tail = &t->at[end - 1];
    return (struct mst_span){head->word.ptr,
                             (size_t)(tail->word.ptr - head->word.ptr) + tail->word.len};
}

/*
 * A name of one or more words: all that follow if they are one ("She that is
 * to be examined"), else those before the first word of the grammar.
 */
static enum mst_status parse_name(struct tokens *t, int32_t *sura)
{
    size_t first = t->next, end = first, cut = 0;
    int32_t nearest[3];
    for (; t->at[end].kind == TOKEN_WORD; end++) {
        struct mst_span word = t->at[end].word;
        if (cut == 0 && end > first &&
            (is_one_of(word, verse_words) || is_one_of(word, to_words) ||
             is_one_of(word, word_words)))
            cut = end;
    }
    struct mst_span name = words_between(t, first, end);
    *sura = text_sura_by_name(t->text, name, nearest);
    if (*sura == 0 && cut > 0) {
        end = cut;
        name = words_between(t, first, end);
        *sura = text_sura_by_name(t->text, name, nearest);
    }
    t->next = end;
    return *sura != 0 ? MST_OK : unknown_name(t, name, nearest);
}

/* The next number of a place: after a colon, a gap, or a word that announces it. 0: there is none.
 */
static int accept_number(struct tokens *t, int colon_needed, int32_t *number)
{
    size_t back = t->next;
    int announced = accept(t, TOKEN_COLON);
    announced |= accept_word(t, verse_words) || accept_word(t, word_words);
    if ((announced || !colon_needed) && current(t)->kind == TOKEN_NUMBER) {
        *number = current(t)->number;
        t->next++;
        return 1;
    }
    t->next = back;
    return 0;
}

static enum mst_status not_understood(const struct tokens *t)
{
    return mst_fail(t->err, MST_USAGE,
                    "“%.*s” is not understood as a passage; write it like 67, 67:1-5, "
                    "al-Mulk 1-5, juz 30 or page 562",
                    SHOWN(t->typed));
}

static enum mst_status parse_place(struct tokens *t, struct place *out)
{
    *out = (struct place){.parts = 1};
    accept_word(t, sura_words);
    if (current(t)->kind == TOKEN_NUMBER) {
        out->addr.sura = current(t)->number;
        t->next++;
    } else if (current(t)->kind == TOKEN_WORD) {
        enum mst_status status = parse_name(t, &out->addr.sura);
        if (status != MST_OK)
            return status;
    } else {
        return not_understood(t);
    }
    int32_t *parts[] = {&out->addr.verse, &out->addr.word, &out->addr.letter};
    while (out->parts < 4 && accept_number(t, out->parts > 1, parts[out->parts - 1]))
        out->parts++;
    return check_place(t, out);
}

/*
 * The end of a range. One number is of the kind of the start's last part:
 * 78-80 suras, 67:1-5 verses, 67:3:2-4 words. Anything else is a place.
 */
static enum mst_status parse_end(struct tokens *t, const struct place *start, struct place *out)
{
    int lone = current(t)->kind == TOKEN_NUMBER && t->at[t->next + 1].kind == TOKEN_END;
    size_t back = t->next;
    if (!lone && (accept_word(t, verse_words) || accept_word(t, word_words)))
        lone = current(t)->kind == TOKEN_NUMBER && t->at[t->next + 1].kind == TOKEN_END;
    if (!lone) {
        t->next = back;
        return parse_place(t, out);
    }
    *out = *start;
    int32_t *last = start->parts == 1   ? &out->addr.sura
                    : start->parts == 2 ? &out->addr.verse
                                        : &out->addr.word;
    *last = current(t)->number;
    t->next++;
    return check_place(t, out);
}

/* Whole suras and verses get their first and last verse filled in. */
static struct mst_range range_of(const struct mst_text *text, const struct place *first,
                                 const struct place *last)
{
    struct mst_range range = {first->addr, last->addr};
    if (first->parts < 2)
        range.first.verse = 1;
    if (last->parts < 2)
        range.last.verse = mst_text_sura(text, last->addr.sura)->verse_count;
    return range;
}

/* 67:5 stands for the whole verse: its end is beyond every word of it. */
static int runs_backwards(struct mst_range r)
{
    if (r.last.word == 0)
        r.last.word = INT32_MAX;
    return mst_addr_compare(r.first, r.last) > 0;
}

static int at_dash(struct tokens *t)
{
    return accept(t, TOKEN_DASH) || accept_word(t, to_words);
}

static enum mst_status parse_division(struct tokens *t, enum mst_division division,
                                      struct mst_range *out)
{
    int32_t first = 0, last;
    accept(t, TOKEN_COLON);
    if (current(t)->kind == TOKEN_NUMBER) {
        first = current(t)->number;
        t->next++;
    } else if (division == MST_JUZ && accept_word(t, juz_29_words)) {
        first = 29;
    } else if (division == MST_JUZ && accept_word(t, juz_30_words)) {
        first = 30;
    } else {
        return not_understood(t);
    }
    last = first;
    if (at_dash(t)) {
        if (current(t)->kind != TOKEN_NUMBER)
            return not_understood(t);
        last = current(t)->number;
        t->next++;
    }
    if (current(t)->kind != TOKEN_END)
        return not_understood(t);
    if (last < first)
        return mst_fail(t->err, MST_USAGE, "“%.*s” runs backwards", SHOWN(t->typed));
    struct mst_range tail;
    enum mst_status status = mst_text_division_range(t->text, division, first, out, t->err);
    if (status == MST_OK)
        status = mst_text_division_range(t->text, division, last, &tail, t->err);
    if (status == MST_OK)
        out->last = tail.last;
    return status;
}

static enum mst_status parse_range(struct tokens *t, struct mst_range *out)
{
    if (t->count == 0)
        return mst_fail(t->err, MST_USAGE, "no passage was given; write it like 67:1-5");
    if (t->count == 1 && accept_word(t, all_words)) {
        *out = (struct mst_range){{1, 1, 0, 0}, mst_text_verse_addr(t->text, MST_VERSE_COUNT - 1)};
        return MST_OK;
    }
    for (size_t i = 0; i < sizeof divisions / sizeof divisions[0]; i++)
        if (accept_word(t, divisions[i].words))
            return parse_division(t, divisions[i].division, out);

    struct place first, last;
    enum mst_status status = parse_place(t, &first);
    if (status != MST_OK)
        return status;
    last = first;
    if (at_dash(t)) {
        status = parse_end(t, &first, &last);
        if (status != MST_OK)
            return status;
    }
    if (current(t)->kind != TOKEN_END)
        return not_understood(t);
    if (first.parts > 3 || last.parts > 3)
        return mst_fail(t->err, MST_USAGE,
                        "“%.*s” names a letter; a passage begins and ends with words",
                        SHOWN(t->typed));
    if ((first.parts > 1 && first.addr.verse == 0) || (last.parts > 1 && last.addr.verse == 0))
        return mst_fail(t->err, MST_USAGE,
                        "“%.*s”: the basmala is read when a passage begins at the head of its "
                        "sura; begin at verse 1",
                        SHOWN(t->typed));
    *out = range_of(t->text, &first, &last);
    if (runs_backwards(*out)) {
        char a[48], b[48];
        return mst_fail(t->err, MST_USAGE, "“%.*s” runs backwards: %s comes after %s",
                        SHOWN(t->typed), mst_addr_print(out->first, a),
                        mst_addr_print(out->last, b));
    }
    return MST_OK;
}

enum mst_status mst_range_parse(const struct mst_text *text, struct mst_span s,
                                struct mst_range *out, struct mst_error *err)
{
    struct tokens t = {.text = text, .typed = s, .err = err};
    enum mst_status status = scan(&t);
    return status == MST_OK ? parse_range(&t, out) : status;
}

enum mst_status mst_addr_parse(const struct mst_text *text, struct mst_span s, struct mst_addr *out,
                               struct mst_error *err)
{
    struct tokens t = {.text = text, .typed = s, .err = err};
    struct place place;
    enum mst_status status = scan(&t);
    if (status == MST_OK && t.count == 0)
        return mst_fail(err, MST_USAGE, "no address was given; write it like 67:3:2");
    if (status == MST_OK)
        status = parse_place(&t, &place);
    if (status == MST_OK && current(&t)->kind != TOKEN_END)
        status = mst_fail(err, MST_USAGE,
                          "“%.*s” is not understood as one place; write it like 67:3:2", SHOWN(s));
    if (status == MST_OK)
        *out = place.addr;
    return status;
}
