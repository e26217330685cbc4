/*
 * Letters brought down to what counts when people look for words: no case, no
 * accents, one form for a letter that is spelt several ways.  Only for
 * comparing; nothing folded is ever shown.
 */
#include "text_private.h"

/* The base letter of each code point (by Unicode's canonical decomposition); '?' where there is no
 * single one. */
static const char latin_00c0[] = "aaaaaa?ceeeeiiii?nooooo?ouuuuy??"  /* 00C0 … */
                                 "aaaaaa?ceeeeiiii?nooooo?ouuuuy?y"  /* 00E0 … */
                                 "aaaaaaccccccccddddeeeeeeeeeegggg"  /* 0100 … */
                                 "gggghhhhiiiiiiiiii??jjkk?llllll?"  /* 0120 … */
                                 "?llnnnnnn???oooooo??rrrrrrssssss"  /* 0140 … */
                                 "ssttttttuuuuuuuuuuuuwwyyyzzzzzzs"; /* 0160 … 017F */
static const char latin_1e00[] = "aabbbbbbccddddddddddeeeeeeeeeeff"  /* 1E00 … */
                                 "gghhhhhhhhhhiiiikkkkkkllllllllmm"  /* 1E20 … */
                                 "mmmmnnnnnnnnoooooooopppprrrrrrrr"  /* 1E40 … */
                                 "sssssssssstttttttt"                /* 1E60 … */
                                 "uuuuuuuuuuvvvv"                    /* 1E72 … */
                                 "wwwwwwwwwwxxxxyyzzzzzzhtwy??????"  /* 1E80 … */
                                 "aaaaaaaaaaaaaaaaaaaaaaaaeeeeeeee"  /* 1EA0 … */
                                 "eeeeeeeeiiiioooooooooooooooooooo"  /* 1EC0 … */
                                 "oooouuuuuuuuuuuuuuyyyyyyyy??????"; /* 1EE0 … 1EFF */
_Static_assert(sizeof latin_00c0 - 1 == 0x180 - 0xC0, "one letter for each code point");
_Static_assert(sizeof latin_1e00 - 1 == 0x1F00 - 0x1E00, "one letter for each code point");

/* Letters that become two, or another one. */
static const struct {
    uint32_t from, to[2];
} special[] = {
    {0x00C6, {'a', 'e'}}, {0x00E6, {'a', 'e'}}, {0x00D0, {'d'}},      {0x00F0, {'d'}},
    {0x00DE, {'t', 'h'}}, {0x00FE, {'t', 'h'}}, {0x00DF, {'s', 's'}}, {0x0132, {'i', 'j'}},
    {0x0133, {'i', 'j'}}, {0x0152, {'o', 'e'}}, {0x0153, {'o', 'e'}}, {0x1E9E, {'s', 's'}},
    {0x0401, {0x0435}},   {0x0451, {0x0435}}, /* Cyrillic yo is printed as ye */
};

int text_is_invisible(uint32_t cp)
{
    return cp == 0x061C || (cp >= 0x200B && cp <= 0x200F) || (cp >= 0x202A && cp <= 0x202E) ||
           (cp >= 0x2066 && cp <= 0x2069) || cp == 0xFEFF || cp == 0x00AD;
}

int text_is_arabic(uint32_t cp)
{
    return (cp >= 0x0620 && cp <= 0x065F) || (cp >= 0x066E && cp <= 0x06D3) || cp == 0x06D5 ||
           (cp >= 0x06EE && cp <= 0x06EF) || (cp >= 0x06FA && cp <= 0x06FF);
}

int text_digit_value(uint32_t cp)
{
    if (cp >= '0' && cp <= '9')
        return (int)(cp - '0');
    if (cp >= 0x0660 && cp <= 0x0669)
        return (int)(cp - 0x0660);
    if (cp >= 0x06F0 && cp <= 0x06F9)
        return (int)(cp - 0x06F0);
    return -1;
}

/* Marks that ride on a letter, in any script the translations are in. */
static int is_mark(uint32_t cp)
{
    return (cp >= 0x0300 && cp <= 0x036F) || (cp >= 0x0610 && cp <= 0x061A) || cp == 0x0640 ||
           (cp >= 0x064B && cp <= 0x065F) || cp == 0x0670 || (cp >= 0x06D6 && cp <= 0x06ED) ||
           (cp >= 0x08D3 && cp <= 0x08FF);
}

/* What is written inside words without being a letter: apostrophes and the signs for ʿayn and
 * hamza. */
static int is_inside_word(uint32_t cp)
{
    return cp == '\'' || cp == '`' || cp == 0x00B4 || cp == 0x2018 || cp == 0x2019 ||
           (cp >= 0x02B9 && cp <= 0x02C0) || cp == 0x0621;
}

static int parts_words(uint32_t cp)
{
    return cp <= 0x20 || (cp > 0x20 && cp < 0x7F) || (cp >= 0x80 && cp < 0xC0) || cp == 0xD7 ||
           cp == 0xF7 || cp == 0x060C || cp == 0x061B || cp == 0x061F || cp == 0x06D4 ||
           cp == 0x0964 || cp == 0x0965 || (cp >= 0x2000 && cp <= 0x206F) ||
           (cp >= 0x3000 && cp <= 0x3020) || (cp >= 0xFF00 && cp <= 0xFF0F) || cp == 0xFF1A ||
           cp == 0xFF1B || cp == 0xFF1F;
}

static int put(uint32_t out[2], uint32_t cp)
{
    out[0] = cp;
    return 1;
}

/* One form for the letters that the print, Arabic and Urdu keyboards have in several. */
static uint32_t fold_arabic_letter(uint32_t cp)
{
    switch (cp) {
    case 0x0622:
    case 0x0623:
    case 0x0625:
    case 0x0671:
        return 0x0627;
    case 0x0624:
        return 0x0648;
    case 0x0626:
    case 0x0649:
    case 0x06CC:
    case 0x06D2:
        return 0x064A;
    case 0x0629:
    case 0x06BE:
    case 0x06C1:
    case 0x06C3:
    case 0x06D5:
        return 0x0647;
    case 0x06A9:
        return 0x0643;
    default:
        return cp;
    }
}

int text_fold(uint32_t cp, uint32_t out[2])
{
    if (cp >= 'a' && cp <= 'z')
        return put(out, cp);
    if (cp >= 'A' && cp <= 'Z')
        return put(out, cp | 0x20);
    if ((cp >= 0x0622 && cp <= 0x063A) || (cp >= 0x0641 && cp <= 0x064A) || cp == 0x0671)
        return put(out, fold_arabic_letter(cp));
    int digit = text_digit_value(cp);
    if (digit >= 0)
        return put(out, (uint32_t)('0' + digit));
    if (text_is_invisible(cp) || is_mark(cp) || is_inside_word(cp))
        return 0;
    if (parts_words(cp))
        return put(out, ' ');

    char latin = cp >= 0xC0 && cp < 0x180      ? latin_00c0[cp - 0xC0]
                 : cp >= 0x1E00 && cp < 0x1F00 ? latin_1e00[cp - 0x1E00]
                                               : '?';
    if (latin != '?')
        return put(out, (uint32_t)latin);
    if (cp >= 0x0410 && cp <= 0x042F) /* Cyrillic capitals */
        return put(out, cp + 0x20);
    if (cp >= 0x0621 && cp <= 0x06FF)
        return put(out, fold_arabic_letter(cp));
    for (size_t i = 0; i < sizeof special / sizeof special[0]; i++) {
        if (special[i].from != cp)
            continue;
        out[0] = special[i].to[0];
        out[1] = special[i].to[1];
        return out[1] == 0 ? 1 : 2;
    }
    return put(out, cp);
}
