/* Passages and addresses as nobody would type them. What is understood must exist. */
#include "target.h"

#include <mistara/text.h>
#include <stdlib.h>
#include <string.h>

static struct mst_text *text;

static void check_exists(struct mst_addr a)
{
    char printed[48];
    int32_t words = mst_text_word_count(text, a.sura, a.verse);
    if (words == 0 || a.word < 0 || a.word > words ||
        strlen(mst_addr_print(a, printed)) >= sizeof printed)
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    if (text == NULL && mst_text_open(NULL, &text, NULL) != MST_OK)
        abort();
    struct mst_span typed = {(const char *)bytes, len};
    struct mst_range range, again;
    struct mst_addr addr;
    struct mst_error err = {0};
    if (mst_range_parse(text, typed, &range, &err) == MST_OK) {
        char printed[96];
        check_exists(range.first);
        check_exists(range.last);
        mst_range_print(range, printed);
        if (mst_range_parse(text, mst_span_of(printed), &again, NULL) != MST_OK ||
            mst_addr_compare(range.first, again.first) != 0 ||
            mst_addr_compare(range.last, again.last) != 0)
            abort();
    } else if (err.message[0] == '\0') {
        abort();
    }
    if (mst_addr_parse(text, typed, &addr, &err) == MST_OK && addr.word > 0)
        check_exists(addr);
    return 0;
}

void fuzz_target_end(void)
{
    mst_text_close(text);
}
