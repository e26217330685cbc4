/*
 * XXH64, seed 0, after the published specification ("xxHash fast digest
 * algorithm", 0.1.1): quick enough to check the whole text at every start.
 */
#include "pack_format.h"

#include <endian.h>
#include <string.h>

static const uint64_t prime1 = 0x9E3779B185EBCA87U, prime2 = 0xC2B2AE3D27D4EB4FU,
                      prime3 = 0x165667B19E3779F9U, prime4 = 0x85EBCA77C2B2AE63U,
                      prime5 = 0x27D4EB2F165667C5U;

static uint64_t rotate_left(uint64_t x, int bits)
{
    return x << bits | x >> (64 - bits);
}

static uint64_t read64(const unsigned char *p)
{
    uint64_t x;
    memcpy(&x, p, sizeof x);
    return le64toh(x);
}

static uint64_t read32(const unsigned char *p)
{
    uint32_t x;
    memcpy(&x, p, sizeof x);
    return le32toh(x);
}

static uint64_t mix_lane(uint64_t lane, uint64_t input)
{
    return rotate_left(lane + input * prime2, 31) * prime1;
}

static uint64_t merge_lane(uint64_t hash, uint64_t lane)
{
    return (hash ^ mix_lane(0, lane)) * prime1 + prime4;
}

uint64_t text_checksum(const void *bytes, size_t len)
{
    const unsigned char *p = bytes, *end = p + len;
    uint64_t hash = prime5;

    if (len >= 32) {
        uint64_t lane[4] = {prime1 + prime2, prime2, 0, 0 - prime1};
        for (; end - p >= 32; p += 32)
            for (int i = 0; i < 4; i++)
                lane[i] = mix_lane(lane[i], read64(p + 8 * i));
        hash = rotate_left(lane[0], 1) + rotate_left(lane[1], 7) + rotate_left(lane[2], 12) +
               rotate_left(lane[3], 18);
        for (int i = 0; i < 4; i++)
            hash = merge_lane(hash, lane[i]);
    }
    hash += len;

    for (; end - p >= 8; p += 8)
        hash = rotate_left(hash ^ mix_lane(0, read64(p)), 27) * prime1 + prime4;
    if (end - p >= 4) {
        hash = rotate_left(hash ^ read32(p) * prime1, 23) * prime2 + prime3;
        p += 4;
    }
    for (; p < end; p++)
        hash = rotate_left(hash ^ *p * prime5, 11) * prime1;

    hash = (hash ^ hash >> 33) * prime2;
    hash = (hash ^ hash >> 29) * prime3;
    return hash ^ hash >> 32;
}
