/*
 * captions.c – captions of a take. What shows at a moment (which words, which
 * of them is being said, which marks sound) is worked out once; the three
 * formats only write it.
 */
#include "parts.h"

#include <stdio.h>
#include <stdlib.h>

enum { WORDS_AT_ONCE = 10, NAMES_AT_ONCE = 3 };

/* One unchanging picture: words first…end-1 of the timeline, one of them being said. */
struct moment {
    int32_t start_ms, end_ms;
    int32_t first_word, end_word, said;
    int32_t sites[NAMES_AT_ONCE];
    int site_count;
};

struct writer {
    const struct mst_timeline *tl;
    const struct mst_caption_options *options;
    const struct mst_sounding *soundings;
    size_t sounding_count;
    enum mst_caption_format format;
    struct mst_string *out;
    int cue_count;
};

/* --- text ------------------------------------------------------------------------ */

/* Text with those characters escaped that the format means otherwise; scripture holds none of them,
 * but captions must not depend on that. */
static void put(struct writer *w, struct mst_span text)
{
    for (size_t n = 0; n < text.len; n++) {
        char c = text.ptr[n];
        const char *instead = NULL;
        if (w->format == MST_CAPTION_VTT)
            instead = c == '&' ? "&amp;" : c == '<' ? "&lt;" : c == '>' ? "&gt;" : NULL;
        else if (w->format == MST_CAPTION_ASS)
            instead = c == '{' ? "(" : c == '}' ? ")" : c == '\\' ? "/" : NULL;
        else
            instead = c == '<' ? "(" : c == '>' ? ")" : NULL;
        if (instead)
            mst_string_adds(w->out, instead);
        else
            mst_string_add(w->out, &c, 1);
    }
}

static void put_words(struct writer *w, const struct moment *m, const char *on, const char *off)
{
    for (int32_t n = m->first_word; n < m->end_word; n++) {
        if (n > m->first_word)
            mst_string_adds(w->out, " ");
        if (n == m->said)
            mst_string_adds(w->out, on);
        put(w, mst_reading_word(w->tl->reading, w->tl->words[n].word_idx));
        if (n == m->said)
            mst_string_adds(w->out, off);
    }
}

/* "67:1 · hiding · إخفاء": the second line; always there, so that the first one never moves. */
static void put_names(struct writer *w, const struct moment *m)
{
    const struct mst_heard_word *said = &w->tl->words[m->said];
    if (said->at.sura > 0)
        mst_string_addf(w->out, "%d:%d", said->at.sura, said->at.verse);
    else
        mst_string_adds(w->out, "·");
    for (int n = 0; n < m->site_count; n++) {
        enum mst_rule rule = w->tl->reading->sites[m->sites[n]].rule;
        if (w->options->labels != MST_LABELS_AR) {
            mst_string_adds(w->out, " · ");
            put(w, mst_span_of(mst_rule_name(rule, MST_LANG_EN)));
        }
        if (w->options->labels != MST_LABELS_EN) {
            mst_string_adds(w->out, " · \u2068");
            put(w, mst_span_of(mst_rule_name(rule, MST_LANG_AR)));
            mst_string_adds(w->out, "\u2069");
        }
    }
}

static void stamp(struct mst_string *out, int32_t ms, char decimal)
{
    mst_string_addf(out, "%02d:%02d:%02d%c%03d", ms / 3600000, ms / 60000 % 60, ms / 1000 % 60,
                    decimal, ms % 1000);
}

static void stamp_centi(struct mst_string *out, int32_t ms)
{
    int32_t cs = (ms + 5) / 10;
    mst_string_addf(out, "%d:%02d:%02d.%02d", cs / 360000, cs / 6000 % 60, cs / 100 % 60, cs % 100);
}

/* --- the three formats --------------------------------------------------------------- */

static void put_vtt(struct writer *w, const struct moment *m)
{
    char at[48];
    struct mst_addr addr = w->tl->words[m->said].at;
    mst_string_addf(w->out, "%d %s\n", w->cue_count, mst_addr_print(addr, at));
    stamp(w->out, m->start_ms, '.');
    mst_string_adds(w->out, " --> ");
    stamp(w->out, m->end_ms, '.');
    mst_string_adds(w->out, "\n<lang ar><c.said>");
    put_words(w, m, "<b>", "</b>");
    mst_string_adds(w->out, "</c></lang>\n<c.mark>");
    put_names(w, m);
    mst_string_adds(w->out, "</c>\n\n");
}

static void put_srt(struct writer *w, const struct moment *m)
{
    mst_string_addf(w->out, "%d\n", w->cue_count);
    stamp(w->out, m->start_ms, ',');
    mst_string_adds(w->out, " --> ");
    stamp(w->out, m->end_ms, ',');
    mst_string_adds(w->out, "\n");
    put_words(w, m, "<b>", "</b>");
    mst_string_adds(w->out, "\n");
    put_names(w, m);
    mst_string_adds(w->out, "\n\n");
}

static void put_ass(struct writer *w, const struct moment *m)
{
    mst_string_adds(w->out, "Dialogue: 0,");
    stamp_centi(w->out, m->start_ms);
    mst_string_adds(w->out, ",");
    stamp_centi(w->out, m->end_ms);
    mst_string_adds(w->out, ",Recitation,,0,0,0,,");
    put_words(w, m, "{\\1c&H0EA8F2&}", "{\\r}");
    mst_string_adds(w->out, "\\N{\\rMark}");
    put_names(w, m);
    mst_string_adds(w->out, "\n");
}

static void put_moment(struct writer *w, const struct moment *m)
{
    if (m->end_ms <= m->start_ms)
        return;
    w->cue_count++;
    if (w->format == MST_CAPTION_VTT)
        put_vtt(w, m);
    else if (w->format == MST_CAPTION_SRT)
        put_srt(w, m);
    else
        put_ass(w, m);
}

static void put_head(struct writer *w)
{
    char passage[96];
    mst_range_print(w->tl->reading->range, passage);
    if (w->format == MST_CAPTION_VTT)
        mst_string_addf(
            w->out,
            "WEBVTT\n\nNOTE %s\n\nSTYLE\n"
            "::cue { font-family: \"Amiri Quran\", \"Gentium Plus\", serif; line-height: 1.6 }\n"
            "::cue(b) { color: #f2a80e; font-weight: normal }\n"
            "::cue(.mark) { font-size: 0.6em; color: #d8dee4 }\n\n",
            passage);
    else if (w->format == MST_CAPTION_ASS)
        mst_string_addf(
            w->out,
            "[Script Info]\nTitle: %s\nScriptType: v4.00+\nPlayResX: 1920\nPlayResY: 1080\n"
            "WrapStyle: 0\nScaledBorderAndShadow: yes\n\n[V4+ Styles]\n"
            "Format: Name, Fontname, Fontsize, PrimaryColour, SecondaryColour, OutlineColour, "
            "BackColour, Bold, Italic, Underline, StrikeOut, ScaleX, ScaleY, Spacing, Angle, "
            "BorderStyle, Outline, Shadow, Alignment, MarginL, MarginR, MarginV, Encoding\n"
            "Style: Recitation,Amiri Quran,72,&H00FFFFFF,&H00FFFFFF,&H00202020,&H80000000,0,0,0,0,"
            "100,100,0,0,1,3,0,2,60,60,60,-1\n"
            "Style: Mark,Gentium Plus,40,&H00E4DED8,&H00E4DED8,&H00202020,&H80000000,0,0,0,0,"
            "100,100,0,0,1,2,0,2,60,60,60,-1\n\n[Events]\n"
            "Format: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\n",
            passage);
}

/* --- what shows when ------------------------------------------------------------------- */

/* A breath is cut in even parts where it is long. */
static int32_t shown_end(const struct mst_timeline *tl, int32_t first)
{
    int32_t count = film_breath_end(tl, first) - first;
    int32_t parts = (count + WORDS_AT_ONCE - 1) / WORDS_AT_ONCE;
    return first + (count + parts - 1) / parts;
}

static void sites_at(const struct writer *w, int32_t ms, struct moment *m)
{
    m->site_count = 0;
    for (size_t n = 0; n < w->sounding_count && w->soundings[n].start_ms <= ms; n++)
        if (w->soundings[n].end_ms > ms && m->site_count < NAMES_AT_ONCE)
            m->sites[m->site_count++] = w->soundings[n].site;
}

/* The next moment after ms at which another mark begins or ends; at most limit. */
static int32_t next_change(const struct writer *w, int32_t ms, int32_t limit)
{
    for (size_t n = 0; n < w->sounding_count && w->soundings[n].start_ms < limit; n++) {
        if (w->soundings[n].start_ms > ms)
            limit = w->soundings[n].start_ms;
        if (w->soundings[n].end_ms > ms && w->soundings[n].end_ms < limit)
            limit = w->soundings[n].end_ms;
    }
    return limit;
}

static void put_breath(struct writer *w, int32_t first, int32_t end)
{
    for (int32_t said = first; said < end; said++) {
        const struct mst_heard_word *word = &w->tl->words[said];
        for (int32_t ms = word->start_ms; ms < word->end_ms;) {
            struct moment m = {.start_ms = ms, .first_word = first, .end_word = end, .said = said};
            m.end_ms = next_change(w, ms, word->end_ms);
            sites_at(w, ms, &m);
            put_moment(w, &m);
            ms = m.end_ms;
        }
    }
}

enum mst_status mst_captions(const struct mst_timeline *tl,
                             const struct mst_caption_options *options,
                             enum mst_caption_format format, struct mst_string *out,
                             struct mst_error *err)
{
    static const struct mst_caption_options defaults = {0};
    struct writer w = {
        .tl = tl, .options = options ? options : &defaults, .format = format, .out = out};
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while writing captions");
    struct mst_rule_set rules = w.options->rules;
    if (!rules.bits)
        rules = mst_sheet_default_rules();
    enum mst_status status = MST_OK;
    if (!w.options->no_marks) {
        struct mst_sounding *soundings;
        status = mst_soundings(tl, rules, arena, &soundings, &w.sounding_count, err);
        w.soundings = soundings;
    }
    if (status == MST_OK) {
        put_head(&w);
        for (int32_t first = 0, end; first < tl->word_count; first = end) {
            end = shown_end(tl, first);
            put_breath(&w, first, end);
        }
        if (out->failed)
            status = mst_fail(err, MST_NO_MEMORY, "memory ran out while writing captions");
    }
    mst_arena_free(arena);
    return status;
}
