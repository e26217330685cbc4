#include "take.h"

void mst_take_quality(const struct mst_take *take, struct mst_quality *out)
{
    const struct analysis *a = take->analysis;
    struct level_summary levels = levels_sum_up(&a->levels);
    struct hum_summary hum = hum_sum_up(&a->hum);
    *out = (struct mst_quality){.seconds = (double)a->sample_count / MST_TAKE_RATE_HZ,
                                .peak_dbfs = power_db(a->peak * a->peak),
                                .speech_dbfs = levels.speech_db,
                                .noise_dbfs = levels.noise_db,
                                .snr_db = levels.speech_db - levels.noise_db,
                                .active_fraction = levels.active_fraction,
                                .band_edge_hz = band_edge_hz(&a->band),
                                .hum_hz = hum.hz,
                                .hum_db = hum.db - levels.speech_db,
                                .music_fraction = harmony_fraction(&a->harmony)};
}
