/*
 * synth.h – made-up syllables with known edges: a buzz or a hiss through
 * resonators. No language, no scripture; only something for the ear to tell
 * apart. And the script that goes with them.
 */
#ifndef TEST_EAR_SYNTH_H
#define TEST_EAR_SYNTH_H

#include "parts.h"

struct synth_sound {
    enum ear_model_id model;
    int word; /* in the script */
    double start_ms, end_ms;
};
struct synth {
    float *samples;
    size_t count, cap;
    struct synth_sound *sounds;
    int sound_count, sound_cap;
    uint64_t seed;
    double stretch; /* of resonances: 1, or another mouth's */
    double state[6], phase;
};
/* A script of `words` made-up words of two to four syllables, `verse` words to a verse. */
struct mst_script *synth_script(int words, int verse, uint64_t seed);
void synth_script_free(struct mst_script *s);
/* Say a word of the script; held scales its long sounds. */
void synth_say(struct synth *s, const struct mst_script *script, int word, double held);
void synth_pause(struct synth *s, double ms);
void synth_free(struct synth *s);
double synth_random(uint64_t *seed); /* 0…1 */
struct mst_features *synth_features(const struct synth *s);

#endif
