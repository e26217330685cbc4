/*
 * faults_tally.h – what became of spliced and untouched sounds: area under the
 * curve (A. P. Bradley, Pattern Recognition 30, 1997: the share of pairs in
 * the right order), recall, expected calibration error in ten bins
 * (M. P. Naeini, G. F. Cooper & M. Hauskrecht, AAAI 2015). A tally can be
 * written to a file of lines and read again.
 */
#ifndef BENCH_EAR_FAULTS_TALLY_H
#define BENCH_EAR_FAULTS_TALLY_H

#include <mistara/faults.h>
#include <stdio.h>

enum { TALLY_ID = 32 };
struct tallied {
    char reciter, condition[TALLY_ID], fault[TALLY_ID];
    enum mst_contrast contrast;
    int spliced, there; /* spliced: else untouched; there: the fault was made */
    int sura;
    int32_t sound; /* in the take: faults of one sound share it */
    double evidence, frames, distance, own, apart, sureness;
    int cannot_tell, untold; /* untold: the list says that the ear does not tell it */
};
struct tally {
    struct tallied *list;
    size_t count, cap;
};
void tally_add(struct tally *t, struct tallied one);
void tally_free(struct tally *t);

/* One line each, columns parted by tabs: S (spliced) or U (untouched), condition, reciter, sura,
 * sound of the take, address, fault, contrast, 1 = the fault is there, evidence, frames, sureness,
 * cannot tell, distance, own evidence, apart. */
void tally_write(FILE *out, const struct tallied *one, struct mst_addr at);
/* 0 when there is no such file; a line that is none ends the program. */
int tally_read(struct tally *t, const char *path);

/* Tables for a page, by contrast and by family; least: from which sureness is reported. */
void tally_print(const struct tally *t, double least);

#endif
