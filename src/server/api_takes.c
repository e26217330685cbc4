/* api_takes.c – takes: sent, named, listed, listened to, corrected, deleted. */
#include "hear.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PINS_MOST = 5000, NAME_MOST = 200, NOTE_MOST = 4000 };

/* --- as JSON ----------------------------------------------------------------- */

void take_json(struct mst_string *s, const char *key, const struct mst_text *text,
               const struct mst_kept_take *take)
{
    struct mst_range range;
    struct mst_error err;
    char title[96] = "";
    json_t *pins = json_loads(take->pins, 0, NULL);
    if (*take->passage && mst_range_parse(text, mst_span_of(take->passage), &range, &err) == MST_OK)
        mst_range_print(range, title);
    js_open(s, key, '{');
    js_text(s, "id", take->id);
    js_text(s, "name", take->name);
    js_text(s, "passage", *take->passage ? take->passage : NULL);
    js_text(s, "title", *title ? title : NULL);
    js_date(s, "made", take->made_ms);
    js_raw(s, "how", take->how);
    js_integer(s, "bytes", take->bytes);
    js_text(s, "type", take->type);
    if (take->seconds > 0)
        js_real(s, "seconds", take->seconds, 2);
    else
        js_null(s, "seconds");
    js_text(s, "state", mst_kept_state_id(take->state));
    js_text(s, "job", take->job);
    js_text(s, "voice", take->voice);
    js_bool(s, "keep_voice", take->keep_voice);
    js_text(s, "model", take->model);
    js_text(s, "note", take->note);
    js_bool(s, "chosen", take->chosen);
    js_integer(s, "pins", (int64_t)json_array_size(pins));
    js_integer(s, "revision", take->revision);
    js_said(s, "problem", take->problem);
    js_bool(s, "report", take->report);
    js_close(s, '}');
    json_decref(pins);
}

void take_say(struct desk *desk, const char *id)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_kept_take take;
    struct mst_error err;
    struct mst_string s = {0};
    if (arena && mst_store_take_get(desk->store, id, arena, &take, &err) == MST_OK) {
        take_json(&s, NULL, desk->text, &take);
        if (!s.failed)
            events_say(desk, "take", s.ptr, s.len);
    }
    mst_string_free(&s);
    mst_arena_free(arena);
}

static enum mst_status take_of(struct request *rq, struct mst_kept_take *out, struct mst_error *err)
{
    return mst_store_take_get(rq->desk->store, rq->args[0], rq->arena, out, err);
}

static enum mst_status take_reply(struct request *rq, const char *id, unsigned wanted,
                                  struct mst_error *err)
{
    struct mst_kept_take take;
    enum mst_status status = mst_store_take_get(rq->desk->store, id, rq->arena, &take, err);
    if (status != MST_OK)
        return status;
    rq->reply.status = wanted;
    take_json(&rq->reply.body, NULL, rq->desk->text, &take);
    return MST_OK;
}

/* Whether a take has a verse of this passage; one without a passage has none. */
static int take_meets(const struct request *rq, const struct mst_kept_take *take,
                      struct mst_range wanted)
{
    struct mst_range range;
    struct mst_error none;
    return *take->passage &&
           mst_range_parse(rq->desk->text, mst_span_of(take->passage), &range, &none) == MST_OK &&
           passages_meet(rq->desk->text, range, wanted);
}

enum mst_status get_takes(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take *takes;
    struct mst_range range, wanted;
    size_t count;
    const char *meets = param(rq, "meets");
    char passage[96] = "";
    enum mst_status status = MST_OK;
    if (param(rq, "passage")) {
        status = param_passage(rq, &range, err);
        if (status == MST_OK)
            passage_id(range, passage);
    }
    if (status == MST_OK && meets)
        status = mst_range_parse(rq->desk->text, mst_span_of(meets), &wanted, err);
    if (status == MST_OK)
        status = mst_store_take_list(rq->desk->store, *passage ? passage : NULL, rq->arena, &takes,
                                     &count, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "takes", '[');
    for (size_t n = 0; n < count; n++)
        if (!meets || take_meets(rq, &takes[n], wanted))
            take_json(s, NULL, rq->desk->text, &takes[n]);
    mst_string_adds(s, "]}");
    return MST_OK;
}

/* --- sending ------------------------------------------------------------------------- */

static enum mst_status voice_known(struct desk *desk, const char *name, struct mst_error *err)
{
    struct mst_voice *voice = NULL;
    enum mst_status status = voice_kept(desk, name, &voice, err);
    mst_voice_free(voice);
    return status;
}

static enum mst_status model_known(struct request *rq, const char *id, const char *self,
                                   struct mst_error *err)
{
    struct mst_kept_take model;
    if (!id || !*id)
        return MST_OK;
    if (self && strcmp(id, self) == 0)
        return mst_fail(err, MST_USAGE, "a take is no model of itself");
    enum mst_status status = mst_store_take_get(rq->desk->store, id, rq->arena, &model, err);
    if (status == MST_OK && !*model.passage)
        status = mst_fail(err, MST_USAGE, "the model has no passage yet; say what it recites");
    return status;
}

static enum mst_status listen_promise(struct request *rq, struct mst_kept_take *take,
                                      char job[MST_ID_SIZE], struct mst_error *err)
{
    if (!*take->passage)
        return mst_fail(err, MST_USAGE, "say first which passage the take holds");
    char *input = mst_arena_printf(rq->arena, "{\"take\":\"%s\"}", take->id);
    enum mst_status status =
        input ? jobs_promise(rq, "listen", take->id, input, job, err) : no_memory(err);
    if (status != MST_OK)
        return status;
    take->job = job;
    take->state = MST_KEPT_WAITING;
    take->problem = NULL;
    status = mst_store_take_put(rq->desk->store, take, err);
    if (status != MST_OK) {
        struct mst_error ignored;
        (void)!jobs_cancel(rq->desk, job, &ignored);
    }
    return status;
}

enum mst_status post_takes(struct request *rq, struct mst_error *err)
{
    struct desk *desk = rq->desk;
    struct mst_range range;
    struct mst_reading_options how;
    char passage[96] = "", hash[MST_HASH_HEX_SIZE], id[MST_ID_SIZE], job[MST_ID_SIZE];
    int listen = 0;
    const char *name = param(rq, "name"), *voice = param(rq, "voice"), *model = param(rq, "model");
    struct mst_kept_take take = {.note = "", .pins = "[]", .how = how_as_json(rq)};
    enum mst_status status = take.how ? MST_OK : no_memory(err);
    if (status == MST_OK && param(rq, "passage")) {
        status = param_passage(rq, &range, err);
        if (status == MST_OK)
            passage_id(range, passage);
    }
    if (status == MST_OK)
        status = how_of_request(rq, &how, err);
    if (status == MST_OK)
        status = param_flag(rq, "listen", &listen, err);
    if (status == MST_OK)
        status = param_flag(rq, "keep_voice", &take.keep_voice, err);
    if (status == MST_OK && listen && !*passage)
        status = mst_fail(err, MST_USAGE, "say which passage the take holds (passage=67:1-5)");
    if (status == MST_OK && name && strlen(name) > NAME_MOST)
        status = mst_fail(err, MST_USAGE, "a name has at most %d bytes", NAME_MOST);
    if (status == MST_OK)
        status = voice_known(desk, voice, err);
    if (status == MST_OK)
        status = model_known(rq, model, NULL, err);
    if (status != MST_OK)
        return status;
    status = sound_keep(rq, hash, &take.bytes, &take.type, err);
    if (status != MST_OK)
        return status;
    take.name = name && *name ? name : *passage ? passage : "—";
    take.passage = passage;
    take.hash = hash;
    take.voice = voice && *voice ? voice : NULL;
    take.model = model && *model ? model : NULL;
    status = mst_store_take_add(desk->store, &take, id, err);
    if (status == MST_OK && listen) {
        status = mst_store_take_get(desk->store, id, rq->arena, &take, err);
        if (status == MST_OK)
            status = listen_promise(rq, &take, job, err);
        jobs_wake(desk);
    }
    if (status == MST_OK) {
        take_say(desk, id);
        status = take_reply(rq, id, 201, err);
    }
    return status;
}

/* --- one take ---------------------------------------------------------------------------- */

enum mst_status get_take(struct request *rq, struct mst_error *err)
{
    return take_reply(rq, rq->args[0], 200, err);
}

static int at_work(const struct mst_kept_take *take)
{
    return take->state == MST_KEPT_WAITING || take->state == MST_KEPT_LISTENING;
}

static enum mst_status conflict(struct request *rq)
{
    return reply_error(rq, 409, "conflict", "a job works on this take; cancel it first");
}

/* Its voice is in them too: they go with it. *busy: one is still being made, nothing is gone. */
static enum mst_status films_forget(struct request *rq, const char *take, int *busy,
                                    struct mst_error *err)
{
    struct mst_job *jobs;
    size_t count;
    struct mst_job_filter filter = {.state = -1, .about = take};
    enum mst_status status =
        mst_store_job_list(rq->desk->store, &filter, rq->arena, &jobs, &count, err);
    *busy = 0;
    for (size_t n = 0; n < count && status == MST_OK; n++)
        *busy |= strcmp(jobs[n].kind, "film") == 0 &&
                 (jobs[n].state == MST_JOB_WAITING || jobs[n].state == MST_JOB_RUNNING);
    for (size_t n = 0; n < count && status == MST_OK && !*busy; n++) {
        if (strcmp(jobs[n].kind, "film") != 0)
            continue;
        status = mst_store_job_delete(rq->desk->store, jobs[n].id, err);
        if (status == MST_OK)
            events_gone(rq->desk, "job", jobs[n].id);
        else if (status == MST_NOT_FOUND)
            status = MST_OK; /* someone else was quicker */
    }
    return status;
}

enum mst_status delete_take(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take take;
    enum mst_status status = take_of(rq, &take, err);
    int busy = status == MST_OK && at_work(&take);
    if (status == MST_OK && !busy)
        status = films_forget(rq, take.id, &busy, err);
    if (status == MST_OK && busy)
        return conflict(rq);
    if (status == MST_OK)
        status = mst_store_take_delete(rq->desk->store, take.id, err);
    if (status == MST_OK) {
        sound_forget(rq->desk, take.hash);
        events_gone(rq->desk, "take", take.id);
        rq->reply.status = 204;
    }
    return status;
}

/* Another passage, or another way of reading it: what was heard before says nothing about it. */
static enum mst_status patch_reading(struct request *rq, struct mst_kept_take *take, int *changed,
                                     struct mst_error *err)
{
    struct mst_range range;
    struct mst_reading_options how;
    const char *passage = NULL;
    char id[96];
    json_t *options = json_object_get(rq->json, "how");
    enum mst_status status = body_text(rq, "passage", 200, &passage, err);
    if (status == MST_OK && passage) {
        status = mst_range_parse(rq->desk->text, mst_span_of(passage), &range, err);
        if (status == MST_OK && strcmp(passage_id(range, id), take->passage) != 0) {
            take->passage = mst_arena_strndup(rq->arena, id, strlen(id));
            *changed = 1;
        }
    }
    if (status == MST_OK && options) {
        status = how_of_json(rq->desk->text, options, rq->arena, &how, err);
        char *text = status == MST_OK ? json_dumps(options, JSON_COMPACT) : NULL;
        if (text && strcmp(text, take->how) != 0) {
            take->how = mst_arena_strndup(rq->arena, text, strlen(text));
            *changed = 1;
        }
        free(text);
    }
    if (status == MST_OK && (!take->passage || !take->how))
        status = no_memory(err);
    return status;
}

/* Choosing one unchooses the others of its passage: tell of them too. */
static void siblings_say(struct request *rq, const struct mst_kept_take *take)
{
    struct mst_kept_take *takes;
    struct mst_error err;
    size_t count = 0;
    if (!take->chosen || mst_store_take_list(rq->desk->store, take->passage, rq->arena, &takes,
                                             &count, &err) != MST_OK)
        return;
    for (size_t n = 0; n < count; n++)
        if (strcmp(takes[n].id, take->id) != 0)
            take_say(rq->desk, takes[n].id);
}

enum mst_status patch_take(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take take;
    int reading_changed = 0;
    enum mst_status status = take_of(rq, &take, err);
    if (status == MST_OK)
        status = body_only(rq, "name passage how note chosen voice keep_voice model", err);
    if (status == MST_OK)
        status = body_text(rq, "name", NAME_MOST, &take.name, err);
    if (status == MST_OK)
        status = body_text(rq, "note", NOTE_MOST, &take.note, err);
    if (status == MST_OK)
        status = body_flag(rq, "chosen", &take.chosen, err);
    if (status == MST_OK)
        status = body_flag(rq, "keep_voice", &take.keep_voice, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "voice", 80, &take.voice, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "model", 40, &take.model, err);
    if (status == MST_OK && json_object_get(rq->json, "voice"))
        status = voice_known(rq->desk, take.voice, err);
    if (status == MST_OK && json_object_get(rq->json, "model"))
        status = model_known(rq, take.model, take.id, err);
    if (status == MST_OK)
        status = patch_reading(rq, &take, &reading_changed, err);
    if (status == MST_OK && reading_changed && at_work(&take))
        return conflict(rq);
    if (status == MST_OK && reading_changed) {
        take.state = MST_KEPT_NEW;
        take.report = 0;
        take.pins = "[]";
        take.problem = NULL;
    }
    if (status == MST_OK)
        status = mst_store_take_put(rq->desk->store, &take, err);
    if (status == MST_MISMATCH)
        return reply_error(rq, 409, "conflict", "%s", err->message);
    if (status == MST_OK && reading_changed)
        status = mst_store_report_forget(rq->desk->store, take.id, err);
    if (status == MST_OK) {
        take_say(rq->desk, take.id);
        if (json_object_get(rq->json, "chosen"))
            siblings_say(rq, &take);
        status = take_reply(rq, take.id, 200, err);
    }
    return status;
}

enum mst_status post_take_listen(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take take;
    char job[MST_ID_SIZE];
    enum mst_status status = body_only(rq, "", err);
    if (status == MST_OK)
        status = take_of(rq, &take, err);
    if (status == MST_OK && at_work(&take))
        return conflict(rq);
    if (status == MST_OK)
        status = listen_promise(rq, &take, job, err);
    if (status == MST_MISMATCH)
        return reply_error(rq, 409, "conflict", "%s", err->message);
    if (status != MST_OK)
        return status;
    take_say(rq->desk, take.id);
    return job_reply(rq, job, 202, err);
}

/* --- what was heard ----------------------------------------------------------------------------
 */

static enum mst_status report_file(struct request *rq, const char *name, const char *type,
                                   int download, struct mst_error *err)
{
    struct mst_kept_take take;
    struct stat st;
    enum mst_status status = take_of(rq, &take, err);
    if (status != MST_OK)
        return status;
    char *path = mst_arena_printf(rq->arena, "%s/reports/%s/%s", mst_store_folder(rq->desk->store),
                                  take.id, name);
    if (!path)
        return no_memory(err);
    int fd = take.report ? open(path, O_RDONLY | O_CLOEXEC) : -1;
    if (fd < 0 || fstat(fd, &st) != 0) {
        if (fd >= 0)
            close(fd);
        return mst_fail(err, MST_NOT_FOUND, "this take was not listened to yet");
    }
    rq->reply.fd = fd;
    rq->reply.fd_bytes = (uint64_t)st.st_size;
    rq->reply.type = type;
    if (download)
        reply_header(rq, "Content-Disposition",
                     mst_arena_printf(rq->arena, "attachment; filename=\"%s\"", name));
    return MST_OK;
}

enum mst_status get_take_report(struct request *rq, struct mst_error *err)
{
    enum mst_lang lang;
    enum mst_status status = param_lang(rq, &lang, err);
    if (status != MST_OK)
        return status;
    return report_file(rq, lang == MST_LANG_AR ? "report-ar.json" : "report-en.json", NULL, 0, err);
}

enum mst_status get_take_export(struct request *rq, struct mst_error *err)
{
    static const struct {
        const char *ending, *type, *file[2];
    } exports[] = {
        {".vtt", "text/vtt; charset=utf-8", {"words.vtt", "words.vtt"}},
        {".tsv", "text/tab-separated-values; charset=utf-8", {"sounds.tsv", "sounds.tsv"}},
        {".txt", "text/plain; charset=utf-8", {"labels.txt", "labels.txt"}},
        {".html", "text/html; charset=utf-8", {"report-en.html", "report-ar.html"}},
        {".pdf", "application/pdf", {"report-en.pdf", "report-ar.pdf"}},
    };
    enum mst_lang lang = MST_LANG_EN;
    enum mst_status status = MST_OK;
    const char *ending = strrchr(rq->url, '.');
    if (strstr(rq->route->params, "lang"))
        status = param_lang(rq, &lang, err);
    for (size_t n = 0; status == MST_OK && n < sizeof exports / sizeof exports[0]; n++)
        if (strcmp(ending, exports[n].ending) == 0)
            return report_file(rq, exports[n].file[lang == MST_LANG_AR], exports[n].type, 1, err);
    return status == MST_OK ? mst_fail(err, MST_NOT_FOUND, "there is no such report") : status;
}

/* --- edges set by hand
 * ----------------------------------------------------------------------------- */

enum mst_status get_take_pins(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take take;
    enum mst_status status = take_of(rq, &take, err);
    if (status != MST_OK)
        return status;
    js_open(&rq->reply.body, NULL, '{');
    js_raw(&rq->reply.body, "pins", take.pins);
    js_close(&rq->reply.body, '}');
    return MST_OK;
}

static enum mst_status pin_read(struct request *rq, const struct mst_range *range,
                                const json_t *pin, struct mst_string *s, struct mst_error *err)
{
    struct mst_addr at;
    const char *address = json_string_value(json_object_get(pin, "at"));
    const json_t *sound = json_object_get(pin, "sound"), *ms = json_object_get(pin, "ms");
    char text[48];
    if (!address || !json_is_integer(ms) || json_integer_value(ms) < 0 ||
        json_integer_value(ms) > 6 * 3600 * 1000 ||
        (sound && !json_is_null(sound) &&
         (!json_is_integer(sound) || json_integer_value(sound) < 0 ||
          json_integer_value(sound) > 200)))
        return mst_fail(err, MST_USAGE,
                        "a pin is {\"at\": \"67:1:3\", \"sound\": 2 or null, \"ms\": 1500}");
    enum mst_status status = mst_addr_parse(rq->desk->text, mst_span_of(address), &at, err);
    if (status == MST_OK && (at.word == 0 || at.letter != 0))
        status = mst_fail(err, MST_USAGE, "a pin is set at a word; “%.40s” is none", address);
    struct mst_addr first = range->first, last = range->last, verse = {at.sura, at.verse, 0, 0};
    first.word = last.word = 0;
    if (status == MST_OK && at.verse > 0 &&
        (mst_addr_compare(verse, first) < 0 || mst_addr_compare(verse, last) > 0))
        status = mst_fail(err, MST_USAGE, "%.40s is not in the take's passage", address);
    if (status != MST_OK)
        return status;
    js_open(s, NULL, '{');
    js_text(s, "at", mst_addr_print(at, text));
    if (json_is_integer(sound))
        js_integer(s, "sound", json_integer_value(sound));
    else
        js_null(s, "sound");
    js_integer(s, "ms", json_integer_value(ms));
    js_close(s, '}');
    return MST_OK;
}

enum mst_status put_take_pins(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take take;
    struct mst_range range = {0};
    struct mst_string s = {0};
    const json_t *pins = json_object_get(rq->json, "pins"), *pin;
    size_t n;
    enum mst_status status = take_of(rq, &take, err);
    if (status == MST_OK)
        status = body_only(rq, "pins", err);
    if (status == MST_OK && (!json_is_array(pins) || json_array_size(pins) > PINS_MOST))
        status = mst_fail(err, MST_USAGE, "the member pins is a list of at most %d", PINS_MOST);
    if (status == MST_OK && !*take.passage)
        status = mst_fail(err, MST_USAGE, "say first which passage the take holds");
    if (status == MST_OK)
        status = mst_range_parse(rq->desk->text, mst_span_of(take.passage), &range, err);
    js_open(&s, NULL, '[');
    json_array_foreach(pins, n, pin)
    {
        if (status == MST_OK)
            status = pin_read(rq, &range, pin, &s, err);
    }
    js_close(&s, ']');
    if (status == MST_OK && s.failed)
        status = no_memory(err);
    if (status == MST_OK) {
        take.pins = s.ptr;
        status = mst_store_take_put(rq->desk->store, &take, err);
    }
    if (status == MST_OK) {
        js_open(&rq->reply.body, NULL, '{');
        js_raw(&rq->reply.body, "pins", s.ptr);
        js_close(&rq->reply.body, '}');
        take_say(rq->desk, take.id);
    }
    mst_string_free(&s);
    if (status == MST_MISMATCH)
        return reply_error(rq, 409, "conflict", "%s", err->message);
    return status;
}

/* --- two beside one another
 * ---------------------------------------------------------------------------- */

enum mst_status post_comparisons(struct request *rq, struct mst_error *err)
{
    const char *ids[2] = {NULL, NULL};
    char job[MST_ID_SIZE];
    enum mst_status status = body_only(rq, "first second", err);
    if (status == MST_OK)
        status = body_text(rq, "first", 40, &ids[0], err);
    if (status == MST_OK)
        status = body_text(rq, "second", 40, &ids[1], err);
    if (status == MST_OK && (!ids[0] || !ids[1] || strcmp(ids[0], ids[1]) == 0))
        status = mst_fail(err, MST_USAGE, "first and second are the ids of two takes");
    for (int n = 0; n < 2 && status == MST_OK; n++) {
        struct mst_kept_take take;
        status = mst_store_take_get(rq->desk->store, ids[n], rq->arena, &take, err);
        if (status == MST_OK && !*take.passage)
            status = mst_fail(err, MST_USAGE, "say first which passage each take holds");
    }
    if (status != MST_OK)
        return status;
    char *input = json_dumps(rq->json, JSON_COMPACT);
    status = input ? jobs_promise(rq, "compare", ids[0], input, job, err) : no_memory(err);
    free(input);
    return status == MST_OK ? job_reply(rq, job, 202, err) : status;
}
