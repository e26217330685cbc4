/* Reading an open text: suras, verses, words, translations, divisions. */
#include "text_private.h"

struct mst_span mst_text_credits(const struct mst_text *text)
{
    return text->credits;
}

struct mst_span mst_text_version(const struct mst_text *text)
{
    return text->version;
}

const struct mst_sura *mst_text_sura(const struct mst_text *text, int32_t sura)
{
    return sura >= 1 && sura <= MST_SURA_COUNT ? &text->suras[sura - 1] : NULL;
}

int32_t mst_text_verse_index(const struct mst_text *text, int32_t sura, int32_t verse)
{
    const struct mst_sura *s = mst_text_sura(text, sura);
    return s != NULL && verse >= 1 && verse <= s->verse_count ? s->first_index + verse - 1 : -1;
}

struct mst_addr mst_text_verse_addr(const struct mst_text *text, int32_t verse_index)
{
    if (verse_index < 0 || verse_index >= MST_VERSE_COUNT)
        return (struct mst_addr){0};
    int32_t low = 0, high = MST_SURA_COUNT; /* suras[low] begins at or before the verse */
    while (high - low > 1) {
        int32_t middle = (low + high) / 2;
        if (text->suras[middle].first_index <= verse_index)
            low = middle;
        else
            high = middle;
    }
    return (struct mst_addr){low + 1, verse_index - text->suras[low].first_index + 1, 0, 0};
}

/* The running index behind an address; the basmala before a sura is that of 1:1. -1: none. */
static int32_t printed_index(const struct mst_text *text, int32_t sura, int32_t verse)
{
    if (verse == 0 && sura > 1 && sura <= MST_SURA_COUNT && sura != 9)
        return 0;
    return mst_text_verse_index(text, sura, verse);
}

struct mst_span text_verse_at(const struct mst_text *text, int32_t verse_index)
{
    uint32_t start = text->verse_offsets[verse_index], end = text->verse_offsets[verse_index + 1];
    return (struct mst_span){text->verse_bytes + start, end - start};
}

struct mst_span mst_text_verse(const struct mst_text *text, int32_t sura, int32_t verse)
{
    int32_t index = printed_index(text, sura, verse);
    return index < 0 ? (struct mst_span){0} : text_verse_at(text, index);
}

int32_t mst_text_word_count(const struct mst_text *text, int32_t sura, int32_t verse)
{
    int32_t index = printed_index(text, sura, verse);
    return index < 0 ? 0 : (int32_t)(text->verse_words[index + 1] - text->verse_words[index]);
}

struct mst_span mst_text_word(const struct mst_text *text, int32_t sura, int32_t verse,
                              int32_t word)
{
    int32_t index = printed_index(text, sura, verse);
    if (index < 0 || word < 1 || word > mst_text_word_count(text, sura, verse))
        return (struct mst_span){0};
    struct mst_span whole = text_verse_at(text, index);
    uint32_t at = text->verse_words[index] + (uint32_t)word - 1;
    size_t start = text->word_offsets[at];
    size_t end = at + 1 < text->verse_words[index + 1] ? text->word_offsets[at + 1] - 1 : whole.len;
    return (struct mst_span){whole.ptr + start, end - start};
}

int mst_text_translation_count(const struct mst_text *text)
{
    return text->translation_count;
}

const struct mst_translation *mst_text_translation(const struct mst_text *text, int n)
{
    return n >= 0 && n < text->translation_count ? &text->translations[n].described : NULL;
}

int mst_text_translation_find(const struct mst_text *text, struct mst_span code)
{
    for (int n = 0; n < text->translation_count; n++)
        if (mst_span_equal(text->translations[n].described.code, code))
            return n;
    return -1;
}

enum mst_status mst_text_translation_check(const struct mst_text *text, int translation,
                                           struct mst_error *err)
{
    if (translation < 0 || translation >= text->translation_count)
        return mst_fail(err, MST_NOT_FOUND, "there is no translation number %d", translation);
    if (text_translation_good(text, translation))
        return MST_OK;
    struct mst_span title = text->translations[translation].described.title;
    return mst_fail(err, MST_BAD_DATA,
                    "the translation “%.*s” in the packed text is damaged; build the text anew",
                    (int)title.len, title.ptr);
}

struct mst_span mst_text_translated(const struct mst_text *text, int translation, int32_t sura,
                                    int32_t verse)
{
    int32_t index = printed_index(text, sura, verse);
    if (index < 0 || translation < 0 || translation >= text->translation_count ||
        !text_translation_good(text, translation))
        return (struct mst_span){0};
    const unsigned char *section = text->translations[translation].section;
    const uint32_t *offsets = (const void *)section;
    const char *bytes = (const char *)(offsets + MST_VERSE_COUNT + 1);
    return (struct mst_span){bytes + offsets[index], offsets[index + 1] - offsets[index]};
}

int32_t text_find_start(struct starts starts, int32_t verse_index)
{
    int32_t low = 0, high = starts.count;
    while (high - low > 1) {
        int32_t middle = (low + high) / 2;
        if (starts.at[middle] <= (uint32_t)verse_index)
            low = middle;
        else
            high = middle;
    }
    return low;
}

struct mst_place mst_text_place(const struct mst_text *text, int32_t sura, int32_t verse)
{
    /* A basmala before a sura lies where the sura's first verse does. */
    int32_t index = mst_text_verse_index(text, sura, verse == 0 ? 1 : verse);
    if (index < 0)
        return (struct mst_place){0};
    int32_t quarter = text_find_start(text->hizb_quarter, index);
    int32_t sajda = text_find_start(text->sajda, index);
    return (struct mst_place){
        .juz = text_find_start(text->juz, index) + 1,
        .hizb = quarter / 4 + 1,
        .hizb_quarter = quarter + 1,
        .page = text_find_start(text->page, index) + 1,
        .ruku = text_find_start(text->ruku, index) + 1,
        .manzil = text_find_start(text->manzil, index) + 1,
        .sajda = verse != 0 && text->sajda.at[sajda] == (uint32_t)index,
    };
}

/* The list a division is read from, and how many of its starts make one of the division. */
static struct starts division_starts(const struct mst_text *text, enum mst_division d,
                                     int32_t *step)
{
    *step = 1;
    switch (d) {
    case MST_JUZ:
        return text->juz;
    case MST_HIZB:
        *step = 4;
        return text->hizb_quarter;
    case MST_HIZB_QUARTER:
        return text->hizb_quarter;
    case MST_PAGE:
        return text->page;
    case MST_RUKU:
        return text->ruku;
    case MST_MANZIL:
        return text->manzil;
    }
    return (struct starts){0};
}

int32_t mst_text_division_count(const struct mst_text *text, enum mst_division d)
{
    int32_t step;
    struct starts starts = division_starts(text, d, &step);
    return starts.count / step;
}

enum mst_status mst_text_division_range(const struct mst_text *text, enum mst_division d, int32_t n,
                                        struct mst_range *out, struct mst_error *err)
{
    static const char *const names[] = {"juz", "hizb", "quarter", "page", "ruku", "manzil"};
    int32_t step, count = mst_text_division_count(text, d);
    if (n < 1 || n > count)
        return mst_fail(err, MST_NOT_FOUND, "there is no %s %d: they run from 1 to %d",
                        (unsigned)d < sizeof names / sizeof names[0] ? names[d] : "division", n,
                        count);
    struct starts starts = division_starts(text, d, &step);
    int32_t next = n * step;
    int32_t end = next < starts.count ? (int32_t)starts.at[next] : MST_VERSE_COUNT;
    out->first = mst_text_verse_addr(text, (int32_t)starts.at[next - step]);
    out->last = mst_text_verse_addr(text, end - 1);
    return MST_OK;
}
