/*
 * mistara/base.h – the ground floor: errors, spans of text, arenas, growing
 * strings, files that are written whole or not at all.  It knows nothing of
 * scripture.
 *
 * Ownership: an arena owns everything allocated from it; mst_arena_free() is
 * the one call that gives it back.  A span borrows.  A mst_string owns its
 * bytes until mst_string_free().
 * Threads: no globals; one arena, string or file belongs to one thread at a
 * time.
 */
#ifndef MISTARA_BASE_H
#define MISTARA_BASE_H

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

#ifdef __cplusplus
extern "C" {
#endif

#define MST_MUST_CHECK         __attribute__((warn_unused_result))
#define MST_PRINTF(fmt, first) __attribute__((format(printf, fmt, first)))

/* Everything a call can end in. X(name, exit code of the program, what it means) */
#define MST_STATUS_LIST(X)                                                                         \
    X(OK, 0, "done")                                                                               \
    X(USAGE, 2, "the request itself is not understood")                                            \
    X(NOT_FOUND, 3, "no such sura, verse, word, file or rule")                                     \
    X(BAD_DATA, 4, "a file is damaged or not what it should be")                                   \
    X(IO, 5, "reading or writing failed")                                                          \
    X(NO_MEMORY, 6, "memory ran out")                                                              \
    X(UNSUPPORTED, 7, "this machine or build cannot do it")                                        \
    X(CANCELLED, 8, "stopped on request")                                                          \
    X(MISMATCH, 9, "a recording does not hold the passage asked for")                              \
    X(INTERNAL, 70, "a mistake of ours")

enum mst_status {
#define X(name, code, what) MST_##name,
    MST_STATUS_LIST(X)
#undef X
};

/*
 * message: one sentence a teacher understands; quotes the input and says what
 *          to do about it.
 * where:   for a log: file and line, offset, system error.
 */
struct mst_error {
    enum mst_status status;
    char message[480];
    char where[160];
};

/* Fill *err (NULL allowed) and return status, so that `return mst_fail(…)` reads well. */
enum mst_status mst_fail(struct mst_error *err, enum mst_status status, const char *fmt, ...)
    MST_PRINTF(3, 4);
/* The same with `where` = the system's words for errnum. */
enum mst_status mst_fail_errno(struct mst_error *err, enum mst_status status, int errnum,
                               const char *fmt, ...) MST_PRINTF(4, 5);
/* The program's exit code for a status, as in MST_STATUS_LIST. */
int mst_status_exit_code(enum mst_status status);
/* "NOT_FOUND" and the like. */
const char *mst_status_name(enum mst_status status);

/* Borrowed text: len bytes of UTF-8, no terminator promised. */
struct mst_span {
    const char *ptr;
    size_t len;
};
#define MST_SPAN(literal) ((struct mst_span){"" literal, sizeof(literal) - 1})
struct mst_span mst_span_of(const char *cstr);
int mst_span_equal(struct mst_span a, struct mst_span b);
/* The words of a list with commas, without the blanks round them; an empty place is an empty word.
 * Begin with *at = 0; 0: there is none left. */
int mst_list_next(struct mst_span list, size_t *at, struct mst_span *word);
/* A list of names → bits, 1 << n; "all": every one. 0: *word is none of them. */
int mst_list_bits(struct mst_span list, const char *const names[], int count, uint32_t *bits,
                  struct mst_span *word);

/*
 * Decode the code point at s[*off], advance *off. Ill-formed bytes give
 * U+FFFD and advance by one, so the loop always ends. Call only with
 * *off < len.
 */
uint32_t mst_utf8_next(const char *s, size_t len, size_t *off);
/* How many code points s holds; -1 where it is ill-formed or holds a NUL. */
int mst_utf8_letters(struct mst_span s);
/* Write cp to out (at most 4 bytes, no terminator); returns the length. */
size_t mst_utf8_put(uint32_t cp, char out[4]);

/* --- arena ------------------------------------------------------------- */
struct mst_arena;
/* block_bytes: size of the blocks taken from malloc; 0 = 64 KiB. NULL when memory ran out. */
struct mst_arena *mst_arena_new(size_t block_bytes);
void mst_arena_free(struct mst_arena *arena);
/* Give back everything, keep the first block for the next computation. */
void mst_arena_reset(struct mst_arena *arena);
/* Zeroed memory for count items of size bytes, aligned for any type; NULL on overflow or when
 * memory ran out. */
void *mst_arena_alloc(struct mst_arena *arena, size_t count, size_t size);
/* The same, not zeroed: for large arrays of which every item is written. */
void *mst_arena_alloc_raw(struct mst_arena *arena, size_t count, size_t size);
/* Resize the arena's latest allocation in place where it fits, else copy. */
void *mst_arena_grow(struct mst_arena *arena, void *old, size_t old_count, size_t new_count,
                     size_t size);
char *mst_arena_strndup(struct mst_arena *arena, const char *s, size_t len);
char *mst_arena_printf(struct mst_arena *arena, const char *fmt, ...) MST_PRINTF(2, 3);
/* Bytes handed out so far. */
size_t mst_arena_used(const struct mst_arena *arena);
/* For the failing-allocator tests: after n more successful blocks every block fails; -1 = off.
 * Per arena, no global. */
void mst_arena_fail_after(struct mst_arena *arena, long n);

/* --- growing string with a sticky error: check once at the end ---------- */
struct mst_string {
    char *ptr; /* always NUL-terminated when len > 0; NULL when nothing was added */
    size_t len;
    size_t cap;
    int failed; /* memory ran out somewhere on the way */
};
void mst_string_add(struct mst_string *s, const char *bytes, size_t len);
void mst_string_adds(struct mst_string *s, const char *cstr);
void mst_string_addf(struct mst_string *s, const char *fmt, ...) MST_PRINTF(2, 3);
void mst_string_add_cp(struct mst_string *s, uint32_t cp);
/* text as a JSON string with its quotes; control characters escaped, UTF-8 kept. */
void mst_string_add_json(struct mst_string *s, const char *bytes, size_t len);
/* text as XML character data, safe inside attributes too. */
void mst_string_add_xml(struct mst_string *s, const char *bytes, size_t len);
/* text as a CSV cell (RFC 4180); a cell that a spreadsheet would take for a formula is guarded by
 * a leading apostrophe. */
void mst_string_add_csv(struct mst_string *s, const char *bytes, size_t len);
void mst_string_free(struct mst_string *s);

/* --- whole files -------------------------------------------------------- */
/* A read-only mapping; unmapped by mst_map_close (which accepts an empty one). */
struct mst_map {
    const unsigned char *ptr;
    size_t len;
};
MST_MUST_CHECK enum mst_status mst_map_open(const char *path, struct mst_map *out,
                                            struct mst_error *err);
void mst_map_close(struct mst_map *map);

/*
 * A file that appears whole or not at all: written beside its place under a
 * temporary name, fsynced, renamed over path, directory fsynced. Sticky: a
 * failed write is reported by commit. abort removes the temporary file.
 * Exactly one of commit and abort ends it; both free it.
 */
struct mst_outfile;
MST_MUST_CHECK enum mst_status mst_outfile_open(const char *path, struct mst_outfile **out,
                                                struct mst_error *err);
void mst_outfile_write(struct mst_outfile *f, const void *bytes, size_t len);
/* The temporary file's path, for libraries that insist on writing by name. */
const char *mst_outfile_temp_path(const struct mst_outfile *f);
MST_MUST_CHECK enum mst_status mst_outfile_commit(struct mst_outfile *f, struct mst_error *err);
void mst_outfile_abort(struct mst_outfile *f);
/* The three in one. */
MST_MUST_CHECK enum mst_status mst_file_write(const char *path, const void *bytes, size_t len,
                                              struct mst_error *err);

/* What a folder lists, and what path is called in its folder, brought to the disk: a rename is only
 * there once its folder is. 0, or an errno. Some file systems cannot sync a folder (EINVAL): then
 * there is nothing more to do. */
int mst_folder_sync(const char *folder);
int mst_name_sync(const char *path);

/*
 * Where a data file of the program lies ("course/default.course"): as the
 * environment says; in the data folder beside the running program or above it
 * (a build tree); in share/mistara beside bin (an installation that was
 * moved); where it was installed. 0: nowhere; path is the last place looked at.
 * What the environment names is not looked for.
 */
int mst_data_path(const char *variable, const char *name, char *path, size_t size);

/* --- helper programs ------------------------------------------------------ */
/*
 * Start a program that has `socket` under the number `number` (0 or 3), /dev/null
 * under 0 to 2 otherwise, and as good as no environment. own_group: Ctrl-C does
 * not reach it, the caller ends it. Returns 0, or an errno.
 */
int mst_helper_start(const char *path, char *const argv[], int socket, int number, int own_group,
                     pid_t *pid);

/* --- languages of the interface ----------------------------------------- */
enum mst_lang { MST_LANG_EN, MST_LANG_AR };

/*
 * Append to a PDF, as PDF 1.7 (ISO 32000-1, 7.5.6 "Incremental updates")
 * foresees, a second version of the document's catalog with /Lang and
 * /ViewerPreferences (show the title; read from the language's side), and the
 * cross-reference section that leads to it. INTERNAL when the PDF has no
 * catalog of the kind cairo writes.
 */
MST_MUST_CHECK enum mst_status mst_pdf_add_language(const struct mst_string *pdf,
                                                    enum mst_lang lang, struct mst_string *out,
                                                    struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
