/*
 * mistara/report.h – what the teacher sees of the ear: one take heard from
 * file to measures in one go, and the report of it as words, JSON, subtitles,
 * labels, a page on paper or a page in the browser, and clips of every site.
 * It decides nothing: it shows what take.h and ear.h measured.
 *
 *   files + passage → mst_hearing → (mst_measure, mst_find) → mst_report → a file
 *
 * Units: ms from the take's first sample; counts = ḥarakāt.
 * Ownership: a hearing owns its take, script and timeline until
 * mst_hearing_close(). A report borrows everything it points to. Writers fill
 * a caller's mst_string or write a whole file or none.
 * Threads: one hearing belongs to one thread at a time.
 */
#ifndef MISTARA_REPORT_H
#define MISTARA_REPORT_H

#include <mistara/ear.h>
#include <mistara/faults.h>
#include <mistara/take.h>

#ifdef __cplusplus
extern "C" {
#endif

/* --- one take heard ---------------------------------------------------------- */
struct mst_hearing {
    const char *const *paths; /* the files as they were named, joined in this order */
    size_t path_count;
    struct mst_range passage;
    struct mst_take *take;
    struct mst_quality quality;
    struct mst_features *features;
    struct mst_script *script;
    struct mst_timeline *timeline; /* NULL until mst_hearing_listen */
    struct mst_arena *arena;       /* holds the timeline; room for measures and findings */
};
/*
 * Decode one or more files as one take, streaming, and prepare the passage.
 * BAD_DATA when there is no sound to listen to; the message tells what is
 * wrong with the recording. progress->report gets 0…1 of the decoding alone.
 */
MST_MUST_CHECK enum mst_status mst_hearing_open(const struct mst_text *text,
                                                const char *const *paths, size_t path_count,
                                                struct mst_range passage,
                                                const struct mst_reading_options *options,
                                                const struct mst_ear_progress *progress,
                                                struct mst_hearing **out, struct mst_error *err);
/* MISMATCH when the take does not hold the passage; where the recording itself is poor the
 * sentence says that too. */
MST_MUST_CHECK enum mst_status mst_hearing_listen(struct mst_hearing *h,
                                                  const struct mst_listen_options *options,
                                                  struct mst_error *err);
/* Learn a voice from takes that were opened. Each is listened to by itself first: one that does
 * not hold its passage teaches nothing (MISMATCH, naming its file); a single take without a voice
 * to start from is judged while the voice is learned from it. At the end each is listened to with
 * the voice, and the lengths measured so are kept with it. */
MST_MUST_CHECK enum mst_status mst_hearing_learn(struct mst_hearing *const *takes, size_t count,
                                                 const char *name,
                                                 const struct mst_learn_options *options,
                                                 struct mst_voice **out, struct mst_error *err);
void mst_hearing_close(struct mst_hearing *h); /* accepts NULL */

/*
 * Edges set by hand, from tab-separated label text as mst_report_labels writes
 * it and sound editors save it: START [END] LABEL with seconds, where the
 * label begins with a word's address ("67:1:3") or that of its n-th sound
 * ("67:1:3/2"). Other labels, empty lines and lines with # are passed over.
 * BAD_DATA names the line that makes no sense.
 */
MST_MUST_CHECK enum mst_status mst_pins_read(const char *path, const struct mst_script *script,
                                             struct mst_arena *arena, struct mst_pin **pins,
                                             size_t *count, struct mst_error *err);

/*
 * Limits a teacher keeps in a file: lines NAME VALUE, in any order; empty lines
 * and what follows # are passed over. Names that are missing keep what *limits
 * holds.
 *
 *   site-limit 2.6    spreads beyond which a place stands out, 0.5 to 20
 *   class-limit 25    percent a length is off the model's to stand out, 1 to 300
 *   even-limit 50     percent near its middle below which a length is uneven, 1 to 100
 *
 * BAD_DATA names the line that makes no sense.
 */
MST_MUST_CHECK enum mst_status mst_limits_read(const char *path, struct mst_measure_limits *limits,
                                               struct mst_error *err);

/*
 * [start_ms, end_ms) of a take as a picture for the eye: column_count columns
 * of MST_SPECTROGRAM_ROWS grey levels each, row by row from the top (5500 Hz)
 * down to 0 Hz; 255 silent, 0 as loud as the voice.
 */
enum { MST_SPECTROGRAM_ROWS = 64 };
MST_MUST_CHECK enum mst_status mst_take_spectrogram(struct mst_take *take, double start_ms,
                                                    double end_ms, int column_count, uint8_t *grey,
                                                    struct mst_error *err);

/* --- the report ---------------------------------------------------------------- */
struct mst_report {
    const char *const *take_names; /* as the teacher named the files; shown without folders */
    size_t take_count;
    struct mst_range passage;
    struct mst_take *take; /* for waveform, spectrogram and clips; NULL = none of these */
    const struct mst_quality *quality;   /* NULL only when take is */
    const struct mst_measures *measures; /* with its timeline */
    const struct mst_finding *findings;
    size_t finding_count;
    const struct mst_fault_report *faults; /* NULL: not looked for */
    const char
        *model_name; /* the take or voice that expected lengths come from; NULL = this take */
    const struct mst_report *beside;         /* a second take to lay beside, or NULL */
    const struct mst_comparison *comparison; /* of this one (first) with beside (second) */
    enum mst_lang lang;
};

/* Short, for a terminal. */
void mst_report_text(const struct mst_report *report, struct mst_string *out);
/* docs/listening.md lists its members. */
void mst_report_json(const struct mst_report *report, struct mst_string *out);
/* WebVTT: a cue a word, its address as identifier, a note for each pause. */
void mst_report_vtt(const struct mst_report *report, struct mst_string *out);
/* Tab-separated, a line a sound, with a heading. */
void mst_report_tsv(const struct mst_report *report, struct mst_string *out);
/* Tab-separated label text: start and end in seconds, label. Words, then sites. */
void mst_report_labels(const struct mst_report *report, struct mst_string *out);
/* Pages: findings first, then lengths, then the take line by line. font_dir NULL: $MISTARA_FONTS,
 * then the build's fonts, then the installed ones. */
MST_MUST_CHECK enum mst_status mst_report_pdf(const struct mst_report *report, const char *font_dir,
                                              struct mst_string *out, struct mst_error *err);
/* The same as one page that needs nothing from elsewhere. */
MST_MUST_CHECK enum mst_status mst_report_html(const struct mst_report *report,
                                               const char *font_dir, struct mst_string *out,
                                               struct mst_error *err);
/* Refused (USAGE) before a long listening: the ending of path is none of the above. */
MST_MUST_CHECK enum mst_status mst_report_check_path(const char *path, struct mst_error *err);
/* Written by its ending: .json .vtt .tsv .txt .pdf .html. Whole or not at all. */
MST_MUST_CHECK enum mst_status mst_report_write(const struct mst_report *report, const char *path,
                                                struct mst_error *err);
/*
 * A sound file for every measured site, with 150 ms before and after, named
 * 67-01-03_ikhfa_2.wav (sura, verse, word, rule, the how-manieth of that rule
 * there), and index.tsv, which is written last. The folder is made when it is
 * not there; files of these names in it are replaced. *count may be NULL.
 */
MST_MUST_CHECK enum mst_status mst_report_clips(const struct mst_report *report, const char *folder,
                                                size_t *count, struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
