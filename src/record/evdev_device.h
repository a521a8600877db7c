/* One Linux input device, or what stands in for it: a FIFO or a file of input events. */
#ifndef FL_RECORD_EVDEV_DEVICE_H
#define FL_RECORD_EVDEV_DEVICE_H

#include "record/inputs.h"
#include "trace/evdev_packet.h"

struct fl_evdev_device {
    struct fl_input_device info; /* its place is the path */
    int fd;
    bool real;    /* a device: its clock is monotonic, its state can be asked for */
    bool begun;   /* a stand-in has given something */
    size_t taken; /* events in the last round of reading */
    struct fl_evdev_packet packet;
    bool resync;   /* events were lost: ask for the state once the next report is through */
    uint64_t down; /* bit b-1: button b */
    unsigned char part[32]; /* of an event that a FIFO gave in two pieces */
    size_t n_part;
};

enum fl_evdev_opened {
    FL_EVDEV_OPENED,
    FL_EVDEV_NOT_OURS,  /* no mouse and no pad */
    FL_EVDEV_FORBIDDEN, /* may not be read */
    FL_EVDEV_FAILED,    /* errno says why */
};

/* wanted: asked for by its path, so taken whatever it is. Keys of keyboards are masked in the
 * kernel: they never reach this process. */
enum fl_evdev_opened fl_evdev_device_open(struct fl_evdev_device *d, const char *path, bool wanted,
                                          bool left_stick);
void fl_evdev_device_close(struct fl_evdev_device *d);

struct fl_evdev_take {
    void (*report)(void *ctx, struct fl_evdev_device *d, const struct fl_input_report *report);
    void (*lost)(void *ctx, struct fl_evdev_device *d);
    void *ctx;
};

/* Passes on all that is there. False once the device is gone or the file has ended. */
bool fl_evdev_device_read(struct fl_evdev_device *d, const struct fl_evdev_take *take);

#endif
