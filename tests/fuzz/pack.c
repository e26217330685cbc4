/*
 * The packed text as an enemy would make it: opened as it comes, then once
 * more with its checksums put right, so that the checks behind them are
 * reached.  What opens must be readable to the last word.
 */
#include "target.h"

#include "text/pack_format.h"

#include <mistara/text.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

static volatile uint64_t seen; /* so that no reading is optimised away */

static void look_at(struct mst_span s)
{
    for (size_t i = 0; i < s.len; i++)
        seen += (unsigned char)s.ptr[i];
}

static void read_everything(const struct mst_text *text)
{
    look_at(mst_text_credits(text));
    look_at(mst_text_version(text));
    for (int32_t sura = 1; sura <= MST_SURA_COUNT; sura++) {
        look_at(mst_text_sura(text, sura)->name_ar);
        look_at(mst_text_sura(text, sura)->name_en);
        look_at(mst_text_sura(text, sura)->meaning_en);
    }
    for (int n = 0; n < mst_text_translation_count(text); n++) {
        look_at(mst_text_translation(text, n)->code);
        look_at(mst_text_translation(text, n)->title);
        look_at(mst_text_translation(text, n)->credit);
    }
    for (int32_t index = 0; index < MST_VERSE_COUNT; index++) {
        struct mst_addr a = mst_text_verse_addr(text, index);
        int32_t words = mst_text_word_count(text, a.sura, a.verse);
        for (int32_t w = 1; w <= words; w++)
            look_at(mst_text_word(text, a.sura, a.verse, w));
        seen += (uint64_t)mst_text_place(text, a.sura, a.verse).page;
        for (int n = 0; n < mst_text_translation_count(text); n++)
            look_at(mst_text_translated(text, n, a.sura, a.verse));
    }
    for (int d = MST_JUZ; d <= MST_MANZIL; d++) {
        int32_t count = mst_text_division_count(text, (enum mst_division)d);
        for (int32_t n = 1; n <= count; n++) {
            struct mst_range r;
            if (mst_text_division_range(text, (enum mst_division)d, n, &r, NULL) != MST_OK)
                abort();
        }
    }
    struct mst_range r;
    if (mst_range_parse(text, MST_SPAN("mulk 1-2"), &r, NULL) == MST_OK)
        seen += (uint64_t)r.first.verse;
}

static void open_bytes(const uint8_t *bytes, size_t len)
{
    int fd = memfd_create("pack", MFD_CLOEXEC);
    if (fd < 0 || write(fd, bytes, len) != (ssize_t)len)
        abort();
    char path[64];
    snprintf(path, sizeof path, "/proc/self/fd/%d", fd);
    struct mst_text *text;
    struct mst_error err = {0};
    if (mst_text_open(path, &text, &err) == MST_OK) {
        read_everything(text);
        mst_text_close(text);
    } else if (err.message[0] == '\0' || text != NULL) {
        abort(); /* a refusal without a word, or with something left open */
    }
    close(fd);
}

/* Put size and checksums right wherever the table can be read. */
static void seal(uint8_t *bytes, size_t len)
{
    struct pack_header header;
    if (len < sizeof header)
        return;
    memcpy(&header, bytes, sizeof header);
    memcpy(header.magic, PACK_MAGIC, sizeof header.magic);
    header.version = PACK_VERSION;
    header.file_bytes = len;
    size_t room = (len - sizeof header) / sizeof(struct pack_section);
    size_t count = header.section_count < room ? header.section_count : room;
    for (size_t i = 0; i < count; i++) {
        struct pack_section section;
        uint8_t *at = bytes + sizeof header + i * sizeof section;
        memcpy(&section, at, sizeof section);
        if (section.offset <= len && section.bytes <= len - section.offset)
            section.checksum = text_checksum(bytes + section.offset, section.bytes);
        memcpy(at, &section, sizeof section);
    }
    header.table_checksum =
        text_checksum(bytes + sizeof header, count * sizeof(struct pack_section));
    header.header_checksum = text_checksum(&header, offsetof(struct pack_header, header_checksum));
    memcpy(bytes, &header, sizeof header);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    open_bytes(bytes, len);
    uint8_t *sealed = malloc(len > 0 ? len : 1);
    if (sealed == NULL)
        abort();
    memcpy(sealed, bytes, len);
    seal(sealed, len);
    open_bytes(sealed, len);
    free(sealed);
    return 0;
}

void fuzz_target_end(void)
{
}
