/*
 * faults_jumps.c – jumps to a verse that is alike, made in real recitations:
 * where two neighbouring words of a sura sound as two others of it but are
 * followed by something else, the take goes on as in the other place, forward
 * or back, cut at the ear's own word edges with a cross-fade of 5 ms. The
 * passage is some verses before and behind both places. Each take is listened
 * to beginning with the other reciter's voice (voice), or learning from it
 * alone (alone), or both (both). Found means: called a jump, with both verses
 * named as they were; where the words before are alike too, the leap may as
 * well be said to lie there, since the same words are heard.
 *
 *   bench-ear-faults-jumps RECITERS OF_A_SURA CONDITION voice|alone|both [SURA…]
 *
 * With $BENCH_UNTOUCHED each stretch is judged as it is, too.
 */
#include "faults_stage.h"
#include "spoil.h"

#include "../../src/speech/faults/parts.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FADE = 80, VERSES_AROUND = 3, WORDS_MOST = 260, LEAST_AWAY = 3, ALIKE_MOST = 8 };
enum how { WITH_VOICE, ALONE, HOWS };
static const char *const how_names[HOWS] = {"voice", "alone"};

struct score {
    size_t made, found, refused, extra, words;
};
struct bench {
    struct stage stage;
    const struct mst_similar *similar;
    const char *condition;
    uint64_t seed;
    struct mst_voice *own, *other;
    int ways[HOWS];
    struct score jumped[HOWS], untouched[HOWS];
};
struct jump {
    struct mst_addr from, alike; /* the last word said; the one that is like it */
    struct mst_addr to;          /* the word gone on with */
    int verses[ALIKE_MOST][2];   /* the verses of from and alike, and of alike words before them */
    int verse_count;
};

/* Samples up to `leave`, then from `enter` on. */
static float *leapt(const float *x, size_t n, size_t leave, size_t enter, size_t *count)
{
    float *out = calloc(leave + n - enter + 1, sizeof *out);
    memcpy(out, x, leave * sizeof *out);
    for (size_t k = 0; k < n - enter; k++) {
        float v = x[enter + k];
        if (k < FADE && leave + k < n) { /* the sound before runs on under it */
            float share = ((float)k + 0.5f) / FADE;
            v = v * share + x[leave + k] * (1 - share);
        }
        out[leave + k] = v;
    }
    *count = leave + n - enter;
    return out;
}

static int is_named(const struct mst_word_fault *x, const struct jump *made)
{
    for (int k = 0; x->kind == MST_WORD_FAULT_JUMP && k < made->verse_count; k++)
        if (x->from.verse == made->verses[k][0] && x->taken_for.verse == made->verses[k][1])
            return 1;
    return 0;
}

static void judge(struct bench *b, enum how how, const struct mst_features *f,
                  const struct mst_script *script, const struct jump *made, struct score *score)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_voice *voice = how == WITH_VOICE ? b->other : NULL;
    struct mst_listen_options o = {.voice = voice, .skip_fit_test = 1};
    struct mst_timeline *tl;
    struct mst_fault_ear *ear = NULL;
    struct mst_word_fault *faults;
    size_t count = 0, found = 0;
    struct mst_error err;
    score->made += made != NULL;
    if (mst_listen(f, script, &o, arena, &tl, NULL, &err) ||
        mst_fault_ear_open(tl, f, voice, 2, &ear, &err) ||
        mst_fault_words(ear, b->similar, arena, &faults, &count, &err)) {
        printf("    %s: %s\n", how_names[how], err.message);
        score->refused++;
        count = 0;
    } else {
        score->words += (size_t)tl->word_count;
    }
    for (size_t k = 0; k < count; k++) {
        const struct mst_word_fault *x = &faults[k];
        if (made && is_named(x, made)) {
            found++;
            continue;
        }
        struct mst_string s = {0};
        mst_word_fault_text(x, MST_LANG_EN, &s);
        printf("    %s, extra: %s\n", how_names[how], s.ptr);
        mst_string_free(&s);
        score->extra++;
    }
    score->found += found > 0;
    if (made)
        printf("    %s: %s\n", how_names[how], found ? "found" : "missed");
    mst_fault_ear_close(ear);
    mst_arena_free(arena);
}

static void judge_both(struct bench *b, const float *samples, size_t n,
                       const struct mst_script *script, const struct jump *made,
                       struct score *scores)
{
    float *spoiled = spoil(b->condition, &b->seed, samples, n, &n);
    struct mst_features *f = features_of(spoiled, n);
    for (int how = 0; how < HOWS; how++)
        if (b->ways[how])
            judge(b, (enum how)how, f, script, made, &scores[how]);
    mst_features_free(f);
    free(spoiled);
}

static int same_word(struct mst_addr a, struct mst_addr b)
{
    return a.sura == b.sura && a.verse == b.verse && a.word == b.word;
}

static const struct mst_heard_word *heard(const struct mst_timeline *tl, struct mst_addr at)
{
    for (int32_t w = 0; w < tl->word_count; w++)
        if (same_word(tl->words[w].at, at))
            return &tl->words[w];
    return NULL;
}

/* 0: the words were not heard, or the stretch is not there. */
static int make(struct bench *b, char reciter, int sura, int first, int last,
                const struct jump *jump)
{
    struct recording r;
    struct mst_error err;
    struct mst_timeline *tl;
    if (!recording_load(&b->stage, reciter, sura, first, last, &r))
        return 0;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_script *script = script_of(&b->stage, sura, first, last);
    struct mst_features *f = features_of(r.samples, r.count);
    /* where to cut is to be known as well as can be: by all of the voice */
    struct mst_listen_options o = {.voice = b->own, .keep_voice = 1, .skip_fit_test = 1};
    if (mst_listen(f, script, &o, arena, &tl, NULL, &err))
        stage_fail("listening", &err);
    mst_features_free(f);
    const struct mst_heard_word *from = heard(tl, jump->from), *to = heard(tl, jump->to);
    if (from && to) {
        char a[48], c[48], d[48];
        size_t n;
        printf("  %c %s goes on as after %s: %s (verses %d–%d)\n", reciter,
               mst_addr_print(jump->from, a), mst_addr_print(jump->alike, c),
               mst_addr_print(jump->to, d), first, last);
        size_t leave = (size_t)from->end_ms * 16, enter = (size_t)to->start_ms * 16;
        float *changed = leapt(r.samples, r.count, leave, enter, &n);
        judge_both(b, changed, n, script, jump, b->jumped);
        if (getenv("BENCH_UNTOUCHED"))
            judge_both(b, r.samples, r.count, script, NULL, b->untouched);
        free(changed);
        fflush(stdout);
    }
    mst_script_free(script);
    mst_arena_free(arena);
    recording_free(&r);
    return from && to;
}

static void swap(struct ear_leap *a, struct ear_leap *b)
{
    struct ear_leap c = *a;
    *a = *b;
    *b = c;
}

static void jumps_of(struct bench *b, char reciter, int sura, int most)
{
    enum { SEEN = 64 };
    struct mst_script *script = script_of(&b->stage, sura, 0, 0);
    struct ear_leap *leaps;
    struct mst_error err;
    size_t count;
    int done = 0, verses = mst_text_sura(b->stage.text, sura)->verse_count;
    int seen[SEEN][2];
    if (ear_alike_leaps(script, &leaps, &count, &err))
        stage_fail("leaps", &err);
    for (size_t i = count; i > 1; i--) /* in any order */
        swap(&leaps[i - 1], &leaps[(size_t)(chance(&b->seed) * (double)i)]);
    for (size_t i = 0; i < count && done < most && done < SEEN; i++) {
        struct jump jump = {.from = script->words[leaps[i].from].at,
                            .alike = script->words[leaps[i].to - 1].at,
                            .to = script->words[leaps[i].to].at};
        int32_t alike = ear_alike_before(script, leaps[i].from, leaps[i].to - 1);
        for (int32_t k = 0; k < alike && k < ALIKE_MOST; k++, jump.verse_count++) {
            jump.verses[k][0] = script->words[leaps[i].from - k].at.verse;
            jump.verses[k][1] = script->words[leaps[i].to - 1 - k].at.verse;
        }
        int32_t away = leaps[i].to - leaps[i].from - 1, low, high, known = 0;
        for (int k = 0; k < done; k++)
            known |= seen[k][0] == jump.from.verse && seen[k][1] == jump.alike.verse;
        if (known || jump.from.verse == jump.alike.verse || abs(away) < LEAST_AWAY ||
            abs(away) > WORDS_MOST)
            continue;
        low = (jump.from.verse < jump.to.verse ? jump.from.verse : jump.to.verse) - VERSES_AROUND;
        high = (jump.from.verse > jump.to.verse ? jump.from.verse : jump.to.verse) + VERSES_AROUND;
        low = low < 1 ? 1 : low;
        high = high > verses ? verses : high;
        if (!make(b, reciter, sura, low, high, &jump))
            continue;
        seen[done][0] = jump.from.verse;
        seen[done++][1] = jump.alike.verse;
    }
    free(leaps);
    mst_script_free(script);
}

static void print_score(const char *what, const struct score *s)
{
    printf("| %s | %zu | %zu | %zu | %zu | %zu |\n", what, s->made, s->found, s->refused, s->extra,
           s->words);
}

int main(int argc, char **argv)
{
    static const int suras[] = {55, 77, 36, 56, 67, 68, 69, 70,  74,  75,
                                78, 80, 81, 82, 83, 88, 90, 102, 109, 0};
    int chosen[64] = {0}, of_a_sura = argc > 2 ? atoi(argv[2]) : 2;
    struct mst_error err;
    struct mst_similar *similar;
    struct bench b = {.condition = argc > 3 ? argv[3] : "clean", .seed = 11};
    int skipped = stage_open(&b.stage);
    if (skipped)
        return skipped;
    if (mst_similar_open(b.stage.text, &similar, &err))
        stage_fail("verses", &err);
    b.similar = similar;
    const char *how = argc > 4 ? argv[4] : "voice";
    b.ways[WITH_VOICE] = strcmp(how, "alone") != 0;
    b.ways[ALONE] = strcmp(how, "voice") != 0;
    for (int i = 5; i < argc && i < 64; i++)
        chosen[i - 5] = atoi(argv[i]);
    for (const char *r = argc > 1 ? argv[1] : "a"; *r; r++) {
        b.other = model_voice(&b.stage, *r == 'a' ? 'b' : 'a');
        b.own = model_voice(&b.stage, *r);
        for (const int *s = chosen[0] ? chosen : suras; *s; s++)
            jumps_of(&b, *r, *s, of_a_sura);
        mst_voice_free(b.other);
        mst_voice_free(b.own);
    }
    printf("\n| %s | made | found | refused | false beside | words |\n|---|---|---|---|---|---|\n",
           b.condition);
    print_score("jumps, with a voice", &b.jumped[WITH_VOICE]);
    print_score("jumps, the take alone", &b.jumped[ALONE]);
    print_score("untouched, with a voice", &b.untouched[WITH_VOICE]);
    print_score("untouched, the take alone", &b.untouched[ALONE]);
    mst_similar_close(similar);
    stage_close(&b.stage);
    return 0;
}
