/*
 * How fast two hours of sound come in, and in how much memory; beside it, in
 * the same run, the ffmpeg program doing the same decoding without checks,
 * confinement or working copy. By hand only: meson test --benchmark.
 */
#include "sound.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

enum { PIECE_S = 60, HOURS = 2 };

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static double cpu_s(int who)
{
    struct rusage r;
    getrusage(who, &r);
    return (double)r.ru_utime.tv_sec + (double)r.ru_stime.tv_sec +
           ((double)r.ru_utime.tv_usec + (double)r.ru_stime.tv_usec) * 1e-6;
}

static long peak_mib(int who)
{
    struct rusage r;
    getrusage(who, &r);
    return r.ru_maxrss / 1024;
}

/* A fresh process for each figure, so that peaks do not mix. */
static void measure(const char *path, int result)
{
    struct mst_error err;
    struct mst_take *take = NULL;
    const double began = now_s();
    if (take_try(path, &take, &err) != MST_OK) {
        fprintf(stderr, "%s\n", err.message);
        _exit(1);
    }
    const double took = now_s() - began;
    struct mst_quality q;
    mst_take_quality(take, &q);
    /* A second, anywhere, a thousand times. */
    static float second[MST_TAKE_RATE_HZ];
    struct dice dice = {1};
    const double read_began = now_s();
    size_t got;
    for (int n = 0; n < 1000; n++)
        (void)!mst_take_read_at(take, roll(&dice) % (uint32_t)(mst_take_sample_count(take) - 16000),
                                second, MST_TAKE_RATE_HZ, &got, &err);
    const double reading = (now_s() - read_began) / 1000;
    const double cpu = cpu_s(RUSAGE_SELF);
    mst_take_close(take);
    dprintf(result,
            "%.0f s of sound in %.2f s (%.5f × real time); library %.2f s, decoder %.2f s; peak "
            "memory %ld + %ld MiB; a second read again in %.2f ms\n",
            q.seconds, took, took / q.seconds, cpu, cpu_s(RUSAGE_CHILDREN), peak_mib(RUSAGE_SELF),
            peak_mib(RUSAGE_CHILDREN), 1000 * reading);
}

int main(int argc, char **argv)
{
    static const char *const files[] = {"t.mp3", "t.m4a", "t.opus", "t.flac", "t.wav"};
    static const char *const options[] = {"-c:a libmp3lame -b:a 64k", "-c:a aac -b:a 64k",
                                          "-c:a libopus -b:a 32k", "-c:a flac -compression_level 2",
                                          "-c:a pcm_s16le -ac 2"};
    if (argc == 2) {
        measure(argv[1], 1);
        return 0;
    }
    folder_open();
    enum { COUNT = 44100 * PIECE_S };
    float *piece = calloc(COUNT, sizeof *piece);
    if (!piece)
        return 1;
    add_syllables(piece, COUNT, 44100, 1);
    write_wav(in_folder("piece.wav"), (struct wav){44100, 1, 16, 0}, piece, COUNT);
    free(piece);
    for (size_t n = 0; n < sizeof files / sizeof *files; n++) {
        char command[1200];
        ffmpeg("-stream_loop %d -i %s %s %s", HOURS * 3600 / PIECE_S - 1, in_folder("piece.wav"),
               options[n], in_folder(files[n]));
        printf("%-7s ", files[n]);
        fflush(stdout);
        snprintf(command, sizeof command, "'%s' %s", argv[0], in_folder(files[n]));
        if (system(command) != 0)
            return 1;
        const double began = now_s();
        snprintf(command, sizeof command,
                 "ffmpeg -nostdin -v error -threads 1 -i %s -ac 1 -ar 16000 -f f32le -y /dev/null",
                 in_folder(files[n]));
        if (system(command) != 0)
            return 1;
        printf("        ffmpeg, the same decoding: %.2f s\n", now_s() - began);
        unlink(in_folder(files[n]));
    }
    folder_close();
    return 0;
}
