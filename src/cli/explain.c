/* explain.c – `mistara explain`: one letter or word, all that happens there, and why. */
#include "cli.h"

struct request {
    int json;
};

static const struct option_row rows[] = {
    {"json", 0, OPTION_FLAG, NULL, "one JSON object, for other programs",
     offsetof(struct request, json)},
};
static const struct option_group group = {"Options:", rows, sizeof rows / sizeof rows[0]};

enum { LABEL_COLUMN = 14, WORDS_AROUND = 3 };

/* The letters that were asked about, as indices into the reading. */
struct place {
    const struct mst_reading *r;
    struct mst_addr address;
    int32_t word;
    int32_t first, last;
};

/* From the verse before to the verse after, so that what reaches across a verse end is seen. */
static struct mst_range surroundings(const struct mst_text *text, struct mst_addr at)
{
    int32_t index = mst_text_verse_index(text, at.sura, at.verse ? at.verse : 1);
    int32_t before = index > 0 && at.verse ? index - 1 : index;
    int32_t after = index + 1 < MST_VERSE_COUNT ? index + 1 : index;
    return (struct mst_range){mst_text_verse_addr(text, before), mst_text_verse_addr(text, after)};
}

static enum mst_status place_find(const struct mst_reading *r, struct mst_addr at,
                                  struct place *place, struct mst_error *err)
{
    char printed[48];
    for (int32_t w = 0; w < r->word_count; w++) {
        const struct mst_word *word = &r->words[w];
        if (word->sura != at.sura || word->verse != at.verse || word->word != at.word)
            continue;
        int32_t first = word->first_letter;
        *place = (struct place){r, at, w, first, first + word->letter_count - 1};
        if (at.letter > word->letter_count) {
            at.letter = 0;
            return mst_fail(err, MST_NOT_FOUND, "word %s has %d letters; %d asked",
                            mst_addr_print(at, printed), word->letter_count, place->address.letter);
        }
        if (at.letter > 0)
            place->first = place->last = first + at.letter - 1;
        return MST_OK;
    }
    return mst_fail(err, MST_NOT_FOUND, "%s is not read here: %s", mst_addr_print(at, printed),
                    at.verse ? "there is no such word" : "the basmala is left out");
}

/* The site acts on, covers or comes from one of the place's letters. */
static int site_touches(const struct mst_site *site, const struct place *place)
{
    int covers = site->first <= place->last && site->last >= place->first;
    int host = site->host >= place->first && site->host <= place->last;
    return covers || host;
}

static void label(struct out *out, const char *words)
{
    mst_string_adds(&out->text, "   ");
    out_ink(out, INK_QUIET);
    out_padded(out, mst_span_of(words), LABEL_COLUMN - 3);
    out_ink(out, INK_PLAIN);
}

static void labelled(struct out *out, const char *words, const char *text)
{
    label(out, words);
    out_wrapped(out, mst_span_of(text), LABEL_COLUMN, out->columns);
}

static void labelled_arabic(struct out *out, const char *words, struct mst_span text)
{
    label(out, words);
    out_arabic(out, text);
    mst_string_adds(&out->text, "\n");
}

/* The word in bold among its neighbours. */
static void print_place(const struct place *place, struct out *out)
{
    const struct mst_reading *r = place->r;
    const struct mst_word *word = &r->words[place->word];
    const struct mst_sura *sura = mst_text_sura(r->text, word->sura);
    struct mst_string *s = &out->text;
    char address[48];

    out_ink(out, INK_STRONG);
    mst_string_adds(s, mst_addr_print(place->address, address));
    out_ink(out, INK_PLAIN);
    if (sura) {
        mst_string_addf(s, "  %.*s ", (int)sura->name_en.len, sura->name_en.ptr);
        out_arabic(out, sura->name_ar);
    }
    mst_string_adds(s, "\n   ");
    int32_t from = place->word > WORDS_AROUND ? place->word - WORDS_AROUND : 0;
    int32_t to =
        place->word + WORDS_AROUND < r->word_count ? place->word + WORDS_AROUND : r->word_count - 1;
    mst_string_add_cp(s, 0x2067);
    for (int32_t w = from; w <= to; w++) {
        struct mst_span printed = mst_reading_word(r, w);
        if (w > from)
            mst_string_adds(s, " ");
        out_ink(out, w == place->word ? INK_HIT : INK_PLAIN);
        mst_string_add(s, printed.ptr, printed.len);
        out_ink(out, INK_PLAIN);
    }
    mst_string_add_cp(s, 0x2069);
    mst_string_adds(s, "\n");
}

static void print_letter(const struct mst_letter *letter, struct out *out)
{
    const struct mst_articulation *a = mst_articulation_of(letter->base);
    if (!a)
        return;
    struct mst_string *s = &out->text;
    mst_string_adds(s, "\n");
    out_ink(out, INK_STRONG);
    mst_string_addf(s, "The letter %s ", a->name_en);
    out_arabic(out, mst_span_of(a->name_ar));
    out_ink(out, INK_PLAIN);
    mst_string_adds(s, "\n");
    label(out, "place");
    mst_string_addf(s, "%s: %s (place %d of 17)\n", a->region_en, a->place_en, a->place);
    labelled_arabic(out, "", mst_span_of(a->place_ar));
    label(out, "qualities");
    const char *between = "";
    for (int q = 0; q < MST_QUALITY_COUNT; q++) {
        if (!(a->qualities >> q & 1u))
            continue;
        mst_string_addf(s, "%s%s ", between, mst_quality_name(q, MST_LANG_EN));
        out_arabic(out, mst_span_of(mst_quality_name(q, MST_LANG_AR)));
        between = ", ";
    }
    mst_string_adds(s, "\n");
    labelled(out, "source", mst_articulation_source());
}

static const char *const occasions[] = {
    [MST_ALWAYS] = "always",
    [MST_JOINING] = "only when reading on",
    [MST_STOPPING] = "only when stopping here",
    [MST_STARTING] = "only when starting here",
};

static void print_site(const struct mst_reading *r, const struct mst_site *site, int number,
                       struct out *out)
{
    struct mst_string *s = &out->text, text = {0};
    char from[48], to[48], counts[24];

    mst_string_adds(s, "\n");
    out_ink(out, INK_STRONG);
    mst_string_addf(s, "%d. %s ", number, mst_rule_name(site->rule, MST_LANG_EN));
    out_arabic(out, mst_span_of(mst_rule_name(site->rule, MST_LANG_AR)));
    out_ink(out, INK_PLAIN);
    mst_string_addf(s, " (%s)\n", mst_rule_id(site->rule));

    label(out, "where");
    mst_string_adds(s, letter_address(r, site->first, from));
    if (site->last != site->first)
        mst_string_addf(s, " to %s", letter_address(r, site->last, to));
    mst_string_adds(s, "  ");
    words_of_letters(r, site->first, site->last, &text);
    out_arabic(out, (struct mst_span){text.ptr, text.len});
    mst_string_addf(s, "\n");

    labelled(out, "when", occasions[site->when]);
    if (site->counts)
        labelled(out, "counts", counts_text(site, counts));
    if (site->both_ways)
        labelled(out, "also", "the transmission allows the other way here too");

    text.len = 0;
    mst_site_reason(r, site, MST_LANG_EN, &text);
    label(out, "why");
    out_wrapped(out, (struct mst_span){text.ptr, text.len}, LABEL_COLUMN, out->columns);
    text.len = 0;
    mst_site_reason(r, site, MST_LANG_AR, &text);
    labelled_arabic(out, "", (struct mst_span){text.ptr, text.len});
    labelled(out, "mouth", mst_rule_mouth(site->rule, MST_LANG_EN));
    labelled_arabic(out, "", mst_span_of(mst_rule_mouth(site->rule, MST_LANG_AR)));
    labelled(out, "source", mst_rule_source(site->rule));
    s->failed |= text.failed;
    mst_string_free(&text);
}

static void print_table(const struct place *place, struct out *out)
{
    int number = 0;
    print_place(place, out);
    if (place->address.letter)
        print_letter(&place->r->letters[place->first], out);
    for (int32_t n = 0; n < place->r->site_count; n++)
        if (site_touches(&place->r->sites[n], place))
            print_site(place->r, &place->r->sites[n], ++number, out);
    if (number == 0)
        mst_string_adds(&out->text, "\nNo rule acts here in this reading: the letters are read as "
                                    "they are written.\n");
}

static void print_json(const struct place *place, struct out *out)
{
    struct mst_string *s = &out->text, words = {0};
    char address[48];
    mst_string_adds(s, "{");
    json_text(s, "at", mst_span_of(mst_addr_print(place->address, address)));
    words_of_letters(place->r, place->first, place->last, &words);
    json_text_or_null(s, "word", (struct mst_span){words.ptr, words.len});
    json_key(s, "sites");
    mst_string_adds(s, "[");
    const char *between = "";
    for (int32_t n = 0; n < place->r->site_count; n++) {
        const struct mst_site *site = &place->r->sites[n];
        if (!site_touches(site, place))
            continue;
        mst_string_adds(s, between);
        site_json(place->r, site, s);
        s->len--; /* the closing brace: two more members */
        json_text(s, "mouth", mst_span_of(mst_rule_mouth(site->rule, MST_LANG_EN)));
        json_text(s, "mouth_ar", mst_span_of(mst_rule_mouth(site->rule, MST_LANG_AR)));
        json_text(s, "source", mst_span_of(mst_rule_source(site->rule)));
        mst_string_adds(s, "}");
        between = ",";
    }
    mst_string_adds(s, "]}\n");
    s->failed |= words.failed;
    mst_string_free(&words);
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {0};
    struct reading_request how = {0};
    void *const targets[] = {&request, &how};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_reading *reading = NULL;
    struct mst_reading_options options;
    struct mst_addr at;
    struct place place = {0};
    struct mst_span typed;

    enum mst_status status = options_read(self, argc, argv, targets, arena, &typed, err);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = mst_addr_parse(text, typed, &at, err);
    if (status == MST_OK && at.word == 0)
        status = mst_fail(err, MST_USAGE,
                          "“%.*s” is a whole %s: explain takes a word (67:3:2) or a letter "
                          "(67:3:2:1); “mistara sites %.*s” lists all of it",
                          (int)typed.len, typed.ptr, at.verse == 0 ? "sura" : "verse",
                          (int)typed.len, typed.ptr);
    if (status == MST_OK)
        status = reading_options(&how, text, arena, &options, err);
    if (status == MST_OK)
        status = mst_reading_new(text, surroundings(text, at), &options, arena, &reading, err);
    if (status == MST_OK)
        status = place_find(reading, at, &place, err);
    if (status == MST_OK) {
        if (request.json)
            print_json(&place, out);
        else
            print_table(&place, out);
    }
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_explain = {
    .name = "explain",
    .arguments = "ADDRESS",
    .asks = "the address of a word or letter, for example: mistara explain 67:3:17",
    .summary = "what happens at one word or letter, why, and what the mouth does",
    .about = "Explains one word (sura:verse:word) or letter (sura:verse:word:letter): every rule\n"
             "that acts there or is caused from there, why, in English and Arabic, what mouth,\n"
             "lips and nose do, and the published source; for a letter also its place of\n"
             "articulation and its qualities. The verses around it are read along, so that\n"
             "rules across words are seen.",
    .examples = "  mistara explain 67:3:17                  one word, stopping at verse ends\n"
                "  mistara explain 67:3:17:2                one letter of it\n"
                "  mistara explain 112:1:4 --stops none     the same word when going on\n",
    .groups = {&group, &reading_group},
    .run = run,
};
