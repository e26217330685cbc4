/* hear.c – a kept take listened to as its teacher set it up. */
#include "hear.h"

#include <mistara/shelf.h>
#include <stdio.h>

enum mst_status take_pins(const struct mst_kept_take *take, const struct mst_script *script,
                          struct mst_arena *arena, struct mst_pin **out, size_t *count,
                          struct mst_error *err)
{
    json_t *pins = json_loads(take->pins, 0, NULL), *pin;
    size_t n;
    *count = 0;
    *out = mst_arena_alloc(arena, json_array_size(pins) + 1, sizeof **out);
    enum mst_status status = *out ? MST_OK : no_memory(err);
    json_array_foreach(pins, n, pin)
    {
        struct mst_addr at = {0};
        const char *text = json_string_value(json_object_get(pin, "at"));
        if (status != MST_OK || !text ||
            sscanf(text, "%d:%d:%d", &at.sura, &at.verse, &at.word) != 3)
            continue;
        for (int32_t w = 0; w < mst_script_word_count(script); w++) {
            struct mst_addr word = mst_script_word_addr(script, w);
            if (word.sura != at.sura || word.verse != at.verse || word.word != at.word)
                continue;
            (*out)[(*count)++] =
                (struct mst_pin){w, (int32_t)json_integer_value(json_object_get(pin, "sound")),
                                 (int32_t)json_integer_value(json_object_get(pin, "ms"))};
            break;
        }
    }
    json_decref(pins);
    return status;
}

enum mst_status take_hear(struct work *work, const char *id, const struct mst_voice *voice,
                          double from, double to, int listen, struct heard *out,
                          struct mst_error *err)
{
    struct desk *desk = work->desk;
    struct mst_range range;
    struct mst_reading_options how;
    struct mst_ear_progress progress = {work_report, work};
    struct mst_pin *pins = NULL;
    size_t pin_count = 0;
    *out = (struct heard){0};
    enum mst_status status = mst_store_take_get(desk->store, id, work->arena, &out->take, err);
    if (status == MST_OK)
        status = mst_range_parse(desk->text, mst_span_of(out->take.passage), &range, err);
    json_t *options = status == MST_OK ? json_loads(out->take.how, 0, NULL) : NULL;
    if (status == MST_OK)
        status = how_of_json(desk->text, options, work->arena, &how, err);
    out->path =
        status == MST_OK ? mst_store_sound_path(desk->store, out->take.hash, work->arena) : NULL;
    work_stage(work, "reading the sound", from, from + (to - from) * (listen ? 0.3 : 1));
    if (status == MST_OK)
        status =
            mst_hearing_open(desk->text, &out->path, 1, range, &how, &progress, &out->hearing, err);
    if (status == MST_OK)
        status = take_pins(&out->take, out->hearing->script, work->arena, &pins, &pin_count, err);
    struct mst_listen_options listening = {.voice = voice,
                                           .keep_voice = voice && out->take.keep_voice,
                                           .pins = pins,
                                           .pin_count = pin_count,
                                           .given = 1,
                                           .progress = &progress};
    if (listen)
        work_stage(work, "listening", from + (to - from) * 0.3, to);
    if (status == MST_OK && listen)
        status = mst_hearing_listen(out->hearing, &listening, err);
    /* From the book MISMATCH is worth another try; a take that is none of its passage stays so. */
    if (status == MST_MISMATCH)
        err->status = status = MST_BAD_DATA;
    json_decref(options);
    return status;
}

enum mst_status voice_kept(struct desk *desk, const char *name, struct mst_voice **out,
                           struct mst_error *err)
{
    struct mst_shelf *shelf = NULL;
    *out = NULL;
    if (!name || !*name)
        return MST_OK;
    enum mst_status status = mst_shelf_open(mst_store_folder(desk->store), &shelf, err);
    if (status == MST_OK)
        status = mst_shelf_get(shelf, name, out, err);
    mst_shelf_close(shelf);
    return status;
}

enum mst_status take_voice(struct desk *desk, const struct mst_kept_take *take,
                           struct mst_voice **out, struct mst_error *err)
{
    return voice_kept(desk, take->voice, out, err);
}
