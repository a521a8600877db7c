/* FFmpeg opens what it takes a file for; formats that open further files by themselves are left out
 * of what it may take it for. Which ones do is read from their documentation (FFmpeg formats
 * documentation, "Demuxers"); all others read one file, with the protocol for files alone. */
#include "media/container.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <libavutil/avstring.h>
#include <libavutil/bprint.h>
#include <libavutil/dict.h>

#include "base/mem.h"

/* tty: FFmpeg plays any text as terminal art. */
static const char *const not_alone[] = {"avisynth", "concat", "dash", "hls", "image2",     "imf",
                                        "rtsp",     "sap",    "sdp",  "tty", "vapoursynth"};

static bool alone(const AVInputFormat *format)
{
    for (size_t i = 0; i < sizeof not_alone / sizeof *not_alone; i++)
        if (av_match_name(not_alone[i], format->name))
            return false;
    return true;
}

/* Names of all formats that hold all of themselves, for the option of that name; NULL: no memory.
 */
static char *formats(void)
{
    void *at = NULL;
    AVBPrint list;
    char *out = NULL;
    av_bprint_init(&list, 4096, AV_BPRINT_SIZE_UNLIMITED);
    for (const AVInputFormat *f = av_demuxer_iterate(&at); f; f = av_demuxer_iterate(&at))
        if (alone(f))
            av_bprintf(&list, "%s%s", list.len ? "," : "", f->name);
    av_bprint_finalize(&list, &out);
    return out;
}

static char *url_of(const char *path)
{
    char *url = fl_calloc(strlen(path) + 6, 1);
    sprintf(url, "file:%s", path); /* so that a colon in a name names no protocol */
    return url;
}

/* What FFmpeg takes the file for, if that is none of the formats above. It opens the file anew:
 * what went through a pipe is gone, and nobody may write to it again. */
static const char *taken_for(const char *path, const char *url)
{
    struct stat st;
    if (stat(path, &st) || !S_ISREG(st.st_mode))
        return NULL;
    AVIOContext *in = NULL;
    AVDictionary *options = NULL;
    const AVInputFormat *format = NULL;
    av_dict_set(&options, "protocol_whitelist", "file", 0);
    if (avio_open2(&in, url, AVIO_FLAG_READ, NULL, &options) >= 0)
        av_probe_input_buffer2(in, &format, url, NULL, 0, 0);
    avio_closep(&in);
    av_dict_free(&options);
    return format && !alone(format) ? format->name : NULL;
}

int fl_container_open(AVFormatContext **demux, const char *path, const char **refused)
{
    char *url = url_of(path), *list = formats();
    AVDictionary *options = NULL;
    av_dict_set(&options, "protocol_whitelist", "file", 0);
    av_dict_set(&options, "format_whitelist", list, AV_DICT_DONT_STRDUP_VAL);
    const int rc = list ? avformat_open_input(demux, url, NULL, &options) : AVERROR(ENOMEM);
    *refused = rc == AVERROR(EINVAL) ? taken_for(path, url) : NULL;
    av_dict_free(&options);
    free(url);
    return rc;
}

/* What has been read to tell the format is not gone: FFmpeg hands it to the demuxer. */
int fl_container_open_io(AVFormatContext **demux, AVIOContext *io, const char **refused)
{
    const AVInputFormat *format = NULL;
    AVDictionary *options = NULL;
    *refused = NULL;
    (*demux)->pb = io;
    int rc = av_probe_input_buffer2(io, &format, NULL, NULL, 0, 0);
    if (rc >= 0 && !alone(format)) {
        *refused = format->name;
        rc = AVERROR(EINVAL);
    }
    if (rc < 0) {
        avformat_free_context(*demux);
        *demux = NULL;
        return rc;
    }
    av_dict_set(&options, "protocol_whitelist", "none", 0);
    rc = avformat_open_input(demux, NULL, format, &options);
    av_dict_free(&options);
    return rc;
}
