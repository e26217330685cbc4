/* What the ear keeps of the sound: the same whatever the blocks, and nothing of what is broken. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "synth.h"

static struct synth sentence(void)
{
    struct synth s = {.seed = 7};
    struct mst_script *script = synth_script(20, 5, 3);
    for (int w = 0; w < 20; w++) {
        synth_say(&s, script, w, 1);
        if (w % 5 == 4)
            synth_pause(&s, 600);
    }
    synth_script_free(script);
    return s;
}

static void blocks_do_not_matter(void **state)
{
    (void)state;
    struct synth s = sentence();
    struct mst_features *whole = synth_features(&s), *pieces = NULL;
    struct mst_error err;
    uint64_t seed = 5;
    assert_non_null(whole);
    assert_int_equal(mst_features_new(NULL, &pieces, &err), MST_OK);
    for (size_t at = 0; at < s.count;) {
        size_t n = 1 + (size_t)(synth_random(&seed) * 3000);
        n = n > s.count - at ? s.count - at : n;
        assert_int_equal(mst_features_push(pieces, s.samples + at, n, &err), MST_OK);
        at += n;
    }
    assert_int_equal(mst_features_finish(pieces, &err), MST_OK);
    assert_int_equal(pieces->frame_count, whole->frame_count);
    assert_int_equal(whole->frame_count, 1 + (s.count - EAR_WINDOW) / EAR_SHIFT);
    for (size_t t = 0; t < whole->frame_count; t++)
        assert_memory_equal(ear_row(pieces, t), ear_row(whole, t), EAR_ROW * sizeof(float));
    assert_int_equal(mst_features_push(pieces, s.samples, 10, &err), MST_USAGE);
    mst_features_free(whole);
    mst_features_free(pieces);
    synth_free(&s);
}

/* The published definition, straight: Hamming window, power spectrum by plain sums, triangles on
 * the mel scale, log, cosine transform (Davis and Mermelstein 1980). */
static void plain_cepstra(const float *x, float before, double floor, double out[EAR_CEPSTRA])
{
    double logs[EAR_MEL], windowed[EAR_WINDOW];
    double low = 1127 * log(1 + 80.0 / 700), high = 1127 * log(1 + 7600.0 / 700);
    for (int i = 0; i < EAR_WINDOW; i++)
        windowed[i] = ((double)x[i] - 0.97 * (double)(i ? x[i - 1] : before)) *
                      (0.54 - 0.46 * cos(2 * M_PI * i / (EAR_WINDOW - 1)));
    for (int m = 0; m < EAR_MEL; m++) {
        double edge[3], sum = 0;
        for (int k = 0; k < 3; k++)
            edge[k] = 700 * (exp((low + (m + k) * (high - low) / (EAR_MEL + 1)) / 1127) - 1);
        for (int bin = 0; bin < EAR_BINS; bin++) {
            double hz = bin * 16000.0 / EAR_FFT, re = 0, im = 0;
            double gain =
                fmin((hz - edge[0]) / (edge[1] - edge[0]), (edge[2] - hz) / (edge[2] - edge[1]));
            if (gain <= 0)
                continue;
            for (int i = 0; i < EAR_WINDOW; i++) {
                re += windowed[i] * cos(2 * M_PI * bin * i / EAR_FFT);
                im += windowed[i] * sin(2 * M_PI * bin * i / EAR_FFT);
            }
            sum += gain * (re * re + im * im);
        }
        logs[m] = log(sum + floor);
    }
    for (int c = 0; c < EAR_CEPSTRA; c++) {
        out[c] = 0;
        for (int m = 0; m < EAR_MEL; m++)
            out[c] += sqrt(2.0 / EAR_MEL) * cos(M_PI * c * (m + 0.5) / EAR_MEL) * logs[m];
    }
}

/* The fast way and the plain one agree to 0.02 of the spread over all speech (floats against
 * doubles; the floor is read back from the difference, so only frames far above it are held). */
static void cepstra_as_published(void **state)
{
    (void)state;
    struct synth s = sentence();
    struct mst_features *f = synth_features(&s);
    int compared = 0;
    for (size_t t = 10; t < f->frame_count; t += 37) {
        const float *row = ear_row(f, t);
        double plain[EAR_CEPSTRA];
        if (row[0] < f->speech_c0)
            continue;
        plain_cepstra(s.samples + t * EAR_SHIFT, s.samples[t * EAR_SHIFT - 1], 1e-12, plain);
        for (int c = 0; c < EAR_CEPSTRA; c++) {
            double here = (double)row[c] * (double)f->sd[c] + (double)f->mean[c];
            assert_true(fabs(here - plain[c]) < 0.02 * (double)f->sd[c] + 0.05);
        }
        compared++;
    }
    assert_true(compared > 10);
    mst_features_free(f);
    synth_free(&s);
}

static void quiet_is_marked(void **state)
{
    (void)state;
    struct synth s = sentence();
    struct mst_features *f = synth_features(&s);
    size_t marked = 0;
    for (size_t t = 0; t < f->frame_count; t++) {
        double ms = (double)t * 10 + 12;
        int speech = 0;
        for (int i = 0; i < s.sound_count; i++)
            speech |= ms > s.sounds[i].start_ms && ms < s.sounds[i].end_ms;
        if (f->quiet[t])
            assert_false(speech);
        marked += f->quiet[t];
    }
    assert_true(marked > 4 * 40); /* four pauses of 600 ms, less their ends */
    mst_features_free(f);
    synth_free(&s);
}

static void broken_sound_is_refused(void **state)
{
    (void)state;
    struct mst_features *f = NULL;
    struct mst_error err;
    float zeros[16000] = {0}, broken[16000];
    assert_int_equal(mst_features_new(NULL, &f, &err), MST_OK);
    assert_int_equal(mst_features_push(f, zeros, 16000, &err), MST_OK);
    assert_int_equal(mst_features_finish(f, &err), MST_BAD_DATA);
    assert_non_null(strstr(err.message, "silence"));
    mst_features_free(f);
    assert_int_equal(mst_features_new(NULL, &f, &err), MST_OK);
    assert_int_equal(mst_features_push(f, zeros, 1000, &err), MST_OK);
    assert_int_equal(mst_features_finish(f, &err), MST_BAD_DATA);
    mst_features_free(f);
    for (int i = 0; i < 16000; i++)
        broken[i] = i % 50 == 0 ? NAN : i % 77 == 0 ? INFINITY : sinf((float)i * 0.1f);
    assert_int_equal(mst_features_new(NULL, &f, &err), MST_OK);
    assert_int_equal(mst_features_push(f, broken, 16000, &err), MST_OK);
    assert_int_equal(mst_features_finish(f, &err), MST_OK);
    for (size_t t = 0; t < f->frame_count; t++)
        for (int d = 0; d < EAR_DIM; d++)
            assert_true(isfinite(ear_row(f, t)[d]));
    mst_features_free(f);
    struct mst_features_options narrow = {.low_hz = 3000, .high_hz = 4000};
    assert_int_equal(mst_features_new(&narrow, &f, &err), MST_USAGE);
    assert_null(f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blocks_do_not_matter), cmocka_unit_test(cepstra_as_published),
        cmocka_unit_test(quiet_is_marked), cmocka_unit_test(broken_sound_is_refused)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
