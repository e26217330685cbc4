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
 * Beside it stands the take's own evidence (own.c): with which of its own sounds
 * of both sorts the sound in question lies. Both become sureness by a logistic
 * regression (D. R. Cox, 1958) on splices and sham splices. How well that does was
 * tried with weights of the one reciter on the other's; those below are fitted on
 * both (docs/measurements.md, "How a sound was said"). Where the take's two
 * sorts lie close together – the reciter does not part them, noise or a narrow
 * band covers what parts them – it cannot be told.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/*
 * Log odds of the fault = even + by_distance × distance + by_beyond × how far the sound lies from
 * the take's own right sort towards the other, in spreads + by_own × the take's own evidence; where
 * these cannot be compared, alone + by_distance_alone × distance. Each of the three counts no
 * further than so far. Usual: the middle and spread of evidence / √frames at right sounds.
 *
 * even, alone and the weights are what `bench-ear-faults-fit` prints for the lines that
 * `bench-ear-faults-kinds` wrote (docs/measurements.md, "How a sound was said", says which).
 * The bounds are ours.
 */
static const double by_distance = 1.177, by_beyond = 0.647, by_own = 0.104;
static const double distance_most = 4, beyond_least = -4, beyond_most = 8, own_most = 6;
static const double alone = -0.97, by_distance_alone = 2.489;
static const struct {
    double even, middle, spread;
} curves[MST_CONTRAST_COUNT] = {
    [MST_CONTRAST_LETTER] = {-1.35, -18, 20},  [MST_CONTRAST_VOWEL] = {-1.93, -36, 17},
    [MST_CONTRAST_LENGTH] = {-2.72, -34, 24},  [MST_CONTRAST_DOUBLING] = {-1.67, -9, 19},
    [MST_CONTRAST_ADDED] = {-2.12, -13, 39},   [MST_CONTRAST_NASAL] = {-2.13, -123, 43},
    [MST_CONTRAST_WEIGHT] = {-2.96, -138, 52},
};
/* So that untouched recitation gives at most one finding in 100 sounds (docs/measurements.md, "How
 * a sound was said"). */
static const double least_default = 0.95;
/* Two sorts of the take's own closer together than this, in spreads, are not told apart. This
 * and the next three are ours; they were not fitted. */
static const double apart_least = 2.2;
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

static void doubt(struct mst_kind_fault *k, enum mst_cannot why, int holds)
{
    k->cannot_tell = (uint8_t)(k->cannot_tell | (unsigned)(holds != 0) << why);
}

static double between(double least, double x, double most)
{
    return fmin(fmax(x, least), most);
}

static double sureness_of(const struct mst_kind_fault *k)
{
    double distance = between(-distance_most, k->distance, distance_most);
    double odds = alone + by_distance_alone * distance;
    if (k->apart > 0) {
        double beyond = (k->own + k->apart * k->apart / 2) / k->apart;
        odds = curves[k->contrast].even + by_distance * distance +
               by_beyond * between(beyond_least, beyond, beyond_most) +
               by_own * between(-own_most, k->own, own_most);
    }
    return 1 / (1 + exp(-odds));
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
        k->sureness = sureness_of(k);
        doubt(k, MST_CANNOT_EVERYWHERE, middle > middle_for_it);
        doubt(k, MST_CANNOT_CLOSE, k->apart > 0 && k->apart < apart_least);
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

/* A sound being weighed: what all its faults share. */
struct weighing {
    struct mst_fault_ear *ear;
    const struct fault_own *own;
    int32_t unit;
    int opened;
    struct fault_window window;
    double right; /* log likelihood of the right sounds */
};

static enum mst_status open_window(struct weighing *x, const struct fault_contrast *c,
                                   struct mst_error *err)
{
    if (x->opened)
        return MST_OK;
    enum mst_status status =
        fault_window_make(&x->window, &x->ear->judge, c->start_fr, c->end_fr, err);
    x->opened = !status;
    if (!status)
        x->right = fault_chain_score(&x->window, c->right, c->right_count);
    return status;
}

/* The likeliest way of a fault at a unit; fault NULL when it cannot befall. */
static enum mst_status weigh_fault(struct weighing *x, const struct mst_fault *fault,
                                   struct mst_kind_fault *out, struct mst_error *err)
{
    const struct fault_heard *h = &x->ear->heard;
    const struct mst_timeline *tl = h->timeline;
    const struct fault_unit *u = &h->units[x->unit];
    *out = (struct mst_kind_fault){.fault = NULL, .evidence = -INFINITY};
    if (!mst_fault_befalls(fault, tl->reading, tl->sounds[u->sound].sound_idx))
        return MST_OK;
    for (int32_t way = 0; way < fault->way_count; way++) {
        struct fault_contrast c;
        if (!fault_contrast_make(&c, h, x->unit, &fault->ways[way]))
            continue;
        enum mst_status status = open_window(x, &c, err);
        if (status)
            return status;
        double wrong = fault_chain_score(&x->window, c.wrong, c.wrong_count);
        double evidence = wrong - x->right;
        int possible = x->right > (double)EAR_NOWHERE / 2 && wrong > (double)EAR_NOWHERE / 2;
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
                                       .frames = frames > 1 ? frames : 1};
        doubt(out, MST_CANNOT_LISTED, fault->untold);
        doubt(out, MST_CANNOT_VOICE, !told_apart(&c, &x->ear->judge.model.densities));
        doubt(out, MST_CANNOT_SHORT,
              fault_own_compare(x->own, &c, &out->own, &out->apart) == FAULT_OWN_SHORT);
    }
    return MST_OK;
}

static enum mst_status weigh_sound(struct mst_fault_ear *ear, const struct fault_own *own,
                                   int32_t unit, const struct mst_fault_list *list,
                                   struct findings *found, struct mst_error *err)
{
    struct weighing x = {.ear = ear, .own = own, .unit = unit};
    int32_t sound = ear->heard.units[unit].sound;
    enum mst_status status = MST_OK;
    if (sound < 0 || ear->timeline->sounds[sound].sound_idx < 0)
        return MST_OK;
    for (int32_t n = 0; n < list->count && !status; n++) {
        struct mst_kind_fault one;
        status = weigh_fault(&x, &list->faults[n], &one, err);
        if (!status && one.fault && !add(found, &one))
            status = mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
    }
    if (x.opened)
        fault_window_clear(&x.window);
    return status;
}

size_t fault_keep_best(struct mst_kind_fault *list, size_t count, double least)
{
    size_t kept = 0;
    least = least > 0 ? least : least_default;
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
    *out = NULL;
    *count = 0;
    if (!ear->with_voice)
        return mst_fail(err, MST_USAGE,
                        "how a sound was said is judged by a stored voice; name one");
    struct fault_own *own;
    enum mst_status status = fault_own_make(&own, &ear->heard, &ear->judge, err);
    for (int32_t u = 0; u < ear->heard.count && !status; u++)
        status = weigh_sound(ear, own, u, list, &found, err);
    fault_own_free(own);
    if (status)
        return status;
    double *room = malloc((found.count + 1) * sizeof *room);
    if (!room)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while judging the sounds");
    for (int32_t n = 0; n < list->count; n++)
        for (int kind = 0; kind < MST_CONTRAST_COUNT; kind++)
            settle(found.list, found.count, &list->faults[n], (enum mst_contrast)kind, room);
    free(room);
    ear->unjudged_count = count_unjudged(found.list, found.count);
    *count = o.all ? found.count : fault_keep_best(found.list, found.count, o.least);
    *out = found.list;
    return MST_OK;
}
