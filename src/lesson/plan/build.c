/*
 * build.c – a lesson made into a folder: pages for the hand and the wall, the
 * lesson's own file, and a page that leads to them. The folder is made beside
 * its place under another name and renamed at the end: it is there whole or
 * not at all.
 */
#include "parts.h"

#include <errno.h>
#include <mistara/pages.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { FILES_MOST = 2 * PLAN_ITEMS_MOST + 2, NAME_SIZE = 32 };

struct build {
    const struct mst_text *text;
    struct mst_typeset *typeset;
    const struct mst_lesson *l;
    struct mst_arena *arena;
    char *folder; /* the one under way */
    char (*names)[NAME_SIZE];
    int32_t count;
    struct mst_error *err;
};

static const char *file_path(struct build *b, const char *name)
{
    snprintf(b->names[b->count++], NAME_SIZE, "%s", name);
    return mst_arena_printf(b->arena, "%s/%s", b->folder, name);
}

static enum mst_status pages(struct build *b, const struct mst_handout *h, int32_t n, int wall)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_sheet *sheet;
    char name[NAME_SIZE];
    if (n == 0)
        snprintf(name, sizeof name, "%s.pdf", wall ? "slides" : "handout");
    else
        snprintf(name, sizeof name, "%s-%d.pdf", wall ? "slides" : "handout", n + 1);
    enum mst_status status = arena ? MST_OK : mst_fail(b->err, MST_NO_MEMORY, "memory ran out");
    if (status == MST_OK)
        status = (wall ? mst_slides_new : mst_handout_new)(b->typeset, b->text, h, arena, &sheet,
                                                           b->err);
    const char *path = status == MST_OK ? file_path(b, name) : NULL;
    if (status == MST_OK)
        status = path ? mst_sheet_write(sheet, path, 72, MST_THEME_LIGHT, b->err)
                      : mst_fail(b->err, MST_NO_MEMORY, "memory ran out");
    mst_arena_free(arena);
    return status;
}

static enum mst_status passage_pages(struct build *b, int32_t n, const struct mst_range *examples)
{
    const struct mst_lesson *l = b->l;
    const struct mst_lesson_passage *p = &l->passages[n];
    struct mst_handout h = {.title_en = mst_span_of(l->title),
                            .title_ar = mst_span_of(l->title_ar),
                            .rules = l->rules,
                            .explain_en = mst_span_of(l->explain_en),
                            .explain_ar = mst_span_of(l->explain_ar),
                            .examples = examples,
                            .example_count = (size_t)l->example_count,
                            .passage = p->range,
                            .reading = mst_lesson_reading(l, p),
                            .full_marks = !p->fade_evenly && p->stage_count == 0,
                            .line_stages = p->stage_count ? p->stages : NULL,
                            .line_stage_count = (size_t)p->stage_count,
                            .labels = l->language == MST_LESSON_EN   ? MST_LABELS_EN
                                      : l->language == MST_LESSON_AR ? MST_LABELS_AR
                                                                     : MST_LABELS_BOTH};
    enum mst_status status = pages(b, &h, n, 0);
    return status == MST_OK ? pages(b, &h, n, 1) : status;
}

static enum mst_status text_file(struct build *b, const char *name, struct mst_string *text)
{
    const char *path = file_path(b, name);
    enum mst_status status = path && !text->failed
                                 ? mst_file_write(path, text->ptr, text->len, b->err)
                                 : mst_fail(b->err, MST_NO_MEMORY, "memory ran out");
    mst_string_free(text);
    return status;
}

/* Leads to the files; needs no network. */
static enum mst_status index_page(struct build *b)
{
    struct mst_string s = {0};
    int arabic = b->l->language == MST_LESSON_AR;
    const char *title = (arabic && *b->l->title_ar) || !*b->l->title ? b->l->title_ar : b->l->title;
    mst_string_addf(&s,
                    "<!doctype html>\n<html lang=\"%s\" dir=\"%s\">\n<meta charset=\"utf-8\">\n"
                    "<meta name=\"viewport\" content=\"width=device-width\">\n<title>",
                    arabic ? "ar" : "en", arabic ? "rtl" : "ltr");
    mst_string_add_xml(&s, title, strlen(title));
    mst_string_adds(&s, "</title>\n<h1>");
    mst_string_add_xml(&s, b->l->title, strlen(b->l->title));
    mst_string_adds(&s, " <span lang=\"ar\" dir=\"rtl\">");
    mst_string_add_xml(&s, b->l->title_ar, strlen(b->l->title_ar));
    mst_string_adds(&s, "</span></h1>\n<ul>\n");
    for (int32_t n = 0; n < b->count; n++) /* names are ours: nothing to escape */
        mst_string_addf(&s, "<li><a href=\"%s\">%s</a></li>\n", b->names[n], b->names[n]);
    mst_string_adds(&s, "</ul>\n<p>");
    struct mst_span credits = mst_text_credits(b->text);
    mst_string_add_xml(&s, credits.ptr, credits.len);
    mst_string_adds(&s, "</p>\n</html>\n");
    return text_file(b, "index.html", &s);
}

static enum mst_status files(struct build *b)
{
    struct mst_range *examples =
        mst_arena_alloc(b->arena, (size_t)b->l->example_count + 1, sizeof *examples);
    b->names = mst_arena_alloc(b->arena, FILES_MOST, sizeof *b->names);
    struct mst_string lesson = {0};
    enum mst_status status =
        examples && b->names ? MST_OK : mst_fail(b->err, MST_NO_MEMORY, "memory ran out");
    for (int32_t n = 0; status == MST_OK && n < b->l->example_count; n++)
        examples[n] = b->l->examples[n].range;
    for (int32_t n = 0; status == MST_OK && n < b->l->passage_count; n++)
        status = passage_pages(b, n, examples);
    if (status != MST_OK)
        return status;
    mst_lesson_print(b->l, &lesson);
    status = text_file(b, "lesson.txt", &lesson);
    return status == MST_OK ? index_page(b) : status;
}

static void drop(struct build *b)
{
    for (int32_t n = 0; n < b->count; n++) {
        char path[1200];
        if (snprintf(path, sizeof path, "%s/%s", b->folder, b->names[n]) < (int)sizeof path)
            unlink(path);
    }
    rmdir(b->folder);
}

enum mst_status mst_lesson_build(const struct mst_text *text, struct mst_typeset *typeset,
                                 const struct mst_lesson *lesson, const char *folder,
                                 struct mst_error *err)
{
    struct stat there;
    struct build b = {
        .text = text, .typeset = typeset, .l = lesson, .arena = mst_arena_new(0), .err = err};
    size_t len = strlen(folder);
    while (len > 1 && folder[len - 1] == '/')
        len--;
    const char *wanted = b.arena ? mst_arena_strndup(b.arena, folder, len) : NULL;
    b.folder = wanted ? mst_arena_printf(b.arena, "%s.XXXXXX", wanted) : NULL;
    enum mst_status status = MST_OK;
    if (!b.folder)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out");
    else if (lesson->passage_count == 0)
        status = mst_fail(err, MST_BAD_DATA,
                          "the lesson has no passage to put on paper; write one under [passage]");
    else if (len >= 1000)
        status = mst_fail(err, MST_USAGE, "the folder's name is too long");
    else if (lstat(wanted, &there) == 0)
        status =
            mst_fail(err, MST_USAGE,
                     "there is a “%s” already; name a new folder, or move that one away", wanted);
    else if (!mkdtemp(b.folder))
        status = mst_fail_errno(err, MST_IO, errno, "cannot make a folder beside “%s”", wanted);
    else {
        status = files(&b);
        if (status == MST_OK && (chmod(b.folder, 0755) != 0 || rename(b.folder, wanted) != 0))
            status = mst_fail_errno(err, MST_IO, errno, "cannot name the folder “%s”", wanted);
        if (status != MST_OK)
            drop(&b);
    }
    mst_arena_free(b.arena);
    return status;
}
