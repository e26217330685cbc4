/*
 * blind – the engine reads two packs of the whole text, one with its marks
 * and one without, and must find the same words, letters, sites and sounds.
 *
 *     blind PRINTED.text OTHER.text same-signs|other-signs
 *
 * Three readings are compared: straight through, stopping at verse ends, and
 * stopping at the printed pause signs. Where the other pack is of an edition
 * with other pause signs, its reader is told to stop where the first one did.
 * Byte offsets are the packs' own and are left out, and so is the word number
 * in the five verses whose words the second edition parts differently.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <mistara/tajweed.h>

enum { REPORTED_MAX = 30 };

/* One word in the first edition, two in the second (found by comparing the two files). */
static const struct mst_addr PARTED[] = {
    {15, 7, 1, 0}, {27, 20, 4, 0}, {36, 22, 1, 0}, {37, 164, 1, 0}, {41, 47, 25, 0}};

struct pair {
    const struct mst_reading *a, *b;
    const char *stops;
    int differences;
    int by_rule[MST_RULE_COUNT];
};

static int parted_verse(struct mst_addr at)
{
    for (size_t i = 0; i < sizeof PARTED / sizeof PARTED[0]; i++)
        if (PARTED[i].sura == at.sura && PARTED[i].verse == at.verse)
            return 1;
    return 0;
}

static int differs(struct pair *p)
{
    return p->differences++ < REPORTED_MAX;
}

static void tell_site(const char *side, const struct mst_reading *r, const struct mst_site *s)
{
    char trigger[48], host[48];
    mst_addr_print(mst_letter_addr(r, s->trigger), trigger);
    if (s->host >= 0)
        mst_addr_print(mst_letter_addr(r, s->host), host);
    printf("  %s %s %s host %s %s letters %d-%d counts %d (%d-%d) nasal %d complete %d grade %d "
           "heavy %d both %d rawm %d ishmam %d tanwin %d reason %d\n",
           side, mst_rule_id(s->rule), trigger, s->host >= 0 ? host : "-", mst_when_id(s->when),
           s->first - s->trigger, s->last - s->trigger, s->counts, s->counts_min, s->counts_max,
           s->nasal, s->complete, s->grade, s->heavy, s->both_ways, s->rawm, s->ishmam, s->tanwin,
           s->reason);
}

/* --- words and letters ------------------------------------------------------ */

static int same_letters(struct pair *p)
{
    int count = p->a->letter_count < p->b->letter_count ? p->a->letter_count : p->b->letter_count;
    for (int i = 0; i < count; i++) {
        const struct mst_letter *x = &p->a->letters[i], *y = &p->b->letters[i];
        struct mst_addr at = mst_letter_addr(p->a, i), bt = mst_letter_addr(p->b, i);
        int number_differs = mst_addr_compare(at, bt) != 0 && !parted_verse(at);
        if (at.sura != bt.sura || at.verse != bt.verse || x->base != y->base || number_differs) {
            char as[48], bs[48];
            printf("DIFFER (%s) letters part at %s U+%04X: the other text has %s U+%04X\n",
                   p->stops, mst_addr_print(at, as), (unsigned)x->base, mst_addr_print(bt, bs),
                   (unsigned)y->base);
            p->differences++;
            return 0;
        }
    }
    if (p->a->letter_count != p->b->letter_count) {
        printf("DIFFER (%s) %d letters against %d\n", p->stops, p->a->letter_count,
               p->b->letter_count);
        p->differences++;
        return 0;
    }
    return 1;
}

static void same_seams(struct pair *p)
{
    for (int i = 0; i < p->a->letter_count; i++) {
        const struct mst_word *v = &p->a->words[p->a->letters[i].word_idx];
        const struct mst_word *w = &p->b->words[p->b->letters[i].word_idx];
        int ends_a = i + 1 == v->first_letter + v->letter_count;
        int ends_b = i + 1 == w->first_letter + w->letter_count;
        struct mst_addr at = mst_letter_addr(p->a, i);
        char as[48];
        if (ends_a != ends_b && !parted_verse(at) && differs(p))
            printf("DIFFER (%s) only one text ends a word at %s\n", p->stops,
                   mst_addr_print(at, as));
        if (ends_a && ends_b && v->seam != w->seam && differs(p))
            printf("DIFFER (%s) seam %d against %d after %s\n", p->stops, v->seam, w->seam,
                   mst_addr_print(at, as));
    }
}

/* --- sites ------------------------------------------------------------------- */

static int site_order(const struct mst_site *x, const struct mst_site *y)
{
    if (x->trigger != y->trigger)
        return x->trigger < y->trigger ? -1 : 1;
    return (x->rule > y->rule) - (x->rule < y->rule);
}

static int site_equal(const struct mst_site *x, const struct mst_site *y)
{
    return x->when == y->when && x->first == y->first && x->last == y->last && x->host == y->host &&
           x->counts == y->counts && x->counts_min == y->counts_min &&
           x->counts_max == y->counts_max && x->nasal == y->nasal && x->complete == y->complete &&
           x->grade == y->grade && x->heavy == y->heavy && x->both_ways == y->both_ways &&
           x->rawm == y->rawm && x->ishmam == y->ishmam && x->tanwin == y->tanwin &&
           x->reason == y->reason;
}

static void same_sites(struct pair *p)
{
    int32_t i = 0, j = 0;
    while (i < p->a->site_count || j < p->b->site_count) {
        const struct mst_site *x = i < p->a->site_count ? &p->a->sites[i] : NULL;
        const struct mst_site *y = j < p->b->site_count ? &p->b->sites[j] : NULL;
        int order = x == NULL ? 1 : y == NULL ? -1 : site_order(x, y);
        if (order != 0 || !site_equal(x, y)) {
            p->by_rule[order <= 0 ? x->rule : y->rule]++;
            if (differs(p)) {
                printf("DIFFER (%s) %s\n", p->stops,
                       order < 0   ? "a site of the printed text alone"
                       : order > 0 ? "a site of the other text alone"
                                   : "one site, two accounts of it");
                if (order <= 0)
                    tell_site("printed", p->a, x);
                if (order >= 0)
                    tell_site("other  ", p->b, y);
            }
        }
        i += order <= 0;
        j += order >= 0;
    }
}

/* --- sounds ------------------------------------------------------------------ */

/* By what it is and where, not by its index: one site more would shift all the rest. */
static int same_site_of(const struct pair *p, const struct mst_sound *x, const struct mst_sound *y)
{
    if (x->site < 0 || y->site < 0)
        return x->site == y->site;
    const struct mst_site *a = &p->a->sites[x->site], *b = &p->b->sites[y->site];
    return a->rule == b->rule && a->trigger == b->trigger;
}

static int sound_equal(const struct mst_sound *x, const struct mst_sound *y)
{
    return x->phone == y->phone && x->first_letter == y->first_letter &&
           x->last_letter == y->last_letter && x->counts == y->counts &&
           x->counts_min == y->counts_min && x->counts_max == y->counts_max &&
           x->nasal == y->nasal && x->heavy == y->heavy && x->rank == y->rank &&
           x->geminate == y->geminate && x->echo == y->echo && x->rawm == y->rawm &&
           x->pause == y->pause;
}

static void same_sounds(struct pair *p)
{
    int count = p->a->sound_count < p->b->sound_count ? p->a->sound_count : p->b->sound_count;
    if (p->a->sound_count != p->b->sound_count && differs(p))
        printf("DIFFER (%s) %d sounds against %d\n", p->stops, p->a->sound_count,
               p->b->sound_count);
    for (int i = 0; i < count; i++) {
        const struct mst_sound *x = &p->a->sounds[i], *y = &p->b->sounds[i];
        if (sound_equal(x, y) && same_site_of(p, x, y))
            continue;
        char at[48];
        if (differs(p))
            printf("DIFFER (%s) sound %d at %s: %s %d against %s %d\n", p->stops, i,
                   mst_addr_print(mst_letter_addr(p->a, x->first_letter), at),
                   mst_phone_id(x->phone), x->counts, mst_phone_id(y->phone), y->counts);
        if (x->first_letter != y->first_letter)
            return; /* everything after it is shifted */
    }
}

/* --- the readings -------------------------------------------------------------- */

static struct mst_reading *read_all(const struct mst_text *text,
                                    const struct mst_reading_options *options,
                                    struct mst_arena *arena)
{
    struct mst_reading *reading = NULL;
    struct mst_error err;
    struct mst_range all = {{1, 1, 0, 0}, {MST_SURA_COUNT, 6, 0, 0}};
    if (mst_reading_new(text, all, options, arena, &reading, &err) != MST_OK) {
        fprintf(stderr, "%s (%s)\n", err.message, err.where);
        return NULL;
    }
    return reading;
}

/* The words of `like` after which `r` stopped, found by their last letters. */
static struct mst_addr *stops_of(const struct mst_reading *r, const struct mst_reading *like,
                                 struct mst_arena *arena, size_t *count)
{
    struct mst_addr *stops = mst_arena_alloc(arena, (size_t)r->word_count, sizeof *stops);
    *count = 0;
    for (int i = 0; stops != NULL && i < r->word_count; i++) {
        const struct mst_word *w = &r->words[i];
        if (w->seam != MST_SEAM_STOP)
            continue;
        stops[*count] = mst_letter_addr(like, w->first_letter + w->letter_count - 1);
        stops[(*count)++].letter = 0;
    }
    return stops;
}

static int compare(const struct mst_text *printed, const struct mst_text *other,
                   enum mst_stops stops, const char *name, int own_stops)
{
    int failed = 1;
    struct mst_arena *arena = mst_arena_new(1u << 20);
    struct mst_reading_options options = {.stops = stops};
    struct pair p = {.stops = name};
    if (arena == NULL || (p.a = read_all(printed, &options, arena)) == NULL)
        goto done;
    if (!own_stops) {
        struct mst_reading_options straight = {.stops = MST_STOPS_NONE};
        const struct mst_reading *like = read_all(other, &straight, arena);
        if (like == NULL || like->letter_count != p.a->letter_count) {
            printf("DIFFER (%s) the texts have not the same letters\n", name);
            goto done;
        }
        options.stops = MST_STOPS_LIST;
        options.stop_list = stops_of(p.a, like, arena, &options.stop_count);
        if (options.stop_list == NULL)
            goto done;
    }
    if ((p.b = read_all(other, &options, arena)) == NULL)
        goto done;
    if (same_letters(&p)) {
        same_seams(&p);
        same_sites(&p);
        same_sounds(&p);
    }
    printf("%s: %d words, %d letters, %d sites, %d sounds, %d differences\n", name, p.a->word_count,
           p.a->letter_count, p.a->site_count, p.a->sound_count, p.differences);
    for (int rule = 0; rule < MST_RULE_COUNT; rule++)
        if (p.by_rule[rule] > 0)
            printf("  %d at %s\n", p.by_rule[rule], mst_rule_id((enum mst_rule)rule));
    failed = p.differences > 0;
done:
    mst_arena_free(arena);
    return failed;
}

int main(int argc, char **argv)
{
    if (argc != 4) {
        fprintf(stderr, "usage: blind PRINTED.text OTHER.text same-signs|other-signs\n");
        return 2;
    }
    int own_signs = strcmp(argv[3], "same-signs") == 0;
    struct mst_text *printed = NULL, *other = NULL;
    struct mst_error err;
    int failed = 1;
    if (mst_text_open(argv[1], &printed, &err) != MST_OK ||
        mst_text_open(argv[2], &other, &err) != MST_OK) {
        fprintf(stderr, "%s\n", err.message);
    } else {
        failed = compare(printed, other, MST_STOPS_NONE, "straight through", 1);
        failed |= compare(printed, other, MST_STOPS_VERSES, "verse ends", 1);
        failed |= compare(printed, other, MST_STOPS_SIGNS, "pause signs", own_signs);
    }
    mst_text_close(printed);
    mst_text_close(other);
    return failed;
}
