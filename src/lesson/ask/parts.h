/* ask/parts.h – what the kinds of question share: dice, the text read once, rules that are near one
 * another. */
#ifndef MISTARA_LESSON_ASK_PARTS_H
#define MISTARA_LESSON_ASK_PARTS_H

#include "../find/parts.h"

#include <mistara/ask.h>

/* PCG32 (M. E. O'Neill, PCG: A Family of Simple Fast Space-Efficient Statistically Good Algorithms
 * for Random Number Generation, 2014): the seed is the state, the version the stream. */
struct dice {
    uint64_t state, stream;
};
void mst_ask_dice_new(struct dice *d, uint64_t seed, uint64_t stream);
/* 0 … below - 1, without a bias. */
uint32_t mst_ask_dice(struct dice *d, uint32_t below);
void mst_ask_shuffle(struct dice *d, int32_t *list, int32_t count);

/* What the engine says of a rule anywhere in the text. */
struct rule_seen {
    int sites;
    uint32_t triggers; /* letters it acts on */
    int counts_least, counts_most, nasal_least, nasal_most, heavy_least, heavy_most;
};

struct likeness; /* translation.c: how like one another the verses' translations are */

struct asker {
    const struct mst_text *text;
    const struct mst_ask_query *query;
    struct survey survey; /* verses begun at their heads, stopped at their ends */
    struct rule_seen seen[MST_RULE_COUNT];
    struct mst_arena *work, *arena; /* the questions go to `arena` */
    int32_t *verses;                /* of the scope, shuffled anew for each question */
    int32_t verse_count;
    struct dice dice;
    uint8_t *used; /* of each verse: bits of the kinds it was asked in */
    struct likeness *likeness;
    struct mst_error *err;
};

/* Each makes one question about a verse, or leaves *made 0 when it would have no single answer. */
typedef enum mst_status ask_about(struct asker *a, int32_t verse, enum mst_rule rule,
                                  struct mst_question *q, int *made);
ask_about mst_ask_mark, mst_ask_name, mst_ask_count, mst_ask_without, mst_ask_both, mst_ask_find,
    mst_ask_order;

/* Two rules one could defend calling by the other's name: not offered together. */
int mst_ask_too_near(const struct asker *a, enum mst_rule x, enum mst_rule y);
/* Rules that act on the same letters, so that a learner may take one for the other. */
int mst_ask_confusable(const struct asker *a, enum mst_rule x, enum mst_rule y);
/* Every rule except those in `not`, the likeliest to be confused with `rule` first. Returns how
 * many. */
int32_t mst_ask_rules_like(struct asker *a, enum mst_rule rule, struct mst_rule_set not,
                           int32_t out[MST_RULE_COUNT]);

void mst_ask_verse_sites(const struct asker *a, int32_t verse, int32_t *first, int32_t *end);
/* Places of a rule in a verse; -1 when one of them may be read another way. */
int32_t mst_ask_places(const struct asker *a, int32_t verse, enum mst_rule rule);
int32_t mst_ask_verse_words(const struct asker *a, int32_t verse);
struct mst_range mst_ask_verse_range(const struct asker *a, int32_t verse);
const char *mst_ask_verse_text(const struct asker *a, int32_t verse); /* in the arena, or NULL */
/* Where a letter stands: its address and its word. */
void mst_ask_place_add(const struct asker *a, int32_t letter, struct mst_string *en,
                       struct mst_string *ar);
/* The text in the arena, NULL when memory ran out; frees s. */
const char *mst_ask_keep(const struct asker *a, struct mst_string *s);
void mst_ask_option_rule(struct mst_question_option *o, enum mst_rule rule);
MST_MUST_CHECK enum mst_status mst_ask_option_verse(const struct asker *a,
                                                    struct mst_question_option *o, int32_t verse);
/* Options in another order, the keys with them. */
void mst_ask_options_shuffle(struct asker *a, struct mst_question *q);

#endif
