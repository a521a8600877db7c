/* Windows: raw input (WM_INPUT) of mice, joysticks and game pads, in the background too.
 *
 * Times are the performance counter's as each report is taken from the queue: the system gives them
 * no finer ones of its own. The window is a hidden top-level one, as message-only windows are not
 * told that the session ends. */
#include "record/inputs.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "record/raw_pad.h"

enum { DEVICES = 32, LARGEST = 4096 };
enum { PAGE_DESKTOP = 1, MOUSE = 2, JOYSTICK = 4, GAMEPAD = 5 };

struct device {
    struct fl_input_device info;
    HANDLE handle; /* NULL: input that programs made */
    bool used;     /* of the choice */
    bool placed;   /* an absolute pointer was somewhere */
    LONG x, y;
    struct fl_raw_pad pad;
};

struct fl_inputs {
    struct fl_inputs_choice choice;
    struct fl_inputs_sink sink;
    struct device *device[DEVICES];
    int n;
    uint32_t numbered;
    HWND window;
    bool ended;
};

double fl_inputs_now_s(void)
{
    static LARGE_INTEGER rate;
    LARGE_INTEGER now;
    if (!rate.QuadPart)
        QueryPerformanceFrequency(&rate);
    QueryPerformanceCounter(&now);
    return (double)(now.QuadPart / rate.QuadPart) +
           (double)(now.QuadPart % rate.QuadPart) / (double)rate.QuadPart;
}

const char *fl_inputs_clock(void)
{
    return "the performance counter as each report was taken, in microseconds";
}

/* ---- which devices ---- */

static void to_utf8(char *out, size_t size, const WCHAR *text)
{
    if (!WideCharToMultiByte(CP_UTF8, 0, text, -1, out, (int)size, NULL, NULL))
        snprintf(out, size, "?");
}

static void name_device(struct fl_input_device *d, HANDLE handle)
{
    WCHAR path[512] = L"", product[127] = L"";
    UINT n = 511;
    if (!handle || GetRawInputDeviceInfoW(handle, RIDI_DEVICENAME, path, &n) == (UINT)-1) {
        snprintf(d->name, sizeof d->name, "input without a device");
        return;
    }
    to_utf8(d->place, sizeof d->place, path);
    d->place[sizeof d->place - 1] = 0;
    HANDLE file =
        CreateFileW(path, 0, FILE_SHARE_READ | FILE_SHARE_WRITE, NULL, OPEN_EXISTING, 0, NULL);
    if (file != INVALID_HANDLE_VALUE) {
        HidD_GetProductString(file, product, sizeof product - sizeof *product);
        CloseHandle(file);
    }
    to_utf8(d->name, sizeof d->name, product);
}

static bool is_wanted(const struct fl_inputs *in, const struct fl_input_device *d)
{
    for (size_t i = 0; i < in->choice.n; i++)
        if (strstr(d->name, in->choice.wanted[i]) || strstr(d->place, in->choice.wanted[i]))
            return true;
    return in->choice.n == 0;
}

/* What raw input says the handle is; false for what is no mouse and no pad. */
static bool is_ours(HANDLE handle, bool *pad)
{
    RID_DEVICE_INFO info = {.cbSize = sizeof info};
    UINT size = sizeof info;
    *pad = false;
    if (!handle)
        return true;
    if (GetRawInputDeviceInfoW(handle, RIDI_DEVICEINFO, &info, &size) == (UINT)-1)
        return false;
    *pad = info.dwType == RIM_TYPEHID && info.hid.usUsagePage == PAGE_DESKTOP &&
           (info.hid.usUsage == JOYSTICK || info.hid.usUsage == GAMEPAD);
    return *pad || info.dwType == RIM_TYPEMOUSE;
}

static struct device *find(struct fl_inputs *in, HANDLE handle)
{
    for (int i = 0; i < in->n; i++)
        if (in->device[i]->handle == handle)
            return in->device[i];
    return NULL;
}

/* NULL for what is not ours; a device that is not of the choice is kept, so as to ask but once. */
static struct device *device_of(struct fl_inputs *in, HANDLE handle)
{
    struct device *d = find(in, handle);
    bool pad;
    if (d || in->n == DEVICES || !is_ours(handle, &pad))
        return d;
    d = FL_NEW(struct device, 1);
    d->handle = handle;
    d->info.pad = pad;
    name_device(&d->info, handle);
    d->used = is_wanted(in, &d->info) &&
              (!pad || fl_raw_pad_init(&d->pad, handle, in->choice.left_stick));
    in->device[in->n++] = d;
    if (d->used) {
        d->info.number = ++in->numbered;
        in->sink.came(in->sink.ctx, &d->info);
    }
    return d;
}

static void remove_device(struct fl_inputs *in, HANDLE handle)
{
    for (int i = 0; i < in->n; i++) {
        struct device *d = in->device[i];
        if (d->handle != handle)
            continue;
        if (d->used)
            in->sink.gone(in->sink.ctx, &d->info);
        fl_raw_pad_finish(&d->pad);
        free(d);
        in->device[i] = in->device[--in->n];
        return;
    }
}

/* ---- reports ---- */

static void pass_on(struct fl_inputs *in, struct device *d, struct fl_input_report *r,
                    double time_s)
{
    r->time_s = time_s;
    r->device = d->info.number;
    if (fl_report_says(r))
        in->sink.report(in->sink.ctx, &d->info, r);
}

static void add_motion(struct device *d, const RAWMOUSE *m, struct fl_input_report *r)
{
    if (!(m->usFlags & MOUSE_MOVE_ABSOLUTE)) {
        r->dx = m->lLastX;
        r->dy = m->lLastY;
        return;
    }
    if (d->placed) {
        r->dx = (double)m->lLastX - d->x;
        r->dy = (double)m->lLastY - d->y;
    }
    d->placed = true;
    d->x = m->lLastX;
    d->y = m->lLastY;
}

static void take_mouse(struct fl_inputs *in, struct device *d, const RAWMOUSE *m, double time_s)
{
    struct fl_input_report r = {0};
    add_motion(d, m, &r);
    for (int b = 0; b < 5; b++) { /* RI_MOUSE_BUTTON_n_DOWN, _UP: two bits each */
        if (m->usButtonFlags & 1 << 2 * b)
            fl_report_button(&r, b + 1, true);
        if (m->usButtonFlags & 2 << 2 * b)
            fl_report_button(&r, b + 1, false);
    }
    if (m->usButtonFlags & RI_MOUSE_WHEEL)
        r.wheel = (SHORT)m->usButtonData / 120.0;
    pass_on(in, d, &r, time_s);
}

static void take_pad(struct fl_inputs *in, struct device *d, RAWHID *h, double time_s)
{
    for (DWORD i = 0; i < h->dwCount; i++) {
        struct fl_input_report r;
        fl_raw_pad_report(&d->pad, &d->info, h->bRawData + (size_t)i * h->dwSizeHid, h->dwSizeHid,
                          &r);
        pass_on(in, d, &r, time_s);
    }
}

static void take(struct fl_inputs *in, HRAWINPUT handle)
{
    static union {
        RAWINPUT input;
        BYTE bytes[LARGEST];
    } raw;
    UINT size = sizeof raw;
    const double time_s = fl_inputs_now_s();
    if (GetRawInputData(handle, RID_INPUT, &raw, &size, sizeof(RAWINPUTHEADER)) == (UINT)-1)
        return;
    struct device *d = device_of(in, raw.input.header.hDevice);
    if (!d || !d->used)
        return;
    if (raw.input.header.dwType == RIM_TYPEMOUSE)
        take_mouse(in, d, &raw.input.data.mouse, time_s);
    else if (raw.input.header.dwType == RIM_TYPEHID && d->info.pad)
        take_pad(in, d, &raw.input.data.hid, time_s);
}

/* ---- the window ---- */

static LRESULT CALLBACK on_message(HWND window, UINT message, WPARAM w, LPARAM l)
{
    struct fl_inputs *in = (struct fl_inputs *)GetWindowLongPtrW(window, GWLP_USERDATA);
    if (!in)
        return DefWindowProcW(window, message, w, l);
    switch (message) {
    case WM_INPUT: take(in, (HRAWINPUT)l); break;
    case WM_INPUT_DEVICE_CHANGE:
        if (w == GIDC_ARRIVAL)
            device_of(in, (HANDLE)l);
        else
            remove_device(in, (HANDLE)l);
        return 0;
    case WM_QUERYENDSESSION: return TRUE;
    case WM_ENDSESSION:
        in->ended |= w != 0;
        if (w)
            in->sink.ending(in->sink.ctx);
        return 0;
    case WM_CLOSE: in->ended = true; return 0;
    default: break;
    }
    return DefWindowProcW(window, message, w, l);
}

static bool open_window(struct fl_inputs *in)
{
    const WNDCLASSW class = {.lpfnWndProc = on_message,
                             .hInstance = GetModuleHandleW(NULL),
                             .lpszClassName = L"flinch-log"};
    RegisterClassW(&class);
    static const HWND parents[] = {NULL, HWND_MESSAGE}; /* the latter where there is no desktop */
    for (int i = 0; i < 2 && !in->window; i++)
        in->window = CreateWindowExW(0, class.lpszClassName, L"flinch log", WS_OVERLAPPED, 0, 0, 0,
                                     0, parents[i], NULL, class.hInstance, NULL);
    if (!in->window)
        return false;
    SetWindowLongPtrW(in->window, GWLP_USERDATA, (LONG_PTR)in);
    RAWINPUTDEVICE wanted[] = {
        {PAGE_DESKTOP, MOUSE, RIDEV_INPUTSINK | RIDEV_DEVNOTIFY, in->window},
        {PAGE_DESKTOP, JOYSTICK, RIDEV_INPUTSINK | RIDEV_DEVNOTIFY, in->window},
        {PAGE_DESKTOP, GAMEPAD, RIDEV_INPUTSINK | RIDEV_DEVNOTIFY, in->window}};
    return RegisterRawInputDevices(wanted, 3, sizeof *wanted);
}

enum flinch_code fl_inputs_open(struct fl_inputs **out, const struct fl_inputs_choice *choice,
                                const struct fl_inputs_sink *sink, struct fl_error *err)
{
    struct fl_inputs *in = FL_NEW(struct fl_inputs, 1);
    in->choice = *choice;
    in->sink = *sink;
    *out = in;
    SetThreadPriority(GetCurrentThread(), THREAD_PRIORITY_ABOVE_NORMAL);
    if (open_window(in))
        return FLINCH_OK;
    fl_inputs_close(out);
    return fl_fail(err, FLINCH_ERR_OPEN,
                   "the system gives no raw input (error %lu); record from the desktop that plays",
                   GetLastError());
}

bool fl_inputs_next(struct fl_inputs *in, double wait_s)
{
    MSG message;
    MsgWaitForMultipleObjectsEx(0, NULL, (DWORD)(1e3 * wait_s) + 1, QS_ALLINPUT,
                                MWMO_INPUTAVAILABLE);
    while (PeekMessageW(&message, NULL, 0, 0, PM_REMOVE)) {
        in->ended |= message.message == WM_QUIT;
        DispatchMessageW(&message);
    }
    return !in->ended;
}

void fl_inputs_close(struct fl_inputs **inputs)
{
    struct fl_inputs *in = *inputs;
    if (!in)
        return;
    if (in->window) {
        SetWindowLongPtrW(in->window, GWLP_USERDATA, 0);
        DestroyWindow(in->window);
    }
    for (int i = 0; i < in->n; i++) {
        fl_raw_pad_finish(&in->device[i]->pad);
        free(in->device[i]);
    }
    free(in);
    *inputs = NULL;
}
