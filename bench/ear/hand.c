/*
 * hand.c – natural lengthenings and holds with ghunna whose begin and end were
 * read off the spectrogram by eye, before the ear's values were looked at, and
 * what the ear says of the same sounds. The ear learns from the whole sura
 * alone.
 *
 * How they were read (2026-11-25): 1/16,000 s samples, Gaussian window of
 * 4.4 ms standard deviation, 0 to 5 kHz, 375 points a second, a line every
 * 100 ms; read to 5 ms, sure to about 10. A vowel begins where its formants
 * stand after the consonant's release and ends where they break off; a hold
 * with ghunna begins where the vowel's upper formants fade and ends where the
 * next vowel or friction sets in. Places whose edges could not be told by eye
 * (a vowel gliding into y, w or ʿayn; an i into a held n at the file's start)
 * were left out.
 */
#include "stage.h"

#include <math.h>
#include <stdio.h>

enum { NATURAL, NASAL, KINDS };

static const struct reading {
    char reciter;
    int verse, word;      /* of sura 78 */
    int kind, nth;        /* nth of its kind in the word, from 0 */
    int start_ms, end_ms; /* in the verse's file */
} readings[] = {
    {'a', 5, 2, NATURAL, 0, 2220, 2565},  {'a', 9, 1, NATURAL, 0, 1365, 1715},
    {'a', 9, 3, NATURAL, 0, 3230, 3600},  {'a', 10, 3, NATURAL, 0, 2690, 3045},
    {'a', 11, 2, NATURAL, 0, 2690, 3120}, {'a', 12, 1, NATURAL, 0, 1335, 1690},
    {'a', 12, 4, NATURAL, 0, 4965, 5365}, {'a', 13, 1, NATURAL, 0, 1355, 1715},
    {'a', 13, 2, NATURAL, 0, 2120, 2495}, {'a', 14, 1, NATURAL, 0, 2350, 2725},
    {'a', 14, 3, NATURAL, 0, 4190, 4520}, {'a', 14, 5, NATURAL, 0, 8400, 8835},
    {'a', 15, 2, NATURAL, 0, 1780, 2120}, {'a', 15, 4, NATURAL, 0, 4500, 4885},
    {'a', 16, 1, NATURAL, 0, 1820, 2190}, {'a', 16, 2, NATURAL, 0, 3285, 3675},
    {'a', 17, 4, NATURAL, 0, 3385, 3745}, {'a', 17, 5, NATURAL, 0, 4080, 4415},
    {'a', 17, 5, NATURAL, 1, 4570, 4935}, {'a', 27, 2, NATURAL, 0, 2245, 2605},
    {'b', 5, 2, NATURAL, 0, 1700, 2025},  {'b', 9, 1, NATURAL, 0, 775, 1145},
    {'b', 9, 3, NATURAL, 0, 2510, 2865},  {'b', 10, 3, NATURAL, 0, 2215, 2525},
    {'b', 11, 2, NATURAL, 0, 2495, 2870}, {'b', 12, 4, NATURAL, 0, 3905, 4285},
    {'b', 14, 1, NATURAL, 0, 1560, 1880}, {'b', 14, 3, NATURAL, 0, 3195, 3495},
    {'b', 14, 5, NATURAL, 0, 7670, 8095}, {'b', 16, 1, NATURAL, 0, 885, 1195},
    {'b', 16, 2, NATURAL, 0, 2170, 2525}, {'b', 17, 5, NATURAL, 1, 3490, 3920},
    {'b', 27, 2, NATURAL, 0, 1425, 1800}, {'a', 1, 1, NASAL, 0, 670, 2165},
    {'a', 2, 2, NASAL, 0, 665, 2675},     {'a', 5, 1, NASAL, 0, 490, 1510},
    {'a', 11, 2, NASAL, 0, 1420, 2415},   {'a', 12, 3, NASAL, 0, 3710, 4555},
    {'a', 14, 1, NASAL, 0, 735, 1775},    {'a', 14, 4, NASAL, 0, 6800, 7770},
    {'a', 16, 1, NASAL, 0, 745, 1820},    {'a', 17, 1, NASAL, 0, 500, 1530},
    {'a', 21, 1, NASAL, 0, 480, 1725},    {'a', 21, 2, NASAL, 0, 2380, 3530},
    {'a', 27, 1, NASAL, 0, 490, 1525},    {'a', 31, 1, NASAL, 0, 480, 1740},
    {'a', 40, 1, NASAL, 0, 540, 1620},    {'b', 1, 1, NASAL, 0, 200, 2425},
    {'b', 11, 2, NASAL, 0, 1490, 2225},   {'b', 12, 3, NASAL, 0, 2990, 3515},
    {'b', 14, 1, NASAL, 0, 405, 1035},    {'b', 14, 4, NASAL, 0, 6090, 7125},
    {'b', 16, 1, NASAL, 0, 235, 885},     {'b', 21, 2, NASAL, 0, 1365, 2585},
};

static int is_kind(const struct mst_measured_site *s, int kind)
{
    return kind == NASAL ? is_nasal_hold(s->length)
                         : s->length == MST_LENGTH_NATURAL || s->length == MST_LENGTH_NATURAL_STOP;
}

static const struct mst_measured_site *find(const struct mst_measures *m, const struct reading *r)
{
    int nth = 0;
    for (int32_t i = 0; i < m->site_count; i++) {
        struct mst_addr at = m->sites[i].at;
        if (at.verse == r->verse && at.word == r->word && is_kind(&m->sites[i], r->kind) &&
            nth++ == r->nth)
            return &m->sites[i];
    }
    return NULL;
}

struct errors {
    struct values start, end, held, by_hand; /* ear minus hand, ms; the length by hand */
};

static void print(const char *name, struct errors *e)
{
    struct values far = {0};
    for (size_t i = 0; i < e->start.count; i++)
        values_add(&far, fabs(e->start.v[i]));
    for (size_t i = 0; i < e->end.count; i++)
        values_add(&far, fabs(e->end.v[i]));
    printf("| %s | %zu | %.0f ms | %+.0f (%+.0f to %+.0f) | %+.0f | %+.0f | %.0f, %.0f |\n", name,
           e->held.count, values_at(&e->by_hand, 0.5), values_at(&e->held, 0.5),
           values_at(&e->held, 0.05), values_at(&e->held, 0.95), values_at(&e->start, 0.5),
           values_at(&e->end, 0.5), values_at(&far, 0.5), values_at(&far, 0.95));
    values_free(&far);
}

int main(void)
{
    static const char *const names[KINDS] = {"natural lengthening", "held with ghunna"};
    struct stage s;
    int skipped = stage_open(&s);
    if (skipped)
        return skipped;
    struct errors sums[2][KINDS] = {0};
    printf("| place | by hand | by ear |\n|---|---|---|\n");
    for (int v = 0; v < 2; v++) {
        char reciter = "ab"[v];
        struct recording r;
        struct mst_timeline *tl;
        struct mst_measures *m;
        struct mst_error err;
        if (!recording_load(&s, reciter, 78, 0, 0, &r))
            continue;
        struct mst_arena *arena = mst_arena_new(0);
        struct mst_features *f = features_of(r.samples, r.count);
        struct mst_script *script = script_of(&s, 78, 0, 0);
        if (mst_listen(f, script, NULL, arena, &tl, NULL, &err) ||
            mst_measure(tl, NULL, arena, &m, &err))
            stage_fail("sura 78", &err);
        for (size_t i = 0; i < sizeof readings / sizeof readings[0]; i++) {
            const struct reading *hand = &readings[i];
            const struct mst_measured_site *site = hand->reciter == reciter ? find(m, hand) : NULL;
            if (hand->reciter != reciter)
                continue;
            printf("| %c 78:%d:%d %s | %d–%d |", reciter, hand->verse, hand->word,
                   names[hand->kind], hand->start_ms, hand->end_ms);
            if (!site) {
                printf(" not measured |\n");
                continue;
            }
            double from = (double)r.first_sample[hand->verse - 1] / 16;
            double start = site->start_ms - from, end = site->end_ms - from;
            printf(" %.0f–%.0f |\n", start, end);
            struct errors *e = &sums[v][hand->kind];
            values_add(&e->start, start - hand->start_ms);
            values_add(&e->end, end - hand->end_ms);
            values_add(&e->held, end - start - (hand->end_ms - hand->start_ms));
            values_add(&e->by_hand, hand->end_ms - hand->start_ms);
        }
        mst_features_free(f);
        mst_script_free(script);
        mst_arena_free(arena);
        recording_free(&r);
    }
    printf("\n| | places | middle by hand | length, ear minus hand (5–95 %%) | start | end | edges "
           "off: median, p95 |\n|---|---|---|---|---|---|---|\n");
    for (int v = 0; v < 2; v++)
        for (int k = 0; k < KINDS; k++) {
            char name[80];
            snprintf(name, sizeof name, "%c, %s", "ab"[v], names[k]);
            print(name, &sums[v][k]);
        }
    stage_close(&s);
    return 0;
}
