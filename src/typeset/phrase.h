/* The sheet's own words, in both languages. */
#ifndef TYPESET_PHRASE_H
#define TYPESET_PHRASE_H

#include <mistara/base.h>

#define PHRASE_LIST(X)                                                                             \
    X(KEY_TITLE, "Key to the signs", "مفتاح العلامات")                                             \
    X(DEFER,                                                                                       \
      "Recitation is learned by mouth from a qualified teacher; this sheet only helps the "        \
      "lesson.",                                                                                   \
      "تؤخذ التلاوة مشافهة عن معلم متقن، وهذه الورقة عون على الدرس.")                              \
    X(SURA, "Sura", "سورة")                                                                        \
    X(VERSES, "verses", "الآيات")                                                                  \
    X(VERSE, "verse", "الآية")                                                                     \
    X(SHEET, "Sheet for recitation", "ورقة تلاوة")

enum phrase {
#define X(name, en, ar) PHRASE_##name,
    PHRASE_LIST(X)
#undef X
        PHRASE_COUNT
};

struct mst_span phrase(enum phrase which, enum mst_lang lang);

#endif
