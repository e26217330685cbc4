/*
 * words.c – words left out, said twice, exchanged; jumps to a verse that is
 * alike. The ear's alignment tells the large ones: words it passed over or
 * took up again. The small ones it hides, squeezing a word that is not there
 * into nothing, or drawing out its neighbours over one too many; so at every
 * word the row as it was heard is held against the row without the word, with
 * it twice, and with it exchanged for the next.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    REACH = 2,          /* words to each side that are heard anew */
    MOST_FRAMES = 3000, /* of a window; longer ones hold a pause too long to matter */
    MOST_UNITS = 400
};
/* How much likelier (log) a row must be before it is believed, and where sureness is 3/4. */
static const double believed = FAULT_WORD_BELIEVED, quite_sure = 600;
/* From here on two verses are called alike. */
static const double alike_from = 0.45;

const char *mst_word_fault_id(enum mst_word_fault_kind kind)
{
    static const char *const ids[MST_WORD_FAULT_COUNT] = {
#define X(name, id) id,
        MST_WORD_FAULT_LIST(X)
#undef X
    };
    return ids[kind];
}

struct search {
    struct mst_fault_ear *ear;
    const struct mst_similar *similar;
    struct mst_arena *arena;
    struct mst_word_fault *found;
    size_t count, cap;
    double *evidence[3]; /* per heard word: left out, twice, exchanged with the next */
};

static double sureness_of(double evidence)
{
    return evidence <= 0 ? 0 : evidence / (evidence + quite_sure / 3);
}

static struct mst_word_fault *add(struct search *s, struct mst_word_fault fault)
{
    if (s->count == s->cap) {
        size_t cap = s->cap ? s->cap * 2 : 16;
        struct mst_word_fault *grown =
            mst_arena_grow(s->arena, s->found, s->cap, cap, sizeof *grown);
        if (!grown)
            return NULL;
        s->found = grown;
        s->cap = cap;
    }
    s->found[s->count] = fault;
    return &s->found[s->count++];
}

/* --- what the alignment shows --------------------------------------------------- */
/* Script word of an address, from *hint on. */
static int32_t script_word(const struct mst_script *script, struct mst_addr at, int32_t *hint)
{
    for (int32_t n = 0; n < script->word_count; n++) {
        int32_t w = (*hint + n) % script->word_count;
        if (mst_addr_compare(script->words[w].at, at) == 0) {
            *hint = w;
            return w;
        }
    }
    return -1;
}

static int is_jump(const struct search *s, struct mst_addr from, struct mst_addr taken_for,
                   struct mst_word_fault *f)
{
    if (!s->similar || (from.sura == taken_for.sura && from.verse == taken_for.verse))
        return 0;
    f->alike = mst_similar_verses(s->similar, from, taken_for);
    if (f->alike < alike_from)
        return 0;
    f->kind = MST_WORD_FAULT_JUMP;
    f->from = from;
    f->taken_for = taken_for;
    return 1;
}

/* Between heard words i and i+1 the passage was left: forward over words, or back. */
static int add_leap(struct search *s, int32_t i, int32_t from, int32_t to)
{
    const struct mst_timeline *tl = s->ear->timeline;
    const struct mst_script *script = tl->script;
    int forward = to > from + 1;
    struct mst_word_fault f = {
        .start_ms = tl->words[i].start_ms, .end_ms = tl->words[i + 1].end_ms, .sureness = 0.95};
    int32_t first = forward ? from + 1 : to, last = forward ? to - 1 : from;
    while (forward && first <= last && script->words[first].optional)
        first++; /* a basmala may be left out */
    if (first > last)
        return 1;
    f.first = script->words[first].at;
    f.last = script->words[last].at;
    f.word_count = last - first + 1;
    /* Was the verse being said taken for the one whose words follow? Or, where that cannot be
     * heard because both begin alike, the first verse passed over for the one gone on with? */
    struct mst_addr said = script->words[from].at;
    if (to > 0 && is_jump(s, said, script->words[to - 1].at, &f))
        return add(s, f) != NULL;
    if (forward && is_jump(s, f.first, script->words[to].at, &f))
        return add(s, f) != NULL;
    if (forward)
        f.kind = MST_WORD_FAULT_LEFT_OUT;
    else if (!tl->words[i].stopped)
        f.kind = MST_WORD_FAULT_TWICE;
    else
        return 1; /* taken up again after a breath: a reciter's right */
    return add(s, f) != NULL;
}

static int leaps(struct search *s)
{
    const struct mst_timeline *tl = s->ear->timeline;
    int32_t hint = 0, before = -1;
    for (int32_t i = 0; i < tl->word_count; i++) {
        int32_t here = script_word(tl->script, tl->words[i].at, &hint);
        if (i > 0 && here >= 0 && before >= 0 && here != before + 1 &&
            !add_leap(s, i - 1, before, here))
            return 0;
        before = here;
    }
    return 1;
}

/* --- what it hides ------------------------------------------------------------------ */
/* Units of heard words first…end-1 as they stand (pauses between them too). */
static int32_t row_of(const struct fault_heard *h, int32_t first, int32_t end, struct ear_unit *out)
{
    int32_t count = 0;
    for (int32_t u = h->first_unit[first]; u < h->first_unit[end] && count < MOST_UNITS; u++)
        if (h->units[u].word >= 0 || u + 1 < h->first_unit[end])
            out[count++] = h->units[u].unit;
    return count;
}

/* The same words one after another as `order` says; a word's pause behind it goes with it. */
static int32_t row_in_order(const struct fault_heard *h, const int32_t *order, int32_t words,
                            struct ear_unit *out)
{
    int32_t count = 0;
    for (int32_t k = 0; k < words; k++)
        for (int32_t u = h->first_unit[order[k]]; u < h->first_unit[order[k] + 1]; u++) {
            int pause = h->units[u].word < 0;
            if (count == MOST_UNITS || (pause && k + 1 == words))
                break;
            out[count++] = h->units[u].unit;
        }
    return count;
}

static enum mst_status weigh_word(struct search *s, int32_t i, struct mst_error *err)
{
    const struct fault_heard *h = &s->ear->heard;
    const struct mst_timeline *tl = s->ear->timeline;
    int32_t first = i - REACH, end = i + REACH + 1;
    first = first < 0 ? 0 : first;
    end = end > tl->word_count ? tl->word_count : end;
    struct ear_unit row[MOST_UNITS];
    struct fault_window w;
    int32_t last_unit = h->first_unit[end] - 1;
    while (last_unit > h->first_unit[first] && h->units[last_unit].word < 0)
        last_unit--;
    int32_t start_fr = h->units[h->first_unit[first]].start_fr, end_fr = h->units[last_unit].end_fr;
    if (end_fr - start_fr > MOST_FRAMES || end_fr - start_fr < 8)
        return MST_OK;
    enum mst_status status = fault_window_make(&w, &s->ear->judge, start_fr, end_fr, err);
    if (status)
        return status;
    double as_heard = fault_chain_score(&w, row, row_of(h, first, end, row));
    int32_t orders[3][2 * REACH + 2], counts[3] = {0};
    for (int32_t k = first; k < end; k++) {
        if (k != i)
            orders[0][counts[0]++] = k;
        orders[1][counts[1]++] = k;
        if (k == i)
            orders[1][counts[1]++] = k;
        orders[2][counts[2]++] = k == i ? i + 1 : k == i + 1 ? i : k;
    }
    int at_edge = i == first || i + 1 == end; /* the window's own end would be left out */
    for (int n = 0; n < 3; n++) {
        int able = n == 0 ? !at_edge : n == 1 ? 1 : i + 1 < end;
        /* a word taken up again or before a pause is said twice by right */
        if (n > 0 && (tl->words[i].stopped || tl->words[i].again))
            able = 0;
        double other = able ? fault_chain_score(&w, row, row_in_order(h, orders[n], counts[n], row))
                            : (double)EAR_NOWHERE;
        s->evidence[n][i] = other > (double)EAR_NOWHERE / 2 && as_heard > (double)EAR_NOWHERE / 2
                                ? other - as_heard
                                : -1e6;
    }
    fault_window_clear(&w);
    return MST_OK;
}

static int hidden_faults(struct search *s)
{
    static const enum mst_word_fault_kind kinds[3] = {MST_WORD_FAULT_LEFT_OUT, MST_WORD_FAULT_TWICE,
                                                      MST_WORD_FAULT_ORDER};
    const struct mst_timeline *tl = s->ear->timeline;
    for (int32_t i = 0; i < tl->word_count; i++) {
        int best = 0;
        for (int n = 1; n < 3; n++)
            if (s->evidence[n][i] > s->evidence[best][i])
                best = n;
        double here = s->evidence[best][i];
        if (here < believed)
            continue;
        int top = 1; /* neighbours feel the same fault: the strongest one speaks */
        for (int32_t k = i - REACH; k <= i + REACH; k++)
            for (int n = 0; n < 3 && top; n++)
                if (k >= 0 && k < tl->word_count && (k != i || n != best) &&
                    (s->evidence[n][k] > here || (s->evidence[n][k] == here && k < i)))
                    top = 0;
        if (!top)
            continue;
        int32_t other = best == 2 ? i + 1 : i;
        int32_t from = i > 0 ? i - 1 : i, to = other + 1 < tl->word_count ? other + 1 : other;
        struct mst_word_fault f = {.kind = kinds[best],
                                   .first = tl->words[i].at,
                                   .last = tl->words[other].at,
                                   .word_count = other - i + 1,
                                   .start_ms = tl->words[from].start_ms,
                                   .end_ms = tl->words[to].end_ms,
                                   .sureness = sureness_of(here)};
        if (!add(s, f))
            return 0;
    }
    return 1;
}

static int in_order(const void *a, const void *b)
{
    const struct mst_word_fault *x = a, *y = b;
    return (x->start_ms > y->start_ms) - (x->start_ms < y->start_ms);
}

enum mst_status mst_fault_words(struct mst_fault_ear *ear, const struct mst_similar *similar,
                                struct mst_arena *arena, struct mst_word_fault **out, size_t *count,
                                struct mst_error *err)
{
    struct search s = {.ear = ear, .similar = similar, .arena = arena};
    size_t words = (size_t)ear->timeline->word_count;
    enum mst_status status = MST_OK;
    *out = NULL;
    *count = 0;
    for (int n = 0; n < 3; n++) {
        s.evidence[n] = mst_arena_alloc(arena, words + 1, sizeof *s.evidence[n]);
        if (!s.evidence[n])
            return mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing words");
    }
    for (size_t i = 0; i < words && !status; i++)
        status = weigh_word(&s, (int32_t)i, err);
    if (!status && (!leaps(&s) || !hidden_faults(&s)))
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing words");
    if (status)
        return status;
    if (s.count > 0)
        qsort(s.found, s.count, sizeof *s.found, in_order);
    ear->word_evidence[0] = s.evidence[0];
    ear->word_evidence[1] = s.evidence[1];
    *out = s.found;
    *count = s.count;
    return MST_OK;
}

void mst_word_fault_text(const struct mst_word_fault *f, enum mst_lang lang, struct mst_string *out)
{
    static const char *const sentences[MST_WORD_FAULT_COUNT][2] = {
        [MST_WORD_FAULT_LEFT_OUT] = {"%s%s%s: not said.", "%s%s%s: لم تُقرأ."},
        [MST_WORD_FAULT_TWICE] = {"%s%s%s: said twice.", "%s%s%s: كُرّرت."},
        [MST_WORD_FAULT_ORDER] = {"%s%s%s: said in the other order.", "%s%s%s: قُدّم فيها وأُخّر."},
        [MST_WORD_FAULT_JUMP] = {"%s%s%s: passed over or said again", "%s%s%s: قُفز عنها أو أُعيدت"},
    };
    char first[48], last[48], from[48], to[48];
    mst_addr_print(f->first, first);
    mst_addr_print(f->last, last);
    int ar = lang == MST_LANG_AR, more = f->word_count > 1;
    mst_string_addf(out, sentences[f->kind][ar], first, more ? "–" : "", more ? last : "");
    if (f->kind != MST_WORD_FAULT_JUMP)
        return;
    struct mst_addr a = f->from, b = f->taken_for;
    a.word = b.word = 0;
    mst_addr_print(a, from);
    mst_addr_print(b, to);
    mst_string_addf(out,
                    ar ? "؛ أُكملت %s بما بعد %s المتشابهة معها."
                       : "; %s was gone on with as after %s, which is like it.",
                    from, to);
}
