/*
 * faults_families.h – the confusions a teacher names in one breath (ḥāʾ and hāʾ, short and long
 * vowels), each several faults of the list: what is spliced and counted together.
 */
#ifndef BENCH_EAR_FAULTS_FAMILIES_H
#define BENCH_EAR_FAULTS_FAMILIES_H

enum { FAMILY_COUNT = 20 };

/* -1: the fault is of none. */
int family_of(const char *fault_id);
const char *family_name(int family);

#endif
