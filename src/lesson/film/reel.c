#include "reel.h"

#include "canvas.h"
#include "encoder.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LIT_NONE = -1, SITES_AT_ONCE = 8 };
static const double turn_early_ms = 350; /* a page is there this long before its first word */

struct reel reel_new(void)
{
    return (struct reel){.arena = mst_arena_new(0)};
}

void reel_free(struct reel *reel)
{
    for (size_t n = 0; n < reel->sound_count; n++)
        mst_take_close(reel->sounds[n].full);
    mst_arena_free(reel->arena);
}

enum mst_status reel_sound(struct reel *reel, struct mst_take *take, struct mst_take **out,
                           struct mst_error *err)
{
    for (size_t n = 0; n < reel->sound_count; n++)
        if (reel->sounds[n].heard == take) {
            *out = reel->sounds[n].full;
            return MST_OK;
        }
    struct reel_sound *more = mst_arena_grow(reel->arena, reel->sounds, reel->sound_count,
                                             reel->sound_count + 1, sizeof *more);
    if (!more)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out before the film was begun");
    reel->sounds = more;
    enum mst_status status = mst_take_open_sound(take, out, err);
    if (status != MST_OK)
        return status;
    more[reel->sound_count++] = (struct reel_sound){take, *out};
    if (reel->rate_hz && reel->rate_hz != mst_take_rate_hz(*out))
        return mst_fail(err, MST_USAGE, "takes of files and of bare samples make no film together");
    reel->rate_hz = mst_take_rate_hz(*out);
    return MST_OK;
}

/* --- scenes ------------------------------------------------------------------------- */

struct scene *reel_scene(struct reel *reel)
{
    struct scene *more = mst_arena_grow(reel->arena, reel->scenes, reel->scene_count,
                                        reel->scene_count + 1, sizeof *more);
    if (!more)
        return NULL;
    reel->scenes = more;
    memset(&more[reel->scene_count], 0, sizeof *more);
    return &more[reel->scene_count++];
}

int64_t reel_frames(const struct reel *reel)
{
    int64_t frames = 0;
    for (size_t n = 0; n < reel->scene_count; n++)
        frames += reel->scenes[n].frame_count;
    return frames;
}

int64_t reel_frames_of_ms(double ms)
{
    return (int64_t)ceil(ms * FILM_FPS / 1000 - 1e-9);
}

enum mst_status reel_chapter(struct reel *reel, double start_ms, const char *title,
                             struct mst_error *err)
{
    struct wire_chapter *more = mst_arena_grow(reel->arena, reel->chapters, reel->chapter_count,
                                               reel->chapter_count + 1, sizeof *more);
    if (!more)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out before the film was begun");
    reel->chapters = more;
    struct wire_chapter *c = &more[reel->chapter_count++];
    *c = (struct wire_chapter){.start_ms = (int32_t)lround(start_ms)};
    snprintf(c->title, sizeof c->title, "%s", title);
    return MST_OK;
}

/* --- shooting ------------------------------------------------------------------------- */

struct camera {
    const struct reel *reel;
    const struct mst_ear_progress *progress;
    struct canvas canvas;
    struct encoder *encoder;
    int64_t frames_sent, frames_all;
    int32_t rate_hz;
    float *samples; /* room for a second */
};

/* What a frame shows; two frames that are alike here are the same picture. */
struct view {
    const struct mst_sheet *sheet;
    int page;
    int32_t word; /* LIT_NONE in pauses */
    int32_t sites[SITES_AT_ONCE];
    int32_t site_count;
};

static int page_of_word(const struct scene *s, int32_t word)
{
    size_t count;
    const struct mst_letter_box *boxes = mst_sheet_boxes(s->sheet, &count);
    return boxes[s->reading->words[word].first_letter].page;
}

/* The middle of a frame decides, so that a light is at most half a frame early or late. */
static struct view view_at(const struct scene *s, int64_t frame)
{
    struct view v;
    memset(&v, 0, sizeof v); /* compared as bytes */
    double ms = ((double)frame + 0.5) * 1000 / FILM_FPS;
    v.sheet = s->sheet;
    v.page = s->page;
    v.word = LIT_NONE;
    if (!s->reading || s->word_count == 0)
        return v;
    size_t next = 0;
    while (next < s->word_count && s->words[next].start_ms <= ms)
        next++;
    const struct light *last = next > 0 ? &s->words[next - 1] : NULL;
    v.word = last && last->end_ms > ms ? last->idx : LIT_NONE;
    v.page = page_of_word(s, last ? last->idx : s->words[0].idx);
    if (v.word == LIT_NONE && next < s->word_count) {
        double since = last ? last->end_ms : 0, until = s->words[next].start_ms;
        if (ms >= until - fmin(turn_early_ms, (until - since) / 2))
            v.page = page_of_word(s, s->words[next].idx);
    }
    for (size_t n = 0; n < s->site_count && s->sites[n].start_ms <= ms; n++)
        if (s->sites[n].end_ms > ms && v.site_count < SITES_AT_ONCE)
            v.sites[v.site_count++] = s->sites[n].idx;
    return v;
}

static enum mst_status show(struct camera *c, const struct scene *s, const struct view *v,
                            struct mst_error *err)
{
    size_t box_count, mark_count;
    const struct mst_letter_box *boxes = mst_sheet_boxes(s->sheet, &box_count);
    const struct mst_mark_box *marks = mst_sheet_marks(s->sheet, &mark_count);
    enum mst_status status = canvas_clear(&c->canvas, v->sheet, v->page, err);
    if (status != MST_OK)
        return status;
    if (v->word != LIT_NONE) {
        const struct mst_word *word = &s->reading->words[v->word];
        for (int32_t n = 0; n < word->letter_count; n++)
            canvas_light(&c->canvas, boxes, box_count, word->first_letter + n);
    }
    for (int32_t k = 0; k < v->site_count; k++)
        for (size_t n = 0; n < mark_count; n++)
            if (marks[n].site == v->sites[k])
                canvas_wash(&c->canvas, &marks[n],
                            mst_ink_of_family(mst_rule_family(s->reading->sites[v->sites[k]].rule),
                                              c->canvas.theme));
    return MST_OK;
}

static int64_t sample_of_frame(const struct camera *c, int64_t frame)
{
    return frame * c->rate_hz / FILM_FPS;
}

/* The scene's sound from one of its samples on, silence where there is none. */
static enum mst_status read_sound(const struct scene *s, int64_t first, size_t count, float *out,
                                  struct mst_error *err)
{
    size_t got = 0;
    enum mst_status status = MST_OK;
    if (s->take) {
        status = mst_take_read_at(s->take, s->from_sample + first, out, count, &got, err);
    } else if (s->samples && first < (int64_t)s->sample_count) {
        got = s->sample_count - (size_t)first < count ? s->sample_count - (size_t)first : count;
        memcpy(out, s->samples + first, got * sizeof *out);
    }
    memset(out + got, 0, (count - got) * sizeof *out);
    return status;
}

/* A second of a scene, sound before pictures: neither runs ahead, and nobody waits long to be heard
 * who wants to stop. */
static enum mst_status send_second(struct camera *c, const struct scene *s, int64_t first_frame,
                                   struct view *last, struct mst_error *err)
{
    int64_t end = first_frame + FILM_FPS < s->frame_count ? first_frame + FILM_FPS : s->frame_count;
    int64_t first_sample = sample_of_frame(c, c->frames_sent);
    size_t count = (size_t)(sample_of_frame(c, c->frames_sent + end - first_frame) - first_sample);
    enum mst_status status = read_sound(
        s, first_sample - sample_of_frame(c, c->frames_sent - first_frame), count, c->samples, err);
    if (status == MST_OK)
        status = encoder_sound(c->encoder, c->samples, count, err);
    for (int64_t frame = first_frame, next; frame < end && status == MST_OK; frame = next) {
        struct view v = view_at(s, frame), after;
        for (next = frame + 1; next < end; next++) {
            after = view_at(s, next);
            if (memcmp(&v, &after, sizeof v) != 0)
                break;
        }
        int32_t repeat = (int32_t)(next - frame);
        if (memcmp(&v, last, sizeof v) == 0) {
            status = encoder_same(c->encoder, repeat, err);
            continue;
        }
        status = show(c, s, &v, err);
        if (status == MST_OK)
            status =
                encoder_picture(c->encoder, c->canvas.planes, c->canvas.plane_bytes, repeat, err);
        *last = v;
    }
    c->frames_sent += end - first_frame;
    return status;
}

static enum mst_status send_all(struct camera *c, struct mst_error *err)
{
    struct view last;
    enum mst_status status = MST_OK;
    memset(&last, 0, sizeof last); /* no sheet: nothing is like it */
    for (size_t n = 0; n < c->reel->scene_count; n++) {
        const struct scene *s = &c->reel->scenes[n];
        for (int64_t frame = 0; frame < s->frame_count && status == MST_OK; frame += FILM_FPS) {
            status = send_second(c, s, frame, &last, err);
            if (status == MST_OK && c->progress && c->progress->report &&
                c->progress->report(c->progress->user,
                                    (double)c->frames_sent / (double)c->frames_all))
                status = mst_fail(err, MST_CANCELLED, "the film was stopped; nothing was written");
        }
    }
    return status == MST_OK ? encoder_end(c->encoder, err) : status;
}

static int by_start(const void *a, const void *b)
{
    const struct wire_chapter *x = a, *y = b;
    return (x->start_ms > y->start_ms) - (x->start_ms < y->start_ms);
}

/* Those of the scenes and those within them, each up to the next. */
static enum mst_status chapters_of(const struct reel *reel, struct wire_chapter **out,
                                   int32_t *count, struct mst_error *err)
{
    struct wire_chapter *all =
        mst_arena_alloc(reel->arena, reel->scene_count + reel->chapter_count + 1, sizeof *all);
    int64_t frames = 0;
    *count = 0;
    if (!all)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out before the film was begun");
    for (size_t n = 0; n < reel->scene_count; n++) {
        const struct scene *s = &reel->scenes[n];
        if (s->chapter[0]) {
            all[*count].start_ms = (int32_t)(frames * 1000 / FILM_FPS);
            memcpy(all[(*count)++].title, s->chapter, sizeof s->chapter);
        }
        frames += s->frame_count;
    }
    for (size_t n = 0; n < reel->chapter_count; n++)
        all[(*count)++] = reel->chapters[n];
    qsort(all, (size_t)*count, sizeof *all, by_start);
    if (*count > 0)
        all[0].start_ms = 0; /* what comes before the first belongs to it */
    for (int32_t n = 0; n < *count; n++)
        all[n].end_ms = n + 1 < *count ? all[n + 1].start_ms : (int32_t)(frames * 1000 / FILM_FPS);
    *out = all;
    return MST_OK;
}

static int ends_with(const char *path, const char *ending)
{
    size_t len = strlen(path), tail = strlen(ending);
    return len > tail && strcmp(path + len - tail, ending) == 0;
}

static enum mst_status open_encoder(struct camera *c, int webm, const char *path,
                                    struct mst_error *err)
{
    struct wire_open open = {.format = webm ? WIRE_WEBM : WIRE_MP4,
                             .width = CANVAS_WIDTH,
                             .height = CANVAS_HEIGHT,
                             .fps = FILM_FPS,
                             .rate_hz = c->rate_hz};
    struct wire_chapter *chapters = NULL;
    enum mst_status status = chapters_of(c->reel, &chapters, &open.chapter_count, err);
    if (status != MST_OK)
        return status;
    memcpy(open.title, c->reel->title, sizeof open.title);
    return encoder_open(path, &open, chapters, &c->encoder, err);
}

enum mst_status reel_shoot(const struct reel *reel, enum mst_theme theme,
                           const struct mst_ear_progress *progress, const char *path,
                           struct mst_error *err)
{
    struct camera c = {.reel = reel,
                       .progress = progress,
                       .frames_all = reel_frames(reel),
                       .rate_hz = reel->rate_hz ? reel->rate_hz : MST_SOUND_RATE_HZ};
    int webm = ends_with(path, ".webm");
    struct mst_outfile *file;
    if (!webm && !ends_with(path, ".mp4"))
        return mst_fail(err, MST_USAGE, "“%.100s” ends in neither .mp4 nor .webm", path);
    if (c.frames_all == 0)
        return mst_fail(err, MST_USAGE, "there is nothing to film");
    enum mst_status status = mst_outfile_open(path, &file, err);
    if (status != MST_OK)
        return status;
    c.samples = malloc(((size_t)c.rate_hz + 1) * sizeof *c.samples);
    if (!c.samples)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out before the film was begun");
    if (status == MST_OK)
        status = canvas_open(&c.canvas, mst_page_slide().width, theme, err);
    if (status == MST_OK)
        status = open_encoder(&c, webm, mst_outfile_temp_path(file), err);
    if (status == MST_OK)
        status = send_all(&c, err);
    encoder_close(c.encoder);
    canvas_close(&c.canvas);
    free(c.samples);
    if (status == MST_OK)
        return mst_outfile_commit(file, err);
    mst_outfile_abort(file);
    return status;
}
