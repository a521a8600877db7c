/* Each library says its own version as it runs, which need not be the one built against. */
#include "cli/versions.h"

#include <cairo.h>
#include <gsl/gsl_version.h>
#include <jansson.h>
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/avutil.h>
#include <libswresample/swresample.h>
#include <libswscale/swscale.h>
#include <pango/pango.h>
#include <sndfile.h>
#include <string.h>
#include <yaml.h>
#include <zlib.h>

static void print_packed(FILE *out, const char *name, unsigned version)
{
    fprintf(out, "  %s %u.%u.%u\n", name, AV_VERSION_MAJOR(version), AV_VERSION_MINOR(version),
            AV_VERSION_MICRO(version));
}

void fl_versions_print(FILE *out)
{
    const char *sound = sf_version_string(); /* "libsndfile-1.2.0" */
    const char *dash = strchr(sound, '-');
    fprintf(out, "flinch %s\n", FLINCH_VERSION);
    print_packed(out, "libavformat", avformat_version());
    print_packed(out, "libavcodec", avcodec_version());
    print_packed(out, "libavutil", avutil_version());
    print_packed(out, "libswscale", swscale_version());
    print_packed(out, "libswresample", swresample_version());
    fprintf(out, "  libsndfile %s\n", dash ? dash + 1 : sound);
    fprintf(out, "  libyaml %s\n", yaml_get_version_string());
    fprintf(out, "  jansson %s\n", jansson_version_str());
    fprintf(out, "  cairo %s\n", cairo_version_string());
    fprintf(out, "  pango %s\n", pango_version_string());
    fprintf(out, "  gsl %s\n", gsl_version);
    fprintf(out, "  zlib %s\n", zlibVersion());
}
