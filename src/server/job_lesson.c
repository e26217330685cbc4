/* job_lesson.c – a lesson made into what is printed, shown and heard: the builder at work. */
#include "hear.h"

#include <mistara/build.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static enum mst_status sound_of(struct desk *desk, const char *id, struct mst_arena *arena,
                                struct mst_kept_take *take, const char **path,
                                struct mst_error *err)
{
    enum mst_status status = mst_store_take_get(desk->store, id, arena, take, err);
    if (status == MST_OK)
        *path = mst_store_sound_path(desk->store, take->hash, arena);
    return status == MST_OK && !*path ? no_memory(err) : status;
}

/* Where the desk keeps what the lesson calls by the takes' ids. One that is gone stays without a
 * path: the builder makes the rest and says so. */
static enum mst_status takes_find(struct desk *desk, struct mst_lesson *lesson,
                                  struct mst_arena *arena, struct mst_error *err)
{
    for (int32_t n = 0; n < lesson->take_count; n++) {
        struct mst_kept_take take;
        struct mst_lesson_recording *recording = &lesson->takes[n];
        const char *id = take_named(recording->file, arena);
        enum mst_status status =
            id ? sound_of(desk, id, arena, &take, &recording->path, err) : MST_NOT_FOUND;
        if (status != MST_OK && status != MST_NOT_FOUND)
            return status;
    }
    struct mst_kept_take told;
    const char *id = take_named(lesson->narration, arena);
    enum mst_status status =
        id ? sound_of(desk, id, arena, &told, &lesson->narration_path, err) : MST_NOT_FOUND;
    return status == MST_NOT_FOUND ? MST_OK : status;
}

/* One more take, as the request named it. */
static enum mst_status take_add(struct desk *desk, const char *id, struct mst_lesson *lesson,
                                struct mst_arena *arena, struct mst_error *err)
{
    struct mst_kept_take take;
    struct mst_lesson_recording *list =
        mst_arena_alloc(arena, (size_t)lesson->take_count + 1, sizeof *list);
    if (!list)
        return no_memory(err);
    if (lesson->take_count > 0)
        memcpy(list, lesson->takes, (size_t)lesson->take_count * sizeof *list);
    struct mst_lesson_recording *added = &list[lesson->take_count];
    *added = (struct mst_lesson_recording){.name = "", .file = ""};
    enum mst_status status = sound_of(desk, id, arena, &take, &added->path, err);
    if (status == MST_OK)
        status = mst_range_parse(desk->text, mst_span_of(take.passage), &added->range, err);
    if (status != MST_OK)
        return status;
    added->name = *take.name ? take.name : take.passage;
    added->file = mst_arena_printf(arena, "takes/%s", take.id);
    lesson->takes = list;
    lesson->take_count++;
    return added->file ? MST_OK : no_memory(err);
}

static enum mst_status lesson_read(struct desk *desk, const char *id, struct mst_arena *arena,
                                   struct mst_lesson *out, struct mst_error *err)
{
    struct mst_document d;
    struct mst_lesson_problems problems;
    enum mst_status status = mst_store_document_get(desk->store, "lesson", id, arena, &d, err);
    return status == MST_OK
               ? mst_lesson_parse(desk->text, mst_span_of(d.text), NULL, arena, out, &problems, err)
               : status;
}

/* "make": a list of parts, "zip" among them → bits and whether; none: everything. */
static enum mst_status make_read(const json_t *make, uint32_t *parts, int *zip,
                                 struct mst_error *err)
{
    size_t n;
    json_t *word;
    *parts = 0;
    *zip = json_array_size(make) == 0;
    if (make && !json_is_array(make))
        return mst_fail(err, MST_USAGE,
                        "the member make is a list of parts, such as [\"handout\"]");
    json_array_foreach(make, n, word)
    {
        const char *name = json_string_value(word);
        uint32_t part = 0;
        enum mst_status status =
            !name ? mst_fail(err, MST_USAGE, "the member make is a list of parts as text")
            : strcmp(name, "zip") == 0 ? MST_OK
                                       : mst_build_parts_parse(mst_span_of(name), &part, err);
        if (status != MST_OK)
            return status;
        *zip |= part == 0;
        *parts |= part;
    }
    return MST_OK;
}

enum mst_status post_lesson_build(struct request *rq, struct mst_error *err)
{
    struct mst_lesson lesson;
    char id[MST_ID_SIZE];
    const char *take = NULL;
    uint32_t parts;
    int zip;
    enum mst_status status = body_only(rq, "make take", err);
    if (status == MST_OK)
        status = make_read(json_object_get(rq->json, "make"), &parts, &zip, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "take", MST_ID_SIZE, &take, err);
    /* What cannot be made is refused now rather than by the job. */
    if (status == MST_OK)
        status = lesson_read(rq->desk, rq->args[0], rq->arena, &lesson, err);
    if (status == MST_OK && take)
        status = take_add(rq->desk, take, &lesson, rq->arena, err);
    if (status == MST_OK && lesson.passage_count == 0)
        status =
            mst_fail(err, MST_BAD_DATA, "the lesson has no passage; add one, then it can be made");
    if (status != MST_OK)
        return status;
    json_t *promised = json_copy(rq->json);
    char *input = promised && json_object_set_new(promised, "lesson", json_string(rq->args[0])) == 0
                      ? json_dumps(promised, JSON_COMPACT)
                      : NULL;
    status = input ? jobs_promise(rq, "lesson", rq->args[0], input, id, err) : no_memory(err);
    free(input);
    json_decref(promised);
    return status == MST_OK ? job_reply(rq, id, 202, err) : status;
}

static int building(void *cls, enum mst_build_part part, double done)
{
    struct work *work = cls;
    atomic_store(&work->doing, mst_build_part_id(part));
    return work_report(work, done);
}

/*
 * The files out of the builder's folder into the job's, which holds no folders:
 * "slides/slide-01.png" becomes "slides-slide-01.png". The page that leads to them by their old
 * names goes with the zip.
 */
static enum mst_status files_lay_out(struct work *work, const char *built,
                                     const struct mst_built *made, struct mst_error *err)
{
    for (int32_t n = 0; n < made->file_count; n++) {
        char *flat =
            mst_arena_strndup(work->arena, made->files[n].path, strlen(made->files[n].path));
        const char *from = mst_arena_printf(work->arena, "%s/%s", built, made->files[n].path);
        if (!flat || !from)
            return no_memory(err);
        for (char *at = flat; (at = strchr(at, '/')) != NULL;)
            *at = '-';
        const char *to = mst_arena_printf(work->arena, "%s/%s", work->folder, flat);
        if (!to)
            return no_memory(err);
        if (strcmp(flat, "index.html") == 0)
            unlink(from);
        else if (rename(from, to) != 0)
            return mst_fail(err, MST_IO, "“%.100s” cannot be put where it is to be fetched", flat);
    }
    /* Folders that are empty now. */
    for (int32_t n = 0; n < made->file_count; n++) {
        const char *stroke = strrchr(made->files[n].path, '/');
        const char *path =
            stroke ? mst_arena_printf(work->arena, "%s/%.*s", built,
                                      (int)(stroke - made->files[n].path), made->files[n].path)
                   : NULL;
        if (path)
            rmdir(path);
    }
    rmdir(built);
    return MST_OK;
}

/* --- how its takes are heard ------------------------------------------------------------- */

struct known_voice {
    const char *name;
    struct mst_voice *voice;
    struct known_voice *next;
};
struct lesson_ear {
    struct work *work;
    const struct mst_lesson *lesson;
    struct known_voice *voices; /* opened so far */
};

static enum mst_status voice_find(struct lesson_ear *ear, const char *name,
                                  const struct mst_voice **out, struct mst_error *err)
{
    *out = NULL;
    for (struct known_voice *one = ear->voices; one; one = one->next) {
        if (strcmp(one->name, name) == 0) {
            *out = one->voice;
            return MST_OK;
        }
    }
    struct known_voice *one = mst_arena_alloc(ear->work->arena, 1, sizeof *one);
    if (!one)
        return no_memory(err);
    *one = (struct known_voice){.name = name, .next = ear->voices};
    enum mst_status status = voice_kept(ear->work->desk, name, &one->voice, err);
    if (status != MST_OK)
        return status;
    ear->voices = one;
    *out = one->voice;
    return MST_OK;
}

/* With the voice that the take names, else the lesson's; with the edges set by hand. */
static enum mst_status ear_prepare(void *cls, int32_t n, const struct mst_hearing *hearing,
                                   struct mst_listen_options *io, struct mst_error *err)
{
    struct lesson_ear *ear = cls;
    struct mst_arena *arena = ear->work->arena;
    struct mst_kept_take take;
    struct mst_pin *pins = NULL;
    const char *id = take_named(ear->lesson->takes[n].file, arena);
    enum mst_status status = id ? mst_store_take_get(ear->work->desk->store, id, arena, &take, err)
                                : MST_OK; /* a file of the lesson's own: there is none here */
    if (!id || status != MST_OK)
        return status;
    int own = take.voice && *take.voice;
    const char *name = own ? take.voice : ear->lesson->voice;
    if (name && *name)
        status = voice_find(ear, name, &io->voice, err);
    io->keep_voice = own && take.keep_voice;
    if (status == MST_OK)
        status = take_pins(&take, hearing->script, arena, &pins, &io->pin_count, err);
    io->pins = pins;
    return status;
}

static void result_write(struct mst_string *s, const struct mst_built *made)
{
    js_open(s, NULL, '{');
    js_open(s, "missing", '[');
    for (int32_t n = 0; n < made->missing_count; n++) {
        js_open(s, NULL, '{');
        js_text(s, "part", mst_build_part_id(made->missing[n].part));
        js_text(s, "message", made->missing[n].en);
        js_text(s, "message_ar", made->missing[n].ar);
        js_close(s, '}');
    }
    js_close(s, ']');
    js_close(s, '}');
}

enum mst_status job_lesson(struct work *work, struct mst_error *err)
{
    struct desk *desk = work->desk;
    const char *id = json_string_value(json_object_get(work->input, "lesson"));
    const char *take = json_string_value(json_object_get(work->input, "take"));
    struct mst_build_progress progress = {building, work};
    struct mst_lesson lesson = {0};
    struct lesson_ear hears = {.work = work, .lesson = &lesson};
    struct mst_build_ear ear = {ear_prepare, &hears};
    struct mst_build_options options = {.progress = &progress, .ear = &ear};
    struct mst_typeset *ts = NULL;
    struct mst_built made = {0};
    int zip = 0;
    enum mst_status status = lesson_read(desk, id ? id : "", work->arena, &lesson, err);
    if (status == MST_OK)
        status = make_read(json_object_get(work->input, "make"), &options.parts, &zip, err);
    if (status == MST_OK)
        status = takes_find(desk, &lesson, work->arena, err);
    if (status == MST_OK && take)
        status = take_add(desk, take, &lesson, work->arena, err);
    const char *built = mst_arena_printf(work->arena, "%s/lesson", work->folder);
    const char *packed = mst_arena_printf(work->arena, "%s/lesson.zip", work->folder);
    if (status == MST_OK && (!built || !packed))
        status = no_memory(err);
    if (status == MST_OK)
        status = typeset_borrow(desk, &ts, err);
    work_stage(work, "handout", 0, 1);
    options.zip = zip ? packed : NULL;
    if (status == MST_OK)
        status =
            mst_lesson_build(desk->text, ts, &lesson, built, &options, work->arena, &made, err);
    if (status == MST_OK)
        status = files_lay_out(work, built, &made, err);
    if (status == MST_OK)
        result_write(&work->result, &made);
    for (struct known_voice *one = hears.voices; one; one = one->next)
        mst_voice_free(one->voice);
    typeset_give_back(desk, ts);
    return status;
}
