/* folder.h – a fresh data folder for each test. */
#ifndef TESTS_STORE_FOLDER_H
#define TESTS_STORE_FOLDER_H

/* cmocka.h wants these four before it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <mistara/store.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define assert_done(call)                                                                          \
    do {                                                                                           \
        struct mst_error err = {0};                                                                \
        enum mst_status ended = (call);                                                            \
        if (ended != MST_OK)                                                                       \
            fail_msg("%s: %s: %s", #call, mst_status_name(ended), err.message);                    \
    } while (0)
#define assert_refused(wanted, call)                                                               \
    do {                                                                                           \
        struct mst_error err = {0};                                                                \
        assert_int_equal((call), (wanted));                                                        \
        assert_true(err.message[0] != '\0');                                                       \
    } while (0)

struct place {
    char folder[64];
    struct mst_arena *arena;
};

static inline int place_make(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    strcpy(place->folder, P_tmpdir "/mistara-store-XXXXXX");
    if (!mkdtemp(place->folder))
        return -1;
    place->arena = mst_arena_new(0);
    *state = place;
    return 0;
}

static inline int place_remove(void **state)
{
    struct place *place = *state;
    char command[128];
    snprintf(command, sizeof command, "rm -rf '%s'", place->folder);
    mst_arena_free(place->arena);
    free(place);
    return system(command) != 0;
}

#endif
