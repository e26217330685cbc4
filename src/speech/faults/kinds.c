/*
 * kinds.c – sounds said in another way. Every fault that can befall a sound
 * gives a row of its own: the right sounds and the wrong ones are each laid
 * anew over the stretch from three sounds before to three after, and the
 * difference of their log likelihoods is the evidence. That is the goodness of
 * pronunciation of S. M. Witt & S. J. Young (Speech Communication 30, 2000,
 * 95–108), against the sounds a learner is likely to say instead of against
 * all; refitting the neighbours in either row follows J. Zheng, C. Huang, M. Chu,
 * F. K. Soong & W. Ye, “Generalized segment posterior probability for automatic
 * Mandarin pronunciation evaluation” (ICASSP 2007).
 *
 * A voice may say a sound in a way that lies nearer to another one than the
 * voice it is judged by does, without fault: so the evidence, per root of the
 * sound's length, is held against what the same fault's evidence is at all the
 * other places of the take where it might have been made (their middle and
 * robust spread, leaning on what is usual where they are few): a contrast
 * within the reciter's own voice. Where even the middle speaks for the fault,
 * the reciter always makes it or the two voices do not fit each other: that
 * cannot be told.
 *
 * The distance in spreads becomes sureness by a logistic curve per kind of
 * contrast (J. Platt, 1999), fitted on splices and sham splices
 * (docs/measurements.md).
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Sureness = logistic(slope × (distance - even)), both from splices; the usual middle and spread of
 * evidence / √frames at right sounds. */
static const struct {
    double even, slope, middle, spread;
} curves[MST_CONTRAST_COUNT] = {
    [MST_CONTRAST_LETTER] = {0.74, 1.80, -18, 20},  [MST_CONTRAST_VOWEL] = {1.40, 0.96, -36, 17},
    [MST_CONTRAST_LENGTH] = {1.31, 3.25, -34, 24},  [MST_CONTRAST_DOUBLING] = {1.11, 2.39, -9, 19},
    [MST_CONTRAST_ADDED] = {0.56, 2.24, -13, 39},   [MST_CONTRAST_NASAL] = {2.39, 0.76, -123, 43},
    [MST_CONTRAST_WEIGHT] = {1.42, 4.78, -138, 52},
};
/* So that untouched recitation gives less than one finding in 100 sounds (docs/measurements.md). */
static const double least_default = 0.99;
/* As many places as what is usual weighs; a spread is never smaller than this. */
static const double usual_weighs = 6, least_spread = 4;
/* A fault whose middle speaks for it this much cannot be told. */
static const double middle_for_it = 25;

/* Does the voice know the two rows apart at all? Sounds it never heard have stand-ins. */
static int told_apart(const struct fault_contrast *c, const struct ear_densities *d)
{
    int32_t right = c->right_count - c->same_before - c->same_after;
    int32_t wrong = c->wrong_count - c->same_before - c->same_after;
    if (right != wrong)
        return 1;
    for (int32_t i = c->same_before; i < c->same_before + right; i++)
        if (c->right[i].cls != c->wrong[i].cls || c->right[i].geminate != c->wrong[i].geminate ||
            d->slot_of[c->right[i].model * EAR_STATES + 1] !=
                d->slot_of[c->wrong[i].model * EAR_STATES + 1])
            return 1;
    return 0;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Hold the places of one fault, of one kind of contrast, against one another. room: as many
 * doubles. */
static void settle(struct mst_kind_fault *list, size_t count, const struct mst_fault *fault,
                   enum mst_contrast kind, double *room)
{
    size_t n = 0;
    for (size_t i = 0; i < count; i++)
        if (list[i].fault == fault && list[i].contrast == kind)
            room[n++] = list[i].evidence / sqrt(list[i].frames);
    if (n == 0)
        return;
    qsort(room, n, sizeof *room, ascending);
    double middle = (room[(n - 1) / 2] + room[n / 2]) / 2;
    for (size_t i = 0; i < n; i++)
        room[i] = fabs(room[i] - middle);
    qsort(room, n, sizeof *room, ascending);
    double spread = 1.4826 * (room[(n - 1) / 2] + room[n / 2]) / 2;
    double weight = (double)n + usual_weighs;
    middle = ((double)n * middle + usual_weighs * curves[kind].middle) / weight;
    spread = ((double)n * spread + usual_weighs * curves[kind].spread) / weight + least_spread;
    for (size_t i = 0; i < count; i++) {
        struct mst_kind_fault *k = &list[i];
        if (k->fault != fault || k->contrast != kind)
            continue;
        k->distance = (k->evidence / sqrt(k->frames) - middle) / spread;
        k->sureness = 1 / (1 + exp(-curves[kind].slope * (k->distance - curves[kind].even)));
        k->cannot_tell |= middle > middle_for_it;
    }
}

struct findings {
    struct mst_arena *arena;
    struct mst_kind_fault *list;
    size_t count, cap;
};

static int add(struct findings *f, const struct mst_kind_fault *one)
{
    if (f->count == f->cap) {
        size_t cap = f->cap ? f->cap * 2 : 64;
        struct mst_kind_fault *grown =
            mst_arena_grow(f->arena, f->list, f->cap, cap, sizeof *grown);
        if (!grown)
            return 0;
        f->list = grown;
        f->cap = cap;
    }
    f->list[f->count++] = *one;
    return 1;
}

/* The likeliest way of a fault at a unit; fault NULL when it cannot befall. */
static enum mst_status weigh_fault(struct mst_fault_ear *ear, const struct mst_fault *fault,
                                   int32_t unit, struct mst_kind_fault *out, struct mst_error *err)
{
    const struct fault_heard *h = &ear->heard;
    const struct mst_timeline *tl = h->timeline;
    const struct fault_unit *u = &h->units[unit];
    *out = (struct mst_kind_fault){.fault = NULL, .evidence = -INFINITY};
    if (!mst_fault_befalls(fault, tl->reading, tl->sounds[u->sound].sound_idx))
        return MST_OK;
    for (int32_t way = 0; way < fault->way_count; way++) {
        struct fault_contrast c;
        struct fault_window w;
        if (!fault_contrast_make(&c, h, unit, &fault->ways[way]))
            continue;
        enum mst_status status = fault_window_make(&w, &ear->judge, c.start_fr, c.end_fr, err);
        if (status)
            return status;
        double right = fault_chain_score(&w, c.right, c.right_count);
        double wrong = fault_chain_score(&w, c.wrong, c.wrong_count);
        fault_window_clear(&w);
        double evidence = wrong - right;
        int possible = right > (double)EAR_NOWHERE / 2 && wrong > (double)EAR_NOWHERE / 2;
        if (!possible || (out->fault && evidence <= out->evidence))
            continue;
        int32_t end = c.right_count - c.same_after - 1, last = c.first_unit + end;
        int32_t first = c.first_unit + (c.same_before <= end ? c.same_before : end);
        double frames = h->units[last].end_fr - h->units[first].start_fr;
        *out = (struct mst_kind_fault){.fault = fault,
                                       .way = way,
                                       .sound = u->sound,
                                       .at = tl->words[u->word].at,
                                       .start_ms = tl->sounds[u->sound].start_ms,
                                       .end_ms = tl->sounds[u->sound].end_ms,
                                       .contrast = c.kind,
                                       .evidence = evidence,
                                       .frames = frames > 1 ? frames : 1,
                                       .cannot_tell = fault->untold ||
                                                      !told_apart(&c, &ear->judge.model.densities)};
    }
    return MST_OK;
}

/* Of each sound the likeliest fault that is sure enough; they move to the front. */
static size_t keep_best(struct mst_kind_fault *list, size_t count, double least)
{
    size_t kept = 0;
    for (size_t i = 0, end; i < count; i = end) {
        size_t best = count;
        for (end = i; end < count && list[end].sound == list[i].sound; end++)
            if (!list[end].cannot_tell && list[end].sureness >= least &&
                (best == count || list[end].sureness > list[best].sureness))
                best = end;
        if (best < count)
            list[kept++] = list[best];
    }
    return kept;
}

/* Sounds of which no fault at all can be told. */
static int32_t count_unjudged(const struct mst_kind_fault *list, size_t count)
{
    int32_t unjudged = 0;
    for (size_t i = 0, end; i < count; i = end) {
        int told = 0;
        for (end = i; end < count && list[end].sound == list[i].sound; end++)
            told |= !list[end].cannot_tell;
        unjudged += !told;
    }
    return unjudged;
}

enum mst_status mst_fault_kinds(struct mst_fault_ear *ear, const struct mst_fault_list *list,
                                const struct mst_kind_options *options, struct mst_arena *arena,
                                struct mst_kind_fault **out, size_t *count, struct mst_error *err)
{
    struct mst_kind_options o = options ? *options : (struct mst_kind_options){0};
    struct findings found = {.arena = arena};
    double least = o.least > 0 ? o.least : least_default;
    *out = NULL;
    *count = 0;
    if (!ear->with_voice)
        return mst_fail(err, MST_USAGE,
                        "how a sound was said is judged by a stored voice; name one");
    for (int32_t u = 0; u < ear->heard.count; u++) {
        int32_t sound = ear->heard.units[u].sound;
        if (sound < 0 || ear->timeline->sounds[sound].sound_idx < 0)
            continue;
        for (int32_t n = 0; n < list->count; n++) {
            struct mst_kind_fault one;
            enum mst_status status = weigh_fault(ear, &list->faults[n], u, &one, err);
            if (status)
                return status;
            if (one.fault && !add(&found, &one))
                return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
        }
    }
    double *room = malloc((found.count + 1) * sizeof *room);
    if (!room)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
    for (int32_t n = 0; n < list->count; n++)
        for (int kind = 0; kind < MST_CONTRAST_COUNT; kind++)
            settle(found.list, found.count, &list->faults[n], (enum mst_contrast)kind, room);
    free(room);
    ear->unjudged_count = count_unjudged(found.list, found.count);
    *count = o.all ? found.count : keep_best(found.list, found.count, least);
    *out = found.list;
    return MST_OK;
}
