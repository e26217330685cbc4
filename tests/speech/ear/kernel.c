/* The likelihood kernel against its plain twin; the laws of the duration tables. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "synth.h"

static void random_densities(struct ear_densities *d, int slots, uint64_t seed)
{
    struct mst_error err;
    assert_int_equal(ear_densities_make(d, slots, &err), MST_OK);
    for (int s = 0; s < slots; s++) {
        d->mix_of[s] = (uint8_t)(1 + (int)(synth_random(&seed) * EAR_MAX_MIX));
        for (int m = 0; m < d->mix_of[s]; m++) {
            int g = s * EAR_MAX_MIX + m;
            d->weight[g] = 1.0f / (float)d->mix_of[s];
            for (int k = 0; k < EAR_DIM; k++) {
                d->mean[g * EAR_DIM + k] = (float)(4 * synth_random(&seed) - 2);
                d->var[g * EAR_DIM + k] = (float)(0.1 + synth_random(&seed));
            }
        }
    }
    assert_int_equal(ear_densities_pack(d, &err), MST_OK);
}

static double plain_log_likelihood(const struct ear_densities *d, int slot, const float *x)
{
    double sum = 0;
    for (int m = 0; m < d->mix_of[slot]; m++) {
        int g = slot * EAR_MAX_MIX + m;
        double log_p = log((double)d->weight[g]);
        for (int k = 0; k < EAR_DIM; k++) {
            double var = (double)d->var[g * EAR_DIM + k];
            double off = (double)x[k] - (double)d->mean[g * EAR_DIM + k];
            log_p -= 0.5 * (log(2 * M_PI * var) + off * off / var);
        }
        sum += exp(log_p + 60); /* shifted, so that doubles reach down far enough */
    }
    return log(sum) - 60;
}

/* 0.01 + 1 part in 10⁴: floats summed over 39 dimensions against doubles. */
static void kernel_as_its_plain_twin(void **state)
{
    (void)state;
    const int counts[] = {1, 3, 16, 17, 144};
    uint64_t seed = 11;
    for (size_t c = 0; c < sizeof counts / sizeof *counts; c++) {
        struct ear_densities d;
        float rows[9 * EAR_ROW] = {0}, *out;
        random_densities(&d, counts[c], 20 + c);
        out = malloc(9 * (size_t)d.padded * sizeof *out);
        for (int i = 0; i < 9 * EAR_ROW; i++)
            rows[i] = i % EAR_ROW < EAR_DIM ? (float)(3 * synth_random(&seed) - 1.5) : 0;
        ear_log_likelihoods(&d, rows, 9, out);
        for (int t = 0; t < 9; t++)
            for (int s = 0; s < counts[c]; s++) {
                double plain = plain_log_likelihood(&d, s, rows + t * EAR_ROW);
                double fast = (double)out[t * d.padded + s];
                assert_true(fabs(plain - fast) < 0.01 + 1e-4 * fabs(plain));
            }
        free(out);
        ear_densities_clear(&d);
    }
}

/* What a token that lives for n frames has paid is the density over log duration, up to one
 * constant: highest at the median, falling to both sides. */
static void durations_add_up(void **state)
{
    (void)state;
    struct ear_durations d = {0};
    struct ear_lengths heard = {0};
    struct mst_error err;
    uint64_t seed = 3;
    for (int i = 0; i < 400; i++)
        ear_lengths_add(&heard, MST_LENGTH_GHUNNA,
                        (int32_t)(90 * exp(0.3 * (synth_random(&seed) + synth_random(&seed) - 1))));
    assert_int_equal(ear_durations_make(&d, &heard, NULL, 10, 1, &err), MST_OK);
    double median = (double)d.classes[MST_LENGTH_GHUNNA].median_frames;
    double sd = (double)d.classes[MST_LENGTH_GHUNNA].sd_log;
    assert_true(fabs(median - 90) < 4);
    const float *stay = d.stay + MST_LENGTH_GHUNNA * EAR_MAX_AGE;
    const float *leave = d.leave + MST_LENGTH_GHUNNA * EAR_MAX_AGE;
    double paid = 0, offset = 0;
    for (int age = 1; age < 260; age++) {
        paid += (double)stay[age];
        double z = log((age + 0.5) / median) / sd;
        if (fabs(z) > 3)
            continue;
        double total = paid + (double)leave[age], law = -0.5 * z * z;
        if (offset == 0)
            offset = total - law;
        assert_true(fabs(total - law - offset) < 0.02);
    }
    /* nothing heard: the prior at this pace; silence costs nothing */
    assert_true(fabs((double)d.classes[MST_LENGTH_NATURAL].median_frames - 22) < 0.1);
    for (int age = 0; age < EAR_MAX_AGE; age++)
        assert_true(d.stay[age] >= 0 && d.stay[age] <= 0);
    ear_lengths_clear(&heard);
    ear_durations_clear(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(kernel_as_its_plain_twin),
                                       cmocka_unit_test(durations_add_up)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
