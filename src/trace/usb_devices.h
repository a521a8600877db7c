/* The HID interfaces that a USB capture describes, and which of them an endpoint's reports are of.
 *
 * Learnt from the control transfers in the capture (USB 2.0, chapter 9; HID 1.11, chapter 7):
 * configuration descriptors tell which endpoint belongs to which interface, report descriptors
 * what its reports mean, SET_PROTOCOL whether they are in boot protocol. A description goes from
 * its packet on; the first one of a device also goes for what came before. */
#ifndef FL_TRACE_USB_DEVICES_H
#define FL_TRACE_USB_DEVICES_H

#include "trace/hid_report.h"
#include "trace/usb_packet.h"

struct fl_usb_interface {
    uint32_t device;
    uint64_t from; /* number of the packet that described it */
    uint8_t number, class, subclass, protocol;
    bool listed;     /* in a configuration descriptor; else class to inputs are unknown */
    uint16_t inputs; /* bit k: endpoint 0x80 | k is its */
    bool described;  /* hid is filled */
    bool boot;       /* set to boot protocol */
    struct fl_hid_descriptor hid;
    struct fl_hid_state state;
};

enum { FL_USB_INTERFACES = 128, FL_USB_PENDING = 64 };

struct fl_usb_devices {
    struct fl_usb_interface *interface[FL_USB_INTERFACES]; /* n, in order of from */
    int n;
    struct {
        uint64_t id;
        uint32_t device;
        uint8_t setup[8];
    } pending[FL_USB_PENDING]; /* control transfers under way, a ring */
    unsigned next;
};

void fl_usb_devices_finish(struct fl_usb_devices *d);
/* Takes a control transfer's packet, number `at`; learn: descriptors too, else only which protocol
 * is set. */
void fl_usb_devices_watch(struct fl_usb_devices *d, const struct fl_usb_packet *p, uint64_t at,
                          bool learn);
/* Forgets what is down and set, before the capture is gone through once more. */
void fl_usb_devices_rewind(struct fl_usb_devices *d);

/* How to decode the reports of an interrupt endpoint. */
struct fl_usb_source {
    const struct fl_hid_descriptor *hid; /* NULL: not a pointing device or pad, or not known */
    struct fl_hid_state *state;
    uint32_t id;      /* tells interfaces apart */
    bool boot;        /* by the boot protocol */
    bool undescribed; /* hid is NULL because its descriptor is not in the capture */
};
/* A device without any descriptor is decoded by the boot protocol if its reports are as short as
 * that one's, 3 to 5 bytes; *fallback keeps its state. */
struct fl_usb_source fl_usb_source_of(struct fl_usb_devices *d, const struct fl_usb_packet *p,
                                      uint64_t at, struct fl_hid_state *fallback);

#endif
