/* api_class.c – classes, and what is given out to them. */
#include "desk.h"

#include <stdlib.h>
#include <string.h>

enum {
    NAME_MOST = 200,
    CONSENT_MOST = 8000,
    ATTEND_MOST = 2000,
    RULES_MOST = 2000,
    RETENTION_DAYS = 90,
    RETENTION_DAYS_MOST = 3650,
    STAGE_MOST = 3
};

static enum mst_status conflict(struct request *rq, const struct mst_error *err)
{
    return reply_error(rq, 409, "conflict", "%s", err->message);
}

/* --- a class as JSON ---------------------------------------------------------- */

static void class_json(struct mst_string *s, const char *key, const struct mst_class *c)
{
    js_open(s, key, '{');
    js_text(s, "id", c->id);
    js_text(s, "name", c->name);
    js_text(s, "language", c->language);
    js_integer(s, "retention_days", c->retention_days);
    js_text(s, "consent", c->consent);
    js_raw(s, "limits", c->limits);
    js_integer(s, "made_ms", c->made_ms);
    js_integer(s, "closed_ms", c->closed_ms);
    js_integer(s, "revision", c->revision);
    js_integer(s, "learners", c->learners);
    js_integer(s, "unsent", c->unsent);
    js_close(s, '}');
}

static enum mst_status class_reply(struct request *rq, const char *id, unsigned wanted,
                                   struct mst_error *err)
{
    struct mst_class c;
    enum mst_status status = mst_class_get(rq->desk->store, id, rq->arena, &c, err);
    if (status == MST_OK)
        class_json(&rq->reply.body, NULL, &c);
    rq->reply.status = wanted;
    return status;
}

/* The pages that are open hear that there is something new to ask for. */
static void class_say(struct desk *desk, const char *event, const char *class_id, const char *id)
{
    struct mst_string s = {0};
    js_open(&s, NULL, '{');
    js_text(&s, "id", id);
    js_text(&s, "class", class_id);
    js_close(&s, '}');
    if (!s.failed)
        events_about(desk, class_id, NULL, event, id, s.ptr, s.len);
    mst_string_free(&s);
}

enum mst_status get_classes(struct request *rq, struct mst_error *err)
{
    struct mst_class *classes;
    size_t count;
    struct mst_string *s = &rq->reply.body;
    enum mst_status status = mst_class_list(rq->desk->store, rq->arena, &classes, &count, err);
    if (status != MST_OK)
        return status;
    js_open(s, NULL, '{');
    js_open(s, "classes", '[');
    for (size_t n = 0; n < count; n++)
        class_json(s, NULL, &classes[n]);
    mst_string_adds(s, "]}");
    return MST_OK;
}

enum mst_status get_class(struct request *rq, struct mst_error *err)
{
    return class_reply(rq, rq->args[0], 200, err);
}

/* --- made, changed, ended ------------------------------------------------------------- */

enum mst_status body_language(const struct request *rq, const char **io, struct mst_error *err)
{
    const char *language = *io;
    enum mst_status status = body_text(rq, "language", 10, &language, err);
    if (status == MST_OK && language && strcmp(language, "en") != 0 && strcmp(language, "ar") != 0)
        status = mst_fail(err, MST_USAGE, "language is en or ar; “%.10s” given", language);
    *io = language;
    return status;
}

/* What was sent over what there is. Words of consent that nobody wrote follow language and days. */
static enum mst_status class_members(struct request *rq, struct mst_class *c, struct mst_error *err)
{
    const char *usual = c->consent ? consent_words(c->language, c->retention_days, rq->arena) : "";
    if (!usual)
        return no_memory(err);
    int own_words = c->consent && strcmp(c->consent, usual) != 0;
    int64_t days = c->retention_days;
    const char *consent = NULL;
    enum mst_status status = body_text(rq, "name", NAME_MOST, &c->name, err);
    if (status == MST_OK)
        status = body_language(rq, &c->language, err);
    if (status == MST_OK)
        status = body_integer(rq, "retention_days", &days, err);
    if (status == MST_OK && (days < 0 || days > RETENTION_DAYS_MOST))
        status = mst_fail(err, MST_USAGE,
                          "retention_days is a number of days to %d; 0 keeps recordings until they "
                          "are deleted",
                          RETENTION_DAYS_MOST);
    if (status == MST_OK)
        status = body_text(rq, "consent", CONSENT_MOST, &consent, err);
    if (status == MST_OK && (!c->name || !c->name[strspn(c->name, " \t\r\n")]))
        status = mst_fail(err, MST_USAGE, "the member name is missing");
    if (status != MST_OK)
        return status;
    c->retention_days = (int)days;
    if (consent && *consent)
        c->consent = consent;
    else if (!own_words || consent)
        c->consent = consent_words(c->language, days, rq->arena);
    return c->consent ? MST_OK : no_memory(err);
}

enum mst_status post_classes(struct request *rq, struct mst_error *err)
{
    struct mst_class c = {.language = "en", .retention_days = RETENTION_DAYS, .limits = "{}"};
    char id[MST_ID_SIZE];
    enum mst_status status = body_only(rq, "name language retention_days consent", err);
    if (status == MST_OK)
        status = class_members(rq, &c, err);
    if (status == MST_OK)
        status = mst_class_add(rq->desk->store, &c, id, err);
    if (status != MST_OK)
        return status;
    class_say(rq->desk, "class", id, id);
    return class_reply(rq, id, 201, err);
}

enum mst_status patch_class(struct request *rq, struct mst_error *err)
{
    struct mst_class c;
    int closed;
    enum mst_status status =
        body_only(rq, "name language retention_days consent closed revision", err);
    if (status == MST_OK)
        status = mst_class_get(rq->desk->store, rq->args[0], rq->arena, &c, err);
    closed = status == MST_OK && c.closed_ms != 0;
    if (status == MST_OK)
        status = class_members(rq, &c, err);
    if (status == MST_OK)
        status = body_flag(rq, "closed", &closed, err);
    if (status == MST_OK)
        status = body_integer(rq, "revision", &c.revision, err);
    if (status != MST_OK)
        return status;
    c.closed_ms = !closed ? 0 : c.closed_ms ? c.closed_ms : mst_store_now_ms();
    status = mst_class_put(rq->desk->store, &c, err);
    if (status == MST_MISMATCH)
        return conflict(rq, err);
    if (status != MST_OK)
        return status;
    class_say(rq->desk, "class", c.id, c.id);
    return class_reply(rq, c.id, 200, err);
}

enum mst_status delete_class(struct request *rq, struct mst_error *err)
{
    struct mst_person *people;
    size_t count = 0;
    enum mst_status status =
        mst_person_list(rq->desk->store, rq->args[0], rq->arena, &people, &count, err);
    if (status == MST_OK)
        status = mst_class_delete(rq->desk->store, rq->args[0], err);
    if (status != MST_OK)
        return status;
    for (size_t n = 0; n < count; n++)
        person_part(rq->desk, people[n].id);
    sounds_forget_all(rq->desk);
    events_gone(rq->desk, "class", rq->args[0]);
    rq->reply.status = 204;
    return MST_OK;
}

/* --- assignments ----------------------------------------------------------------------------- */

void assignment_members_json(struct mst_string *s, const struct mst_assignment *a)
{
    js_text(s, "id", a->id);
    js_text(s, "title", a->title);
    js_text(s, "passage", a->passage);
    js_raw(s, "how", a->how);
    js_text(s, "rules", a->rules);
    js_text(s, "attend", a->attend);
    js_integer(s, "stage", a->stage);
    js_integer(s, "due_ms", a->due_ms);
    js_integer(s, "made_ms", a->made_ms);
}

static void assignment_json(struct mst_string *s, const char *key, const struct mst_assignment *a)
{
    js_open(s, key, '{');
    assignment_members_json(s, a);
    js_text(s, "class", a->class_id);
    js_text(s, "lesson", a->lesson);
    js_text(s, "take", a->take);
    js_integer(s, "withdrawn_ms", a->withdrawn_ms);
    js_integer(s, "revision", a->revision);
    js_integer(s, "handed_in", a->handed_in);
    js_close(s, '}');
}

static enum mst_status assignment_reply(struct request *rq, const char *id, unsigned wanted,
                                        struct mst_error *err)
{
    struct mst_assignment a;
    enum mst_status status = mst_assignment_get(rq->desk->store, id, rq->arena, &a, err);
    if (status == MST_OK)
        assignment_json(&rq->reply.body, NULL, &a);
    rq->reply.status = wanted;
    return status;
}

enum mst_status get_assignments(struct request *rq, struct mst_error *err)
{
    struct mst_class c;
    struct mst_assignment *rows;
    size_t count = 0;
    struct mst_string *s = &rq->reply.body;
    enum mst_status status = mst_class_get(rq->desk->store, rq->args[0], rq->arena, &c, err);
    if (status == MST_OK)
        status = mst_assignment_list(rq->desk->store, c.id, rq->arena, &rows, &count, err);
    if (status != MST_OK)
        return status;
    js_open(s, NULL, '{');
    js_open(s, "assignments", '[');
    for (size_t n = 0; n < count; n++)
        assignment_json(s, NULL, &rows[n]);
    mst_string_adds(s, "]}");
    return MST_OK;
}

enum mst_status get_assignment(struct request *rq, struct mst_error *err)
{
    return assignment_reply(rq, rq->args[0], 200, err);
}

/* The passage as an id and how it is read, both as they are kept. */
static enum mst_status assignment_reading(struct request *rq, struct mst_assignment *a,
                                          struct mst_error *err)
{
    struct mst_range range;
    struct mst_reading_options how;
    char id[96];
    json_t *options = json_object_get(rq->json, "how");
    enum mst_status status = body_text(rq, "passage", 200, &a->passage, err);
    if (status == MST_OK && (!a->passage || !*a->passage))
        status = mst_fail(err, MST_USAGE, "the member passage is missing, for example 78:31-40");
    if (status == MST_OK)
        status = mst_range_parse(rq->desk->text, mst_span_of(a->passage), &range, err);
    if (status == MST_OK)
        status = passage_not_too_long(rq->desk->text, range, err);
    if (status == MST_OK) {
        passage_id(range, id);
        a->passage = mst_arena_strndup(rq->arena, id, strlen(id));
    }
    if (status == MST_OK && options) {
        status = how_of_json(rq->desk->text, options, rq->arena, &how, err);
        char *text = status == MST_OK ? json_dumps(options, JSON_COMPACT) : NULL;
        if (text)
            a->how = mst_arena_strndup(rq->arena, text, strlen(text));
        else if (status == MST_OK)
            status = no_memory(err);
        free(text);
    }
    return status == MST_OK && (!a->passage || !a->how) ? no_memory(err) : status;
}

/* Rules as ids with blanks between; commas are taken too. */
static enum mst_status assignment_rules(struct request *rq, struct mst_assignment *a,
                                        struct mst_error *err)
{
    struct mst_rule_set set;
    const char *typed = NULL;
    enum mst_status status = body_text(rq, "rules", RULES_MOST, &typed, err);
    if (status != MST_OK || !typed)
        return status;
    char *list = mst_arena_strndup(rq->arena, typed, strlen(typed));
    char *rules = list ? mst_arena_alloc(rq->arena, strlen(typed) + 1, 1) : NULL;
    if (!rules)
        return no_memory(err);
    char *save = NULL;
    for (char *word = strtok_r(list, " ,", &save); word; word = strtok_r(NULL, " ,", &save)) {
        status = mst_rule_set_parse(mst_span_of(word), &set, err);
        if (status != MST_OK)
            return status;
        if (*rules)
            strcat(rules, " ");
        strcat(rules, word);
    }
    a->rules = rules;
    return MST_OK;
}

/* A recitation of other verses would teach them wrongly: its words light up, its lengths are
 * wanted. */
static enum mst_status take_fits(struct request *rq, const struct mst_kept_take *take,
                                 const char *passage, struct mst_error *err)
{
    struct mst_range of_take, wanted;
    if (!*take->passage)
        return MST_OK;
    enum mst_status status =
        mst_range_parse(rq->desk->text, mst_span_of(take->passage), &of_take, err);
    if (status == MST_OK)
        status = mst_range_parse(rq->desk->text, mst_span_of(passage), &wanted, err);
    return status == MST_OK && !passages_meet(rq->desk->text, of_take, wanted)
               ? mst_fail(err, MST_USAGE,
                          "your recitation is of %s and has no verse of %s; choose another one, or "
                          "none",
                          take->passage, passage)
               : status;
}

static enum mst_status assignment_members(struct request *rq, struct mst_assignment *a,
                                          struct mst_error *err)
{
    struct mst_kept_take take;
    struct mst_document lesson;
    int64_t stage = a->stage;
    enum mst_status status = body_text(rq, "title", NAME_MOST, &a->title, err);
    if (status == MST_OK)
        status = assignment_reading(rq, a, err);
    if (status == MST_OK)
        status = assignment_rules(rq, a, err);
    if (status == MST_OK)
        status = body_text(rq, "attend", ATTEND_MOST, &a->attend, err);
    if (status == MST_OK)
        status = body_integer(rq, "stage", &stage, err);
    if (status == MST_OK && (stage < 0 || stage > STAGE_MOST))
        status = mst_fail(err, MST_USAGE, "stage is a number from 0 to %d", STAGE_MOST);
    a->stage = (int)stage;
    if (status == MST_OK)
        status = body_text_or_null(rq, "take", 40, &a->take, err);
    int looked =
        a->take && (json_object_get(rq->json, "take") || json_object_get(rq->json, "passage"));
    if (status == MST_OK && looked)
        status = mst_store_take_get(rq->desk->store, a->take, rq->arena, &take, err);
    if (status == MST_OK && looked && take.person)
        status = mst_fail(err, MST_USAGE, "that is a learner's recording; choose one of your own");
    if (status == MST_OK && looked)
        status = take_fits(rq, &take, a->passage, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "lesson", 40, &a->lesson, err);
    if (status == MST_OK && a->lesson && json_object_get(rq->json, "lesson"))
        status =
            mst_store_document_get(rq->desk->store, "lesson", a->lesson, rq->arena, &lesson, err);
    if (status == MST_OK && !json_is_null(json_object_get(rq->json, "due_ms")))
        status = body_integer(rq, "due_ms", &a->due_ms, err);
    if (status == MST_OK && a->due_ms < 0)
        status = mst_fail(err, MST_USAGE, "due_ms is a time in ms since 1970, or 0");
    if (status == MST_OK && !*a->title)
        a->title = a->passage;
    return status;
}

#define ASSIGNMENT_MEMBERS "title passage how rules attend stage take lesson due_ms"

enum mst_status post_assignments(struct request *rq, struct mst_error *err)
{
    struct mst_class c;
    struct mst_assignment a = {
        .class_id = rq->args[0], .title = "", .how = "{}", .rules = "", .attend = ""};
    char id[MST_ID_SIZE];
    enum mst_status status = body_only(rq, ASSIGNMENT_MEMBERS, err);
    if (status == MST_OK)
        status = mst_class_get(rq->desk->store, rq->args[0], rq->arena, &c, err);
    if (status == MST_OK)
        status = assignment_members(rq, &a, err);
    if (status == MST_OK)
        status = mst_assignment_add(rq->desk->store, &a, id, err);
    if (status != MST_OK)
        return status;
    class_say(rq->desk, "assignment", a.class_id, id);
    return assignment_reply(rq, id, 201, err);
}

enum mst_status patch_assignment(struct request *rq, struct mst_error *err)
{
    struct mst_assignment a;
    int withdrawn;
    enum mst_status status = body_only(rq, ASSIGNMENT_MEMBERS " withdrawn revision", err);
    if (status == MST_OK)
        status = mst_assignment_get(rq->desk->store, rq->args[0], rq->arena, &a, err);
    withdrawn = status == MST_OK && a.withdrawn_ms != 0;
    if (status == MST_OK)
        status = assignment_members(rq, &a, err);
    if (status == MST_OK)
        status = body_flag(rq, "withdrawn", &withdrawn, err);
    if (status == MST_OK)
        status = body_integer(rq, "revision", &a.revision, err);
    if (status != MST_OK)
        return status;
    a.withdrawn_ms = !withdrawn ? 0 : a.withdrawn_ms ? a.withdrawn_ms : mst_store_now_ms();
    status = mst_assignment_put(rq->desk->store, &a, err);
    if (status == MST_MISMATCH)
        return conflict(rq, err);
    if (status != MST_OK)
        return status;
    class_say(rq->desk, "assignment", a.class_id, a.id);
    return assignment_reply(rq, a.id, 200, err);
}

enum mst_status delete_assignment(struct request *rq, struct mst_error *err)
{
    struct mst_assignment a;
    enum mst_status status = mst_assignment_get(rq->desk->store, rq->args[0], rq->arena, &a, err);
    if (status == MST_OK)
        status = mst_assignment_delete(rq->desk->store, a.id, err);
    if (status == MST_OK) {
        class_say(rq->desk, "assignment", a.class_id, a.id);
        rq->reply.status = 204;
    }
    return status;
}
