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
 * Evidence becomes sureness by a logistic curve per kind of contrast
 * (J. Platt, 1999), fitted on splices and sham splices of other voices and
 * other places than those it is measured on (docs/measurements.md).
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Sureness = logistic(offset + slope × evidence / √frames). */
static const struct {
    double offset, slope;
} curves[MST_CONTRAST_COUNT] = {
    [MST_CONTRAST_LETTER] = {0, 0.1}, [MST_CONTRAST_VOWEL] = {0, 0.1},
    [MST_CONTRAST_LENGTH] = {0, 0.1}, [MST_CONTRAST_DOUBLING] = {0, 0.1},
    [MST_CONTRAST_ADDED] = {0, 0.1},  [MST_CONTRAST_NASAL] = {0, 0.1},
    [MST_CONTRAST_WEIGHT] = {0, 0.1},
};
static const double least_default = 0.9;

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

static double sureness_of(enum mst_contrast kind, double evidence, double frames)
{
    double x = evidence / sqrt(frames);
    return 1 / (1 + exp(-(curves[kind].offset + curves[kind].slope * x)));
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
                                       .cannot_tell =
                                           (uint8_t)!told_apart(&c, &ear->judge.model.densities)};
    }
    if (out->fault)
        out->sureness = sureness_of(out->contrast, out->evidence, out->frames);
    return MST_OK;
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
        struct mst_kind_fault best = {.fault = NULL};
        int32_t sound = ear->heard.units[u].sound;
        if (sound < 0 || ear->timeline->sounds[sound].sound_idx < 0)
            continue;
        for (int32_t n = 0; n < list->count; n++) {
            struct mst_kind_fault one;
            enum mst_status status = weigh_fault(ear, &list->faults[n], u, &one, err);
            if (status)
                return status;
            if (!one.fault)
                continue;
            if (o.all && !add(&found, &one))
                return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
            if (!one.cannot_tell && (!best.fault || one.sureness > best.sureness))
                best = one;
        }
        if (!o.all && best.fault && best.sureness >= least && !add(&found, &best))
            return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
    }
    *out = found.list;
    *count = found.count;
    return MST_OK;
}
