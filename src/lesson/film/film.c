/*
 * film.c – the film of a passage: what shows at each frame follows from the
 * timeline alone; a picture is made only where that changes.
 */
#include "canvas.h"
#include "encoder.h"
#include "parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FPS = 30, WORDS_NONE = -1, SOUNDINGS_AT_ONCE = 8 };
static const double turn_early_ms = 350; /* a page is there this long before its first word */

struct maker {
    struct mst_take *take;
    const struct mst_timeline *tl;
    const struct mst_sheet *sheet;
    const struct mst_film_options *options;
    const struct mst_letter_box *boxes;
    const struct mst_mark_box *marks;
    size_t box_count, mark_count;
    struct mst_sounding *soundings;
    size_t sounding_count;
    struct canvas canvas;
    struct encoder *encoder;
    int64_t frame_count;
};

/* What a frame shows; two frames that are alike here are the same picture. */
struct view {
    int page;
    int32_t word; /* in the timeline; WORDS_NONE in pauses */
    int32_t sites[SOUNDINGS_AT_ONCE];
    int32_t site_count;
};

static int page_of_word(const struct maker *m, int32_t heard)
{
    const struct mst_word *word = &m->tl->reading->words[m->tl->words[heard].word_idx];
    return m->boxes[word->first_letter].page;
}

/* The middle of a frame decides, so that a light is at most half a frame early or late. */
static struct view view_at(const struct maker *m, int64_t frame)
{
    struct view v;
    memset(&v, 0, sizeof v); /* compared as bytes */
    double ms = ((double)frame + 0.5) * 1000 / FPS;
    int32_t next = 0;
    while (next < m->tl->word_count && m->tl->words[next].start_ms <= ms)
        next++;
    int32_t last = next - 1;
    v.word = last >= 0 && m->tl->words[last].end_ms > ms ? last : WORDS_NONE;
    v.page = page_of_word(m, last >= 0 ? last : 0);
    if (v.word == WORDS_NONE && next < m->tl->word_count) {
        double since = last >= 0 ? m->tl->words[last].end_ms : 0,
               until = m->tl->words[next].start_ms;
        if (ms >= until - fmin(turn_early_ms, (until - since) / 2))
            v.page = page_of_word(m, next);
    }
    for (size_t n = 0; n < m->sounding_count && m->soundings[n].start_ms <= ms; n++)
        if (m->soundings[n].end_ms > ms && v.site_count < SOUNDINGS_AT_ONCE)
            v.sites[v.site_count++] = m->soundings[n].site;
    return v;
}

static enum mst_status show(struct maker *m, const struct view *v, struct mst_error *err)
{
    const struct mst_reading *r = m->tl->reading;
    enum mst_status status = canvas_clear(&m->canvas, v->page, err);
    if (status != MST_OK)
        return status;
    if (v->word != WORDS_NONE) {
        const struct mst_word *word = &r->words[m->tl->words[v->word].word_idx];
        for (int32_t n = 0; n < word->letter_count; n++)
            canvas_light(&m->canvas, m->boxes, m->box_count, word->first_letter + n);
    }
    for (int32_t s = 0; s < v->site_count; s++)
        for (size_t n = 0; n < m->mark_count; n++)
            if (m->marks[n].site == v->sites[s])
                canvas_wash(&m->canvas, &m->marks[n],
                            mst_ink_of_family(mst_rule_family(r->sites[v->sites[s]].rule),
                                              m->canvas.theme));
    return MST_OK;
}

/* One second at a time, sound before pictures: neither runs ahead, and nobody waits long to be
 * heard who wants to stop. */
static enum mst_status send_second(struct maker *m, int64_t first_frame, struct view *last,
                                   struct mst_error *err)
{
    static const int second = MST_TAKE_RATE_HZ;
    float samples[MST_TAKE_RATE_HZ];
    size_t got = 0;
    int64_t end = first_frame + FPS < m->frame_count ? first_frame + FPS : m->frame_count;
    enum mst_status status =
        mst_take_read_at(m->take, first_frame / FPS * second, samples, (size_t)second, &got, err);
    if (status == MST_OK)
        status = encoder_sound(m->encoder, samples, got, err);
    for (int64_t frame = first_frame, next; frame < end && status == MST_OK; frame = next) {
        struct view v = view_at(m, frame), after;
        for (next = frame + 1; next < end; next++) {
            after = view_at(m, next);
            if (memcmp(&v, &after, sizeof v) != 0)
                break;
        }
        int32_t repeat = (int32_t)(next - frame);
        if (frame > 0 && memcmp(&v, last, sizeof v) == 0) {
            status = encoder_same(m->encoder, repeat, err);
            continue;
        }
        status = show(m, &v, err);
        if (status == MST_OK)
            status =
                encoder_picture(m->encoder, m->canvas.planes, m->canvas.plane_bytes, repeat, err);
        *last = v;
    }
    return status;
}

static enum mst_status send_all(struct maker *m, struct mst_error *err)
{
    const struct mst_ear_progress *progress = m->options->progress;
    struct view last;
    enum mst_status status = MST_OK;
    for (int64_t frame = 0; frame < m->frame_count && status == MST_OK; frame += FPS) {
        status = send_second(m, frame, &last, err);
        if (status == MST_OK && progress && progress->report &&
            progress->report(progress->user, (double)frame / (double)m->frame_count))
            status = mst_fail(err, MST_CANCELLED, "the film was stopped; nothing was written");
    }
    return status == MST_OK ? encoder_end(m->encoder, err) : status;
}

/* A chapter where a verse begins; what comes before the first word belongs to the first. */
static int32_t chapters_of(const struct mst_timeline *tl, int32_t duration_ms,
                           struct wire_chapter *chapters)
{
    int32_t count = 0;
    for (int32_t n = 0; n < tl->word_count; n = film_verse_end(tl, n)) {
        struct wire_chapter *c = &chapters[count++];
        *c = (struct wire_chapter){.start_ms = count == 1 ? 0 : tl->words[n].start_ms,
                                   .end_ms = duration_ms};
        snprintf(c->title, sizeof c->title, "%d:%d", tl->words[n].at.sura, tl->words[n].at.verse);
        if (count > 1)
            c[-1].end_ms = c->start_ms;
    }
    return count;
}

static enum mst_status open_encoder(struct maker *m, enum wire_format format, const char *path,
                                    struct mst_arena *arena, struct mst_error *err)
{
    struct wire_open open = {.format = format,
                             .width = CANVAS_WIDTH,
                             .height = CANVAS_HEIGHT,
                             .fps = FPS,
                             .rate_hz = MST_TAKE_RATE_HZ};
    struct wire_chapter *chapters =
        mst_arena_alloc(arena, (size_t)m->tl->word_count + 1, sizeof *chapters);
    if (!chapters)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out before the film was begun");
    open.chapter_count = chapters_of(m->tl, (int32_t)(m->frame_count * 1000 / FPS), chapters);
    char passage[96];
    snprintf(open.title, sizeof open.title, "%s", mst_range_print(m->tl->reading->range, passage));
    return encoder_open(path, &open, chapters, &m->encoder, err);
}

static int ends_with(const char *path, const char *ending)
{
    size_t len = strlen(path), tail = strlen(ending);
    return len > tail && strcmp(path + len - tail, ending) == 0;
}

enum mst_status mst_film_write(struct mst_take *take, const struct mst_timeline *timeline,
                               const struct mst_sheet *sheet,
                               const struct mst_film_options *options, const char *path,
                               struct mst_error *err)
{
    static const struct mst_film_options defaults = {0};
    struct maker m = {
        .take = take, .tl = timeline, .sheet = sheet, .options = options ? options : &defaults};
    int webm = ends_with(path, ".webm");
    struct mst_outfile *file;
    struct mst_page_geometry slide = mst_page_slide();
    struct mst_rule_set every = {.bits = ~UINT64_C(0)}; /* the sheet has chosen which are drawn */
    if (!webm && !ends_with(path, ".mp4"))
        return mst_fail(err, MST_USAGE, "“%.100s” ends in neither .mp4 nor .webm", path);
    if (timeline->word_count == 0)
        return mst_fail(err, MST_USAGE, "no word is heard in this take; there is nothing to film");
    enum mst_status status = mst_take_read_all(take, err);
    if (status == MST_OK)
        status = mst_outfile_open(path, &file, err);
    if (status != MST_OK)
        return status;
    m.frame_count = (mst_take_sample_count(take) * FPS + MST_TAKE_RATE_HZ - 1) / MST_TAKE_RATE_HZ;
    m.boxes = mst_sheet_boxes(sheet, &m.box_count);
    m.marks = mst_sheet_marks(sheet, &m.mark_count);
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out before the film was begun");
    if (status == MST_OK)
        status = mst_soundings(timeline, every, arena, &m.soundings, &m.sounding_count, err);
    if (status == MST_OK)
        status = canvas_open(&m.canvas, sheet, slide.width, m.options->theme, err);
    if (status == MST_OK)
        status =
            open_encoder(&m, webm ? WIRE_WEBM : WIRE_MP4, mst_outfile_temp_path(file), arena, err);
    if (status == MST_OK)
        status = send_all(&m, err);
    encoder_close(m.encoder);
    canvas_close(&m.canvas);
    mst_arena_free(arena);
    if (status == MST_OK)
        return mst_outfile_commit(file, err);
    mst_outfile_abort(file);
    return status;
}
