/*
 * reading.c – the options of a reading under plain names. What they mean, and
 * which of them go together, is known to the engine alone.
 */
#include "cli.h"

#define TARGET(field) offsetof(struct reading_request, field)

static const struct option_row rows[] = {
    {"stops", 0, OPTION_TEXT, "WHERE",
     "where the reader stops: verses (every verse end, the default), signs (there and "
     "at the printed pause signs), none (only at the very end), or words as addresses "
     "with commas between them, such as 67:1:3,67:2:4",
     TARGET(stops)},
    {"rawm", 0, OPTION_FLAG, NULL, "stop with rawm, a third of the vowel, where the word allows it",
     TARGET(rawm)},
    {"ishmam", 0, OPTION_FLAG, NULL,
     "stop with ishmām, the lips rounded without sound, where the word allows it", TARGET(ishmam)},
    {"no-basmala", 0, OPTION_FLAG, NULL,
     "leave out the basmala at the head of a sura; between two suras one who goes on without a "
     "stop "
     "reads it all the same",
     TARGET(options.no_basmala)},
    {"istiadha", 0, OPTION_FLAG, NULL, "begin with the seeking of refuge",
     TARGET(options.istiadha)},
    {"muttasil", 0, OPTION_COUNT, "COUNTS", "joined lengthening: 4 (default) or 5",
     TARGET(options.muttasil)},
    {"munfasil", 0, OPTION_COUNT, "COUNTS",
     "parted lengthening: 4 or 5, as the joined one; 2 is the way of another path",
     TARGET(options.munfasil)},
    {"arid", 0, OPTION_COUNT, "COUNTS", "lengthening before a stop: 2, 4 (default) or 6",
     TARGET(options.arid)},
    {"lin", 0, OPTION_COUNT, "COUNTS",
     "soft lengthening before a stop: 2, 4 or 6, not longer than --arid (default: as it)",
     TARGET(options.lin)},
    {"ayn", 0, OPTION_COUNT, "COUNTS", "the letter ʿayn of the openings: 4 or 6 (default)",
     TARGET(options.ayn)},
    {"muttasil-stop-6", 0, OPTION_FLAG, NULL,
     "6 counts where the reader stops on the hamza of a joined lengthening",
     TARGET(options.muttasil_stop_6)},
    {"easing", 0, OPTION_FLAG, NULL,
     "ease the second hamza of the question words (6:143, 10:51, 10:59 …) instead of 6 counts",
     TARGET(options.question_easing)},
    {"tamanna-rawm", 0, OPTION_FLAG, NULL, "12:11 with rawm instead of ishmām",
     TARGET(options.tamanna_rawm)},
    {"atani-without-ya", 0, OPTION_FLAG, NULL, "stop on 27:36:8 without its yāʾ",
     TARGET(options.atani_without_ya)},
    {"duf-damm", 0, OPTION_FLAG, NULL, "30:54 with ḍamma instead of fatḥa",
     TARGET(options.duf_damm)},
    {"musaytirun-sin", 0, OPTION_FLAG, NULL, "52:37 with sīn instead of ṣād",
     TARGET(options.musaytirun_sin)},
    {"maliyah-merge", 0, OPTION_FLAG, NULL,
     "69:28 merged into what follows instead of the breathless pause",
     TARGET(options.maliyah_merge)},
    {"salasila-alif", 0, OPTION_FLAG, NULL, "stop on 76:4:4 with its alif",
     TARGET(options.salasila_alif)},
    {"nakhluqkum-partial", 0, OPTION_FLAG, NULL, "77:20 merged in part instead of whole",
     TARGET(options.nakhluqkum_partial)},
    {"alim-allah-2", 0, OPTION_FLAG, NULL,
     "the mīm of 3:1 joined to 3:2 with 2 counts instead of 6", TARGET(options.alim_allah_2)},
    {"firq-light", 0, OPTION_FLAG, NULL, "26:63 with a light rāʾ", TARGET(options.firq_light)},
    {"anfal-sakt", 0, OPTION_FLAG, NULL,
     "a breathless pause between suras 8 and 9 where the reader goes on",
     TARGET(options.anfal_sakt)},
};

const struct option_group reading_group = {"How it is read (Ḥafṣ by way of al-Shāṭibiyya):", rows,
                                           sizeof rows / sizeof rows[0]};

enum mst_status reading_options(const struct reading_request *request, const struct mst_text *text,
                                struct mst_arena *arena, struct mst_reading_options *out,
                                struct mst_error *err)
{
    *out = request->options;
    if (request->rawm && request->ishmam)
        return mst_fail(err, MST_USAGE, "--rawm and --ishmam cannot both be read; choose one");
    if (request->rawm)
        out->stop_manner = MST_STOP_RAWM;
    if (request->ishmam)
        out->stop_manner = MST_STOP_ISHMAM;
    if (!request->stops)
        return MST_OK;
    struct mst_error why = {0};
    struct mst_span stop;
    struct mst_addr at;
    for (size_t next = 0; mst_list_next(mst_span_of(request->stops), &next, &stop);)
        if (mst_addr_parse(text, stop, &at, &why) == MST_OK && at.letter)
            return mst_fail(err, MST_USAGE,
                            "--stops takes words such as 67:1:3; “%.*s” names a letter",
                            (int)(stop.len < 60 ? stop.len : 60), stop.ptr);
    enum mst_status status = mst_stops_parse(text, mst_span_of(request->stops), arena, out, &why);
    if (status == MST_OK)
        return MST_OK;
    return mst_fail(err, status, "--stops takes verses, signs, none or words such as 67:1:3: %s",
                    why.message);
}

enum mst_status reading_open(const struct mst_text *text, struct mst_span passage,
                             const struct reading_request *request, struct mst_arena *arena,
                             struct mst_reading **out, struct mst_error *err)
{
    struct mst_range range;
    struct mst_reading_options options;
    enum mst_status status = mst_range_parse(text, passage, &range, err);
    if (status == MST_OK)
        status = reading_options(request, text, arena, &options, err);
    if (status == MST_OK)
        status = mst_reading_new(text, range, &options, arena, out, err);
    return status;
}

enum mst_status rules_chosen(const char *typed, struct mst_rule_set *out, struct mst_error *err)
{
    if (typed)
        return mst_rule_set_parse(mst_span_of(typed), out, err);
    *out = (struct mst_rule_set){UINT64_MAX};
    return MST_OK;
}

enum mst_status lang_chosen(const char *typed, enum mst_lang *out, struct mst_error *err)
{
    static const char *const names[] = {"en", "ar", NULL};
    int chosen = 0;
    enum mst_status status = choice_read("lang", typed, names, &chosen, err);
    *out = chosen ? MST_LANG_AR : MST_LANG_EN;
    return status;
}
