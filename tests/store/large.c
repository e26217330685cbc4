/*
 * large.c – how long it takes until a learner, a submission and a class are
 * gone from the book of a large school. A measurement (make bench); rows are
 * made past the program, so many and so wide as a school's would be.
 *   bench-store-large [LEARNERS [SUBMISSIONS]]   (3000 learners, 22 each)
 */
#include "folder.h"
#include "store.h"

#include <mistara/classbook.h>
#include <time.h>

enum { CLASS = 30, PLACES = 12, LEAVE = 20 };

/* Ids are sixteen characters: a letter and a number. */
#define ID(letter, number) "'" letter "' || substr(CAST(1000000000000000+" number " AS TEXT),2)"
#define UP_TO(most)                                                                                \
    "WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i+1 FROM n WHERE i+1<" most ") "

static double now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

/* $L, $S, $T: learners, submissions each, all submissions. */
static void filled(const struct place *place, int learners, int each)
{
    static const char *const rows[] = {
        UP_TO("$L/30") "INSERT INTO class(id,name,language,retention_days,consent,limits,made_ms,"
                       "closed_ms,revision) SELECT " ID(
                           "c", "i") ",'Class','en',0,'words','{}',1,0,1 FROM n",
        UP_TO("$L/30") "INSERT INTO assignment(id,class,title,passage,how,rules,attend,stage,"
                       "due_ms,made_ms,withdrawn_ms,revision) SELECT " ID("a", "i") "," ID(
                           "c", "i") ",'t','112','{}','','',0,0,1,0,1 FROM n",
        UP_TO("$L") "INSERT INTO person(id,class,role,label,note,language,made_ms,left_ms,"
                    "revision) SELECT " ID("p", "i") "," ID(
                        "c", "i/30") ",'learner','Learner ' || "
                                     "CAST(i AS TEXT),'','en',1,0,1 FROM n",
        UP_TO("$T") "INSERT INTO take(id,name,passage,how,hash,type,note,pins,seconds,bytes,"
                    "made_ms,state,keep_voice,chosen,report,revision,person) SELECT " ID(
                        "t", "i") ",'','112','{}'," ID("h",
                                                       "i") ",'audio/"
                                                            "ogg','','[]',20,80000,1,'heard',0,"
                                                            "0,1,1," ID("p", "i/$S") " FROM n",
        UP_TO("$T") "INSERT INTO submission(id,class,assignment,person,take,passage,how,marks,"
                    "state,need,made_ms,heard_ms,sent_ms,revision) SELECT " ID("s", "i") "," ID(
                        "c",
                        "i/$S/30") "," ID("a",
                                          "i/$S/30") "," ID("p",
                                                            "i/$S") "," ID("t",
                                                                           "i") ",'112','{}','[]'"
                                                                                ",'heard',0.5,1,"
                                                                                "1,1,1 FROM n",
        UP_TO("$T") "INSERT INTO job(id,kind,about,input,result,state,made_ms,ended_ms) "
                    "SELECT " ID("j", "i") ",'submission'," ID(
                        "s", "i") ",'{\"submission\": \"' || " ID("s",
                                                                  "i") " || '\", \"take\": \"' "
                                                                       "|| " ID("t",
                                                                                "i") " || "
                                                                                     "'\"}','{}','"
                                                                                     "done',1,1 "
                                                                                     "FROM n",
        UP_TO("$T*12") "INSERT INTO "
                       "measure(submission,site,rule,letter,at,sura,verse,word,length,"
                       "start_ms,end_ms,measured_counts,counts_low,counts_high,expected_counts,"
                       "deviation,wrong,"
                       "rank,skill,trust,told) SELECT " ID(
                           "s", "i/12") ",i%12,'ghunna','n','112:1:1:1',112,1,1,"
                                        "'',1,2,2,1,3,2,0,0.1,1,7,'good','right' FROM n",
    };
    for (size_t n = 0; n < sizeof rows / sizeof rows[0]; n++) {
        struct mst_string sql = {0};
        for (const char *at = rows[n]; *at; at++) {
            int64_t number = *at != '$'     ? -1
                             : at[1] == 'L' ? learners
                             : at[1] == 'S' ? each
                                            : (int64_t)learners * each;
            if (number < 0)
                mst_string_add(&sql, at, 1);
            else
                mst_string_addf(&sql, "%lld", (long long)number), at++;
        }
        place_sql(place, sql.ptr);
        mst_string_free(&sql);
    }
    place_sql(place, "ANALYZE");
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void told(const char *what, double *ms, int count)
{
    qsort(ms, (size_t)count, sizeof *ms, by_size);
    printf("%s: median %.0f ms, longest %.0f ms of %d\n", what, ms[count / 2], ms[count - 1],
           count);
}

int main(int argc, char **argv)
{
    int learners = argc > 1 ? atoi(argv[1]) : 3000, each = argc > 2 ? atoi(argv[2]) : 22;
    void *state = NULL;
    struct mst_store *store;
    double ms[LEAVE], since = now_ms();
    char id[32];
    if (learners < 2 * CLASS || each < 1 || place_make(&state) != 0)
        return 2;
    struct place *place = state;
    assert_done(place_open(place, &store, &err));
    filled(place, learners, each);
    printf("%s: %d learners, %d submissions each, filled in %.1f s\n",
           *place->database ? "PostgreSQL" : "SQLite", learners, each, (now_ms() - since) / 1e3);
    mst_store_close(store);
    since = now_ms();
    assert_done(place_open(place, &store, &err));
    printf("opened as a book of the version before is: %.1f s\n", (now_ms() - since) / 1e3);
    for (int n = 0; n < LEAVE; n++) {
        struct mst_receipt receipt;
        snprintf(id, sizeof id, "p%015d", CLASS + n * (learners - CLASS) / LEAVE);
        since = now_ms();
        assert_done(mst_person_delete(store, id, place->arena, &receipt, &err));
        ms[n] = now_ms() - since;
    }
    told("a learner leaves", ms, LEAVE);
    for (int n = 0; n < LEAVE; n++) {
        snprintf(id, sizeof id, "s%015d", n); /* of the first, who stay */
        since = now_ms();
        assert_done(mst_submission_delete(store, id, &err));
        ms[n] = now_ms() - since;
    }
    told("a submission is deleted", ms, LEAVE);
    since = now_ms();
    snprintf(id, sizeof id, "c%015d", 0);
    assert_done(mst_class_delete(store, id, &err));
    ms[0] = now_ms() - since;
    told("a class of thirty is deleted", ms, 1);
    mst_store_close(store);
    return place_remove(&state);
}
