/*
 * faults_tally.h – what became of spliced and untouched sounds: area under the
 * curve (A. P. Bradley, Pattern Recognition 30, 1997: the share of pairs in
 * the right order), recall, expected calibration error in ten bins
 * (M. P. Naeini, G. F. Cooper & M. Hauskrecht, AAAI 2015).
 */
#ifndef BENCH_EAR_FAULTS_TALLY_H
#define BENCH_EAR_FAULTS_TALLY_H

#include <mistara/faults.h>

struct tallied {
    enum mst_contrast contrast;
    int spliced, there; /* spliced: else untouched; there: the fault was made */
    int sura;
    int32_t sound; /* in the take: faults of one sound share it */
    double distance, sureness;
    int cannot_tell;
};
struct tally {
    struct tallied *list;
    size_t count, cap;
};
void tally_add(struct tally *t, struct tallied one);
/* Tables for a page; least: the default of what is reported. */
void tally_print(const struct tally *t, double least);
void tally_free(struct tally *t);

#endif
