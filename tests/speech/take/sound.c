#include "sound.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static char folder[256];

void folder_open(void)
{
    const char *tmp = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/mistara-take-XXXXXX", tmp && *tmp ? tmp : P_tmpdir);
    assert_non_null(mkdtemp(folder));
}

void folder_close(void)
{
    char command[400];
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    assert_int_equal(system(command), 0);
}

const char *in_folder(const char *name)
{
    static char ring[16][400];
    static unsigned next;
    char *path = ring[next++ % 16];
    snprintf(path, sizeof ring[0], "%s/%s", folder, name);
    return path;
}

uint32_t roll(struct dice *dice)
{
    /* SplitMix64, Steele, Lea and Flood 2014 */
    uint64_t z = dice->state += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return (uint32_t)((z ^ (z >> 31)) >> 32);
}

double roll_unit(struct dice *dice)
{
    return (roll(dice) + 0.5) / 4294967296.0;
}

double roll_normal(struct dice *dice)
{
    double sum = 0;
    for (int n = 0; n < 12; n++)
        sum += roll_unit(dice);
    return sum - 6;
}

/* --- sounds --------------------------------------------------------------------- */

void add_tone(float *to, size_t count, int rate_hz, double hz, double amplitude)
{
    for (size_t n = 0; n < count; n++)
        to[n] += (float)(amplitude * sin(2 * M_PI * hz * (double)n / rate_hz));
}

void add_noise(float *to, size_t count, double deviation, uint64_t seed)
{
    struct dice dice = {seed};
    for (size_t n = 0; n < count; n++)
        to[n] += (float)(deviation * roll_normal(&dice));
}

struct resonance {
    double a1, a2, gain, y1, y2;
};

static void tune(struct resonance *r, double hz, double width_hz, int rate_hz)
{
    double radius = exp(-M_PI * width_hz / rate_hz);
    r->a1 = 2 * radius * cos(2 * M_PI * hz / rate_hz);
    r->a2 = -radius * radius;
    r->gain = 1 - r->a1 - r->a2;
}

static double ring_out(struct resonance *r, double x)
{
    double y = r->gain * x + r->a1 * r->y1 + r->a2 * r->y2;
    r->y2 = r->y1;
    r->y1 = y;
    return y;
}

void add_syllables(float *to, size_t count, int rate_hz, uint64_t seed)
{
    static const double vowels[5][2] = {
        {700, 1200}, {300, 2300}, {320, 800}, {500, 1800}, {480, 950}};
    struct dice dice = {seed};
    struct resonance low = {0}, high = {0};
    double phase = 0, tilt = 0, last = 0;
    size_t at = 0;
    for (int syllable = 0; at < count; syllable++) {
        const double *vowel = vowels[roll(&dice) % 5];
        const double pitch = 110 + 60 * roll_unit(&dice), glide = 30 * (roll_unit(&dice) - 0.5);
        const size_t hiss = (size_t)(0.09 * rate_hz);
        const size_t hold = (size_t)((0.12 + 0.3 * roll_unit(&dice)) * rate_hz);
        const size_t rest = syllable % 6 == 5 ? (size_t)(0.5 * rate_hz) : (size_t)(0.03 * rate_hz);
        tune(&low, vowel[0], 80, rate_hz);
        tune(&high, vowel[1], 120, rate_hz);
        for (size_t n = 0; n < hiss && at < count; n++, at++) {
            double x = roll_normal(&dice), swell = sin(M_PI * (double)n / (double)hiss);
            to[at] += (float)(0.03 * swell * (x - last)); /* differenced: weight above 4 kHz */
            last = x;
        }
        for (size_t n = 0; n < hold && at < count; n++, at++) {
            double part = (double)n / (double)hold;
            double swell = fmin(1, 8 * fmin(part, 1 - part));
            phase += (pitch + glide * part) / rate_hz;
            double pulse = phase >= 1 ? (phase -= 1, 1.0) : 0.0;
            tilt = 0.9 * tilt + pulse;
            double x = ring_out(&low, tilt) + 0.7 * ring_out(&high, tilt);
            to[at] += (float)(0.25 * swell * x);
        }
        at += rest;
    }
}

void add_chords(float *to, size_t count, int rate_hz, double amplitude)
{
    static const double notes[4][3] = {
        {220.0, 277.2, 329.6}, {246.9, 311.1, 370.0}, {196.0, 246.9, 293.7}, {174.6, 220.0, 261.6}};
    for (size_t n = 0; n < count; n++) {
        const double t = (double)n / rate_hz;
        const double *chord = notes[(int)(t / 2) % 4];
        for (int voice = 0; voice < 3; voice++)
            for (int k = 1; k <= 6; k++)
                to[n] += (float)(amplitude / 3 / k * sin(2 * M_PI * k * chord[voice] * t + k));
    }
}

void low_pass(float *samples, size_t count, int rate_hz, double hz)
{
    enum { HALF = 127 };
    double taps[2 * HALF + 1];
    float *out = calloc(count, sizeof *out);
    assert_non_null(out);
    const double f = hz / rate_hz;
    for (int k = -HALF; k <= HALF; k++) {
        double w = 0.42 + 0.5 * cos(M_PI * k / (HALF + 1)) + 0.08 * cos(2 * M_PI * k / (HALF + 1));
        taps[k + HALF] = w * (k ? sin(2 * M_PI * f * k) / (M_PI * k) : 2 * f);
    }
    for (size_t n = 0; n < count; n++) {
        double sum = 0;
        for (int k = -HALF; k <= HALF; k++) {
            ptrdiff_t from = (ptrdiff_t)n - k;
            if (from >= 0 && (size_t)from < count)
                sum += taps[k + HALF] * (double)samples[from];
        }
        out[n] = (float)sum;
    }
    memcpy(samples, out, count * sizeof *samples);
    free(out);
}

double power_of(const float *samples, size_t count)
{
    double sum = 0;
    for (size_t n = 0; n < count; n++)
        sum += (double)samples[n] * (double)samples[n];
    return count ? sum / (double)count : 0;
}

/* --- files ------------------------------------------------------------------------ */

void write_bytes(const char *path, const void *bytes, size_t count)
{
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(bytes, 1, count, f), count);
    assert_int_equal(fclose(f), 0);
}

unsigned char *read_bytes(const char *path, size_t *count)
{
    FILE *f = fopen(path, "rb");
    assert_non_null(f);
    fseek(f, 0, SEEK_END);
    long size = ftell(f);
    rewind(f);
    unsigned char *bytes = malloc((size_t)size + 1);
    assert_non_null(bytes);
    *count = fread(bytes, 1, (size_t)size, f);
    fclose(f);
    return bytes;
}

static void put(unsigned char **at, uint64_t v, int bytes)
{
    for (int n = 0; n < bytes; n++)
        *(*at)++ = (unsigned char)(v >> (8 * n));
}

void write_wav(const char *path, struct wav shape, const float *samples, size_t count)
{
    const int width = abs(shape.bits) / 8;
    const uint32_t data = (uint32_t)(count * (size_t)width);
    const uint32_t claimed = shape.claimed_data_bytes ? shape.claimed_data_bytes : data;
    unsigned char *bytes = malloc(44 + data), *at = bytes;
    assert_non_null(bytes);
    memcpy(at, "RIFF", 4), at += 4;
    put(&at, claimed + 36, 4);
    memcpy(at, "WAVEfmt ", 8), at += 8;
    put(&at, 16, 4);
    put(&at, shape.bits < 0 ? 3 : 1, 2);
    put(&at, (unsigned)shape.channels, 2);
    put(&at, (unsigned)shape.rate_hz, 4);
    put(&at, (uint64_t)shape.rate_hz * (unsigned)(shape.channels * width), 4);
    put(&at, (unsigned)(shape.channels * width), 2);
    put(&at, (unsigned)abs(shape.bits), 2);
    memcpy(at, "data", 4), at += 4;
    put(&at, claimed, 4);
    for (size_t n = 0; n < count; n++) {
        if (shape.bits < 0) {
            memcpy(at, &samples[n], 4), at += 4;
            continue;
        }
        const double full = ldexp(1, shape.bits - 1);
        double v = fmin(fmax(round((double)samples[n] * full), -full), full - 1);
        put(&at, (uint64_t)(int64_t)v + (shape.bits == 8 ? 128 : 0), width);
    }
    write_bytes(path, bytes, (size_t)(at - bytes));
    free(bytes);
}

void ffmpeg(const char *arguments, ...)
{
    char command[2000] = "ffmpeg -nostdin -v error -y ";
    const size_t used = strlen(command);
    va_list list;
    va_start(list, arguments);
    vsnprintf(command + used, sizeof command - used, arguments, list);
    va_end(list);
    if (system(command) != 0)
        fail_msg("this failed: %s", command);
}

enum mst_status take_try(const char *path, struct mst_take **take, struct mst_error *err)
{
    memset(err, 0, sizeof *err);
    enum mst_status status = mst_take_open(&path, 1, NULL, take, err);
    if (status == MST_OK)
        status = mst_take_read_all(*take, err);
    return status;
}

struct mst_take *take_whole(const char *path, float **samples, size_t *count)
{
    struct mst_take *take = NULL;
    struct mst_error err;
    if (take_try(path, &take, &err) != MST_OK)
        fail_msg("%s (%s)", err.message, err.where);
    const size_t all = (size_t)mst_take_sample_count(take);
    *samples = calloc(all + 1, sizeof **samples);
    assert_non_null(*samples);
    assert_int_equal(mst_take_read_at(take, 0, *samples, all, count, &err), MST_OK);
    assert_int_equal(*count, all);
    return take;
}

int has_warning(const struct mst_take *take, enum mst_take_warning_kind kind)
{
    struct mst_quality q;
    mst_take_quality(take, &q);
    for (int n = 0; n < q.warning_count; n++)
        if (q.warnings[n].kind == kind)
            return 1;
    return 0;
}
