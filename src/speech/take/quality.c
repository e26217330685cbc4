/*
 * The thresholds at which a take is reported, and the sentences. The values
 * are our own, chosen on generated signals on both sides of each, and such that
 * recordings of professional reciters give no false warning; the figures are
 * in docs/measurements.md, "Sound in".
 */
#include "take.h"

#include <math.h>
#include <stdio.h>

/* No microphone and room are this still: the recorder was muted. */
static const double silent_peak_dbfs = -60;
/* Speech at an arm's length gives -30 to -15; below this a 16-bit recorder keeps under 8 bits. */
static const double quiet_speech_dbfs = -48;
/* One cut sample in two thousand: a few loud syllables. Less is a single knock. */
static const double clipped_part = 0.0005;
/* Weak sounds (h, f, the ends of vowels) lie 20 dB and more below the loud ones. */
static const double noisy_snr_db = 11;
/* Too short a take may hold no pause to hear the noise in. */
static const double noise_needs_s = 10;
/* Hum this far below the voice is heard in every pause and bends the weakest sounds. */
static const double hum_under_speech_db = -35;
static const double hum_needs_s = 6;
/* Telephone ends at 3400 Hz, 8 kHz sampling at 4000. The hiss of sīn lies at 4–8 kHz. */
static const double narrow_hz = 5000;
static const double band_needs_s = 2;
static const double music_needs_s = 3;
static const double gaps_s = 0.2;
/* Two channels that share nothing mix at -3 dB; beyond -10 they must be opposed. */
static const double cancelling_db = -10;

const char *mst_take_warning_name(enum mst_take_warning_kind kind)
{
    static const char *const names[] = {
#define X(name, en, ar) #name,
        MST_TAKE_WARNING_LIST(X)
#undef X
    };
    return (unsigned)kind < MST_TAKE_WARNING_COUNT ? names[kind] : "";
}

static void warn(struct mst_quality *q, enum mst_take_warning_kind kind, double value, int32_t file)
{
    enum { ROOM = sizeof q->warnings / sizeof *q->warnings };
    if (q->warning_count < ROOM)
        q->warnings[q->warning_count++] = (struct mst_take_warning){kind, value, file};
}

static void judge_file(struct mst_quality *q, const struct mst_take_file *file, int32_t n)
{
    if (file->cut_short)
        warn(q, MST_TAKE_CUT_SHORT, (double)file->sample_count / MST_TAKE_RATE_HZ, n);
    /* The last packet of a file that was cut through is no damage of its own. */
    if (file->damage_count > (file->cut_short ? 1 : 0))
        warn(q, MST_TAKE_DAMAGED, file->damage_count, n);
    if (file->gap_seconds >= gaps_s)
        warn(q, MST_TAKE_GAPS, file->gap_seconds, n);
    if (file->clipped_fraction >= clipped_part)
        warn(q, MST_TAKE_CLIPPED, file->clipped_fraction, n);
    if (file->mix_gain_db < cancelling_db)
        warn(q, MST_TAKE_CANCELLING, file->mix_gain_db, n);
}

static void judge_sound(struct mst_quality *q, const struct analysis *a)
{
    if (q->peak_dbfs < silent_peak_dbfs) {
        warn(q, MST_TAKE_SILENT, q->peak_dbfs, -1);
        return; /* nothing can be said of a voice that is not there */
    }
    if (q->speech_dbfs < quiet_speech_dbfs)
        warn(q, MST_TAKE_QUIET, q->speech_dbfs, -1);
    const int music =
        q->seconds >= music_needs_s && q->music_fraction > harmony_allowance(&a->harmony);
    if (music)
        warn(q, MST_TAKE_MUSIC, q->music_fraction, -1);
    /* Where music fills the pauses, it is the noise. */
    if (!music && q->seconds >= noise_needs_s && q->snr_db < noisy_snr_db)
        warn(q, MST_TAKE_NOISY, q->snr_db, -1);
    if (q->seconds >= band_needs_s && q->band_edge_hz > 0 && q->band_edge_hz < narrow_hz)
        warn(q, MST_TAKE_NARROW, q->band_edge_hz, -1);
    if (q->seconds >= hum_needs_s && q->hum_hz > 0 && q->hum_db > hum_under_speech_db)
        warn(q, MST_TAKE_HUM, q->hum_db, -1);
}

static void judge_files(struct mst_quality *q, const struct mst_take *take)
{
    double clipped = 0, samples = 0;
    for (size_t n = 0; n < take->file_count; n++) {
        const struct mst_take_file *file = &take->files[n];
        double count = (double)file->source_sample_count * file->source_channels;
        clipped += file->clipped_fraction * count;
        samples += count;
        judge_file(q, file, (int32_t)n);
    }
    q->clipped_fraction = samples > 0 ? clipped / samples : 0;
}

void mst_take_quality(const struct mst_take *take, struct mst_quality *out)
{
    const struct analysis *a = take->analysis;
    const struct level_summary levels = levels_sum_up(&a->levels);
    const struct hum_summary hum = hum_sum_up(&a->hum);
    *out = (struct mst_quality){.seconds = (double)a->sample_count / MST_TAKE_RATE_HZ,
                                .peak_dbfs = power_db(a->peak * a->peak),
                                .speech_dbfs = levels.speech_db,
                                .noise_dbfs = levels.noise_db,
                                .snr_db = levels.speech_db - levels.noise_db,
                                .active_fraction = levels.active_fraction,
                                .band_edge_hz = band_edge_hz(&a->band),
                                .hum_hz = hum.hz,
                                .hum_db = hum.hz > 0 ? hum.db - levels.speech_db : lowest_db,
                                .music_fraction = harmony_fraction(&a->harmony)};
    if (a->sample_count == 0 && !take->complete)
        return;
    judge_sound(out, a);
    if (take->too_long)
        warn(out, MST_TAKE_TOO_LONG, out->seconds, -1);
    judge_files(out, take);
}

/* --- sentences --------------------------------------------------------------------- */

static void say_seconds(char *value, size_t size, double seconds, enum mst_lang lang)
{
    const char *second = lang == MST_LANG_AR ? "ث" : "s";
    const char *minute = lang == MST_LANG_AR ? "د" : "min";
    if (seconds < 120)
        snprintf(value, size, "%.1f %s", seconds, second);
    else
        snprintf(value, size, "%.0f %s %.0f %s", floor(seconds / 60), minute, fmod(seconds, 60),
                 second);
}

static void say_value(char *value, size_t size, const struct mst_take_warning *w, double hum_hz,
                      enum mst_lang lang)
{
    const int ar = lang == MST_LANG_AR;
    switch (w->kind) {
    case MST_TAKE_SILENT:
    case MST_TAKE_QUIET:
        snprintf(value, size, ar ? "%.0f دسيبل من الحد الأقصى" : "%.0f dB of full scale", w->value);
        return;
    case MST_TAKE_CLIPPED:
        snprintf(value, size, "%.2g %%", 100 * w->value);
        return;
    case MST_TAKE_MUSIC:
        snprintf(value, size, "%.0f %%", 100 * w->value);
        return;
    case MST_TAKE_NOISY:
    case MST_TAKE_CANCELLING:
        snprintf(value, size, ar ? "%.0f دسيبل" : "%.0f dB", w->value);
        return;
    case MST_TAKE_HUM:
        snprintf(value, size,
                 ar ? "%.0f هرتز، دون الصوت بمقدار %.0f دسيبل" : "%.0f Hz, %.0f dB below it",
                 hum_hz, -w->value);
        return;
    case MST_TAKE_NARROW:
        snprintf(value, size, ar ? "%.0f هرتز" : "%.0f Hz", w->value);
        return;
    case MST_TAKE_DAMAGED:
        snprintf(value, size,
                 ar              ? "عدد المواضع: %.0f"
                 : w->value == 1 ? "in %.0f place"
                                 : "in %.0f places",
                 w->value);
        return;
    case MST_TAKE_CUT_SHORT:
    case MST_TAKE_GAPS:
    case MST_TAKE_TOO_LONG:
    case MST_TAKE_WARNING_COUNT:
        say_seconds(value, size, w->value, lang);
        return;
    }
    value[0] = 0;
}

void mst_take_warning_text(const struct mst_take *take, const struct mst_take_warning *warning,
                           enum mst_lang lang, struct mst_string *out)
{
    static const char *const sentences[][2] = {
#define X(name, en, ar) {en, ar},
        MST_TAKE_WARNING_LIST(X)
#undef X
    };
    if ((unsigned)warning->kind >= MST_TAKE_WARNING_COUNT)
        return;
    /* In a take of several files, say which. */
    if (warning->file >= 0 && take->file_count > 1 && (size_t)warning->file < take->file_count)
        mst_string_addf(out,
                        lang == MST_LANG_AR ? "«%s»: " : "“%s”: ", take->files[warning->file].path);
    char value[96];
    const double hum_hz = hum_sum_up(&take->analysis->hum).hz;
    say_value(value, sizeof value, warning, hum_hz, lang);
    const char *sentence = sentences[warning->kind][lang == MST_LANG_AR];
    for (const char *c = sentence; *c; c++) {
        if (c[0] == '%' && c[1] == 's') {
            mst_string_adds(out, value);
            c++;
        } else {
            mst_string_add(out, c, 1);
        }
    }
}
