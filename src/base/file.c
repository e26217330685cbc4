/* Whole files: mapped for reading, written whole or not at all. */
#include <mistara/base.h>

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

enum mst_status mst_map_open(const char *path, struct mst_map *out, struct mst_error *err)
{
    *out = (struct mst_map){0};
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0) {
        int saved = errno;
        return mst_fail_errno(err, saved == ENOENT ? MST_NOT_FOUND : MST_IO, saved,
                              saved == ENOENT ? "there is no file “%s”" : "cannot open “%s”", path);
    }
    enum mst_status status = MST_OK;
    struct stat info;
    if (fstat(fd, &info) != 0) {
        status = mst_fail_errno(err, MST_IO, errno, "cannot read “%s”", path);
    } else if (!S_ISREG(info.st_mode)) {
        status = mst_fail(err, MST_BAD_DATA, "“%s” is not a file but a folder or a device", path);
    } else if (info.st_size > 0) { /* mmap refuses an empty file; an empty map says the same */
        size_t len = (size_t)info.st_size;
        void *bytes = mmap(NULL, len, PROT_READ, MAP_PRIVATE, fd, 0);
        if (bytes == MAP_FAILED) {
            int saved = errno;
            status = mst_fail_errno(err, saved == ENOMEM ? MST_NO_MEMORY : MST_IO, saved,
                                    "cannot read “%s”", path);
        } else {
            *out = (struct mst_map){bytes, len};
        }
    }
    close(fd);
    return status;
}

void mst_map_close(struct mst_map *map)
{
    if (map->ptr != NULL)
        munmap((void *)(uintptr_t)map->ptr, map->len);
    *map = (struct mst_map){0};
}

struct mst_outfile {
    FILE *stream;
    char *path;      /* where the file is to appear: links followed, so that a link stays one */
    char *temp_path; /* in the same folder, so that rename is one step */
    int errnum;      /* the first failure of a write, 0 so far */
};

static void outfile_free(struct mst_outfile *f)
{
    if (f->stream != NULL)
        fclose(f->stream);
    free(f->path);
    free(f->temp_path);
    free(f);
}

/* What a file made in the plain way would get. There is no reading the umask without setting it,
 * and setting it would disturb other threads; the kernel shows it instead. */
static mode_t plain_mode(void)
{
    unsigned mask = 022;
    FILE *status = fopen("/proc/self/status", "re");
    if (status != NULL) {
        char line[256];
        while (fgets(line, sizeof line, status) != NULL)
            if (sscanf(line, "Umask: %o", &mask) == 1)
                break;
        fclose(status);
    }
    return (mode_t)(0666 & ~mask);
}

enum mst_status mst_outfile_open(const char *path, struct mst_outfile **out, struct mst_error *err)
{
    *out = NULL;
    struct stat info;
    int exists = stat(path, &info) == 0;
    if (path[0] == '\0' || (exists && !S_ISREG(info.st_mode)))
        return mst_fail(err, MST_USAGE, "“%s” cannot be written as a file: %s", path,
                        path[0] == '\0' ? "the name is empty"
                                        : "it is a folder or a device; give a file name");

    enum mst_status status = MST_NO_MEMORY;
    int fd = -1;
    struct mst_outfile *f = calloc(1, sizeof *f);
    if (f == NULL)
        goto fail;
    f->path = exists ? realpath(path, NULL) : strdup(path);
    if (f->path == NULL)
        goto fail;
    size_t room = strlen(f->path) + sizeof ".XXXXXX.part";
    f->temp_path = malloc(room);
    if (f->temp_path == NULL)
        goto fail;
    snprintf(f->temp_path, room, "%s.XXXXXX.part", f->path);

    status = MST_IO;
    fd = mkostemps(f->temp_path, (int)strlen(".part"), O_CLOEXEC);
    if (fd < 0)
        goto fail;
    if (fchmod(fd, exists ? info.st_mode & 07777 : plain_mode()) != 0 ||
        (f->stream = fdopen(fd, "w")) == NULL) {
        int saved = errno;
        close(fd);
        unlink(f->temp_path);
        errno = saved;
        goto fail;
    }
    *out = f;
    return MST_OK;

fail:;
    int saved = errno;
    if (f != NULL)
        outfile_free(f);
    if (status == MST_NO_MEMORY)
        return mst_fail(err, status, "memory ran out while opening “%s”", path);
    return mst_fail_errno(err, status, saved, "cannot write “%s”: %s", path,
                          saved == ENOENT ? "its folder does not exist"
                                          : "check the folder's permissions and free space");
}

void mst_outfile_write(struct mst_outfile *f, const void *bytes, size_t len)
{
    if (f->errnum == 0 && len > 0 && fwrite(bytes, 1, len, f->stream) != len)
        f->errnum = errno == 0 ? EIO : errno;
}

const char *mst_outfile_temp_path(const struct mst_outfile *f)
{
    return f->temp_path;
}

int mst_folder_sync(const char *folder)
{
    int errnum = 0;
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return errno;
    if (fsync(fd) != 0 && errno != EINVAL)
        errnum = errno;
    close(fd);
    return errnum;
}

int mst_name_sync(const char *path)
{
    char *copy = strdup(path);
    if (copy == NULL)
        return ENOMEM;
    int errnum = mst_folder_sync(dirname(copy));
    free(copy);
    return errnum;
}

/*
 * A library may have written the temporary file by name, even replaced it: so
 * what is synced is the file under that name, not our own descriptor.
 */
static int sync_named(const char *path)
{
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return errno;
    int errnum = fsync(fd) != 0 ? errno : 0;
    close(fd);
    return errnum;
}

enum mst_status mst_outfile_commit(struct mst_outfile *f, struct mst_error *err)
{
    int errnum = f->errnum;
    if (fflush(f->stream) != 0 && errnum == 0)
        errnum = errno;
    if (fclose(f->stream) != 0 && errnum == 0)
        errnum = errno;
    f->stream = NULL;
    if (errnum == 0)
        errnum = sync_named(f->temp_path);
    int renamed = 0;
    if (errnum == 0) {
        if (rename(f->temp_path, f->path) != 0)
            errnum = errno;
        else
            renamed = 1;
    }
    if (renamed)
        errnum = mst_name_sync(f->path);
    else
        unlink(f->temp_path);

    enum mst_status status = MST_OK;
    if (errnum != 0)
        status = mst_fail_errno(err, MST_IO, errnum, "“%s” could not be written%s", f->path,
                                errnum == ENOSPC || errnum == EDQUOT || errnum == EFBIG
                                    ? ": the disk is full; free some space and try again"
                                : renamed ? " safely to the disk"
                                          : "; what was there before is unchanged");
    outfile_free(f);
    return status;
}

void mst_outfile_abort(struct mst_outfile *f)
{
    if (f == NULL)
        return;
    unlink(f->temp_path);
    outfile_free(f);
}

enum mst_status mst_file_write(const char *path, const void *bytes, size_t len,
                               struct mst_error *err)
{
    struct mst_outfile *f;
    enum mst_status status = mst_outfile_open(path, &f, err);
    if (status != MST_OK)
        return status;
    mst_outfile_write(f, bytes, len);
    return mst_outfile_commit(f, err);
}
