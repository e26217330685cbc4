/*
 * propose.c – a voice note of which nobody has said what it holds and whose it
 * is: which of the passages given out does it hold, and which of the learners'
 * voices is it?
 */
#include <mistara/report.h>
#include <mistara/round.h>

#include <math.h>
#include <stdlib.h>

/* Log likelihood per frame that makes odds of e to 1. Of 40 takes asked of eight voices every one
 * lay nearest its own, the next voice at least 2.7 below (docs/measurements.md, "Whose voice"):
 * chosen so that this least margin counts as 99 %. */
static const double likeness_scale = 0.6;

/* The likeliest, and its share among all of them. */
static void likeliest(const double *likeness, size_t count, struct mst_round_proposal *out)
{
    double sum = 0;
    for (size_t n = 0; n < count; n++)
        if (out->reader < 0 || likeness[n] > likeness[out->reader])
            out->reader = (int32_t)n;
    if (out->reader < 0 || likeness[out->reader] < -1e29) {
        out->reader = -1;
        return;
    }
    for (size_t n = 0; n < count; n++)
        sum += exp((likeness[n] - likeness[out->reader]) / likeness_scale);
    out->reader_sureness = 1 / sum;
}

static enum mst_status rank_readers(struct mst_hearing *h, const struct mst_round_reader *readers,
                                    size_t count, struct mst_round_proposal *out,
                                    struct mst_error *err)
{
    const struct mst_voice **voices = malloc((count + 1) * sizeof *voices);
    double *likeness = malloc((count + 1) * sizeof *likeness);
    enum mst_status status = voices && likeness
                                 ? MST_OK
                                 : mst_fail(err, MST_NO_MEMORY, "memory ran out while listening");
    for (size_t n = 0; n < count && status == MST_OK; n++)
        voices[n] = readers[n].voice;
    if (status == MST_OK)
        status = mst_voice_likeness(h->features, h->script, voices, count, 0, likeness, err);
    if (status == MST_OK)
        likeliest(likeness, count, out);
    free(voices);
    free(likeness);
    return status;
}

struct share {
    const struct mst_ear_progress *whole;
    double from, to;
};

static int share_report(void *user, double done)
{
    const struct share *share = user;
    return share->whole && share->whole->report
               ? share->whole->report(share->whole->user,
                                      share->from + (share->to - share->from) * done)
               : 0;
}

enum mst_status mst_round_propose(const struct mst_text *text, const char *path,
                                  const struct mst_round_passage *passages, size_t passage_count,
                                  const struct mst_round_reader *readers, size_t reader_count,
                                  const struct mst_voice *any, const struct mst_ear_progress *watch,
                                  struct mst_round_proposal *out, struct mst_error *err)
{
    struct mst_hearing *best = NULL;
    enum mst_status status = MST_OK;
    const struct mst_voice *voice = any ? any : reader_count ? readers[0].voice : NULL;
    *out = (struct mst_round_proposal){.passage = -1, .reader = -1};
    for (size_t n = 0; n < passage_count && status == MST_OK; n++) {
        struct mst_hearing *h = NULL;
        struct share share = {watch, (double)n / (double)(passage_count + 1),
                              (double)(n + 1) / (double)(passage_count + 1)};
        struct mst_ear_progress progress = {share_report, &share};
        struct mst_listen_options how = {.voice = voice};
        status = mst_hearing_open(text, &path, 1, passages[n].range, passages[n].how, &progress, &h,
                                  err);
        if (status == MST_OK)
            status = mst_hearing_listen(h, &how, err);
        if (status == MST_OK && (!best || h->timeline->fit > out->passage_fit)) {
            mst_hearing_close(best);
            best = h;
            h = NULL;
            out->passage = (int32_t)n;
            out->passage_fit = best->timeline->fit;
        } else if (status == MST_MISMATCH) {
            status = MST_OK;
        }
        mst_hearing_close(h);
    }
    if (status == MST_OK && best && reader_count)
        status = rank_readers(best, readers, reader_count, out, err);
    mst_hearing_close(best);
    if (status == MST_OK && share_report(&(struct share){watch, 0, 1}, 1))
        status = mst_fail(err, MST_CANCELLED, "stopped on request");
    return status;
}
