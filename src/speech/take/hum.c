#include "analysis.h"

#include <math.h>

/*
 * A mains hum never stops and never sways: its lines stand above their
 * surroundings even in the quietest tenth of the take, and are as strong there
 * as in the quietest fifth. A voice passes 100 Hz too, but comes and goes, and
 * noise in one bin sways by 6 dB between the two.
 */
static const double always_part = 0.1;
static const double sway_db = 4.5; /* between the quietest twentieth and fifth */
static const double line_db = 9;   /* above the surroundings */
static const double hz_per_bin = 16000.0 / LONG_FRAME;

void hum_add(struct hum *hum, const float power[LONG_BINS])
{
    for (int n = 0; n < HUM_BINS; n++)
        level_count(&hum->bins[n], power_db(power[n]));
}

/* The power of the line at hz, and how far it stands out; both of the quiet tenth. */
static double line_at(const double quiet[HUM_BINS], double hz, double *stands_out_db)
{
    const int at = (int)lround(hz / hz_per_bin);
    double around[8];
    int count = 0;
    for (int d = 4; d <= 7; d++) { /* beyond the window's main lobe, before the next multiple */
        around[count++] = at - d > 0 ? quiet[at - d] : quiet[at + d];
        around[count++] = quiet[at + d];
    }
    for (int i = 1; i < count; i++)
        for (int j = i; j > 0 && around[j - 1] > around[j]; j--) {
            double t = around[j];
            around[j] = around[j - 1];
            around[j - 1] = t;
        }
    double power = 0, top = lowest_db;
    for (int d = -2; d <= 2; d++) {
        power += pow(10, quiet[at + d] / 10);
        top = fmax(top, quiet[at + d]);
    }
    *stands_out_db = top - (around[3] + around[4]) / 2;
    return power;
}

struct hum_summary hum_sum_up(const struct hum *hum)
{
    struct hum_summary best = {0, lowest_db};
    double quiet[HUM_BINS], sway[HUM_BINS];
    if (hum->bins[0].total < 4)
        return best;
    for (int n = 0; n < HUM_BINS; n++) {
        quiet[n] = level_quantile(&hum->bins[n], always_part, lowest_db);
        sway[n] = level_quantile(&hum->bins[n], 0.20, lowest_db) -
                  level_quantile(&hum->bins[n], 0.05, lowest_db);
    }
    for (int mains = 50; mains <= 60; mains += 10) {
        double power = 0, strongest = 0;
        int lines = 0;
        for (int k = 1; k * mains <= 440; k++) {
            double out;
            double line = line_at(quiet, k * mains, &out);
            if (out < line_db || sway[lround(k * mains / hz_per_bin)] > sway_db)
                continue;
            lines++;
            power += line;
            strongest = fmax(strongest, out);
        }
        /* Two lines, or one that nothing but a tone can be. */
        if ((lines >= 2 || strongest >= 2 * line_db) && power_db(power) > best.db)
            best = (struct hum_summary){mains, power_db(power)};
    }
    return best;
}
