/* ask.c – a set of questions: which kinds in which order, and which verse each is asked about. */
#include "parts.h"

#include <string.h>

static const char *const kind_ids[] = {
#define X(name, id, en) [MST_ASK_##name] = id,
    MST_ASK_LIST(X)
#undef X
};

const char *mst_ask_kind_id(enum mst_ask_kind kind)
{
    return kind_ids[kind];
}

enum mst_status mst_ask_kinds_parse(struct mst_span s, uint32_t *kinds, struct mst_error *err)
{
    struct mst_span word;
    if (!mst_list_bits(s, kind_ids, MST_ASK_COUNT_OF_KINDS, kinds, &word))
        return mst_fail(err, MST_USAGE,
                        "“%.*s” is no kind of question; there are mark, name, count, without, "
                        "both, find, order and all",
                        (int)(word.len > 60 ? 60 : word.len), word.ptr);
    return MST_OK;
}

static enum mst_status query_check(const struct mst_ask_query *q, uint32_t kinds,
                                   struct mst_error *err)
{
    if (kinds >> MST_ASK_COUNT_OF_KINDS)
        return mst_fail(err, MST_USAGE, "there is no such kind of question");
    if (q->count < 0 || q->count > MST_ASK_QUESTIONS_MAX)
        return mst_fail(err, MST_USAGE, "%d questions are asked for; a set has 1 to %d", q->count,
                        MST_ASK_QUESTIONS_MAX);
    if (q->version && (q->version < 'A' || q->version > 'Z'))
        return mst_fail(err, MST_USAGE, "a version is a letter from A to Z");
    if (!q->rules.bits && kinds != 1u << MST_ASK_FIND)
        return mst_fail(err, MST_USAGE, "say which rule is asked about, for example ikhfa");
    if (q->rules.bits >> MST_RULE_COUNT)
        return mst_fail(err, MST_USAGE, "there is no such rule");
    if (q->scope.options && q->scope.options->stops != MST_STOPS_VERSES)
        return mst_fail(err, MST_USAGE,
                        "questions are about verses read to their ends; leave --stops out");
    return MST_OK;
}

static enum mst_status verses_list(struct asker *a)
{
    struct word_stretch *stretches;
    size_t count;
    enum mst_status status = mst_find_scope_stretches(&a->survey, &a->query->scope, 1, a->work,
                                                      &stretches, &count, a->err);
    if (status != MST_OK)
        return status;
    a->verses = mst_arena_alloc(a->work, MST_VERSE_COUNT, sizeof *a->verses);
    a->used = mst_arena_alloc(a->work, MST_VERSE_COUNT, sizeof *a->used);
    if (!a->verses || !a->used)
        return mst_find_no_memory(a->err);
    for (size_t n = 0; n < count; n++)
        for (int32_t v = mst_find_verse_of_word(&a->survey, stretches[n].first);
             v <= mst_find_verse_of_word(&a->survey, stretches[n].last); v++)
            a->verses[a->verse_count++] = v;
    return MST_OK;
}

static void absent_note(const struct asker *a)
{
    struct mst_rule_set present = {0};
    if (!a->query->absent)
        return;
    for (int32_t v = 0; v < a->verse_count; v++) {
        int32_t first, end;
        mst_ask_verse_sites(a, a->verses[v], &first, &end);
        for (int32_t n = first; n < end; n++)
            present.bits |= UINT64_C(1) << a->survey.r->sites[n].rule;
    }
    a->query->absent->bits = a->query->rules.bits & ~present.bits;
}

/* One rule of those asked, and what a learner may take for it when a name is wanted. */
static int32_t rules_in_turn(struct asker *a, enum mst_ask_kind kind, int32_t out[MST_RULE_COUNT])
{
    int32_t count = 0;
    if (kind == MST_ASK_FIND) {
        out[0] = 0;
        return 1;
    }
    for (int rule = 0; rule < MST_RULE_COUNT; rule++)
        if (mst_rule_set_has(a->query->rules, (enum mst_rule)rule) && a->seen[rule].sites)
            out[count++] = rule;
    mst_ask_shuffle(&a->dice, out, count);
    /* Every other name is a neighbour's: else the answer would always be the lesson's rule. */
    if (kind == MST_ASK_NAME && count && mst_ask_dice(&a->dice, 2)) {
        int32_t like[MST_RULE_COUNT];
        int32_t likes = mst_ask_rules_like(a, (enum mst_rule)out[0], a->query->rules, like);
        int32_t near = 0;
        while (near < likes &&
               mst_ask_confusable(a, (enum mst_rule)out[0], (enum mst_rule)like[near]))
            near++;
        memmove(out + near, out, (size_t)count * sizeof *out);
        memcpy(out, like, (size_t)near * sizeof *out);
        count += near;
    }
    return count;
}

static enum mst_status one(struct asker *a, enum mst_ask_kind kind, struct mst_question *q,
                           int *made)
{
    static ask_about *const makers[] = {
        [MST_ASK_MARK] = mst_ask_mark,   [MST_ASK_NAME] = mst_ask_name,
        [MST_ASK_COUNT] = mst_ask_count, [MST_ASK_WITHOUT] = mst_ask_without,
        [MST_ASK_BOTH] = mst_ask_both,   [MST_ASK_FIND] = mst_ask_find,
        [MST_ASK_ORDER] = mst_ask_order,
    };
    int32_t rules[MST_RULE_COUNT];
    int32_t rule_count = rules_in_turn(a, kind, rules);
    mst_ask_shuffle(&a->dice, a->verses, a->verse_count);
    /* First verses not asked about yet: one question must not give away another's answer. */
    for (int32_t n = 0; n < 2 * rule_count; n++)
        for (int32_t v = 0; v < a->verse_count; v++) {
            int32_t verse = a->verses[v], r = n % rule_count;
            if (n < rule_count ? a->used[verse] != 0 : (a->used[verse] & 1 << kind) != 0)
                continue;
            *q = (struct mst_question){.kind = kind, .rule = rules[r]};
            enum mst_status status = makers[kind](a, verse, (enum mst_rule)rules[r], q, made);
            if (status != MST_OK)
                return status;
            if (*made) {
                a->used[verse] = (uint8_t)(a->used[verse] | 1u << kind);
                return MST_OK;
            }
        }
    return MST_OK;
}

static enum mst_status all(struct asker *a, uint32_t kinds, struct mst_question **out,
                           size_t *count)
{
    size_t wanted = a->query->count ? (size_t)a->query->count : 10;
    *out = mst_arena_alloc(a->arena, wanted, sizeof **out);
    if (!*out)
        return mst_find_no_memory(a->err);
    for (int kind = 0; *count < wanted && kinds; kind = (kind + 1) % MST_ASK_COUNT_OF_KINDS) {
        int made = 0;
        if (!(kinds >> kind & 1u))
            continue;
        enum mst_status status = one(a, (enum mst_ask_kind)kind, &(*out)[*count], &made);
        if (status != MST_OK)
            return status;
        if (made)
            *count += 1;
        else
            kinds &= ~(1u << kind); /* the scope holds no more of this kind */
    }
    if (!*count)
        return mst_fail(a->err, MST_NOT_FOUND,
                        "no such question with a single answer can be made from this range; "
                        "take a wider one");
    return MST_OK;
}

static void sites_note(struct asker *a)
{
    const struct mst_reading *r = a->survey.r;
    for (int32_t n = 0; n < r->site_count; n++) {
        const struct mst_site *s = &r->sites[n];
        struct rule_seen *seen = &a->seen[s->rule];
        int letter = mst_find_site_trigger(&a->survey.letters, r, s);
#define WIDEN(least, most, value_least, value_most)                                                \
    do {                                                                                           \
        if (!seen->sites || (value_least) < seen->least)                                           \
            seen->least = (value_least);                                                           \
        if (!seen->sites || (value_most) > seen->most)                                             \
            seen->most = (value_most);                                                             \
    } while (0)
        WIDEN(counts_least, counts_most, s->counts_min, s->counts_max);
        WIDEN(nasal_least, nasal_most, s->nasal, s->nasal);
        WIDEN(heavy_least, heavy_most, s->heavy, s->heavy);
#undef WIDEN
        if (letter >= 0)
            seen->triggers |= 1u << letter;
        seen->sites++;
    }
}

enum mst_status mst_ask(const struct mst_text *text, const struct mst_ask_query *query,
                        struct mst_arena *arena, struct mst_question **out, size_t *count,
                        struct mst_error *err)
{
    uint32_t kinds = query->kinds ? query->kinds : (1u << MST_ASK_COUNT_OF_KINDS) - 1;
    *out = NULL;
    *count = 0;
    enum mst_status status = query_check(query, kinds, err);
    if (status != MST_OK)
        return status;
    struct asker a = {
        .text = text, .query = query, .work = mst_arena_new(1u << 20), .arena = arena, .err = err};
    if (!a.work)
        return mst_find_no_memory(err);
    mst_ask_dice_new(&a.dice, query->seed, (uint64_t)(query->version ? query->version : 'A'));
    status = mst_find_survey_make(text, &query->scope, a.work, &a.survey, err);
    if (status == MST_OK) {
        sites_note(&a);
        status = verses_list(&a);
    }
    if (status == MST_OK) {
        absent_note(&a);
        status = all(&a, kinds, out, count);
    }
    mst_arena_free(a.work);
    return status;
}
