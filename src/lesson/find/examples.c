/* examples.c – short phrases that show one rule cleanly, ranked for each member of the family. */
#include "parts.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    WORDS_MIN = 2,
    WORDS_MAX = 6,
    WORDS_LIMIT = 12,
    PER_MEMBER = 3,
    SCRATCH_BYTES = 1 << 19, /* a phrase's reading fits: no block is fetched for each of them */
    MEMBERS_IN_PHRASE = 16,  /* different members of one phrase that it is offered for */
    LONGEST_VERSE = 256      /* words; 2:282 has 128 */
};

/* A phrase offered for one member. */
struct offer {
    int32_t member; /* id */
    int32_t first_word, last_word, site, same, others;
    float penalty;
    uint8_t begins, ends;
    uint64_t words; /* the words that hold the site, by their letters */
};

struct search {
    const struct survey *s;
    const struct mst_example_query *query;
    struct mst_reading_options options;
    struct mst_arena *scratch; /* emptied for each phrase */
    struct mst_arena *arena;   /* of the offers */
    struct offer *offers;
    size_t offer_count, offer_room;
    int words_min, words_max;
    enum mst_cut worst_cut;
    int32_t read;
};

/* --- what is asked for ------------------------------------------------------ */

static int wanted(const struct search *f, const struct mst_reading *r, const struct mst_site *site)
{
    const struct mst_example_query *q = f->query;
    const struct letter_index *letters = &f->s->letters;
    if (!mst_rule_set_has(q->rules, site->rule))
        return 0;
    if (q->nun == MST_NUN_PLAIN && site->tanwin)
        return 0;
    if (q->nun == MST_NUN_TANWIN && !site->tanwin)
        return 0;
    int across = r->letters[site->first].word_idx != r->letters[site->last].word_idx;
    if (q->across != MST_WORDS_EITHER && across != (q->across == MST_WORDS_ACROSS))
        return 0;
    int host = mst_find_site_host(letters, r, site),
        trigger = mst_find_site_trigger(letters, r, site);
    if (q->hosts && (host < 0 || !(q->hosts >> host & 1u)))
        return 0;
    return !q->triggers || (trigger >= 0 && q->triggers >> trigger & 1u);
}

/* --- how clear a phrase is (the weights are explained in docs/finding.md) ------- */

/* What a site of another rule takes from the clarity. */
static float distraction(const struct mst_site *site)
{
    switch (mst_rule_family(site->rule)) {
    case MST_FAMILY_LENGTH:
        return site->counts > 2 ? 1.0f : 0.2f;
    case MST_FAMILY_NASAL:
    case MST_FAMILY_MERGE:
    case MST_FAMILY_TURN:
    case MST_FAMILY_HIDE:
    case MST_FAMILY_ECHO:
        return 1.0f;
    case MST_FAMILY_OWN:
        return 2.0f;
    case MST_FAMILY_CLEAR:
        return 0.4f;
    case MST_FAMILY_SEAM:
        return 0.3f;
    case MST_FAMILY_WEIGHT:
    case MST_FAMILY_SILENT:
    case MST_FAMILY_COUNT:
        break;
    }
    return 0.1f;
}

static float cut_penalty(enum mst_cut cut)
{
    static const float of[] = {0.0f, 0.0f, 0.0f, 0.4f, 1.0f, 2.0f, 9.0f};
    return of[cut];
}

/* Rare words take the learner's eye from the rule: 0 for words as common as the commonest. */
static float rarity(const struct survey *s, int32_t first, int32_t last)
{
    float sum = 0;
    for (int32_t w = first; w <= last; w++)
        sum += 1.0f - log2f((float)(1 + s->frequency[w])) / log2f((float)(1 + s->most_frequent));
    return sum / (float)(last - first + 1);
}

static float off_middle(const struct mst_reading *r, const struct mst_site *site)
{
    float half = (float)r->letter_count / 2;
    return fabsf((float)(site->first + site->last + 1) / 2 - half) / half;
}

/* Of the phrase as such, before it is asked which site it shows. */
static float phrase_penalty(const struct search *f, const struct mst_reading *r,
                            const struct offer *o)
{
    float penalty = cut_penalty(o->begins) + cut_penalty(o->ends);
    penalty += 0.5f * (float)(r->word_count > 3 ? r->word_count - 3 : 0);
    penalty += 1.5f * rarity(f->s, o->first_word, o->last_word);
    for (int32_t n = 0; n < r->site_count; n++)
        if (!mst_rule_set_has(f->query->rules, r->sites[n].rule))
            penalty += distraction(&r->sites[n]);
    return penalty;
}

/* --- collecting ---------------------------------------------------------------- */

static enum mst_status offer_add(struct search *f, const struct offer *o, struct mst_error *err)
{
    if (f->offer_count == f->offer_room) {
        size_t room = f->offer_room ? f->offer_room * 2 : 1024;
        struct offer *grown = mst_arena_grow(f->arena, f->offers, f->offer_room, room, sizeof *o);
        if (!grown)
            return mst_find_no_memory(err);
        f->offers = grown;
        f->offer_room = room;
    }
    f->offers[f->offer_count++] = *o;
    return MST_OK;
}

static int needs_untaught(const struct search *f, const struct mst_reading *r)
{
    uint64_t not_yet = f->query->untaught.bits & ~f->query->rules.bits;
    for (int32_t n = 0; n < r->site_count; n++)
        if (not_yet >> r->sites[n].rule & 1u)
            return 1;
    return 0;
}

/* The best site of each member that the phrase holds becomes an offer. */
static enum mst_status offer_sites(struct search *f, const struct mst_reading *r, struct offer *o,
                                   struct mst_error *err)
{
    struct offer found[MEMBERS_IN_PHRASE];
    int count = 0, asked = 0, of_rules = 0;
    uint8_t *phones = mst_arena_alloc_raw(f->scratch, (size_t)r->site_count + 1, 1);
    if (!phones)
        return mst_find_no_memory(err);
    mst_find_sites_phones(r, phones);
    for (int32_t n = 0; n < r->site_count; n++) {
        const struct mst_site *site = &r->sites[n];
        of_rules += mst_rule_set_has(f->query->rules, site->rule);
        if (!wanted(f, r, site))
            continue;
        asked++;
        int id = mst_find_member_id(
            mst_find_site_member(&f->s->letters, r, site, phones[n], f->query->by));
        float penalty = 1.0f * off_middle(r, site);
        int k = 0;
        while (k < count && found[k].member != id)
            k++;
        if (k == MEMBERS_IN_PHRASE || (k < count && found[k].penalty <= penalty))
            continue;
        if (k == count)
            count++;
        found[k] = *o;
        found[k].member = id;
        found[k].site = n;
        found[k].penalty = penalty;
    }
    if (!asked)
        return MST_OK;
    float common = phrase_penalty(f, r, o) + 0.8f * (float)(of_rules - 1);
    for (int k = 0; k < count; k++) {
        const struct mst_site *site = &r->sites[found[k].site];
        const struct mst_word *first = &r->words[r->letters[site->first].word_idx],
                              *last = &r->words[r->letters[site->last].word_idx];
        found[k].penalty += common;
        found[k].same = of_rules - 1;
        found[k].others = r->site_count - of_rules;
        found[k].words =
            mst_find_letters_hash(r, first->first_letter, last->first_letter + last->letter_count);
        enum mst_status status = offer_add(f, &found[k], err);
        if (status != MST_OK)
            return status;
    }
    return MST_OK;
}

static struct mst_range words_range(const struct survey *s, int32_t first, int32_t last)
{
    const struct mst_word *a = &s->r->words[first], *b = &s->r->words[last];
    return (struct mst_range){{a->sura, a->verse, a->word, 0}, {b->sura, b->verse, b->word, 0}};
}

static enum mst_status try_phrase(struct search *f, struct offer *o, struct mst_error *err)
{
    struct mst_reading *r;
    mst_arena_reset(f->scratch);
    enum mst_status status =
        mst_reading_new(f->s->text, words_range(f->s, o->first_word, o->last_word), &f->options,
                        f->scratch, &r, err);
    if (status != MST_OK)
        return status;
    f->read++;
    return needs_untaught(f, r) ? MST_OK : offer_sites(f, r, o, err);
}

/* The rules that a word shows when reading begins and stops with it. What arises from a seam lies
 * in the word at the seam, so no phrase that begins or ends there shows another. */
static uint64_t rules_alone(const struct search *f, int32_t word)
{
    static_assert((int)MST_RULE_COUNT < (int)ALONE_KNOWN, "a bit is left to say that it is known");
    uint64_t *rules = &f->s->alone[word];
    struct mst_reading *r;
    struct mst_error ignored;
    if (*rules)
        return *rules;
    mst_arena_reset(f->scratch);
    if (mst_reading_new(f->s->text, words_range(f->s, word, word), &f->options, f->scratch, &r,
                        &ignored) != MST_OK)
        return ~UINT64_C(0); /* the phrase will say why */
    *rules = UINT64_C(1) << ALONE_KNOWN;
    for (int32_t n = 0; n < r->site_count; n++)
        *rules |= UINT64_C(1) << r->sites[n].rule;
    return *rules;
}

/* Does a site that surely stands in the phrase need a rule that is not taught? What stands between
 * two words of the phrase that are joined stands there in the phrase too. */
static int lost(const struct search *f, int32_t first, int32_t last, uint64_t not_yet)
{
    const struct mst_reading *r = f->s->r;
    for (int32_t n = f->s->site_from[first]; n < f->s->site_from[last + 1]; n++) {
        const struct mst_site *site = &r->sites[n];
        if (not_yet >> site->rule & 1u && site->when == MST_ALWAYS &&
            r->letters[site->last].word_idx < last && r->letters[site->first].word_idx > first)
            return 1;
    }
    return 0;
}

static int holds_wanted(const struct search *f, int32_t first, int32_t last)
{
    for (int32_t n = f->s->site_from[first]; n < f->s->site_from[last + 1]; n++)
        if (wanted(f, f->s->r, &f->s->r->sites[n]))
            return 1;
    return 0;
}

/* Before a phrase is read: could it hold what is asked, and is it not already lost? seam_rules: the
 * asked rules that may arise from stopping or starting somewhere. */
static int worth_reading(const struct search *f, int32_t first, int32_t last, uint64_t seam_rules)
{
    uint64_t not_yet = f->query->untaught.bits & ~f->query->rules.bits, held = 0;
    for (int32_t w = first; w <= last; w++)
        held |= f->s->word_rules[w];
    if (!(held & f->query->rules.bits && holds_wanted(f, first, last)) &&
        !(seam_rules && (seam_rules & (rules_alone(f, first) | rules_alone(f, last)))))
        return 0;
    return !(held & not_yet && lost(f, first, last, not_yet));
}

static uint64_t rules_of_seams(const struct survey *s, struct mst_rule_set rules)
{
    uint64_t bits = 0;
    for (int32_t n = 0; n < s->r->site_count; n++)
        if (s->r->sites[n].when == MST_STOPPING || s->r->sites[n].when == MST_STARTING)
            bits |= UINT64_C(1) << s->r->sites[n].rule;
    return bits & rules.bits;
}

/* Where phrases of a verse may begin and end, found out once for the survey. */
static const uint8_t *cuts_of(const struct survey *s, int32_t verse)
{
    enum mst_cut cuts[LONGEST_VERSE + 1];
    int32_t first = s->first_word[verse], words = s->first_word[verse + 1] - first;
    uint8_t *kept = s->cuts + first + verse;
    if (words <= LONGEST_VERSE && kept[0] == 0) {
        mst_find_verse_cuts(s->r, first, words, cuts);
        for (int32_t n = 0; n <= words; n++)
            kept[n] = (uint8_t)cuts[n];
    }
    return kept;
}

/* All phrases of one verse. */
static enum mst_status search_verse(struct search *f, int32_t verse, struct word_stretch within,
                                    uint64_t seam_rules, struct mst_error *err)
{
    int32_t verse_first = f->s->first_word[verse],
            verse_words = f->s->first_word[verse + 1] - verse_first;
    if (verse_words > LONGEST_VERSE)
        return mst_fail(err, MST_INTERNAL, "a verse of %d words is longer than the search expects",
                        verse_words);
    const uint8_t *cuts = cuts_of(f->s, verse);
    enum mst_status status = MST_OK;
    for (int32_t a = 0; a < verse_words; a++) {
        if (cuts[a] > f->worst_cut || verse_first + a < within.first)
            continue;
        for (int32_t b = a + f->words_min - 1; b < a + f->words_max && b < verse_words; b++) {
            struct offer o = {.first_word = verse_first + a,
                              .last_word = verse_first + b,
                              .begins = cuts[a],
                              .ends = cuts[b + 1]};
            if (o.last_word > within.last)
                break;
            if (cuts[b + 1] > f->worst_cut ||
                !worth_reading(f, o.first_word, o.last_word, seam_rules))
                continue;
            status = try_phrase(f, &o, err);
            if (status != MST_OK)
                return status;
        }
    }
    return status;
}

/* --- choosing -------------------------------------------------------------------- */

static int by_member_and_clarity(const void *a, const void *b)
{
    const struct offer *x = a, *y = b;
    if (x->member != y->member)
        return x->member < y->member ? -1 : 1;
    if (x->penalty != y->penalty)
        return x->penalty < y->penalty ? -1 : 1;
    if (x->first_word != y->first_word)
        return x->first_word < y->first_word ? -1 : 1;
    return (x->last_word > y->last_word) - (x->last_word < y->last_word);
}

/* The same words again, or the same place with more around it, teach nothing new. */
static int like_a_chosen_one(const struct offer *chosen, int count, const struct offer *o)
{
    for (int n = 0; n < count; n++)
        if (chosen[n].words == o->words ||
            (chosen[n].first_word <= o->last_word && o->first_word <= chosen[n].last_word))
            return 1;
    return 0;
}

static enum mst_status example_make(const struct search *f, const struct offer *o,
                                    struct mst_arena *arena, struct mst_example *out,
                                    struct mst_error *err)
{
    struct mst_reading *r;
    enum mst_status status = mst_reading_new(
        f->s->text, words_range(f->s, o->first_word, o->last_word), &f->options, arena, &r, err);
    if (status != MST_OK)
        return status;
    float clarity = 100 - 10 * o->penalty;
    *out = (struct mst_example){.range = r->range,
                                .reading = r,
                                .site = o->site,
                                .same = o->same,
                                .others = o->others,
                                .begins = o->begins,
                                .ends = o->ends,
                                .clarity = clarity < 0 ? 0 : (int)lroundf(clarity)};
    return MST_OK;
}

static enum mst_status group_fill(const struct search *f, const struct offer *offers, size_t count,
                                  int per_member, struct mst_arena *arena,
                                  struct mst_example_group *group, struct mst_error *err)
{
    struct offer *chosen = mst_arena_alloc(f->arena, (size_t)per_member, sizeof *chosen);
    group->examples = mst_arena_alloc(arena, (size_t)per_member, sizeof *group->examples);
    if (!chosen || !group->examples)
        return mst_find_no_memory(err);
    for (size_t n = 0; n < count && group->count < per_member; n++) {
        if (like_a_chosen_one(chosen, group->count, &offers[n]))
            continue;
        enum mst_status status =
            example_make(f, &offers[n], arena, &group->examples[group->count], err);
        if (status != MST_OK)
            return status;
        chosen[group->count++] = offers[n];
    }
    return MST_OK;
}

/* known[id]: the whole text holds it; in_range[id]: so often in the scope. */
static enum mst_status count_members(const struct search *f, const struct word_stretch *stretches,
                                     size_t stretch_count, uint8_t *known, int32_t *in_range)
{
    const struct mst_reading *r = f->s->r;
    size_t at = 0;
    for (int32_t n = 0; n < r->site_count; n++) {
        if (!wanted(f, r, &r->sites[n]))
            continue;
        int id = mst_find_member_id(mst_find_site_member(&f->s->letters, r, &r->sites[n],
                                                         f->s->site_phone[n], f->query->by));
        int32_t word = r->letters[r->sites[n].trigger].word_idx;
        known[id] = 1;
        while (at < stretch_count && stretches[at].last < word)
            at++;
        in_range[id] += at < stretch_count && stretches[at].first <= word;
    }
    return MST_OK;
}

static enum mst_status choose(struct search *f, const struct word_stretch *stretches,
                              size_t stretch_count, struct mst_arena *arena,
                              struct mst_examples *out, struct mst_error *err)
{
    uint8_t *known = mst_arena_alloc(f->arena, MEMBER_IDS, 1);
    int32_t *in_range = mst_arena_alloc(f->arena, MEMBER_IDS, sizeof *in_range);
    if (!known || !in_range)
        return mst_find_no_memory(err);
    enum mst_status status = count_members(f, stretches, stretch_count, known, in_range);
    if (f->offer_count)
        qsort(f->offers, f->offer_count, sizeof *f->offers, by_member_and_clarity);
    for (size_t n = 0; n < f->offer_count; n++)
        known[f->offers[n].member] = 1;
    int32_t groups = 0;
    for (int id = 0; id < MEMBER_IDS; id++)
        groups += known[id];
    out->groups = mst_arena_alloc(arena, (size_t)groups, sizeof *out->groups);
    if (!out->groups)
        return mst_find_no_memory(err);
    size_t from = 0;
    for (int id = 0; id < MEMBER_IDS && status == MST_OK; id++) {
        size_t end = from;
        while (end < f->offer_count && f->offers[end].member == id)
            end++;
        if (!known[id])
            continue;
        struct mst_example_group *group = &out->groups[out->group_count++];
        group->member = mst_find_member_of_id(id);
        group->in_range = in_range[id];
        status =
            group_fill(f, f->offers + from, end - from,
                       f->query->per_member ? f->query->per_member : PER_MEMBER, arena, group, err);
        from = end;
    }
    out->phrases_read = f->read;
    return status;
}

static enum mst_status query_check(const struct mst_example_query *q, struct search *f,
                                   struct mst_error *err)
{
    f->words_min = q->words_min ? q->words_min : WORDS_MIN;
    f->words_max = q->words_max ? q->words_max : WORDS_MAX;
    f->worst_cut = q->worst_cut ? q->worst_cut : MST_CUT_CLAUSE;
    if (!q->rules.bits)
        return mst_fail(err, MST_USAGE, "say which rule the examples are to show");
    if (f->words_min < 1 || f->words_max > WORDS_LIMIT || f->words_min > f->words_max)
        return mst_fail(err, MST_USAGE,
                        "an example has 1 to %d words, the smaller number first; not %d to %d",
                        WORDS_LIMIT, f->words_min, f->words_max);
    if (q->per_member < 0 || q->per_member > 1000)
        return mst_fail(err, MST_USAGE, "1 to 1000 examples of each can be shown, not %d",
                        q->per_member);
    return MST_OK;
}

static enum mst_status search_stretch(struct search *f, struct word_stretch stretch,
                                      uint64_t seam_rules, struct mst_error *err)
{
    int32_t last_verse = mst_find_verse_of_word(f->s, stretch.last);
    enum mst_status status = MST_OK;
    for (int32_t v = mst_find_verse_of_word(f->s, stretch.first);
         v <= last_verse && status == MST_OK; v++)
        status = search_verse(f, v, stretch, seam_rules, err);
    return status;
}

enum mst_status mst_find_examples_in(const struct survey *survey,
                                     const struct mst_example_query *query, struct mst_arena *arena,
                                     struct mst_examples *out, struct mst_error *err)
{
    struct search f = {.s = survey, .query = query};
    struct word_stretch *stretches;
    size_t stretch_count;
    *out = (struct mst_examples){0};
    enum mst_status status = query_check(query, &f, err);
    if (status != MST_OK)
        return status;
    f.scratch = mst_arena_new(SCRATCH_BYTES);
    f.arena = mst_arena_new(0);
    if (!f.scratch || !f.arena)
        status = mst_find_no_memory(err);
    if (status == MST_OK)
        status = mst_find_scope_stretches(survey, &query->scope, 0, f.arena, &stretches,
                                          &stretch_count, err);
    if (status == MST_OK) {
        f.options = survey->options;
        f.options.stops = MST_STOPS_NONE;
        uint64_t seam_rules = rules_of_seams(survey, query->rules);
        for (size_t n = 0; n < stretch_count && status == MST_OK; n++)
            status = search_stretch(&f, stretches[n], seam_rules, err);
    }
    if (status == MST_OK)
        status = choose(&f, stretches, stretch_count, arena, out, err);
    mst_arena_free(f.scratch);
    mst_arena_free(f.arena);
    return status;
}

enum mst_status mst_find_examples(const struct mst_text *text,
                                  const struct mst_example_query *query, struct mst_arena *arena,
                                  struct mst_examples *out, struct mst_error *err)
{
    struct survey s;
    struct search asked;
    *out = (struct mst_examples){0};
    enum mst_status status = query_check(query, &asked, err);
    if (status != MST_OK)
        return status;
    struct mst_arena *own = mst_arena_new(0);
    status =
        own ? mst_find_survey_make(text, &query->scope, own, &s, err) : mst_find_no_memory(err);
    if (status == MST_OK)
        status = mst_find_examples_in(&s, query, arena, out, err);
    mst_arena_free(own);
    return status;
}
