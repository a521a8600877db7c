#include "trace_files.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "test.h"
#include "trace/read_trace.h"

void put(struct bytes *b, const void *data, size_t n)
{
    for (size_t i = 0; i < n; i++)
        FL_PUSH(b->at, b->n, b->cap, ((const uint8_t *)data)[i]);
}

void put_le(struct bytes *b, uint64_t value, int bytes)
{
    for (int i = 0; i < bytes; i++)
        FL_PUSH(b->at, b->n, b->cap, (uint8_t)(value >> (8 * i)));
}

void put_be(struct bytes *b, uint64_t value, int bytes)
{
    for (int i = bytes; i-- > 0;)
        FL_PUSH(b->at, b->n, b->cap, (uint8_t)(value >> (8 * i)));
}

void put_hex(struct bytes *b, const char *hex)
{
    unsigned v;
    int used;
    while (sscanf(hex, " %2x%n", &v, &used) == 1) {
        put_le(b, v, 1);
        hex += used;
    }
}

void bytes_free(struct bytes *b)
{
    free(b->at);
    *b = (struct bytes){0};
}

void put_input_event(struct bytes *b, bool narrow, uint64_t time_us, int type, int code, int value)
{
    put_le(b, time_us / 1000000, narrow ? 4 : 8);
    put_le(b, time_us % 1000000, narrow ? 4 : 8);
    put_le(b, (uint64_t)type, 2);
    put_le(b, (uint64_t)code, 2);
    put_le(b, (uint64_t)(uint32_t)value, 4);
}

void put_pcap_header(struct bytes *b, int link)
{
    put_le(b, 0xA1B2C3D4, 4);
    put_le(b, 2, 2);
    put_le(b, 4, 2);
    put_le(b, 0, 8);
    put_le(b, 65535, 4);
    put_le(b, (uint64_t)link, 4);
}

void put_pcap_packet(struct bytes *b, uint64_t time_us, const struct bytes *packet)
{
    put_le(b, time_us / 1000000, 4);
    put_le(b, time_us % 1000000, 4);
    put_le(b, packet->n, 4);
    put_le(b, packet->n, 4);
    put(b, packet->at, packet->n);
}

void put_usbmon(struct bytes *p, int link, uint64_t id, char event, int transfer, int endpoint,
                int device, const uint8_t *setup, const void *data, size_t n)
{
    static const uint8_t none[8];
    put_le(p, id, 8);
    put_le(p, (uint64_t)event, 1);
    put_le(p, (uint64_t)transfer, 1);
    put_le(p, (uint64_t)endpoint, 1);
    put_le(p, (uint64_t)device, 1);
    put_le(p, 1, 2); /* bus */
    put_le(p, setup ? 0 : '-', 1);
    put_le(p, data ? 0 : '<', 1);
    put_le(p, 0, 8);
    put_le(p, 0, 4);
    put_le(p, event == 'S' ? (uint64_t)-115 : 0, 4); /* status */
    put_le(p, n, 4);
    put_le(p, data ? n : 0, 4);
    put(p, setup ? setup : none, 8);
    if (link == 220)
        put_le(p, 0, 8), put_le(p, 0, 8);
    put(p, data, data ? n : 0);
}

void put_windows(struct bytes *p, uint64_t id, bool to_host, int transfer, int endpoint, int device,
                 int stage, const void *data, size_t n)
{
    put_le(p, stage < 0 ? 27 : 28, 2);
    put_le(p, id, 8);
    put_le(p, 0, 4);
    put_le(p, transfer == 2 ? 8 : 9, 2);
    put_le(p, to_host, 1);
    put_le(p, 1, 2);
    put_le(p, (uint64_t)device, 2);
    put_le(p, (uint64_t)endpoint, 1);
    put_le(p, (uint64_t)transfer, 1);
    put_le(p, n, 4);
    if (stage >= 0)
        put_le(p, (uint64_t)stage, 1);
    put(p, data, n);
}

struct fl_trace read_bytes(const struct bytes *b, struct fl_error *err)
{
    char path[64];
    struct fl_trace t;
    struct fl_error mine = {0};
    snprintf(path, sizeof path, "test-trace-%ld.bin", (long)getpid());
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    fwrite(b->at, 1, b->n, f);
    fclose(f);
    const enum flinch_code code = fl_trace_read(&t, path, err ? err : &mine);
    unlink(path);
    if (code && !err)
        fail_msg("%s", mine.text);
    return t;
}

const char *note_of(const struct fl_trace *t, const char *code)
{
    for (int i = 0; i < t->n_notes; i++)
        if (!strcmp(t->note[i].code, code))
            return t->note[i].text;
    return NULL;
}
