/*
 * cut.c – where a phrase may begin and end. Verse ends and the printed signs
 * are certain; inside a clause it is a heuristic on the letters, kept on the
 * side of not cutting, and no substitute for a teacher who knows the sense.
 * The lists are common grammar, written from memory.
 */
#include "parts.h"

#include <string.h>

enum {
    ALIF = 0x627,
    ALIF_WASLA = 0x671,
    WAW = 0x648,
    FA = 0x641,
    LAM = 0x644,
    YA = 0x64A,
    TA = 0x62A,
    NUN = 0x646,
    HAMZA_OVER_ALIF = 0x623,
    HAMZA_UNDER_ALIF = 0x625,
    FATHA = 0x64E,
    KASRA = 0x650,
    SHADDA = 0x651,
    BASES_MAX = 24
};

/* Words that lean on what comes after them: prepositions, particles, relatives, demonstratives,
 * words that are almost always followed by a genitive, verbs of saying. Letters alone, every alif
 * plain, ى as ي. */
static const char *const leaning[] = {
    "من",     "في",   "عن",   "علي",   "الي",   "مع",    "حتي",  "منذ",   "لدي",   "لدن",   "ان",
    "انا",    "ما",   "لا",   "لم",    "لن",    "لما",   "لو",   "لولا",  "لان",   "قد",    "لقد",
    "هل",     "بل",   "ثم",   "او",    "ام",    "اذا",   "اذ",   "كي",    "ليس",   "كان",   "كانوا",
    "كانت",   "كنتم", "كنا",  "كنت",   "يكن",   "يكون",  "تكن",  "الذي",  "التي",  "الذين", "الا",
    "غير",    "كل",   "بعض",  "بين",   "قبل",   "بعد",   "عند",  "تحت",   "فوق",   "دون",   "مثل",
    "ذي",     "ذو",   "ذا",   "ذات",   "اولوا", "اولي",  "سوف",  "لعل",   "ليت",   "لكن",   "اما",
    "هذا",    "هذه",  "ذلك",  "تلك",   "هؤلا",  "اولئك", "مما",  "عما",   "ممن",   "فيما",  "بما",
    "كما",    "لمن",  "بمن",  "يايها", "ايها",  "يا",    "قل",   "قال",   "قالوا", "قالت",  "يقول",
    "يقولون", "قيل",  "بني",  "ابن",   "اهل",   "يوم",   "رب",   "سبحان", "اي",    "اين",   "كيف",
    "كم",     "الم",  "افلا", "اولم",  "افلم",  "كلما",  "حيث",  "لئن",   "انما",  "كانما", "كان",
    "هو",     "هي",   "هم",   "نحن",   "انت",   "انتم",  "اصحب", "ال",    "لكل",   "بكل",
};

/* Words that open a clause of their own. */
static const char *const opening[] = {"ثم", "بل", "كلا"};
/* What follows a joining wāw where it opens a clause. */
static const char *const after_waw[] = {"هو",  "هي",  "هم",  "لا",    "ما",  "من", "ان",  "قد",
                                        "لقد", "لكن", "اذا", "اذ",    "لو",  "لم", "لن",  "انه",
                                        "انا", "كان", "قال", "قالوا", "ليس", "كم", "لئن", "لما"};

/* A word's letters, each of them two bytes long, as the lists have them. */
struct bases {
    uint32_t cp[BASES_MAX];
    int count;
    char utf8[2 * BASES_MAX + 1];
};

static struct bases bases_of(const struct mst_reading *r, const struct mst_word *word)
{
    struct bases b = {.count = 0};
    for (int32_t n = 0; n < word->letter_count && b.count < BASES_MAX; n++) {
        uint32_t cp = r->letters[word->first_letter + n].base;
        if (cp == 0x622 || cp == HAMZA_OVER_ALIF || cp == HAMZA_UNDER_ALIF || cp == ALIF_WASLA)
            cp = ALIF;
        cp = cp == 0x649 ? YA : cp;
        b.utf8[2 * b.count] = (char)(0xC0 | cp >> 6);
        b.utf8[2 * b.count + 1] = (char)(0x80 | (cp & 0x3F));
        b.cp[b.count++] = cp;
    }
    b.utf8[2 * b.count] = '\0';
    return b;
}

static int in_list(const struct bases *b, int from, const char *const *list, size_t count)
{
    for (size_t n = 0; n < count; n++)
        if (strcmp(b->utf8 + 2 * from, list[n]) == 0)
            return 1;
    return 0;
}
#define IN(b, from, list) in_list(b, from, list, sizeof(list) / sizeof *(list))

/* Does this letter bear one of the marks? */
static int bears(const struct mst_reading *r, int32_t letter, const uint32_t *marks, size_t count)
{
    const struct mst_letter *l = &r->letters[letter];
    const struct mst_word *w = &r->words[l->word_idx];
    struct mst_span verse = mst_reading_verse(r, w->sura, w->verse);
    for (size_t at = (size_t)l->byte_off; at < (size_t)(l->byte_off + l->byte_len);) {
        uint32_t cp = mst_utf8_next(verse.ptr, verse.len, &at);
        for (size_t n = 0; n < count; n++)
            if (cp == marks[n])
                return 1;
    }
    return 0;
}

static int bears_one(const struct mst_reading *r, int32_t letter, uint32_t mark)
{
    return bears(r, letter, &mark, 1);
}

/* A fatḥa tanwīn stands on the letter before its alif. */
static int has_tanwin(const struct mst_reading *r, const struct mst_word *w)
{
    static const uint32_t marks[] = {0x64B, 0x64C, 0x64D, 0x656, 0x657, 0x65E, 0x6E2, 0x6ED};
    int32_t last = w->first_letter + w->letter_count - 1;
    return bears(r, last, marks, sizeof marks / sizeof *marks) ||
           (w->letter_count > 1 && bears(r, last - 1, marks, sizeof marks / sizeof *marks) &&
            (r->letters[last].base == ALIF || r->letters[last].base == 0x649));
}

static int ends_in_kasra(const struct mst_reading *r, const struct mst_word *w)
{
    static const uint32_t marks[] = {KASRA, 0x64D, 0x656, 0x6ED};
    return bears(r, w->first_letter + w->letter_count - 1, marks, sizeof marks / sizeof *marks);
}

static int has_article(const struct mst_reading *r, const struct mst_word *w)
{
    return w->letter_count > 2 && r->letters[w->first_letter].base == ALIF_WASLA &&
           r->letters[w->first_letter + 1].base == LAM;
}

/* Also with a wāw, fāʾ, bāʾ, kāf or lām before it: وَمِن, فَلَا, لِلَّذِينَ. */
static int leans(const struct bases *b)
{
    static const uint32_t prefixes[] = {WAW, FA, 0x628, 0x643, LAM};
    if (IN(b, 0, leaning))
        return 1;
    for (size_t n = 0; n < sizeof prefixes / sizeof *prefixes; n++)
        if (b->count > 2 && b->cp[0] == prefixes[n] && IN(b, 1, leaning))
            return 1;
    return 0;
}

static int opens_clause(const struct mst_reading *r, const struct mst_word *w,
                        const struct bases *b)
{
    if (IN(b, 0, opening))
        return 1;
    if (r->letters[w->first_letter].base == HAMZA_UNDER_ALIF && b->count > 1 && b->cp[1] == NUN &&
        bears_one(r, w->first_letter + 1, SHADDA))
        return 1; /* إِنَّ and its kin */
    if (b->cp[0] != WAW || b->count < 3 || !bears_one(r, w->first_letter, FATHA))
        return 0;
    if (IN(b, 1, after_waw))
        return 1;
    /* A verb: of what begins with the letters of the present tense or with a joining hamza that is
     * no article, a noun would mostly show by its ending. */
    if (has_tanwin(r, w) || ends_in_kasra(r, w) || b->count < 4)
        return 0;
    uint32_t second = r->letters[w->first_letter + 1].base;
    return second == YA || second == TA || second == NUN || second == HAMZA_OVER_ALIF ||
           (second == ALIF_WASLA && b->cp[2] != LAM);
}

/* Is the seam between two words of a clause one where neither visibly leans on the other? */
static int seam_is_loose(const struct mst_reading *r, const struct mst_word *left,
                         const struct mst_word *right, const struct bases *right_bases)
{
    int left_article = has_article(r, left), right_article = has_article(r, right);
    if (ends_in_kasra(r, right) || right_article || IN(right_bases, 0, leaning))
        return 0;
    if (left_article && right_article)
        return 0;
    return !(has_tanwin(r, left) && has_tanwin(r, right));
}

static enum mst_cut inside(const struct mst_reading *r, int32_t left_word)
{
    const struct mst_word *left = &r->words[left_word], *right = left + 1;
    switch (left->pause_sign) {
    case MST_PAUSE_MUST:
    case MST_PAUSE_BETTER:
    case MST_PAUSE_EITHER:
        return MST_CUT_SIGN;
    case MST_PAUSE_GO_ON:
    case MST_PAUSE_EMBRACING:
        return MST_CUT_GO_ON;
    case MST_PAUSE_MUST_NOT:
        return MST_CUT_NEVER;
    case MST_PAUSE_NONE:
        break;
    }
    struct bases left_bases = bases_of(r, left), right_bases = bases_of(r, right);
    if (left->letter_count < 3 || right->letter_count < 1 || leans(&left_bases))
        return MST_CUT_NEVER;
    if (opens_clause(r, right, &right_bases))
        return MST_CUT_CLAUSE;
    return seam_is_loose(r, left, right, &right_bases) ? MST_CUT_LOOSE : MST_CUT_NEVER;
}

void mst_find_verse_cuts(const struct mst_reading *r, int32_t first_word, int32_t word_count,
                         enum mst_cut *cuts)
{
    cuts[0] = cuts[word_count] = MST_CUT_VERSE;
    for (int32_t n = 1; n < word_count; n++)
        cuts[n] = inside(r, first_word + n - 1);
}

const char *mst_cut_id(enum mst_cut cut)
{
    static const char *const ids[] = {"?", "verse", "sign", "go_on", "clause", "loose", "never"};
    return cut >= MST_CUT_VERSE && cut <= MST_CUT_NEVER ? ids[cut] : "?";
}
