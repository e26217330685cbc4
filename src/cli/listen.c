/* listen.c – `mistara listen`: from a recording to a report of the lengths that were heard. */
#include "cli.h"

#include <mistara/faults.h>
#include <mistara/report.h>
#include <mistara/shelf.h>
#include <stdlib.h>
#include <string.h>

struct request {
    const char *file, *clips, *beside, *beside_passage, *model, *model_passage, *voice, *pins;
    const char *data, *lang, *limits, *site_limit;
    const char *fault_list;
    int keep_voice, class_limit, even_limit, threads, faults;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"output", 'o', OPTION_TEXT, "FILE",
     "write the report to this file instead; its ending says what: .html, .pdf, .json, "
     ".vtt (subtitles), .tsv (a table), .txt (labels for a sound editor)",
     TARGET(file)},
    {"clips", 0, OPTION_TEXT, "FOLDER", "also cut every measured place to a sound file there",
     TARGET(clips)},
    {"model", 0, OPTION_TEXT, "TAKE|NAME",
     "expect the lengths of this take, or of a voice learned before; normally the teacher's",
     TARGET(model)},
    {"model-passage", 0, OPTION_TEXT, "PASSAGE",
     "what the model's take recites (default: the same)", TARGET(model_passage)},
    {"beside", 0, OPTION_TEXT, "TAKE", "a second take to lay beside the first", TARGET(beside)},
    {"beside-passage", 0, OPTION_TEXT, "PASSAGE", "what it recites (default: the same)",
     TARGET(beside_passage)},
    {"voice", 0, OPTION_TEXT, "NAME",
     "start from a voice learned before: its name, or a file; for short takes", TARGET(voice)},
    {"keep-voice", 0, OPTION_FLAG, NULL, "use that voice as it is; learn nothing from the take",
     TARGET(keep_voice)},
    {"faults", 0, OPTION_FLAG, NULL,
     "also look for words left out, doubled or exchanged, and, where --model or --voice names a "
     "voice of somebody else, for sounds said in another way",
     TARGET(faults)},
    {"fault-list", 0, OPTION_TEXT, "FILE", "a list of faults of your own, after that of Mistara",
     TARGET(fault_list)},
    {"pins", 0, OPTION_TEXT, "FILE",
     "edges set by hand: lines of START [END] LABEL as in the .txt report, where the label "
     "begins with an address such as 67:1:3",
     TARGET(pins)},
    {"limits", 0, OPTION_TEXT, "FILE",
     "the three limits below, as lines such as: class-limit 25; the options come before it",
     TARGET(limits)},
    {"class-limit", 0, OPTION_COUNT, "PERCENT",
     "a length this far from the model's stands out (default 25)", TARGET(class_limit)},
    {"even-limit", 0, OPTION_COUNT, "PERCENT",
     "below this share near its middle a length is held unevenly (default 50)", TARGET(even_limit)},
    {"site-limit", 0, OPTION_TEXT, "SPREADS",
     "a place this many spreads from its kind stands out (default 2.6)", TARGET(site_limit)},
    {"data", 0, OPTION_TEXT, "FOLDER", "where learned voices are kept", TARGET(data)},
    {"lang", 0, OPTION_TEXT, "en|ar", "language of the report", TARGET(lang)},
    {"threads", 0, OPTION_COUNT, "N", "how many threads work (default 2); the result is the same",
     TARGET(threads)},
};
static const struct option_group group = {"Listening:", rows, sizeof rows / sizeof rows[0]};

/* A take with the passage it holds, from the command line to its measures. */
struct heard {
    const char *const *paths;
    size_t path_count;
    struct mst_hearing *hearing;
    struct mst_measures *measures;
};

/* What all takes of one run are heard with. */
struct listening {
    const struct mst_text *text;
    const struct mst_reading_options *reading;
    const struct mst_voice *voice;
    const struct request *request;
    struct mst_arena *arena;
    struct patience patience;
    double from, to; /* share of the run that the take at hand takes */
};

static enum mst_status listen_to(struct listening *l, struct heard *heard, struct mst_range passage,
                                 const char *pins_file, struct mst_error *err)
{
    double middle = l->from + 0.3 * (l->to - l->from);
    struct mst_ear_progress progress =
        patience_for(&l->patience, "reading the sound", l->from, middle);
    struct mst_pin *pins = NULL;
    size_t pin_count = 0;
    enum mst_status status = mst_hearing_open(l->text, heard->paths, heard->path_count, passage,
                                              l->reading, &progress, &heard->hearing, err);
    if (status == MST_OK && pins_file)
        status = mst_pins_read(pins_file, heard->hearing->script, l->arena, &pins, &pin_count, err);
    progress = patience_for(&l->patience, "listening", middle, l->to);
    struct mst_listen_options options = {.voice = l->voice,
                                         .keep_voice = l->request->keep_voice,
                                         .pins = pins,
                                         .pin_count = pin_count,
                                         .progress = &progress,
                                         .threads = l->request->threads};
    if (status == MST_OK)
        status = mst_hearing_listen(heard->hearing, &options, err);
    return status;
}

static enum mst_status measure(struct heard *heard, const struct mst_length_model *model,
                               struct mst_error *err)
{
    return mst_measure_by(heard->hearing->timeline, model, heard->hearing->arena, &heard->measures,
                          err);
}

/* A second take named by an option: its passage is the first one's unless said otherwise. */
static enum mst_status listen_to_other(struct listening *l, struct heard *heard, const char *path,
                                       const char *passage, struct mst_range same,
                                       struct mst_error *err)
{
    const char **paths = mst_arena_alloc(l->arena, 1, sizeof *paths);
    if (!paths)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out");
    paths[0] = path;
    *heard = (struct heard){.paths = paths, .path_count = 1};
    enum mst_status status = MST_OK;
    if (passage)
        status = mst_range_parse(l->text, mst_span_of(passage), &same, err);
    if (status == MST_OK)
        status = listen_to(l, heard, same, NULL, err);
    return take_refused(path, status, err);
}

static enum mst_status limits_read(const struct request *request, struct mst_measure_limits *out,
                                   struct mst_error *err)
{
    *out = (struct mst_measure_limits){0};
    if (request->class_limit > 300)
        return mst_fail(err, MST_USAGE, "--class-limit takes 1 to 300 percent; “%d” given",
                        request->class_limit);
    if (request->even_limit > 100)
        return mst_fail(err, MST_USAGE, "--even-limit takes 1 to 100 percent; “%d” given",
                        request->even_limit);
    if (request->threads > 64)
        return mst_fail(err, MST_USAGE, "--threads takes 1 to 64; “%d” given", request->threads);
    enum mst_status status = request->limits ? mst_limits_read(request->limits, out, err) : MST_OK;
    if (request->class_limit > 0)
        out->class_ratio = request->class_limit / 100.0;
    if (request->even_limit > 0)
        out->even_share = request->even_limit / 100.0;
    if (status != MST_OK || !request->site_limit)
        return status;
    char *end;
    out->site_deviation = strtod(request->site_limit, &end);
    if (*end || end == request->site_limit || !(out->site_deviation > 0) ||
        out->site_deviation > 100)
        return mst_fail(err, MST_USAGE, "--site-limit takes a number such as 2.6; “%.60s” given",
                        request->site_limit);
    return MST_OK;
}

static enum mst_status voice_open(const struct request *request, struct mst_voice **out,
                                  struct mst_error *err)
{
    *out = NULL;
    if (!request->voice && request->keep_voice)
        return mst_fail(err, MST_USAGE, "--keep-voice goes with --voice");
    return request->voice ? voice_called(request->voice, request->data, out, err) : MST_OK;
}

/* The model where it is a voice: a name without the ending of a file, or a voice's file. */
static enum mst_status model_voice_open(const struct request *request, struct mst_voice **out,
                                        struct mst_error *err)
{
    static const char ending[] = ".voice";
    *out = NULL;
    if (!request->model)
        return MST_OK;
    size_t len = strlen(request->model), tail = sizeof ending - 1;
    int file = len > tail && strcmp(request->model + len - tail, ending) == 0;
    if (!file && (strchr(request->model, '/') || strchr(request->model, '.')))
        return MST_OK;
    enum mst_status status = voice_called(request->model, request->data, out, err);
    if (status == MST_OK && request->model_passage)
        return mst_fail(err, MST_USAGE,
                        "--model-passage goes with a take; the voice “%.60s” has its lengths with "
                        "it",
                        request->model);
    if (status == MST_OK && !mst_voice_lengths(*out))
        return mst_fail(err, MST_BAD_DATA,
                        "no lengths are kept with the voice “%.60s”; learn it again with "
                        "“mistara voice learn”",
                        request->model);
    return status;
}

/* The list that comes with Mistara, and the teacher's own after it. */
static enum mst_status fault_list(const struct request *request, struct mst_arena *arena,
                                  struct mst_fault_list **out, struct mst_error *err)
{
    const char *paths[2];
    size_t count = 0;
    paths[count] = mst_faults_default_path(arena);
    count += paths[count] != NULL;
    if (request->fault_list)
        paths[count++] = request->fault_list;
    return mst_faults_read(paths, count, arena, out, err);
}

static enum mst_status look_for_faults(const struct listening *l, const struct heard *heard,
                                       const struct mst_voice *judge,
                                       const struct mst_fault_list *list,
                                       struct mst_fault_report **out, struct mst_error *err)
{
    struct mst_similar *similar;
    enum mst_status status = mst_similar_open(l->text, &similar, err);
    if (status == MST_OK)
        status = mst_fault_look(heard->hearing->timeline, heard->hearing->features, judge, list,
                                similar, l->request->threads, l->arena, out, err);
    mst_similar_close(similar);
    return status;
}

static struct mst_report report_of(const struct heard *heard, enum mst_lang lang)
{
    return (struct mst_report){.take_names = heard->paths,
                               .take_count = heard->path_count,
                               .passage = heard->hearing->passage,
                               .take = heard->hearing->take,
                               .quality = &heard->hearing->quality,
                               .measures = heard->measures,
                               .lang = lang};
}

static enum mst_status deliver(const struct mst_report *report, const struct request *request,
                               struct out *out, struct mst_error *err)
{
    size_t clips = 0;
    enum mst_status status = MST_OK;
    if (request->file)
        status = mst_report_write(report, request->file, err);
    if (status == MST_OK && request->clips)
        status = mst_report_clips(report, request->clips, &clips, err);
    if (status != MST_OK)
        return status;
    if (request->file)
        mst_string_addf(&out->text, "%s\n", request->file);
    else
        mst_report_text(report, &out->text);
    if (request->clips)
        mst_string_addf(&out->text, "%s: %zu clips\n", request->clips, clips);
    return MST_OK;
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {0};
    struct reading_request how = {0};
    void *const targets[] = {&request, &how};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_voice *voice = NULL, *model_voice = NULL;
    const struct mst_length_model *expected = NULL;
    struct mst_length_model of_model;
    struct mst_reading_options reading = {0};
    struct mst_measure_limits limits;
    struct takes_typed typed = {0};
    struct mst_range passage = {0};
    struct heard heard = {0}, model = {0}, beside = {0};
    struct mst_comparison *comparison = NULL;
    struct mst_finding *findings = NULL;
    struct mst_fault_list *list = NULL;
    struct mst_fault_report *faults = NULL;
    size_t finding_count = 0, word_count;
    const char *const *words;
    enum mst_lang lang = MST_LANG_EN;

    /* Everything that can be refused at once is, before the long work. */
    enum mst_status status =
        options_read_words(self, argc, argv, targets, arena, &words, &word_count, err);
    if (status == MST_OK)
        status = takes_read(self, words, word_count, arena, &typed, err);
    if (status == MST_OK)
        status = lang_chosen(request.lang, &lang, err);
    if (status == MST_OK)
        status = limits_read(&request, &limits, err);
    if (status == MST_OK && request.file)
        status = mst_report_check_path(request.file, err);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = mst_range_parse(text, typed.passage, &passage, err);
    if (status == MST_OK)
        status = reading_options(&how, text, arena, &reading, err);
    if (status == MST_OK)
        status = voice_open(&request, &voice, err);
    if (status == MST_OK)
        status = model_voice_open(&request, &model_voice, err);
    if (status == MST_OK && request.fault_list && !request.faults)
        status = mst_fail(err, MST_USAGE, "--fault-list goes with --faults");
    if (status == MST_OK && request.faults)
        status = fault_list(&request, arena, &list, err);
    if (status == MST_OK && model_voice)
        expected = mst_voice_lengths(model_voice);

    int model_take = request.model && !model_voice;
    int takes = 1 + model_take + (request.beside != NULL);
    struct listening l = {.text = text,
                          .reading = &reading,
                          .voice = voice,
                          .request = &request,
                          .arena = arena,
                          .to = 1.0 / takes};
    patience_begin(&l.patience);
    if (status == MST_OK) {
        heard.paths = typed.takes;
        heard.path_count = typed.take_count;
        status = listen_to(&l, &heard, passage, request.pins, err);
    }
    if (status == MST_OK && model_take) {
        l.from = l.to, l.to += 1.0 / takes;
        status = listen_to_other(&l, &model, request.model, request.model_passage, passage, err);
        if (status == MST_OK)
            status = measure(&model, NULL, err);
        const struct mst_measures *measures = model.measures;
        if (status == MST_OK)
            status = mst_length_model_make(&measures, 1, &of_model, err);
        expected = &of_model;
    }
    if (status == MST_OK)
        status = measure(&heard, expected, err);
    if (status == MST_OK && request.beside) {
        l.from = l.to, l.to = 1;
        status = listen_to_other(&l, &beside, request.beside, request.beside_passage, passage, err);
        if (status == MST_OK)
            status = measure(&beside, expected, err);
        if (status == MST_OK)
            status = mst_compare(heard.measures, beside.measures, arena, &comparison, err);
    }
    if (status == MST_OK)
        status = mst_find(heard.measures, &limits, arena, &findings, &finding_count, err);
    if (status == MST_OK && request.faults)
        status = look_for_faults(&l, &heard, model_voice ? model_voice : voice, list, &faults, err);
    patience_end(&l.patience);
    if (status == MST_OK) {
        struct mst_report report = report_of(&heard, lang), other;
        report.findings = findings;
        report.finding_count = finding_count;
        report.faults = faults;
        report.model_name = request.model;
        if (comparison) {
            other = report_of(&beside, lang);
            report.beside = &other;
            report.comparison = comparison;
        }
        status = deliver(&report, &request, out, err);
    }
    mst_hearing_close(heard.hearing);
    mst_hearing_close(model.hearing);
    mst_hearing_close(beside.hearing);
    mst_voice_free(voice);
    mst_voice_free(model_voice);
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_listen = {
    .name = "listen",
    .arguments = "TAKE… PASSAGE",
    .asks = "a recording and the passage it holds, for example: mistara listen take.mp3 67:1-5",
    .summary = "how long each place was held in a recording",
    .about =
        "Listens to a recording of a known passage and measures how long every place was held,\n"
        "in the reciter's own measure. Several files are joined to one take. Stops, repeats and\n"
        "words left out are found; --stops is not needed. The recording never leaves this\n"
        "machine. What is printed are measurements: a qualified teacher decides.",
    .examples =
        "  mistara listen take.mp3 67:1-5                       a short report\n"
        "  mistara listen take.mp3 67:1-5 -o report.html        a page with everything drawn\n"
        "  mistara listen learner.m4a 67:1-5 --model teacher    by a learned voice's lengths\n"
        "  mistara listen learner.m4a 67:1-5 --model teacher.mp3 --voice teacher\n"
        "  mistara listen teacher.mp3 67:1-5 --beside learner.m4a -o both.pdf\n"
        "  mistara listen take.mp3 78 --clips places            every place as a sound file\n"
        "  mistara listen take.mp3 67:1-5 -o words.vtt          subtitles, a word at a time\n",
    .groups = {&group, &reading_group},
    .run = run,
};
