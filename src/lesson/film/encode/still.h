/*
 * still.h – a picture that is the one before it, without an encoder: one slice
 * of H.264 in which every macroblock is skipped and to which no later picture
 * refers (ITU-R H.264, 7.3.3 and 7.3.4). With POC type 2 one such picture may
 * stand between two that are referred to; so an encoder has to be shown only
 * every second picture of a page that stands still.
 */
#ifndef FILM_ENCODE_STILL_H
#define FILM_ENCODE_STILL_H

#include <stddef.h>
#include <stdint.h>

enum { STILL_BYTES = 32 };

struct still {
    int possible;
    int frame_num_bits, macroblocks;
};

/* From the parameter sets before the pictures (start codes, SPS, PPS): whether it can be done, as
 * it can for constrained baseline with POC type 2 and CAVLC. */
void still_open(struct still *s, const uint8_t *sets, size_t len, int width, int height);
/* The picture after the one in this packet; 0: cannot be told. */
size_t still_after(const struct still *s, const uint8_t *packet, size_t len,
                   uint8_t out[STILL_BYTES]);

#endif
