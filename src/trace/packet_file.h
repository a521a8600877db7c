/* Packets out of a capture file: pcap (as libpcap writes it, in micro- or nanoseconds, of either
 * byte order) and pcapng (sections, several interfaces, time resolutions and offsets).
 *
 * From draft-ietf-opsawg-pcap and draft-ietf-opsawg-pcapng. Streams: of a packet no more is held
 * than FL_PACKET_HELD bytes. */
#ifndef FL_TRACE_PACKET_FILE_H
#define FL_TRACE_PACKET_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

enum {
    FL_PACKET_HELD = 1 << 14,  /* report descriptors have 4096 bytes at most */
    FL_PACKET_MOST = 64 << 20, /* a longer packet is none */
    FL_PACKET_INTERFACES = 64,
};

struct fl_packet {
    double time_s;
    int link; /* LINKTYPE number */
    const uint8_t *data;
    size_t size; /* bytes held */
};

struct fl_packet_interface {
    int link;
    double tick_s, offset_s;
};

struct fl_packet_file {
    FILE *stream;
    bool next_generation, big;
    struct fl_packet_interface interface[FL_PACKET_INTERFACES];
    unsigned n_interfaces;
    double last_s; /* for packets without a time */
    uint64_t read; /* packets so far */
    uint8_t held[FL_PACKET_HELD];
    char broken[96]; /* why reading stopped before the end; "" */
    bool cut;        /* the file ends within a packet */
};

bool fl_packet_file_is(const char *head, size_t size);
/* Begins at the start of the stream; false if it is no capture file. */
bool fl_packet_file_open(struct fl_packet_file *f, FILE *stream);
/* False at the end, or where the file stops making sense: then broken or cut says so. */
bool fl_packet_file_next(struct fl_packet_file *f, struct fl_packet *p);

#endif
