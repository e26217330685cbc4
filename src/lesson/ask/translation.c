/*
 * translation.c – find the verse from its translation. The wrong answers are
 * the verses of the same juzʾ whose English translation is likest: the cosine
 * of tf·idf word weights (G. Salton, C. Buckley, Term-weighting approaches in
 * automatic text retrieval, Information Processing & Management 24, 1988).
 * One so like that the words might stand for either is not offered, and a
 * verse that has such a double in its juzʾ is not asked.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>

enum {
    TABLE = 1 << 15, /* the English translation has about 9000 words */
    OPTIONS = 4,
    WORDS_MOST = 24,
    TRANSLATED_LEAST = 6
};
static const double DOUBLE = 0.75; /* as like as this: one might stand for the other */

struct term {
    uint64_t word;
    double weight;
};

struct vector {
    struct term *terms; /* by word */
    int32_t count, words;
    double length;
};

struct likeness {
    struct vector of[MST_VERSE_COUNT];
    int translation;
};

struct tally {
    uint64_t word;
    int32_t verses;
};

static int by_word(const void *a, const void *b)
{
    uint64_t x = ((const struct term *)a)->word, y = ((const struct term *)b)->word;
    return (x > y) - (x < y);
}

/* Words are runs of letters, digits and anything beyond ASCII, without regard to case. */
static uint64_t next_word(struct mst_span s, size_t *at)
{
    uint64_t hash = 0;
    for (; *at < s.len; *at += 1) {
        unsigned char c = (unsigned char)s.ptr[*at];
        if (c >= 'A' && c <= 'Z')
            c = (unsigned char)(c + 'a' - 'A');
        int inside = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c >= 0x80;
        if (!inside && hash)
            break;
        if (inside)
            hash = ((hash ? hash : UINT64_C(14695981039346656037)) ^ c) * UINT64_C(1099511628211);
    }
    return hash;
}

static int vector_read(struct mst_span s, struct mst_arena *arena, struct vector *v)
{
    v->terms = mst_arena_alloc(arena, s.len / 2 + 1, sizeof *v->terms);
    if (!v->terms)
        return 0;
    for (size_t at = 0; at < s.len;) {
        uint64_t word = next_word(s, &at);
        if (word)
            v->terms[v->words++] = (struct term){word, 1};
    }
    qsort(v->terms, (size_t)v->words, sizeof *v->terms, by_word);
    for (int32_t n = 0; n < v->words; n++)
        if (v->count && v->terms[v->count - 1].word == v->terms[n].word)
            v->terms[v->count - 1].weight += 1;
        else
            v->terms[v->count++] = v->terms[n];
    return 1;
}

/* The word's own slot, or the free one for it; NULL when the table is full. */
static struct tally *slot(struct tally *table, uint64_t word)
{
    for (size_t n = 0; n < TABLE; n++) {
        struct tally *t = &table[(word + n) & (TABLE - 1)];
        if (!t->verses || t->word == word)
            return t;
    }
    return NULL;
}

static enum mst_status likeness_new(struct asker *a)
{
    struct likeness *l = mst_arena_alloc(a->work, 1, sizeof *l);
    struct tally *table = mst_arena_alloc(a->work, TABLE, sizeof *table);
    if (!l || !table)
        return mst_find_no_memory(a->err);
    l->translation = mst_text_translation_find(a->text, MST_SPAN("en"));
    if (l->translation < 0)
        return mst_fail(a->err, MST_NOT_FOUND, "the text holds no English translation");
    enum mst_status status = mst_text_translation_check(a->text, l->translation, a->err);
    if (status != MST_OK)
        return status;
    for (int32_t n = 0; n < MST_VERSE_COUNT; n++) {
        struct mst_addr at = mst_text_verse_addr(a->text, n);
        struct mst_span s = mst_text_translated(a->text, l->translation, at.sura, at.verse);
        if (!vector_read(s, a->work, &l->of[n]))
            return mst_find_no_memory(a->err);
        for (int32_t t = 0; t < l->of[n].count; t++) {
            struct tally *tally = slot(table, l->of[n].terms[t].word);
            if (!tally)
                return mst_fail(a->err, MST_INTERNAL, "the translation has too many words");
            tally->word = l->of[n].terms[t].word;
            tally->verses++;
        }
    }
    for (int32_t n = 0; n < MST_VERSE_COUNT; n++) {
        struct vector *v = &l->of[n];
        double sum = 0;
        for (int32_t t = 0; t < v->count; t++) {
            v->terms[t].weight *=
                log((double)MST_VERSE_COUNT / slot(table, v->terms[t].word)->verses);
            sum += v->terms[t].weight * v->terms[t].weight;
        }
        v->length = sqrt(sum);
    }
    a->likeness = l;
    return MST_OK;
}

static double cosine(const struct vector *v, const struct vector *w)
{
    double sum = 0;
    for (int32_t m = 0, n = 0; m < v->count && n < w->count;) {
        if (v->terms[m].word == w->terms[n].word)
            sum += v->terms[m].weight * w->terms[n].weight;
        int on_v = v->terms[m].word <= w->terms[n].word;
        n += v->terms[m].word >= w->terms[n].word;
        m += on_v;
    }
    return v->length > 0 && w->length > 0 ? sum / (v->length * w->length) : 0;
}

/* The likest verses of the juzʾ, likest first; 0 when one of them is a double, or has not enough.
 */
static int likest(const struct asker *a, int32_t verse, int32_t juz, int32_t out[OPTIONS - 1],
                  double like[OPTIONS - 1])
{
    int32_t count = 0;
    for (int32_t v = 0; v < MST_VERSE_COUNT; v++) {
        struct mst_addr at = mst_text_verse_addr(a->text, v);
        if (v == verse || mst_text_place(a->text, at.sura, at.verse).juz != juz)
            continue;
        double c = cosine(&a->likeness->of[verse], &a->likeness->of[v]);
        if (c >= DOUBLE)
            return 0;
        if (mst_ask_verse_words(a, v) > WORDS_MOST)
            continue;
        if (count == OPTIONS - 1 && c <= like[OPTIONS - 2])
            continue;
        int again = 0; /* nor two wrong answers alike */
        for (int32_t n = 0; n < count; n++)
            again |= cosine(&a->likeness->of[out[n]], &a->likeness->of[v]) >= DOUBLE;
        if (again)
            continue;
        int32_t n = count < OPTIONS - 1 ? count++ : OPTIONS - 2;
        for (; n > 0 && like[n - 1] < c; n--) {
            like[n] = like[n - 1];
            out[n] = out[n - 1];
        }
        like[n] = c;
        out[n] = v;
    }
    return count == OPTIONS - 1;
}

enum mst_status mst_ask_find(struct asker *a, int32_t verse, enum mst_rule rule,
                             struct mst_question *q, int *made)
{
    int32_t beside[OPTIONS - 1] = {0};
    double like[OPTIONS - 1] = {0};
    struct mst_addr at = mst_text_verse_addr(a->text, verse);
    struct mst_string en = {0}, ar = {0};
    char where[48];
    (void)rule;
    *made = 0;
    q->rule = -1;
    enum mst_status status = a->likeness ? MST_OK : likeness_new(a);
    if (status != MST_OK)
        return status;
    int32_t juz = mst_text_place(a->text, at.sura, at.verse).juz;
    if (a->likeness->of[verse].words < TRANSLATED_LEAST ||
        mst_ask_verse_words(a, verse) > WORDS_MOST || !likest(a, verse, juz, beside, like))
        return MST_OK;
    *made = 1;
    struct mst_span s = mst_text_translated(a->text, a->likeness->translation, at.sura, at.verse);
    q->translation = mst_arena_strndup(a->arena, s.ptr, s.len);
    q->options = mst_arena_alloc(a->arena, OPTIONS, sizeof *q->options);
    if (!q->options || !q->translation)
        return mst_find_no_memory(a->err);
    q->option_count = OPTIONS;
    q->right = 1;
    status = mst_ask_option_verse(a, &q->options[0], verse);
    for (int32_t n = 0; status == MST_OK && n < OPTIONS - 1; n++)
        status = mst_ask_option_verse(a, &q->options[n + 1], beside[n]);
    mst_addr_print(at, where);
    mst_string_addf(&en, "It is the translation of %s; of the others the likest is ", where);
    mst_string_addf(&ar, "هي ترجمة %s، وأشبه الأخريات بها ", where);
    mst_addr_print(mst_text_verse_addr(a->text, beside[0]), where);
    mst_string_addf(&en, "that of %s (likeness %.2f of 1).", where, like[0]);
    mst_string_addf(&ar, "ترجمة %s (بقدر %.2f من 1).", where, like[0]);
    mst_ask_options_shuffle(a, q);
    q->why_en = mst_ask_keep(a, &en);
    q->why_ar = mst_ask_keep(a, &ar);
    q->prompt_en = mst_arena_printf(a->arena, "Which verse of juzʾ %d is this?", (int)juz);
    q->prompt_ar = mst_arena_printf(a->arena, "أي آية من الجزء %d هذه ترجمتها؟", (int)juz);
    if (status == MST_OK && !(q->why_en && q->why_ar && q->prompt_en && q->prompt_ar))
        status = mst_find_no_memory(a->err);
    return status;
}
