/*
 * api_progress.c – what each learner knows and what to teach next, from all
 * that was heard of them: the pages' rows, the printed page, the table, the
 * next drill.
 */
#include "desk.h"

#include <mistara/classbook.h>
#include <mistara/know.h>
#include <mistara/round.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WEEKS = 12, WEAK_MOST = 8, NODES_MOST = 6000 };
static const int64_t week_ms = 7 * 24 * 3600 * INT64_C(1000);

/* The class, or one learner of it, as know.h wants it. */
struct known {
    struct mst_class class;
    struct mst_person *people; /* learners, those who left too */
    size_t people_count;
    struct mst_class_evidence evidence;
    struct mst_know_model *model;
    struct mst_spacing *spacing;
    struct mst_knowledge *knowledge;
    int64_t now_ms;
};

/* --- evidence ------------------------------------------------------------------------------ */

/* Skills of the places noted live: the site of that rule at that word. */
static int skill_noted(struct request *rq, const struct mst_heard_place *place)
{
    struct mst_range range = {{place->sura, place->verse, 0, 0}, {place->sura, place->verse, 0, 0}};
    struct mst_reading_options how = {0};
    struct mst_reading *r;
    struct mst_error none;
    if (!*place->rule ||
        mst_reading_new(rq->desk->text, range, &how, rq->arena, &r, &none) != MST_OK)
        return 0;
    struct mst_member *skills =
        mst_arena_alloc(rq->arena, (size_t)r->site_count + 1, sizeof *skills);
    if (!skills)
        return 0;
    mst_skills_of_reading(r, skills);
    for (int32_t n = 0; n < r->site_count; n++) {
        const struct mst_word *word = &r->words[r->letters[r->sites[n].trigger].word_idx];
        if (word->verse == place->verse && word->word == place->word &&
            strcmp(mst_rule_id((enum mst_rule)r->sites[n].rule), place->rule) == 0)
            return mst_skill_number(skills[n]);
    }
    return 0;
}

/* What a place tells, as a weight of evidence; 0: nothing. */
static double weight_of(const struct mst_heard_place *place, enum mst_heard *heard)
{
    if (!place->submission) {
        *heard = MST_HEARD_LIVE;
        return mst_weight_of_live(strcmp(place->what, "well") == 0); /* all else was wrong */
    }
    int wrong = mst_round_ruled_wrong(place->told, place->ruling);
    *heard = wrong < 0 ? MST_HEARD_EAR : MST_HEARD_RULED;
    if (wrong >= 0)
        return mst_weight_of_ruling(!wrong);
    if (mst_told_called(place->told) == MST_TOLD_UNSURE)
        return 0;
    return mst_weight_of_sureness(1 - place->wrong,
                                  mst_round_usually_right(place->deviation, place->wrong));
}

static int32_t learner_of(const struct known *k, const char *person)
{
    for (size_t n = 0; n < k->people_count; n++)
        if (strcmp(k->people[n].id, person) == 0)
            return (int32_t)n;
    return -1;
}

/* What the teacher has sent back to a learner. */
static int is_sent(const struct mst_submission *own, size_t count, const char *submission)
{
    for (size_t n = 0; submission && n < count; n++)
        if (strcmp(own[n].id, submission) == 0)
            return own[n].sent_ms != 0;
    return 0;
}

/* Asked by a learner, of themself nothing counts that the teacher has not sent, no later ruling
 * either. */
static enum mst_status unsent_leave_out(struct request *rq, struct mst_heard_place *places,
                                        size_t *count, struct mst_error *err)
{
    struct mst_submission *own = NULL;
    size_t own_count = 0, kept = 0;
    if (!is_learner(rq))
        return MST_OK;
    struct mst_submission_filter filter = {.person = rq->person->id};
    enum mst_status status =
        mst_submission_list(rq->desk->store, &filter, rq->arena, &own, &own_count, err);
    for (size_t n = 0; status == MST_OK && n < *count; n++) {
        int of_self = strcmp(places[n].person, rq->person->id) == 0;
        if (of_self && !is_sent(own, own_count, places[n].submission))
            continue;
        places[kept] = places[n];
        if (of_self)
            places[kept].ruling = places[kept].sent_ruling;
        kept++;
    }
    *count = kept;
    return status;
}

static enum mst_status evidence_gather(struct request *rq, struct known *k, struct mst_error *err)
{
    struct mst_heard_place *places = NULL;
    size_t count = 0;
    enum mst_status status =
        mst_evidence_list(rq->desk->store, k->class.id, NULL, rq->arena, &places, &count, err);
    if (status == MST_OK)
        status = unsent_leave_out(rq, places, &count, err);
    if (status != MST_OK)
        return status;
    struct mst_evidence *items = mst_arena_alloc(rq->arena, count + 1, sizeof *items);
    struct mst_member *skills = mst_arena_alloc(rq->arena, count + 1, sizeof *skills);
    int *numbers = mst_arena_alloc(rq->arena, count + 1, sizeof *numbers);
    if (!items || !skills || !numbers)
        return no_memory(err);
    int32_t skill_count = 0;
    for (size_t n = 0; n < count; n++) {
        enum mst_heard heard;
        int32_t learner = learner_of(k, places[n].person), skill = 0;
        double weight = weight_of(&places[n], &heard);
        int number = places[n].skill           ? places[n].skill
                     : heard == MST_HEARD_LIVE ? skill_noted(rq, &places[n])
                                               : 0;
        struct mst_member member;
        if (learner < 0 || weight == 0 || !number || !mst_skill_of_number(number, &member))
            continue;
        while (skill < skill_count && numbers[skill] != number)
            skill++;
        if (skill == skill_count) {
            numbers[skill_count] = number;
            skills[skill_count++] = member;
        }
        items[k->evidence.count++] = (struct mst_evidence){learner, skill, places[n].heard_ms,
                                                           (float)weight, (uint8_t)heard};
    }
    k->evidence.skills = skills;
    k->evidence.skill_count = skill_count;
    k->evidence.learner_count = (int32_t)k->people_count;
    k->evidence.items = items;
    return MST_OK;
}

static enum mst_status known_make(struct request *rq, const char *class_id, struct known *k,
                                  struct mst_error *err)
{
    struct mst_person *people = NULL;
    size_t count = 0;
    *k = (struct known){.now_ms = mst_store_now_ms()};
    enum mst_status status = mst_class_get(rq->desk->store, class_id, rq->arena, &k->class, err);
    if (status == MST_OK)
        status = mst_person_list(rq->desk->store, class_id, rq->arena, &people, &count, err);
    k->people = people;
    for (size_t n = 0; n < count && status == MST_OK; n++)
        if (strcmp(people[n].role, "learner") == 0)
            people[k->people_count++] = people[n];
    if (status == MST_OK)
        status = evidence_gather(rq, k, err);
    if (status == MST_OK)
        status = mst_know_fit(&k->evidence, NULL, rq->arena, &k->model, err);
    if (status == MST_OK)
        status = mst_spacing_fit(&k->evidence, rq->arena, &k->spacing, err);
    if (status == MST_OK)
        status = mst_know_now(k->model, &k->evidence, k->spacing, k->now_ms, rq->arena,
                              &k->knowledge, err);
    return status;
}

/* Of the class of this person; *learner is their index. */
static enum mst_status known_with(struct request *rq, const struct mst_person *person,
                                  struct known *k, int32_t *learner, struct mst_error *err)
{
    enum mst_status status = known_make(rq, person->class_id, k, err);
    *learner = status == MST_OK ? learner_of(k, person->id) : -1;
    if (status == MST_OK && *learner < 0)
        status = mst_fail(err, MST_NOT_FOUND, "this person is no learner");
    return status;
}

static enum mst_status known_of_person(struct request *rq, struct known *k, int32_t *learner,
                                       struct mst_error *err)
{
    struct mst_person person;
    enum mst_status status = mst_person_get(rq->desk->store, rq->args[0], rq->arena, &person, err);
    return status == MST_OK ? known_with(rq, &person, k, learner, err) : status;
}

/* --- as JSON --------------------------------------------------------------------------------- */

static void member_text(struct mst_string *s, const char *key, struct mst_member member,
                        enum mst_lang lang)
{
    struct mst_string name = {0};
    mst_member_name(member, lang, &name);
    js_take(s, key, &name);
}

static void rule_members(struct mst_string *s, enum mst_rule rule)
{
    js_text(s, "rule", mst_rule_id(rule));
    js_text(s, "name", mst_rule_name(rule, MST_LANG_EN));
    js_text(s, "name_ar", mst_rule_name(rule, MST_LANG_AR));
    js_text(s, "family", family_ids[mst_rule_family(rule)]);
}

static void skill_members(struct mst_string *s, struct mst_member skill)
{
    js_text(s, "rule", mst_rule_id((enum mst_rule)skill.rule));
    member_text(s, "name", skill, MST_LANG_EN);
    member_text(s, "name_ar", skill, MST_LANG_AR);
}

static void known_members(struct mst_string *s, const struct mst_known *row)
{
    js_integer(s, "heard", row->heard);
    js_real(s, "right", row->right, 1);
    js_real(s, "known", row->known, 3);
    js_real(s, "low", row->known_low, 3);
    js_real(s, "high", row->known_high, 3);
    js_integer(s, "last_ms", row->last_ms);
    js_integer(s, "due_ms", row->due_ms);
}

/* A rule with all its letters; the object stays open. */
static void rule_open(struct mst_string *s, const struct mst_known_rule *row)
{
    js_open(s, NULL, '{');
    rule_members(s, row->rule);
    js_integer(s, "heard", row->heard);
    js_real(s, "right", row->right, 1);
    js_real(s, "known", row->known, 3);
    js_real(s, "low", row->low, 3);
    js_real(s, "high", row->high, 3);
    js_integer(s, "last_ms", row->last_ms);
    js_integer(s, "due_ms", row->due_ms);
}

static void letters_json(struct mst_string *s, const struct known *k, int32_t learner,
                         enum mst_rule rule)
{
    js_open(s, "letters", '[');
    for (size_t n = k->knowledge->first[learner]; n < k->knowledge->first[learner + 1]; n++) {
        const struct mst_known *row = &k->knowledge->rows[n];
        struct mst_member skill = k->evidence.skills[row->skill];
        if (skill.rule != rule)
            continue;
        js_open(s, NULL, '{');
        member_text(s, "letter", skill, MST_LANG_EN);
        member_text(s, "letter_ar", skill, MST_LANG_AR);
        known_members(s, row);
        js_close(s, '}');
    }
    js_close(s, ']');
}

/* Week by week, by what had been heard until then. */
static void course_json(struct mst_string *s, const struct mst_rule_course *courses, int32_t count,
                        enum mst_rule rule, const int64_t *times)
{
    js_open(s, "course", '[');
    for (int32_t n = 0; n < count; n++) {
        for (int t = 0; courses[n].rule == rule && t < WEEKS; t++) {
            const struct mst_known_rule *at = &courses[n].at[t];
            if (at->heard == 0)
                continue;
            js_open(s, NULL, '{');
            js_integer(s, "made_ms", times[t]);
            js_real(s, "known", at->known, 3);
            js_real(s, "low", at->low, 3);
            js_real(s, "high", at->high, 3);
            js_close(s, '}');
        }
    }
    js_close(s, ']');
}

static void person_json(struct mst_string *s, const struct mst_person *person)
{
    js_open(s, "person", '{');
    js_text(s, "id", person->id);
    js_text(s, "label", person->label);
    js_close(s, '}');
}

static enum mst_status progress_json(struct request *rq, const struct known *k, int32_t learner,
                                     struct mst_error *err)
{
    struct mst_rule_course *courses = NULL;
    struct mst_known_rule *rules = NULL;
    struct mst_weak *weak = NULL;
    int32_t course_count = 0, rule_count = 0;
    size_t weak_count = 0;
    int64_t times[WEEKS];
    for (int t = 0; t < WEEKS; t++)
        times[t] = k->now_ms - (WEEKS - 1 - t) * week_ms;
    enum mst_status status = mst_know_courses(k->model, &k->evidence, learner, times, WEEKS,
                                              rq->arena, &courses, &course_count, err);
    if (status == MST_OK)
        status = mst_know_rules(k->knowledge, learner, rq->arena, &rules, &rule_count, err);
    if (status == MST_OK)
        status =
            mst_know_weak(k->knowledge, learner, WEAK_MOST, rq->arena, &weak, &weak_count, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    person_json(s, &k->people[learner]);
    js_open(s, "rules", '[');
    for (int32_t n = 0; n < rule_count; n++) {
        rule_open(s, &rules[n]);
        letters_json(s, k, learner, rules[n].rule);
        course_json(s, courses, course_count, rules[n].rule, times);
        js_close(s, '}');
    }
    js_close(s, ']');
    js_open(s, "weak", '[');
    for (size_t n = 0; n < weak_count; n++) {
        js_open(s, NULL, '{');
        skill_members(s, weak[n].skill);
        js_bool(s, "due", weak[n].due);
        known_members(s, weak[n].row);
        js_close(s, '}');
    }
    js_close(s, ']');
    js_open(s, "due", '[');
    for (size_t n = k->knowledge->first[learner]; n < k->knowledge->first[learner + 1]; n++) {
        const struct mst_known *row = &k->knowledge->rows[n];
        if (!mst_is_due(row->due_ms, k->now_ms))
            continue;
        js_open(s, NULL, '{');
        skill_members(s, k->evidence.skills[row->skill]);
        js_integer(s, "due_ms", row->due_ms);
        js_close(s, '}');
    }
    js_close(s, ']');
    js_close(s, '}');
    return MST_OK;
}

enum mst_status get_person_progress(struct request *rq, struct mst_error *err)
{
    struct known k;
    int32_t learner;
    enum mst_status status = known_of_person(rq, &k, &learner, err);
    return status == MST_OK ? progress_json(rq, &k, learner, err) : status;
}

enum mst_status get_mine_progress(struct request *rq, struct mst_error *err)
{
    struct known k;
    int32_t learner;
    enum mst_status status = known_with(rq, rq->person, &k, &learner, err);
    return status == MST_OK ? progress_json(rq, &k, learner, err) : status;
}

enum mst_status get_class_progress(struct request *rq, struct mst_error *err)
{
    struct known k;
    struct mst_class_miss *misses = NULL;
    size_t miss_count = 0;
    uint8_t heard[MST_RULE_COUNT] = {0};
    enum mst_status status = known_make(rq, rq->args[0], &k, err);
    if (status == MST_OK)
        status = mst_know_class(k.knowledge, rq->arena, &misses, &miss_count, err);
    if (status != MST_OK)
        return status;
    for (int32_t n = 0; n < k.evidence.skill_count; n++)
        heard[k.evidence.skills[n].rule] = 1;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "rules", '[');
    for (int rule = 0; rule < MST_RULE_COUNT; rule++) {
        if (!heard[rule])
            continue;
        js_open(s, NULL, '{');
        rule_members(s, (enum mst_rule)rule);
        js_close(s, '}');
    }
    js_close(s, ']');
    js_open(s, "people", '[');
    for (size_t n = 0; n < k.people_count && status == MST_OK; n++) {
        struct mst_known_rule *known = NULL;
        int32_t known_count = 0;
        if (k.people[n].left_ms)
            continue;
        status = mst_know_rules(k.knowledge, (int32_t)n, rq->arena, &known, &known_count, err);
        js_open(s, NULL, '{');
        js_text(s, "id", k.people[n].id);
        js_text(s, "label", k.people[n].label);
        js_open(s, "rules", '[');
        for (int32_t r = 0; r < known_count; r++) {
            rule_open(s, &known[r]);
            js_close(s, '}');
        }
        mst_string_adds(s, "]}");
    }
    js_close(s, ']');
    js_open(s, "missed", '[');
    for (size_t n = 0; n < miss_count && misses[n].half >= 0.5; n++) {
        const struct mst_class_miss *m = &misses[n];
        js_open(s, NULL, '{');
        skill_members(s, k.evidence.skills[m->skill]);
        js_real(s, "share", m->learners ? m->missing / m->learners : 0, 3);
        js_integer(s, "learners", m->median);
        js_integer(s, "low", m->low);
        js_integer(s, "high", m->high);
        js_integer(s, "of", m->learners);
        js_real(s, "half", m->half, 3);
        js_close(s, '}');
    }
    js_close(s, ']');
    js_close(s, '}');
    return status;
}

/* --- the table, the page -------------------------------------------------------------------------
 */

static enum mst_status table_reply(struct request *rq, const struct known *k, int32_t learner,
                                   struct mst_error *err)
{
    enum mst_lang lang;
    struct mst_span *labels = mst_arena_alloc(rq->arena, k->people_count + 1, sizeof *labels);
    enum mst_status status = param_lang(rq, &lang, err);
    if (status == MST_OK && !labels)
        status = no_memory(err);
    if (status != MST_OK)
        return status;
    for (size_t n = 0; n < k->people_count; n++)
        labels[n] = mst_span_of(k->people[n].label);
    mst_know_csv(k->knowledge, learner, labels, lang, &rq->reply.body);
    rq->reply.type = "text/csv; charset=utf-8";
    reply_header(rq, "Content-Disposition", "attachment; filename=\"progress.csv\"");
    return MST_OK;
}

static enum mst_status page_of(struct request *rq, const struct known *k,
                               enum mst_progress_reader reader, int32_t learner,
                               struct mst_error *err)
{
    static const char *const languages[] = {"both", "en", "ar", NULL};
    struct mst_typeset *ts = NULL;
    struct mst_sheet *sheet = NULL;
    int labels = 0, offset = 0;
    enum mst_status status = param_choice(rq, "labels", languages, &labels, err);
    if (status == MST_OK)
        status = param_int(rq, "utc_minutes", -14 * 60, 14 * 60, &offset, err);
    struct mst_progress progress = {
        .reader = reader,
        .learner = learner,
        .label_en = mst_span_of(learner < 0 ? k->class.name : k->people[learner].label),
        .class_line = mst_span_of(learner < 0 ? "" : k->class.name),
        .until_ms = k->now_ms,
        .utc_offset_minutes = offset,
        .labels = (enum mst_sheet_labels)labels};
    if (status == MST_OK)
        status = typeset_borrow(rq->desk, &ts, err);
    if (status == MST_OK)
        status = mst_progress_new(ts, k->model, &k->evidence, k->spacing, &progress, rq->arena,
                                  &sheet, err);
    if (status == MST_OK)
        status = mst_sheet_pdf(sheet, &rq->reply.body, err);
    typeset_give_back(rq->desk, ts);
    if (status == MST_OK)
        rq->reply.type = "application/pdf";
    return status;
}

enum mst_status get_person_progress_csv(struct request *rq, struct mst_error *err)
{
    struct known k;
    int32_t learner;
    enum mst_status status = known_of_person(rq, &k, &learner, err);
    return status == MST_OK ? table_reply(rq, &k, learner, err) : status;
}

enum mst_status get_class_progress_csv(struct request *rq, struct mst_error *err)
{
    struct known k;
    enum mst_status status = known_make(rq, rq->args[0], &k, err);
    return status == MST_OK ? table_reply(rq, &k, -1, err) : status;
}

enum mst_status get_person_progress_pdf(struct request *rq, struct mst_error *err)
{
    static const char *const readers[] = {"learner", "parent", NULL};
    struct known k;
    int32_t learner;
    int reader = 0;
    enum mst_status status = param_choice(rq, "for", readers, &reader, err);
    if (status == MST_OK)
        status = known_of_person(rq, &k, &learner, err);
    return status == MST_OK
               ? page_of(rq, &k, reader ? MST_PROGRESS_PARENT : MST_PROGRESS_LEARNER, learner, err)
               : status;
}

enum mst_status get_class_progress_pdf(struct request *rq, struct mst_error *err)
{
    struct known k;
    enum mst_status status = known_make(rq, rq->args[0], &k, err);
    return status == MST_OK ? page_of(rq, &k, MST_PROGRESS_CLASS, -1, err) : status;
}

/* --- the next drill
 * ---------------------------------------------------------------------------------- */

enum mst_status get_person_drill(struct request *rq, struct mst_error *err)
{
    struct known k;
    struct mst_find_scope scope = {0};
    struct mst_range *ranges = NULL;
    struct mst_weak *weak = NULL;
    struct mst_cover cover = {0};
    struct mst_member skills[WEAK_MOST];
    const char *in = param(rq, "in");
    size_t count = 0;
    int32_t learner;
    enum mst_status status =
        mst_ranges_parse(rq->desk->text, mst_span_of(in && *in ? in : "juz 29, juz 30"), rq->arena,
                         &ranges, &scope.range_count, err);
    scope.ranges = ranges;
    if (status == MST_OK)
        status = known_of_person(rq, &k, &learner, err);
    if (status == MST_OK)
        status = mst_know_weak(k.knowledge, learner, WEAK_MOST, rq->arena, &weak, &count, err);
    for (size_t n = 0; n < count && status == MST_OK; n++)
        skills[n] = weak[n].skill;
    if (status == MST_OK && count > 0)
        status = mst_know_drill(rq->desk->text, &scope, skills, count, 0, NODES_MOST, rq->arena,
                                &cover, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "skills", '[');
    for (size_t n = 0; n < count; n++) {
        js_open(s, NULL, '{');
        skill_members(s, skills[n]);
        js_bool(s, "due", weak[n].due);
        js_close(s, '}');
    }
    js_close(s, ']');
    js_open(s, "passages", '[');
    for (int32_t n = 0; n < cover.verse_count; n++) {
        struct mst_addr verse = mst_text_verse_addr(rq->desk->text, cover.verses[n]);
        js_open(s, NULL, '{');
        js_range(s, (struct mst_range){verse, verse});
        js_close(s, '}');
    }
    js_close(s, ']');
    js_integer(s, "words", cover.word_count);
    js_bool(s, "proved", count > 0 && cover.cost == cover.bound);
    js_close(s, '}');
    return MST_OK;
}
