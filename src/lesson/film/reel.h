/*
 * reel.h – a film is a row of scenes: each shows pages of one sheet, sounds
 * for so many frames, and says when which words and marks are lit. What shows
 * at a frame follows from that alone; a picture is made only where it changes.
 */
#ifndef LESSON_FILM_REEL_H
#define LESSON_FILM_REEL_H

#include "encode/wire.h"
#include "parts.h"

enum { FILM_FPS = 30 };

/* In ms from the scene's first frame; idx: a word or a site of the sheet's reading. */
struct light {
    int32_t start_ms, end_ms, idx;
};
struct scene {
    const struct mst_sheet *sheet;     /* in the size of mst_page_slide() */
    const struct mst_reading *reading; /* the sheet's; NULL: one page of it stands still */
    int page;                          /* the one that stands still */
    int64_t frame_count;
    struct light *words, *sites; /* in order of start; a page turns with its words */
    size_t word_count, site_count;
    /* The sound: samples, or the take from a sample on, or neither: silence. */
    const float *samples;
    size_t sample_count;
    struct mst_take *take; /* of reel_sound() */
    int64_t from_sample;
    char chapter[WIRE_TITLE]; /* begins here; empty: the one before goes on */
};
struct reel {
    struct mst_arena *arena; /* the scenes' */
    struct scene *scenes;
    size_t scene_count;
    struct wire_chapter *chapters; /* more of them, within scenes; ms of the whole film */
    size_t chapter_count;
    char title[WIRE_TITLE];
    struct reel_sound {
        const struct mst_take *heard;
        struct mst_take *full;
    } * sounds;
    size_t sound_count;
    int32_t rate_hz; /* of all its sound; 0: there is none yet */
};

/* arena NULL: memory ran out. */
struct reel reel_new(void);
void reel_free(struct reel *reel);
/* The sound of a take for its scenes, closed with the reel. */
MST_MUST_CHECK enum mst_status reel_sound(struct reel *reel, struct mst_take *take,
                                          struct mst_take **out, struct mst_error *err);

/* A further scene, zeroed, valid until the next; NULL: memory ran out. */
struct scene *reel_scene(struct reel *reel);
/* Where the next scene would begin. */
int64_t reel_frames(const struct reel *reel);
int64_t reel_frames_of_ms(double ms); /* rounded up */
MST_MUST_CHECK enum mst_status reel_chapter(struct reel *reel, double start_ms, const char *title,
                                            struct mst_error *err);

/* path ends in .mp4 or .webm (else USAGE); whole or not at all. */
MST_MUST_CHECK enum mst_status reel_shoot(const struct reel *reel, enum mst_theme theme,
                                          const struct mst_ear_progress *progress, const char *path,
                                          struct mst_error *err);

/* The take's words first…end-1 and the marks that sound in them, lit on the sheet of `reading`,
 * which holds these words; percent: of the pace. from_ms of the take is the scene's beginning. */
MST_MUST_CHECK enum mst_status scene_light(struct scene *scene, const struct mst_timeline *tl,
                                           int32_t first, int32_t end, double from_ms, int percent,
                                           struct mst_arena *arena, struct mst_error *err);
/* The whole take; a chapter for each verse. */
MST_MUST_CHECK enum mst_status reel_take(struct reel *reel, struct mst_take *take,
                                         const struct mst_timeline *tl,
                                         const struct mst_sheet *sheet, struct mst_error *err);

#endif
