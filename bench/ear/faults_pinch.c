/*
 * faults_pinch.c – the pinched nose, made by filtering. In a copy of a
 * recitation every short nasal and half of the holds, drawn by lot, are
 * changed as a shut nose changes them; level and noise of the whole copy are
 * changed too. Which holds are told right? In a second copy only level and
 * noise are changed: what is called there? In a third half of the holds are
 * shut and nothing else: what does the measure of one take alone say?
 *
 * Where the mouth is shut too (mīm, nūn and their holds) both ways out are
 * closed: the sound comes through the cheeks' and throat's walls only, low and
 * weak, and the voice dies within about a tenth of a second because the air
 * has nowhere to go, as in a voiced stop (J. Ohala, “The origin of sound
 * patterns in vocal tract constraints”, 1983; J. Westbury, JASA 73, 1983).
 * Here: low-pass at 300 Hz, 15 dB weaker, then falling by 25 dB in 100 ms.
 * Where the mouth stays open (hidden nūn, merged wāw and yāʾ) the sound goes on
 * without what the nose added: the resonances near 250 Hz and 1 kHz (M. Y. Chen,
 * JASA 102, 1997: P0 and P1) are lowered by 15 dB.
 *
 *   bench-ear-faults-pinch [SURA…]
 */
#include "faults_stage.h"

#include <math.h>
#include <mistara/faults.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FADE = 160 };

/* A second-order section with its memory. */
struct section {
    double b[3], a[2], x[2], y[2];
};

static double run(struct section *s, double x)
{
    double y =
        s->b[0] * x + s->b[1] * s->x[0] + s->b[2] * s->x[1] - s->a[0] * s->y[0] - s->a[1] * s->y[1];
    s->x[1] = s->x[0];
    s->x[0] = x;
    s->y[1] = s->y[0];
    s->y[0] = y;
    return y;
}

/* Both after R. Bristow-Johnson's audio equaliser formulas. */
static struct section peak(double hz, double q, double db)
{
    double w = 2 * M_PI * hz / MST_TAKE_RATE_HZ, alpha = sin(w) / (2 * q), a = pow(10, db / 40);
    double a0 = 1 + alpha / a;
    return (struct section){.b = {(1 + alpha * a) / a0, -2 * cos(w) / a0, (1 - alpha * a) / a0},
                            .a = {-2 * cos(w) / a0, (1 - alpha / a) / a0}};
}

static struct section low_pass(double hz)
{
    double w = 2 * M_PI * hz / MST_TAKE_RATE_HZ, alpha = sin(w) / (2 * 0.7071), a0 = 1 + alpha;
    return (struct section){.b = {(1 - cos(w)) / 2 / a0, (1 - cos(w)) / a0, (1 - cos(w)) / 2 / a0},
                            .a = {-2 * cos(w) / a0, (1 - alpha) / a0}};
}

static int mouth_open(enum mst_phone phone)
{
    return phone == MST_PHONE_NUN_HIDDEN || phone == MST_PHONE_WAW_NASAL ||
           phone == MST_PHONE_YA_NASAL;
}

static void shut_the_nose(float *x, size_t count, int open)
{
    struct section low = low_pass(300), p0 = peak(250, 1.0, -15), p1 = peak(1000, 2.0, -15);
    for (size_t i = 0; i < count; i++) {
        double decay = fmin((double)i / (0.1 * MST_TAKE_RATE_HZ), 1) * -25;
        double y = open ? run(&p1, run(&p0, (double)x[i]))
                        : run(&low, (double)x[i]) * pow(10, (decay - 15) / 20);
        double share = 1; /* of the filtered sound: faded in and out */
        if (i < FADE)
            share = (double)i / FADE;
        if (count - i < FADE)
            share = fmin(share, (double)(count - i) / FADE);
        x[i] = (float)(y * share + (double)x[i] * (1 - share));
    }
}

struct tally {
    int right, wrong, cannot, dropped;
};

/* Verdicts on the nasality of holds: of those left alone, of those shut. */
struct nasal_tally {
    int verdicts[2][MST_NASAL_COUNT];
};

static void nasality(const struct mst_timeline *tl, const struct mst_features *f, const char *shut,
                     struct nasal_tally *out)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_nasality *n;
    struct mst_error err;
    if (mst_nasality_measure(tl, f, arena, &n, &err))
        stage_fail("nasality", &err);
    printf("  nasal %d, oral %d, parted %.1f\n", n->nasal_count, n->oral_count, n->parted);
    for (int32_t i = 0; i < n->hold_count; i++) {
        const struct mst_nasal_hold *h = &n->holds[i];
        if (getenv("BENCH_SHOW"))
            printf("  %d %s %.2f: %.2f %.2f %.2f %s\n", shut && shut[h->sound],
                   mst_phone_id(tl->sounds[h->sound].phone), h->nasal, h->third[0], h->third[1],
                   h->third[2], mst_nasal_id(h->verdict));
        out->verdicts[shut && shut[n->holds[i].sound]][n->holds[i].verdict]++;
    }
    mst_arena_free(arena);
}

static void one_sura(const struct stage *s, int sura, uint64_t *seed, struct tally tallies[3],
                     struct nasal_tally *nasal)
{
    struct recording r;
    struct mst_error err;
    if (!recording_load(s, 'a', sura, 0, 0, &r))
        return;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_script *script = script_of(s, sura, 0, 0);
    struct mst_features *f = features_of(r.samples, r.count);
    struct mst_listen_options o = {.skip_fit_test = 1};
    struct mst_timeline *open;
    struct mst_voice *voice;
    struct mst_take *open_take;
    struct mst_lesson_take lesson = {f, script};
    if (mst_listen(f, script, &o, arena, &open, NULL, &err) ||
        mst_voice_learn(&lesson, 1, "open", NULL, &voice, &err) ||
        mst_take_open_samples(r.samples, r.count, &open_take, &err))
        stage_fail("open", &err);
    o.voice = voice;
    for (int copy = 0; copy < 3; copy++) {
        float *x = malloc(r.count * sizeof *x);
        char *shut = calloc((size_t)open->sound_count + 1, 1);
        memcpy(x, r.samples, r.count * sizeof *x);
        double power = 0;
        for (size_t i = 0; i < r.count; i++)
            power += (double)x[i] * (double)x[i];
        for (int32_t i = 0; copy != 1 && i < open->sound_count; i++) {
            const struct mst_heard_sound *h = &open->sounds[i];
            int is_nasal = h->phone == MST_PHONE_NUN || h->phone == MST_PHONE_MIM ||
                           mst_phone_kind(h->phone) == MST_PHONE_KIND_NASAL;
            int hold = h->sound_idx >= 0 && open->reading->sounds[h->sound_idx].nasal &&
                       open->reading->sounds[h->sound_idx].counts >= 2;
            if (!is_nasal || (hold && chance(seed) < 0.5) || (copy == 2 && !hold))
                continue;
            size_t from = (size_t)h->start_ms * 16, to = (size_t)h->end_ms * 16;
            to = to > r.count ? r.count : to;
            if (to < from + 4 * FADE)
                continue;
            shut[i] = 1;
            shut_the_nose(x + from, to - from, mouth_open(h->phone));
        }
        double noise = sqrt(power / (double)r.count) * 0.03; /* 30 dB below */
        for (size_t i = 0; i < r.count; i++)
            x[i] = (float)(0.7 * ((double)x[i] + noise * sqrt(3.0) * (2 * chance(seed) - 1)));
        struct mst_features *g = features_of(x, r.count);
        struct mst_timeline *pinched;
        struct mst_take *take;
        struct mst_pinch *p;
        if (mst_listen(g, script, &o, arena, &pinched, NULL, &err) ||
            mst_take_open_samples(x, r.count, &take, &err) ||
            mst_pinch_compare((struct mst_pinch_take){open, open_take},
                              (struct mst_pinch_take){pinched, take}, arena, &p, &err))
            stage_fail("pinched", &err);
        for (int32_t i = 0; copy < 2 && i < p->site_count; i++) {
            const struct mst_pinch_site *site = &p->sites[i];
            int changed = site->verdict == MST_PINCH_DIES || site->verdict == MST_PINCH_CHANGES;
            struct tally *t = &tallies[copy == 1 ? 2 : shut[site->open_sound] ? 0 : 1];
            if (getenv("BENCH_SHOW"))
                printf(
                    "  pinch %d %d %s shape %.1f level %.1f thirds %.1f %.1f %.1f spreads %.1f\n",
                    copy, shut[site->open_sound],
                    mst_phone_id(open->sounds[site->open_sound].phone), site->shape_db,
                    site->level_db, site->third_db[0], site->third_db[1], site->third_db[2],
                    site->spreads);
            if (site->verdict == MST_PINCH_CANNOT_TELL)
                t->cannot++;
            else if (changed == shut[site->open_sound])
                t->right++;
            else {
                char at[48];
                t->wrong++;
                printf("  wrong %s %s: shut %d, %s, level %.1f, shape %.1f dB, usual %.1f ± %.1f\n",
                       mst_addr_print(site->at, at),
                       mst_phone_id(open->sounds[site->open_sound].phone), shut[site->open_sound],
                       mst_pinch_id(site->verdict), site->level_db, site->shape_db, p->usual_db,
                       p->usual_spread_db);
            }
        }
        if (copy == 2)
            nasality(open, g, shut, nasal);
        else
            tallies[copy == 1 ? 2 : 0].dropped += p->missing_count;
        mst_take_close(take);
        mst_features_free(g);
        free(x);
        free(shut);
    }
    mst_take_close(open_take);
    mst_voice_free(voice);
    mst_features_free(f);
    mst_script_free(script);
    mst_arena_free(arena);
    recording_free(&r);
}

int main(int argc, char **argv)
{
    static const int usual[] = {67, 78, 79, 0};
    static const char *const names[] = {"filtered", "not filtered, beside filtered ones",
                                        "only level and noise changed"};
    int chosen[20] = {0};
    struct tally tallies[3] = {{0}};
    struct nasal_tally nasal = {{{0}}};
    struct stage s;
    uint64_t seed = 3;
    int skipped = stage_open(&s);
    if (skipped)
        return skipped;
    for (int i = 1; i < argc && i < 20; i++)
        chosen[i - 1] = atoi(argv[i]);
    for (const int *sura = chosen[0] ? chosen : usual; *sura; sura++)
        one_sura(&s, *sura, &seed, tallies, &nasal);
    printf("\n| holds | right | wrong | cannot be told | right of all | not heard in both "
           "|\n|---|---|---|---|---|---|\n");
    for (int k = 0; k < 3; k++) {
        int all = tallies[k].right + tallies[k].wrong + tallies[k].cannot;
        printf("| %s | %d | %d | %d | %.1f %% | %d |\n", names[k], tallies[k].right,
               tallies[k].wrong, tallies[k].cannot, all ? 100.0 * tallies[k].right / all : 100,
               tallies[k].dropped);
    }
    printf("\n| one take alone, short nasals as they are |");
    for (int v = 0; v < MST_NASAL_COUNT; v++)
        printf(" %s |", mst_nasal_text((enum mst_nasal_verdict)v, MST_LANG_EN));
    printf("\n|---|---|---|---|---|---|\n");
    for (int shut = 0; shut < 2; shut++) {
        printf("| %s |", shut ? "holds shut" : "holds left alone");
        for (int v = 0; v < MST_NASAL_COUNT; v++)
            printf(" %d |", nasal.verdicts[shut][v]);
        printf("\n");
    }
    stage_close(&s);
    return 0;
}
