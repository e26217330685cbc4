/* parts.h – what the files of the film share. */
#ifndef LESSON_FILM_PARTS_H
#define LESSON_FILM_PARTS_H

#include <mistara/film.h>

/* Past the last of the heard words from first on that were said in one breath and belong to one
 * verse. */
int32_t film_breath_end(const struct mst_timeline *tl, int32_t first);
/* The same for a whole verse, with what was taken up again in it. */
int32_t film_verse_end(const struct mst_timeline *tl, int32_t first);

/* Past the heard words of this phrase, which begin at *first and are said through; -1: it is not
 * all there. */
int32_t film_phrase_end(const struct mst_timeline *tl, struct mst_range phrase, int32_t *first);

/* Samples slowed to this many percent of their pace, the pitch kept; malloc'd into *out. */
MST_MUST_CHECK enum mst_status film_slow(const float *samples, size_t count, int32_t rate_hz,
                                         int percent, float **out, size_t *out_count,
                                         struct mst_error *err);

/* A stretch of the sound at this percent of its pace, its ends softened, without parts. */
MST_MUST_CHECK enum mst_status film_clip(struct mst_take *sound, double start_ms, double end_ms,
                                         int percent, struct mst_practice *out,
                                         struct mst_error *err);

#endif
