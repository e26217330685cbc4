/* passages.c – runs of verses dense in a rule, of the length asked, with sensible ends. */
#include "parts.h"

#include <math.h>
#include <stdlib.h>

enum { DEFAULT_WORDS_MIN = 40, DEFAULT_WORDS_MAX = 100, DEFAULT_LIMIT = 10 };
/* Teaching pace; common practice, no source. */
static const double DEFAULT_PACE_COUNTS_PER_S = 2.5;
static const double BREATH_S = 1;
/* 604 pages of 15 lines, 77 429 words. */
static const double WORDS_PER_LINE = 8.5;

/* Running sums before each verse: a passage is the difference of two. */
struct sums {
    int32_t words, sites, untaught_sites, untaught_words, counts, stops;
};

struct search {
    const struct survey *s;
    const struct mst_passage_query *q;
    struct sums *before; /* MST_VERSE_COUNT + 1 */
    enum mst_edge *edge; /* between verse v - 1 and verse v */
    double pace;
    int32_t words_min, words_max; /* INT32_MAX: no bound */
    struct mst_passage *found;
    size_t count, room;
    struct mst_arena *work;
};

static void add_word(const struct search *f, int32_t w, struct sums *sum)
{
    const struct mst_reading *r = f->s->r;
    uint64_t not_yet = f->q->untaught.bits & ~f->q->rules.bits;
    const struct mst_word *word = &r->words[w];
    int untaught = 0;
    for (int32_t n = f->s->site_from[w]; n < f->s->site_from[w + 1]; n++) {
        sum->sites += mst_rule_set_has(f->q->rules, r->sites[n].rule);
        untaught += (int)(not_yet >> r->sites[n].rule & 1u);
    }
    sum->untaught_sites += untaught;
    sum->untaught_words += untaught > 0;
    for (int32_t n = 0; n < word->sound_count; n++)
        sum->counts += r->sounds[word->first_sound + n].counts;
    sum->stops += word->seam == MST_SEAM_STOP;
    sum->words++;
}

static enum mst_status sum_up(struct search *f, struct mst_error *err)
{
    f->before = mst_arena_alloc(f->work, MST_VERSE_COUNT + 1, sizeof *f->before);
    if (!f->before)
        return mst_find_no_memory(err);
    for (int32_t v = 0; v < MST_VERSE_COUNT; v++) {
        f->before[v + 1] = f->before[v];
        for (int32_t w = f->s->first_word[v]; w < f->s->first_word[v + 1]; w++)
            add_word(f, w, &f->before[v + 1]);
    }
    return MST_OK;
}

/* The edge between verse v - 1 and verse v. */
static enum mst_edge edge_before(const struct survey *s, int32_t v)
{
    if (v == 0 || v == MST_VERSE_COUNT)
        return MST_EDGE_SURA;
    struct mst_addr here = mst_text_verse_addr(s->text, v);
    struct mst_addr before = mst_text_verse_addr(s->text, v - 1);
    if (here.sura != before.sura)
        return MST_EDGE_SURA;
    struct mst_place a = mst_text_place(s->text, before.sura, before.verse);
    struct mst_place b = mst_text_place(s->text, here.sura, here.verse);
    if (a.ruku != b.ruku || a.hizb_quarter != b.hizb_quarter)
        return MST_EDGE_PART;
    enum mst_pause_sign sign = s->r->words[s->first_word[v] - 1].pause_sign;
    return sign == MST_PAUSE_MUST || sign == MST_PAUSE_BETTER ? MST_EDGE_SIGN : MST_EDGE_VERSE;
}

static double edge_weight(enum mst_edge edge)
{
    static const double of[] = {1.0, 1.1, 1.25, 1.3};
    return of[edge];
}

/* Verses a…b, both included, as running indices. */
static struct mst_passage passage_of(const struct search *f, int32_t a, int32_t b)
{
    const struct sums *x = &f->before[a], *y = &f->before[b + 1];
    struct mst_passage p = {
        .range = {mst_text_verse_addr(f->s->text, a), mst_text_verse_addr(f->s->text, b)},
        .verses = b - a + 1,
        .words = y->words - x->words,
        .sites = y->sites - x->sites,
        .untaught_sites = y->untaught_sites - x->untaught_sites,
        .untaught_words = y->untaught_words - x->untaught_words,
        .counts = y->counts - x->counts,
        .begins = f->edge[a],
        .ends = f->edge[b + 1],
    };
    p.seconds = p.counts / f->pace + BREATH_S * (y->stops - x->stops);
    p.lines = (int)ceil(p.words / WORDS_PER_LINE);
    p.per_100_words = 100.0 * p.sites / p.words;
    p.score = p.per_100_words * edge_weight(p.begins) * edge_weight(p.ends);
    return p;
}

static int fits(const struct search *f, const struct mst_passage *p)
{
    const struct mst_passage_query *q = f->q;
    if (p->sites == 0 || p->words < f->words_min || p->words > f->words_max)
        return 0;
    if (p->lines < q->lines_min || (q->lines_max && p->lines > q->lines_max))
        return 0;
    if (p->seconds < q->seconds_min || (q->seconds_max > 0 && p->seconds > q->seconds_max))
        return 0;
    if (q->untaught_percent >= 0 &&
        (int64_t)p->untaught_words * 100 > (int64_t)q->untaught_percent * p->words)
        return 0;
    /* Across suras only whole ones. */
    return p->range.first.sura == p->range.last.sura ||
           (p->begins == MST_EDGE_SURA && p->ends == MST_EDGE_SURA);
}

/* Nothing longer fits either. */
static int too_long(const struct search *f, const struct mst_passage *p)
{
    return p->words > f->words_max || (f->q->lines_max && p->lines > f->q->lines_max) ||
           (f->q->seconds_max > 0 && p->seconds > f->q->seconds_max);
}

static enum mst_status keep(struct search *f, const struct mst_passage *p, struct mst_error *err)
{
    if (f->count == f->room) {
        size_t room = f->room ? f->room * 2 : 1024;
        struct mst_passage *grown = mst_arena_grow(f->work, f->found, f->room, room, sizeof *p);
        if (!grown)
            return mst_find_no_memory(err);
        f->found = grown;
        f->room = room;
    }
    f->found[f->count++] = *p;
    return MST_OK;
}

static enum mst_status search_stretch(struct search *f, struct word_stretch stretch,
                                      struct mst_error *err)
{
    int32_t first = mst_find_verse_of_word(f->s, stretch.first),
            last = mst_find_verse_of_word(f->s, stretch.last);
    for (int32_t a = first; a <= last; a++)
        for (int32_t b = a; b <= last; b++) {
            struct mst_passage p = passage_of(f, a, b);
            if (too_long(f, &p))
                break;
            enum mst_status status = fits(f, &p) ? keep(f, &p, err) : MST_OK;
            if (status != MST_OK)
                return status;
        }
    return MST_OK;
}

static int best_first(const void *a, const void *b)
{
    const struct mst_passage *x = a, *y = b;
    if (x->score != y->score)
        return x->score > y->score ? -1 : 1;
    int order = mst_addr_compare(x->range.first, y->range.first);
    return order ? order : mst_addr_compare(x->range.last, y->range.last);
}

/* Do two passages share more than half of the shorter one's verses? */
static int much_the_same(const struct mst_text *text, const struct mst_passage *a,
                         const struct mst_passage *b)
{
    int32_t a0 = mst_text_verse_index(text, a->range.first.sura, a->range.first.verse);
    int32_t b0 = mst_text_verse_index(text, b->range.first.sura, b->range.first.verse);
    int32_t from = a0 > b0 ? a0 : b0, a1 = a0 + a->verses, b1 = b0 + b->verses;
    int32_t shared = (a1 < b1 ? a1 : b1) - from;
    return 2 * shared > (a->verses < b->verses ? a->verses : b->verses);
}

static enum mst_status best_of(struct search *f, size_t limit, struct mst_arena *arena,
                               struct mst_passage **out, size_t *count, struct mst_error *err)
{
    if (f->count)
        qsort(f->found, f->count, sizeof *f->found, best_first);
    *out = mst_arena_alloc(arena, limit, sizeof **out);
    if (!*out)
        return mst_find_no_memory(err);
    for (size_t n = 0; n < f->count && *count < limit; n++) {
        size_t k = 0;
        while (k < *count && !much_the_same(f->s->text, &(*out)[k], &f->found[n]))
            k++;
        if (k == *count)
            (*out)[(*count)++] = f->found[n];
    }
    return MST_OK;
}

static enum mst_status query_check(const struct mst_passage_query *q, struct mst_error *err)
{
    if (!q->rules.bits)
        return mst_fail(err, MST_USAGE, "say which rule the passages are to be rich in");
    if ((q->words_max && q->words_min > q->words_max) ||
        (q->lines_max && q->lines_min > q->lines_max) ||
        (q->seconds_max > 0 && q->seconds_min > q->seconds_max))
        return mst_fail(err, MST_USAGE, "the smaller length comes first, as in 40-100");
    if (q->words_min < 0 || q->words_max < 0 || q->lines_min < 0 || q->lines_max < 0 ||
        !(q->seconds_min >= 0) || !(q->seconds_max >= 0))
        return mst_fail(err, MST_USAGE, "a length is not below nothing");
    if (!(q->pace_counts_per_s >= 0) || q->pace_counts_per_s > 20)
        return mst_fail(err, MST_USAGE, "the pace is 0.1 to 20 counts a second");
    if (q->untaught_percent > 100)
        return mst_fail(err, MST_USAGE, "a share is 0 to 100 percent, not %d", q->untaught_percent);
    if (q->limit < 0 || q->limit > 10000)
        return mst_fail(err, MST_USAGE, "1 to 10000 passages can be shown, not %d", q->limit);
    return MST_OK;
}

static void set_lengths(struct search *f)
{
    const struct mst_passage_query *q = f->q;
    int unbounded = !q->words_min && !q->words_max && !q->lines_min && !q->lines_max &&
                    !(q->seconds_min > 0) && !(q->seconds_max > 0);
    f->words_min = unbounded ? DEFAULT_WORDS_MIN : q->words_min;
    f->words_max = unbounded ? DEFAULT_WORDS_MAX : q->words_max ? q->words_max : INT32_MAX;
    f->pace = q->pace_counts_per_s > 0 ? q->pace_counts_per_s : DEFAULT_PACE_COUNTS_PER_S;
}

static enum mst_status search(struct search *f, struct survey *s, const struct mst_text *text,
                              struct mst_error *err)
{
    struct word_stretch *stretches;
    size_t count;
    enum mst_status status = mst_find_survey_make(text, &f->q->scope, f->work, s, err);
    if (status == MST_OK)
        status = mst_find_scope_stretches(s, &f->q->scope, 1, f->work, &stretches, &count, err);
    if (status == MST_OK)
        status = sum_up(f, err);
    if (status != MST_OK)
        return status;
    f->edge = mst_arena_alloc(f->work, MST_VERSE_COUNT + 1, sizeof *f->edge);
    if (!f->edge)
        return mst_find_no_memory(err);
    for (int32_t v = 0; v <= MST_VERSE_COUNT; v++)
        f->edge[v] = edge_before(s, v);
    for (size_t n = 0; n < count && status == MST_OK; n++)
        status = search_stretch(f, stretches[n], err);
    return status;
}

enum mst_status mst_find_passages(const struct mst_text *text,
                                  const struct mst_passage_query *query, struct mst_arena *arena,
                                  struct mst_passage **out, size_t *count, struct mst_error *err)
{
    struct survey s;
    struct search f = {.s = &s, .q = query};
    *out = NULL;
    *count = 0;
    enum mst_status status = query_check(query, err);
    if (status != MST_OK)
        return status;
    set_lengths(&f);
    f.work = mst_arena_new(0);
    if (!f.work)
        return mst_find_no_memory(err);
    status = search(&f, &s, text, err);
    if (status == MST_OK)
        status = best_of(&f, query->limit ? (size_t)query->limit : DEFAULT_LIMIT, arena, out, count,
                         err);
    mst_arena_free(f.work);
    return status;
}

const char *mst_edge_id(enum mst_edge edge)
{
    static const char *const ids[] = {"verse", "sign", "part", "sura"};
    return edge >= MST_EDGE_VERSE && edge <= MST_EDGE_SURA ? ids[edge] : "?";
}
