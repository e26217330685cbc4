/* lesson.c – `mistara lesson`: a lesson drafted, checked; the verses that teach the ear a voice. */
#include "cli.h"

#include <mistara/build.h>
#include <mistara/typeset.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

struct request {
    const char *in, *file, *known, *level, *language, *pace, *minutes;
    const char *parts, *scenes, *paper, *class_line, *versions, *voice, *data;
    int per, seed, times, json, no_zip, threads, webm, replace;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"range", 0, OPTION_PASSAGE, "RANGE,…",
     "look only here: 78-80, juz 30, … (default: the whole text)", TARGET(in)},
    {"output", 'o', OPTION_TEXT, "FILE",
     "new: the file to write (default: print it); build: the folder", TARGET(file)},
    {"replace", 0, OPTION_FLAG, NULL, "new: write over a file that is there", TARGET(replace)},
    {"known", 0, OPTION_TEXT, "ID,…", "new: rules the class knows; no example needs another one",
     TARGET(known)},
    {"level", 0, OPTION_TEXT, "NAME", "new: beginner (default), intermediate or advanced",
     TARGET(level)},
    {"lang", 0, OPTION_TEXT, "both|en|ar", "new: language of the lesson (default both)",
     TARGET(language)},
    {"per", 0, OPTION_COUNT, "N", "new: examples for each member (2)", TARGET(per)},
    {"seed", 0, OPTION_NUMBER, "N", "new: another number, other questions", TARGET(seed)},
    {"times", 0, OPTION_COUNT, "N",
     "enrol: every sound at least so often (default: as often as "
     "fits)",
     TARGET(times)},
    {"minutes", 0, OPTION_TEXT, "N", "enrol: at most so long (3)", TARGET(minutes)},
    {"pace", 0, OPTION_TEXT, "COUNTS", "enrol: counts a second (2.5)", TARGET(pace)},
    {"parts", 0, OPTION_TEXT, "PART,…",
     "build: only these of handout, cards, slides, questions, captions, practice, film, enrolment",
     TARGET(parts)},
    {"paper", 0, OPTION_TEXT, "a4|letter", "build: what is printed on (default a4)", TARGET(paper)},
    {"class", 0, OPTION_WORDS, "TEXT", "build: a line under the title: when and where the class is",
     TARGET(class_line)},
    {"versions", 0, OPTION_TEXT, "ABC", "build: versions of the questions (default ABC)",
     TARGET(versions)},
    {"no-zip", 0, OPTION_FLAG, NULL, "build: the folder alone, no zip of it", TARGET(no_zip)},
    {"scenes", 0, OPTION_TEXT, "SCENE,…",
     "build: the film of these only: recap, explanation, examples, passage, questions",
     TARGET(scenes)},
    {"webm", 0, OPTION_FLAG, NULL, "build: the film as WebM (VP9, Opus) rather than MP4",
     TARGET(webm)},
    {"voice", 0, OPTION_TEXT, "NAME",
     "build: the voice of the recordings, learned before: its name, or a file; for short ones",
     TARGET(voice)},
    {"data", 0, OPTION_TEXT, "FOLDER", "build: where learned voices are kept", TARGET(data)},
    {"threads", 0, OPTION_COUNT, "N", "build: how many threads listen (default 2)",
     TARGET(threads)},
    {"json", 0, OPTION_FLAG, NULL, "JSON Lines, for other programs", TARGET(json)},
};
static const struct option_group options_group = {"Options:", rows, sizeof rows / sizeof rows[0]};

static enum mst_status above_zero(const char *option, const char *typed, double *out,
                                  struct mst_error *err)
{
    int end = 0;
    if (!typed)
        return MST_OK;
    if (sscanf(typed, "%lf%n", out, &end) != 1 || typed[end] || !(*out > 0) || *out > 1000)
        return mst_fail(err, MST_USAGE, "--%s takes a number above 0; “%.60s” is none", option,
                        typed);
    return MST_OK;
}

/* --- new --------------------------------------------------------------------------- */

/* A line of the file may ask for several. */
static int questions_asked(const struct mst_lesson *lesson)
{
    int asked = 0;
    for (int32_t n = 0; n < lesson->question_count; n++)
        asked += lesson->questions[n].count;
    return asked;
}

/* A lesson that is there may have been edited: it is written over only when that was asked for. */
static enum mst_status free_to_write(const struct request *q, struct mst_error *err)
{
    struct stat there;
    if (!q->file || q->replace || lstat(q->file, &there) != 0)
        return MST_OK;
    return mst_fail(err, MST_USAGE,
                    "there is a “%.200s” already; choose a new name, or write over it with "
                    "--replace",
                    q->file);
}

static enum mst_status lesson_new(const struct request *q, struct mst_span rules,
                                  const struct mst_find_scope *scope, const struct mst_text *text,
                                  struct mst_arena *arena, struct out *out, struct mst_error *err)
{
    static const char *const levels[] = {"beginner", "intermediate", "advanced", NULL};
    static const char *const languages[] = {"both", "en", "ar", NULL};
    struct mst_lesson_draft wanted = {.scope = *scope,
                                      .known_given = q->known != NULL,
                                      .per_member = q->per,
                                      .seed = (uint32_t)q->seed};
    struct mst_lesson lesson;
    int level = 0, language = 0;
    if (rules.len == 0)
        return mst_fail(err, MST_USAGE,
                        "say which rule the lesson teaches: mistara lesson new ikhfa --range 78-80 "
                        "-o ikhfa.lesson");
    if (q->seed < 0)
        return mst_fail(err, MST_USAGE, "--seed takes no number below 0");
    enum mst_status status = free_to_write(q, err);
    if (status == MST_OK)
        status = mst_rule_set_parse(rules, &wanted.rules, err);
    if (status == MST_OK && q->known)
        status = mst_rule_set_parse(mst_span_of(q->known), &wanted.known, err);
    if (status == MST_OK)
        status = choice_read("level", q->level, levels, &level, err);
    if (status == MST_OK)
        status = choice_read("lang", q->language, languages, &language, err);
    wanted.level = (enum mst_lesson_level)level;
    wanted.language = (enum mst_lesson_language)language;
    if (status == MST_OK)
        status = mst_lesson_draft(text, &wanted, arena, &lesson, err);
    if (status != MST_OK)
        return status;
    if (!q->file) {
        mst_lesson_print(&lesson, &out->text);
        return MST_OK;
    }
    struct mst_string file = {0};
    mst_lesson_print(&lesson, &file);
    status = file.failed ? mst_fail(err, MST_NO_MEMORY, "memory ran out")
                         : mst_file_write(q->file, file.ptr, file.len, err);
    mst_string_free(&file);
    if (status == MST_OK)
        mst_string_addf(
            &out->text, "%s: %d examples, %d passage, %d questions; read it and make it yours\n",
            q->file, lesson.example_count, lesson.passage_count, questions_asked(&lesson));
    return status;
}

/* --- check --------------------------------------------------------------------------- */

void problems_print(const char *file, const struct mst_lesson_problems *problems, int json,
                    struct out *out)
{
    for (int32_t n = 0; n < problems->count; n++) {
        const struct mst_lesson_problem *p = &problems->items[n];
        if (json) {
            mst_string_adds(&out->text, "{");
            json_number(&out->text, "line", p->line);
            json_bool(&out->text, "advice", p->advice);
            json_text(&out->text, "message", mst_span_of(p->message));
            mst_string_adds(&out->text, "}\n");
        } else {
            mst_string_addf(&out->text, "%s", file);
            if (p->line)
                mst_string_addf(&out->text, ":%d", p->line);
            mst_string_addf(&out->text, ": %s%s\n", p->advice ? "advice: " : "", p->message);
        }
        out_more(out);
    }
}

static enum mst_status lesson_check(const struct request *q, const char *file,
                                    const struct mst_text *text, struct mst_arena *arena,
                                    struct out *out, struct mst_error *err)
{
    struct mst_lesson lesson;
    struct mst_lesson_problems problems;
    enum mst_status status = mst_lesson_open(text, file, arena, &lesson, &problems, err);
    if (status == MST_OK)
        status = mst_lesson_check(text, &lesson, arena, &problems, err);
    problems_print(file, &problems, q->json, out);
    if (problems.mistakes > 0)
        return mst_fail(err, MST_BAD_DATA, "“%s” has %d %s", file, problems.mistakes,
                        problems.mistakes == 1 ? "mistake" : "mistakes");
    if (status == MST_OK && !q->json)
        mst_string_addf(&out->text, "%s holds: %d examples, %d %s, %d questions, %d takes\n", file,
                        lesson.example_count, lesson.passage_count,
                        lesson.passage_count == 1 ? "passage" : "passages",
                        questions_asked(&lesson), lesson.take_count);
    return status;
}

/* --- build --------------------------------------------------------------------------- */

static int build_report(void *user, enum mst_build_part part, double done)
{
    struct patience *patience = user;
    struct mst_ear_progress progress =
        patience_for(patience, mst_build_part_name(part, MST_LANG_EN), 0, 1);
    return progress.report(progress.user, done);
}

static void built_print(const char *folder, const char *zip, const struct mst_built *built,
                        struct out *out)
{
    for (int32_t n = 0; n < built->file_count; n++) {
        mst_string_addf(&out->text, "%s/%s\n", folder, built->files[n].path);
        out_more(out);
    }
    if (zip)
        mst_string_addf(&out->text, "%s\n", zip);
    for (int32_t n = 0; n < built->missing_count; n++)
        mst_string_addf(&out->text, "%s%s\n", n ? "" : "\nNot made:\n", built->missing[n].en);
}

static void built_json(const char *folder, const struct mst_built *built, struct mst_string *s)
{
    for (int32_t n = 0; n < built->file_count; n++) {
        const struct mst_built_file *f = &built->files[n];
        mst_string_adds(s, "{");
        json_text(s, "part", mst_span_of(mst_build_part_id(f->part)));
        json_text(s, "folder", mst_span_of(folder));
        json_text(s, "file", mst_span_of(f->path));
        json_text(s, "en", mst_span_of(f->en));
        json_text(s, "ar", mst_span_of(f->ar));
        json_number(s, "bytes", (long)f->bytes);
        mst_string_adds(s, "}\n");
    }
    for (int32_t n = 0; n < built->missing_count; n++) {
        const struct mst_build_missing *m = &built->missing[n];
        mst_string_adds(s, "{");
        json_text(s, "part", mst_span_of(mst_build_part_id(m->part)));
        json_text(s, "missing", mst_span_of(m->en));
        json_text(s, "missing_ar", mst_span_of(m->ar));
        mst_string_adds(s, "}\n");
    }
}

static enum mst_status build_options(const struct request *q, size_t folder_len,
                                     struct mst_arena *arena, struct mst_build_options *out,
                                     struct mst_error *err)
{
    enum mst_status status = MST_OK;
    if (q->parts)
        status = mst_build_parts_parse(mst_span_of(q->parts), &out->parts, err);
    if (status == MST_OK && q->scenes)
        status = mst_film_scenes_parse(mst_span_of(q->scenes), &out->scenes, err);
    if (status == MST_OK && q->paper)
        status = mst_page_parse(mst_span_of(q->paper), &out->page, err);
    for (const char *v = q->versions; status == MST_OK && v && *v; v++)
        if (*v < 'A' || *v > 'Z')
            return mst_fail(err, MST_USAGE,
                            "--versions takes letters from A to Z, such as ABC; “%.60s” given",
                            q->versions);
    out->webm = q->webm;
    out->versions = q->versions && *q->versions ? q->versions : NULL;
    out->class_line = mst_span_of(q->class_line ? q->class_line : "");
    while (folder_len > 1 && q->file[folder_len - 1] == '/')
        folder_len--;
    if (status == MST_OK && !q->no_zip) {
        out->zip = mst_arena_printf(arena, "%.*s.zip", (int)folder_len, q->file);
        if (!out->zip)
            status = mst_fail(err, MST_NO_MEMORY, "memory ran out");
    }
    return status;
}

/* The voice that was asked for, else the one the lesson names. */
static enum mst_status lesson_voice(const struct request *q, const struct mst_lesson *lesson,
                                    struct mst_voice **out, struct mst_error *err)
{
    struct mst_error why;
    if (q->voice)
        return voice_called(q->voice, q->data, out, err);
    if (!lesson->voice || !*lesson->voice || lesson->take_count == 0)
        return MST_OK;
    enum mst_status status = voice_called(lesson->voice, q->data, out, &why);
    return status == MST_OK
               ? MST_OK
               : mst_fail(
                     err, status,
                     "the lesson names the voice “%.60s”: %.300s; give another with --voice, or "
                     "take the line “voice:” out",
                     lesson->voice, why.message);
}

static enum mst_status lesson_build(const struct request *q, const char *file,
                                    const struct mst_text *text, struct mst_arena *arena,
                                    struct out *out, struct mst_error *err)
{
    struct mst_lesson lesson;
    struct mst_lesson_problems problems = {0};
    struct mst_typeset *typeset = NULL;
    struct mst_voice *voice = NULL;
    struct mst_build_options options = {0};
    struct mst_built built;
    struct patience patience;
    if (!q->file)
        return mst_fail(err, MST_USAGE,
                        "say into which folder: mistara lesson build %.200s -o folder", file);
    enum mst_status status = build_options(q, strlen(q->file), arena, &options, err);
    if (status == MST_OK)
        status = mst_lesson_open(text, file, arena, &lesson, &problems, err);
    if (problems.mistakes > 1) /* the first one alone is told at the end anyway */
        problems_print(file, &problems, 0, out);
    if (status == MST_OK)
        status = mst_typeset_open(NULL, &typeset, err);
    if (status == MST_OK)
        status = lesson_voice(q, &lesson, &voice, err);
    struct mst_listen_options listen = {.voice = voice, .threads = q->threads};
    struct mst_build_progress progress = {build_report, &patience};
    options.listen = &listen;
    options.progress = &progress;
    patience_begin(&patience);
    if (status == MST_OK)
        status = mst_lesson_build(text, typeset, &lesson, q->file, &options, arena, &built, err);
    patience_end(&patience);
    mst_voice_free(voice);
    mst_typeset_close(typeset);
    if (status == MST_OK && q->json)
        built_json(q->file, &built, &out->text);
    else if (status == MST_OK)
        built_print(q->file, options.zip, &built, out);
    return status;
}

/* --- enrol ----------------------------------------------------------------------------- */

static void enrol_print(const struct mst_enrol *e, const struct mst_text *text, struct out *out)
{
    for (int32_t n = 0; n < e->cover.verse_count; n++) {
        struct mst_addr addr = mst_text_verse_addr(text, e->cover.verses[n]);
        char at[48];
        out_padded(out, mst_span_of(mst_addr_print(addr, at)), 9);
        out_arabic(out, mst_text_verse(text, addr.sura, addr.verse));
        mst_string_adds(&out->text, "\n");
        out_more(out);
    }
    mst_string_addf(&out->text, "\n%d verses, %d words, about %d:%02d; every sound %d times%s\n",
                    e->cover.verse_count, e->cover.word_count, (int)e->seconds / 60,
                    (int)e->seconds % 60, e->times,
                    e->cover.short_count ? ", but for these, of which the text has only:" : "");
    for (int32_t n = 0; n < e->cover.member_count; n++) {
        const struct mst_cover_member *m = &e->cover.members[n];
        if (m->in_range < e->times)
            mst_string_addf(&out->text, "  %s (%s) %d\n", mst_phone_id(m->member.phone),
                            mst_phone_ipa(m->member.phone), m->in_range);
    }
    if (e->cover.bound >= e->cover.cost)
        mst_string_adds(&out->text, "Proved: no shorter set of verses does it.\n");
    else
        mst_string_addf(
            &out->text,
            "Not proved shortest: at least %.1f s are needed, %.1f s are taken, a gap of "
            "%.1f %%.\n",
            (double)e->cover.bound / 10, (double)e->cover.cost / 10,
            100 * (1 - (double)e->cover.bound / (double)e->cover.cost));
}

static void enrol_json(const struct mst_enrol *e, const struct mst_text *text, struct mst_string *s)
{
    mst_string_adds(s, "{");
    json_key(s, "verses");
    mst_string_adds(s, "[");
    for (int32_t n = 0; n < e->cover.verse_count; n++) {
        char at[48];
        mst_addr_print(mst_text_verse_addr(text, e->cover.verses[n]), at);
        mst_string_addf(s, "%s\"%s\"", n ? "," : "", at);
    }
    mst_string_adds(s, "]");
    json_number(s, "words", e->cover.word_count);
    json_number(s, "times", e->times);
    json_key(s, "seconds");
    mst_string_addf(s, "%.1f,\"bound_seconds\":%.1f", e->seconds, (double)e->cover.bound / 10);
    json_bool(s, "proved", e->cover.bound >= e->cover.cost);
    json_key(s, "sounds");
    mst_string_adds(s, "[");
    for (int32_t n = 0; n < e->cover.member_count; n++) {
        const struct mst_cover_member *m = &e->cover.members[n];
        mst_string_adds(s, n ? ",{" : "{");
        json_text(s, "phone", mst_span_of(mst_phone_id(m->member.phone)));
        json_number(s, "in_range", m->in_range);
        json_number(s, "covered", m->covered);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]}\n");
}

static enum mst_status lesson_enrol(const struct request *q, const struct mst_find_scope *scope,
                                    const struct mst_text *text, struct mst_arena *arena,
                                    struct out *out, struct mst_error *err)
{
    struct mst_enrol_query query = {.scope = *scope, .times = q->times};
    struct mst_enrol found;
    double minutes = 3;
    enum mst_status status = above_zero("pace", q->pace, &query.pace_counts_per_s, err);
    if (status == MST_OK)
        status = above_zero("minutes", q->minutes, &minutes, err);
    query.seconds = minutes * 60;
    if (status == MST_OK)
        status = mst_lesson_enrol(text, &query, arena, &found, err);
    if (status != MST_OK)
        return status;
    if (q->json)
        enrol_json(&found, text, &out->text);
    else
        enrol_print(&found, text, out);
    return MST_OK;
}

/* --- the command -------------------------------------------------------------------------- */

/* What stands behind the first word, joined with commas: "ikhfa qalqala" is a list too. */
static struct mst_span joined(const char *const *words, size_t count, struct mst_arena *arena)
{
    struct mst_string s = {0};
    for (size_t n = 1; n < count; n++)
        mst_string_addf(&s, "%s%s", n > 1 ? "," : "", words[n]);
    char *kept = s.len && !s.failed ? mst_arena_strndup(arena, s.ptr, s.len) : NULL;
    struct mst_span span = {kept, kept ? s.len : 0};
    mst_string_free(&s);
    return span;
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request q = {0};
    struct reading_request how = {0};
    void *const targets[] = {&q, &how};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_reading_options options;
    struct mst_range *ranges = NULL;
    const char *const *words;
    size_t count = 0;
    enum mst_status status =
        options_read_words(self, argc, argv, targets, arena, &words, &count, err);
    const char *what = status == MST_OK && count ? words[0] : "";
    if (status == MST_OK && count == 0)
        status = mst_fail(err, MST_USAGE, "“mistara lesson” needs %s", self->asks);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = reading_options(&how, text, arena, &options, err);
    struct mst_find_scope scope = {.options = &options};
    if (status == MST_OK && q.in)
        status = mst_ranges_parse(text, mst_span_of(q.in), arena, &ranges, &scope.range_count, err);
    scope.ranges = ranges;
    if (status == MST_OK) {
        if (strcmp(what, "new") == 0)
            status = lesson_new(&q, joined(words, count, arena), &scope, text, arena, out, err);
        else if (strcmp(what, "check") == 0)
            status = count == 2 ? lesson_check(&q, words[1], text, arena, out, err)
                                : mst_fail(err, MST_USAGE,
                                           "say which file: mistara lesson check ikhfa.lesson");
        else if (strcmp(what, "build") == 0)
            status = count == 2 ? lesson_build(&q, words[1], text, arena, out, err)
                                : mst_fail(err, MST_USAGE,
                                           "say which file: mistara lesson build ikhfa.lesson -o "
                                           "ikhfa");
        else if (strcmp(what, "enrol") == 0)
            status = count == 1
                         ? lesson_enrol(&q, &scope, text, arena, out, err)
                         : mst_fail(err, MST_USAGE,
                                    "“%.60s” is too much; a range goes behind --range", words[1]);
        else
            status = mst_fail(err, MST_USAGE,
                              "“%.60s” is nothing to do with a lesson; it is new, "
                              "check, build or enrol",
                              what);
    }
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_lesson = {
    .name = "lesson",
    .arguments = "new RULE,… | check FILE | build FILE -o FOLDER | enrol",
    .asks = "what to do, for example: mistara lesson new ikhfa --range 78-80 -o ikhfa.lesson",
    .summary = "draft a lesson, check it, make all of it; the verses that teach the ear a voice",
    .about =
        "new    writes a first draft: explanation, examples for each letter or sound, a\n"
        "       passage that fades, questions; yours to edit (docs/lesson.md)\n"
        "check  names every mistake by its line, and what the class does not know yet\n"
        "build  everything into a new folder and a zip of it: handout, cards, slides, questions\n"
        "       with keys, captions, sound to practise with, film, and a page that leads to them\n"
        "enrol  the verses that take least time and hold every sound often enough for the\n"
        "       ear to learn a voice",
    .examples =
        "  mistara lesson new ikhfa --range 78-80 -o ikhfa.lesson   a draft\n"
        "  mistara lesson check ikhfa.lesson                        does it hold?\n"
        "  mistara lesson build ikhfa.lesson -o ikhfa               the folder, and ikhfa.zip\n"
        "  mistara lesson enrol --minutes 3                         to be recited once\n",
    .groups = {&options_group, &reading_group},
    .run = run,
};
