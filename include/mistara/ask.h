/*
 * mistara/ask.h – questions for a class with their keys, made from what the
 * engine finds. A verse is read from its head and stopped at its end; what the
 * print shows of it can be checked on the page. A question is made only when
 * one answer can be defended: places where the transmission allows two ways,
 * and rules too near one another to be told apart, are passed over
 * (docs/asking.md says how).
 *
 * Ownership: questions and their texts live in the caller's arena.
 * Threads: no globals; one arena for each call.
 * Time: the whole text is read once; with `find`, its translation too.
 */
#ifndef MISTARA_ASK_H
#define MISTARA_ASK_H

#include <mistara/find.h>

#ifdef __cplusplus
extern "C" {
#endif

/* X(enum, id, what is asked) */
#define MST_ASK_LIST(X)                                                                            \
    X(MARK, "mark", "mark every place in the verse")                                               \
    X(NAME, "name", "name the rule at a letter")                                                   \
    X(COUNT, "count", "how many in this verse")                                                    \
    X(WITHOUT, "without", "which of these does not have it")                                       \
    X(BOTH, "both", "read it going on and stopping; say what changes")                             \
    X(FIND, "find", "find the verse from its translation")                                         \
    X(ORDER, "order", "order the stages of the articulation")
enum mst_ask_kind {
#define X(name, id, en) MST_ASK_##name,
    MST_ASK_LIST(X)
#undef X
        MST_ASK_COUNT_OF_KINDS
};
const char *mst_ask_kind_id(enum mst_ask_kind kind);
/* "mark,count" or "all" → bits, 1 << kind. */
MST_MUST_CHECK enum mst_status mst_ask_kinds_parse(struct mst_span s, uint32_t *kinds,
                                                   struct mst_error *err);

enum { MST_ASK_QUESTIONS_MAX = 200 };

struct mst_ask_query {
    struct mst_find_scope scope; /* whole verses; stops at verse ends only (else USAGE) */
    struct mst_rule_set rules;   /* what is asked about; may be empty when only FIND is asked */
    uint32_t kinds;              /* bits, 1 << kind, taken in turn; 0: all */
    int count;                   /* 0: 10 */
    uint64_t seed;
    char version; /* 'A'–'Z'; 0: A. Versions ask the same kinds in the same order */
    /* When not NULL: the rules asked about that have no place in the scope, so that only names of
     * rules near them can be asked for. */
    struct mst_rule_set *absent;
};

struct mst_question_option {
    const char *en, *ar;    /* a verse as printed (the same in both), or a rule's name */
    struct mst_range range; /* of a verse, else zeros */
    int rule;               /* of a name, else -1 */
};

struct mst_question {
    enum mst_ask_kind kind;
    int rule; /* asked about; NAME: the key's; FIND: -1 */
    const char *prompt_en, *prompt_ar;
    struct mst_range range;  /* what is read; zeros where the options are verses */
    const char *verse;       /* its printed bytes, else NULL */
    const char *translation; /* FIND: the words to find the verse by, else NULL */
    struct mst_addr at;      /* NAME, ORDER: the letter asked about, else zeros */
    struct mst_question_option *options;
    int32_t option_count;
    /* the key */
    uint32_t right;          /* NAME, WITHOUT, FIND: one bit, 1 << option; BOTH: going on */
    uint32_t right_stopping; /* BOTH: stopping */
    struct mst_addr *places; /* MARK, COUNT: the letters the rule acts on, in order */
    int32_t place_count;     /* COUNT: this is the answer */
    int32_t *order;          /* ORDER: the options as they follow one another, else NULL */
    const char *why_en, *why_ar;
};

/* May make fewer than asked when the scope holds no more; NOT_FOUND when it holds none at all. */
MST_MUST_CHECK enum mst_status mst_ask(const struct mst_text *text,
                                       const struct mst_ask_query *query, struct mst_arena *arena,
                                       struct mst_question **out, size_t *count,
                                       struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
