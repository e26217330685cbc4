/*
 * index.c – the page of a lesson's folder: every file under what it is, in
 * both languages or the lesson's own, and what is missing. It needs no network
 * and no script; sound and film play in it.
 */
#include "parts.h"

#include <string.h>

static const char style[] =
    ":root{color-scheme:light dark}"
    "body{font:1.05rem/1.6 'Noto Naskh Arabic','Gentium Plus',Georgia,serif;max-width:60rem;"
    "margin:0 auto;padding:1.5rem}"
    "h1,h2,p.two,li>div{display:flex;flex-wrap:wrap;justify-content:space-between;gap:0 2rem}"
    "h1{font-size:1.7rem;border-bottom:2px solid;padding-bottom:.4rem}"
    "h2{font-size:1.2rem;margin-top:2.2rem}"
    "ul{list-style:none;padding:0}li{padding:.5rem 0;border-top:1px solid #8886}"
    "[lang=ar]{font-size:1.1em}"
    "ul.pictures{display:grid;grid-template-columns:repeat(auto-fill,minmax(13rem,1fr));gap:1rem}"
    "ul.pictures li{border:0}ul.pictures img{width:100%;height:auto;border:1px solid #8888;"
    "background:#fff}"
    "audio,video{display:block;width:100%;margin-top:.4rem}"
    ".missing{border-inline-start:4px solid;padding-inline-start:1rem}"
    "a{overflow-wrap:anywhere}";

struct page {
    struct build *b;
    struct mst_string *s;
    int en, ar;
};

/* Both languages, each in its own direction. */
static void two(const struct page *p, const char *en, const char *ar)
{
    if (p->en) {
        mst_string_adds(p->s, "<span lang=\"en\" dir=\"ltr\">");
        mst_string_add_xml(p->s, en, strlen(en));
        mst_string_adds(p->s, "</span>");
    }
    if (p->ar) {
        mst_string_adds(p->s, "<span lang=\"ar\" dir=\"rtl\">");
        mst_string_add_xml(p->s, ar, strlen(ar));
        mst_string_adds(p->s, "</span>");
    }
}

static int ends(const char *path, const char *ending)
{
    size_t len = strlen(path), tail = strlen(ending);
    return len > tail && strcmp(path + len - tail, ending) == 0;
}

/* Names may hold letters of any script and what XML would take for its own. */
static void quoted(struct mst_string *s, const char *attribute, const char *path)
{
    mst_string_addf(s, " %s=\"", attribute);
    for (const char *c = path; *c; c++) {
        unsigned char u = (unsigned char)*c;
        if ((u >= 'a' && u <= 'z') || (u >= 'A' && u <= 'Z') || (u >= '0' && u <= '9') ||
            strchr("-._/", u))
            mst_string_add(s, c, 1);
        else
            mst_string_addf(s, "%%%02X", u);
    }
    mst_string_adds(s, "\"");
}

static void picture(const struct page *p, const struct mst_built_file *f)
{
    struct mst_string *s = p->s;
    mst_string_adds(s, "<li><a");
    quoted(s, "href", f->path);
    mst_string_adds(s, "><img loading=\"lazy\"");
    quoted(s, "src", f->path);
    mst_string_adds(s, " alt=\"");
    mst_string_add_xml(s, p->en ? f->en : f->ar, strlen(p->en ? f->en : f->ar));
    mst_string_adds(s, "\"></a><div>");
    two(p, f->en, f->ar);
    mst_string_adds(s, "</div></li>\n");
}

static void entry(const struct page *p, const struct mst_built_file *f)
{
    struct mst_string *s = p->s;
    const char *tag = ends(f->path, ".flac")                            ? "audio"
                      : ends(f->path, ".mp4") || ends(f->path, ".webm") ? "video"
                                                                        : NULL;
    mst_string_adds(s, "<li><div>");
    two(p, f->en, f->ar);
    mst_string_adds(s, "</div><a dir=\"ltr\"");
    quoted(s, "href", f->path);
    mst_string_adds(s, ">");
    mst_string_add_xml(s, f->path, strlen(f->path));
    mst_string_adds(s, "</a>");
    if (f->bytes >= 1000000)
        mst_string_addf(s, " <small dir=\"ltr\">%.1f MB</small>", (double)f->bytes / 1e6);
    if (tag) {
        mst_string_addf(s, "<%s controls preload=\"none\"", tag);
        quoted(s, "src", f->path);
        mst_string_addf(s, "></%s>", tag);
    }
    mst_string_adds(s, "</li>\n");
}

static int is_picture(const struct mst_built_file *f)
{
    return ends(f->path, ".png");
}

static int count_of(const struct mst_built *built, enum mst_build_part part, int pictures)
{
    int count = 0;
    for (int32_t n = 0; n < built->file_count; n++)
        count += built->files[n].part == part && is_picture(&built->files[n]) == pictures;
    return count;
}

static void section(const struct page *p, enum mst_build_part part)
{
    const struct mst_built *built = p->b->out;
    for (int pictures = 0, begun = 0; pictures < 2; pictures++) {
        if (count_of(built, part, pictures) == 0)
            continue;
        if (!begun++) {
            mst_string_adds(p->s, "<h2>");
            two(p, mst_build_part_name(part, MST_LANG_EN), mst_build_part_name(part, MST_LANG_AR));
            mst_string_adds(p->s, "</h2>\n");
        }
        mst_string_addf(p->s, "<ul%s>\n", pictures ? " class=\"pictures\"" : "");
        for (int32_t n = 0; n < built->file_count; n++)
            if (built->files[n].part == part && is_picture(&built->files[n]) == pictures)
                (pictures ? picture : entry)(p, &built->files[n]);
        mst_string_adds(p->s, "</ul>\n");
    }
}

static void missing(const struct page *p)
{
    const struct mst_built *built = p->b->out;
    if (built->missing_count == 0)
        return;
    mst_string_adds(p->s, "<h2>");
    two(p, "What is missing", "ما ينقص");
    mst_string_adds(p->s, "</h2>\n<ul class=\"missing\">\n");
    for (int32_t n = 0; n < built->missing_count; n++) {
        mst_string_adds(p->s, "<li><div>");
        two(p, built->missing[n].en, built->missing[n].ar);
        mst_string_adds(p->s, "</div></li>\n");
    }
    mst_string_adds(p->s, "</ul>\n");
}

static void foot(const struct page *p)
{
    struct mst_span credits = mst_text_credits(p->b->text);
    mst_string_adds(p->s, "<p class=\"two\">");
    two(p, "Recitation is learned from a qualified teacher, by mouth.",
        "التلاوة تُؤخذ بالتلقي مشافهة عن معلم متقن.");
    mst_string_adds(p->s, "</p>\n<p><small>");
    mst_string_add_xml(p->s, credits.ptr, credits.len);
    mst_string_adds(p->s, "</small></p>\n</html>\n");
}

enum mst_status mst_build_index(struct build *b)
{
    struct mst_string s = {0};
    struct page p = {.b = b,
                     .s = &s,
                     .en = b->l->language != MST_LESSON_AR,
                     .ar = b->l->language != MST_LESSON_EN};
    const char *en = *b->l->title ? b->l->title : b->l->title_ar;
    const char *ar = *b->l->title_ar ? b->l->title_ar : b->l->title;
    mst_string_addf(&s,
                    "<!doctype html>\n<html lang=\"%s\" dir=\"%s\">\n<meta charset=\"utf-8\">\n"
                    "<meta name=\"viewport\" content=\"width=device-width\">\n<title>",
                    p.en ? "en" : "ar", p.en ? "ltr" : "rtl");
    mst_string_add_xml(&s, p.en ? en : ar, strlen(p.en ? en : ar));
    mst_string_addf(&s, "</title>\n<style>%s</style>\n<h1>", style);
    two(&p, en, ar);
    mst_string_adds(&s, "</h1>\n");
    if (b->options->class_line.len) {
        mst_string_adds(&s, "<p dir=\"auto\">");
        mst_string_add_xml(&s, b->options->class_line.ptr, b->options->class_line.len);
        mst_string_adds(&s, "</p>\n");
    }
    for (int part = 0; part <= MST_BUILD_PARTS; part++)
        section(&p, (enum mst_build_part)part);
    missing(&p);
    foot(&p);
    b->part = MST_BUILD_PARTS;
    return mst_build_file_write(b, "index.html", "This page", "هذه الصفحة", &s);
}
