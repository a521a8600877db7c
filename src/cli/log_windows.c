/* flinch.exe: `flinch log` alone, for a Windows machine under test.
 *
 * The command is cmd_log.c with the option tables of the program; here is what it asks of a
 * terminal, by the console functions of Windows, and a main that knows no other command. Texts are
 * plain ASCII, a byte a column. */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <windows.h>

#include "base/mem.h"
#include "cli/options.h"
#include "cli/terminal.h"
#include "show/screen/terminal_text.h"

extern const struct fl_command fl_command_log;

static volatile LONG stopped;
static HANDLE finished; /* set once the file is whole */

/* At Ctrl-C, as the console closes, and where the session is told to end: the process is gone once
 * this returns from any but Ctrl-C, so it waits for the file. */
static BOOL WINAPI on_control(DWORD what)
{
    InterlockedExchange(&stopped, 1);
    if (what != CTRL_C_EVENT && what != CTRL_BREAK_EVENT)
        WaitForSingleObject(finished, 4000);
    return TRUE;
}

void fl_terminal_catch_signals(void)
{
    finished = CreateEventW(NULL, TRUE, FALSE, NULL);
    SetConsoleCtrlHandler(on_control, TRUE);
}

bool fl_terminal_stopped(void *unused)
{
    (void)unused;
    return stopped;
}

/* Spaces erase, as not every console knows control sequences. */
void fl_terminal_redraw(const char *line)
{
    if (isatty(STDERR_FILENO))
        fprintf(stderr, *line ? "\r%-79.79s" : "\r%79s\r", line);
    else if (*line)
        fprintf(stderr, "%s\n", line);
    fflush(stderr);
}

void fl_complain(const char *text)
{
    fprintf(stderr, "flinch: %s\n", text);
    fflush(stderr);
}

int fl_finish_output(int status)
{
    return fflush(stdout) ? 1 : status;
}

int fl_exit_status(enum flinch_code code)
{
    return code == FLINCH_OK ? 0 : code == FLINCH_ERR_USAGE ? 2 : 1;
}

void fl_put_wrapped(FILE *out, const char *text, int column, int indent)
{
    while (*text) {
        const int n = (int)strcspn(text, " ");
        if (column > indent && column + n > FL_COLUMNS) {
            fprintf(out, "\n%*s", indent, "");
            column = indent;
        }
        column += fprintf(out, "%.*s", n, text);
        text += n;
        text += strspn(text, " ");
        if (*text && column + 1 + (int)strcspn(text, " ") <= FL_COLUMNS)
            column += fprintf(out, " ");
        else
            column++;
    }
    fputc('\n', out);
}

static int record(char **argv, int argc)
{
    const struct fl_command *cmd = &fl_command_log;
    void *settings = fl_calloc(1, cmd->settings_size);
    struct fl_error err = {0};
    int n_args = 0, status = 0;
    bool help = false;
    if (fl_options_parse(cmd, settings, argv, argc, &n_args, &help, &err)) {
        fl_complain(err.text);
        status = 2;
    } else if (help) {
        fl_options_help(cmd, stdout);
    } else {
        status = cmd->run(settings, argv, n_args);
    }
    free(settings);
    return status;
}

int main(int argc, char **argv)
{
    const char *word = argc > 1 ? argv[1] : "";
    int status = 2;
    if (!strcmp(word, "--version")) {
        printf("flinch %s\n", FLINCH_VERSION);
        return 0;
    }
    if (!strcmp(word, "--help") || !strcmp(word, "-h"))
        status = record((char *[]){"--help"}, 1);
    else if (!strcmp(word, "log"))
        status = record(argv + 2, argc - 2);
    else
        fl_complain("on Windows it records and no more; use flinch log -o FILE, see --help");
    if (finished)
        SetEvent(finished);
    return status;
}
