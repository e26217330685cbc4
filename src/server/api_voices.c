/* api_voices.c – learned voices, live hearings, the pages' settings. */
#include "desk.h"

#include <mistara/ear.h>
#include <mistara/shelf.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { TAKES_MOST = 40, SETTINGS_MOST = 16384 };

static void voice_json(struct mst_string *s, struct request *rq, const char *name,
                       const struct mst_voice *voice)
{
    struct mst_kept_voice kept = {0};
    struct mst_error err;
    struct mst_voice_info info = mst_voice_info(voice);
    if (mst_store_voice_get(rq->desk->store, name, rq->arena, &kept, &err) != MST_OK)
        kept.made_ms = 0;
    js_open(s, NULL, '{');
    js_text(s, "name", name);
    js_real(s, "speech_seconds", info.speech_seconds, 1);
    js_integer(s, "sounds", info.sound_count);
    js_integer(s, "kinds_missing", info.missing_count);
    js_date(s, "made", kept.made_ms);
    js_close(s, '}');
}

enum mst_status get_voices(struct request *rq, struct mst_error *err)
{
    struct mst_shelf *shelf = NULL;
    const char *const *names;
    size_t count = 0;
    struct mst_string *s = &rq->reply.body;
    enum mst_status status = mst_shelf_open(mst_store_folder(rq->desk->store), &shelf, err);
    if (status == MST_OK)
        status = mst_shelf_list(shelf, rq->arena, &names, &count, err);
    js_open(s, NULL, '{');
    js_open(s, "voices", '[');
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        struct mst_voice *voice = NULL;
        struct mst_error why;
        if (mst_shelf_get(shelf, names[n], &voice, &why) == MST_OK)
            voice_json(s, rq, names[n], voice);
        mst_voice_free(voice);
    }
    mst_string_adds(s, "]}");
    mst_shelf_close(shelf);
    return status;
}

enum mst_status post_voices(struct request *rq, struct mst_error *err)
{
    const char *name = NULL, *from = NULL;
    const json_t *takes = json_object_get(rq->json, "takes"), *item;
    char job[MST_ID_SIZE];
    size_t n;
    enum mst_status status = body_only(rq, "name takes from", err);
    if (status == MST_OK)
        status = body_text(rq, "name", 60, &name, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "from", 60, &from, err);
    if (status == MST_OK && !name)
        status = mst_fail(err, MST_USAGE, "the member name is missing");
    if (status == MST_OK)
        status = mst_shelf_check_name(name, err);
    if (status == MST_OK && (!json_is_array(takes) || json_array_size(takes) == 0 ||
                             json_array_size(takes) > TAKES_MOST))
        status = mst_fail(err, MST_USAGE, "the member takes is a list of 1 to %d ids", TAKES_MOST);
    json_array_foreach(takes, n, item)
    {
        struct mst_kept_take take;
        const char *id = json_string_value(item);
        if (status == MST_OK)
            status = mst_store_take_get(rq->desk->store, id ? id : "", rq->arena, &take, err);
        if (status == MST_OK && !*take.passage)
            status = mst_fail(err, MST_USAGE, "say first which passage each take holds");
    }
    if (status != MST_OK)
        return status;
    char *input = json_dumps(rq->json, JSON_COMPACT);
    status = input ? jobs_promise(rq, "voice", name, input, job, err) : no_memory(err);
    free(input);
    return status == MST_OK ? job_reply(rq, job, 202, err) : status;
}

enum mst_status delete_voice(struct request *rq, struct mst_error *err)
{
    struct mst_shelf *shelf = NULL;
    enum mst_status status = mst_shelf_open(mst_store_folder(rq->desk->store), &shelf, err);
    if (status == MST_OK)
        status = mst_shelf_forget(shelf, rq->args[0], err);
    if (status == MST_OK)
        status = mst_store_voice_delete(rq->desk->store, rq->args[0], err);
    mst_shelf_close(shelf);
    if (status == MST_OK) {
        events_gone(rq->desk, "voice", rq->args[0]);
        rq->reply.status = 204;
    }
    return status;
}

/* --- hearings ------------------------------------------------------------------ */

static void hearing_json(struct mst_string *s, const char *key, const struct mst_live_hearing *h)
{
    js_open(s, key, '{');
    js_text(s, "id", h->id);
    js_date(s, "date", h->made_ms);
    js_text(s, "at", h->at);
    js_text(s, "what", h->what);
    js_text(s, "note", h->note);
    js_text(s, "who", h->who);
    js_text(s, "person", h->person);
    js_text(s, "rule", h->rule);
    js_bool(s, "undone", h->undone);
    js_close(s, '}');
}

static enum mst_status hearing_reply(struct request *rq, const char *id, unsigned wanted,
                                     struct mst_error *err)
{
    struct mst_live_hearing h;
    enum mst_status status = mst_store_hearing_get(rq->desk->store, id, rq->arena, &h, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    hearing_json(s, NULL, &h);
    if (!s->failed)
        events_say(rq->desk, "hearing", s->ptr, s->len);
    rq->reply.status = wanted;
    return MST_OK;
}

enum mst_status get_hearings(struct request *rq, struct mst_error *err)
{
    struct mst_hearing_filter filter = {.person = param(rq, "person")};
    struct mst_live_hearing *rows;
    struct mst_range range;
    size_t count;
    const char *since = param(rq, "since");
    enum mst_status status = MST_OK;
    if (param(rq, "passage")) {
        status = param_passage(rq, &range, err);
        filter.first_sura = range.first.sura;
        filter.first_verse = range.first.verse == 1 ? 0 : range.first.verse; /* the basmala too */
        filter.last_sura = range.last.sura;
        filter.last_verse = range.last.verse;
    }
    if (status == MST_OK && since) {
        struct tm day = {0};
        const char *end = strptime(since, "%Y-%m-%dT%H:%M:%SZ", &day);
        if (!end || *end)
            return mst_fail(err, MST_USAGE, "since is a date such as 2026-11-25T18:30:00Z");
        filter.since_ms = (int64_t)timegm(&day) * 1000;
    }
    if (status == MST_OK)
        status = mst_store_hearing_list(rq->desk->store, &filter, rq->arena, &rows, &count, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "hearings", '[');
    for (size_t n = 0; n < count; n++)
        hearing_json(s, NULL, &rows[n]);
    mst_string_adds(s, "]}");
    return MST_OK;
}

/* The learner whom that name can only mean: one of all living classes is called so. NULL: none, or
 * more than one. */
static enum mst_status person_called(struct request *rq, const char *name, const char **out,
                                     struct mst_error *err)
{
    struct mst_class *classes;
    struct mst_person *people;
    size_t class_count = 0, count, found = 0;
    *out = NULL;
    if (!*name)
        return MST_OK;
    enum mst_status status =
        mst_class_list(rq->desk->store, rq->arena, &classes, &class_count, err);
    for (size_t c = 0; status == MST_OK && c < class_count; c++) {
        if (classes[c].closed_ms != 0)
            continue;
        status = mst_person_list(rq->desk->store, classes[c].id, rq->arena, &people, &count, err);
        for (size_t n = 0; status == MST_OK && n < count; n++) {
            if (people[n].left_ms == 0 && strcmp(people[n].role, "learner") == 0 &&
                strcmp(people[n].label, name) == 0) {
                *out = people[n].id;
                found++;
            }
        }
    }
    if (found != 1)
        *out = NULL;
    return status;
}

/* Whom it is about: said, or plain from the name. */
static enum mst_status hearing_person(struct request *rq, struct mst_live_hearing *h,
                                      struct mst_error *err)
{
    struct mst_person person;
    int said = json_object_get(rq->json, "person") != NULL;
    if (!said && json_object_get(rq->json, "who"))
        return person_called(rq, h->who, &h->person, err);
    enum mst_status status = body_text_or_null(rq, "person", 40, &h->person, err);
    return status == MST_OK && said && h->person
               ? mst_person_get(rq->desk->store, h->person, rq->arena, &person, err)
               : status;
}

static enum mst_status hearing_members(struct request *rq, struct mst_live_hearing *h,
                                       struct mst_error *err)
{
    enum mst_status status = body_text(rq, "what", 40, &h->what, err);
    if (status == MST_OK)
        status = body_text(rq, "note", 2000, &h->note, err);
    if (status == MST_OK)
        status = body_text(rq, "who", 100, &h->who, err);
    if (status == MST_OK && !*h->what)
        status = mst_fail(err, MST_USAGE, "the member what is missing");
    return status == MST_OK ? hearing_person(rq, h, err) : status;
}

enum mst_status post_hearings(struct request *rq, struct mst_error *err)
{
    const char *typed = NULL;
    char id[MST_ID_SIZE], at_text[48];
    struct mst_addr at = {0};
    struct mst_rule_set rules;
    struct mst_live_hearing h = {.what = "", .note = "", .who = ""};
    enum mst_status status = body_only(rq, "at what note who person rule", err);
    if (status == MST_OK)
        status = body_text(rq, "at", 40, &typed, err);
    if (status == MST_OK && !typed)
        status = mst_fail(err, MST_USAGE, "the member at is missing, for example 67:3:2:1");
    if (status == MST_OK)
        status = mst_addr_parse(rq->desk->text, mst_span_of(typed), &at, err);
    if (status == MST_OK && at.word == 0)
        status =
            mst_fail(err, MST_USAGE, "a hearing is about a word or a letter; “%.40s” given", typed);
    if (status == MST_OK)
        status = hearing_members(rq, &h, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "rule", 60, &h.rule, err);
    if (status == MST_OK && h.rule)
        status = mst_rule_set_parse(mst_span_of(h.rule), &rules, err);
    if (status == MST_OK && !h.rule)
        status = rule_noted(rq, at, h.what, &h.rule, err);
    h.at = mst_addr_print(at, at_text);
    h.sura = at.sura;
    h.verse = at.verse;
    h.word = at.word;
    if (status == MST_OK)
        status = mst_store_hearing_add(rq->desk->store, &h, id, err);
    return status == MST_OK ? hearing_reply(rq, id, 201, err) : status;
}

enum mst_status patch_hearing(struct request *rq, struct mst_error *err)
{
    struct mst_live_hearing h;
    enum mst_status status =
        mst_store_hearing_get(rq->desk->store, rq->args[0], rq->arena, &h, err);
    if (status == MST_OK)
        status = body_only(rq, "what note who person undone", err);
    if (status == MST_OK)
        status = hearing_members(rq, &h, err);
    if (status == MST_OK)
        status = body_flag(rq, "undone", &h.undone, err);
    if (status == MST_OK)
        status = mst_store_hearing_put(rq->desk->store, &h, err);
    return status == MST_OK ? hearing_reply(rq, h.id, 200, err) : status;
}

enum mst_status delete_hearing(struct request *rq, struct mst_error *err)
{
    enum mst_status status = mst_store_hearing_delete(rq->desk->store, rq->args[0], err);
    if (status == MST_OK) {
        events_gone(rq->desk, "hearing", rq->args[0]);
        rq->reply.status = 204;
    }
    return status;
}

/* --- settings --------------------------------------------------------------------- */

enum mst_status get_settings(struct request *rq, struct mst_error *err)
{
    const char *value;
    enum mst_status status =
        mst_store_setting_get(rq->desk->store, "pages", rq->arena, &value, err);
    if (status != MST_OK)
        return status;
    js_open(&rq->reply.body, NULL, '{');
    js_raw(&rq->reply.body, "settings", value ? value : "{}");
    js_close(&rq->reply.body, '}');
    return MST_OK;
}

enum mst_status put_settings(struct request *rq, struct mst_error *err)
{
    const json_t *settings = json_object_get(rq->json, "settings");
    enum mst_status status = body_only(rq, "settings", err);
    if (status == MST_OK && !json_is_object(settings))
        status = mst_fail(err, MST_USAGE, "the member settings is an object");
    char *text = status == MST_OK ? json_dumps(settings, JSON_COMPACT) : NULL;
    if (status == MST_OK && !text)
        status = no_memory(err);
    if (status == MST_OK && strlen(text) > SETTINGS_MOST) {
        free(text);
        return reply_error(rq, 413, "too_large", "settings may have at most %d KiB",
                           SETTINGS_MOST / 1024);
    }
    if (status == MST_OK)
        status = mst_store_setting_put(rq->desk->store, "pages", text, err);
    free(text);
    return status == MST_OK ? get_settings(rq, err) : status;
}
