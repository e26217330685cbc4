/*
 * cover.c – the verses that hold every member of a family: as few as can be
 * (multicover.c), or the shortest stretch without a gap, by two pointers.
 */
#include "parts.h"

#include <stdlib.h>
#include <string.h>

enum { TIME_LIMIT_S = 10, LETTERS = 28, ALIF = 0x627 };

/* The family's members in rows, the scope's verses in columns. */
struct matrix {
    const struct survey *s;
    struct mst_cover_member *members;
    int32_t member_count;
    int32_t *row_of; /* member id → row, -1: not of the family */
    int32_t *verse;  /* running index of each column */
    int32_t verse_count;
    int32_t *times; /* verses × members */
    int32_t *need, *cost;
    struct mst_arena *work;
};

static enum mst_by told_apart(const struct mst_cover_query *q)
{
    int several = q->rules.bits & (q->rules.bits - 1) ? 1 : 0;
    return q->by == MST_BY_OWN && several ? MST_BY_RULE : q->by;
}

/* Calls each(member id, word) for everything of the family in the whole text. */
static void each_member(const struct survey *s, const struct mst_cover_query *q,
                        void (*each)(void *self, int id, int32_t word), void *self)
{
    const struct mst_reading *r = s->r;
    switch (q->family) {
    case MST_COVER_RULES:
        for (int32_t n = 0; n < r->site_count; n++) {
            if (!mst_rule_set_has(q->rules, r->sites[n].rule))
                continue;
            struct mst_member m =
                mst_find_site_member(&s->letters, r, &r->sites[n], s->site_phone[n], told_apart(q));
            each(self, mst_find_member_id(m), r->letters[r->sites[n].trigger].word_idx);
        }
        return;
    case MST_COVER_LETTERS: {
        int alif =
            mst_find_letter_index_of(&s->letters, ALIF); /* of lengthening: hamza is the 28th */
        for (int32_t n = 0; n < r->letter_count; n++) {
            int letter = mst_find_letter_index_of(&s->letters, r->letters[n].base);
            if (letter >= 0 && letter != alif)
                each(self,
                     mst_find_member_id(
                         (struct mst_member){.kind = MST_MEMBER_LETTER, .letter = (uint8_t)letter}),
                     r->letters[n].word_idx);
        }
        return;
    }
    case MST_COVER_PHONES:
        for (int32_t n = 0; n < r->sound_count; n++)
            each(self,
                 mst_find_member_id(
                     (struct mst_member){.kind = MST_MEMBER_PHONE, .phone = r->sounds[n].phone}),
                 r->sounds[n].word_idx);
        return;
    }
}

static void mark_known(void *self, int id, int32_t word)
{
    (void)word;
    ((struct matrix *)self)->row_of[id] = 0;
}

struct counting {
    struct matrix *m;
    int32_t *column_of; /* running index of a verse → column or -1 */
};

static void count_one(void *self, int id, int32_t word)
{
    struct counting *c = self;
    int32_t column = c->column_of[mst_find_verse_of_word(c->m->s, word)], row = c->m->row_of[id];
    if (column < 0)
        return;
    c->m->times[(size_t)column * (size_t)c->m->member_count + (size_t)row]++;
    c->m->members[row].in_range++;
}

static enum mst_status list_members(struct matrix *m, const struct mst_cover_query *q,
                                    struct mst_arena *arena, struct mst_error *err)
{
    m->row_of = mst_arena_alloc(m->work, MEMBER_IDS, sizeof *m->row_of);
    if (!m->row_of)
        return mst_find_no_memory(err);
    memset(m->row_of, -1, MEMBER_IDS * sizeof *m->row_of);
    each_member(m->s, q, mark_known, m);
    for (int id = 0; id < MEMBER_IDS; id++)
        if (m->row_of[id] == 0)
            m->row_of[id] = m->member_count++;
    m->members = mst_arena_alloc(arena, (size_t)m->member_count + 1, sizeof *m->members);
    m->need = mst_arena_alloc(m->work, (size_t)m->member_count + 1, sizeof *m->need);
    if (!m->members || !m->need)
        return mst_find_no_memory(err);
    for (int id = 0; id < MEMBER_IDS; id++)
        if (m->row_of[id] >= 0)
            m->members[m->row_of[id]].member = mst_find_member_of_id(id);
    return MST_OK;
}

static int32_t words_of(const struct survey *s, int32_t verse)
{
    return s->first_word[verse + 1] - s->first_word[verse];
}

static enum mst_status fill(struct matrix *m, const struct mst_cover_query *q,
                            const struct word_stretch *stretches, size_t count,
                            struct mst_error *err)
{
    struct counting c = {m, mst_arena_alloc(m->work, MST_VERSE_COUNT, sizeof(int32_t))};
    m->verse = mst_arena_alloc(m->work, MST_VERSE_COUNT, sizeof *m->verse);
    m->cost = mst_arena_alloc(m->work, MST_VERSE_COUNT, sizeof *m->cost);
    if (!c.column_of || !m->verse || !m->cost)
        return mst_find_no_memory(err);
    memset(c.column_of, -1, MST_VERSE_COUNT * sizeof *c.column_of);
    for (size_t n = 0; n < count; n++)
        for (int32_t v = mst_find_verse_of_word(m->s, stretches[n].first);
             v <= mst_find_verse_of_word(m->s, stretches[n].last); v++) {
            c.column_of[v] = m->verse_count;
            m->cost[m->verse_count] = q->cost == MST_COST_WORDS ? words_of(m->s, v) : 1;
            m->verse[m->verse_count++] = v;
        }
    m->times = mst_arena_alloc(m->work, (size_t)m->verse_count * (size_t)m->member_count + 1,
                               sizeof *m->times);
    if (!m->times)
        return mst_find_no_memory(err);
    each_member(m->s, q, count_one, &c);
    return MST_OK;
}

/* What can be asked of the scope: never more than it holds. */
static enum mst_status set_needs(struct matrix *m, int times, struct mst_cover *out,
                                 struct mst_error *err)
{
    int32_t present = 0;
    for (int32_t k = 0; k < m->member_count; k++) {
        int32_t there = m->members[k].in_range;
        m->need[k] = there < times ? there : times;
        out->absent_count += there == 0;
        out->short_count += there > 0 && there < times;
        present += there > 0;
    }
    if (present == 0)
        return mst_fail(err, MST_NOT_FOUND, "no member of this family occurs in the range");
    return MST_OK;
}

static enum mst_status choose_set(struct matrix *m, int time_limit_ms, struct mst_arena *arena,
                                  struct mst_cover *out, struct mst_error *err)
{
    size_t most = (size_t)m->verse_count * (size_t)m->member_count;
    int32_t *first = mst_arena_alloc(m->work, (size_t)m->verse_count + 1, sizeof *first);
    int32_t *member = mst_arena_alloc(m->work, most + 1, sizeof *member);
    int32_t *times = mst_arena_alloc(m->work, most + 1, sizeof *times);
    if (!first || !member || !times)
        return mst_find_no_memory(err);
    int32_t filled = 0;
    for (int32_t j = 0; j < m->verse_count; j++) {
        for (int32_t k = 0; k < m->member_count; k++) {
            int32_t n = m->times[(size_t)j * (size_t)m->member_count + (size_t)k];
            if (n > 0) {
                member[filled] = k;
                times[filled++] = n;
            }
        }
        first[j + 1] = filled;
    }
    struct mst_multicover problem = {.set_count = m->verse_count,
                                     .member_count = m->member_count,
                                     .cost = m->cost,
                                     .need = m->need,
                                     .first = first,
                                     .member = member,
                                     .times = times};
    struct mst_multicover_answer answer;
    enum mst_status status = mst_multicover_solve(&problem, time_limit_ms, m->work, &answer, err);
    if (status != MST_OK)
        return status;
    out->verses = mst_arena_alloc(arena, (size_t)answer.chosen_count + 1, sizeof *out->verses);
    if (!out->verses)
        return mst_find_no_memory(err);
    for (int32_t n = 0; n < answer.chosen_count; n++)
        out->verses[n] = m->verse[answer.chosen[n]];
    out->verse_count = answer.chosen_count;
    out->cost = answer.cost;
    out->bound = answer.bound;
    return MST_OK;
}

/* Two pointers: for each last verse the latest first one that still holds everything. The needs
 * are met together or not at all, so `unmet` counts the members still wanting. */
static enum mst_status choose_stretch(struct matrix *m, struct mst_arena *arena,
                                      struct mst_cover *out, struct mst_error *err)
{
    int32_t *rest = mst_arena_alloc(m->work, (size_t)m->member_count + 1, sizeof *rest);
    if (!rest)
        return mst_find_no_memory(err);
    int32_t best_first = -1, best_last = -1, head = 0, unmet = 0;
    int64_t best = INT64_MAX, cost = 0;
    for (int32_t j = 0; j < m->verse_count; j++) {
        if (j == 0 || m->verse[j] != m->verse[j - 1] + 1) { /* a new range: begin anew */
            head = j;
            cost = unmet = 0;
            for (int32_t k = 0; k < m->member_count; k++) {
                rest[k] = m->need[k];
                unmet += rest[k] > 0;
            }
        }
        const int32_t *in = m->times + (size_t)j * (size_t)m->member_count;
        cost += m->cost[j];
        for (int32_t k = 0; k < m->member_count; k++) {
            unmet -= rest[k] > 0 && rest[k] <= in[k];
            rest[k] -= in[k];
        }
        while (unmet == 0) {
            if (cost < best) {
                best = cost;
                best_first = head;
                best_last = j;
            }
            const int32_t *off = m->times + (size_t)head * (size_t)m->member_count;
            cost -= m->cost[head++];
            for (int32_t k = 0; k < m->member_count; k++) {
                unmet += rest[k] <= 0 && rest[k] + off[k] > 0;
                rest[k] += off[k];
            }
        }
    }
    if (best_first < 0)
        return mst_fail(err, MST_NOT_FOUND,
                        "none of the ranges holds every member by itself; without --contiguous "
                        "verses of several ranges are put together");
    out->verse_count = best_last - best_first + 1;
    out->verses = mst_arena_alloc(arena, (size_t)out->verse_count, sizeof *out->verses);
    if (!out->verses)
        return mst_find_no_memory(err);
    for (int32_t n = 0; n < out->verse_count; n++)
        out->verses[n] = m->verse[best_first + n];
    out->cost = out->bound = best;
    return MST_OK;
}

static void count_covered(const struct matrix *m, struct mst_cover *out)
{
    int32_t column = 0;
    for (int32_t n = 0; n < out->verse_count; n++) {
        while (m->verse[column] != out->verses[n])
            column++;
        for (int32_t k = 0; k < m->member_count; k++)
            out->members[k].covered +=
                m->times[(size_t)column * (size_t)m->member_count + (size_t)k];
        out->word_count += words_of(m->s, out->verses[n]);
    }
}

static enum mst_status cover(const struct mst_text *text, const struct mst_cover_query *q,
                             struct mst_arena *work, struct mst_arena *arena, struct mst_cover *out,
                             struct mst_error *err)
{
    struct survey s;
    struct matrix m = {.s = &s, .work = work};
    struct word_stretch *stretches;
    size_t count;
    enum mst_status status = mst_find_survey_make(text, &q->scope, work, &s, err);
    if (status == MST_OK)
        status = mst_find_scope_stretches(&s, &q->scope, 1, work, &stretches, &count, err);
    if (status == MST_OK)
        status = list_members(&m, q, arena, err);
    if (status == MST_OK)
        status = fill(&m, q, stretches, count, err);
    if (status == MST_OK)
        status = set_needs(&m, q->times ? q->times : 1, out, err);
    if (status != MST_OK)
        return status;
    double limit_s = q->time_limit_s > 0 ? q->time_limit_s : q->time_limit_s < 0 ? 0 : TIME_LIMIT_S;
    status = q->contiguous ? choose_stretch(&m, arena, out, err)
                           : choose_set(&m, (int)(limit_s * 1000), arena, out, err);
    if (status != MST_OK)
        return status;
    out->members = m.members;
    out->member_count = m.member_count;
    count_covered(&m, out);
    return MST_OK;
}

enum mst_status mst_find_cover(const struct mst_text *text, const struct mst_cover_query *query,
                               struct mst_arena *arena, struct mst_cover *out,
                               struct mst_error *err)
{
    *out = (struct mst_cover){0};
    if (query->family == MST_COVER_RULES && !query->rules.bits)
        return mst_fail(err, MST_USAGE, "say which rules are to be covered");
    if (query->times < 0 || query->times > 1000)
        return mst_fail(err, MST_USAGE, "a member can be asked 1 to 1000 times, not %d",
                        query->times);
    if (query->time_limit_s > 86400)
        return mst_fail(err, MST_USAGE, "the search may take at most a day");
    struct mst_arena *work = mst_arena_new(0);
    if (!work)
        return mst_find_no_memory(err);
    enum mst_status status = cover(text, query, work, arena, out, err);
    mst_arena_free(work);
    return status;
}
