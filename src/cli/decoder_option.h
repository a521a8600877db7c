/* The option --decoder of the commands that measure. */
#ifndef FL_CLI_DECODER_OPTION_H
#define FL_CLI_DECODER_OPTION_H

#include "base/error.h"

/* Its help, and what the manual adds. */
#define FL_DECODER_HELP                                                                         \
    "what decodes: software (the default), auto, a device of this machine if it has one, or a " \
    "kind of device as FFmpeg names it, cuda or vaapi"
#define FL_DECODER_MORE                                                                         \
    "Figures do not depend on it: a device is used once its first pictures of the footage are " \
    "those of software, bit by bit. Else software decodes, and a line says why."

/* NULL: not given. FLINCH_ERR_USAGE names the option. */
enum flinch_code fl_decoder_option_check(const char *text, struct fl_error *err);

#endif
