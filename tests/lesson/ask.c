/*
 * ask – every question of many sets solved again. Where the print shows the
 * rule it is solved from the printed marks of the first edition (npm quran-json,
 * dist/quran.json) by the reading of tests/tajweed/oracle, not through the
 * engine. The print is marked for going on: where the next verse would cause the
 * rule it is left out, and the echo of a stop is added. Finding from a
 * translation is solved by comparing the words. The rest is told as not solved.
 *
 *     ask EDITION.json
 */
#include "../tajweed/oracle/print_marks.h"

#include <inttypes.h>
#include <mistara/ask.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SEEDS = 40, COUNT = 24 };

struct tally {
    int made[MST_ASK_COUNT_OF_KINDS], print[MST_ASK_COUNT_OF_KINDS], plain[MST_ASK_COUNT_OF_KINDS],
        wrong;
};

static int in_verse(const struct read_letter *x, struct mst_addr at)
{
    return x->sura == at.sura && x->verse == at.verse;
}

/* The letter after which a stop may change what is printed: nothing follows it in the verse. */
static int ends_verse(const struct print_reading *p, int at)
{
    return at + 1 >= p->letter_count || p->letters[at + 1].verse != p->letters[at].verse ||
           p->letters[at + 1].sura != p->letters[at].sura;
}

static int is_echo(uint32_t base)
{
    return base == 0x0642 || base == 0x0637 || base == 0x0628 || base == 0x062C || base == 0x062F;
}

/* Places of a rule in a verse stopped at its end, from the marks alone. Returns how many. */
static int solve_places(const struct print_reading *p, struct mst_addr at, enum mst_rule rule,
                        struct mst_addr out[64])
{
    int count = 0;
    for (int i = 0; i < p->site_count && count < 63; i++) {
        const struct print_site *s = &p->sites[i];
        const struct read_letter *x = &p->letters[s->trigger];
        if (s->rule != rule || !in_verse(x, at))
            continue;
        if (s->host != HOST_UNSAID && !in_verse(&p->letters[s->host], at))
            continue; /* cut by the stop */
        out[count++] = (struct mst_addr){at.sura, at.verse, x->l.word, x->l.number};
    }
    /* "Its echo is plainer when stopped on" (Ibn al-Jazarī, Muqaddima): the last letter has it. */
    if (rule == MST_RULE_QALQALA)
        for (int i = 0; i < p->letter_count; i++)
            if (in_verse(&p->letters[i], at) && ends_verse(p, i) && !p->letters[i].opening &&
                is_echo(p->letters[i].l.base) &&
                (!count || out[count - 1].word != p->letters[i].l.word ||
                 out[count - 1].letter != p->letters[i].l.number))
                out[count++] = (struct mst_addr){at.sura, at.verse, p->letters[i].l.word,
                                                 p->letters[i].l.number};
    return count;
}

static int same_places(const struct mst_question *q, const struct mst_addr *places, int count)
{
    int same = q->place_count == count;
    for (int n = 0; same && n < count; n++)
        same = mst_addr_compare(q->places[n], places[n]) == 0;
    return same;
}

static void complain(struct tally *t, const struct mst_question *q, const char *what)
{
    char at[96];
    if (t->wrong++ < 40)
        printf("WRONG %s %s %s: %s\n", mst_ask_kind_id(q->kind),
               q->rule < 0 ? "" : mst_rule_id((enum mst_rule)q->rule),
               mst_range_print(q->range, at), what);
}

static int has_place(const struct print_reading *p, struct mst_addr letter, enum mst_rule rule)
{
    struct mst_addr places[64];
    int count = solve_places(p, letter, rule, places);
    for (int n = 0; n < count; n++)
        if (mst_addr_compare(places[n], letter) == 0)
            return 1;
    return 0;
}

/* The print marks an opening's letters with their maddah alone. */
static int of_an_opening(const struct print_reading *p, struct mst_addr letter)
{
    for (int i = 0; i < p->letter_count; i++)
        if (in_verse(&p->letters[i], letter) && p->letters[i].l.word == letter.word &&
            p->letters[i].l.number == letter.letter)
            return p->letters[i].opening;
    return 0;
}

static void solve_choice(const struct print_reading *p, const struct mst_question *q,
                         struct tally *t)
{
    uint32_t found = 0;
    struct mst_addr places[64];
    if (q->kind == MST_ASK_NAME && of_an_opening(p, q->at))
        return; /* not solved */
    for (int32_t n = 0; n < q->option_count; n++) {
        const struct mst_question_option *o = &q->options[n];
        if (q->kind == MST_ASK_NAME && print_decides((enum mst_rule)o->rule) &&
            has_place(p, q->at, (enum mst_rule)o->rule))
            found |= 1u << n;
        if (q->kind == MST_ASK_WITHOUT &&
            !solve_places(p, o->range.first, (enum mst_rule)q->rule, places))
            found |= 1u << n;
    }
    t->print[q->kind]++;
    if (found != q->right)
        complain(t, q, "the marks give another answer");
}

/* The translation, word for word, is that of one option. */
static void solve_find(const struct mst_text *text, const struct mst_question *q, struct tally *t)
{
    uint32_t found = 0;
    int en = mst_text_translation_find(text, MST_SPAN("en"));
    for (int32_t n = 0; n < q->option_count; n++) {
        struct mst_addr at = q->options[n].range.first;
        if (mst_span_equal(mst_text_translated(text, en, at.sura, at.verse),
                           mst_span_of(q->translation)))
            found |= 1u << n;
    }
    t->plain[q->kind]++;
    if (found != q->right)
        complain(t, q, "not the translation of the key alone");
}

/* Going on, the marks say which of the options they decide act on the last word. */
static void solve_going_on(const struct print_reading *p, const struct mst_question *q,
                           struct tally *t)
{
    int decided = 0, last = 0;
    struct mst_addr at = q->range.first;
    for (int i = 0; i < p->letter_count; i++)
        if (in_verse(&p->letters[i], at))
            last = p->letters[i].l.word;
    for (int32_t n = 0; n < q->option_count; n++) {
        int marked = 0;
        if (!print_decides((enum mst_rule)q->options[n].rule))
            continue;
        for (int i = 0; i < p->site_count; i++) {
            const struct read_letter *x = &p->letters[p->sites[i].trigger];
            marked |=
                (int)p->sites[i].rule == q->options[n].rule && in_verse(x, at) && x->l.word == last;
        }
        decided++;
        if (marked != (int)(q->right >> n & 1u))
            complain(t, q, q->options[n].en);
    }
    t->print[q->kind] += decided == q->option_count;
}

/*
 * Which act follows which, by a word of each: a letter is said, held, left (Ibn al-Jazarī's
 * chapter on the places; al-Jamzūrī's chapters on nūn, mīm and the lengthenings; from memory).
 */
static const struct {
    enum mst_rule rule;
    const char *acts[3];
} orders[] = {
    {MST_RULE_IZHAR_HALQI, {"before", "touches the gums", "throat"}},
    {MST_RULE_IDGHAM_BILA_GHUNNA, {"before", "presses", "leaves"}},
    {MST_RULE_IQLAB, {"before", "in the nose", "part"}},
    {MST_RULE_IKHFA, {"before", "in the nose", "is said"}},
    {MST_RULE_IKHFA_SHAFAWI, {"before", "in the nose", "part"}},
    {MST_RULE_IDGHAM_SHAFAWI, {"before", "in the nose", "part"}},
    {MST_RULE_IZHAR_SHAFAWI, {"before", "plain m", "after the mīm"}},
    {MST_RULE_GHUNNA, {"closes", "in the nose", "leaves"}},
    {MST_RULE_LAM_SHAMSIYYA, {"before", "presses", "leaves"}},
    {MST_RULE_LAM_QAMARIYYA, {"before", "plain l", "after the lām"}},
    {MST_RULE_QALQALA, {"before", "closes", "echo"}},
    {MST_RULE_MADD_BADAL, {"hamza", "held", "after"}},
    {MST_RULE_MADD_MUTTASIL, {"bears the vowel", "held", "hamza"}},
    {MST_RULE_MADD_MUNFASIL, {"bears the vowel", "held", "hamza"}},
    {MST_RULE_MADD_LAZIM_WORD, {"bears the vowel", "held", "causes"}},
    {MST_RULE_MADD_ARID, {"bears the vowel", "held", "last letter"}},
    {MST_RULE_MADD_LIN, {"short a", "held", "last letter"}},
};

static void solve_order(const struct print_reading *p, const struct mst_question *q,
                        struct tally *t)
{
    size_t row = 0, rows = sizeof orders / sizeof orders[0];
    while (row < rows && (int)orders[row].rule != q->rule)
        row++;
    if (row == rows || !q->order || q->option_count != 3) {
        complain(t, q, "no order is known");
        return;
    }
    if (print_decides((enum mst_rule)q->rule) && !of_an_opening(p, q->at) &&
        !has_place(p, q->at, (enum mst_rule)q->rule))
        complain(t, q, "the marks have no such place");
    int sorted = 1;
    for (int32_t n = 0; n < 3; n++) {
        int32_t o = q->order[n];
        sorted &= o == n;
        if (o < 0 || o > 2 || !strstr(q->options[o].en, orders[row].acts[n]))
            complain(t, q, orders[row].acts[n]);
    }
    if (sorted)
        complain(t, q, "the options stand in order already");
    t->plain[q->kind]++;
}

static void solve(const struct mst_text *text, const struct print_reading *p,
                  const struct mst_question *q, struct tally *t)
{
    struct mst_addr places[64];
    t->made[q->kind]++;
    if (!*q->prompt_en || !*q->prompt_ar || !*q->why_en || !*q->why_ar)
        complain(t, q, "a text is missing");
    if (q->kind == MST_ASK_FIND) {
        solve_find(text, q, t);
    } else if (q->kind == MST_ASK_ORDER) {
        solve_order(p, q, t);
    } else if (q->kind == MST_ASK_BOTH) {
        if (q->right == q->right_stopping)
            complain(t, q, "nothing changes");
        solve_going_on(p, q, t);
    } else if (print_decides((enum mst_rule)q->rule)) {
        if (q->kind == MST_ASK_NAME || q->kind == MST_ASK_WITHOUT) {
            solve_choice(p, q, t);
        } else {
            t->print[q->kind]++;
            if (!same_places(q, places,
                             solve_places(p, q->range.first, (enum mst_rule)q->rule, places)))
                complain(t, q, "the marks give other places");
        }
    }
}

static int same_sets(const struct mst_question *a, const struct mst_question *b, size_t count)
{
    for (size_t n = 0; n < count; n++)
        if (a[n].kind != b[n].kind || a[n].right != b[n].right ||
            strcmp(a[n].prompt_en, b[n].prompt_en) != 0 || strcmp(a[n].why_en, b[n].why_en) != 0)
            return 0;
    return 1;
}

static void sets(const struct mst_text *text, const struct print_reading *p,
                 struct mst_arena *arena, struct tally *t)
{
    static const char *const rules[] = {"ikhfa", "qalqala", "ghunna,iqlab", "madd_muttasil",
                                        "izhar_halqi,ikhfa"};
    struct mst_error err = {0};
    for (int seed = 0; seed < SEEDS; seed++) {
        struct mst_range range = {{67, 1, 0, 0}, {114, 6, 0, 0}};
        struct mst_ask_query query = {.scope = {.ranges = &range, .range_count = 1},
                                      .count = COUNT,
                                      .seed = (uint64_t)seed,
                                      .version = (char)('A' + seed % 3)};
        struct mst_question *list, *again, *other;
        size_t count, count_again, count_other;
        mst_arena_reset(arena);
        if (mst_rule_set_parse(mst_span_of(rules[seed % 5]), &query.rules, &err) != MST_OK ||
            mst_ask(text, &query, arena, &list, &count, &err) != MST_OK) {
            printf("WRONG %s\n", err.message);
            t->wrong++;
            continue;
        }
        for (size_t n = 0; n < count; n++)
            solve(text, p, &list[n], t);
        if (seed >= 5)
            continue;
        int failed = mst_ask(text, &query, arena, &again, &count_again, &err) != MST_OK;
        query.version = 'D';
        failed |= mst_ask(text, &query, arena, &other, &count_other, &err) != MST_OK;
        if (failed || count != count_again || !same_sets(list, again, count) ||
            (count == count_other && same_sets(list, other, count))) {
            printf("WRONG seed %d: not the same again, or no other version\n", seed);
            t->wrong++;
        }
    }
}

/* What cannot be asked is refused with a sentence. */
static void refusals(const struct mst_text *text, struct mst_arena *arena, struct tally *t)
{
    struct mst_reading_options none = {.stops = MST_STOPS_NONE};
    const struct mst_rule_set ikhfa = {UINT64_C(1) << MST_RULE_IKHFA};
    const struct mst_ask_query bad[] = {
        {.rules = {0}},
        {.rules = {~UINT64_C(0)}},
        {.rules = ikhfa, .count = -1},
        {.rules = ikhfa, .count = MST_ASK_QUESTIONS_MAX + 1},
        {.rules = ikhfa, .version = '!'},
        {.rules = ikhfa, .kinds = 1u << 20},
        {.rules = ikhfa, .scope = {.options = &none}},
    };
    struct mst_question *list;
    struct mst_error err;
    uint32_t kinds;
    size_t count;
    for (size_t n = 0; n < sizeof bad / sizeof bad[0]; n++) {
        err = (struct mst_error){0};
        if (mst_ask(text, &bad[n], arena, &list, &count, &err) != MST_USAGE || !err.message[0]) {
            printf("WRONG bad query %zu was not refused\n", n);
            t->wrong++;
        }
    }
    if (mst_ask_kinds_parse(MST_SPAN("mark,,\xff"), &kinds, &err) != MST_USAGE ||
        mst_ask_kinds_parse(MST_SPAN("mark,find"), &kinds, &err) != MST_OK ||
        kinds != (1u << MST_ASK_MARK | 1u << MST_ASK_FIND)) {
        printf("WRONG kinds\n");
        t->wrong++;
    }
}

int main(int argc, char **argv)
{
    struct mst_text *text = NULL;
    struct mst_error err = {0};
    struct tally t = {0};
    int made = 0, print = 0, plain = 0;
    struct mst_arena *arena = mst_arena_new(1u << 20);
    struct edition *edition = argc == 2 ? edition_open(argv[1]) : NULL;
    struct print_reading *p = edition ? print_reading_new(edition) : NULL;
    if (!arena || !p || mst_text_open(NULL, &text, &err) != MST_OK) {
        fprintf(stderr, "usage: ask EDITION.json %s\n", err.message);
        return 2;
    }
    sets(text, p, arena, &t);
    refusals(text, arena, &t);
    for (int kind = 0; kind < MST_ASK_COUNT_OF_KINDS; kind++) {
        printf("%-8s %4d made, %4d solved from the print, %4d in a plain way\n",
               mst_ask_kind_id((enum mst_ask_kind)kind), t.made[kind], t.print[kind],
               t.plain[kind]);
        made += t.made[kind];
        print += t.print[kind];
        plain += t.plain[kind];
        t.wrong += !t.made[kind];
    }
    printf("%d questions, %d solved from the print, %d in a plain way, %d wrong\n", made, print,
           plain, t.wrong);
    mst_text_close(text);
    print_reading_free(p);
    edition_close(edition);
    mst_arena_free(arena);
    return t.wrong || print + plain < made * 8 / 10;
}
