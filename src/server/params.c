/* params.c – parameters and members of a body, each with a sentence when it is not what it should
 * be.
 */
#include "desk.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *param(const struct request *rq, const char *name)
{
    for (int n = 0; n < rq->param_count; n++)
        if (strcmp(rq->params[n].name, name) == 0)
            return rq->params[n].value;
    return NULL;
}

enum mst_status param_wanted(const struct request *rq, const char *name, const char *example,
                             const char **out, struct mst_error *err)
{
    *out = param(rq, name);
    if (!*out || !**out)
        return mst_fail(err, MST_USAGE, "the parameter %s is missing, for example %s=%s", name,
                        name, example);
    return MST_OK;
}

enum mst_status param_integer(const struct request *rq, const char *name, int64_t least,
                              int64_t most, int64_t *io, struct mst_error *err)
{
    const char *value = param(rq, name);
    if (!value)
        return MST_OK;
    char *end;
    errno = 0;
    long long read = strtoll(value, &end, 10);
    if (errno || end == value || *end || read < least || read > most)
        return mst_fail(err, MST_USAGE, "%s takes a number from %lld to %lld; “%.40s” given", name,
                        (long long)least, (long long)most, value);
    *io = read;
    return MST_OK;
}

enum mst_status param_int(const struct request *rq, const char *name, int least, int most, int *io,
                          struct mst_error *err)
{
    int64_t value = *io;
    enum mst_status status = param_integer(rq, name, least, most, &value, err);
    *io = (int)value;
    return status;
}

enum mst_status param_real(const struct request *rq, const char *name, double least, double most,
                           double *io, struct mst_error *err)
{
    const char *value = param(rq, name);
    if (!value)
        return MST_OK;
    char *end;
    double read = strtod(value, &end);
    if (end == value || *end || !isfinite(read) || read < least || read > most)
        return mst_fail(err, MST_USAGE, "%s takes a number from %g to %g; “%.40s” given", name,
                        least, most, value);
    *io = read;
    return MST_OK;
}

enum mst_status param_flag(const struct request *rq, const char *name, int *io,
                           struct mst_error *err)
{
    return param_int(rq, name, 0, 1, io, err);
}

enum mst_status param_choice(const struct request *rq, const char *name, const char *const names[],
                             int *io, struct mst_error *err)
{
    const char *value = param(rq, name);
    if (!value)
        return MST_OK;
    struct mst_string list = {0};
    for (int n = 0; names[n]; n++) {
        if (strcmp(names[n], value) == 0) {
            *io = n;
            mst_string_free(&list);
            return MST_OK;
        }
        mst_string_addf(&list, "%s%s", n ? ", " : "", names[n]);
    }
    enum mst_status status = mst_fail(err, MST_USAGE, "%s is one of %s; “%.40s” given", name,
                                      list.ptr ? list.ptr : "", value);
    mst_string_free(&list);
    return status;
}

enum mst_status param_lang(const struct request *rq, enum mst_lang *out, struct mst_error *err)
{
    static const char *const names[] = {"en", "ar", NULL};
    int chosen = 0;
    enum mst_status status = param_choice(rq, "lang", names, &chosen, err);
    *out = chosen ? MST_LANG_AR : MST_LANG_EN;
    return status;
}

enum mst_status param_rules(const struct request *rq, const char *name, struct mst_rule_set *out,
                            struct mst_error *err)
{
    const char *value = param(rq, name);
    *out = (struct mst_rule_set){0};
    return value && *value ? mst_rule_set_parse(mst_span_of(value), out, err) : MST_OK;
}

enum mst_status param_passage(const struct request *rq, struct mst_range *out,
                              struct mst_error *err)
{
    const char *value;
    enum mst_status status = param_wanted(rq, "passage", "67:1-5", &value, err);
    if (status == MST_OK)
        status = mst_range_parse(rq->desk->text, mst_span_of(value), out, err);
    return status;
}

enum mst_status body_text_or_null(const struct request *rq, const char *name, size_t most,
                                  const char **io, struct mst_error *err)
{
    const json_t *member = json_object_get(rq->json, name);
    if (member && json_is_null(member)) {
        *io = NULL;
        return MST_OK;
    }
    return body_text(rq, name, most, io, err);
}

enum mst_status body_text(const struct request *rq, const char *name, size_t most, const char **io,
                          struct mst_error *err)
{
    const json_t *member = json_object_get(rq->json, name);
    if (!member)
        return MST_OK;
    if (!json_is_string(member))
        return mst_fail(err, MST_USAGE, "the member %s is no text", name);
    if (json_string_length(member) > most)
        return mst_fail(err, MST_USAGE, "the member %s is longer than %zu bytes", name, most);
    *io = json_string_value(member);
    return MST_OK;
}

enum mst_status body_flag(const struct request *rq, const char *name, int *io,
                          struct mst_error *err)
{
    const json_t *member = json_object_get(rq->json, name);
    if (!member)
        return MST_OK;
    if (!json_is_boolean(member))
        return mst_fail(err, MST_USAGE, "the member %s is true or false", name);
    *io = json_is_true(member);
    return MST_OK;
}

enum mst_status body_integer(const struct request *rq, const char *name, int64_t *io,
                             struct mst_error *err)
{
    const json_t *member = json_object_get(rq->json, name);
    if (!member)
        return MST_OK;
    if (!json_is_integer(member))
        return mst_fail(err, MST_USAGE, "the member %s is a whole number", name);
    *io = json_integer_value(member);
    return MST_OK;
}

static int is_among(const char *names, const char *name)
{
    size_t len = strlen(name);
    for (const char *at = names; *at;) {
        size_t word = strcspn(at, " ");
        if (word == len && memcmp(at, name, len) == 0)
            return 1;
        at += word + (at[word] == ' ');
    }
    return 0;
}

enum mst_status body_only(const struct request *rq, const char *names, struct mst_error *err)
{
    const char *key;
    json_t *member;
    json_object_foreach(rq->json, key, member)
    {
        if (!is_among(names, key))
            return mst_fail(err, MST_USAGE, "there is no member “%.40s” here; there are %s", key,
                            *names ? names : "none");
    }
    return MST_OK;
}
