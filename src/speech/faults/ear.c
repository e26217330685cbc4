/* ear.c – what a search for faults needs of a take: its units in a row and a voice to judge by. */
#include "parts.h"

#include <math.h>
#include <stdlib.h>

enum mst_status mst_fault_ear_open(const struct mst_timeline *timeline,
                                   const struct mst_features *features,
                                   const struct mst_voice *voice, int threads,
                                   struct mst_fault_ear **out, struct mst_error *err)
{
    *out = NULL;
    if (voice && (fabs(voice->band.low_hz - features->options.low_hz) > 1 ||
                  fabs(voice->band.high_hz - features->options.high_hz) > 1))
        return mst_fail(err, MST_USAGE,
                        "the voice was learned on the band %.0f–%.0f Hz; listen to the take on "
                        "the same",
                        voice->band.low_hz, voice->band.high_hz);
    struct mst_fault_ear *ear = calloc(1, sizeof *ear);
    if (!ear)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
    ear->timeline = timeline;
    ear->with_voice = voice != NULL;
    enum mst_status status =
        fault_heard_make(&ear->heard, timeline, (int64_t)features->frame_count, err);
    if (!status)
        status = fault_judge_make(&ear->judge, &ear->heard, features, voice,
                                  threads > 0 ? threads : 2, err);
    if (!status && voice)
        status = fault_judge_make(&ear->alone, &ear->heard, features, NULL,
                                  threads > 0 ? threads : 2, err);
    ear->paced = ear->judge;
    if (voice)
        ear->paced.model.durations = ear->alone.model.durations;
    if (status) {
        mst_fault_ear_close(ear);
        return status;
    }
    *out = ear;
    return MST_OK;
}

void mst_fault_ear_close(struct mst_fault_ear *ear)
{
    if (!ear)
        return;
    fault_heard_clear(&ear->heard);
    fault_judge_clear(&ear->judge);
    fault_judge_clear(&ear->alone);
    free(ear);
}
