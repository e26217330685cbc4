#include "phrase.h"

struct mst_span phrase(enum phrase which, enum mst_lang lang)
{
    static const struct mst_span phrases[PHRASE_COUNT][2] = {
#define X(name, en, ar) {{"" en, sizeof(en) - 1}, {"" ar, sizeof(ar) - 1}},
        PHRASE_LIST(X)
#undef X
    };
    return phrases[which][lang];
}
