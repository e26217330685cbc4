/*
 * mistara/find.h – what a teacher looks for before a lesson: short examples
 * that show one rule cleanly, passages dense in it, and the smallest set of
 * verses that holds every member of a family. It counts what the engine finds
 * and knows no rule itself; where sense allows a cut is a stated heuristic
 * (docs/finding.md) and the teacher's judgement.
 *
 * Ownership: results live in the caller's arena and borrow from the mst_text.
 * Threads: no globals; one search per arena. GLPK, which solves the covering
 * sets, keeps an environment for each thread.
 * Time: a search reads the whole text once (about 50 ms) and works from that.
 */
#ifndef MISTARA_FIND_H
#define MISTARA_FIND_H

#include <mistara/tajweed.h>

#ifdef __cplusplus
extern "C" {
#endif

/* --- members of a family --------------------------------------------------- */

/* By what the sites of a rule are told apart. */
enum mst_by {
    MST_BY_OWN,     /* lengthenings by their sound, else by the host, else by the trigger */
    MST_BY_RULE,    /* one member a rule: every kind of lengthening */
    MST_BY_HOST,    /* the letter that causes the change or takes it: fifteen of ikhfāʾ */
    MST_BY_TRIGGER, /* the letter the rule acts on: five of the echo; tanwīn counts as nūn */
    MST_BY_SOUND    /* the sound that is held: ā, ī, ū */
};

enum mst_member_kind {
    MST_MEMBER_RULE,    /* a rule, whatever its letters */
    MST_MEMBER_HOST,    /* a rule and its host */
    MST_MEMBER_TRIGGER, /* a rule and its trigger */
    MST_MEMBER_SOUND,   /* a rule and its phone */
    MST_MEMBER_LETTER,  /* a letter of the alphabet, as written */
    MST_MEMBER_PHONE    /* a phone, as read */
};

/* letter: index for mst_articulation_at; phone: enum mst_phone. Only what the kind needs is set. */
struct mst_member {
    uint8_t kind, rule, letter, phone;
};
/* "hiding with kāf", "echo of dāl", "joined lengthening: alif", "kāf". */
void mst_member_name(struct mst_member member, enum mst_lang lang, struct mst_string *out);
/* The sound of a MST_MEMBER_SOUND: "alif", "soft yāʾ"; its phonetic sign where no letter is held.
 */
const char *mst_member_sound(struct mst_member member, enum mst_lang lang);

/* --- asking ------------------------------------------------------------------ */

/* "78-80", "juz 30", or several parted by commas. In the arena. */
MST_MUST_CHECK enum mst_status mst_ranges_parse(const struct mst_text *text, struct mst_span s,
                                                struct mst_arena *arena, struct mst_range **out,
                                                size_t *count, struct mst_error *err);
/* Letters as written ("ك ق", "كق") or by name ("kāf,qāf") → bits, 1 << index for
 * mst_articulation_at. */
MST_MUST_CHECK enum mst_status mst_letter_list_parse(struct mst_span s, uint32_t *bits,
                                                     struct mst_error *err);

/* Where to look, and how it is read. Stops other than at verse ends and signs are refused (USAGE):
 * what a verse holds would hang on its neighbours. The basmala before a sura is left out. */
struct mst_find_scope {
    const struct mst_range *ranges; /* none: the whole text */
    size_t range_count;
    const struct mst_reading_options *options; /* NULL: every default */
};

/* --- examples ------------------------------------------------------------------ */

enum mst_find_nun { MST_NUN_EITHER, MST_NUN_PLAIN, MST_NUN_TANWIN };
enum mst_find_words { MST_WORDS_EITHER, MST_WORDS_ONE, MST_WORDS_ACROSS };

/* How a phrase begins or ends; a smaller number breaks the sense less. */
enum mst_cut {
    MST_CUT_VERSE = 1, /* at the head or the end of a verse */
    MST_CUT_SIGN,      /* at a sign: must, better, either */
    MST_CUT_GO_ON,     /* at a sign by which going on is better, or one of an embracing pair */
    MST_CUT_CLAUSE,    /* before a word that begins with a joining wāw, or a particle like it */
    MST_CUT_LOOSE,     /* inside a clause, where neither word visibly leans on the other */
    MST_CUT_NEVER
};
const char *mst_cut_id(enum mst_cut cut);

struct mst_example_query {
    struct mst_find_scope scope;
    struct mst_rule_set rules;    /* what is to be shown; not empty */
    struct mst_rule_set untaught; /* no site of these may be in the phrase; `rules` win */
    enum mst_by by;               /* examples are ranked for each member */
    uint32_t hosts, triggers;     /* letters allowed, as of mst_letter_list_parse; 0: any */
    enum mst_find_nun nun;
    enum mst_find_words across;
    int words_min, words_max; /* 0: 2 and 6; at most 12 */
    int per_member;           /* 0: 3 */
    enum mst_cut worst_cut;   /* 0: MST_CUT_CLAUSE */
};

struct mst_example {
    struct mst_range range;
    const struct mst_reading *reading; /* of the phrase as taught: begun at its first word, stopped
                                          at its last */
    int32_t site;                      /* in reading->sites: the one that is shown */
    int32_t same, others;              /* further sites of `rules`; sites of other rules */
    enum mst_cut begins, ends;
    int clarity; /* 100 best; see docs/finding.md */
};

/* One member and its examples, best first. */
struct mst_example_group {
    struct mst_member member;
    int32_t in_range; /* places of it in the scope, whatever stands around them */
    struct mst_example *examples;
    int32_t count; /* 0: none that is short and clean, or none at all */
};

struct mst_examples {
    struct mst_example_group *groups; /* every member that the whole text knows */
    int32_t group_count;
    int32_t phrases_read;
};
MST_MUST_CHECK enum mst_status mst_find_examples(const struct mst_text *text,
                                                 const struct mst_example_query *query,
                                                 struct mst_arena *arena, struct mst_examples *out,
                                                 struct mst_error *err);

/* --- passages -------------------------------------------------------------------- */

/* Bounds of 0 mean none; with none at all, 40 to 100 words. */
struct mst_passage_query {
    struct mst_find_scope scope;
    struct mst_rule_set rules;
    struct mst_rule_set untaught;
    int untaught_percent; /* at most this share of the words holds an untaught rule; -1: any */
    int words_min, words_max;
    int lines_min, lines_max; /* of the size of a printed page's: see mst_passage.lines */
    double seconds_min, seconds_max;
    double pace_counts_per_s; /* 0: 2.5 */
    int limit;                /* 0: 10 */
};

/* How well a passage begins or ends; greater is better. */
enum mst_edge {
    MST_EDGE_VERSE, /* at some verse */
    MST_EDGE_SIGN,  /* after or at a verse that ends in a sign: must stop, or better stop */
    MST_EDGE_PART,  /* at a rukūʿ or a quarter of a ḥizb */
    MST_EDGE_SURA
};
const char *mst_edge_id(enum mst_edge edge);

struct mst_passage {
    struct mst_range range; /* whole verses, within one sura or of whole suras */
    int32_t verses, words, sites /* of the rules */, untaught_sites, untaught_words;
    int32_t counts; /* ḥarakāt of all its sounds */
    double seconds; /* counts at the pace, and one second for each stop */
    int lines;      /* words ÷ 8.5, rounded up: 604 pages of 15 lines hold the text's words */
    double per_100_words;
    enum mst_edge begins, ends;
    double score;
};
MST_MUST_CHECK enum mst_status mst_find_passages(const struct mst_text *text,
                                                 const struct mst_passage_query *query,
                                                 struct mst_arena *arena, struct mst_passage **out,
                                                 size_t *count, struct mst_error *err);

/* --- covering sets ------------------------------------------------------------------ */

enum mst_cover_family {
    MST_COVER_RULES,   /* the members of `rules`, told apart as `by` says; MST_BY_OWN: by rule
                          where several rules are asked, else by their letters */
    MST_COVER_LETTERS, /* the 28 letters as written; hamza forms are hamza */
    MST_COVER_PHONES   /* every phone that occurs in the text */
};
enum mst_cover_cost { MST_COST_VERSES, MST_COST_WORDS };

struct mst_cover_query {
    struct mst_find_scope scope; /* whole verses: a range of words takes the verses it touches */
    enum mst_cover_family family;
    struct mst_rule_set rules;
    enum mst_by by;
    int times; /* 0: once */
    enum mst_cover_cost cost;
    int contiguous;
    double time_limit_s; /* of branch and bound; 0: 10; < 0: none of it, greedy and LP bound only */
};

struct mst_cover_member {
    struct mst_member member;
    int32_t in_range; /* places in the scope; fewer than asked: all of them are taken */
    int32_t covered;  /* places in the chosen verses */
};

struct mst_cover {
    struct mst_cover_member *members; /* all that the whole text knows, absent ones included */
    int32_t member_count, absent_count, short_count /* present, but fewer than asked */;
    int32_t *verses; /* running indices, in order */
    int32_t verse_count, word_count;
    int64_t cost;  /* of the answer */
    int64_t bound; /* no answer is cheaper than this; equal to cost: proved smallest */
};
/* With no member in the scope at all: NOT_FOUND. */
MST_MUST_CHECK enum mst_status mst_find_cover(const struct mst_text *text,
                                              const struct mst_cover_query *query,
                                              struct mst_arena *arena, struct mst_cover *out,
                                              struct mst_error *err);

/* The problem under it: choose sets of least cost so that every member is held often enough. */
struct mst_multicover {
    int32_t set_count, member_count;
    const int32_t *cost;   /* of each set, above 0 */
    const int32_t *need;   /* of each member, 0 or more; not more than there is in all sets */
    const int32_t *first;  /* set_count + 1 offsets into the next two */
    const int32_t *member; /* each member at most once in a set */
    const int32_t *times;  /* how often the set holds it, above 0 */
    int32_t node_limit;    /* nodes the search looks at; 0: any number */
};
struct mst_multicover_answer {
    int32_t *chosen; /* sets, ascending */
    int32_t chosen_count;
    int64_t cost, bound;
    int32_t sets_left, members_left; /* after the presolve */
};
/*
 * Presolve, then GLPK's branch and bound until time_limit_ms (0: not at all; below 0: no clock, so
 * that node_limit alone ends it and the answer is the same on every machine); a greedy answer and
 * the bound of the linear relaxation where that ends early.
 */
MST_MUST_CHECK enum mst_status mst_multicover_solve(const struct mst_multicover *problem,
                                                    int time_limit_ms, struct mst_arena *arena,
                                                    struct mst_multicover_answer *out,
                                                    struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
