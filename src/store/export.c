/*
 * export.c – what the book holds, for whoever wants it without us: each table
 * as CSV and as JSON Lines, each recording as it came. All of it, or what
 * concerns one class or one person. As it was at one moment: one read of the
 * database, with the desk at work beside it.
 *
 * CSV as RFC 4180 has it, in UTF-8; a cell that a spreadsheet would take for a
 * formula begins with an apostrophe (mst_string_add_csv). Times are ISO 8601
 * in UTC; a time that has not come is empty, in JSON null.
 */
#include "pack.h"
#include "store.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <mistara/backup.h>
#include <stdio.h>
#include <time.h>
#include <unistd.h>

/* --- what there is ------------------------------------------------------------------- */

/*
 * columns: "kind name" with commas between; kinds: t text, n text or null,
 * j JSON, i integer, r real, b yes or no, m time. of_class, of_person: which
 * rows concern one ($1); NULL: none do.
 */
struct table {
    const char *name, *columns;
    const char *of_class, *of_person;
};
#define PEOPLE      "(SELECT id FROM person WHERE class=$1)"
#define SUBMISSIONS "(SELECT id FROM submission WHERE class=$1)"
#define OWN         "(SELECT id FROM submission WHERE person=$1)"
static const struct table tables[] = {
    {"class",
     "t id,t name,t language,i retention_days,t consent,j limits,m made_ms,m closed_ms,i revision",
     "id=$1", "id=(SELECT class FROM person WHERE id=$1)"},
    {"person",
     "t id,t class,t role,t label,t note,t language,n voice,m made_ms,m left_ms,i revision",
     "class=$1", "id=$1"},
    {"consent", "t person,t words,t by,m said_ms,m withdrawn_ms", "person IN " PEOPLE, "person=$1"},
    {"assignment",
     "t id,t class,t title,t passage,j how,n lesson,t rules,t attend,i stage,n take,m due_ms,"
     "m made_ms,m withdrawn_ms,i revision",
     "class=$1", "id IN (SELECT assignment FROM submission WHERE person=$1)"},
    {"submission",
     "t id,t class,n assignment,n person,n take,t passage,j how,j marks,t state,n problem,"
     "j proposal,r need,m made_ms,m heard_ms,m sent_ms,i revision",
     "class=$1", "person=$1"},
    {"measure",
     "t submission,i site,t rule,t letter,t at,i sura,i verse,i word,t length,i start_ms,i end_ms,"
     "r measured_counts,r counts_low,r counts_high,r expected_counts,r deviation,r wrong,r rank,"
     "i skill,t trust,t told,n fault,n fault_ar,t ruling,t ruled_by,m ruled_ms,"
     "t sent_ruling",
     "submission IN " SUBMISSIONS, "submission IN " OWN},
    {"note", "t id,t submission,n at,t text,n hash,t type,i bytes,t by,m made_ms,b sent",
     "submission IN " SUBMISSIONS, "submission IN " OWN},
    {"take",
     "t id,t name,t passage,j how,t hash,t type,t note,n voice,n model,n problem,j pins,r seconds,"
     "i bytes,m made_ms,t state,b chosen,n person",
     "person IN " PEOPLE " OR id IN (SELECT take FROM submission WHERE class=$1) OR id IN "
     "(SELECT take FROM assignment WHERE class=$1)",
     "person=$1 OR id IN (SELECT take FROM submission WHERE person=$1)"},
    {"hearing",
     "t id,t at,i sura,i verse,i word,t what,t note,t who,n rule,m made_ms,b undone,n person",
     "person IN " PEOPLE, "person=$1"},
    {"document", "t id,t kind,t title,t text,m made_ms,m changed_ms,i revision,i problems", NULL,
     NULL},
    {"voice", "t name,j takes,m made_ms", "name IN (SELECT voice FROM person WHERE class=$1)",
     "name IN (SELECT voice FROM person WHERE id=$1)"},
    {"receipt", "t id,t person,m made_ms,j took,j backups", NULL, NULL},
    {"backup", "t id,t name,m made_ms,i bytes,t digest", NULL, NULL},
};
enum { COLUMNS_MOST = 32 };

struct column {
    char kind;
    struct mst_span name;
};

static int columns_of(const struct table *table, struct column out[COLUMNS_MOST])
{
    struct mst_span word;
    int count = 0;
    for (size_t at = 0; mst_list_next(mst_span_of(table->columns), &at, &word);)
        out[count++] = (struct column){word.ptr[0], {word.ptr + 2, word.len - 2}};
    return count;
}

/* A time is called as what it is of. */
static struct mst_span shown(const struct column *column)
{
    struct mst_span name = column->name;
    if (column->kind == 'm')
        name.len -= strlen("_ms");
    return name;
}

/* --- a row ---------------------------------------------------------------------------- */

struct exporting {
    struct mst_store *book;
    struct pack *pack;
    const struct mst_export_scope *scope;
    struct mst_export_result *out;
    struct mst_arena *arena; /* of one row */
};

static void when(int64_t ms, char text[32])
{
    time_t seconds = (time_t)(ms / 1000);
    struct tm utc = {0};
    gmtime_r(&seconds, &utc);
    size_t len = ms ? strftime(text, 32, "%Y-%m-%dT%H:%M:%S", &utc) : 0;
    snprintf(text + len, 32 - len, ms ? ".%03dZ" : "", (int)(ms % 1000));
}

static void json_key(struct mst_string *json, int n, struct mst_span name)
{
    mst_string_addf(json, n ? ",\"%.*s\":" : "{\"%.*s\":", (int)name.len, name.ptr);
}

static void cell(struct exporting *x, struct query *q, int n, const struct column *column,
                 struct mst_string *csv, struct mst_string *json)
{
    char text[64];
    const char *value;
    mst_string_adds(csv, n ? "," : "");
    json_key(json, n, shown(column));
    switch (column->kind) {
    case 'i':
        mst_string_addf(csv, "%lld", (long long)query_integer(q, n));
        mst_string_addf(json, "%lld", (long long)query_integer(q, n));
        break;
    case 'r':
        mst_string_addf(csv, "%.17g", query_real(q, n));
        mst_string_addf(json, "%.17g", query_real(q, n));
        break;
    case 'b':
        mst_string_adds(csv, query_integer(q, n) ? "yes" : "no");
        mst_string_adds(json, query_integer(q, n) ? "true" : "false");
        break;
    case 'm':
        when(query_integer(q, n), text);
        mst_string_adds(csv, text);
        mst_string_addf(json, *text ? "\"%s\"" : "null", text);
        break;
    default:
        value = query_text(q, n, x->arena);
        if (value)
            mst_string_add_csv(csv, value, strlen(value));
        if (value && column->kind == 'j' && *value)
            mst_string_adds(json, value); /* JSON already: we wrote it */
        else if (value)
            mst_string_add_json(json, value, strlen(value));
        else
            mst_string_adds(json, "null");
    }
}

/* --- a table --------------------------------------------------------------------------- */

static const char *rows_wanted(const struct exporting *x, const struct table *table)
{
    return x->scope->person ? table->of_person : x->scope->class_id ? table->of_class : "1=1";
}
static const char *whom(const struct exporting *x)
{
    return x->scope->person ? x->scope->person : x->scope->class_id;
}

static enum mst_status ask(struct exporting *x, const char *select, const char *from,
                           const char *where, struct query *q, struct mst_error *err)
{
    struct mst_string sql = {0};
    mst_string_addf(&sql, "SELECT %s FROM %s WHERE %s", select, from, where);
    if (sql.failed) {
        mst_string_free(&sql);
        return store_no_memory(err);
    }
    *q = whom(x) ? query_begin(&x->book->db, err, sql.ptr, "t", whom(x))
                 : query_begin(&x->book->db, err, sql.ptr, "");
    mst_string_free(&sql);
    return MST_OK;
}

/* Gathered, and put away in a file without a name when it is much: what a table holds may be more
 * than memory does, and the archive wants to know how long it is before it begins. */
struct gathered {
    FILE *file;
    struct mst_string text;
};
enum { GATHER_BYTES = 1 << 16 };

static enum mst_status gathered_more(struct gathered *g, int all, struct mst_error *err)
{
    if (g->text.failed)
        return store_no_memory(err);
    if (!all && g->text.len < GATHER_BYTES)
        return MST_OK;
    if ((g->text.len > 0 && fwrite(g->text.ptr, 1, g->text.len, g->file) != g->text.len) ||
        (all && fflush(g->file) != 0))
        return mst_fail_errno(err, MST_IO, errno, "the export cannot be put together");
    g->text.len = 0;
    return MST_OK;
}

static enum mst_status table_rows(struct exporting *x, const struct table *table,
                                  struct gathered *csv, struct gathered *json,
                                  struct mst_error *err)
{
    struct column columns[COLUMNS_MOST];
    struct mst_string select = {0};
    struct query q;
    int count = columns_of(table, columns);
    for (int n = 0; n < count; n++) {
        struct mst_span name = shown(&columns[n]);
        mst_string_addf(&csv->text, n ? ",%.*s" : "%.*s", (int)name.len, name.ptr);
        mst_string_addf(&select, n ? ",%.*s" : "%.*s", (int)columns[n].name.len,
                        columns[n].name.ptr);
    }
    mst_string_adds(&csv->text, "\r\n");
    enum mst_status status = select.failed
                                 ? store_no_memory(err)
                                 : ask(x, select.ptr, table->name, rows_wanted(x, table), &q, err);
    mst_string_free(&select);
    if (status != MST_OK)
        return status;
    while (status == MST_OK && query_row(&q)) {
        for (int n = 0; n < count; n++)
            cell(x, &q, n, &columns[n], &csv->text, &json->text);
        mst_string_adds(&csv->text, "\r\n");
        mst_string_adds(&json->text, "}\n");
        mst_arena_reset(x->arena);
        x->out->rows++;
        status = gathered_more(csv, 0, err);
        if (status == MST_OK)
            status = gathered_more(json, 0, err);
    }
    enum mst_status asked = query_end(&q);
    return status == MST_OK ? asked : status;
}

static enum mst_status each_table(struct exporting *x, const struct table *table,
                                  struct mst_error *err)
{
    char name[64];
    if (!rows_wanted(x, table))
        return MST_OK;
    struct gathered csv = {.file = tmpfile()}, json = {.file = tmpfile()};
    enum mst_status status =
        csv.file && json.file
            ? table_rows(x, table, &csv, &json, err)
            : mst_fail_errno(err, MST_IO, errno, "the export cannot be put together");
    if (status == MST_OK)
        status = gathered_more(&csv, 1, err);
    if (status == MST_OK)
        status = gathered_more(&json, 1, err);
    snprintf(name, sizeof name, "%s.csv", table->name);
    if (status == MST_OK)
        status = pack_fd(x->pack, name, fileno(csv.file), err);
    snprintf(name, sizeof name, "%s.jsonl", table->name);
    if (status == MST_OK)
        status = pack_fd(x->pack, name, fileno(json.file), err);
    mst_string_free(&csv.text);
    mst_string_free(&json.text);
    if (csv.file)
        fclose(csv.file);
    if (json.file)
        fclose(json.file);
    return status;
}

/* --- recordings --------------------------------------------------------------------------- */

/* IANA's media types, as browsers and telephones send them. */
static const char *ending(const char *type)
{
    static const char *const known[][2] = {
        {"audio/webm", ".webm"}, {"video/webm", ".webm"}, {"audio/ogg", ".ogg"},
        {"audio/opus", ".opus"}, {"audio/mp4", ".m4a"},   {"audio/x-m4a", ".m4a"},
        {"audio/aac", ".aac"},   {"audio/mpeg", ".mp3"},  {"audio/flac", ".flac"},
        {"audio/wav", ".wav"},   {"audio/x-wav", ".wav"}, {"audio/amr", ".amr"},
        {"audio/3gpp", ".3gp"},
    };
    size_t len = strcspn(type, "; ");
    for (size_t n = 0; n < sizeof known / sizeof known[0]; n++)
        if (strlen(known[n][0]) == len && strncmp(known[n][0], type, len) == 0)
            return known[n][1];
    return ".sound";
}

/* Called by the row that names it: id of the take or the note. */
static enum mst_status each_recording(struct exporting *x, const char *kind, const char *where,
                                      struct mst_error *err)
{
    struct query q;
    enum mst_status status = ask(x, "id,hash,type", kind, where, &q, err);
    if (status != MST_OK)
        return status;
    while (status == MST_OK && query_row(&q)) {
        char name[128], path[PATH_MAX], found[MST_HASH_HEX_SIZE];
        const char *id = query_text(&q, 0, x->arena), *hash = query_text(&q, 1, x->arena),
                   *type = query_text(&q, 2, x->arena);
        int there = 0;
        if (!hash || !id || !type)
            continue;
        snprintf(name, sizeof name, "recordings/%s-%.16s%s", kind, id, ending(type));
        snprintf(path, sizeof path, "%s/sound/%.2s/%.64s", x->book->folder, hash, hash);
        status = pack_file(x->pack, name, path, -1, &there, found, err);
        x->out->recordings += there;
        x->out->absent += status == MST_OK && !there;
        mst_arena_reset(x->arena);
    }
    enum mst_status asked = query_end(&q);
    return status == MST_OK ? asked : status;
}

static enum mst_status readme(struct exporting *x, struct mst_error *err)
{
    static const char text[] =
        "What a book of Mistara holds, for any program that reads these open forms.\n\n"
        "  *.csv        a table each: RFC 4180, UTF-8, names of the columns in the first line.\n"
        "               A text that a spreadsheet would take for a formula begins with '.\n"
        "  *.jsonl      the same, a JSON object a line, every text exactly as it is.\n"
        "  recordings/  sound as it was received, named by its row: take-ID, note-ID.\n"
        "  SUMS         the BLAKE2b-256 of each file; see with: b2sum -l 256 -c SUMS\n\n"
        "Times are ISO 8601 in UTC; empty or null: not yet. Lengths are in counts\n"
        "(harakat), places are sura:verse:word:letter. It speaks of people who trusted a\n"
        "teacher with their recitation: keep it as you would keep that.\n";
    return pack_bytes(x->pack, "README", text, sizeof text - 1, err);
}

static enum mst_status fill(struct exporting *x, struct mst_error *err)
{
    enum mst_status status = readme(x, err);
    for (size_t n = 0; n < sizeof tables / sizeof tables[0] && status == MST_OK; n++) {
        status = each_table(x, &tables[n], err);
        int sound = strcmp(tables[n].name, "take") == 0 || strcmp(tables[n].name, "note") == 0;
        if (status == MST_OK && sound)
            status = each_recording(x, tables[n].name, rows_wanted(x, &tables[n]), err);
    }
    return status;
}

static enum mst_status scope_is_there(struct exporting *x, struct mst_error *err)
{
    if (!whom(x))
        return MST_OK;
    const char *what = x->scope->person ? "person" : "class";
    struct query q = query_begin(&x->book->db, err,
                                 x->scope->person ? "SELECT 1 FROM person WHERE id=$1"
                                                  : "SELECT 1 FROM class WHERE id=$1",
                                 "t", whom(x));
    int found = query_row(&q);
    enum mst_status status = query_end(&q);
    return status == MST_OK && !found ? store_no_such(what, whom(x), err) : status;
}

static int is_tar(const char *to)
{
    size_t len = strlen(to);
    return len > 4 && strcmp(to + len - 4, ".tar") == 0;
}

enum mst_status mst_export_all(const char *folder, const struct mst_export_scope *scope,
                               const char *to, struct mst_export_result *out, struct mst_error *err)
{
    struct exporting x = {.scope = scope, .out = out};
    char digest[MST_HASH_HEX_SIZE];
    int64_t bytes;
    *out = (struct mst_export_result){0};
    enum mst_status status = store_beside(folder, &x.book, err);
    if (status != MST_OK)
        return status;
    x.arena = mst_arena_new(0);
    status = x.arena ? scope_is_there(&x, err) : store_no_memory(err);
    if (status == MST_OK)
        status = is_tar(to) ? pack_open_tar(to, &x.pack, err) : pack_open_folder(to, &x.pack, err);
    if (status == MST_OK) { /* only reads, of one moment: nobody waits for it */
        status = db_do(&x.book->db, err, NULL, "BEGIN", "");
        if (status == MST_OK)
            status = fill(&x, err);
        (void)!db_do(&x.book->db, NULL, NULL, "ROLLBACK", "");
    }
    if (status == MST_OK) {
        struct pack *pack = x.pack;
        x.pack = NULL;
        status = pack_close(pack, &bytes, digest, err);
    }
    pack_drop(x.pack);
    mst_arena_free(x.arena);
    mst_store_close(x.book);
    return status;
}
