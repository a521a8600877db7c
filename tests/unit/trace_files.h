/* Trace files of every format, written from events for the tests. Formats are written here from
 * their definitions, apart from the readers' own code. */
#ifndef FL_TEST_TRACE_FILES_H
#define FL_TEST_TRACE_FILES_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "base/error.h"
#include "trace/trace.h"

/* Bytes put together bit by bit. */
struct bytes {
    uint8_t *at; /* n, malloc'ed */
    size_t n, cap;
};

void put(struct bytes *b, const void *data, size_t n);
void put_le(struct bytes *b, uint64_t value, int bytes);
void put_be(struct bytes *b, uint64_t value, int bytes);
/* "01 FE 03" */
void put_hex(struct bytes *b, const char *hex);
void bytes_free(struct bytes *b);

/* One Linux input event: 24 bytes, or 16 where narrow. */
void put_input_event(struct bytes *b, bool narrow, uint64_t time_us, int type, int code, int value);

/* pcap, little-endian, microseconds. */
void put_pcap_header(struct bytes *b, int link);
void put_pcap_packet(struct bytes *b, uint64_t time_us, const struct bytes *packet);

/* Linux usbmon packets (220: 64-byte header). */
void put_usbmon(struct bytes *packet, int link, uint64_t id, char event, int transfer, int endpoint,
                int device, const uint8_t *setup, const void *data, size_t n);
/* The Windows USB capture type; stage < 0: not a control transfer. */
void put_windows(struct bytes *packet, uint64_t id, bool to_host, int transfer, int endpoint,
                 int device, int stage, const void *data, size_t n);

/* Writes the bytes to a file of this test's own and reads it as a trace. Fails the test on an
 * error unless err is given. */
struct fl_trace read_bytes(const struct bytes *b, struct fl_error *err);
/* Text of the note of that code, or NULL. */
const char *note_of(const struct fl_trace *t, const char *code);

#endif
