/*
 * print_check – the engine's sites against the printed marks of the first
 * edition, in both directions, over all 6236 verses read straight through.
 *
 *     print_check EDITION.json EXCEPTIONS [--doc docs/print-check.md]
 *
 * The text pack is the one of $MISTARA_TEXT. Prints the totals per rule and
 * per letter; --doc writes the same table between the marker lines of the
 * document. Ends with 0 only when every printed mark has its site and every
 * such site its mark, the listed exceptions apart.
 */
#include "print_sounds.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    EXCEPTIONS_MAX = 60,
    REPORTED_MAX = 200,
    LETTER_CODES = 0x700,
    SPELLING_MADDAHS = 277, /* on أ, counted in the source */
    BASMALAS_READ = 112
};

/* --- exceptions ----------------------------------------------------------- */

/* "17:7:13:3 madd_muttasil site reason": which side alone speaks there. */
struct exception {
    char address[32], rule[32], side[8], reason[256];
    int used;
};

struct exceptions {
    struct exception list[EXCEPTIONS_MAX];
    int count;
};

static int exceptions_read(const char *path, struct exceptions *out)
{
    FILE *f = fopen(path, "r");
    if (f == NULL) {
        perror(path);
        return -1;
    }
    char line[512];
    int number = 0, failed = 0;
    while (!failed && fgets(line, sizeof line, f) != NULL) {
        number++;
        if (line[0] == '#' || line[0] == '\n')
            continue;
        if (out->count == EXCEPTIONS_MAX) {
            fprintf(stderr, "%s:%d: more than %d exceptions\n", path, number, EXCEPTIONS_MAX);
            failed = 1;
            break;
        }
        struct exception *e = &out->list[out->count++];
        *e = (struct exception){0};
        failed =
            sscanf(line, "%31s %31s %7s %255[^\n]", e->address, e->rule, e->side, e->reason) != 4 ||
            (strcmp(e->side, "mark") != 0 && strcmp(e->side, "site") != 0);
        if (failed)
            fprintf(stderr, "%s:%d: address, rule, mark|site, reason expected\n", path, number);
    }
    fclose(f);
    return failed ? -1 : 0;
}

static int excepted(struct exceptions *exceptions, const char *address, enum mst_rule rule,
                    const char *side)
{
    for (int i = 0; i < exceptions->count; i++) {
        struct exception *e = &exceptions->list[i];
        if (!e->used && strcmp(e->address, address) == 0 &&
            strcmp(e->rule, mst_rule_id(rule)) == 0 && strcmp(e->side, side) == 0) {
            e->used = 1;
            return 1;
        }
    }
    return 0;
}

/* --- totals ---------------------------------------------------------------- */

struct totals {
    int rule[MST_RULE_COUNT];
    int letter[MST_RULE_COUNT][LETTER_CODES];
    int pair[MST_RULE_COUNT][64][64]; /* merging letter → host, less 0x0621 */
    int complete[MST_RULE_COUNT], partial[MST_RULE_COUNT];
    int agreed, openings_unmarked, lengthenings, failures;
};

static int is_pair_rule(enum mst_rule rule)
{
    return rule == MST_RULE_IDGHAM_MUTAJANISAYN || rule == MST_RULE_IDGHAM_MUTAQARIBAYN;
}

/* The letter a rule's total is told by: the one that causes it, else the one it acts on. */
static uint32_t telling_letter(const struct print_reading *p, const struct print_site *s)
{
    int at = s->trigger;
    if (s->host != HOST_UNSAID && mst_rule_family(s->rule) != MST_FAMILY_LENGTH)
        at = s->host;
    const struct print_letter *l = &p->letters[at].l;
    return l->base == 0x0640 || l->base == 0x2009 ? 0x0621 : l->base;
}

static void count_site(struct totals *t, const struct print_reading *p, const struct print_site *s)
{
    t->rule[s->rule]++;
    t->complete[s->rule] += s->complete == 1;
    t->partial[s->rule] += s->complete == 0;
    uint32_t letter = telling_letter(p, s);
    if (is_pair_rule(s->rule)) {
        t->pair[s->rule][p->letters[s->trigger].l.base - 0x0621][letter - 0x0621]++;
        return;
    }
    t->letter[s->rule][letter]++;
}

static void tell_totals(const struct totals *t, struct mst_string *out)
{
    mst_string_adds(out, "| rule | places | by letter |\n|---|---:|---|\n");
    for (int rule = 0; rule < MST_RULE_COUNT; rule++) {
        if (!print_decides((enum mst_rule)rule))
            continue;
        mst_string_addf(out, "| `%s` | %d |", mst_rule_id((enum mst_rule)rule), t->rule[rule]);
        if (t->partial[rule] > 0)
            mst_string_addf(out, " complete %d, partial %d:", t->complete[rule], t->partial[rule]);
        for (uint32_t a = 0; a < 64; a++)
            for (uint32_t b = 0; b < 64; b++)
                if (t->pair[rule][a][b] > 0) {
                    mst_string_adds(out, " ");
                    mst_string_add_cp(out, 0x0621 + a);
                    mst_string_adds(out, "→");
                    mst_string_add_cp(out, 0x0621 + b);
                    mst_string_addf(out, " %d", t->pair[rule][a][b]);
                }
        for (uint32_t cp = 0; cp < LETTER_CODES; cp++)
            if (t->letter[rule][cp] > 0) {
                mst_string_adds(out, " ");
                mst_string_add_cp(out, cp);
                mst_string_addf(out, " %d", t->letter[rule][cp]);
            }
        mst_string_adds(out, " |\n");
    }
}

/* --- nothing overlooked ------------------------------------------------------ */

/* How often a code point stands in the source, counted in its bytes alone. */
static int count_code(const struct edition *edition, uint32_t code)
{
    int count = 0;
    for (int i = 0; i < EDITION_VERSES; i++) {
        const char *text = edition->verses[i].text;
        size_t len = strlen(text);
        for (size_t off = 0; off < len;)
            count += mst_utf8_next(text, len, &off) == code;
    }
    return count;
}

/* Marks whose sites can be counted back: as many must have been read as are printed. The maddahs
 * on أ, which only spell it, are the difference there. */
static int marks_overlooked(const struct edition *edition, const struct totals *t)
{
    int lengthened = t->rule[MST_RULE_MADD_SILA_KUBRA] + t->rule[MST_RULE_MADD_MUTTASIL] +
                     t->rule[MST_RULE_MADD_MUNFASIL] + t->rule[MST_RULE_MADD_LAZIM_WORD] +
                     t->rule[MST_RULE_MADD_LAZIM_LETTER];
    const struct {
        const char *what;
        int printed, read;
    } COUNTS[] = {{"maddah", count_code(edition, 0x0653) - SPELLING_MADDAHS, lengthened},
                  {"small mīm", count_code(edition, 0x06E2) + count_code(edition, 0x06ED),
                   t->rule[MST_RULE_IQLAB]},
                  {"rounded zero", count_code(edition, 0x0652), t->rule[MST_RULE_SIFR_MUSTADIR]},
                  {"long zero", count_code(edition, 0x06E0), t->rule[MST_RULE_SIFR_MUSTATIL]},
                  {"joining alif", count_code(edition, 0x0671) + BASMALAS_READ * 3,
                   t->rule[MST_RULE_HAMZAT_WASL]}};
    int overlooked = 0;
    for (size_t i = 0; i < sizeof COUNTS / sizeof COUNTS[0]; i++)
        if (COUNTS[i].printed != COUNTS[i].read) {
            printf("OVERLOOKED %s: %d printed, %d read\n", COUNTS[i].what, COUNTS[i].printed,
                   COUNTS[i].read);
            overlooked++;
        }
    return overlooked;
}

/* --- the comparison --------------------------------------------------------- */

static char *address_of(const struct print_reading *p, int letter, char out[48])
{
    const struct read_letter *x = &p->letters[letter];
    return mst_addr_print((struct mst_addr){x->sura, x->verse, x->l.word, x->l.number}, out);
}

static void report(struct totals *t, const char *address, enum mst_rule rule, const char *what)
{
    if (t->failures++ < REPORTED_MAX)
        printf("DISAGREE %s %s: %s\n", address, mst_rule_id(rule), what);
}

/* Both sides must have split the text into the same letters before anything else is compared. */
static int same_letters(const struct print_reading *p, const struct mst_reading *r)
{
    int count = p->letter_count < r->letter_count ? p->letter_count : r->letter_count;
    for (int i = 0; i < count; i++) {
        const struct read_letter *x = &p->letters[i];
        struct mst_addr want = {x->sura, x->verse, x->l.word, x->l.number};
        struct mst_addr got = mst_letter_addr(r, i);
        char a[48], b[48];
        if (mst_addr_compare(want, got) != 0) {
            printf("DISAGREE letters part at %s: the engine has %s\n", mst_addr_print(want, a),
                   mst_addr_print(got, b));
            return 0;
        }
    }
    if (p->letter_count != r->letter_count)
        printf("DISAGREE %d letters printed, %d read\n", p->letter_count, r->letter_count);
    return p->letter_count == r->letter_count;
}

static const struct mst_site *site_at(const struct mst_reading *r, int letter, enum mst_rule rule)
{
    int32_t first, end;
    mst_sites_at(r, letter, &first, &end);
    for (int32_t i = first; i < end; i++)
        if (r->sites[i].rule == rule)
            return &r->sites[i];
    return NULL;
}

static void tell_sites_at(const struct mst_reading *r, int letter)
{
    int32_t first, end;
    mst_sites_at(r, letter, &first, &end);
    for (int32_t i = first; i < end; i++)
        printf("         the engine has %s\n", mst_rule_id(r->sites[i].rule));
}

static void marks_have_sites(const struct print_reading *p, const struct mst_reading *r,
                             struct exceptions *exceptions, char *matched, struct totals *t)
{
    for (int i = 0; i < p->site_count; i++) {
        const struct print_site *want = &p->sites[i];
        char address[48], what[160], host[48];
        address_of(p, want->trigger, address);
        count_site(t, p, want);
        const struct mst_site *got = site_at(r, want->trigger, want->rule);
        if (got == NULL) {
            if (!excepted(exceptions, address, want->rule, "mark")) {
                report(t, address, want->rule, "marked, no site");
                if (t->failures < REPORTED_MAX)
                    tell_sites_at(r, want->trigger);
            }
            continue;
        }
        matched[got - r->sites] = 1;
        what[0] = '\0';
        if (want->host != HOST_UNSAID && got->host != want->host)
            snprintf(what, sizeof what, "host is not %s", address_of(p, want->host, host));
        else if (want->nasal != got->nasal)
            snprintf(what, sizeof what, "nasal %d, marked %d", got->nasal, want->nasal);
        else if (want->complete != got->complete)
            snprintf(what, sizeof what, "complete %d, marked %d", got->complete, want->complete);
        if (what[0] != '\0')
            report(t, address, want->rule, what);
        else
            t->agreed++;
    }
}

static void sites_have_marks(const struct print_reading *p, const struct mst_reading *r,
                             struct exceptions *exceptions, const char *matched, struct totals *t)
{
    for (int32_t i = 0; i < r->site_count; i++) {
        const struct mst_site *s = &r->sites[i];
        if (matched[i] || !print_decides(s->rule))
            continue;
        char address[48];
        address_of(p, s->trigger, address);
        if (p->letters[s->trigger].opening && s->rule != MST_RULE_MADD_LAZIM_LETTER)
            t->openings_unmarked++;
        else if (!excepted(exceptions, address, s->rule, "site"))
            report(t, address, s->rule, "a site, not marked");
    }
}

static int lengthening_excepted(const struct exceptions *exceptions, const char *address)
{
    for (int i = 0; i < exceptions->count; i++)
        if (strcmp(exceptions->list[i].address, address) == 0 &&
            strncmp(exceptions->list[i].rule, "madd_", 5) == 0)
            return 1;
    return 0;
}

static int engine_lengthens(const struct mst_reading *r, int letter)
{
    int32_t first, end;
    mst_sites_at(r, letter, &first, &end);
    for (int32_t i = first; i < end; i++) {
        enum mst_rule rule = r->sites[i].rule;
        if (rule == MST_RULE_HADHF_MADD ||
            (mst_rule_family(rule) == MST_FAMILY_LENGTH && rule != MST_RULE_MADD_LIN))
            return 1;
    }
    return 0;
}

/* Which letters lengthen at all, whatever the rule: here the print speaks in letters and small
 * letters as well as in marks. The openings have had their maddahs compared. */
static void lengthenings_agree(const struct print_reading *p, const struct mst_reading *r,
                               const struct exceptions *exceptions, struct totals *t)
{
    for (int i = 0; i < p->letter_count; i++) {
        int marked = p->letters[i].lengthens, read = engine_lengthens(r, i);
        if (p->letters[i].opening)
            continue;
        t->lengthenings += marked;
        if (marked == read)
            continue;
        char address[48];
        if (lengthening_excepted(exceptions, address_of(p, i, address)))
            continue;
        if (t->failures++ < REPORTED_MAX)
            printf("DISAGREE %s: %s\n", address,
                   marked ? "printed as a lengthening, none read" : "a lengthening, not printed");
    }
}

/* --- the document ------------------------------------------------------------ */

static const char BEGIN_MARK[] = "<!-- totals: written by `print_check --doc` -->\n";
static const char END_MARK[] = "<!-- end of totals -->\n";

static int write_doc(const char *path, const struct mst_string *table)
{
    struct mst_map doc;
    struct mst_error err;
    if (mst_map_open(path, &doc, &err) != MST_OK) {
        fprintf(stderr, "%s\n", err.message);
        return 1;
    }
    const char *text = (const char *)doc.ptr;
    const char *begin = memmem(text, doc.len, BEGIN_MARK, sizeof BEGIN_MARK - 1);
    const char *end = memmem(text, doc.len, END_MARK, sizeof END_MARK - 1);
    int failed = begin == NULL || end == NULL || end < begin;
    if (!failed) {
        struct mst_string out = {0};
        size_t head = (size_t)(begin - text) + sizeof BEGIN_MARK - 1;
        mst_string_add(&out, text, head);
        mst_string_add(&out, table->ptr, table->len);
        mst_string_add(&out, end, doc.len - (size_t)(end - text));
        failed = out.failed || mst_file_write(path, out.ptr, out.len, &err) != MST_OK;
        mst_string_free(&out);
    }
    mst_map_close(&doc);
    if (failed)
        fprintf(stderr, "%s: the table could not be written between its markers\n", path);
    return failed;
}

/* --- main --------------------------------------------------------------------- */

static int compare(const struct print_reading *p, const struct mst_reading *r,
                   struct exceptions *exceptions, struct totals *t)
{
    if (!same_letters(p, r))
        return 1;
    char *matched = calloc((size_t)r->site_count + 1, 1);
    if (matched == NULL)
        return 1;
    marks_have_sites(p, r, exceptions, matched, t);
    sites_have_marks(p, r, exceptions, matched, t);
    lengthenings_agree(p, r, exceptions, t);
    free(matched);
    for (int i = 0; i < exceptions->count; i++) {
        const struct exception *e = &exceptions->list[i];
        printf("exception %s %s (%s only): %s%s\n", e->address, e->rule, e->side, e->reason,
               e->used ? "" : " – NOT NEEDED");
        t->failures += !e->used;
    }
    return t->failures > 0;
}

static int check(const char *edition_path, const char *exceptions_path, const char *doc_path)
{
    static struct totals totals;
    static struct exceptions exceptions;
    struct mst_text *text = NULL;
    struct mst_reading *reading = NULL;
    struct mst_error err;
    struct mst_string table = {0};
    int failed = 1;

    struct mst_arena *arena = mst_arena_new(1u << 20);
    struct edition *edition = edition_open(edition_path);
    struct print_reading *print = edition != NULL ? print_reading_new(edition) : NULL;
    if (arena == NULL || print == NULL || exceptions_read(exceptions_path, &exceptions) != 0)
        goto done;
    struct mst_range all = {{1, 1, 0, 0}, {114, 6, 0, 0}};
    struct mst_reading_options straight = {.stops = MST_STOPS_NONE};
    if (mst_text_open(NULL, &text, &err) != MST_OK ||
        mst_reading_new(text, all, &straight, arena, &reading, &err) != MST_OK) {
        fprintf(stderr, "%s\n", err.message);
        goto done;
    }

    failed = compare(print, reading, &exceptions, &totals);
    int signs = 0;
    totals.failures += marks_overlooked(edition, &totals);
    totals.failures += print->unread + sounds_disagree(print, reading, &signs);
    failed |= totals.failures > 0;
    tell_totals(&totals, &table);
    fwrite(table.ptr, 1, table.len, stdout);
    printf("%d marks, %d agree, %d disagreements, %d exceptions, %d marks not understood; "
           "%d sites of the spelled openings bear no mark of their own; "
           "%d letters lengthen; %d shaddas, sukūns and vowels heard as printed\n",
           print->site_count, totals.agreed, totals.failures, exceptions.count, print->unread,
           totals.openings_unmarked, totals.lengthenings, signs);
    if (doc_path != NULL)
        failed |= write_doc(doc_path, &table);
done:
    mst_string_free(&table);
    mst_text_close(text);
    mst_arena_free(arena);
    print_reading_free(print);
    edition_close(edition);
    return failed;
}

int main(int argc, char **argv)
{
    int doc = argc == 5 && strcmp(argv[3], "--doc") == 0;
    if (argc != 3 && !doc) {
        fprintf(stderr, "usage: print_check EDITION.json EXCEPTIONS [--doc DOCUMENT.md]\n");
        return 2;
    }
    return check(argv[1], argv[2], doc ? argv[4] : NULL);
}
