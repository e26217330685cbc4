/* sound_file.c – sound to practise with as a file: plain (WAV) or packed without loss (FLAC). */
#include "encoder.h"

#include <mistara/film.h>
#include <string.h>

static int ends_with(const char *path, const char *ending)
{
    size_t len = strlen(path), tail = strlen(ending);
    return len > tail && strcmp(path + len - tail, ending) == 0;
}

static enum mst_status write_flac(const struct mst_practice *practice, const char *path,
                                  struct mst_error *err)
{
    struct mst_outfile *file;
    struct encoder *encoder = NULL;
    struct wire_open open = {.format = WIRE_FLAC, .rate_hz = practice->rate_hz};
    enum mst_status status = mst_outfile_open(path, &file, err);
    if (status != MST_OK)
        return status;
    status = encoder_open(mst_outfile_temp_path(file), &open, NULL, &encoder, err);
    if (status == MST_OK)
        status = encoder_sound(encoder, practice->samples, practice->sample_count, err);
    if (status == MST_OK)
        status = encoder_end(encoder, err);
    encoder_close(encoder);
    if (status == MST_OK)
        return mst_outfile_commit(file, err);
    mst_outfile_abort(file);
    return status;
}

enum mst_status mst_practice_write(const struct mst_practice *practice, const char *path,
                                   struct mst_error *err)
{
    if (ends_with(path, ".wav"))
        return mst_wav_write(path, practice->samples, practice->sample_count, practice->rate_hz,
                             err);
    if (ends_with(path, ".flac"))
        return write_flac(practice, path, err);
    return mst_fail(err, MST_USAGE, "“%.100s” ends in neither .wav nor .flac", path);
}
