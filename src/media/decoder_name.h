/* What decodes footage, by name: "software", which no name (NULL) means too; "auto", a device of
 * this machine if one gives the same pictures; or a kind of device as FFmpeg names it ("cuda",
 * "vaapi", "videotoolbox", ...). */
#ifndef FL_MEDIA_DECODER_NAME_H
#define FL_MEDIA_DECODER_NAME_H

#include <stdbool.h>

#include "base/error.h"

bool fl_decoder_is_software(const char *name);
bool fl_decoder_is_auto(const char *name);
/* FLINCH_ERR_USAGE: none of these in this FFmpeg. Whether there is such a device shows later. */
enum flinch_code fl_decoder_name_check(const char *name, struct fl_error *err);

#endif
