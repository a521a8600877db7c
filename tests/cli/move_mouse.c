/* Makes input on Windows as a program may: moves, clicks and a wheel step, then ends.
 *
 * move_mouse MOVES: moves by (i mod 7) - 3 and (i mod 5) - 2 counts, i from 0; then a left click, a
 * right click and one wheel step away from the user, and a key that is not to be recorded. */
#include <stdio.h>
#include <stdlib.h>
#include <windows.h>

static void mouse(DWORD flags, LONG dx, LONG dy, DWORD data)
{
    INPUT in = {.type = INPUT_MOUSE,
                .mi = {.dx = dx, .dy = dy, .mouseData = data, .dwFlags = flags}};
    if (SendInput(1, &in, sizeof in) != 1)
        fprintf(stderr, "SendInput: error %lu\n", GetLastError());
}

int main(int argc, char **argv)
{
    const int moves = argc > 1 ? atoi(argv[1]) : 100;
    for (int i = 0; i < moves; i++) {
        mouse(MOUSEEVENTF_MOVE, i % 7 - 3, i % 5 - 2, 0);
        Sleep(2);
    }
    mouse(MOUSEEVENTF_LEFTDOWN, 0, 0, 0);
    mouse(MOUSEEVENTF_LEFTUP, 0, 0, 0);
    mouse(MOUSEEVENTF_RIGHTDOWN, 0, 0, 0);
    mouse(MOUSEEVENTF_RIGHTUP, 0, 0, 0);
    mouse(MOUSEEVENTF_WHEEL, 0, 0, WHEEL_DELTA);
    INPUT key = {.type = INPUT_KEYBOARD, .ki = {.wVk = 'A'}};
    SendInput(1, &key, sizeof key);
    return 0;
}
