/* Joins, reading again, clips, outlines, limits, cancelling, the order of things. */
#include "sound.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

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

/* A file of count samples that name themselves: sample n holds (first + n) / 2^20. */
static const char *counting_file(const char *name, size_t first, size_t count)
{
    float *samples = calloc(count, sizeof *samples);
    assert_non_null(samples);
    for (size_t n = 0; n < count; n++)
        samples[n] = (float)((double)(first + n) / 1048576.0);
    const char *path = in_folder(name);
    write_wav(path, (struct wav){16000, 1, -32, 0}, samples, count);
    free(samples);
    return path;
}

static float counted(int64_t n)
{
    return (float)((double)n / 1048576.0);
}

static void files_are_joined_end_to_end(void **state)
{
    (void)state;
    static const size_t lengths[] = {16000, 1, 12345, 40000, 7};
    const char *paths[5];
    size_t total = 0;
    for (size_t f = 0; f < 5; f++) {
        char name[16];
        snprintf(name, sizeof name, "part%zu.wav", f);
        paths[f] = counting_file(name, total, lengths[f]);
        total += lengths[f];
    }
    struct mst_take *take;
    struct mst_error err;
    assert_int_equal(mst_take_open(paths, 5, NULL, &take, &err), MST_OK);
    assert_int_equal(mst_take_file_at(take, 4)->first_sample, -1);
    size_t seen = 0, got;
    float block[777];
    do {
        assert_int_equal(mst_take_read(take, block, 777, &got, &err), MST_OK);
        for (size_t n = 0; n < got; n++)
            assert_true(block[n] == counted((int64_t)(seen + n)));
        seen += got;
    } while (got > 0);
    assert_int_equal(seen, total);
    assert_true(mst_take_complete(take));
    size_t first = 0;
    for (size_t f = 0; f < 5; f++) {
        assert_int_equal(mst_take_file_at(take, f)->first_sample, first);
        assert_int_equal(mst_take_file_at(take, f)->sample_count, lengths[f]);
        first += lengths[f];
    }
    assert_null(mst_take_file_at(take, 5));
    mst_take_rewind(take);
    assert_int_equal(mst_take_read(take, block, 10, &got, &err), MST_OK);
    assert_int_equal(got, 10);
    assert_true(block[0] == 0);
    mst_take_close(take);
}

static void any_stretch_can_be_read_at_any_time(void **state)
{
    (void)state;
    const char *path = counting_file("long.wav", 0, 200000);
    struct mst_take *take;
    struct mst_error err;
    assert_int_equal(mst_take_open(&path, 1, NULL, &take, &err), MST_OK);
    struct dice dice = {5};
    float block[3000];
    size_t got;
    for (int round = 0; round < 400; round++) {
        int64_t first = roll(&dice) % 205000;
        size_t want = roll(&dice) % 3000;
        assert_int_equal(mst_take_read_at(take, first, block, want, &got, &err), MST_OK);
        int64_t left = 200000 - first;
        assert_int_equal(got, left < 0 ? 0 : (uint64_t)left < want ? (size_t)left : want);
        for (size_t n = 0; n < got; n++)
            assert_true(block[n] == counted(first + (int64_t)n));
    }
    /* Reading in order was not disturbed. */
    assert_int_equal(mst_take_read(take, block, 5, &got, &err), MST_OK);
    assert_true(got == 5 && block[4] == counted(4));
    assert_int_equal(mst_take_read_at(take, -1, block, 5, &got, &err), MST_USAGE);
    mst_take_close(take);
}

static void a_clip_is_what_was_heard(void **state)
{
    (void)state;
    float *in = calloc(48000, sizeof *in), *out;
    assert_non_null(in);
    add_syllables(in, 48000, 16000, 3);
    struct mst_take *take, *clip;
    struct mst_error err;
    assert_int_equal(mst_take_open_samples(in, 48000, &take, &err), MST_OK);
    const char *path = in_folder("clip.wav");
    assert_int_equal(mst_take_clip(take, 250, 1250.5, path, &err), MST_OK);
    struct mst_string bytes = {0};
    assert_int_equal(mst_take_clip_bytes(take, 250, 1250.5, &bytes, &err), MST_OK);
    FILE *file = fopen(path, "rb");
    char same[40000];
    assert_non_null(file);
    assert_int_equal(fread(same, 1, sizeof same, file), bytes.len);
    assert_memory_equal(bytes.ptr, same, bytes.len);
    fclose(file);
    mst_string_free(&bytes);
    size_t got;
    clip = take_whole(path, &out, &got);
    assert_int_equal(got, 16008);
    for (size_t n = 0; n < got; n++)
        assert_true(fabsf(out[n] - in[4000 + n]) <= 0.5001f / 32768);
    mst_take_close(clip);
    free(out);
    /* Beyond the end: cut there. */
    assert_int_equal(mst_take_clip(take, 2900, 9000, path, &err), MST_OK);
    clip = take_whole(path, &out, &got);
    assert_int_equal(got, 1600);
    mst_take_close(clip);
    free(out);
    assert_int_equal(mst_take_clip(take, 3000, 4000, in_folder("none.wav"), &err), MST_USAGE);
    assert_int_equal(mst_take_clip(take, 500, 500, in_folder("none.wav"), &err), MST_USAGE);
    assert_int_equal(mst_take_clip(take, -5, 500, in_folder("none.wav"), &err), MST_USAGE);
    assert_int_equal(mst_take_clip(take, NAN, 500, in_folder("none.wav"), &err), MST_USAGE);
    assert_int_equal(access(in_folder("none.wav"), F_OK), -1);
    mst_take_close(take);
    free(in);
}

static int64_t loudest(const float *samples, size_t count)
{
    int64_t at = 0;
    for (size_t n = 1; n < count; n++)
        at = fabsf(samples[n]) > fabsf(samples[at]) ? (int64_t)n : at;
    return at;
}

/* A hiss that the ear does without, and a click to tell the time by. */
static const char *hissing_file(const char *name, int rate_hz, double click_s)
{
    const size_t count = 2 * (size_t)rate_hz;
    float *samples = calloc(count, sizeof *samples);
    assert_non_null(samples);
    add_tone(samples, count, rate_hz, 12000, 0.2);
    for (int n = 0; n < rate_hz / 1000; n++)
        samples[(size_t)(click_s * rate_hz) + (size_t)n] = 0.9f;
    const char *path = in_folder(name);
    write_wav(path, (struct wav){rate_hz, 1, 16, 0}, samples, count);
    free(samples);
    return path;
}

static void the_whole_sound_is_there_for_human_ears(void **state)
{
    (void)state;
    const char *paths[] = {hissing_file("one.wav", 48000, 0.7),
                           hissing_file("two.wav", 44100, 1.3)};
    struct mst_take *take, *sound;
    struct mst_error err;
    enum { SECONDS = 4, EAR = SECONDS * MST_TAKE_RATE_HZ, ALL = SECONDS * MST_SOUND_RATE_HZ };
    float *heard = malloc(EAR * sizeof *heard), *all = malloc(ALL * sizeof *all);
    size_t got;
    assert_int_equal(mst_take_open(paths, 2, NULL, &take, &err), MST_OK);
    assert_int_equal(mst_take_open_sound(take, &sound, &err), MST_OK);
    assert_int_equal(mst_take_rate_hz(take), MST_TAKE_RATE_HZ);
    assert_int_equal(mst_take_rate_hz(sound), MST_SOUND_RATE_HZ);
    assert_int_equal(mst_take_read_at(take, 0, heard, EAR, &got, &err), MST_OK);
    assert_int_equal(got, EAR);
    assert_int_equal(mst_take_read_at(sound, 0, all, ALL, &got, &err), MST_OK);
    assert_true(got > ALL - 4);
    for (int file = 0; file < 2; file++) { /* the same moment in both */
        double ms = 1000.0 * (double)loudest(heard + file * EAR / 2, EAR / 2) / MST_TAKE_RATE_HZ;
        double full_ms =
            1000.0 * (double)loudest(all + file * ALL / 2, ALL / 2) / MST_SOUND_RATE_HZ;
        double asked = file ? 1300 : 700;
        assert_true(ms >= asked - 0.2 && ms <= asked + 1.2);
        assert_true(full_ms >= asked - 0.2 && full_ms <= asked + 1.2);
        /* 0.2 at 12 kHz is a power of 0.02; half a second that has no click. */
        assert_true(power_of(heard + file * EAR / 2, MST_TAKE_RATE_HZ / 2) < 1e-6);
        assert_true(fabs(power_of(all + file * ALL / 2, MST_SOUND_RATE_HZ / 2) - 0.02) < 5e-4);
    }
    mst_take_close(sound);
    assert_int_equal(unlink(paths[1]), 0);
    assert_int_equal(mst_take_open_sound(take, &sound, &err), MST_NOT_FOUND);
    assert_null(sound);
    mst_take_close(take);

    /* Bare samples are all there is. */
    assert_int_equal(mst_take_open_samples(heard, EAR, &take, &err), MST_OK);
    assert_int_equal(mst_take_open_sound(take, &sound, &err), MST_OK);
    assert_int_equal(mst_take_rate_hz(sound), MST_TAKE_RATE_HZ);
    assert_int_equal(mst_take_read_at(sound, 0, all, ALL, &got, &err), MST_OK);
    assert_int_equal(got, EAR);
    assert_memory_equal(heard, all, EAR * sizeof *heard);
    mst_take_close(sound);
    mst_take_close(take);
    free(heard);
    free(all);
}

static void samples_beyond_full_scale_are_held_there(void **state)
{
    (void)state;
    const float in[] = {0, 1, -1, 1.5f, -1.5f, NAN, 0.99999f};
    const char *path = in_folder("held.wav");
    struct mst_error err;
    assert_int_equal(mst_wav_write(path, in, 7, MST_TAKE_RATE_HZ, &err), MST_OK);
    size_t size;
    unsigned char *bytes = read_bytes(path, &size);
    assert_int_equal(size, 44 + 14);
    int16_t v[7];
    memcpy(v, bytes + 44, sizeof v);
    const int16_t want[] = {0, 32767, -32768, 32767, -32768, 0, 32767};
    assert_memory_equal(v, want, sizeof v);
    free(bytes);
}

static void the_outline_holds_every_peak(void **state)
{
    (void)state;
    float in[16000] = {0}, low[100], high[100];
    in[1234] = 0.9f;
    in[15999] = -0.8f;
    struct mst_take *take;
    struct mst_error err;
    assert_int_equal(mst_take_open_samples(in, 16000, &take, &err), MST_OK);
    assert_int_equal(mst_take_outline(take, 0, 1000, 100, low, high, &err), MST_OK);
    for (int c = 0; c < 100; c++) {
        assert_true(high[c] == (c == 7 ? 0.9f : 0));
        assert_true(low[c] == (c == 99 ? -0.8f : 0));
    }
    /* Twice as long as the take: the second half is empty. */
    assert_int_equal(mst_take_outline(take, 0, 2000, 100, low, high, &err), MST_OK);
    assert_true(high[3] == 0.9f && low[49] == -0.8f && low[50] == 0 && high[99] == 0);
    /* More columns than samples: none is left out. */
    for (int n = 0; n < 16; n++)
        in[n] = 0.5f;
    mst_take_close(take);
    assert_int_equal(mst_take_open_samples(in, 16000, &take, &err), MST_OK);
    assert_int_equal(mst_take_outline(take, 0, 1, 100, low, high, &err), MST_OK);
    for (int c = 0; c < 100; c++)
        assert_true(low[c] == 0.5f && high[c] == 0.5f);
    mst_take_close(take);
}

static void a_take_may_be_limited_in_length(void **state)
{
    (void)state;
    const char *paths[2] = {counting_file("a.wav", 0, 20000), counting_file("b.wav", 20000, 20000)};
    struct mst_take_options options = {.max_seconds = 2};
    struct mst_take *take;
    struct mst_error err;
    assert_int_equal(mst_take_open(paths, 2, &options, &take, &err), MST_OK);
    assert_int_equal(mst_take_read_all(take, &err), MST_OK);
    assert_int_equal(mst_take_sample_count(take), 32000);
    assert_true(has_warning(take, MST_TAKE_TOO_LONG));
    mst_take_close(take);
    options.max_seconds = 2.5;
    assert_int_equal(mst_take_open(paths, 2, &options, &take, &err), MST_OK);
    assert_int_equal(mst_take_read_all(take, &err), MST_OK);
    assert_int_equal(mst_take_sample_count(take), 40000);
    assert_false(has_warning(take, MST_TAKE_TOO_LONG));
    mst_take_close(take);
}

static int stop_at_once(void *user)
{
    ++*(int *)user;
    return 1;
}

static void reading_can_be_stopped(void **state)
{
    (void)state;
    int asked = 0;
    const char *path = counting_file("stop.wav", 0, 100000);
    struct mst_take_options options = {.cancelled = stop_at_once, .user = &asked};
    struct mst_take *take;
    struct mst_error err;
    assert_int_equal(mst_take_open(&path, 1, &options, &take, &err), MST_OK);
    assert_int_equal(mst_take_read_all(take, &err), MST_CANCELLED);
    assert_true(asked > 0);
    /* The error stays. */
    assert_int_equal(mst_take_read_all(take, &err), MST_CANCELLED);
    mst_take_close(take);
}

/* A file in the middle that holds no sound is an error that names it; what came before stays. */
static void a_bad_file_among_good_ones_is_named(void **state)
{
    (void)state;
    write_bytes(in_folder("words.txt"), "nothing to hear here, only words\n", 33);
    const char *paths[3] = {counting_file("a.wav", 0, 5000), in_folder("words.txt"),
                            counting_file("b.wav", 0, 5000)};
    struct mst_take *take;
    struct mst_error err;
    assert_int_equal(mst_take_open(paths, 3, NULL, &take, &err), MST_OK);
    assert_int_equal(mst_take_read_all(take, &err), MST_BAD_DATA);
    assert_non_null(strstr(err.message, "words.txt"));
    assert_int_equal(mst_take_sample_count(take), 5000);
    float block[10];
    size_t got;
    assert_int_equal(mst_take_read_at(take, 4990, block, 10, &got, &err), MST_OK);
    assert_int_equal(got, 10);
    mst_take_close(take);
}

static void the_working_copy_leaves_no_trace(void **state)
{
    (void)state;
    const char *dir = in_folder("working");
    assert_int_equal(mkdir(dir, 0700), 0);
    const char *path = counting_file("a.wav", 0, 100000);
    struct mst_take_options options = {.working_dir = dir};
    struct mst_take *take;
    struct mst_error err;
    assert_int_equal(mst_take_open(&path, 1, &options, &take, &err), MST_OK);
    assert_int_equal(mst_take_read_all(take, &err), MST_OK);
    assert_int_equal(rmdir(dir), 0); /* empty even while the take is open */
    mst_take_close(take);
    options.working_dir = in_folder("not-there");
    assert_int_equal(mst_take_open(&path, 1, &options, &take, &err), MST_IO);
    assert_non_null(strstr(err.message, "not-there"));
}

static void no_recording_is_a_question(void **state)
{
    (void)state;
    struct mst_take *take;
    struct mst_error err;
    assert_int_equal(mst_take_open(NULL, 0, NULL, &take, &err), MST_USAGE);
    const char *path = in_folder("missing.mp3");
    assert_int_equal(mst_take_open(&path, 1, NULL, &take, &err), MST_NOT_FOUND);
    assert_non_null(strstr(err.message, "missing.mp3"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(files_are_joined_end_to_end),
        cmocka_unit_test(any_stretch_can_be_read_at_any_time),
        cmocka_unit_test(a_clip_is_what_was_heard),
        cmocka_unit_test(the_whole_sound_is_there_for_human_ears),
        cmocka_unit_test(samples_beyond_full_scale_are_held_there),
        cmocka_unit_test(the_outline_holds_every_peak),
        cmocka_unit_test(a_take_may_be_limited_in_length),
        cmocka_unit_test(reading_can_be_stopped),
        cmocka_unit_test(a_bad_file_among_good_ones_is_named),
        cmocka_unit_test(the_working_copy_leaves_no_trace),
        cmocka_unit_test(no_recording_is_a_question),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
