/*
 * parts.h – what the files of the faults share among themselves; the door is
 * mistara/faults.h.
 *
 *   list → match ┐
 *   take ────────┴→ judge (chain) → words, kinds
 *   take → nasal → pinch
 */
#ifndef MISTARA_FAULTS_PARTS_H
#define MISTARA_FAULTS_PARTS_H

#include <mistara/faults.h>

/* --- match.c ----------------------------------------------------------------- */
/* Does a site of this rule act on one of the sound's letters? Its index, or -1. */
int32_t fault_site_of(const struct mst_reading *r, int32_t sound_idx, enum mst_rule rule);

#endif
