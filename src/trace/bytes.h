/* Whole numbers in bytes, of either order. */
#ifndef FL_TRACE_BYTES_H
#define FL_TRACE_BYTES_H

#include <stdbool.h>
#include <stdint.h>

static inline uint16_t fl_u16(const uint8_t *p, bool big)
{
    return (uint16_t)(big ? p[0] << 8 | p[1] : p[1] << 8 | p[0]);
}

static inline uint32_t fl_u32(const uint8_t *p, bool big)
{
    const uint32_t a = fl_u16(p, big), b = fl_u16(p + 2, big);
    return big ? a << 16 | b : b << 16 | a;
}

static inline uint64_t fl_u64(const uint8_t *p, bool big)
{
    const uint64_t a = fl_u32(p, big), b = fl_u32(p + 4, big);
    return big ? a << 32 | b : b << 32 | a;
}

#endif
