/*
 * voice.c – a stored voice: learning it from takes, writing it, reading it.
 *
 * The file (little-endian, floats IEEE 754): "mistara voice\n\0\0", u32
 * version, u32 bytes that follow the checksum, u32 CRC-32 of these; then name
 * (u32 length, bytes), band (2 × f64), seconds (f64), sounds (i32), slots
 * (i32), slot_of (i16 × pdfs), per slot: Gaussians (u8), stay, frames (f32),
 * per Gaussian weight, mean, var; per class median, sd (f32), seen (i32); the
 * weight of lengths and the mean likelihood (f32); the reciter's measured
 * lengths: seconds (f64, 0 = none), way of munfaṣil (u32), per length median,
 * spread (f64), sites (i32), per phone middle (f64), sounds (i32).
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* 3: as 2, but its lengths are measured between edges set as a hand sets them (edges.c). */
enum { VERSION = 3, MAGIC_LEN = 16, HEADER_LEN = MAGIC_LEN + 12, LONGEST_NAME = 400 };
static const char magic[MAGIC_LEN] = "mistara voice\n";

/* CRC-32 of ISO 3309 and PNG, bit by bit: a voice is small. */
static uint32_t crc32_of(const unsigned char *bytes, size_t len)
{
    uint32_t crc = 0xffffffffu;
    for (size_t i = 0; i < len; i++) {
        crc ^= bytes[i];
        for (int bit = 0; bit < 8; bit++)
            crc = crc >> 1 ^ (crc & 1 ? 0xedb88320u : 0);
    }
    return ~crc;
}

/* --- writing --------------------------------------------------------------- */
static void put_u32(struct mst_string *s, uint32_t value)
{
    unsigned char bytes[4];
    for (int i = 0; i < 4; i++)
        bytes[i] = (unsigned char)(value >> 8 * i);
    mst_string_add(s, (const char *)bytes, sizeof bytes);
}

static void put_f32(struct mst_string *s, float value)
{
    uint32_t bits;
    memcpy(&bits, &value, sizeof bits);
    put_u32(s, bits);
}

static void put_f64(struct mst_string *s, double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    put_u32(s, (uint32_t)bits);
    put_u32(s, (uint32_t)(bits >> 32));
}

static void put_floats(struct mst_string *s, const float *values, size_t count)
{
    for (size_t i = 0; i < count; i++)
        put_f32(s, values[i]);
}

static void put_lengths(struct mst_string *s, const struct mst_length_model *l)
{
    put_f64(s, l->speech_seconds);
    put_u32(s, (uint32_t)l->munfasil_way);
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        put_f64(s, l->lengths[k].median_ms);
        put_f64(s, l->lengths[k].spread_log);
        put_u32(s, (uint32_t)l->lengths[k].count);
    }
    for (int phone = 0; phone < MST_PHONE_COUNT; phone++) {
        put_f64(s, l->plain[phone].middle_log);
        put_u32(s, (uint32_t)l->plain[phone].count);
    }
}

static void put_voice(struct mst_string *s, const struct mst_voice *v)
{
    const struct ear_densities *d = &v->model.densities;
    size_t name = strlen(v->name);
    put_u32(s, (uint32_t)name);
    mst_string_add(s, v->name, name);
    put_f64(s, v->band.low_hz);
    put_f64(s, v->band.high_hz);
    put_f64(s, v->speech_seconds);
    put_u32(s, (uint32_t)v->sound_count);
    put_u32(s, (uint32_t)d->slot_count);
    for (int p = 0; p < EAR_PDF_COUNT; p++)
        put_u32(s, (uint32_t)d->slot_of[p]);
    for (int32_t slot = 0; slot < d->slot_count; slot++) {
        put_u32(s, d->mix_of[slot]);
        put_f32(s, d->stay[slot]);
        put_f32(s, d->frames[slot]);
        for (int32_t m = 0; m < d->mix_of[slot]; m++) {
            size_t g = (size_t)slot * EAR_MAX_MIX + (size_t)m;
            put_f32(s, d->weight[g]);
            put_floats(s, d->mean + g * EAR_DIM, EAR_DIM);
            put_floats(s, d->var + g * EAR_DIM, EAR_DIM);
        }
    }
    for (int c = 0; c < EAR_CLASS_COUNT; c++) {
        put_f32(s, v->model.durations.classes[c].median_frames);
        put_f32(s, v->model.durations.classes[c].sd_log);
        put_u32(s, (uint32_t)v->model.durations.classes[c].seen);
    }
    put_f32(s, v->model.durations.weight);
    put_f32(s, v->model.mean_log_likelihood);
    put_lengths(s, &v->lengths);
}

enum mst_status mst_voice_save(const struct mst_voice *v, const char *path, struct mst_error *err)
{
    struct mst_string body = {0}, head = {0};
    struct mst_outfile *file = NULL;
    enum mst_status status;
    put_voice(&body, v);
    mst_string_add(&head, magic, sizeof magic);
    put_u32(&head, VERSION);
    put_u32(&head, (uint32_t)body.len);
    put_u32(&head, crc32_of((const unsigned char *)body.ptr, body.len));
    if (body.failed || head.failed) {
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while storing the voice");
        goto out;
    }
    status = mst_outfile_open(path, &file, err);
    if (status)
        goto out;
    mst_outfile_write(file, head.ptr, head.len);
    mst_outfile_write(file, body.ptr, body.len);
    status = mst_outfile_commit(file, err);
out:
    mst_string_free(&body);
    mst_string_free(&head);
    return status;
}

/* --- reading: nothing in the file is trusted -------------------------------- */
struct reader {
    const unsigned char *at, *end;
    int bad;
};

static uint32_t get_u32(struct reader *r)
{
    if (r->end - r->at < 4) {
        r->bad = 1;
        return 0;
    }
    uint32_t value = 0;
    for (int i = 0; i < 4; i++)
        value |= (uint32_t)r->at[i] << 8 * i;
    r->at += 4;
    return value;
}

/* A finite float; others make the file bad. */
static float get_f32(struct reader *r)
{
    uint32_t bits = get_u32(r);
    float value;
    memcpy(&value, &bits, sizeof value);
    if (!isfinite(value)) {
        r->bad = 1;
        return 0;
    }
    return value;
}

static double get_f64(struct reader *r)
{
    uint64_t bits = get_u32(r);
    bits |= (uint64_t)get_u32(r) << 32;
    double value;
    memcpy(&value, &bits, sizeof value);
    if (!isfinite(value)) {
        r->bad = 1;
        return 0;
    }
    return value;
}

static float get_between(struct reader *r, float low, float high)
{
    float value = get_f32(r);
    if (!(value >= low && value <= high)) {
        r->bad = 1;
        return low;
    }
    return value;
}

static void get_slot(struct reader *r, struct ear_densities *d, size_t slot)
{
    uint32_t mix = get_u32(r);
    if (mix < 1 || mix > EAR_MAX_MIX) {
        r->bad = 1;
        return;
    }
    d->mix_of[slot] = (uint8_t)mix;
    d->stay[slot] = get_between(r, 0.01f, 0.999f);
    d->frames[slot] = get_between(r, 0, 1e9f);
    for (size_t m = 0; m < mix; m++) {
        size_t g = slot * EAR_MAX_MIX + m;
        d->weight[g] = get_between(r, 0, 1.0001f);
        for (size_t k = 0; k < EAR_DIM; k++)
            d->mean[g * EAR_DIM + k] = get_between(r, -1e4f, 1e4f);
        for (size_t k = 0; k < EAR_DIM; k++)
            d->var[g * EAR_DIM + k] = get_between(r, 1e-6f, 1e6f);
    }
}

static double get_f64_between(struct reader *r, double low, double high)
{
    double value = get_f64(r);
    if (!(value >= low && value <= high)) {
        r->bad = 1;
        return low;
    }
    return value;
}

static int32_t get_count(struct reader *r)
{
    uint32_t count = get_u32(r);
    if (count > 10000000) {
        r->bad = 1;
        return 0;
    }
    return (int32_t)count;
}

static void get_lengths(struct reader *r, struct mst_length_model *l)
{
    l->speech_seconds = get_f64_between(r, 0, 1e7);
    l->munfasil_way = (int)get_u32(r);
    if (l->munfasil_way != 0 && l->munfasil_way != 2 && l->munfasil_way != 4)
        r->bad = 1;
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        l->lengths[k].median_ms = get_f64_between(r, 0, 1e5);
        l->lengths[k].spread_log = get_f64_between(r, 0, 10);
        l->lengths[k].count = get_count(r);
        if (l->lengths[k].count > 0 && l->lengths[k].median_ms <= 0)
            r->bad = 1;
    }
    for (int phone = 0; phone < MST_PHONE_COUNT; phone++) {
        l->plain[phone].middle_log = get_f64_between(r, -20, 20);
        l->plain[phone].count = get_count(r);
    }
}

static enum mst_status get_voice(struct reader *r, struct mst_voice *v, struct mst_error *err)
{
    struct ear_densities *d = &v->model.densities;
    uint32_t name = get_u32(r);
    if (r->bad || name > LONGEST_NAME || (size_t)(r->end - r->at) < name) {
        r->bad = 1;
        return MST_OK;
    }
    v->name = strndup((const char *)r->at, name);
    if (!v->name)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the voice");
    r->at += name;
    v->band.low_hz = get_f64(r);
    v->band.high_hz = get_f64(r);
    v->speech_seconds = get_f64(r);
    v->sound_count = (int32_t)get_u32(r);
    uint32_t slots = get_u32(r);
    if (r->bad || slots < 1 || slots > EAR_PDF_COUNT) {
        r->bad = 1;
        return MST_OK;
    }
    enum mst_status status = ear_densities_make(d, (int32_t)slots, err);
    if (status)
        return status;
    for (int p = 0; p < EAR_PDF_COUNT; p++) {
        uint32_t slot = get_u32(r);
        if (slot >= slots)
            r->bad = 1;
        d->slot_of[p] = (int16_t)(slot < slots ? slot : 0);
    }
    for (size_t slot = 0; slot < slots && !r->bad; slot++)
        get_slot(r, d, slot);
    for (int c = 0; c < EAR_CLASS_COUNT; c++) {
        v->model.durations.classes[c] = (struct ear_duration){
            get_between(r, 0, 1e5f), get_between(r, 0, 10), (int32_t)get_u32(r)};
    }
    v->model.durations.weight = get_between(r, 0, 1000);
    v->model.mean_log_likelihood = get_f32(r);
    get_lengths(r, &v->lengths);
    if (r->bad || r->at != r->end) {
        r->bad = 1;
        return MST_OK;
    }
    status = ear_densities_pack(d, err);
    return status ? status : ear_durations_tabulate(&v->model.durations, err);
}

enum mst_status mst_voice_load(const char *path, struct mst_voice **out, struct mst_error *err)
{
    struct mst_map map = {0};
    struct mst_voice *v = NULL;
    enum mst_status status = mst_map_open(path, &map, err);
    *out = NULL;
    if (status)
        return status;
    struct reader r = {map.ptr + MAGIC_LEN, map.ptr + map.len, 0};
    if (map.len < HEADER_LEN || memcmp(map.ptr, magic, MAGIC_LEN) != 0) {
        status = mst_fail(err, MST_BAD_DATA, "“%s” is not a stored voice", path);
        goto out;
    }
    uint32_t version = get_u32(&r), len = get_u32(&r), sum = get_u32(&r);
    if (version != VERSION) {
        status = mst_fail(err, MST_BAD_DATA,
                          "the voice “%s” was stored by another version (%u, this one reads %d); "
                          "learn it again",
                          path, version, VERSION);
        goto out;
    }
    if (len != (size_t)(r.end - r.at) || crc32_of(r.at, len) != sum) {
        r.bad = 1;
    } else {
        v = calloc(1, sizeof *v);
        status = v ? get_voice(&r, v, err)
                   : mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the voice");
    }
    if (!status && r.bad)
        status = mst_fail(err, MST_BAD_DATA, "the voice “%s” is damaged; learn it again", path);
    if (!status) {
        v->checksum = sum;
        *out = v;
        v = NULL;
    }
out:
    mst_voice_free(v);
    mst_map_close(&map);
    return status;
}

void mst_voice_keep_lengths(struct mst_voice *v, const struct mst_length_model *lengths)
{
    v->lengths = *lengths;
}

const struct mst_length_model *mst_voice_lengths(const struct mst_voice *v)
{
    return v->lengths.speech_seconds > 0 ? &v->lengths : NULL;
}

void mst_voice_free(struct mst_voice *v)
{
    if (!v)
        return;
    ear_model_clear(&v->model);
    free(v->name);
    free(v);
}

struct mst_voice_info mst_voice_info(const struct mst_voice *v)
{
    struct mst_voice_info info = {.name = v->name,
                                  .speech_seconds = v->speech_seconds,
                                  .sound_count = v->sound_count,
                                  .checksum = v->checksum};
    const int16_t *slot_of = v->model.densities.slot_of;
    for (int m = 1; m < EAR_MODEL_COUNT; m++)
        for (int k = 1; k < EAR_MODEL_COUNT; k++)
            if (k != m && slot_of[k * EAR_STATES] == slot_of[m * EAR_STATES] &&
                (enum ear_model_id)k == ear_model_stand_in((enum ear_model_id)m)) {
                info.missing_count++;
                break;
            }
    return info;
}

/* --- learning -------------------------------------------------------------------- */
#define NO_TAKE SIZE_MAX

struct lesson {
    const struct mst_lesson_take *takes;
    struct ear_graph *graphs;
    struct ear_example *examples;
    struct ear_fit *fits;
    uint8_t *refuge; /* per take: heard as if it begins with the seeking of refuge */
    size_t count;
    const struct mst_voice *from;
    int threads;
    size_t wrong; /* the take that does not hold its passage, when that is why it failed … */
    int unsure;   /* … or is too short to tell */
};

/* What one attempt needs; which takes begin with refuge stays known. */
static void attempt_clear(struct lesson *l)
{
    for (size_t i = 0; i < l->count; i++) {
        if (l->graphs)
            ear_graph_clear(&l->graphs[i]);
        if (l->examples)
            free(l->examples[i].path);
    }
    free(l->graphs);
    free(l->examples);
    free(l->fits);
    l->graphs = NULL;
    l->examples = NULL;
    l->fits = NULL;
}

/* A first path for a take: by its pauses, or as the voice to start from hears it, which can then
 * tell at once whether the take holds its passage. */
static enum mst_status first_path(struct lesson *l, size_t index, struct mst_error *err)
{
    struct ear_example *example = &l->examples[index];
    double score, warp;
    if (!l->from)
        return ear_start_path(example->graph, example->features, l->refuge[index], example->path,
                              &l->fits[index].pause_cost, err);
    const struct ear_model *model = &l->from->model;
    struct mst_features *warped = NULL;
    struct ear_search how = {.beam = 4000, .extras = 0, .threads = l->threads};
    enum mst_status status =
        ear_find_warp(example->graph, model, example->features, l->threads, &warp, err);
    if (!status)
        status = ear_features_warp(example->features, warp, &warped, err);
    if (!status)
        status = ear_viterbi(example->graph, model, warped, &how, example->path, &score, err);
    if (!status)
        status = ear_judge_fit(example->graph, model, warped, example->path, l->threads, 1,
                               &l->fits[index], err);
    mst_features_free(warped);
    return status;
}

static enum mst_status is_wrong(struct lesson *l, size_t index)
{
    l->wrong = index;
    return MST_MISMATCH;
}

/* MISMATCH that names the take and the stretch it may hold instead. */
static enum mst_status refuse_take(const struct lesson *l, struct mst_error *err)
{
    const struct mst_lesson_take *take = &l->takes[l->wrong];
    struct mst_listen_options how = {.voice = l->from, .threads = l->threads};
    struct mst_range found;
    struct mst_error why = {0};
    int any = 0;
    enum mst_status status = MST_OK;
    if (l->unsure)
        return ear_explain_doubt(take->script->range, err);
    status = ear_find_stretch(take->features, take->script, &how, &found, &any, err);
    if (status)
        return status;
    status = ear_explain_misfit(take->script->range, any ? &found : NULL, &why);
    if (l->count == 1)
        return mst_fail(err, status, "%s", why.message);
    return mst_fail(err, status, "take %zu of %zu: %s", l->wrong + 1, l->count, why.message);
}

/* When no path went through: the first take that alone does not hold its passage. */
static enum mst_status find_the_wrong_one(struct lesson *l, struct mst_error *err)
{
    struct mst_listen_options how = {.voice = l->from, .threads = l->threads};
    for (size_t i = 0; i < l->count && l->count > 1; i++) {
        struct ear_fit fit;
        struct mst_error why;
        enum mst_status status =
            ear_hear_passage(l->takes[i].features, l->takes[i].script, &how, &fit, &why);
        if (status == MST_MISMATCH || (!status && (!fit.accepted || fit.refuge > l->refuge[i])))
            return is_wrong(l, i);
        if (status)
            return mst_fail(err, status, "%s", why.message);
    }
    return l->count == 1 ? is_wrong(l, 0) : MST_MISMATCH;
}

/* Does each take hold its passage? A voice learns from noise too, if it is let. To a take that is
 * the smaller part of the lesson the voice is as good as a stored one. */
static enum mst_status judge_takes(struct lesson *l, const struct ear_model *learned,
                                   struct mst_error *err)
{
    size_t frames = 0;
    for (size_t i = 0; i < l->count; i++)
        frames += l->examples[i].features->frame_count;
    for (size_t i = 0; i < l->count; i++) {
        const struct ear_example *e = &l->examples[i];
        int by_voice = 3 * e->features->frame_count < frames;
        enum mst_status status = MST_OK;
        double score;
        if (!l->from && l->count == 1) /* with repeats and words left out, as in listening */
            status = ear_viterbi(
                e->graph, learned, e->features,
                &(struct ear_search){
                    .beam = EAR_BEAM, .extras = 1, .loose_ends = 1, .threads = l->threads},
                e->path, &score, err);
        if (status == MST_MISMATCH)
            return is_wrong(l, i);
        if (!status && !l->from)
            status = ear_judge_fit(e->graph, learned, e->features, e->path, l->threads, by_voice,
                                   &l->fits[i], err);
        if (status)
            return status;
        l->unsure = l->count == 1 && l->fits[i].unsure;
        if (l->unsure || !l->fits[i].accepted)
            return is_wrong(l, i);
    }
    return MST_OK;
}

static enum mst_status lesson_make(struct lesson *l, struct mst_error *err)
{
    l->graphs = calloc(l->count, sizeof *l->graphs);
    l->examples = calloc(l->count, sizeof *l->examples);
    l->fits = calloc(l->count, sizeof *l->fits);
    if (!l->graphs || !l->examples || !l->fits)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while learning a voice");
    for (size_t i = 0; i < l->count; i++) {
        struct ear_example *example = &l->examples[i];
        enum mst_status status = ear_graph_make(&l->graphs[i], l->takes[i].script, err);
        if (status)
            return status;
        example->features = l->takes[i].features;
        example->graph = &l->graphs[i];
        example->path = malloc(example->features->frame_count * sizeof *example->path);
        if (!example->path)
            return mst_fail(err, MST_NO_MEMORY, "memory ran out while learning a voice");
        status = first_path(l, i, err);
        if (status == MST_MISMATCH)
            return is_wrong(l, i);
        if (status)
            return status;
    }
    return MST_OK;
}

/* One attempt at the whole lesson; MISMATCH with l->wrong when a take does not hold its passage. */
static enum mst_status learn_once(struct lesson *l, const struct ear_training *how,
                                  struct ear_model *model, struct mst_error *err)
{
    l->wrong = NO_TAKE;
    l->unsure = 0;
    attempt_clear(l);
    ear_model_clear(model);
    enum mst_status status = lesson_make(l, err);
    if (!status) {
        status = ear_self_train(l->examples, l->count, how, l->from == NULL, model, err);
        if (status == MST_MISMATCH)
            status = find_the_wrong_one(l, err);
    }
    if (!status)
        status = judge_takes(l, model, err);
    return status;
}

/* Pauses alone do not tell whether refuge was sought first; a voice does. So takes are heard as if
 * it was not, and one that then does not hold its passage as if it was. */
static int may_begin_with_refuge(struct lesson *l)
{
    if (l->from || l->wrong == NO_TAKE || l->refuge[l->wrong] ||
        !ear_script_begins_with_refuge(l->takes[l->wrong].script))
        return 0;
    l->refuge[l->wrong] = 1;
    return 1;
}

enum mst_status mst_voice_learn(const struct mst_lesson_take *takes, size_t count, const char *name,
                                const struct mst_learn_options *options, struct mst_voice **out,
                                struct mst_error *err)
{
    struct mst_learn_options o = options ? *options : (struct mst_learn_options){0};
    struct lesson lesson = {
        .takes = takes, .count = count, .from = o.from, .threads = o.threads ? o.threads : 2};
    struct mst_ear_progress still = {ear_stand_still, (void *)o.progress};
    *out = NULL;
    if (count == 0 || !name || strlen(name) > LONGEST_NAME)
        return mst_fail(err, MST_USAGE,
                        "a voice needs a name of at most %d bytes and at least one take",
                        LONGEST_NAME);
    struct mst_voice *v = calloc(1, sizeof *v);
    lesson.refuge = calloc(count, sizeof *lesson.refuge);
    if (v)
        v->name = strdup(name);
    if (!v || !v->name || !lesson.refuge) {
        free(lesson.refuge);
        mst_voice_free(v);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while learning a voice");
    }
    v->band = takes[0].features->options;
    for (size_t i = 0; i < count; i++) {
        v->speech_seconds += mst_features_speech_seconds(takes[i].features);
        lesson.refuge[i] = takes[i].script->refuge_told != 0;
    }
    struct ear_training how = {.duration_weight = EAR_DURATION_WEIGHT,
                               .beam = EAR_BEAM,
                               .threads = lesson.threads,
                               .progress = o.progress,
                               .progress_from = 0,
                               .progress_to = 1};
    enum mst_status status = learn_once(&lesson, &how, &v->model, err);
    while (status == MST_MISMATCH && may_begin_with_refuge(&lesson)) {
        if (o.progress && o.progress->report)
            how.progress = &still;
        status = learn_once(&lesson, &how, &v->model, err);
    }
    if (status == MST_MISMATCH && lesson.wrong != NO_TAKE)
        status = refuse_take(&lesson, err);
    for (int c = 0; c < EAR_CLASS_COUNT && !status; c++)
        v->sound_count += v->model.durations.classes[c].seen;
    if (!status) {
        *out = v;
        v = NULL;
    }
    mst_voice_free(v);
    attempt_clear(&lesson);
    free(lesson.refuge);
    return status;
}
