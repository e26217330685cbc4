/* Progress pages inside (mistara/know.h): what is drawn, its words, and a strip. */
#ifndef LESSON_PAGES_PROGRESS_H
#define LESSON_PAGES_PROGRESS_H

#include <mistara/know.h>

enum { WEEKS_MOST = 52 };

/* --- a strip (progress_strip.c) -------- */
/*
 * A ruler with a hanging tick for each week, longer where more was heard. Over
 * it the cord of the scribe's board: it begins where the rule was first heard,
 * rises as the rule settles, and lies taut along the upper edge when it has. The
 * pale band is how far it may be off.
 */
struct strip {
    int weeks;
    int32_t heard[WEEKS_MOST];                                   /* in each week */
    int32_t by_then[WEEKS_MOST];                                 /* up to its end; 0: no cord yet */
    double known[WEEKS_MOST], low[WEEKS_MOST], high[WEEKS_MOST]; /* at its end */
    enum mst_family family;
};
/* In this box; leftward: time runs from the right, as Arabic is read. */
void strip_draw(struct mst_leaves *leaves, const struct strip *strip, double x, double y,
                double width, double height, int leftward);

/* --- words (progress_words.c) -------- */
enum progress_phrase {
    SAY_LEARNER_TITLE, /* %s: the label */
    SAY_PARENT_TITLE,
    SAY_CLASS_TITLE,
    SAY_LEARNER_INTRO,
    SAY_PARENT_INTRO,
    SAY_CLASS_INTRO,
    SAY_TOP,  /* over the end of the specimen's cord */
    SAY_BAND, /* over its beginning */
    SAY_TICK, /* under the ruler */
    SAY_JUST_BEGUN,
    SAY_BEING_LEARNED,
    SAY_GROWING,
    SAY_SETTLED,
    SAY_DUE,
    SAY_NEXT_TITLE,
    SAY_NEXT_NONE,
    SAY_PARENT_HELP,
    SAY_CLASS_NEXT_TITLE,
    SAY_CLASS_NONE,
    SAY_FOOT,
    SAY_COUNT
};
const char *progress_say(enum progress_phrase phrase, enum mst_lang lang);
/* "hiding, kāf". */
void progress_say_skill(struct mst_member skill, enum mst_lang lang, struct mst_string *out);
/* "heard 12 times, last on 21 November". */
void progress_say_heard(int32_t times, int64_t last_ms, int32_t utc_offset_minutes,
                        enum mst_lang lang, struct mst_string *out);
/* "about 17 of 30 are still learning it". */
void progress_say_missing(const struct mst_class_miss *miss, enum mst_lang lang,
                          struct mst_string *out);
void progress_say_date(int64_t time_ms, int32_t utc_offset_minutes, enum mst_lang lang,
                       struct mst_string *out);
enum progress_phrase progress_state(const struct mst_known_rule *rule);

/* --- what is shown (progress_rows.c) -------- */
struct progress_row {
    enum mst_rule rule;
    struct strip strip;
    struct mst_known_rule now;
};
struct progress_rows {
    struct progress_row *rows; /* in the order of the rules */
    int32_t count;
    const struct mst_member *skills;
    struct mst_weak *weak; /* of the learner */
    size_t weak_count;
    struct mst_class_miss *misses; /* of the class: what half of them miss */
    size_t miss_count;
};
MST_MUST_CHECK enum mst_status progress_rows_make(const struct mst_know_model *model,
                                                  const struct mst_class_evidence *evidence,
                                                  const struct mst_spacing *spacing,
                                                  const struct mst_progress *progress,
                                                  struct mst_arena *arena,
                                                  struct progress_rows *out, struct mst_error *err);

#endif
