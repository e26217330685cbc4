/* places.c – questions about the places of a rule in a verse: mark, name, count, without. */
#include "parts.h"

enum {
    WORDS_LEAST = 3,
    WORDS_MOST = 30,   /* about four printed lines */
    PLACES_MOST = 12,  /* of one rule in one verse */
    OPTION_WORDS = 14, /* four verses side by side */
    OPTIONS = 4
};

static int readable(const struct asker *a, int32_t verse, int32_t most)
{
    int32_t words = mst_ask_verse_words(a, verse);
    return words >= WORDS_LEAST && words <= most;
}

void mst_ask_place_add(const struct asker *a, int32_t letter, struct mst_string *en,
                       struct mst_string *ar)
{
    char at[48];
    const struct mst_reading *r = a->survey.r;
    struct mst_span word = mst_reading_word(r, r->letters[letter].word_idx);
    mst_addr_print(mst_letter_addr(r, letter), at);
    mst_string_addf(en, "%s ", at);
    mst_string_add(en, word.ptr, word.len);
    mst_string_addf(ar, "%s ", at);
    mst_string_add(ar, word.ptr, word.len);
}

static void reason_add(const struct asker *a, const struct mst_site *s, struct mst_string *en,
                       struct mst_string *ar)
{
    mst_ask_place_add(a, s->trigger, en, ar);
    mst_string_adds(en, ": ");
    mst_string_adds(ar, ": ");
    mst_site_reason(a->survey.r, s, MST_LANG_EN, en);
    mst_site_reason(a->survey.r, s, MST_LANG_AR, ar);
}

/* Prompt and explanation into the question. */
static enum mst_status texts_set(const struct asker *a, struct mst_question *q,
                                 struct mst_string *why_en, struct mst_string *why_ar,
                                 const char *prompt_en, const char *prompt_ar)
{
    q->why_en = mst_ask_keep(a, why_en);
    q->why_ar = mst_ask_keep(a, why_ar);
    q->prompt_en = prompt_en;
    q->prompt_ar = prompt_ar;
    return q->why_en && q->why_ar && prompt_en && prompt_ar ? MST_OK : mst_find_no_memory(a->err);
}

/* The verse, and every place of the rule in it. */
static enum mst_status places_set(struct asker *a, int32_t verse, enum mst_rule rule,
                                  int32_t places, struct mst_question *q, struct mst_string *en,
                                  struct mst_string *ar)
{
    int32_t first, end;
    q->range = mst_ask_verse_range(a, verse);
    q->verse = mst_ask_verse_text(a, verse);
    q->places = mst_arena_alloc(a->arena, (size_t)places + 1, sizeof *q->places);
    if (!q->verse || !q->places)
        return mst_find_no_memory(a->err);
    mst_ask_verse_sites(a, verse, &first, &end);
    for (int32_t n = first; n < end; n++) {
        const struct mst_site *s = &a->survey.r->sites[n];
        if (s->rule != rule)
            continue;
        if (q->place_count) {
            mst_string_adds(en, "; ");
            mst_string_adds(ar, "؛ ");
        }
        reason_add(a, s, en, ar);
        q->places[q->place_count++] = mst_letter_addr(a->survey.r, s->trigger);
    }
    return MST_OK;
}

static enum mst_status ask_places(struct asker *a, int32_t verse, enum mst_rule rule, int least,
                                  const char *prompt_en, const char *prompt_ar,
                                  struct mst_question *q, int *made)
{
    struct mst_string en = {0}, ar = {0};
    int32_t places = mst_ask_places(a, verse, rule);
    *made = readable(a, verse, WORDS_MOST) && places >= least && places <= PLACES_MOST;
    if (!*made)
        return MST_OK;
    enum mst_status status = places_set(a, verse, rule, places, q, &en, &ar);
    if (status == MST_OK && !places) {
        mst_string_adds(&en, "There is none.");
        mst_string_adds(&ar, "لا موضع له فيها.");
    }
    enum mst_status kept = texts_set(
        a, q, &en, &ar, mst_arena_printf(a->arena, prompt_en, mst_rule_name(rule, MST_LANG_EN)),
        mst_arena_printf(a->arena, prompt_ar, mst_rule_name(rule, MST_LANG_AR)));
    return status != MST_OK ? status : kept;
}

enum mst_status mst_ask_mark(struct asker *a, int32_t verse, enum mst_rule rule,
                             struct mst_question *q, int *made)
{
    return ask_places(a, verse, rule, 1,
                      "Read the verse from its head and stop at its end. Mark every letter on "
                      "which this rule acts: %s.",
                      "اقرأ الآية من أولها وقف على آخرها، وضع علامة على كل حرف وقع فيه: %s.", q,
                      made);
}

enum mst_status mst_ask_count(struct asker *a, int32_t verse, enum mst_rule rule,
                              struct mst_question *q, int *made)
{
    return ask_places(a, verse, rule, 1,
                      "Read the verse from its head and stop at its end. How many places of this "
                      "rule are in it: %s?",
                      "اقرأ الآية من أولها وقف على آخرها. كم موضعًا فيها وقع فيه: %s؟", q, made);
}

/* --- name the rule ---------------------------------------------------------------- */

/* A rule is at the letter in some way when a site of it covers the letter or hangs on it. */
static struct mst_rule_set rules_at(const struct asker *a, int32_t verse, int32_t letter)
{
    struct mst_rule_set found = {0};
    int32_t first, end;
    mst_ask_verse_sites(a, verse, &first, &end);
    for (int32_t n = first; n < end; n++) {
        const struct mst_site *s = &a->survey.r->sites[n];
        if ((s->first <= letter && letter <= s->last) || s->trigger == letter || s->host == letter)
            found.bits |= UINT64_C(1) << s->rule;
    }
    return found;
}

static const struct mst_site *a_site(struct asker *a, int32_t verse, enum mst_rule rule)
{
    int32_t first, end, at = 0;
    int32_t chosen = (int32_t)mst_ask_dice(&a->dice, (uint32_t)mst_ask_places(a, verse, rule));
    mst_ask_verse_sites(a, verse, &first, &end);
    for (int32_t n = first; n < end; n++)
        if (a->survey.r->sites[n].rule == rule && at++ == chosen)
            return &a->survey.r->sites[n];
    return NULL;
}

/* Names beside the right one: of no rule at the letter, near none that is there, nor each other. */
static int32_t wrong_names(struct asker *a, enum mst_rule rule, struct mst_rule_set present,
                           struct mst_question_option *out, int32_t wanted)
{
    int32_t like[MST_RULE_COUNT], count = 0;
    int32_t likes = mst_ask_rules_like(a, rule, present, like);
    for (int32_t n = 0; n < likes && count < wanted; n++) {
        int near = 0;
        for (int other = 0; other < MST_RULE_COUNT; other++)
            near |= mst_rule_set_has(present, (enum mst_rule)other) &&
                    mst_ask_too_near(a, (enum mst_rule)other, (enum mst_rule)like[n]);
        if (!near)
            mst_ask_option_rule(&out[count++], (enum mst_rule)like[n]);
    }
    return count;
}

enum mst_status mst_ask_name(struct asker *a, int32_t verse, enum mst_rule rule,
                             struct mst_question *q, int *made)
{
    struct mst_string en = {0}, ar = {0}, asked_en = {0}, asked_ar = {0};
    *made = 0;
    if (!readable(a, verse, WORDS_MOST) || mst_ask_places(a, verse, rule) <= 0)
        return MST_OK;
    const struct mst_site *site = a_site(a, verse, rule);
    struct mst_rule_set present = rules_at(a, verse, site->trigger);
    q->options = mst_arena_alloc(a->arena, OPTIONS, sizeof *q->options);
    if (!q->options)
        return mst_find_no_memory(a->err);
    mst_ask_option_rule(&q->options[0], rule);
    if (wrong_names(a, rule, present, q->options + 1, OPTIONS - 1) < OPTIONS - 1)
        return MST_OK;
    *made = 1;
    q->option_count = OPTIONS;
    q->right = 1;
    q->range = mst_ask_verse_range(a, verse);
    q->verse = mst_ask_verse_text(a, verse);
    q->at = mst_letter_addr(a->survey.r, site->trigger);
    mst_string_adds(&asked_en, "Read the verse from its head and stop at its end. ");
    mst_string_addf(&asked_en, "Which of these acts on letter %d of word %d, ", (int)q->at.letter,
                    (int)q->at.word);
    mst_string_addf(
        &asked_ar,
        "اقرأ الآية من أولها وقف على آخرها. أي هذه الأحكام وقع في الحرف رقم %d من الكلمة "
        "رقم %d، ",
        (int)q->at.letter, (int)q->at.word);
    mst_ask_place_add(a, site->trigger, &asked_en, &asked_ar);
    mst_string_adds(&asked_en, "?");
    mst_string_adds(&asked_ar, "؟");
    reason_add(a, site, &en, &ar);
    const char *prompt_en = mst_ask_keep(a, &asked_en), *prompt_ar = mst_ask_keep(a, &asked_ar);
    mst_ask_options_shuffle(a, q);
    enum mst_status status = texts_set(a, q, &en, &ar, prompt_en, prompt_ar);
    return status == MST_OK && !q->verse ? mst_find_no_memory(a->err) : status;
}

/* --- which does not have it --------------------------------------------------------- */

enum mst_status mst_ask_without(struct asker *a, int32_t verse, enum mst_rule rule,
                                struct mst_question *q, int *made)
{
    int32_t beside[OPTIONS - 1], count = 0;
    struct mst_string en = {0}, ar = {0};
    *made = 0;
    if (!readable(a, verse, OPTION_WORDS) || mst_ask_places(a, verse, rule) != 0)
        return MST_OK;
    for (int32_t n = 0; n < a->verse_count && count < OPTIONS - 1; n++)
        if (a->verses[n] != verse && readable(a, a->verses[n], OPTION_WORDS) &&
            mst_ask_places(a, a->verses[n], rule) > 0)
            beside[count++] = a->verses[n];
    if (count < OPTIONS - 1)
        return MST_OK;
    *made = 1;
    q->options = mst_arena_alloc(a->arena, OPTIONS, sizeof *q->options);
    if (!q->options)
        return mst_find_no_memory(a->err);
    q->option_count = OPTIONS;
    q->right = 1;
    enum mst_status status = mst_ask_option_verse(a, &q->options[0], verse);
    for (int32_t n = 0; status == MST_OK && n < count; n++) {
        int32_t first, end;
        status = mst_ask_option_verse(a, &q->options[n + 1], beside[n]);
        mst_ask_verse_sites(a, beside[n], &first, &end);
        while (a->survey.r->sites[first].rule != rule)
            first++;
        mst_string_adds(&en, n ? "; " : "The others have it: ");
        mst_string_adds(&ar, n ? "؛ " : "وهو في الأخرى: ");
        reason_add(a, &a->survey.r->sites[first], &en, &ar);
    }
    mst_ask_options_shuffle(a, q);
    enum mst_status kept =
        texts_set(a, q, &en, &ar,
                  mst_arena_printf(a->arena,
                                   "Each verse is read from its head and stopped at its end. Which "
                                   "of these does not have this rule: %s?",
                                   mst_rule_name(rule, MST_LANG_EN)),
                  mst_arena_printf(
                      a->arena, "تُقرأ كل آية من أولها ويوقف على آخرها. أي هذه الآيات ليس فيها: %s؟",
                      mst_rule_name(rule, MST_LANG_AR)));
    return status != MST_OK ? status : kept;
}
