/*
 * `mistara listen` and `mistara voice`: what is refused, everywhere; and what
 * is heard, where the environment variable MISTARA_AUDIO names a folder of
 * real takes, a file a verse (a/067001.mp3 …). Nobody's recitation is part of
 * this project: without that folder these tests are skipped and counted so.
 */
#include "program.h"

#include <math.h>
#include <mistara/take.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { SECONDS = 24, SAMPLES = SECONDS * MST_TAKE_RATE_HZ };

/* The same noise everywhere: Knuth's linear congruential numbers (The Art of Computer Programming,
 * vol. 2, 3.3.4, MMIX). */
static double noise(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (double)(*state >> 11) / (double)(1ull << 52) - 1;
}

static int sounds_make(void **state)
{
    if (folder_make(state) != 0)
        return -1;
    float *samples = calloc(SAMPLES, sizeof *samples);
    struct mst_error err;
    uint64_t seed = 7;
    int failed = !samples ||
                 mst_wav_write("silence.wav", samples, SAMPLES, MST_TAKE_RATE_HZ, &err) != MST_OK;
    for (size_t n = 0; !failed && n < SAMPLES; n++)
        samples[n] = (float)(0.3 * sin(2 * M_PI * 220 * (double)n / MST_TAKE_RATE_HZ));
    failed =
        failed || mst_wav_write("tone.wav", samples, SAMPLES, MST_TAKE_RATE_HZ, &err) != MST_OK;
    for (size_t n = 0; !failed && n < SAMPLES; n++)
        samples[n] = (float)(0.2 * noise(&seed));
    failed =
        failed || mst_wav_write("noise.wav", samples, SAMPLES, MST_TAKE_RATE_HZ, &err) != MST_OK;
    /* Bursts with gaps, as regular as speech is not. */
    for (size_t n = 0; !failed && n < SAMPLES; n++)
        samples[n] *= n / 3000 % 2 ? 1.0f : 0.001f;
    failed =
        failed || mst_wav_write("bursts.wav", samples, SAMPLES, MST_TAKE_RATE_HZ, &err) != MST_OK;
    free(samples);
    return failed;
}

static void no_recitation(void **state)
{
    (void)state;
    run_fails(4, "no sound", "mistara listen silence.wav 67:1-5 -o bad.html");
    run_fails(9, "67:1–5", "mistara listen tone.wav 67:1-5 -o bad.html");
    run_fails(9, "67:1–5", "mistara listen noise.wav 67:1-5 -o bad.html");
    run_fails(9, "112", "mistara listen bursts.wav 112 -o bad.json --clips bad-clips");
    run_fails(9, "", "mistara voice learn nobody noise.wav 67:1-5 --data shelf");
    assert_false(file_exists("bad.html"));
    assert_false(file_exists("bad.json"));
    assert_false(file_exists("bad-clips"));
    assert_false(file_exists("shelf/voices/nobody.voice"));
}

static void no_sound_files(void **state)
{
    (void)state;
    struct run r = run_well("echo 'not a sound' >letter.mp3; : >empty.m4a; mkdir a-folder.wav");
    run_free(&r);
    run_fails(4, "letter.mp3", "mistara listen letter.mp3 67:1-5");
    run_fails(4, "empty.m4a", "mistara listen empty.m4a 67:1-5");
    run_fails(4, "a-folder.wav", "mistara listen a-folder.wav 67:1-5");
    run_fails(3, "none.mp3", "mistara listen none.mp3 67:1-5");
    /* A name of many words is one word to the shell; a missing one among several is named. */
    run_fails(3, "my take.mp3", "mistara listen silence.wav 'my take.mp3' 67:1-5");
}

/* Refused at once, before any listening. */
static void wrong_requests(void **state)
{
    (void)state;
    run_fails(2, "mistara listen take.mp3 67:1-5", "mistara listen");
    run_fails(2, "needs a recording", "mistara listen silence.wav");
    run_fails(2, "passage comes last", "mistara listen 67:1-5 silence.wav");
    run_fails(2, "", "mistara listen silence.wav al-Mulkk 1-5 7");
    run_fails(2, ".docx", "mistara listen silence.wav 67:1-5 -o report.docx");
    run_fails(2, "en or ar", "mistara listen silence.wav 67:1-5 --lang fr");
    run_fails(2, "--keep-voice", "mistara listen silence.wav 67:1-5 --keep-voice");
    run_fails(2, "--class-limit", "mistara listen silence.wav 67:1-5 --class-limit -4");
    run_fails(2, "--even-limit", "mistara listen silence.wav 67:1-5 --even-limit 101");
    run_fails(2, "--site-limit", "mistara listen silence.wav 67:1-5 --site-limit far");
    run_fails(2, "--site-limit", "mistara listen silence.wav 67:1-5 --site-limit nan");
    run_fails(2, "--threads", "mistara listen silence.wav 67:1-5 --threads 1000");
    run_fails(3, "no voice “teacher”",
              "mistara listen silence.wav 67:1-5 --voice teacher --data shelf");
    run_fails(3, "no voice “teacher”",
              "mistara listen silence.wav 67:1-5 --model teacher --data shelf");
    run_fails(3, "none.voice", "mistara listen silence.wav 67:1-5 --model none.voice");
    run_fails(2, "voice's name", "mistara voice show .. --data shelf");
}

static void sick_limits(void **state)
{
    (void)state;
    struct run r = run_well("printf '# class\nclass-limit 20\nsite-limit far\n' >limits.txt");
    run_free(&r);
    run_fails(4, "line 3 of the limits: site-limit takes one number from 0.5 to 20; “far” given",
              "mistara listen silence.wav 67:1-5 --limits limits.txt");
    run_fails(3, "none.txt", "mistara listen silence.wav 67:1-5 --limits none.txt");
}

static void voices(void **state)
{
    (void)state;
    run_fails(2, "learn, list, show or forget", "mistara voice");
    run_fails(2, "did you mean learn", "mistara voice lern");
    run_fails(2, "takes one name", "mistara voice show --data shelf");
    run_fails(2, "takes one name", "mistara voice forget a b --data shelf");
    run_fails(2, "takes no name", "mistara voice list a --data shelf");
    run_fails(2, "for example", "mistara voice learn teacher --data shelf");
    run_fails(2, "TAKE=PASSAGE", "mistara voice learn teacher silence.wav=67:1 67:2 --data shelf");
    run_fails(2, "../x", "mistara voice learn ../x silence.wav 67:1 --data shelf");
    run_fails(3, "no voice “teacher”", "mistara voice forget teacher --data shelf");
    struct run r = run_well("mistara voice list --data shelf");
    assert_string_equal(r.out, "There is no voice in shelf/voices yet.\n");
    run_free(&r);
    r = run_well("mistara voice list --json --data shelf");
    assert_int_equal(r.out_len, 0);
    run_free(&r);
    assert_false(file_exists("shelf"));
}

static void sick_pins(void **state)
{
    (void)state;
    struct run r = run_well("printf 'soon\\t67:1:1\\n' >pins.txt");
    run_free(&r);
    run_fails(4, "line 1", "mistara listen tone.wav 67:1-5 --pins pins.txt");
    run_fails(3, "none.txt", "mistara listen tone.wav 67:1-5 --pins none.txt");
}

/* --- real takes -------------------------------------------------------------------- */
/* The folder of real takes; skips the test where there is none. */
static const char *audio(void)
{
    const char *folder = getenv("MISTARA_AUDIO");
    char path[4096];
    if (folder && *folder) {
        snprintf(path, sizeof path, "%s/a/067001.mp3", folder);
        if (file_exists(path))
            return folder;
        fail_msg("MISTARA_AUDIO names %s, which holds no a/067001.mp3", folder);
    }
    skip();
    return "";
}

static json_t *json_file(const char *path)
{
    json_error_t error;
    json_t *json = json_load_file(path, JSON_REJECT_DUPLICATES, &error);
    if (!json)
        fail_msg("%s: %s", path, error.text);
    return json;
}

static void real_take(void **state)
{
    (void)state;
    const char *from = audio();
    struct run r = run_well("mistara listen '%s'/a/0670*.mp3 67:1-30 -o one.json --threads 1\n"
                            "mistara listen '%s'/a/0670*.mp3 67:1-30 -o two.json --threads 2\n"
                            "cmp one.json two.json",
                            from, from);
    run_free(&r);
    json_t *all = json_file("one.json");
    /* 333 words in 67:1–30 and four of the basmala, which these files may begin with. */
    size_t words = json_array_size(json_object_get(all, "words"));
    assert_true(words >= 333);
    assert_int_equal(json_array_size(json_object_get(all, "left_out")), 0);
    /* Every verse ends in a pause: the files are verses, with silence at their ends. */
    int ends = 0;
    json_t *pause;
    size_t n;
    json_array_foreach(json_object_get(all, "pauses"), n, pause) ends +=
        json_is_true(json_object_get(pause, "at_verse_end"));
    assert_true(ends >= 29);
    /* Words and sounds follow one another and do not overlap. */
    static const char *const lists[] = {"words", "sounds"};
    for (size_t k = 0; k < 2; k++) {
        json_int_t before = 0;
        json_t *item;
        json_array_foreach(json_object_get(all, lists[k]), n, item)
        {
            json_int_t start = json_integer_value(json_object_get(item, "start_ms"));
            json_int_t end = json_integer_value(json_object_get(item, "end_ms"));
            assert_true(start >= before && end > start);
            before = end;
        }
    }
    /* The order that shared measurements found: natural < ghunna < munfasil ≤ lazim. */
    double natural = 0, ghunna = 0, binding = 0;
    json_t *one;
    json_array_foreach(json_object_get(all, "classes"), n, one)
    {
        double median = json_number_value(json_object_get(one, "median_ms"));
        natural = strcmp(text_of(one, "length"), "natural") == 0 ? median : natural;
        ghunna = strcmp(text_of(one, "length"), "ghunna") == 0 ? median : ghunna;
        binding = strcmp(text_of(one, "length"), "lazim") == 0 ? median : binding;
    }
    assert_true(natural > 0 && natural < ghunna && ghunna < binding);
    json_decref(all);
}

static void real_report(void **state)
{
    (void)state;
    const char *from = audio();
    struct run r = run_well("mistara listen '%s'/a/06700[1-8].mp3 67:1-8 -o r.html --clips places\n"
                            "mistara listen '%s'/a/06700[1-8].mp3 67:1-8 -o r.pdf --lang ar\n"
                            "qpdf --check r.pdf >/dev/null",
                            from, from);
    run_free(&r);
    assert_true(file_exists("places/index.tsv"));
    r = run_well("mistara listen '%s'/a/06700[1-8].mp3 67:1-8", from);
    assert_non_null(strstr(r.out, "67:1–8: all 88 words"));
    assert_non_null(strstr(r.out, "qualified teacher, who decides"));
    run_free(&r);
}

static void real_voice(void **state)
{
    (void)state;
    const char *from = audio();
    struct run r = run_well("mistara voice learn teacher '%s'/a/0670*.mp3 67:1-30 --data mine\n"
                            "stat -c %%a mine mine/voices mine/voices/teacher.voice\n"
                            "mistara voice list --data mine --json",
                            from);
    assert_non_null(strstr(r.out, "\n700\n700\n600\n"));
    assert_non_null(strstr(r.out, "{\"name\":\"teacher\",\"speech_seconds\":"));
    run_free(&r);
    r = run_well("mistara listen '%s'/a/067001.mp3 67:1 --no-basmala --voice teacher --data mine",
                 from);
    assert_non_null(strstr(r.out, "67:1: all 9 words"));
    run_free(&r);
    /* The teacher's lengths without the teacher's take. */
    r = run_well("mistara voice show teacher --data mine --json");
    json_error_t error;
    json_t *shown = json_loads(r.out, 0, &error);
    assert_true(json_array_size(json_object_get(shown, "lengths")) > 8);
    json_decref(shown);
    run_free(&r);
    r = run_well("mistara listen '%s'/a/07801*.mp3 78:10-19 --model teacher --data mine -o m.json\n"
                 "mistara listen '%s'/a/07801*.mp3 78:10-19 --model teacher --data mine",
                 from, from);
    assert_non_null(strstr(r.out, "Expected lengths are those of teacher"));
    run_free(&r);
    json_t *all = json_file("m.json");
    assert_string_equal(text_of(all, "model"), "teacher");
    /* The same reciter at much the same pace: nothing is held otherwise as a class. */
    double pace = json_number_value(json_object_get(all, "model_pace_ratio"));
    assert_true(pace > 0.8 && pace < 1.25);
    size_t n;
    json_t *finding;
    json_array_foreach(json_object_get(all, "findings"), n, finding)
        assert_int_not_equal(strncmp(text_of(finding, "kind"), "class", 5), 0);
    json_decref(all);
    r = run_well("mistara voice forget teacher --data mine");
    run_free(&r);
    assert_false(file_exists("mine/voices/teacher.voice"));
}

static void real_mismatch(void **state)
{
    (void)state;
    const char *from = audio();
    run_fails(9, "78:1–40", "mistara listen '%s'/a/0670*.mp3 78 -o wrong.html", from);
    assert_false(file_exists("wrong.html"));
}

/* Ctrl-C in the middle: exit code 8, one sentence, no file and no half of one. */
static void real_interrupted(void **state)
{
    (void)state;
    const char *from = audio();
    struct run r = run("mkdir -p stopped; { mistara listen '%s'/a/036*.mp3 36 -o stopped/r.html & "
                       "pid=$!; sleep 1.5; kill -INT $pid; wait $pid; }",
                       from);
    assert_int_equal(r.code, 8);
    assert_non_null(strstr(r.err, "stopped"));
    run_free(&r);
    r = run_well("ls -A stopped");
    assert_int_equal(r.out_len, 0);
    run_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_recitation),    cmocka_unit_test(no_sound_files),
        cmocka_unit_test(wrong_requests),   cmocka_unit_test(voices),
        cmocka_unit_test(sick_pins),        cmocka_unit_test(sick_limits),
        cmocka_unit_test(real_take),        cmocka_unit_test(real_report),
        cmocka_unit_test(real_voice),       cmocka_unit_test(real_mismatch),
        cmocka_unit_test(real_interrupted),
    };
    return cmocka_run_group_tests(tests, sounds_make, folder_remove);
}
