/* write_texts man PAGE | bash | zsh | fish: what the build makes from the option tables, to
 * standard output. PAGE is the man page in scdoc's markup; a line "; options" in it is where they
 * go. */
#include <stdio.h>
#include <string.h>

#include "cli/commands.h"
#include "cli/texts.h"

static int write_man(const char *path)
{
    FILE *page = fopen(path, "r");
    char line[4096];
    int places = 0;
    while (page && fgets(line, sizeof line, page))
        if (strcmp(line, "; options\n")) {
            fputs(line, stdout);
        } else {
            fl_text_man(stdout, fl_commands);
            places++;
        }
    if (page)
        fclose(page);
    if (places != 1)
        fprintf(stderr, "write_texts: %s: cannot be read, or has no one line '; options'\n", path);
    return places != 1;
}

int main(int argc, char **argv)
{
    static const struct {
        const char *name;
        void (*write)(FILE *out, const struct fl_command *const *commands);
    } shell[] = {{"bash", fl_text_bash}, {"zsh", fl_text_zsh}, {"fish", fl_text_fish}};
    if (argc == 3 && !strcmp(argv[1], "man"))
        return write_man(argv[2]);
    for (size_t i = 0; argc == 2 && i < sizeof shell / sizeof *shell; i++)
        if (!strcmp(argv[1], shell[i].name)) {
            shell[i].write(stdout, fl_commands);
            return 0;
        }
    fputs("use: write_texts man PAGE | bash | zsh | fish\n", stderr);
    return 2;
}
