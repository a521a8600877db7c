/* Whatever bytes stand for a session file: it is refused in one line with its place, or what is
 * kept of it is within its ranges. */
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "fuzz.h"
#include "study/input/session_file.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct fl_session_file session = {0};
    struct fl_error err = {0};
    char path[64];
    const int file = memfd_create("session", 0);
    fl_fuzz_require(file >= 0 && write(file, data, size) == (ssize_t)size);
    snprintf(path, sizeof path, "/proc/self/fd/%d", file);
    if (fl_session_read(&session, path, &err)) {
        fl_fuzz_require(*err.text && !strchr(err.text, '\n'));
    } else {
        fl_fuzz_require(session.n_takes > 0);
        for (size_t i = 0; i < session.n_takes; i++)
            fl_fuzz_require(fl_take_id_valid(session.takes[i].id) && session.takes[i].footage);
        fl_session_file_finish(&session);
    }
    close(file);
    return 0;
}
