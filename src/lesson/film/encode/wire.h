/*
 * wire.h – what the library tells mistara-encode over a stream socket, its
 * descriptor 0: OPEN, a CHAPTER for each, then SOUND and PICTURE or SAME in
 * any order in which neither runs ahead of the other by much, then END. Each
 * message is a head and its bytes, in this machine's byte order: both ends
 * come from one build. The program answers once, with a wire_result, when the
 * file is whole or when it gives up.
 */
#ifndef FILM_ENCODE_WIRE_H
#define FILM_ENCODE_WIRE_H

#include <stdint.h>

enum { WIRE_SOCKET = 0, WIRE_TITLE = 120, WIRE_SOUND_MOST = 1 << 16 };

enum wire_kind {
    WIRE_OPEN = 1, /* struct wire_open; the file's path is the program's argument */
    WIRE_CHAPTER,  /* struct wire_chapter */
    WIRE_SOUND,    /* float samples, one channel */
    WIRE_PICTURE,  /* int32_t repeat, then Y, Cb, Cr planes (4:2:0) without padding */
    WIRE_SAME,     /* int32_t repeat: the last picture again */
    WIRE_END
};
enum wire_format { WIRE_MP4, WIRE_WEBM, WIRE_FLAC };

struct wire_head {
    uint32_t kind, byte_count;
};
struct wire_open {
    uint32_t format;
    int32_t width, height, fps; /* 0 0 0: sound alone */
    int32_t rate_hz, chapter_count;
    char title[WIRE_TITLE];
};
struct wire_chapter {
    int32_t start_ms, end_ms;
    char title[WIRE_TITLE];
};
struct wire_result {
    int32_t ok;
    char detail[160];
};

#endif
