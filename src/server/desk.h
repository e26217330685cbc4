/*
 * desk.h – what the files of this floor share: the desk (everything that lives
 * as long as the server), a request (everything that lives as long as one
 * question), and how a handler answers.
 *
 * A handler reads the request, calls the floors below and fills the reply. It
 * returns a status: OK sends the reply, anything else the sentence in *err
 * with the HTTP status that belongs to it (docs/api.md). It never talks to
 * libmicrohttpd. Handlers run on the threads of the listener, those of routes
 * marked SLOW on threads of their own; a request belongs to one thread at a
 * time.
 */
#ifndef SERVER_DESK_H
#define SERVER_DESK_H

#include "json.h"

#include <jansson.h>
#include <microhttpd.h>
#include <mistara/server.h>
#include <mistara/store.h>
#include <mistara/tajweed.h>
#include <mistara/typeset.h>
#include <pthread.h>
#include <stdatomic.h>

struct request;
struct gate;
struct events;
struct jobs;
struct sounds;
struct slow;
struct lines;
struct pages;

enum {
    VERSES_MOST = 300,
    BODY_MOST = 1 << 20,
    TYPESETS_MOST = 4,
    PARAMS_MOST = 48,
    REPLY_HEADERS_MOST = 8
};

struct desk {
    struct mst_server_options options; /* strings are copies */
    struct mst_text *text;
    struct mst_store *store;
    struct gate *gate;
    struct events *events;
    struct jobs *jobs;
    struct sounds *sounds;
    struct slow *slow;
    struct lines *lines;
    struct MHD_Daemon *daemon;
    int loopback, tls, port;
    atomic_int stopping;
    pthread_mutex_t typeset_lock, log_lock;
    struct mst_typeset *typesets[TYPESETS_MOST]; /* opened and idle */
    int typeset_count;
};

/* --- the question ------------------------------------------------------------- */
struct param {
    const char *name, *value; /* UTF-8 without NUL */
};

enum method { GET, HEAD, POST, PUT, PATCH, DELETE, METHOD_COUNT };
extern const char *const method_names[METHOD_COUNT];

enum route_flag {
    OPEN = 1,  /* nobody need be signed in */
    SLOW = 2,  /* takes more than a few ms */
    HOW = 4,   /* takes the parameters of a reading */
    SOUND = 8, /* the body is a sound file, streamed to disk */
    JSON = 16, /* the body is a JSON object */
    NO_TOKEN = 32
};

struct route {
    enum method method;
    const char *path; /* each star in it stands for one part without a slash */
    int flags;
    const char *params; /* names, parted by spaces */
    enum mst_status (*run)(struct request *rq, struct mst_error *err);
};
extern const struct route routes[];
extern const size_t route_count;

/* --- the answer ---------------------------------------------------------------- */
struct reply {
    unsigned status;  /* HTTP; 0: 200 */
    const char *type; /* NULL: JSON */
    struct mst_string body;
    /* Instead of a body: bytes of a file, closed when sent (-1: none) … */
    int fd;
    uint64_t fd_offset, fd_bytes;
    /* … bytes that live as long as the server … */
    struct mst_span kept;
    /* … or the stream of events. */
    int events;
    const char *headers[REPLY_HEADERS_MOST][2];
    int header_count;
    int own_policy; /* it brings its own content security policy */
};

struct request {
    struct desk *desk;
    struct MHD_Connection *connection;
    const struct route *route;
    enum method method;
    const char *url;
    char client[64];     /* address it came from, behind a proxy the one it names */
    const char *args[2]; /* the parts a * of the path stands for */
    struct param params[PARAMS_MOST];
    int param_count;
    struct mst_arena *arena;
    struct mst_string body;
    int64_t body_bytes;
    json_t *json; /* the body of JSON routes: an object */
    struct mst_incoming *incoming;
    struct mst_session session;
    int signed_in;
    struct reply reply;
    int64_t began_us;
    int state;
    struct request *next; /* waiting for a slow thread */
};

/* Headers: strings that live as long as the request. */
void reply_header(struct request *rq, const char *name, const char *value);
/* An error with a status and code of its own; the handler returns what this returns (OK). */
enum mst_status reply_error(struct request *rq, unsigned status, const char *code, const char *fmt,
                            ...) MST_PRINTF(4, 5);
void reply_failed(struct request *rq, enum mst_status status, const struct mst_error *err);
enum mst_status no_memory(struct mst_error *err);

/* --- parameters (params.c) -------------------------------------------------------- */
const char *param(const struct request *rq, const char *name); /* NULL: not given */
MST_MUST_CHECK enum mst_status param_wanted(const struct request *rq, const char *name,
                                            const char *example, const char **out,
                                            struct mst_error *err);
/* *io stays as it is when the parameter is not given. */
MST_MUST_CHECK enum mst_status param_integer(const struct request *rq, const char *name,
                                             int64_t least, int64_t most, int64_t *io,
                                             struct mst_error *err);
MST_MUST_CHECK enum mst_status param_int(const struct request *rq, const char *name, int least,
                                         int most, int *io, struct mst_error *err);
MST_MUST_CHECK enum mst_status param_real(const struct request *rq, const char *name, double least,
                                          double most, double *io, struct mst_error *err);
MST_MUST_CHECK enum mst_status param_flag(const struct request *rq, const char *name, int *io,
                                          struct mst_error *err);
/* names end with NULL. */
MST_MUST_CHECK enum mst_status param_choice(const struct request *rq, const char *name,
                                            const char *const names[], int *io,
                                            struct mst_error *err);
MST_MUST_CHECK enum mst_status param_lang(const struct request *rq, enum mst_lang *out,
                                          struct mst_error *err);
MST_MUST_CHECK enum mst_status param_rules(const struct request *rq, const char *name,
                                           struct mst_rule_set *out, struct mst_error *err);
MST_MUST_CHECK enum mst_status param_passage(const struct request *rq, struct mst_range *out,
                                             struct mst_error *err);
/* Members of the JSON body. text: *out stays when the member is not there. */
MST_MUST_CHECK enum mst_status body_text(const struct request *rq, const char *name, size_t most,
                                         const char **io, struct mst_error *err);
MST_MUST_CHECK enum mst_status body_text_or_null(const struct request *rq, const char *name,
                                                 size_t most, const char **io,
                                                 struct mst_error *err);
MST_MUST_CHECK enum mst_status body_flag(const struct request *rq, const char *name, int *io,
                                         struct mst_error *err);
MST_MUST_CHECK enum mst_status body_integer(const struct request *rq, const char *name, int64_t *io,
                                            struct mst_error *err);
/* Members that are not among names (parted by spaces) are refused. */
MST_MUST_CHECK enum mst_status body_only(const struct request *rq, const char *names,
                                         struct mst_error *err);

/* --- how a passage is read (how.c) --------------------------------------------------- */
/* Where options come from: the value of a name as text, NULL when it is not given. */
struct how_source {
    const char *(*get)(const void *from, const char *name, struct mst_arena *arena);
    const void *from;
};
int how_is_name(const char *name);
MST_MUST_CHECK enum mst_status how_read(const struct mst_text *text, struct how_source source,
                                        struct mst_arena *arena, struct mst_reading_options *out,
                                        struct mst_error *err);
MST_MUST_CHECK enum mst_status how_of_request(const struct request *rq,
                                              struct mst_reading_options *out,
                                              struct mst_error *err);
/* As kept with a take: a JSON object of the options that were given. */
MST_MUST_CHECK enum mst_status how_of_json(const struct mst_text *text, const json_t *object,
                                           struct mst_arena *arena, struct mst_reading_options *out,
                                           struct mst_error *err);
/* What was given as parameters, as such an object in the arena. */
const char *how_as_json(const struct request *rq);
void how_write(struct mst_string *s, const char *key, const struct mst_reading_options *options);

/* --- passages (passage.c) ------------------------------------------------------------------ */
/* "67:1-5": what passage= takes. Returns out. */
char *passage_id(struct mst_range range, char out[96]);
int32_t passage_verses(const struct mst_text *text, struct mst_range range);
MST_MUST_CHECK enum mst_status passage_not_too_long(const struct mst_text *text,
                                                    struct mst_range range, struct mst_error *err);
/* UTF-16 units of the display form of printed bytes. */
int utf16_length(struct mst_span text);
void display(struct mst_string *s, const char *key, struct mst_span printed);
struct mst_span printed_word(const struct mst_reading *r, int32_t word);
/* The display form of all words of a reading, blanks between them. */
void display_reading(struct mst_string *s, const char *key, const struct mst_reading *r);
void js_address(struct mst_string *s, const char *key, struct mst_addr at);
void js_letter_address(struct mst_string *s, const char *key, const struct mst_reading *r,
                       int32_t letter);
void js_range(struct mst_string *s, struct mst_range range); /* "passage" and "title" */
/* rule … when of a site, without letters and words */
void js_site_facts(struct mst_string *s, const struct mst_site *site);
void js_label(struct mst_string *s, const char *key, const struct mst_reading *r,
              const struct mst_site *site, enum mst_lang lang);
void js_reason(struct mst_string *s, const char *key, const struct mst_reading *r,
               const struct mst_site *site, enum mst_lang lang);
void js_articulation(struct mst_string *s, const char *key, const struct mst_articulation *a);
extern const char *const family_ids[MST_FAMILY_COUNT];

/* --- fonts opened and idle (typesets.c) ------------------------------------------------------ */
MST_MUST_CHECK enum mst_status typeset_borrow(struct desk *desk, struct mst_typeset **out,
                                              struct mst_error *err);
void typeset_give_back(struct desk *desk, struct mst_typeset *ts);
/* The sheet's options from the parameters of docs/api.md. */
struct sheet_request {
    struct mst_range range;
    struct mst_reading_options how;
    struct mst_sheet_options options;
    enum mst_theme theme;
    int page, dpi;
};
MST_MUST_CHECK enum mst_status sheet_request_read(const struct request *rq,
                                                  struct sheet_request *out, struct mst_error *err);

/* --- who may come in (gate.c) --------------------------------------------------------------------
 */
MST_MUST_CHECK enum mst_status gate_open(struct desk *desk, struct mst_error *err);
void gate_close(struct gate *gate);
/* Host, session, token, pace. 0: the reply says why not. */
int gate_lets_in(struct request *rq);
int gate_is_name(struct gate *gate, const char *host);
/* A new one-time link; the part after #enter=. */
void gate_new_link(struct gate *gate, char out[48]);
MST_MUST_CHECK enum mst_status gate_set_passphrase(struct mst_store *store, const char *passphrase,
                                                   struct mst_error *err);
MST_MUST_CHECK enum mst_status gate_has_passphrase(struct mst_store *store, int *out,
                                                   struct mst_error *err);

/* --- long work (jobs.c and job_*.c)
 * ----------------------------------------------------------------- */
MST_MUST_CHECK enum mst_status jobs_open(struct desk *desk, struct mst_error *err);
/* No further job begins; those at work are put back. */
void jobs_close(struct desk *desk);
void jobs_free(struct desk *desk);
/* Takes whose job ended without them wait no longer. */
MST_MUST_CHECK enum mst_status takes_recover(struct desk *desk, struct mst_error *err);
/* Written down, then promised: replies 202 with the job. */
MST_MUST_CHECK enum mst_status jobs_promise(struct request *rq, const char *kind, const char *about,
                                            const char *input, char id[MST_ID_SIZE],
                                            struct mst_error *err);
void jobs_wake(struct desk *desk);
MST_MUST_CHECK enum mst_status job_reply(struct request *rq, const char *id, unsigned status,
                                         struct mst_error *err);
/* The job with its progress and files. */
void job_json(struct desk *desk, struct mst_string *s, const char *key, const struct mst_job *job);
MST_MUST_CHECK enum mst_status jobs_cancel(struct desk *desk, const char *id,
                                           struct mst_error *err);

/* A job at work. */
struct work {
    struct desk *desk;
    struct mst_job job;
    json_t *input;
    struct mst_arena *arena;
    const char *folder;       /* for files it makes */
    struct mst_string result; /* JSON, or empty */
    /* seen by other threads */
    atomic_int cancelled, parted; /* on request; because the desk stops */
    _Atomic double progress;
    _Atomic(const char *) doing; /* a literal */
    double from, to;             /* share of the whole that is at hand */
    int64_t said_ms;
};
/* Progress within from…to; non-zero: stop. */
int work_report(void *work, double done);
void work_stage(struct work *work, const char *doing, double from, double to);
enum mst_status job_listen(struct work *work, struct mst_error *err);
enum mst_status job_compare(struct work *work, struct mst_error *err);
enum mst_status job_voice(struct work *work, struct mst_error *err);
enum mst_status job_sheet(struct work *work, struct mst_error *err);
enum mst_status job_lesson(struct work *work, struct mst_error *err);
/* After the job of a take ended, however it ended. */
void job_take_ended(struct work *work, enum mst_status status, const struct mst_error *err);

/* --- events (events.c)
 * ---------------------------------------------------------------------------------- */
MST_MUST_CHECK enum mst_status events_open(struct desk *desk, struct mst_error *err);
void events_stop(struct events *events); /* every stream ends */
void events_close(struct events *events);
void events_say(struct desk *desk, const char *event, const char *json, size_t len);
void events_gone(struct desk *desk, const char *event, const char *id);
struct MHD_Response *events_response(struct request *rq);
int events_full(struct request *rq);

/* --- the sound of takes, decoded and kept at hand for a while (sounds.c)
 * ------------------------------------ */
struct mst_take;
MST_MUST_CHECK enum mst_status sounds_open(struct desk *desk, struct mst_error *err);
void sounds_close(struct sounds *sounds);
/* The take decoded to its end; nobody else has it until it is given back. */
MST_MUST_CHECK enum mst_status sound_borrow(struct desk *desk, const struct mst_kept_take *kept,
                                            struct mst_take **out, struct mst_error *err);
void sound_give_back(struct desk *desk, struct mst_take *take);
void sound_forget(struct desk *desk, const char *hash);

/* --- pages (pages.c)
 * --------------------------------------------------------------------------------------------- */
/* A file of the front end, or index.html for the pages' own paths; NOT_FOUND. */
MST_MUST_CHECK enum mst_status page_reply(struct request *rq, struct mst_error *err);

/* --- lessons (lesson_check.c)
 * --------------------------------------------------------------------------------------- */
/* Title in the arena, and the problems as a JSON list. */
MST_MUST_CHECK enum mst_status lesson_check(struct desk *desk, const char *kind, const char *text,
                                            struct mst_arena *arena, const char **title,
                                            struct mst_string *problems, int *count,
                                            struct mst_error *err);

/* --- slow requests, lines, log
 * --------------------------------------------------------------------------------------- */
MST_MUST_CHECK enum mst_status slow_open(struct desk *desk, struct mst_error *err);
void slow_close(struct slow *slow);
int slow_take(struct request *rq); /* 0: too many wait */
MST_MUST_CHECK enum mst_status lines_open(struct desk *desk, struct mst_error *err);
void lines_close(struct lines *lines);
void line_changed(void *cls, struct MHD_Connection *connection, void **line,
                  enum MHD_ConnectionNotificationCode code);
/* What the line is at: waiting for a head, receiving a body, answering. */
enum line_stage { LINE_HEAD, LINE_BODY, LINE_ANSWER };
void line_stage(struct MHD_Connection *connection, enum line_stage stage);
void line_received(struct MHD_Connection *connection, size_t bytes);
/* One line of JSON on standard error: no names, no passages, no addresses of people. */
void log_event(struct desk *desk, const char *event, const char *fmt, ...) MST_PRINTF(3, 4);
void log_request(const struct request *rq, unsigned status);

/* http.c */
enum MHD_Result http_answer(void *cls, struct MHD_Connection *connection, const char *url,
                            const char *method, const char *version, const char *upload,
                            size_t *upload_len, void **request);
void http_completed(void *cls, struct MHD_Connection *connection, void **request,
                    enum MHD_RequestTerminationCode code);
void http_run(struct request *rq);

/* --- handlers, by file
 * --------------------------------------------------------------------------------------------------
 */
#define HANDLER(name) enum mst_status name(struct request *rq, struct mst_error *err)
HANDLER(get_health);
HANDLER(get_session);
HANDLER(post_session);
HANDLER(delete_session);
HANDLER(put_passphrase);
HANDLER(get_suras);
HANDLER(get_translations);
HANDLER(get_divisions);
HANDLER(get_passage);
HANDLER(get_verses);
HANDLER(get_search);
HANDLER(get_rules);
HANDLER(get_letters);
HANDLER(get_reading);
HANDLER(get_ink);
HANDLER(get_explain);
HANDLER(get_faults);
HANDLER(get_sheet_svg);
HANDLER(get_sheet_png);
HANDLER(get_sheet_pdf);
HANDLER(get_sheet_json);
HANDLER(get_sheet_txt);
HANDLER(post_sheets);
HANDLER(get_examples);
HANDLER(get_passages);
HANDLER(get_cover);
HANDLER(get_takes);
HANDLER(post_takes);
HANDLER(get_take);
HANDLER(patch_take);
HANDLER(delete_take);
HANDLER(get_take_audio);
HANDLER(post_take_listen);
HANDLER(get_take_report);
HANDLER(get_take_export);
HANDLER(get_take_peaks);
HANDLER(get_take_spectrogram);
HANDLER(get_take_pins);
HANDLER(put_take_pins);
HANDLER(post_comparisons);
HANDLER(get_voices);
HANDLER(post_voices);
HANDLER(delete_voice);
HANDLER(get_lessons);
HANDLER(post_lessons);
HANDLER(post_lesson_check);
HANDLER(post_lesson_draft);
HANDLER(get_lesson);
HANDLER(put_lesson);
HANDLER(delete_lesson);
HANDLER(post_lesson_build);
HANDLER(get_course);
HANDLER(put_course);
HANDLER(get_course_default);
HANDLER(get_course_plan);
HANDLER(get_hearings);
HANDLER(post_hearings);
HANDLER(patch_hearing);
HANDLER(delete_hearing);
HANDLER(get_settings);
HANDLER(put_settings);
HANDLER(get_jobs);
HANDLER(get_job);
HANDLER(delete_job);
HANDLER(post_job_cancel);
HANDLER(get_job_file);
HANDLER(get_events);

/* A take as JSON, and said to all streams. */
void take_json(struct mst_string *s, const char *key, const struct mst_text *text,
               const struct mst_kept_take *take);
void take_say(struct desk *desk, const char *id);

#endif
