/*
 * mistara/take.h – a take: the sound of a recording, from whatever file a
 * teacher has to plain samples, and what can be said about the recording
 * itself before anyone listens for words. It knows nothing of scripture and
 * nothing of speech sounds; it never plays and never records.
 *
 * Every take is MST_TAKE_RATE_HZ, one channel, float, nominal range -1…1 (a
 * lossy file may overshoot a little). Several files joined end to end are one
 * take: nothing is trimmed, nothing is inserted.
 *
 * Time base: sample 0 is the first sample the decoder gives after the encoder
 * delay that the file itself declares has been dropped (LAME/Xing header of
 * MP3, pre-skip of Opus, edit list of MP4; a file that declares none loses
 * none). Positions are counted from what was decoded, never taken from a
 * header or a time stamp. A sample lies at sample × 1000 / 16000 ms.
 * Channels are mixed by their plain mean, then resampled with one fixed
 * filter: the same file gives the same samples.
 *
 * Decoding happens in a confined process of its own (mistara-decode): it is
 * handed one open file and one pipe, and can open, connect to, or start
 * nothing. A damaged or hostile file costs that process only. Where the
 * system offers no confinement, takes are refused (UNSUPPORTED), never
 * decoded without it.
 *
 * Memory: a few hundred KiB whatever the length. What has been decoded is
 * kept in a nameless file on disk (4 bytes a sample: 460 MB for two hours) in
 * $TMPDIR or /var/tmp, so that any stretch can be read again exactly; it
 * vanishes with the take, even after a crash.
 *
 * Ownership: a take owns its files, process and working copy until
 * mst_take_close(). Threads: one take belongs to one thread at a time; several
 * takes may be used at once.
 */
#ifndef MISTARA_TAKE_H
#define MISTARA_TAKE_H

#include <mistara/base.h>

#ifdef __cplusplus
extern "C" {
#endif

enum { MST_TAKE_RATE_HZ = 16000, MST_SOUND_RATE_HZ = 48000 };

static inline int64_t mst_take_sample_at_ms(double ms)
{
    double at = ms * (MST_TAKE_RATE_HZ / 1000.0);
    return (int64_t)(at < 0 ? at - 0.5 : at + 0.5);
}
static inline double mst_take_ms_at_sample(int64_t sample)
{
    return (double)sample * (1000.0 / MST_TAKE_RATE_HZ);
}

struct mst_take;

/* All zero = the defaults. */
struct mst_take_options {
    double max_seconds; /* of all files together; 0 = 6 hours. What lies beyond is not read,
                           and a warning says so */
    double patience_s;  /* the decoder may be silent this long before it is given up; 0 = 20 */
    const char *decoder_path; /* NULL: $MISTARA_DECODE, the installed one, that of the build */
    const char *working_dir;  /* for the working copy; NULL: $TMPDIR, else /var/tmp, else /tmp */
    int (*cancelled)(void *user); /* asked now and then while waiting; non-zero → CANCELLED */
    void *user;
};

/*
 * Open one or more files as one take. Only opens and looks at them: a missing
 * file, a folder, a device, an empty file is refused here (NOT_FOUND,
 * BAD_DATA), before anything is decoded. Paths are copied.
 */
MST_MUST_CHECK enum mst_status mst_take_open(const char *const *paths, size_t path_count,
                                             const struct mst_take_options *options,
                                             struct mst_take **out, struct mst_error *err);
/* A take made of samples at hand (copied), as if decoded; for tests and for altered takes. */
MST_MUST_CHECK enum mst_status mst_take_open_samples(const float *samples, size_t sample_count,
                                                     struct mst_take **out, struct mst_error *err);
/*
 * The same once more with all its sound, MST_SOUND_RATE_HZ, for human ears: to be
 * read (mst_take_read…, mst_take_sample_count) and closed, nothing else; the
 * ear, quality and pictures want MST_TAKE_RATE_HZ. A moment lies at the same ms
 * in both. NOT_FOUND when a file has gone since. A take of samples at hand has no
 * more than these: it is copied as it is.
 */
MST_MUST_CHECK enum mst_status mst_take_open_sound(struct mst_take *take, struct mst_take **out,
                                                   struct mst_error *err);
void mst_take_close(struct mst_take *take); /* accepts NULL */
int32_t mst_take_rate_hz(const struct mst_take *take);

/*
 * The next samples, at most max; *got == 0 is the end. Blocks while the
 * decoder works, never longer than its patience.
 * A file that ends in the middle or is damaged is used as far as it goes: that
 * is a warning, not an error. BAD_DATA when a file yields no sound at all; the
 * message says which and why ("… holds no sound", "… is not a sound file that
 * Mistara knows"). After an error the take keeps what it has.
 */
MST_MUST_CHECK enum mst_status mst_take_read(struct mst_take *take, float *samples, size_t max,
                                             size_t *got, struct mst_error *err);
/* Read on to the end, keeping the samples in the working copy only. */
MST_MUST_CHECK enum mst_status mst_take_read_all(struct mst_take *take, struct mst_error *err);
/*
 * The samples from first_sample on, wherever mst_take_read stands (which it
 * does not move); decodes further when it must. Fewer than asked only at the
 * end of the take.
 */
MST_MUST_CHECK enum mst_status mst_take_read_at(struct mst_take *take, int64_t first_sample,
                                                float *samples, size_t max, size_t *got,
                                                struct mst_error *err);
/* mst_take_read begins at the first sample again. */
void mst_take_rewind(struct mst_take *take);

/* Samples decoded so far; all there are once mst_take_complete() is non-zero. */
int64_t mst_take_sample_count(const struct mst_take *take);
int mst_take_complete(const struct mst_take *take);

/* One file of a take. Joins are the first_sample of every file but the first. */
struct mst_take_file {
    const char *path;
    int64_t first_sample; /* in the take; -1 while not reached */
    int64_t sample_count; /* in the take, so far */
    char container[16];   /* "mp3", "wav", "matroska,webm" shortened; empty while not reached */
    char codec[16];
    int32_t source_rate_hz;
    int32_t source_channels;
    int64_t source_sample_count; /* per channel, decoded */
    double claimed_seconds;      /* what the header says; < 0 when it says nothing */
    int32_t damage_count;        /* packets that could not be decoded (their sound is missing) */
    int64_t first_damage_sample; /* in the take; -1 = none */
    int32_t gap_count;           /* places where the file's own clock jumps ahead */
    double gap_seconds;
    double clipped_fraction; /* of the source's samples, in flat runs at its ceiling */
    double peak;             /* of the source, any channel, linear */
    double mix_gain_db;      /* power of the mix against that of its channels; about 0 for one
                                channel or equal ones, far below when channels cancel */
    int cut_short;           /* ends before what its own structure promises */
};
size_t mst_take_file_count(const struct mst_take *take);
const struct mst_take_file *mst_take_file_at(const struct mst_take *take, size_t n);

/* --- what can be said of the recording itself ------------------------------ */
/*
 * X(name, English, Arabic); %s stands for the measured value with its unit.
 * The thresholds and where they come from: src/speech/take/quality.c.
 */
#define MST_TAKE_WARNING_LIST(X)                                                                   \
    X(SILENT, "There is no sound in this recording (loudest moment %s).",                          \
      "لا صوت في هذا التسجيل (أعلى لحظة فيه %s).")                                                 \
    X(QUIET,                                                                                       \
      "The recording is very quiet (voice at %s); move closer to the microphone or turn "          \
      "it up.",                                                                                    \
      "التسجيل خافت جدًّا (مستوى الصوت %s)؛ اقترب من اللاقط أو ارفع مستواه.")                        \
    X(CLIPPED, "The recording was too loud and is cut off at the top (%s of its samples).",        \
      "التسجيل أعلى مما يحتمله اللاقط، فقُصّت قممه (%s من عيّناته).")                                 \
    X(NOISY, "There is much noise behind the voice (%s between them).",                            \
      "خلف الصوت ضجيج كثير (الفرق بينهما %s).")                                                    \
    X(HUM, "A mains hum lies under the voice (%s).", "تحت الصوت طنين كهرباء (%s).")                \
    X(MUSIC, "Music or another sustained harmony sounds in it (%s of the time).",                  \
      "فيه موسيقى أو نغم متّصل غير الصوت (%s من الوقت).")                                           \
    X(NARROW,                                                                                      \
      "The sound carries nothing above %s, like a telephone; letters such as sīn and "            \
      "ṣād lose what tells them apart.",                                                           \
      "لا يحمل التسجيل شيئًا فوق %s، كصوت الهاتف؛ فحروف كالسين والصاد تفقد ما يميّزها.")             \
    X(CUT_SHORT, "The file ends in the middle; it is used up to there (%s).",                      \
      "الملفّ مبتور، واستُعمل إلى حيث ينتهي (%s).")                                                  \
    X(DAMAGED, "The file is damaged; some of its sound is missing (%s).",                          \
      "الملفّ معطوب، وبعض صوته مفقود (%s).")                                                        \
    X(GAPS,                                                                                        \
      "The recording device dropped sound in places (%s missing); lengths there are not to "       \
      "be trusted.",                                                                               \
      "أسقط جهاز التسجيل الصوت في مواضع (ينقص %s)؛ فلا يُعتدّ بالأطوال هناك.")                       \
    X(CANCELLING,                                                                                  \
      "Its channels cancel each other out (%s); record with one microphone or one "                \
      "channel.",                                                                                  \
      "قنوات التسجيل يُلغي بعضها بعضًا (%s)؛ سجّل بلاقط واحد أو قناة واحدة.")                         \
    X(TOO_LONG, "The recording is longer than what is read at once; only the first %s are used.",  \
      "التسجيل أطول مما يُقرأ دفعة واحدة، فاستُعمل أوّله فقط (%s).")

enum mst_take_warning_kind {
#define X(name, en, ar) MST_TAKE_##name,
    MST_TAKE_WARNING_LIST(X)
#undef X
        MST_TAKE_WARNING_COUNT
};
/* "CLIPPED" and the like, for JSON and logs. */
const char *mst_take_warning_name(enum mst_take_warning_kind kind);

struct mst_take_warning {
    enum mst_take_warning_kind kind;
    double value; /* in the unit of its sentence: dBFS, fraction, dB, Hz, seconds, places */
    int32_t file; /* index of the file it is about, or -1: the whole take */
};

/* Levels are dB below full scale (0 = a sample of 1.0; a sine of amplitude 1 is -3.01). */
struct mst_quality {
    double seconds;         /* measured */
    double peak_dbfs;       /* of the mixed samples; -120 at the lowest, like all levels here */
    double speech_dbfs;     /* mean power of the frames that rise above the noise */
    double noise_dbfs;      /* what remains in the pauses */
    double snr_db;          /* speech - noise */
    double active_fraction; /* of frames that rise above the noise */
    double band_edge_hz;    /* the voice carries energy up to here, at most 8000 */
    double hum_hz;          /* 50, 60, or 0 = none found */
    double hum_db;          /* its power (with harmonics) against the speech; -120 = none */
    double music_fraction;  /* of the time in which sustained harmony other than one voice sounds */
    double clipped_fraction; /* of the source samples of all files */
    struct mst_take_warning warnings[32];
    int32_t warning_count; /* gravest first */
};
/* Of all that has been decoded so far; ask when the take is complete. */
void mst_take_quality(const struct mst_take *take, struct mst_quality *out);
/* The sentence for a teacher, with the measured value in it. */
void mst_take_warning_text(const struct mst_take *take, const struct mst_take_warning *warning,
                           enum mst_lang lang, struct mst_string *out);

/* --- stretches --------------------------------------------------------------- */
/* The smallest and largest sample in each of column_count equal parts of [start_ms, end_ms). */
MST_MUST_CHECK enum mst_status mst_take_outline(struct mst_take *take, double start_ms,
                                                double end_ms, size_t column_count, float *lowest,
                                                float *highest, struct mst_error *err);
/*
 * [start_ms, end_ms) as a WAV file, 16 bit, 16 kHz, one channel; samples as
 * they are, rounded, never faded or made louder. The part beyond the end of
 * the take is left out; USAGE when nothing remains.
 */
MST_MUST_CHECK enum mst_status mst_take_clip(struct mst_take *take, double start_ms, double end_ms,
                                             const char *path, struct mst_error *err);
/* The same file's bytes, added to out. */
MST_MUST_CHECK enum mst_status mst_take_clip_bytes(struct mst_take *take, double start_ms,
                                                   double end_ms, struct mst_string *out,
                                                   struct mst_error *err);
/* Samples at hand to such a file. */
MST_MUST_CHECK enum mst_status mst_wav_write(const char *path, const float *samples,
                                             size_t sample_count, int32_t rate_hz,
                                             struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
