/* A stored voice comes back bit for bit, and a damaged one is refused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "synth.h"

static char path[200];

static struct mst_voice *learned(struct mst_script **script, struct mst_features **features)
{
    struct synth s = {.seed = 4};
    struct mst_voice *v = NULL;
    struct mst_error err;
    *script = synth_script(40, 5, 8);
    for (int w = 0; w < 40; w++) {
        synth_say(&s, *script, w, 1);
        if (w % 5 == 4)
            synth_pause(&s, 500);
    }
    *features = synth_features(&s);
    struct mst_lesson_take take = {*features, *script};
    assert_int_equal(mst_voice_learn(&take, 1, "a made-up voice", NULL, &v, &err), MST_OK);
    synth_free(&s);
    return v;
}

static void comes_back_whole(void **state)
{
    (void)state;
    struct mst_script *script;
    struct mst_features *features;
    struct mst_voice *v = learned(&script, &features), *back = NULL;
    struct mst_error err;
    assert_int_equal(mst_voice_save(v, path, &err), MST_OK);
    assert_int_equal(mst_voice_load(path, &back, &err), MST_OK);
    struct mst_voice_info a = mst_voice_info(v), b = mst_voice_info(back);
    assert_string_equal(b.name, "a made-up voice");
    assert_int_equal(a.sound_count, b.sound_count);
    assert_int_equal(a.missing_count, b.missing_count);
    assert_true(a.speech_seconds - b.speech_seconds < 1e-9 && b.speech_seconds > 10);
    const struct ear_densities *x = &v->model.densities, *y = &back->model.densities;
    size_t cells = (size_t)x->padded * (size_t)x->mix;
    assert_int_equal(x->slot_count, y->slot_count);
    assert_memory_equal(x->kernel, y->kernel, cells * 2 * EAR_DIM * sizeof(float));
    assert_memory_equal(x->bias, y->bias, cells * sizeof(float));
    assert_memory_equal(v->model.durations.leave, back->model.durations.leave,
                        (size_t)EAR_CLASS_COUNT * EAR_MAX_AGE * sizeof(float));
    mst_voice_free(v);
    mst_voice_free(back);
    mst_features_free(features);
    synth_script_free(script);
}

/* Made-up verses, the first of which may be said or left out as the seeking of refuge may, so long
 * that pauses laid out without it lead astray. Learned either way: the sounds of the verses said,
 * no more and no fewer. */
static int32_t sounds_learned(int said, int with_another)
{
    enum { VERSE = 4, REFUGE = 15, WORDS = 40 };
    struct mst_voice *v = NULL;
    struct mst_error err = {0};
    struct mst_lesson_take takes[2];
    struct mst_script *scripts[2];
    struct mst_features *features[2];
    for (int n = 0; n < 2; n++) {
        struct synth s = {.seed = 6 + (uint64_t)n};
        scripts[n] = synth_script(WORDS, VERSE, 8 + (uint64_t)n);
        for (int w = 0; w < REFUGE; w++) {
            scripts[n]->words[w].verse_end = w == REFUGE - 1;
            scripts[n]->words[w].optional = 1;
            scripts[n]->words[w].at.sura = 0;
        }
        for (int w = said ? 0 : REFUGE; w < WORDS; w++) {
            synth_say(&s, scripts[n], w, 1);
            if (scripts[n]->words[w].verse_end)
                synth_pause(&s, 500);
        }
        features[n] = synth_features(&s);
        takes[n] = (struct mst_lesson_take){features[n], scripts[n]};
        synth_free(&s);
    }
    assert_int_equal(
        mst_voice_learn(takes, with_another ? 2 : 1, "a made-up voice", NULL, &v, &err), MST_OK);
    int32_t sounds = mst_voice_info(v).sound_count;
    for (int n = 0; n < (with_another ? 2 : 1); n++)
        for (int w = said ? 0 : REFUGE; w < WORDS; w++)
            sounds -= scripts[n]->forms[w].unit_count;
    mst_voice_free(v);
    for (int n = 0; n < 2; n++) {
        mst_features_free(features[n]);
        synth_script_free(scripts[n]);
    }
    return sounds;
}

static void refuge_is_heard(void **state)
{
    (void)state;
    for (int said = 0; said < 2; said++)
        for (int with_another = 0; with_another < 2; with_another++)
            assert_int_equal(sounds_learned(said, with_another), 0);
}

static void write_bytes(const unsigned char *bytes, size_t len)
{
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(bytes, 1, len, f), len);
    assert_int_equal(fclose(f), 0);
}

static void damage_is_refused(void **state)
{
    (void)state;
    struct mst_map map;
    struct mst_voice *v = NULL;
    struct mst_error err;
    assert_int_equal(mst_map_open(path, &map, &err), MST_OK);
    size_t len = map.len;
    unsigned char *bytes = malloc(len);
    memcpy(bytes, map.ptr, len);
    mst_map_close(&map);
    for (size_t at = 0; at < len; at += 1 + len / 40) {
        bytes[at] ^= 0x10;
        write_bytes(bytes, len);
        assert_int_equal(mst_voice_load(path, &v, &err), MST_BAD_DATA);
        assert_null(v);
        bytes[at] ^= 0x10;
    }
    for (size_t cut = 0; cut < len; cut += 1 + len / 25) {
        write_bytes(bytes, cut);
        assert_int_not_equal(mst_voice_load(path, &v, &err), MST_OK);
        assert_null(v);
    }
    bytes[16] = 99; /* another version */
    write_bytes(bytes, len);
    assert_int_equal(mst_voice_load(path, &v, &err), MST_BAD_DATA);
    assert_non_null(strstr(err.message, "another version"));
    free(bytes);
    assert_int_equal(unlink(path), 0);
    assert_int_not_equal(mst_voice_load(path, &v, &err), MST_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(comes_back_whole),
                                       cmocka_unit_test(refuge_is_heard),
                                       cmocka_unit_test(damage_is_refused)};
    snprintf(path, sizeof path, "%s/mistara-voice-test-%d",
             getenv("TMPDIR") ? getenv("TMPDIR") : P_tmpdir, (int)getpid());
    return cmocka_run_group_tests(tests, NULL, NULL);
}
