/*
 * faults_words.c – words cut out, words doubled and jumps to a verse that is
 * alike, made in real recitations by cutting at the ear's own word edges with
 * a cross-fade of 5 ms; and how many of them, and how many that are not there,
 * the ear for faults finds. For words it learns from the changed take alone; for
 * jumps it begins with the other reciter's voice.
 *
 *   bench-ear-faults_words [RECITERS [SURA…]]
 */
#include "faults_stage.h"

#include <math.h>
#include <mistara/faults.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FADE = 80, EVERY = 22 };

struct score {
    size_t made, found, missed, extra, words;
};
struct take {
    const struct recording *recording;
    const struct mst_script *script;
    const struct mst_timeline *timeline;
    const struct mst_similar *similar;
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

static void print_extra(const char *what, const struct mst_word_fault *f)
{
    struct mst_string s = {0};
    mst_word_fault_text(f, MST_LANG_EN, &s);
    printf("  %s %d–%d ms, sureness %.2f: %s\n", what, f->start_ms, f->end_ms, f->sureness, s.ptr);
    mst_string_free(&s);
}

/* Listen to changed samples and hold what is found against what was made. kind COUNT: nothing. */
static void judge(const struct take *t, const float *samples, size_t n,
                  enum mst_word_fault_kind kind, const struct mst_addr *made, size_t made_count,
                  struct score *score)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_features *f = features_of(samples, n);
    struct mst_timeline *tl;
    struct mst_fault_ear *ear;
    struct mst_word_fault *faults;
    size_t count;
    struct mst_error err;
    struct mst_listen_options o = {.skip_fit_test = 1};
    if (mst_listen(f, t->script, &o, arena, &tl, NULL, &err) ||
        mst_fault_ear_open(tl, f, NULL, 2, &ear, &err))
        stage_fail("listening", &err);
    if (mst_fault_words(ear, t->similar, arena, &faults, &count, &err))
        stage_fail("words", &err);
    char *used = calloc(count + 1, 1);
    for (size_t m = 0; m < made_count; m++) {
        size_t k = 0;
        for (; k < count; k++)
            if (!used[k] && faults[k].kind == kind && same_word(faults[k].first, made[m]) &&
                faults[k].word_count <= 2)
                break;
        if (k < count) {
            used[k] = 1;
            score->found++;
        } else {
            char at[48];
            score->missed++;
            printf("  missed %s\n", mst_addr_print(made[m], at));
        }
    }
    for (size_t k = 0; k < count; k++)
        if (!used[k]) {
            score->extra++;
            print_extra("extra", &faults[k]);
        }
    score->made += made_count;
    score->words += (size_t)tl->word_count;
    free(used);
    mst_fault_ear_close(ear);
    mst_features_free(f);
    mst_arena_free(arena);
}

/* Every EVERYth word that is joined on both sides is cut out or said twice. */
static void words_changed(const struct take *t, int twice, uint64_t *seed, struct score *score)
{
    const struct mst_timeline *tl = t->timeline;
    size_t most = 3 * (size_t)tl->word_count + 3, count = 0, made = 0, n;
    size_t(*ranges)[2] = calloc(most, sizeof *ranges);
    struct mst_addr *addrs = calloc(most, sizeof *addrs);
    size_t from = 0, all = t->recording->count;
    int wait = (int)(chance(seed) * EVERY) + 3;
    for (int32_t i = 1; i + 1 < tl->word_count; i++) {
        const struct mst_heard_word *w = &tl->words[i];
        int inside = !w->started && !w->stopped && !w->again && !tl->words[i - 1].again &&
                     !tl->words[i + 1].again;
        if (wait-- > 0 || !inside)
            continue;
        wait = EVERY - 1;
        size_t start = (size_t)w->start_ms * 16, end = (size_t)w->end_ms * 16;
        ranges[count][0] = from;
        ranges[count++][1] = twice ? end : start;
        from = twice ? start : end;
        addrs[made++] = w->at;
    }
    ranges[count][0] = from;
    ranges[count++][1] = all;
    float *changed = joined(t->recording->samples, all, ranges, count, &n);
    judge(t, changed, n, twice ? MST_WORD_FAULT_TWICE : MST_WORD_FAULT_LEFT_OUT, addrs, made,
          score);
    free(changed);
    free(ranges);
    free(addrs);
}

/* Verses a and b of the sura are alike: the take goes on after a as if it had been b. */
static void jumps(const struct take *t, size_t most, struct score *score)
{
    const struct recording *r = t->recording;
    int done = 0;
    for (int a = 1; a < r->verse_count - 2 && most > 0; a++) {
        if (a <= done)
            continue;
        for (int b = a + 1; b < r->verse_count && b <= a + 8; b++) {
            struct mst_addr x = {r->sura, a, 0, 0}, y = {r->sura, b, 0, 0};
            if (mst_similar_verses(t->similar, x, y) < 0.5)
                continue;
            size_t ranges[2][2] = {{0, (size_t)r->first_sample[a]},
                                   {(size_t)r->first_sample[b], r->count}},
                   n, before = score->found;
            float *changed = joined(r->samples, r->count, ranges, 2, &n);
            struct score here = {0};
            printf("  jump %d:%d to behind %d\n", r->sura, a, b);
            /* the words jumped over are more than two: looked for here, not in judge() */
            struct mst_arena *arena = mst_arena_new(0);
            struct mst_features *f = features_of(changed, n);
            struct mst_timeline *tl;
            struct mst_fault_ear *ear;
            struct mst_word_fault *faults;
            size_t count;
            struct mst_error err;
            /* where whole verses are missing a voice cannot be learned from the take alone */
            struct mst_listen_options o = {.voice = t->voice, .skip_fit_test = 1};
            if (mst_listen(f, t->script, &o, arena, &tl, NULL, &err) ||
                mst_fault_ear_open(tl, f, NULL, 2, &ear, &err) ||
                mst_fault_words(ear, t->similar, arena, &faults, &count, &err)) {
                printf("  %s\n", err.message);
                score->made++;
                score->missed++;
                mst_features_free(f);
                mst_arena_free(arena);
                free(changed);
                most--;
                done = b;
                break;
            }
            for (size_t k = 0; k < count; k++) {
                size_t right = faults[k].kind == MST_WORD_FAULT_JUMP && faults[k].from.verse == a &&
                               faults[k].taken_for.verse == b;
                here.found += right != 0;
                here.extra += right == 0;
                if (!right)
                    print_extra("extra", &faults[k]);
            }
            score->made++;
            score->found += here.found > 0;
            score->missed += here.found == 0;
            score->extra += here.extra;
            score->words += (size_t)tl->word_count;
            if (score->found == before)
                printf("  missed\n");
            mst_fault_ear_close(ear);
            mst_features_free(f);
            mst_arena_free(arena);
            free(changed);
            most--;
            done = b;
            break;
        }
    }
}

static void print_score(const char *what, const struct score *s)
{
    printf("| %s | %zu | %zu | %.1f %% | %zu | %zu | %.2f |\n", what, s->made, s->found,
           s->made ? 100.0 * (double)s->found / (double)s->made : 100, s->extra, s->words,
           s->words ? 1000.0 * (double)s->extra / (double)s->words : 0);
}

int main(int argc, char **argv)
{
    static const int suras_a[] = {67, 68, 69, 70, 71, 72, 73, 55, 77, 0};
    static const int suras_b[] = {78, 79, 80, 83, 0};
    int chosen[64] = {0};
    struct stage s;
    struct mst_error err;
    struct mst_similar *similar;
    struct score untouched = {0}, cut = {0}, twice = {0}, jumped = {0};
    int skipped = stage_open(&s);
    const char *reciters = argc > 1 ? argv[1] : "ab";
    uint64_t seed = 7;
    if (skipped)
        return skipped;
    if (mst_similar_open(s.text, &similar, &err))
        stage_fail("verses", &err);
    for (int i = 2; i < argc && i < 64; i++)
        chosen[i - 2] = atoi(argv[i]);
    for (const char *r = reciters; *r; r++) {
        struct mst_voice *voice = model_voice(&s, *r == 'a' ? 'b' : 'a');
        const int *suras = chosen[0] ? chosen : *r == 'a' ? suras_a : suras_b;
        for (; *suras; suras++) {
            struct recording recording;
            if (!recording_load(&s, *r, *suras, 0, 0, &recording))
                continue;
            struct mst_arena *arena = mst_arena_new(0);
            struct mst_script *script = script_of(&s, *suras, 0, 0);
            struct mst_features *f = features_of(recording.samples, recording.count);
            struct mst_timeline *tl;
            struct mst_listen_options o = {.skip_fit_test = 1};
            if (mst_listen(f, script, &o, arena, &tl, NULL, &err))
                stage_fail("listening", &err);
            struct take take = {&recording, script, tl, similar, voice};
            printf("%c %d: untouched\n", *r, *suras);
            judge(&take, recording.samples, recording.count, MST_WORD_FAULT_COUNT, NULL, 0,
                  &untouched);
            printf("%c %d: cut\n", *r, *suras);
            words_changed(&take, 0, &seed, &cut);
            printf("%c %d: twice\n", *r, *suras);
            words_changed(&take, 1, &seed, &twice);
            if (jumped.made < 24)
                jumps(&take, *suras == 55 || *suras == 77 ? 6 : 2, &jumped);
            fflush(stdout);
            mst_features_free(f);
            mst_script_free(script);
            mst_arena_free(arena);
            recording_free(&recording);
        }
        mst_voice_free(voice);
    }
    printf("\n| | made | found | recall | false | words heard | false per 1,000 words "
           "|\n|---|---|---|---|---|---|---|\n");
    print_score("words cut out", &cut);
    print_score("words said twice", &twice);
    print_score("jumps", &jumped);
    print_score("untouched", &untouched);
    mst_similar_close(similar);
    stage_close(&s);
    return 0;
}
