/* sounds.c – `mistara sounds`: what is to be heard, sound by sound. */
#include "cli.h"

struct request {
    int json;
};

static const struct option_row rows[] = {
    {"json", 0, OPTION_FLAG, NULL, "JSON Lines, one sound a line, for other programs",
     offsetof(struct request, json)},
};
static const struct option_group group = {"Options:", rows, sizeof rows / sizeof rows[0]};

enum { ADDRESS_COLUMN = 9 };

static void sound_json(const struct mst_reading *r, const struct mst_sound *sound,
                       struct mst_string *s)
{
    static const char *const pauses[] = {NULL, "stop", "sakt"};
    const struct mst_word *word = &r->words[sound->word_idx];
    char address[48];

    mst_string_adds(s, "{");
    json_text(s, "phone", mst_span_of(mst_phone_id(sound->phone)));
    json_text(s, "ipa", mst_span_of(mst_phone_ipa(sound->phone)));
    json_key(s, "letters");
    mst_string_adds(s, "[");
    for (int32_t n = sound->first_letter; n <= sound->last_letter; n++)
        mst_string_addf(s, "%s\"%s\"", n > sound->first_letter ? "," : "",
                        letter_address(r, n, address));
    mst_string_adds(s, "]");
    struct mst_addr at = {word->sura, word->verse, word->word, 0};
    json_text(s, "word", mst_span_of(mst_addr_print(at, address)));
    if (sound->counts) {
        json_number(s, "counts", sound->counts);
        json_number(s, "counts_min", sound->counts_min);
        json_number(s, "counts_max", sound->counts_max);
    } else {
        json_null(s, "counts");
        json_null(s, "counts_min");
        json_null(s, "counts_max");
    }
    json_bool(s, "nasal", sound->nasal);
    json_bool(s, "heavy", sound->heavy);
    if (sound->rank)
        json_number(s, "rank", sound->rank);
    else
        json_null(s, "rank");
    json_bool(s, "geminate", sound->geminate);
    if (sound->echo)
        json_number(s, "echo", sound->echo);
    else
        json_null(s, "echo");
    json_bool(s, "rawm", sound->rawm);
    json_text_or_null(s, "pause", mst_span_of(pauses[sound->pause] ? pauses[sound->pause] : ""));
    mst_string_adds(s, "}\n");
}

/* One verse (or the part of it that is read): the print, and beneath it what is heard. */
static void print_verse(const struct mst_reading *r, int32_t first_word, int32_t end_word,
                        struct out *out)
{
    const struct mst_word *first = &r->words[first_word], *last = &r->words[end_word - 1];
    struct mst_string text = {0};
    char address[48];

    words_of_letters(r, first->first_letter, last->first_letter, &text);
    out_ink(out, INK_STRONG);
    out_padded(out, mst_span_of(verse_address(first, address)), ADDRESS_COLUMN);
    out_arabic(out, (struct mst_span){text.ptr, text.len});
    out_ink(out, INK_PLAIN);
    mst_string_addf(&out->text, "\n%*s", ADDRESS_COLUMN, "");
    text.len = 0;
    int32_t end = last->first_sound + last->sound_count;
    mst_sounds_ipa(r, first->first_sound, end, &text);
    int pause = end > 0 ? r->sounds[end - 1].pause : 0;
    if (pause == 2) /* a stop at the end of a line needs no sign */
        mst_string_adds(&text, mst_pause_ipa(pause));
    out_wrapped(out, (struct mst_span){text.ptr, text.len}, ADDRESS_COLUMN, out->columns);
    out->text.failed |= text.failed;
    mst_string_free(&text);
}

static void print_verses(const struct mst_reading *r, struct out *out)
{
    for (int32_t w = 0, end; w < r->word_count; w = end) {
        const struct mst_word *first = &r->words[w];
        for (end = w + 1; end < r->word_count; end++)
            if (r->words[end].sura != first->sura || r->words[end].verse != first->verse)
                break;
        if (w > 0)
            mst_string_adds(&out->text, "\n");
        print_verse(r, w, end, out);
        out_more(out);
    }
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
    struct mst_span passage;

    enum mst_status status = options_read(self, argc, argv, targets, arena, &passage, err);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = reading_open(text, passage, &how, arena, &reading, err);
    if (status == MST_OK && request.json) {
        for (int32_t n = 0; n < reading->sound_count; n++) {
            sound_json(reading, &reading->sounds[n], &out->text);
            out_more(out);
        }
    } else if (status == MST_OK) {
        print_verses(reading, out);
    }
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_sounds = {
    .name = "sounds",
    .arguments = "PASSAGE",
    .asks = "a passage, for example: mistara sounds 112",
    .summary = "what is to be heard, as a line of phonetic signs",
    .about = "Prints each verse and under it what is to be heard, in the signs of the\n"
             "International Phonetic Alphabet as far as they reach; “|” is a stop. With --json\n"
             "each sound with its letters, counts, nasal hold, weight, doubling and echo.",
    .examples = "  mistara sounds 112                       verse by verse\n"
                "  mistara sounds 67:1 --stops 67:1:4       with a stop after the fourth word\n"
                "  mistara sounds 78:1-5 --json             for other programs\n",
    .groups = {&group, &reading_group},
    .run = run,
};
