/*
 * Every form of the report says what the timeline holds. JSON is read back
 * with jansson, WebVTT by the grammar of the W3C's "WebVTT: The Web Video Text
 * Tracks Format" (section 4, syntax), PDF by qpdf.
 */
#include "built.h"

#include <ctype.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "pen.h"

static struct built b;

static int build_all(void **state)
{
    (void)state;
    build(&b, 1, 0.5);
    return 0;
}

static int free_all(void **state)
{
    (void)state;
    build_free(&b);
    return 0;
}

static double number_of(const json_t *object, const char *key)
{
    json_t *value = json_object_get(object, key);
    if (!json_is_number(value))
        fail_msg("%s is no number", key);
    return json_number_value(value);
}

static const char *text_of(const json_t *object, const char *key)
{
    return json_string_value(json_object_get(object, key));
}

static json_t *report_json(const struct mst_report *report)
{
    struct mst_string s = {0};
    json_error_t error;
    mst_report_json(report, &s);
    assert_false(s.failed);
    json_t *json = json_loadb(s.ptr, s.len, JSON_REJECT_DUPLICATES, &error);
    if (!json)
        fail_msg("no JSON: %s at %d", error.text, error.position);
    mst_string_free(&s);
    return json;
}

static void json(void **state)
{
    (void)state;
    json_t *all = report_json(&b.report);
    const struct mst_timeline *tl = b.timeline;
    assert_string_equal(text_of(all, "passage"), "67:1–3");
    assert_string_equal(json_string_value(json_array_get(json_object_get(all, "take"), 0)),
                        "ta<k>e & one.wav");
    json_t *words = json_object_get(all, "words"), *sounds = json_object_get(all, "sounds");
    json_t *sites = json_object_get(all, "sites"), *pauses = json_object_get(all, "pauses");
    assert_int_equal(json_array_size(words), tl->word_count);
    assert_int_equal(json_array_size(sounds), tl->sound_count);
    assert_int_equal(json_array_size(pauses), tl->pause_count);
    assert_int_equal(json_array_size(sites), b.measures->site_count);
    assert_int_equal(json_array_size(json_object_get(all, "findings")), b.report.finding_count);
    /* The scripture's bytes are those of the text, word for word. */
    int again = 0;
    for (int32_t n = 0; n < tl->word_count; n++) {
        json_t *word = json_array_get(words, (size_t)n);
        int sura, verse, nth;
        assert_int_equal(sscanf(text_of(word, "at"), "%d:%d:%d", &sura, &verse, &nth), 3);
        struct mst_span printed = mst_text_word(b.text, sura, verse, nth);
        assert_int_equal(strlen(text_of(word, "text")), printed.len);
        assert_memory_equal(text_of(word, "text"), printed.ptr, printed.len);
        assert_int_equal((int)number_of(word, "start_ms"), tl->words[n].start_ms);
        assert_int_equal((int)number_of(word, "end_ms"), tl->words[n].end_ms);
        again += json_is_true(json_object_get(word, "taken_up_again"));
    }
    assert_int_equal(again, 1);
    for (size_t n = 0; n < json_array_size(sites); n++) {
        json_t *site = json_array_get(sites, n);
        const struct mst_measured_site *s = &b.measures->sites[n];
        assert_string_equal(text_of(site, "rule"), mst_rule_id(s->rule));
        assert_true(fabs(number_of(site, "measured_counts") - s->measured_counts) < 0.006);
        assert_true(fabs(number_of(site, "expected_counts") - s->expected_counts) < 0.5);
        assert_string_equal(text_of(site, "reliability"), mst_edge_trust_id(s->trust));
    }
    assert_non_null(strstr(text_of(all, "reminder"), "teacher"));
    json_decref(all);
}

/* Numbers that are no numbers become null, never bare words. */
static void json_of_oddities(void **state)
{
    (void)state;
    struct mst_measures odd = *b.measures;
    struct mst_report report = b.report;
    odd.pace = NAN;
    odd.pace_drift = INFINITY;
    report.measures = &odd;
    json_t *all = report_json(&report);
    assert_true(json_is_null(json_object_get(all, "pace")));
    assert_true(json_is_null(json_object_get(all, "pace_drift")));
    json_decref(all);
}

/* "HH:MM:SS.mmm" → ms, or -1. */
static long stamp_ms(const char *at)
{
    for (int n = 0; n < 12; n++) {
        const char wanted = "dd:dd:dd.ddd"[n];
        if (wanted == 'd' ? !isdigit((unsigned char)at[n]) : at[n] != wanted)
            return -1;
    }
    long hours = strtol(at, NULL, 10), minutes = strtol(at + 3, NULL, 10);
    long seconds = strtol(at + 6, NULL, 10), ms = strtol(at + 9, NULL, 10);
    return minutes < 60 && seconds < 60 ? ((hours * 60 + minutes) * 60 + seconds) * 1000 + ms : -1;
}

static void vtt(void **state)
{
    (void)state;
    struct mst_string s = {0};
    mst_report_vtt(&b.report, &s);
    assert_false(s.failed);
    assert_memory_equal(s.ptr, "WEBVTT\n\n", 8);
    int cues = 0, notes = 0;
    char *rest = s.ptr + 8;
    for (char *block; rest && *rest;) {
        block = rest;
        rest = strstr(block, "\n\n");
        if (rest) {
            *rest = '\0';
            rest += 2;
        }
        if (strncmp(block, "NOTE", 4) == 0) {
            assert_null(strstr(block, "-->"));
            notes++;
            continue;
        }
        char *timing = strchr(block, '\n');
        assert_non_null(timing);
        assert_true(strstr(block, "-->") > timing); /* none in the cue's name */
        long start = stamp_ms(timing + 1), end = stamp_ms(timing + 18);
        assert_memory_equal(timing + 13, " --> ", 5);
        assert_true(start >= 0 && end > start);
        assert_int_equal(start, b.timeline->words[cues].start_ms);
        assert_int_equal(end, b.timeline->words[cues].end_ms);
        assert_int_equal(timing[30], '\n');
        assert_int_equal(strncmp(timing + 31, "<lang ar>", 9), 0);
        assert_null(strstr(timing + 31, "-->"));
        cues++;
    }
    assert_int_equal(cues, b.timeline->word_count);
    assert_int_equal(notes, b.timeline->pause_count + 1);
    mst_string_free(&s);
}

static void tsv(void **state)
{
    (void)state;
    struct mst_string s = {0};
    mst_report_tsv(&b.report, &s);
    int lines = 0, rules = 0;
    char *rest = s.ptr;
    for (char *line; (line = strsep(&rest, "\n")) != NULL && *line; lines++) {
        int cells = 0;
        char *cell_rest = line;
        for (char *cell; (cell = strsep(&cell_rest, "\t")) != NULL; cells++)
            rules += lines > 0 && cells == 5 && *cell;
        assert_int_equal(cells, 11);
    }
    assert_int_equal(lines, b.timeline->sound_count + 1);
    assert_int_equal(rules, b.measures->site_count);
    mst_string_free(&s);
}

/* The labels come back as pins at the places they stood. */
static void labels_and_pins(void **state)
{
    (void)state;
    struct mst_string s = {0};
    struct mst_error err = {0};
    struct mst_script *script;
    struct mst_reading_options options = {.no_basmala = 1};
    mst_report_labels(&b.report, &s);
    mst_string_adds(&s, "# a remark\n\n1,250\t2,5\tsome other label\n3,5\t67:2:1\n");
    assert_int_equal(mst_file_write("labels.txt", s.ptr, s.len, &err), MST_OK);
    mst_string_free(&s);
    assert_int_equal(mst_script_new(b.text, b.report.passage, &options, &script, &err), MST_OK);
    struct mst_pin *pins;
    size_t count;
    assert_int_equal(mst_pins_read("labels.txt", script, b.arena, &pins, &count, &err), MST_OK);
    assert_int_equal(count, b.timeline->word_count + b.measures->site_count + 1);
    for (int32_t n = 0; n < b.timeline->word_count; n++) {
        struct mst_addr at = mst_script_word_addr(script, pins[n].word);
        assert_int_equal(mst_addr_compare(at, b.timeline->words[n].at), 0);
        assert_int_equal(pins[n].ms, b.timeline->words[n].start_ms);
        assert_int_equal(pins[n].sound, 0);
    }
    for (int32_t n = 0; n < b.measures->site_count; n++)
        assert_int_equal(pins[b.timeline->word_count + n].ms, b.measures->sites[n].start_ms);
    assert_int_equal(pins[count - 1].ms, 3500);

    static const char *const bad[] = {"soon\t67:1:1\n",  "1.0\t68:1:1\n",  "1.0\t2.0\t67:1:1/x\n",
                                      "1e999\t67:1:1\n", "1..5\t67:1:1\n", "nan\t67:1:1\n"};
    for (size_t n = 0; n < sizeof bad / sizeof *bad; n++) {
        assert_int_equal(mst_file_write("bad.txt", bad[n], strlen(bad[n]), &err), MST_OK);
        assert_int_equal(mst_pins_read("bad.txt", script, b.arena, &pins, &count, &err),
                         MST_BAD_DATA);
        assert_non_null(strstr(err.message, "line 1"));
    }
    mst_script_free(script);
}

static void words_for_people(void **state)
{
    (void)state;
    struct mst_report report = b.report;
    for (int lang = 0; lang < 2; lang++) {
        struct mst_string s = {0};
        report.lang = (enum mst_lang)lang;
        mst_report_text(&report, &s);
        assert_false(s.failed);
        assert_non_null(strstr(s.ptr, mst_length_name(MST_LENGTH_HIDING, report.lang)));
        assert_non_null(strstr(s.ptr, "67:1:")); /* where the stops were */
        /* The reminder closes it; lines are broken, so compare its first words. */
        char reminder[24];
        snprintf(reminder, sizeof reminder, "%.20s", mst_findings_reminder(report.lang));
        const char *last = strstr(s.ptr, reminder);
        assert_non_null(last);
        for (size_t n = 0; n < report.finding_count; n++)
            assert_true(strstr(s.ptr, lang ? "ما يُعاد" : "To listen to again") < last);
        mst_string_free(&s);
    }
}

/* --- pages ----------------------------------------------------------------------- */
/* Tags open and close in order, attributes are quoted, & and < are escaped. */
static void assert_well_formed(const char *page)
{
    enum { DEPTH_MAX = 64 };
    char open[DEPTH_MAX][24];
    int depth = 0;
    assert_int_equal(strncmp(page, "<!DOCTYPE html>\n", 16), 0);
    for (const char *at = page + 16; *at; at++) {
        if (*at == '&') {
            size_t len = strcspn(at, "; <\"");
            if (at[len] != ';' || len > 7)
                fail_msg("a bare & at %.40s", at);
        }
        assert_int_not_equal(*at, '>');
        if (*at != '<')
            continue;
        int closing = at[1] == '/';
        const char *name = at + 1 + closing;
        size_t len = strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789");
        if (len == 0 || len >= sizeof open[0])
            fail_msg("no tag at %.40s", at);
        at = name + len;
        while (*at != '>' && *at != '/') {
            at += strspn(at, " \n");
            if (*at == '>' || *at == '/')
                break;
            at += strcspn(at, "=> ");
            if (at[0] != '=' || at[1] != '"')
                fail_msg("an attribute without quotes at %.40s", at);
            at += 2;
            size_t value = strcspn(at, "\"<");
            if (at[value] != '"')
                fail_msg("an attribute does not end at %.40s", at);
            at += value + 1;
        }
        int empty = *at == '/';
        at += empty;
        assert_int_equal(*at, '>');
        if (closing) {
            if (depth == 0 || strlen(open[depth - 1]) != len ||
                strncmp(open[depth - 1], name, len) != 0)
                fail_msg("</%.*s> closes <%s>", (int)len, name, depth ? open[depth - 1] : "");
            depth--;
        } else if (!empty) {
            assert_true(depth < DEPTH_MAX);
            snprintf(open[depth++], sizeof open[0], "%.*s", (int)len, name);
            if (strncmp(name, "style", len) == 0) { /* its text is no markup */
                at = strstr(at, "</style>");
                assert_non_null(at);
                at--;
            }
        }
    }
    assert_int_equal(depth, 0);
}

static char *page_of(const struct mst_report *report)
{
    struct mst_string s = {0};
    struct mst_error err = {0};
    if (mst_report_html(report, NULL, &s, &err) != MST_OK)
        fail_msg("%s", err.message);
    return s.ptr;
}

static int count_of(const char *page, const char *words)
{
    int count = 0;
    for (const char *at = page; (at = strstr(at, words)) != NULL; at++)
        count++;
    return count;
}

static void html(void **state)
{
    (void)state;
    char *page = page_of(&b.report);
    assert_well_formed(page);
    /* Nothing from elsewhere, nothing that runs. */
    static const char *const never[] = {"http://", "https://", "<script", "<link",
                                        "onload",  "@import",  "url(/"};
    for (size_t n = 0; n < sizeof never / sizeof *never; n++)
        if (strstr(page, never[n]))
            fail_msg("the page holds %s", never[n]);
    assert_non_null(strstr(page, "default-src 'none'"));
    assert_non_null(strstr(page, "ta&lt;k&gt;e &amp; one.wav"));
    assert_null(strstr(page, "evening class")); /* no folders of the teacher's machine */
    assert_int_equal(count_of(page, "<g class=\"word\">"), b.timeline->word_count);
    assert_true(count_of(page, "<g class=\"site\">") >= 2 * b.measures->site_count);
    assert_true(count_of(page, "data:image/png;base64,") >= 1);
    free(page);

    struct mst_report arabic = b.report;
    arabic.lang = MST_LANG_AR;
    page = page_of(&arabic);
    assert_well_formed(page);
    assert_non_null(strstr(page, "<html lang=\"ar\" dir=\"rtl\">"));
    free(page);
}

/* Words of one height never touch: their widths from the font itself. */
static void assert_apart(const struct mst_report *report)
{
    struct pen *pen;
    struct mst_error err = {0};
    assert_int_equal(pen_open(NULL, &pen, &err), MST_OK);
    char *page = page_of(report);
    double right[4] = {0}, level_y[4] = {0};
    int compared = 0, levels = 0;
    for (const char *at = page; (at = strstr(at, "<text class=\"q\"")) != NULL; at++) {
        double x, y, size;
        const char *figure = at, *words = strchr(at, '>') + 1;
        while (figure > page && strncmp(figure, "<figure>", 8) != 0)
            figure--;
        static const char *last_figure;
        if (figure != last_figure)
            levels = 0;
        last_figure = figure;
        assert_int_equal(
            sscanf(at, "<text class=\"q\" lang=\"ar\" x=\"%lf\" y=\"%lf\" font-size=\"%lf\"", &x,
                   &y, &size),
            3);
        double width =
            pen_width(pen, MST_PRINT_QURAN, size, (struct mst_span){words, strcspn(words, "<")});
        int level = 0;
        while (level < levels && level_y[level] != y)
            level++;
        assert_true(level < 4);
        if (level < levels) {
            if (x - width / 2 < right[level])
                fail_msg("%.*s touches the word before it by %.1f", (int)strcspn(words, "<"), words,
                         right[level] - x + width / 2);
            compared++;
        } else {
            levels++;
        }
        level_y[level] = y;
        right[level] = x + width / 2;
    }
    assert_true(compared > 3);
    free(page);
    pen_close(pen);
}

static void words_apart(void **state)
{
    (void)state;
    assert_apart(&b.report);
    /* So fast that words have no room under their stretch. */
    struct built fast;
    build(&fast, 5, 1);
    assert_apart(&fast.report);
    build_free(&fast);
}

static int command_well(const char *command)
{
    return system(command);
}

static void pdf(void **state)
{
    (void)state;
    struct mst_error err = {0};
    assert_int_equal(mst_report_write(&b.report, "report.pdf", &err), MST_OK);
    assert_int_equal(command_well("qpdf --check report.pdf >qpdf.out 2>&1"), 0);
    struct mst_string again = {0};
    struct mst_report arabic = b.report;
    arabic.lang = MST_LANG_AR;
    assert_int_equal(mst_report_pdf(&arabic, NULL, &again, &err), MST_OK);
    assert_true(again.len > 10000);
    assert_memory_equal(again.ptr, "%PDF-", 5);
    assert_int_equal(mst_file_write("arabic.pdf", again.ptr, again.len, &err), MST_OK);
    mst_string_free(&again);
    /* Language and title, as a reader of PDF finds them. */
    assert_int_equal(command_well("qpdf --check arabic.pdf >qpdf.out 2>&1"), 0);
    assert_int_equal(command_well("pdfinfo report.pdf | grep -q '^Title: *Listening report – "
                                  "ta<k>e & one.wav · 67:1'"),
                     0);
    assert_int_equal(command_well("qpdf --json report.pdf | grep -q '\"/Lang\": \"u:en\"'"), 0);
    assert_int_equal(command_well("qpdf --json arabic.pdf | grep -q '\"/Lang\": \"u:ar\"'"), 0);
    assert_int_equal(command_well("qpdf --json arabic.pdf | grep -q '\"/Direction\": \"/R2L\"'"),
                     0);
}

/* Limits from a file; the line that makes no sense is named, and nothing is taken from the file. */
static void limits(void **state)
{
    (void)state;
    static const struct {
        const char *text, *wrong; /* NULL: nothing is */
    } cases[] = {
        {"# the evening class\n\nclass-limit 30 # percent\r\nsite-limit\t3.5\n", NULL},
        {"", NULL},
        {"class-limit 30\nclas-limit 30\n", "line 2 of the limits: “clas-limit”"},
        {"class-limit 30\n\nclass-limit 40", "line 3 of the limits: class-limit was set in line 1"},
        {"even-limit", "line 1 of the limits: even-limit takes one number from 1 to 100"},
        {"even-limit 101", "“101” given"},
        {"even-limit 5 0", "takes one number"},
        {"site-limit nan", "takes one number"},
        {"site-limit 2,6", "“2,6” given"},
    };
    for (size_t n = 0; n < sizeof cases / sizeof *cases; n++) {
        struct mst_error err = {0};
        struct mst_measure_limits l = {.even_share = 0.4};
        assert_int_equal(mst_file_write("limits", cases[n].text, strlen(cases[n].text), &err),
                         MST_OK);
        enum mst_status status = mst_limits_read("limits", &l, &err);
        if (!cases[n].wrong) {
            assert_int_equal(status, MST_OK);
        } else {
            assert_int_equal(status, MST_BAD_DATA);
            if (!strstr(err.message, cases[n].wrong))
                fail_msg("“%s”: %s", cases[n].text, err.message);
        }
        assert_true(fabs(l.class_ratio - (n == 0 ? 0.30 : 0)) < 1e-12);
        assert_true(fabs(l.site_deviation - (n == 0 ? 3.5 : 0)) < 1e-12);
        assert_true(l.even_share > 0.39 && l.even_share < 0.41);
    }
}

/* Without the sound there is still a report. */
static void without_take(void **state)
{
    (void)state;
    struct mst_report report = b.report;
    struct mst_error err = {0};
    report.take = NULL;
    report.quality = NULL;
    char *page = page_of(&report);
    assert_well_formed(page);
    assert_null(strstr(page, "data:image/png"));
    free(page);
    json_t *all = report_json(&report);
    assert_true(json_is_null(json_object_get(all, "quality")));
    json_decref(all);
    assert_int_equal(mst_report_clips(&report, "none", NULL, &err), MST_USAGE);
    assert_int_equal(access("none", F_OK), -1);
}

static void two_takes(void **state)
{
    (void)state;
    struct built other;
    struct mst_error err = {0};
    struct mst_comparison *comparison;
    build(&other, 1.25, 0.5);
    assert_int_equal(mst_compare(b.measures, other.measures, b.arena, &comparison, &err), MST_OK);
    struct mst_report report = b.report;
    report.beside = &other.report;
    report.comparison = comparison;
    json_t *all = report_json(&report), *beside = json_object_get(all, "beside");
    assert_true(fabs(number_of(beside, "pace_ratio") - 1.25) < 0.03);
    assert_int_equal(json_array_size(json_object_get(beside, "sites")), comparison->site_count);
    assert_true(comparison->site_count > 5);
    json_t *classes = json_object_get(beside, "classes");
    for (size_t n = 0; n < json_array_size(classes); n++) /* the same reading, only faster */
        assert_true(fabs(number_of(json_array_get(classes, n), "ratio") - 1) < 0.06);
    json_decref(all);
    char *page = page_of(&report);
    assert_well_formed(page);
    free(page);
    struct mst_string s = {0};
    mst_report_text(&report, &s);
    assert_non_null(strstr(s.ptr, "faster"));
    mst_string_free(&s);
    assert_int_equal(mst_report_write(&report, "both.pdf", &err), MST_OK);
    assert_int_equal(command_well("qpdf --check both.pdf >qpdf.out 2>&1"), 0);
    build_free(&other);
}

/* --- files -------------------------------------------------------------------------- */
static void clips(void **state)
{
    (void)state;
    struct mst_error err = {0};
    size_t count;
    assert_int_equal(mst_report_clips(&b.report, "clips", &count, &err), MST_OK);
    assert_int_equal(count, b.measures->site_count);
    FILE *index = fopen("clips/index.tsv", "r");
    assert_non_null(index);
    char line[400], name[100];
    size_t lines = 0;
    assert_non_null(fgets(line, sizeof line, index));
    for (; fgets(line, sizeof line, index); lines++) {
        char path[140];
        struct stat st;
        assert_int_equal(sscanf(line, "%99[^\t]", name), 1);
        assert_null(strchr(name, '/'));
        snprintf(path, sizeof path, "clips/%s", name);
        assert_int_equal(stat(path, &st), 0);
        /* RIFF header of 44 bytes, 16 bit at 16 kHz, 150 ms on either side. */
        long wanted = 44 + 32 * (b.measures->sites[lines].held_ms + 300);
        assert_true(labs((long)st.st_size - wanted) <= 4);
    }
    fclose(index);
    assert_int_equal(lines, count);
    /* A folder that cannot be: said, and nothing there. */
    assert_int_equal(mst_report_clips(&b.report, "no/such/folder", NULL, &err), MST_IO);
    assert_non_null(strstr(err.message, "no/such/folder"));
}

static void endings(void **state)
{
    (void)state;
    struct mst_error err = {0};
    assert_int_equal(mst_report_write(&b.report, "report.docx", &err), MST_USAGE);
    assert_non_null(strstr(err.message, "report.docx"));
    assert_int_equal(access("report.docx", F_OK), -1);
    assert_int_equal(mst_report_check_path("folder.html/report", &err), MST_USAGE);
    assert_int_equal(mst_report_check_path("REPORT.HTML", &err), MST_OK);
    static const char *const names[] = {"r.json", "r.vtt", "r.tsv", "r.txt", "r.pdf", "r.html"};
    for (size_t n = 0; n < sizeof names / sizeof *names; n++) {
        assert_int_equal(mst_report_write(&b.report, names[n], &err), MST_OK);
        assert_int_equal(access(names[n], F_OK), 0);
    }
    assert_int_equal(mst_report_write(&b.report, "no/folder/r.json", &err), MST_IO);
    /* Without fonts a page is refused by name, and the old one stays. */
    struct mst_string s = {0};
    assert_int_equal(mst_report_pdf(&b.report, "no-fonts", &s, &err), MST_NOT_FOUND);
    assert_non_null(strstr(err.message, "no-fonts"));
    mst_string_free(&s);
}

/* The same report is the same bytes. */
static void same_again(void **state)
{
    (void)state;
    char *one = page_of(&b.report), *two = page_of(&b.report);
    assert_string_equal(one, two);
    free(one);
    free(two);
}

static char folder[] = P_tmpdir "/mistara-report-XXXXXX";

int main(void)
{
    if (!mkdtemp(folder) || chdir(folder) != 0)
        return 1;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json),
        cmocka_unit_test(json_of_oddities),
        cmocka_unit_test(vtt),
        cmocka_unit_test(tsv),
        cmocka_unit_test(labels_and_pins),
        cmocka_unit_test(words_for_people),
        cmocka_unit_test(html),
        cmocka_unit_test(words_apart),
        cmocka_unit_test(pdf),
        cmocka_unit_test(limits),
        cmocka_unit_test(without_take),
        cmocka_unit_test(two_takes),
        cmocka_unit_test(clips),
        cmocka_unit_test(endings),
        cmocka_unit_test(same_again),
    };
    int failed = cmocka_run_group_tests(tests, build_all, free_all);
    char command[sizeof folder + 16];
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return chdir("/") != 0 || system(command) != 0 ? 1 : failed;
}
