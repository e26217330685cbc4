/* drill.c – the verses of least words that hold what is weak: multicover.c of find/. */
#include "parts.h"

#include "../find/parts.h"

enum { TIMES = 2, NODES = 20000, TIMES_MOST = 100 };

struct drill {
    struct survey s;
    const struct mst_member *skills;
    int32_t skill_count;
    int32_t *row_of; /* member id → 1 + row */
    struct mst_cover *out;
    int32_t *times;  /* verses × skills */
    int32_t *verse;  /* of each column */
    int32_t *column; /* 1 + column of each verse of the text */
    int32_t verse_count;
};

/* The rows that a site belongs to: its skill, and its rule alone where that is asked. */
static void count_site(struct drill *d, int32_t n, int32_t column)
{
    const struct mst_site *site = &d->s.r->sites[n];
    struct mst_member own =
        mst_find_site_member(&d->s.letters, d->s.r, site, d->s.site_phone[n], MST_BY_OWN);
    int ids[2] = {mst_find_member_id(own), mst_find_member_id((struct mst_member){
                                               .kind = MST_MEMBER_RULE, .rule = site->rule})};
    for (int k = 0; k < (ids[0] == ids[1] ? 1 : 2); k++) {
        int32_t row = d->row_of[ids[k]] - 1;
        if (row < 0)
            continue;
        d->times[(size_t)column * (size_t)d->skill_count + (size_t)row]++;
        d->out->members[row].in_range++;
    }
}

static enum mst_status survey(struct drill *d, const struct mst_find_scope *scope,
                              struct mst_arena *work, struct mst_error *err)
{
    struct word_stretch *stretches;
    size_t count;
    d->verse = mst_arena_alloc(work, MST_VERSE_COUNT, sizeof *d->verse);
    d->column = mst_arena_alloc(work, MST_VERSE_COUNT, sizeof *d->column);
    if (!d->verse || !d->column)
        return know_no_memory(err);
    enum mst_status status =
        mst_find_scope_stretches(&d->s, scope, 1, work, &stretches, &count, err);
    if (status != MST_OK)
        return status;
    for (size_t n = 0; n < count; n++)
        for (int32_t v = mst_find_verse_of_word(&d->s, stretches[n].first);
             v <= mst_find_verse_of_word(&d->s, stretches[n].last); v++) {
            d->verse[d->verse_count++] = v;
            d->column[v] = d->verse_count;
        }
    d->times = mst_arena_alloc(work, (size_t)d->verse_count * (size_t)d->skill_count + 1,
                               sizeof *d->times);
    if (!d->times)
        return know_no_memory(err);
    for (int32_t n = 0; n < d->s.r->site_count; n++) {
        int32_t word = d->s.r->letters[d->s.r->sites[n].trigger].word_idx;
        int32_t column = d->column[mst_find_verse_of_word(&d->s, word)] - 1;
        if (column >= 0)
            count_site(d, n, column);
    }
    return MST_OK;
}

static enum mst_status solve(struct drill *d, int times, int node_limit, struct mst_arena *work,
                             struct mst_arena *arena, struct mst_error *err)
{
    size_t columns = (size_t)d->verse_count, rows = (size_t)d->skill_count, filled = 0;
    int32_t *cost = mst_arena_alloc(work, columns + 1, sizeof *cost);
    int32_t *need = mst_arena_alloc(work, rows + 1, sizeof *need);
    int32_t *first = mst_arena_alloc(work, columns + 1, sizeof *first);
    int32_t *member = mst_arena_alloc(work, columns * rows + 1, sizeof *member);
    int32_t *held = mst_arena_alloc(work, columns * rows + 1, sizeof *held);
    if (!cost || !need || !first || !member || !held)
        return know_no_memory(err);
    for (int32_t k = 0; k < d->skill_count; k++) {
        int32_t there = d->out->members[k].in_range;
        need[k] = there < times ? there : times;
        d->out->absent_count += there == 0;
        d->out->short_count += there > 0 && there < times;
    }
    if (d->out->absent_count == d->skill_count)
        return mst_fail(err, MST_NOT_FOUND, "none of these places occurs in the range");
    for (size_t j = 0; j < columns; j++) {
        int32_t v = d->verse[j];
        cost[j] = d->s.first_word[v + 1] - d->s.first_word[v];
        for (size_t k = 0; k < rows; k++)
            if (d->times[j * rows + k] > 0) {
                member[filled] = (int32_t)k;
                held[filled++] = d->times[j * rows + k];
            }
        first[j + 1] = (int32_t)filled;
    }
    struct mst_multicover problem = {.set_count = d->verse_count,
                                     .member_count = d->skill_count,
                                     .cost = cost,
                                     .need = need,
                                     .first = first,
                                     .member = member,
                                     .times = held,
                                     .node_limit = node_limit};
    struct mst_multicover_answer answer;
    enum mst_status status = mst_multicover_solve(&problem, -1, work, &answer, err);
    if (status != MST_OK)
        return status;
    d->out->verses = mst_arena_alloc(arena, (size_t)answer.chosen_count + 1, sizeof(int32_t));
    if (!d->out->verses)
        return know_no_memory(err);
    d->out->verse_count = answer.chosen_count;
    d->out->cost = answer.cost;
    d->out->bound = answer.bound;
    for (int32_t n = 0; n < answer.chosen_count; n++) {
        size_t j = (size_t)answer.chosen[n];
        d->out->verses[n] = d->verse[j];
        d->out->word_count += cost[j];
        for (size_t k = 0; k < rows; k++)
            d->out->members[k].covered += d->times[j * rows + k];
    }
    return MST_OK;
}

static enum mst_status drill(struct drill *d, const struct mst_text *text,
                             const struct mst_find_scope *scope, int times, int node_limit,
                             struct mst_arena *work, struct mst_arena *arena, struct mst_error *err)
{
    d->row_of = mst_arena_alloc(work, MEMBER_IDS, sizeof *d->row_of);
    d->out->members = mst_arena_alloc(arena, (size_t)d->skill_count, sizeof *d->out->members);
    if (!d->row_of || !d->out->members)
        return know_no_memory(err);
    d->out->member_count = d->skill_count;
    for (int32_t k = 0; k < d->skill_count; k++) {
        int number = mst_find_member_id(d->skills[k]);
        struct mst_member same;
        if (!mst_skill_of_number(number, &same))
            return mst_fail(err, MST_USAGE, "skill %d is not one of a rule", (int)k + 1);
        if (d->row_of[number])
            return mst_fail(err, MST_USAGE, "skill %d is asked for twice", (int)k + 1);
        d->row_of[number] = k + 1;
        d->out->members[k].member = d->skills[k];
    }
    enum mst_status status = mst_find_survey_make(text, scope, work, &d->s, err);
    if (status == MST_OK)
        status = survey(d, scope, work, err);
    return status == MST_OK ? solve(d, times, node_limit, work, arena, err) : status;
}

enum mst_status mst_know_drill(const struct mst_text *text, const struct mst_find_scope *scope,
                               const struct mst_member *skills, size_t skill_count, int times,
                               int node_limit, struct mst_arena *arena, struct mst_cover *out,
                               struct mst_error *err)
{
    *out = (struct mst_cover){0};
    if (skill_count == 0 || skill_count > MEMBER_IDS)
        return mst_fail(err, MST_USAGE, "a drill needs at least one place to drill");
    if (times < 0 || times > TIMES_MOST)
        return mst_fail(err, MST_USAGE, "a place can be drilled 1 to %d times, not %d", TIMES_MOST,
                        times);
    struct mst_arena *work = mst_arena_new(0);
    if (!work)
        return know_no_memory(err);
    struct drill d = {.skills = skills, .skill_count = (int32_t)skill_count, .out = out};
    enum mst_status status = drill(&d, text, scope, times ? times : TIMES,
                                   node_limit > 0 ? node_limit : NODES, work, arena, err);
    mst_arena_free(work);
    return status;
}
