/* mux.h – one file being written by FFmpeg's libraries: a film, or sound alone. */
#ifndef FILM_ENCODE_MUX_H
#define FILM_ENCODE_MUX_H

#include "wire.h"

#include <stddef.h>

struct mux;

/* What went wrong, in FFmpeg's words; empty while all is well. */
const char *mux_detail(const struct mux *mux);

/* All give 0, or a negative number with mux_detail() set. chapters are copied. */
int mux_new(const char *path, const struct wire_open *open, const struct wire_chapter *chapters,
            struct mux **out);
int mux_sound(struct mux *mux, const float *samples, int count);
/* planes: Y, Cb, Cr without padding; NULL = the last picture again. */
int mux_picture(struct mux *mux, const uint8_t *planes, int repeat);
size_t mux_picture_bytes(const struct mux *mux);
int mux_end(struct mux *mux);
void mux_free(struct mux *mux);

#endif
