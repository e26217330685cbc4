#include "analysis.h"

#include <math.h>

/* Below this lies what no microphone gives: silence put in by a program. */
static const double digital_silence_db = -100;
/* Room noise is what the quietest twentieth of the take is at most. */
static const double pause_part = 0.05;
/* A frame is voice when it stands this far above the noise … */
static const double above_noise_db = 6;
/* … and not further than this below the loud frames. */
static const double below_loud_db = 25;

void levels_add(struct levels *levels, const float power[SHORT_BINS])
{
    double sum = 0;
    for (int n = 2; n < SHORT_BINS; n++) /* rumble and offset below 60 Hz left out */
        sum += power[n];
    level_count(&levels->frames, power_db(sum));
}

struct level_summary levels_sum_up(const struct levels *levels)
{
    const struct level_counts *frames = &levels->frames;
    struct level_summary sum = {lowest_db, lowest_db, 0};
    if (frames->total == 0)
        return sum;
    const double loud = level_quantile(frames, 0.95, digital_silence_db);
    sum.noise_db = level_quantile(frames, pause_part, digital_silence_db);
    const double from = fmax(sum.noise_db + above_noise_db, loud - below_loud_db);
    double power = 0;
    int64_t active = 0;
    for (int n = 0; n < LEVEL_BINS; n++) {
        double db = lowest_db + (n + 0.5) / LEVEL_STEPS_PER_DB;
        if (db < from)
            continue;
        power += (double)frames->at[n] * pow(10, db / 10);
        active += frames->at[n];
    }
    if (active == 0) /* even sound without a pause: all of it is at the level of its noise */
        sum.speech_db = loud;
    else
        sum.speech_db = power_db(power / (double)active);
    sum.active_fraction = (double)active / (double)frames->total;
    return sum;
}
