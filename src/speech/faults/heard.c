/* heard.c – the timeline as the ear's units in a row, pauses among them. */
#include "parts.h"

#include <stdlib.h>
#include <string.h>

static int32_t frame_of_ms(int32_t ms, int after_pause)
{
    int32_t frame =
        (ms - EAR_EDGE_MS - (after_pause ? EAR_ONSET_MS : 0) + EAR_FRAME_MS / 2) / EAR_FRAME_MS;
    return frame < 0 ? 0 : frame;
}

struct ear_unit fault_unit_of(const struct mst_reading *r, const struct mst_sound *sound,
                              const struct mst_sound *before, int pale)
{
    int rule = sound->site >= 0 ? (int)r->sites[sound->site].rule : -1;
    int after_heavy = !pale && before && before->heavy &&
                      mst_phone_kind((enum mst_phone)before->phone) == MST_PHONE_KIND_CONSONANT;
    return ear_unit_of_sound(sound, rule, after_heavy, sound->pause == 1);
}

/* The form that was heard: the one whose sounds these are, the right way of starting and stopping
 * first. */
static const struct ear_unit *units_of_word(const struct mst_timeline *tl, int32_t word,
                                            int32_t *hint)
{
    const struct mst_script *s = tl->script;
    const struct mst_heard_word *heard = &tl->words[word];
    const struct ear_unit *found = NULL;
    int32_t w = *hint;
    for (int32_t n = 0; n < s->word_count; n++, w = (w + 1) % s->word_count)
        if (mst_addr_compare(s->words[w].at, heard->at) == 0)
            break;
    *hint = w;
    int wanted = heard->started   ? (heard->stopped ? EAR_STARTED_STOPPING : EAR_STARTED_GOING)
                 : heard->stopped ? EAR_JOINED_STOPPING
                                  : EAR_JOINED_GOING;
    for (int32_t f = s->words[w].first_form; f < s->words[w].first_form + s->words[w].form_count;
         f++) {
        const struct ear_form *form = &s->forms[f];
        int same = form->unit_count == heard->sound_count;
        for (int32_t i = 0; same && i < form->unit_count; i++)
            same = s->units[form->first_unit + i].phone ==
                   (uint8_t)tl->sounds[heard->first_sound + i].phone;
        if (same && (!found || form->mask & wanted))
            found = &s->units[form->first_unit];
    }
    return found;
}

enum mst_status fault_heard_make(struct fault_heard *h, const struct mst_timeline *tl,
                                 int64_t frames, struct mst_error *err)
{
    memset(h, 0, sizeof *h);
    h->timeline = tl;
    size_t most = (size_t)tl->sound_count + (size_t)tl->word_count + (size_t)tl->pause_count + 2;
    h->units = calloc(most, sizeof *h->units);
    h->first_unit = calloc((size_t)tl->word_count + 1, sizeof *h->first_unit);
    h->script_word = calloc((size_t)tl->word_count + 1, sizeof *h->script_word);
    if (!h->units || !h->first_unit || !h->script_word) {
        fault_heard_clear(h);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while listing what was heard");
    }
    int32_t at = 0, hint = 0;
    const struct fault_unit pause = {.unit = {.model = EAR_MODEL_SILENCE}, .sound = -1, .word = -1};
    for (int32_t w = 0; w < tl->word_count; w++) {
        const struct mst_heard_word *word = &tl->words[w];
        const struct ear_unit *units = units_of_word(tl, w, &hint);
        h->script_word[w] = hint;
        int32_t late = word->sound_count > 0 ? tl->sounds[word->first_sound].late_ms : 0;
        int32_t start = frame_of_ms(word->start_ms + late, word->started);
        if (start > at) { /* what lies between two words is a pause */
            h->units[h->count] = pause;
            h->units[h->count].start_fr = at;
            h->units[h->count++].end_fr = start;
        }
        h->first_unit[w] = h->count;
        at = start > at ? start : at;
        for (int32_t i = 0; units && i < word->sound_count; i++) {
            int32_t n = word->first_sound + i;
            int joined =
                n + 1 < tl->sound_count && tl->sounds[n + 1].start_ms == tl->sounds[n].end_ms;
            late = joined ? tl->sounds[n + 1].late_ms : 0;
            int32_t end = frame_of_ms(tl->sounds[n].end_ms + late,
                                      i + 1 == word->sound_count && w + 1 < tl->word_count &&
                                          tl->words[w + 1].started &&
                                          tl->words[w + 1].start_ms == tl->sounds[n].end_ms);
            if (end > frames)
                end = (int32_t)frames;
            if (end <= at)
                continue;
            h->units[h->count++] = (struct fault_unit){units[i], n, w, at, end};
            at = end;
        }
    }
    h->first_unit[tl->word_count] = h->count;
    if (at < frames) {
        h->units[h->count] = pause;
        h->units[h->count].start_fr = at;
        h->units[h->count++].end_fr = (int32_t)frames;
    }
    return MST_OK;
}

void fault_heard_clear(struct fault_heard *h)
{
    free(h->units);
    free(h->first_unit);
    free(h->script_word);
    memset(h, 0, sizeof *h);
}

const struct mst_sound *fault_said(const struct mst_timeline *timeline, int32_t heard_sound)
{
    int32_t sound = timeline->sounds[heard_sound].sound_idx;
    return sound >= 0 ? &timeline->reading->sounds[sound] : NULL;
}

int fault_is_vowel(enum mst_phone phone)
{
    return mst_phone_kind(phone) >= MST_PHONE_KIND_SHORT;
}
