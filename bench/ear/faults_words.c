/*
 * faults_words.c – words cut out and words doubled, made in real recitations
 * by cutting at the ear's own word edges with a cross-fade of 5 ms; and how
 * many of them, and how many that are not there, the ear for faults finds.
 * Every take is listened to beginning with the other reciter's voice (voice),
 * learning from it alone (alone), or both ways (both).
 *
 * The takes may be spoiled before they are judged (spoil.h).
 *
 *   bench-ear-faults-words RECITERS CONDITION voice|alone|both [SURA…]
 *
 * With $BENCH_UNTOUCHED each take is judged as it is, too; if it says "only",
 * nothing is changed.
 * $BENCH_WORDS_FILE gets a line for every word heard: condition, how it was
 * listened to, reciter, address, what was made of it (-, left_out, twice),
 * whether it was started, stopped, taken up again, the evidence that it was
 * left out, said twice, exchanged; with a voice the same once more by the take
 * alone.
 */
#include "faults_stage.h"
#include "spoil.h"

#include "../../src/speech/faults/parts.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FADE = 80, EVERY = 8 /* cut and doubled by turns */ };
enum how { ALONE, WITH_VOICE, HOWS };
static const char *const how_names[HOWS] = {"alone", "voice"};

struct made {
    struct mst_addr at;
    enum mst_word_fault_kind kind;
};
struct score {
    size_t made[MST_WORD_FAULT_COUNT], found[MST_WORD_FAULT_COUNT], extra, words, refused;
};
struct bench {
    struct stage stage;
    const struct mst_similar *similar;
    const char *condition;
    uint64_t seed;
    FILE *out; /* NULL: none */
    int ways[HOWS];
    struct score changed[HOWS], untouched[HOWS];
};
struct take {
    char reciter;
    struct recording recording;
    struct mst_script *script;
    struct mst_timeline *timeline;
    const struct mst_voice *voice; /* of the other reciter */
};

/* Samples of ranges one after another, their joins cross-faded. */
static float *joined(const float *x, size_t n, const size_t (*ranges)[2], size_t count,
                     size_t *out_count)
{
    size_t total = 0;
    for (size_t i = 0; i < count; i++)
        total += ranges[i][1] - ranges[i][0];
    float *out = calloc(total + FADE, sizeof *out);
    size_t at = 0;
    for (size_t i = 0; i < count; i++) {
        for (size_t k = 0; k < ranges[i][1] - ranges[i][0]; k++) {
            float v = x[ranges[i][0] + k];
            if (i > 0 && k < FADE) { /* the sound before runs on under it */
                float share = ((float)k + 0.5f) / FADE;
                size_t before = ranges[i - 1][1] + k;
                v = v * share + (before < n ? x[before] : 0) * (1 - share);
            }
            out[at++] = v;
        }
    }
    *out_count = at;
    return out;
}

static int same_word(struct mst_addr a, struct mst_addr b)
{
    return a.sura == b.sura && a.verse == b.verse && a.word == b.word;
}

static const struct made *made_of(struct mst_addr at, const struct made *made, size_t count)
{
    for (size_t m = 0; m < count; m++)
        if (same_word(made[m].at, at))
            return &made[m];
    return NULL;
}

static void print_extra(const struct mst_word_fault *f)
{
    struct mst_string s = {0};
    mst_word_fault_text(f, MST_LANG_EN, &s);
    printf("    extra %d–%d ms, sureness %.2f: %s\n", f->start_ms, f->end_ms, f->sureness, s.ptr);
    mst_string_free(&s);
}

static void write_words(const struct bench *b, const struct take *t, enum how how,
                        const struct mst_fault_ear *ear, const struct made *made, size_t count)
{
    const struct mst_timeline *tl = ear->timeline;
    for (int32_t i = 0; b->out && i < tl->word_count; i++) {
        const struct mst_heard_word *w = &tl->words[i];
        const struct made *m = made_of(w->at, made, count);
        char at[48];
        fprintf(b->out, "%s\t%s\t%c\t%s\t%s\t%d\t%d\t%d", b->condition, how_names[how], t->reciter,
                mst_addr_print(w->at, at), m ? mst_word_fault_id(m->kind) : "-", w->started,
                w->stopped, w->again);
        for (int judge = 0; judge < 2 && ear->word_evidence[judge][0]; judge++)
            for (int n = 0; n < 3; n++)
                fprintf(b->out, "\t%.1f", ear->word_evidence[judge][n][i]);
        fprintf(b->out, "\n");
    }
}

static void tell_missed(const struct take *t, enum how how, const struct made *m,
                        const struct mst_fault_ear *ear)
{
    char at[48];
    const struct mst_timeline *tl = ear->timeline;
    printf("    missed %c %s, %s, %s", t->reciter, how_names[how], mst_addr_print(m->at, at),
           mst_word_fault_id(m->kind));
    for (int32_t i = 0; i < tl->word_count; i++)
        if (same_word(tl->words[i].at, m->at))
            for (int judge = 0; judge < 2 && ear->word_evidence[judge][0]; judge++)
                printf(": evidence %.0f",
                       ear->word_evidence[judge][m->kind == MST_WORD_FAULT_TWICE][i]);
    printf("\n");
}

/* Hold what is found against what was made. */
static void count_found(const struct take *t, enum how how, const struct mst_fault_ear *ear,
                        const struct mst_word_fault *faults, size_t count, const struct made *made,
                        size_t made_count, struct score *score)
{
    char *used = calloc(count + 1, 1);
    for (size_t m = 0; m < made_count; m++) {
        size_t k = 0;
        score->made[made[m].kind]++;
        while (k < count && (used[k] || faults[k].kind != made[m].kind ||
                             !same_word(faults[k].first, made[m].at) || faults[k].word_count > 2))
            k++;
        if (k < count) {
            used[k] = 1;
            score->found[made[m].kind]++;
        } else {
            tell_missed(t, how, &made[m], ear);
        }
    }
    for (size_t k = 0; k < count; k++)
        if (!used[k]) {
            score->extra++;
            print_extra(&faults[k]);
        }
    score->words += (size_t)ear->timeline->word_count;
    free(used);
}

static void judge(struct bench *b, const struct take *t, enum how how, const struct mst_features *f,
                  const struct made *made, size_t made_count, struct score *score)
{
    struct mst_arena *arena = mst_arena_new(0);
    const struct mst_voice *voice = how == WITH_VOICE ? t->voice : NULL;
    struct mst_listen_options o = {.voice = voice, .skip_fit_test = 1};
    struct mst_timeline *tl;
    struct mst_fault_ear *ear = NULL;
    struct mst_word_fault *faults;
    size_t count;
    struct mst_error err;
    if (mst_listen(f, t->script, &o, arena, &tl, NULL, &err) ||
        mst_fault_ear_open(tl, f, voice, 2, &ear, &err) ||
        mst_fault_words(ear, b->similar, arena, &faults, &count, &err)) {
        printf("    %c, %s: %s\n", t->reciter, how_names[how], err.message);
        score->refused++;
        for (size_t m = 0; m < made_count; m++)
            score->made[made[m].kind]++;
    } else {
        write_words(b, t, how, ear, made, made_count);
        count_found(t, how, ear, faults, count, made, made_count, score);
    }
    mst_fault_ear_close(ear);
    mst_arena_free(arena);
}

/* Samples as the condition leaves them, both ways. */
static void judge_both(struct bench *b, const struct take *t, const float *samples, size_t n,
                       const struct made *made, size_t made_count, struct score *scores)
{
    float *spoiled = spoil(b->condition, &b->seed, samples, n, &n);
    struct mst_features *f = features_of(spoiled, n);
    for (int how = 0; how < HOWS; how++)
        if (b->ways[how])
            judge(b, t, (enum how)how, f, made, made_count, &scores[how]);
    mst_features_free(f);
    free(spoiled);
}

/* A word that the reciter took up again is still said when one saying of it is cut out. */
static int said_once(const struct mst_timeline *tl, int32_t word)
{
    int times = 0;
    for (int32_t i = 0; i < tl->word_count; i++)
        times += same_word(tl->words[i].at, tl->words[word].at);
    return times == 1;
}

/* Every EVERYth word that is joined on both sides is cut out or said twice, by turns. */
static void words_changed(struct bench *b, const struct take *t)
{
    const struct mst_timeline *tl = t->timeline;
    size_t most = 3 * (size_t)tl->word_count + 3, count = 0, made_count = 0, n;
    size_t(*ranges)[2] = calloc(most, sizeof *ranges);
    struct made *made = calloc(most, sizeof *made);
    size_t from = 0, all = t->recording.count;
    int wait = (int)(chance(&b->seed) * EVERY) + 3;
    for (int32_t i = 1; i + 1 < tl->word_count; i++) {
        const struct mst_heard_word *w = &tl->words[i];
        int inside = !w->started && !w->stopped && !tl->words[i - 1].again && said_once(tl, i) &&
                     !tl->words[i + 1].again;
        if (wait-- > 0 || !inside)
            continue;
        wait = EVERY - 1;
        int twice = made_count % 2;
        size_t start = (size_t)w->start_ms * 16, end = (size_t)w->end_ms * 16;
        ranges[count][0] = from;
        ranges[count++][1] = twice ? end : start;
        from = twice ? start : end;
        made[made_count++] =
            (struct made){w->at, twice ? MST_WORD_FAULT_TWICE : MST_WORD_FAULT_LEFT_OUT};
    }
    ranges[count][0] = from;
    ranges[count++][1] = all;
    float *changed = joined(t->recording.samples, all, ranges, count, &n);
    judge_both(b, t, changed, n, made, made_count, b->changed);
    free(changed);
    free(ranges);
    free(made);
}

static void one_take(struct bench *b, char reciter, int sura, const struct mst_voice *own,
                     const struct mst_voice *other)
{
    struct take t = {.reciter = reciter, .voice = other};
    struct mst_error err;
    if (!recording_load(&b->stage, reciter, sura, 0, 0, &t.recording))
        return;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_features *f = features_of(t.recording.samples, t.recording.count);
    /* where to cut is to be known as well as can be: by all of the voice */
    struct mst_listen_options o = {.voice = own, .keep_voice = 1, .skip_fit_test = 1};
    t.script = script_of(&b->stage, sura, 0, 0);
    if (mst_listen(f, t.script, &o, arena, &t.timeline, NULL, &err))
        stage_fail("listening", &err);
    mst_features_free(f);
    printf("%c %d, %s\n", reciter, sura, b->condition);
    if (getenv("BENCH_UNTOUCHED"))
        judge_both(b, &t, t.recording.samples, t.recording.count, NULL, 0, b->untouched);
    if (!getenv("BENCH_UNTOUCHED") || strcmp(getenv("BENCH_UNTOUCHED"), "only") != 0)
        words_changed(b, &t);
    fflush(stdout);
    mst_script_free(t.script);
    mst_arena_free(arena);
    recording_free(&t.recording);
    if (b->out)
        fflush(b->out);
}

static void print_scores(const struct bench *b)
{
    printf("\n| %s | cut out, found | said twice, found | false beside them | words "
           "| false in untouched | words |\n|---|---|---|---|---|---|---|\n",
           b->condition);
    for (int how = 0; how < HOWS; how++) {
        const struct score *c = &b->changed[how], *u = &b->untouched[how];
        printf("| %s | %zu of %zu | %zu of %zu | %zu | %zu | %zu | %zu |\n", how_names[how],
               c->found[MST_WORD_FAULT_LEFT_OUT], c->made[MST_WORD_FAULT_LEFT_OUT],
               c->found[MST_WORD_FAULT_TWICE], c->made[MST_WORD_FAULT_TWICE], c->extra, c->words,
               u->extra, u->words);
    }
}

int main(int argc, char **argv)
{
    static const int suras_a[] = {67, 78, 77, 0}, suras_b[] = {78, 80, 0};
    int chosen[64] = {0};
    struct mst_error err;
    struct mst_similar *similar;
    struct bench b = {.condition = argc > 2 ? argv[2] : "clean", .seed = 7};
    int skipped = stage_open(&b.stage);
    if (skipped)
        return skipped;
    if (mst_similar_open(b.stage.text, &similar, &err))
        stage_fail("verses", &err);
    b.similar = similar;
    b.out = getenv("BENCH_WORDS_FILE") ? fopen(getenv("BENCH_WORDS_FILE"), "w") : NULL;
    const char *how = argc > 3 ? argv[3] : "both";
    b.ways[WITH_VOICE] = strcmp(how, "alone") != 0;
    b.ways[ALONE] = strcmp(how, "voice") != 0;
    for (int i = 4; i < argc && i < 64; i++)
        chosen[i - 4] = atoi(argv[i]);
    for (const char *r = argc > 1 ? argv[1] : "ab"; *r; r++) {
        struct mst_voice *other = model_voice(&b.stage, *r == 'a' ? 'b' : 'a');
        struct mst_voice *own = model_voice(&b.stage, *r);
        for (const int *s = chosen[0] ? chosen : *r == 'a' ? suras_a : suras_b; *s; s++)
            one_take(&b, *r, *s, own, other);
        mst_voice_free(other);
        mst_voice_free(own);
    }
    print_scores(&b);
    if (b.out)
        fclose(b.out);
    mst_similar_close(similar);
    stage_close(&b.stage);
    return 0;
}
