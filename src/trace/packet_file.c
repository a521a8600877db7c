/* Capture files, read block by block; what is not held is skipped. */
#include "trace/packet_file.h"

#include <math.h>
#include <string.h>

#include "trace/bytes.h"

enum {
    PCAP_HEADER = 24,
    PCAP_RECORD = 16,
    BLOCK_LEAST = 12,
    SECTION = 0x0A0D0D0A, /* the same in both byte orders */
    INTERFACE = 1,
    OLD_PACKET = 2,
    SIMPLE_PACKET = 3,
    ENHANCED_PACKET = 6,
};
static const uint32_t pcap_us = 0xA1B2C3D4, pcap_ns = 0xA1B23C4D, section_order = 0x1A2B3C4D;

/* Magic number of classic pcap; 0 if it is none. */
static uint32_t pcap_magic(const uint8_t *p, bool *big)
{
    for (int b = 0; b < 2; b++) {
        const uint32_t magic = fl_u32(p, b);
        *big = b;
        if (magic == pcap_us || magic == pcap_ns)
            return magic;
    }
    return 0;
}

static bool section_magic(const uint8_t *p, bool *big)
{
    if (fl_u32(p, false) != SECTION)
        return false;
    *big = fl_u32(p + 8, true) == section_order;
    return *big || fl_u32(p + 8, false) == section_order;
}

bool fl_packet_file_is(const char *head, size_t size)
{
    bool big;
    const uint8_t *p = (const uint8_t *)head;
    return (size >= PCAP_HEADER && pcap_magic(p, &big)) ||
           (size >= BLOCK_LEAST && section_magic(p, &big));
}

/* ---- bytes ---- */

static bool broken(struct fl_packet_file *f, const char *why)
{
    snprintf(f->broken, sizeof f->broken, "%s", why);
    return false;
}

/* Exactly n bytes; false, and cut unless at a clean end, if there are fewer. */
static bool take(struct fl_packet_file *f, void *to, size_t n, bool may_end)
{
    const size_t got = fread(to, 1, n, f->stream);
    if (got < n && !(may_end && got == 0))
        f->cut = true;
    return got == n;
}

/* By reading: a seek past the end of a cut file would not be noticed. */
static bool skip(struct fl_packet_file *f, size_t n)
{
    uint8_t waste[4096];
    for (size_t part; n > 0; n -= part) {
        part = n < sizeof waste ? n : sizeof waste;
        if (!take(f, waste, part, false))
            return false;
    }
    return true;
}

/* n bytes of a packet, of which the first are held. */
static bool hold(struct fl_packet_file *f, struct fl_packet *p, size_t n)
{
    p->data = f->held;
    p->size = n < FL_PACKET_HELD ? n : FL_PACKET_HELD;
    return take(f, f->held, p->size, false) && skip(f, n - p->size);
}

/* ---- pcap ---- */

static bool next_pcap(struct fl_packet_file *f, struct fl_packet *p)
{
    uint8_t head[PCAP_RECORD];
    if (!take(f, head, sizeof head, true))
        return false;
    const uint32_t size = fl_u32(head + 8, f->big);
    if (size > FL_PACKET_MOST)
        return broken(f, "a packet of impossible length");
    p->link = f->interface[0].link;
    p->time_s = fl_u32(head, f->big) + f->interface[0].tick_s * fl_u32(head + 4, f->big);
    return hold(f, p, size);
}

static bool open_pcap(struct fl_packet_file *f, const uint8_t *head)
{
    const uint32_t magic = pcap_magic(head, &f->big);
    f->interface[0] =
        (struct fl_packet_interface){.link = (int)(fl_u32(head + 20, f->big) & 0xFFFF),
                                     .tick_s = magic == pcap_ns ? 1e-9 : 1e-6};
    f->n_interfaces = 1;
    return true;
}

/* ---- pcapng ---- */

/* if_tsresol (9): 10^-v, or 2^-v with the top bit; if_tsoffset (14): seconds. */
static void read_options(struct fl_packet_file *f, const uint8_t *p, size_t n,
                         struct fl_packet_interface *i)
{
    while (n >= 4) {
        const unsigned code = fl_u16(p, f->big), size = fl_u16(p + 2, f->big);
        const size_t padded = 4 + ((size + 3u) & ~3u);
        if (code == 0 || padded > n)
            return;
        if (code == 9 && size == 1)
            i->tick_s = p[4] & 0x80 ? ldexp(1, -(p[4] & 0x7F)) : pow(10, -p[4]);
        if (code == 14 && size == 8)
            i->offset_s = (double)(int64_t)fl_u64(p + 4, f->big);
        p += padded;
        n -= padded;
    }
}

static bool read_interface(struct fl_packet_file *f, size_t body)
{
    struct fl_packet p;
    struct fl_packet_interface i = {.tick_s = 1e-6};
    if (body < 8)
        return broken(f, "an interface without a link type");
    if (!hold(f, &p, body))
        return false;
    i.link = fl_u16(p.data, f->big);
    read_options(f, p.data + 8, p.size - 8, &i);
    if (f->n_interfaces == FL_PACKET_INTERFACES)
        return broken(f, "more interfaces than any capture has");
    f->interface[f->n_interfaces++] = i;
    return true;
}

/* A new section brings its own byte order and interfaces. */
static bool read_section(struct fl_packet_file *f, const uint8_t *head)
{
    if (!section_magic(head, &f->big))
        return broken(f, "a section of no byte order");
    f->n_interfaces = 0;
    const uint32_t length = fl_u32(head + 4, f->big);
    if (length < 28 || length % 4 || length > FL_PACKET_MOST)
        return broken(f, "a section header of impossible length");
    return skip(f, length - BLOCK_LEAST);
}

struct packet_head {
    unsigned interface;
    bool timed;
    uint64_t ticks;
    size_t size; /* of the packet, as captured */
    size_t at;   /* of its first byte in the block's body */
};

static void parse_head(const struct fl_packet_file *f, uint32_t type, const uint8_t *p, size_t body,
                       struct packet_head *h)
{
    *h = (struct packet_head){.at = 20, .timed = type != SIMPLE_PACKET};
    if (type == SIMPLE_PACKET) {
        h->at = 4;
        h->size = fl_u32(p, f->big);
        h->size = h->size < body - 4 ? h->size : body - 4;
        return;
    }
    h->interface = type == ENHANCED_PACKET ? fl_u32(p, f->big) : fl_u16(p, f->big);
    h->ticks = (uint64_t)fl_u32(p + 4, f->big) << 32 | fl_u32(p + 8, f->big);
    h->size = fl_u32(p + 12, f->big);
}

/* The body of a packet block; false with broken set where it makes no sense. */
static bool read_packet(struct fl_packet_file *f, uint32_t type, size_t body, struct fl_packet *p)
{
    uint8_t head[20];
    struct packet_head h;
    const size_t least = type == SIMPLE_PACKET ? 4 : 20;
    if (body < least)
        return broken(f, "a packet of impossible length");
    if (!take(f, head, least, false))
        return false;
    parse_head(f, type, head, body, &h);
    if (h.size > body - h.at)
        return broken(f, "a packet longer than its block");
    if (h.interface >= f->n_interfaces)
        return broken(f, "a packet of an interface that is not described");
    const struct fl_packet_interface *i = &f->interface[h.interface];
    if (h.timed)
        f->last_s = i->offset_s + i->tick_s * (double)h.ticks;
    p->time_s = f->last_s;
    p->link = i->link;
    return hold(f, p, h.size) && skip(f, body - h.at - h.size);
}

static bool close_block(struct fl_packet_file *f, uint32_t length)
{
    uint8_t tail[4];
    if (!take(f, tail, sizeof tail, false))
        return false;
    return fl_u32(tail, f->big) == length || broken(f, "a block whose two lengths differ");
}

static bool next_pcapng(struct fl_packet_file *f, struct fl_packet *p)
{
    for (;;) {
        uint8_t head[BLOCK_LEAST];
        if (!take(f, head, 8, true))
            return false;
        const uint32_t type = fl_u32(head, f->big), length = fl_u32(head + 4, f->big);
        if (type == SECTION) {
            if (!take(f, head + 8, 4, false) || !read_section(f, head))
                return false;
            continue;
        }
        if (length < BLOCK_LEAST || length % 4 || length > FL_PACKET_MOST)
            return broken(f, "a block of impossible length");
        const bool packet = type == ENHANCED_PACKET || type == OLD_PACKET || type == SIMPLE_PACKET;
        const size_t body = length - BLOCK_LEAST;
        if (!(packet              ? read_packet(f, type, body, p)
              : type == INTERFACE ? read_interface(f, body)
                                  : skip(f, body)) ||
            !close_block(f, length))
            return false;
        if (packet)
            return true;
    }
}

/* ---- both ---- */

bool fl_packet_file_open(struct fl_packet_file *f, FILE *stream)
{
    uint8_t head[PCAP_HEADER];
    *f = (struct fl_packet_file){.stream = stream};
    rewind(stream);
    const size_t got = fread(head, 1, sizeof head, stream);
    if (!fl_packet_file_is((const char *)head, got))
        return false;
    f->next_generation = fl_u32(head, false) == SECTION;
    if (!f->next_generation)
        return open_pcap(f, head);
    rewind(stream);
    return true;
}

bool fl_packet_file_next(struct fl_packet_file *f, struct fl_packet *p)
{
    const bool got = f->next_generation ? next_pcapng(f, p) : next_pcap(f, p);
    f->read += got;
    return got;
}
