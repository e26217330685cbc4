/* schema.c – the tables, as SQLite says them, and how PostgreSQL says the same. */
#include "schema.h"

#include <string.h>

const char *const schema_steps[SCHEMA_VERSION] = {
    /* 1: what the desk began with */
    "CREATE TABLE setting("
    "  name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;"
    "CREATE TABLE session("
    "  key BLOB PRIMARY KEY, token TEXT NOT NULL, role TEXT NOT NULL,"
    "  made_ms INTEGER NOT NULL, seen_ms INTEGER NOT NULL) STRICT, WITHOUT ROWID;"
    "CREATE TABLE job("
    "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, kind TEXT NOT NULL,"
    "  about TEXT NOT NULL, input TEXT NOT NULL, result TEXT, reason TEXT, state TEXT NOT NULL"
    "    CHECK(state IN ('waiting','running','done','failed','cancelled')),"
    "  made_ms INTEGER NOT NULL, started_ms INTEGER NOT NULL DEFAULT 0,"
    "  ended_ms INTEGER NOT NULL DEFAULT 0, attempts INTEGER NOT NULL DEFAULT 0) STRICT;"
    "CREATE INDEX job_state ON job(state, number);"
    "CREATE INDEX job_about ON job(about, number);"
    "CREATE TABLE take("
    "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, name TEXT NOT NULL,"
    "  passage TEXT NOT NULL, how TEXT NOT NULL, hash TEXT NOT NULL, type TEXT NOT NULL,"
    "  note TEXT NOT NULL, voice TEXT, model TEXT REFERENCES take(id) ON DELETE SET NULL,"
    "  job TEXT REFERENCES job(id) ON DELETE SET NULL,"
    "  problem TEXT, pins TEXT NOT NULL, seconds REAL NOT NULL, bytes INTEGER NOT NULL,"
    "  made_ms INTEGER NOT NULL, state TEXT NOT NULL"
    "    CHECK(state IN ('new','waiting','listening','heard','refused')),"
    "  keep_voice INTEGER NOT NULL, chosen INTEGER NOT NULL, report INTEGER NOT NULL,"
    "  revision INTEGER NOT NULL) STRICT;"
    "CREATE INDEX take_passage ON take(passage, number);"
    "CREATE INDEX take_hash ON take(hash);"
    "CREATE TABLE document("
    "  number INTEGER PRIMARY KEY, id TEXT NOT NULL, kind TEXT NOT NULL, title TEXT NOT NULL,"
    "  text TEXT NOT NULL, made_ms INTEGER NOT NULL, changed_ms INTEGER NOT NULL,"
    "  revision INTEGER NOT NULL, UNIQUE(kind, id)) STRICT;"
    "CREATE TABLE voice("
    "  name TEXT PRIMARY KEY, takes TEXT NOT NULL, made_ms INTEGER NOT NULL)"
    "  STRICT, WITHOUT ROWID",
    /* 2: what is noticed while someone recites live */
    "CREATE TABLE hearing("
    "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, at TEXT NOT NULL,"
    "  sura INTEGER NOT NULL, verse INTEGER NOT NULL, word INTEGER NOT NULL,"
    "  what TEXT NOT NULL, note TEXT NOT NULL, who TEXT NOT NULL, rule TEXT,"
    "  made_ms INTEGER NOT NULL, undone INTEGER NOT NULL) STRICT;"
    "CREATE INDEX hearing_place ON hearing(sura, verse)",
    /* 3: a lesson that does not hold yet says so in the list */
    "ALTER TABLE document ADD COLUMN problems INTEGER NOT NULL DEFAULT 0",
    /* 4: the class. Who is deleted takes along every row that says `person`. */
    "CREATE TABLE class("
    "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, name TEXT NOT NULL,"
    "  language TEXT NOT NULL, retention_days INTEGER NOT NULL, consent TEXT NOT NULL,"
    "  limits TEXT NOT NULL, made_ms INTEGER NOT NULL, closed_ms INTEGER NOT NULL,"
    "  revision INTEGER NOT NULL) STRICT;"
    "CREATE TABLE person("
    "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE,"
    "  class TEXT NOT NULL REFERENCES class(id) ON DELETE CASCADE,"
    "  role TEXT NOT NULL CHECK(role IN ('assistant','learner')), label TEXT NOT NULL,"
    "  note TEXT NOT NULL, language TEXT NOT NULL, voice TEXT, made_ms INTEGER NOT NULL,"
    "  left_ms INTEGER NOT NULL, revision INTEGER NOT NULL) STRICT;"
    "CREATE INDEX person_class ON person(class, label);"
    "CREATE TABLE consent("
    "  number INTEGER PRIMARY KEY,"
    "  person TEXT NOT NULL REFERENCES person(id) ON DELETE CASCADE, words TEXT NOT NULL,"
    "  by TEXT NOT NULL CHECK(by IN ('self','guardian','paper')), said_ms INTEGER NOT NULL,"
    "  withdrawn_ms INTEGER NOT NULL) STRICT;"
    "CREATE INDEX consent_person ON consent(person, number);"
    "CREATE TABLE join_code("
    "  hash BLOB PRIMARY KEY, person TEXT NOT NULL REFERENCES person(id) ON DELETE CASCADE,"
    "  made_ms INTEGER NOT NULL, ends_ms INTEGER NOT NULL, used_ms INTEGER NOT NULL,"
    "  revoked_ms INTEGER NOT NULL) STRICT, WITHOUT ROWID;"
    "CREATE INDEX join_code_person ON join_code(person, made_ms);"
    "CREATE TABLE assignment("
    "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE,"
    "  class TEXT NOT NULL REFERENCES class(id) ON DELETE CASCADE, title TEXT NOT NULL,"
    "  passage TEXT NOT NULL, how TEXT NOT NULL, lesson TEXT, rules TEXT NOT NULL,"
    "  attend TEXT NOT NULL, stage INTEGER NOT NULL CHECK(stage BETWEEN 0 AND 3),"
    "  take TEXT REFERENCES take(id) ON DELETE SET NULL, due_ms INTEGER NOT NULL,"
    "  made_ms INTEGER NOT NULL, withdrawn_ms INTEGER NOT NULL, revision INTEGER NOT NULL)"
    "  STRICT;"
    "CREATE INDEX assignment_class ON assignment(class, number);"
    "CREATE INDEX assignment_take ON assignment(take);"
    "CREATE TABLE submission("
    "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE,"
    "  class TEXT NOT NULL REFERENCES class(id) ON DELETE CASCADE,"
    "  assignment TEXT REFERENCES assignment(id) ON DELETE SET NULL,"
    "  person TEXT REFERENCES person(id) ON DELETE CASCADE,"
    "  take TEXT UNIQUE REFERENCES take(id) ON DELETE SET NULL, passage TEXT NOT NULL,"
    "  how TEXT NOT NULL, marks TEXT NOT NULL, state TEXT NOT NULL"
    "    CHECK(state IN ('received','listening','heard','refused')),"
    "  problem TEXT, proposal TEXT, need REAL NOT NULL, made_ms INTEGER NOT NULL,"
    "  heard_ms INTEGER NOT NULL, sent_ms INTEGER NOT NULL, revision INTEGER NOT NULL) STRICT;"
    "CREATE INDEX submission_class ON submission(class, state, need);"
    "CREATE INDEX submission_person ON submission(person, number);"
    "CREATE INDEX submission_assignment ON submission(assignment);"
    "CREATE TABLE measure("
    "  submission TEXT NOT NULL REFERENCES submission(id) ON DELETE CASCADE,"
    "  site INTEGER NOT NULL, rule TEXT NOT NULL, letter TEXT NOT NULL, at TEXT NOT NULL,"
    "  sura INTEGER NOT NULL, verse INTEGER NOT NULL, word INTEGER NOT NULL,"
    "  length TEXT NOT NULL, start_ms INTEGER NOT NULL, end_ms INTEGER NOT NULL,"
    "  measured_counts REAL NOT NULL, counts_low REAL NOT NULL, counts_high REAL NOT NULL,"
    "  expected_counts REAL NOT NULL, deviation REAL NOT NULL, wrong REAL NOT NULL,"
    "  rank REAL NOT NULL, skill INTEGER NOT NULL,"
    "  trust TEXT NOT NULL CHECK(trust IN ('good','fair','none')),"
    "  told TEXT NOT NULL CHECK(told IN ('right','short','long','fault','unsure')),"
    "  fault TEXT, fault_ar TEXT,"
    "  ruling TEXT NOT NULL DEFAULT '' CHECK(ruling IN ('','agree','overrule')),"
    "  ruled_by TEXT NOT NULL DEFAULT '', ruled_ms INTEGER NOT NULL DEFAULT 0,"
    "  PRIMARY KEY(submission, site)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE note("
    "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE,"
    "  submission TEXT NOT NULL REFERENCES submission(id) ON DELETE CASCADE, at TEXT,"
    "  text TEXT NOT NULL, hash TEXT, type TEXT NOT NULL, bytes INTEGER NOT NULL,"
    "  by TEXT NOT NULL, made_ms INTEGER NOT NULL) STRICT;"
    "CREATE INDEX note_submission ON note(submission, number);"
    "CREATE INDEX note_hash ON note(hash);"
    "CREATE TABLE upload("
    "  id TEXT PRIMARY KEY, person TEXT NOT NULL REFERENCES person(id) ON DELETE CASCADE,"
    "  assignment TEXT REFERENCES assignment(id) ON DELETE SET NULL, type TEXT NOT NULL,"
    "  bytes INTEGER NOT NULL, have INTEGER NOT NULL, made_ms INTEGER NOT NULL)"
    "  STRICT, WITHOUT ROWID;"
    "CREATE INDEX upload_person ON upload(person);"
    "CREATE INDEX upload_assignment ON upload(assignment);"
    "CREATE TABLE backup("
    "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, name TEXT NOT NULL,"
    "  made_ms INTEGER NOT NULL, bytes INTEGER NOT NULL, digest TEXT NOT NULL) STRICT;"
    "CREATE TABLE receipt("
    "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, person TEXT NOT NULL,"
    "  made_ms INTEGER NOT NULL, took TEXT NOT NULL, backups TEXT NOT NULL) STRICT;"
    /* Files that are to go: written down with the rows that went, before anything is unlinked. */
    "CREATE TABLE doomed(path TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;"
    "ALTER TABLE session ADD COLUMN person TEXT REFERENCES person(id) ON DELETE CASCADE;"
    "ALTER TABLE take ADD COLUMN person TEXT REFERENCES person(id) ON DELETE CASCADE;"
    "ALTER TABLE hearing ADD COLUMN person TEXT REFERENCES person(id) ON DELETE CASCADE;"
    "CREATE INDEX session_person ON session(person);"
    "CREATE INDEX take_person ON take(person, number);"
    "CREATE INDEX take_model ON take(model);"
    "CREATE INDEX take_job ON take(job);"
    "CREATE INDEX hearing_person ON hearing(person, made_ms)",
    /* 5: work that several machines share: whose it is, until when, and under which number. Sound
     * that is kept but named by no row yet is held by a row, since others may be deleting it. */
    "CREATE TABLE held("
    "  number INTEGER PRIMARY KEY, hash TEXT NOT NULL, made_ms INTEGER NOT NULL) STRICT;"
    "CREATE INDEX held_hash ON held(hash);"
    "ALTER TABLE job ADD COLUMN owner TEXT;"
    "ALTER TABLE job ADD COLUMN fence INTEGER NOT NULL DEFAULT 0;"
    "ALTER TABLE job ADD COLUMN lease_ms INTEGER NOT NULL DEFAULT 0",
    /* 6: whose ids a job says (mentions.c; mentioned 0: not looked through yet), so that nobody who
     * leaves is looked for in all of them; and the few submissions that were taken for someone's.
     */
    "CREATE TABLE mention("
    "  id TEXT NOT NULL, job TEXT NOT NULL REFERENCES job(id) ON DELETE CASCADE,"
    "  PRIMARY KEY(id, job)) STRICT, WITHOUT ROWID;"
    "CREATE INDEX mention_job ON mention(job);"
    "ALTER TABLE job ADD COLUMN mentioned INTEGER NOT NULL DEFAULT 0;"
    "CREATE INDEX job_unmentioned ON job(number) WHERE mentioned=0;"
    "CREATE INDEX submission_proposed ON submission(number) WHERE proposal IS NOT NULL",
    /* 7: what the learner was sent. What is ruled and written after that waits for the next time.
     */
    "ALTER TABLE measure ADD COLUMN sent_ruling TEXT NOT NULL DEFAULT ''"
    "  CHECK(sent_ruling IN ('','agree','overrule'));"
    "ALTER TABLE note ADD COLUMN sent INTEGER NOT NULL DEFAULT 0;"
    "UPDATE measure SET sent_ruling=ruling WHERE ruling<>'' AND submission IN "
    "  (SELECT id FROM submission WHERE sent_ms<>0);"
    "UPDATE note SET sent=1 WHERE submission IN (SELECT id FROM submission WHERE sent_ms<>0)",
};

/* --- for PostgreSQL ------------------------------------------------------------------ */

/* The longest first. Texts compare byte by byte there too, whatever the database's language. */
static const char *const words[][2] = {
    {"INTEGER PRIMARY KEY", "BIGINT GENERATED BY DEFAULT AS IDENTITY PRIMARY KEY"},
    {" STRICT, WITHOUT ROWID", ""},
    {" STRICT", ""},
    {"INTEGER", "BIGINT"},
    {"REAL", "DOUBLE PRECISION"},
    {"BLOB", "BYTEA"},
    {"TEXT", "TEXT COLLATE \"C\""},
};

void schema_for_postgresql(const char *step, struct mst_string *out)
{
    while (*step) {
        size_t n = 0, count = sizeof words / sizeof words[0];
        while (n < count && strncmp(step, words[n][0], strlen(words[n][0])) != 0)
            n++;
        mst_string_add(out, n < count ? words[n][1] : step, n < count ? strlen(words[n][1]) : 1);
        step += n < count ? strlen(words[n][0]) : 1;
    }
}

int schema_table_next(size_t *step, size_t *at, struct mst_span *name)
{
    static const char makes[] = "CREATE TABLE ";
    for (; *step < SCHEMA_VERSION; (*step)++, *at = 0) {
        const char *found = strstr(schema_steps[*step] + *at, makes);
        if (!found)
            continue;
        const char *from = found + sizeof makes - 1;
        *name = (struct mst_span){from, strcspn(from, "(")};
        *at = (size_t)(from - schema_steps[*step]);
        return 1;
    }
    return 0;
}
