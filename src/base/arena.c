/*
 * An arena: a chain of blocks from calloc, handed out from the front. One
 * computation, one arena, one call to give everything back.
 */
#include <mistara/base.h>

#include <stdalign.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DEFAULT_BLOCK_BYTES = 64 * 1024, ALIGN = alignof(max_align_t) };

struct block {
    struct block *next;
    size_t size; /* bytes after the head */
    size_t used;
    size_t clean_from; /* from here on the bytes are still the zeros of calloc */
    alignas(max_align_t) unsigned char bytes[];
};

struct mst_arena {
    struct block *first;
    struct block *current; /* the last block of the chain */
    size_t block_bytes;
    size_t handed_out;
    long blocks_until_failure; /* -1: never on purpose */
};

static struct block *block_new(size_t size)
{
    /* No object is larger; malloc would say so too. */
    if (size > PTRDIFF_MAX - sizeof(struct block))
        return NULL;
    struct block *block = calloc(1, sizeof(struct block) + size);
    if (block == NULL)
        return NULL;
    block->size = size;
    return block;
}

struct mst_arena *mst_arena_new(size_t block_bytes)
{
    struct mst_arena *arena = calloc(1, sizeof *arena);
    if (arena == NULL)
        return NULL;
    arena->block_bytes = block_bytes == 0 ? DEFAULT_BLOCK_BYTES : block_bytes;
    arena->blocks_until_failure = -1;
    return arena;
}

static void free_chain(struct block *block)
{
    while (block != NULL) {
        struct block *next = block->next;
        free(block);
        block = next;
    }
}

void mst_arena_free(struct mst_arena *arena)
{
    if (arena == NULL)
        return;
    free_chain(arena->first);
    free(arena);
}

void mst_arena_reset(struct mst_arena *arena)
{
    if (arena->first != NULL) {
        free_chain(arena->first->next);
        arena->first->next = NULL;
        arena->first->used = 0;
    }
    arena->current = arena->first;
    arena->handed_out = 0;
}

/* count × size rounded up to the alignment; 0 on overflow (nothing is rounded up to ALIGN). */
static size_t rounded_size(size_t count, size_t size)
{
    size_t bytes;
    if (__builtin_mul_overflow(count, size, &bytes))
        return 0;
    if (bytes == 0)
        return ALIGN;
    if (bytes > SIZE_MAX - (ALIGN - 1))
        return 0;
    return (bytes + ALIGN - 1) / ALIGN * ALIGN;
}

static struct block *add_block(struct mst_arena *arena, size_t at_least)
{
    if (arena->blocks_until_failure == 0)
        return NULL;
    struct block *block = block_new(at_least > arena->block_bytes ? at_least : arena->block_bytes);
    if (block == NULL)
        return NULL;
    if (arena->blocks_until_failure > 0)
        arena->blocks_until_failure--;
    if (arena->current == NULL)
        arena->first = block;
    else
        arena->current->next = block;
    arena->current = block;
    return block;
}

static struct block *room_for(struct mst_arena *arena, size_t bytes)
{
    struct block *block = arena->current;
    if (bytes == 0)
        return NULL;
    if (block == NULL || block->size - block->used < bytes)
        return add_block(arena, bytes);
    return block;
}

/* The next bytes of the block, whatever they hold. */
static void *hand_out(struct mst_arena *arena, struct block *block, size_t bytes)
{
    void *memory = block->bytes + block->used;
    block->used += bytes;
    if (block->clean_from < block->used)
        block->clean_from = block->used;
    arena->handed_out += bytes;
    return memory;
}

void *mst_arena_alloc_raw(struct mst_arena *arena, size_t count, size_t size)
{
    size_t bytes = rounded_size(count, size);
    struct block *block = room_for(arena, bytes);
    return block == NULL ? NULL : hand_out(arena, block, bytes);
}

void *mst_arena_alloc(struct mst_arena *arena, size_t count, size_t size)
{
    size_t bytes = rounded_size(count, size);
    struct block *block = room_for(arena, bytes);
    if (block == NULL)
        return NULL;
    size_t dirty = block->clean_from > block->used ? block->clean_from - block->used : 0;
    void *memory = hand_out(arena, block, bytes);
    memset(memory, 0, dirty < bytes ? dirty : bytes);
    return memory;
}

void *mst_arena_grow(struct mst_arena *arena, void *old, size_t old_count, size_t new_count,
                     size_t size)
{
    size_t old_bytes = rounded_size(old_count, size), new_bytes = rounded_size(new_count, size);
    if (old == NULL || old_bytes == 0)
        return mst_arena_alloc(arena, new_count, size);
    if (new_bytes == 0)
        return NULL;
    if (new_bytes <= old_bytes)
        return old;

    struct block *block = arena->current;
    unsigned char *end = block->bytes + block->used;
    size_t more = new_bytes - old_bytes;
    if ((unsigned char *)old + old_bytes == end && block->size - block->used >= more) {
        /* The slack of the old rounding may hold bytes beyond old_count items. */
        size_t kept = old_count * size;
        memset((unsigned char *)old + kept, 0, new_bytes - kept);
        hand_out(arena, block, more);
        return old;
    }
    void *moved = mst_arena_alloc(arena, new_count, size);
    if (moved != NULL && old_count > 0)
        memcpy(moved, old, old_count * size);
    return moved;
}

char *mst_arena_strndup(struct mst_arena *arena, const char *s, size_t len)
{
    if (len == SIZE_MAX)
        return NULL;
    char *copy = mst_arena_alloc(arena, len + 1, 1);
    if (copy != NULL && len > 0)
        memcpy(copy, s, len);
    return copy;
}

char *mst_arena_printf(struct mst_arena *arena, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    int len = vsnprintf(NULL, 0, fmt, args);
    va_end(args);
    if (len < 0)
        return NULL;
    char *text = mst_arena_alloc(arena, (size_t)len + 1, 1);
    if (text == NULL)
        return NULL;
    va_start(args, fmt);
    vsnprintf(text, (size_t)len + 1, fmt, args);
    va_end(args);
    return text;
}

size_t mst_arena_used(const struct mst_arena *arena)
{
    return arena->handed_out;
}

void mst_arena_fail_after(struct mst_arena *arena, long n)
{
    arena->blocks_until_failure = n < 0 ? -1 : n;
}
