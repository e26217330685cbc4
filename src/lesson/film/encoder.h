/* encoder.h – the library's side of mistara-encode. */
#ifndef LESSON_FILM_ENCODER_H
#define LESSON_FILM_ENCODER_H

#include "encode/wire.h"

#include <mistara/base.h>

struct encoder;

/* Starts the program; it writes under path, which the caller renames or removes. */
MST_MUST_CHECK enum mst_status encoder_open(const char *path, const struct wire_open *open,
                                            const struct wire_chapter *chapters,
                                            struct encoder **out, struct mst_error *err);
/* All three block while the program has more to do than it can hold. */
MST_MUST_CHECK enum mst_status encoder_sound(struct encoder *e, const float *samples, size_t count,
                                             struct mst_error *err);
MST_MUST_CHECK enum mst_status encoder_picture(struct encoder *e, const uint8_t *planes, size_t len,
                                               int32_t repeat, struct mst_error *err);
MST_MUST_CHECK enum mst_status encoder_same(struct encoder *e, int32_t repeat,
                                            struct mst_error *err);
/* Waits until the file is whole. */
MST_MUST_CHECK enum mst_status encoder_end(struct encoder *e, struct mst_error *err);
/* Ends the program wherever it stands; accepts NULL. */
void encoder_close(struct encoder *e);

#endif
