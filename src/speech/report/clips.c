/* clips.c – every measured site as a small sound file, with an index. */
#include "parts.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

static const double room_ms = 150; /* heard before and after, so that the ear finds its place */

/* How many sites of the same rule in the same word came before. */
static int how_manieth(const struct mst_measures *m, int32_t site)
{
    int nth = 1;
    for (int32_t n = site - 1; n >= 0; n--) {
        const struct mst_measured_site *a = &m->sites[n], *b = &m->sites[site];
        nth += a->rule == b->rule && a->at.sura == b->at.sura && a->at.verse == b->at.verse &&
               a->at.word == b->at.word;
    }
    return nth;
}

static void clip_name(const struct mst_measures *m, int32_t site, char out[96])
{
    const struct mst_measured_site *s = &m->sites[site];
    snprintf(out, 96, "%02d-%02d-%02d_%s_%d.wav", s->at.sura, s->at.verse, s->at.word,
             mst_rule_id(s->rule), how_manieth(m, site));
}

static enum mst_status path_in(const char *folder, const char *name, char out[PATH_MAX],
                               struct mst_error *err)
{
    int len = snprintf(out, PATH_MAX, "%s/%s", folder, name);
    if (len < 0 || len >= PATH_MAX)
        return mst_fail(err, MST_USAGE, "the path of the folder is too long: %.80s…", folder);
    return MST_OK;
}

enum mst_status mst_report_clips(const struct mst_report *r, const char *folder, size_t *count,
                                 struct mst_error *err)
{
    const struct mst_measures *m = r->measures;
    char path[PATH_MAX], name[96], at[48];
    if (count)
        *count = 0;
    if (!r->take)
        return mst_fail(err, MST_USAGE, "there is no sound to cut clips from");
    if (mkdir(folder, 0777) != 0 && errno != EEXIST)
        return mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be made", folder);
    struct mst_string index = {0};
    enum mst_status status = MST_OK;
    mst_string_adds(&index, "file\tat\trule\tlength\tstart_ms\tend_ms\theld_ms\tmeasured_counts\t"
                            "expected_counts\treliability\n");
    for (int32_t n = 0; n < m->site_count && status == MST_OK; n++) {
        const struct mst_measured_site *s = &m->sites[n];
        clip_name(m, n, name);
        status = path_in(folder, name, path, err);
        double start = s->start_ms - room_ms;
        if (status == MST_OK)
            status = mst_take_clip(r->take, start > 0 ? start : 0, s->end_ms + room_ms, path, err);
        if (status != MST_OK)
            break;
        mst_string_addf(&index, "%s\t%s\t%s\t%s\t%d\t%d\t%d\t%.2f\t%.0f\t%s\n", name,
                        report_word_addr(s->at, at), mst_rule_id(s->rule), mst_length_id(s->length),
                        s->start_ms, s->end_ms, s->held_ms, s->measured_counts, s->expected_counts,
                        mst_edge_trust_id(s->trust));
        if (count)
            *count += 1;
    }
    if (status == MST_OK && index.failed)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while listing the clips");
    if (status == MST_OK)
        status = path_in(folder, "index.tsv", path, err);
    if (status == MST_OK)
        status = mst_file_write(path, index.ptr, index.len, err);
    mst_string_free(&index);
    return status;
}
