/* --decoder, by the names that FFmpeg has (media/decoder_name.h). */
#include "cli/decoder_option.h"

#include "media/decoder_name.h"

enum flinch_code fl_decoder_option_check(const char *text, struct fl_error *err)
{
    return fl_decoder_name_check(text, err) ? fl_fail_in(err, "--decoder") : FLINCH_OK;
}
