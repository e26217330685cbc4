#include "faults_splices.h"

#include "faults_families.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FADE = 80, DONORS = 4 };

/* A stretch of samples to play. */
struct piece {
    const struct recording *from;
    size_t start, end;
};
struct place {
    const struct taken *take;
    int32_t unit;
};
struct splicer {
    const struct taken *takes;
    int take_count;
    const struct mst_fault_list *list;
    struct place *places; /* of all takes, by model */
    size_t first_place[EAR_MODEL_COUNT + 1];
    int32_t *made, family_made[FAMILY_COUNT][2]; /* per fault; per family, [1]: sham */
    int32_t most;
};

struct splicer *splicer_new(const struct taken *takes, int take_count,
                            const struct mst_fault_list *list, int32_t most)
{
    struct splicer *s = calloc(1, sizeof *s);
    size_t all = 0, at = 0;
    for (int t = 0; t < take_count; t++)
        all += (size_t)takes[t].heard.count;
    if (!s || !(s->places = calloc(all + 1, sizeof *s->places)) ||
        !(s->made = calloc((size_t)list->count + 1, sizeof *s->made)))
        abort();
    s->takes = takes;
    s->take_count = take_count;
    s->list = list;
    s->most = most;
    for (int model = 0; model < EAR_MODEL_COUNT; model++) {
        s->first_place[model] = at;
        for (int t = 0; t < take_count; t++)
            for (int32_t u = 1; u + 1 < takes[t].heard.count; u++)
                if (takes[t].heard.units[u].unit.model == model)
                    s->places[at++] = (struct place){&takes[t], u};
    }
    s->first_place[EAR_MODEL_COUNT] = at;
    return s;
}

void splicer_free(struct splicer *s)
{
    free(s->places);
    free(s->made);
    free(s);
}

void splicer_count(struct splicer *s, const char *fault_id, int sham)
{
    int family = family_of(fault_id);
    if (family >= 0)
        s->family_made[family][sham != 0]++;
}

static float *play(const struct piece *pieces, size_t count, size_t *n)
{
    size_t total = 0, at = 0;
    for (size_t i = 0; i < count; i++)
        total += pieces[i].end - pieces[i].start;
    float *out = calloc(total + 1, sizeof *out);
    for (size_t i = 0; i < count; i++) {
        const struct piece *p = &pieces[i], *b = i > 0 ? &pieces[i - 1] : NULL;
        for (size_t k = 0; k < p->end - p->start; k++) {
            float v = p->from->samples[p->start + k];
            if (b && k < FADE) {
                float share = ((float)k + 0.5f) / FADE;
                float before = b->end + k < b->from->count ? b->from->samples[b->end + k] : 0;
                v = v * share + before * (1 - share);
            }
            out[at++] = v;
        }
    }
    *n = at;
    return out;
}

static size_t sample_of_frame(const struct recording *r, int32_t frame)
{
    size_t s = (size_t)ear_ms_of_frame(frame) * 16;
    return s < r->count ? s : r->count;
}

static int same_kind(const struct ear_unit *a, const struct ear_unit *b)
{
    return a->model == b->model && a->geminate == b->geminate && a->cls == b->cls;
}

/* A stretch of another take that says `want` between the given neighbours; 0 when the voice never
 * did: the ear must not know the very sound. */
static int donor(const struct splicer *s, const struct ear_unit *want, int before, int after,
                 const struct taken *not_from, uint64_t *seed, struct piece *out)
{
    struct piece best[DONORS];
    int best_fit = -1, count = 0;
    for (size_t p = s->first_place[want->model]; p < s->first_place[want->model + 1]; p++) {
        const struct taken *t = s->places[p].take;
        const struct fault_unit *x = &t->heard.units[s->places[p].unit];
        if (t == not_from || !same_kind(&x->unit, want))
            continue;
        int fit = 2 * (x[1].unit.model == after) + (x[-1].unit.model == before);
        if (fit < best_fit)
            continue;
        if (fit > best_fit)
            count = 0;
        best_fit = fit;
        int at = count < DONORS ? count : (int)(chance(seed) * (count + 1));
        count++;
        if (at < DONORS)
            best[at] = (struct piece){&t->recording, sample_of_frame(&t->recording, x->start_fr),
                                      sample_of_frame(&t->recording, x->end_fr)};
    }
    if (count == 0)
        return 0;
    *out = best[(int)(chance(seed) * (count < DONORS ? count : DONORS))];
    return out->end > out->start + FADE;
}

/* Pieces for one splice at a unit; 0 when the voice lacks a sound. */
static size_t pieces_of(const struct splicer *s, const struct taken *t, int32_t unit,
                        const struct mst_fault_way *way, int sham, uint64_t *seed,
                        struct piece *out, int32_t *first_unit, int32_t *end_unit)
{
    struct fault_contrast c;
    if (!fault_contrast_make(&c, &t->heard, unit, way))
        return 0;
    if (c.same_before + c.same_after >= c.right_count) {
        if (c.same_before == 0)
            return 0;
        c.same_before--;
    }
    const struct ear_unit *row = sham ? c.right : c.wrong;
    int32_t count = sham ? c.right_count : c.wrong_count, n = 0;
    for (int32_t i = c.same_before; i < count - c.same_after; i++) {
        int before = i > 0 ? row[i - 1].model : -1, after = i + 1 < count ? row[i + 1].model : -1;
        if (!donor(s, &row[i], before, after, t, seed, &out[n++]))
            return 0;
    }
    *first_unit = c.first_unit + c.same_before;
    *end_unit = c.first_unit + c.right_count - c.same_after;
    return (size_t)n;
}

/* A splice that may be made: where, and what is played instead. */
struct offer {
    struct splice_made splice;
    struct piece pieces[FAULT_ROW_MAX];
    size_t piece_count;
    int32_t first_unit, end_unit;
};

/* Does the fault befall the unit? */
static int befalls(const struct taken *t, int32_t unit, const struct mst_fault *fault)
{
    int32_t sound = t->heard.units[unit].sound;
    return sound >= 0 && t->timeline->sounds[sound].sound_idx >= 0 &&
           mst_fault_befalls(fault, t->timeline->reading, t->timeline->sounds[sound].sound_idx);
}

/* The fault made least often so far that can befall in this word and for which there is sound. */
static int choose(struct splicer *s, const struct taken *t, int32_t word, uint64_t *seed,
                  struct offer *best)
{
    const struct fault_heard *h = &t->heard;
    const struct mst_heard_word *heard = &t->timeline->words[word];
    int64_t least = INT64_MAX;
    int family = -1;
    for (int32_t u = h->first_unit[word]; u < h->first_unit[word + 1]; u++)
        for (int32_t n = 0; n < s->list->count; n++) {
            const struct mst_fault *f = &s->list->faults[n];
            int its = family_of(f->id), sham = s->made[n] % 2;
            if (its < 0 || s->family_made[its][sham] >= s->most)
                continue;
            int64_t rank =
                (int64_t)(s->family_made[its][0] + s->family_made[its][1]) * 10000 + s->made[n];
            struct offer here = {.splice = {f, heard->at, 0, sham}};
            if (rank >= least || !befalls(t, u, f))
                continue;
            int way = (int)(chance(seed) * f->way_count);
            here.piece_count = pieces_of(s, t, u, &f->ways[way], sham, seed, here.pieces,
                                         &here.first_unit, &here.end_unit);
            if (here.piece_count == 0)
                continue;
            here.splice.nth = h->units[u].sound - heard->first_sound;
            least = rank;
            family = its;
            *best = here;
        }
    if (family < 0)
        return 0;
    s->made[best->splice.fault - s->list->faults]++;
    s->family_made[family][best->splice.sham]++;
    return 1;
}

float *splicer_make(struct splicer *s, const struct taken *t, int every, uint64_t *seed,
                    size_t *sample_count, struct splice_made **made, size_t *made_count)
{
    const struct mst_timeline *tl = t->timeline;
    size_t most = (size_t)tl->word_count * (FAULT_ROW_MAX + 2) + 2, count = 0, from = 0;
    struct piece *pieces = calloc(most, sizeof *pieces);
    struct offer one;
    *made = calloc((size_t)tl->word_count + 1, sizeof **made);
    *made_count = 0;
    for (int32_t w = (int32_t)(chance(seed) * every); w < tl->word_count; w += every) {
        if (tl->words[w].again || !choose(s, t, w, seed, &one))
            continue;
        size_t start = sample_of_frame(&t->recording, t->heard.units[one.first_unit].start_fr);
        size_t stop = sample_of_frame(&t->recording, t->heard.units[one.end_unit - 1].end_fr);
        if (start < from + FADE)
            continue;
        pieces[count++] = (struct piece){&t->recording, from, start};
        memcpy(pieces + count, one.pieces, one.piece_count * sizeof *one.pieces);
        count += one.piece_count;
        from = stop;
        (*made)[(*made_count)++] = one.splice;
    }
    pieces[count++] = (struct piece){&t->recording, from, t->recording.count};
    float *samples = play(pieces, count, sample_count);
    free(pieces);
    return samples;
}

void splicer_print(const struct splicer *s)
{
    int32_t places[FAMILY_COUNT] = {0}, able[FAMILY_COUNT] = {0};
    uint64_t seed = 1;
    for (int t = 0; t < s->take_count; t++)
        for (int32_t u = 0; u < s->takes[t].heard.count; u++)
            for (int32_t n = 0; n < s->list->count; n++) {
                const struct mst_fault *f = &s->list->faults[n];
                struct piece pieces[FAULT_ROW_MAX];
                int32_t first, end;
                int family = family_of(f->id);
                if (family < 0 || !befalls(&s->takes[t], u, f))
                    continue;
                places[family]++;
                for (int32_t way = 0; way < f->way_count; way++)
                    if (pieces_of(s, &s->takes[t], u, &f->ways[way], 0, &seed, pieces, &first,
                                  &end)) {
                        able[family]++;
                        break;
                    }
            }
    printf("\n| kind | places in these takes | with a sound to put there | faults made | sham "
           "made |\n|---|---|---|---|---|\n");
    for (int f = 0; f < FAMILY_COUNT; f++)
        printf("| %s | %d | %d | %d | %d |\n", family_name(f), places[f], able[f],
               s->family_made[f][0], s->family_made[f][1]);
}
