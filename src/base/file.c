/* A file is written under a name of its own in the folder that it belongs to, and renamed once
 * it is whole: rename within a folder replaces an older file in one step (POSIX.1-2017,
 * rename()). Written data are not forced to the disk: a power failure may cost a file, an
 * interrupted or full run none.
 *
 * The name holds machine and process, so that what a killed process has left can be told from
 * what another is writing. It is created anew, never through a link that lay there. */
#include "base/file.h"

#include <assert.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/mem.h"

static enum flinch_code write_error(struct fl_error *err, const char *path, int why)
{
    return fl_fail(err, FLINCH_ERR_WRITE,
                   "%s: cannot write: %s; free space or choose another folder", path,
                   strerror(why));
}

/* ---- names of files being written ---- */

/* FNV-1a of the host's name: two machines may share a folder. */
static unsigned host(void)
{
    char name[256] = "";
    uint32_t h = 2166136261u;
    gethostname(name, sizeof name - 1);
    for (const char *c = name; *c; c++)
        h = (h ^ (unsigned char)*c) * 16777619u;
    return h;
}

static char *temp_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    const char *base = slash ? slash + 1 : path;
    size_t folder = (size_t)(base - path), n = strlen(path) + 48;
    char *temp = fl_calloc(n, 1);
    /* The extension stays: some encoders choose the container by it. */
    snprintf(temp, n, "%.*s.part-%08x-%ld-%s", (int)folder, path, host(), (long)getpid(), base);
    return temp;
}

/* Of a process of this machine that is no more. */
static bool left_over(const char *name)
{
    unsigned machine;
    long process;
    return sscanf(name, ".part-%8x-%ld-", &machine, &process) == 2 && machine == host() &&
           process > 0 && kill((pid_t)process, 0) && errno == ESRCH;
}

static void sweep(const char *folder)
{
    DIR *d = opendir(folder);
    if (!d)
        return;
    for (const struct dirent *e = readdir(d); e; e = readdir(d))
        if (left_over(e->d_name))
            unlinkat(dirfd(d), e->d_name, 0);
    closedir(d);
}

/* Files being written, for whoever must end at once; more than these wait for the next sweep. */
enum { AT_WORK = 64 };
static _Atomic(char *) at_work[AT_WORK];

static void note_at_work(char *temp)
{
    for (int i = 0; i < AT_WORK; i++) {
        char *none = NULL;
        if (atomic_compare_exchange_strong(&at_work[i], &none, temp))
            return;
    }
}

static void forget_at_work(char *temp)
{
    for (int i = 0; i < AT_WORK; i++) {
        char *mine = temp;
        if (atomic_compare_exchange_strong(&at_work[i], &mine, NULL))
            return;
    }
}

void fl_files_drop(void)
{
    for (int i = 0; i < AT_WORK; i++) {
        const char *temp = atomic_load(&at_work[i]);
        if (temp)
            unlink(temp);
    }
}

/* ---- writing ---- */

enum flinch_code fl_file_begin_named(struct fl_file *f, const char *path, struct fl_error *err)
{
    *f = (struct fl_file){.path = fl_strdup(path), .temp = temp_name(path)};
    unlink(f->temp); /* of an earlier process that had this one's number */
    int fd = open(f->temp, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
    if (fd < 0) {
        int why = errno;
        write_error(err, path, why);
        free(f->temp); /* not ours */
        f->temp = NULL;
        fl_file_abandon(f);
        return FLINCH_ERR_WRITE;
    }
    note_at_work(f->temp);
    close(fd);
    return FLINCH_OK;
}

enum flinch_code fl_file_begin(struct fl_file *f, const char *path, struct fl_error *err)
{
    enum flinch_code code = fl_file_begin_named(f, path, err);
    if (code)
        return code;
    f->stream = fopen(f->temp, "wb");
    if (!f->stream) {
        code = write_error(err, path, errno);
        fl_file_abandon(f);
    }
    return code;
}

enum flinch_code fl_file_commit(struct fl_file *f, struct fl_error *err)
{
    int why = 0;
    assert(f->path && f->temp); /* begun, and neither committed nor abandoned */
    if (f->stream) {
        if (fflush(f->stream) || ferror(f->stream))
            why = errno ? errno : EIO;
        if (fclose(f->stream) && !why)
            why = errno;
        f->stream = NULL;
    }
    if (!why && rename(f->temp, f->path))
        why = errno;
    enum flinch_code code = why ? write_error(err, f->path, why) : FLINCH_OK;
    if (!why) {
        forget_at_work(f->temp);
        free(f->temp);
        f->temp = NULL;
    }
    fl_file_abandon(f);
    return code;
}

void fl_file_abandon(struct fl_file *f)
{
    if (f->stream)
        fclose(f->stream);
    if (f->temp) {
        unlink(f->temp);
        forget_at_work(f->temp);
    }
    free(f->temp);
    free(f->path);
    *f = (struct fl_file){0};
}

enum flinch_code fl_make_folder(const char *path, struct fl_error *err)
{
    char *p = fl_strdup(path);
    enum flinch_code code = FLINCH_OK;
    for (char *c = p + 1; *p && !code; c++) {
        if (*c != '/' && *c)
            continue;
        char was = *c;
        *c = 0;
        struct stat st;
        if (mkdir(p, 0777) && !(errno == EEXIST && !stat(p, &st) && S_ISDIR(st.st_mode)))
            code = fl_fail(err, FLINCH_ERR_WRITE,
                           "%s: cannot create folder: %s; choose another folder", p,
                           strerror(errno == EEXIST ? ENOTDIR : errno));
        *c = was;
        if (!was)
            break;
    }
    free(p);
    if (!code)
        sweep(path);
    return code;
}

/* ---- reading ---- */

/* Closes in. */
static enum flinch_code read_all(FILE *in, const char *path, size_t limit, char **data,
                                 size_t *size, struct fl_error *err)
{
    char *buf = NULL;
    size_t n = 0, cap = 0, got;
    do {
        if (cap - n < 65536)
            buf = fl_realloc(buf, cap = cap ? 2 * cap : 131072, 1);
        got = fread(buf + n, 1, cap - n - 1, in);
        n += got;
    } while (got && n <= limit);
    bool bad = ferror(in);
    int why = errno;
    fclose(in);
    if (bad || n > limit) {
        free(buf);
        return bad ? fl_fail(err, FLINCH_ERR_OPEN, "%s: cannot read: %s; check the path", path,
                             strerror(why))
                   : fl_fail(err, FLINCH_ERR_FORMAT,
                             "%s: larger than %zu bytes; is this the right file?", path, limit);
    }
    buf[n] = 0;
    *data = buf;
    *size = n;
    return FLINCH_OK;
}

enum flinch_code fl_read_file(const char *path, size_t limit, char **data, size_t *size,
                              struct fl_error *err)
{
    FILE *in = fopen(path, "rb");
    if (!in)
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: cannot open: %s; check the path", path,
                       strerror(errno));
    return read_all(in, path, limit, data, size, err);
}

enum flinch_code fl_read_stored(const char *path, size_t limit, char **data, size_t *size,
                                struct fl_error *err)
{
    /* A pipe would be waited for. */
    int fd = open(path, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    int why = errno;
    struct stat st;
    if (fd >= 0 && (fstat(fd, &st) || !S_ISREG(st.st_mode))) {
        close(fd);
        fd = -1;
        why = ELOOP;
    }
    FILE *in = fd >= 0 ? fdopen(fd, "rb") : NULL;
    if (in)
        return read_all(in, path, limit, data, size, err);
    if (why == ELOOP)
        return fl_fail(err, FLINCH_ERR_OPEN,
                       "%s: is a link or no plain file; results are read from plain files only",
                       path);
    return fl_fail(err, FLINCH_ERR_OPEN, "%s: cannot open: %s; check the path", path,
                   strerror(why));
}

bool fl_same_file(const char *a, const char *b)
{
    struct stat x, y;
    return !stat(a, &x) && !stat(b, &y) && x.st_dev == y.st_dev && x.st_ino == y.st_ino;
}

char *fl_path_join(const char *dir, const char *name)
{
    if (!dir || !*dir || *name == '/')
        return fl_strdup(name);
    size_t n = strlen(dir) + strlen(name) + 2;
    char *p = fl_calloc(n, 1);
    snprintf(p, n, "%s%s%s", dir, dir[strlen(dir) - 1] == '/' ? "" : "/", name);
    return p;
}

char *fl_path_folder(const char *path)
{
    const char *slash = strrchr(path, '/');
    if (!slash)
        return fl_strdup(".");
    if (slash == path)
        return fl_strdup("/");
    char *p = fl_strdup(path);
    p[slash - path] = 0;
    return p;
}
