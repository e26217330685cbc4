#include "print_marks.h"

#include <stdio.h>
#include <stdlib.h>

/* --- what the marks are called here -------------------------------------- */

enum {
    TATWEEL = 0x0640,
    THIN_SPACE = 0x2009,
    FATHA = 0x064E,
    DAMMA = 0x064F,
    KASRA = 0x0650,
    SHADDA = 0x0651,
    ROUND_ZERO = 0x0652,
    MADDAH = 0x0653,
    HAMZA_ABOVE = 0x0654,
    HAMZA_BELOW = 0x0655,
    DAGGER_ALIF = 0x0670,
    SMALL_SEEN = 0x06DC,
    LONG_ZERO = 0x06E0,
    SUKUN = 0x06E1,
    SMALL_MEEM = 0x06E2,
    SMALL_WAW = 0x06E5,
    SMALL_YEH = 0x06E6,
    SMALL_HIGH_YEH = 0x06E7,
    SMALL_LOW_MEEM = 0x06ED,
    ROUND_STOP = 0x06EC,
    IMALA_DOT = 0x065C
};

static const uint32_t CLOSED_TANWIN[] = {0x064B, 0x064C, 0x064D};
static const uint32_t OPEN_TANWIN[] = {0x0657, 0x065E, 0x0656};

static int has(const struct read_letter *x, uint32_t mark)
{
    return print_has(&x->l, mark);
}

static int has_any(const struct read_letter *x, const uint32_t marks[3])
{
    return has(x, marks[0]) || has(x, marks[1]) || has(x, marks[2]);
}

static int turned_tanwin(const struct read_letter *x)
{
    return (has(x, SMALL_MEEM) && (has(x, FATHA) || has(x, DAMMA))) || has(x, SMALL_LOW_MEEM);
}

static int has_tanwin(const struct read_letter *x)
{
    return has_any(x, CLOSED_TANWIN) || has_any(x, OPEN_TANWIN) || turned_tanwin(x);
}

static int has_vowel(const struct read_letter *x)
{
    return has(x, FATHA) || has(x, DAMMA) || has(x, KASRA) || has_tanwin(x) ||
           has(x, DAGGER_ALIF) || has(x, IMALA_DOT);
}

static int has_zero(const struct read_letter *x)
{
    return has(x, ROUND_ZERO) || has(x, LONG_ZERO);
}

static int is_hamza(const struct read_letter *x)
{
    switch (x->l.base) {
    case 0x0621:
    case 0x0623:
    case 0x0624:
    case 0x0625:
    case 0x0626:
        return 1;
    default:
        return has(x, HAMZA_ABOVE) || has(x, HAMZA_BELOW);
    }
}

static int is_throat(const struct read_letter *x)
{
    switch (x->l.base) {
    case 0x0647: /* هـ */
    case 0x0639: /* ع */
    case 0x062D: /* ح */
    case 0x063A: /* غ */
    case 0x062E: /* خ */
        return 1;
    default:
        return is_hamza(x);
    }
}

static int same(const struct read_letter *x, const struct read_letter *y, uint32_t a, uint32_t b)
{
    return x->l.base == a && y->l.base == b;
}

/* --- the letters on the way ---------------------------------------------- */

struct reader {
    struct print_reading *r;
    int letter_cap, site_cap, failed;
};

static void add_verse(struct reader *in, const char *text, int sura, int verse)
{
    static struct print_letter letters[VERSE_LETTERS_MAX];
    uint32_t lead;
    int count = print_letters(text, letters, &lead);
    struct print_reading *r = in->r;
    if (count < 0) {
        fprintf(stderr, "%d:%d cannot be split into letters\n", sura, verse);
        in->failed = 1;
        return;
    }
    if (r->letter_count + count > in->letter_cap) {
        in->letter_cap = in->letter_cap * 2 + count;
        void *grown = realloc(r->letters, (size_t)in->letter_cap * sizeof *r->letters);
        if (grown == NULL) {
            in->failed = 1;
            return;
        }
        r->letters = grown;
    }
    for (int i = 0; i < count; i++) {
        int ends_word = i + 1 == count || letters[i + 1].word != letters[i].word;
        r->letters[r->letter_count++] = (struct read_letter){.sura = sura,
                                                             .verse = verse,
                                                             .l = letters[i],
                                                             .word_idx = r->word_count,
                                                             .ends_word = ends_word};
        r->word_count += ends_word;
    }
}

/* A spelled opening: a word of bare letters, save maddahs. */
static void find_openings(struct print_reading *r)
{
    for (int first = 0, end; first < r->letter_count; first = end) {
        int bare = 1;
        for (end = first; end == first || !r->letters[end - 1].ends_word; end++)
            for (int m = 0; m < r->letters[end].l.mark_count; m++) {
                uint32_t cp = r->letters[end].l.marks[m];
                bare &= cp == MADDAH || (cp >= 0x06D6 && cp <= 0x06DB);
            }
        for (int i = first; i < end; i++)
            r->letters[i].opening = bare;
    }
}

/* --- what a mark says ----------------------------------------------------- */

static void say(struct reader *in, enum mst_rule rule, int trigger, int host, int nasal,
                int complete)
{
    struct print_reading *r = in->r;
    if (r->site_count == in->site_cap) {
        in->site_cap = in->site_cap * 2 + 1024;
        void *grown = realloc(r->sites, (size_t)in->site_cap * sizeof *r->sites);
        if (grown == NULL) {
            in->failed = 1;
            return;
        }
        r->sites = grown;
    }
    r->sites[r->site_count++] = (struct print_site){rule, trigger, host, nasal, complete};
    r->letters[trigger].tanwin_kasra |= rule == MST_RULE_TANWIN_KASRA;
    if (host != HOST_UNSAID && nasal == 1 && complete == 1)
        r->letters[host].holds_merged = 1;
}

static void puzzled(struct reader *in, int at, const char *what)
{
    const struct read_letter *x = &in->r->letters[at];
    fprintf(stderr, "%d:%d:%d:%d: %s\n", x->sura, x->verse, x->l.word, x->l.number, what);
    in->r->unread++;
}

/* The next letter that is sounded: zeros are skipped, and the seat of a tanwīn of fatḥa. */
static int next_sounded(const struct print_reading *r, int at)
{
    int next = at + 1;
    if (has_tanwin(&r->letters[at]))
        while (next < r->letter_count && !r->letters[next - 1].ends_word)
            next++;
    while (next < r->letter_count && has_zero(&r->letters[next]))
        next++;
    return next < r->letter_count ? next : -1;
}

/* A nūn without vowel, or a tanwīn, whose mark shows no clear reading. */
static void say_assimilated(struct reader *in, int at, int host)
{
    const struct read_letter *y = &in->r->letters[host];
    int shadda = has(y, SHADDA);
    switch (y->l.base) {
    case 0x0646: /* ن */
    case 0x0645: /* م */
        if (!shadda)
            puzzled(in, host, "no shadda after a merged nūn");
        say(in, MST_RULE_IDGHAM_GHUNNA, at, host, 1, 1);
        return;
    case 0x0644: /* ل */
    case 0x0631: /* ر */
        if (!shadda)
            puzzled(in, host, "no shadda after a merged nūn");
        say(in, MST_RULE_IDGHAM_BILA_GHUNNA, at, host, 0, 1);
        return;
    case 0x0648: /* و */
    case 0x064A: /* ي */
        say(in, MST_RULE_IDGHAM_GHUNNA, at, host, 1, 0);
        break;
    default:
        say(in, MST_RULE_IKHFA, at, host, 1, -1);
        break;
    }
    if (shadda)
        puzzled(in, host, "shadda after a nūn that is not wholly merged");
}

static void read_nun(struct reader *in, int at)
{
    const struct read_letter *x = &in->r->letters[at];
    int host = next_sounded(in->r, at);
    if (host < 0)
        return;
    const struct read_letter *y = &in->r->letters[host];
    if (has(x, SMALL_MEEM))
        say(in, MST_RULE_IQLAB, at, host, 1, -1);
    else if (!has(x, SUKUN))
        say_assimilated(in, at, host);
    else if (has(x, SMALL_SEEN))
        say(in, MST_RULE_SAKT, at, HOST_UNSAID, 0, -1);
    else if (is_throat(y))
        say(in, MST_RULE_IZHAR_HALQI, at, host, 0, -1);
    else
        say(in, MST_RULE_IZHAR_MUTLAQ, at, host, 0, -1);
}

static void read_tanwin(struct reader *in, int at)
{
    const struct read_letter *x = &in->r->letters[at];
    int host = next_sounded(in->r, at);
    if (host < 0)
        return;
    const struct read_letter *y = &in->r->letters[host];
    if (turned_tanwin(x))
        say(in, MST_RULE_IQLAB, at, host, 1, -1);
    else if (has_any(x, OPEN_TANWIN))
        say_assimilated(in, at, host);
    else if (y->l.base == 0x0671)
        say(in, MST_RULE_TANWIN_KASRA, at, HOST_UNSAID, 0, -1);
    else if (is_throat(y))
        say(in, MST_RULE_IZHAR_HALQI, at, host, 0, -1);
    else
        puzzled(in, at, "closed tanwīn before a letter that is not of the throat");
}

static void read_mim(struct reader *in, int at)
{
    const struct read_letter *x = &in->r->letters[at];
    int host = next_sounded(in->r, at);
    if (host < 0)
        return;
    const struct read_letter *y = &in->r->letters[host];
    if (has(x, SUKUN))
        say(in, MST_RULE_IZHAR_SHAFAWI, at, host, 0, -1);
    else if (y->l.base == 0x0645 && has(y, SHADDA))
        say(in, MST_RULE_IDGHAM_SHAFAWI, at, host, 1, 1);
    else if (y->l.base == 0x0628)
        say(in, MST_RULE_IKHFA_SHAFAWI, at, host, 1, -1);
    else
        puzzled(in, at, "bare mīm before a letter that is neither mīm nor bāʾ");
}

/* The lām of the article: after a joining alif, after the lām or the question hamza that opens
 * the word; a verb's lām is told by its sukūn before tāʾ. */
enum article { NOT_ARTICLE, ARTICLE, ARTICLE_ONE_LETTER };
static enum article article_lam(const struct print_reading *r, int at)
{
    const struct read_letter *x = &r->letters[at];
    if (x->l.base != 0x0644 || x->l.number == 1)
        return NOT_ARTICLE;
    const struct read_letter *p = x - 1; /* in the same word: number > 1 */
    int lam_before =
        p->l.base == 0x0644 && (has(p, KASRA) || has(p, FATHA)) && !has(p, DAGGER_ALIF);
    if (lam_before && p->l.number > 1) {
        const struct read_letter *q = p - 1;
        lam_before =
            p->l.number == 2 && (q->l.base == 0x0648 || q->l.base == 0x0641) && has(q, FATHA);
    }
    int question = p->l.base == 0x0627 && has(p, MADDAH) && p->l.number == 2 && is_hamza(p - 1);
    if (p->l.base != 0x0671 && !lam_before && !question)
        return NOT_ARTICLE;
    if (has(x, SHADDA))
        return ARTICLE_ONE_LETTER;
    if (has_vowel(x))
        return NOT_ARTICLE;
    if (has(x, SUKUN) && x[1].l.base == 0x062A)
        return NOT_ARTICLE;
    return ARTICLE;
}

static int read_article(struct reader *in, int at)
{
    const struct read_letter *x = &in->r->letters[at];
    switch (article_lam(in->r, at)) {
    case ARTICLE_ONE_LETTER:
        say(in, MST_RULE_LAM_SHAMSIYYA, at, at, 0, 1);
        return 1;
    case ARTICLE:
        if (has(x, SUKUN)) {
            say(in, MST_RULE_LAM_QAMARIYYA, at, at + 1, 0, -1);
        } else if (has(x + 1, SHADDA)) {
            say(in, MST_RULE_LAM_SHAMSIYYA, at, at + 1, 0, 1);
        } else {
            puzzled(in, at, "article lām neither clear nor merged");
        }
        return 1;
    case NOT_ARTICLE:
        break;
    }
    return 0;
}

/* Any other letter left bare: it merges into the next one that sounds. The bāʾ of the basmala
 * bears no shadda, since the print has it once only. */
static void read_bare(struct reader *in, int at)
{
    static const struct {
        uint32_t from, to;
    } KIN[] = {{0x062F, 0x062A}, {0x062A, 0x062F}, {0x062A, 0x0637},
               {0x0630, 0x0638}, {0x062B, 0x0630}, {0x0628, 0x0645}},
      NEIGHBOURS[] = {{0x0642, 0x0643}, {0x0644, 0x0631}};
    int host = next_sounded(in->r, at);
    if (host < 0)
        return;
    const struct read_letter *x = &in->r->letters[at], *y = &in->r->letters[host];
    if (same(x, y, 0x0637, 0x062A)) {
        say(in, MST_RULE_IDGHAM_MUTAJANISAYN, at, host, 0, 0);
        if (has(y, SHADDA))
            puzzled(in, host, "shadda after a partial merging");
        return;
    }
    if (!has(y, SHADDA) && !(y->verse == 0 && y->l.base == x->l.base)) {
        puzzled(in, at, "bare letter that does not merge");
        return;
    }
    if (x->l.base == y->l.base) {
        say(in, MST_RULE_IDGHAM_MITHLAYN, at, host, 0, 1);
        return;
    }
    for (size_t i = 0; i < sizeof KIN / sizeof KIN[0]; i++)
        if (same(x, y, KIN[i].from, KIN[i].to)) {
            say(in, MST_RULE_IDGHAM_MUTAJANISAYN, at, host, y->l.base == 0x0645, 1);
            return;
        }
    for (size_t i = 0; i < sizeof NEIGHBOURS / sizeof NEIGHBOURS[0]; i++)
        if (same(x, y, NEIGHBOURS[i].from, NEIGHBOURS[i].to)) {
            say(in, MST_RULE_IDGHAM_MUTAQARIBAYN, at, host, 0, 1);
            return;
        }
    puzzled(in, at, "bare letter merging into one that is not its kin");
}

/* وْ and يْ without a mark lengthen after their own vowel; after fatḥa they merge. */
static int is_lengthening(const struct print_reading *r, int at)
{
    const struct read_letter *x = &r->letters[at];
    switch (x->l.base) {
    case 0x0627:
    case 0x0649:
    case 0x0671:
        return 1;
    case 0x0648:
    case 0x064A:
        for (int p = at - 1; p >= 0 && !r->letters[p].ends_word; p--)
            if (!has_zero(&r->letters[p]))
                return !has(&r->letters[p], FATHA);
        return 1;
    default:
        return 0;
    }
}

/* --- maddah, zeros, words of their own ------------------------------------ */

/* يَـٰٓ and هَـٰٓ written onto the word after them: dagger alif with maddah on the first
 * consonant (after و, ف or the question hamza). */
static int joined_particle(const struct print_reading *r, int at)
{
    const struct read_letter *x = &r->letters[at];
    if ((x->l.base != 0x064A && x->l.base != 0x0647) || !has(x, DAGGER_ALIF))
        return 0;
    if (x->l.number == 1)
        return 1;
    const struct read_letter *p = x - 1;
    return x->l.number == 2 && (p->l.base == 0x0648 || p->l.base == 0x0641 || p->l.base == 0x0623);
}

static void read_maddah(struct reader *in, int at)
{
    const struct print_reading *r = in->r;
    const struct read_letter *x = &r->letters[at];
    if (x->opening) {
        say(in, MST_RULE_MADD_LAZIM_LETTER, at, HOST_UNSAID, 0, -1);
        return;
    }
    int next = next_sounded(r, at);
    if (next < 0) {
        puzzled(in, at, "maddah at the very end");
        return;
    }
    const struct read_letter *y = &r->letters[next];
    int ends_word = y->word_idx != x->word_idx;
    if (!ends_word && is_hamza(y) && joined_particle(r, at)) {
        say(in, MST_RULE_MADD_MUNFASIL, at, next, 0, -1);
    } else if (!ends_word && is_hamza(y)) {
        say(in, MST_RULE_MADD_MUTTASIL, at, next, 0, -1);
    } else if (!ends_word && (has(y, SHADDA) || has(y, SUKUN) || !has_vowel(y))) {
        /* the letter that holds: a bare lām has merged into the one after it */
        int bare = !has(y, SHADDA) && !has(y, SUKUN);
        say(in, MST_RULE_MADD_LAZIM_WORD, at, next + bare, 0, -1);
    } else if (ends_word && is_hamza(y)) {
        int pronoun = x->l.base == 0x0647 && (has(x, SMALL_WAW) || has(x, SMALL_YEH));
        say(in, pronoun ? MST_RULE_MADD_SILA_KUBRA : MST_RULE_MADD_MUNFASIL, at, next, 0, -1);
    } else {
        puzzled(in, at, "maddah before neither hamza nor a vowelless letter");
    }
}

/* The long ā of the Name and of ٱللَّهُمَّ, which the print does not write: on the second lām. */
static int unwritten_alif(const struct print_reading *r, int at)
{
    const struct read_letter *x = &r->letters[at];
    if (x->l.base != 0x0644 || x->ends_word || x->l.number == 1)
        return 0;
    const struct read_letter *p = x - 1, *y = x + 1;
    return p->l.base == 0x0644 && y->l.base == 0x0647 && has(x, SHADDA) && has(x, FATHA) &&
           (y->ends_word || y[1].l.base == 0x0645);
}

/*
 * A lengthening of whatever kind: a dagger alif, a small wāw or yāʾ without a vowel, or a bare
 * alif, wāw or yāʾ after its own vowel. The seat of a tanwīn is none, nor is the alif that a
 * tanwīn's stop would sound. Where two stand for one sound (ىٰ, وٰ) it is the letter that bears
 * the dagger.
 */
static int lengthens(const struct print_reading *r, int at)
{
    const struct read_letter *x = &r->letters[at];
    if (has_zero(x) || has(x, ROUND_STOP) || x->l.base == THIN_SPACE)
        return 0; /* silent; the eased hamza of 41:44; the hamza of 2:72, whose seat is a dagger */
    if (has(x, DAGGER_ALIF) || has(x, SMALL_WAW) || has(x, MADDAH) || unwritten_alif(r, at))
        return 1;
    for (int m = 0; m < x->l.mark_count; m++) {
        int vowelled = m + 1 < x->l.mark_count && x->l.marks[m + 1] == FATHA;
        if (x->l.marks[m] == SMALL_YEH && !vowelled)
            return 1;
        if (x->l.marks[m] == SMALL_HIGH_YEH && x->l.base != TATWEEL)
            return 1;
    }
    if (has_vowel(x) || has(x, SUKUN) || has(x, SHADDA))
        return 0;
    int before = at - 1;
    while (before >= 0 && !r->letters[before].ends_word && has_zero(&r->letters[before]))
        before--;
    if (before < 0 || r->letters[before].ends_word)
        return 0;
    const struct read_letter *p = &r->letters[before];
    switch (x->l.base) {
    case 0x0627:
    case 0x0649:
        return has(p, FATHA) && !has_tanwin(p);
    case 0x0648:
        return has(p, DAMMA) && !has_tanwin(p);
    case 0x064A:
        return has(p, KASRA) && !has_tanwin(p);
    default:
        return 0;
    }
}

static void read_own(struct reader *in, int at)
{
    const struct read_letter *x = &in->r->letters[at];
    if (has(x, IMALA_DOT))
        say(in, MST_RULE_IMALA, at, HOST_UNSAID, 0, -1);
    if (has(x, ROUND_STOP)) { /* on a hamza: eased; before a nūn: the nūn's rounding */
        if (is_hamza(x) || x->l.base == 0x0627)
            say(in, MST_RULE_TASHIL, at, HOST_UNSAID, 0, -1);
        else
            say(in, MST_RULE_ISHMAM, at + 1, HOST_UNSAID, 0, -1);
    }
    if (has(x, SMALL_SEEN) && x->l.base == 0x0635)
        say(in, MST_RULE_SAD_SIN, at, HOST_UNSAID, 0, -1);
    if (has(x, SMALL_SEEN) && x->l.base != 0x0635 && x->l.base != 0x0646)
        say(in, MST_RULE_SAKT, at, HOST_UNSAID, 0, -1);
}

static int is_echo_letter(uint32_t base)
{
    return base == 0x0642 || base == 0x0637 || base == 0x0628 || base == 0x062C || base == 0x062F;
}

static void read_letter(struct reader *in, int at)
{
    struct print_reading *r = in->r;
    const struct read_letter *x = &r->letters[at];
    uint32_t base = x->l.base;
    r->letters[at].lengthens = lengthens(r, at);
    if (has(x, MADDAH) && base != 0x0623)
        read_maddah(in, at);
    read_own(in, at);
    if (x->opening)
        return;

    if (has(x, ROUND_ZERO))
        say(in, MST_RULE_SIFR_MUSTADIR, at, HOST_UNSAID, 0, -1);
    if (has(x, LONG_ZERO))
        say(in, MST_RULE_SIFR_MUSTATIL, at, HOST_UNSAID, 0, -1);
    if (base == 0x0671)
        say(in, MST_RULE_HAMZAT_WASL, at, HOST_UNSAID, 0, -1);
    if (has_zero(x) || base == 0x0671)
        return;

    if ((base == 0x0646 || base == 0x0645) && has(x, SHADDA) && !x->holds_merged)
        say(in, MST_RULE_GHUNNA, at, HOST_UNSAID, 1, -1);
    if (is_echo_letter(base) && has(x, SUKUN))
        say(in, MST_RULE_QALQALA, at, HOST_UNSAID, 0, -1);
    if (has_tanwin(x)) {
        read_tanwin(in, at);
        return;
    }
    if (read_article(in, at))
        return;
    if (has_vowel(x) || has(x, SHADDA) || has(x, MADDAH))
        return;
    int small_nun = base == TATWEEL && has(x, 0x06E8);
    if (base == 0x0646 || small_nun)
        read_nun(in, at);
    else if (base == 0x0645)
        read_mim(in, at);
    else if (!has(x, SUKUN) && !is_lengthening(r, at))
        read_bare(in, at);
}

/* --- the whole ------------------------------------------------------------ */

struct print_reading *print_reading_new(const struct edition *first)
{
    struct reader in = {.r = calloc(1, sizeof *in.r)};
    if (in.r == NULL)
        return NULL;
    for (int i = 0; i < EDITION_VERSES && !in.failed; i++) {
        const struct edition_verse *v = &first->verses[i];
        if (v->verse == 1 && v->sura != 1 && v->sura != 9)
            add_verse(&in, first->verses[0].text, v->sura, 0);
        add_verse(&in, v->text, v->sura, v->verse);
    }
    if (!in.failed) {
        find_openings(in.r);
        for (int i = 0; i < in.r->letter_count && !in.failed; i++)
            read_letter(&in, i);
    }
    if (in.failed) {
        print_reading_free(in.r);
        return NULL;
    }
    return in.r;
}

void print_reading_free(struct print_reading *reading)
{
    if (reading == NULL)
        return;
    free(reading->letters);
    free(reading->sites);
    free(reading);
}

int print_decides(enum mst_rule rule)
{
    switch (rule) {
    case MST_RULE_IZHAR_HALQI:
    case MST_RULE_IDGHAM_GHUNNA:
    case MST_RULE_IDGHAM_BILA_GHUNNA:
    case MST_RULE_IQLAB:
    case MST_RULE_IKHFA:
    case MST_RULE_IZHAR_MUTLAQ:
    case MST_RULE_TANWIN_KASRA:
    case MST_RULE_IKHFA_SHAFAWI:
    case MST_RULE_IDGHAM_SHAFAWI:
    case MST_RULE_IZHAR_SHAFAWI:
    case MST_RULE_GHUNNA:
    case MST_RULE_IDGHAM_MITHLAYN:
    case MST_RULE_IDGHAM_MUTAJANISAYN:
    case MST_RULE_IDGHAM_MUTAQARIBAYN:
    case MST_RULE_LAM_SHAMSIYYA:
    case MST_RULE_LAM_QAMARIYYA:
    case MST_RULE_QALQALA:
    case MST_RULE_MADD_SILA_KUBRA:
    case MST_RULE_MADD_MUTTASIL:
    case MST_RULE_MADD_MUNFASIL:
    case MST_RULE_MADD_LAZIM_WORD:
    case MST_RULE_MADD_LAZIM_LETTER:
    case MST_RULE_HAMZAT_WASL:
    case MST_RULE_SIFR_MUSTADIR:
    case MST_RULE_SIFR_MUSTATIL:
    case MST_RULE_SAKT:
    case MST_RULE_IMALA:
    case MST_RULE_TASHIL:
    case MST_RULE_ISHMAM:
    case MST_RULE_SAD_SIN:
        return 1;
    default:
        return 0;
    }
}
