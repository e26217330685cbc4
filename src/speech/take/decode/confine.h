/*
 * The walls around decoding. After confine_self() the process can read and
 * seek in CONFINE_FILE_FD, write to CONFINE_PIPE_FD, get memory that is never
 * executable, and end. Any other system call kills it. So does memory, time or
 * stack beyond the limits. Nothing can be loosened afterwards.
 */
#ifndef TAKE_CONFINE_H
#define TAKE_CONFINE_H

#include <stddef.h>

enum { CONFINE_FILE_FD = 3, CONFINE_PIPE_FD = 4 };

struct confine_limits {
    size_t extra_bytes; /* of address space beyond what the program itself takes */
    unsigned cpu_s;
};

/*
 * Move the two descriptors to their places and close every other one; then
 * set up the walls. 0, or -1 with *why = what could not be set up; nothing
 * may be decoded then.
 */
int confine_self(int file_fd, int pipe_fd, struct confine_limits limits, const char **why);

#endif
