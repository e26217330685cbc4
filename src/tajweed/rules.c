/*
 * tajweed/rules.c – names of rules, families and phones; sets of rules as a
 * teacher types them.
 */
#include "internal.h"

#include <string.h>

struct rule_info {
    const char *id, *ar, *en;
    enum mst_family family;
};

static const struct rule_info rules[MST_RULE_COUNT] = {
#define X(name, id_, ar_, en_, family_) {id_, ar_, en_, MST_FAMILY_##family_},
    MST_RULE_LIST(X)
#undef X
};

static const char *const family_names[MST_FAMILY_COUNT][2] = {
    [MST_FAMILY_LENGTH] = {"lengthening", "المدود"},
    [MST_FAMILY_NASAL] = {"nasal hold", "الغنة"},
    [MST_FAMILY_MERGE] = {"merging", "الإدغام"},
    [MST_FAMILY_TURN] = {"turning and lip hiding", "الإقلاب والإخفاء الشفوي"},
    [MST_FAMILY_HIDE] = {"hiding", "الإخفاء"},
    [MST_FAMILY_CLEAR] = {"clear", "الإظهار"},
    [MST_FAMILY_ECHO] = {"echo", "القلقلة"},
    [MST_FAMILY_WEIGHT] = {"heavy and light", "التفخيم والترقيق"},
    [MST_FAMILY_SILENT] = {"written, not sounded", "ما يُكتب ولا يُلفظ"},
    [MST_FAMILY_SEAM] = {"stopping and joining", "الوقف والوصل"},
    [MST_FAMILY_OWN] = {"words of their own", "كلمات مخصوصة"},
};

const char *mst_rule_id(enum mst_rule rule)
{
    return rules[rule].id;
}

const char *mst_rule_name(enum mst_rule rule, enum mst_lang lang)
{
    return lang == MST_LANG_AR ? rules[rule].ar : rules[rule].en;
}

enum mst_family mst_rule_family(enum mst_rule rule)
{
    return rules[rule].family;
}

const char *mst_family_name(enum mst_family family, enum mst_lang lang)
{
    return family_names[family][lang == MST_LANG_AR];
}

const char *mst_when_id(enum mst_when when)
{
    static const char *const ids[] = {"always", "joining", "stopping", "starting"};

    return ids[when];
}

/* --- phones ----------------------------------------------------------------- */

struct phone_info {
    const char *id, *ipa;
    enum mst_phone_kind kind;
};

static const struct phone_info phones[MST_PHONE_COUNT] = {
#define X(name, id_, ipa_, kind_) {id_, ipa_, MST_PHONE_KIND_##kind_},
    MST_PHONE_LIST(X)
#undef X
};

const char *mst_phone_id(enum mst_phone phone)
{
    return phones[phone].id;
}

const char *mst_phone_ipa(enum mst_phone phone)
{
    return phones[phone].ipa;
}

enum mst_phone_kind mst_phone_kind(enum mst_phone phone)
{
    return phones[phone].kind;
}

/* --- sets of rules ------------------------------------------------------------ */

#define BIT(name) (UINT64_C(1) << MST_RULE_##name)

struct named_set {
    const char *word;
    uint64_t bits;
};

/* Chapters, as a teacher names them; families come by their own words below. */
static const struct named_set chapters[] = {
    {"nun", BIT(IZHAR_HALQI) | BIT(IDGHAM_GHUNNA) | BIT(IDGHAM_BILA_GHUNNA) | BIT(IQLAB) |
                BIT(IKHFA) | BIT(IZHAR_MUTLAQ) | BIT(TANWIN_KASRA)},
    {"mim", BIT(IKHFA_SHAFAWI) | BIT(IDGHAM_SHAFAWI) | BIT(IZHAR_SHAFAWI)},
    {"lam", BIT(LAM_SHAMSIYYA) | BIT(LAM_QAMARIYYA)},
    {"ra", BIT(TAFKHIM_RA) | BIT(TARQIQ_RA)},
    {"sila", BIT(MADD_SILA_SUGHRA) | BIT(MADD_SILA_KUBRA)},
};

static const struct named_set family_words[] = {
    {"madd", 1u << MST_FAMILY_LENGTH},   {"merge", 1u << MST_FAMILY_MERGE},
    {"turn", 1u << MST_FAMILY_TURN},     {"hide", 1u << MST_FAMILY_HIDE},
    {"clear", 1u << MST_FAMILY_CLEAR},   {"echo", 1u << MST_FAMILY_ECHO},
    {"weight", 1u << MST_FAMILY_WEIGHT}, {"silent", 1u << MST_FAMILY_SILENT},
    {"seam", 1u << MST_FAMILY_SEAM},     {"own", 1u << MST_FAMILY_OWN},
    {"nasal", 1u << MST_FAMILY_NASAL},   {"all", ~UINT64_C(0)},
};

static bool word_is(struct mst_span s, const char *word)
{
    return s.len == strlen(word) && memcmp(s.ptr, word, s.len) == 0;
}

static uint64_t bits_of_word(struct mst_span s)
{
    uint64_t bits = 0;

    for (int i = 0; i < MST_RULE_COUNT; i++)
        if (word_is(s, rules[i].id))
            return UINT64_C(1) << i;
    for (size_t i = 0; i < sizeof chapters / sizeof *chapters; i++)
        if (word_is(s, chapters[i].word))
            return chapters[i].bits;
    for (size_t i = 0; i < sizeof family_words / sizeof *family_words; i++)
        if (word_is(s, family_words[i].word))
            for (int k = 0; k < MST_RULE_COUNT; k++)
                if (family_words[i].bits >> rules[k].family & 1u)
                    bits |= UINT64_C(1) << k;
    return bits;
}

/* Levenshtein, for short words. */
static int distance(struct mst_span a, const char *b)
{
    enum { MOST = 40 };
    int row[MOST + 1];
    size_t n = strlen(b);

    if (a.len > MOST || n > MOST)
        return MOST;
    for (size_t j = 0; j <= n; j++)
        row[j] = (int)j;
    for (size_t i = 1; i <= a.len; i++) {
        int diagonal = row[0];

        row[0] = (int)i;
        for (size_t j = 1; j <= n; j++) {
            int change = diagonal + (a.ptr[i - 1] != b[j - 1]);
            int best = row[j] + 1 < row[j - 1] + 1 ? row[j] + 1 : row[j - 1] + 1;

            diagonal = row[j];
            row[j] = change < best ? change : best;
        }
    }
    return row[n];
}

static const char *nearest(struct mst_span s)
{
    const char *best = rules[0].id;
    int best_distance = distance(s, best);

#define TRY(word)                                                                                  \
    do {                                                                                           \
        int d = distance(s, word);                                                                 \
                                                                                                   \
        if (d < best_distance) {                                                                   \
            best_distance = d;                                                                     \
            best = word;                                                                           \
        }                                                                                          \
    } while (0)
    for (int i = 1; i < MST_RULE_COUNT; i++)
        TRY(rules[i].id);
    for (size_t i = 0; i < sizeof chapters / sizeof *chapters; i++)
        TRY(chapters[i].word);
    for (size_t i = 0; i < sizeof family_words / sizeof *family_words; i++)
        TRY(family_words[i].word);
#undef TRY
    return best;
}

static bool same_letter(char a, char b)
{
    return a == b || (a >= 'A' && a <= 'Z' && a + ('a' - 'A') == b);
}

static bool holds(const char *name, struct mst_span s)
{
    size_t len = strlen(name);

    for (size_t at = 0; s.len > 0 && at + s.len <= len; at++) {
        size_t n = 0;

        while (n < s.len && same_letter(s.ptr[n], name[at + n]))
            n++;
        if (n == s.len)
            return true;
    }
    return false;
}

/* Of the rules with the word in their id or in a name of theirs, the ids; an Arabic word may have
 * its article. */
static void add_namesakes(struct mst_span s, struct mst_string *out)
{
    static const char article[] = "ال";
    struct mst_span bare = s;

    if (s.len > strlen(article) && memcmp(s.ptr, article, strlen(article)) == 0)
        bare = (struct mst_span){s.ptr + strlen(article), s.len - strlen(article)};
    for (int i = 0; i < MST_RULE_COUNT; i++)
        if (holds(rules[i].id, s) || holds(rules[i].en, s) || holds(rules[i].ar, bare))
            mst_string_addf(out, "%s%s", out->len ? ", " : "", rules[i].id);
}

static enum mst_status no_such_rule(struct mst_span s, struct mst_error *err)
{
    enum { SHOWN = 60 };
    struct mst_string namesakes = {0};
    int shown = s.len > SHOWN ? SHOWN : (int)s.len;
    enum mst_status status;

    add_namesakes(s, &namesakes);
    status = namesakes.len
                 ? mst_fail(err, MST_NOT_FOUND, "there is no rule “%.*s”; rules of that name: %s",
                            shown, s.ptr, namesakes.ptr)
                 : mst_fail(err, MST_NOT_FOUND, "there is no rule “%.*s”; nearest: %s", shown,
                            s.ptr, nearest(s));
    mst_string_free(&namesakes);
    return status;
}

const char *mst_rule_word(int n, struct mst_rule_set *out)
{
    enum {
        CHAPTERS = sizeof chapters / sizeof *chapters,
        WORDS = CHAPTERS + sizeof family_words / sizeof *family_words
    };

    if (n < 0 || n >= WORDS)
        return NULL;
    const char *word = n < CHAPTERS ? chapters[n].word : family_words[n - CHAPTERS].word;
    out->bits = bits_of_word((struct mst_span){word, strlen(word)});
    return word;
}

enum mst_status mst_rule_set_parse(struct mst_span s, struct mst_rule_set *out,
                                   struct mst_error *err)
{
    struct mst_span word;

    out->bits = 0;
    for (size_t at = 0; mst_list_next(s, &at, &word);) {
        uint64_t bits = bits_of_word(word);
        if (word.len == 0)
            return mst_fail(err, MST_NOT_FOUND, "the list of rules has an empty place");
        if (bits == 0)
            return no_such_rule(word, err);
        out->bits |= bits;
    }
    return MST_OK;
}
