/*
 * backup.c – the whole book out of one folder and into another: all of it,
 * while people go on working, and never from a file that was damaged or made
 * to do harm. Outside witnesses: tar and b2sum read what was written.
 */
#include "archived.h"
#include "living.h"
#include "store.h"

#include <fcntl.h>
#include <mistara/backup.h>
#include <pthread.h>
#include <sodium.h>
#include <sqlite3.h>
#include <stdatomic.h>
#include <sys/resource.h>
#include <unistd.h>

struct scene {
    struct place book;
    char file[80], folder[64];
    char class[MST_ID_SIZE], given[MST_ID_SIZE], one[MST_ID_SIZE], two[MST_ID_SIZE];
};

static int scene_make(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    void *place;
    unsetenv("MISTARA_TEST_DATABASE"); /* of a book in one file alone */
    if (!scene || place_make(&place) != 0)
        return -1;
    scene->book = *(struct place *)place;
    free(place);
    snprintf(scene->file, sizeof scene->file, "%s.tar", scene->book.folder);
    snprintf(scene->folder, sizeof scene->folder, "%.50s.again", scene->book.folder);
    *state = scene;
    return 0;
}

static int scene_remove(void **state)
{
    struct scene *scene = *state;
    char command[512];
    snprintf(command, sizeof command, "rm -rf '%s' '%s'* '%s'*", scene->book.folder, scene->file,
             scene->folder);
    mst_arena_free(scene->book.arena);
    free(scene);
    return system(command) != 0;
}

static struct mst_store *opened(const char *folder)
{
    struct mst_store *store;
    assert_done(mst_store_open(folder, &store, &err));
    return store;
}

static struct mst_store *with_people(struct scene *scene)
{
    struct mst_store *store = opened(scene->book.folder);
    some_class(store, 0, scene->class);
    some_assignment(store, scene->class, scene->given);
    live_a_little(&scene->book, store, scene->class, scene->given, "quince", scene->one);
    live_a_little(&scene->book, store, scene->class, scene->given, "medlar", scene->two);
    return store;
}

/* What a command of this machine prints. */
static void said(char *out, size_t size, const char *fmt, ...)
{
    char command[2048];
    va_list args;
    va_start(args, fmt);
    vsnprintf(command, sizeof command, fmt, args);
    va_end(args);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    size_t len = fread(out, 1, size - 1, pipe);
    out[len] = '\0';
    pclose(pipe);
}

static int problems_of(const char *folder)
{
    struct mst_arena *arena = mst_arena_new(0);
    const char **problems;
    size_t count;
    assert_done(mst_book_check(folder, arena, &problems, &count, &err));
    for (size_t n = 0; n < count; n++)
        print_message("%s\n", problems[n]);
    mst_arena_free(arena);
    return (int)count;
}

/* --- there and back ----------------------------------------------------------------- */

static void all_of_it_comes_back(void **state)
{
    struct scene *scene = *state;
    struct mst_backup_result made, back;
    struct mst_backup *listed;
    struct stat info;
    size_t count;
    char text[4096], again[200];
    struct mst_store *store = with_people(scene); /* and it stays open: the desk goes on */
    assert_done(mst_backup_make(scene->book.folder, scene->file, &made, &err));
    assert_int_equal(made.gone + made.missing + made.damaged, 0);
    assert_int_equal(stat(scene->file, &info), 0);
    assert_int_equal(info.st_size, made.bytes);
    assert_int_equal(info.st_mode & 0777, 0600);
    said(text, sizeof text, "b2sum -l 256 '%s'", scene->file);
    assert_memory_equal(text, made.digest, 64);
    /* As anyone can read it. */
    said(text, sizeof text,
         "mkdir '%s.tar-x' && cd '%s.tar-x' && tar xf '%s' && "
         "b2sum -l 256 --quiet -c SUMS 2>&1 && head -1 README",
         scene->folder, scene->folder, scene->file);
    assert_string_equal(text, "Mistara backup 1\n");
    said(text, sizeof text, "tar tf '%s' | wc -l", scene->file);
    assert_int_equal(atoi(text), made.files + 2); /* README and SUMS */
    /* A backup signs nobody in. */
    said(text, sizeof text,
         "cd '%s.tar-x' && sqlite3 mistara.db 'SELECT count(*) FROM session' "
         "2>/dev/null || echo 0",
         scene->folder);
    assert_int_equal(atoi(text), 0);

    assert_done(mst_backup_list(store, scene->book.arena, &listed, &count, &err));
    assert_int_equal(count, 1);
    assert_string_equal(listed[0].digest, made.digest);
    assert_int_equal(listed[0].bytes, made.bytes);
    snprintf(again, sizeof again, "%s", scene->file);
    assert_refused(MST_USAGE, mst_backup_make(scene->book.folder, again, &back, &err));
    assert_done(mst_backup_list(store, scene->book.arena, &listed, &count, &err));
    assert_int_equal(count, 1);
    said(text, sizeof text, "ls '%s/incoming'", scene->book.folder);
    assert_string_equal(text, "");

    assert_done(mst_backup_restore(scene->file, scene->folder, &back, &err));
    assert_int_equal(back.missing, 0);
    assert_int_equal(back.files, made.files);
    assert_string_equal(back.digest, listed[0].digest);
    struct place there = {.arena = scene->book.arena};
    strcpy(there.folder, scene->folder);
    count_marks(&there, "quince", 1);
    count_marks(&there, "medlar", 1);
    assert_int_equal(problems_of(scene->folder), 0);
    assert_int_equal(stat(scene->folder, &info), 0);
    assert_int_equal(info.st_mode & 0777, 0700);
    assert_int_equal(problems_of(scene->book.folder), 0);
    mst_store_close(store);

    /* Into its place alone: never over anything. */
    assert_refused(MST_USAGE, mst_backup_restore(scene->file, scene->folder, &back, &err));
    assert_refused(MST_USAGE, mst_backup_restore(scene->file, scene->file, &back, &err));
    snprintf(again, sizeof again, "%s.nowhere", scene->file);
    assert_refused(MST_NOT_FOUND, mst_backup_restore(again, scene->folder, &back, &err));
    assert_refused(MST_NOT_FOUND, mst_backup_make(again, again, &back, &err));

    /* The folder it came back to knows which backup holds its people. */
    store = opened(scene->folder);
    struct mst_receipt receipt;
    assert_done(mst_person_delete(store, scene->one, scene->book.arena, &receipt, &err));
    snprintf(again, sizeof again, "[\"%s\"]", strrchr(scene->file, '/') + 1);
    assert_string_equal(receipt.backups, again);
    assert_int_equal(files_with(&there, "quince"), 0);
    mst_store_close(store);
}

static void receipts_name_the_backups(void **state)
{
    struct scene *scene = *state;
    struct mst_store *store = with_people(scene);
    struct mst_backup_result made;
    struct mst_receipt receipt;
    struct mst_backup *listed;
    size_t count;
    char later[MST_ID_SIZE], second[160], wanted[200], text[64];
    const char *name = strrchr(scene->file, '/') + 1;
    assert_done(mst_backup_make(scene->book.folder, scene->file, &made, &err));
    int64_t then = mst_store_now_ms();
    while (mst_store_now_ms() <= then)
        usleep(500);
    some_person(store, scene->class, "Came later", later);
    assert_done(mst_person_delete(store, later, scene->book.arena, &receipt, &err));
    assert_string_equal(receipt.backups, "[]");
    assert_done(mst_person_delete(store, scene->one, scene->book.arena, &receipt, &err));
    snprintf(wanted, sizeof wanted, "[\"%s\"]", name);
    assert_string_equal(receipt.backups, wanted);
    /* A second backup does not hold who had gone; it holds who stays. */
    snprintf(second, sizeof second, "%s2", scene->file);
    assert_done(mst_backup_make(scene->book.folder, second, &made, &err));
    said(text, sizeof text, "grep -c quince '%s'", second);
    assert_int_equal(atoi(text), 0);
    said(text, sizeof text, "grep -c medlar '%s'", second);
    assert_true(atoi(text) > 0);
    /* One that was destroyed is named no more. */
    assert_done(mst_backup_list(store, scene->book.arena, &listed, &count, &err));
    assert_int_equal(count, 2);
    assert_done(mst_backup_forget(store, listed[1].id, &err));
    assert_refused(MST_NOT_FOUND, mst_backup_forget(store, listed[1].id, &err));
    assert_done(mst_person_delete(store, scene->two, scene->book.arena, &receipt, &err));
    snprintf(wanted, sizeof wanted, "[\"%s2\"]", name);
    assert_string_equal(receipt.backups, wanted);
    mst_store_close(store);
}

/* --- while people go on --------------------------------------------------------------- */

struct writer {
    struct mst_store *store;
    const struct scene *scene;
    int number;
    atomic_int *ends;
    atomic_int kept; /* how many were acknowledged */
};

static void *write_on(void *argument)
{
    struct writer *w = argument;
    struct mst_arena *arena = mst_arena_new(0);
    while (!atomic_load(w->ends)) {
        char bytes[64], person[MST_ID_SIZE], label[64], id[MST_ID_SIZE], upload[MST_ID_SIZE];
        struct mst_receipt receipt;
        int64_t have;
        int n = atomic_load(&w->kept);
        snprintf(bytes, sizeof bytes, "sound %d of writer %d", n, w->number);
        snprintf(label, sizeof label, "writer %d, %d", w->number, n);
        some_person(w->store, w->scene->class, label, person);
        assert_done(mst_upload_open(w->store, person, w->scene->given, "audio/ogg",
                                    (int64_t)strlen(bytes), upload, &err));
        assert_done(mst_upload_append(w->store, upload, 0, bytes, strlen(bytes), &have, &err));
        assert_done(mst_upload_submit(w->store, upload, "[]", id, &err));
        if (n % 3 == 2) /* and some go again */
            assert_done(mst_person_delete(w->store, person, arena, &receipt, &err));
        mst_arena_reset(arena);
        atomic_fetch_add(&w->kept, 1);
    }
    mst_arena_free(arena);
    return NULL;
}

static int submissions_in(struct mst_store *store, int writer)
{
    struct mst_error why = {0};
    char label[64];
    snprintf(label, sizeof label, "writer %d, %%", writer);
    struct query q = query_begin(&store->db, &why,
                                 "SELECT count(*) FROM submission s JOIN person p ON "
                                 "p.id=s.person WHERE p.label LIKE $1",
                                 "t", label);
    int count = query_row(&q) ? (int)query_integer(&q, 0) : -1;
    assert_done(query_end(&q));
    return count;
}

static void it_is_of_one_moment(void **state)
{
    struct scene *scene = *state;
    enum { WRITERS = 3, BACKUPS = 3 };
    struct mst_store *store = with_people(scene);
    struct writer writers[WRITERS];
    pthread_t threads[WRITERS];
    atomic_int ends = 0;
    assert_done(db_sqlite.run(store->db.lines[0].handle, "PRAGMA synchronous=OFF", &err));
    for (int n = 0; n < WRITERS; n++) {
        writers[n] = (struct writer){store, scene, n, &ends, 0};
        assert_int_equal(pthread_create(&threads[n], NULL, write_on, &writers[n]), 0);
    }
    for (int round = 0; round < BACKUPS; round++) {
        int before[WRITERS], after[WRITERS];
        struct mst_backup_result made, back;
        char file[160];
        for (int n = 0; n < WRITERS; n++) /* someone is at work in earnest */
            for (int had = atomic_load(&writers[n].kept); atomic_load(&writers[n].kept) < had + 4;)
                usleep(1000);
        for (int n = 0; n < WRITERS; n++)
            before[n] = atomic_load(&writers[n].kept);
        snprintf(file, sizeof file, "%s-%d", scene->file, round);
        assert_done(mst_backup_make(scene->book.folder, file, &made, &err));
        for (int n = 0; n < WRITERS; n++)
            after[n] = atomic_load(&writers[n].kept);
        assert_done(mst_backup_restore(file, scene->folder, &back, &err));
        assert_int_equal(back.missing, 0);
        assert_int_equal(problems_of(scene->folder), 0);
        struct mst_store *again = opened(scene->folder);
        for (int n = 0; n < WRITERS; n++) {
            int there = submissions_in(again, n);
            /* two of three stay; one may be between its rows */
            assert_in_range(there, (before[n] - before[n] / 3) - made.gone - 1,
                            after[n] - after[n] / 3 + 1);
        }
        mst_store_close(again);
        char command[200];
        snprintf(command, sizeof command, "rm -rf '%s'", scene->folder);
        assert_int_equal(system(command), 0);
    }
    atomic_store(&ends, 1);
    for (int n = 0; n < WRITERS; n++)
        pthread_join(threads[n], NULL);
    assert_int_equal(problems_of(scene->book.folder), 0);
    mst_store_close(store);
}

/* --- damage -------------------------------------------------------------------------- */

static void bytes_to(const char *path, const char *bytes, size_t len)
{
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(bytes, 1, len, f), len);
    assert_int_equal(fclose(f), 0);
}

/* Refused with a sentence, and nothing is left of the attempt. */
static void refused_and_nothing_left(const struct scene *scene, const char *file)
{
    struct mst_backup_result back;
    char text[256];
    assert_refused(MST_BAD_DATA, mst_backup_restore(file, scene->folder, &back, &err));
    said(text, sizeof text, "ls -d '%s'* 2>/dev/null", scene->folder);
    assert_string_equal(text, "");
}

static void damage_is_seen(void **state)
{
    struct scene *scene = *state;
    struct mst_backup_result made, back;
    struct mst_store *store = with_people(scene);
    size_t len;
    char hurt[160], command[256];
    assert_done(mst_backup_make(scene->book.folder, scene->file, &made, &err));
    mst_store_close(store);
    char *bytes = bytes_of(scene->file, &len);
    snprintf(hurt, sizeof hurt, "%s-hurt", scene->file);
    /* Cut off anywhere but in the zeros of its end. */
    for (size_t cut = 0; cut + 1024 < len; cut += len / 25 + 1) {
        bytes_to(hurt, bytes, cut);
        refused_and_nothing_left(scene, hurt);
    }
    /* One bit: refused, or it was in the filling between files and everything is as it was. */
    srand(5);
    int seen = 0;
    enum { TRIES = 30 };
    for (int n = 0; n < TRIES; n++) {
        size_t at = (size_t)rand() % len;
        bytes[at] ^= (char)(1 << rand() % 8);
        bytes_to(hurt, bytes, len);
        if (mst_backup_restore(hurt, scene->folder, &back, NULL) == MST_OK) {
            assert_int_equal(problems_of(scene->folder), 0);
            snprintf(command, sizeof command, "rm -rf '%s'", scene->folder);
            assert_int_equal(system(command), 0);
        } else {
            refused_and_nothing_left(scene, hurt);
            seen++;
        }
        free(bytes);
        bytes = bytes_of(scene->file, &len);
    }
    assert_true(seen > TRIES / 3);
    free(bytes);
    bytes_to(hurt, "", 0);
    refused_and_nothing_left(scene, hurt);
    bytes_to(hurt, "no tar at all, but some words of someone", 40);
    refused_and_nothing_left(scene, hurt);
}

/* --- files made to do harm ---------------------------------------------------------------- */

static void what_leads_elsewhere_is_refused(void **state)
{
    struct scene *scene = *state;
    struct mst_backup_result back;
    size_t len;
    char absolute[200];
    mst_store_close(opened(scene->book.folder));
    char *db = database_of(scene->book.folder, NULL, &len);
    /* As it stands it is a backup … */
    make_archive(scene->file, &(struct archived){.db = db, .db_len = len});
    assert_done(mst_backup_restore(scene->file, scene->folder, &back, &err));
    char command[300];
    snprintf(command, sizeof command, "rm -rf '%s'", scene->folder);
    assert_int_equal(system(command), 0);
    const char hash[] = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";
    char sound[128];
    snprintf(sound, sizeof sound, "sound/01/%s", hash);
    snprintf(absolute, sizeof absolute, "%s.escaped", scene->folder);
    /* … and with any of these it is none. */
    const struct planted bad[] = {
        {.name = "../escaped", .content = "x"},
        {.name = absolute, .content = "x"},
        {.name = "sound/../../escaped", .content = "x"},
        {.name = "reports/0000000000000000/../../../escaped", .content = "x"},
        {.name = "reports/0000000000000000/.hidden", .content = "x"},
        {.name = "reports/short/x", .content = "x"},
        {.name = "voices/../x.voice", .content = "x"},
        {.name = "voices/a/b.voice", .content = "x"},
        {.name = "uploads/../lock", .content = "x"},
        {.name = "lock", .content = "x"},
        {.name = "mistara.db-wal", .content = "x"},
        {.name = "mistara.db-journal", .content = "x"},
        {.name = "incoming/x", .content = "x"},
        {.name = "work/0000000000000000/a/b/c/d/e", .content = "x"},
        {.name = "mistara.db", .content = "x"},
        {.name = "README", .content = "twice"},
        {.name = "SUMS", .content = "early"},
        {.name = sound, .type = AE_IFLNK, .to = "/etc/passwd"},
        {.name = sound, .type = 1, .to = "/etc/passwd"},
        {.name = sound, .type = 1, .to = "README"},
        {.name = sound, .type = AE_IFIFO},
        {.name = sound, .type = AE_IFCHR},
        {.name = "reports", .type = AE_IFDIR},
        {.name = "reports/0000000000000000/hole", .announced = (int64_t)1 << 40},
    };
    for (size_t n = 0; n < sizeof bad / sizeof bad[0]; n++) {
        make_archive(scene->file, &(struct archived){.db = db, .db_len = len, .planted = &bad[n]});
        refused_and_nothing_left(scene, scene->file);
    }
    assert_int_not_equal(access(absolute, F_OK), 0);
    /* Packed so that a little becomes much. */
    make_archive(scene->file, &(struct archived){.db = db, .db_len = len, .gzip = 1});
    refused_and_nothing_left(scene, scene->file);
    free(db);
}

static void a_database_that_acts_is_refused(void **state)
{
    struct scene *scene = *state;
    static const char *const meddled[] = {
        "CREATE TRIGGER t AFTER INSERT ON setting BEGIN DELETE FROM person; END",
        "CREATE VIEW v AS SELECT * FROM person",
        "CREATE TABLE more(x)",
        "DROP INDEX take_hash",
        "PRAGMA user_version=99",
        "PRAGMA user_version=0",
        "PRAGMA user_version=-5",
        /* rows that refer to nothing */
        "PRAGMA foreign_keys=OFF; INSERT INTO note(id,submission,text,type,bytes,by,made_ms) "
        "VALUES('x','nowhere','','',0,'',0)",
    };
    for (size_t n = 0; n < sizeof meddled / sizeof meddled[0]; n++) {
        char command[300];
        size_t len;
        mst_store_close(opened(scene->book.folder));
        char *db = database_of(scene->book.folder, meddled[n], &len);
        make_archive(scene->file, &(struct archived){.db = db, .db_len = len});
        refused_and_nothing_left(scene, scene->file);
        free(db);
        snprintf(command, sizeof command, "rm -rf '%s'/*", scene->book.folder);
        assert_int_equal(system(command), 0);
    }
}

/* --- the book looks at itself ----------------------------------------------------------- */

static void what_is_missing_is_told(void **state)
{
    struct scene *scene = *state;
    struct mst_backup_result made, back;
    char command[400];
    mst_store_close(with_people(scene));
    assert_int_equal(problems_of(scene->book.folder), 0);
    snprintf(command, sizeof command,
             "cd '%s' && set -- sound/*/* && echo more >>\"$1\" && rm \"$2\" && "
             "rm voices/quince* && for f in uploads/*; do : >$f; done",
             scene->book.folder);
    assert_int_equal(system(command), 0);
    /* a sound damaged, one missing, a voice, two uploads cut */
    assert_int_equal(problems_of(scene->book.folder), 5);
    /* What there is can still be carried away, and it is told what there is not. */
    assert_done(mst_backup_make(scene->book.folder, scene->file, &made, &err));
    assert_int_equal(made.missing, 1);
    assert_int_equal(made.damaged, 1);
    assert_done(mst_backup_restore(scene->file, scene->folder, &back, &err));
    assert_int_equal(back.missing, 5);
}

/* --- the export ------------------------------------------------------------------------ */

static void everything_goes_out_in_open_forms(void **state)
{
    struct scene *scene = *state;
    struct mst_export_result out;
    struct mst_export_scope all = {NULL, NULL}, one = {NULL, scene->one},
                            nobody = {NULL, "0000000000000000"};
    char text[4096], to[100];
    struct mst_store *store = with_people(scene);
    struct mst_person p;
    assert_done(mst_person_get(store, scene->two, scene->book.arena, &p, &err));
    p.note = "=HYPERLINK(\"x\"), \"quoted\"\nand a second line";
    assert_done(mst_person_put(store, &p, &err));
    snprintf(to, sizeof to, "%s-out", scene->folder);
    assert_done(mst_export_all(scene->book.folder, &all, to, &out, &err));
    assert_int_equal(out.recordings, 4); /* two recitations, two spoken notes */
    assert_int_equal(out.absent, 0);
    said(text, sizeof text, "cd '%s' && b2sum -l 256 --quiet -c SUMS 2>&1; ls recordings | wc -l",
         to);
    assert_string_equal(text, "4\n");
    /* Python's readers of both forms are the outside witnesses: they agree on every cell. */
    said(text, sizeof text,
         "cd '%s' && python3 -c \"\n"
         "import csv,json,glob\n"
         "n=0\n"
         "for f in sorted(glob.glob('*.csv')):\n"
         "  rows=list(csv.DictReader(open(f,encoding='utf-8',newline='')))\n"
         "  lines=[json.loads(l) for l in open(f[:-4]+'.jsonl',encoding='utf-8')]\n"
         "  assert len(rows)==len(lines),f\n"
         "  for r,l in zip(rows,lines):\n"
         "    assert list(r)==list(l),f\n"
         "    for k,v in l.items():\n"
         "      t='' if v is None else 'yes' if v is True else 'no' if v is False else v\n"
         "      if isinstance(t,(dict,list)): assert json.loads(r[k])==t,(f,k)\n"
         "      elif isinstance(t,(int,float)): assert float(r[k])==t,(f,k)\n"
         "      else: assert r[k]==(chr(39)+t if t[:1] in '=+-@' and t else t),(f,k,r[k],t)\n"
         "      assert not r[k][:1] in ('=','@','+'),(f,k)\n"
         "      n+=1\n"
         "print(n>150)\" 2>&1",
         to);
    assert_string_equal(text, "True\n");
    /* No codes, no sign-ins, no passphrase. */
    said(text, sizeof text, "ls '%s' | grep -cE 'session|join|setting'", to);
    assert_string_equal(text, "0\n");
    assert_refused(MST_USAGE, mst_export_all(scene->book.folder, &all, to, &out, &err));

    /* Of one learner: theirs, and no trace of another. */
    snprintf(to, sizeof to, "%s-one", scene->folder);
    assert_done(mst_export_all(scene->book.folder, &one, to, &out, &err));
    assert_int_equal(out.recordings, 2);
    said(text, sizeof text, "grep -rlaF medlar '%s' | wc -l; grep -rlaF quince '%s' | wc -l", to,
         to);
    assert_string_equal(text, "0\n16\n");
    snprintf(to, sizeof to, "%s-none", scene->folder);
    assert_refused(MST_NOT_FOUND, mst_export_all(scene->book.folder, &nobody, to, &out, &err));
    assert_int_not_equal(access(to, F_OK), 0);
    struct mst_export_scope class = {scene->class, NULL};
    snprintf(to, sizeof to, "%s-class.tar", scene->folder);
    assert_done(mst_export_all(scene->book.folder, &class, to, &out, &err));
    said(text, sizeof text, "tar tf '%s' | grep -c recordings/", to);
    assert_string_equal(text, "4\n");
    mst_store_close(store);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, scene_make, scene_remove)
    const struct CMUnitTest tests[] = {
        TEST(all_of_it_comes_back),
        TEST(receipts_name_the_backups),
        TEST(it_is_of_one_moment),
        TEST(damage_is_seen),
        TEST(what_leads_elsewhere_is_refused),
        TEST(a_database_that_acts_is_refused),
        TEST(what_is_missing_is_told),
        TEST(everything_goes_out_in_open_forms),
    };
    return cmocka_run_group_tests_name("backups", tests, NULL, NULL);
}
