/* Addresses and ranges: their order and how they are written. */
#include <mistara/text.h>

#include <stdio.h>

int mst_addr_compare(struct mst_addr a, struct mst_addr b)
{
    if (a.sura != b.sura)
        return a.sura < b.sura ? -1 : 1;
    if (a.verse != b.verse)
        return a.verse < b.verse ? -1 : 1;
    if (a.word != b.word)
        return a.word < b.word ? -1 : 1;
    if (a.letter != b.letter)
        return a.letter < b.letter ? -1 : 1;
    return 0;
}

char *mst_addr_print(struct mst_addr a, char out[48])
{
    if (a.letter != 0)
        snprintf(out, 48, "%d:%d:%d:%d", a.sura, a.verse, a.word, a.letter);
    else if (a.word != 0)
        snprintf(out, 48, "%d:%d:%d", a.sura, a.verse, a.word);
    else if (a.verse != 0)
        snprintf(out, 48, "%d:%d", a.sura, a.verse);
    else
        snprintf(out, 48, "%d", a.sura);
    return out;
}

char *mst_range_print(struct mst_range r, char out[96])
{
    char first[48], last[48];
    mst_addr_print(r.first, first);
    mst_addr_print(r.last, last);
    if (mst_addr_compare(r.first, r.last) == 0)
        snprintf(out, 96, "%s", first);
    else if (r.first.sura != r.last.sura || (r.first.word == 0) != (r.last.word == 0) ||
             (r.first.word != 0 && r.first.verse != r.last.verse))
        snprintf(out, 96, "%.44s–%.44s", first, last);
    else
        snprintf(out, 96, "%.44s–%d", first, r.first.word != 0 ? r.last.word : r.last.verse);
    return out;
}
