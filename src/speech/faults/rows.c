/*
 * rows.c – words in another order than they were heard in, as units to hold
 * against the take. Between two neighbours the reader goes on or stops; a word
 * is taken in the form that goes with that, as it was heard wherever it may be.
 */
#include "parts.h"

enum { MOST_UNITS = 600 };

void fault_row_add(struct fault_word_row *row, const struct fault_heard *h, int32_t word)
{
    if (row->count == FAULT_ROW_WORDS)
        return;
    row->words[row->count] = word;
    row->flows[row->count++] = !h->timeline->words[word].stopped;
}

/* Units of the pause behind a heard word; 0 when there is none. */
static int32_t pause_behind(const struct fault_heard *h, int32_t word, struct ear_unit *out)
{
    int32_t last = h->first_unit[word + 1] - 1;
    if (last < h->first_unit[word] || h->units[last].word >= 0)
        return 0;
    out[0] = h->units[last].unit;
    return 1;
}

static int32_t units_as_heard(const struct fault_heard *h, int32_t word, struct ear_unit *out,
                              int32_t room)
{
    int32_t count = 0;
    for (int32_t u = h->first_unit[word]; u < h->first_unit[word + 1]; u++)
        if (h->units[u].word >= 0 && count < room)
            out[count++] = h->units[u].unit;
    return count;
}

/* -1: the word is never said in this way. */
static int32_t units_of_form(const struct fault_heard *h, int32_t word, enum ear_form_mask way,
                             struct ear_unit *out, int32_t room)
{
    const struct mst_script *script = h->timeline->script;
    int32_t f = ear_script_form(script, h->script_word[word], way);
    if (f < 0)
        return -1;
    const struct ear_form *form = &script->forms[f];
    for (int32_t i = 0; i < form->unit_count && i < room; i++)
        out[i] = script->units[form->first_unit + i];
    return form->unit_count < room ? form->unit_count : room;
}

double fault_row_score(const struct fault_word_row *row, const struct fault_heard *h,
                       struct fault_window *w)
{
    struct ear_unit units[MOST_UNITS];
    int32_t count = 0;
    for (int32_t p = 0; p < row->count; p++) {
        const struct mst_heard_word *heard = &h->timeline->words[row->words[p]];
        int last = p + 1 == row->count;
        int starts = p == 0 ? heard->started : !row->flows[p - 1];
        int stops = last ? heard->stopped : !row->flows[p];
        static const enum ear_form_mask ways[2][2] = {{EAR_JOINED_GOING, EAR_JOINED_STOPPING},
                                                      {EAR_STARTED_GOING, EAR_STARTED_STOPPING}};
        int32_t room = MOST_UNITS - count - 1, added;
        if (starts == heard->started && stops == heard->stopped)
            added = units_as_heard(h, row->words[p], units + count, room);
        else
            added = units_of_form(h, row->words[p], ways[starts][stops], units + count, room);
        if (added < 0 || room <= 0)
            return (double)EAR_NOWHERE;
        count += added;
        if (!stops || last)
            continue;
        int32_t pause = pause_behind(h, row->words[p], units + count);
        if (pause == 0 && !heard->stopped) /* a stop that was not heard as one */
            units[count + pause++] = (struct ear_unit){.model = EAR_MODEL_SILENCE};
        count += pause;
    }
    return fault_chain_score(w, units, count);
}
