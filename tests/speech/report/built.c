#include "built.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const names[] = {"evening class/ta<k>e & one.wav"};

static enum mst_length length_of(const struct mst_reading *r, const struct mst_sound *sound)
{
    if (sound->site < 0)
        return sound->counts == 1 ? MST_LENGTH_SHORT : MST_LENGTH_NONE;
    switch ((enum mst_rule)r->sites[sound->site].rule) {
    case MST_RULE_MADD_MUTTASIL:
        return MST_LENGTH_MUTTASIL;
    case MST_RULE_MADD_MUNFASIL:
        return MST_LENGTH_MUNFASIL;
    case MST_RULE_MADD_ARID:
        return MST_LENGTH_ARID;
    case MST_RULE_GHUNNA:
        return MST_LENGTH_GHUNNA;
    case MST_RULE_IKHFA:
        return MST_LENGTH_HIDING;
    default:
        return sound->counts >= 2 ? MST_LENGTH_NATURAL : MST_LENGTH_NONE;
    }
}

/* One utterance of a word from `at` on; returns where it ends. */
static int32_t say_word(struct mst_timeline *tl, int32_t word_idx, int32_t at, double pace,
                        double *share, int again)
{
    const struct mst_reading *r = tl->reading;
    const struct mst_word *word = &r->words[word_idx];
    struct mst_heard_word *heard = &tl->words[tl->word_count];
    *heard = (struct mst_heard_word){.word_idx = word_idx,
                                     .at = {word->sura, word->verse, word->word, 0},
                                     .start_ms = at,
                                     .first_sound = tl->sound_count,
                                     .sound_count = word->sound_count,
                                     .again = (uint8_t)again,
                                     .score = -0.5f};
    for (int32_t n = 0; n < word->sound_count; n++) {
        const struct mst_sound *sound = &r->sounds[word->first_sound + n];
        enum mst_length length = length_of(r, sound);
        double ms = (sound->counts > 0 ? 120.0 * sound->counts : 90) / pace;
        if (length >= MST_LENGTH_GHUNNA && length <= MST_LENGTH_MERGE_Y) {
            ms *= *share;
            *share = 1;
        }
        tl->sounds[tl->sound_count++] =
            (struct mst_heard_sound){.heard_word = tl->word_count,
                                     .sound_idx = again ? -1 : word->first_sound + n,
                                     .phone = sound->phone,
                                     .length = length,
                                     .start_ms = at,
                                     .end_ms = at + (int32_t)lround(ms),
                                     .slack_ms = 10,
                                     .trust = MST_TRUST_GOOD};
        at += (int32_t)lround(ms);
    }
    heard->end_ms = at;
    tl->word_count++;
    return at;
}

static void say_all(struct mst_timeline *tl, double pace, double share)
{
    const struct mst_reading *r = tl->reading;
    int32_t at = 500;
    for (int32_t n = 0; n < r->word_count; n++) {
        if (n == r->word_count - 2) { /* taken up again */
            at = say_word(tl, n, at, pace, &share, 1);
            tl->pauses[tl->pause_count++] =
                (struct mst_heard_pause){at, at + 400, tl->word_count - 1, 0, 1};
            at += 400;
            tl->repeat_count++;
        }
        at = say_word(tl, n, at, pace, &share, 0);
        if (r->words[n].seam != MST_SEAM_STOP)
            continue;
        tl->words[tl->word_count - 1].stopped = 1;
        tl->pauses[tl->pause_count++] =
            (struct mst_heard_pause){at, at + 700, tl->word_count - 1, 1, 0};
        at += 700;
    }
    tl->duration_ms = at + 300;
    tl->speech_seconds = at / 1000.0 - 2;
    tl->learned_seconds = tl->speech_seconds;
    tl->fit = 0.97;
    tl->warp = 1;
    tl->trust = MST_TRUST_FAIR;
}

/* A tone for each sound, silence in pauses. */
static void sing(struct built *b)
{
    const struct mst_timeline *tl = b->timeline;
    size_t count = (size_t)tl->duration_ms * 16;
    float *samples = calloc(count, sizeof *samples);
    struct mst_error err;
    assert_non_null(samples);
    for (int32_t n = 0; n < tl->sound_count; n++) {
        double hz = 200 + 35 * (int)tl->sounds[n].phone;
        for (size_t i = (size_t)tl->sounds[n].start_ms * 16; i < (size_t)tl->sounds[n].end_ms * 16;
             i++)
            samples[i] = (float)(0.3 * sin(2 * M_PI * hz * (double)i / 16000));
    }
    assert_int_equal(mst_take_open_samples(samples, count, &b->take, &err), MST_OK);
    free(samples);
    mst_take_quality(b->take, &b->quality);
}

void build(struct built *b, double pace, double ghunna_share)
{
    struct mst_error err = {0};
    memset(b, 0, sizeof *b);
    b->arena = mst_arena_new(0);
    assert_int_equal(mst_text_open(NULL, &b->text, &err), MST_OK);
    struct mst_range range = {{67, 1, 0, 0}, {67, 3, 0, 0}};
    struct mst_reading_options options = {.no_basmala = 1};
    struct mst_timeline *tl = b->timeline = mst_arena_alloc(b->arena, 1, sizeof *tl);
    assert_int_equal(mst_reading_new(b->text, range, &options, b->arena, &tl->reading, &err),
                     MST_OK);
    size_t words = (size_t)tl->reading->word_count + 2,
           sounds = (size_t)tl->reading->sound_count + 40;
    tl->words = mst_arena_alloc(b->arena, words, sizeof *tl->words);
    tl->sounds = mst_arena_alloc(b->arena, sounds, sizeof *tl->sounds);
    tl->pauses = mst_arena_alloc(b->arena, words, sizeof *tl->pauses);
    tl->left_out = mst_arena_alloc(b->arena, 1, sizeof *tl->left_out);
    say_all(tl, pace, ghunna_share);
    sing(b);
    size_t count = 0;
    assert_int_equal(mst_measure(tl, NULL, b->arena, &b->measures, &err), MST_OK);
    assert_int_equal(mst_find(b->measures, NULL, b->arena, &b->findings, &count, &err), MST_OK);
    b->report = (struct mst_report){.take_names = names,
                                    .take_count = 1,
                                    .passage = range,
                                    .take = b->take,
                                    .quality = &b->quality,
                                    .measures = b->measures,
                                    .findings = b->findings,
                                    .finding_count = count};
}

void build_free(struct built *b)
{
    mst_take_close(b->take);
    mst_arena_free(b->arena);
    mst_text_close(b->text);
}
