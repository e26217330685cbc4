#include "analysis.h"

/*
 * The voice reaches a band when it makes that band louder than its pauses do:
 * its loud twentieth stands well above its quiet tenth. Even noise spreads by
 * 6 dB between the two in a band this wide, a voice by 20 and more.
 */
static const double above_pauses_db = 10;
/* Weaker than this against the strongest band is the filter's skirt or a coder's crumbs. */
static const double below_strongest_db = 72;
/* Nothing this weak can be heard or used. */
static const double faintest_db = -104;

void band_add(struct band *band, const float power[SHORT_BINS])
{
    for (int b = 0; b < BAND_COUNT; b++) {
        double sum = 0;
        for (int n = 0; n < BAND_BINS; n++)
            sum += power[b * BAND_BINS + n];
        level_count(&band->bands[b], power_db(sum));
    }
}

double band_edge_hz(const struct band *band)
{
    double loud[BAND_COUNT], strongest = lowest_db;
    for (int b = 0; b < BAND_COUNT; b++) {
        loud[b] = level_quantile(&band->bands[b], 0.95, lowest_db);
        if (loud[b] > strongest)
            strongest = loud[b];
    }
    for (int b = BAND_COUNT - 1; b >= 0; b--) {
        double quiet = level_quantile(&band->bands[b], 0.10, lowest_db);
        if (loud[b] > faintest_db && loud[b] > strongest - below_strongest_db &&
            loud[b] - quiet >= above_pauses_db)
            return (b + 1) * 250.0;
    }
    return 0;
}
