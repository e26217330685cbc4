/*
 * bands.h – the strength of a stretch of a take in five bands that tell nasal
 * sounds from others.
 */
#ifndef MISTARA_FAULTS_BANDS_H
#define MISTARA_FAULTS_BANDS_H

#include <mistara/take.h>

enum { BAND_COUNT = 5 };
struct bands_meter;
struct bands {
    double db[BAND_COUNT], all_db; /* against a full-scale square; all: 100 to 5000 Hz */
};
MST_MUST_CHECK enum mst_status bands_meter_new(struct bands_meter **out, struct mst_error *err);
void bands_meter_free(struct bands_meter *m); /* accepts NULL */
/* Mean power from start_ms to end_ms; a stretch shorter than one window is measured around its
 * middle. */
MST_MUST_CHECK enum mst_status bands_measure(struct bands_meter *m, struct mst_take *take,
                                             double start_ms, double end_ms, struct bands *out,
                                             struct mst_error *err);

#endif
