/* both.c – the end of a verse read both ways: going on into the next verse, and stopping. */
#include "parts.h"

enum { WORDS_MOST = 30, OPTIONS_LEAST = 4, OPTIONS_MOST = 6 };

struct way {
    const struct mst_reading *r;
    int32_t word;              /* the last of the verse */
    struct mst_rule_set rules; /* that act on a letter of it */
    int open;                  /* one of them may be read another way */
};

/* Sites stand in order of their triggers. */
static void way_read(struct way *w)
{
    const struct mst_word *word = &w->r->words[w->word];
    for (int32_t letter = word->first_letter; letter < word->first_letter + word->letter_count;
         letter++) {
        int32_t first, end;
        mst_sites_at(w->r, letter, &first, &end);
        for (int32_t n = first; n < end; n++) {
            w->rules.bits |= UINT64_C(1) << w->r->sites[n].rule;
            w->open |= w->r->sites[n].both_ways;
        }
    }
}

static void way_tell(const struct way *w, enum mst_lang lang, struct mst_string *s)
{
    const struct mst_word *word = &w->r->words[w->word];
    const char *between = "";
    mst_string_adds(s, "[");
    mst_sounds_ipa(w->r, word->first_sound, word->first_sound + word->sound_count, s);
    mst_string_adds(s, "] ");
    for (int rule = 0; rule < MST_RULE_COUNT; rule++)
        if (mst_rule_set_has(w->rules, (enum mst_rule)rule)) {
            mst_string_addf(s, "%s%s", between, mst_rule_name((enum mst_rule)rule, lang));
            between = lang == MST_LANG_AR ? "، " : ", ";
        }
}

static int clear_of(const struct asker *a, struct mst_rule_set present, enum mst_rule rule)
{
    if (mst_rule_set_has(present, rule))
        return 0;
    for (int other = 0; other < MST_RULE_COUNT; other++)
        if (mst_rule_set_has(present, (enum mst_rule)other) &&
            mst_ask_too_near(a, (enum mst_rule)other, rule))
            return 0;
    return 1;
}

/* What changes, what may stay, and names of rules that are in neither. */
static int options_set(struct asker *a, enum mst_rule rule, const struct way *on,
                       const struct way *stop, struct mst_question *q)
{
    struct mst_rule_set present = {on->rules.bits | stop->rules.bits};
    uint64_t changed = on->rules.bits ^ stop->rules.bits, stays = on->rules.bits & stop->rules.bits;
    int32_t like[MST_RULE_COUNT];
    for (int n = 0; n < MST_RULE_COUNT; n++) {
        int wanted = (changed >> n & 1u) || ((stays >> n & 1u) && q->option_count < 2);
        if (!wanted)
            continue;
        if (q->option_count == OPTIONS_MOST)
            return 0;
        uint32_t bit = 1u << q->option_count;
        if (mst_rule_set_has(on->rules, (enum mst_rule)n))
            q->right |= bit;
        if (mst_rule_set_has(stop->rules, (enum mst_rule)n))
            q->right_stopping |= bit;
        mst_ask_option_rule(&q->options[q->option_count++], (enum mst_rule)n);
    }
    int32_t likes = mst_ask_rules_like(a, rule, present, like);
    for (int32_t n = 0; n < likes && q->option_count < OPTIONS_LEAST; n++)
        if (clear_of(a, present, (enum mst_rule)like[n]))
            mst_ask_option_rule(&q->options[q->option_count++], (enum mst_rule)like[n]);
    return q->option_count >= OPTIONS_LEAST;
}

static enum mst_status going_on(const struct asker *a, int32_t verse, struct mst_arena *arena,
                                struct way *out)
{
    struct mst_reading_options options = a->survey.options;
    struct mst_range range = {mst_text_verse_addr(a->text, verse),
                              mst_text_verse_addr(a->text, verse + 1)};
    struct mst_reading *r;
    options.stops = MST_STOPS_NONE;
    enum mst_status status = mst_reading_new(a->text, range, &options, arena, &r, a->err);
    if (status != MST_OK)
        return status;
    out->r = r;
    out->word = mst_ask_verse_words(a, verse) - 1;
    way_read(out);
    return MST_OK;
}

static enum mst_status texts_set(const struct asker *a, const struct way *on,
                                 const struct way *stop, struct mst_question *q)
{
    struct mst_string en = {0}, ar = {0};
    mst_string_adds(&en, "Going on: ");
    way_tell(on, MST_LANG_EN, &en);
    mst_string_adds(&en, ". Stopping: ");
    way_tell(stop, MST_LANG_EN, &en);
    mst_string_adds(&en, ".");
    mst_string_adds(&ar, "وصلًا: ");
    way_tell(on, MST_LANG_AR, &ar);
    mst_string_adds(&ar, ". وقفًا: ");
    way_tell(stop, MST_LANG_AR, &ar);
    mst_string_adds(&ar, ".");
    q->why_en = mst_ask_keep(a, &en);
    q->why_ar = mst_ask_keep(a, &ar);
    q->prompt_en = "Read the verse twice: going on into the next one, and stopping at its end with "
                   "sukūn. Which of these act on its last word going on, and which stopping?";
    q->prompt_ar =
        "اقرأ الآية مرتين: واصلًا بما بعدها، وواقفًا على آخرها بالسكون. أي هذه الأحكام يقع في "
        "كلمتها الأخيرة وصلًا، وأيها وقفًا؟";
    return q->why_en && q->why_ar && q->verse ? MST_OK : mst_find_no_memory(a->err);
}

enum mst_status mst_ask_both(struct asker *a, int32_t verse, enum mst_rule rule,
                             struct mst_question *q, int *made)
{
    struct way on = {0}, stop = {.r = a->survey.r, .word = a->survey.first_word[verse + 1] - 1};
    *made = 0;
    if (verse + 1 == MST_VERSE_COUNT || mst_ask_verse_words(a, verse) > WORDS_MOST ||
        mst_text_verse_addr(a->text, verse).sura != mst_text_verse_addr(a->text, verse + 1).sura)
        return MST_OK;
    way_read(&stop);
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        return mst_find_no_memory(a->err);
    enum mst_status status = going_on(a, verse, arena, &on);
    uint64_t changed = on.rules.bits ^ stop.rules.bits;
    if (status == MST_OK && !on.open && !stop.open && (changed >> rule & 1u)) {
        q->options = mst_arena_alloc(a->arena, OPTIONS_MOST, sizeof *q->options);
        if (!q->options)
            status = mst_find_no_memory(a->err);
        else
            *made = options_set(a, rule, &on, &stop, q);
    }
    if (status == MST_OK && *made) {
        q->range = mst_ask_verse_range(a, verse);
        q->verse = mst_ask_verse_text(a, verse);
        status = texts_set(a, &on, &stop, q);
        mst_ask_options_shuffle(a, q);
    }
    mst_arena_free(arena);
    return status;
}
