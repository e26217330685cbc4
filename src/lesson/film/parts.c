/* parts.c – breaths and verses of what was heard. */
#include "parts.h"

static int same_verse(const struct mst_heard_word *a, const struct mst_heard_word *b)
{
    return a->at.sura == b->at.sura && a->at.verse == b->at.verse;
}

int32_t film_breath_end(const struct mst_timeline *tl, int32_t first)
{
    int32_t end = first + 1;
    for (; end < tl->word_count; end++) {
        const struct mst_heard_word *a = &tl->words[end - 1], *b = &tl->words[end];
        if (a->stopped || b->started || a->end_ms != b->start_ms || b->word_idx <= a->word_idx ||
            !same_verse(a, b))
            break;
    }
    return end;
}

int32_t film_verse_end(const struct mst_timeline *tl, int32_t first)
{
    int32_t end = first + 1;
    while (end < tl->word_count && same_verse(&tl->words[first], &tl->words[end]))
        end++;
    return end;
}

/* Is this word where the phrase ends: at its last word, or at the end of its last verse? */
static int ends_phrase(const struct mst_timeline *tl, const struct mst_heard_word *heard,
                       struct mst_range phrase)
{
    const struct mst_reading *r = tl->reading;
    if (phrase.last.word)
        return mst_addr_compare(heard->at, phrase.last) == 0;
    if (heard->at.sura != phrase.last.sura || heard->at.verse != phrase.last.verse)
        return 0;
    int32_t next = heard->word_idx + 1;
    return next == r->word_count || r->words[next].verse != heard->at.verse ||
           r->words[next].sura != heard->at.sura;
}

int32_t film_phrase_end(const struct mst_timeline *tl, struct mst_range phrase, int32_t *first)
{
    struct mst_addr from = phrase.first;
    if (from.word == 0)
        from.word = 1;
    for (int32_t n = 0; n < tl->word_count; n++) {
        if (mst_addr_compare(tl->words[n].at, from) != 0)
            continue;
        for (int32_t end = n + 1; end <= tl->word_count; end++) {
            if (ends_phrase(tl, &tl->words[end - 1], phrase)) {
                *first = n;
                return end;
            }
            if (end < tl->word_count && tl->words[end].word_idx != tl->words[end - 1].word_idx + 1)
                break; /* taken up again, or left out: said through later, perhaps */
        }
    }
    return -1;
}
