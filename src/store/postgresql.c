/*
 * postgresql.c – the book in PostgreSQL, for a school that one machine cannot
 * hold. A line is a connection; one that broke is made anew before the next
 * use, but never in the middle of a transaction.
 */
#include "postgresql.h"
#include "db.h"
#include "schema.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PARAMETERS_MOST = 32, TRIES = 4, VERSION_LEAST = 130000 };
/* pg_type.dat: the types' numbers are part of PostgreSQL's protocol. */
enum { TYPE_BYTEA = 17, TYPE_INT8 = 20, TYPE_TEXT = 25, TYPE_FLOAT8 = 701 };
/* One lock for whoever brings the book forward. */
#define LOCK_SHAPE "SELECT pg_advisory_xact_lock(711400)"

struct line {
    PGconn *conn;
    int in_transaction;
    int64_t changed;
};

struct statement {
    struct line *line;
    char *sql;
    int count;
    Oid types[PARAMETERS_MOST];
    char *values[PARAMETERS_MOST];
    int lengths[PARAMETERS_MOST], binary[PARAMETERS_MOST];
    PGresult *result;
    int row, rows;
    unsigned char *bytes; /* of the column read last */
};

/* --- what went wrong ----------------------------------------------------------------- */

static const struct {
    const char *state; /* or its beginning */
    enum mst_status status;
    const char *says;
} states[] = {
    {"23503", MST_NOT_FOUND, "what this belongs to was deleted in between"},
    {"23505", MST_MISMATCH, "the same is there already"},
    {"40", MST_MISMATCH, "someone else changed the same at the same moment; try again"},
    {"55P03", MST_MISMATCH, "someone else holds the same for too long; try again"},
    {"53100", MST_IO, "the database's disk is full"},
    {"53300", MST_IO, "the database takes no more connections"},
    {"53", MST_NO_MEMORY, "the database ran out of what it needs"},
    {"57", MST_IO, "the database broke this off"},
    {"08", MST_IO, "the line to the database broke"},
    {"42501", MST_UNSUPPORTED, "this database user may not do that"},
    {"25006", MST_UNSUPPORTED, "this database can only be read"},
    {"XX001", MST_BAD_DATA, "the book is damaged"},
    {"XX002", MST_BAD_DATA, "the book is damaged"},
    {"", MST_IO, "the book failed"},
};

/* libpq's sentences end in line breaks, and a reason may follow on lines of its own. */
static int first_line(const char *text)
{
    return (int)strcspn(text, "\n");
}

static enum mst_status failed(struct line *line, const PGresult *result, const char *doing,
                              struct mst_error *err)
{
    const char *state = result ? PQresultErrorField(result, PG_DIAG_SQLSTATE) : NULL;
    const char *why = result ? PQresultErrorField(result, PG_DIAG_MESSAGE_PRIMARY) : NULL;
    if (!state)
        state = PQstatus(line->conn) == CONNECTION_OK ? "" : "08";
    if (!why)
        why = PQerrorMessage(line->conn);
    for (size_t n = 0; n < sizeof states / sizeof states[0]; n++)
        if (strncmp(state, states[n].state, strlen(states[n].state)) == 0)
            return mst_fail(err, states[n].status, "%s (%s): %.*s", states[n].says, doing,
                            first_line(why), why);
    return MST_INTERNAL; /* the last row takes all */
}

static int worth_another_try(const PGresult *result)
{
    const char *state = result ? PQresultErrorField(result, PG_DIAG_SQLSTATE) : NULL;
    return state && strncmp(state, "40", 2) == 0;
}

/* --- lines ----------------------------------------------------------------------------- */

static void silent(void *cls, const char *message)
{
    (void)cls;
    (void)message;
}

/* A line that is cut must be noticed here within seconds, and there too: what it had locked is
 * wanted by others. */
static const char session[] =
    "SET synchronous_commit=on; SET client_min_messages=error; SET bytea_output=hex; "
    "SET lock_timeout='10s'; SET idle_in_transaction_session_timeout='15s'; "
    "SET tcp_keepalives_idle=5; SET tcp_keepalives_interval=2; SET tcp_keepalives_count=3; "
    "SET tcp_user_timeout=10000";

static enum mst_status ready(struct line *line, struct mst_error *err)
{
    PGresult *result = PQexec(line->conn, session);
    enum mst_status status =
        PQresultStatus(result) == PGRES_COMMAND_OK ? MST_OK : failed(line, result, "opening", err);
    PQclear(result);
    return status;
}

static enum mst_status not_reached(PGconn *conn, struct mst_error *err)
{
    const char *why = PQerrorMessage(conn);
    if (PQconnectionNeedsPassword(conn))
        return mst_fail(err, MST_UNSUPPORTED,
                        "the database asks for a password: keep it in ~/.pgpass (or the file that "
                        "PGPASSFILE names), readable by you alone; docs/school.md says how");
    return mst_fail(err, MST_IO, "the database cannot be reached: %.*s", first_line(why), why);
}

/* Whoever lists the processes of a machine reads what is on their command lines. */
static enum mst_status no_password(const char *where, struct mst_error *err)
{
    /* What libpq says of a wrong address may say the password too. */
    PQconninfoOption *options = PQconninfoParse(where, NULL);
    enum mst_status status =
        options ? MST_OK
                : mst_fail(err, MST_USAGE,
                           "the database's address is not understood; it is written "
                           "postgresql://USER@HOST/NAME (docs/school.md)");
    for (PQconninfoOption *o = options; o && o->keyword && status == MST_OK; o++)
        if (o->val &&
            (strcmp(o->keyword, "password") == 0 || strcmp(o->keyword, "sslpassword") == 0))
            status = mst_fail(err, MST_USAGE,
                              "a password in the database's address could be read by others on "
                              "this machine: keep it in ~/.pgpass instead (docs/school.md)");
    PQconninfoFree(options);
    return status;
}

PGconn *postgresql_connect(const char *where, struct mst_error *err)
{
    /* The address comes last: what it says itself holds. */
    const char *const names[] = {"connect_timeout",  "tcp_user_timeout",
                                 "keepalives_idle",  "keepalives_interval",
                                 "keepalives_count", "target_session_attrs",
                                 "application_name", "client_encoding",
                                 "dbname",           NULL};
    const char *const values[] = {"5",          "10000",   "5",    "2",   "3",
                                  "read-write", "mistara", "UTF8", where, NULL};
    if (no_password(where, err) != MST_OK)
        return NULL;
    PGconn *conn = PQconnectdbParams(names, values, 1);
    const char *encoding =
        PQstatus(conn) == CONNECTION_OK ? PQparameterStatus(conn, "server_encoding") : NULL;
    enum mst_status status = MST_OK;
    if (PQstatus(conn) != CONNECTION_OK)
        status = not_reached(conn, err);
    else if (PQserverVersion(conn) < VERSION_LEAST)
        status =
            mst_fail(err, MST_UNSUPPORTED, "this PostgreSQL is too old; 13 or later is needed");
    else if (!encoding || strcmp(encoding, "UTF8") != 0)
        status = mst_fail(err, MST_UNSUPPORTED,
                          "the database's encoding is %.20s; make it anew with the encoding UTF8",
                          encoding ? encoding : "unknown");
    if (status != MST_OK) {
        PQfinish(conn);
        return NULL;
    }
    PQsetNoticeProcessor(conn, silent, NULL);
    return conn;
}

static void close_line(void *handle)
{
    struct line *line = handle;
    if (!line)
        return;
    PQfinish(line->conn);
    free(line);
}

static enum mst_status open_line(const char *where, void **handle, struct mst_error *err)
{
    struct mst_error why = {.status = MST_IO};
    struct line *line = calloc(1, sizeof *line);
    if (!line)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the book");
    line->conn = postgresql_connect(where, &why);
    enum mst_status status = line->conn ? ready(line, err) : why.status;
    if (!line->conn && err)
        *err = why;
    if (status != MST_OK) {
        close_line(line);
        return status;
    }
    *handle = line;
    return MST_OK;
}

/* Made anew where it broke, unless a transaction went with it. */
static enum mst_status alive(struct line *line, struct mst_error *err)
{
    if (PQstatus(line->conn) == CONNECTION_OK)
        return MST_OK;
    if (line->in_transaction)
        return mst_fail(err, MST_IO,
                        "the line to the database broke in the middle; nothing of "
                        "this was kept");
    PQreset(line->conn);
    return PQstatus(line->conn) == CONNECTION_OK ? ready(line, err) : not_reached(line->conn, err);
}

static enum mst_status run(void *handle, const char *sql, struct mst_error *err)
{
    struct line *line = handle;
    int opens = strncmp(sql, "BEGIN", 5) == 0;
    int ends = strcmp(sql, "COMMIT") == 0 || strcmp(sql, "ROLLBACK") == 0;
    if (ends && PQstatus(line->conn) != CONNECTION_OK) {
        line->in_transaction = 0;
        return mst_fail(err, MST_IO,
                        "the line to the database broke in the middle; nothing of "
                        "this was kept");
    }
    enum mst_status status = alive(line, err);
    for (int n = 0; status == MST_OK && n < 2; n++) {
        PGresult *result = PQexec(line->conn, sql);
        ExecStatusType got = PQresultStatus(result);
        int cut = PQstatus(line->conn) != CONNECTION_OK;
        /* COMMIT of a transaction that failed answers ROLLBACK and no error. */
        if (got == PGRES_COMMAND_OK && strcmp(sql, "COMMIT") == 0 &&
            strcmp(PQcmdStatus(result), "COMMIT") != 0)
            status = mst_fail(err, MST_IO, "the book failed (writing): nothing of this was kept");
        else if (got != PGRES_COMMAND_OK && got != PGRES_TUPLES_OK && !(opens && cut && n == 0))
            status = failed(line, result, "writing", err);
        else if (opens && cut)
            status = alive(line, err); /* once more: nothing had begun */
        else
            n = 2;
        PQclear(result);
    }
    line->in_transaction = opens ? status == MST_OK : ends ? 0 : line->in_transaction;
    return status;
}

/* --- statements --------------------------------------------------------------------------- */

static enum mst_status prepare(void *handle, const char *sql, void **out, struct mst_error *err)
{
    struct statement *statement = calloc(1, sizeof *statement);
    if (statement)
        statement->sql = strdup(sql);
    if (!statement || !statement->sql) {
        free(statement);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while asking the book");
    }
    statement->line = handle;
    *out = statement;
    return MST_OK;
}

static enum mst_status bound(void *handle, int n, Oid type, char *value, size_t len)
{
    struct statement *statement = handle;
    if (n < 1 || n > PARAMETERS_MOST || len > INT32_MAX) {
        free(value);
        return MST_NO_MEMORY;
    }
    statement->types[n - 1] = type;
    statement->values[n - 1] = value;
    statement->lengths[n - 1] = (int)len;
    statement->binary[n - 1] = type == TYPE_BYTEA;
    if (n > statement->count)
        statement->count = n;
    return MST_OK;
}

static enum mst_status bind_integer(void *statement, int n, int64_t value)
{
    char *text = NULL;
    return asprintf(&text, "%lld", (long long)value) < 0 ? MST_NO_MEMORY
                                                         : bound(statement, n, TYPE_INT8, text, 0);
}
static enum mst_status bind_real(void *statement, int n, double value)
{
    char *text = NULL;
    return asprintf(&text, "%.17g", value) < 0 ? MST_NO_MEMORY
                                               : bound(statement, n, TYPE_FLOAT8, text, 0);
}
static enum mst_status bind_text(void *statement, int n, const char *value)
{
    char *text = value ? strdup(value) : NULL;
    return value && !text ? MST_NO_MEMORY : bound(statement, n, TYPE_TEXT, text, 0);
}
static enum mst_status bind_bytes(void *statement, int n, const void *value, size_t len)
{
    char *bytes = value ? malloc(len + 1) : NULL;
    if (value && !bytes)
        return MST_NO_MEMORY;
    if (value)
        memcpy(bytes, value, len);
    return bound(statement, n, TYPE_BYTEA, bytes, len);
}

static PGresult *ask(struct statement *s)
{
    return PQexecParams(s->line->conn, s->sql, s->count, s->types, (const char *const *)s->values,
                        s->lengths, s->binary, 0);
}

/* What only reads may be asked again over a new line; what writes only where PostgreSQL itself says
 * that nothing of it was done. */
static enum mst_status execute(struct statement *s, struct mst_error *err)
{
    struct line *line = s->line;
    int reads = strncmp(s->sql, "SELECT", 6) == 0;
    enum mst_status status = alive(line, err);
    for (int n = 0; status == MST_OK; n++) {
        s->result = ask(s);
        ExecStatusType got = PQresultStatus(s->result);
        if (got == PGRES_TUPLES_OK || got == PGRES_COMMAND_OK)
            break;
        int cut = PQstatus(line->conn) != CONNECTION_OK;
        int again =
            !line->in_transaction && n < TRIES && ((cut && reads) || worth_another_try(s->result));
        if (!again)
            status = failed(line, s->result, "asking", err);
        PQclear(s->result);
        s->result = NULL;
        if (again && cut)
            status = alive(line, err);
    }
    s->row = -1;
    s->rows = s->result ? PQntuples(s->result) : 0;
    line->changed = s->result ? atoll(PQcmdTuples(s->result)) : 0;
    return status;
}

static enum mst_status step(void *handle, void *statement, int *row, struct mst_error *err)
{
    struct statement *s = statement;
    (void)handle;
    enum mst_status status = s->result ? MST_OK : execute(s, err);
    *row = status == MST_OK && s->row + 1 < s->rows;
    s->row += *row;
    return status;
}

static int64_t integer(void *statement, int column)
{
    struct statement *s = statement;
    const char *text = PQgetvalue(s->result, s->row, column);
    return *text == 't' ? 1 : atoll(text);
}
static double real(void *statement, int column)
{
    struct statement *s = statement;
    return strtod(PQgetvalue(s->result, s->row, column), NULL);
}
static struct mst_span text(void *statement, int column)
{
    struct statement *s = statement;
    if (PQgetisnull(s->result, s->row, column))
        return (struct mst_span){NULL, 0};
    const char *value = PQgetvalue(s->result, s->row, column);
    size_t len = (size_t)PQgetlength(s->result, s->row, column);
    if (PQftype(s->result, column) != TYPE_BYTEA)
        return (struct mst_span){value, len};
    PQfreemem(s->bytes);
    s->bytes = PQunescapeBytea((const unsigned char *)value, &len);
    return (struct mst_span){s->bytes ? (const char *)s->bytes : "", s->bytes ? len : 0};
}
static int64_t changed(void *handle)
{
    return ((struct line *)handle)->changed;
}
static void finish(void *handle)
{
    struct statement *s = handle;
    for (int n = 0; n < s->count; n++)
        free(s->values[n]);
    PQclear(s->result);
    PQfreemem(s->bytes);
    free(s->sql);
    free(s);
}

/* --- the shape ---------------------------------------------------------------------------- */

static const char clock_sql[] =
    "CREATE OR REPLACE FUNCTION now_ms() RETURNS bigint LANGUAGE sql VOLATILE AS "
    "$$SELECT (extract(epoch FROM clock_timestamp())*1000)::bigint$$";

/* The planner keeps samples of what it finds, and keeps those of an emptied table: of what people
 * are called and what was written of them there are to be none. */
static const char no_samples_sql[] =
    "DO $$DECLARE c record; BEGIN FOR c IN SELECT table_name, column_name FROM "
    "information_schema.columns WHERE table_schema=current_schema() AND data_type='text' AND "
    "column_name NOT IN ('id','class','person','assignment','submission','take','state','role',"
    "'kind','passage','hash','rule','told','trust','ruling','owner') LOOP EXECUTE format("
    "'ALTER TABLE %I ALTER COLUMN %I SET STATISTICS 0',c.table_name,c.column_name); "
    "END LOOP; END$$";

static enum mst_status version_of(struct line *line, int *out, struct mst_error *err)
{
    PGresult *result = PQexec(line->conn, "SELECT version FROM shape");
    enum mst_status status = PQresultStatus(result) == PGRES_TUPLES_OK
                                 ? MST_OK
                                 : failed(line, result, "asking for the book's version", err);
    *out = status == MST_OK && PQntuples(result) ? atoi(PQgetvalue(result, 0, 0)) : 0;
    PQclear(result);
    return status;
}

static enum mst_status bring_forward(struct line *line, int to, int *have, struct mst_error *err)
{
    char version[96];
    enum mst_status status = run(line, LOCK_SHAPE, err);
    if (status == MST_OK)
        status = run(line,
                     "CREATE TABLE IF NOT EXISTS shape(one INTEGER PRIMARY KEY CHECK(one=1), "
                     "version INTEGER NOT NULL)",
                     err);
    if (status == MST_OK)
        status = run(line, clock_sql, err);
    if (status == MST_OK)
        status = version_of(line, have, err);
    if (status == MST_OK && *have > SCHEMA_VERSION)
        return mst_fail(err, MST_BAD_DATA,
                        "the book is of version %d, which is later than this program knows (%d); "
                        "use the newer Mistara",
                        *have, SCHEMA_VERSION);
    if (status == MST_OK && *have >= to)
        return status;
    for (; status == MST_OK && *have < to; *have += status == MST_OK) {
        struct mst_string sql = {0};
        schema_for_postgresql(schema_steps[*have], &sql);
        status =
            sql.failed ? mst_fail(err, MST_NO_MEMORY, "memory ran out") : run(line, sql.ptr, err);
        mst_string_free(&sql);
    }
    snprintf(version, sizeof version,
             "INSERT INTO shape VALUES(1,%d) ON CONFLICT(one) DO UPDATE SET version=%d", *have,
             *have);
    if (status == MST_OK)
        status = run(line, no_samples_sql, err);
    return status == MST_OK ? run(line, version, err) : status;
}

/* All steps as one: whoever else opens the same book waits, and then finds it done. */
static enum mst_status migrate(void *handle, int to, int *version, struct mst_error *err)
{
    int have = 0;
    enum mst_status status = run(handle, "BEGIN", err);
    if (status != MST_OK)
        return status;
    status = bring_forward(handle, to, &have, err);
    if (status == MST_OK)
        status = run(handle, "COMMIT", err);
    if (status != MST_OK)
        (void)!run(handle, "ROLLBACK", NULL);
    *version = have;
    return status;
}

/* Every row of every table is read whole: PostgreSQL tells of pages that do not agree with their
 * checksums, and of values that cannot be. What refers to nothing it never lets in. */
static enum mst_status check(void *handle, struct mst_error *err)
{
    struct mst_span name;
    enum mst_status status = MST_OK;
    for (size_t step = 0, at = 0; status == MST_OK && schema_table_next(&step, &at, &name);) {
        char sql[160];
        snprintf(sql, sizeof sql, "SELECT count(r::text) FROM %.*s r", (int)name.len, name.ptr);
        status = run(handle, sql, err);
    }
    return status;
}

/*
 * Deleting leaves the rows in their pages until VACUUM makes room of them; only
 * VACUUM FULL writes the pages anew, and nobody can use a table while it does
 * so: that waits for a quiet hour (whole 2). What is in the log that PostgreSQL
 * writes ahead goes when it has gone round; docs/school.md says so.
 */
static enum mst_status scrub(void *handle, int whole, int *done, struct mst_error *err)
{
    struct mst_span name;
    enum mst_status status = MST_OK;
    *done = whole != 1;
    for (size_t step = 0, at = 0; status == MST_OK && schema_table_next(&step, &at, &name);) {
        char sql[160];
        snprintf(sql, sizeof sql, "VACUUM%s %.*s", whole == 2 ? " FULL" : "", (int)name.len,
                 name.ptr);
        status = run(handle, sql, err);
        if (status == MST_MISMATCH) { /* in use for longer than the lock waits */
            *done = 0;
            status = MST_OK;
        }
    }
    if (status == MST_OK && whole == 2)
        (void)!run(handle, "CHECKPOINT", NULL); /* where this user may: the old pages' files go */
    return status;
}

const struct db_backend db_postgresql = {
    .name = "postgresql",
    .lines_most = DB_LINES_MOST,
    .begin = "BEGIN",
    .for_update = " FOR UPDATE",
    .for_share = " FOR SHARE",
    .skip_locked = " FOR UPDATE SKIP LOCKED",
    .lock_name = "SELECT pg_advisory_xact_lock(hashtextextended($1,7114))",
    .open = open_line,
    .close = close_line,
    .run = run,
    .prepare = prepare,
    .bind_integer = bind_integer,
    .bind_real = bind_real,
    .bind_text = bind_text,
    .bind_bytes = bind_bytes,
    .step = step,
    .integer = integer,
    .real = real,
    .text = text,
    .changed = changed,
    .finish = finish,
    .migrate = migrate,
    .check = check,
    .scrub = scrub,
};
