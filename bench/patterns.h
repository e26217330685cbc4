/*
 * patterns.h – thirty plain rule-like patterns over the printed text, one for
 * each row of the rules of nūn, mīm, merging, echo and lengthening: what one
 * would write to look for the places without an engine. They are a yardstick
 * of speed, not a statement of the rules: they lean on the marks by which the
 * print already spells most of a rule out (the engine does not), know nothing
 * of stops or exceptions, and still miss places and find too many.
 *
 * Text: verses one a line, words parted by single spaces, bytes as printed.
 * No pattern backtracks needlessly: optional parts are possessive, marks are
 * character classes, and a rarer sign is sought before the letter that must
 * stand before it.
 */
#ifndef BENCH_PATTERNS_H
#define BENCH_PATTERNS_H

/* Between the end of a word and what follows in it or after it. */
#define PAUSE         "[\\x{06D6}-\\x{06DB}]*+"
#define NEXT          PAUSE "[ \\n]?+" /* the next letter, in the word or after it */
#define NEXT_WORD     PAUSE "[ \\n]"   /* the next word's first letter */
#define LINE_END      PAUSE "\\n"      /* the verse ends */
#define SEAT          "[اى]?+"         /* the silent letter after tanwīn */
#define OPEN_TANWIN   "[\\x{0656}\\x{0657}\\x{065E}]"
#define CLOSED_TANWIN "[\\x{064B}-\\x{064D}]"
#define SUKUN         "\\x{06E1}"
#define SHADDA        "\\x{0651}"
#define MADDAH        "\\x{0653}"
#define MARK          "[\\x{064B}-\\x{065F}\\x{06E1}\\x{06E2}\\x{06ED}]"
#define MARKS         MARK "*+"
/* What a word ends in, before a silent seat and a pause sign where they stand. */
#define AFTER(end)                                                                                 \
    "(?<=" end "|" end "[اى]|" end "[\\x{06D6}-\\x{06DB}]|" end "[اى][\\x{06D6}-\\x{06DB}])"
#define LETTER "[\\x{0621}-\\x{063A}\\x{0641}-\\x{064A}]"
#define HAMZA  "[ءأإؤئ\\x{0654}]"
/* A long vowel as written: after its short one, bare, by letter or small letter. */
#define LONG_VOWEL                                                                                    \
    "(?:\\x{064E}(?:ا|\\x{0640}?+\\x{0670}|[ىو]\\x{0670})|\\x{064F}[و\\x{06E5}]|\\x{0650}[ي\\x{" \
    "06E6}])"
#define NOT_MARKED "(?![\\x{064B}-\\x{0655}\\x{06E1}\\x{0670}])"

/* X(rule, pattern) */
#define PATTERN_LIST(X)                                                                            \
    /* vowelless nūn and tanwīn */                                                               \
    X("izhar_halqi", "(?:ن" SUKUN "|" CLOSED_TANWIN SEAT ")" NEXT "[ءأإؤئهعحغخ\\x{0640}]")         \
    X("idgham_ghunna", AFTER("[ن\\x{0656}\\x{0657}\\x{065E}]") "[ \\n][ينمو]")                     \
    X("idgham_bila_ghunna", AFTER("[ن\\x{0656}\\x{0657}\\x{065E}]") "[ \\n][لر]")                  \
    X("iqlab", "(?:\\x{06E2}|\\x{06ED})" SEAT NEXT "ب")                                            \
    X("ikhfa", "(?:ن|" OPEN_TANWIN SEAT ")" NEXT "[تثجدذزسشصضطظفقك]")                              \
    X("izhar_mutlaq", "ن" SUKUN "[وي]")                                                            \
    X("tanwin_kasra", AFTER(CLOSED_TANWIN) "[ \\n]ٱ")                                              \
    /* vowelless mīm, doubled nūn and mīm */                                                    \
    X("ikhfa_shafawi", "م" NEXT_WORD "ب")                                                          \
    X("idgham_shafawi", "م" NEXT_WORD "م" SHADDA)                                                  \
    X("izhar_shafawi", "م" SUKUN NEXT "[ء-لن-ي\\x{0640}]")                                         \
    X("ghunna", "(?<=[نم])" SHADDA)                                                                \
    /* merging of other letters */                                                                 \
    X("idgham_mithlayn",                                                                           \
      "([\\x{0621}-\\x{063A}\\x{0641}-\\x{0644}\\x{0647}-\\x{064A}])" NEXT "\\1" SHADDA)           \
    X("idgham_mutajanisayn",                                                                       \
      "(?:د" NEXT "ت|ت" NEXT "[دط]|طت|ذ" NEXT_WORD "ظ|ث" NEXT_WORD "ذ|ب" NEXT_WORD "م)")           \
    X("idgham_mutaqaribayn", "(?:ق" NEXT "ك|ل" NEXT_WORD "ر)" SHADDA)                              \
    X("lam_shamsiyya", "ٱل[تثدذرزسشصضطظلن]" SHADDA)                                                \
    X("lam_qamariyya", "ٱل" SUKUN "[ءأإابجحخعغفقكموهي\\x{0640}]")                                  \
    /* echo: within the reading, and at the verse's end */                                         \
    X("qalqala", "(?<=[قطبجد])" SUKUN)                                                             \
    X("qalqala (stop)", "(?<=[قطبجد]|[قطبجد]" MARK "|[قطبجد]" MARK MARK ")\\n")                    \
    /* lengthening */                                                                              \
    X("madd_tabii", LONG_VOWEL NOT_MARKED)                                                         \
    X("madd_badal", "(?:أ" MADDAH "|" HAMZA LONG_VOWEL ")" NOT_MARKED)                             \
    X("madd_iwad", AFTER("[^ة][\\x{064B}\\x{0657}]") "\\n")                                        \
    X("madd_sila_sughra", "ه[\\x{064F}\\x{0650}][\\x{06E5}\\x{06E6}]" NOT_MARKED)                  \
    X("madd_sila_kubra", "ه[\\x{064F}\\x{0650}][\\x{06E5}\\x{06E6}]" MADDAH NEXT_WORD "[أإءا]")    \
    X("madd_tamkin", "ي" SHADDA "\\x{0650}(?:ي|\\x{0640}?+\\x{06E7}|\\x{06E6})")                   \
    X("madd_muttasil", "(?<=[اويى\\x{0670}\\x{06E5}\\x{06E6}])" MADDAH "\\x{0640}?+" HAMZA)        \
    X("madd_munfasil", "(?<=[اويى\\x{0670}])" MADDAH "(?:ا\\x{0652})?+" NEXT_WORD "[أإءا]")        \
    X("madd_lazim_word", "(?<=[اوي\\x{0670}])" MADDAH LETTER "[" SHADDA SUKUN "]")                 \
    X("madd_lazim_letter", "(?<=[لمصكعسقن])" MADDAH)                                               \
    X("madd_arid", LONG_VOWEL LETTER MARKS LINE_END)                                               \
    X("madd_lin", "\\x{064E}[وي]" SUKUN LETTER MARKS LINE_END)

#endif
