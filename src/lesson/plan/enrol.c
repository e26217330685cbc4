/*
 * enrol.c – the verses a reciter reads once so that the ear learns the voice:
 * every phone often enough, in the least time. A verse costs the counts of its
 * sounds at the pace and one second for the stop at its end (common practice,
 * no source).
 */
#include "../find/parts.h"
#include <mistara/lesson.h>

#include <string.h>

enum { TIMES_MOST = 400, NODES_MOST = 2000, NO_CLOCK = -1 };

struct enrol {
    const struct survey *s;
    struct mst_arena *arena;
    int32_t *verse; /* running index of each verse in the scope */
    int32_t *cost;  /* tenths of a second */
    int32_t *times; /* verse × phone */
    int32_t count;
    int32_t in_range[MST_PHONE_COUNT], in_text[MST_PHONE_COUNT];
};

static double pace_of(const struct mst_enrol_query *q)
{
    return q->pace_counts_per_s > 0 ? q->pace_counts_per_s : 2.5;
}

static void verse_add(struct enrol *e, int32_t verse, double pace)
{
    const struct mst_reading *r = e->s->r;
    const struct mst_word *first = &r->words[e->s->first_word[verse]],
                          *last = &r->words[e->s->first_word[verse + 1] - 1];
    int32_t counts = 0, *times = &e->times[(size_t)e->count * MST_PHONE_COUNT];
    for (int32_t n = first->first_sound; n < last->first_sound + last->sound_count; n++) {
        counts += r->sounds[n].counts;
        times[r->sounds[n].phone]++;
        e->in_range[r->sounds[n].phone]++;
    }
    e->verse[e->count] = verse;
    e->cost[e->count++] = (int32_t)(10 * (counts / pace + 1) + 0.5);
}

static enum mst_status gather(struct enrol *e, const struct mst_enrol_query *q,
                              struct mst_error *err)
{
    struct word_stretch *stretches;
    size_t count;
    enum mst_status status =
        mst_find_scope_stretches(e->s, &q->scope, 1, e->arena, &stretches, &count, err);
    if (status != MST_OK)
        return status;
    e->verse = mst_arena_alloc(e->arena, MST_VERSE_COUNT, sizeof *e->verse);
    e->cost = mst_arena_alloc(e->arena, MST_VERSE_COUNT, sizeof *e->cost);
    e->times =
        mst_arena_alloc(e->arena, (size_t)MST_VERSE_COUNT * MST_PHONE_COUNT, sizeof *e->times);
    if (!e->verse || !e->cost || !e->times)
        return mst_find_no_memory(err);
    for (size_t n = 0; n < count; n++) {
        int32_t last = mst_find_verse_of_word(e->s, stretches[n].last);
        for (int32_t v = mst_find_verse_of_word(e->s, stretches[n].first); v <= last; v++)
            verse_add(e, v, pace_of(q));
    }
    for (int32_t n = 0; n < e->s->r->sound_count; n++)
        e->in_text[e->s->r->sounds[n].phone]++;
    return MST_OK;
}

/* node_limit 0: the greedy answer and the linear bound alone. */
static enum mst_status solve(struct enrol *e, int times, int32_t node_limit,
                             struct mst_multicover_answer *out, struct mst_error *err)
{
    size_t entries = 0;
    for (size_t n = 0; n < (size_t)e->count * MST_PHONE_COUNT; n++)
        entries += e->times[n] > 0;
    int32_t *first = mst_arena_alloc(e->arena, (size_t)e->count + 1, sizeof *first);
    int32_t *member = mst_arena_alloc(e->arena, entries + 1, sizeof *member);
    int32_t *held = mst_arena_alloc(e->arena, entries + 1, sizeof *held);
    int32_t *need = mst_arena_alloc(e->arena, MST_PHONE_COUNT, sizeof *need);
    if (!first || !member || !held || !need)
        return mst_find_no_memory(err);
    int32_t at = 0;
    for (int32_t v = 0; v < e->count; v++) {
        first[v] = at;
        for (int32_t phone = 0; phone < MST_PHONE_COUNT; phone++) {
            int32_t n = e->times[(size_t)v * MST_PHONE_COUNT + (size_t)phone];
            if (n == 0)
                continue;
            member[at] = phone;
            held[at++] = n;
        }
    }
    first[e->count] = at;
    for (int32_t phone = 0; phone < MST_PHONE_COUNT; phone++)
        need[phone] = e->in_range[phone] < times ? e->in_range[phone] : times;
    struct mst_multicover problem = {.set_count = e->count,
                                     .member_count = MST_PHONE_COUNT,
                                     .cost = e->cost,
                                     .need = need,
                                     .first = first,
                                     .member = member,
                                     .times = held,
                                     .node_limit = node_limit};
    return mst_multicover_solve(&problem, node_limit ? NO_CLOCK : 0, e->arena, out, err);
}

static enum mst_status answer(const struct enrol *e, const struct mst_multicover_answer *chosen,
                              int times, struct mst_arena *arena, struct mst_enrol *out,
                              struct mst_error *err)
{
    struct mst_cover *c = &out->cover;
    *out = (struct mst_enrol){.times = times, .seconds = (double)chosen->cost / 10};
    c->verses = mst_arena_alloc(arena, (size_t)chosen->chosen_count + 1, sizeof *c->verses);
    c->members = mst_arena_alloc(arena, MST_PHONE_COUNT, sizeof *c->members);
    if (!c->verses || !c->members)
        return mst_find_no_memory(err);
    int32_t covered[MST_PHONE_COUNT] = {0};
    for (int32_t n = 0; n < chosen->chosen_count; n++) {
        int32_t set = chosen->chosen[n];
        c->verses[n] = e->verse[set];
        c->word_count += e->s->first_word[e->verse[set] + 1] - e->s->first_word[e->verse[set]];
        for (int phone = 0; phone < MST_PHONE_COUNT; phone++)
            covered[phone] += e->times[(size_t)set * MST_PHONE_COUNT + (size_t)phone];
    }
    for (int phone = 0; phone < MST_PHONE_COUNT; phone++) {
        if (e->in_text[phone] == 0)
            continue;
        c->members[c->member_count++] =
            (struct mst_cover_member){.member = {.kind = MST_MEMBER_PHONE, .phone = (uint8_t)phone},
                                      .in_range = e->in_range[phone],
                                      .covered = covered[phone]};
        c->absent_count += e->in_range[phone] == 0;
        c->short_count += e->in_range[phone] > 0 && e->in_range[phone] < times;
    }
    c->verse_count = chosen->chosen_count;
    c->cost = chosen->cost;
    c->bound = chosen->bound;
    return MST_OK;
}

/* The most times that fit: doubling, then halving the gap, with the greedy answers; then solved
 * properly, going on upwards while it still fits. */
static enum mst_status most_times(struct enrol *e, double limit, int32_t node_limit, int *times,
                                  struct mst_multicover_answer *best, struct mst_error *err)
{
    struct mst_multicover_answer a;
    int fits = 0, over = TIMES_MOST;
    enum mst_status status = MST_OK;
    for (int next = 1; status == MST_OK && over - fits > 1;) {
        status = solve(e, next, 0, &a, err);
        if (status == MST_OK && (double)a.cost <= limit)
            fits = next;
        else
            over = next;
        next = over == TIMES_MOST && 2 * fits < over ? 2 * (fits ? fits : 1) : (fits + over) / 2;
        if (fits == 0 && over == 1)
            break;
    }
    *times = 0;
    for (int next = fits ? fits : 1; status == MST_OK && next < TIMES_MOST; next++) {
        status = solve(e, next, 0, &a, err); /* the bound alone often says no */
        if (status == MST_OK && (double)a.bound <= limit)
            status = solve(e, next, node_limit, &a, err);
        if (status != MST_OK || (double)a.cost > limit)
            break;
        *best = a;
        *times = next;
    }
    if (status == MST_OK && *times == 0)
        status = mst_fail(err, MST_NOT_FOUND,
                          "even once, every sound takes about %.0f s; allow more minutes, or a "
                          "wider range",
                          (double)a.cost / 10);
    return status;
}

enum mst_status mst_lesson_enrol(const struct mst_text *text, const struct mst_enrol_query *query,
                                 struct mst_arena *arena, struct mst_enrol *out,
                                 struct mst_error *err)
{
    struct mst_arena *scratch = mst_arena_new(0);
    struct survey survey;
    struct enrol e = {.s = &survey, .arena = scratch};
    struct mst_multicover_answer chosen;
    double seconds = query->seconds > 0 ? query->seconds : 180;
    int32_t node_limit = query->node_limit > 0 ? query->node_limit : NODES_MOST;
    int times = query->times;
    if (!scratch)
        return mst_find_no_memory(err);
    enum mst_status status = mst_find_survey_make(text, &query->scope, scratch, &survey, err);
    if (status == MST_OK)
        status = gather(&e, query, err);
    if (status == MST_OK && times == 0)
        status = most_times(&e, seconds * 10, node_limit, &times, &chosen, err);
    else if (status == MST_OK)
        status = solve(&e, times, node_limit, &chosen, err);
    if (status == MST_OK)
        status = answer(&e, &chosen, times, arena, out, err);
    mst_arena_free(scratch);
    return status;
}
