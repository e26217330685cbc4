/* Two made-up takes under one timeline: holds that die in the second, that lose a resonance, that
 * stay; a second take of another level. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "text.h"

enum { SHORT_MS = 120, HOLD_MS = 400, LONG_MS = 240, RATE = MST_TAKE_RATE_HZ };
enum what { STAYS, DIES, DULL, STARTS_ONLY };

struct scene {
    struct mst_arena *arena;
    struct mst_timeline tl;
    struct mst_take *takes[2];
    struct mst_features *features[2];
};

static int is_hold(const struct mst_sound *s)
{
    return s->nasal && s->counts >= 2;
}

/* A buzz of harmonics, weighted by two resonances. */
static void buzz(float *out, size_t count, double low_hz, double high_hz, double level)
{
    double weight[25];
    for (int h = 1; h <= 24; h++)
        weight[h] = exp(-pow((120.0 * h - low_hz) / 200, 2)) +
                    0.4 * exp(-pow((120.0 * h - high_hz) / 300, 2)) + 0.01;
    for (size_t i = 0; i < count; i++) {
        /* sin(h x) from the two before it: 2 cos x sin((h-1) x) - sin((h-2) x) */
        double x = 2 * M_PI * 120 * (double)i / RATE, sum = 0, two = 2 * cos(x), before = 0,
               now = sin(x);
        for (int h = 1; h <= 24; h++) {
            sum += weight[h] * now;
            double next = two * now - before;
            before = now;
            now = next;
        }
        double edge = fmin(1, fmin((double)i, (double)(count - i)) / 80);
        out[i] = (float)(level * edge * sum);
    }
}

/* 78:1–16 said evenly; how: what becomes of the nth hold in the second take. */
static void set_scene(struct scene *s, const enum what *how, int how_count, double gain)
{
    struct mst_range range;
    struct mst_error err;
    struct mst_reading *r;
    memset(s, 0, sizeof *s);
    s->arena = mst_arena_new(0);
    assert_int_equal(mst_range_parse(text, MST_SPAN("78:1-16"), &range, &err), MST_OK);
    assert_int_equal(mst_reading_new(text, range, NULL, s->arena, &r, &err), MST_OK);
    s->tl.reading = r;
    s->tl.words = mst_arena_alloc(s->arena, (size_t)r->word_count, sizeof *s->tl.words);
    s->tl.sounds = mst_arena_alloc(s->arena, (size_t)r->sound_count, sizeof *s->tl.sounds);
    s->tl.word_count = r->word_count;
    s->tl.sound_count = r->sound_count;
    size_t most = (size_t)r->sound_count * HOLD_MS * 16, at = 0;
    float *x[2] = {calloc(most, sizeof **x), calloc(most, sizeof **x)};
    int hold = 0;
    for (int32_t w = 0; w < r->word_count; w++)
        s->tl.words[w] = (struct mst_heard_word){
            .word_idx = w,
            .at = {r->words[w].sura, r->words[w].verse, r->words[w].word, 0},
            .first_sound = r->words[w].first_sound,
            .sound_count = r->words[w].sound_count};
    for (int32_t i = 0; i < r->sound_count; i++) {
        const struct mst_sound *sound = &r->sounds[i];
        enum mst_phone_kind kind = mst_phone_kind((enum mst_phone)sound->phone);
        int nasal = is_hold(sound);
        size_t count = 16u * (nasal ? HOLD_MS : kind == MST_PHONE_KIND_LONG ? LONG_MS : SHORT_MS);
        s->tl.sounds[i] = (struct mst_heard_sound){.heard_word = sound->word_idx,
                                                   .sound_idx = i,
                                                   .phone = (enum mst_phone)sound->phone,
                                                   .start_ms = (int32_t)(at / 16),
                                                   .end_ms = (int32_t)((at + count) / 16)};
        int murmurs = nasal || sound->phone == MST_PHONE_NUN || sound->phone == MST_PHONE_MIM;
        double low = murmurs ? 260 : 600 + 40 * (i % 5), high = murmurs ? 1000 : 1700, level = 0.05;
        buzz(x[0] + at, count, low, high, level);
        enum what now = nasal && hold < how_count ? how[hold] : STAYS;
        hold += nasal;
        buzz(x[1] + at, count, now == DULL ? 560 : low, now == DULL ? 1600 : high,
             now == DIES ? level / 10 : level);
        for (size_t k = now == STARTS_ONLY ? count / 3 : count; k < count; k++)
            x[1][at + k] *= 0.05f;
        at += count;
    }
    assert_true(hold >= how_count);
    for (size_t k = 0; k < at; k++)
        x[1][k] *= (float)gain;
    for (int t = 0; t < 2; t++) {
        assert_int_equal(mst_take_open_samples(x[t], at, &s->takes[t], &err), MST_OK);
        assert_int_equal(mst_features_new(NULL, &s->features[t], &err), MST_OK);
        assert_int_equal(mst_features_push(s->features[t], x[t], at, &err), MST_OK);
        assert_int_equal(mst_features_finish(s->features[t], &err), MST_OK);
        free(x[t]);
    }
}

static const struct mst_pinch *compare(struct scene *s)
{
    struct mst_pinch *p;
    struct mst_error err = {0};
    if (mst_pinch_compare((struct mst_pinch_take){&s->tl, s->takes[0]},
                          (struct mst_pinch_take){&s->tl, s->takes[1]}, s->arena, &p,
                          &err) != MST_OK)
        fail_msg("%s", err.message);
    return p;
}

static void clear_scene(struct scene *s)
{
    mst_take_close(s->takes[0]);
    mst_take_close(s->takes[1]);
    mst_features_free(s->features[0]);
    mst_features_free(s->features[1]);
    mst_arena_free(s->arena);
}

static void each_hold_by_itself(void **state)
{
    (void)state;
    static const enum what how[] = {DIES, STAYS, DULL, STARTS_ONLY};
    struct scene s;
    set_scene(&s, how, 4, 0.5);
    const struct mst_pinch *p = compare(&s);
    assert_true(p->site_count >= 4);
    assert_int_equal(p->missing_count, 0);
    assert_int_equal(p->sites[0].verdict, MST_PINCH_DIES);
    assert_int_equal(p->sites[1].verdict, MST_PINCH_STAYS);
    assert_int_equal(p->sites[2].verdict, MST_PINCH_CHANGES);
    assert_true(p->sites[3].third_db[0] > -3 && p->sites[3].third_db[2] < -15);
    assert_true(p->sites[3].verdict == MST_PINCH_CHANGES || p->sites[3].verdict == MST_PINCH_DIES);
    for (int32_t i = 4; i < p->site_count; i++)
        assert_int_equal(p->sites[i].verdict, MST_PINCH_STAYS);
    /* half as loud throughout: no change against the neighbours */
    assert_true(fabs(p->sites[1].level_db) < 0.5);
    assert_true(fabs(p->sites[0].level_db + 20) < 1.5);
    clear_scene(&s);
}

static void nothing_changed(void **state)
{
    (void)state;
    struct scene s;
    set_scene(&s, NULL, 0, 2.0);
    const struct mst_pinch *p = compare(&s);
    assert_true(p->site_count >= 4);
    assert_int_equal(p->counts[MST_PINCH_STAYS], p->site_count);
    clear_scene(&s);
}

/* One take alone: a hold with the spectrum of an oral sound is not nasal, the others are. */
static void nasal_or_not(void **state)
{
    (void)state;
    static const enum what how[] = {DULL, STAYS};
    struct scene s;
    struct mst_nasality *n;
    struct mst_error err;
    set_scene(&s, how, 2, 1.0);
    for (int take = 0; take < 2; take++) {
        assert_int_equal(mst_nasality_measure(&s.tl, s.features[take], s.arena, &n, &err), MST_OK);
        assert_true(n->hold_count >= 4 && n->nasal_count >= 8 && n->parted > 2.5);
        assert_int_equal(n->holds[0].verdict, take == 1 ? MST_NASAL_NOT_AT_ALL : MST_NASAL_THROUGH);
        for (int32_t i = 1; i < n->hold_count; i++)
            assert_int_equal(n->holds[i].verdict, MST_NASAL_THROUGH);
        struct mst_string line = {0};
        mst_nasality_text(n, MST_LANG_EN, &line);
        assert_non_null(strstr(line.ptr, "nasal all through"));
        assert_int_equal(strstr(line.ptr, "not nasal at all 1 (") != NULL, take == 1);
        mst_string_free(&line);
    }
    clear_scene(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_hold_by_itself),
        cmocka_unit_test(nothing_changed),
        cmocka_unit_test(nasal_or_not),
    };
    return cmocka_run_group_tests(tests, open_text, close_text);
}
