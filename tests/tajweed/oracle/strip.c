/*
 * strip – write an edition's verses without the marks by which the print
 * spells a rule out, in the shape of quran-json's file, so that the packer
 * takes them as a text.
 *
 *     strip EDITION.json OUT.json [--keep-marks|--keep-some]
 *
 * What is taken away is listed in docs/print-check.md. The second edition is
 * first folded to the first one's code points by the general transformations
 * listed there; --keep-marks stops after that. --keep-some tosses a coin for
 * every letter: whoever leans on a mark here and there stumbles. Nothing is copied from one
 * edition to the other: the tool sees one file at a time.
 */
#include "edition.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <mistara/base.h>

enum {
    SPACE = 0x0020,
    THIN_SPACE = 0x2009,
    HAMZA_ON_ALIF = 0x0623,
    HAMZA_ON_WAW = 0x0624,
    HAMZA_ON_YEH = 0x0626,
    ALIF = 0x0627,
    TATWEEL = 0x0640,
    LAM = 0x0644,
    WAW = 0x0648,
    ALIF_MAKSURA = 0x0649,
    YEH = 0x064A,
    FATHATAN = 0x064B,
    DAMMATAN = 0x064C,
    KASRATAN = 0x064D,
    FATHA = 0x064E,
    DAMMA = 0x064F,
    KASRA = 0x0650,
    SHADDA = 0x0651,
    ROUND_ZERO = 0x0652,
    MADDAH = 0x0653,
    HAMZA_ABOVE = 0x0654,
    HAMZA_BELOW = 0x0655,
    OPEN_KASRATAN = 0x0656,
    OPEN_FATHATAN = 0x0657,
    IMALA_DOT = 0x065C,
    OPEN_DAMMATAN = 0x065E,
    DAGGER_ALIF = 0x0670,
    ALIF_WASLA = 0x0671,
    SMALL_SEEN = 0x06DC,
    QUARTER_SIGN = 0x06DE,
    LONG_ZERO = 0x06E0,
    SUKUN = 0x06E1,
    SMALL_MEEM = 0x06E2,
    SMALL_LOW_MEEM = 0x06ED,
    SAJDA_SIGN = 0x06E9,
    ROUND_STOP = 0x06EC
};

/* --- one letter's marks -------------------------------------------------- */

static void drop(struct print_letter *l, uint32_t mark)
{
    int kept = 0;
    for (int i = 0; i < l->mark_count; i++)
        if (l->marks[i] != mark)
            l->marks[kept++] = l->marks[i];
    l->mark_count = kept;
}

static void swap_mark(struct print_letter *l, uint32_t from, uint32_t to)
{
    for (int i = 0; i < l->mark_count; i++)
        if (l->marks[i] == from)
            l->marks[i] = to;
}

static int is_pause_sign(uint32_t cp)
{
    return (cp >= 0x06D6 && cp <= 0x06DB) || cp == SMALL_SEEN;
}

/* A vowel, tanwīn or shadda of the first edition's codes. */
static int is_vowelled(const struct print_letter *l)
{
    for (int i = 0; i < l->mark_count; i++) {
        uint32_t cp = l->marks[i];
        if ((cp >= FATHATAN && cp <= SHADDA) || cp == OPEN_FATHATAN || cp == OPEN_DAMMATAN ||
            cp == OPEN_KASRATAN || cp == DAGGER_ALIF)
            return 1;
    }
    return 0;
}

static int is_cleared(const struct print_letter *l)
{
    return print_has(l, SUKUN) || print_has(l, ROUND_ZERO) || print_has(l, LONG_ZERO) ||
           print_has(l, MADDAH);
}

/* --- folding the second edition ------------------------------------------ */

/* Signs that stand as words of their own are written onto the word beside them, as the first
 * edition does; codes that say the same are written the same. */
static char *fold_codes(const char *text)
{
    struct mst_string out = {0};
    size_t len = strlen(text);
    uint32_t before = 0;
    for (size_t off = 0; off < len;) {
        uint32_t cp = mst_utf8_next(text, len, &off);
        size_t ahead = off;
        uint32_t next = off < len ? mst_utf8_next(text, len, &ahead) : 0;
        if (cp == SPACE && (is_pause_sign(next) || next == SAJDA_SIGN || before == QUARTER_SIGN))
            continue;
        before = cp;
        switch (cp) {
        case 0x0652: /* sukūn */
            cp = SUKUN;
            break;
        case 0x06DF: /* rounded zero */
            cp = ROUND_ZERO;
            break;
        case 0x06E3: /* small low sīn, 52:37 */
            cp = SMALL_SEEN;
            break;
        case 0x06EA: /* imāla, 11:41 */
            cp = IMALA_DOT;
            break;
        case 0x06EB: /* ishmām, 12:11 */
            cp = ROUND_STOP;
            break;
        default:
            break;
        }
        mst_string_add_cp(&out, cp);
    }
    return out.failed ? NULL : out.ptr;
}

static int ends_word(const struct print_letter *l, int count, int at)
{
    return at + 1 == count || l[at + 1].word != l[at].word;
}

/* The second edition writes every final yāʾ without dots; the first keeps the form without dots
 * for the alif. A vowel, a sukūn, a zero, or kasra before it shows a yāʾ. */
static void fold_yeh(struct print_letter *l, int count)
{
    for (int i = 0; i < count; i++) {
        if (l[i].base != ALIF_MAKSURA)
            continue;
        int own = print_has(&l[i], SUKUN) || print_has(&l[i], ROUND_ZERO);
        for (int m = 0; m < l[i].mark_count; m++)
            own |= l[i].marks[m] >= FATHATAN && l[i].marks[m] <= SHADDA;
        int before = i - 1; /* the letter before it that sounds */
        while (before >= 0 && print_has(&l[before], ROUND_ZERO))
            before--;
        int after_kasra =
            before >= 0 && l[before].word == l[i].word && print_has(&l[before], KASRA);
        if (own || after_kasra)
            l[i].base = YEH;
    }
}

/* A final hamza with kasra: the first edition hangs it under its seat. */
static void fold_hamza_below(struct print_letter *l, int count)
{
    for (int i = 0; i < count; i++) {
        if (!ends_word(l, count, i) || (l[i].base != HAMZA_ON_WAW && l[i].base != HAMZA_ON_YEH))
            continue;
        if (!print_has(&l[i], KASRA) && !print_has(&l[i], KASRATAN))
            continue;
        l[i].base = l[i].base == HAMZA_ON_WAW ? WAW : YEH;
        memmove(&l[i].marks[1], &l[i].marks[0], (size_t)l[i].mark_count * sizeof l[i].marks[0]);
        l[i].marks[0] = HAMZA_BELOW;
        l[i].mark_count++;
    }
}

/* After lām the second edition writes hamza on a tatweel and alif where the first writes one
 * alif with hamza and maddah. Returns the new count. */
static int fold_alif_madda(struct print_letter *l, int count)
{
    int kept = 0;
    for (int i = 0; i < count; i++, kept++) {
        l[kept] = l[i];
        int seat = l[i].base == TATWEEL && l[i].mark_count == 2 && print_has(&l[i], HAMZA_ABOVE) &&
                   print_has(&l[i], FATHA);
        if (!seat || kept == 0 || l[kept - 1].base != LAM || l[kept - 1].word != l[i].word ||
            i + 1 == count || l[i + 1].base != ALIF || l[i + 1].word != l[i].word)
            continue;
        l[kept] = l[i + 1];
        l[kept].base = HAMZA_ON_ALIF;
        memmove(&l[kept].marks[1], &l[kept].marks[0],
                (size_t)l[kept].mark_count * sizeof l[kept].marks[0]);
        l[kept].marks[0] = MADDAH;
        l[kept].mark_count++;
        i++;
    }
    return kept;
}

/* A hamza after a dagger alif without a seat of its own (2:72) is given the thin space that the
 * first edition seats it on. Returns the new count. */
static int fold_seatless_hamza(struct print_letter *l, int count)
{
    for (int i = 0; i < count && count < VERSE_LETTERS_MAX; i++) {
        int at = 0;
        while (at + 1 < l[i].mark_count &&
               !(l[i].marks[at] == DAGGER_ALIF && l[i].marks[at + 1] == HAMZA_ABOVE))
            at++;
        if (l[i].base == TATWEEL || at + 1 >= l[i].mark_count)
            continue;
        memmove(&l[i + 1], &l[i], (size_t)(count - i) * sizeof *l);
        count++;
        l[i].mark_count = at;
        struct print_letter *seat = &l[i + 1];
        seat->base = THIN_SPACE;
        seat->mark_count -= at;
        memmove(seat->marks, seat->marks + at, (size_t)seat->mark_count * sizeof seat->marks[0]);
    }
    return count;
}

/* --- taking the marks away ------------------------------------------------ */

/* A letter the print leaves bare because it merges into the next: no vowel, no sukūn, no zero,
 * and not a lengthening letter. */
static int merges_bare(const struct print_letter *l, int at)
{
    if (is_vowelled(&l[at]) || is_cleared(&l[at]))
        return 0;
    switch (l[at].base) {
    case ALIF:
    case ALIF_MAKSURA:
    case ALIF_WASLA:
        return 0;
    case WAW:
    case YEH:
        return at > 0 && l[at - 1].word == l[at].word && print_has(&l[at - 1], FATHA);
    default:
        return 1;
    }
}

static void fold_tanwin(struct print_letter *l)
{
    swap_mark(l, OPEN_FATHATAN, FATHATAN);
    swap_mark(l, OPEN_DAMMATAN, DAMMATAN);
    swap_mark(l, OPEN_KASRATAN, KASRATAN);
    if (print_has(l, SMALL_MEEM)) {
        swap_mark(l, FATHA, FATHATAN);
        swap_mark(l, DAMMA, DAMMATAN);
        drop(l, SMALL_MEEM);
    }
    if (print_has(l, SMALL_LOW_MEEM)) {
        swap_mark(l, KASRA, KASRATAN);
        drop(l, SMALL_LOW_MEEM);
    }
}

enum stripping { STRIP_ALL, KEEP_ALL, KEEP_SOME };

/* A coin that always falls the same way: the low bit of a linear congruential generator's top
 * (Knuth, MMIX). */
static int spared(enum stripping how)
{
    static uint64_t state = 67;
    if (how != KEEP_SOME)
        return how == KEEP_ALL;
    state = state * 6364136223846793005u + 1442695040888963407u;
    return (int)(state >> 63);
}

static void strip_marks(struct print_letter *l, int count, enum stripping how)
{
    /* Shadda first, from the back: it asks whether the letter before is bare. */
    for (int i = count - 1; i >= 0; i--) {
        int starts_word = i == 0 || l[i - 1].word != l[i].word;
        if ((starts_word || merges_bare(l, i - 1)) && !spared(how))
            drop(&l[i], SHADDA);
    }
    for (int i = 0; i < count; i++) {
        if (spared(how))
            continue;
        fold_tanwin(&l[i]);
        drop(&l[i], SUKUN);
        drop(&l[i], ROUND_ZERO);
        drop(&l[i], LONG_ZERO);
        if (l[i].base != HAMZA_ON_ALIF)
            drop(&l[i], MADDAH);
    }
}

/* --- writing -------------------------------------------------------------- */

static char *spell(const struct print_letter *l, int count, uint32_t lead)
{
    struct mst_string out = {0};
    if (lead != 0)
        mst_string_add_cp(&out, lead);
    for (int i = 0; i < count; i++) {
        if (i > 0 && l[i].word != l[i - 1].word)
            mst_string_add_cp(&out, SPACE);
        mst_string_add_cp(&out, l[i].base);
        for (int m = 0; m < l[i].mark_count; m++)
            mst_string_add_cp(&out, l[i].marks[m]);
    }
    return out.failed ? NULL : out.ptr;
}

static char *rewrite(const char *text, enum edition_form form, enum stripping how)
{
    static struct print_letter letters[VERSE_LETTERS_MAX];
    uint32_t lead;
    char *folded = form == EDITION_SECOND ? fold_codes(text) : strdup(text);
    if (folded == NULL)
        return NULL;
    int count = print_letters(folded, letters, &lead);
    free(folded);
    if (count < 0)
        return NULL;
    if (form == EDITION_SECOND) {
        fold_yeh(letters, count);
        fold_hamza_below(letters, count);
        count = fold_alif_madda(letters, count);
        count = fold_seatless_hamza(letters, count);
    }
    strip_marks(letters, count, how);
    return spell(letters, count, lead);
}

static int write_edition(const struct edition *edition, enum stripping how, const char *path)
{
    json_t *suras = json_array();
    json_t *verses = NULL;
    for (int i = 0; i < EDITION_VERSES; i++) {
        const struct edition_verse *v = &edition->verses[i];
        if (v->verse == 1) {
            verses = json_array();
            json_array_append_new(suras, json_pack("{s:i, s:o}", "id", v->sura, "verses", verses));
        }
        char *text = rewrite(v->text, edition->form, how);
        if (text == NULL) {
            fprintf(stderr, "strip: %d:%d cannot be split into letters\n", v->sura, v->verse);
            json_decref(suras);
            return 1;
        }
        json_array_append_new(verses, json_pack("{s:i, s:s}", "id", v->verse, "text", text));
        free(text);
    }
    int failed = json_dump_file(suras, path, JSON_COMPACT);
    if (failed)
        fprintf(stderr, "strip: %s cannot be written\n", path);
    json_decref(suras);
    return failed != 0;
}

int main(int argc, char **argv)
{
    enum stripping how = STRIP_ALL;
    if (argc == 4 && strcmp(argv[3], "--keep-marks") == 0)
        how = KEEP_ALL;
    else if (argc == 4 && strcmp(argv[3], "--keep-some") == 0)
        how = KEEP_SOME;
    if (argc != 3 && how == STRIP_ALL) {
        fprintf(stderr, "usage: strip EDITION.json OUT.json [--keep-marks|--keep-some]\n");
        return 2;
    }
    struct edition *edition = edition_open(argv[1]);
    if (edition == NULL)
        return 4;
    int failed = write_edition(edition, how, argv[2]);
    edition_close(edition);
    return failed;
}
