/*
 * faults_kinds.c – sounds exchanged in real recitations (faults_splices.h).
 * The changed take is listened to as a learner's would be and judged,
 * beginning with the other reciter's voice both times (listen --voice NAME
 * --faults). Untouched takes are judged the same way.
 *
 * The takes may be spoiled before they are judged; spoil.h lists the ways.
 * Several, parted by commas: the same splices once each.
 *
 *   bench-ear-faults-kinds JUDGED MODEL ROUNDS CONDITION FILE [SURA…]
 *
 * No ROUNDS (0): untouched takes only, any number of them. $BENCH_OF_A_FAMILY
 * faults and as many sham splices are made of each family (44), at every
 * second word; $BENCH_SEED draws others, and with $BENCH_BEFORE (the FILE of an
 * earlier run) what was made then counts as made. What the list calls `told: no` is judged too, and
 * counted apart.
 *
 * FILE gets a line for each (faults_tally.h): bench-ear-faults-fit reads it.
 */
#include "faults_splices.h"
#include "faults_stage.h"
#include "faults_tally.h"
#include "spoil.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TAKES_MAX = 60, CONDITIONS_MAX = 16, EVERY_WORD = 2 };
static const double least_reported = 0.95; /* as in kinds.c */

struct bench {
    struct stage stage;
    char judged;
    struct mst_arena *arena;
    struct mst_fault_list *list;
    uint8_t *untold;               /* per fault: the list says told: no */
    struct mst_voice *voice, *own; /* to judge by; the reciter's */
    struct taken takes[TAKES_MAX];
    int take_count;
    uint64_t seed;
    char conditions[CONDITIONS_MAX][TALLY_ID];
    int condition_count;
    struct tally tallies[CONDITIONS_MAX];
    FILE *out;
};

static void note(struct bench *b, int condition, int spliced, int sura,
                 const struct mst_kind_fault *k, int there)
{
    struct tallied x = {.reciter = b->judged,
                        .contrast = k->contrast,
                        .spliced = spliced,
                        .there = there,
                        .sura = sura,
                        .sound = k->sound,
                        .evidence = k->evidence,
                        .frames = k->frames,
                        .distance = k->distance,
                        .own = k->own,
                        .apart = k->apart,
                        .sureness = k->sureness,
                        .cannot_tell = k->cannot_tell,
                        .untold = b->untold[k->fault - b->list->faults]};
    snprintf(x.condition, sizeof x.condition, "%s", b->conditions[condition]);
    snprintf(x.fault, sizeof x.fault, "%s", k->fault->id);
    tally_add(&b->tallies[condition], x);
    tally_write(b->out, &x, k->at);
}

/* Judge samples; every fault that could befall. NULL when the ear refuses them. */
static struct mst_kind_fault *kinds_of(struct bench *b, int condition, const struct taken *t,
                                       const float *samples, size_t n, struct mst_arena *arena,
                                       struct mst_timeline **tl, size_t *count)
{
    struct mst_error err;
    struct mst_fault_ear *ear = NULL;
    struct mst_kind_fault *kinds = NULL;
    struct mst_kind_options all = {.all = 1};
    /* as with --voice: the stored voice leads, the take teaches */
    struct mst_listen_options o = {.voice = b->voice, .skip_fit_test = 1};
    float *heard = spoil(b->conditions[condition], &b->seed, samples, n, &n);
    struct mst_features *f = features_of(heard, n);
    *count = 0;
    free(heard);
    if (mst_listen(f, t->script, &o, arena, tl, NULL, &err) ||
        mst_fault_ear_open(*tl, f, b->voice, 2, &ear, &err) ||
        mst_fault_kinds(ear, b->list, &all, arena, &kinds, count, &err)) {
        printf("%c %d, %s: %s\n", b->judged, t->recording.sura, b->conditions[condition],
               err.message);
        kinds = NULL;
        *count = 0;
    }
    mst_fault_ear_close(ear);
    mst_features_free(f);
    return kinds;
}

static void untouched(struct bench *b, int condition, const struct taken *t)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_timeline *tl;
    size_t count;
    struct mst_kind_fault *kinds =
        kinds_of(b, condition, t, t->recording.samples, t->recording.count, arena, &tl, &count);
    for (size_t i = 0; i < count; i++)
        note(b, condition, 0, t->recording.sura, &kinds[i], 0);
    mst_arena_free(arena);
    fflush(b->out);
}

/* The judgement of a splice among all; NULL when its place was not heard again. */
static const struct mst_kind_fault *find(const struct mst_kind_fault *kinds, size_t count,
                                         const struct mst_timeline *tl,
                                         const struct splice_made *made)
{
    for (size_t k = 0; k < count; k++) {
        const struct mst_heard_sound *sound = &tl->sounds[kinds[k].sound];
        if (kinds[k].fault == made->fault && mst_addr_compare(kinds[k].at, made->at) == 0 &&
            kinds[k].sound - tl->words[sound->heard_word].first_sound == made->nth)
            return &kinds[k];
    }
    return NULL;
}

static void spliced(struct bench *b, struct splicer *splicer, const struct taken *t)
{
    size_t n, splices;
    struct splice_made *made;
    float *samples = splicer_make(splicer, t, EVERY_WORD, &b->seed, &n, &made, &splices);
    for (int c = 0; c < b->condition_count && splices > 0; c++) {
        struct mst_arena *arena = mst_arena_new(0);
        struct mst_timeline *tl;
        size_t count, lost = 0;
        struct mst_kind_fault *kinds = kinds_of(b, c, t, samples, n, arena, &tl, &count);
        for (size_t s = 0; s < splices; s++) {
            const struct mst_kind_fault *k = find(kinds, count, tl, &made[s]);
            if (k)
                note(b, c, 1, t->recording.sura, k, !made[s].sham);
            else
                lost++;
        }
        printf("%c %d, %s: %zu splices, %zu not found again\n", b->judged, t->recording.sura,
               b->conditions[c], splices, lost);
        mst_arena_free(arena);
    }
    fflush(b->out);
    fflush(stdout);
    free(samples);
    free(made);
}

/* One take after another, untouched: as many as there are. */
static void untouched_only(struct bench *b, const int *suras)
{
    for (; *suras; suras++) {
        struct taken t = {.script = NULL};
        if (!recording_load(&b->stage, b->judged, *suras, 0, 0, &t.recording))
            continue;
        t.script = script_of(&b->stage, *suras, 0, 0);
        for (int c = 0; c < b->condition_count; c++)
            untouched(b, c, &t);
        printf("%c %d: untouched\n", b->judged, *suras);
        fflush(stdout);
        mst_script_free(t.script);
        recording_free(&t.recording);
    }
}

static void open_takes(struct bench *b, const int *suras)
{
    struct mst_error err;
    for (; *suras && b->take_count < TAKES_MAX; suras++) {
        struct taken *t = &b->takes[b->take_count];
        if (!recording_load(&b->stage, b->judged, *suras, 0, 0, &t->recording))
            continue;
        /* where sounds lie is to be known as well as can be: by all of the voice */
        struct mst_listen_options o = {.voice = b->own, .keep_voice = 1, .skip_fit_test = 1};
        t->script = script_of(&b->stage, *suras, 0, 0);
        t->features = features_of(t->recording.samples, t->recording.count);
        if (mst_listen(t->features, t->script, &o, b->arena, &t->timeline, NULL, &err) ||
            fault_heard_make(&t->heard, t->timeline, (int64_t)t->features->frame_count, &err))
            stage_fail("listening", &err);
        b->take_count++;
    }
}

/* Splices of earlier runs, so that those that are still few are made first. */
static void count_before(const struct bench *b, struct splicer *splicer)
{
    struct tally before = {0};
    const char *path = getenv("BENCH_BEFORE");
    if (!path)
        return;
    if (!tally_read(&before, path)) {
        fprintf(stderr, "%s cannot be read\n", path);
        exit(1);
    }
    for (size_t n = 0; n < before.count; n++)
        if (before.list[n].spliced && before.list[n].reciter == b->judged &&
            strcmp(before.list[n].condition, b->conditions[0]) == 0)
            splicer_count(splicer, before.list[n].fault, !before.list[n].there);
    tally_free(&before);
}

static void splice_all(struct bench *b, int rounds)
{
    const char *most = getenv("BENCH_OF_A_FAMILY");
    struct splicer *splicer = splicer_new(b->takes, b->take_count, b->list, most ? atoi(most) : 44);
    count_before(b, splicer);
    splicer_print(splicer);
    fflush(stdout);
    for (int round = 0; round < rounds; round++)
        for (int t = 0; t < b->take_count; t++)
            spliced(b, splicer, &b->takes[t]);
    splicer_print(splicer);
    splicer_free(splicer);
}

static void read_conditions(struct bench *b, const char *names)
{
    char list[400], *rest = NULL;
    snprintf(list, sizeof list, "%s", names);
    for (char *name = strtok_r(list, ",", &rest); name && b->condition_count < CONDITIONS_MAX;
         name = strtok_r(NULL, ",", &rest))
        snprintf(b->conditions[b->condition_count++], TALLY_ID, "%.20s", name);
}

int main(int argc, char **argv)
{
    static const int suras_a[] = {78, 79, 80, 81, 83, 84, 85, 88, 89, 90, 0};
    static const int suras_b[] = {78, 79, 83, 85, 89, 0};
    int chosen[TAKES_MAX + 1] = {0}, rounds = argc > 3 ? atoi(argv[3]) : 2;
    struct bench b = {.judged = argc > 1 ? *argv[1] : 'a', .seed = 5};
    struct mst_error err;
    int skipped = stage_open(&b.stage);
    if (skipped)
        return skipped;
    if (getenv("BENCH_SEED"))
        b.seed = strtoull(getenv("BENCH_SEED"), NULL, 10);
    for (int i = 6; i < argc && i - 6 < TAKES_MAX; i++)
        chosen[i - 6] = atoi(argv[i]);
    read_conditions(&b, argc > 4 ? argv[4] : "clean");
    b.out = fopen(argc > 5 ? argv[5] : "faults_kinds.tsv", "w");
    b.arena = mst_arena_new(0);
    const char *path = mst_faults_default_path(b.arena);
    if (!path) {
        fprintf(stderr, "the list of faults is not where it should be; MISTARA_FAULTS names it\n");
        return 1;
    }
    if (!b.out || mst_faults_read(&path, 1, b.arena, &b.list, &err))
        stage_fail("faults", &err);
    b.untold = calloc((size_t)b.list->count + 1, sizeof *b.untold);
    for (int32_t n = 0; n < b.list->count; n++) {
        b.untold[n] = (uint8_t)(b.list->faults[n].untold != 0);
        b.list->faults[n].untold = 0;
    }
    b.voice = model_voice(&b.stage, argc > 2 ? *argv[2] : 'b');
    b.own = rounds > 0 ? model_voice(&b.stage, b.judged) : NULL;
    const int *suras = chosen[0] ? chosen : b.judged == 'a' ? suras_a : suras_b;
    if (rounds == 0) {
        untouched_only(&b, suras);
    } else {
        open_takes(&b, suras);
        splice_all(&b, rounds);
    }
    fclose(b.out);
    for (int c = 0; c < b.condition_count; c++) {
        printf("\n%s, as kinds.c stands:\n", b.conditions[c]);
        tally_print(&b.tallies[c], least_reported);
        tally_free(&b.tallies[c]);
    }
    for (int t = 0; t < b.take_count; t++) {
        fault_heard_clear(&b.takes[t].heard);
        mst_features_free(b.takes[t].features);
        mst_script_free(b.takes[t].script);
        recording_free(&b.takes[t].recording);
    }
    mst_voice_free(b.voice);
    mst_voice_free(b.own);
    free(b.untold);
    mst_arena_free(b.arena);
    stage_close(&b.stage);
    return 0;
}
