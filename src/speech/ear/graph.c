/*
 * graph.c – the script as states and arcs.
 *
 * Each form of each word is a chain of units, each unit a chain of states.
 * After a form that stops comes the word's pause, after the pause a form that
 * starts. What a trained model may do besides, at a price that nothing but real
 * evidence pays: take words up again, leave words out, leap to where the passage
 * is alike, begin or break off inside the passage. Weaker prices are abused.
 */
#include "parts.h"

#include <stdlib.h>
#include <string.h>

enum {
    REPEAT_WORDS = 8,  /* how far back a reciter takes up again */
    REPEAT_VERSES = 2, /* … or how many verses back */
    SKIP_WORDS = 12
};

/* Natural logs; only their order of size matters. */
static const struct {
    float stop_verse_end, go_on_verse_end;
    float stop_sign, go_on_sign;
    float stop_plain;
    float stop_without_pause;
    float sakt;
    float longer_pause;
    float repeat, repeat_word; /* taking up again; per word that it goes back */
    float skip, skip_word;
    float loose; /* beginning or ending inside the passage */
} price = {
    .stop_verse_end = -0.1f,
    .go_on_verse_end = -3.0f,
    .stop_sign = -1.0f,
    .go_on_sign = -0.2f,
    .stop_plain = -5.0f,
    .stop_without_pause = -8.0f,
    .sakt = -0.5f,
    .longer_pause = -1.0f,
    .repeat = -1000.0f,
    .repeat_word = -0.5f,
    .skip = -1500.0f,
    .skip_word = -20.0f,
    .loose = -1500.0f,
};

/* An arc while the graph grows. */
struct loose_arc {
    int32_t from;
    struct ear_arc arc;
};
struct arc_list {
    struct loose_arc *arcs;
    size_t count, cap;
};
struct builder {
    struct ear_graph *g;
    struct arc_list plain, extra;
    int32_t state_cap, unit_cap, start_cap;
    int32_t *form_last; /* last state of each form */
    int failed;
};

static void *grown(struct builder *b, void *old, int32_t *cap, int32_t need, size_t size)
{
    if (need <= *cap)
        return old;
    int32_t wanted = *cap ? *cap * 2 : 1024;
    void *bigger = realloc(old, (size_t)wanted * size);
    if (!bigger) {
        b->failed = 1;
        return old;
    }
    *cap = wanted;
    return bigger;
}

static void add_arc(struct builder *b, struct arc_list *list, int32_t from, int32_t to, float cost)
{
    if (list->count == list->cap) {
        size_t cap = list->cap ? list->cap * 2 : 4096;
        struct loose_arc *bigger = realloc(list->arcs, cap * sizeof *bigger);
        if (!bigger) {
            b->failed = 1;
            return;
        }
        list->arcs = bigger;
        list->cap = cap;
    }
    list->arcs[list->count++] = (struct loose_arc){from, {to, cost}};
}

static void add_start(struct builder *b, int32_t to, float cost)
{
    struct ear_graph *g = b->g;
    g->starts = grown(b, g->starts, &b->start_cap, g->start_count + 1, sizeof *g->starts);
    if (!b->failed)
        g->starts[g->start_count++] = (struct ear_arc){to, cost};
}

static int32_t add_state(struct builder *b, int16_t pdf, int32_t unit)
{
    struct ear_graph *g = b->g;
    int32_t cap = b->state_cap;
    g->pdf = grown(b, g->pdf, &cap, g->state_count + 1, sizeof *g->pdf);
    g->unit_of = grown(b, g->unit_of, &b->state_cap, g->state_count + 1, sizeof *g->unit_of);
    if (b->failed)
        return 0;
    g->pdf[g->state_count] = pdf;
    g->unit_of[g->state_count] = unit;
    return g->state_count++;
}

static int32_t add_unit(struct builder *b, struct ear_graph_unit unit)
{
    struct ear_graph *g = b->g;
    g->units = grown(b, g->units, &b->unit_cap, g->unit_count + 1, sizeof *g->units);
    if (b->failed)
        return 0;
    g->units[g->unit_count] = unit;
    return g->unit_count++;
}

/* The states of a unit in a row; returns the first, *last gets the last. */
static int32_t add_states(struct builder *b, const uint8_t *thirds, int count, int model,
                          int32_t unit, int32_t *last)
{
    int32_t first = -1, before = -1;
    for (int i = 0; i < count; i++) {
        int32_t state = add_state(b, (int16_t)(model * EAR_STATES + thirds[i]), unit);
        if (before >= 0)
            add_arc(b, &b->plain, before, state, 0);
        else
            first = state;
        before = state;
    }
    *last = before;
    return first;
}

static void add_form(struct builder *b, int32_t word, int32_t form)
{
    static const uint8_t single[] = {0, 1, 2}, twice[] = {0, 1, 1, 2};
    const struct mst_script *script = b->g->script;
    const struct ear_form *f = &script->forms[form];
    int32_t before = -1;
    for (int32_t i = 0; i < f->unit_count; i++) {
        const struct ear_unit *u = &script->units[f->first_unit + i];
        int32_t last, unit = add_unit(b, (struct ear_graph_unit){.model = u->model,
                                                                 .cls = u->cls,
                                                                 .last = i + 1 == f->unit_count,
                                                                 .word = word,
                                                                 .form = form,
                                                                 .unit = f->first_unit + i});
        int32_t first = u->geminate ? add_states(b, twice, 4, u->model, unit, &last)
                                    : add_states(b, single, 3, u->model, unit, &last);
        if (before >= 0)
            add_arc(b, &b->plain, before, first, 0);
        else
            b->g->form_state[form] = first;
        before = last;
    }
    b->form_last[form] = before;
}

/* Silence falls, stays, ends: three densities over so many states. */
static int32_t add_pause(struct builder *b, int32_t word, int states, int32_t *last)
{
    uint8_t thirds[EAR_BREATH_STATES];
    for (int i = 0; i < states; i++)
        thirds[i] = i < 3 ? 0 : i < states - 3 ? 1 : 2;
    int32_t unit = add_unit(b, (struct ear_graph_unit){.model = EAR_MODEL_SILENCE,
                                                       .cls = MST_LENGTH_NONE,
                                                       .last = 1,
                                                       .word = word,
                                                       .form = -1,
                                                       .unit = -1});
    int32_t first = add_states(b, thirds, states, EAR_MODEL_SILENCE, unit, last);
    add_arc(b, &b->plain, *last, first + 3, price.longer_pause);
    return first;
}

/* Arcs from a state to every form of the word that has one of the mask's bits. */
static void to_forms(struct builder *b, struct arc_list *list, int32_t from, int32_t word, int mask,
                     float cost)
{
    const struct mst_script *script = b->g->script;
    const struct ear_script_word *w = &script->words[word];
    for (int32_t f = w->first_form; f < w->first_form + w->form_count; f++)
        if (script->forms[f].mask & mask)
            add_arc(b, list, from, b->g->form_state[f], cost);
}

/* From a word to what follows another place that is alike, with or without a pause. */
static void connect_leap(struct builder *b, const struct ear_leap *leap, int32_t pause_last)
{
    enum { STARTED = EAR_STARTED_GOING | EAR_STARTED_STOPPING };
    enum { JOINED = EAR_JOINED_GOING | EAR_JOINED_STOPPING };
    enum { GOING = EAR_JOINED_GOING | EAR_STARTED_GOING };
    const struct mst_script *script = b->g->script;
    const struct ear_script_word *w = &script->words[leap->from];
    float cost = price.skip + price.skip_word * SKIP_WORDS;
    to_forms(b, &b->extra, pause_last, leap->to, STARTED, cost);
    for (int32_t f = w->first_form; f < w->first_form + w->form_count; f++) {
        if (script->forms[f].mask & GOING)
            to_forms(b, &b->extra, b->form_last[f], leap->to, JOINED, cost);
        else if (w->verse_end) /* cut tightly, without silence */
            to_forms(b, &b->extra, b->form_last[f], leap->to, STARTED,
                     cost + price.stop_without_pause);
    }
}

/* First word behind the optional block that begins at word, or word itself. */
static int32_t behind_optional(const struct mst_script *script, int32_t word)
{
    while (word < script->word_count && script->words[word].optional)
        word++;
    return word;
}

static int begins_optional(const struct mst_script *script, int32_t word)
{
    return script->words[word].optional &&
           (word == 0 || !script->words[word - 1].optional ||
            script->words[word - 1].at.sura != script->words[word].at.sura);
}

static void connect_word(struct builder *b, int32_t word, int32_t pause, int32_t pause_last)
{
    enum { STARTED = EAR_STARTED_GOING | EAR_STARTED_STOPPING };
    enum { JOINED = EAR_JOINED_GOING | EAR_JOINED_STOPPING };
    enum { GOING = EAR_JOINED_GOING | EAR_STARTED_GOING };
    enum { STOPPING = EAR_JOINED_STOPPING | EAR_STARTED_STOPPING };
    const struct mst_script *script = b->g->script;
    const struct ear_script_word *w = &script->words[word];
    int32_t count = script->word_count, next = word + 1;
    float stop = w->verse_end              ? price.stop_verse_end
                 : w->stop_sign || w->sakt ? price.stop_sign
                                           : price.stop_plain;
    float go_on = w->verse_end ? price.go_on_verse_end : w->stop_sign ? price.go_on_sign : 0;
    for (int32_t f = w->first_form; f < w->first_form + w->form_count; f++) {
        const struct ear_form *form = &script->forms[f];
        int32_t last = b->form_last[f];
        if (form->mask & STOPPING) {
            add_arc(b, &b->plain, last, pause, stop);
            /* a recording cut tightly at its verses may have no silence left there */
            if (w->verse_end && next < count)
                to_forms(b, &b->plain, last, next, STARTED, price.stop_without_pause);
        }
        if ((form->mask & GOING) && next < count) {
            to_forms(b, &b->plain, last, next, JOINED, go_on);
            if (w->sakt)
                add_arc(b, &b->plain, last, pause, price.sakt);
            to_forms(b, &b->extra, last, word, JOINED, price.repeat * 1.5f);
            for (int32_t k = 2; k <= 3 && word + k < count; k++)
                to_forms(b, &b->extra, last, word + k, JOINED,
                         price.skip + price.skip_word * (float)k);
        }
    }
    if (next < count) {
        to_forms(b, &b->plain, pause_last, next, STARTED, 0);
        if (w->sakt)
            to_forms(b, &b->plain, pause_last, next, JOINED, 0);
        if (begins_optional(script, next) && behind_optional(script, next) < count)
            to_forms(b, &b->plain, pause_last, behind_optional(script, next), STARTED, 0);
    }
    for (int32_t back = 0; back < REPEAT_WORDS && back <= word; back++)
        to_forms(b, &b->extra, pause_last, word - back, STARTED,
                 price.repeat + price.repeat_word * (float)back);
    for (int32_t k = 2; k <= SKIP_WORDS && word + k < count; k++)
        to_forms(b, &b->extra, pause_last, word + k, STARTED,
                 price.skip + price.skip_word * (float)k);
    /* whole verses taken up again or left out: from a verse's end to another verse's head */
    if (w->verse_end) {
        int verses = 0;
        for (int32_t back = 1; back <= word && verses < REPEAT_VERSES; back++)
            if (script->words[word - back].verse_end || back == word) {
                int32_t head = script->words[word - back].verse_end ? word - back + 1 : 0;
                verses++;
                if (word - head >= REPEAT_WORDS)
                    to_forms(b, &b->extra, pause_last, head, STARTED,
                             price.repeat + price.repeat_word * REPEAT_WORDS);
            }
        verses = 0;
        for (int32_t k = SKIP_WORDS + 1; word + k < count && verses < 3; k++)
            if (script->words[word + k - 1].verse_end) {
                verses++;
                to_forms(b, &b->extra, pause_last, word + k, STARTED,
                         price.skip + price.skip_word * 12);
            }
    }
}

static int compare_arcs(const void *a, const void *b)
{
    const struct loose_arc *x = a, *y = b;
    if (x->from != y->from)
        return x->from < y->from ? -1 : 1;
    if (x->arc.to != y->arc.to)
        return x->arc.to < y->arc.to ? -1 : 1;
    return (x->arc.cost < y->arc.cost) - (x->arc.cost > y->arc.cost);
}

/* Arcs by their first state, as the trellis wants them. */
static int settle_arcs(struct arc_list *list, int32_t states, int32_t **first,
                       struct ear_arc **arcs)
{
    qsort(list->arcs, list->count, sizeof *list->arcs, compare_arcs);
    *first = malloc(((size_t)states + 1) * sizeof **first);
    *arcs = malloc((list->count + 1) * sizeof **arcs);
    if (!*first || !*arcs)
        return -1;
    size_t a = 0;
    for (int32_t s = 0; s <= states; s++) {
        while (a < list->count && list->arcs[a].from < s)
            a++;
        (*first)[s] = (int32_t)a;
    }
    for (size_t i = 0; i < list->count; i++)
        (*arcs)[i] = list->arcs[i].arc;
    return 0;
}

static void add_starts(struct builder *b)
{
    enum { STARTED = EAR_STARTED_GOING | EAR_STARTED_STOPPING };
    struct ear_graph *g = b->g;
    const struct mst_script *script = g->script;
    int32_t lead_last, lead = add_pause(b, -1, EAR_PAUSE_STATES, &lead_last);
    int32_t heads[8], head_count = 0;
    g->pause_state[0] = lead;
    heads[head_count++] = 0;
    for (int32_t w = 0; w < script->word_count && script->words[w].optional && head_count < 8; w++)
        if (!script->words[w + 1 < script->word_count ? w + 1 : w].optional ||
            begins_optional(script, w + 1))
            heads[head_count++] = w + 1;
    add_start(b, lead, 0);
    for (int32_t h = 0; h < head_count && heads[h] < script->word_count; h++) {
        const struct ear_script_word *w = &script->words[heads[h]];
        for (int32_t f = w->first_form; f < w->first_form + w->form_count; f++)
            if (script->forms[f].mask & STARTED)
                add_start(b, g->form_state[f], 0);
        to_forms(b, &b->plain, lead_last, heads[h], STARTED, 0);
    }
    g->strict_start_count = g->start_count;
    for (int32_t w = 1; w < script->word_count; w++)
        if (script->words[w - 1].verse_end || script->words[w - 1].stop_sign) {
            const struct ear_script_word *word = &script->words[w];
            to_forms(b, &b->extra, lead_last, w, STARTED, price.loose);
            for (int32_t f = word->first_form; f < word->first_form + word->form_count; f++)
                if (script->forms[f].mask & STARTED)
                    add_start(b, g->form_state[f], price.loose);
        }
}

static void add_ends(struct builder *b, const int32_t *pause_last)
{
    enum { STOPPING = EAR_JOINED_STOPPING | EAR_STARTED_STOPPING };
    struct ear_graph *g = b->g;
    const struct mst_script *script = g->script;
    int32_t last = script->word_count - 1;
    for (int32_t s = 0; s < g->state_count; s++)
        g->final_cost[s] = g->loose_final[s] = EAR_NOWHERE;
    for (int32_t w = 0; w <= last; w++) {
        const struct ear_script_word *word = &script->words[w];
        float cost = w == last ? 0 : price.loose;
        float *costs[2] = {g->loose_final, w == last ? g->final_cost : NULL};
        for (int k = 0; k < 2; k++) {
            if (!costs[k])
                continue;
            costs[k][pause_last[w]] = cost;
            for (int32_t f = word->first_form; f < word->first_form + word->form_count; f++)
                if (script->forms[f].mask & STOPPING)
                    costs[k][b->form_last[f]] = cost;
        }
    }
}

enum mst_status ear_graph_make(struct ear_graph *g, const struct mst_script *script,
                               struct mst_error *err)
{
    struct builder b = {.g = g};
    int32_t *pause_last = NULL;
    enum mst_status status = MST_OK;
    size_t words = (size_t)script->word_count, leap_count = 0;
    struct ear_leap *leaps = NULL;
    memset(g, 0, sizeof *g);
    g->script = script;
    g->form_state = calloc((size_t)script->form_count, sizeof *g->form_state);
    g->pause_state = calloc(words + 1, sizeof *g->pause_state);
    b.form_last = calloc((size_t)script->form_count, sizeof *b.form_last);
    pause_last = calloc(words, sizeof *pause_last);
    if (!g->form_state || !g->pause_state || !b.form_last || !pause_last) {
        b.failed = 1;
        goto out;
    }
    for (int32_t w = 0; w < script->word_count; w++) {
        const struct ear_script_word *word = &script->words[w];
        for (int32_t f = word->first_form; f < word->first_form + word->form_count; f++)
            add_form(&b, w, f);
        int states = word->verse_end || word->sakt ? EAR_PAUSE_STATES : EAR_BREATH_STATES;
        g->pause_state[w + 1] = add_pause(&b, w, states, &pause_last[w]);
    }
    for (int32_t w = 0; w < script->word_count; w++)
        connect_word(&b, w, g->pause_state[w + 1], pause_last[w]);
    if (ear_alike_leaps(script, &leaps, &leap_count, err)) {
        b.failed = 1;
        goto out;
    }
    for (size_t n = 0; n < leap_count; n++)
        connect_leap(&b, &leaps[n], pause_last[leaps[n].from]);
    add_starts(&b);
    g->final_cost = malloc((size_t)g->state_count * sizeof *g->final_cost);
    g->loose_final = malloc((size_t)g->state_count * sizeof *g->loose_final);
    if (b.failed || !g->final_cost || !g->loose_final ||
        settle_arcs(&b.plain, g->state_count, &g->arc_first, &g->arcs) != 0 ||
        settle_arcs(&b.extra, g->state_count, &g->extra_first, &g->extras) != 0) {
        b.failed = 1;
        goto out;
    }
    add_ends(&b, pause_last);
out:
    free(b.plain.arcs);
    free(b.extra.arcs);
    free(b.form_last);
    free(pause_last);
    free(leaps);
    if (b.failed) {
        ear_graph_clear(g);
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while laying out the passage");
    }
    return status;
}

void ear_graph_clear(struct ear_graph *g)
{
    free(g->units);
    free(g->pdf);
    free(g->unit_of);
    free(g->arc_first);
    free(g->arcs);
    free(g->extra_first);
    free(g->extras);
    free(g->starts);
    free(g->form_state);
    free(g->pause_state);
    free(g->final_cost);
    free(g->loose_final);
    memset(g, 0, sizeof *g);
}
