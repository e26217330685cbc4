#include "spoil.h"

#include "stage.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { RATE = MST_TAKE_RATE_HZ, TALKERS = 7 };

static double power_of(const float *x, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += (double)x[i] * (double)x[i] / (double)(n ? n : 1);
    return sum;
}

static void add(float *x, const float *y, size_t n, double db_below)
{
    double gain = sqrt(power_of(x, n) / (power_of(y, n) + 1e-20)) * pow(10, -db_below / 20);
    for (size_t i = 0; i < n; i++)
        x[i] += (float)(gain * (double)y[i]);
}

static void disturbance(const char *how, uint64_t *seed, const float *x, size_t n, float *out)
{
    for (size_t i = 0; i < n; i++) {
        double v = 0, t = (double)i / RATE;
        if (strncmp(how, "noise", 5) == 0)
            v = 2 * chance(seed) - 1;
        else if (strncmp(how, "hum", 3) == 0)
            for (int h = 1; h <= 9; h += 2)
                v += sin(2 * M_PI * 50 * h * t) / h;
        else /* the take itself at seven other moments, every other time backwards */
            for (size_t k = 1; k <= TALKERS; k++) {
                size_t at = (i + k * n / (TALKERS + 1)) % n;
                v += (double)x[k % 2 ? at : n - 1 - at];
            }
        out[i] = (float)v;
    }
}

/* Decaying noise as the room's answer, one echo in 2 ms on average (J. A. Moorer, Computer Music
 * Journal 3, 1979). */
static void room(uint64_t *seed, const float *x, size_t n, float *out)
{
    enum { ECHOES = 300 };
    float *late = calloc(n + 1, sizeof *late);
    for (int e = 0; e < ECHOES; e++) {
        double seconds = 0.01 + 0.6 * chance(seed);
        double gain = pow(10, -3 * seconds / 0.6) * (chance(seed) < 0.5 ? 1 : -1);
        size_t delay = (size_t)(seconds * RATE);
        for (size_t i = delay; i < n; i++)
            late[i] += (float)(gain * (double)x[i - delay]);
    }
    add(out, late, n, 3);
    free(late);
}

/* Four poles one after another: 24 dB an octave above the edge. */
static void band(double edge_hz, float *x, size_t n)
{
    double low[4] = {0}, a = 1 - exp(-2 * M_PI * edge_hz / RATE);
    for (size_t i = 0; i < n; i++) {
        double v = (double)x[i];
        for (int k = 0; k < 4; k++)
            v = low[k] += a * (v - low[k]);
        x[i] = (float)v;
    }
}

static float *mp3(const float *x, size_t n, size_t *count)
{
    char folder[] = "spoil-XXXXXX", wave[64], coded[64], line[400];
    struct mst_error err;
    struct mst_take *take;
    if (!mkdtemp(folder))
        abort();
    snprintf(wave, sizeof wave, "%s/a.wav", folder);
    snprintf(coded, sizeof coded, "%s/a.mp3", folder);
    snprintf(line, sizeof line, "ffmpeg -v error -y -i %s -c:a libmp3lame -b:a 24k %s", wave,
             coded);
    const char *path = coded;
    if (mst_wav_write(wave, x, n, MST_TAKE_RATE_HZ, &err) || system(line) != 0 ||
        mst_take_open(&path, 1, NULL, &take, &err) || mst_take_read_all(take, &err)) {
        fprintf(stderr, "MP3 cannot be made: is the ffmpeg program installed?\n");
        exit(1);
    }
    size_t all = (size_t)mst_take_sample_count(take), got;
    float *out = malloc((all + 1) * sizeof *out);
    mst_take_rewind(take);
    *count = 0;
    do {
        if (mst_take_read(take, out + *count, all - *count, &got, &err))
            stage_fail("MP3", &err);
        *count += got;
    } while (got > 0 && *count < all);
    mst_take_close(take);
    unlink(wave);
    unlink(coded);
    rmdir(folder);
    return out;
}

static float *faster(double step, const float *x, size_t n, size_t *count)
{
    *count = (size_t)((double)(n - 1) / step);
    float *out = malloc((*count + 1) * sizeof *out);
    for (size_t i = 0; i < *count; i++) {
        size_t at = (size_t)((double)i * step);
        double part = (double)i * step - (double)at;
        out[i] = (float)((double)x[at] * (1 - part) + (double)x[at + 1] * part);
    }
    return out;
}

float *spoil(const char *how, uint64_t *seed, const float *x, size_t n, size_t *count)
{
    int db = 0, percent = 0;
    if (strcmp(how, "mp3") == 0)
        return mp3(x, n, count);
    if (sscanf(how, "warp%d", &percent) == 1)
        return faster(percent / 100.0, x, n, count);
    float *out = malloc((n + 1) * sizeof *out), peak = 0;
    memcpy(out, x, n * sizeof *out);
    *count = n;
    for (size_t i = 0; i < n; i++)
        peak = fmaxf(peak, fabsf(x[i]));
    if (sscanf(how, "noise%d", &db) == 1 || sscanf(how, "babble%d", &db) == 1 ||
        sscanf(how, "hum%d", &db) == 1) {
        float *other = malloc((n + 1) * sizeof *other);
        disturbance(how, seed, x, n, other);
        add(out, other, n, db);
        free(other);
    } else if (strcmp(how, "room") == 0) {
        room(seed, x, n, out);
    } else if (strcmp(how, "band") == 0) {
        band(3400, out, n);
    } else if (strcmp(how, "clipped") == 0) {
        for (size_t i = 0; i < n; i++)
            out[i] = fminf(fmaxf(x[i], -peak / 5), peak / 5);
    } else if (strcmp(how, "quiet") == 0) {
        for (size_t i = 0; i < n; i++)
            out[i] = roundf(x[i] * 32.768f) / 32768;
    } else if (strcmp(how, "clean") != 0) {
        fprintf(stderr, "%s is no way to spoil a take\n", how);
        exit(1);
    }
    return out;
}
