/* A file is written under a name of its own in the folder that it belongs to, and renamed once
 * it is whole: rename within a folder replaces an older file in one step (POSIX.1-2017,
 * rename()). Written data are not forced to the disk: a power failure may cost a file, an
 * interrupted or full run none. */
#include "base/file.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
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

static char *temp_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    const char *base = slash ? slash + 1 : path;
    size_t folder = (size_t)(base - path), n = strlen(path) + 32;
    char *temp = fl_calloc(n, 1);
    /* The extension stays: some encoders choose the container by it. */
    snprintf(temp, n, "%.*s.part-%ld-%s", (int)folder, path, (long)getpid(), base);
    return temp;
}

enum flinch_code fl_file_begin_named(struct fl_file *f, const char *path, struct fl_error *err)
{
    *f = (struct fl_file){.path = fl_strdup(path), .temp = temp_name(path)};
    int fd = open(f->temp, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (fd < 0) {
        int why = errno;
        write_error(err, path, why);
        fl_file_abandon(f);
        return FLINCH_ERR_WRITE;
    }
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
    if (f->temp)
        unlink(f->temp);
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
    return code;
}

enum flinch_code fl_read_file(const char *path, size_t limit, char **data, size_t *size,
                              struct fl_error *err)
{
    FILE *in = fopen(path, "rb");
    if (!in)
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: cannot open: %s; check the path", path,
                       strerror(errno));
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
