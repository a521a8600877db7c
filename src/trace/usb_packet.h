/* What a packet of a USB capture says: one step of one transfer.
 *
 * LINKTYPE 189 and 220: Linux usbmon, a header of 48 or 64 bytes in the byte order of the machine
 * that captured (kernel Documentation/usb/usbmon.rst, libpcap's pcap/usb.h). LINKTYPE 249: the
 * Windows USB capture type, a little-endian header of 27 bytes or, of control transfers, 28
 * (tcpdump.org's list of link types leads to its definition). */
#ifndef FL_TRACE_USB_PACKET_H
#define FL_TRACE_USB_PACKET_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { FL_USB_CONTROL = 2, FL_USB_INTERRUPT = 1 };

struct fl_usb_packet {
    uint32_t device;      /* bus << 16 | address */
    uint64_t transfer_id; /* the same for a transfer's start and end */
    uint8_t endpoint;     /* bit 7: to the host */
    uint8_t kind;         /* FL_USB_* */
    bool done;            /* the transfer's end, and it succeeded */
    const uint8_t *setup; /* 8 bytes of a control transfer that starts; NULL */
    const uint8_t *data;
    size_t size; /* bytes of data at hand */
    size_t sent; /* bytes there were */
};

bool fl_usb_link(int link); /* one of the three */
/* False for what is no packet of this kind. */
bool fl_usb_packet_parse(struct fl_usb_packet *out, int link, bool big, const uint8_t *p,
                         size_t size);

#endif
