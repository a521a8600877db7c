"""Writes counts as other recorders do: Linux event streams (input.h's struct input_event, uapi), usbmon captures
(the kernel's usbmon.rst) with the mouse's descriptors (HID 1.11, USB 2.0), and CSV with names of its own.

Rows: (time_us, dx, dy).
"""
import csv
import struct

EV_SYN, EV_REL = 0, 2
# Report id 2: five buttons, two axes of 16 bits, a wheel.
WIDE_MOUSE = bytes.fromhex(
    '05010902A101850209 01A10005091901290515002501950575018102950175038101'
    '0501093009311601 8026FF7F7510950281060938 1581257F750895018106C0C0'.replace(' ', ''))
# One configuration with one interface: a mouse on endpoint 81.
CONFIGURATION = bytes.fromhex('0902220001010 0A032 0904000001030102 00 0921110100012243 00 0705810308000 1'.replace(' ', ''))


def read(path):
    with open(path, encoding='utf-8') as file:
        return [(int(r['time_us']), int(r['dx']), int(r['dy'])) for r in csv.DictReader(file)]


def write_csv(path, rows, header='time_us,dx,dy'):
    path.write_text('\n'.join([header, *(','.join(map(str, row)) for row in rows)]) + '\n')


def write_foreign(path, rows):
    """A byte order mark, semicolons, a decimal comma, a column that is nobody's business."""
    lines = ['Stamp, ms;Move X;Move Y;Window']
    lines += [f'{us // 1000},{us % 1000:03d};{dx};{dy};main' for us, dx, dy in rows]
    path.write_bytes(b'\xef\xbb\xbf' + '\r\n'.join(lines).encode() + b'\r\n')


def write_positions(path, rows):
    x = y = 0
    out = []
    for us, dx, dy in rows:
        x, y = x + dx, y + dy
        out.append((us, x, y))
    write_csv(path, out, 'time_us,x,y')


def write_evdev(path, rows, bits=64):
    record = struct.Struct('<qqHHi' if bits == 64 else '<iiHHi')
    out = bytearray()
    for us, dx, dy in rows:
        events = [(EV_REL, code, value) for code, value in ((0, dx), (1, dy)) if value] + [(EV_SYN, 0, 0)]
        for event in events if len(events) > 1 else ():
            out += record.pack(us // 10**6, us % 10**6, *event)
    path.write_bytes(out)


def usbmon(number, event, transfer, endpoint, us, setup, data, asked):
    """The 64-byte header of link type 220."""
    return struct.pack('<QcBBBHBBqiiIIQIIII', number, event, transfer, endpoint, 5, 1, 0 if setup else ord('-'),
                       0 if data else ord('<'), us // 10**6, us % 10**6, 0, asked, len(data),
                       int.from_bytes(setup or bytes(8), 'little'), 0, 0, 0, 0) + data


def write_usb(path, rows, clicks=()):
    """clicks: (time_us, 1 down or 0 up) of the left button."""
    out = bytearray(struct.pack('<IHHiIII', 0xA1B2C3D4, 2, 4, 0, 0, 65535, 220))
    number = 0

    def put(us, *packet):
        data = usbmon(number, *packet[:3], us, *packet[3:])
        out.extend(struct.pack('<IIII', us // 10**6, us % 10**6, len(data), len(data)) + data)

    first = rows[0][0]
    for kind, data in ((2, CONFIGURATION), (0x22, WIDE_MOUSE)):
        number += 1
        setup = bytes([0x81 if kind == 0x22 else 0x80, 6, 0, kind, 0, 0, len(data), 0])
        put(first, b'S', 2, 0x80, setup, b'', len(data))
        put(first, b'C', 2, 0x80, None, data, len(data))
    held = 0
    for us, dx, dy, state in sorted([(*row, None) for row in rows if row[1] or row[2]] + [(us, 0, 0, s) for us, s in clicks],
                                    key=lambda report: report[0]):
        held = held if state is None else state
        number += 1
        put(us, b'S', 1, 0x81, None, b'', 8)
        put(us, b'C', 1, 0x81, None, struct.pack('<BBhhb', 2, held, dx, dy, 0), 8)
    path.write_bytes(out)
