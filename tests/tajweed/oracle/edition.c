#include "edition.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <mistara/base.h>

enum {
    SPACE = 0x0020,
    THIN_SPACE = 0x2009,
    TATWEEL = 0x0640,
    HAMZA_ABOVE = 0x0654,
    SMALL_HIGH_YEH = 0x06E7,
    SMALL_HIGH_NUN = 0x06E8,
    QUARTER_SIGN = 0x06DE
};

/* --- the files ----------------------------------------------------------- */

static int take_first(struct edition *edition, const json_t *root)
{
    size_t sura_count = json_array_size(root);
    int count = 0;
    for (size_t s = 0; s < sura_count; s++) {
        const json_t *verses = json_object_get(json_array_get(root, s), "verses");
        for (size_t v = 0; v < json_array_size(verses); v++) {
            const char *text =
                json_string_value(json_object_get(json_array_get(verses, v), "text"));
            if (text == NULL || count == EDITION_VERSES)
                return -1;
            edition->verses[count++] = (struct edition_verse){(int)s + 1, (int)v + 1, text};
        }
    }
    return count;
}

static int take_second(struct edition *edition, const json_t *root)
{
    int count = 0;
    for (size_t v = 0; v < json_array_size(root); v++) {
        const json_t *verse = json_array_get(root, v);
        const char *text = json_string_value(json_object_get(verse, "text"));
        if (text == NULL || count == EDITION_VERSES)
            return -1;
        edition->verses[count++] =
            (struct edition_verse){(int)json_integer_value(json_object_get(verse, "surah")),
                                   (int)json_integer_value(json_object_get(verse, "ayah")), text};
    }
    return count;
}

struct edition *edition_open(const char *path)
{
    json_error_t problem;
    json_t *root = json_load_file(path, 0, &problem);
    if (root == NULL) {
        fprintf(stderr, "%s:%d: %s\n", path, problem.line, problem.text);
        return NULL;
    }
    struct edition *edition = calloc(1, sizeof *edition);
    if (edition == NULL) {
        json_decref(root);
        return NULL;
    }
    edition->json = root;
    edition->form =
        json_object_get(json_array_get(root, 0), "verses") != NULL ? EDITION_FIRST : EDITION_SECOND;
    int count =
        edition->form == EDITION_FIRST ? take_first(edition, root) : take_second(edition, root);
    if (count != EDITION_VERSES) {
        fprintf(stderr, "%s: %d verses found, %d expected\n", path, count, EDITION_VERSES);
        edition_close(edition);
        return NULL;
    }
    return edition;
}

void edition_close(struct edition *edition)
{
    if (edition == NULL)
        return;
    json_decref(edition->json);
    free(edition);
}

int edition_find(const struct edition *edition, int sura, int verse)
{
    for (int i = 0; i < EDITION_VERSES; i++)
        if (edition->verses[i].sura == sura && edition->verses[i].verse == verse)
            return i;
    return -1;
}

/* --- letters ------------------------------------------------------------- */

static int is_letter(uint32_t cp)
{
    return (cp >= 0x0621 && cp <= 0x063A) || (cp >= 0x0641 && cp <= 0x064A) || cp == 0x0671;
}

static int is_vowel_or_shadda(uint32_t cp)
{
    return cp >= 0x064B && cp <= 0x0651;
}

/* Does the seat at cps[at] bear a letter (see print_letters)? */
static int seat_is_letter(const uint32_t *cps, int count, int at)
{
    int small_yeh = 0, vowel = 0;
    for (int i = at + 1; i < count; i++) {
        uint32_t cp = cps[i];
        if (is_letter(cp) || cp == TATWEEL || cp == SPACE)
            break;
        if (cp == HAMZA_ABOVE || cp == SMALL_HIGH_NUN)
            return 1;
        small_yeh |= cp == SMALL_HIGH_YEH;
        vowel |= is_vowel_or_shadda(cp);
    }
    return small_yeh && vowel;
}

int print_letters(const char *text, struct print_letter out[VERSE_LETTERS_MAX], uint32_t *lead)
{
    uint32_t cps[8192];
    int count = 0;
    size_t len = strlen(text);
    for (size_t off = 0; off < len;) {
        if (count == (int)(sizeof cps / sizeof cps[0]))
            return -1;
        cps[count++] = mst_utf8_next(text, len, &off);
    }

    *lead = 0;
    int letters = 0, word = 1, number = 0;
    for (int i = 0; i < count; i++) {
        uint32_t cp = cps[i];
        int seat = cp == TATWEEL || cp == THIN_SPACE;
        if (cp == SPACE) {
            word++;
            number = 0;
        } else if (is_letter(cp) || (seat && seat_is_letter(cps, count, i))) {
            if (letters == VERSE_LETTERS_MAX)
                return -1;
            out[letters++] = (struct print_letter){.word = word, .number = ++number, .base = cp};
        } else if (letters == 0) {
            if (cp != QUARTER_SIGN)
                return -1;
            *lead = cp;
        } else {
            struct print_letter *l = &out[letters - 1];
            if (l->mark_count == LETTER_MARKS_MAX || l->word != word)
                return -1;
            l->marks[l->mark_count++] = cp;
        }
    }
    return letters;
}

int print_has(const struct print_letter *letter, uint32_t mark)
{
    for (int i = 0; i < letter->mark_count; i++)
        if (letter->marks[i] == mark)
            return 1;
    return 0;
}
