/*
 * Films of a made-up take (a tone for each sound, no voice), held against the
 * timeline they were made from: looked at by ffprobe, decoded by ffmpeg.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "built.h"

#include <dirent.h>
#include <math.h>
#include <mistara/build.h>
#include <mistara/film.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { FPS = 30, WIDE = 480, HIGH = 270 }; /* films are looked at a quarter as large */

struct fixture {
    struct built b;
    struct mst_typeset *fonts;
    struct mst_sheet *sheet;
    char folder[64], path[128];
};

static struct mst_sheet *sheet_of(struct fixture *f, enum mst_fade stage)
{
    struct mst_error err = {0};
    struct mst_sheet *sheet;
    struct mst_sheet_options options = {
        .page = mst_page_slide(), .stage = stage, .key = MST_KEY_NONE};
    if (mst_sheet_new(f->fonts, f->b.timeline->reading, &options, f->b.arena, &sheet, &err) !=
        MST_OK)
        fail_msg("%s", err.message);
    return sheet;
}

static int setup(void **state)
{
    struct fixture *f = calloc(1, sizeof *f);
    struct mst_error err = {0};
    assert_non_null(f);
    build(&f->b, 2, 1);
    assert_int_equal(mst_typeset_open(NULL, &f->fonts, &err), MST_OK);
    f->sheet = sheet_of(f, MST_FADE_MARKS);
    strcpy(f->folder, "/tmp/film-test-XXXXXX");
    assert_non_null(mkdtemp(f->folder));
    snprintf(f->path, sizeof f->path, "%s/film.mp4", f->folder);
    *state = f;
    return 0;
}

static int teardown(void **state)
{
    struct fixture *f = *state;
    char command[128];
    snprintf(command, sizeof command, "rm -rf '%s'", f->folder);
    assert_int_equal(system(command), 0);
    mst_typeset_close(f->fonts);
    build_free(&f->b);
    free(f);
    return 0;
}

static int files_in(const char *folder)
{
    int count = 0;
    DIR *dir = opendir(folder);
    assert_non_null(dir);
    for (struct dirent *e; (e = readdir(dir));)
        count += e->d_name[0] != '.';
    closedir(dir);
    return count;
}

static void film(struct fixture *f, const struct mst_sheet *sheet)
{
    struct mst_error err = {0};
    if (mst_film_write(f->b.take, f->b.timeline, sheet, NULL, f->path, &err) != MST_OK)
        fail_msg("%s (%s)", err.message, err.where);
}

/* What a command prints. */
static char *printed(const char *format, const char *path)
{
    static char text[16384];
    char command[512];
    snprintf(command, sizeof command, format, path);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    text[fread(text, 1, sizeof text - 1, pipe)] = 0;
    assert_int_equal(pclose(pipe), 0);
    return text;
}

static int frame_count(const struct fixture *f)
{
    return (int)((f->b.timeline->duration_ms * FPS + 999) / 1000);
}

static void probed(struct fixture *f, const char *video, const char *audio)
{
    char expected[160];
    char *text = printed("ffprobe -v error -count_packets -select_streams v:0 -show_entries stream="
                         "codec_name,width,height,avg_frame_rate,nb_read_packets -of csv=p=0 '%s'",
                         f->path);
    snprintf(expected, sizeof expected, "%s,1920,1080,30/1,%d", video, frame_count(f));
    text[strcspn(text, "\r\n")] = 0;
    assert_string_equal(text, expected);
    text = printed("ffprobe -v error -select_streams a -show_entries stream=codec_name,channels "
                   "-of csv=p=0 '%s'",
                   f->path);
    text[strcspn(text, "\r\n")] = 0;
    snprintf(expected, sizeof expected, "%s,1", audio);
    assert_string_equal(text, expected);

    double seconds = strtod(
        printed("ffprobe -v error -show_entries format=duration -of csv=p=0 '%s'", f->path), NULL);
    assert_true(fabs(seconds - (double)f->b.timeline->duration_ms / 1000) < 0.05);

    /* A chapter where each verse begins, the first from the start. */
    text = printed("ffprobe -v error -show_chapters -of csv=p=0 '%s'", f->path);
    const struct mst_timeline *tl = f->b.timeline;
    char *line = strtok(text, "\n");
    for (int verse = 1; verse <= 3; verse++, line = strtok(NULL, "\n")) {
        int32_t first = 0;
        while (tl->words[first].at.verse != verse)
            first++;
        double from, to;
        char title[16];
        assert_non_null(line);
        assert_int_equal(
            sscanf(line, "%*[^,],%*[^,],%*[^,],%lf,%*[^,],%lf,%15s", &from, &to, title), 3);
        assert_true(fabs(from - (verse == 1 ? 0 : tl->words[first].start_ms / 1000.0)) < 0.002);
        assert_true(to > from);
        snprintf(expected, sizeof expected, "67:%d", verse);
        assert_string_equal(title, expected);
    }
    assert_null(line);
}

/* --- looking ------------------------------------------------------------------------------ */

struct seen {
    uint8_t *grey; /* frame after frame, WIDE × HIGH */
    int count;
};

/* At most so many frames of the film. */
static struct seen look_at(struct fixture *f, int most)
{
    char command[512];
    struct seen seen = {malloc((size_t)(most + 1) * WIDE * HIGH), 0};
    assert_non_null(seen.grey);
    snprintf(command, sizeof command,
             "ffmpeg -v error -i '%s' -vf scale=%d:%d:flags=area -f rawvideo -pix_fmt gray -",
             f->path, WIDE, HIGH);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    while (seen.count <= most &&
           fread(seen.grey + (size_t)seen.count * WIDE * HIGH, WIDE * HIGH, 1, pipe) == 1)
        seen.count++;
    assert_int_equal(pclose(pipe), 0);
    return seen;
}

static struct seen look(struct fixture *f)
{
    struct seen seen = look_at(f, frame_count(f));
    assert_int_equal(seen.count, frame_count(f));
    return seen;
}

/* Mean grey of a box given in points of the slide. */
static double grey_in(const struct seen *seen, int frame, double x, double y, double width,
                      double height)
{
    double sum = 0;
    int count = 0;
    for (int row = (int)floor(y / 2); row <= (int)((y + height) / 2); row++)
        for (int column = (int)floor(x / 2); column <= (int)((x + width) / 2); column++)
            if (row >= 0 && row < HIGH && column >= 0 && column < WIDE) {
                sum += seen->grey[((size_t)frame * HIGH + (size_t)row) * WIDE + (size_t)column];
                count++;
            }
    return count ? sum / count : 0;
}

static const struct mst_sounding *soundings_of(struct fixture *f, size_t *count)
{
    struct mst_sounding *out;
    struct mst_error err = {0};
    assert_int_equal(
        mst_soundings(f->b.timeline, mst_sheet_default_rules(), f->b.arena, &out, count, &err),
        MST_OK);
    return out;
}

/* The first frame from from_ms - 200 to to_ms in which the box is darker than just before by drop;
 * -1: none. */
static int onset(const struct seen *seen, int from_ms, int to_ms, const struct mst_mark_box *m,
                 double drop)
{
    int start = (from_ms - 200) * FPS / 1000, end = to_ms * FPS / 1000;
    if (start < 0)
        start = 0;
    double before = grey_in(seen, start, m->x, m->y, m->width, m->height);
    for (int frame = start; frame <= end && frame < seen->count; frame++)
        if (before - grey_in(seen, frame, m->x, m->y, m->width, m->height) > drop)
            return frame;
    return -1;
}

/*
 * Whether this page shows now and has for 250 ms, so that there is a picture to compare with. (The
 * second part of a tie from one page to the next stands on a page that is not there yet.)
 */
static int page_shows(struct fixture *f, const struct mst_letter_box *boxes, int page, int ms)
{
    const struct mst_timeline *tl = f->b.timeline;
    int shown = -1, since = 0;
    for (int32_t n = 0; n < tl->word_count && tl->words[n].start_ms <= ms; n++) {
        int now = boxes[tl->reading->words[tl->words[n].word_idx].first_letter].page;
        if (now != shown)
            since = tl->words[n].start_ms;
        shown = now;
    }
    return shown == page && since <= ms - 250;
}

static void mp4(void **state)
{
    struct fixture *f = *state;
    film(f, f->sheet);
    assert_int_equal(files_in(f->folder), 1);
    probed(f, "h264", "aac");
    struct seen seen = look(f);

    /* Every mark that is drawn darkens within a frame of the moment its sound begins. */
    size_t sounding_count, mark_count, box_count;
    const struct mst_sounding *soundings = soundings_of(f, &sounding_count);
    const struct mst_mark_box *marks = mst_sheet_marks(f->sheet, &mark_count);
    const struct mst_letter_box *boxes = mst_sheet_boxes(f->sheet, &box_count);
    int checked = 0, turned = 0;
    double worst = 0;
    for (size_t n = 0; n < sounding_count; n++)
        for (size_t k = 0; k < mark_count; k++) {
            const struct mst_sounding *s = &soundings[n];
            if (marks[k].site != s->site || s->end_ms - s->start_ms < 60)
                continue;
            if (!page_shows(f, boxes, marks[k].page, s->start_ms)) {
                turned++;
                continue;
            }
            int frame = onset(&seen, s->start_ms, s->end_ms, &marks[k], 6);
            if (frame < 0)
                fail_msg("the mark of site %d never lights up", s->site);
            double off = fabs(frame * 1000.0 / FPS - s->start_ms);
            worst = off > worst ? off : worst;
            checked++;
        }
    assert_true(checked >= 8 && turned <= 2 * mst_sheet_page_count(f->sheet));
    print_message("%d marks, at most %.1f ms off\n", checked, worst);
    assert_true(worst <= 1000.0 / FPS);

    /* Words: the ground of the letters changes while the word is said, and only then. */
    const struct mst_timeline *tl = f->b.timeline;
    for (int32_t n = 0; n < tl->word_count; n++) {
        const struct mst_word *word = &tl->reading->words[tl->words[n].word_idx];
        const struct mst_letter_box *b = &boxes[word->first_letter];
        int during = (tl->words[n].start_ms + tl->words[n].end_ms) / 2 * FPS / 1000,
            after = (tl->words[n].end_ms + 50) * FPS / 1000;
        if (after >= seen.count ||
            boxes[tl->reading->words[tl->words[n + (n + 1 < tl->word_count)].word_idx].first_letter]
                    .page != b->page)
            continue;
        double lit = grey_in(&seen, during, b->left, b->baseline - 30, b->right - b->left, 30),
               plain = grey_in(&seen, after, b->left, b->baseline - 30, b->right - b->left, 30);
        if (n + 1 < tl->word_count && tl->words[n + 1].word_idx == tl->words[n].word_idx &&
            tl->words[n + 1].start_ms <= tl->words[n].end_ms + 50)
            continue;
        assert_true(plain - lit > 2);
    }
    free(seen.grey);
}

/* The tones begin and end where the timeline says, in the film's own time. */
static void sound(void **state)
{
    struct fixture *f = *state;
    char command[512];
    snprintf(command, sizeof command, "ffmpeg -v error -i '%s' -f f32le -ac 1 -ar 16000 -",
             f->path);
    size_t room = (size_t)f->b.timeline->duration_ms * 16 + 16000, count;
    float *samples = malloc(room * sizeof *samples);
    assert_non_null(samples);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    count = fread(samples, sizeof *samples, room, pipe);
    assert_int_equal(pclose(pipe), 0);
    size_t first = 0;
    while (first < count && fabsf(samples[first]) < 0.05f)
        first++;
    assert_true(fabs((double)first / 16 - f->b.timeline->words[0].start_ms) < 1000.0 / FPS);
    for (int32_t n = 0; n < f->b.timeline->pause_count; n++) {
        const struct mst_heard_pause *p = &f->b.timeline->pauses[n];
        float loudest = 0;
        for (size_t i = (size_t)(p->start_ms + 33) * 16; i < (size_t)(p->end_ms - 33) * 16; i++)
            loudest = i < count && fabsf(samples[i]) > loudest ? fabsf(samples[i]) : loudest;
        assert_true(loudest < 0.02f);
        if (n + 1 < f->b.timeline->pause_count)
            assert_true(fabsf(samples[(size_t)(p->start_ms - 40) * 16]) +
                            fabsf(samples[(size_t)(p->start_ms - 40) * 16 + 9]) >
                        0.01f);
    }
    free(samples);
}

/* At the last stage no mark is drawn, so none may light up either: the row of a mark stays paper.
 */
static void faded(void **state)
{
    struct fixture *f = *state;
    size_t mark_count, box_count, sounding_count;
    const struct mst_sounding *soundings = soundings_of(f, &sounding_count);
    const struct mst_sheet *bare = sheet_of(f, MST_FADE_NOTHING);
    const struct mst_mark_box *marks = mst_sheet_marks(bare, &mark_count);
    for (size_t k = 0; k < mark_count; k++)
        assert_int_equal(marks[k].site, -1); /* only the signs of the print */
    film(f, bare);
    struct seen seen = look(f);
    const struct mst_letter_box *boxes = mst_sheet_boxes(bare, &box_count);
    const struct mst_reading *r = f->b.timeline->reading;
    int checked = 0;
    for (size_t n = 0; n < sounding_count; n++) {
        /* Far enough below the baseline to be clear of letters and of the light behind words. */
        const struct mst_letter_box *b = &boxes[r->sites[soundings[n].site].trigger];
        int during = (soundings[n].start_ms + soundings[n].end_ms) / 2 * FPS / 1000;
        if (b->right - b->left < 4)
            continue;
        assert_true(grey_in(&seen, during, b->left, b->baseline + 26, b->right - b->left, 4) > 200);
        checked++;
    }
    assert_true(checked >= 8);
    free(seen.grey);
}

static int stop_at_once(void *user, double done)
{
    (void)done;
    return ++*(int *)user >= 2;
}

static void given_up(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    int asked = 0;
    struct mst_ear_progress progress = {stop_at_once, &asked};
    struct mst_film_options options = {.progress = &progress};
    unlink(f->path);
    assert_int_equal(mst_film_write(f->b.take, f->b.timeline, f->sheet, &options, f->path, &err),
                     MST_CANCELLED);
    assert_int_equal(files_in(f->folder), 0);

    setenv("MISTARA_ENCODE", "/nonexistent/mistara-encode", 1);
    assert_int_equal(mst_film_write(f->b.take, f->b.timeline, f->sheet, NULL, f->path, &err),
                     MST_UNSUPPORTED);
    setenv("MISTARA_ENCODE", "/bin/true", 1); /* a program that ends at once */
    assert_int_equal(mst_film_write(f->b.take, f->b.timeline, f->sheet, NULL, f->path, &err),
                     MST_IO);
    unsetenv("MISTARA_ENCODE");
    assert_int_equal(files_in(f->folder), 0);
    assert_int_equal(mst_film_write(f->b.take, f->b.timeline, f->sheet, NULL, "film.avi", &err),
                     MST_USAGE);
}

static void webm(void **state)
{
    struct fixture *f = *state;
    snprintf(f->path, sizeof f->path, "%s/film.webm", f->folder);
    film(f, f->sheet);
    probed(f, "vp9", "opus");
}

/* How far a frame of the film lies off the one before it. */
static double turned(const struct seen *seen, int frame)
{
    const uint8_t *now = seen->grey + (size_t)frame * WIDE * HIGH, *before = now - WIDE * HIGH;
    double sum = 0;
    for (int n = 0; n < WIDE * HIGH; n++)
        sum += abs(now[n] - before[n]) > 4;
    return sum;
}

/* A film of a one-word example, said after a pause: two times the word lights up and goes out, and
 * each time within a frame of its tones. */
static void examples_light_up(struct fixture *f)
{
    enum { SECONDS = 20, RATE = 16000, QUIET_SAMPLES = RATE / 5 };
    static float samples[SECONDS * RATE];
    char command[512];
    struct seen seen = look_at(f, SECONDS * FPS);
    int changes[8], count = 0;
    for (int frame = 1; frame < seen.count; frame++)
        if (turned(&seen, frame) > 60 && count < 8)
            changes[count++] = frame;
    snprintf(command, sizeof command, "ffmpeg -v error -i '%s' -f f32le -ac 1 -ar %d -", f->path,
             RATE);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    size_t got = fread(samples, sizeof *samples, sizeof samples / sizeof *samples, pipe);
    assert_int_equal(pclose(pipe), 0);
    int onsets = 0;
    size_t quiet = QUIET_SAMPLES;
    for (size_t n = 0; n < got; n++) {
        int loud = fabsf(samples[n]) > 0.03f;
        if (loud && quiet >= QUIET_SAMPLES) { /* sound after silence: the word begins */
            double ms = (double)n / 16, off = 1e9;
            for (int k = 0; k < count; k++)
                off = fmin(off, fabs(changes[k] * 1000.0 / FPS - ms));
            print_message("a word at %.0f ms, lit %.1f ms off\n", ms, off);
            assert_true(off <= 1000.0 / FPS + 1);
            onsets++;
        }
        quiet = loud ? 0 : quiet + 1;
    }
    assert_int_equal(onsets, 2);
    assert_true(count >= 4); /* lit and out, twice; the page itself stays */
    free(seen.grey);
}

/*
 * The film of a lesson: each scene is a chapter as long as it should be, what is not filmed is not
 * there, and the sound of the passage lies a scene's length later to the frame.
 */
static void scenes(void **state)
{
    static const char *const titles[] = {"What we know", "The rule", "Examples", "67:1",
                                         "67:2",         "67:3",     "Questions"};
    struct fixture *f = *state;
    const struct mst_timeline *tl = f->b.timeline;
    struct mst_error err = {0};
    struct mst_range whole;
    assert_int_equal(mst_range_parse(f->b.text, MST_SPAN("67:1-3"), &whole, &err), MST_OK);
    struct mst_lesson_example examples[2] = {{.note = ""}, {.note = ""}};
    assert_int_equal(mst_range_parse(f->b.text, MST_SPAN("67:2:5"), &examples[0].range, &err),
                     MST_OK);
    assert_int_equal(mst_range_parse(f->b.text, MST_SPAN("112:1:4"), &examples[1].range, &err),
                     MST_OK);
    struct mst_lesson_passage passage = {.range = whole, .fade_evenly = 1};
    struct mst_lesson_question question = {
        .kind = MST_ASK_MARK, .range = whole, .count = 1, .seed = 3};
    struct mst_lesson_recording take = {.name = "tones", .range = whole};
    struct mst_lesson l = {.title = "Echo",
                           .title_ar = "",
                           .explain_en = "One two three four five six seven eight nine ten eleven.",
                           .explain_ar = "",
                           .narration = "",
                           .language = MST_LESSON_EN,
                           .examples = examples,
                           .example_count = 2,
                           .passages = &passage,
                           .passage_count = 1,
                           .questions = &question,
                           .question_count = 1,
                           .takes = &take,
                           .take_count = 1};
    assert_int_equal(mst_rule_set_parse(MST_SPAN("qalqala"), &l.rules, &err), MST_OK);
    struct mst_hearing hearing = {.take = f->b.take, .timeline = f->b.timeline};
    const struct mst_hearing *const takes[] = {&hearing};
    if (mst_lesson_film_write(f->b.text, f->fonts, &l, takes, NULL, f->path, &err) != MST_OK)
        fail_msg("%s (%s)", err.message, err.where);

    double begin[8] = {0}, end[8] = {0};
    int count = 0;
    char *text = printed("ffprobe -v error -show_chapters -of csv=p=0 '%s'", f->path);
    for (char *line = strtok(text, "\n"); line; line = strtok(NULL, "\n"), count++) {
        char title[40];
        assert_true(count < 7);
        assert_int_equal(sscanf(line, "%*[^,],%*[^,],%*[^,],%lf,%*[^,],%lf,%39[^\n]", &begin[count],
                                &end[count], title),
                         3);
        assert_string_equal(title, titles[count]);
    }
    assert_int_equal(count, 7);
    assert_true(fabs(end[0] - 4) < 0.04); /* the title alone: nothing is known */
    assert_true(end[1] - begin[1] > 4 + 11 / 2.2 + 8 - 0.04); /* eleven words and the pictures */
    double passage_s = end[5] - begin[3], take_s = (double)tl->duration_ms / 1000;
    assert_true(fabs(passage_s - take_s) < 0.05);

    /* The first example: slowly, then at pace; the second stands still for five seconds. */
    int32_t word = 0;
    while (tl->words[word].at.verse != 2 || tl->words[word].at.word != 5)
        word++;
    double said_s = (tl->words[word].end_ms - tl->words[word].start_ms) / 1000.0;
    double heard_s = end[2] - begin[2] - 5;
    assert_true(heard_s > said_s * (1 / 0.6 + 1));
    assert_true(heard_s < (said_s + 0.8) * (1 / 0.6 + 1) + 1.4);

    /* The passage's first tone. */
    char command[512];
    snprintf(command, sizeof command, "ffmpeg -v error -i '%s' -ss %.4f -f f32le -ac 1 -ar 16000 -",
             f->path, begin[3]);
    static float samples[16000 * 4];
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    size_t got = fread(samples, sizeof *samples, sizeof samples / sizeof *samples, pipe), first = 0;
    (void)pclose(pipe); /* it has more to say than is read */
    while (first < got && fabsf(samples[first]) < 0.05f)
        first++;
    assert_true(fabs((double)first / 16 - tl->words[0].start_ms) < 1000.0 / FPS);

    /* The examples alone: a word lights up when it is heard, slowly and at pace. */
    struct mst_lesson_film_options options = {.scenes = 1u << MST_FILM_EXAMPLES};
    l.example_count = 1;
    assert_int_equal(mst_range_parse(f->b.text, MST_SPAN("67:2:1"), &examples[0].range, &err),
                     MST_OK);
    assert_int_equal(mst_lesson_film_write(f->b.text, f->fonts, &l, takes, &options, f->path, &err),
                     MST_OK);
    examples_light_up(f);

    /* One scene alone. */
    assert_int_equal(mst_film_scenes_parse(MST_SPAN("questions"), &options.scenes, &err), MST_OK);
    assert_int_equal(mst_lesson_film_write(f->b.text, f->fonts, &l, takes, &options, f->path, &err),
                     MST_OK);
    text = printed("ffprobe -v error -show_chapters -of csv=p=0 '%s'", f->path);
    assert_non_null(strstr(text, "Questions"));
    assert_null(strstr(text, "67:1"));
    assert_int_equal(mst_film_scenes_parse(MST_SPAN("credits"), &options.scenes, &err), MST_USAGE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(mp4),      cmocka_unit_test(sound),  cmocka_unit_test(faded),
        cmocka_unit_test(given_up), cmocka_unit_test(scenes), cmocka_unit_test(webm),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
