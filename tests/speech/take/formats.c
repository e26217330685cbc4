/*
 * Every kind of file to the same samples. What to expect is worked out here
 * (the sounds are known) and, for lossy formats, measured as agreement with
 * the sound that went in. Encoders: Debian's ffmpeg program.
 */
#include "sound.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SECONDS = 4 };

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

static float *make_syllables(size_t count, int rate_hz)
{
    float *samples = calloc(count, sizeof *samples);
    assert_non_null(samples);
    add_syllables(samples, count, rate_hz, 11);
    return samples;
}

/* 16 kHz, one channel passes through untouched, in every sample type. */
static void plain_samples_pass_untouched(void **state)
{
    (void)state;
    static const int bits[] = {8, 16, 24, 32, -32};
    const size_t count = 16000 * SECONDS;
    float *in = make_syllables(count, 16000);
    for (size_t b = 0; b < sizeof bits / sizeof *bits; b++) {
        const char *path = in_folder("plain.wav");
        write_wav(path, (struct wav){16000, 1, bits[b], 0}, in, count);
        float *out;
        size_t got;
        struct mst_take *take = take_whole(path, &out, &got);
        assert_int_equal(got, count);
        const double step = bits[b] < 0 ? 0 : ldexp(1, 1 - bits[b]);
        for (size_t n = 0; n < count; n++)
            if (fabs((double)out[n] - (double)in[n]) > step * 0.5001 + 3e-8)
                fail_msg("%d bit: sample %zu is %g, was %g", bits[b], n, (double)out[n],
                         (double)in[n]);
        const struct mst_take_file *file = mst_take_file_at(take, 0);
        assert_int_equal(file->source_rate_hz, 16000);
        assert_int_equal(file->source_channels, 1);
        assert_int_equal(file->source_sample_count, count);
        assert_string_equal(file->container, "wav");
        mst_take_close(take);
        free(out);
    }
    free(in);
}

/* Where the click of a file with this rate lands, to the sample, and how many samples there are. */
static void resampling_keeps_the_time(void **state)
{
    (void)state;
    static const int rates[] = {8000, 11025, 22050, 32000, 44100, 48000, 96000, 192000, 384000};
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++) {
        const int rate = rates[r];
        const size_t count = (size_t)rate;
        float *in = calloc(count, sizeof *in), *out;
        assert_non_null(in);
        /* A smooth bump of 2 ms about 0.5 s: its centre of gravity is exact at any rate. */
        for (size_t n = 0; n < count; n++) {
            double t = ((double)n / rate - 0.5) / 0.002;
            in[n] = (float)(0.5 * exp(-0.5 * t * t));
        }
        const char *path = in_folder("click.wav");
        write_wav(path, (struct wav){rate, 1, -32, 0}, in, count);
        size_t got;
        struct mst_take *take = take_whole(path, &out, &got);
        double weight = 0, moment = 0;
        for (size_t n = 7000; n < 9000 && n < got; n++) {
            weight += (double)out[n];
            moment += (double)out[n] * (double)n;
        }
        if (fabs(moment / weight - 8000) > 0.02)
            fail_msg("%d Hz: the bump at 8000 lies at %.3f", rate, moment / weight);
        if (labs((long)got - 16000) > 1)
            fail_msg("%d Hz: a second has %zu samples", rate, got);
        mst_take_close(take);
        free(in);
        free(out);
    }
}

/* Tones below 7 kHz keep their level; what lies above 9 kHz does not fold back. */
static void resampling_neither_dulls_nor_folds(void **state)
{
    (void)state;
    static const struct {
        double hz, least_db, most_db;
    } tones[] = {{100, -0.05, 0.05}, {3000, -0.05, 0.05}, {7000, -0.2, 0.1},
                 {9000, -200, -60},  {12000, -200, -70},  {20000, -200, -70}};
    const size_t count = 48000;
    for (size_t t = 0; t < sizeof tones / sizeof *tones; t++) {
        float *in = calloc(count, sizeof *in), *out;
        assert_non_null(in);
        add_tone(in, count, 48000, tones[t].hz, 0.5);
        write_wav(in_folder("tone.wav"), (struct wav){48000, 1, -32, 0}, in, count);
        size_t got;
        struct mst_take *take = take_whole(in_folder("tone.wav"), &out, &got);
        double db = 10 * log10(power_of(out + 1000, 14000) / 0.125 + 1e-30);
        if (db < tones[t].least_db || db > tones[t].most_db)
            fail_msg("%.0f Hz comes out at %.2f dB", tones[t].hz, db);
        mst_take_close(take);
        free(in);
        free(out);
    }
}

static void channels_are_mixed_by_their_mean(void **state)
{
    (void)state;
    static const int channels[] = {2, 3, 5, 6, 8, 11, 32, 64};
    const size_t count = 8000;
    for (size_t c = 0; c < sizeof channels / sizeof *channels; c++) {
        const int n_ch = channels[c];
        float *in = calloc(count * (size_t)n_ch, sizeof *in), *out;
        assert_non_null(in);
        /* Channel k holds the constant (k + 1)/128, swelling. */
        for (size_t n = 0; n < count; n++)
            for (int k = 0; k < n_ch; k++)
                in[n * (size_t)n_ch + (size_t)k] = (float)((k + 1) / 128.0 * sin(0.01 * (double)n));
        write_wav(in_folder("many.wav"), (struct wav){16000, n_ch, -32, 0}, in,
                  count * (size_t)n_ch);
        size_t got;
        struct mst_take *take = take_whole(in_folder("many.wav"), &out, &got);
        assert_int_equal(got, count);
        const double mean = (n_ch + 1) / 2.0 / 128.0;
        for (size_t n = 0; n < count; n++)
            assert_true(fabs((double)out[n] - mean * sin(0.01 * (double)n)) < 1e-5);
        assert_int_equal(mst_take_file_at(take, 0)->source_channels, n_ch);
        mst_take_close(take);
        free(in);
        free(out);
    }
}

/* Offset of b against a, in samples, where they agree best within ±range; the agreement. */
static int best_offset(const float *a, size_t a_count, const float *b, size_t b_count, int range,
                       double *agreement)
{
    int best = 0;
    *agreement = -1;
    for (int d = -range; d <= range; d++) {
        double ab = 0, aa = 0, bb = 0;
        for (size_t n = 4000; n < a_count && n < 44000; n++) {
            ptrdiff_t m = (ptrdiff_t)n + d;
            if (m < 0 || (size_t)m >= b_count)
                continue;
            ab += (double)a[n] * (double)b[m];
            aa += (double)a[n] * (double)a[n];
            bb += (double)b[m] * (double)b[m];
        }
        double r = ab / (sqrt(aa * bb) + 1e-30);
        if (r > *agreement) {
            *agreement = r;
            best = d;
        }
    }
    return best;
}

/* delay_ms: what the format itself leaves undeclared. */
struct format {
    const char *file, *options, *codec;
    double least_agreement;
    int most_offset;  /* samples */
    int most_missing; /* samples more or fewer than went in */
};

static const struct format formats[] = {
    {"f.flac", "-c:a flac", "flac", 0.9999, 0, 1},
    {"f.ogg", "-c:a libvorbis -q:a 5", "vorbis", 0.97, 1, 1},
    {"f.opus", "-c:a libopus -b:a 48k", "opus", 0.90, 2, 400},
    {"f.webm", "-c:a libopus -b:a 48k", "opus", 0.90, 2, 400},
    {"f.mka", "-c:a flac", "flac", 0.9999, 0, 400},
    {"f.mp3", "-c:a libmp3lame -b:a 96k", "mp3", 0.95, 1, 500},
    {"f.m4a", "-c:a aac -b:a 96k", "aac", 0.95, 2, 500},
    {"f.mp4", "-c:a aac -b:a 96k", "aac", 0.95, 2, 500},
    /* ADTS declares no delay: the encoder's 1024 samples at 44.1 kHz stay */
    {"f.aac", "-c:a aac -b:a 96k", "aac", 0.95, 380, 900},
    {"f.aiff", "-c:a pcm_s16be", "pcm_s16be", 0.9999, 0, 1},
    {"f.caf", "-c:a alac", "alac", 0.9999, 0, 1600},
    {"f.w64", "-c:a pcm_s24le", "pcm_s24le", 0.9999, 0, 1},
    {"f.au", "-c:a pcm_mulaw", "pcm_mulaw", 0.99, 0, 1},
    {"f.avi", "-c:a pcm_s16le", "pcm_s16le", 0.9999, 0, 1},
    {"f.mov", "-c:a pcm_s16le", "pcm_s16le", 0.9999, 0, 1},
    {"f.wma", "-c:a wmav2 -b:a 96k", "wmav2", 0.90, 800, 3000},
    {"f.ts", "-c:a mp2 -b:a 128k", "mp2", 0.95, 200, 1500},
};

static void formats_agree_with_what_went_in(void **state)
{
    (void)state;
    const size_t count44 = 44100 * SECONDS, count16 = 16000 * SECONDS;
    float *in44 = make_syllables(count44, 44100), *ref;
    write_wav(in_folder("in.wav"), (struct wav){44100, 1, 16, 0}, in44, count44);
    size_t ref_count;
    struct mst_take *ref_take = take_whole(in_folder("in.wav"), &ref, &ref_count);
    assert_true(labs((long)ref_count - (long)count16) <= 1);
    for (size_t f = 0; f < sizeof formats / sizeof *formats; f++) {
        const struct format *format = &formats[f];
        ffmpeg("-i %s %s %s", in_folder("in.wav"), format->options, in_folder(format->file));
        float *out;
        size_t got;
        struct mst_take *take = take_whole(in_folder(format->file), &out, &got);
        double agreement;
        int offset = best_offset(ref, ref_count, out, got, 900, &agreement);
        print_message("%-7s %-10s agreement %.4f, %+d samples late, %+ld samples\n", format->file,
                      format->codec, agreement, offset, (long)got - (long)ref_count);
        assert_string_equal(mst_take_file_at(take, 0)->codec, format->codec);
        assert_true(agreement >= format->least_agreement);
        assert_true(abs(offset) <= format->most_offset);
        assert_true(labs((long)got - (long)ref_count) <= format->most_missing);
        assert_int_equal(mst_take_file_at(take, 0)->damage_count, 0);
        assert_false(has_warning(take, MST_TAKE_CUT_SHORT));
        assert_false(has_warning(take, MST_TAKE_GAPS));
        mst_take_close(take);
        free(out);
    }
    mst_take_close(ref_take);
    free(ref);
    free(in44);
}

static void a_video_gives_its_sound(void **state)
{
    (void)state;
    const size_t count = 16000 * SECONDS;
    float *in = make_syllables(count, 16000), *out;
    write_wav(in_folder("in.wav"), (struct wav){16000, 1, 16, 0}, in, count);
    static const char *const names[] = {"v.mp4", "v.webm", "v.mkv", "v.avi"};
    static const char *const codecs[] = {"-c:v mpeg4 -c:a aac", "-c:v libvpx -c:a libvorbis",
                                         "-c:v mpeg4 -c:a flac", "-c:v mpeg4 -c:a pcm_s16le"};
    for (size_t f = 0; f < 4; f++) {
        ffmpeg("-f lavfi -i color=red:size=64x48:rate=10:duration=%d -i %s %s -shortest %s",
               SECONDS, in_folder("in.wav"), codecs[f], in_folder(names[f]));
        size_t got;
        struct mst_take *take = take_whole(in_folder(names[f]), &out, &got);
        double agreement;
        int offset = best_offset(in, count, out, got, 100, &agreement);
        assert_true(agreement > 0.95);
        assert_true(abs(offset) <= 4);
        mst_take_close(take);
        free(out);
    }
    free(in);
}

static void the_same_file_gives_the_same_samples(void **state)
{
    (void)state;
    float *in = make_syllables(44100 * 2, 44100), *first, *second;
    write_wav(in_folder("in.wav"), (struct wav){44100, 1, 16, 0}, in, 44100 * 2);
    ffmpeg("-i %s -c:a libmp3lame -b:a 64k %s", in_folder("in.wav"), in_folder("same.mp3"));
    size_t a, b;
    struct mst_take *one = take_whole(in_folder("same.mp3"), &first, &a);
    struct mst_take *two = take_whole(in_folder("same.mp3"), &second, &b);
    assert_int_equal(a, b);
    assert_memory_equal(first, second, a * sizeof *first);
    mst_take_close(one);
    mst_take_close(two);
    free(in);
    free(first);
    free(second);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plain_samples_pass_untouched),
        cmocka_unit_test(resampling_keeps_the_time),
        cmocka_unit_test(resampling_neither_dulls_nor_folds),
        cmocka_unit_test(channels_are_mixed_by_their_mean),
        cmocka_unit_test(formats_agree_with_what_went_in),
        cmocka_unit_test(a_video_gives_its_sound),
        cmocka_unit_test(the_same_file_gives_the_same_samples),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
