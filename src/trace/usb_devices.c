/* Descriptors, as the host asks for them, and a look-up by endpoint. */
#include "trace/usb_devices.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "trace/bytes.h"

enum { GET_DESCRIPTOR = 6, SET_PROTOCOL = 0x0B };
enum { CONFIGURATION = 2, INTERFACE = 4, ENDPOINT = 5, REPORT = 0x22 };
enum { CLASS_HID = 3, SUBCLASS_BOOT = 1, PROTOCOL_KEYBOARD = 1 };

void fl_usb_devices_finish(struct fl_usb_devices *d)
{
    for (int i = 0; i < d->n; i++)
        free(d->interface[i]);
    d->n = 0;
}

void fl_usb_devices_rewind(struct fl_usb_devices *d)
{
    for (int i = 0; i < d->n; i++) {
        d->interface[i]->boot = false;
        memset(&d->interface[i]->state, 0, sizeof d->interface[i]->state);
    }
    d->next = 0;
    memset(d->pending, 0, sizeof d->pending);
}

/* The latest description of an interface by `at`, else its first; NULL if there is none. */
static struct fl_usb_interface *find(struct fl_usb_devices *d, uint32_t device, int number,
                                     uint64_t at)
{
    struct fl_usb_interface *best = NULL;
    for (int i = 0; i < d->n; i++) {
        struct fl_usb_interface *k = d->interface[i];
        if (k->device == device && k->number == number && (!best || k->from <= at))
            best = k;
    }
    return best;
}

static struct fl_usb_interface *add(struct fl_usb_devices *d, uint32_t device, int number,
                                    uint64_t at)
{
    if (d->n == FL_USB_INTERFACES)
        return NULL;
    struct fl_usb_interface *k = d->interface[d->n++] = FL_NEW(struct fl_usb_interface, 1);
    k->device = device;
    k->number = (uint8_t)number;
    k->from = at;
    return k;
}

/* ---- descriptors ---- */

/* An interface seen again as it was keeps its entry: hosts read descriptors more than once. */
static struct fl_usb_interface *list_interface(struct fl_usb_devices *d, uint32_t device,
                                               const uint8_t *p, uint64_t at)
{
    struct fl_usb_interface *k = find(d, device, p[2], at);
    const bool same =
        k && k->listed && k->class == p[5] && k->subclass == p[6] && k->protocol == p[7];
    if (same)
        return k;
    if (!k || k->listed)
        k = add(d, device, p[2], at);
    if (!k)
        return NULL;
    k->listed = true;
    k->class = p[5];
    k->subclass = p[6];
    k->protocol = p[7];
    return k;
}

static void read_configuration(struct fl_usb_devices *d, uint32_t device, const uint8_t *p,
                               size_t size, uint64_t at)
{
    struct fl_usb_interface *k = NULL;
    for (size_t i = 0; i + 2 <= size && p[i] >= 2 && i + p[i] <= size; i += p[i]) {
        if (p[i + 1] == INTERFACE && p[i] >= 9 && p[i + 3] == 0)
            k = list_interface(d, device, p + i, at);
        else if (p[i + 1] == ENDPOINT && p[i] >= 7 && k && p[i + 2] & 0x80)
            k->inputs |= (uint16_t)(1u << (p[i + 2] & 0xF));
    }
}

static bool same_reports(const struct fl_hid_descriptor *a, const struct fl_hid_descriptor *b)
{
    return a->n == b->n && memcmp(a->field, b->field, (size_t)a->n * sizeof *a->field) == 0 &&
           memcmp(a->bits, b->bits, sizeof a->bits) == 0;
}

/* Another descriptor at the same address is another device. */
static void read_report_descriptor(struct fl_usb_devices *d, uint32_t device, int number,
                                   const uint8_t *p, size_t size, uint64_t at)
{
    struct fl_hid_descriptor hid;
    struct fl_usb_interface *k = find(d, device, number, at);
    fl_hid_parse(&hid, p, size);
    if (k && k->described && same_reports(&k->hid, &hid))
        return;
    if (!k || k->described) {
        const struct fl_usb_interface *old = k;
        k = add(d, device, number, at);
        if (k && old) {
            k->listed = old->listed;
            k->class = old->class;
            k->subclass = old->subclass;
            k->protocol = old->protocol;
            k->inputs = old->inputs;
        }
    }
    if (!k)
        return;
    k->described = true;
    k->hid = hid;
}

/* ---- control transfers ---- */

static void remember(struct fl_usb_devices *d, const struct fl_usb_packet *p)
{
    const unsigned i = d->next++ % FL_USB_PENDING;
    d->pending[i].id = p->transfer_id;
    d->pending[i].device = p->device;
    memcpy(d->pending[i].setup, p->setup, 8);
}

/* The setup that this packet answers, latest first; NULL. */
static const uint8_t *setup_of(const struct fl_usb_devices *d, const struct fl_usb_packet *p)
{
    for (unsigned back = 1; back <= FL_USB_PENDING && back <= d->next; back++) {
        const unsigned i = (d->next - back) % FL_USB_PENDING;
        if (d->pending[i].id == p->transfer_id && d->pending[i].device == p->device)
            return d->pending[i].setup;
    }
    return NULL;
}

static void set_protocol(struct fl_usb_devices *d, const struct fl_usb_packet *p, uint64_t at)
{
    const uint8_t *s = p->setup;
    struct fl_usb_interface *k = find(d, p->device, s[4], at);
    if (s[0] == 0x21 && s[1] == SET_PROTOCOL && k)
        k->boot = fl_u16(s + 2, false) == 0;
}

static void learn_answer(struct fl_usb_devices *d, const struct fl_usb_packet *p, uint64_t at)
{
    const uint8_t *s = setup_of(d, p);
    if (!s || !(s[0] & 0x80) || s[1] != GET_DESCRIPTOR || p->size == 0)
        return;
    if (s[3] == CONFIGURATION)
        read_configuration(d, p->device, p->data, p->size, at);
    else if (s[3] == REPORT && p->size == p->sent) /* half a descriptor would mislead */
        read_report_descriptor(d, p->device, s[4], p->data, p->size, at);
}

void fl_usb_devices_watch(struct fl_usb_devices *d, const struct fl_usb_packet *p, uint64_t at,
                          bool learn)
{
    if (p->kind != FL_USB_CONTROL)
        return;
    if (p->setup) {
        remember(d, p);
        set_protocol(d, p, at);
    } else if (p->done && learn) {
        learn_answer(d, p, at);
    }
}

/* ---- reports ---- */

/* Could this report be one of the descriptor's, by id and length? */
static bool fits(const struct fl_hid_descriptor *hid, const struct fl_usb_packet *p)
{
    const uint32_t bits = hid->bits[hid->has_ids && p->size > 0 ? p->data[0] : 0];
    return bits > 0 && (bits + 7) / 8 + hid->has_ids == p->sent;
}

static bool usable(const struct fl_usb_interface *k, const struct fl_usb_packet *p, bool *listed)
{
    const bool its = k->listed && k->inputs >> (p->endpoint & 0xF) & 1;
    *listed = its;
    return its || (!k->listed && k->described && fits(&k->hid, p));
}

/* The interface of an endpoint: as listed, else one whose reports look like this one. */
static struct fl_usb_interface *interface_of(struct fl_usb_devices *d,
                                             const struct fl_usb_packet *p, uint64_t at)
{
    struct fl_usb_interface *best = NULL;
    bool best_listed = false;
    for (int i = 0; i < d->n; i++) {
        struct fl_usb_interface *k = d->interface[i];
        bool listed;
        if (k->device != p->device || !usable(k, p, &listed))
            continue;
        if (!best || (listed && !best_listed) || (listed == best_listed && k->from <= at)) {
            best = k;
            best_listed = listed;
        }
    }
    return best;
}

static bool short_enough(const struct fl_usb_packet *p)
{
    return p->sent >= 3 && p->sent <= 5;
}

static struct fl_usb_source undescribed(const struct fl_usb_packet *p, struct fl_hid_state *state)
{
    struct fl_usb_source s = {.state = state, .id = p->device << 4 | (p->endpoint & 0xF)};
    s.boot = short_enough(p);
    s.hid = s.boot ? fl_hid_boot_mouse() : NULL;
    s.undescribed = !s.boot;
    return s;
}

struct fl_usb_source fl_usb_source_of(struct fl_usb_devices *d, const struct fl_usb_packet *p,
                                      uint64_t at, struct fl_hid_state *fallback)
{
    struct fl_usb_interface *k = interface_of(d, p, at);
    if (!k)
        return undescribed(p, fallback);
    struct fl_usb_source s = {.state = &k->state, .id = p->device << 4 | (p->endpoint & 0xF)};
    if (k->listed && (k->class != CLASS_HID || k->protocol == PROTOCOL_KEYBOARD))
        return s;
    if (k->boot && k->subclass == SUBCLASS_BOOT) {
        s.hid = fl_hid_boot_mouse();
        s.boot = true;
    } else if (k->described) {
        s.hid = fl_hid_useful(&k->hid) ? &k->hid : NULL;
    } else {
        return undescribed(p, &k->state);
    }
    return s;
}
