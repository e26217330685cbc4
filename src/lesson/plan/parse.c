/* parse.c – a lesson file read: every mistake with its line, as much as can be read kept. */
#include "parts.h"

#include <mistara/shelf.h>

#include <string.h>

#define X(name, id) id,
static const char *const levels[] = {MST_LESSON_LEVEL_LIST(X) NULL};
#undef X
#define X(name, id, en) id,
static const char *const kinds[] = {MST_ASK_LIST(X) NULL};
#undef X
static const char *const languages[] = {"both", "en", "ar", NULL};

const char *mst_lesson_level_id(enum mst_lesson_level level)
{
    return (unsigned)level < MST_LEVEL_COUNT ? levels[level] : "";
}
const char *mst_lesson_language_id(enum mst_lesson_language language)
{
    return (unsigned)language < MST_LESSON_LANGUAGES ? languages[language] : "";
}

enum section { HEAD, EXPLAIN, EXPLAIN_AR, EXAMPLES, PASSAGE, QUESTIONS, TAKES, SECTIONS, UNKNOWN };
static const char *const sections[] = {
    [HEAD] = "(head)",       [EXPLAIN] = "explain", [EXPLAIN_AR] = "explain ar",
    [EXAMPLES] = "examples", [PASSAGE] = "passage", [QUESTIONS] = "questions",
    [TAKES] = "takes",       [SECTIONS] = NULL};

enum key {
    TITLE,
    TITLE_AR,
    RULES,
    KNOWN,
    LEVEL,
    LANGUAGE,
    READING,
    NARRATION,
    VOICE,
    RANGE,
    STOPS,
    FADE,
    KEYS
};
static const char *const keys[] = {"title",    "title ar", "rules",     "known", "level",
                                   "language", "reading",  "narration", "voice", "range",
                                   "stops",    "fade",     NULL};

enum { RANGE_REFUSED = -1 };

struct parser {
    struct plan_source s;
    struct mst_lesson *l;
    enum section section;
    int32_t seen_section[SECTIONS];
    int32_t seen_key[KEYS]; /* line, in this section */
    struct mst_string explain[2];
};

static int word_of(struct parser *p, const struct plan_line *line, const char *what,
                   const char *const words[])
{
    for (int n = 0; words[n]; n++)
        if (mst_span_equal(line->value, mst_span_of(words[n])))
            return n;
    mst_plan_problem(&p->s, line->number, 0, "“%.*s” is no %s; write %s, %s or %s",
                     PLAN_SHOWN(line->value), what, words[0], words[1], words[2]);
    return 0;
}

/* --- the passage ---------------------------------------------------------------- */

static void passage_new(struct parser *p, int32_t number)
{
    struct mst_lesson *l = p->l;
    if (!mst_plan_room(&p->s, number, l->passage_count, "passages"))
        return;
    struct mst_lesson_passage *list =
        mst_plan_grow(&p->s, l->passages, l->passage_count, sizeof *list);
    if (!list)
        return;
    l->passages = list;
    list[l->passage_count++] = (struct mst_lesson_passage){.line = number};
    for (int key = RANGE; key <= FADE; key++)
        p->seen_key[key] = 0;
}

static void stops_read(struct parser *p, const struct plan_line *line,
                       struct mst_lesson_passage *passage)
{
    struct mst_reading_options o = {0};
    struct mst_error why;
    if (mst_stops_parse(p->s.text, line->value, p->s.arena, &o, &why) != MST_OK) {
        mst_plan_problem(&p->s, line->number, 0,
                         "stops are verses, signs, none or words such as 67:1:3: %s", why.message);
        return;
    }
    passage->stops = o.stops;
    passage->stop_list =
        o.stop_count ? mst_arena_alloc(p->s.arena, o.stop_count, sizeof *o.stop_list) : NULL;
    if (o.stop_count && !passage->stop_list) {
        p->s.failed = 1;
        return;
    }
    for (size_t n = 0; n < o.stop_count; n++)
        passage->stop_list[n] = o.stop_list[n];
    passage->stop_count = (int32_t)o.stop_count;
}

static void fade_read(struct parser *p, const struct plan_line *line,
                      struct mst_lesson_passage *passage)
{
    if (mst_span_equal(line->value, MST_SPAN("evenly"))) {
        passage->fade_evenly = 1;
        return;
    }
    if (mst_span_equal(line->value, MST_SPAN("none")))
        return;
    uint8_t *stages = mst_arena_alloc(p->s.arena, line->value.len + 1, 1);
    if (!stages) {
        p->s.failed = 1;
        return;
    }
    int32_t count = 0;
    int wanted = 1; /* a digit comes next */
    for (size_t n = 0; n < line->value.len; n++) {
        char c = line->value.ptr[n];
        if (c == ' ')
            continue;
        if (wanted ? c < '0' || c > '4' : c != ',') {
            mst_plan_problem(&p->s, line->number, 0,
                             "“%.*s” is no fading; write evenly, none, or a stage from 0 (full "
                             "marks) to 4 (nothing) for each line: 0,0,1,2,4",
                             PLAN_SHOWN(line->value));
            return;
        }
        if (wanted)
            stages[count++] = (uint8_t)(c - '0');
        wanted = !wanted;
    }
    if (wanted) {
        mst_plan_problem(&p->s, line->number, 0,
                         "the fading ends where a stage is awaited; write evenly, none or such as "
                         "0,0,1,2,4");
        return;
    }
    passage->stages = stages;
    passage->stage_count = count;
}

/* --- lines by section -------------------------------------------------------------- */

static int once(struct parser *p, const struct plan_line *line, enum key key)
{
    if (p->seen_key[key]) {
        mst_plan_problem(&p->s, line->number, 0,
                         "“%s” stands here again, first in line %d; keep one of them", keys[key],
                         p->seen_key[key]);
        return 0;
    }
    p->seen_key[key] = line->number;
    return 1;
}

/* A name on the shelf, not a path: a lesson comes from other teachers too. */
static void voice_read(struct parser *p, const struct plan_line *line)
{
    struct mst_error why;
    const char *name = mst_plan_copy(&p->s, line->value);
    if (p->s.failed)
        return;
    if (mst_shelf_check_name(name, &why) == MST_OK)
        p->l->voice = name;
    else
        mst_plan_problem(&p->s, line->number, 0, "%s", why.message);
}

static void keyed_line(struct parser *p, const struct plan_line *line)
{
    int in_passage = p->section == PASSAGE;
    enum key key = 0;
    if (!line->key.ptr) {
        mst_plan_problem(&p->s, line->number, 0,
                         "“%.*s” is no “name: value” and no section; write it like title: …, or "
                         "put # before a remark",
                         PLAN_SHOWN(line->whole));
        return;
    }
    while (key < KEYS && !mst_span_equal(line->key, mst_span_of(keys[key])))
        key++;
    if (key == KEYS || (key >= RANGE) != in_passage) {
        const char *near =
            key == KEYS ? mst_plan_nearest(line->key, keys + (in_passage ? RANGE : 0)) : NULL;
        mst_plan_problem(
            &p->s, line->number, 0, "“%.*s” is not known %s%s%s; there are %s",
            PLAN_SHOWN(line->key), in_passage ? "in a passage" : "at the head of a lesson",
            near ? "; nearest: " : "", near ? near : "",
            in_passage ? "range, stops, fade"
                       : "title, title ar, rules, known, level, language, reading, narration, "
                         "voice");
        return;
    }
    if (!once(p, line, key))
        return;
    struct mst_lesson *l = p->l;
    struct mst_lesson_passage *passage = in_passage && l->passage_count
                                             ? &l->passages[l->passage_count - 1]
                                             : &(struct mst_lesson_passage){0};
    if (line->value.len == 0 && key != KNOWN) {
        mst_plan_problem(&p->s, line->number, 0,
                         "nothing stands after “%s:”; fill it in or take the line out", keys[key]);
        return;
    }
    switch (key) {
    case TITLE:
        l->title = mst_plan_copy(&p->s, line->value);
        break;
    case TITLE_AR:
        l->title_ar = mst_plan_copy(&p->s, line->value);
        break;
    case RULES:
        (void)mst_plan_rules(&p->s, line, &l->rules);
        break;
    case KNOWN:
        l->known_given = line->value.len == 0 || mst_plan_rules(&p->s, line, &l->known);
        break;
    case LEVEL:
        l->level = (enum mst_lesson_level)word_of(p, line, "level", levels);
        break;
    case LANGUAGE:
        l->language = (enum mst_lesson_language)word_of(p, line, "language", languages);
        break;
    case READING:
        mst_plan_reading(&p->s, line, &l->reading);
        break;
    case NARRATION:
        l->narration = mst_plan_copy(&p->s, line->value);
        mst_plan_file(&p->s, line->number, "narration", line->value, &l->narration_path);
        break;
    case VOICE:
        voice_read(p, line);
        break;
    case RANGE:
        if (!mst_plan_range(&p->s, line, line->value, &passage->range))
            passage->range = (struct mst_range){.first.sura = RANGE_REFUSED};
        break;
    case STOPS:
        stops_read(p, line, passage);
        break;
    case FADE:
        fade_read(p, line, passage);
        break;
    case KEYS:
        break;
    }
}

static void example_line(struct parser *p, const struct plan_line *line)
{
    struct mst_lesson *l = p->l;
    struct mst_span rest = line->whole;
    struct mst_lesson_example e = {.line = line->number, .note = ""};
    if (!mst_plan_room(&p->s, line->number, l->example_count, "examples") ||
        !mst_plan_range(&p->s, line, mst_plan_field(&rest), &e.range))
        return;
    e.note = mst_plan_copy(&p->s, mst_plan_trim(rest));
    struct mst_lesson_example *list =
        mst_plan_grow(&p->s, l->examples, l->example_count, sizeof *list);
    if (!list)
        return;
    l->examples = list;
    list[l->example_count++] = e;
}

/* "count 4" or "seed 7". */
static void question_extra(struct parser *p, const struct plan_line *line, struct mst_span field,
                           struct mst_lesson_question *q)
{
    int32_t value = 0;
    if (field.len > 6 && memcmp(field.ptr, "count ", 6) == 0) {
        if (!mst_plan_number(mst_plan_trim((struct mst_span){field.ptr + 6, field.len - 6}), 1, 100,
                             &value))
            mst_plan_problem(&p->s, line->number, 0, "“%.*s”: a count is 1 to 100",
                             PLAN_SHOWN(field));
        q->count = value;
    } else if (field.len > 5 && memcmp(field.ptr, "seed ", 5) == 0) {
        if (!mst_plan_number(mst_plan_trim((struct mst_span){field.ptr + 5, field.len - 5}), 0,
                             INT32_MAX, &value))
            mst_plan_problem(&p->s, line->number, 0, "“%.*s”: a seed is a number from 0 to %d",
                             PLAN_SHOWN(field), INT32_MAX);
        q->seed = (uint32_t)value;
    } else {
        mst_plan_problem(&p->s, line->number, 0,
                         "“%.*s” is not understood; after the range come count N and seed N",
                         PLAN_SHOWN(field));
    }
}

static void question_line(struct parser *p, const struct plan_line *line)
{
    struct mst_lesson *l = p->l;
    struct mst_lesson_question q = {.count = 1, .line = line->number};
    int kind = 0;
    if (!line->key.ptr) {
        mst_plan_problem(&p->s, line->number, 0,
                         "“%.*s” is no question; write it like mark: 78:1-16 | count 2 | seed 1",
                         PLAN_SHOWN(line->whole));
        return;
    }
    while (kinds[kind] && !mst_span_equal(line->key, mst_span_of(kinds[kind])))
        kind++;
    if (!kinds[kind]) {
        mst_plan_problem(&p->s, line->number, 0,
                         "“%.*s” is no kind of question; there are mark, name, count, without, "
                         "both and find",
                         PLAN_SHOWN(line->key));
        return;
    }
    q.kind = (uint8_t)kind;
    struct mst_span rest = line->value;
    if (!mst_plan_room(&p->s, line->number, l->question_count, "questions") ||
        !mst_plan_range(&p->s, line, mst_plan_field(&rest), &q.range))
        return;
    while (rest.ptr)
        question_extra(p, line, mst_plan_field(&rest), &q);
    struct mst_lesson_question *list =
        mst_plan_grow(&p->s, l->questions, l->question_count, sizeof *list);
    if (!list)
        return;
    l->questions = list;
    list[l->question_count++] = q;
}

static void take_line(struct parser *p, const struct plan_line *line)
{
    struct mst_lesson *l = p->l;
    struct mst_lesson_recording t = {.line = line->number};
    if (!line->key.ptr || line->key.len == 0 || !memchr(line->value.ptr, '|', line->value.len)) {
        mst_plan_problem(&p->s, line->number, 0,
                         "“%.*s” is no take; write it like teacher: takes/first.flac | 78:1-16",
                         PLAN_SHOWN(line->whole));
        return;
    }
    for (int32_t n = 0; n < l->take_count; n++)
        if (mst_span_equal(line->key, mst_span_of(l->takes[n].name)))
            mst_plan_problem(&p->s, line->number, 0,
                             "there is a take named “%.*s” already, in line %d; give each its own",
                             PLAN_SHOWN(line->key), l->takes[n].line);
    struct mst_span rest = line->value, file = mst_plan_field(&rest);
    if (!mst_plan_room(&p->s, line->number, l->take_count, "takes") ||
        !mst_plan_range(&p->s, line, mst_plan_trim(rest), &t.range))
        return;
    t.name = mst_plan_copy(&p->s, line->key);
    t.file = mst_plan_copy(&p->s, file);
    mst_plan_file(&p->s, line->number, "take", file, &t.path);
    struct mst_lesson_recording *list = mst_plan_grow(&p->s, l->takes, l->take_count, sizeof *list);
    if (!list)
        return;
    l->takes = list;
    list[l->take_count++] = t;
}

/* A line of an explanation: kept as it is; a backslash before # [ or \ is only there so that the
 * line is no remark and no section. */
static void explain_line(struct mst_string *text, const struct plan_line *line)
{
    struct mst_span w = line->whole;
    if (w.len > 0 && w.ptr[0] == '#')
        return;
    if (w.len > 0 && w.ptr[0] == '\\') {
        w.ptr++;
        w.len--;
        w = mst_plan_trim(w); /* blanks at its head would not last */
    }
    if (w.len == 0 && (text->len == 0 || (text->len > 1 && text->ptr[text->len - 2] == '\n')))
        return; /* no empty line at the head, never two */
    mst_string_add(text, w.ptr, w.len);
    mst_string_adds(text, "\n");
}

static void section_begin(struct parser *p, const struct plan_line *line, struct mst_span name)
{
    int section = EXPLAIN;
    while (section < SECTIONS && !mst_span_equal(name, mst_span_of(sections[section])))
        section++;
    p->section = (enum section)section;
    if (section == SECTIONS) {
        p->section = UNKNOWN;
        const char *near = mst_plan_nearest(name, sections + EXPLAIN);
        mst_plan_problem(&p->s, line->number, 0,
                         "there is no section [%.*s]%s%s; there are [explain], [explain ar], "
                         "[examples], [passage], [questions] and [takes]",
                         PLAN_SHOWN(name), near ? "; nearest: " : "", near ? near : "");
        return;
    }
    if (section == PASSAGE) {
        passage_new(p, line->number);
        return;
    }
    if (p->seen_section[section])
        mst_plan_problem(&p->s, line->number, 0,
                         "the section [%s] stands here again, first in line %d; put them together",
                         sections[section], p->seen_section[section]);
    else
        p->seen_section[section] = line->number;
}

static void one_line(struct parser *p, const struct plan_line *line)
{
    struct mst_span name;
    if (mst_plan_line_head(line, &name)) {
        section_begin(p, line, name);
        return;
    }
    if (p->section == EXPLAIN || p->section == EXPLAIN_AR) {
        explain_line(&p->explain[p->section == EXPLAIN_AR], line);
        return;
    }
    if (mst_plan_line_empty(line))
        return;
    switch (p->section) {
    case HEAD:
    case PASSAGE:
        keyed_line(p, line);
        break;
    case EXAMPLES:
        example_line(p, line);
        break;
    case QUESTIONS:
        question_line(p, line);
        break;
    case TAKES:
        take_line(p, line);
        break;
    default: /* lines of a section that is not known: one problem is enough */
        break;
    }
}

/* --- the whole ------------------------------------------------------------------------ */

struct mst_reading_options mst_lesson_reading(const struct mst_lesson *lesson,
                                              const struct mst_lesson_passage *passage)
{
    struct mst_reading_options o = lesson->reading;
    o.stops = passage->stops;
    o.stop_list = passage->stop_list;
    o.stop_count = (size_t)passage->stop_count;
    return o;
}

/* Can each passage be read as it says? The engine knows. */
static void passages_hold(struct parser *p)
{
    for (int32_t n = 0; n < p->l->passage_count; n++) {
        struct mst_lesson_passage *passage = &p->l->passages[n];
        if (passage->range.first.sura == RANGE_REFUSED) {
            passage->range = (struct mst_range){0}; /* its problem is named already */
            continue;
        }
        if (passage->range.first.sura == 0) {
            mst_plan_problem(&p->s, passage->line, 0,
                             "the passage has no range that is understood; write such as range: "
                             "78:1-16");
            continue;
        }
        struct mst_arena *arena = mst_arena_new(0);
        struct mst_reading_options o = mst_lesson_reading(p->l, passage);
        struct mst_reading *r;
        struct mst_error why;
        enum mst_status status =
            arena ? mst_reading_new(p->s.text, passage->range, &o, arena, &r, &why) : MST_NO_MEMORY;
        mst_arena_free(arena);
        if (status == MST_NO_MEMORY)
            p->s.failed = 1;
        else if (status != MST_OK)
            mst_plan_problem(&p->s, passage->line, 0, "the passage cannot be read so: %s",
                             why.message);
    }
}

static const char *explained(struct parser *p, int which)
{
    struct mst_string *text = &p->explain[which];
    while (text->len > 0 && text->ptr[text->len - 1] == '\n')
        text->len--;
    const char *kept = mst_plan_copy(&p->s, (struct mst_span){text->ptr, text->len});
    p->s.failed |= text->failed;
    mst_string_free(text);
    return kept;
}

enum mst_status mst_lesson_parse(const struct mst_text *text, struct mst_span source,
                                 const char *folder, struct mst_arena *arena,
                                 struct mst_lesson *out, struct mst_lesson_problems *problems,
                                 struct mst_error *err)
{
    struct parser p = {.s = {.text = text,
                             .arena = arena,
                             .problems = problems,
                             .folder = folder,
                             .bytes = source},
                       .l = out};
    struct plan_line line;
    *problems = (struct mst_lesson_problems){0};
    *out = (struct mst_lesson){.title = "", .title_ar = "", .narration = "", .voice = ""};
    int readable = mst_plan_header(&p.s, "lesson", MST_LESSON_VERSION);
    while (readable && mst_plan_next_line(&p.s, &line))
        one_line(&p, &line);
    out->explain_en = explained(&p, 0);
    out->explain_ar = explained(&p, 1);
    if (readable && !p.seen_key[TITLE] && !p.seen_key[TITLE_AR])
        mst_plan_problem(&p.s, 0, 0, "the lesson has no title; write one at its head: title: …");
    if (readable && !p.seen_key[RULES])
        mst_plan_problem(&p.s, 0, 0,
                         "the lesson names no rule; write at its head what it teaches, such as "
                         "rules: ikhfa");
    if (readable && !p.s.failed)
        passages_hold(&p);
    return mst_plan_end(&p.s, "lesson", err);
}

enum mst_status mst_lesson_open(const struct mst_text *text, const char *path,
                                struct mst_arena *arena, struct mst_lesson *out,
                                struct mst_lesson_problems *problems, struct mst_error *err)
{
    struct mst_span bytes;
    const char *folder;
    *problems = (struct mst_lesson_problems){0};
    enum mst_status status = mst_plan_load(path, arena, &bytes, &folder, err);
    return status == MST_OK ? mst_lesson_parse(text, bytes, folder, arena, out, problems, err)
                            : status;
}
