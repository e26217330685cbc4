/* data.c – where the files lie that come with the program. */
#include <mistara/base.h>

#include "mistara-config.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

int mst_data_path(const char *variable, const char *name, char *path, size_t size)
{
    static const char *const beside[] = {"data", "../data", "../../data", "../share/mistara"};
    const char *told = getenv(variable);
    if (told && *told)
        return snprintf(path, size, "%s", told) < (int)size;

    char program[4096];
    ssize_t len = readlink("/proc/self/exe", program, sizeof program - 1);
    while (len > 0 && program[len - 1] != '/')
        len--;
    program[len > 0 ? len : 0] = '\0';
    for (size_t n = 0; len > 0 && n < sizeof beside / sizeof beside[0]; n++)
        if (snprintf(path, size, "%s%s/%s", program, beside[n], name) < (int)size &&
            access(path, R_OK) == 0)
            return 1;
    return snprintf(path, size, "%s/%s", MISTARA_DATADIR, name) < (int)size &&
           access(path, R_OK) == 0;
}
