/* arabic.c – an English sentence found in the tables by its fixed words, and told in Arabic. */
#include "arabic.h"

#include <ctype.h>
#include <mistara/tajweed.h>
#include <stdlib.h>
#include <string.h>

enum { BLANKS = 9, DEEPEST = 4 };

/* What stands in the blanks of a sentence. */
struct blanks {
    struct mst_span text[BLANKS];
    unsigned char quoted[BLANKS];
    int count;
};

static int find(struct mst_span sentence, struct mst_string *out, int depth);

/* --- matching ---------------------------------------------------------------------------- */

static int is_number(struct mst_span s)
{
    for (size_t n = 0; n < s.len; n++)
        if (!isdigit((unsigned char)s.ptr[n]) && !strchr(".-+e", s.ptr[n]))
            return 0;
    return s.len > 0;
}

static int blank_at(const char *form)
{
    return form[0] == '%' && (form[1] == 's' || form[1] == 'd');
}

static int begins_with(struct mst_span s, const char *words, size_t len)
{
    return s.len >= len && memcmp(s.ptr, words, len) == 0;
}

/* Does the sentence follow the form from here on? A blank ends where the words after it stand. */
static int follows(const char *form, struct mst_span s, int quoted, struct blanks *out)
{
    size_t fixed = 0;
    while (form[fixed] && !blank_at(form + fixed))
        fixed++;
    if (!begins_with(s, form, fixed))
        return 0;
    if (fixed)
        quoted = fixed >= 3 && memcmp(form + fixed - 3, "“", 3) == 0;
    s.ptr += fixed;
    s.len -= fixed;
    form += fixed;
    if (!*form)
        return s.len == 0;
    if (out->count == BLANKS)
        return 0;
    int kind = form[1], number = out->count++;
    form += 2;
    for (size_t len = *form ? 0 : s.len; len <= s.len; len++) {
        struct mst_span words = {s.ptr, len}, rest = {s.ptr + len, s.len - len};
        if ((kind == 's' || is_number(words)) && follows(form, rest, 0, out)) {
            out->text[number] = words;
            out->quoted[number] = (unsigned char)quoted;
            return 1;
        }
        out->count = number + 1;
    }
    return 0;
}

static size_t fixed_bytes(const char *form)
{
    size_t bytes = 0;
    for (; *form; form++)
        if (blank_at(form))
            form++;
        else
            bytes++;
    return bytes;
}

/* A form of no words of its own, such as “%s”: %s, fits too much: what it leads to must be known.
 */
static int has_words(const char *form)
{
    for (; *form; form++)
        if (blank_at(form))
            form++;
        else if (isalpha((unsigned char)*form))
            return 1;
    return 0;
}

/* --- telling ------------------------------------------------------------------------------ */

static int rule_name(struct mst_span words, struct mst_string *out)
{
    for (int rule = 1; rule < MST_RULE_COUNT; rule++)
        if (mst_span_equal(words, mst_span_of(mst_rule_name((enum mst_rule)rule, MST_LANG_EN)))) {
            mst_string_adds(out, mst_rule_name((enum mst_rule)rule, MST_LANG_AR));
            return 1;
        }
    return 0;
}

/* One rule, or several with commas. */
static int rule_names(struct mst_span words, struct mst_string *out)
{
    struct mst_string all = {0};
    struct mst_span one;
    size_t at = 0;
    int known = 0;
    while (mst_list_next(words, &at, &one)) {
        mst_string_adds(&all, known ? "، " : "");
        known = rule_name(one, &all);
        if (!known)
            break;
    }
    if (known)
        mst_string_add(out, all.ptr, all.len);
    mst_string_free(&all);
    return known;
}

static int needs_isolation(struct mst_span s)
{
    for (size_t n = 0; n < s.len; n++)
        if (!isdigit((unsigned char)s.ptr[n]))
            return s.len > 0;
    return 0;
}

/* Foreign words in an Arabic line keep their own direction: U+2068 FIRST STRONG ISOLATE and U+2069.
 */
static void as_it_is(struct mst_span words, struct mst_string *out)
{
    int isolate = needs_isolation(words);
    mst_string_adds(out, isolate ? "\u2068" : "");
    mst_string_add(out, words.ptr, words.len);
    mst_string_adds(out, isolate ? "\u2069" : "");
}

static void tell_blank(const struct blanks *blanks, int number, struct mst_string *out, int depth)
{
    struct mst_span words = blanks->text[number];
    if (blanks->quoted[number] || words.len == 0 ||
        (!find(words, out, depth + 1) && !rule_names(words, out)))
        as_it_is(words, out);
}

static void tell(const char *ar, const struct blanks *blanks, struct mst_string *out, int depth)
{
    int inside = 0; /* of { and } */
    for (; *ar; ar++) {
        if (*ar == '%' && ar[1] >= '1' && ar[1] < '1' + blanks->count) {
            int number = *++ar - '1';
            if (inside)
                mst_string_add(out, blanks->text[number].ptr, blanks->text[number].len);
            else
                tell_blank(blanks, number, out, depth);
        } else if (*ar == '{' && inside++ == 0) {
            mst_string_adds(out, "\u2066"); /* LEFT-TO-RIGHT ISOLATE */
        } else if (*ar == '}' && --inside == 0) {
            mst_string_adds(out, "\u2069");
        } else {
            mst_string_add(out, ar, 1);
        }
    }
}

static int any_known(const struct blanks *blanks, int depth)
{
    struct mst_string unused = {0};
    int known = 0;
    for (int n = 0; n < blanks->count && !known; n++)
        known = !blanks->quoted[n] && find(blanks->text[n], &unused, depth + 1);
    mst_string_free(&unused);
    return known;
}

static int find(struct mst_span sentence, struct mst_string *out, int depth)
{
    const struct said *const tables[] = {said_text, said_lesson, said_sound, said_desk, said_noun};
    const struct said *best = NULL;
    struct blanks blanks = {.count = 0};
    size_t most = 0;
    if (depth > DEEPEST || sentence.len == 0)
        return 0;
    for (size_t t = 0; t < sizeof tables / sizeof *tables; t++)
        for (const struct said *one = tables[t]; one->en; one++) {
            struct blanks found = {.count = 0};
            size_t bytes = fixed_bytes(one->en);
            if (bytes < most || (best && bytes == most) || !follows(one->en, sentence, 0, &found))
                continue;
            if (!has_words(one->en) && !any_known(&found, depth))
                continue;
            best = one;
            most = bytes;
            blanks = found;
        }
    if (best)
        tell(best->ar, &blanks, out, depth);
    return best != NULL;
}

int arabic_find(struct mst_span sentence, struct mst_string *out)
{
    return find(sentence, out, 0);
}

void arabic_of(const char *sentence, struct mst_string *out)
{
    if (find(mst_span_of(sentence), out, 0))
        return;
    /* clang-format off */
    mst_string_adds(out, "تعذر ذلك، وقيل بالإنجليزية: ");
    /* clang-format on */
    as_it_is(mst_span_of(sentence), out);
}
