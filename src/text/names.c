/*
 * Suras by name, as people write them: with or without the article, "sura",
 * hyphens, marks, doubled letters; by the other names in use.
 */
#include "text_private.h"

#include <stdlib.h>
#include <string.h>

enum { MAX_KEY = 48, MAX_KEYS_OF_SURA = 12 };

/* Letters of a name without gaps, folded. */
struct key {
    uint32_t cp[MAX_KEY];
    size_t len;
    size_t gap; /* letters before its first gap or hyphen, 0 when there is none */
};

/* Names beside those of the source; common practice, no source. */
static const struct {
    int32_t sura;
    const char *name;
} other_names[] = {
    {1, "Hamd"},         {1, "الحمد"},        {1, "أم الكتاب"},
    {9, "Baraa"},        {9, "Bara'ah"},      {9, "براءة"},
    {17, "Bani Israil"}, {17, "بني إسرائيل"}, {20, "Ta Ha"},
    {32, "الم السجدة"},  {35, "Malaika"},     {35, "الملائكة"},
    {36, "ياسين"},       {36, "Yaseen"},      {38, "صاد"},
    {40, "Mumin"},       {40, "المؤمن"},      {41, "Ha Mim Sajda"},
    {41, "حم السجدة"},   {47, "Qital"},       {47, "القتال"},
    {50, "قاف"},         {67, "Tabarak"},     {67, "تبارك"},
    {68, "Nun"},         {68, "ن"},           {68, "نون"},
    {70, "سأل سائل"},    {76, "Dahr"},        {76, "الدهر"},
    {78, "Amma"},        {78, "عم"},          {94, "Inshirah"},
    {94, "الانشراح"},    {94, "ألم نشرح"},    {96, "Iqra"},
    {96, "اقرأ"},        {98, "لم يكن"},      {99, "Zilzal"},
    {106, "لإيلاف"},     {107, "أرأيت"},      {111, "Lahab"},
    {111, "Tabbat"},     {111, "تبت"},        {111, "اللهب"},
    {112, "Tawhid"},     {112, "التوحيد"},
};

/* Letters alone. */
static struct key key_of(struct mst_span name)
{
    struct key key = {.len = 0};
    for (size_t off = 0; off < name.len;) {
        uint32_t folded[2];
        int count = text_fold(mst_utf8_next(name.ptr, name.len, &off), folded);
        for (int i = 0; i < count; i++) {
            if (folded[i] == ' ') {
                if (key.gap == 0)
                    key.gap = key.len;
            } else if (key.len < MAX_KEY) {
                key.cp[key.len++] = folded[i];
            } else {
                return (struct key){.len = 0}; /* longer than any name */
            }
        }
    }
    if (key.gap == key.len)
        key.gap = 0;
    return key;
}

static struct key without_first(struct key key, size_t count)
{
    memmove(key.cp, key.cp + count, (key.len - count) * sizeof key.cp[0]);
    key.len -= count;
    key.gap = key.gap > count ? key.gap - count : 0;
    return key;
}

static int starts_with(const struct key *key, const char *prefix)
{
    struct key p = key_of(mst_span_of(prefix));
    return key->len > p.len && memcmp(key->cp, p.cp, p.len * sizeof p.cp[0]) == 0;
}

static int is_arabic_key(const struct key *key)
{
    return key->len > 0 && text_is_arabic(key->cp[0]);
}

/* Letters of the article at the head: "al-" and its likes before sun letters; ال. 0: none. */
static size_t article_length(const struct key *key)
{
    if (is_arabic_key(key))
        return starts_with(key, "ال") && key->len > 3 ? 2 : 0;
    static const char *const forms[] = {"al", "an",  "at",  "ar",  "as", "az",
                                        "ad", "ash", "adh", "ath", "el"};
    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
        size_t len = strlen(forms[i]);
        if (key->gap == len && starts_with(key, forms[i]))
            return len;
    }
    return 0;
}

/* Spellings of the same sound in Latin letters brought together: one letter for a doubled one, long
 * vowels, final h. */
static struct key by_sound(struct key key)
{
    struct key out = {.len = 0};
    if (is_arabic_key(&key))
        return key;
    for (size_t i = 0; i < key.len; i++) {
        uint32_t cp = key.cp[i], before = i > 0 ? key.cp[i - 1] : 0;
        uint32_t next = i + 1 < key.len ? key.cp[i + 1] : 0;
        if (cp == 'e' && (before == 'e' || next == 'e'))
            cp = 'i';
        else if (cp == 'o' && (before == 'o' || next == 'o'))
            cp = 'u';
        else if (cp == 'o')
            cp = 'u';
        else if (cp == 'e')
            cp = 'i';
        else if (cp == 'u' && before == 'a')
            cp = 'w'; /* kauthar, kawthar */
        else if (cp == 'i' && before == 'a')
            cp = 'y'; /* quraish, quraysh */
        if (out.len == 0 || out.cp[out.len - 1] != cp)
            out.cp[out.len++] = cp;
        /* A doubled letter of two signs: thth, dhdh, shsh, khkh. */
        if (cp == 'h' && out.len >= 4 && out.cp[out.len - 3] == 'h' &&
            out.cp[out.len - 2] == out.cp[out.len - 4])
            out.len -= 2;
    }
    if (out.len > 3 && out.cp[out.len - 1] == 'h' && out.cp[out.len - 2] == 'a')
        out.len--;
    return out;
}

static int keys_equal(const struct key *a, const struct key *b)
{
    return a->len == b->len && memcmp(a->cp, b->cp, a->len * sizeof a->cp[0]) == 0;
}

/* Every form a name may be typed in: whole, and without its article or "the". */
static size_t forms_of(struct mst_span name, struct key forms[3])
{
    struct key key = key_of(name);
    size_t count = 0, article = article_length(&key);
    if (key.len == 0)
        return 0;
    forms[count++] = by_sound(key);
    if (article > 0) {
        struct key bare = without_first(key, article);
        forms[count++] = by_sound(bare);
        if (!is_arabic_key(&key) && bare.len + 2 <= MAX_KEY) {
            /* "al-tawbah" for At-Tawbah */
            memmove(bare.cp + 2, bare.cp, bare.len * sizeof bare.cp[0]);
            bare.cp[0] = 'a';
            bare.cp[1] = 'l';
            bare.len += 2;
            forms[count++] = by_sound(bare);
        }
    } else if (key.gap == 3 && starts_with(&key, "the")) {
        forms[count++] = by_sound(without_first(key, 3));
    }
    return count;
}

static size_t keys_of_sura(const struct mst_text *text, int32_t sura,
                           struct key keys[MAX_KEYS_OF_SURA + 3])
{
    const struct mst_sura *s = &text->suras[sura - 1];
    size_t count = forms_of(s->name_ar, keys);
    count += forms_of(s->name_en, keys + count);
    count += forms_of(s->meaning_en, keys + count);
    for (size_t i = 0; i < sizeof other_names / sizeof other_names[0]; i++)
        if (other_names[i].sura == sura && count < MAX_KEYS_OF_SURA)
            count += forms_of(mst_span_of(other_names[i].name), keys + count);
    return count;
}

/* How many letters must be changed, added, dropped or swapped with a neighbour (the optimal string
 * alignment distance). */
static size_t distance(const struct key *a, const struct key *b)
{
    size_t rows[3][MAX_KEY + 1];
    size_t *before = rows[0], *above = rows[1], *here = rows[2];
    for (size_t j = 0; j <= b->len; j++)
        above[j] = j;
    for (size_t i = 1; i <= a->len; i++) {
        here[0] = i;
        for (size_t j = 1; j <= b->len; j++) {
            size_t best = above[j - 1] + (a->cp[i - 1] != b->cp[j - 1]);
            if (above[j] + 1 < best)
                best = above[j] + 1;
            if (here[j - 1] + 1 < best)
                best = here[j - 1] + 1;
            if (i > 1 && j > 1 && a->cp[i - 1] == b->cp[j - 2] && a->cp[i - 2] == b->cp[j - 1] &&
                before[j - 2] + 1 < best)
                best = before[j - 2] + 1;
            here[j] = best;
        }
        size_t *oldest = before;
        before = above;
        above = here;
        here = oldest;
    }
    return above[b->len];
}

/* A name that is only begun comes before one that is misspelt. */
static size_t remoteness(const struct key *asked, const struct key *key)
{
    if (asked->len >= 2 && asked->len < key->len &&
        memcmp(asked->cp, key->cp, asked->len * sizeof asked->cp[0]) == 0)
        return 1;
    /* As many letters must be added or dropped as the lengths differ by. */
    size_t more = asked->len > key->len ? asked->len - key->len : key->len - asked->len;
    return more > 1 + asked->len / 3 ? SIZE_MAX : 2 * distance(asked, key);
}

/* Keep the three least remote, in order; of two as remote, the earlier sura. */
static void offer(int32_t sura, size_t far, int32_t nearest[3], size_t how_far[3])
{
    for (int i = 0; i < 3; i++) {
        if (nearest[i] != 0 && how_far[i] <= far)
            continue;
        for (int j = 2; j > i; j--) {
            nearest[j] = nearest[j - 1];
            how_far[j] = how_far[j - 1];
        }
        nearest[i] = sura;
        how_far[i] = far;
        return;
    }
}

int32_t text_sura_by_name(const struct mst_text *text, struct mst_span name, int32_t nearest[3])
{
    nearest[0] = nearest[1] = nearest[2] = 0;
    struct key asked_forms[3];
    size_t asked_count = forms_of(name, asked_forms);
    if (asked_count == 0)
        return 0;
    if (asked_count > 2)
        asked_count = 2; /* what was typed, and that without its article */

    struct key keys[MAX_KEYS_OF_SURA + 3];
    for (int32_t sura = 1; sura <= MST_SURA_COUNT; sura++) {
        size_t count = keys_of_sura(text, sura, keys);
        for (size_t i = 0; i < count; i++)
            for (size_t j = 0; j < asked_count; j++)
                if (keys_equal(&keys[i], &asked_forms[j]))
                    return sura;
    }

    size_t how_far[3] = {0};
    for (int32_t sura = 1; sura <= MST_SURA_COUNT; sura++) {
        size_t count = keys_of_sura(text, sura, keys), least = SIZE_MAX;
        for (size_t i = 0; i < count; i++) {
            for (size_t j = 0; j < asked_count; j++) {
                size_t far = remoteness(&asked_forms[j], &keys[i]);
                if (far < least)
                    least = far;
            }
        }
        /* More than a third of the letters wrong is another word. */
        size_t len = asked_forms[asked_count - 1].len;
        if (least <= 2 * (1 + len / 3))
            offer(sura, least, nearest, how_far);
    }
    /* Beside a near name a far one only distracts. */
    for (int i = 1; i < 3; i++)
        if (how_far[i] > how_far[0] + 1)
            nearest[i] = 0;
    return 0;
}
