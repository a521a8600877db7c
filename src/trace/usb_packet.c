/* Headers of the three USB link types. */
#include "trace/usb_packet.h"

#include "trace/bytes.h"

enum { USBMON = 189, USBMON_MAPPED = 220, WINDOWS = 249 };

bool fl_usb_link(int link)
{
    return link == USBMON || link == USBMON_MAPPED || link == WINDOWS;
}

static void set_data(struct fl_usb_packet *out, const uint8_t *p, size_t size, size_t head,
                     size_t told)
{
    out->data = p + head;
    out->sent = told;
    out->size = size - head < told ? size - head : told;
}

static bool parse_usbmon(struct fl_usb_packet *out, size_t head, bool big, const uint8_t *p,
                         size_t size)
{
    if (size < head || (p[8] != 'S' && p[8] != 'C' && p[8] != 'E'))
        return false;
    *out = (struct fl_usb_packet){.transfer_id = fl_u64(p, big),
                                  .kind = p[9],
                                  .endpoint = p[10],
                                  .device = (uint32_t)fl_u16(p + 12, big) << 16 | p[11]};
    out->done = p[8] == 'C' && fl_u32(p + 28, big) == 0;
    if (p[8] == 'S' && p[9] == FL_USB_CONTROL && p[14] == 0)
        out->setup = p + 40;
    const uint32_t length = fl_u32(p + 32, big), captured = fl_u32(p + 36, big);
    if (p[15] != 0)
        return true;
    set_data(out, p, size, head, captured);
    if (out->done && length > out->sent)
        out->sent = length;
    return true;
}

static bool parse_windows(struct fl_usb_packet *out, const uint8_t *p, size_t size)
{
    enum { HEAD = 27, SETUP = 0 };
    const size_t head = size >= HEAD ? fl_u16(p, false) : 0;
    if (head < HEAD || head > size)
        return false;
    *out = (struct fl_usb_packet){.transfer_id = fl_u64(p + 2, false),
                                  .kind = p[22],
                                  .endpoint = p[21],
                                  .device = (uint32_t)fl_u16(p + 17, false) << 16 |
                                            fl_u16(p + 19, false)};
    const bool to_host = p[16] & 1;
    set_data(out, p, size, head, fl_u32(p + 23, false));
    out->done = to_host && fl_u32(p + 10, false) == 0;
    const bool setup = out->kind == FL_USB_CONTROL && head > HEAD && p[HEAD] == SETUP && !to_host;
    if (setup && out->size >= 8)
        out->setup = out->data;
    return true;
}

bool fl_usb_packet_parse(struct fl_usb_packet *out, int link, bool big, const uint8_t *p,
                         size_t size)
{
    switch (link) {
    case USBMON: return parse_usbmon(out, 48, big, p, size);
    case USBMON_MAPPED: return parse_usbmon(out, 64, big, p, size);
    case WINDOWS: return parse_windows(out, p, size);
    default: return false;
    }
}
