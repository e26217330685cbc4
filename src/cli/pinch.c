/* pinch.c – `mistara pinch`: one passage twice, the second time with the nose shut. */
#include "cli.h"

#include <mistara/faults.h>
#include <mistara/report.h>
#include <string.h>

struct request {
    const char *voice, *data, *lang;
    int json, threads;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"voice", 0, OPTION_TEXT, "NAME",
     "listen with a voice learned before: its name, or a file; without it the voice is learned "
     "from the first take, which then should last two minutes",
     TARGET(voice)},
    {"data", 0, OPTION_TEXT, "FOLDER", "where learned voices are kept", TARGET(data)},
    {"json", 0, OPTION_FLAG, NULL, "JSON Lines: a hold each, then the sum", TARGET(json)},
    {"lang", 0, OPTION_TEXT, "en|ar", "language of the report", TARGET(lang)},
    {"threads", 0, OPTION_COUNT, "N", "how many threads work (default 2); the result is the same",
     TARGET(threads)},
};
static const struct option_group group = {"The comparison:", rows, sizeof rows / sizeof rows[0]};

static const char *rule_of(const struct mst_reading *r, const struct mst_pinch_site *s,
                           enum mst_lang lang)
{
    return s->site_idx >= 0 ? mst_rule_name((enum mst_rule)r->sites[s->site_idx].rule, lang) : "";
}

static void decibels(struct mst_string *s, const char *key, double db)
{
    json_key(s, key);
    mst_string_addf(s, "%.1f", db);
}

static void print_json(const struct mst_pinch *p, const struct mst_timeline *open,
                       const struct mst_timeline *pinched, struct out *out)
{
    char at[48];
    for (int32_t i = 0; i < p->site_count; i++) {
        const struct mst_pinch_site *s = &p->sites[i];
        struct mst_string *text = &out->text;
        mst_string_adds(text, "{");
        json_text(text, "at", mst_span_of(mst_addr_print(s->at, at)));
        json_text_or_null(
            text, "rule",
            mst_span_of(s->site_idx < 0
                            ? ""
                            : mst_rule_id((enum mst_rule)open->reading->sites[s->site_idx].rule)));
        json_text(text, "verdict", mst_span_of(mst_pinch_id(s->verdict)));
        json_number(text, "open_ms", open->sounds[s->open_sound].start_ms);
        json_number(text, "pinched_ms", pinched->sounds[s->pinched_sound].start_ms);
        decibels(text, "level_db", s->level_db);
        decibels(text, "start_db", s->third_db[0]);
        decibels(text, "middle_db", s->third_db[1]);
        decibels(text, "end_db", s->third_db[2]);
        decibels(text, "shape_db", s->shape_db);
        json_key(text, "sureness");
        mst_string_addf(text, "%.2f}\n", s->sureness);
        out_more(out);
    }
    mst_string_adds(&out->text, "{");
    for (int v = 0; v < MST_PINCH_COUNT; v++)
        json_number(&out->text, mst_pinch_id((enum mst_pinch_verdict)v), p->counts[v]);
    json_number(&out->text, "missing", p->missing_count);
    decibels(&out->text, "usual_db", p->usual_db);
    mst_string_adds(&out->text, "}\n");
}

static void print_text(const struct mst_pinch *p, const struct mst_reading *reading,
                       enum mst_lang lang, struct out *out)
{
    int ar = lang == MST_LANG_AR;
    char at[48];
    for (int32_t i = 0; i < p->site_count; i++) {
        const struct mst_pinch_site *s = &p->sites[i];
        mst_addr_print(s->at, at);
        out_padded(out, mst_span_of(at), 11);
        out_padded(out, mst_span_of(rule_of(reading, s, lang)), 34);
        mst_string_addf(&out->text, "%s", mst_pinch_text(s->verdict, lang));
        if (s->verdict != MST_PINCH_CANNOT_TELL)
            mst_string_addf(&out->text, " (%+.0f dB; %+.0f · %+.0f · %+.0f)", s->level_db,
                            s->third_db[0], s->third_db[1], s->third_db[2]);
        mst_string_adds(&out->text, "\n");
        out_more(out);
    }
    mst_string_addf(&out->text, "\n%d %s", p->site_count,
                    ar ? "غنّة في التسجيلين" : "holds in both takes");
    for (int v = 0; v < MST_PINCH_COUNT; v++)
        if (p->counts[v])
            mst_string_addf(&out->text, "%s%d %s", ar ? "؛ " : "; ", p->counts[v],
                            mst_pinch_text((enum mst_pinch_verdict)v, lang));
    mst_string_addf(&out->text, ".\n");
    mst_string_addf(&out->text,
                    ar ? "تغيّر ما لا غنّة فيه بمقدار %.1f dB.\n"
                       : "Sounds that do not use the nose changed by %.1f dB.\n",
                    p->usual_db);
    mst_string_addf(&out->text, "%s\n", mst_findings_reminder(lang));
}

static enum mst_status listen(const struct mst_text *text, const char *const *path,
                              struct mst_range passage, const struct mst_reading_options *reading,
                              struct patience *patience, double from,
                              const struct mst_listen_options *how, struct mst_hearing **out,
                              struct mst_error *err)
{
    struct mst_ear_progress progress = patience_for(patience, "reading the sound", from, from + .1);
    struct mst_listen_options options = *how;
    enum mst_status status = mst_hearing_open(text, path, 1, passage, reading, &progress, out, err);
    progress = patience_for(patience, "listening", from + .1, from + .4);
    options.progress = &progress;
    if (status == MST_OK)
        status = mst_hearing_listen(*out, &options, err);
    return take_refused(path[0], status, err);
}

static enum mst_status two_takes_wanted(const struct takes_typed *typed, const char *next,
                                        struct mst_error *err)
{
    if (typed->take_count == 1 && next)
        return mst_fail(err, MST_USAGE,
                        "“mistara pinch” compares two takes; 1 given: “%.60s” is no file that is "
                        "there and does not end like a recording, such as pinched.mp3",
                        next);
    return mst_fail(err, MST_USAGE, "“mistara pinch” compares two takes; %zu given",
                    typed->take_count);
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {0};
    struct reading_request how = {0};
    void *const targets[] = {&request, &how};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_voice *voice = NULL, *learned = NULL;
    struct mst_reading_options reading = {0};
    struct mst_range passage = {0};
    struct takes_typed typed = {0};
    struct mst_hearing *open = NULL, *pinched = NULL;
    struct mst_pinch *pinch;
    struct patience patience;
    size_t word_count;
    const char *const *words;
    enum mst_lang lang = MST_LANG_EN;

    enum mst_status status =
        options_read_words(self, argc, argv, targets, arena, &words, &word_count, err);
    if (status == MST_OK)
        status = takes_read(self, words, word_count, arena, &typed, err);
    if (status == MST_OK && typed.take_count != 2)
        status = two_takes_wanted(&typed, word_count > 2 ? words[1] : NULL, err);
    if (status == MST_OK && request.threads > 64)
        status = mst_fail(err, MST_USAGE, "--threads takes 1 to 64; “%d” given", request.threads);
    if (status == MST_OK)
        status = lang_chosen(request.lang, &lang, err);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = mst_range_parse(text, typed.passage, &passage, err);
    if (status == MST_OK)
        status = reading_options(&how, text, arena, &reading, err);
    if (status == MST_OK && request.voice)
        status = voice_called(request.voice, request.data, &voice, err);
    struct mst_listen_options options = {.voice = voice, .given = 1, .threads = request.threads};
    patience_begin(&patience);
    if (status == MST_OK)
        status =
            listen(text, &typed.takes[0], passage, &reading, &patience, 0, &options, &open, err);
    if (status == MST_OK) { /* the pinched take is heard by the voice of the open one */
        struct mst_ear_progress progress = patience_for(&patience, "learning the voice", .4, .55);
        struct mst_lesson_take lesson = {open->features, open->script};
        struct mst_learn_options learn = {
            .from = voice, .progress = &progress, .threads = request.threads};
        status = mst_voice_learn(&lesson, 1, "open", &learn, &learned, err);
        options.voice = learned;
    }
    if (status == MST_OK)
        status = listen(text, &typed.takes[1], passage, &reading, &patience, .55, &options,
                        &pinched, err);
    if (status == MST_OK)
        status = mst_pinch_compare((struct mst_pinch_take){open->timeline, open->take},
                                   (struct mst_pinch_take){pinched->timeline, pinched->take}, arena,
                                   &pinch, err);
    patience_end(&patience);
    if (status == MST_OK) {
        if (request.json)
            print_json(pinch, open->timeline, pinched->timeline, out);
        else
            print_text(pinch, open->timeline->reading, lang, out);
    }
    mst_hearing_close(open);
    mst_hearing_close(pinched);
    mst_voice_free(voice);
    mst_voice_free(learned);
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_pinch = {
    .name = "pinch",
    .arguments = "OPEN PINCHED PASSAGE",
    .asks = "two recordings of one passage, the second with the nose shut, for example: mistara "
            "pinch open.mp3 pinched.mp3 67:1-11",
    .summary = "one passage twice, the second time with the nose shut: do the holds die?",
    .about =
        "A right ghunna sounds through the nose: with the nose shut it dies away or is changed,\n"
        "and a hold that goes on as before did not use the nose. Both takes are laid on the\n"
        "passage, and every hold with ghunna is compared with the vowels beside it: its strength\n"
        "as a whole, then at its start, in its middle and at its end. What sounds without the\n"
        "nose tells how much two takes differ anyway. What is printed are measurements: a\n"
        "qualified teacher decides.",
    .examples = "  mistara pinch open.mp3 pinched.mp3 67:1-11\n"
                "  mistara pinch open.mp3 pinched.mp3 78 --voice teacher --json\n",
    .groups = {&group, &reading_group},
    .run = run,
};
