/* What is written from the option tables of all commands while flinch is built: the option part of
 * the man page, and completion for shells. Each writes a whole text to out. */
#ifndef FL_CLI_TEXTS_H
#define FL_CLI_TEXTS_H

#include <stdio.h>

#include "cli/options.h"

/* commands: NULL ends the list. */
void fl_text_man(FILE *out, const struct fl_command *const *commands); /* scdoc's markup */
void fl_text_bash(FILE *out, const struct fl_command *const *commands);
void fl_text_zsh(FILE *out, const struct fl_command *const *commands);
void fl_text_fish(FILE *out, const struct fl_command *const *commands);

/* A command's summary up to its first stop or colon, in buf. */
const char *fl_text_short(char buf[200], const struct fl_command *cmd);

#endif
