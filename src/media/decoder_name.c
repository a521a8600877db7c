/* The kinds of devices are those that FFmpeg was built with. */
#include "media/decoder_name.h"

#include <stdio.h>
#include <string.h>

#include <libavutil/hwcontext.h>

bool fl_decoder_is_software(const char *name)
{
    return !name || !strcmp(name, "software");
}

bool fl_decoder_is_auto(const char *name)
{
    return name && !strcmp(name, "auto");
}

enum flinch_code fl_decoder_name_check(const char *name, struct fl_error *err)
{
    char list[200] = "";
    enum AVHWDeviceType type = AV_HWDEVICE_TYPE_NONE;
    if (fl_decoder_is_software(name) || fl_decoder_is_auto(name) ||
        av_hwdevice_find_type_by_name(name) != AV_HWDEVICE_TYPE_NONE)
        return FLINCH_OK;
    while ((type = av_hwdevice_iterate_types(type)) != AV_HWDEVICE_TYPE_NONE) {
        const size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, ", %s", av_hwdevice_get_type_name(type));
    }
    return fl_fail(err, FLINCH_ERR_USAGE, "there is no '%.40s'; there are software, auto%s", name,
                   list);
}
