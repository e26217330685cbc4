#include "still.h"

#include <string.h>

enum {
    SLICE = 1,
    SLICE_IDR = 5,
    SPS = 7,
    PPS = 8,
    BASELINE = 66,
    P_SLICES = 5,
    POC_LIKE_CODING = 2
};

/* --- bits ---------------------------------------------------------------------------- */

struct bits {
    const uint8_t *bytes;
    size_t len, at; /* in bits */
};

static unsigned read_bits(struct bits *b, int count)
{
    unsigned value = 0;
    for (; count > 0; count--, b->at++) {
        size_t byte = b->at / 8;
        value = value << 1 | (byte < b->len ? b->bytes[byte] >> (7 - b->at % 8) & 1u : 0);
    }
    return value;
}

/* Exp-Golomb, 9.1. */
static unsigned read_ue(struct bits *b)
{
    int zeros = 0;
    while (zeros < 31 && b->at < 8 * b->len && read_bits(b, 1) == 0)
        zeros++;
    return (1u << zeros) - 1 + read_bits(b, zeros);
}

struct writer {
    uint8_t bytes[STILL_BYTES];
    size_t at;
};

static void write_bits(struct writer *w, unsigned value, int count)
{
    for (; count > 0; count--, w->at++)
        if (value >> (count - 1) & 1u)
            w->bytes[w->at / 8] |= (uint8_t)(0x80u >> w->at % 8);
}

static void write_ue(struct writer *w, unsigned value)
{
    int length = 0;
    while ((value + 1) >> (length + 1))
        length++;
    write_bits(w, 0, length);
    write_bits(w, value + 1, length + 1);
}

/* --- units between start codes ---------------------------------------------------------- */

/* The first unit of one of two kinds; its bytes behind the head. */
static struct bits unit_of(const uint8_t *bytes, size_t len, int kind, int other)
{
    for (size_t n = 0; n + 3 < len; n++) {
        int found =
            bytes[n] == 0 && bytes[n + 1] == 0 && bytes[n + 2] == 1 ? bytes[n + 3] & 31 : -1;
        if (found == kind || found == other)
            return (struct bits){bytes + n + 4, len - n - 4, 0};
    }
    return (struct bits){NULL, 0, 0};
}

void still_open(struct still *s, const uint8_t *sets, size_t len, int width, int height)
{
    struct bits sps = unit_of(sets, len, SPS, SPS), pps = unit_of(sets, len, PPS, PPS);
    *s = (struct still){.macroblocks = ((width + 15) / 16) * ((height + 15) / 16)};
    unsigned profile = read_bits(&sps, 8);
    (void)read_bits(&sps, 16); /* constraints, level */
    (void)read_ue(&sps);       /* its number */
    s->frame_num_bits = (int)read_ue(&sps) + 4;
    unsigned order = read_ue(&sps);
    (void)read_ue(&pps);
    (void)read_ue(&pps);
    unsigned cabac = read_bits(&pps, 1);
    s->possible = sps.len > 0 && pps.len > 0 && profile == BASELINE && order == POC_LIKE_CODING &&
                  !cabac && s->frame_num_bits <= 16;
}

size_t still_after(const struct still *s, const uint8_t *packet, size_t len,
                   uint8_t out[STILL_BYTES])
{
    struct bits slice = unit_of(packet, len, SLICE, SLICE_IDR);
    struct writer w = {{0}, 0};
    if (!s->possible || slice.len == 0)
        return 0;
    (void)read_ue(&slice); /* first macroblock */
    (void)read_ue(&slice); /* kind of slice */
    (void)read_ue(&slice); /* picture parameter set */
    unsigned frame_num = read_bits(&slice, s->frame_num_bits);
    write_ue(&w, 0);
    write_ue(&w, P_SLICES);
    write_ue(&w, 0);
    write_bits(&w, frame_num + 1, s->frame_num_bits); /* counts pictures that are referred to */
    write_bits(&w, 0, 1);                             /* as many references as the set says */
    write_bits(&w, 0, 1);                             /* in their usual order */
    write_ue(&w, 0);                                  /* no change of the quantiser */
    write_ue(&w, 1);                                  /* no deblocking */
    write_ue(&w, (unsigned)s->macroblocks);           /* all of them skipped */
    write_bits(&w, 1, 1);                             /* the end, filled up with zeros */
    size_t count = (w.at + 7) / 8, n = 0, zeros = 0;
    const uint8_t head[] = {0, 0, 0, 1, SLICE}; /* nal_ref_idc 0 */
    memcpy(out, head, sizeof head);
    n = sizeof head;
    for (size_t k = 0; k < count && n + 1 < STILL_BYTES; k++) {
        if (zeros == 2 && w.bytes[k] <= 3) { /* no start code within */
            out[n++] = 3;
            zeros = 0;
        }
        zeros = w.bytes[k] == 0 ? zeros + 1 : 0;
        out[n++] = w.bytes[k];
    }
    return n;
}
