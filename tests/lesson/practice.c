/* Sound to practise with, made from a take of tones: lengths, pitch, gaps, files. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "built.h"

#include <math.h>
#include <mistara/film.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct built b;

static int setup(void **state)
{
    (void)state;
    build(&b, 1, 1);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    build_free(&b);
    return 0;
}

static struct mst_practice make(struct mst_practice_options options)
{
    struct mst_practice practice;
    struct mst_error err = {0};
    if (mst_practice_make(b.take, b.timeline, &options, &practice, &err) != MST_OK)
        fail_msg("%s", err.message);
    return practice;
}

/* Of the sound around the middle of this stretch, by its rising zeros. */
static double pitch_hz(const float *samples, size_t from, size_t to)
{
    double first = 0, last = 0;
    int count = 0;
    for (size_t n = from + 1; n < to; n++)
        if (samples[n - 1] < 0 && samples[n] >= 0) {
            last = (double)n - samples[n] / (samples[n] - samples[n - 1]);
            if (count++ == 0)
                first = last;
        }
    return (count - 1) * 16000 / (last - first);
}

static int32_t longest_sound(void)
{
    int32_t longest = 0;
    for (int32_t n = 0; n < b.timeline->sound_count; n++) {
        const struct mst_heard_sound *s = &b.timeline->sounds[n], *l = &b.timeline->sounds[longest];
        if (s->end_ms - s->start_ms > l->end_ms - l->start_ms)
            longest = n;
    }
    return longest;
}

static void slower(void **state)
{
    (void)state;
    const struct mst_heard_sound *s = &b.timeline->sounds[longest_sound()];
    size_t count = (size_t)mst_take_sample_count(b.take);
    double expected = 200 + 35 * (int)s->phone; /* the tone of built.c */
    for (int percent = 60; percent <= 90; percent += 15) {
        struct mst_practice p = make((struct mst_practice_options){.percent = percent});
        assert_int_equal(p.sample_count, (size_t)llround((double)count * 100 / percent));
        double middle = (s->start_ms + s->end_ms) / 2.0 * 16 * 100 / percent;
        double hz = pitch_hz(p.samples, (size_t)middle - 1600, (size_t)middle + 1600);
        if (fabs(hz / expected - 1) > 0.01)
            fail_msg("%d %%: %.1f Hz instead of %.1f", percent, hz, expected);
        /* Nothing shifts: the pauses lie where they lay, stretched. */
        for (int32_t n = 0; n < b.timeline->pause_count; n++) {
            double at = (b.timeline->pauses[n].start_ms + b.timeline->pauses[n].end_ms) / 2.0 * 16 *
                        100 / percent;
            assert_true(fabsf(p.samples[(size_t)at]) < 0.02f);
        }
        mst_practice_free(&p);
    }
}

static void call_and_answer(void **state)
{
    (void)state;
    struct mst_practice p = make((struct mst_practice_options){.kind = MST_PRACTICE_VERSES});
    assert_int_equal(p.part_count, 6);
    size_t at = 0;
    for (size_t n = 0; n < p.part_count; n++) {
        const struct mst_practice_part *part = &p.parts[n];
        assert_int_equal(part->kind, n % 2 ? MST_PRACTICE_GAP : MST_PRACTICE_CALL);
        assert_int_equal(part->at.verse, n / 2 + 1);
        assert_int_equal(part->first_sample, at);
        at += part->sample_count;
        if (part->kind == MST_PRACTICE_GAP) {
            assert_true(part->sample_count >= part[-1].sample_count);
            for (size_t i = 0; i < part->sample_count; i++)
                assert_true(p.samples[part->first_sample + i] == 0);
        }
    }
    assert_int_equal(at, p.sample_count);
    /* The call is the take's own sound. */
    float as_it_is[1000];
    size_t got;
    struct mst_error err = {0};
    int32_t start = b.timeline->words[0].start_ms;
    assert_int_equal(
        mst_take_read_at(b.take, mst_take_sample_at_ms(start + 200), as_it_is, 1000, &got, &err),
        MST_OK);
    assert_memory_equal(as_it_is, p.samples + (200 + 60) * 16, sizeof as_it_is);
    mst_practice_free(&p);

    struct mst_practice breaths = make((struct mst_practice_options){.kind = MST_PRACTICE_BREATHS});
    assert_int_equal(breaths.part_count, 8); /* the last verse was taken up again once */
    mst_practice_free(&breaths);
}

static void places(void **state)
{
    (void)state;
    struct mst_error err = {0};
    struct mst_practice_options options = {.kind = MST_PRACTICE_PLACES, .repeats = 2};
    assert_int_equal(mst_rule_set_parse(MST_SPAN("qalqala,ikhfa"), &options.rules, &err), MST_OK);
    struct mst_practice p = make(options);
    assert_true(p.part_count >= 4 && p.part_count % 4 == 0);
    for (size_t n = 0; n < p.part_count; n += 4) {
        assert_true(p.parts[n].site >= 0 && p.parts[n].site == p.parts[n + 2].site);
        assert_true(
            mst_rule_set_has(options.rules, b.timeline->reading->sites[p.parts[n].site].rule));
        assert_memory_equal(p.samples + p.parts[n].first_sample,
                            p.samples + p.parts[n + 2].first_sample,
                            p.parts[n].sample_count * sizeof *p.samples);
    }
    mst_practice_free(&p);
    assert_int_equal(mst_rule_set_parse(MST_SPAN("iqlab"), &options.rules, &err), MST_OK);
    assert_int_equal(mst_practice_make(b.take, b.timeline, &options, &p, &err), MST_NOT_FOUND);
    options.percent = 20;
    assert_int_equal(mst_practice_make(b.take, b.timeline, &options, &p, &err), MST_USAGE);
}

/* FLAC is lossless: ffmpeg must find the same samples in both files. */
static void files(void **state)
{
    (void)state;
    struct mst_error err = {0};
    char folder[] = "/tmp/practice-test-XXXXXX", path[64], command[320];
    assert_non_null(mkdtemp(folder));
    struct mst_practice p =
        make((struct mst_practice_options){.kind = MST_PRACTICE_VERSES, .percent = 75});
    char hash[2][80];
    const char *const endings[] = {"wav", "flac"};
    for (int n = 0; n < 2; n++) {
        snprintf(path, sizeof path, "%s/sound.%s", folder, endings[n]);
        if (mst_practice_write(&p, path, &err) != MST_OK)
            fail_msg("%s (%s)", err.message, err.where);
        snprintf(command, sizeof command, "ffmpeg -v error -xerror -i %s -f s16le - | md5sum",
                 path);
        FILE *pipe = popen(command, "r");
        assert_non_null(pipe);
        assert_non_null(fgets(hash[n], sizeof hash[n], pipe));
        assert_int_equal(pclose(pipe), 0);
    }
    assert_string_equal(hash[0], hash[1]);
    snprintf(path, sizeof path, "%s/sound.ogg", folder);
    assert_int_equal(mst_practice_write(&p, path, &err), MST_USAGE);
    assert_int_not_equal(access(path, F_OK), 0);
    mst_practice_free(&p);
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    assert_int_equal(system(command), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slower),
        cmocka_unit_test(call_and_answer),
        cmocka_unit_test(places),
        cmocka_unit_test(files),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
