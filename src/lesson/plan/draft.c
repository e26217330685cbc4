/*
 * draft.c – a lesson written by the program, for the teacher to edit: what the
 * engine says of the rule, what the searches find, one question of each kind.
 */
#include "parts.h"

#include <string.h>

enum { EXAMPLES_PER_MEMBER = 2, EXAMPLES_MOST = 60 };

struct draft {
    struct plan_source s; /* for its lists and copies */
    const struct mst_lesson_draft *wanted;
    struct mst_lesson *l;
};

static struct mst_rule_set untaught(const struct mst_lesson_draft *w)
{
    uint64_t all = (UINT64_C(1) << MST_RULE_COUNT) - 1;
    return (struct mst_rule_set){w->known_given ? all & ~w->known.bits & ~w->rules.bits : 0};
}

static const char *kept(struct draft *d, struct mst_string *s)
{
    const char *copy = mst_plan_copy(&d->s, (struct mst_span){s->ptr, s->len});
    d->s.failed |= s->failed;
    mst_string_free(s);
    return copy;
}

/* --- words ------------------------------------------------------------------- */

static void capital(struct mst_string *s, size_t at)
{
    if (at < s->len && s->ptr[at] >= 'a' && s->ptr[at] <= 'z')
        s->ptr[at] = (char)(s->ptr[at] - 'a' + 'A');
}

static const char *title(struct draft *d, enum mst_lang lang)
{
    struct mst_string s = {0};
    for (int rule = 0; rule < MST_RULE_COUNT; rule++)
        if (mst_rule_set_has(d->wanted->rules, (enum mst_rule)rule))
            mst_string_addf(&s, "%s%s", s.len ? (lang == MST_LANG_AR ? "، " : ", ") : "",
                            mst_rule_name((enum mst_rule)rule, lang));
    capital(&s, 0);
    return kept(d, &s);
}

/* The letters or sounds by which the members of a rule are told apart: "tāʾ, thāʾ, jīm". */
static void members_add(const struct mst_examples *found, int rule, enum mst_lang lang,
                        struct mst_string *s)
{
    const char *comma = lang == MST_LANG_AR ? "، " : ", ";
    int any = 0;
    for (int32_t n = 0; n < found->group_count; n++) {
        struct mst_member m = found->groups[n].member;
        if (m.rule != rule || m.kind == MST_MEMBER_RULE)
            continue;
        const struct mst_articulation *letter = mst_articulation_at(m.letter);
        if (m.kind != MST_MEMBER_SOUND && !letter)
            continue;
        if (!any++)
            mst_string_adds(s, m.kind == MST_MEMBER_SOUND
                                   ? (lang == MST_LANG_AR ? " الأصوات: " : " Sounds: ")
                                   : (lang == MST_LANG_AR ? " الحروف: " : " Letters: "));
        else
            mst_string_adds(s, comma);
        mst_string_adds(s, m.kind == MST_MEMBER_SOUND ? mst_member_sound(m, lang)
                           : lang == MST_LANG_AR      ? letter->name_ar
                                                      : letter->name_en);
    }
    if (any)
        mst_string_adds(s, ".");
}

static const char *explanation(struct draft *d, const struct mst_examples *found,
                               enum mst_lang lang)
{
    struct mst_string s = {0};
    for (int rule = 0; rule < MST_RULE_COUNT; rule++) {
        if (!mst_rule_set_has(d->wanted->rules, (enum mst_rule)rule))
            continue;
        mst_string_adds(&s, s.len ? "\n\n" : "");
        size_t head = s.len;
        mst_string_addf(&s, "%s: %s", mst_rule_name((enum mst_rule)rule, lang),
                        mst_rule_mouth((enum mst_rule)rule, lang));
        capital(&s, head);
        members_add(found, rule, lang, &s);
        if (lang == MST_LANG_EN) /* the sources are named in English alone */
            mst_string_addf(&s, " (Source: %s)", mst_rule_source((enum mst_rule)rule));
    }
    return kept(d, &s);
}

/* --- examples ------------------------------------------------------------------ */

static const char *note_of(struct draft *d, struct mst_member member)
{
    struct mst_string s = {0};
    enum mst_lesson_language language = d->wanted->language;
    if (language != MST_LESSON_AR)
        mst_member_name(member, MST_LANG_EN, &s);
    if (language == MST_LESSON_BOTH)
        mst_string_adds(&s, " · ");
    if (language != MST_LESSON_EN)
        mst_member_name(member, MST_LANG_AR, &s);
    return kept(d, &s);
}

/* A phrase may show two members: one line then, with both notes. */
static int noted_before(struct draft *d, struct mst_range range, const char *note)
{
    for (int32_t n = 0; n < d->l->example_count; n++) {
        struct mst_lesson_example *e = &d->l->examples[n];
        if (mst_addr_compare(e->range.first, range.first) != 0 ||
            mst_addr_compare(e->range.last, range.last) != 0)
            continue;
        const char *both = mst_arena_printf(d->s.arena, "%s; %s", e->note, note);
        d->s.failed |= !both;
        if (both)
            e->note = both;
        return 1;
    }
    return 0;
}

static void examples_add(struct draft *d, const struct mst_example_group *group)
{
    struct mst_lesson *l = d->l;
    for (int32_t n = 0; n < group->count && l->example_count < EXAMPLES_MOST; n++) {
        const char *note = note_of(d, group->member);
        if (noted_before(d, group->examples[n].range, note))
            continue;
        struct mst_lesson_example *list =
            mst_plan_grow(&d->s, l->examples, l->example_count, sizeof *list);
        if (!list)
            return;
        l->examples = list;
        list[l->example_count++] =
            (struct mst_lesson_example){.range = group->examples[n].range, .note = note};
    }
}

/* Short phrases first; for members that no short clean phrase shows, longer ones, single words and
 * looser cuts. */
static enum mst_status examples_find(struct draft *d, struct mst_examples *found,
                                     struct mst_error *err)
{
    struct mst_example_query query = {.scope = d->wanted->scope,
                                      .rules = d->wanted->rules,
                                      .untaught = untaught(d->wanted),
                                      .per_member = d->wanted->per_member ? d->wanted->per_member
                                                                          : EXAMPLES_PER_MEMBER};
    struct mst_examples wider;
    int missing = 0;
    enum mst_status status = mst_find_examples(d->s.text, &query, d->s.arena, found, err);
    for (int32_t n = 0; status == MST_OK && n < found->group_count; n++)
        missing += found->groups[n].in_range > 0 && found->groups[n].count == 0;
    if (status != MST_OK || !missing)
        return status;
    query.words_min = 1;
    query.words_max = 12;
    query.worst_cut = MST_CUT_LOOSE;
    status = mst_find_examples(d->s.text, &query, d->s.arena, &wider, err);
    for (int32_t n = 0; status == MST_OK && n < found->group_count && n < wider.group_count; n++)
        if (found->groups[n].count == 0)
            found->groups[n] = wider.groups[n]; /* the same members in the same order */
    return status;
}

/* --- passage and questions --------------------------------------------------------- */

/* Of a lesson's size; where there is none, of any size. */
static enum mst_status passage_find(struct draft *d, struct mst_error *err)
{
    struct mst_passage_query query = {.scope = d->wanted->scope,
                                      .rules = d->wanted->rules,
                                      .untaught = untaught(d->wanted),
                                      .untaught_percent = -1,
                                      .limit = 1};
    struct mst_passage *found = NULL;
    size_t count = 0;
    enum mst_status status = mst_find_passages(d->s.text, &query, d->s.arena, &found, &count, err);
    if (status == MST_OK && count == 0) {
        query.words_min = 1;
        query.words_max = 150;
        status = mst_find_passages(d->s.text, &query, d->s.arena, &found, &count, err);
    }
    if (status != MST_OK || count == 0)
        return status;
    struct mst_lesson_passage *list = mst_plan_grow(&d->s, NULL, 0, sizeof *list);
    if (!list)
        return MST_OK;
    const struct mst_reading_options *o = d->wanted->scope.options;
    list[0] = (struct mst_lesson_passage){
        .range = found[0].range, .stops = o ? o->stops : MST_STOPS_VERSES, .fade_evenly = 1};
    d->l->passages = list;
    d->l->passage_count = 1;
    return MST_OK;
}

static void questions_add(struct draft *d)
{
    static const struct {
        uint8_t kind, count;
    } asked[] = {{MST_ASK_MARK, 1}, {MST_ASK_NAME, 3}, {MST_ASK_COUNT, 2}, {MST_ASK_WITHOUT, 2},
                 {MST_ASK_BOTH, 1}, {MST_ASK_FIND, 1}, {MST_ASK_ORDER, 1}};
    enum { ASKED = sizeof asked / sizeof asked[0] };
    struct mst_lesson_question *list = mst_arena_alloc(d->s.arena, ASKED, sizeof *list);
    if (!list || d->l->passage_count == 0) {
        d->s.failed |= !list;
        return;
    }
    for (int n = 0; n < ASKED; n++)
        list[n] = (struct mst_lesson_question){.kind = asked[n].kind,
                                               .range = d->l->passages[0].range,
                                               .count = asked[n].count,
                                               .seed = d->wanted->seed + (uint32_t)n + 1};
    d->l->questions = list;
    d->l->question_count = ASKED;
}

/* --- the whole ------------------------------------------------------------------------ */

static int32_t places(const struct mst_examples *found)
{
    int32_t sum = 0;
    for (int32_t n = 0; n < found->group_count; n++)
        sum += found->groups[n].in_range;
    return sum;
}

enum mst_status mst_lesson_draft(const struct mst_text *text, const struct mst_lesson_draft *wanted,
                                 struct mst_arena *arena, struct mst_lesson *out,
                                 struct mst_error *err)
{
    struct mst_lesson_problems none = {0};
    struct draft d = {
        .s = {.text = text, .arena = arena, .problems = &none}, .wanted = wanted, .l = out};
    struct mst_examples found;
    *out = (struct mst_lesson){.narration = "",
                               .voice = "",
                               .rules = wanted->rules,
                               .known = wanted->known,
                               .known_given = wanted->known_given,
                               .level = wanted->level,
                               .language = wanted->language};
    if (wanted->scope.options)
        out->reading = *wanted->scope.options;
    enum mst_status status = examples_find(&d, &found, err);
    if (status == MST_OK)
        status = passage_find(&d, err);
    if (status != MST_OK)
        return status;
    if (places(&found) == 0)
        return mst_fail(err, MST_NOT_FOUND,
                        "the rule has no place in this range; give a wider one, or none at all for "
                        "the whole text");
    for (int32_t n = 0; n < found.group_count; n++)
        examples_add(&d, &found.groups[n]);
    questions_add(&d);
    out->title = title(&d, MST_LANG_EN);
    out->title_ar = title(&d, MST_LANG_AR);
    out->explain_en = wanted->language == MST_LESSON_AR ? "" : explanation(&d, &found, MST_LANG_EN);
    out->explain_ar = wanted->language == MST_LESSON_EN ? "" : explanation(&d, &found, MST_LANG_AR);
    return d.s.failed ? mst_fail(err, MST_NO_MEMORY, "memory ran out while the lesson was drafted")
                      : MST_OK;
}
