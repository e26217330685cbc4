/*
 * Files that are damaged, absurd or meant to harm. Each must cost at most its
 * decoding process: here that means the library returns, in time, with either
 * sound (and a warning where sound is missing) or a sentence that names the
 * file; and that no process is left behind.
 *
 * With arguments: hostile --seed N --iterations N runs the mutations alone.
 */
#include "sound.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static uint64_t seed = 20251;
static int iterations = 120;

/* The same four seconds in the formats that teachers have. */
static const struct specimen {
    const char *file, *options;
    int knows_its_end; /* a file cut at 70 % can be told from a whole one */
} specimens[] = {
    {"s.wav", "-c:a pcm_s16le", 1},
    {"s.flac", "-c:a flac", 1},
    {"s.ogg", "-c:a libvorbis", 1},
    {"s.opus", "-c:a libopus -b:a 32k", 1},
    {"s.webm", "-c:a libopus -b:a 32k", 1},
    {"s.mp3", "-c:a libmp3lame -b:a 64k", 1},
    /* constant rate, no header: nothing in it says how long it is */
    {"bare.mp3", "-c:a libmp3lame -b:a 64k -write_xing 0 -id3v2_version 0", 0},
    {"s.m4a", "-c:a aac -b:a 64k", 1},
    {"front.m4a", "-c:a aac -b:a 64k -movflags +faststart", 1},
    {"s.aac", "-c:a aac -b:a 64k", 1},
    {"s.wma", "-c:a wmav2", 1},
    {"s.avi", "-f lavfi -i color=blue:size=64x48:rate=5:duration=4 -c:v mpeg4 -c:a libmp3lame", 1},
};
enum { SPECIMENS = sizeof specimens / sizeof *specimens, COUNT = 64000 };

static float voice[COUNT];

static int setup(void **state)
{
    (void)state;
    folder_open();
    add_syllables(voice, COUNT, 16000, 23);
    write_wav(in_folder("in.wav"), (struct wav){16000, 1, 16, 0}, voice, COUNT);
    for (int s = 0; s < SPECIMENS; s++)
        ffmpeg("-i %s %s %s", in_folder("in.wav"), specimens[s].options,
               in_folder(specimens[s].file));
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    folder_close();
    return 0;
}

/* Processor time of this process and of the decoders that have ended: how long it took on the clock
 * is the machine's matter. */
static double spent_s(void)
{
    struct rusage own, children;
    getrusage(RUSAGE_SELF, &own);
    getrusage(RUSAGE_CHILDREN, &children);
    const struct timeval *times[] = {&own.ru_utime, &own.ru_stime, &children.ru_utime,
                                     &children.ru_stime};
    double sum = 0;
    for (size_t n = 0; n < 4; n++)
        sum += (double)times[n]->tv_sec + (double)times[n]->tv_usec * 1e-6;
    return sum;
}

/* Try a file that may be anything. Returns the status; the samples there are. */
static enum mst_status survive(const char *path, int64_t *sample_count, struct mst_error *err,
                               unsigned *warnings)
{
    struct mst_take *take = NULL;
    const double began = spent_s();
    enum mst_status status = take_try(path, &take, err);
    *sample_count = take ? mst_take_sample_count(take) : 0;
    *warnings = 0;
    if (take) {
        struct mst_quality q;
        mst_take_quality(take, &q);
        for (int n = 0; n < q.warning_count; n++)
            *warnings |= 1u << q.warnings[n].kind;
    }
    mst_take_close(take);
    if (status != MST_OK && status != MST_BAD_DATA)
        fail_msg("%s: %s: %s (%s)", path, mst_status_name(status), err->message, err->where);
    if (status == MST_OK)
        assert_true(*sample_count > 0);
    if (status == MST_BAD_DATA)
        assert_non_null(strstr(err->message, strrchr(path, '/') + 1));
    assert_true(spent_s() - began < 25);
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1);
    assert_int_equal(errno, ECHILD);
    return status;
}

/* --- absurd ------------------------------------------------------------------------- */

static void expect_refusal(const char *path, const char *words)
{
    int64_t count;
    struct mst_error err;
    unsigned warnings;
    assert_int_equal(survive(path, &count, &err, &warnings), MST_BAD_DATA);
    if (!strstr(err.message, words))
        fail_msg("“%s” does not say “%s”", err.message, words);
    assert_int_equal(count, 0);
}

static void things_that_are_no_recordings(void **state)
{
    (void)state;
    write_bytes(in_folder("empty.mp3"), "", 0);
    expect_refusal(in_folder("empty.mp3"), "is empty");
    write_bytes(in_folder("one.wav"), "R", 1);
    expect_refusal(in_folder("one.wav"), "not a sound file");
    const char *words = "A plain text, a few lines long,\nwith no sound in it at all.\n";
    write_bytes(in_folder("text.mp3"), words, strlen(words));
    expect_refusal(in_folder("text.mp3"), "not a sound file");
    expect_refusal(in_folder(""), "is a folder");
    assert_int_equal(mkfifo(in_folder("fifo.wav"), 0600), 0);
    expect_refusal(in_folder("fifo.wav"), "device or a pipe");
    expect_refusal("/dev/zero", "device or a pipe");
    assert_int_equal(symlink("/dev/zero", in_folder("zero.wav")), 0);
    expect_refusal(in_folder("zero.wav"), "device or a pipe");
    ffmpeg("-f lavfi -i color=green:size=64x64 -frames:v 1 %s", in_folder("picture.png"));
    expect_refusal(in_folder("picture.png"), "not a sound file");
    ffmpeg("-f lavfi -i color=green:size=64x48:rate=5:duration=2 -c:v mpeg4 %s",
           in_folder("mute.mp4"));
    expect_refusal(in_folder("mute.mp4"), "holds no sound");
    struct dice dice = {77};
    unsigned char noise[50000];
    for (size_t n = 0; n < sizeof noise; n++)
        noise[n] = (unsigned char)roll(&dice);
    write_bytes(in_folder("noise.mp3"), noise, sizeof noise);
    expect_refusal(in_folder("noise.mp3"), "noise.mp3");
}

static void a_link_to_a_recording_is_one(void **state)
{
    (void)state;
    int64_t count;
    struct mst_error err;
    unsigned warnings;
    assert_int_equal(symlink("in.wav", in_folder("link.wav")), 0);
    assert_int_equal(survive(in_folder("link.wav"), &count, &err, &warnings), MST_OK);
    assert_int_equal(count, COUNT);
}

/* Play lists and edit scripts name other files; those must not be opened. */
static void files_that_name_other_files(void **state)
{
    (void)state;
    char text[1200];
    snprintf(text, sizeof text,
             "#EXTM3U\n#EXT-X-TARGETDURATION:4\n#EXTINF:4,\n%s\n"
             "#EXT-X-ENDLIST\n",
             in_folder("s.aac"));
    write_bytes(in_folder("list.m3u8"), text, strlen(text));
    expect_refusal(in_folder("list.m3u8"), "not a sound file");
    snprintf(text, sizeof text, "ffconcat version 1.0\nfile '%s'\n", in_folder("in.wav"));
    write_bytes(in_folder("list.wav"), text, strlen(text));
    expect_refusal(in_folder("list.wav"), "not a sound file");
    snprintf(text, sizeof text,
             "v=0\no=- 0 0 IN IP4 127.0.0.1\nc=IN IP4 127.0.0.1\n"
             "m=audio 5004 RTP/AVP 0\n");
    write_bytes(in_folder("list.sdp"), text, strlen(text));
    expect_refusal(in_folder("list.sdp"), "not a sound file");
    /* A film whose sound lies in another file (a data reference with a path). */
    size_t size;
    unsigned char *film = read_bytes(in_folder("s.m4a"), &size);
    for (size_t n = 0; n + 12 < size; n++)
        if (memcmp(film + n, "url ", 4) == 0) {
            memcpy(film + n, "alis", 4);
            film[n + 7] = 0; /* no longer “in this file” */
        }
    write_bytes(in_folder("elsewhere.m4a"), film, size);
    free(film);
    int64_t count;
    struct mst_error err;
    unsigned warnings;
    survive(in_folder("elsewhere.m4a"), &count, &err, &warnings);
}

static void headers_that_lie(void **state)
{
    (void)state;
    int64_t count;
    struct mst_error err;
    unsigned warnings;
    /* Four seconds that claim to be 37 hours. */
    write_wav(in_folder("lie.wav"), (struct wav){16000, 1, 16, 0xfffffff0u}, voice, COUNT);
    assert_int_equal(survive(in_folder("lie.wav"), &count, &err, &warnings), MST_OK);
    assert_int_equal(count, COUNT);
    /* RF64 with 8 GB. */
    size_t size;
    unsigned char *plain = read_bytes(in_folder("in.wav"), &size);
    unsigned char *big = calloc(1, size + 36);
    assert_non_null(big);
    memcpy(big, "RF64\xff\xff\xff\xffWAVEds64\x1c\0\0\0", 20);
    const uint64_t huge[3] = {(8ull << 30) + 72, 8ull << 30, 4ull << 30};
    memcpy(big + 20, huge, 24);
    memcpy(big + 48, plain + 12, size - 12);
    memset(big + 48 + 28, 0xff, 4);
    write_bytes(in_folder("rf64.wav"), big, size + 36);
    assert_int_equal(survive(in_folder("rf64.wav"), &count, &err, &warnings), MST_OK);
    assert_int_equal(count, COUNT);
    assert_true(warnings & 1u << MST_TAKE_CUT_SHORT);
    free(plain);
    free(big);
    /* One sample; none. */
    write_wav(in_folder("tiny.wav"), (struct wav){16000, 1, 16, 0}, voice + 9000, 1);
    assert_int_equal(survive(in_folder("tiny.wav"), &count, &err, &warnings), MST_OK);
    assert_int_equal(count, 1);
    write_wav(in_folder("none.wav"), (struct wav){16000, 1, 16, 0}, voice, 0);
    expect_refusal(in_folder("none.wav"), "none.wav");
    /* Rates and channels that nothing has. */
    write_wav(in_folder("slow.wav"), (struct wav){1, 1, 16, 0}, voice, COUNT);
    expect_refusal(in_folder("slow.wav"), "sampling rate");
    write_wav(in_folder("still.wav"), (struct wav){0, 1, 16, 0}, voice, COUNT);
    expect_refusal(in_folder("still.wav"), "still.wav");
    write_wav(in_folder("fast.wav"), (struct wav){2000000000, 1, 16, 0}, voice, COUNT);
    expect_refusal(in_folder("fast.wav"), "fast.wav");
    write_wav(in_folder("crowd.wav"), (struct wav){16000, 65535, 16, 0}, voice, COUNT);
    expect_refusal(in_folder("crowd.wav"), "crowd.wav");
}

static void an_hour_of_silence(void **state)
{
    (void)state;
    int64_t count;
    struct mst_error err;
    unsigned warnings;
    ffmpeg("-f lavfi -i anullsrc=r=16000:cl=mono:d=3600 -c:a flac %s", in_folder("hour.flac"));
    assert_int_equal(survive(in_folder("hour.flac"), &count, &err, &warnings), MST_OK);
    assert_int_equal(count, 3600 * 16000);
    assert_int_equal(warnings, 1u << MST_TAKE_SILENT);
}

/* --- cut and corrupted ------------------------------------------------------------------ */

static void cut_files_are_used_as_far_as_they_go(void **state)
{
    (void)state;
    static const double parts[] = {0.001, 0.01, 0.03, 0.1, 0.2, 0.35, 0.5, 0.7, 0.9, 0.97, 0.999};
    for (int s = 0; s < SPECIMENS; s++) {
        size_t size;
        unsigned char *bytes = read_bytes(in_folder(specimens[s].file), &size);
        float *whole, *cut;
        size_t whole_count, cut_count;
        struct mst_take *take = take_whole(in_folder(specimens[s].file), &whole, &whole_count);
        assert_false(has_warning(take, MST_TAKE_CUT_SHORT));
        mst_take_close(take);
        for (size_t p = 0; p < sizeof parts / sizeof *parts; p++) {
            char name[64];
            snprintf(name, sizeof name, "cut-%s", specimens[s].file);
            const char *path = in_folder(name);
            const size_t keep = (size_t)ceil(parts[p] * (double)size);
            write_bytes(path, bytes, keep);
            int64_t count;
            struct mst_error err;
            unsigned warnings;
            enum mst_status status = survive(path, &count, &err, &warnings);
            if (status != MST_OK) {
                /* MP4 with its index at the end is lost, and the sentence says so. */
                if (strcmp(specimens[s].file, "s.m4a") == 0 && parts[p] > 0.1)
                    assert_non_null(strstr(err.message, "ends in the middle"));
                else if (parts[p] > 0.35) /* the first second, an Ogg page, may be lost whole */
                    fail_msg("cut at %g: %s (%s)", parts[p], err.message, err.where);
                continue;
            }
            assert_true(count <= (int64_t)whole_count);
            if (parts[p] == 0.7) {
                if (!!(warnings & 1u << MST_TAKE_CUT_SHORT) != specimens[s].knows_its_end)
                    fail_msg("%s cut at 70 %%: warnings %x", specimens[s].file, warnings);
                assert_true((double)count > 0.45 * (double)whole_count);
                assert_true((double)count < 0.90 * (double)whole_count);
            }
            /* What is there is what the whole file has there; the last frame may differ. */
            take = take_whole(path, &cut, &cut_count);
            size_t same = 0;
            while (same < cut_count && cut[same] == whole[same])
                same++;
            if (cut_count - same > 2400)
                fail_msg("%s cut at %g: %zu of %zu samples agree", specimens[s].file, parts[p],
                         same, cut_count);
            mst_take_close(take);
            free(cut);
        }
        free(whole);
        free(bytes);
    }
}

static void a_damaged_file_says_so(void **state)
{
    (void)state;
    size_t size;
    unsigned char *bytes = read_bytes(in_folder("s.flac"), &size);
    for (size_t n = size / 2; n < size / 2 + 3000; n++)
        bytes[n] ^= 0x5a;
    write_bytes(in_folder("hurt.flac"), bytes, size);
    free(bytes);
    struct mst_take *take = NULL;
    struct mst_error err;
    assert_int_equal(take_try(in_folder("hurt.flac"), &take, &err), MST_OK);
    assert_true(has_warning(take, MST_TAKE_DAMAGED) || has_warning(take, MST_TAKE_CUT_SHORT));
    const struct mst_take_file *file = mst_take_file_at(take, 0);
    assert_true(file->damage_count > 0);
    assert_true(file->first_damage_sample > COUNT / 5 && file->first_damage_sample < COUNT * 4 / 5);
    struct mst_string text = {0};
    struct mst_quality q;
    mst_take_quality(take, &q);
    assert_true(q.warning_count > 0);
    mst_take_warning_text(take, &q.warnings[0], MST_LANG_EN, &text);
    assert_non_null(strstr(text.ptr, "The file"));
    mst_string_free(&text);
    mst_take_close(take);
}

/* --- mutated -------------------------------------------------------------------------------- */

/* A few of: bytes changed, bits flipped, a length field made huge, a stretch removed or doubled. */
static size_t mutate(unsigned char *bytes, size_t size, size_t cap, struct dice *dice)
{
    for (unsigned changes = 1 + roll(dice) % 8; changes > 0 && size > 16; changes--) {
        /* Headers matter most: half of the changes go to the first part. */
        size_t span = roll(dice) % 2 ? size : size < 600 ? size : 600;
        size_t at = roll(dice) % span;
        size_t run = 1 + roll(dice) % (size / 8);
        switch (roll(dice) % 6) {
        case 0:
            bytes[at] = (unsigned char)roll(dice);
            break;
        case 1:
            bytes[at] ^= (unsigned char)(1u << roll(dice) % 8);
            break;
        case 2:
            memset(bytes + at, roll(dice) % 2 ? 0xff : 0x00, size - at < 4 ? size - at : 4);
            break;
        case 3:
            if (at + run < size) {
                memmove(bytes + at, bytes + at + run, size - at - run);
                size -= run;
            }
            break;
        case 4:
            if (at + run < size && size + run < cap) {
                memmove(bytes + at + run, bytes + at, size - at);
                size += run;
            }
            break;
        default:
            for (size_t n = at; n < size && n < at + run; n++)
                bytes[n] = (unsigned char)roll(dice);
        }
    }
    return size;
}

static void mutated_files_cost_their_process_only(void **state)
{
    (void)state;
    int heard = 0, refused = 0;
    for (int round = 0; round < iterations; round++) {
        struct dice dice = {seed + (uint64_t)round};
        const struct specimen *s = &specimens[round % SPECIMENS];
        size_t size;
        unsigned char *bytes = read_bytes(in_folder(s->file), &size);
        bytes = realloc(bytes, 2 * size + 64);
        assert_non_null(bytes);
        size = mutate(bytes, size, 2 * size, &dice);
        char name[64];
        snprintf(name, sizeof name, "mutant-%llu-%s", (unsigned long long)seed + (unsigned)round,
                 s->file);
        const char *path = in_folder(name);
        write_bytes(path, bytes, size);
        free(bytes);
        int64_t count;
        struct mst_error err;
        unsigned warnings;
        if (survive(path, &count, &err, &warnings) == MST_OK)
            heard++;
        else
            refused++;
        unlink(path);
    }
    print_message("seed %llu: %d mutated files: %d heard in part or whole, %d refused\n",
                  (unsigned long long)seed, iterations, heard, refused);
    assert_true(heard > 0 && refused > 0);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(mutated_files_cost_their_process_only),
        cmocka_unit_test(things_that_are_no_recordings),
        cmocka_unit_test(a_link_to_a_recording_is_one),
        cmocka_unit_test(files_that_name_other_files),
        cmocka_unit_test(headers_that_lie),
        cmocka_unit_test(an_hour_of_silence),
        cmocka_unit_test(cut_files_are_used_as_far_as_they_go),
        cmocka_unit_test(a_damaged_file_says_so),
    };
    const struct CMUnitTest mutations[] = {
        cmocka_unit_test(mutated_files_cost_their_process_only),
    };
    for (int n = 1; n + 1 < argc; n += 2) {
        if (strcmp(argv[n], "--seed") == 0)
            seed = strtoull(argv[n + 1], NULL, 10);
        if (strcmp(argv[n], "--iterations") == 0)
            iterations = atoi(argv[n + 1]);
    }
    return argc > 1 ? cmocka_run_group_tests(mutations, setup, teardown)
                    : cmocka_run_group_tests(tests, setup, teardown);
}
