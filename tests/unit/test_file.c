#include "base/file.h"

#include <dirent.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/mem.h"
#include "test.h"

static char folder[] = "file-test-XXXXXX";

static char *in_folder(const char *name)
{
    return fl_path_join(folder, name);
}

static int enter(void **state)
{
    (void)state;
    strcpy(folder, "file-test-XXXXXX");
    return !mkdtemp(folder);
}

static void remove_all(const char *path)
{
    DIR *d = opendir(path);
    for (struct dirent *e; d && (e = readdir(d));) {
        if (!strcmp(e->d_name, ".") || !strcmp(e->d_name, ".."))
            continue;
        char *p = fl_path_join(path, e->d_name);
        struct stat st;
        if (!lstat(p, &st) && S_ISDIR(st.st_mode))
            remove_all(p);
        else
            unlink(p);
        free(p);
    }
    if (d)
        closedir(d);
    rmdir(path);
}

static int leave(void **state)
{
    (void)state;
    remove_all(folder);
    return 0;
}

static int entries(const char *path)
{
    int n = 0;
    DIR *d = opendir(path);
    assert_non_null(d);
    for (struct dirent *e; (e = readdir(d));)
        n += strcmp(e->d_name, ".") && strcmp(e->d_name, "..");
    closedir(d);
    return n;
}

static void put(const char *path, const char *text)
{
    struct fl_file f;
    struct fl_error err;
    assert_int_equal(fl_file_begin(&f, path, &err), FLINCH_OK);
    fputs(text, f.stream);
    assert_int_equal(fl_file_commit(&f, &err), FLINCH_OK);
}

static void assert_holds(const char *path, const char *want)
{
    char *data;
    size_t size;
    struct fl_error err;
    assert_int_equal(fl_read_file(path, 1 << 20, &data, &size, &err), FLINCH_OK);
    assert_int_equal(size, strlen(want));
    assert_string_equal(data, want);
    free(data);
}

/* One line that names the file: what, where, what to do. */
static void assert_says(const struct fl_error *err, const char *path)
{
    assert_non_null(strstr(err->text, path));
    assert_null(strchr(err->text, '\n'));
    assert_non_null(strchr(err->text, ';'));
}

static void file_appears_whole_on_commit(void **state)
{
    (void)state;
    char *path = in_folder("whole.txt");
    struct fl_file f;
    struct fl_error err;
    assert_int_equal(fl_file_begin(&f, path, &err), FLINCH_OK);
    fputs("abc", f.stream);
    fflush(f.stream);
    assert_int_not_equal(access(path, F_OK), 0);
    assert_int_equal(fl_file_commit(&f, &err), FLINCH_OK);
    assert_holds(path, "abc");
    assert_int_equal(entries(folder), 1);
    fl_file_abandon(&f); /* harmless after commit */
    assert_holds(path, "abc");
    free(path);
}

static void abandoned_file_leaves_the_old_one(void **state)
{
    (void)state;
    char *path = in_folder("old.txt");
    put(path, "old");
    struct fl_file f;
    struct fl_error err;
    assert_int_equal(fl_file_begin(&f, path, &err), FLINCH_OK);
    fputs("new", f.stream);
    fl_file_abandon(&f);
    assert_holds(path, "old");
    assert_int_equal(entries(folder), 1);
    fl_file_abandon(&f);
    struct fl_file zero = {0};
    fl_file_abandon(&zero);
    put(path, "new");
    assert_holds(path, "new");
    free(path);
}

/* setrlimit(2): a write past the limit fails with EFBIG, as one on a full disk does with ENOSPC. */
static void failed_write_leaves_nothing_half_done(void **state)
{
    (void)state;
    char *path = in_folder("full.txt");
    put(path, "old");
    struct rlimit was, tight;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &was), 0);
    tight = was;
    tight.rlim_cur = 4096;
    signal(SIGXFSZ, SIG_IGN);
    struct fl_file f;
    struct fl_error err;
    assert_int_equal(fl_file_begin(&f, path, &err), FLINCH_OK);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &tight), 0);
    for (int i = 0; i < 20000; i++)
        fputs("half-written ", f.stream);
    enum flinch_code code = fl_file_commit(&f, &err);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &was), 0);
    assert_int_equal(code, FLINCH_ERR_WRITE);
    assert_says(&err, path);
    assert_holds(path, "old");
    assert_int_equal(entries(folder), 1);
    free(path);
}

static void rename_onto_a_folder_fails_cleanly(void **state)
{
    (void)state;
    char *path = in_folder("taken");
    struct fl_file f;
    struct fl_error err;
    assert_int_equal(mkdir(path, 0777), 0);
    assert_int_equal(fl_file_begin(&f, path, &err), FLINCH_OK);
    fputs("x", f.stream);
    assert_int_equal(fl_file_commit(&f, &err), FLINCH_ERR_WRITE);
    assert_says(&err, path);
    assert_int_equal(entries(folder), 1);
    free(path);
}

static void no_folder_no_file(void **state)
{
    (void)state;
    char *path = in_folder("absent/x.txt");
    struct fl_file f;
    struct fl_error err;
    assert_int_equal(fl_file_begin(&f, path, &err), FLINCH_ERR_WRITE);
    assert_says(&err, path);
    assert_null(f.stream);
    assert_null(f.temp);
    assert_int_equal(fl_file_begin(&f, path, NULL), FLINCH_ERR_WRITE);
    assert_int_equal(fl_file_begin_named(&f, path, &err), FLINCH_ERR_WRITE);
    free(path);
}

static void named_file_keeps_its_folder_and_extension(void **state)
{
    (void)state;
    char *path = in_folder("chart.png");
    struct fl_file f;
    struct fl_error err;
    assert_int_equal(fl_file_begin_named(&f, path, &err), FLINCH_OK);
    assert_null(f.stream);
    assert_int_equal(strncmp(f.temp, folder, strlen(folder)), 0);
    assert_string_equal(strrchr(f.temp, '.'), ".png");
    FILE *other = fopen(f.temp, "wb");
    assert_non_null(other);
    fputs("drawn", other);
    fclose(other);
    assert_int_equal(fl_file_commit(&f, &err), FLINCH_OK);
    assert_holds(path, "drawn");
    assert_int_equal(entries(folder), 1);
    free(path);
}

/* ---- what a process leaves that is killed ---- */

/* A child begins a file and ends without a word; its name for it, in the folder. */
static char *left_by_a_child(void)
{
    int ends[2];
    char name[256] = "";
    assert_int_equal(pipe(ends), 0);
    const pid_t child = fork();
    if (!child) {
        struct fl_file f;
        char *path = in_folder("killed.csv");
        if (fl_file_begin(&f, path, NULL) || write(ends[1], f.temp, strlen(f.temp)) < 0)
            _exit(1);
        kill(getpid(), SIGKILL);
    }
    close(ends[1]);
    assert_true(read(ends[0], name, sizeof name - 1) > 0);
    close(ends[0]);
    assert_int_equal(waitpid(child, NULL, 0), child);
    return fl_strdup(name);
}

static void what_a_killed_process_left_is_swept(void **state)
{
    (void)state;
    struct fl_error err;
    struct fl_file mine;
    char *left = left_by_a_child(), *path = in_folder("mine.csv");
    assert_int_equal(access(left, F_OK), 0);
    assert_int_equal(fl_file_begin(&mine, path, &err), FLINCH_OK);
    /* of another machine, whose processes nobody here can know */
    char *elsewhere = fl_strdup(left), *digit = strstr(elsewhere, ".part-") + 6;
    *digit = *digit == '0' ? '1' : '0';
    put(elsewhere, "x");
    assert_int_equal(fl_make_folder(folder, &err), FLINCH_OK);
    assert_int_equal(access(left, F_OK), -1);
    assert_int_equal(access(elsewhere, F_OK), 0);
    assert_int_equal(access(mine.temp, F_OK), 0);
    fl_file_abandon(&mine);
    free(left);
    free(path);
    free(elsewhere);
}

static void all_that_is_being_written_can_be_dropped(void **state)
{
    (void)state;
    struct fl_error err;
    struct fl_file a, b;
    char *first = in_folder("first"), *second = in_folder("second");
    put(first, "old");
    assert_int_equal(fl_file_begin(&a, first, &err), FLINCH_OK);
    assert_int_equal(fl_file_begin_named(&b, second, &err), FLINCH_OK);
    fl_files_drop();
    assert_int_equal(entries(folder), 1);
    assert_holds(first, "old");
    fl_file_abandon(&a);
    fl_file_abandon(&b);
    free(first);
    free(second);
}

/* Somebody who may write in the folder could lay a link where the temporary file will be. */
static void no_link_is_written_through(void **state)
{
    (void)state;
    struct fl_error err;
    struct fl_file f;
    char *path = in_folder("out.csv"), *prize = in_folder("prize");
    put(prize, "kept");
    assert_int_equal(fl_file_begin(&f, path, &err), FLINCH_OK);
    char *temp = fl_strdup(f.temp);
    fl_file_abandon(&f);
    assert_int_equal(symlink("prize", temp), 0);
    assert_int_equal(fl_file_begin(&f, path, &err), FLINCH_OK);
    fputs("new", f.stream);
    assert_int_equal(fl_file_commit(&f, &err), FLINCH_OK);
    assert_holds(prize, "kept");
    assert_holds(path, "new");
    free(temp);
    free(path);
    free(prize);
}

static void results_are_read_from_plain_files_only(void **state)
{
    (void)state;
    struct fl_error err;
    char *plain = in_folder("plain"), *lnk = in_folder("link"), *pipe_name = in_folder("pipe"),
         *absent = in_folder("absent"), *data = NULL;
    size_t size;
    put(plain, "text");
    assert_int_equal(fl_read_stored(plain, 100, &data, &size, &err), FLINCH_OK);
    assert_string_equal(data, "text");
    free(data);
    assert_int_equal(fl_read_stored(plain, 2, &data, &size, &err), FLINCH_ERR_FORMAT);
    assert_int_equal(symlink("plain", lnk), 0);
    assert_int_equal(mkfifo(pipe_name, 0600), 0);
    const char *const bad[] = {lnk, pipe_name, folder, absent};
    for (int i = 0; i < 4; i++) {
        assert_int_equal(fl_read_stored(bad[i], 100, &data, &size, &err), FLINCH_ERR_OPEN);
        assert_says(&err, bad[i]);
    }
    assert_true(fl_same_file(plain, lnk) && fl_same_file(plain, plain));
    assert_false(fl_same_file(plain, pipe_name) || fl_same_file(plain, absent) ||
                 fl_same_file(absent, absent));
    free(plain);
    free(lnk);
    free(pipe_name);
    free(absent);
}

static void folders_are_made_with_their_parents(void **state)
{
    (void)state;
    struct fl_error err;
    char *deep = in_folder("a/b//c/"), *file = in_folder("plain"), *under = in_folder("plain/x");
    struct stat st;
    for (int i = 0; i < 2; i++) /* again is fine */
        assert_int_equal(fl_make_folder(deep, &err), FLINCH_OK);
    assert_true(!stat(deep, &st) && S_ISDIR(st.st_mode));
    assert_int_equal(fl_make_folder("/", &err), FLINCH_OK);
    assert_int_equal(fl_make_folder(".", &err), FLINCH_OK);
    put(file, "");
    assert_int_equal(fl_make_folder(file, &err), FLINCH_ERR_WRITE);
    assert_says(&err, file);
    assert_int_equal(fl_make_folder(under, &err), FLINCH_ERR_WRITE);
    free(deep);
    free(file);
    free(under);
}

static void reading_stops_at_the_limit(void **state)
{
    (void)state;
    enum { MANY = 400000 }; /* several times the first buffer */
    char *path = in_folder("long"), *text = fl_calloc(MANY + 1, 1), *data;
    size_t size;
    struct fl_error err;
    for (int i = 0; i < MANY; i++)
        text[i] = (char)('a' + i % 23);
    put(path, text);
    assert_int_equal(fl_read_file(path, MANY, &data, &size, &err), FLINCH_OK);
    assert_int_equal(size, MANY);
    assert_int_equal(data[size], 0);
    assert_memory_equal(data, text, MANY);
    free(data);
    assert_int_equal(fl_read_file(path, MANY - 1, &data, &size, &err), FLINCH_ERR_FORMAT);
    assert_says(&err, path);
    assert_int_equal(fl_read_file(path, 10, &data, &size, &err), FLINCH_ERR_FORMAT);
    free(text);
    free(path);
}

static void what_cannot_be_read(void **state)
{
    (void)state;
    char *data, *absent = in_folder("absent"), *empty = in_folder("empty");
    size_t size;
    struct fl_error err;
    assert_int_equal(fl_read_file(absent, 10, &data, &size, &err), FLINCH_ERR_OPEN);
    assert_says(&err, absent);
    assert_int_equal(fl_read_file(folder, 10, &data, &size, &err), FLINCH_ERR_OPEN);
    assert_says(&err, folder);
    put(empty, "");
    assert_int_equal(fl_read_file(empty, 0, &data, &size, &err), FLINCH_OK);
    assert_int_equal(size, 0);
    assert_int_equal(data[0], 0);
    free(data);
    free(absent);
    free(empty);
}

static void paths(void **state)
{
    (void)state;
    const char *const joined[][3] = {
        {"out", "takes", "out/takes"}, {"out/", "takes", "out/takes"}, {"", "takes", "takes"},
        {NULL, "takes", "takes"},      {"out", "/abs", "/abs"},        {"/", "x", "/x"},
    };
    for (size_t i = 0; i < sizeof joined / sizeof *joined; i++) {
        char *p = fl_path_join(joined[i][0], joined[i][1]);
        assert_string_equal(p, joined[i][2]);
        free(p);
    }
    /* dirname(3), for paths that do not end in a slash */
    const char *const folders[][2] = {{"a.yaml", "."},
                                      {"s/a.yaml", "s"},
                                      {"/s/t/a.yaml", "/s/t"},
                                      {"/a.yaml", "/"},
                                      {"../a", ".."}};
    for (size_t i = 0; i < sizeof folders / sizeof *folders; i++) {
        char *p = fl_path_folder(folders[i][0]);
        assert_string_equal(p, folders[i][1]);
        free(p);
    }
}

#define IN_FOLDER(f) cmocka_unit_test_setup_teardown(f, enter, leave)

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_FOLDER(file_appears_whole_on_commit),
        IN_FOLDER(abandoned_file_leaves_the_old_one),
        IN_FOLDER(failed_write_leaves_nothing_half_done),
        IN_FOLDER(rename_onto_a_folder_fails_cleanly),
        IN_FOLDER(no_folder_no_file),
        IN_FOLDER(named_file_keeps_its_folder_and_extension),
        IN_FOLDER(what_a_killed_process_left_is_swept),
        IN_FOLDER(all_that_is_being_written_can_be_dropped),
        IN_FOLDER(no_link_is_written_through),
        IN_FOLDER(results_are_read_from_plain_files_only),
        IN_FOLDER(folders_are_made_with_their_parents),
        IN_FOLDER(reading_stops_at_the_limit),
        IN_FOLDER(what_cannot_be_read),
        cmocka_unit_test(paths),
    };
    return RUN_TESTS(tests);
}
