/*
 * words.c – words left out, said twice, exchanged; jumps to a verse that is
 * alike. The ear's alignment tells the large ones: words it passed over or
 * took up again. The small ones it hides, squeezing a word that is not there
 * into nothing, or drawing out its neighbours over one too many; so at every
 * word the row as it was heard is held against the row without the word, with
 * it twice, and with it exchanged for the next. With a stored voice there are
 * two judges of that, the voice brought near and an ear that learned from the
 * take alone: a single word cannot teach an ear that it was not said. Both count
 * lengths as the take has them (ear.c).
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    REACH = 2,         /* words to each side that are heard anew */
    MOST_FRAMES = 3000 /* of a window; longer ones hold a pause too long to matter */
};
/* Sureness is a logistic curve over the evidence; so much more of it makes the odds e times as
 * good. Ours. */
static const double odds_grow = 75;
/* From here on two verses are called alike; so are two that have so many words together before the
 * leap. */
static const double alike_from = 0.45;
enum { ALIKE_WORDS = 2 };

const char *mst_word_fault_id(enum mst_word_fault_kind kind)
{
    static const char *const ids[MST_WORD_FAULT_COUNT] = {
#define X(name, id) id,
        MST_WORD_FAULT_LIST(X)
#undef X
    };
    return ids[kind];
}

/* What the alignment hides of a word. */
enum hidden { LEFT_OUT, TWICE, EXCHANGED, HIDDEN };

struct search {
    struct mst_fault_ear *ear;
    const struct mst_similar *similar;
    struct mst_arena *arena;
    struct mst_word_fault *found;
    size_t count, cap;
    /* Per heard word: left out, twice, exchanged with the next; by every judge, and the more of
     * both. */
    double *by_judge[2][HIDDEN], *evidence[HIDDEN];
    int judges;
};

static const struct fault_judge *judge_of(const struct search *s, int judge)
{
    return judge == 0 ? &s->ear->paced : &s->ear->alone;
}

static double sureness_of(double evidence)
{
    return 1 / (1 + exp(-evidence / odds_grow));
}

double fault_word_believed_from(const struct mst_timeline *tl, int32_t i,
                                enum mst_word_fault_kind kind)
{
    /* behind a stop without silence, in a take cut tightly, the next word does not begin anew */
    int first = tl->words[i].started || (i > 0 && tl->words[i - 1].stopped);
    int last = kind != MST_WORD_FAULT_TWICE && tl->words[i].stopped;
    return first || last ? FAULT_WORD_BELIEVED_AT_PAUSE : FAULT_WORD_BELIEVED;
}

static enum mst_status add(struct search *s, struct mst_word_fault fault, struct mst_error *err)
{
    if (s->count == s->cap) {
        size_t cap = s->cap ? s->cap * 2 : 16;
        struct mst_word_fault *grown =
            mst_arena_grow(s->arena, s->found, s->cap, cap, sizeof *grown);
        if (!grown)
            return mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing words");
        s->found = grown;
        s->cap = cap;
    }
    s->found[s->count++] = fault;
    return MST_OK;
}

/* --- what the alignment shows --------------------------------------------------- */
/* said, instead: words of the script, the last one said and the one whose followers were said next;
 * its verse was taken for the other one's. */
static int is_jump(const struct search *s, int32_t said, int32_t instead, struct mst_word_fault *f)
{
    const struct mst_script *script = s->ear->timeline->script;
    struct mst_addr from = script->words[said].at, taken_for = script->words[instead].at;
    if (!s->similar || (from.sura == taken_for.sura && from.verse == taken_for.verse))
        return 0;
    f->alike = mst_similar_verses(s->similar, from, taken_for);
    if (f->alike < alike_from && ear_alike_before(script, said, instead) < ALIKE_WORDS)
        return 0;
    f->kind = MST_WORD_FAULT_JUMP;
    f->from = from;
    f->taken_for = taken_for;
    return 1;
}

/* Did the reciter take breath after heard word i? Nobody does so more quickly: readers' pauses with
 * a breath last about half a second (F. Grosjean & M. Collins, Phonetica 36, 1979; from memory),
 * and the closure of a kāf or a hamza may last a quarter. */
static int took_breath(const struct mst_timeline *tl, int32_t i)
{
    enum { SHORTEST_BREATH_MS = 300 }; /* ours */
    return tl->words[i].stopped &&
           tl->words[i + 1].start_ms - tl->words[i].end_ms >= SHORTEST_BREATH_MS;
}

/* The stretch of heard words first…last; 0: nothing can be compared there. */
static int open_window(const struct search *s, int judge, int32_t first, int32_t last,
                       struct fault_window *w, enum mst_status *status, struct mst_error *err)
{
    const struct fault_heard *h = &s->ear->heard;
    int32_t unit = h->first_unit[last + 1] - 1;
    while (unit > h->first_unit[first] && h->units[unit].word < 0)
        unit--;
    int32_t start_fr = h->units[h->first_unit[first]].start_fr, end_fr = h->units[unit].end_fr;
    if (end_fr - start_fr > MOST_FRAMES || end_fr - start_fr < 8)
        return 0;
    *status = fault_window_make(w, judge_of(s, judge), start_fr, end_fr, err);
    return *status == MST_OK;
}

static int possible(double likelihood)
{
    return likelihood > (double)EAR_NOWHERE / 2;
}

/* Log likelihood of a row against that of what was heard; very low when it cannot be said so. */
static double gain(double other, double as_heard)
{
    return possible(other) && possible(as_heard) ? other - as_heard : -1e6;
}

/* Heard words first…last without those from skip on, so many; at joint (behind that word; -1:
 * nowhere) the reader goes on. */
static double score_without(const struct search *s, struct fault_window *w, int32_t first,
                            int32_t last, int32_t skip, int32_t skipped, int32_t joint)
{
    struct fault_word_row row = {.count = 0};
    for (int32_t k = first; k <= last; k++)
        if (k < skip || k >= skip + skipped) {
            fault_row_add(&row, &s->ear->heard, k);
            row.flows[row.count - 1] |= (uint8_t)(k == joint);
        }
    return fault_row_score(&row, &s->ear->heard, w);
}

/* A stop at a word that was cut out or said twice may be none: the row as it stands, or gone on
 * with behind each of the places from…to. */
static double row_likelihood(const struct search *s, struct fault_window *w,
                             const struct fault_word_row *row, int32_t from, int32_t to)
{
    const struct fault_heard *h = &s->ear->heard;
    double best = fault_row_score(row, h, w);
    struct fault_word_row flowing = *row;
    int other = 0;
    for (int32_t p = from > 0 ? from : 0; p <= to && p + 1 < row->count; p++) {
        other |= !flowing.flows[p];
        flowing.flows[p] = 1;
    }
    return other ? fmax(best, fault_row_score(&flowing, h, w)) : best;
}

/*
 * The alignment goes back by any number of words, but best where there is a
 * pause: what of the words that it took up again was said again, and was there
 * a pause at all?
 */
struct repeat {
    int32_t head, tail; /* words not said again: at the head of the second copy, at the tail of the
                           first */
    double flowing;     /* how much likelier it is without a pause */
};
static enum mst_status weigh_repeat(const struct search *s, int32_t last, int32_t count,
                                    struct repeat *out, struct mst_error *err)
{
    const struct mst_timeline *tl = s->ear->timeline;
    int32_t begin = last - count > 0 ? last - count : 0;
    int32_t end = last + count + 1 < tl->word_count ? last + count + 1 : tl->word_count - 1;
    double best = 0;
    enum mst_status status = MST_OK;
    *out = (struct repeat){0, 0, -1e6};
    for (int judge = 0; judge < s->judges && !status; judge++) {
        struct fault_window w;
        if (end - begin >= FAULT_ROW_WORDS || !open_window(s, judge, begin, end, &w, &status, err))
            continue;
        double pausing = score_without(s, &w, begin, end, 0, 0, -1);
        double joined = score_without(s, &w, begin, end, 0, 0, last);
        double as_heard = possible(joined) ? fmax(pausing, joined) : pausing;
        if (best <= 0)
            out->flowing = fmax(out->flowing, gain(joined, pausing));
        for (int32_t k = 1; k < count; k++)
            for (int side = 0; side < 2; side++) {
                int32_t skip = side == 0 ? last + 1 : last - k + 1;
                int32_t joint = side == 0 ? last : last - k;
                pausing = score_without(s, &w, begin, end, skip, k, -1);
                joined = score_without(s, &w, begin, end, skip, k, joint);
                double here = fmax(gain(pausing, as_heard), gain(joined, as_heard));
                if (here <= best)
                    continue;
                best = here;
                *out = (struct repeat){side == 0 ? k : 0, side == 1 ? k : 0, gain(joined, pausing)};
            }
        fault_window_clear(&w);
    }
    return status;
}

/* The heard word that says this word of the script; -1: none. */
static int32_t heard_as(const struct search *s, int32_t script_word)
{
    for (int32_t k = 0; k < s->ear->timeline->word_count; k++)
        if (s->ear->heard.script_word[k] == script_word)
            return k;
    return -1;
}

/* How much likelier the heard words first…last are when after word i - dropped the reader said the
 * `added` words of the script before that of word i + 1. */
static double gain_of_seam(const struct search *s, struct fault_window *w, int32_t first,
                           int32_t last, int32_t i, int32_t dropped, int32_t added)
{
    const struct fault_heard *h = &s->ear->heard;
    struct fault_word_row as_heard = {.count = 0}, other = {.count = 0};
    for (int32_t k = first; k <= last; k++)
        fault_row_add(&as_heard, h, k);
    for (int32_t k = first; k <= i - dropped; k++)
        fault_row_add(&other, h, k);
    int32_t seam = other.count - 1;
    for (int32_t n = added; n > 0; n--) {
        int32_t k = heard_as(s, h->script_word[i + 1] - n);
        if (k < 0)
            return -1e6;
        fault_row_add(&other, h, k);
    }
    for (int32_t k = i + 1; k <= last; k++)
        fault_row_add(&other, h, k);
    return gain(row_likelihood(s, w, &other, seam, seam + added),
                row_likelihood(s, w, &as_heard, i - first, i - first));
}

/*
 * A jump to a verse that is alike may be heard a word or two later than it was
 * made, where the words behind it sound alike as well: was the verse left
 * earlier and entered earlier? The likeliest such place, if it is likelier than
 * what was heard.
 */
static enum mst_status jumped_earlier(const struct search *s, int32_t i, int32_t *from, int32_t *to,
                                      struct mst_word_fault *f, int *found, struct mst_error *err)
{
    enum { EARLIER = 2 };
    const struct mst_timeline *tl = s->ear->timeline;
    const int32_t *script_word = s->ear->heard.script_word;
    int32_t first = i - EARLIER - REACH > 0 ? i - EARLIER - REACH : 0;
    int32_t last = i + 1 + REACH < tl->word_count ? i + 1 + REACH : tl->word_count - 1;
    double best = 0;
    enum mst_status status = MST_OK;
    *found = 0;
    for (int judge = 0; judge < s->judges && !status; judge++) {
        struct fault_window w;
        if (!open_window(s, judge, first, last, &w, &status, err))
            continue;
        for (int32_t dropped = 0; dropped <= EARLIER && i - dropped >= first; dropped++)
            for (int32_t added = 0; added <= EARLIER; added++) {
                int32_t instead = script_word[i + 1] - added - 1;
                struct mst_word_fault one = *f;
                if (dropped + added == 0 || instead < 0 ||
                    !is_jump(s, script_word[i - dropped], instead, &one))
                    continue;
                double here = gain_of_seam(s, &w, first, last, i, dropped, added);
                if (here <= best)
                    continue;
                best = here;
                *f = one;
                *from = script_word[i - dropped];
                *to = instead + 1;
                *found = 1;
            }
        fault_window_clear(&w);
    }
    return status;
}

/* What was heard about a seam that lies elsewhere says nothing of single words. */
static void unbelieve(struct search *s, int32_t first, int32_t last)
{
    for (int32_t k = first > 0 ? first : 0; k <= last && k < s->ear->timeline->word_count; k++)
        for (int n = 0; n < HIDDEN; n++)
            s->evidence[n][k] = -INFINITY;
}

/* Words of the script passed over, or said again, between from and to; whether it is the first. */
static int words_between(const struct mst_script *script, int32_t from, int32_t to, int32_t *first,
                         int32_t *last)
{
    int forward = to > from + 1;
    *first = forward ? from + 1 : to;
    *last = forward ? to - 1 : from;
    while (forward && *first <= *last && script->words[*first].optional)
        ++*first; /* a basmala may be left out */
    return forward;
}

/* Between heard words i and i+1 the passage was left: forward over words, or back. */
static enum mst_status add_leap(struct search *s, int32_t i, int32_t from, int32_t to,
                                struct mst_error *err)
{
    const struct mst_timeline *tl = s->ear->timeline;
    const struct mst_script *script = tl->script;
    struct mst_word_fault f = {
        .start_ms = tl->words[i].start_ms, .end_ms = tl->words[i + 1].end_ms, .sureness = 0.95};
    int32_t first, last;
    int forward = words_between(script, from, to, &first, &last);
    if (first > last)
        return MST_OK;
    /* Was the verse being said taken for the one whose words follow? Or, where that cannot be
     * heard because both begin alike, the first verse passed over for the one gone on with? */
    int jump = (to > 0 && is_jump(s, from, to - 1, &f)) || (forward && is_jump(s, first, to, &f));
    if (!jump) {
        enum mst_status status = jumped_earlier(s, i, &from, &to, &f, &jump, err);
        if (status)
            return status;
        forward = words_between(script, from, to, &first, &last);
        if (first > last)
            return MST_OK;
        if (jump)
            unbelieve(s, i - REACH, i + REACH);
    }
    if (!jump && !forward) {
        struct repeat repeat;
        enum mst_status status = weigh_repeat(s, i, last - first + 1, &repeat, err);
        if (status)
            return status;
        if (took_breath(tl, i) && repeat.flowing <= 0)
            return MST_OK; /* taken up again after a breath: a reciter's right */
        first += repeat.head;
        last -= repeat.tail;
    }
    if (!jump)
        f.kind = forward ? MST_WORD_FAULT_LEFT_OUT : MST_WORD_FAULT_TWICE;
    f.first = script->words[first].at;
    f.last = script->words[last].at;
    f.word_count = last - first + 1;
    return add(s, f, err);
}

static enum mst_status leaps(struct search *s, struct mst_error *err)
{
    const struct fault_heard *h = &s->ear->heard;
    enum mst_status status = MST_OK;
    for (int32_t i = 1; i < s->ear->timeline->word_count && !status; i++) {
        int32_t before = h->script_word[i - 1], here = h->script_word[i];
        if (here != before + 1)
            status = add_leap(s, i - 1, before, here, err);
    }
    return status;
}

/* --- what it hides ------------------------------------------------------------------ */
/* Heard words first…last, with word i as it should be tried. */
static struct fault_word_row row_with(const struct search *s, int32_t first, int32_t last,
                                      int32_t i, enum hidden what)
{
    const struct fault_heard *h = &s->ear->heard;
    struct fault_word_row row = {.count = 0};
    for (int32_t k = first; k <= last; k++) {
        if (what != LEFT_OUT || k != i)
            fault_row_add(&row, h, what != EXCHANGED ? k : k == i ? i + 1 : k == i + 1 ? i : k);
        if (what == TWICE && k == i)
            fault_row_add(&row, h, k);
    }
    return row;
}

/* Is the word heard a second time elsewhere in the take? Then it was said. */
static int said_elsewhere(const struct search *s, int32_t i)
{
    const int32_t *script_word = s->ear->heard.script_word;
    for (int32_t k = 0; k < s->ear->timeline->word_count; k++)
        if (k != i && script_word[k] == script_word[i])
            return 1;
    return 0;
}

/* What was heard, and the same with a stop before or behind place `at` where none was heard: a
 * pause taken for speech must not pass for a word. */
static double heard_likelihood(const struct search *s, struct fault_window *w,
                               const struct fault_word_row *row, int32_t at)
{
    double best = row_likelihood(s, w, row, at - 1, at);
    for (int32_t p = at > 0 ? at - 1 : at; p <= at && p + 1 < row->count; p++) {
        struct fault_word_row stopping = *row;
        stopping.flows[p] = 0;
        if (row->flows[p])
            best = fmax(best, fault_row_score(&stopping, &s->ear->heard, w));
    }
    return best;
}

static enum mst_status weigh_word(struct search *s, int judge, int32_t i, struct mst_error *err)
{
    const struct mst_timeline *tl = s->ear->timeline;
    int32_t first = i - REACH, last = i + REACH;
    first = first < 0 ? 0 : first;
    last = last < tl->word_count ? last : tl->word_count - 1;
    struct fault_window w;
    enum mst_status status = MST_OK;
    if (!open_window(s, judge, first, last, &w, &status, err))
        return status;
    int32_t at = i - first; /* in the row */
    struct fault_word_row row = row_with(s, first, last, i, HIDDEN);
    double as_heard = heard_likelihood(s, &w, &row, at);
    int again = tl->words[i].again; /* the alignment has it twice already */
    double likelihoods[HIDDEN] = {EAR_NOWHERE, EAR_NOWHERE, EAR_NOWHERE};
    /* at the window's own ends something would always be left out */
    if (i > first && i < last && !said_elsewhere(s, i)) {
        row = row_with(s, first, last, i, LEFT_OUT);
        likelihoods[LEFT_OUT] = row_likelihood(s, &w, &row, at - 1, at - 1);
    }
    if (!again) {
        row = row_with(s, first, last, i, TWICE);
        likelihoods[TWICE] =
            fmax(row_likelihood(s, &w, &row, at, at), row_likelihood(s, &w, &row, at - 1, at + 1));
    }
    if (!again && i < last && !tl->words[i].stopped) {
        row = row_with(s, first, last, i, EXCHANGED);
        likelihoods[EXCHANGED] = fault_row_score(&row, &s->ear->heard, &w);
    }
    for (int n = 0; n < HIDDEN; n++)
        s->by_judge[judge][n][i] = gain(likelihoods[n], as_heard);
    fault_window_clear(&w);
    return MST_OK;
}

static int rooms_made(struct search *s, size_t words)
{
    for (int n = 0; n < HIDDEN; n++) {
        s->evidence[n] = mst_arena_alloc(s->arena, words + 1, sizeof *s->evidence[n]);
        for (int judge = 0; judge < s->judges; judge++) {
            s->by_judge[judge][n] = mst_arena_alloc(s->arena, words + 1, sizeof(double));
            if (!s->by_judge[judge][n])
                return 0;
        }
        if (!s->evidence[n])
            return 0;
    }
    return 1;
}

/* Two judges as one. The surer one counts, for one misses a word now and then that the other hears;
 * but neither may deny a word said twice: of those made in nine takes the less sure judge denied
 * none by more than 4, of those that were not there (neighbours of a real one aside) all by 106 or
 * more (docs/measurements.md, "Words"). */
double fault_word_agreed(double voice, double alone, enum mst_word_fault_kind kind)
{
    const double denied_from = -50;
    if (kind == MST_WORD_FAULT_TWICE && fmin(voice, alone) < denied_from)
        return fmin(voice, alone);
    return fmax(voice, alone);
}

static const enum mst_word_fault_kind kinds[HIDDEN] = {
    [LEFT_OUT] = MST_WORD_FAULT_LEFT_OUT,
    [TWICE] = MST_WORD_FAULT_TWICE,
    [EXCHANGED] = MST_WORD_FAULT_ORDER,
};

static void agree(struct search *s, size_t words)
{
    for (int n = 0; n < HIDDEN; n++)
        for (size_t i = 0; i < words; i++) {
            double first = s->by_judge[0][n][i];
            double second = s->judges > 1 ? s->by_judge[1][n][i] : first;
            s->evidence[n][i] = fault_word_agreed(first, second, kinds[n]);
        }
}

static int believed(const struct search *s, int32_t i, enum hidden what)
{
    return s->evidence[what][i] >= fault_word_believed_from(s->ear->timeline, i, kinds[what]);
}

/* Neighbours feel the same fault: does what is believed of word i speak the loudest? */
static int is_loudest(const struct search *s, int32_t i, enum hidden what)
{
    double here = s->evidence[what][i];
    for (int32_t k = i - REACH; k <= i + REACH; k++)
        for (int n = 0; n < HIDDEN; n++) {
            if (k < 0 || k >= s->ear->timeline->word_count || (k == i && n == (int)what) ||
                !believed(s, k, (enum hidden)n))
                continue;
            if (s->evidence[n][k] > here || (s->evidence[n][k] == here && k < i))
                return 0;
        }
    return 1;
}

static enum mst_status hidden_faults(struct search *s, struct mst_error *err)
{
    const struct mst_timeline *tl = s->ear->timeline;
    enum mst_status status = MST_OK;
    for (int32_t i = 0; i < tl->word_count && !status; i++)
        for (int n = 0; n < HIDDEN && !status; n++) {
            enum hidden what = (enum hidden)n;
            if (!believed(s, i, what) || !is_loudest(s, i, what))
                continue;
            int32_t other = what == EXCHANGED ? i + 1 : i;
            int32_t from = i > 0 ? i - 1 : i, to = other + 1 < tl->word_count ? other + 1 : other;
            struct mst_word_fault f = {.kind = kinds[what],
                                       .first = tl->words[i].at,
                                       .last = tl->words[other].at,
                                       .word_count = other - i + 1,
                                       .start_ms = tl->words[from].start_ms,
                                       .end_ms = tl->words[to].end_ms,
                                       .sureness = sureness_of(s->evidence[what][i])};
            status = add(s, f, err);
        }
    return status;
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
    struct search s = {
        .ear = ear, .similar = similar, .arena = arena, .judges = ear->with_voice ? 2 : 1};
    size_t words = (size_t)ear->timeline->word_count;
    enum mst_status status = MST_OK;
    *out = NULL;
    *count = 0;
    if (!rooms_made(&s, words))
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while comparing words");
    for (int judge = 0; judge < s.judges; judge++)
        for (size_t i = 0; i < words && !status; i++)
            status = weigh_word(&s, judge, (int32_t)i, err);
    if (!status)
        agree(&s, words);
    if (!status)
        status = leaps(&s, err);
    if (!status)
        status = hidden_faults(&s, err);
    if (status)
        return status;
    if (s.count > 0)
        qsort(s.found, s.count, sizeof *s.found, in_order);
    for (int judge = 0; judge < 2; judge++)
        for (int n = 0; n < HIDDEN; n++)
            ear->word_evidence[judge][n] = s.by_judge[judge][n];
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
