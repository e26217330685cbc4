/* voice.c – `mistara voice`: voices learned from recordings, kept for listening to short takes. */
#include "cli.h"

#include <mistara/report.h>
#include <mistara/shelf.h>
#include <string.h>

struct request {
    const char *data, *from;
    int threads, json;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"data", 0, OPTION_TEXT, "FOLDER",
     "where voices are kept (default: your own data folder, usually ~/.local/share/mistara)",
     TARGET(data)},
    {"from", 0, OPTION_TEXT, "NAME", "learn: start from this voice, for short recordings",
     TARGET(from)},
    {"threads", 0, OPTION_COUNT, "N", "how many threads work (default 2); the result is the same",
     TARGET(threads)},
    {"json", 0, OPTION_FLAG, NULL, "list and show: JSON", TARGET(json)},
};
static const struct option_group group = {"Voices:", rows, sizeof rows / sizeof rows[0]};

/* What a subcommand works with. */
struct voices {
    const struct command *self;
    const struct request *request;
    const struct mst_reading_options *reading;
    const struct mst_text *text;
    struct mst_shelf *shelf;
    struct mst_arena *arena;
    const char *const *words; /* after the subcommand's own name */
    size_t word_count;
    struct out *out;
};

static enum mst_status name_wanted(const struct voices *v, const char *subcommand,
                                   struct mst_error *err)
{
    if (v->word_count == 1)
        return mst_shelf_check_name(v->words[0], err);
    return mst_fail(err, MST_USAGE,
                    "“mistara voice %s” takes one name, such as: mistara voice %s "
                    "teacher",
                    subcommand, subcommand);
}

/* --- learn -------------------------------------------------------------------- */
/* One recording to learn from: its files and its passage. */
struct lesson {
    const char *const *paths;
    size_t path_count;
    struct mst_span passage;
    struct mst_hearing *hearing;
};

/* TAKE=PASSAGE, one or more, or TAKE… PASSAGE. */
static enum mst_status lessons_read(const struct voices *v, struct lesson **out, size_t *count,
                                    struct mst_error *err)
{
    size_t words = v->word_count - 1, pairs = 0;
    *count = 0;
    *out = mst_arena_alloc(v->arena, words + 1, sizeof **out);
    const char **paths = mst_arena_alloc(v->arena, words + 1, sizeof *paths);
    if (!*out || !paths)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out");
    for (size_t n = 0; n < words; n++)
        pairs += strchr(v->words[n + 1], '=') != NULL;
    if (pairs == 0) {
        struct takes_typed typed;
        enum mst_status status = takes_read(v->self, v->words + 1, words, v->arena, &typed, err);
        (*out)[0] = (struct lesson){typed.takes, typed.take_count, typed.passage, NULL};
        *count = 1;
        return status;
    }
    for (size_t n = 0; n < words; n++) {
        const char *word = v->words[n + 1], *equals = strrchr(word, '=');
        if (!equals || equals == word || !equals[1])
            return mst_fail(err, MST_USAGE,
                            "“%.80s” is not TAKE=PASSAGE like the others, such as take.mp3=67:1-5",
                            word);
        paths[n] = mst_arena_strndup(v->arena, word, (size_t)(equals - word));
        if (!paths[n])
            return mst_fail(err, MST_NO_MEMORY, "memory ran out");
        (*out)[n] = (struct lesson){&paths[n], 1, mst_span_of(equals + 1), NULL};
    }
    *count = words;
    return MST_OK;
}

static enum mst_status lessons_hear(const struct voices *v, struct lesson *lessons, size_t count,
                                    struct patience *patience, struct mst_error *err)
{
    enum mst_status status = MST_OK;
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        double step = 0.3 / (double)count;
        struct mst_ear_progress progress =
            patience_for(patience, "reading the sound", step * (double)n, step * (double)(n + 1));
        struct mst_range passage;
        status = mst_range_parse(v->text, lessons[n].passage, &passage, err);
        if (status == MST_OK)
            status = mst_hearing_open(v->text, lessons[n].paths, lessons[n].path_count, passage,
                                      v->reading, &progress, &lessons[n].hearing, err);
    }
    return status;
}

static void say_learned(struct out *out, const char *name, const struct mst_voice *voice,
                        const struct mst_shelf *shelf)
{
    struct mst_voice_info info = mst_voice_info(voice);
    mst_string_addf(&out->text, "%s: learned from %.0f s of speech, %d sounds", name,
                    info.speech_seconds, info.sound_count);
    if (info.missing_count > 0)
        mst_string_addf(&out->text, "; %d kinds of sound were not heard", info.missing_count);
    mst_string_addf(&out->text, "\nKept in %s, readable by you alone.\n", mst_shelf_folder(shelf));
}

static enum mst_status learn(struct voices *v, struct mst_error *err)
{
    struct lesson *lessons = NULL;
    size_t count = 0;
    struct mst_voice *from = NULL, *voice = NULL;
    struct patience patience;
    if (v->word_count < 2)
        return mst_fail(err, MST_USAGE,
                        "“mistara voice learn” takes a name, recordings and their passage, for "
                        "example: mistara voice learn teacher take.mp3 67:1-30");
    const char *name = v->words[0];
    patience_begin(&patience);
    enum mst_status status = mst_shelf_check_name(name, err);
    if (status == MST_OK)
        status = lessons_read(v, &lessons, &count, err);
    if (status == MST_OK && v->request->from)
        status = mst_shelf_get(v->shelf, v->request->from, &from, err);
    if (status == MST_OK)
        status = lessons_hear(v, lessons, count, &patience, err);
    struct mst_hearing **takes =
        status == MST_OK ? mst_arena_alloc(v->arena, count, sizeof *takes) : NULL;
    if (status == MST_OK && !takes)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out");
    for (size_t n = 0; status == MST_OK && n < count; n++)
        takes[n] = lessons[n].hearing;
    struct mst_ear_progress progress = patience_for(&patience, "learning the voice", 0.3, 1);
    struct mst_learn_options options = {from, &progress, v->request->threads};
    if (status == MST_OK)
        status = mst_hearing_learn(takes, count, name, &options, &voice, err);
    patience_end(&patience);
    if (status == MST_OK)
        status = mst_shelf_put(v->shelf, name, voice, err);
    if (status == MST_OK)
        say_learned(v->out, name, voice, v->shelf);
    for (size_t n = 0; n < count; n++)
        mst_hearing_close(lessons[n].hearing);
    mst_voice_free(from);
    mst_voice_free(voice);
    return status;
}

/* --- list, show, forget ---------------------------------------------------------- */
static void voice_json(struct out *out, const char *name, const struct mst_voice *voice)
{
    struct mst_voice_info info = mst_voice_info(voice);
    struct mst_string *s = &out->text;
    mst_string_adds(s, "{");
    json_text(s, "name", mst_span_of(name));
    json_key(s, "speech_seconds");
    mst_string_addf(s, "%.1f", info.speech_seconds);
    json_number(s, "sounds", info.sound_count);
    json_number(s, "kinds_missing", info.missing_count);
    json_key(s, "checksum");
    mst_string_addf(s, "\"%08x\"", info.checksum);
    const struct mst_length_model *lengths = mst_voice_lengths(voice);
    json_key(s, "lengths");
    mst_string_adds(s, "[");
    for (int k = MST_LENGTH_NATURAL; lengths && k < MST_LENGTH_COUNT; k++) {
        if (lengths->lengths[k].count == 0)
            continue;
        mst_string_adds(s, s->ptr[s->len - 1] == '[' ? "{" : ",{");
        json_text(s, "length", mst_span_of(mst_length_id((enum mst_length)k)));
        json_key(s, "median_ms");
        mst_string_addf(s, "%.1f", lengths->lengths[k].median_ms);
        json_number(s, "count", lengths->lengths[k].count);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]}\n");
}

static enum mst_status list(struct voices *v, struct mst_error *err)
{
    const char *const *names;
    size_t count;
    if (v->word_count > 0)
        return mst_fail(err, MST_USAGE, "“mistara voice list” takes no name; “%.60s” given",
                        v->words[0]);
    enum mst_status status = mst_shelf_list(v->shelf, v->arena, &names, &count, err);
    for (size_t n = 0; status == MST_OK && n < count; n++) {
        struct mst_voice *voice = NULL;
        struct mst_error why = {0};
        if (mst_shelf_get(v->shelf, names[n], &voice, &why) != MST_OK) {
            if (!v->request->json)
                mst_string_addf(&v->out->text, "%s: cannot be read: %s\n", names[n], why.message);
        } else if (v->request->json) {
            voice_json(v->out, names[n], voice);
        } else {
            mst_string_addf(&v->out->text, "%s: %.0f s of speech\n", names[n],
                            mst_voice_info(voice).speech_seconds);
        }
        mst_voice_free(voice);
    }
    if (status == MST_OK && count == 0 && !v->request->json)
        mst_string_addf(&v->out->text, "There is no voice in %s yet.\n",
                        mst_shelf_folder(v->shelf));
    return status;
}

static enum mst_status show(struct voices *v, struct mst_error *err)
{
    struct mst_voice *voice = NULL;
    enum mst_status status = name_wanted(v, "show", err);
    if (status == MST_OK)
        status = mst_shelf_get(v->shelf, v->words[0], &voice, err);
    if (status != MST_OK)
        return status;
    struct mst_voice_info info = mst_voice_info(voice);
    if (v->request->json)
        voice_json(v->out, v->words[0], voice);
    else
        mst_string_addf(&v->out->text,
                        "%s\n  learned from      %.0f s of speech, %d sounds\n"
                        "  never heard       %d kinds of sound (stand-ins serve)\n"
                        "  checksum          %08x\n"
                        "  kept in           %s\n",
                        v->words[0], info.speech_seconds, info.sound_count, info.missing_count,
                        info.checksum, mst_shelf_folder(v->shelf));
    const struct mst_length_model *lengths = mst_voice_lengths(voice);
    if (!v->request->json && lengths)
        mst_string_adds(&v->out->text, "  lengths kept with it, for listen --model:\n");
    for (int k = MST_LENGTH_NATURAL; !v->request->json && lengths && k < MST_LENGTH_COUNT; k++)
        if (lengths->lengths[k].count > 0)
            mst_string_addf(
                &v->out->text, "    %5.0f ms  %s (%d places)\n", lengths->lengths[k].median_ms,
                mst_length_name((enum mst_length)k, MST_LANG_EN), lengths->lengths[k].count);
    mst_voice_free(voice);
    return MST_OK;
}

static enum mst_status forget(struct voices *v, struct mst_error *err)
{
    enum mst_status status = name_wanted(v, "forget", err);
    if (status == MST_OK)
        status = mst_shelf_forget(v->shelf, v->words[0], err);
    if (status == MST_OK)
        mst_string_addf(&v->out->text, "%s is forgotten.\n", v->words[0]);
    return status;
}

static const struct subcommand {
    const char *name;
    enum mst_status (*run)(struct voices *v, struct mst_error *err);
} subcommands[] = {{"learn", learn}, {"list", list}, {"show", show}, {"forget", forget}};

static enum mst_status subcommand_run(struct voices *v, const char *name, struct mst_error *err)
{
    struct nearest nearest = {mst_span_of(name), NULL, 0};
    for (size_t n = 0; n < sizeof subcommands / sizeof subcommands[0]; n++) {
        if (strcmp(subcommands[n].name, name) == 0)
            return subcommands[n].run(v, err);
        nearest_offer(&nearest, subcommands[n].name);
    }
    return mst_fail(err, MST_USAGE,
                    "“mistara voice” knows learn, list, show and forget; “%.60s” given%s%s", name,
                    nearest.name ? "; did you mean " : "", nearest.name ? nearest.name : "");
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {0};
    struct reading_request how = {0};
    void *const targets[] = {&request, &how};
    struct mst_reading_options reading = {0};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_shelf *shelf = NULL;
    const char *const *words = NULL;
    size_t count = 0;
    enum mst_status status =
        options_read_words(self, argc, argv, targets, arena, &words, &count, err);
    if (status == MST_OK && count == 0)
        status = mst_fail(err, MST_USAGE, "“mistara voice” needs %s", self->asks);
    if (status == MST_OK && request.threads > 64)
        status = mst_fail(err, MST_USAGE, "--threads takes 1 to 64; “%d” given", request.threads);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = reading_options(&how, text, arena, &reading, err);
    if (status == MST_OK)
        status = mst_shelf_open(request.data, &shelf, err);
    struct voices v = {self, &request, &reading, text, shelf, arena, words + 1, count - 1, out};
    if (status == MST_OK)
        status = subcommand_run(&v, words[0], err);
    mst_shelf_close(shelf);
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_voice = {
    .name = "voice",
    .arguments = "learn|list|show|forget …",
    .asks =
        "learn, list, show or forget, for example: mistara voice learn teacher take.mp3 67:1-30",
    .summary = "voices learned before, for listening to short takes",
    .about =
        "Learns a reciter's voice from recordings and keeps it, so that takes of less than two\n"
        "minutes can be listened to; the lengths it holds are kept with it, for listen --model.\n"
        "A voice tells of a person: it is kept in your own data\n"
        "folder, readable by you alone, and is gone when it is forgotten.\n\n"
        "  learn NAME TAKE… PASSAGE    one take, of one or more files joined\n"
        "  learn NAME TAKE=PASSAGE…    several takes, each with its passage\n"
        "  list                        the voices there are\n"
        "  show NAME                   what one was learned from\n"
        "  forget NAME                 delete it",
    .examples = "  mistara voice learn teacher take.mp3 67:1-30\n"
                "  mistara voice learn teacher a.mp3=67:1-12 b.mp3=78\n"
                "  mistara listen short.m4a 67:1-3 --voice teacher\n"
                "  mistara voice forget teacher\n",
    .groups = {&group, &reading_group},
    .run = run,
};
