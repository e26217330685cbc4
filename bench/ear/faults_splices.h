/*
 * faults_splices.h – sounds exchanged in real recitations: at every second or
 * third word one sound is cut out and another of the same voice, from another
 * take, put in its place, from the likest neighbourhood there is, with a
 * cross-fade of 5 ms; half of them the sound that a fault says instead, half
 * of them sham: the right sound from elsewhere, so that the cut itself is not
 * what is heard. Which fault: the one whose family (faults_families.h) was
 * made least often.
 */
#ifndef BENCH_EAR_FAULTS_SPLICES_H
#define BENCH_EAR_FAULTS_SPLICES_H

#include "stage.h"

#include "../../src/speech/faults/parts.h"

struct taken {
    struct recording recording;
    struct mst_script *script;
    struct mst_features *features;
    struct mst_timeline *timeline;
    struct fault_heard heard;
};

struct splice_made {
    const struct mst_fault *fault;
    struct mst_addr at;
    int32_t nth; /* sound of the word */
    int sham;
};

/* Whatever can be spliced of these takes; the takes and the list must outlive it. */
struct splicer;
struct splicer *splicer_new(const struct taken *takes, int take_count,
                            const struct mst_fault_list *list, int32_t most_of_a_family);
void splicer_free(struct splicer *s);
/* One more of its family was made in an earlier run: it counts as if made in this one. */
void splicer_count(struct splicer *s, const char *fault_id, int sham);
/* New samples of a take with splices in it; *made (one per heard word at most) says which. Free
 * both. */
float *splicer_make(struct splicer *s, const struct taken *take, int every_word, uint64_t *seed,
                    size_t *sample_count, struct splice_made **made, size_t *made_count);
/* A table: of each family the places where it can befall, those with a donor, and how many were
 * made. */
void splicer_print(const struct splicer *s);

#endif
