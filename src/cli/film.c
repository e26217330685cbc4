/* film.c – `mistara film`: from a take to captions or a film of its passage. */
#include "cli.h"

#include <mistara/film.h>
#include <mistara/report.h>
#include <mistara/shelf.h>
#include <string.h>

struct request {
    const char *file, *voice, *pins, *data, *rules, *labels;
    int keep_voice, no_marks, threads;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"output", 'o', OPTION_TEXT, "FILE",
     "where to write; its ending says what: .vtt, .srt or .ass (captions)", TARGET(file)},
    {"rules", 0, OPTION_TEXT, "LIST", "show the marks of these rules only", TARGET(rules)},
    {"no-marks", 0, OPTION_FLAG, NULL, "the words alone", TARGET(no_marks)},
    {"labels", 0, OPTION_TEXT, "both|en|ar", "language of the rules' names", TARGET(labels)},
    {"voice", 0, OPTION_TEXT, "NAME",
     "listen with a voice learned before: its name, or a file; for short takes", TARGET(voice)},
    {"keep-voice", 0, OPTION_FLAG, NULL, "use that voice as it is; learn nothing from the take",
     TARGET(keep_voice)},
    {"pins", 0, OPTION_TEXT, "FILE", "edges set by hand, as for “mistara listen”", TARGET(pins)},
    {"data", 0, OPTION_TEXT, "FOLDER", "where learned voices are kept", TARGET(data)},
    {"threads", 0, OPTION_NUMBER, "N", "how many threads work (default 2); the result is the same",
     TARGET(threads)},
};
static const struct option_group group = {"Film:", rows, sizeof rows / sizeof rows[0]};

static int ends_with(const char *path, const char *ending)
{
    size_t len = strlen(path), tail = strlen(ending);
    return len > tail && strcmp(path + len - tail, ending) == 0;
}

static enum mst_status captions_write(const struct mst_timeline *timeline,
                                      const struct request *request, struct mst_error *err)
{
    static const char *const labels[] = {"both", "en", "ar", NULL};
    int chosen = MST_LABELS_BOTH;
    struct mst_caption_options options = {.no_marks = request->no_marks};
    enum mst_caption_format format = ends_with(request->file, ".vtt")   ? MST_CAPTION_VTT
                                     : ends_with(request->file, ".srt") ? MST_CAPTION_SRT
                                                                        : MST_CAPTION_ASS;
    struct mst_string text = {0};
    enum mst_status status = choice_read("--labels", request->labels, labels, &chosen, err);
    options.labels = (enum mst_sheet_labels)chosen;
    if (status == MST_OK && request->rules)
        status = rules_chosen(request->rules, &options.rules, err);
    if (status == MST_OK)
        status = mst_captions(timeline, &options, format, &text, err);
    if (status == MST_OK)
        status = mst_file_write(request->file, text.ptr, text.len, err);
    mst_string_free(&text);
    return status;
}

static enum mst_status ending_check(const char *file, struct mst_error *err)
{
    static const char *const endings[] = {".vtt", ".srt", ".ass"};
    if (!file)
        return mst_fail(err, MST_USAGE,
                        "say where the film goes, for example: -o film.vtt, .srt or .ass");
    for (size_t n = 0; n < sizeof endings / sizeof endings[0]; n++)
        if (ends_with(file, endings[n]))
            return MST_OK;
    return mst_fail(err, MST_USAGE, "“%.100s” ends in none of .vtt, .srt, .ass", file);
}

static enum mst_status voice_open(const struct request *request, struct mst_voice **out,
                                  struct mst_error *err)
{
    const char *name = request->voice;
    *out = NULL;
    if (!name)
        return request->keep_voice ? mst_fail(err, MST_USAGE, "--keep-voice goes with --voice")
                                   : MST_OK;
    if (strchr(name, '/') || strchr(name, '.'))
        return mst_voice_load(name, out, err);
    struct mst_shelf *shelf;
    enum mst_status status = mst_shelf_open(request->data, &shelf, err);
    if (status == MST_OK)
        status = mst_shelf_get(shelf, name, out, err);
    mst_shelf_close(shelf);
    return status;
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
    const char *const *words;
    struct patience patience;

    /* Everything that can be refused at once is, before the long work. */
    enum mst_status status =
        options_read_words(self, argc, argv, targets, arena, &words, &word_count, err);
    if (status == MST_OK)
        status = takes_read(self, words, word_count, arena, &typed, err);
    if (status == MST_OK)
        status = ending_check(request.file, err);
    if (status == MST_OK && (request.threads < 0 || request.threads > 64))
        status = mst_fail(err, MST_USAGE, "--threads takes 1 to 64; “%d” given", request.threads);
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
                                        .progress = &progress,
                                        .threads = request.threads};
    if (status == MST_OK)
        status = mst_hearing_listen(hearing, &listen, err);
    if (status == MST_OK)
        status = captions_write(hearing->timeline, &request, err);
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
    .asks = "a recording and the passage it holds, for example: mistara film take.mp3 112 -o x.vtt",
    .summary = "captions of a recording, word by word",
    .about = "Listens to a recording of a known passage and writes captions for it: the words of\n"
             "each breath, the word being said in bold, and the marks while they sound.\n"
             "The recording never leaves this machine.",
    .examples = "  mistara film take.mp3 112 -o ikhlas.vtt     captions for a page in the browser\n"
                "  mistara film take.mp3 78 -o naba.ass --rules ikhfa,qalqala\n",
    .groups = {&group, &reading_group},
    .run = run,
};
