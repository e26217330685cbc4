/*
 * Arabic as the search sees it: letters with their vowels, and a note of what
 * one spelling writes and another leaves out.  The print spells as the early
 * copies did (alif often small or absent, wāw for alif, hamza on a stroke);
 * keyboards spell as schools do.  Both become the same symbols here.
 *
 * The correspondences are those between the Uthmani and the everyday
 * spelling; common practice, no source.
 */
#include "text_private.h"

enum {
    HAMZA = 0x0621,
    ALIF = 0x0627,
    TATWEEL = 0x0640,
    LAM = 0x0644,
    WAW = 0x0648,
    YEH = 0x064A,
    NOON = 0x0646,
    DAGGER_ALIF = 0x0670,
    THIN_SPACE = 0x2009, /* a seat for signs in 2:72, no gap between words */
};

/* The vowels: closed and open tanwīn of the print are the keyboard's one tanwīn. */
static uint8_t vowel_marks(uint32_t cp)
{
    switch (cp) {
    case 0x064E:
        return MARK_FATHA;
    case 0x064F:
        return MARK_DAMMA;
    case 0x0650:
        return MARK_KASRA;
    case 0x064B:
    case 0x0657:
    case 0x08F0:
        return MARK_FATHA | MARK_TANWIN;
    case 0x064C:
    case 0x065E:
    case 0x08F1:
        return MARK_DAMMA | MARK_TANWIN;
    case 0x064D:
    case 0x0656:
    case 0x08F2:
        return MARK_KASRA | MARK_TANWIN;
    case 0x0651:
        return MARK_SHADDA;
    case 0x06E1:
        return MARK_SUKUN;
    default:
        return 0;
    }
}

/* Signs that are letters of the everyday spelling; 0 for all others. */
static uint16_t small_letter(uint32_t cp)
{
    switch (cp) {
    case DAGGER_ALIF:
        return ALIF;
    case 0x06E5:
        return WAW;
    case 0x06E6:
    case 0x06E7:
        return YEH;
    case 0x06E8:
        return NOON;
    default:
        return 0;
    }
}

static int bears_hamza(uint32_t cp)
{
    return cp == 0x0622 || cp == 0x0623 || cp == 0x0625 || cp == 0x0624 || cp == 0x0626;
}

/* A list under construction. */
struct symbols {
    struct symbol *out;
    size_t count, max;
    int printed;
    int seat; /* the last character was a stroke that only carries a sign … */
    size_t seat_off;
};

static struct symbol *add(struct symbols *list, size_t byte_off, uint16_t letter)
{
    if (list->count == list->max)
        return NULL;
    struct symbol *symbol = &list->out[list->count++];
    *symbol = (struct symbol){.byte_off = (uint32_t)byte_off, .letter = letter};
    return symbol;
}

static int last_is(const struct symbols *list, uint16_t letter)
{
    return list->count > 0 && list->out[list->count - 1].letter == letter;
}

/* The letter that a sign belongs to; NULL at the head of a word. */
static struct symbol *bearer(const struct symbols *list)
{
    for (size_t i = list->count; i > 0 && list->out[i - 1].letter != ' '; i--)
        if (!list->out[i - 1].sign)
            return &list->out[i - 1];
    return NULL;
}

static int may_be_silent(const struct symbols *list, uint16_t letter)
{
    return letter == ALIF || (list->printed && (letter == WAW || letter == YEH));
}

/* The article's lām before lām is written once (ٱلَّيۡل) and typed twice: a doubled lām is preceded
 * by one that may be missing. */
static void double_lam(struct symbols *list, struct symbol *lam)
{
    if (list->count == list->max || lam != &list->out[list->count - 1])
        return;
    list->out[list->count++] = *lam;
    *lam = (struct symbol){.byte_off = lam->byte_off, .letter = LAM, .optional = 1};
}

static void add_mark(struct symbols *list, struct symbol *letter, uint8_t marks)
{
    /* A tanwīn typed on its alif belongs to the letter before it. */
    if (marks == (MARK_FATHA | MARK_TANWIN) && letter->letter == ALIF && !letter->hamza &&
        letter > list->out && letter[-1].letter != ' ')
        letter--;
    letter->marks |= marks;
    if (marks == MARK_SHADDA && letter->letter == LAM)
        double_lam(list, letter);
}

static void add_sign(struct symbols *list, size_t byte_off, uint32_t cp)
{
    struct symbol *letter = bearer(list), *added;
    uint8_t marks = vowel_marks(cp);
    uint16_t small = small_letter(cp);

    if (small != 0) {
        /* A wāw or yāʾ bearing the small alif is that alif in everyday spelling (ٱلصَّلَوٰة). */
        if (cp == DAGGER_ALIF && !list->seat && letter != NULL && letter->marks == 0 &&
            (letter->letter == WAW || letter->letter == YEH))
            letter->other = ALIF;
        if ((added = add(list, byte_off, small)) != NULL)
            added->optional = added->sign = 1;
    } else if (cp == 0x0654 || cp == 0x0655) {
        if (!list->seat && letter != NULL)
            letter->hamza = 1;
        else if ((added = add(list, list->seat ? list->seat_off : byte_off, 0)) != NULL)
            added->optional = added->hamza = 1;
    } else if (letter == NULL) {
        return;
    } else if (cp == 0x06E2 || cp == 0x06ED) {
        /* The small mīm after a vowel is the tanwīn's second stroke; on a bare nūn it is none. */
        if (letter->marks & (MARK_FATHA | MARK_DAMMA | MARK_KASRA))
            letter->marks |= MARK_TANWIN;
    } else if (cp == 0x06E0 || cp == 0x0652) {
        letter->marks |= MARK_SUKUN;
        if (may_be_silent(list, letter->letter))
            letter->optional = 1;
    } else if (marks != 0) {
        add_mark(list, letter, marks);
    }
}

static int is_sign(uint32_t cp)
{
    return (cp >= 0x0610 && cp <= 0x061A) || (cp >= 0x064B && cp <= 0x065F) || cp == DAGGER_ALIF ||
           (cp >= 0x06D6 && cp <= 0x06ED) || (cp >= 0x08D3 && cp <= 0x08FF);
}

size_t text_symbols(struct mst_span s, int printed, struct symbol *out, size_t max)
{
    struct symbols list = {.out = out, .max = max, .printed = printed};
    for (size_t off = 0; off < s.len;) {
        size_t start = off;
        uint32_t cp = mst_utf8_next(s.ptr, s.len, &off), folded[2];
        if ((cp > 0x06FF || cp == 0x061C) && text_is_invisible(cp))
            continue;
        if (cp == TATWEEL || cp == THIN_SPACE) {
            list.seat = 1;
            list.seat_off = start;
            continue;
        }
        if (is_sign(cp)) {
            add_sign(&list, start, cp);
            continue;
        }
        list.seat = 0;
        if (cp == HAMZA) {
            struct symbol *hamza = add(&list, start, 0);
            if (hamza != NULL)
                hamza->optional = hamza->hamza = 1;
        } else if (text_fold(cp, folded) == 1 && folded[0] <= 0xFFFF) {
            int gap = folded[0] == ' ';
            struct symbol *letter = NULL;
            if (!gap || (list.count > 0 && !last_is(&list, ' ')))
                letter = add(&list, start, (uint16_t)folded[0]);
            if (letter != NULL)
                letter->hamza = (uint8_t)bears_hamza(cp);
        }
    }
    while (last_is(&list, ' '))
        list.count--;
    return list.count;
}
