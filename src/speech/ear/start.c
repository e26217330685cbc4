/*
 * start.c – a first path through the graph before any sound is known: the
 * pauses of the take are laid on word ends by dynamic programming, the words
 * between two pauses are spread evenly by the weights of their sounds.
 */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    MOST_WORDS = 150, /* between two pauses */
    MOST_MERGED = 4   /* stretches that may be one: the quiet between them was a held stop */
};

/* Stretches of speech between the pauses. */
struct stretch {
    int32_t start, end;
};
struct speech {
    struct stretch *stretches;
    int32_t count;
};
/* Which words a stretch holds: first…end-1; it and merged-1 stretches before it are one. */
struct place_of_stretch {
    int32_t first, end, merged;
};
struct layout {
    const struct ear_graph *g;
    const struct mst_features *f;
    struct speech speech;
    double *before;  /* per word + 1: weight of all words before it */
    double *at_stop; /* per word: what a stop adds to its weight */
    int32_t *verses; /* per word + 1: verse ends before it */
};

static double form_weight(const struct mst_script *script, int32_t form)
{
    double sum = 0;
    if (form < 0)
        return 0;
    const struct ear_form *f = &script->forms[form];
    for (int32_t i = 0; i < f->unit_count; i++)
        sum += script->units[f->first_unit + i].weight;
    return sum;
}

/* The form for these neighbours, or the nearest there is. */
static int32_t form_for(const struct mst_script *script, int32_t word, int joined, int going)
{
    static const enum ear_form_mask order[4][4] = {
        {EAR_STARTED_STOPPING, EAR_JOINED_STOPPING, EAR_STARTED_GOING, EAR_JOINED_GOING},
        {EAR_STARTED_GOING, EAR_JOINED_GOING, EAR_STARTED_STOPPING, EAR_JOINED_STOPPING},
        {EAR_JOINED_STOPPING, EAR_STARTED_STOPPING, EAR_JOINED_GOING, EAR_STARTED_GOING},
        {EAR_JOINED_GOING, EAR_STARTED_GOING, EAR_JOINED_STOPPING, EAR_STARTED_STOPPING},
    };
    const enum ear_form_mask *tries = order[(joined ? 2 : 0) + (going ? 1 : 0)];
    int32_t form = -1;
    for (int i = 0; i < 4 && form < 0; i++)
        form = ear_script_form(script, word, tries[i]);
    return form;
}

/* Cut the take at its pauses of at least shortest frames; silence at both ends is left out. */
static int find_speech(const struct mst_features *f, int32_t shortest, struct speech *out)
{
    float threshold = f->floor_c0 < -2 ? 0.5f * f->floor_c0 : -9.0f;
    int32_t frames = (int32_t)f->frame_count, run = 0, start = 0, cap = 0;
    out->count = 0;
    for (int32_t t = 0; t <= frames; t++) {
        if (t < frames && ear_row(f, (size_t)t)[0] < threshold) {
            run++;
            continue;
        }
        int at_head = run > 0 && t - run <= 5, at_tail = t == frames;
        if (at_head && !at_tail)
            start = t;
        if (at_tail || (run >= shortest && !at_head)) {
            int32_t end = at_tail && run <= 5 && run < shortest ? frames : t - run;
            if (end > start) {
                if (out->count == cap) {
                    cap = cap ? cap * 2 : 256;
                    struct stretch *bigger = realloc(out->stretches, (size_t)cap * sizeof *bigger);
                    if (!bigger)
                        return -1;
                    out->stretches = bigger;
                }
                out->stretches[out->count++] = (struct stretch){start, end};
            }
            start = t;
        }
        run = 0;
    }
    return 0;
}

/* Where the passage may begin: at its head, or behind its optional words; not with the seeking of
 * refuge unless `refuge`. */
static int possible_heads(const struct mst_script *script, int refuge, int32_t heads[4])
{
    int count = 0;
    if (refuge || !ear_script_begins_with_refuge(script))
        heads[count++] = 0;
    for (int32_t w = 0; w + 1 < script->word_count && script->words[w].optional && count < 4; w++)
        if (!script->words[w + 1].optional ||
            script->words[w + 1].at.sura != script->words[w].at.sura)
            heads[count++] = w + 1;
    return count;
}

struct cell {
    float cost;
    int32_t first;  /* word the stretch begins with */
    int32_t before; /* word the stretch before it ends with: first, or less when optional words
                       in between were left out */
    int32_t merged; /* stretches taken as one */
};

/* A quiet of this many frames inside a stretch was no pause. */
static double price_of_ignoring(int32_t frames)
{
    double share = frames / 25.0;
    return 0.5 + share * share;
}

/* Words a…b-1 said in `length` frames. */
static double price_of_words(const struct layout *l, int32_t a, int32_t b, double length,
                             double rate, double *expected)
{
    const struct ear_script_word *last = &l->g->script->words[b - 1];
    *expected = (l->before[b] - l->before[a] + l->at_stop[b - 1]) * rate;
    double off = log(*expected / length);
    double stop = last->verse_end ? 0 : last->stop_sign || last->sakt ? 0.5 : 2.5;
    return 8 * off * off + stop + 2.5 * (l->verses[b - 1] - l->verses[a]);
}

/* Extend every cell of `from` by a stretch of words into `row`. */
static void lay_stretch(const struct layout *l, int32_t head, const struct cell *from,
                        int32_t merged, double length, double ignored, double rate,
                        struct cell *row)
{
    const struct mst_script *script = l->g->script;
    int32_t words = script->word_count;
    for (int32_t a = head; a <= words; a++) {
        if (from[a].cost > 1e8f)
            continue;
        double so_far = (double)from[a].cost + ignored;
        int32_t first = a;
        for (int way = 0; way < 2 && first < words; way++) {
            for (int32_t b = first + 1; b <= words && b <= first + MOST_WORDS; b++) {
                double expected;
                float cost = (float)(so_far + price_of_words(l, first, b, length, rate, &expected));
                if (cost < row[b].cost)
                    row[b] = (struct cell){cost, first, a, merged};
                if (expected > 6 * length)
                    break;
            }
            /* a basmala between two suras may be left out */
            while (first < words && script->words[first].optional)
                first++;
            if (first == a || a == head)
                break;
        }
        if (merged == 1 && so_far + 6 < (double)row[a].cost)
            row[a] = (struct cell){(float)so_far + 6, a, a, 1};
    }
}

/*
 * cell[k][w]: the first k stretches hold the words before w. A stretch of
 * words costs how far its length lies from the expected one, where its end
 * stops, and the verse ends it runs through. An empty stretch (a noise) is
 * allowed at a price, and so is a pause that was none. The caller fills the
 * first row: where the take may begin.
 */
static void fill_cells(const struct layout *l, int32_t head, double rate, struct cell *cells)
{
    int32_t words = l->g->script->word_count, count = l->speech.count;
    size_t wide = (size_t)words + 1;
    for (size_t i = wide; i < ((size_t)count + 1) * wide; i++)
        cells[i] = (struct cell){.cost = 1e9f};
    for (int32_t k = 1; k <= count; k++) {
        struct cell *row = cells + (size_t)k * wide;
        double length = 0, ignored = 0;
        for (int32_t merged = 1; merged <= MOST_MERGED && merged <= k; merged++) {
            const struct stretch *stretch = &l->speech.stretches[k - merged];
            length += stretch->end - stretch->start;
            if (merged > 1)
                ignored += price_of_ignoring(stretch[1].start - stretch->end);
            if (ignored > 30)
                break;
            lay_stretch(l, head, row - (size_t)merged * wide, merged, length, ignored, rate, row);
        }
        float least = 1e9f;
        for (int32_t a = head; a <= words; a++)
            least = row[a].cost < least ? row[a].cost : least;
        for (int32_t a = head; a <= words; a++)
            if (row[a].cost > least + 60)
                row[a].cost = 1e9f;
    }
}

/* Where each stretch lies when the last one ends before `end`; returns the word that the first
 * begins with. */
static int32_t trace_cells(const struct layout *l, const struct cell *cells, int32_t end,
                           struct place_of_stretch *places)
{
    size_t wide = (size_t)l->g->script->word_count + 1;
    int32_t w = end;
    for (int32_t k = l->speech.count; k > 0;) {
        const struct cell *cell = &cells[(size_t)k * wide + (size_t)w];
        if (places)
            places[k - 1] = (struct place_of_stretch){cell->first, w, cell->merged};
        w = cell->before;
        k -= cell->merged;
    }
    return w;
}

static double speech_frames(const struct speech *speech)
{
    double total = 0;
    for (int32_t k = 0; k < speech->count; k++)
        total += speech->stretches[k].end - speech->stretches[k].start;
    return total;
}

/* All words from head on. Returns the best total; above 1e8 there is none. */
static double lay_pauses(const struct layout *l, int32_t head, struct cell *cells,
                         struct place_of_stretch *places)
{
    const struct mst_script *script = l->g->script;
    int32_t words = script->word_count;
    double weight = l->before[words] - l->before[head];
    for (int32_t w = head; w + 1 < words; w++)
        if (script->words[w].verse_end)
            weight += l->at_stop[w];
    for (int32_t w = 0; w <= words; w++)
        cells[w] = (struct cell){.cost = w == head ? 0 : 1e9f};
    fill_cells(l, head, speech_frames(&l->speech) / weight, cells);
    double best = (double)cells[(size_t)l->speech.count * ((size_t)words + 1) + (size_t)words].cost;
    if (best <= 1e8)
        trace_cells(l, cells, words, places);
    return best;
}

static void put_pause(const struct ear_graph *g, int32_t *path, int32_t first_state, int32_t start,
                      int32_t end)
{
    int32_t states = 1;
    while (first_state + states < g->state_count &&
           g->unit_of[first_state + states] == g->unit_of[first_state])
        states++;
    for (int32_t t = start; t < end; t++)
        path[t] = first_state + (int32_t)((int64_t)(t - start) * states / (end - start));
}

/* Spread the words first…end-1 over the frames of a stretch. */
static void put_words(const struct layout *l, int32_t *path, int32_t first, int32_t end,
                      struct stretch stretch)
{
    const struct ear_graph *g = l->g;
    const struct mst_script *script = g->script;
    double total = 0, passed = 0;
    for (int32_t w = first; w < end; w++)
        total += form_weight(script, form_for(script, w, w > first, w + 1 < end));
    double frames = stretch.end - stretch.start;
    int32_t t = stretch.start;
    for (int32_t w = first; w < end; w++) {
        int32_t form = form_for(script, w, w > first, w + 1 < end);
        int32_t state = g->form_state[form];
        const struct ear_form *f = &script->forms[form];
        for (int32_t i = 0; i < f->unit_count; i++) {
            const struct ear_unit *u = &script->units[f->first_unit + i];
            int32_t states = u->geminate ? 4 : 3;
            for (int32_t k = 0; k < states; k++, state++) {
                passed += (double)u->weight / states;
                int32_t until = stretch.start + (int32_t)(passed / total * frames + 0.5);
                while (t < until && t < stretch.end)
                    path[t++] = state;
            }
        }
        while (w + 1 == end && t < stretch.end)
            path[t++] = state - 1;
    }
}

static void put_path(const struct layout *l, const struct place_of_stretch *places, int32_t *path)
{
    const struct ear_graph *g = l->g;
    const struct speech *speech = &l->speech;
    int32_t frames = (int32_t)l->f->frame_count, next = frames;
    for (int32_t k = speech->count; k > 0;) {
        const struct place_of_stretch *place = &places[k - 1];
        struct stretch whole = {speech->stretches[k - place->merged].start,
                                speech->stretches[k - 1].end};
        put_pause(g, path, g->pause_state[place->end], whole.end, next);
        if (place->first == place->end)
            put_pause(g, path, g->pause_state[place->end], whole.start, whole.end);
        else
            put_words(l, path, place->first, place->end, whole);
        next = whole.start;
        k -= place->merged;
    }
    put_pause(g, path, g->pause_state[0], 0, next);
}

static int layout_make(struct layout *l)
{
    const struct mst_script *script = l->g->script;
    size_t words = (size_t)script->word_count;
    l->before = calloc(words + 1, sizeof *l->before);
    l->at_stop = calloc(words, sizeof *l->at_stop);
    l->verses = calloc(words + 1, sizeof *l->verses);
    if (!l->before || !l->at_stop || !l->verses)
        return -1;
    for (int32_t w = 0; w < script->word_count; w++) {
        double going = form_weight(script, form_for(script, w, 1, 1));
        double stopping = form_weight(script, form_for(script, w, 1, 0));
        l->before[w + 1] = l->before[w] + going;
        l->at_stop[w] = stopping > going ? stopping - going : 0;
        l->verses[w + 1] = l->verses[w] + script->words[w].verse_end;
    }
    return 0;
}

enum mst_status ear_start_path(const struct ear_graph *g, const struct mst_features *f, int refuge,
                               int32_t *path, double *cost, struct mst_error *err)
{
    static const int32_t shortest[] = {25, 12, 8, 5}; /* frames; the later ones for takes that
                                                         hardly pause */
    struct layout l = {.g = g, .f = f};
    struct cell *cells = NULL;
    struct place_of_stretch *places = NULL, *best_places = NULL;
    int32_t heads[4];
    enum mst_status status = MST_OK;
    int head_count = possible_heads(g->script, refuge, heads);
    double best = 1e9;
    if (layout_make(&l) != 0)
        goto no_memory;
    for (size_t i = 0; i < sizeof shortest / sizeof *shortest && best > 1e8; i++) {
        if (find_speech(f, shortest[i], &l.speech) != 0)
            goto no_memory;
        size_t count = (size_t)l.speech.count;
        if (count == 0)
            continue;
        free(cells);
        free(places);
        free(best_places);
        cells = malloc((count + 1) * ((size_t)g->script->word_count + 1) * sizeof *cells);
        places = malloc(count * sizeof *places);
        best_places = malloc(count * sizeof *best_places);
        if (!cells || !places || !best_places)
            goto no_memory;
        for (int h = 0; h < head_count; h++) {
            double total = lay_pauses(&l, heads[h], cells, places);
            if (total < best) {
                best = total;
                memcpy(best_places, places, count * sizeof *places);
            }
        }
    }
    if (best > 1e8) {
        status = mst_fail(err, MST_MISMATCH,
                          "the pauses of the take do not fit the length of the passage");
        goto out;
    }
    put_path(&l, best_places, path);
    *cost = best / l.speech.count;
    goto out;
no_memory:
    status = mst_fail(err, MST_NO_MEMORY, "memory ran out while laying the passage out");
out:
    free(l.speech.stretches);
    free(l.before);
    free(l.at_stop);
    free(l.verses);
    free(cells);
    free(places);
    free(best_places);
    return status;
}

/* --- which part of a longer text? --------------------------------------------- */
/* Keep the cheapest, each stretch once. */
static size_t keep_stretch(struct ear_stretch *best, size_t count, size_t most,
                           struct ear_stretch one)
{
    size_t at = count;
    for (size_t i = 0; i < count; i++)
        if (best[i].first == one.first && best[i].end == one.end) {
            if (best[i].cost <= one.cost)
                return count;
            at = i; /* the same stretch, dearer: its place is free */
            break;
        }
    if (at == count) {
        if (count == most && best[most - 1].cost <= one.cost)
            return count;
        at = count < most ? count : most - 1;
        count = count < most ? count + 1 : most;
    }
    while (at > 0 && best[at - 1].cost > one.cost) {
        best[at] = best[at - 1];
        at--;
    }
    best[at] = one;
    return count;
}

enum mst_status ear_start_stretches(const struct ear_graph *g, const struct mst_features *f,
                                    struct ear_stretch *best, size_t most, size_t *count,
                                    struct mst_error *err)
{
    /* frames per unit of weight: from a hurried pace to a very slow one */
    static const double rates[] = {2.0, 2.5, 3.1, 3.9, 4.9, 6.1, 7.6, 9.5};
    struct layout l = {.g = g, .f = f};
    const struct mst_script *script = g->script;
    size_t wide = (size_t)script->word_count + 1;
    struct cell *cells = NULL;
    enum mst_status status = MST_OK;
    *count = 0;
    if (layout_make(&l) != 0 || find_speech(f, 25, &l.speech) != 0)
        goto no_memory;
    if (l.speech.count == 0)
        goto out;
    cells = malloc(((size_t)l.speech.count + 1) * wide * sizeof *cells);
    if (!cells)
        goto no_memory;
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++) {
        for (size_t w = 0; w < wide; w++)
            cells[w] = (struct cell){.cost = w == 0 || script->words[w - 1].verse_end ? 0 : 1e9f};
        fill_cells(&l, 0, rates[r], cells);
        const struct cell *last = cells + (size_t)l.speech.count * wide;
        for (int32_t end = 1; end <= script->word_count; end++)
            if (script->words[end - 1].verse_end && last[end].cost < 1e8f) {
                int32_t first = trace_cells(&l, cells, end, NULL);
                if (first < end)
                    *count = keep_stretch(
                        best, *count, most,
                        (struct ear_stretch){first, end, (double)last[end].cost / l.speech.count});
            }
    }
    goto out;
no_memory:
    status = mst_fail(err, MST_NO_MEMORY, "memory ran out while looking for the passage");
out:
    free(l.speech.stretches);
    free(l.before);
    free(l.at_stop);
    free(l.verses);
    free(cells);
    return status;
}
