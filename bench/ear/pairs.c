/*
 * pairs.c – takes and passages that belong together, and as many that do not:
 * how many are accepted. Of ten wrong passages eight come from another sura
 * and have about the same length, one is the verses next to the right ones, one
 * only the first half of what was said; of these two it is asked whether the
 * refusal names the right verses. Of every five takes one is asked once more
 * with a verse too many or too few at one end, which is counted apart; that words
 * were left out is an answer too. The whole listening is asked, except where the
 * fit of another sura is hopeless. That a short take without a voice cannot tell
 * is neither a yes nor a no and has its own columns.
 */
#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TAKES_OF_A_SURA = 4 };

enum answer { YES, NO, CANNOT_TELL, ANSWERS };

struct tally {
    int right[ANSWERS], wrong[ANSWERS], miscounted[ANSWERS];
    int near, named, miscounts_named, told_left_out;
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

/* A passage whose fit is below this is refused whatever else is asked. */
static const double hopeless = 0.02;

static enum mst_status hear(const struct mst_features *f, const struct mst_script *script,
                            const struct mst_voice *voice, int judge_only, double *fit,
                            int *left_out, struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_listen_options o = {.voice = voice, .threads = 1, .skip_fit_test = judge_only};
    struct mst_timeline *tl;
    enum mst_status status = mst_listen(f, script, &o, arena, &tl, fit, err);
    if (status && status != MST_MISMATCH)
        stage_fail("listen", err);
    *left_out = status ? 0 : tl->left_out_count;
    mst_arena_free(arena);
    return status;
}

/* What the whole listening came to; err gets the refusal. far: it need not name other verses, so
 * that a hopeless fit is answer enough and the long search for them is left out. */
static enum answer ask(const struct mst_features *f, const struct mst_script *script,
                       const struct mst_voice *voice, int far, double *fit, int *left_out,
                       struct mst_error *err)
{
    if (far && (hear(f, script, voice, 1, fit, left_out, err) || *fit < hopeless))
        return NO;
    if (hear(f, script, voice, 0, fit, left_out, err) == MST_OK)
        return YES;
    return strstr(err->message, "too short to tell") ? CANNOT_TELL : NO;
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
    int left_out;
    enum answer got = ask(t->f, script, t->voice, 0, &fit, &left_out, &err);
    t->tally->right[got]++;
    if (got != YES)
        printf("%s: %d:%d–%d, %.0f s, fit %.2f: %s\n", got == NO ? "refused" : "cannot tell",
               t->r->sura, t->from + 1, t->to, t->seconds, fit, err.message);
    fflush(stdout);
    values_add(&t->tally->right_fit, fit);
    mst_script_free(script);
}

/* Does a refusal name the verses that were said? */
static int names_right(const struct trial *t, const struct mst_error *err)
{
    char right[32];
    const char *named = strstr(err->message, "stretch is ");
    if (t->to == t->from + 1)
        snprintf(right, sizeof right, "%d:%d", t->r->sura, t->to);
    else
        snprintf(right, sizeof right, "%d:%d–%d", t->r->sura, t->from + 1, t->to);
    return named && strcmp(named + strlen("stretch is "), right) == 0;
}

/* A passage that was not said; got and named say what was answered. */
static enum answer try_other(const struct trial *t, int sura, int first, int last, int *named,
                             double *fit, int *left_out)
{
    struct mst_script *script = script_of(t->s, sura, first, last);
    struct mst_error err = {0};
    enum answer got = ask(t->f, script, t->voice, sura != t->r->sura, fit, left_out, &err);
    *named = got == NO && names_right(t, &err);
    if (got == YES)
        printf("accepted: %d:%d–%d as %d:%d–%d, %.0f s, fit %.2f, %d words left out\n", t->r->sura,
               t->from + 1, t->to, sura, first, last, t->seconds, *fit, *left_out);
    else if (got == NO && sura == t->r->sura && !*named)
        printf("not named: %d:%d–%d as %d–%d, %.0f s: %s\n", t->r->sura, t->from + 1, t->to, first,
               last, t->seconds, err.message);
    fflush(stdout);
    mst_script_free(script);
    return got;
}

static void try_near(const struct trial *t, int first, int last)
{
    int named, left_out;
    double fit;
    t->tally->wrong[try_other(t, t->r->sura, first, last, &named, &fit, &left_out)]++;
    t->tally->near++;
    t->tally->named += named;
}

static void try_far(const struct trial *t, uint64_t *seed)
{
    int sura = 0, first = 1, last = 1, named, left_out;
    double fit;
    other_passage(t->s, t->r->sura, letters_of(t->s, t->r->sura, t->from + 1, t->to), seed, &sura,
                  &first, &last);
    t->tally->wrong[try_other(t, sura, first, last, &named, &fit, &left_out)]++;
    values_add(&t->tally->wrong_fit, fit);
}

/* A verse too many or too few, at the beginning or the end, whichever of them there is. */
static void try_miscounted(const struct trial *t, int way)
{
    static const int moves[4][2] = {{-1, 0}, {0, 1}, {1, 0}, {0, -1}};
    for (int k = 0; k < 4; k++) {
        const int *move = moves[(way + k) % 4];
        int first = t->from + 1 + move[0], last = t->to + move[1], named, left_out;
        double fit;
        if (first < 1 || last > t->r->verse_count || first > last)
            continue;
        enum answer got = try_other(t, t->r->sura, first, last, &named, &fit, &left_out);
        t->tally->miscounted[got]++;
        t->tally->miscounts_named += named;
        t->tally->told_left_out += got == YES && left_out > 0;
        return;
    }
}

static void try_take(const struct trial *t, int n, uint64_t *seed)
{
    int verses = t->to - t->from;
    try_right(t);
    if (n % 10 == 3 && t->to + verses <= t->r->verse_count)
        try_near(t, t->to + 1, t->to + verses);
    else if (n % 10 == 8 && verses > 1)
        try_near(t, t->from + 1, t->from + verses / 2);
    else
        try_far(t, seed);
    if (n % 5 == 1)
        try_miscounted(t, n / 5);
}

static double seconds_of(const struct recording *r, int from, int to)
{
    return (double)(r->first_sample[to] - r->first_sample[from]) / MST_TAKE_RATE_HZ;
}

static void print_row(const char *what, struct tally *t)
{
    printf("| %s | %d, %d, %d | %.2f | %d, %d, %d | %.2f | %d of %d | %d (%d), %d, %d (%d) |\n",
           what, t->right[YES], t->right[CANNOT_TELL], t->right[NO], values_at(&t->right_fit, 0),
           t->wrong[YES], t->wrong[CANNOT_TELL], t->wrong[NO], values_at(&t->wrong_fit, 1),
           t->named, t->near, t->miscounted[YES], t->told_left_out, t->miscounted[CANNOT_TELL],
           t->miscounted[NO], t->miscounts_named);
    fflush(stdout);
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
            if (++n % 10 == 0 && n < count)
                print_row("so far", tally);
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
    int only = argc > 2 ? atoi(argv[2]) : -1;                     /* one row of the table */
    uint64_t seed = argc > 3 ? strtoull(argv[3], NULL, 10) : 900; /* another draw of takes */
    if (skipped)
        return skipped;
    printf("| pairs | right: accepted, cannot tell, refused | least fit | wrong: accepted, cannot "
           "tell, refused | greatest fit of another sura | right verses named | a verse more or "
           "less: accepted (as words left out), cannot tell, refused (named) "
           "|\n|---|---|---|---|---|---|---|\n");
    for (int k = 0; k < ROWS; k++) {
        struct tally t = {0};
        if (only >= 0 && only != k)
            continue;
        struct mst_voice *voice = rows[k].voice ? voice_of(&s, rows[k].voice, lesson) : NULL;
        try_pairs(&s, rows[k].reciter, voice, rows[k].shortest, rows[k].longest, share,
                  seed + (uint64_t)k, &t);
        mst_voice_free(voice);
        print_row(rows[k].what, &t);
        values_free(&t.right_fit);
        values_free(&t.wrong_fit);
    }
    stage_close(&s);
    return 0;
}
