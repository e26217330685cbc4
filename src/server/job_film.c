/* job_film.c – one take made into a film, with its captions beside it. */
#include "hear.h"

#include <mistara/film.h>
#include <stdlib.h>
#include <string.h>

/* What is shown, as the request and later the job have it. All of it may be left out. */
struct film_wishes {
    struct mst_rule_set rules;
    enum mst_sheet_labels labels;
    enum mst_theme theme;
    int fade, webm;
};

static enum mst_status choice(const json_t *from, const char *name, const char *const words[],
                              int *io, struct mst_error *err)
{
    const json_t *member = json_object_get(from, name);
    const char *typed = json_string_value(member);
    if (!member)
        return MST_OK;
    for (int n = 0; typed && words[n]; n++) {
        if (strcmp(typed, words[n]) == 0) {
            *io = n;
            return MST_OK;
        }
    }
    return mst_fail(err, MST_USAGE, "the member %s is “%s” or “%s”%s%s%s", name, words[0], words[1],
                    words[2] ? ", or “" : "", words[2] ? words[2] : "", words[2] ? "”" : "");
}

static enum mst_status wishes_read(const json_t *from, struct film_wishes *out,
                                   struct mst_error *err)
{
    static const char *const labels[] = {"both", "en", "ar", NULL};
    static const char *const themes[] = {"light", "dark", NULL};
    static const char *const forms[] = {"mp4", "webm", NULL};
    static const enum mst_sheet_labels label_of[] = {MST_LABELS_BOTH, MST_LABELS_EN, MST_LABELS_AR};
    const json_t *rules = json_object_get(from, "rules"), *fade = json_object_get(from, "fade");
    int label = 0, dark = 0;
    *out = (struct film_wishes){.fade = json_is_true(fade)};
    enum mst_status status = choice(from, "labels", labels, &label, err);
    if (status == MST_OK)
        status = choice(from, "theme", themes, &dark, err);
    if (status == MST_OK)
        status = choice(from, "form", forms, &out->webm, err);
    if (status == MST_OK && fade && !json_is_boolean(fade))
        status = mst_fail(err, MST_USAGE, "the member fade is true or false");
    if (status == MST_OK && rules && !json_is_null(rules))
        status = json_is_string(rules)
                     ? mst_rule_set_parse(mst_span_of(json_string_value(rules)), &out->rules, err)
                     : mst_fail(err, MST_USAGE, "the member rules is a text such as “ikhfa”");
    out->labels = label_of[label];
    out->theme = dark ? MST_THEME_DARK : MST_THEME_LIGHT;
    return status;
}

enum mst_status post_take_film(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take take;
    struct film_wishes wishes;
    char id[MST_ID_SIZE];
    enum mst_status status = body_only(rq, "rules labels theme fade form", err);
    if (status == MST_OK)
        status = wishes_read(rq->json, &wishes, err);
    if (status == MST_OK)
        status = mst_store_take_get(rq->desk->store, rq->args[0], rq->arena, &take, err);
    if (status == MST_OK && !*take.passage)
        status = mst_fail(err, MST_USAGE, "say first which passage the take holds");
    if (status != MST_OK)
        return status;
    json_t *promised = json_copy(rq->json);
    char *input = promised && json_object_set_new(promised, "take", json_string(take.id)) == 0
                      ? json_dumps(promised, JSON_COMPACT)
                      : NULL;
    status = input ? jobs_promise(rq, "film", take.id, input, id, err) : no_memory(err);
    free(input);
    json_decref(promised);
    return status == MST_OK ? job_reply(rq, id, 202, err) : status;
}

/* "67:1-5" → "67-1-5": film and captions by one name, so that players find the one by the other. */
static const char *base_name(struct work *work, const char *passage)
{
    char *name = mst_arena_strndup(work->arena, passage, strlen(passage));
    for (char *at = name; at && (at = strpbrk(at, ":/ ,")) != NULL;)
        *at = '-';
    return name;
}

static enum mst_status captions_write(struct work *work, const struct mst_timeline *timeline,
                                      const struct film_wishes *w, const char *name,
                                      struct mst_error *err)
{
    static const struct {
        const char *ending;
        enum mst_caption_format format;
    } forms[] = {{"vtt", MST_CAPTION_VTT}, {"srt", MST_CAPTION_SRT}};
    struct mst_caption_options options = {.rules = w->rules, .labels = w->labels};
    enum mst_status status = MST_OK;
    for (size_t n = 0; n < sizeof forms / sizeof forms[0] && status == MST_OK; n++) {
        struct mst_string text = {0};
        const char *path =
            mst_arena_printf(work->arena, "%s/%s.%s", work->folder, name, forms[n].ending);
        status =
            path ? mst_captions(timeline, &options, forms[n].format, &text, err) : no_memory(err);
        if (status == MST_OK)
            status = text.failed ? no_memory(err) : mst_file_write(path, text.ptr, text.len, err);
        mst_string_free(&text);
    }
    return status;
}

static enum mst_status film_write(struct work *work, const struct mst_hearing *hearing,
                                  const struct film_wishes *w, const char *name,
                                  struct mst_error *err)
{
    struct mst_ear_progress progress = {work_report, work};
    struct mst_film_options film = {.theme = w->theme, .progress = &progress};
    struct mst_sheet_options look = {.rules = w->rules,
                                     .page = mst_page_slide(),
                                     .fade_evenly = w->fade,
                                     .stage = w->fade ? MST_FADE_NAMES : MST_FADE_MARKS,
                                     .labels = w->labels,
                                     .key = MST_KEY_NONE};
    const char *path =
        mst_arena_printf(work->arena, "%s/%s.%s", work->folder, name, w->webm ? "webm" : "mp4");
    struct mst_typeset *fonts = NULL;
    struct mst_sheet *sheet = NULL;
    enum mst_status status = path ? typeset_borrow(work->desk, &fonts, err) : no_memory(err);
    if (status == MST_OK)
        status =
            mst_sheet_new(fonts, hearing->timeline->reading, &look, hearing->arena, &sheet, err);
    if (status == MST_OK)
        status = mst_film_write(hearing->take, hearing->timeline, sheet, &film, path, err);
    typeset_give_back(work->desk, fonts);
    return status;
}

enum mst_status job_film(struct work *work, struct mst_error *err)
{
    const char *id = json_string_value(json_object_get(work->input, "take"));
    struct mst_kept_take take;
    struct mst_voice *voice = NULL;
    struct heard heard = {0};
    struct film_wishes wishes;
    enum mst_status status = wishes_read(work->input, &wishes, err);
    if (status == MST_OK)
        status = mst_store_take_get(work->desk->store, id ? id : "", work->arena, &take, err);
    if (status == MST_OK)
        status = take_voice(work->desk, &take, &voice, err);
    if (status == MST_OK)
        status = take_hear(work, id, voice, 0, 0.35, 1, &heard, err);
    const char *name = status == MST_OK ? base_name(work, take.passage) : NULL;
    if (status == MST_OK && !name)
        status = no_memory(err);
    work_stage(work, "filming", 0.35, 1);
    if (status == MST_OK)
        status = captions_write(work, heard.hearing->timeline, &wishes, name, err);
    if (status == MST_OK)
        status = film_write(work, heard.hearing, &wishes, name, err);
    mst_hearing_close(heard.hearing);
    mst_voice_free(voice);
    return status;
}
