/*
 * tajweed/places.c – words and letters of their own, by address. In order.
 *
 * Sources, by kind:
 *   SAKT, MALIYAH, LAST_OF_ANFAL: al-Shāṭibī, Ḥirz al-amānī, and al-Dānī,
 *     al-Taysīr, on the pauses of Ḥafṣ; printed in the text as 06DC.
 *   IMALA, TASHIL, TAMANNA, SAD_…, DUF, ATANI: al-Dānī, al-Taysīr, under the
 *     suras in question; the first five are marked in the print.
 *   SALASILA, RECT: the seven alifs; printed in the text as 06E0 (76:4 and
 *     76:16: 0652).
 *   SILENT: letters with a round zero in the print that no spelling rule
 *     derives. أنا is found by its shape (spelling.c).
 *   VERB_LAM: verbs whose ٱل is not the article; the text itself.
 *   RA_…: al-Muqaddima al-Jazariyya, chapter on rāʾ (فرق), and its commentators
 *     for the words at a stop, the preferred way from memory.
 *   START_KASRA, START_AYKA, ISM: starts, from memory.
 *   ALIM_ALLAH: al-Taysīr, on 3:1.
 *   LOST_WAW: a long ū that our edition does not write and others do
 *     (docs/doubts.md).
 */
#include "internal.h"

#define P(sura, verse, word, letter, kind)                                                         \
    {                                                                                              \
        sura, verse, word, letter, PLACE_##kind                                                    \
    }

const struct place mst_places[] = {
    P(2, 245, 14, 4, SAD_AS_SIN), /* وَيَبۡصُۜطُ */
    P(3, 1, 1, 0, ALIM_ALLAH),
    P(3, 13, 7, 0, VERB_LAM),
    P(3, 144, 10, 4, SILENT), /* أَفَإِيْن */
    P(3, 155, 6, 0, VERB_LAM),
    P(3, 166, 4, 0, VERB_LAM),
    P(6, 34, 21, 4, SILENT),     /* نَبَإِيْ */
    P(7, 69, 22, 2, SAD_AS_SIN), /* بَصۜۡطَةٗ */
    P(7, 103, 9, 5, SILENT),     /* وَمَلَإِيْهِۦ */
    P(7, 145, 18, 3, SILENT),    /* سَأُوْرِيكُمۡ */
    P(8, 41, 27, 0, VERB_LAM),
    P(8, 44, 4, 0, VERB_LAM),
    P(8, 75, 22, 0, LAST_OF_ANFAL),
    P(10, 75, 9, 5, SILENT),
    P(10, 83, 12, 5, SILENT),
    P(10, 87, 8, 4, RA_STOP_HEAVY_EITHER), /* بِمِصۡرَ */
    P(11, 41, 6, 3, IMALA),                /* مَجۡرٜىٰهَا */
    P(11, 68, 7, 5, SILENT),               /* ثَمُودَاْ */
    P(11, 81, 9, 4, RA_STOP_LIGHT_EITHER), /* فَأَسۡرِ */
    P(11, 97, 3, 5, SILENT),
    P(12, 11, 6, 4, TAMANNA), /* تَأۡمَ۬نَّا */
    P(12, 21, 5, 3, RA_STOP_HEAVY_EITHER),
    P(12, 87, 8, 2, SILENT),  /* تَاْيۡـَٔسُواْ */
    P(12, 87, 14, 2, SILENT), /* يَاْيۡـَٔسُ */
    P(12, 99, 10, 3, RA_STOP_HEAVY_EITHER),
    P(13, 31, 20, 2, SILENT),
    P(15, 65, 1, 4, RA_STOP_LIGHT_EITHER),
    P(17, 7, 12, 3, LOST_WAW), /* لِيَسُـُٔواْ */
    P(18, 1, 11, 0, SAKT),
    P(18, 1, 11, 4, IWAJA),
    P(18, 23, 3, 3, SILENT),               /* لِشَاْيۡءٍ */
    P(18, 38, 1, 4, RECT),                 /* لَّـٰكِنَّا۠ */
    P(20, 77, 6, 3, RA_STOP_LIGHT_EITHER), /* أَسۡرِ */
    P(21, 34, 7, 4, SILENT),
    P(21, 37, 5, 3, SILENT),
    P(22, 15, 16, 0, START_KASRA), /* لۡيَقۡطَعۡ */
    P(22, 29, 2, 0, START_KASRA),  /* لۡيَقۡضُواْ */
    P(23, 46, 3, 5, SILENT),
    P(25, 38, 2, 6, SILENT), /* وَثَمُودَاْ */
    P(26, 52, 5, 3, RA_STOP_LIGHT_EITHER),
    P(26, 63, 11, 2, RA_HEAVY_EITHER), /* فِرۡقٖ */
    P(26, 176, 3, 0, START_AYKA),      /* لۡـَٔيۡكَةِ */
    P(27, 21, 5, 3, SILENT),           /* لَأَاْذۡبَحَنَّهُۥٓ */
    P(27, 36, 8, 0, ATANI),            /* ءَاتَىٰنِۦَ */
    P(28, 8, 1, 0, VERB_LAM),
    P(28, 32, 21, 5, SILENT),
    P(29, 38, 2, 6, SILENT),
    P(30, 54, 5, 1, DUF),
    P(30, 54, 10, 1, DUF),
    P(30, 54, 17, 1, DUF),
    P(33, 10, 16, 7, RECT), /* ٱلظُّنُونَا۠ */
    P(33, 66, 11, 7, RECT), /* ٱلرَّسُولَا۠ */
    P(33, 67, 8, 7, RECT),  /* ٱلسَّبِيلَا۠ */
    P(33, 68, 6, 0, VERB_LAM),
    P(34, 12, 10, 5, RA_STOP_LIGHT_EITHER), /* ٱلۡقِطۡرِ */
    P(36, 52, 6, 0, SAKT),
    P(37, 142, 1, 0, VERB_LAM),
    P(38, 13, 5, 0, START_AYKA),
    P(41, 26, 8, 0, VERB_LAM),
    P(41, 44, 9, 2, TASHIL), /* ءَا۬عۡجَمِيّٞ */
    P(43, 46, 7, 5, SILENT),
    P(43, 51, 10, 3, RA_STOP_HEAVY_EITHER),
    P(44, 23, 1, 4, RA_STOP_LIGHT_EITHER),
    P(49, 11, 30, 0, ISM),
    P(51, 47, 3, 4, SILENT),     /* بِأَيۡيْدٖ */
    P(52, 37, 7, 4, SAD_OR_SIN), /* ٱلۡمُصَۜيۡطِرُونَ */
    P(53, 51, 1, 6, SILENT),
    P(54, 12, 4, 0, VERB_LAM),
    P(54, 16, 4, 4, RA_STOP_LIGHT_EITHER), /* وَنُذُرِ */
    P(54, 18, 6, 4, RA_STOP_LIGHT_EITHER),
    P(54, 21, 4, 4, RA_STOP_LIGHT_EITHER),
    P(54, 30, 4, 4, RA_STOP_LIGHT_EITHER),
    P(54, 37, 9, 4, RA_STOP_LIGHT_EITHER),
    P(54, 39, 3, 4, RA_STOP_LIGHT_EITHER),
    P(57, 13, 14, 0, VERB_LAM),
    P(69, 28, 4, 0, MALIYAH),
    P(75, 27, 2, 0, SAKT),
    P(75, 29, 1, 0, VERB_LAM),
    P(76, 4, 4, 5, SALASILA), /* سَلَٰسِلَاْ */
    P(76, 4, 4, 5, SILENT),
    P(76, 15, 8, 7, RECT),   /* قَوَارِيرَا۠ */
    P(76, 16, 1, 7, SILENT), /* قَوَارِيرَاْ */
    P(83, 14, 2, 0, SAKT),
    P(88, 22, 3, 3, SAD_ONLY),            /* بِمُصَيۡطِرٍ */
    P(89, 4, 3, 3, RA_STOP_LIGHT_EITHER), /* يَسۡرِ */
};

const size_t mst_place_count = sizeof mst_places / sizeof *mst_places;
