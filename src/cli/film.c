/* film.c – `mistara film`: from a take to captions, sound to practise with, or a film. */
#include "cli.h"

#include <mistara/film.h>
#include <mistara/report.h>
#include <mistara/shelf.h>
#include <stdlib.h>
#include <string.h>

struct request {
    const char *file, *voice, *pins, *data, *rules, *labels, *font, *stage, *title, *answer, *gap;
    int keep_voice, no_marks, threads, dark, type_size, slow, places, repeats;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"output", 'o', OPTION_TEXT, "FILE",
     "where to write; its ending says what: .mp4 or .webm (a film), .vtt, .srt or .ass "
     "(captions), .wav or .flac (sound to practise with)",
     TARGET(file)},
    {"rules", 0, OPTION_TEXT, "LIST", "show the marks of these rules only", TARGET(rules)},
    {"no-marks", 0, OPTION_FLAG, NULL, "captions: the words alone", TARGET(no_marks)},
    {"labels", 0, OPTION_TEXT, "both|en|ar", "language of the rules' names", TARGET(labels)},
    {"stage", 0, OPTION_TEXT, "0-4|fade",
     "film: how much the marks tell, as for “mistara sheet” (default 1)", TARGET(stage)},
    {"dark", 0, OPTION_FLAG, NULL, "film: light on a dark ground", TARGET(dark)},
    {"font", 0, OPTION_TEXT, "amiri|scheherazade", "film: the type", TARGET(font)},
    {"type-size", 0, OPTION_COUNT, "POINTS", "film: size of the type on a 960-point slide",
     TARGET(type_size)},
    {"title", 0, OPTION_WORDS, "TEXT", "film: a title over the page", TARGET(title)},
    {"slow", 0, OPTION_COUNT, "PERCENT", "sound: at this share of the pace, the pitch kept",
     TARGET(slow)},
    {"answer", 0, OPTION_TEXT, "verse|breath",
     "sound: after each verse or breath a gap to say it in", TARGET(answer)},
    {"places", 0, OPTION_FLAG, NULL,
     "sound: the words of each place of --rules, several times with a gap", TARGET(places)},
    {"repeats", 0, OPTION_COUNT, "N", "sound: how many times each place (default 3)",
     TARGET(repeats)},
    {"gap", 0, OPTION_TEXT, "SHARE", "sound: gap over what was heard (default 1)", TARGET(gap)},
    {"voice", 0, OPTION_TEXT, "NAME",
     "listen with a voice learned before: its name, or a file; for short takes", TARGET(voice)},
    {"keep-voice", 0, OPTION_FLAG, NULL, "use that voice as it is; learn nothing from the take",
     TARGET(keep_voice)},
    {"pins", 0, OPTION_TEXT, "FILE", "edges set by hand, as for “mistara listen”", TARGET(pins)},
    {"data", 0, OPTION_TEXT, "FOLDER", "where learned voices are kept", TARGET(data)},
    {"threads", 0, OPTION_COUNT, "N", "how many threads work (default 2); the result is the same",
     TARGET(threads)},
};
static const struct option_group group = {"Film:", rows, sizeof rows / sizeof rows[0]};

static int ends_with(const char *path, const char *ending)
{
    size_t len = strlen(path), tail = strlen(ending);
    return len > tail && strcmp(path + len - tail, ending) == 0;
}

/* What the ending of the file asks for. */
enum product { CAPTIONS, SOUND, FILM, PRODUCT_NONE };
static enum product product_of(const char *file)
{
    static const struct {
        const char *ending;
        enum product product;
    } endings[] = {{".vtt", CAPTIONS}, {".srt", CAPTIONS}, {".ass", CAPTIONS}, {".wav", SOUND},
                   {".flac", SOUND},   {".mp4", FILM},     {".webm", FILM}};
    for (size_t n = 0; n < sizeof endings / sizeof endings[0]; n++)
        if (ends_with(file, endings[n].ending))
            return endings[n].product;
    return PRODUCT_NONE;
}

/* The request with every word understood. */
struct wishes {
    enum product product;
    enum mst_caption_format format;
    struct mst_caption_options captions;
    struct mst_practice_options practice;
    struct mst_sheet_options sheet;
    struct mst_film_options film;
};

static enum mst_status practice_wishes(const struct request *r, struct mst_practice_options *out,
                                       struct mst_error *err)
{
    static const char *const answers[] = {"verse", "breath", NULL};
    int answer = 0;
    enum mst_status status = choice_read("answer", r->answer, answers, &answer, err);
    if (status == MST_OK && r->answer && r->places)
        status = mst_fail(err, MST_USAGE, "--answer and --places are two kinds of sound; take one");
    if (status != MST_OK)
        return status;
    out->kind = r->places    ? MST_PRACTICE_PLACES
                : !r->answer ? MST_PRACTICE_WHOLE
                : answer     ? MST_PRACTICE_BREATHS
                             : MST_PRACTICE_VERSES;
    out->percent = r->slow;
    out->repeats = r->repeats;
    if (!r->gap)
        return MST_OK;
    char *end;
    out->gap_share = strtod(r->gap, &end);
    if (*end || end == r->gap || !(out->gap_share > 0 && out->gap_share <= 10))
        return mst_fail(err, MST_USAGE, "--gap takes a share such as 1.5; “%.60s” given", r->gap);
    return MST_OK;
}

static enum mst_status sheet_wishes(const struct request *r, enum mst_sheet_labels labels,
                                    struct mst_sheet_options *out, struct mst_error *err)
{
    static const char *const fonts[] = {"amiri", "scheherazade", NULL};
    static const char *const stages[] = {"0", "1", "2", "3", "4", "fade", NULL};
    int font = MST_SHEET_AMIRI_QURAN, stage = MST_FADE_MARKS;
    enum mst_status status = choice_read("font", r->font, fonts, &font, err);
    if (status == MST_OK)
        status = choice_read("stage", r->stage, stages, &stage, err);
    out->page = mst_page_slide();
    out->type_size = r->type_size;
    out->font = (enum mst_sheet_font)font;
    out->fade_evenly = stage == MST_FADE_STAGES;
    out->stage = out->fade_evenly ? MST_FADE_NAMES : (enum mst_fade)stage;
    out->title = mst_span_of(r->title ? r->title : "");
    out->labels = labels;
    out->key = MST_KEY_NONE;
    return status;
}

static enum mst_status wishes_read(const struct request *r, struct wishes *out,
                                   struct mst_error *err)
{
    static const char *const labels[] = {"both", "en", "ar", NULL};
    int chosen = MST_LABELS_BOTH;
    struct mst_rule_set rules = {0};
    *out = (struct wishes){.product = r->file ? product_of(r->file) : PRODUCT_NONE};
    if (!r->file)
        return mst_fail(err, MST_USAGE,
                        "say where it goes, for example: -o film.mp4, words.vtt or slow.wav");
    if (out->product == PRODUCT_NONE)
        return mst_fail(err, MST_USAGE,
                        "“%.100s” ends in none of .mp4, .webm, .vtt, .srt, .ass, .wav, .flac",
                        r->file);
    if (r->threads > 64)
        return mst_fail(err, MST_USAGE, "--threads takes 1 to 64; “%d” given", r->threads);
    enum mst_status status = choice_read("labels", r->labels, labels, &chosen, err);
    if (status == MST_OK && r->rules)
        status = rules_chosen(r->rules, &rules, err);
    if (status == MST_OK)
        status = practice_wishes(r, &out->practice, err);
    if (status == MST_OK)
        status = sheet_wishes(r, (enum mst_sheet_labels)chosen, &out->sheet, err);
    out->format = ends_with(r->file, ".vtt")   ? MST_CAPTION_VTT
                  : ends_with(r->file, ".srt") ? MST_CAPTION_SRT
                                               : MST_CAPTION_ASS;
    out->captions = (struct mst_caption_options){rules, r->no_marks, (enum mst_sheet_labels)chosen};
    out->practice.rules = rules;
    out->sheet.rules = rules;
    out->film.theme = r->dark ? MST_THEME_DARK : MST_THEME_LIGHT;
    return status;
}

static enum mst_status captions_write(const struct mst_hearing *hearing, const struct wishes *w,
                                      const char *file, struct mst_error *err)
{
    struct mst_string text = {0};
    enum mst_status status = mst_captions(hearing->timeline, &w->captions, w->format, &text, err);
    if (status == MST_OK)
        status = mst_file_write(file, text.ptr, text.len, err);
    mst_string_free(&text);
    return status;
}

static enum mst_status sound_write(const struct mst_hearing *hearing, const struct wishes *w,
                                   const char *file, struct mst_error *err)
{
    struct mst_practice practice;
    enum mst_status status =
        mst_practice_make(hearing->take, hearing->timeline, &w->practice, &practice, err);
    if (status != MST_OK)
        return status;
    status = mst_practice_write(&practice, file, err);
    mst_practice_free(&practice);
    return status;
}

static enum mst_status film_write(const struct mst_hearing *hearing, const struct wishes *w,
                                  const char *file, struct mst_error *err)
{
    struct mst_typeset *fonts;
    struct mst_sheet *sheet;
    enum mst_status status = mst_typeset_open(NULL, &fonts, err);
    if (status != MST_OK)
        return status;
    status =
        mst_sheet_new(fonts, hearing->timeline->reading, &w->sheet, hearing->arena, &sheet, err);
    if (status == MST_OK)
        status = mst_film_write(hearing->take, hearing->timeline, sheet, &w->film, file, err);
    mst_typeset_close(fonts);
    return status;
}

static enum mst_status deliver(const struct mst_hearing *hearing, const struct wishes *w,
                               const char *file, struct mst_error *err)
{
    return w->product == CAPTIONS ? captions_write(hearing, w, file, err)
           : w->product == SOUND  ? sound_write(hearing, w, file, err)
                                  : film_write(hearing, w, file, err);
}

static enum mst_status voice_open(const struct request *request, struct mst_voice **out,
                                  struct mst_error *err)
{
    *out = NULL;
    if (!request->voice)
        return request->keep_voice ? mst_fail(err, MST_USAGE, "--keep-voice goes with --voice")
                                   : MST_OK;
    return voice_called(request->voice, request->data, out, err);
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {0};
    struct reading_request how = {0};
    void *const targets[] = {&request, &how};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_voice *voice = NULL;
    struct mst_reading_options reading = {0};
    struct mst_hearing *hearing = NULL;
    struct mst_range passage = {0};
    struct mst_pin *pins = NULL;
    size_t pin_count = 0, word_count;
    struct takes_typed typed = {0};
    struct wishes wishes;
    const char *const *words;
    struct patience patience;

    /* Everything that can be refused at once is, before the long work. */
    enum mst_status status =
        options_read_words(self, argc, argv, targets, arena, &words, &word_count, err);
    if (status == MST_OK)
        status = takes_read(self, words, word_count, arena, &typed, err);
    if (status == MST_OK)
        status = wishes_read(&request, &wishes, err);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = mst_range_parse(text, typed.passage, &passage, err);
    if (status == MST_OK)
        status = reading_options(&how, text, arena, &reading, err);
    if (status == MST_OK)
        status = voice_open(&request, &voice, err);

    patience_begin(&patience);
    struct mst_ear_progress progress = patience_for(&patience, "reading the sound", 0, 0.2);
    if (status == MST_OK)
        status = mst_hearing_open(text, typed.takes, typed.take_count, passage, &reading, &progress,
                                  &hearing, err);
    if (status == MST_OK && request.pins)
        status = mst_pins_read(request.pins, hearing->script, arena, &pins, &pin_count, err);
    progress = patience_for(&patience, "listening", 0.2, 0.5);
    struct mst_listen_options listen = {.voice = voice,
                                        .keep_voice = request.keep_voice,
                                        .pins = pins,
                                        .pin_count = pin_count,
                                        .given = 1,
                                        .progress = &progress,
                                        .threads = request.threads};
    if (status == MST_OK)
        status = mst_hearing_listen(hearing, &listen, err);
    progress = patience_for(&patience, "writing", 0.5, 1);
    wishes.film.progress = &progress;
    if (status == MST_OK)
        status = deliver(hearing, &wishes, request.file, err);
    patience_end(&patience);
    if (status == MST_OK)
        mst_string_addf(&out->text, "%s\n", request.file);
    mst_hearing_close(hearing);
    mst_voice_free(voice);
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_film = {
    .name = "film",
    .arguments = "TAKE… PASSAGE -o FILE",
    .asks = "a recording and the passage it holds, for example: mistara film take.mp3 112 -o x.mp4",
    .summary = "a film, captions or practice sound from a recording",
    .about =
        "Listens to a recording of a known passage and makes from it what the ending of FILE "
        "says:\n"
        "a film in which words and marks light up as they are recited, captions in which the word\n"
        "being said stands out, or sound to practise with. The recording never leaves this "
        "machine.",
    .examples = "  mistara film take.mp3 112 -o ikhlas.mp4                the film of the passage\n"
                "  mistara film take.mp3 78:1-5 -o naba.webm --rules ikhfa,qalqala --dark\n"
                "  mistara film take.mp3 112 -o ikhlas.vtt                captions for a page\n"
                "  mistara film take.mp3 112 -o slow.wav --slow 75        slower, not lower\n"
                "  mistara film take.mp3 67:1-5 -o call.flac --answer breath\n"
                "  mistara film take.mp3 67:1-5 -o places.wav --places --rules ikhfa --slow 75\n",
    .groups = {&group, &reading_group},
    .run = run,
};
