/*
 * built.h – a timeline put together by hand, so that what is written can be
 * tested anywhere: the engine's reading of a few verses, every sound given a
 * length by rule, and a sound of plain tones, which is no recitation and is
 * not meant to resemble one.
 */
#ifndef TESTS_REPORT_BUILT_H
#define TESTS_REPORT_BUILT_H

/* cmocka.h wants these four before it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <mistara/report.h>

struct built {
    struct mst_text *text;
    struct mst_arena *arena;
    struct mst_take *take;
    struct mst_quality quality;
    struct mst_timeline *timeline;
    struct mst_measures *measures;
    struct mst_finding *findings;
    struct mst_report report;
};

/* 67:1–3. pace: 1 = 120 ms a count, 2 = twice as fast. The first ghunna (or
 * hiding) is held for ghunna_share of its length. The last word but one is said twice. */
void build(struct built *b, double pace, double ghunna_share);
void build_free(struct built *b);

#endif
