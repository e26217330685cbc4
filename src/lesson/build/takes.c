/*
 * takes.c – what a lesson's recordings become: each is heard once, then come
 * its captions, the sound to practise with, and its film. A recording that
 * cannot be used is named as missing with the ear's own sentence; the rest is
 * made all the same.
 */
#include "parts.h"

#include <mistara/film.h>
#include <mistara/report.h>
#include <stdio.h>
#include <string.h>

enum { NAME_SIZE = 160 };

/* "Teacher, slow" → "teacher-slow"; other scripts are kept. */
static void file_name(const char *name, int32_t nth, char out[64])
{
    size_t n = 0;
    for (const char *c = name; *c && n < 40; c++) {
        unsigned char u = (unsigned char)*c;
        if (u >= 'A' && u <= 'Z')
            u = (unsigned char)(u - 'A' + 'a');
        int plain = (u >= 'a' && u <= 'z') || (u >= '0' && u <= '9') || u >= 0x80;
        if (plain)
            out[n++] = (char)u;
        else if (n && out[n - 1] != '-')
            out[n++] = '-';
    }
    while (n && ((unsigned char)out[n - 1] & 0xC0) == 0x80 && n >= 38) /* whole characters only */
        n--;
    if (n && n >= 38 && (unsigned char)out[n - 1] >= 0xC0)
        n--;
    while (n && out[n - 1] == '-')
        n--;
    out[n] = '\0';
    snprintf(out + n, 64 - n, "%stake-%d", n ? "-" : "", (int)nth + 1);
}

/* --- captions ------------------------------------------------------------------------- */

static enum mst_status captions(struct build *b, const struct mst_hearing *h, const char *name)
{
    static const struct {
        enum mst_caption_format format;
        const char *ending, *en, *ar;
    } formats[] = {
        {MST_CAPTION_VTT, "vtt", "Captions for the browser (WebVTT)", "تعليقات للمتصفح (WebVTT)"},
        {MST_CAPTION_SRT, "srt", "Captions for players (SubRip)", "تعليقات للمشغّلات (SubRip)"},
        {MST_CAPTION_ASS, "ass", "Captions with styles (ASS)", "تعليقات منسّقة (ASS)"}};
    struct mst_caption_options options = {.rules = b->l->rules, .labels = mst_lesson_labels(b->l)};
    enum mst_status status = mst_build_subfolder(b, "captions");
    for (int n = 0; status == MST_OK && n < 3; n++) {
        struct mst_string text = {0};
        char path[NAME_SIZE];
        snprintf(path, sizeof path, "captions/%s-%s.%s", b->prefix, name, formats[n].ending);
        status = mst_captions(h->timeline, &options, formats[n].format, &text, b->err);
        if (status == MST_OK)
            status = mst_build_file_write(b, path, formats[n].en, formats[n].ar, &text);
        else
            mst_string_free(&text);
    }
    return status;
}

/* --- sound ------------------------------------------------------------------------------ */

static const struct {
    struct mst_practice_options options;
    const char *name, *en, *ar;
} tracks[] = {
    {{.percent = 60},
     "slow-60",
     "The recording at 60 % of its pace, the pitch kept",
     "التسجيل بستين في المئة من سرعته دون تغيير طبقته"},
    {{.percent = 75},
     "slow-75",
     "The recording at 75 % of its pace, the pitch kept",
     "التسجيل بخمسة وسبعين في المئة من سرعته دون تغيير طبقته"},
    {{.percent = 90},
     "slow-90",
     "The recording at 90 % of its pace, the pitch kept",
     "التسجيل بتسعين في المئة من سرعته دون تغيير طبقته"},
    {{.kind = MST_PRACTICE_PLACES},
     "places-to-repeat",
     "Each place of the rule several times, each with a gap to repeat it in",
     "كل موضع من مواضع الحكم مرات، وبعد كل مرة سكوت للإعادة"},
    {{.kind = MST_PRACTICE_PHRASES, .percent = 75},
     "examples-to-repeat",
     "Each example several times, slowly, each with a gap to repeat it in",
     "كل مثال مرات بتمهل، وبعد كل مرة سكوت للإعادة"},
    {{.kind = MST_PRACTICE_BREATHS},
     "call-and-answer",
     "Call and answer: each breath, then a gap to say it in",
     "اسمع وأعد: كل نَفَس وبعده سكوت لقراءته"},
};
enum { TRACKS = sizeof tracks / sizeof tracks[0] };

static enum mst_status practice(struct build *b, const struct mst_hearing *h, const char *name)
{
    enum mst_status status = mst_build_subfolder(b, "sound");
    struct mst_range *phrases =
        mst_arena_alloc(b->arena, (size_t)b->l->example_count + 1, sizeof *phrases);
    if (!phrases)
        return mst_build_no_memory(b->err);
    for (int32_t n = 0; n < b->l->example_count; n++)
        phrases[n] = b->l->examples[n].range;
    for (int n = 0; status == MST_OK && n < TRACKS; n++) {
        struct mst_practice_options options = tracks[n].options;
        struct mst_practice made = {0};
        char path[NAME_SIZE];
        options.rules = b->l->rules;
        options.phrases = phrases;
        options.phrase_count = (size_t)b->l->example_count;
        snprintf(path, sizeof path, "sound/%s-%s-%s.flac", b->prefix, name, tracks[n].name);
        status = mst_practice_make(h->take, h->timeline, &options, &made, b->err);
        if (status == MST_NOT_FOUND && options.kind == MST_PRACTICE_PHRASES) {
            status = MST_OK; /* examples are mostly from elsewhere */
            continue;
        }
        if (status == MST_NOT_FOUND) {
            status = mst_build_missing(
                b, mst_arena_printf(b->arena, "“%s” holds no place of the rule to repeat.", name),
                mst_arena_printf(b->arena, "ليس في «%s» موضع للحكم يُعاد.", name));
            continue;
        }
        if (status == MST_OK) {
            const char *at = mst_build_file(b, path, tracks[n].en, tracks[n].ar);
            status = at ? mst_practice_write(&made, at, b->err) : mst_build_no_memory(b->err);
        }
        mst_practice_free(&made);
        if (status == MST_OK)
            status = mst_build_tell(b, (n + 1.0) / TRACKS);
    }
    return status;
}

/* Worth going on without: the recording is at fault, not the machine. */
static int of_the_recording(enum mst_status status)
{
    return status == MST_MISMATCH || status == MST_BAD_DATA || status == MST_NOT_FOUND ||
           status == MST_UNSUPPORTED || status == MST_USAGE;
}

/* --- film --------------------------------------------------------------------------------- */

/* The passage that the take is a reading of: its stops are the take's too. */
static const struct mst_lesson_passage *passage_of(const struct mst_lesson *l,
                                                   struct mst_range range)
{
    char wanted_range[96], other[96];
    mst_range_print(range, wanted_range);
    for (int32_t n = 0; n < l->passage_count; n++)
        if (strcmp(wanted_range, mst_range_print(l->passages[n].range, other)) == 0)
            return &l->passages[n];
    return NULL;
}

static enum mst_status film(struct build *b, struct mst_hearing *const *hearings)
{
    struct build_share share = {b, 0, 1};
    struct mst_ear_progress progress = mst_build_share(&share);
    struct mst_lesson_film_options options = {.scenes = b->options->scenes, .progress = &progress};
    char path[NAME_SIZE];
    snprintf(path, sizeof path, "film/%s-film.%s", b->prefix, b->options->webm ? "webm" : "mp4");
    enum mst_status status = mst_build_step(b, MST_BUILD_FILM, FILM_WEIGHT * b->l->take_count);
    if (status == MST_OK)
        status = mst_build_subfolder(b, "film");
    if (status != MST_OK)
        return status;
    const char *under_way = mst_arena_printf(b->arena, "%s/%s", b->folder, path);
    if (!under_way)
        return mst_build_no_memory(b->err);
    status = mst_lesson_film_write(b->text, b->typeset, b->l,
                                   (const struct mst_hearing *const *)hearings, &options, under_way,
                                   b->err);
    if (of_the_recording(status)) { /* the narration, that is */
        mst_build_subfolder_drop(b);
        return mst_build_missing(b, mst_arena_printf(b->arena, "No film: %s", b->err->message),
                                 mst_arena_printf(b->arena, "لا فيلم: %s", b->err->message));
    }
    if (status != MST_OK)
        return status;
    return mst_build_file(b, path,
                          "The lesson as a film: words and marks light up as they are recited",
                          "الدرس مصورًا: تُضيء الكلمات والعلامات حين تُتلى")
               ? MST_OK
               : mst_build_no_memory(b->err);
}

/* --- a take ----------------------------------------------------------------------------------- */

static enum mst_status hear(struct build *b, int32_t n, struct mst_hearing **out)
{
    const struct mst_lesson_recording *take = &b->l->takes[n];
    const struct mst_build_ear *ear = b->options->ear;
    struct build_share share = {b, 0, 0.3};
    struct mst_ear_progress progress = mst_build_share(&share);
    const struct mst_lesson_passage *p = passage_of(b->l, take->range);
    struct mst_reading_options reading = p ? mst_lesson_reading(b->l, p) : b->l->reading;
    struct mst_listen_options listen = {0};
    if (b->options->listen)
        listen = *b->options->listen;
    listen.given = 1;
    enum mst_status status =
        mst_hearing_open(b->text, &take->path, 1, take->range, &reading, &progress, out, b->err);
    if (status == MST_OK && ear)
        status = ear->prepare(ear->user, n, *out, &listen, b->err);
    share.from = 0.3;
    share.to = 1;
    listen.progress = &progress;
    return status == MST_OK ? mst_hearing_listen(*out, &listen, b->err) : status;
}

/* What listening is said to be for. */
static enum mst_build_part first_part(const struct build *b)
{
    return mst_build_wants(b, MST_BUILD_CAPTIONS)   ? MST_BUILD_CAPTIONS
           : mst_build_wants(b, MST_BUILD_PRACTICE) ? MST_BUILD_PRACTICE
                                                    : MST_BUILD_FILM;
}

/* *kept: the take as it was heard, for the film; NULL where it cannot be used. */
static enum mst_status take_make(struct build *b, int32_t n, struct mst_hearing **kept)
{
    static const struct {
        enum mst_build_part part;
        double weight;
        enum mst_status (*make)(struct build *, const struct mst_hearing *, const char *);
    } made[] = {{MST_BUILD_CAPTIONS, CAPTIONS_WEIGHT, captions},
                {MST_BUILD_PRACTICE, PRACTICE_WEIGHT, practice}};
    const struct mst_lesson_recording *take = &b->l->takes[n];
    struct mst_hearing *h = NULL;
    char name[64];
    enum mst_status status = mst_build_step(b, first_part(b), LISTEN_WEIGHT);
    if (status == MST_OK && !take->path)
        return mst_build_missing(
            b,
            mst_arena_printf(b->arena, "“%s”: its file “%s” was not looked for.", take->name,
                             take->file),
            mst_arena_printf(b->arena, "«%s»: لم يُبحث عن ملفه «%s».", take->name, take->file));
    if (status == MST_OK)
        status = hear(b, n, &h);
    if (of_the_recording(status)) {
        status =
            mst_build_missing(b,
                              mst_arena_printf(b->arena, "No captions, sound or film of “%s”: %s",
                                               take->name, b->err->message),
                              mst_arena_printf(b->arena, "لا تعليقات ولا صوت ولا فيلم من «%s»: %s",
                                               take->name, b->err->message));
        mst_hearing_close(h);
        return status;
    }
    file_name(take->name, n, name);
    for (int k = 0; status == MST_OK && k < 2; k++) {
        if (!mst_build_wants(b, made[k].part))
            continue;
        status = mst_build_step(b, made[k].part, made[k].weight);
        if (status == MST_OK)
            status = made[k].make(b, h, name);
    }
    *kept = h;
    return status;
}

enum mst_status mst_build_takes(struct build *b)
{
    enum mst_status status = MST_OK;
    if (b->l->take_count == 0) {
        b->part = first_part(b);
        return mst_build_missing(
            b,
            "Captions, sound to practise with and film need a recording of "
            "the passage; name it under [takes] and build again.",
            "التعليقات والصوت للتدريب والفيلم تحتاج إلى تسجيل للمقطع؛ اكتب اسمه "
            "تحت [takes] ثم ابنِ الدرس من جديد.");
    }
    struct mst_hearing **hearings =
        mst_arena_alloc(b->arena, (size_t)b->l->take_count + 1, sizeof *hearings);
    if (!hearings)
        return mst_build_no_memory(b->err);
    int heard = 0;
    for (int32_t n = 0; status == MST_OK && n < b->l->take_count; n++) {
        status = take_make(b, n, &hearings[n]);
        heard += hearings[n] != NULL;
    }
    if (status == MST_OK && heard > 0 && mst_build_wants(b, MST_BUILD_FILM))
        status = film(b, hearings);
    for (int32_t n = 0; n < b->l->take_count; n++)
        mst_hearing_close(hearings[n]);
    return status;
}
