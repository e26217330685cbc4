/*
 * tajweed/reason.c – the sentence that says why, and the short form of a mark
 * for those who do not see it.
 */
#include "internal.h"

#include <string.h>

static const char *const sentences[REASON_COUNT][2] = {
#define X(name, en, ar) [REASON_##name] = {en, ar},
    REASON_LIST(X)
#undef X
};

static const char *letter_name(const struct mst_reading *r, int32_t letter, enum mst_lang lang)
{
    const struct mst_articulation *a = letter < 0 || letter >= r->letter_count
                                           ? NULL
                                           : mst_articulation_of(r->letters[letter].base);

    if (!a)
        return lang == MST_LANG_AR ? "الحرف" : "the letter";
    return lang == MST_LANG_AR ? a->name_ar : a->name_en;
}

static const char *where(const struct mst_reading *r, const struct mst_site *s, enum mst_lang lang)
{
    bool same = s->host < 0 || r->letters[s->host].word_idx == r->letters[s->trigger].word_idx;

    if (lang == MST_LANG_AR)
        return same ? "في الكلمة نفسها" : "في أول الكلمة التالية";
    return same ? "in the same word" : "at the start of the next word";
}

static const char *nun(const struct mst_reading *r, const struct mst_site *s, enum mst_lang lang)
{
    bool opening = !s->tanwin && r->letters[s->trigger].base != 0x646;

    if (lang == MST_LANG_AR)
        return s->tanwin ? "نون التنوين" : opening ? "نون اسم الحرف" : "النون الساكنة";
    return s->tanwin ? "the nūn of tanwīn"
           : opening ? "the nūn that ends this letter's name"
                     : "nūn without a vowel";
}

/*
 * Within an opening a letter stands for its whole name: the mīm that merges
 * is the last of lām's name. The sentence names the mīm, not the letter written.
 */
void mst_site_reason(const struct mst_reading *r, const struct mst_site *s, enum mst_lang lang,
                     struct mst_string *out)
{
    const char *p = sentences[s->reason][lang == MST_LANG_AR];

    while (*p) {
        if (p[0] == '{' && p[1] && p[2] == '}') {
            switch (p[1]) {
            case 'n':
                mst_string_adds(out, nun(r, s, lang));
                break;
            case 't':
                mst_string_adds(out, letter_name(r, s->trigger, lang));
                break;
            case 'h':
                mst_string_adds(out, letter_name(r, s->host, lang));
                break;
            case 'w':
                mst_string_adds(out, where(r, s, lang));
                break;
            case 'c':
                mst_string_addf(out, "%d", s->counts);
                break;
            default:
                break;
            }
            p += 3;
        } else {
            size_t run = strcspn(p, "{");

            if (run == 0)
                run = 1;
            mst_string_add(out, p, run);
            p += run;
        }
    }
}

/* After its number the Arabic noun is dual, plural or singular by the number. */
static void add_counts_ar(struct mst_string *out, int counts)
{
    if (counts <= 2)
        mst_string_adds(out, counts == 2 ? "حركتان" : "حركة واحدة");
    else
        mst_string_addf(out, counts <= 10 ? "%d حركات" : "%d حركة", counts);
}

void mst_site_label(const struct mst_reading *r, const struct mst_site *s, enum mst_lang lang,
                    struct mst_string *out)
{
    bool ar = lang == MST_LANG_AR;
    int32_t w0 = r->words[r->letters[s->trigger].word_idx].word;

    mst_string_adds(out, mst_rule_name(s->rule, lang));
    mst_string_adds(out, ar ? "، " : ", ");
    mst_string_adds(out,
                    s->tanwin ? (ar ? "التنوين" : "tanwīn") : letter_name(r, s->trigger, lang));
    if (s->host >= 0 && s->host != s->trigger) {
        mst_string_adds(out, ar ? " قبل " : " before ");
        if (r->letters[s->host].base == 0x671)
            mst_string_adds(out, ar ? "همزة الوصل" : "a joining hamza");
        else
            mst_string_adds(out, letter_name(r, s->host, lang));
    }
    mst_string_addf(out, ar ? "، الكلمة %d" : ", word %d", w0);
    if (s->counts <= 0)
        return;
    mst_string_adds(out, ar ? "، " : ", ");
    if (ar)
        add_counts_ar(out, s->counts);
    else
        mst_string_addf(out, "%d counts", s->counts);
}
