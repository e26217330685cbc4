/* slow.c – slower without being lower: Rubber Band, which looks at the whole before it begins. */
#include "parts.h"

#include <math.h>
#include <rubberband/rubberband-c.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK = 4096 };

/* What has come out so far, as much as there is room for. */
static void take_out(RubberBandState state, float *out, size_t room, size_t *have)
{
    for (int ready; (ready = rubberband_available(state)) > 0;) {
        float beyond[BLOCK], *to = beyond;
        unsigned want = (unsigned)ready < BLOCK ? (unsigned)ready : BLOCK;
        if (*have < room) {
            to = out + *have;
            want = want < room - *have ? want : (unsigned)(room - *have);
        }
        unsigned got = rubberband_retrieve(state, &to, want);
        if (got == 0)
            return;
        *have += to == beyond ? 0 : got;
    }
}

enum mst_status film_slow(const float *samples, size_t count, int32_t rate_hz, int percent,
                          float **out, size_t *out_count, struct mst_error *err)
{
    double ratio = 100.0 / percent;
    size_t room = (size_t)llround((double)count * ratio), have = 0;
    float *slow = malloc((room + 1) * sizeof *slow);
    *out = slow;
    *out_count = room;
    if (!slow)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while slowing the sound");
    if (percent == 100) {
        memcpy(slow, samples, count * sizeof *slow);
        return MST_OK;
    }
    RubberBandState state =
        rubberband_new((unsigned)rate_hz, 1,
                       RubberBandOptionProcessOffline | RubberBandOptionEngineFiner |
                           RubberBandOptionThreadingNever,
                       ratio, 1.0);
    rubberband_set_expected_input_duration(state, (unsigned)count);
    rubberband_set_max_process_size(state, BLOCK);
    for (size_t at = 0; at < count; at += BLOCK) {
        const float *block = samples + at;
        unsigned len = (unsigned)(count - at < BLOCK ? count - at : BLOCK);
        rubberband_study(state, &block, len, at + len == count);
    }
    for (size_t at = 0; at < count; at += BLOCK) {
        const float *block = samples + at;
        unsigned len = (unsigned)(count - at < BLOCK ? count - at : BLOCK);
        rubberband_process(state, &block, len, at + len == count);
        take_out(state, slow, room, &have);
    }
    rubberband_delete(state);
    memset(slow + have, 0, (room - have) * sizeof *slow); /* the last few, where it ends early */
    return MST_OK;
}
