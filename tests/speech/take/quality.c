/*
 * Each warning on both sides of its threshold, on sounds made here; and, where
 * MISTARA_AUDIO names a folder of real recitations (a/: clean, 22 kHz; b/:
 * cut off at 4 kHz by its coder), that clean recitation gives no warning.
 */
#include "sound.h"

#include <glob.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { RATE = 16000, SECONDS = 30, COUNT = RATE * SECONDS };
static float sound[COUNT];

static int setup(void **state)
{
    (void)state;
    folder_open();
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    folder_close();
    return 0;
}

/* A made-up voice in a quiet room. */
static void voice(double gain)
{
    memset(sound, 0, sizeof sound);
    add_syllables(sound, COUNT, RATE, 41);
    for (int n = 0; n < COUNT; n++)
        sound[n] = (float)((double)sound[n] * gain);
    add_noise(sound, COUNT, 0.0003, 42);
}

/* The warnings of the samples in sound, one bit each. */
static unsigned warnings_now(struct mst_quality *q)
{
    struct mst_take *take;
    struct mst_error err;
    unsigned bits = 0;
    assert_int_equal(mst_take_open_samples(sound, COUNT, &take, &err), MST_OK);
    mst_take_quality(take, q);
    for (int n = 0; n < q->warning_count; n++)
        bits |= 1u << q->warnings[n].kind;
    mst_take_close(take);
    return bits;
}

static void expect(enum mst_take_warning_kind kind, int wanted, const char *what)
{
    struct mst_quality q;
    unsigned bits = warnings_now(&q);
    print_message("%-34s speech %6.1f noise %6.1f edge %5.0f hum %2.0f %6.1f music %.2f: %x\n",
                  what, q.speech_dbfs, q.noise_dbfs, q.band_edge_hz, q.hum_hz, q.hum_db,
                  q.music_fraction, bits);
    if (!!(bits & 1u << kind) != wanted)
        fail_msg("%s: warnings %x", what, bits);
    if (!wanted && bits)
        fail_msg("%s: no warning was due, got %x", what, bits);
}

static void a_plain_voice_gives_no_warning(void **state)
{
    (void)state;
    voice(1);
    expect(MST_TAKE_NOISY, 0, "voice");
    struct mst_quality q;
    warnings_now(&q);
    assert_true(fabs(q.seconds - SECONDS) < 1e-6);
    assert_true(q.snr_db > 30);
    assert_int_equal((int)q.hum_hz, 0);
}

static void levels_are_those_of_the_signal(void **state)
{
    (void)state;
    struct mst_quality q;
    /* Half of the time a tone of -20 dBFS (mean power), else noise of -60. */
    memset(sound, 0, sizeof sound);
    add_noise(sound, COUNT, 0.001, 7);
    for (int s = 0; s < SECONDS; s += 2)
        add_tone(sound + s * RATE, RATE, RATE, 431, 0.1 * sqrt(2));
    warnings_now(&q);
    assert_true(fabs(q.speech_dbfs + 20) < 0.6);
    assert_true(fabs(q.noise_dbfs + 60) < 1.5);
    assert_true(fabs(q.active_fraction - 0.5) < 0.02);
    assert_true(fabs(q.peak_dbfs - 20 * log10(0.1 * sqrt(2))) < 0.4);
}

static void silence_and_a_faint_voice(void **state)
{
    (void)state;
    memset(sound, 0, sizeof sound);
    expect(MST_TAKE_SILENT, 1, "nothing at all");
    add_noise(sound, COUNT, 0.0001, 3);
    expect(MST_TAKE_SILENT, 1, "hiss at -80 dB");
    memset(sound, 0, sizeof sound);
    add_syllables(sound, COUNT, RATE, 41);
    for (int n = 0; n < COUNT; n++)
        sound[n] *= 0.006f;
    expect(MST_TAKE_QUIET, 1, "voice 44 dB down");
    for (int n = 0; n < COUNT; n++)
        sound[n] *= 8;
    expect(MST_TAKE_QUIET, 0, "voice 26 dB down");
}

static void noise_behind_the_voice(void **state)
{
    (void)state;
    static const struct {
        double below_voice_db;
        int warned;
    } cases[] = {{3, 1}, {7, 1}, {20, 0}, {30, 0}};
    for (size_t n = 0; n < sizeof cases / sizeof *cases; n++) {
        struct mst_quality q;
        char what[64];
        voice(1);
        warnings_now(&q);
        add_noise(sound, COUNT, pow(10, (q.speech_dbfs - cases[n].below_voice_db) / 20), 5);
        snprintf(what, sizeof what, "noise %.0f dB under the voice", cases[n].below_voice_db);
        expect(MST_TAKE_NOISY, cases[n].warned, what);
    }
}

static void hum_under_the_voice(void **state)
{
    (void)state;
    static const struct {
        double hz, below_voice_db;
        int warned;
    } cases[] = {{50, 20, 1}, {60, 20, 1}, {50, 30, 1}, {60, 30, 1}, {50, 45, 0}, {60, 55, 0}};
    for (size_t n = 0; n < sizeof cases / sizeof *cases; n++) {
        struct mst_quality q;
        char what[64];
        voice(1);
        warnings_now(&q);
        double each = sqrt(2) * pow(10, (q.speech_dbfs - cases[n].below_voice_db) / 20) / sqrt(3);
        for (int k = 1; k <= 3; k++)
            add_tone(sound, COUNT, RATE, k * (cases[n].hz + 0.03), each);
        snprintf(what, sizeof what, "hum of %.0f Hz %.0f dB under", cases[n].hz,
                 cases[n].below_voice_db);
        expect(MST_TAKE_HUM, cases[n].warned, what);
        warnings_now(&q);
        if (cases[n].warned) {
            assert_true(q.hum_hz == cases[n].hz);
            assert_true(fabs(q.hum_db + cases[n].below_voice_db) < 3);
        }
    }
}

static void a_band_cut_off(void **state)
{
    (void)state;
    static const struct {
        double hz;
        int warned;
    } cases[] = {{3400, 1}, {4000, 1}, {5500, 0}, {7000, 0}};
    for (size_t n = 0; n < sizeof cases / sizeof *cases; n++) {
        struct mst_quality q;
        char what[64];
        voice(1);
        low_pass(sound, COUNT, RATE, cases[n].hz);
        add_noise(sound, COUNT, 0.00003, 8);
        snprintf(what, sizeof what, "low pass at %.0f Hz", cases[n].hz);
        expect(MST_TAKE_NARROW, cases[n].warned, what);
        warnings_now(&q);
        assert_true(fabs(q.band_edge_hz - cases[n].hz) <= 500);
        /* Hiss over the whole band, as from a cassette, does not make the voice reach higher. */
        if (cases[n].warned) {
            add_noise(sound, COUNT, 0.002, 9);
            expect(MST_TAKE_NARROW, 1, "… with hiss over it");
        }
    }
}

static void music_alone_and_under_the_voice(void **state)
{
    (void)state;
    struct mst_quality q;
    memset(sound, 0, sizeof sound);
    add_chords(sound, COUNT, RATE, 0.3);
    expect(MST_TAKE_MUSIC, 1, "chords alone");
    static const struct {
        double below_voice_db;
        int warned;
    } cases[] = {{0, 1}, {10, 1}, {18, 1}, {60, 0}};
    for (size_t n = 0; n < sizeof cases / sizeof *cases; n++) {
        char what[64];
        voice(1);
        warnings_now(&q);
        /* Six partials at 1/k in three voices: the sum's deviation is 0.5 of its amplitude. */
        add_chords(sound, COUNT, RATE, 2 * pow(10, (q.speech_dbfs - cases[n].below_voice_db) / 20));
        snprintf(what, sizeof what, "chords %.0f dB under the voice", cases[n].below_voice_db);
        expect(MST_TAKE_MUSIC, cases[n].warned, what);
    }
    /* One voice that holds its pitch, however long, is no music. */
    memset(sound, 0, sizeof sound);
    for (int k = 1; k <= 20; k++)
        for (int s = 0; s < SECONDS; s += 3)
            add_tone(sound + s * RATE, 5 * RATE / 2, RATE, k * (140 + 3 * s), 0.2 / k);
    add_noise(sound, COUNT, 0.0003, 4);
    warnings_now(&q);
    assert_true(q.music_fraction < 0.1);
}

/* Clipping is judged at the source, before mixing and resampling: through a file. */
static double clipped_of(const char *options, double gain, double ceiling, int *warned)
{
    enum { N = 44100 * 8 };
    float *in = calloc(N, sizeof *in);
    assert_non_null(in);
    add_syllables(in, N, 44100, 12);
    double peak = 0;
    for (int n = 0; n < N; n++)
        peak = fmax(peak, fabs((double)in[n]));
    for (int n = 0; n < N; n++)
        in[n] = (float)fmin(fmax((double)in[n] * gain / peak, -ceiling), ceiling);
    write_wav(in_folder("loud.wav"), (struct wav){44100, 1, 16, 0}, in, N);
    free(in);
    const char *path = in_folder("loud.wav");
    if (options) {
        ffmpeg("-i %s %s %s", in_folder("loud.wav"), options, in_folder("loud.mp3"));
        path = in_folder("loud.mp3");
    }
    float *out;
    size_t got;
    struct mst_take *take = take_whole(path, &out, &got);
    struct mst_quality q;
    mst_take_quality(take, &q);
    *warned = has_warning(take, MST_TAKE_CLIPPED);
    mst_take_close(take);
    free(out);
    return q.clipped_fraction;
}

static void a_recording_that_was_too_loud(void **state)
{
    (void)state;
    int warned;
    static const struct {
        const char *options;
        double gain, ceiling;
        int warned;
    } cases[] = {
        {NULL, 0.99, 1, 0},
        {NULL, 0.5, 1, 0},
        {NULL, 3, 1, 1},
        {NULL, 2, 1, 1},
        {NULL, 2, 0.5, 1}, /* clipped, then turned down */
        {NULL, 2, 0.1, 1},
        {"-c:a libmp3lame -b:a 64k", 0.9, 1, 0},
        {"-c:a libmp3lame -b:a 64k", 3, 1, 1},
    };
    for (size_t n = 0; n < sizeof cases / sizeof *cases; n++) {
        double part = clipped_of(cases[n].options, cases[n].gain, cases[n].ceiling, &warned);
        print_message("peak %.2f held to %.2f%s: %.5f clipped\n", cases[n].gain, cases[n].ceiling,
                      cases[n].options ? ", as MP3" : "", part);
        assert_int_equal(warned, cases[n].warned);
    }
}

static void channels_that_cancel(void **state)
{
    (void)state;
    enum { N = 16000 * 5 };
    static float stereo[N * 2], mono[N];
    add_syllables(mono, N, RATE, 2);
    for (int opposed = 0; opposed < 2; opposed++) {
        for (int n = 0; n < N; n++) {
            stereo[2 * n] = mono[n];
            stereo[2 * n + 1] = opposed ? -0.95f * mono[n] : 0; /* or: one channel empty */
        }
        write_wav(in_folder("stereo.wav"), (struct wav){RATE, 2, 16, 0}, stereo, 2 * N);
        float *out;
        size_t got;
        struct mst_take *take = take_whole(in_folder("stereo.wav"), &out, &got);
        assert_int_equal(has_warning(take, MST_TAKE_CANCELLING), opposed);
        mst_take_close(take);
        free(out);
    }
}

/* A clock that jumps: two pieces of a Matroska file, the second said to begin later. */
static void a_recorder_that_dropped_sound(void **state)
{
    (void)state;
    voice(1);
    write_wav(in_folder("in.wav"), (struct wav){RATE, 1, 16, 0}, sound, COUNT);
    ffmpeg("-i %s -af aselect='lt(t\\,10)+gt(t\\,12)' -c:a libopus %s", in_folder("in.wav"),
           in_folder("gap.webm"));
    float *out;
    size_t got;
    struct mst_take *take = take_whole(in_folder("gap.webm"), &out, &got);
    const struct mst_take_file *file = mst_take_file_at(take, 0);
    print_message("%d gaps, %.2f s\n", file->gap_count, file->gap_seconds);
    assert_true(file->gap_count == 1 && fabs(file->gap_seconds - 2) < 0.2);
    assert_true(has_warning(take, MST_TAKE_GAPS));
    assert_false(has_warning(take, MST_TAKE_CUT_SHORT));
    mst_take_close(take);
    free(out);
}

static void every_warning_speaks_both_languages(void **state)
{
    (void)state;
    struct mst_take *take;
    struct mst_error err;
    voice(1);
    assert_int_equal(mst_take_open_samples(sound, COUNT, &take, &err), MST_OK);
    for (int kind = 0; kind < MST_TAKE_WARNING_COUNT; kind++) {
        struct mst_take_warning w = {(enum mst_take_warning_kind)kind, 0.5, -1};
        assert_true(strlen(mst_take_warning_name(w.kind)) >= 3);
        for (int lang = MST_LANG_EN; lang <= MST_LANG_AR; lang++) {
            struct mst_string text = {0};
            mst_take_warning_text(take, &w, (enum mst_lang)lang, &text);
            assert_false(text.failed);
            assert_true(text.len > 20);
            assert_null(strchr(text.ptr, '%') && !strstr(text.ptr, " %") ? text.ptr : NULL);
            assert_null(strstr(text.ptr, "%s"));
            assert_int_equal(text.ptr[text.len - 1], '.');
            mst_string_free(&text);
        }
    }
    mst_take_close(take);
}

/* --- real recitations ---------------------------------------------------------------------- */

static glob_t real_files(const char *pattern)
{
    glob_t found = {0};
    char path[500];
    snprintf(path, sizeof path, "%s/%s", getenv("MISTARA_AUDIO"), pattern);
    if (glob(path, 0, NULL, &found) != 0)
        fail_msg("MISTARA_AUDIO is set, but there is nothing at %s", path);
    return found;
}

static int have_audio(void)
{
    const char *folder = getenv("MISTARA_AUDIO");
    if (folder && *folder)
        return 1;
    print_message("MISTARA_AUDIO is not set: real recitations are not checked\n");
    return 0;
}

/* Every file on its own (MISTARA_AUDIO_ALL set), else every eighth. */
static void clean_recitation_gives_no_warning(void **state)
{
    (void)state;
    if (!have_audio())
        skip();
    glob_t files = real_files("a/*.mp3");
    const size_t step = getenv("MISTARA_AUDIO_ALL") ? 1 : 8;
    int warned = 0, checked = 0;
    for (size_t n = 0; n < files.gl_pathc; n += step) {
        struct mst_take *take = NULL;
        struct mst_error err;
        struct mst_quality q;
        assert_int_equal(take_try(files.gl_pathv[n], &take, &err), MST_OK);
        mst_take_quality(take, &q);
        for (int w = 0; w < q.warning_count; w++)
            print_message("%s: %s %g\n", files.gl_pathv[n],
                          mst_take_warning_name(q.warnings[w].kind), q.warnings[w].value);
        warned += q.warning_count > 0;
        checked++;
        mst_take_close(take);
    }
    print_message("voice a: %d of %d files with a warning\n", warned, checked);
    globfree(&files);
    assert_int_equal(warned, 0);
}

static void a_narrow_coder_is_the_only_thing_said(void **state)
{
    (void)state;
    if (!have_audio())
        skip();
    glob_t files = real_files("b/*.mp3");
    int narrow = 0, other = 0, checked = 0;
    for (size_t n = 0; n < files.gl_pathc; n += getenv("MISTARA_AUDIO_ALL") ? 1 : 12) {
        struct mst_take *take = NULL;
        struct mst_error err;
        struct mst_quality q;
        assert_int_equal(take_try(files.gl_pathv[n], &take, &err), MST_OK);
        mst_take_quality(take, &q);
        if (q.seconds >= 3) {
            checked++;
            for (int w = 0; w < q.warning_count; w++)
                if (q.warnings[w].kind == MST_TAKE_NARROW)
                    narrow++;
                else
                    other++;
        }
        mst_take_close(take);
    }
    print_message("voice b: %d of %d files said to be narrow, %d other warnings\n", narrow, checked,
                  other);
    globfree(&files);
    assert_int_equal(narrow, checked);
    assert_int_equal(other, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plain_voice_gives_no_warning),
        cmocka_unit_test(levels_are_those_of_the_signal),
        cmocka_unit_test(silence_and_a_faint_voice),
        cmocka_unit_test(noise_behind_the_voice),
        cmocka_unit_test(hum_under_the_voice),
        cmocka_unit_test(a_band_cut_off),
        cmocka_unit_test(music_alone_and_under_the_voice),
        cmocka_unit_test(a_recording_that_was_too_loud),
        cmocka_unit_test(channels_that_cancel),
        cmocka_unit_test(a_recorder_that_dropped_sound),
        cmocka_unit_test(every_warning_speaks_both_languages),
        cmocka_unit_test(clean_recitation_gives_no_warning),
        cmocka_unit_test(a_narrow_coder_is_the_only_thing_said),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
