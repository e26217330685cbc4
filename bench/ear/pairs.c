/*
 * pairs.c – takes and passages that belong together, and as many that do not
 * (another passage of about the same length): how many are accepted. Half are
 * stretches of 20–60 s with the reciter's stored voice, half longer ones
 * learned alone.
 */
#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

struct tally {
    int right, refused, wrong, accepted;
    struct values right_fit, wrong_fit;
};

/* Letters of a stretch of verses: near enough to its length. */
static double letters_of(const struct stage *s, int sura, int first, int last)
{
    double sum = 0;
    for (int v = first; v <= last; v++)
        sum += (double)mst_text_verse(s->text, sura, v).len;
    return sum;
}

/* Verses of another sura of about this length. */
static void other_passage(const struct stage *s, int not_sura, double letters, uint64_t *seed,
                          int *sura, int *first, int *last)
{
    double best = 1e9;
    do
        *sura = 67 + (int)(chance(seed) * 40);
    while (*sura == not_sura);
    int verses = mst_text_sura(s->text, *sura)->verse_count;
    for (int a = 1; a <= verses; a++)
        for (int b = a; b <= verses; b++) {
            double off = fabs(log(letters_of(s, *sura, a, b) / letters)) + 0.1 * chance(seed);
            if (off < best) {
                best = off;
                *first = a;
                *last = b;
            }
        }
}

static int accepted(const struct mst_features *f, const struct mst_script *script,
                    const struct mst_voice *voice, double *fit)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_listen_options o = {.voice = voice};
    struct mst_timeline *tl;
    struct mst_error err;
    enum mst_status status = mst_listen(f, script, &o, arena, &tl, fit, &err);
    if (status && status != MST_MISMATCH)
        stage_fail("listen", &err);
    mst_arena_free(arena);
    return status == MST_OK;
}

static void try_pairs(const struct stage *s, char reciter, const struct mst_voice *voice,
                      double shortest, double longest, int count, uint64_t seed, struct tally *t)
{
    for (int n = 0; n < count;) {
        int sura = (reciter == 'a' ? 67 : 78) + (int)(chance(&seed) * (reciter == 'a' ? 34 : 23));
        struct recording r;
        double fit, wanted = shortest + (longest - shortest) * chance(&seed);
        if (sura == 83 || !recording_load(s, reciter, sura, 0, 0, &r))
            continue;
        int from = (int)(chance(&seed) * r.verse_count), to = from + 1;
        while (to < r.verse_count &&
               (double)(r.first_sample[to] - r.first_sample[from]) / 16000 < wanted)
            to++;
        while (from > 0 && (double)(r.first_sample[to] - r.first_sample[from]) / 16000 < wanted)
            from--;
        double seconds = (double)(r.first_sample[to] - r.first_sample[from]) / 16000;
        if (seconds < shortest * 0.9) {
            recording_free(&r);
            continue;
        }
        struct mst_features *f = features_of(r.samples + r.first_sample[from],
                                             (size_t)(r.first_sample[to] - r.first_sample[from]));
        struct mst_script *script = script_of(s, sura, from + 1, to);
        int other = 0, a = 1, b = 1;
        other_passage(s, sura, letters_of(s, sura, from + 1, to), &seed, &other, &a, &b);
        struct mst_script *wrong = script_of(s, other, a, b);
        t->right++;
        if (!accepted(f, script, voice, &fit)) {
            t->refused++;
            printf("refused: %c %d:%d–%d, %.0f s, fit %.2f\n", reciter, sura, from + 1, to, seconds,
                   fit);
        }
        values_add(&t->right_fit, fit);
        t->wrong++;
        if (accepted(f, wrong, voice, &fit)) {
            t->accepted++;
            printf("accepted: %c %d:%d–%d as %d:%d–%d, %.0f s, fit %.2f\n", reciter, sura, from + 1,
                   to, other, a, b, seconds, fit);
        }
        values_add(&t->wrong_fit, fit);
        n++;
        mst_features_free(f);
        mst_script_free(script);
        mst_script_free(wrong);
        recording_free(&r);
    }
}

static void print_tally(const char *what, struct tally *t)
{
    printf("| %s | %d of %d | %.2f | %d of %d | %.2f |\n", what, t->refused, t->right,
           values_at(&t->right_fit, 0), t->accepted, t->wrong, values_at(&t->wrong_fit, 1));
    fflush(stdout);
}

int main(int argc, char **argv)
{
    static const int lesson[] = {83, 0};
    struct stage s;
    int skipped = stage_open(&s), share = argc > 1 ? atoi(argv[1]) : 50;
    if (skipped)
        return skipped;
    const char *const rows[] = {"a, 20–60 s, stored voice", "b, 20–60 s, stored voice",
                                "a, 60–150 s, alone", "b, 60–150 s, alone"};
    struct tally tallies[4] = {0};
    for (int k = 0; k < 4; k++) {
        char reciter = k % 2 ? 'b' : 'a';
        struct mst_voice *voice = k < 2 ? voice_of(&s, reciter, lesson) : NULL;
        try_pairs(&s, reciter, voice, k < 2 ? 20 : 60, k < 2 ? 60 : 150, share, 100 + (uint64_t)k,
                  &tallies[k]);
        mst_voice_free(voice);
    }
    printf("\n| pairs | right ones refused | least fit | wrong ones accepted | greatest fit "
           "|\n|---|---|---|---|---|\n");
    for (int k = 0; k < 4; k++)
        print_tally(rows[k], &tallies[k]);
    stage_close(&s);
    return 0;
}
