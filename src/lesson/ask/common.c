/* common.c – dice, verses and options, and which rules may stand beside one another. */
#include "parts.h"

/* --- dice ---------------------------------------------------------------------- */

static uint32_t roll(struct dice *d)
{
    uint64_t old = d->state;
    d->state = old * UINT64_C(6364136223846793005) + d->stream;
    uint32_t shifted = (uint32_t)((old >> 18 ^ old) >> 27), by = (uint32_t)(old >> 59);
    return shifted >> by | shifted << (-by & 31);
}

void mst_ask_dice_new(struct dice *d, uint64_t seed, uint64_t stream)
{
    *d = (struct dice){.state = 0, .stream = stream << 1 | 1};
    roll(d);
    d->state += seed;
    roll(d);
}

uint32_t mst_ask_dice(struct dice *d, uint32_t below)
{
    uint32_t least = -below % below;
    for (;;) {
        uint32_t n = roll(d);
        if (n >= least)
            return n % below;
    }
}

void mst_ask_shuffle(struct dice *d, int32_t *list, int32_t count)
{
    for (int32_t n = count - 1; n > 0; n--) {
        uint32_t other = mst_ask_dice(d, (uint32_t)n + 1);
        int32_t kept = list[n];
        list[n] = list[other];
        list[other] = kept;
    }
}

/* --- rules near one another ---------------------------------------------------- */

static int meet(int least, int most, int other_least, int other_most)
{
    return least <= other_most && other_least <= most;
}

/* Of one family, and nothing the engine says of length, nose or weight ever tells them apart: one
 * may be a kind of the other. A doubled nūn that merging made is called by both names as well. */
int mst_ask_too_near(const struct asker *a, enum mst_rule x, enum mst_rule y)
{
    const struct rule_seen *p = &a->seen[x], *q = &a->seen[y];
    enum mst_family f = mst_rule_family(x), g = mst_rule_family(y);
    if ((f == MST_FAMILY_NASAL && g == MST_FAMILY_MERGE) ||
        (f == MST_FAMILY_MERGE && g == MST_FAMILY_NASAL))
        return 1;
    return f == g && meet(p->counts_least, p->counts_most, q->counts_least, q->counts_most) &&
           meet(p->nasal_least, p->nasal_most, q->nasal_least, q->nasal_most) &&
           meet(p->heavy_least, p->heavy_most, q->heavy_least, q->heavy_most);
}

/* What the print or a stop does to a whole word is not what a letter is taken for. */
static int of_a_letter(enum mst_rule rule)
{
    enum mst_family family = mst_rule_family(rule);
    return family != MST_FAMILY_SEAM && family != MST_FAMILY_OWN && family != MST_FAMILY_SILENT;
}

int mst_ask_confusable(const struct asker *a, enum mst_rule x, enum mst_rule y)
{
    return x != y && of_a_letter(y) && (a->seen[x].triggers & a->seen[y].triggers) != 0;
}

int32_t mst_ask_rules_like(struct asker *a, enum mst_rule rule, struct mst_rule_set not,
                           int32_t out[MST_RULE_COUNT])
{
    int32_t count = 0;
    for (int near = 1; near >= 0; near--) {
        int32_t from = count;
        for (int other = 0; other < MST_RULE_COUNT; other++)
            if (other != (int)rule && a->seen[other].sites && of_a_letter((enum mst_rule)other) &&
                !mst_rule_set_has(not, (enum mst_rule)other) &&
                mst_ask_confusable(a, rule, (enum mst_rule)other) == near)
                out[count++] = other;
        mst_ask_shuffle(&a->dice, out + from, count - from);
    }
    return count;
}

/* --- verses -------------------------------------------------------------------- */

void mst_ask_verse_sites(const struct asker *a, int32_t verse, int32_t *first, int32_t *end)
{
    *first = a->survey.site_from[a->survey.first_word[verse]];
    *end = a->survey.site_from[a->survey.first_word[verse + 1]];
}

int32_t mst_ask_places(const struct asker *a, int32_t verse, enum mst_rule rule)
{
    int32_t first, end, count = 0;
    mst_ask_verse_sites(a, verse, &first, &end);
    for (int32_t n = first; n < end; n++) {
        if (a->survey.r->sites[n].rule != rule)
            continue;
        if (a->survey.r->sites[n].both_ways)
            return -1;
        count++;
    }
    return count;
}

int32_t mst_ask_verse_words(const struct asker *a, int32_t verse)
{
    return a->survey.first_word[verse + 1] - a->survey.first_word[verse];
}

struct mst_range mst_ask_verse_range(const struct asker *a, int32_t verse)
{
    struct mst_addr at = mst_text_verse_addr(a->text, verse);
    return (struct mst_range){at, at};
}

const char *mst_ask_verse_text(const struct asker *a, int32_t verse)
{
    struct mst_addr at = mst_text_verse_addr(a->text, verse);
    struct mst_span printed = mst_text_verse(a->text, at.sura, at.verse);
    return mst_arena_strndup(a->arena, printed.ptr, printed.len);
}

const char *mst_ask_keep(const struct asker *a, struct mst_string *s)
{
    char *kept = s->failed ? NULL : mst_arena_strndup(a->arena, s->ptr ? s->ptr : "", s->len);
    mst_string_free(s);
    return kept;
}

/* --- options ------------------------------------------------------------------- */

void mst_ask_option_rule(struct mst_question_option *o, enum mst_rule rule)
{
    *o = (struct mst_question_option){.en = mst_rule_name(rule, MST_LANG_EN),
                                      .ar = mst_rule_name(rule, MST_LANG_AR),
                                      .rule = (int)rule};
}

enum mst_status mst_ask_option_verse(const struct asker *a, struct mst_question_option *o,
                                     int32_t verse)
{
    const char *printed = mst_ask_verse_text(a, verse);
    *o = (struct mst_question_option){
        .en = printed, .ar = printed, .range = mst_ask_verse_range(a, verse), .rule = -1};
    return printed ? MST_OK : mst_find_no_memory(a->err);
}

static uint32_t bits_exchanged(uint32_t bits, int32_t x, uint32_t y)
{
    uint32_t differ = (bits >> x ^ bits >> y) & 1u;
    return bits ^ (differ << x | differ << y);
}

void mst_ask_options_shuffle(struct asker *a, struct mst_question *q)
{
    for (int32_t n = q->option_count - 1; n > 0; n--) {
        uint32_t other = mst_ask_dice(&a->dice, (uint32_t)n + 1);
        if ((int32_t)other == n)
            continue;
        struct mst_question_option kept = q->options[n];
        q->options[n] = q->options[other];
        q->options[other] = kept;
        q->right = bits_exchanged(q->right, n, other);
        q->right_stopping = bits_exchanged(q->right_stopping, n, other);
    }
}
