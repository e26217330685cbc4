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
