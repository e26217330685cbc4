/*
 * pairs.c – takes and passages that belong together, and as many that do not:
 * how many are accepted. Of ten wrong passages eight come from another sura
 * and have about the same length (for these the search for the right stretch
 * is left out: only the judgement is asked), one is the verses next to the
 * right ones, one only the first half of what was said; of these two it is
 * asked whether the refusal names the right verses. The first two rows are stretches
 * of 20–60 s with the reciter's stored voice, then longer ones learned alone,
 * then 20–60 s with the other reciter's voice.
 */
#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TAKES_OF_A_SURA = 4 };

struct tally {
    int right, refused, wrong, accepted, near, named;
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

/* What a listening came to; err gets the refusal. judge_only: a fit of a half and more counts as
 * accepted; the whole listening refuses more, never less. */
static int accepted(const struct mst_features *f, const struct mst_script *script,
                    const struct mst_voice *voice, int judge_only, double *fit,
                    struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_listen_options o = {.voice = voice, .threads = 1, .skip_fit_test = judge_only};
    struct mst_timeline *tl;
    enum mst_status status = mst_listen(f, script, &o, arena, &tl, fit, err);
    if (status && status != MST_MISMATCH)
        stage_fail("listen", err);
    mst_arena_free(arena);
    return status == MST_OK && (!judge_only || *fit >= 0.5);
}

/* One take: verses from+1…to of a recording. */
struct trial {
    const struct stage *s;
    const struct recording *r;
    int from, to;
    double seconds;
    const struct mst_features *f;
    const struct mst_voice *voice;
    struct tally *tally;
};

static void try_right(const struct trial *t)
{
    struct mst_script *script = script_of(t->s, t->r->sura, t->from + 1, t->to);
    struct mst_error err;
    double fit;
    t->tally->right++;
    if (!accepted(t->f, script, t->voice, 0, &fit, &err)) {
        t->tally->refused++;
        printf("refused: %d:%d–%d, %.0f s, fit %.2f: %s\n", t->r->sura, t->from + 1, t->to,
               t->seconds, fit, err.message);
        fflush(stdout);
    }
    values_add(&t->tally->right_fit, fit);
    mst_script_free(script);
}

/* is_near: the refusal should name the verses that were said. */
static void try_wrong(const struct trial *t, int sura, int first, int last, int is_near)
{
    struct mst_script *script = script_of(t->s, sura, first, last);
    struct mst_error err;
    char right[32];
    double fit;
    t->tally->wrong++;
    if (accepted(t->f, script, t->voice, !is_near, &fit, &err)) {
        t->tally->accepted++;
        printf("accepted: %d:%d–%d as %d:%d–%d, %.0f s, fit %.2f\n", t->r->sura, t->from + 1, t->to,
               sura, first, last, t->seconds, fit);
    } else if (is_near) {
        const char *named = strstr(err.message, "stretch is ");
        snprintf(right, sizeof right, "%d:%d–%d", t->r->sura, t->from + 1, t->to);
        if (t->to == t->from + 1)
            snprintf(right, sizeof right, "%d:%d", t->r->sura, t->to);
        t->tally->near++;
        if (named && strcmp(named + strlen("stretch is "), right) == 0)
            t->tally->named++;
        else
            printf("not named: %s, %.0f s: %s\n", right, t->seconds, err.message);
    }
    if (!is_near)
        values_add(&t->tally->wrong_fit, fit);
    mst_script_free(script);
}

static void try_take(struct trial *t, int n, uint64_t *seed)
{
    int verses = t->to - t->from, sura = 0, first = 1, last = 1;
    try_right(t);
    if (n % 10 == 3 && t->to + verses <= t->r->verse_count) {
        try_wrong(t, t->r->sura, t->to + 1, t->to + verses, 1);
    } else if (n % 10 == 8 && verses > 1) {
        try_wrong(t, t->r->sura, t->from + 1, t->from + verses / 2, 1);
    } else {
        double letters = letters_of(t->s, t->r->sura, t->from + 1, t->to);
        other_passage(t->s, t->r->sura, letters, seed, &sura, &first, &last);
        try_wrong(t, sura, first, last, 0);
    }
}

static double seconds_of(const struct recording *r, int from, int to)
{
    return (double)(r->first_sample[to] - r->first_sample[from]) / MST_TAKE_RATE_HZ;
}

static void try_pairs(const struct stage *s, char reciter, const struct mst_voice *voice,
                      double shortest, double longest, int count, uint64_t seed,
                      struct tally *tally)
{
    for (int n = 0; n < count;) {
        int sura = (reciter == 'a' ? 67 : 78) + (int)(chance(&seed) * (reciter == 'a' ? 34 : 23));
        struct recording r;
        if (sura == 83 || !recording_load(s, reciter, sura, 0, 0, &r))
            continue;
        for (int k = 0; k < TAKES_OF_A_SURA && n < count; k++) {
            double wanted = shortest + (longest - shortest) * chance(&seed);
            struct trial t = {.s = s, .r = &r, .voice = voice, .tally = tally};
            t.from = (int)(chance(&seed) * r.verse_count);
            t.to = t.from + 1;
            while (t.to < r.verse_count && seconds_of(&r, t.from, t.to) < wanted)
                t.to++;
            while (t.from > 0 && seconds_of(&r, t.from, t.to) < wanted)
                t.from--;
            t.seconds = seconds_of(&r, t.from, t.to);
            if (t.seconds < shortest * 0.9 || t.seconds > longest * 1.1)
                continue;
            struct mst_features *f =
                features_of(r.samples + r.first_sample[t.from],
                            (size_t)(r.first_sample[t.to] - r.first_sample[t.from]));
            t.f = f;
            try_take(&t, n, &seed);
            mst_features_free(f);
            n++;
        }
        recording_free(&r);
    }
}

int main(int argc, char **argv)
{
    static const int lesson[] = {83, 0};
    static const struct {
        const char *what;
        char reciter, voice; /* voice: whose, 0 = learned alone */
        double shortest, longest;
    } rows[] = {{"a, 20–60 s, stored voice", 'a', 'a', 20, 60},
                {"b, 20–60 s, stored voice", 'b', 'b', 20, 60},
                {"a, 60–150 s, alone", 'a', 0, 60, 150},
                {"b, 60–150 s, alone", 'b', 0, 60, 150},
                {"a, 20–60 s, the other's voice", 'a', 'b', 20, 60},
                {"b, 20–60 s, the other's voice", 'b', 'a', 20, 60},
                {"a, 20–60 s, alone", 'a', 0, 20, 60},
                {"b, 20–60 s, alone", 'b', 0, 20, 60}};
    enum { ROWS = sizeof rows / sizeof *rows };
    struct stage s;
    int skipped = stage_open(&s), share = argc > 1 ? atoi(argv[1]) : 50;
    int only = argc > 2 ? atoi(argv[2]) : -1; /* one row of the table */
    if (skipped)
        return skipped;
    printf("| pairs | right ones refused | least fit | wrong ones accepted | greatest fit of "
           "another sura | right verses named |\n|---|---|---|---|---|---|\n");
    for (int k = 0; k < ROWS; k++) {
        struct tally t = {0};
        if (only >= 0 && only != k)
            continue;
        struct mst_voice *voice = rows[k].voice ? voice_of(&s, rows[k].voice, lesson) : NULL;
        try_pairs(&s, rows[k].reciter, voice, rows[k].shortest, rows[k].longest, share,
                  900 + (uint64_t)k, &t);
        mst_voice_free(voice);
        printf("| %s | %d of %d | %.2f | %d of %d | %.2f | %d of %d |\n", rows[k].what, t.refused,
               t.right, values_at(&t.right_fit, 0), t.accepted, t.wrong, values_at(&t.wrong_fit, 1),
               t.named, t.near);
        fflush(stdout);
        values_free(&t.right_fit);
        values_free(&t.wrong_fit);
    }
    stage_close(&s);
    return 0;
}
