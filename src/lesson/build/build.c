/*
 * build.c – a lesson made into everything (mistara/build.h): part after part
 * into a folder beside its place, the page that leads to them, the zip; at
 * the end both get their names.
 */
#include "parts.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_MOST = 1000 };

static const char *const part_ids[] = {
#define X(name, id, en, ar) id,
    MST_BUILD_PART_LIST(X)
#undef X
};
static const char *const part_names[][2] = {
#define X(name, id, en, ar) {en, ar},
    MST_BUILD_PART_LIST(X)
#undef X
};

const char *mst_build_part_id(enum mst_build_part part)
{
    return (int)part >= 0 && part < MST_BUILD_PARTS ? part_ids[part] : "lesson";
}

const char *mst_build_part_name(enum mst_build_part part, enum mst_lang lang)
{
    if ((int)part < 0 || part >= MST_BUILD_PARTS)
        return lang == MST_LANG_AR ? "الدرس" : "The lesson";
    return part_names[part][lang == MST_LANG_AR];
}

enum mst_status mst_build_parts_parse(struct mst_span s, uint32_t *out, struct mst_error *err)
{
    struct mst_span word;
    if (!mst_list_bits(s, part_ids, MST_BUILD_PARTS, out, &word))
        return mst_fail(err, MST_USAGE,
                        "“%.*s” is no part of a lesson's folder; parts are handout, cards, "
                        "slides, questions, captions, practice, film, enrolment",
                        (int)(word.len < 60 ? word.len : 60), word.ptr);
    return MST_OK;
}

/* --- how far it is ------------------------------------------------------------------- */

static enum mst_status tell(struct build *b, double done)
{
    const struct mst_build_progress *p = b->options->progress;
    if (p && p->report && p->report(p->user, b->part, done < 1 ? done : 1) != 0)
        return mst_fail(b->err, MST_CANCELLED,
                        "the build was stopped on request; nothing was left behind");
    return MST_OK;
}

enum mst_status mst_build_step(struct build *b, enum mst_build_part part, double weight)
{
    b->part = part;
    b->done = b->to;
    b->to += weight / b->weights;
    return tell(b, b->done);
}

enum mst_status mst_build_tell(struct build *b, double done)
{
    return tell(b, b->done + done * (b->to - b->done));
}

static int share_report(void *user, double done)
{
    struct build_share *s = user;
    return mst_build_tell(s->b, s->from + done * (s->to - s->from)) != MST_OK;
}

struct mst_ear_progress mst_build_share(struct build_share *share)
{
    return (struct mst_ear_progress){share_report, share};
}

/* --- from part to part --------------------------------------------------------------- */

int mst_build_wants(const struct build *b, enum mst_build_part part)
{
    return (int)(b->parts >> part & 1u);
}

static const struct {
    enum mst_build_part part;
    double weight;
    enum mst_status (*make)(struct build *b);
} printed[] = {
    {MST_BUILD_HANDOUT, 1, mst_build_handouts},    {MST_BUILD_CARDS, 3, mst_build_cards},
    {MST_BUILD_SLIDES, 4, mst_build_slides},       {MST_BUILD_QUESTIONS, 2, mst_build_questions},
    {MST_BUILD_ENROLMENT, 8, mst_build_enrolment},
};
enum { PRINTED = sizeof printed / sizeof printed[0] };

static double weights_of(const struct build *b)
{
    double sum = 1;
    for (int n = 0; n < PRINTED; n++)
        sum += mst_build_wants(b, printed[n].part) ? printed[n].weight : 0;
    double take = CAPTIONS_WEIGHT * mst_build_wants(b, MST_BUILD_CAPTIONS) +
                  PRACTICE_WEIGHT * mst_build_wants(b, MST_BUILD_PRACTICE) +
                  FILM_WEIGHT * mst_build_wants(b, MST_BUILD_FILM);
    return take > 0 ? sum + b->l->take_count * (take + LISTEN_WEIGHT) : sum;
}

static enum mst_status everything(struct build *b)
{
    struct mst_string lesson = {0};
    enum mst_status status = MST_OK;
    for (int n = 0; status == MST_OK && n < PRINTED; n++) {
        if (!mst_build_wants(b, printed[n].part))
            continue;
        status = mst_build_step(b, printed[n].part, printed[n].weight);
        if (status == MST_OK)
            status = printed[n].make(b);
    }
    if (status == MST_OK &&
        (mst_build_wants(b, MST_BUILD_CAPTIONS) || mst_build_wants(b, MST_BUILD_PRACTICE) ||
         mst_build_wants(b, MST_BUILD_FILM)))
        status = mst_build_takes(b);
    if (status == MST_OK)
        status = mst_build_step(b, MST_BUILD_PARTS, 1);
    if (status != MST_OK)
        return status;
    mst_lesson_print(b->l, &lesson);
    status = mst_build_file_write(b, "lesson.txt",
                                  "The lesson itself: to read, change and build "
                                  "again",
                                  "ملف الدرس نفسه: يُقرأ ويُعدّل ويُبنى من جديد", &lesson);
    return status == MST_OK ? mst_build_index(b) : status;
}

/* "ikhfa-qalqala": so that a file still says what it is when it has left its folder. */
static const char *prefix_of(const struct build *b)
{
    struct mst_string s = {0};
    for (int r = 0; r < MST_RULE_COUNT; r++)
        if (mst_rule_set_has(b->l->rules, (enum mst_rule)r)) {
            const char *id = mst_rule_id((enum mst_rule)r);
            if (s.len + strlen(id) > 40)
                break;
            mst_string_addf(&s, "%s%s", s.len ? "-" : "", id);
        }
    for (size_t n = 0; n < s.len; n++)
        if (s.ptr[n] == '_')
            s.ptr[n] = '-';
    const char *kept = s.failed ? NULL : mst_arena_strndup(b->arena, s.len ? s.ptr : "", s.len);
    mst_string_free(&s);
    return kept;
}

static enum mst_status free_name(const char *path, struct mst_error *err)
{
    struct stat there;
    if (strlen(path) >= PATH_MOST)
        return mst_fail(err, MST_USAGE, "the name “%.60s…” is too long", path);
    if (lstat(path, &there) == 0)
        return mst_fail(err, MST_USAGE,
                        "there is a “%s” already; choose a new name, or move that one away", path);
    return MST_OK;
}

static const char *last_of(const char *path)
{
    const char *stroke = strrchr(path, '/');
    return stroke ? stroke + 1 : path;
}

/* Folder and zip get their names, both or neither; the zip is ended in any case. */
static enum mst_status named(struct build *b, const char *folder, struct mst_outfile *zip)
{
    if (rename(b->folder, folder) != 0) {
        int errnum = errno;
        mst_outfile_abort(zip);
        return mst_fail_errno(b->err, MST_IO, errnum, "cannot name the folder “%s”", folder);
    }
    enum mst_status status = zip ? mst_outfile_commit(zip, b->err) : MST_OK;
    if (status != MST_OK) {
        (void)rename(folder, b->folder);
        return status;
    }
    int errnum = mst_name_sync(folder);
    return errnum ? mst_fail_errno(b->err, MST_IO, errnum,
                                   "“%s” is made, but the disk does not confirm it", folder)
                  : MST_OK;
}

static enum mst_status zipped(struct build *b, const char *top, struct mst_outfile **out)
{
    *out = NULL;
    if (!b->options->zip)
        return MST_OK;
    enum mst_status status = mst_outfile_open(b->options->zip, out, b->err);
    if (status == MST_OK)
        status = mst_build_zip(b, mst_outfile_temp_path(*out), top);
    return status;
}

enum mst_status mst_lesson_build(const struct mst_text *text, struct mst_typeset *typeset,
                                 const struct mst_lesson *lesson, const char *folder,
                                 const struct mst_build_options *options, struct mst_arena *arena,
                                 struct mst_built *out, struct mst_error *err)
{
    static const struct mst_build_options plain;
    struct build b = {.text = text,
                      .typeset = typeset,
                      .l = lesson,
                      .options = options ? options : &plain,
                      .arena = arena,
                      .out = out,
                      .err = err};
    size_t len = strlen(folder);
    while (len > 1 && folder[len - 1] == '/')
        len--;
    *out = (struct mst_built){0};
    b.parts = b.options->parts ? b.options->parts : (1u << MST_BUILD_PARTS) - 1;
    b.weights = weights_of(&b);
    b.prefix = prefix_of(&b);
    const char *wanted_name = mst_arena_strndup(arena, folder, len);
    struct mst_outfile *zip = NULL;
    if (!wanted_name || !b.prefix)
        return mst_build_no_memory(err);
    if (lesson->passage_count == 0)
        return mst_fail(err, MST_BAD_DATA,
                        "the lesson has no passage to put on paper; write one under [passage]");
    enum mst_status status = free_name(wanted_name, err);
    if (status == MST_OK && b.options->zip)
        status = free_name(b.options->zip, err);
    if (status == MST_OK)
        status = mst_build_folder_open(&b, wanted_name);
    if (status != MST_OK)
        return status;
    status = everything(&b);
    if (status == MST_OK)
        status = mst_build_folder_settle(&b);
    if (status == MST_OK)
        status = zipped(&b, last_of(wanted_name), &zip);
    if (status == MST_OK)
        status = tell(&b, 1);
    if (status == MST_OK)
        status = named(&b, wanted_name, zip);
    else
        mst_outfile_abort(zip);
    if (status != MST_OK) {
        mst_build_folder_drop(&b);
        *out = (struct mst_built){0};
    }
    return status;
}
