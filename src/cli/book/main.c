/* main.c – the program mistara-book: backup, restore, export, check, class. */
#include "book.h"

#include <locale.h>
#include <mistara/backup.h>
#include <mistara/classbook.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

/* One command under way. */
struct doing {
    struct book_request asked;
    const char *const *words;
    size_t count;
    struct mst_arena *arena;
    struct mst_string *s; /* what is printed */
    struct out *out;
};

static enum mst_status words_wanted(const struct command *self, const struct doing *d, size_t most,
                                    struct mst_error *err)
{
    if (d->count < most)
        return mst_fail(err, MST_USAGE, "“mistara %s” needs %s", self->name, self->asks);
    if (d->count > most)
        return mst_fail(err, MST_USAGE, "“mistara %s” takes %s; “%.60s” is too much", self->name,
                        self->arguments, d->words[most]);
    return MST_OK;
}

static void size_out(struct mst_string *s, int64_t bytes)
{
    static const char *const units[] = {"bytes", "KiB", "MiB", "GiB", "TiB"};
    double value = (double)bytes;
    size_t unit = 0;
    for (; value >= 1024 && unit + 1 < sizeof units / sizeof units[0]; unit++)
        value /= 1024;
    mst_string_addf(s, unit ? "%.1f %s" : "%.0f %s", value, units[unit]);
}

static void day_out(struct out *out, int64_t ms, int width)
{
    char text[32] = "–";
    time_t seconds = (time_t)(ms / 1000);
    struct tm at = {0};
    localtime_r(&seconds, &at);
    if (ms)
        strftime(text, sizeof text, "%Y-%m-%d %H:%M", &at);
    out_padded(out, mst_span_of(text), width);
}

/* --- backup, restore, export, check --------------------------------------------------- */

static enum mst_status backups_list(struct doing *d, struct mst_error *err)
{
    struct mst_store *store;
    struct mst_backup *rows;
    size_t count;
    enum mst_status status = mst_book_look(d->asked.data, &store, err);
    if (status != MST_OK)
        return status;
    status = mst_backup_list(store, d->arena, &rows, &count, err);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        day_out(d->out, rows[n].made_ms, 18);
        out_padded(d->out, mst_span_of(rows[n].name), 30);
        if (*rows[n].digest)
            size_out(d->s, rows[n].bytes);
        else
            mst_string_adds(d->s, "being made, or broken off");
        mst_string_adds(d->s, "\n");
    }
    if (status == MST_OK && count == 0)
        mst_string_adds(d->s, "The book knows of no backups.\n");
    mst_store_close(store);
    return status;
}

static enum mst_status backup_forget(struct doing *d, struct mst_error *err)
{
    struct mst_store *store;
    struct mst_backup *rows;
    size_t count;
    int gone = 0;
    const char *slash = strrchr(d->words[0], '/'), *name = slash ? slash + 1 : d->words[0];
    enum mst_status status = mst_book_look(d->asked.data, &store, err);
    if (status != MST_OK)
        return status;
    status = mst_backup_list(store, d->arena, &rows, &count, err);
    for (size_t n = 0; n < count && status == MST_OK; n++)
        if (strcmp(rows[n].name, name) == 0 || strcmp(rows[n].id, name) == 0) {
            status = mst_backup_forget(store, rows[n].id, err);
            gone = 1;
        }
    if (status == MST_OK && !gone)
        status =
            mst_fail(err, MST_NOT_FOUND,
                     "the book knows of no backup “%.100s”; “mistara backup --list” says which "
                     "there are",
                     name);
    if (status == MST_OK)
        mst_string_addf(d->s, "%s is forgotten: receipts do not name it any more.\n", name);
    mst_store_close(store);
    return status;
}

static void recordings_out(struct mst_string *s, const struct mst_backup_result *made)
{
    if (made->gone)
        mst_string_addf(s, "%d recordings were deleted while it was made.\n", made->gone);
    if (made->missing)
        mst_string_addf(s, "%d recordings are missing from the book: see mistara check.\n",
                        made->missing);
    if (made->damaged)
        mst_string_addf(s, "%d recordings are damaged: see mistara check.\n", made->damaged);
}

static enum mst_status backup(const struct command *self, struct doing *d, struct mst_error *err)
{
    struct mst_backup_result made;
    if (d->asked.list)
        return backups_list(d, err);
    enum mst_status status = words_wanted(self, d, 1, err);
    if (status == MST_OK && d->asked.forget)
        return backup_forget(d, err);
    if (status == MST_OK)
        status = mst_backup_make(d->asked.data, d->words[0], &made, err);
    if (status != MST_OK)
        return status;
    mst_string_addf(d->s, "%s: %d files, ", d->words[0], made.files);
    size_out(d->s, made.bytes);
    mst_string_addf(d->s, "\nBLAKE2b-256 %s\n", made.digest);
    recordings_out(d->s, &made);
    return MST_OK;
}

static enum mst_status restore(const struct command *self, struct doing *d, struct mst_error *err)
{
    struct mst_backup_result back;
    enum mst_status status = words_wanted(self, d, 2, err);
    if (status == MST_OK)
        status = mst_backup_restore(d->words[0], d->words[1], &back, err);
    if (status != MST_OK)
        return status;
    mst_string_addf(d->s, "%s: %d files, whole. Open it with: mistara serve --data %s\n",
                    d->words[1], back.files, d->words[1]);
    if (back.missing)
        mst_string_addf(d->s,
                        "%d things that its rows name were not in it: see mistara check "
                        "--data %s\n",
                        back.missing, d->words[1]);
    mst_string_adds(d->s,
                    "Nobody is signed in, and cards of before do not open: print new ones.\n");
    return MST_OK;
}

static enum mst_status check(const struct command *self, struct doing *d, struct mst_error *err)
{
    const char **problems;
    size_t count;
    enum mst_status status = words_wanted(self, d, 0, err);
    if (status == MST_OK)
        status = mst_book_check(d->asked.data, d->arena, &problems, &count, err);
    if (status != MST_OK)
        return status;
    for (size_t n = 0; n < count; n++)
        mst_string_addf(d->s, "%s\n", problems[n]);
    if (count > 0)
        return mst_fail(err, MST_BAD_DATA, "the book is not whole: %d things are wrong",
                        (int)count);
    mst_string_adds(d->s, "The book is whole.\n");
    return MST_OK;
}

/* --- which class, which person ------------------------------------------------------------- */

static enum mst_status class_named(struct doing *d, struct mst_store *store, const char *name,
                                   struct mst_class *out, struct mst_error *err)
{
    struct mst_class *rows;
    size_t count, found = 0;
    enum mst_status status = mst_class_list(store, d->arena, &rows, &count, err);
    for (size_t n = 0; n < count && status == MST_OK; n++)
        if (strcmp(rows[n].id, name) == 0 || strcmp(rows[n].name, name) == 0) {
            *out = rows[n];
            found++;
        }
    if (status == MST_OK && found == 0)
        status = mst_fail(err, MST_NOT_FOUND,
                          "there is no class “%.100s”; “mistara class” lists them", name);
    if (status == MST_OK && found > 1)
        status = mst_fail(err, MST_USAGE,
                          "several classes are called “%.100s”; give the id, which “mistara "
                          "class” shows",
                          name);
    return status;
}

static enum mst_status person_named(struct doing *d, struct mst_store *store, const char *name,
                                    const char *class_id, const char **out, struct mst_error *err)
{
    struct mst_class *classes;
    size_t count, found = 0;
    enum mst_status status = mst_class_list(store, d->arena, &classes, &count, err);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        struct mst_person *people;
        size_t of_class;
        if (class_id && strcmp(class_id, classes[n].id) != 0)
            continue;
        status = mst_person_list(store, classes[n].id, d->arena, &people, &of_class, err);
        for (size_t p = 0; p < of_class && status == MST_OK; p++)
            if (strcmp(people[p].id, name) == 0 || strcmp(people[p].label, name) == 0) {
                *out = people[p].id;
                found++;
            }
    }
    if (status == MST_OK && found == 0)
        status = mst_fail(err, MST_NOT_FOUND, "there is nobody called “%.100s”", name);
    if (status == MST_OK && found > 1)
        status = mst_fail(err, MST_USAGE,
                          "several people are called “%.100s”; give the id, which “mistara class "
                          "CLASS” shows",
                          name);
    return status;
}

static enum mst_status export_all(const struct command *self, struct doing *d,
                                  struct mst_error *err)
{
    struct mst_export_scope scope = {NULL, NULL};
    struct mst_export_result made;
    struct mst_store *store = NULL;
    struct mst_class class;
    enum mst_status status = words_wanted(self, d, 1, err);
    if (status == MST_OK && (d->asked.class_name || d->asked.person))
        status = mst_book_look(d->asked.data, &store, err);
    if (status == MST_OK && d->asked.class_name) {
        status = class_named(d, store, d->asked.class_name, &class, err);
        scope.class_id = status == MST_OK ? class.id : NULL;
    }
    if (status == MST_OK && d->asked.person)
        status = person_named(d, store, d->asked.person, scope.class_id, &scope.person, err);
    mst_store_close(store);
    if (status == MST_OK)
        status = mst_export_all(d->asked.data, &scope, d->words[0], &made, err);
    if (status != MST_OK)
        return status;
    mst_string_addf(d->s, "%s: %d rows, %d recordings\n", d->words[0], made.rows, made.recordings);
    if (made.absent)
        mst_string_addf(d->s, "%d recordings are not there: see mistara check.\n", made.absent);
    return MST_OK;
}

/* --- the class ------------------------------------------------------------------------------ */

static enum mst_status classes(struct doing *d, struct mst_store *store, struct mst_error *err)
{
    struct mst_class *rows;
    size_t count;
    enum mst_status status = mst_class_list(store, d->arena, &rows, &count, err);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        const struct mst_class *c = &rows[n];
        if (d->asked.json) {
            mst_string_adds(d->s, "{");
            json_text(d->s, "id", mst_span_of(c->id));
            json_text(d->s, "name", mst_span_of(c->name));
            json_number(d->s, "learners", c->learners);
            json_number(d->s, "unsent", c->unsent);
            json_number(d->s, "retention_days", c->retention_days);
            json_bool(d->s, "closed", c->closed_ms != 0);
            mst_string_adds(d->s, "}\n");
            continue;
        }
        out_padded(d->out, mst_span_of(c->name), 30);
        mst_string_addf(d->s, "%s   %d learners, %d to answer, kept %d days%s\n", c->id,
                        c->learners, c->unsent, c->retention_days, c->closed_ms ? ", closed" : "");
    }
    if (status == MST_OK && count == 0 && !d->asked.json)
        mst_string_adds(d->s, "There are no classes yet; the desk makes them: mistara serve\n");
    return status;
}

/* What one person handed in, counted. */
struct handed {
    int in, heard, sent;
    int64_t last_ms;
};
static struct handed handed_in(const struct mst_submission *rows, size_t count, const char *person,
                               const char *assignment)
{
    struct handed h = {0};
    for (size_t n = 0; n < count; n++) {
        const struct mst_submission *s = &rows[n];
        if (!s->person || strcmp(s->person, person) != 0 ||
            (assignment && (!s->assignment || strcmp(s->assignment, assignment) != 0)))
            continue;
        h.in++;
        h.heard += s->heard_ms != 0;
        h.sent += s->sent_ms != 0;
        h.last_ms = s->made_ms > h.last_ms ? s->made_ms : h.last_ms;
    }
    return h;
}

static void person_out(struct doing *d, const struct mst_person *p, struct handed h)
{
    if (d->asked.json) {
        mst_string_adds(d->s, "{");
        json_text(d->s, "id", mst_span_of(p->id));
        json_text(d->s, "label", mst_span_of(p->label));
        json_text(d->s, "role", mst_span_of(p->role));
        json_bool(d->s, "left", p->left_ms != 0);
        json_number(d->s, "handed_in", h.in);
        json_number(d->s, "heard", h.heard);
        json_number(d->s, "answered", h.sent);
        json_number(d->s, "last_ms", (long)h.last_ms);
        mst_string_adds(d->s, "}\n");
        return;
    }
    out_padded(d->out, mst_span_of(p->label), 26);
    mst_string_addf(d->s, "%s   %-9s  ", p->id, p->left_ms ? "left" : p->role);
    mst_string_addf(d->s, "%3d handed in, %3d heard, %3d answered   ", h.in, h.heard, h.sent);
    day_out(d->out, h.last_ms, 0);
    mst_string_adds(d->s, "\n");
}

static void due_out(struct doing *d, const struct mst_assignment *a,
                    const struct mst_person *people, size_t count, const struct mst_submission *in,
                    size_t in_count)
{
    int missing = 0;
    if (d->asked.json) {
        mst_string_adds(d->s, "{");
        json_text(d->s, "id", mst_span_of(a->id));
        json_text(d->s, "title", mst_span_of(a->title));
        json_text(d->s, "passage", mst_span_of(a->passage));
        json_number(d->s, "due_ms", (long)a->due_ms);
        json_number(d->s, "handed_in", a->handed_in);
        json_key(d->s, "missing");
        mst_string_adds(d->s, "[");
    } else {
        out_padded(d->out, mst_span_of(a->title), 30);
        mst_string_addf(d->s, "%s   due ", a->passage);
        day_out(d->out, a->due_ms, 0);
        mst_string_addf(d->s, ", %d handed in\n", a->handed_in);
    }
    for (size_t n = 0; n < count; n++) {
        const struct mst_person *p = &people[n];
        if (p->left_ms || strcmp(p->role, "learner") != 0 ||
            handed_in(in, in_count, p->id, a->id).in > 0)
            continue;
        mst_string_adds(d->s, d->asked.json ? missing ? "," : ""
                              : missing     ? ", "
                                            : "    not yet: ");
        if (d->asked.json)
            mst_string_add_json(d->s, p->label, strlen(p->label));
        else
            mst_string_adds(d->s, p->label);
        missing++;
    }
    mst_string_adds(d->s, d->asked.json ? "]}\n" : missing ? "\n" : "    everyone has\n");
}

static enum mst_status one_class(struct doing *d, struct mst_store *store, const char *what,
                                 struct mst_error *err)
{
    struct mst_class class;
    struct mst_person *people = NULL;
    struct mst_submission *in = NULL;
    struct mst_assignment *given = NULL;
    size_t count = 0, in_count = 0, given_count = 0;
    enum mst_status status = class_named(d, store, d->words[0], &class, err);
    if (status == MST_OK)
        status = mst_person_list(store, class.id, d->arena, &people, &count, err);
    struct mst_submission_filter filter = {
        .class_id = status == MST_OK ? class.id : NULL, .named = 1, .limit = 1 << 20};
    if (status == MST_OK)
        status = mst_submission_list(store, &filter, d->arena, &in, &in_count, err);
    if (status == MST_OK && strcmp(what, "due") == 0)
        status = mst_assignment_list(store, class.id, d->arena, &given, &given_count, err);
    if (status != MST_OK)
        return status;
    for (size_t n = 0; n < given_count; n++)
        if (!given[n].withdrawn_ms)
            due_out(d, &given[n], people, count, in, in_count);
    for (size_t n = 0; n < count && strcmp(what, "people") == 0; n++)
        person_out(d, &people[n], handed_in(in, in_count, people[n].id, NULL));
    return MST_OK;
}

static enum mst_status class(struct doing *d, struct mst_error *err) {
    struct mst_store *store; const char *what = d->count > 1 ? d->words[1] : "people";
    if (d->count > 2 || (strcmp(what, "people") != 0 && strcmp(what, "due") != 0)) return mst_fail(
        err, MST_USAGE,
        "after the class comes “people” or “due”; “%.60s” given (a name of "
        "several words wants quotes)",
        d->words[d->count > 2 ? 2 : 1]);
    enum mst_status status = mst_book_look(d->asked.data, &store, err);
    if (status != MST_OK) return status;
    status = d->count == 0 ? classes(d, store, err) : one_class(d, store, what, err);
    mst_store_close(store);
    return status;
}

/* --- the program ---------------------------------------------------------------------------- */

enum mst_status book_run(const struct command *self, int argc, char **argv, struct out *out,
                         struct mst_error *err)
{
    struct doing d = {.arena = mst_arena_new(0), .s = &out->text, .out = out};
    void *const targets[] = {&d.asked};
    enum mst_status status =
        options_read_words(self, argc, argv, targets, d.arena, &d.words, &d.count, err);
    if (status == MST_OK)
        status = self == &command_backup    ? backup(self, &d, err)
                 : self == &command_restore ? restore(self, &d, err)
                 : self == &command_export  ? export_all(self, &d, err)
                 : self == &command_check   ? check(self, &d, err)
                                            : class(&d, err);
    mst_arena_free(d.arena);
    return status;
}

int main(int argc, char **argv)
{
    struct out out = {0};
    struct mst_error err = {0}, write_err = {0};
    enum mst_status status = mst_fail(&err, MST_USAGE, "see mistara --help");
    signal(SIGPIPE, SIG_IGN);
    setlocale(LC_CTYPE, "C.UTF-8");
    for (size_t n = 0; argc > 1 && book_commands[n]; n++)
        if (strcmp(book_commands[n]->name, argv[1]) == 0) {
            err = (struct mst_error){0};
            status = book_run(book_commands[n], argc - 1, argv + 1, &out, &err);
        }
    enum mst_status written = out_finish(&out, &write_err);
    if (status == MST_OK) {
        status = written;
        err = write_err;
    }
    if (status != MST_OK)
        fprintf(stderr, "mistara: %s\n", err.message);
    return mst_status_exit_code(status);
}
