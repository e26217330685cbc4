/*
 * Published lists, each complete: the engine reads the whole text and must find these places, no
 * more and no fewer. The source stands beside each list. "The print" is the text's own marks,
 * which the engine does not read.
 */
#include "whole.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))

static struct whole whole;

static void at(const struct mst_reading *r, const char *title, enum mst_rule rule,
               const char *const addr[], size_t count)
{
    rule_must_be_at(&whole, r, title, rule, addr, count);
}

/* --- words of their own -------------------------------------------------------- */

/* al-Shāṭibī, Ḥirz al-amānī, opening of al-Kahf: the four pauses; 69:28 from memory, and printed.
 */
static void test_sakt(void **state)
{
    (void)state;
    static const char *const joined[] = {"18:1:11:4", "36:52:6:6", "69:28:4:5", "75:27:2:2",
                                         "83:14:2:2"};
    static const char *const verses[] = {"36:52:6:6", "75:27:2:2", "83:14:2:2"};
    at(whole.joined, "sakt, read on", MST_RULE_SAKT, joined, COUNT(joined));
    at(whole.verses, "sakt, stopping at verses", MST_RULE_SAKT, verses, COUNT(verses));
    at(whole.words, "sakt, stopping everywhere", MST_RULE_SAKT, NULL, 0);
    int count = 0;
    for (int32_t i = 0; i < whole.joined->word_count; i++)
        count += whole.joined->words[i].seam == MST_SEAM_SAKT;
    assert_int_equal(count, COUNT(joined));
}

/* al-Dānī, al-Taysīr: Ḥafṣ's one imāla (11:41), one easing (41:44), one ishmām (12:11); the two
 * ṣāds read sīn and the one of two ways (2:245, 7:69, 52:37); ḍaʿf thrice in 30:54. */
static void test_words_of_their_own(void **state)
{
    (void)state;
    static const char *const imala[] = {"11:41:6"}, *const tashil[] = {"41:44:9:2"},
                             *const ishmam[] = {"12:11:6:4"},
                             *const sad_sin[] = {"2:245:14:4", "7:69:22:2", "52:37:7:4"},
                             *const fath_damm[] = {"30:54:5:1", "30:54:10:1", "30:54:17:1"};
    const struct mst_reading *const readings[] = {whole.joined, whole.verses, whole.words};
    for (size_t i = 0; i < COUNT(readings); i++) {
        at(readings[i], "imāla", MST_RULE_IMALA, imala, COUNT(imala));
        at(readings[i], "easing", MST_RULE_TASHIL, tashil, COUNT(tashil));
        at(readings[i], "ishmām", MST_RULE_ISHMAM, ishmam, COUNT(ishmam));
        at(readings[i], "ḍaʿf", MST_RULE_FATH_DAMM, fath_damm, COUNT(fath_damm));
    }
    unsigned char *must = places_new(&whole, whole.joined),
                  *got = places_of_rule(&whole, whole.joined, MST_RULE_SAD_SIN);
    for (size_t i = 0; i < COUNT(sad_sin); i++)
        places_add(whole.joined, must, sad_sin[i], NULL);
    /* 88:22 is read ṣād; whether it is mentioned is left open. */
    int32_t musaytir = letter_at(whole.joined, "88:22:3:3");
    assert_true(musaytir >= 0);
    must[musaytir] = got[musaytir];
    places_must_equal(whole.joined, "ṣād and sīn", must, got);
}

/* Three words in six places (al-Jamzūrī's commentaries; al-Taysīr): six counts, or easing. */
static void test_question_words(void **state)
{
    (void)state;
    static const char *const place[] = {"6:143:10:2", "6:144:8:2", "10:51:7:2",
                                        "10:59:14:2", "10:91:1:2", "27:59:9:2"};
    unsigned char *both = places_new(&whole, whole.joined),
                  *expected = places_new(&whole, whole.joined);
    for (int32_t i = 0; i < whole.joined->site_count; i++) {
        const struct mst_site *s = &whole.joined->sites[i];
        if (s->rule == MST_RULE_MADD_LAZIM_WORD && s->both_ways)
            both[s->trigger] = 1;
    }
    for (size_t i = 0; i < COUNT(place); i++) {
        places_add(whole.joined, expected, place[i], NULL);
        assert_int_equal(
            site_of(whole.joined, letter_at(whole.joined, place[i]), MST_RULE_MADD_LAZIM_WORD)
                ->counts,
            6);
        struct mst_range range;
        struct mst_error err = {0};
        struct mst_reading *eased;
        char verse[32];
        snprintf(verse, sizeof verse, "%s", place[i]);
        *strchr(strchr(verse, ':') + 1, ':') = '\0';
        assert_int_equal(mst_range_parse(whole.text, mst_span_of(verse), &range, &err), MST_OK);
        assert_int_equal(mst_reading_new(whole.text, range,
                                         &(struct mst_reading_options){.question_easing = 1},
                                         whole.arena, &eased, &err),
                         MST_OK);
        assert_non_null(site_of(eased, letter_at(eased, place[i]), MST_RULE_TASHIL));
        assert_null(site_of(eased, letter_at(eased, place[i]), MST_RULE_MADD_LAZIM_WORD));
    }
    places_must_equal(whole.joined, "words of two ways after a question hamza", expected, both);
}

/* The seven alifs (al-Taysīr; Ḥirz al-amānī): anā everywhere, 18:38, 33:10, 33:66, 33:67, 76:15.
 * Every one bears the rectangular zero in the print but seven anā before a joining hamza. */
static void test_seven_alifs(void **state)
{
    (void)state;
    static const char *const before_wasl[] = {"2:160:9:4", "15:49:4:3", "15:89:3:3", "20:13:1:4",
                                              "20:14:2:3", "27:9:3:3",  "28:30:16:3"};
    static const char *const others[] = {"18:38:1:4", "33:10:16:7", "33:66:11:7", "33:67:8:7",
                                         "76:15:8:7"};
    const struct mst_reading *r = whole.joined;
    unsigned char *print = places_new(&whole, r),
                  *got = places_of_rule(&whole, r, MST_RULE_SIFR_MUSTATIL);
    for (int32_t i = 0; i < r->letter_count; i++)
        print[i] = (unsigned char)letter_bears(r, i, 0x06E0);
    assert_int_equal(places_count(r, print), 66);
    for (size_t i = 0; i < COUNT(others); i++)
        assert_true(print[letter_at(r, others[i])]);
    /* corrected: before a joining hamza it is the meeting of two vowelless letters that drops it,
     * and the print gives it no zero. */
    for (size_t i = 0; i < COUNT(before_wasl); i++) {
        int32_t letter = letter_at(r, before_wasl[i]);
        assert_null(site_of(r, letter, MST_RULE_MADD_TABII));
        assert_non_null(site_of(r, letter, MST_RULE_HADHF_MADD));
        assert_non_null(site_of(whole.words, letter, MST_RULE_MADD_TABII));
    }
    places_must_equal(r, "alifs sounded only at a stop", print, got);
    for (int32_t i = 0; i < r->letter_count; i++) {
        char name[48];
        if (got[i] && !site_of(whole.words, i, MST_RULE_MADD_TABII))
            fail_msg("%s: no lengthening at a stop", mst_addr_print(mst_letter_addr(r, i), name));
    }
    at(whole.words, "the same, stopping everywhere", MST_RULE_SIFR_MUSTATIL, NULL, 0);
}

/* The rounded zeros of the print (al-Dānī, al-Muqniʿ, lists of added letters). */
static void test_silent_letters(void **state)
{
    (void)state;
    const struct mst_reading *r = whole.joined;
    unsigned char *print = places_new(&whole, r);
    for (int32_t i = 0; i < r->letter_count; i++)
        print[i] = (unsigned char)letter_bears(r, i, 0x0652);
    assert_int_equal(places_count(r, print), 3988);
    places_must_equal(r, "letters never sounded", print,
                      places_of_rule(&whole, r, MST_RULE_SIFR_MUSTADIR));
}

/* --- nūn ------------------------------------------------------------------------- */

/* Tuḥfat al-aṭfāl: dunyā, bunyān, ṣinwān, qinwān. dunyā 115 times: ʿAbd al-Bāqī, al-Muʿjam
 * al-mufahras; yāsīn and nūn when read on: al-Taysīr. */
static void test_izhar_mutlaq(void **state)
{
    (void)state;
    static const char *const few[] = {"9:109:3:2", "9:109:13:2", "9:110:3:2",  "13:4:10:2",
                                      "13:4:12:2", "16:26:8:2",  "18:21:21:2", "37:97:4:2",
                                      "61:4:10:2", "6:99:23:2",  "36:1:1:2",   "68:1:1:1"};
    const struct mst_reading *r = whole.joined;
    unsigned char *expected = places_new(&whole, r);
    int dunya = 0;
    for (int32_t i = 0; i + 3 < r->letter_count; i++) {
        const struct mst_letter *l = &r->letters[i];
        if (l[0].base == 0x062F && l[1].base == 0x0646 && l[2].base == 0x064A &&
            l[3].base == 0x0627 && l[0].word_idx == l[3].word_idx) {
            expected[i + 1] = 1;
            dunya++;
        }
    }
    assert_int_equal(dunya, 115);
    for (size_t i = 0; i < COUNT(few); i++)
        places_add(r, expected, few[i], NULL);
    places_must_equal(r, "nūn clear inside a word, read on", expected,
                      places_of_rule(&whole, r, MST_RULE_IZHAR_MUTLAQ));
    expected[letter_at(r, "36:1:1:2")] = 0; /* a verse of its own */
    places_must_equal(whole.verses, "the same, stopping at verses", expected,
                      places_of_rule(&whole, whole.verses, MST_RULE_IZHAR_MUTLAQ));
    expected[letter_at(r, "68:1:1:1")] = 0;
    places_must_equal(whole.words, "the same, stopping everywhere", expected,
                      places_of_rule(&whole, whole.words, MST_RULE_IZHAR_MUTLAQ));
}

/* The first letter of the word after this letter's word, or -1. */
static int32_t next_word_letter(const struct mst_reading *r, int32_t letter)
{
    int32_t w = r->letters[letter].word_idx + 1;
    return w < r->word_count ? r->words[w].first_letter : -1;
}

/*
 * Merging with ghunna, against the print: a nūn without any mark at a word's end, or an open
 * tanwīn, before yāʾ, nūn, mīm, wāw; complete into nūn and mīm, partial into the others
 * (Tuḥfat al-aṭfāl). The openings of 26 and 28 merge within their letters.
 */
static void test_idgham_ghunna(void **state)
{
    (void)state;
    const struct mst_reading *r = whole.joined;
    unsigned char *print = places_new(&whole, r);
    for (int32_t i = 0; i < r->letter_count; i++) {
        int32_t next = next_word_letter(r, i);
        int nun =
            r->letters[i].base == 0x0646 && letter_is_last(r, i) && letter_mark_count(r, i) == 0;
        int tanwin =
            letter_bears(r, i, 0x0656) || letter_bears(r, i, 0x0657) || letter_bears(r, i, 0x065E);
        if (next < 0 || (!nun && !tanwin))
            continue;
        uint32_t base = r->letters[next].base;
        print[i] = base == 0x064A || base == 0x0646 || base == 0x0645 || base == 0x0648;
        if (!print[i])
            continue;
        const struct mst_site *s = site_of(r, i, MST_RULE_IDGHAM_GHUNNA);
        if (s && (s->complete != (base == 0x0646 || base == 0x0645) || s->counts != 2 ||
                  s->nasal != 1 || s->host != next))
            fail_msg("%d:%d: fields of the merging", r->words[r->letters[i].word_idx].sura,
                     r->words[r->letters[i].word_idx].verse);
    }
    places_add(r, print, "26:1:1:2", NULL);
    places_add(r, print, "28:1:1:2", NULL);
    places_must_equal(r, "merging with ghunna, against the print", print,
                      places_of_rule(&whole, r, MST_RULE_IDGHAM_GHUNNA));
}

/* --- merging ----------------------------------------------------------------------- */

/* The kinds as the Tuḥfa's commentaries list them; places of dāl into tāʾ from the print (dāl
 * without a mark, tāʾ doubled). */
static void test_mutajanisayn(void **state)
{
    (void)state;
    static const char *const dal_ta[] = {
        "2:233:45:3", "2:256:5:2",  "3:194:4:3", "4:20:2:3",   "4:89:22:3",  "5:89:10:3",
        "5:110:13:3", "6:94:22:3",  "7:44:14:3", "8:42:12:5",  "8:56:2:3",   "9:1:7:3",
        "9:4:3:3",    "9:5:8:3",    "9:7:11:3",  "9:117:1:3",  "11:30:7:3",  "11:34:5:3",
        "12:32:7:3",  "12:47:7:3",  "12:51:5:3", "12:51:24:3", "14:22:11:4", "16:91:5:3",
        "16:94:13:3", "17:8:6:2",   "17:74:5:2", "18:36:6:3",  "18:51:2:4",  "18:79:8:4",
        "19:33:4:3",  "20:86:18:3", "26:22:6:3", "27:23:2:3",  "27:24:1:3",  "29:35:1:4",
        "29:38:3:3",  "37:56:4:2",  "40:8:6:3",  "41:21:4:3",  "43:24:6:3",  "54:15:1:4",
        "61:5:8:3",   "74:14:1:4",  "109:4:5:3"};
    static const char *const ta_dal[] = {"7:189:20:5", "10:89:3:5"};
    static const char *const ta_tah[] = {"3:69:1:3",  "3:72:1:5",   "3:122:2:3", "4:113:6:4",
                                         "33:13:2:4", "61:14:22:6", "61:14:27:5"};
    static const char *const tah_ta[] = {"5:28:2:3", "12:80:21:3", "27:22:5:3", "39:56:7:3"};
    static const char *const dhal_zah[] = {"4:64:11:2", "43:39:4:2"};
    static const char *const tha_dhal[] = {"7:176:20:4"};
    static const char *const ba_mim[] = {"11:42:14:4"};
    static const struct {
        const char *name;
        const char *const *addr;
        size_t count;
        int complete, nasal;
    } kind[] = {
        {"dāl into tāʾ", dal_ta, COUNT(dal_ta), 1, 0},
        {"tāʾ into dāl", ta_dal, COUNT(ta_dal), 1, 0},
        {"tāʾ into ṭāʾ", ta_tah, COUNT(ta_tah), 1, 0},
        {"ṭāʾ into tāʾ", tah_ta, COUNT(tah_ta), 0, 0},
        {"dhāl into ẓāʾ", dhal_zah, COUNT(dhal_zah), 1, 0},
        {"thāʾ into dhāl", tha_dhal, COUNT(tha_dhal), 1, 0},
        {"bāʾ into mīm", ba_mim, COUNT(ba_mim), 1, 1},
    };
    const struct mst_reading *r = whole.joined;
    unsigned char *expected = places_new(&whole, r);
    for (size_t k = 0; k < COUNT(kind); k++) {
        for (size_t i = 0; i < kind[k].count; i++) {
            places_add(r, expected, kind[k].addr[i], NULL);
            const struct mst_site *s =
                site_of(r, letter_at(r, kind[k].addr[i]), MST_RULE_IDGHAM_MUTAJANISAYN);
            if (!s || s->complete != kind[k].complete || s->nasal != kind[k].nasal)
                fail_msg("%s at %s", kind[k].name, kind[k].addr[i]);
        }
    }
    places_must_equal(r, "merging of kin", expected,
                      places_of_rule(&whole, r, MST_RULE_IDGHAM_MUTAJANISAYN));
}

/* The wāw of līn into wāw: 23 places, from the print (wāw without a mark, wāw doubled). */
static void test_lin_waw(void **state)
{
    (void)state;
    static const char *const place[] = {
        "2:61:57:3", "2:137:8:5", "3:20:18:5", "3:112:33:3", "3:188:6:3",  "5:78:15:3",
        "5:93:12:4", "5:93:17:4", "5:93:20:4", "7:95:7:3",   "8:23:9:5",   "8:72:12:4",
        "8:74:9:4",  "9:50:14:6", "9:76:7:5",  "9:92:14:4",  "13:35:16:4", "16:128:5:4",
        "19:72:4:4", "23:60:4:4", "38:3:7:5",  "64:6:11:5",  "83:3:3:2"};
    const struct mst_reading *r = whole.joined;
    unsigned char *expected = places_new(&whole, r), *got = places_new(&whole, r);
    for (size_t i = 0; i < COUNT(place); i++)
        places_add(r, expected, place[i], NULL);
    for (int32_t i = 0; i < r->site_count; i++) {
        const struct mst_site *s = &r->sites[i];
        if (s->rule == MST_RULE_IDGHAM_MITHLAYN && r->letters[s->trigger].base == 0x0648)
            got[s->trigger] = (unsigned char)(s->nasal == 0 && s->counts == 0);
    }
    places_must_equal(r, "wāw of līn into wāw", expected, got);
}

/* Lām of qul and bal into rāʾ, and 77:20: neighbours for Ḥafṣ are these alone. */
static void test_mutaqaribayn(void **state)
{
    (void)state;
    const struct mst_reading *r = whole.joined;
    unsigned char *print = places_new(&whole, r);
    for (int32_t i = 1; i < r->letter_count; i++) {
        int32_t next = next_word_letter(r, i);
        print[i] = next >= 0 && letter_is_last(r, i) && r->letters[i].base == 0x0644 &&
                   letter_mark_count(r, i) == 0 && r->letters[next].base == 0x0631;
    }
    places_add(r, print, "77:20:2:4", NULL);
    places_must_equal(r, "merging of neighbours, against the print", print,
                      places_of_rule(&whole, r, MST_RULE_IDGHAM_MUTAQARIBAYN));
    assert_int_equal(print[letter_at(r, "83:14:2:2")], 0);
}

/* Twelve words that begin with ٱل and a root letter (eighth form, laʿana, laghā; from memory, and
 * found in the text as ٱل + تق, تف, تم, عن, غو with a sounded lām). */
static void test_verbs_like_the_article(void **state)
{
    (void)state;
    static const char *const verb[] = {"3:13:7:2",  "3:155:6:2", "3:166:4:2",  "8:41:27:2",
                                       "8:44:4:2",  "28:8:1:3",  "33:68:6:3",  "37:142:1:3",
                                       "41:26:8:3", "54:12:4:3", "57:13:14:3", "75:29:1:3"};
    for (size_t i = 0; i < COUNT(verb); i++) {
        int32_t letter = letter_at(whole.joined, verb[i]);
        assert_int_equal(whole.joined->letters[letter].base, 0x0644);
        if (site_of(whole.joined, letter, MST_RULE_LAM_QAMARIYYA) ||
            site_of(whole.joined, letter, MST_RULE_LAM_SHAMSIYYA))
            fail_msg("%s is no article", verb[i]);
    }
    /* Every other lām that follows ٱ in the print is the article's, sounded or merged. */
    const struct mst_reading *r = whole.joined;
    unsigned char *expected = places_new(&whole, r), *got = places_new(&whole, r);
    for (int32_t i = 1; i < r->letter_count; i++) {
        if (r->letters[i].base != 0x0644 || r->letters[i - 1].base != 0x0671 ||
            r->letters[i].word_idx != r->letters[i - 1].word_idx)
            continue;
        expected[i] = 1;
        got[i] = site_of(r, i, MST_RULE_LAM_QAMARIYYA) || site_of(r, i, MST_RULE_LAM_SHAMSIYYA);
    }
    for (size_t i = 0; i < COUNT(verb); i++)
        expected[letter_at(r, verb[i])] = 0;
    /* corrected: in al-ism the article's lām has a vowel of its own, neither clear nor merged. */
    expected[letter_at(r, "49:11:30:2")] = 0;
    places_must_equal(r, "article after ٱ", expected, got);
}

/* --- lengthening ---------------------------------------------------------------------- */

/* al-Shāṭibī, Ḥirz al-amānī, the hāʾ of the pronoun; the print's small wāw and yāʾ on a word's
 * last hāʾ, with maddah where it is the greater. */
static void test_sila(void **state)
{
    (void)state;
    static const char *const none[] = {"39:7:13:4", "7:111:2:4", "26:36:2:4", "27:28:4:5",
                                       "24:52:7:5", "18:63:11:7", "48:10:21:4",
                                       /* root letters */
                                       "11:91:4:4", "19:46:9:4", "26:116:4:4", "26:167:4:4",
                                       "23:19:10:4", "33:60:3:4", "37:42:1:4", "96:15:4:4"};
    const struct mst_reading *r = whole.joined;
    unsigned char *print = places_new(&whole, r), *greater = places_new(&whole, r),
                  *kubra = places_of_rule(&whole, r, MST_RULE_MADD_SILA_KUBRA),
                  *got = places_of_rule(&whole, r, MST_RULE_MADD_SILA_SUGHRA);
    for (int32_t i = 0; i < r->letter_count; i++) {
        print[i] = r->letters[i].base == 0x0647 && letter_is_last(r, i) &&
                   (letter_bears(r, i, 0x06E5) || letter_bears(r, i, 0x06E6));
        greater[i] = print[i] && letter_bears(r, i, 0x0653);
        got[i] = got[i] || kubra[i];
    }
    places_must_equal(r, "ṣila, against the print", print, got);
    places_must_equal(r, "greater ṣila, against the print", greater, kubra);
    assert_true(got[letter_at(r, "25:69:7:3")]);
    for (size_t i = 0; i < COUNT(none); i++) {
        int32_t letter = letter_at(r, none[i]);
        assert_int_equal(r->letters[letter].base, 0x0647);
        if (got[letter])
            fail_msg("ṣila at %s", none[i]);
    }
    at(whole.words, "lesser ṣila, stopping everywhere", MST_RULE_MADD_SILA_SUGHRA, NULL, 0);
    at(whole.words, "greater ṣila, stopping everywhere", MST_RULE_MADD_SILA_KUBRA, NULL, 0);
}

/* Tuḥfat al-aṭfāl's commentaries: the binding lengthening of a word is light in āl-āna alone. */
static void test_lazim_light(void **state)
{
    (void)state;
    static const char *const place[] = {"10:51:7:2", "10:91:1:2"};
    const struct mst_reading *r = whole.joined;
    unsigned char *expected = places_new(&whole, r), *got = places_new(&whole, r);
    for (size_t i = 0; i < COUNT(place); i++)
        places_add(r, expected, place[i], NULL);
    for (int32_t i = 0; i < r->site_count; i++) {
        const struct mst_site *s = &r->sites[i];
        if (s->rule != MST_RULE_MADD_LAZIM_WORD)
            continue;
        assert_int_equal(s->counts, 6);
        /* Doubled in the print: by itself, or the letter the article's lām merges into. */
        int doubled = letter_bears(r, s->host, 0x0651) || letter_bears(r, s->host + 1, 0x0651);
        got[s->trigger] = !doubled;
    }
    places_must_equal(r, "binding lengthening, light", expected, got);
}

/*
 * The openings (al-Dānī, al-Taysīr; Tuḥfat al-aṭfāl: kam ʿasal naqaṣ six, ʿayn of two ways, ḥayyun
 * ṭuhr two, alif none). Per letter: - nothing, 2 natural, 6 six counts light, H six counts heavy,
 * A ʿayn.
 */
static void test_openings(void **state)
{
    (void)state;
    static const struct {
        const char *word, *letters;
    } opening[] = {
        {"2:1:1", "-H6"},  {"3:1:1", "-H6"},    {"7:1:1", "-H66"},  {"10:1:1", "-62"},
        {"11:1:1", "-62"}, {"12:1:1", "-62"},   {"13:1:1", "-H62"}, {"14:1:1", "-62"},
        {"15:1:1", "-62"}, {"19:1:1", "622A6"}, {"20:1:1", "22"},   {"26:1:1", "2H6"},
        {"27:1:1", "26"},  {"28:1:1", "2H6"},   {"29:1:1", "-H6"},  {"30:1:1", "-H6"},
        {"31:1:1", "-H6"}, {"32:1:1", "-H6"},   {"36:1:1", "26"},   {"38:1:1", "6"},
        {"40:1:1", "26"},  {"41:1:1", "26"},    {"42:1:1", "26"},   {"42:2:1", "A66"},
        {"43:1:1", "26"},  {"44:1:1", "26"},    {"45:1:1", "26"},   {"46:1:1", "26"},
        {"50:1:1", "6"},   {"68:1:1", "6"},
    };
    const struct mst_reading *r = whole.verses;
    unsigned char *lazim = places_new(&whole, r);
    for (size_t i = 0; i < COUNT(opening); i++) {
        for (size_t k = 0; opening[i].letters[k]; k++) {
            char addr[48], kind = opening[i].letters[k];
            snprintf(addr, sizeof addr, "%s:%zu", opening[i].word, k + 1);
            int32_t letter = letter_at(r, addr);
            assert_true(letter >= 0);
            const struct mst_site *two = site_of(r, letter, MST_RULE_MADD_TABII),
                                  *six = site_of(r, letter, MST_RULE_MADD_LAZIM_LETTER);
            int merges = site_of(r, letter, MST_RULE_IDGHAM_SHAFAWI) ||
                         site_of(r, letter, MST_RULE_IDGHAM_GHUNNA);
            int right = kind == '-'   ? !two && !six
                        : kind == '2' ? two && !six && two->counts == 2
                                      : !two && six && six->counts == 6 && six->counts_max == 6 &&
                                            six->counts_min == (kind == 'A' ? 4 : 6) &&
                                            merges == (kind == 'H') && six->heavy == merges;
            if (!right)
                fail_msg("%s: expected %c", addr, kind);
            lazim[letter] = six != NULL;
            if (!opening[i].letters[k + 1])
                assert_true(letter_is_last(r, letter));
        }
    }
    places_must_equal(r, "binding lengthening of letters", lazim,
                      places_of_rule(&whole, r, MST_RULE_MADD_LAZIM_LETTER));
}

/* The rules of lengthening that one letter may carry at most one of. */
static int lengthening_count(const struct mst_reading *r, int32_t letter)
{
    int32_t from, to;
    int count = 0;
    mst_sites_at(r, letter, &from, &to);
    for (int32_t i = from; i < to; i++)
        count += mst_rule_family(r->sites[i].rule) == MST_FAMILY_LENGTH;
    return count;
}

/* The Name: 2699 times and five times Allāhumma (ʿAbd al-Bāqī's count, the basmalas between suras
 * not among them), each with one lengthening on its second lām, which is heavy or light. */
static void test_name(void **state)
{
    (void)state;
    const struct mst_reading *const readings[] = {whole.joined, whole.verses, whole.words};
    for (size_t k = 0; k < COUNT(readings); k++) {
        const struct mst_reading *r = readings[k];
        int count = 0;
        for (int32_t i = 0; i < r->site_count; i++) {
            const struct mst_site *s = &r->sites[i];
            if ((s->rule != MST_RULE_TAFKHIM_LAM && s->rule != MST_RULE_TARQIQ_LAM) ||
                r->words[r->letters[s->trigger].word_idx].verse == 0)
                continue;
            count++;
            assert_true(letter_bears(r, s->trigger, 0x0651));
            assert_int_equal(r->letters[s->trigger + 1].base, 0x0647);
            assert_int_equal(lengthening_count(r, s->trigger), 1);
        }
        assert_int_equal(count, 2704);
    }
}

/* 277 places where maddah on a hamza seat spells hamza and alif (from the text's own spelling):
 * badal or something stronger. */
static void test_badal_on_seat(void **state)
{
    (void)state;
    const struct mst_reading *r = whole.joined;
    int count = 0;
    for (int32_t i = 0; i < r->letter_count; i++) {
        if (r->letters[i].base != 0x0623 || !letter_bears(r, i, 0x0653))
            continue;
        count++;
        if (lengthening_count(r, i) != 1 || site_of(r, i, MST_RULE_MADD_TABII)) {
            char name[48];
            fail_msg("%s: neither badal nor stronger", mst_addr_print(mst_letter_addr(r, i), name));
        }
    }
    assert_int_equal(count, 277);
}

/* yā and hā joined in writing to a hamza: 190 and 50, from the print (dagger alif with maddah on a
 * word's first letter); parted lengthening there whatever the reader's stops. */
static void test_joined_munfasil(void **state)
{
    (void)state;
    const struct mst_reading *r = whole.words;
    unsigned char *expected = places_new(&whole, r);
    int ya = 0, ha = 0;
    for (int32_t i = 0; i < r->letter_count; i++) {
        uint32_t base = r->letters[i].base;
        if (r->letters[i].number > 2 || !letter_bears(r, i, 0x0670) ||
            !letter_bears(r, i, 0x0653) || letter_is_last(r, i))
            continue;
        if (base != 0x064A && base != 0x0647)
            continue;
        expected[i] = 1;
        ya += base == 0x064A;
        ha += base == 0x0647;
    }
    assert_int_equal(ya, 190);
    assert_int_equal(ha, 50);
    places_must_equal(r, "parted lengthening joined in writing", expected,
                      places_of_rule(&whole, r, MST_RULE_MADD_MUNFASIL));
}

/* --- rāʾ ---------------------------------------------------------------------------------- */

/* Ibn al-Jazarī, Muqaddima: a vowelless rāʾ after its own kasra is light, save before a heavy
 * letter in its word: qirṭās, irṣād, firqa, mirṣād twice; firq both ways. */
static void test_ra_after_kasra(void **state)
{
    (void)state;
    static const char *const heavy[] = {"6:7:6:2",   "9:107:9:3", "9:122:10:2",
                                        "78:21:4:2", "89:14:3:6", "26:63:11:2"};
    const struct mst_reading *r = whole.joined;
    unsigned char *expected = places_new(&whole, r), *got = places_new(&whole, r);
    int light = 0;
    for (size_t i = 0; i < COUNT(heavy); i++)
        places_add(r, expected, heavy[i], NULL);
    for (int32_t i = 1; i < r->letter_count; i++) {
        if (r->letters[i].base != 0x0631 || !letter_bears(r, i, 0x06E1) ||
            r->letters[i - 1].word_idx != r->letters[i].word_idx || !letter_bears(r, i - 1, 0x0650))
            continue;
        got[i] = site_of(r, i, MST_RULE_TAFKHIM_RA) != NULL;
        light += site_of(r, i, MST_RULE_TARQIQ_RA) != NULL;
    }
    places_must_equal(r, "rāʾ heavy after its kasra", expected, got);
    assert_int_equal(light, 242 - (int)COUNT(heavy));
    assert_int_equal(site_of(r, letter_at(r, "26:63:11:2"), MST_RULE_TAFKHIM_RA)->both_ways, 1);
}

/* The rāʾs of two ways at a stop (Ibn al-Jazarī, al-Nashr; from memory), heavy preferred in Miṣr,
 * light in the others; and firq. */
static void test_ra_both_ways(void **state)
{
    (void)state;
    static const char *const heavy[] = {"10:87:8:4", "12:21:5:3", "12:99:10:3", "43:51:10:3",
                                        "26:63:11:2"};
    static const char *const light[] = {
        "34:12:10:5", "89:4:3:3",  "11:81:9:4", "15:65:1:4", "44:23:1:4", "20:77:6:3", "26:52:5:3",
        "54:16:4:4",  "54:18:6:4", "54:21:4:4", "54:30:4:4", "54:37:9:4", "54:39:3:4"};
    const struct mst_reading *r = whole.words;
    const enum mst_rule rule[] = {MST_RULE_TAFKHIM_RA, MST_RULE_TARQIQ_RA};
    for (size_t k = 0; k < COUNT(rule); k++) {
        unsigned char *expected = places_new(&whole, r), *got = places_new(&whole, r);
        const char *const *list = k == 0 ? heavy : light;
        for (size_t i = 0; i < (k == 0 ? COUNT(heavy) : COUNT(light)); i++)
            places_add(r, expected, list[i], NULL);
        for (int32_t i = 0; i < r->site_count; i++) {
            if (r->sites[i].rule == rule[k] && r->sites[i].both_ways)
                got[r->sites[i].trigger] = 1;
        }
        places_must_equal(
            r, k == 0 ? "rāʾ of two ways, heavy preferred" : "rāʾ of two ways, light preferred",
            expected, got);
    }
}

/* --- between suras ------------------------------------------------------------------------- */

/* No basmala before the ninth sura; a breathless pause there when the reader chooses it
 * (Ḥirz al-amānī, chapter of the basmala). */
static void test_eight_and_nine(void **state)
{
    (void)state;
    struct mst_range range;
    struct mst_error err = {0};
    struct mst_reading *r;
    assert_int_equal(mst_range_parse(whole.text, MST_SPAN("8:75-9:1"), &range, &err), MST_OK);
    for (int sakt = 0; sakt < 2; sakt++) {
        struct mst_reading_options options = {.stops = MST_STOPS_NONE, .anfal_sakt = sakt};
        assert_int_equal(mst_reading_new(whole.text, range, &options, whole.arena, &r, &err),
                         MST_OK);
        int seen = 0;
        for (int32_t i = 0; i < r->word_count; i++) {
            assert_int_not_equal(r->words[i].verse, 0);
            if (r->words[i].sura == 8 && r->words[i + 1].sura == 9) {
                seen = 1;
                assert_int_equal(r->words[i].seam, sakt ? MST_SEAM_SAKT : MST_SEAM_JOIN);
            }
        }
        assert_int_equal(seen, 1);
    }
    int basmalas = 0;
    for (int32_t i = 0; i < whole.joined->word_count; i++) {
        const struct mst_word *w = &whole.joined->words[i];
        basmalas += w->verse == 0 && w->word == 1;
        assert_false(w->verse == 0 && (w->sura == 9 || w->sura == 1));
    }
    assert_int_equal(basmalas, 112);
}

/* The signs of the print, counted in its code points: 06D8 21, 06D7 511, 06DA 2083, 06D6 1651, 06DB
 * 6, quarter 199, sajda 15 (one word may bear a quarter sign before and a pause sign after it). */
static void test_printed_signs(void **state)
{
    (void)state;
    int sign[MST_PAUSE_EMBRACING + 1] = {0}, quarter = 0, sajda = 0;
    for (int32_t i = 0; i < whole.joined->word_count; i++) {
        const struct mst_word *w = &whole.joined->words[i];
        sign[w->pause_sign]++;
        quarter += w->quarter_before;
        sajda += w->sajda;
    }
    assert_int_equal(sign[MST_PAUSE_MUST], 21);
    assert_int_equal(sign[MST_PAUSE_BETTER], 511);
    assert_int_equal(sign[MST_PAUSE_EITHER], 2083);
    assert_int_equal(sign[MST_PAUSE_GO_ON], 1651);
    assert_int_equal(sign[MST_PAUSE_EMBRACING], 6);
    assert_int_equal(sign[MST_PAUSE_MUST_NOT], 0);
    assert_int_equal(quarter, 199);
    assert_int_equal(sajda, 15);
}

int main(void)
{
    if (!whole_open(&whole))
        return 1;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sakt),
        cmocka_unit_test(test_words_of_their_own),
        cmocka_unit_test(test_question_words),
        cmocka_unit_test(test_seven_alifs),
        cmocka_unit_test(test_silent_letters),
        cmocka_unit_test(test_izhar_mutlaq),
        cmocka_unit_test(test_idgham_ghunna),
        cmocka_unit_test(test_mutajanisayn),
        cmocka_unit_test(test_lin_waw),
        cmocka_unit_test(test_mutaqaribayn),
        cmocka_unit_test(test_verbs_like_the_article),
        cmocka_unit_test(test_sila),
        cmocka_unit_test(test_lazim_light),
        cmocka_unit_test(test_openings),
        cmocka_unit_test(test_name),
        cmocka_unit_test(test_badal_on_seat),
        cmocka_unit_test(test_joined_munfasil),
        cmocka_unit_test(test_ra_after_kasra),
        cmocka_unit_test(test_ra_both_ways),
        cmocka_unit_test(test_eight_and_nine),
        cmocka_unit_test(test_printed_signs),
    };
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    whole_close(&whole);
    return failed ? 1 : 0;
}
