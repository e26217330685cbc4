/*
 * tajweed/articulation.c – where each letter is made and its qualities.
 *
 * Source: Ibn al-Jazarī, al-Muqaddima al-Jazariyya, chapters on the places of
 * articulation (seventeen, in five regions) and on the qualities; his groups
 * of letters (فحثه شخص سكت, أجد قط بكت, لن عمر, خص ضغط قظ, فر من لب) are repeated
 * beside the sets below.
 */
#include <mistara/tajweed.h>

#define Q(name) (1u << MST_QUALITY_INDEX_##name)

/* The seventeen places: X(number, region, English, Arabic). */
#define PLACE_1 1, REGION_HOLLOW, "the open hollow of throat and mouth", "جوف الحلق والفم"
#define PLACE_2 2, REGION_THROAT, "the deepest part of the throat", "أقصى الحلق"
#define PLACE_3 3, REGION_THROAT, "the middle of the throat", "وسط الحلق"
#define PLACE_4 4, REGION_THROAT, "the part of the throat nearest the mouth", "أدنى الحلق"
#define PLACE_5                                                                                    \
    5, REGION_TONGUE, "the root of the tongue against the soft palate",                            \
        "أقصى اللسان مع ما فوقه من الحنك الأعلى"
#define PLACE_6                                                                                    \
    6, REGION_TONGUE, "the root of the tongue, a little further forward",                          \
        "أقصى اللسان أسفل مخرج القاف قليلا"
#define PLACE_7                                                                                    \
    7, REGION_TONGUE, "the middle of the tongue against the palate above it",                      \
        "وسط اللسان مع ما يحاذيه من الحنك الأعلى"
#define PLACE_8                                                                                    \
    8, REGION_TONGUE, "one or both sides of the tongue against the upper molars",                  \
        "إحدى حافتي اللسان أو كلتاهما مع الأضراس العليا"
#define PLACE_9                                                                                    \
    9, REGION_TONGUE, "the front sides of the tongue to its tip, against the gums above",          \
        "أدنى حافتي اللسان إلى منتهى طرفه مع لثة الأسنان العليا"
#define PLACE_10                                                                                   \
    10, REGION_TONGUE, "the tip of the tongue against the gums, a little below lām's place",       \
        "طرف اللسان تحت مخرج اللام قليلا"
#define PLACE_11                                                                                   \
    11, REGION_TONGUE, "the tip of the tongue near nūn's place, its back drawn in a little",       \
        "طرف اللسان قريبا من مخرج النون مع ظهره"
#define PLACE_12                                                                                   \
    12, REGION_TONGUE, "the tip of the tongue against the roots of the upper front teeth",         \
        "طرف اللسان مع أصول الثنايا العليا"
#define PLACE_13                                                                                   \
    13, REGION_TONGUE,                                                                             \
        "the tip of the tongue above the lower front teeth, a little apart from them",             \
        "طرف اللسان فويق الثنايا السفلى"
#define PLACE_14                                                                                   \
    14, REGION_TONGUE, "the tip of the tongue at the edges of the upper front teeth",              \
        "طرف اللسان مع أطراف الثنايا العليا"
#define PLACE_15                                                                                   \
    15, REGION_LIPS, "the inside of the lower lip with the edges of the upper front teeth",        \
        "باطن الشفة السفلى مع أطراف الثنايا العليا"
#define PLACE_16 16, REGION_LIPS, "between the two lips", "ما بين الشفتين"
#define PLACE_16_ROUND                                                                             \
    16, REGION_LIPS, "between the two lips, rounded and not closed",                               \
        "ما بين الشفتين بانضمامهما من غير انطباق"
#define PLACE_17                                                                                   \
    17, REGION_NOSE, "the nasal passage (the sound of ghunna)", "الخيشوم، وهو مخرج الغنة"

#define REGION_HOLLOW "the hollow of mouth and throat", "الجوف"
#define REGION_THROAT "the throat", "الحلق"
#define REGION_TONGUE "the tongue", "اللسان"
#define REGION_LIPS   "the lips", "الشفتان"
#define REGION_NOSE   "the nasal passage", "الخيشوم"

/* Each letter has one of each pair; the sets name the smaller half. */
#define STRONG Q(SHIDDA)
#define MIDDLE Q(TAWASSUT)
#define SOFT   Q(RIKHWA)
#define LOW    (Q(ISTIFAL) | Q(INFITAH))
#define HIGH   (Q(ISTILA) | Q(INFITAH))
#define COVER  (Q(ISTILA) | Q(ITBAQ))
#define EASY   Q(IDHLAQ)
#define FIRM   Q(ISMAT)

/* letter, names, place, region, qualities */
#define ROW(letter, en, ar, place, qualities)                                                      \
    {                                                                                              \
        letter, en, ar, place, qualities                                                           \
    }

static const struct mst_articulation rows[] = {
    ROW(0x621, "hamza", "الهمزة", PLACE_2, Q(JAHR) | STRONG | LOW | FIRM),
    ROW(0x628, "bāʾ", "الباء", PLACE_16, Q(JAHR) | STRONG | LOW | EASY | Q(QALQALA)),
    ROW(0x62A, "tāʾ", "التاء", PLACE_12, Q(HAMS) | STRONG | LOW | FIRM),
    ROW(0x62B, "thāʾ", "الثاء", PLACE_14, Q(HAMS) | SOFT | LOW | FIRM),
    ROW(0x62C, "jīm", "الجيم", PLACE_7, Q(JAHR) | STRONG | LOW | FIRM | Q(QALQALA)),
    ROW(0x62D, "ḥāʾ", "الحاء", PLACE_3, Q(HAMS) | SOFT | LOW | FIRM),
    ROW(0x62E, "khāʾ", "الخاء", PLACE_4, Q(HAMS) | SOFT | HIGH | FIRM),
    ROW(0x62F, "dāl", "الدال", PLACE_12, Q(JAHR) | STRONG | LOW | FIRM | Q(QALQALA)),
    ROW(0x630, "dhāl", "الذال", PLACE_14, Q(JAHR) | SOFT | LOW | FIRM),
    ROW(0x631, "rāʾ", "الراء", PLACE_11, Q(JAHR) | MIDDLE | LOW | EASY | Q(INHIRAF) | Q(TAKRIR)),
    ROW(0x632, "zāy", "الزاي", PLACE_13, Q(JAHR) | SOFT | LOW | FIRM | Q(SAFIR)),
    ROW(0x633, "sīn", "السين", PLACE_13, Q(HAMS) | SOFT | LOW | FIRM | Q(SAFIR)),
    ROW(0x634, "shīn", "الشين", PLACE_7, Q(HAMS) | SOFT | LOW | FIRM | Q(TAFASHSHI)),
    ROW(0x635, "ṣād", "الصاد", PLACE_13, Q(HAMS) | SOFT | COVER | FIRM | Q(SAFIR)),
    ROW(0x636, "ḍād", "الضاد", PLACE_8, Q(JAHR) | SOFT | COVER | FIRM | Q(ISTITALA)),
    ROW(0x637, "ṭāʾ", "الطاء", PLACE_12, Q(JAHR) | STRONG | COVER | FIRM | Q(QALQALA)),
    ROW(0x638, "ẓāʾ", "الظاء", PLACE_14, Q(JAHR) | SOFT | COVER | FIRM),
    ROW(0x639, "ʿayn", "العين", PLACE_3, Q(JAHR) | MIDDLE | LOW | FIRM),
    ROW(0x63A, "ghayn", "الغين", PLACE_4, Q(JAHR) | SOFT | HIGH | FIRM),
    ROW(0x641, "fāʾ", "الفاء", PLACE_15, Q(HAMS) | SOFT | LOW | EASY),
    ROW(0x642, "qāf", "القاف", PLACE_5, Q(JAHR) | STRONG | HIGH | FIRM | Q(QALQALA)),
    ROW(0x643, "kāf", "الكاف", PLACE_6, Q(HAMS) | STRONG | LOW | FIRM),
    ROW(0x644, "lām", "اللام", PLACE_9, Q(JAHR) | MIDDLE | LOW | EASY | Q(INHIRAF)),
    ROW(0x645, "mīm", "الميم", PLACE_16, Q(JAHR) | MIDDLE | LOW | EASY | Q(GHUNNA)),
    ROW(0x646, "nūn", "النون", PLACE_10, Q(JAHR) | MIDDLE | LOW | EASY | Q(GHUNNA)),
    ROW(0x647, "hāʾ", "الهاء", PLACE_2, Q(HAMS) | SOFT | LOW | FIRM),
    ROW(0x648, "wāw", "الواو", PLACE_16_ROUND, Q(JAHR) | SOFT | LOW | FIRM | Q(LIN)),
    ROW(0x64A, "yāʾ", "الياء", PLACE_7, Q(JAHR) | SOFT | LOW | FIRM | Q(LIN)),
    ROW(0x627, "alif", "الألف", PLACE_1, Q(JAHR) | SOFT | LOW | FIRM),
};

enum { ROW_COUNT = sizeof rows / sizeof *rows };

const struct mst_articulation *mst_articulation_at(int n)
{
    return n < 0 || n >= ROW_COUNT ? NULL : &rows[n];
}

/* Hamza in all its seats, tied tāʾ, the joining hamza and the undotted yāʾ. */
static uint32_t folded(uint32_t cp)
{
    if (cp >= 0x622 && cp <= 0x626)
        return 0x621;
    switch (cp) {
    case 0x629:
        return 0x62A;
    case 0x649:
        return 0x627;
    case 0x671:
        return 0x621;
    default:
        return cp;
    }
}

const struct mst_articulation *mst_articulation_of(uint32_t cp)
{
    uint32_t letter = folded(cp);

    for (int i = 0; i < ROW_COUNT; i++)
        if (rows[i].letter == letter)
            return &rows[i];
    return NULL;
}

const struct mst_articulation_place *mst_articulation_place(int number)
{
    static const struct mst_articulation_place places[] = {
        {PLACE_1},  {PLACE_2},  {PLACE_3},  {PLACE_4},  {PLACE_5},  {PLACE_6},
        {PLACE_7},  {PLACE_8},  {PLACE_9},  {PLACE_10}, {PLACE_11}, {PLACE_12},
        {PLACE_13}, {PLACE_14}, {PLACE_15}, {PLACE_16}, {PLACE_17},
    };
    enum { PLACES = sizeof places / sizeof places[0] };
    return number >= 1 && number <= PLACES ? &places[number - 1] : NULL;
}

const char *mst_quality_name(int index, enum mst_lang lang)
{
    static const char *const names[MST_QUALITY_COUNT][2] = {
#define X(name, id, en, ar) {en, ar},
        MST_QUALITY_LIST(X)
#undef X
    };

    if (index < 0 || index >= MST_QUALITY_COUNT)
        return NULL;
    return names[index][lang == MST_LANG_AR];
}

const char *mst_articulation_source(void)
{
    return "Ibn al-Jazarī, al-Muqaddima al-Jazariyya, chapters on the places of articulation and "
           "on the qualities of the letters";
}
