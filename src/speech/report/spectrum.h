/*
 * spectrum.h – the picture of a sound: frequency upwards, time to the right,
 * darker is stronger. For looking at, not for measuring: the ear has its own
 * features.
 */
#ifndef SPEECH_REPORT_SPECTRUM_H
#define SPEECH_REPORT_SPECTRUM_H

#include <mistara/take.h>

struct spectrum;
/* speech_dbfs: the level that is drawn black. */
MST_MUST_CHECK enum mst_status spectrum_new(double speech_dbfs, struct spectrum **out,
                                            struct mst_error *err);
void spectrum_free(struct spectrum *s); /* accepts NULL */
enum { SPECTRUM_ROWS = 64, SPECTRUM_TOP_HZ = 5500 };
/* columns × SPECTRUM_ROWS grey levels, 255 = white, from the top. */
MST_MUST_CHECK enum mst_status spectrum_draw(struct spectrum *s, struct mst_take *take,
                                             double start_ms, double end_ms, int columns,
                                             uint8_t *grey, struct mst_error *err);

#endif
