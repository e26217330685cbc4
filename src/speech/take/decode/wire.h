/*
 * What the library and the decoder say to one another. Both ends are built
 * together and run on the same machine, so plain structs travel; but the
 * library believes nothing: every message is checked before it is used.
 *
 *   library ── socket ──► mistara-decode          one wire_request a file, with two descriptors:
 *                                                 the file, and the writing end of a pipe
 *   library ◄── socket ── mistara-decode          one wire_exit when that file's process has ended
 *   library ◄── pipe ──── its confined process    HELLO (it is confined) FORMAT SAMPLES… END
 */
#ifndef TAKE_WIRE_H
#define TAKE_WIRE_H

#include <stdint.h>

enum { WIRE_MAGIC = 0x4d535431, WIRE_BLOCK = 4096, WIRE_SOCKET_FD = 3 };

struct wire_request {
    uint32_t magic;
    uint32_t rate_hz;    /* of the samples that come back */
    int64_t max_samples; /* of these; reading ends there with WIRE_LIMIT */
};

struct wire_exit {
    uint32_t magic;
    int32_t wait_status; /* as waitpid() gives it; -1 = the process could not be started */
};

enum wire_kind { WIRE_HELLO = 1, WIRE_FORMAT, WIRE_SAMPLES, WIRE_END };

struct wire_head {
    uint32_t kind;
    uint32_t byte_count; /* of the body that follows */
};

struct wire_hello {
    uint32_t magic;
};

struct wire_format {
    char container[16];
    char codec[16];
    int32_t rate_hz;
    int32_t channels;
    double claimed_seconds; /* < 0: the header says nothing */
};

/* X(name, what the teacher is told after the quoted file name; NULL = no complaint) */
#define WIRE_OUTCOME_LIST(X)                                                                       \
    X(DONE, NULL)                                                                                  \
    X(LIMIT, NULL)                                                                                 \
    X(UNCONFINED, "cannot be read: this system offers no way to confine the decoder")              \
    X(NOT_SOUND, "is not a sound file that Mistara knows")                                         \
    X(NO_SOUND, "holds no sound")                                                                  \
    X(NO_CODEC, "holds sound of a kind that Mistara does not know")                                \
    X(NO_INDEX, "ends in the middle: the part that says where its sound lies is missing; "         \
                "save or copy it again from the device")                                           \
    X(BAD_RATE, "says its sound has a sampling rate that no speech has")                           \
    X(BROKEN, "is damaged; none of its sound can be read")                                         \
    X(NO_MEMORY, "asks for more memory than any sound needs; it is damaged or not honest")         \
    X(READ_FAILED, "cannot be read from its disk")

enum wire_outcome {
#define X(name, what) WIRE_##name,
    WIRE_OUTCOME_LIST(X)
#undef X
        WIRE_OUTCOME_COUNT
};

struct wire_end {
    uint32_t outcome;
    int32_t damage_count;         /* packets that could not be decoded */
    int64_t first_damage_sample;  /* in this file's own samples; -1 = none */
    int64_t source_sample_count;  /* per channel */
    int64_t clipped_sample_count; /* all channels */
    int64_t all_sample_count;     /* all channels */
    double peak;
    double channel_power_sum, mix_power_sum; /* mean over channels; of the mix */
    double gap_seconds;
    int32_t gap_count;
    int32_t cut_short;
    char detail[120]; /* for a log: what the decoding library said last */
};

#endif
