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
#include <mistara/classbook.h>
#include <mistara/server.h>
#include <mistara/store.h>
#include <mistara/tajweed.h>
#include <mistara/typeset.h>
#include <pthread.h>
#include <stdatomic.h>

struct request;
struct gate;
struct pacer;
struct keeper;
struct events;
struct jobs;
struct sounds;
struct lengths;
struct slow;
struct lines;
struct pages;
struct answers;
struct answer;

enum {
    VERSES_MOST = 300,
    BODY_MOST = 1 << 20,
    PART_MOST = 1 << 20,
    TYPESETS_MOST = 4,
    PARAMS_MOST = 48,
    REPLY_HEADERS_MOST = 8
};

struct desk {
    struct mst_server_options options; /* strings are copies */
    struct mst_text *text;
    struct mst_store *store;
    struct gate *gate;
    struct pacer *pacer;
    struct keeper *keeper;
    struct events *events;
    struct jobs *jobs;
    struct school *school; /* NULL: the book is this desk's alone */
    int64_t lease_ms;      /* of a job */
    struct sounds *sounds;
    struct lengths *lengths;
    struct slow *slow;
    struct lines *lines;
    struct answers *answers;
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
    NO_TOKEN = 32,
    PURE = 64,  /* the answer hangs on the question alone: kept, with an ETag (answers.h) */
    PART = 128, /* the body is a part of a sound file, at most PART_MOST bytes */
    /* Whose it is. Without any of these: the teacher's alone. */
    ASSISTANT = 256, /* the class's assistants too */
    LEARNER = 512,   /* its learners too, of what is their own */
    MINE = 1024,     /* learners only, about themselves */
    EVERYONE = ASSISTANT | LEARNER,
    /* What the first star of the path is; the gate sees to it that it is of the asker's class, and
     * a learner's own. A starred route that does not say stays the teacher's alone. */
    OF_CLASS = 2048,
    OF_PERSON = 4096,
    OF_ASSIGNMENT = 8192,
    OF_SUBMISSION = 16384,
    OF_UPLOAD = 32768,
    OF_JOB = 65536, /* about them: mst_job.about is the learner's id */
    OF_SOMETHING = OF_CLASS | OF_PERSON | OF_ASSIGNMENT | OF_SUBMISSION | OF_UPLOAD | OF_JOB
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
    /* … an answer that is held for it (answers.h) … */
    struct answer *answer;
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
    const struct mst_person *person; /* who asks; NULL: the teacher */
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
/* The first verses of a passage, as many as one answer holds: all of them, or up to the last end of
 * a sura among those. */
struct mst_range passage_part(const struct mst_text *text, struct mst_range range);
/* Whether they have a verse in common. */
int passages_meet(const struct mst_text *text, struct mst_range a, struct mst_range b);
MST_MUST_CHECK enum mst_status passage_not_too_long(const struct mst_text *text,
                                                    struct mst_range range, struct mst_error *err);
/* UTF-16 units of the display form of printed bytes. */
int utf16_length(struct mst_span text);
void display(struct mst_string *s, const char *key, struct mst_span printed);
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

/* --- the class: what its files share ---------------------------------------------------------- */
/* The words of consent a class begins with, in the arena; NULL: memory ran out (consent.c). */
const char *consent_words(const char *language, int64_t retention_days, struct mst_arena *arena);
/* Given, not taken back, and to the words the class has now. */
int consent_holds(const struct mst_class *c, const struct mst_consent *consent);
/* May recordings of this person be kept? Their class is read into *c. */
MST_MUST_CHECK enum mst_status consent_look(struct request *rq, const struct mst_person *person,
                                            struct mst_class *c, int *holds, struct mst_error *err);
MST_MUST_CHECK enum mst_status consent_say(struct request *rq, const struct mst_person *person,
                                           const char *const ways[], struct mst_error *err);
/* Replies how many recordings there are. */
MST_MUST_CHECK enum mst_status consent_take_back(struct request *rq,
                                                 const struct mst_person *person,
                                                 struct mst_error *err);
/* All recordings of a person and the voice learned of them; what was measured stays. */
MST_MUST_CHECK enum mst_status recordings_delete(struct request *rq,
                                                 const struct mst_person *person,
                                                 struct mst_error *err);
MST_MUST_CHECK enum mst_status body_language(const struct request *rq, const char **io,
                                             struct mst_error *err);
/* The member "person", as they see themselves: without the teacher's note. */
void own_person_json(struct mst_string *s, const struct mst_person *who);
/* What the teacher's and the learner's assignment have in common. */
void assignment_members_json(struct mst_string *s, const struct mst_assignment *a);
void measure_json(struct mst_string *s, const char *key, const struct mst_text *text,
                  const struct mst_site_measure *m);
/* The rule that what was noted live at a letter or a word is about; NULL: none, or it may be more.
 */
MST_MUST_CHECK enum mst_status rule_noted(struct request *rq, struct mst_addr at, const char *what,
                                          const char **out, struct mst_error *err);
struct mst_measure_limits class_limits(const struct mst_class *class);
/* What was heard of a recording: its places; `words` of the take's report, or NULL. */
struct heard_places {
    const struct mst_site_measure *places;
    size_t count;
    const json_t *words;
};
/* The members word, start_ms, end_ms of an object under way; null where they are not known. */
void place_members(struct mst_string *s, const struct mst_text *text, const char *at,
                   const struct heard_places *heard);
void note_json(struct mst_string *s, const struct mst_text *text, const struct mst_note *note,
               const struct heard_places *heard);
/* A submission as its learner may see it. */
MST_MUST_CHECK enum mst_status submission_reply(struct request *rq, const char *id, unsigned wanted,
                                                struct mst_error *err);
/* Somebody's sign-ins have ended, or they are something else now: their open pages end too. */
void person_part(struct desk *desk, const char *id);
/* To the pages of whom it concerns. */
void person_say(struct desk *desk, const char *class_id, const char *id);
void submission_say(struct desk *desk, const char *id);
/* Promised: a submission is listened to (job_round.c); those that wait are taken up at the start.
 */
MST_MUST_CHECK enum mst_status submission_listen(struct desk *desk, const char *id,
                                                 struct mst_error *err);
MST_MUST_CHECK enum mst_status submissions_recover(struct desk *desk, struct mst_error *err);
void submission_gone(struct desk *desk, const char *class_id, const char *person, const char *id);

/* --- a learner's card (join_card.c) ------------------------------------------------------------
 */
struct join_card {
    const char *label, *class_name;
    const char *code; /* in groups */
    const char *link; /* what the squares say */
    const char *address;
    int64_t ends_ms;
};
MST_MUST_CHECK enum mst_status join_card_sheet(struct mst_typeset *ts, const struct join_card *card,
                                               struct mst_arena *arena, struct mst_sheet **out,
                                               struct mst_error *err);

/* At least one. */
MST_MUST_CHECK enum mst_status join_cards_sheet(struct mst_typeset *ts,
                                                const struct join_card *cards, size_t count,
                                                struct mst_arena *arena, struct mst_sheet **out,
                                                struct mst_error *err);

/* --- who may come in (gate.c) --------------------------------------------------------------------
 */
MST_MUST_CHECK enum mst_status gate_open(struct desk *desk, struct mst_error *err);
void gate_close(struct gate *gate);
/* Host, session, token, pace. 0: the reply says why not. */
int gate_lets_in(struct request *rq);
int gate_is_name(struct gate *gate, const char *host);
/* A new one-time link; the part after #enter=. */
void gate_new_link(struct gate *gate, char out[48]);
/* 1: it was good. It holds once. */
int gate_spend_link(struct gate *gate, const char *secret);
/* The request is a new session's from here on, and its reply brings the cookie. person: an id, or
 * "" for the teacher. */
MST_MUST_CHECK enum mst_status gate_sign_in(struct request *rq, const char *person,
                                            struct mst_error *err);
enum { PASSPHRASE_MOST = 1000 }; /* bytes */
/* typed: may be NULL. */
MST_MUST_CHECK enum mst_status gate_passphrase_fits(struct request *rq, const char *typed,
                                                    int *fits, struct mst_error *err);
MST_MUST_CHECK enum mst_status gate_set_passphrase(struct mst_store *store, const char *passphrase,
                                                   struct mst_error *err);
MST_MUST_CHECK enum mst_status gate_has_passphrase(struct mst_store *store, int *out,
                                                   struct mst_error *err);
/* "teacher", "assistant", "learner". */
const char *role_of(const struct request *rq);
int is_learner(const struct request *rq);
/* "https://name:7114": where others reach the desk; 0: on this machine alone. */
int gate_address(const struct request *rq, char out[320]);

/* Sessions may have ended in the book: they are looked up anew. */
void gate_forget(struct gate *gate);
/* Sessions that nobody used for long end. */
MST_MUST_CHECK enum mst_status sessions_expire(struct desk *desk, struct mst_error *err);

/* --- once a day (keeper.c) ----------------------------------------------------------------------
 */
MST_MUST_CHECK enum mst_status keeper_open(struct desk *desk, struct mst_error *err);
void keeper_close(struct keeper *keeper);

/* --- how quickly (pace.c) --------------------------------------------------------------------- */
enum pace { PACE_STRANGER, PACE_LEARNER, PACE_SIGN_IN, PACE_SOUND, PACES };
MST_MUST_CHECK enum mst_status pace_open(struct desk *desk, struct mst_error *err);
void pace_close(struct pacer *pacer);
/* 0: the reply says how long to wait. */
int pace_allows(struct request *rq, enum pace pace);
void pace_forgive_sign_in(struct request *rq);

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
/* What the other desks of a school asked for, or this one's own part of it. */
void jobs_wake_here(struct desk *desk);
int jobs_cancel_here(struct desk *desk, const char *id); /* 0: it is not at work here */
/* The jobs at work here go on being this desk's; one that is not any longer stops. */
MST_MUST_CHECK enum mst_status jobs_keep(struct desk *desk, struct mst_error *err);
/* Jobs whose worker is dead wait again. */
MST_MUST_CHECK enum mst_status jobs_give_back(struct desk *desk, struct mst_error *err);
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
    atomic_int lost;              /* someone else was given it */
    int64_t held_ms;              /* when it last was surely this one's */
    int effect;                   /* what comes of it is being written, as one */
    _Atomic double progress;
    _Atomic(const char *) doing; /* a literal */
    double from, to;             /* share of the whole that is at hand */
    int64_t said_ms;
};
/* Progress within from…to; non-zero: stop. */
int work_report(void *work, double done);
/* From here on what the work writes counts as one with its being done, or not at all. Little may
 * follow: others wait. */
MST_MUST_CHECK enum mst_status work_effect(struct work *work, struct mst_error *err);
void work_stage(struct work *work, const char *doing, double from, double to);
enum mst_status job_listen(struct work *work, struct mst_error *err);
enum mst_status job_compare(struct work *work, struct mst_error *err);
enum mst_status job_voice(struct work *work, struct mst_error *err);
enum mst_status job_sheet(struct work *work, struct mst_error *err);
enum mst_status job_film(struct work *work, struct mst_error *err);
enum mst_status job_lesson(struct work *work, struct mst_error *err);
enum mst_status job_submission(struct work *work, struct mst_error *err);
enum mst_status job_propose(struct work *work, struct mst_error *err);
enum mst_status job_enrol(struct work *work, struct mst_error *err);
enum mst_status job_pinch(struct work *work, struct mst_error *err);
/* After the job of a take ended, however it ended. */
void job_take_ended(struct work *work, enum mst_status status, const struct mst_error *err);
void submission_ended(struct work *work, enum mst_status status, const struct mst_error *err);

/* --- several desks at one book (school.c)
 * ------------------------------------------------------------------- */
MST_MUST_CHECK enum mst_status school_open(struct desk *desk, struct mst_error *err);
void school_stop(struct desk *desk); /* its threads end; calls are made no longer */
void school_close(struct desk *desk);
/* To the others; fields: up to four words (NULL: empty), the list itself may be NULL. Does nothing
 * where the book is this desk's alone. */
void school_tell(struct desk *desk, const char *kind, const char *const fields[4], const char *json,
                 size_t len);

/* --- events (events.c)
 * ---------------------------------------------------------------------------------- */
MST_MUST_CHECK enum mst_status events_open(struct desk *desk, struct mst_error *err);
void events_stop(struct events *events); /* every stream ends */
void events_close(struct events *events);
/* The streams of a session that ended, key NULL: of all; those of `but` (may be NULL) go on. */
void events_session_ended(struct desk *desk, const uint8_t *key, const uint8_t *but);
/* To the teacher's pages. */
void events_say(struct desk *desk, const char *event, const char *json, size_t len);
void events_gone(struct desk *desk, const char *event, const char *id);
/* What belongs to a class: the teacher and its assistants are told the JSON, the learner it is
 * about (person NULL: none) the id alone, nobody else anything. */
void events_about(struct desk *desk, const char *class_id, const char *person, const char *event,
                  const char *id, const char *json, size_t len);
/* Somebody left: their streams end. */
void events_part(struct desk *desk, const char *person);
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
/* What was measured in model takes (lengths.c). */
MST_MUST_CHECK enum mst_status lengths_open(struct desk *desk, struct mst_error *err);
void lengths_close(struct lengths *lengths);
void sound_forget(struct desk *desk, const char *hash);
void sounds_forget_all(struct desk *desk);

/* What came in, on disk under its content's name; its media type as players are told (api_sound.c).
 */
MST_MUST_CHECK enum mst_status sound_keep(struct request *rq, char hash[MST_HASH_HEX_SIZE],
                                          int64_t *bytes, const char **type, struct mst_error *err);
/* A kept sound's file as the answer, whole or the part that Range asks for (api_sound.c). */
MST_MUST_CHECK enum mst_status sound_reply(struct request *rq, const char *hash, const char *type,
                                           struct mst_error *err);

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
/* A parameter of the request's route, checked as if it had come in the address; 0: refused. */
int http_param(struct request *rq, const char *name, size_t name_len, const char *value,
               size_t value_len);

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
HANDLER(post_take_film);
HANDLER(get_take_report);
HANDLER(get_take_export);
HANDLER(get_take_peaks);
HANDLER(get_take_spectrogram);
HANDLER(get_take_pins);
HANDLER(get_take_uses);
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
HANDLER(post_lesson_duplicate);
HANDLER(get_lesson_page);
HANDLER(post_lesson_build);
HANDLER(get_course);
HANDLER(put_course);
HANDLER(get_course_default);
HANDLER(get_course_plan);
HANDLER(get_hearings);
HANDLER(post_hearings);
HANDLER(patch_hearing);
HANDLER(delete_hearing);
HANDLER(get_class_desk);
HANDLER(get_submission);
HANDLER(get_submission_audio);
HANDLER(get_submission_clip);
HANDLER(patch_submission_site);
HANDLER(post_submission_note);
HANDLER(post_submission_voice_note);
HANDLER(get_note_audio);
HANDLER(delete_submission_note);
HANDLER(post_submission_send);
HANDLER(post_submission_listen);
HANDLER(delete_submission);
HANDLER(post_import);
HANDLER(get_imports);
HANDLER(post_import_confirm);
HANDLER(post_person_enrol);
HANDLER(get_person_progress);
HANDLER(get_mine_progress);
HANDLER(get_person_progress_csv);
HANDLER(get_person_progress_pdf);
HANDLER(get_class_progress);
HANDLER(get_class_progress_csv);
HANDLER(get_class_progress_pdf);
HANDLER(get_person_drill);
HANDLER(post_mine_pinch);
HANDLER(get_mine_pinch);
HANDLER(get_settings);
HANDLER(put_settings);
HANDLER(get_jobs);
HANDLER(get_job);
HANDLER(delete_job);
HANDLER(post_job_cancel);
HANDLER(get_job_file);
HANDLER(get_events);
HANDLER(get_classes);
HANDLER(post_classes);
HANDLER(get_class);
HANDLER(patch_class);
HANDLER(delete_class);
HANDLER(get_assignments);
HANDLER(post_assignments);
HANDLER(get_assignment);
HANDLER(patch_assignment);
HANDLER(delete_assignment);
HANDLER(get_people);
HANDLER(post_people);
HANDLER(get_person);
HANDLER(patch_person);
HANDLER(delete_person);
HANDLER(post_code);
HANDLER(delete_code);
HANDLER(get_card_pdf);
HANDLER(get_card_svg);
HANDLER(post_cards);
HANDLER(post_consent);
HANDLER(delete_consent);
HANDLER(delete_recordings);
HANDLER(get_receipts);
HANDLER(get_backups);
HANDLER(post_backups);
HANDLER(delete_backup);
HANDLER(get_mine);
HANDLER(post_mine_consent);
HANDLER(delete_mine_consent);
HANDLER(delete_mine_recordings);
HANDLER(get_mine_assignment_audio);
HANDLER(get_mine_assignment_words);
HANDLER(post_mine_uploads);
HANDLER(get_mine_upload);
HANDLER(put_mine_upload);
HANDLER(post_mine_upload_submit);
HANDLER(get_mine_submission);
HANDLER(delete_mine_submission);
HANDLER(get_mine_submission_audio);
HANDLER(get_mine_note_audio);

/* A take as JSON, and said to all streams. */
void take_json(struct mst_string *s, const char *key, const struct mst_text *text,
               const struct mst_kept_take *take);
void take_say(struct desk *desk, const char *id);

#endif
