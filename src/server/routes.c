/* routes.c – every door of the desk, in one table. */
#include "desk.h"

const char *const method_names[METHOD_COUNT] = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE"};

#define SHEET                                                                                      \
    "passage rules title class stage fade stages paper size font gloss labels key no_stops theme " \
    "page dpi"
#define SCOPE "rules in untaught by "

const struct route routes[] = {
    {GET, "/healthz", OPEN, "", get_health},
    {GET, "/api/session", OPEN, "", get_session},
    {POST, "/api/session", OPEN | JSON | NO_TOKEN | SLOW, "", post_session},
    {DELETE, "/api/session", 0, "", delete_session},
    {PUT, "/api/passphrase", JSON | SLOW, "", put_passphrase},

    {GET, "/api/suras", 0, "", get_suras},
    {GET, "/api/translations", 0, "", get_translations},
    {GET, "/api/divisions", 0, "kind", get_divisions},
    {GET, "/api/passage", 0, "q", get_passage},
    {GET, "/api/verses", 0, "passage with", get_verses},
    {GET, "/api/search", SLOW, "q in limit", get_search},
    {GET, "/api/rules", 0, "", get_rules},
    {GET, "/api/letters", 0, "", get_letters},
    {GET, "/api/reading", HOW, "passage lang", get_reading},
    {GET, "/api/ink", SLOW, "passage", get_ink},
    {GET, "/api/explain", HOW, "at", get_explain},
    {GET, "/api/faults", SLOW | HOW, "passage", get_faults},

    {GET, "/api/sheet.svg", SLOW | HOW, SHEET, get_sheet_svg},
    {GET, "/api/sheet.png", SLOW | HOW, SHEET, get_sheet_png},
    {GET, "/api/sheet.pdf", SLOW | HOW, SHEET, get_sheet_pdf},
    {GET, "/api/sheet.json", SLOW | HOW, SHEET, get_sheet_json},
    {GET, "/api/sheet.txt", SLOW | HOW, SHEET, get_sheet_txt},
    {POST, "/api/sheets", JSON, "", post_sheets},

    {GET, "/api/find/examples", SLOW | HOW,
     SCOPE "hosts triggers nun words_across words_min words_max per cut", get_examples},
    {GET, "/api/find/passages", SLOW | HOW,
     SCOPE "words_min words_max lines_min lines_max minutes_min minutes_max pace share limit",
     get_passages},
    {GET, "/api/find/cover", SLOW | HOW, SCOPE "family times cost contiguous seconds", get_cover},

    {GET, "/api/takes", 0, "passage", get_takes},
    {POST, "/api/takes", SOUND | HOW, "name passage listen voice keep_voice model", post_takes},
    {GET, "/api/takes/*", 0, "", get_take},
    {PATCH, "/api/takes/*", JSON, "", patch_take},
    {DELETE, "/api/takes/*", 0, "", delete_take},
    {GET, "/api/takes/*/audio", 0, "", get_take_audio},
    {POST, "/api/takes/*/listen", JSON, "", post_take_listen},
    {GET, "/api/takes/*/report", 0, "lang", get_take_report},
    {GET, "/api/takes/*/report.vtt", 0, "", get_take_export},
    {GET, "/api/takes/*/report.tsv", 0, "", get_take_export},
    {GET, "/api/takes/*/report.txt", 0, "", get_take_export},
    {GET, "/api/takes/*/report.html", 0, "lang", get_take_export},
    {GET, "/api/takes/*/report.pdf", 0, "lang", get_take_export},
    {GET, "/api/takes/*/peaks", SLOW, "start_ms end_ms columns", get_take_peaks},
    {GET, "/api/takes/*/spectrogram.png", SLOW, "start_ms end_ms width theme",
     get_take_spectrogram},
    {GET, "/api/takes/*/pins", 0, "", get_take_pins},
    {PUT, "/api/takes/*/pins", JSON, "", put_take_pins},
    {POST, "/api/comparisons", JSON, "", post_comparisons},

    {GET, "/api/voices", 0, "", get_voices},
    {POST, "/api/voices", JSON, "", post_voices},
    {DELETE, "/api/voices/*", 0, "", delete_voice},

    {GET, "/api/lessons", 0, "", get_lessons},
    {POST, "/api/lessons", JSON, "", post_lessons},
    {POST, "/api/lessons/check", JSON, "", post_lesson_check},
    {POST, "/api/lessons/draft", JSON | SLOW, "", post_lesson_draft},
    {GET, "/api/lessons/*", 0, "", get_lesson},
    {PUT, "/api/lessons/*", JSON, "", put_lesson},
    {DELETE, "/api/lessons/*", 0, "", delete_lesson},
    {POST, "/api/lessons/*/build", JSON, "", post_lesson_build},
    {GET, "/api/course", 0, "", get_course},
    {PUT, "/api/course", JSON, "", put_course},
    {GET, "/api/course/default", 0, "", get_course_default},
    {GET, "/api/course/plan", SLOW, "", get_course_plan},

    {GET, "/api/hearings", 0, "passage since", get_hearings},
    {POST, "/api/hearings", JSON, "", post_hearings},
    {PATCH, "/api/hearings/*", JSON, "", patch_hearing},
    {DELETE, "/api/hearings/*", 0, "", delete_hearing},
    {GET, "/api/settings", 0, "", get_settings},
    {PUT, "/api/settings", JSON, "", put_settings},

    {GET, "/api/jobs", 0, "state about", get_jobs},
    {GET, "/api/jobs/*", 0, "", get_job},
    {DELETE, "/api/jobs/*", 0, "", delete_job},
    {POST, "/api/jobs/*/cancel", JSON, "", post_job_cancel},
    {GET, "/api/jobs/*/files/*", 0, "", get_job_file},
    {GET, "/api/events", 0, "", get_events},
};
const size_t route_count = sizeof routes / sizeof routes[0];

void mst_server_routes(struct mst_string *out)
{
    for (size_t n = 0; n < route_count; n++) {
        const struct route *route = &routes[n];
        mst_string_addf(out, "%s %s%s%s%s%s%s%s\n", method_names[route->method], route->path,
                        route->flags & OPEN ? " open" : "", route->flags & JSON ? " json" : "",
                        route->flags & SOUND ? " sound" : "", route->flags & HOW ? " how" : "",
                        *route->params ? " " : "", route->params);
    }
}
