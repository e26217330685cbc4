/* schema.c – the tables, for SQLite. */
#include "schema.h"

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
};
