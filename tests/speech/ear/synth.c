#include "synth.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

double synth_random(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return (double)(*seed >> 33) / 2147483648.0;
}

/* Resonances in Hz, buzz and hiss, usual length. After Fant's tables in spirit; only difference
 * matters here. */
struct recipe {
    enum ear_model_id model;
    double hz[3];
    double buzz, hiss, ms;
};
static const struct recipe recipes[] = {
    {EAR_MODEL_A, {700, 1250, 2500}, 1.0, 0, 110},
    {EAR_MODEL_I, {300, 2200, 2900}, 0.9, 0, 100},
    {EAR_MODEL_U, {330, 800, 2300}, 0.9, 0, 105},
    {EAR_MODEL_AA, {760, 1150, 2550}, 1.0, 0, 260},
    {EAR_MODEL_MIM, {240, 950, 2100}, 0.35, 0, 90},
    {EAR_MODEL_NUN_HELD, {260, 1450, 2400}, 0.4, 0, 600},
    {EAR_MODEL_LAM, {400, 1050, 2700}, 0.6, 0, 80},
    {EAR_MODEL_SIN, {4500, 5800, 6800}, 0, 0.5, 110},
    {EAR_MODEL_SHIN, {2300, 3300, 4300}, 0, 0.5, 120},
    {EAR_MODEL_TA, {1800, 3800, 5200}, 0, 0.06, 90},
};
enum { RECIPES = sizeof recipes / sizeof *recipes, VOWELS = 4, CONSONANTS = RECIPES - VOWELS };

static const struct recipe *recipe_of(int model)
{
    for (int i = 0; i < RECIPES; i++)
        if ((int)recipes[i].model == model)
            return &recipes[i];
    abort();
}

static void put_unit(struct mst_script *s, enum ear_model_id model)
{
    int cls = EAR_CLASS_FIRST_CONSONANT + (int)model;
    if (model == EAR_MODEL_A || model == EAR_MODEL_I || model == EAR_MODEL_U)
        cls = MST_LENGTH_SHORT;
    if (model == EAR_MODEL_AA)
        cls = MST_LENGTH_NATURAL;
    if (model == EAR_MODEL_NUN_HELD)
        cls = MST_LENGTH_GHUNNA;
    s->units[s->unit_count++] = (struct ear_unit){
        .model = (uint8_t)model, .cls = (uint8_t)cls, .weight = ear_unit_weight(model, cls, 0)};
}

struct mst_script *synth_script(int words, int verse, uint64_t seed)
{
    struct mst_script *s = calloc(1, sizeof *s);
    s->words = calloc((size_t)words, sizeof *s->words);
    s->forms = calloc((size_t)words, sizeof *s->forms);
    s->units = calloc((size_t)words * 8, sizeof *s->units);
    s->word_count = s->form_count = words;
    for (int w = 0; w < words; w++) {
        int syllables = 2 + (int)(synth_random(&seed) * 3);
        s->words[w] =
            (struct ear_script_word){.first_form = w,
                                     .form_count = 1,
                                     .at = {1, 1 + w / verse, 1 + w % verse, 0},
                                     .verse_end = w % verse == verse - 1 || w + 1 == words};
        s->forms[w] = (struct ear_form){.first_unit = s->unit_count, .mask = 15};
        for (int k = 0; k < syllables; k++) {
            put_unit(s, recipes[VOWELS + (int)(synth_random(&seed) * CONSONANTS)].model);
            put_unit(s, recipes[(int)(synth_random(&seed) * VOWELS)].model);
        }
        s->forms[w].unit_count = s->unit_count - s->forms[w].first_unit;
    }
    return s;
}

void synth_script_free(struct mst_script *s)
{
    free(s->words);
    free(s->forms);
    free(s->units);
    free(s);
}

static void put_sample(struct synth *s, double value)
{
    if (s->count == s->cap) {
        s->cap = s->cap ? 2 * s->cap : 1 << 16;
        s->samples = realloc(s->samples, s->cap * sizeof *s->samples);
    }
    s->samples[s->count++] = (float)(value + 2e-4 * (synth_random(&s->seed) - 0.5));
}

/* A source through three resonators side by side. */
static void put_sound(struct synth *s, const struct recipe *r, double ms)
{
    size_t n = (size_t)(ms * 16);
    double gain[3], a[3], b[3], f0 = 115 + 20 * synth_random(&s->seed);
    for (int k = 0; k < 3; k++) {
        double hz = r->hz[k] * (s->stretch > 0 ? s->stretch : 1), width = 60 + hz * 0.06;
        double radius = exp(-M_PI * width / 16000);
        a[k] = 2 * radius * cos(2 * M_PI * fmin(hz, 7500) / 16000);
        b[k] = -radius * radius;
        gain[k] = (1 - radius) * (k == 0 ? 1 : 0.5);
    }
    for (size_t i = 0; i < n; i++) {
        s->phase += f0 / 16000;
        double pulse = 0;
        if (s->phase >= 1) {
            s->phase -= 1;
            pulse = 12;
        }
        double source = r->buzz * pulse + r->hiss * 4 * (synth_random(&s->seed) - 0.5), sum = 0;
        for (int k = 0; k < 3; k++) {
            double y = gain[k] * source + a[k] * s->state[2 * k] + b[k] * s->state[2 * k + 1];
            s->state[2 * k + 1] = s->state[2 * k];
            s->state[2 * k] = y;
            sum += y;
        }
        put_sample(s, 0.3 * sum);
    }
}

void synth_say(struct synth *s, const struct mst_script *script, int word, double held)
{
    const struct ear_form *f = &script->forms[word];
    for (int i = 0; i < f->unit_count; i++) {
        const struct recipe *r = recipe_of(script->units[f->first_unit + i].model);
        double ms = r->ms * (0.85 + 0.3 * synth_random(&s->seed)) * (r->ms > 200 ? held : 1);
        if (s->sound_count == s->sound_cap) {
            s->sound_cap = s->sound_cap ? 2 * s->sound_cap : 256;
            s->sounds = realloc(s->sounds, (size_t)s->sound_cap * sizeof *s->sounds);
        }
        double start = (double)s->count / 16;
        put_sound(s, r, ms);
        s->sounds[s->sound_count++] =
            (struct synth_sound){r->model, word, start, (double)s->count / 16};
    }
}

void synth_pause(struct synth *s, double ms)
{
    memset(s->state, 0, sizeof s->state);
    for (size_t n = (size_t)(ms * 16); n > 0; n--)
        put_sample(s, 0);
}

void synth_free(struct synth *s)
{
    free(s->samples);
    free(s->sounds);
}

struct mst_features *synth_features(const struct synth *s)
{
    struct mst_features *f = NULL;
    struct mst_error err;
    if (mst_features_new(NULL, &f, &err) || mst_features_push(f, s->samples, s->count, &err) ||
        mst_features_finish(f, &err)) {
        mst_features_free(f);
        return NULL;
    }
    return f;
}
