/*
 * tajweed/mouth.c – what tongue, lips and nose do, and where the rule is
 * written. Wording ours. Sources are the books named; "from memory" where no
 * book was at hand for the detail.
 */
#include <mistara/tajweed.h>

/* A source in English, then in Arabic. */
#define TUHFA(en, ar) "al-Jamzūrī, Tuḥfat al-aṭfāl, " en, "الجمزوري، تحفة الأطفال، " ar
#define JAZARI(en, ar)                                                                             \
    "Ibn al-Jazarī, al-Muqaddima al-Jazariyya, " en, "ابن الجزري، المقدمة الجزرية، " ar
#define TAYSIR_EN  "al-Dānī, al-Taysīr; al-Shāṭibī, Ḥirz al-amānī"
#define TAYSIR_AR  "الداني، التيسير؛ الشاطبي، حرز الأماني"
#define TAYSIR     TAYSIR_EN, TAYSIR_AR
#define ON_HA      TAYSIR_EN ", chapter on the pronoun's hāʾ", TAYSIR_AR "، باب هاء الكناية"
#define ON_NUN     TUHFA("chapter on vowelless nūn and tanwīn", "أحكام النون الساكنة والتنوين")
#define ON_MIM     TUHFA("chapter on vowelless mīm", "أحكام الميم الساكنة")
#define ON_DOUBLED TUHFA("chapter on doubled nūn and mīm", "حكم النون والميم المشددتين")
#define ON_TWO                                                                                     \
    TUHFA("chapter on the two equal, neighbouring and kindred letters",                            \
          "في المثلين والمتقاربين والمتجانسين")
#define ON_LAM TUHFA("chapter on the lām of the article and of the verb", "حكم لام أل ولام الفعل")
#define ON_MADD_AND(en, ar)                                                                        \
    TUHFA("chapters on the lengthenings and their rules" en, "أقسام المد وأحكامه" ar)
#define ON_MADD      ON_MADD_AND("", "")
#define ON_LAZIM     TUHFA("chapter on the kinds of the binding lengthening", "أقسام المد اللازم")
#define ON_RA        JAZARI("chapter on the rāʾs", "باب الراءات")
#define ON_LAMS      JAZARI("chapter on the lāms", "باب اللامات")
#define ON_QUALITIES JAZARI("chapter on the qualities of the letters", "باب صفات الحروف")
#define ON_WEIGHT_AND(en, ar)                                                                      \
    JAZARI("chapter on heavy and light letters" en, "باب التفخيم والترقيق" ar)
#define ON_STOP                                                                                    \
    JAZARI("chapters on stopping and starting and on stopping at word ends",                       \
           "باب الوقف والابتداء وباب الوقف على أواخر الكلم")
#define ON_WASL_AND(en, ar) JAZARI("chapter on the joining hamza" en, "باب همز الوصل" ar)
#define ON_PRINT                                                                                   \
    "the marks of the print and their description at its end, from memory",                        \
        "علامات المصحف والتعريف بها في آخره، من الحفظ"
#define IN_PRACTICE "common practice, no source", "ما جرى به العمل، بلا مصدر"

struct mouth {
    const char *en, *ar, *source, *source_ar;
};

static const struct mouth mouths[MST_RULE_COUNT] = {
    [MST_RULE_IZHAR_HALQI] =
        {"The tip of the tongue touches the gums for a plain n and leaves at once; the throat "
         "letter follows without a gap and without a hold in the nose.",
         "يلتصق طرف اللسان باللثة لنون خالصة ثم يُنطق حرف الحلق من غير سكت ولا غنة زائدة.", ON_NUN},
    [MST_RULE_IDGHAM_GHUNNA] =
        {"The tongue or the lips go straight to the place of the second letter; the veil of the "
         "palate stays open so that the hold sounds through the nose.",
         "ينتقل اللسان أو الشفتان إلى مخرج الحرف الثاني مباشرة مع خروج الغنة من الخيشوم.", ON_NUN},
    [MST_RULE_IDGHAM_BILA_GHUNNA] =
        {"The tongue goes straight to lām or rāʾ; the nose is closed, nothing of the n is heard.",
         "ينتقل اللسان إلى مخرج اللام أو الراء مباشرة ولا يبقى للنون أثر.", ON_NUN},
    [MST_RULE_IQLAB] =
        {"The lips close lightly, without pressing, while the sound is held in the nose; then "
         "they open for bāʾ.",
         "تُطبق الشفتان إطباقا خفيفا من غير كز مع الغنة ثم تنفرجان للباء.", ON_NUN},
    [MST_RULE_IKHFA] =
        {"The tip of the tongue does not touch the gums: it moves near to the place of the next "
         "letter while the sound is held in the nose; nearest before ṭāʾ, dāl and tāʾ, farthest "
         "before "
         "qāf and kāf, between before the ten others.",
         "لا يلتصق طرف اللسان باللثة، بل يتهيأ لمخرج الحرف التالي مع خروج الغنة من الخيشوم؛ وأقربه "
         "عند الطاء "
         "والدال والتاء، وأبعده عند القاف والكاف، وأوسطه عند العشرة الباقية.",
         ON_NUN},
    [MST_RULE_IZHAR_MUTLAQ] =
        {"A plain n with the tip of the tongue, then the next letter of the same word.",
         "نون خالصة بطرف اللسان ثم الحرف التالي في الكلمة.", ON_NUN},
    [MST_RULE_TANWIN_KASRA] =
        {"The nūn of tanwīn is sounded with a short i, and the tongue goes on to the letter after "
         "the joining hamza.",
         "تُكسر نون التنوين ثم يُنطق الساكن بعد همزة الوصل.",
         ON_WASL_AND(", from memory", "، من الحفظ")},
    [MST_RULE_IKHFA_SHAFAWI] =
        {"The lips close lightly, without pressing, and the sound is held in the nose; then they "
         "open for bāʾ.",
         "تُطبق الشفتان إطباقا خفيفا مع الغنة ثم تنفرجان للباء.", ON_MIM},
    [MST_RULE_IDGHAM_SHAFAWI] =
        {"The lips close once for both mīms and stay closed for the hold in the nose.",
         "تُطبق الشفتان مرة واحدة للميمين وتبقيان مع الغنة.", ON_MIM},
    [MST_RULE_IZHAR_SHAFAWI] =
        {"The lips close for a plain m and open at once for the next letter.",
         "تُطبق الشفتان لميم خالصة ثم تنفرجان للحرف التالي من غير سكت.", ON_MIM},
    [MST_RULE_GHUNNA] =
        {"The letter is closed firmly at its place, and the sound is held in the nose.",
         "يُشدد الحرف في مخرجه وتخرج الغنة من الخيشوم.", ON_DOUBLED},
    [MST_RULE_IDGHAM_MITHLAYN] =
        {"The mouth rises once for both letters, as for one doubled letter.",
         "يرتفع العضو للحرفين ارتفاعة واحدة كحرف مشدد.", ON_TWO},
    [MST_RULE_IDGHAM_MUTAJANISAYN] =
        {"The first letter is left out and its place is taken at once by the second, doubled; "
         "where the merging is in part, the first letter's heaviness is kept.",
         "يُترك الأول ويُنطق الثاني مشددا، وتبقى صفة الأول في الإدغام الناقص.", ON_TWO},
    [MST_RULE_IDGHAM_MUTAQARIBAYN] =
        {"The first letter is left out and the second, near to it, is said doubled.",
         "يُترك الأول ويُنطق الثاني القريب منه مشددا.", ON_TWO},
    [MST_RULE_LAM_SHAMSIYYA] = {"The lām is passed over and the next letter is said doubled.",
                                "تُترك اللام ويُنطق الحرف بعدها مشددا.", ON_LAM},
    [MST_RULE_LAM_QAMARIYYA] =
        {"The tip of the tongue makes a plain l, without an echo, before the next letter.",
         "تُنطق اللام ساكنة خالصة من غير قلقلة.", ON_LAM},
    [MST_RULE_QALQALA] =
        {"The place is closed for the letter and parted again with a short echo, which leans to "
         "no vowel.",
         "يُحبس الصوت في المخرج ثم ينفك بنبرة قصيرة من غير ميل إلى حركة.", ON_QUALITIES},
    [MST_RULE_MADD_TABII] = {"The vowel is held evenly in the open mouth, nothing in the nose.",
                             "يُمد الصوت من الجوف مستويا من غير غنة.", ON_MADD},
    [MST_RULE_MADD_BADAL] = {"A clear hamza, then the vowel held evenly.", "همزة محققة ثم مد مستو.",
                             ON_MADD},
    [MST_RULE_MADD_IWAD] = {"The n of tanwīn is left out; an open ā is held in its place.",
                            "تُترك نون التنوين وتُمد ألف مكانها.",
                            ON_MADD_AND(", from memory", "، من الحفظ")},
    [MST_RULE_MADD_SILA_SUGHRA] = {"The hāʾ's vowel is carried on as a long vowel.",
                                   "تُشبع حركة الهاء حتى يتولد حرف مد.", ON_HA},
    [MST_RULE_MADD_SILA_KUBRA] =
        {"The hāʾ's vowel is carried on as a long vowel, held up to the hamza.",
         "تُشبع حركة الهاء وتُمد إلى الهمزة.", ON_HA},
    [MST_RULE_MADD_TAMKIN] =
        {"Both yāʾs are given their due: the doubled one pressed, the next held.",
         "تُعطى الياءان حقهما، المشددة ثم الممدودة.", IN_PRACTICE},
    [MST_RULE_MADD_MUTTASIL] =
        {"The vowel is held evenly, then closed cleanly by the hamza in the deepest throat.",
         "يُمد الصوت مستويا ثم يُقطع بهمزة محققة من أقصى الحلق.",
         ON_MADD_AND("; " TAYSIR_EN, "؛ " TAYSIR_AR)},
    [MST_RULE_MADD_MUNFASIL] =
        {"The vowel is held across the seam of the words, then the hamza is begun cleanly.",
         "يُمد الصوت إلى آخر الكلمة ثم تُحقق الهمزة.", ON_MADD_AND("; " TAYSIR_EN, "؛ " TAYSIR_AR)},
    [MST_RULE_MADD_LAZIM_WORD] =
        {"The vowel is held for its full length, then the letter that caused it is pressed.",
         "يُمد الصوت مدا تاما ثم يُنطق الحرف الساكن أو المشدد.", ON_LAZIM},
    [MST_RULE_MADD_LAZIM_LETTER] =
        {"The letter's name is said, the vowel in its middle held for its full length.",
         "يُنطق اسم الحرف ويُمد وسطه مدا تاما.", ON_LAZIM},
    [MST_RULE_MADD_ARID] = {"The vowel is held evenly up to the letter on which the reader stops.",
                            "يُمد الصوت مستويا إلى الحرف الموقوف عليه.", ON_MADD},
    [MST_RULE_MADD_LIN] = {"The soft w or y is held after its short a, without stretching the a.",
                           "يُمد حرف اللين بعد الفتحة من غير إشباعها.", ON_MADD},
    [MST_RULE_HADHF_MADD] = {"The long vowel is cut to a short one, and the voice goes on.",
                             "يُحذف حرف المد ويُكتفى بالحركة قبله.", IN_PRACTICE},
    [MST_RULE_TAFKHIM] =
        {"The back of the tongue rises toward the palate and the mouth fills with sound; the lips "
         "are not rounded for it.",
         "يستعلي أقصى اللسان إلى الحنك ويمتلئ الفم بصدى الحرف من غير ضم الشفتين.",
         ON_WEIGHT_AND("; the ranks from memory", "؛ والمراتب من الحفظ")},
    [MST_RULE_TAFKHIM_ALIF] = {"The ā keeps the fullness of the letter before it.",
                               "تتبع الألف ما قبلها في التفخيم.", ON_WEIGHT_AND("", "")},
    [MST_RULE_TAFKHIM_RA] =
        {"The tip of the tongue taps once, its back raised: a full r, without rolling on.",
         "يُقرع طرف اللسان قرعة واحدة مع رفع ظهره من غير تكرير.", ON_RA},
    [MST_RULE_TARQIQ_RA] = {"The tip of the tongue taps once, its back low: a thin r.",
                            "يُقرع طرف اللسان قرعة واحدة مع خفض ظهره.", ON_RA},
    [MST_RULE_TAFKHIM_LAM] = {"The l is said with the back of the tongue raised, full and round.",
                              "تُغلظ اللام برفع أقصى اللسان.", ON_LAMS},
    [MST_RULE_TARQIQ_LAM] = {"A plain, thin l.", "لام رقيقة.", ON_LAMS},
    [MST_RULE_HAMZAT_WASL] =
        {"At a start a clear hamza with its vowel; when read on, nothing: the voice goes from the "
         "word before to the next letter.",
         "تُنطق همزة محققة عند الابتداء، وتسقط في الدرج.", ON_WASL_AND("", "")},
    [MST_RULE_ILTIQA_SAKINAYN] = {"A short vowel helps from one vowelless letter to the next.",
                                  "تُنطق حركة عارضة بين الساكنين.", IN_PRACTICE},
    [MST_RULE_WAQF_SUKUN] = {"The last letter is closed at its place and left without a vowel.",
                             "يُسكن الحرف الأخير في مخرجه.", ON_STOP},
    [MST_RULE_WAQF_HA] = {"A light breath from the deepest throat ends the word.",
                          "هاء ساكنة مهموسة من أقصى الحلق.", ON_STOP},
    [MST_RULE_RAWM] = {"A third of the vowel, so low that only one who sits near hears it.",
                       "يُنطق ثلث الحركة بصوت خفي يسمعه القريب.", ON_STOP},
    [MST_RULE_ISHMAM] = {"The lips are rounded as for ḍamma, without sound: it is seen, not heard.",
                         "تُضم الشفتان كهيئة الضمة من غير صوت، فيُرى ولا يُسمع.", ON_STOP},
    [MST_RULE_SIFR_MUSTADIR] = {"Nothing is sounded for this letter.", "لا يُنطق بهذا الحرف.",
                                ON_PRINT},
    [MST_RULE_SIFR_MUSTATIL] = {"Nothing when read on; at a stop an ā of two counts.",
                                "لا تُنطق وصلا، وتُمد حركتين وقفا.", TAYSIR},
    [MST_RULE_SAKT] = {"The voice rests for about two counts, the breath held; then it goes on.",
                       "يُقطع الصوت زمنا يسيرا من غير تنفس ثم يُستأنف.", TAYSIR},
    [MST_RULE_IMALA] = {"The mouth narrows from a toward i: a sound between ā and ī.",
                        "يُنحى بالفتحة نحو الكسرة وبالألف نحو الياء.", TAYSIR},
    [MST_RULE_TASHIL] = {"The hamza is not closed: the voice passes through it, near to an alif.",
                         "لا يُغلق مخرج الهمزة، فتُنطق بين الهمزة والألف.", TAYSIR},
    [MST_RULE_SAD_SIN] = {"ṣād fills the mouth, sīn does not: the same place, the tongue's back "
                          "raised or low.",
                          "الصاد مفخمة والسين مرققة من مخرج واحد.", TAYSIR},
    [MST_RULE_FATH_DAMM] = {"With fatḥa the lips are open, with ḍamma rounded.",
                            "تنفرج الشفتان في الفتح وتنضمان في الضم.", TAYSIR},
};

const char *mst_rule_mouth(enum mst_rule rule, enum mst_lang lang)
{
    return lang == MST_LANG_AR ? mouths[rule].ar : mouths[rule].en;
}

const char *mst_rule_source(enum mst_rule rule)
{
    return mouths[rule].source;
}

const char *mst_rule_source_ar(enum mst_rule rule)
{
    return mouths[rule].source_ar;
}
