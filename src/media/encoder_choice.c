/* Container by the file's name, encoder by what FFmpeg has, options as people write them.
 *
 * What FFmpeg would only log, or pass over in silence, is asked beforehand, so that each refusal is
 * one line that says what to write instead. */
#include "media/encoder_choice.h"

#include <stdlib.h>
#include <string.h>

#include <libavutil/opt.h>

#include "base/units.h"

static const AVCodec *usual_codec(const AVOutputFormat *container)
{
    static const char *const names[] = {"libx264", "libopenh264", "mpeg4"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const AVCodec *codec = avcodec_find_encoder_by_name(names[i]);
        if (codec && avformat_query_codec(container, codec->id, FF_COMPLIANCE_NORMAL) == 1)
            return codec;
    }
    return avcodec_find_encoder(container->video_codec);
}

const AVCodec *fl_encoder_sound_choice(const AVOutputFormat *container)
{
    const enum AVCodecID ids[] = {AV_CODEC_ID_AAC, container->audio_codec};
    for (int i = 0; i < 2; i++) {
        const AVCodec *codec = avcodec_find_encoder(ids[i]);
        if (codec && avformat_query_codec(container, codec->id, FF_COMPLIANCE_NORMAL) == 1)
            return codec;
    }
    return avcodec_find_encoder_by_name("libopus");
}

enum flinch_code fl_encoder_choose(const char *path, const char *name,
                                   const AVOutputFormat **container, const AVCodec **codec,
                                   struct fl_error *err)
{
    *container = av_guess_format(NULL, path, NULL);
    if (!*container || (*container)->video_codec == AV_CODEC_ID_NONE ||
        ((*container)->flags & AVFMT_NOFILE))
        return fl_fail(
            err, FLINCH_ERR_USAGE,
            "%s: no movie format has this ending; name the file .mp4, .mkv, .mov or .webm", path);
    *codec = name ? avcodec_find_encoder_by_name(name) : usual_codec(*container);
    if (!*codec || (*codec)->type != AVMEDIA_TYPE_VIDEO)
        return fl_fail(
            err, FLINCH_ERR_USAGE,
            "%s: this FFmpeg has no video encoder of that name; `ffmpeg -encoders` lists them",
            name ? name : path);
    if (avformat_query_codec(*container, (*codec)->id, FF_COMPLIANCE_NORMAL) == 0)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "%s: a %s file cannot hold %s; choose another encoder or file ending", path,
                       (*container)->name, (*codec)->name);
    for (const enum AVPixelFormat *f = (*codec)->pix_fmts; f && *f != AV_PIX_FMT_YUV420P; f++)
        if (f[1] == AV_PIX_FMT_NONE)
            return fl_fail(err, FLINCH_ERR_UNSUPPORTED,
                           "%s: this encoder takes no yuv420p pictures; choose another",
                           (*codec)->name);
    return FLINCH_OK;
}

enum flinch_code fl_encoder_check(const char *path, const char *codec, struct fl_error *err)
{
    const AVOutputFormat *container;
    const AVCodec *found;
    return fl_encoder_choose(path, codec, &container, &found, err);
}

/* One option by name; an encoder without it is told apart from one that refuses the value. */
static enum flinch_code set_option(AVCodecContext *c, const char *name, const char *value,
                                   struct fl_error *err)
{
    const int rc = av_opt_set(c, name, value, AV_OPT_SEARCH_CHILDREN);
    if (rc == AVERROR_OPTION_NOT_FOUND)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "%s: this encoder has no setting '%s'; leave it out (`ffmpeg -h encoder=%s` "
                       "lists them)",
                       c->codec->name, name, c->codec->name);
    if (rc < 0)
        return fl_fail(
            err, FLINCH_ERR_USAGE,
            "%s: '%s' is no value of its setting '%s'; `ffmpeg -h encoder=%s` lists them",
            c->codec->name, value, name, c->codec->name);
    return FLINCH_OK;
}

/* x264 and x265 complain on their own about a preset that they do not know. */
static enum flinch_code check_preset(const AVCodecContext *c, const char *name,
                                     struct fl_error *err)
{
    static const char *const names[] = {"ultrafast", "superfast", "veryfast", "faster",
                                        "fast",      "medium",    "slow",     "slower",
                                        "veryslow",  "placebo"};
    if (strncmp(c->codec->name, "libx26", 6))
        return FLINCH_OK;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (!strcmp(names[i], name))
            return FLINCH_OK;
    return fl_fail(err, FLINCH_ERR_USAGE,
                   "%s: has no preset '%.40s'; choose from ultrafast, superfast, veryfast, faster, "
                   "fast, medium, slow, "
                   "slower, veryslow",
                   c->codec->name, name);
}

static enum flinch_code set_options(AVCodecContext *c, const char *text, struct fl_error *err)
{
    AVDictionary *list = NULL;
    const AVDictionaryEntry *o = NULL;
    enum flinch_code code = FLINCH_OK;
    if (text && av_dict_parse_string(&list, text, "=", ":", 0) < 0)
        code = fl_fail(err, FLINCH_ERR_USAGE,
                       "'%s' is no list of encoder settings; write key=value:key=value", text);
    while (!code && (o = av_dict_get(list, "", o, AV_DICT_IGNORE_SUFFIX)))
        code = set_option(c, o->key, o->value, err);
    av_dict_free(&list);
    return code;
}

/* Two encoders write their settings to stderr, past FFmpeg's log. */
static void hush(AVCodecContext *c)
{
    if (!strcmp(c->codec->name, "libx265"))
        av_opt_set(c, "x265-params", "log-level=error", AV_OPT_SEARCH_CHILDREN);
    else if (!strcmp(c->codec->name, "libsvtav1"))
        setenv("SVT_LOG", "1", 0); /* errors only */
}

enum flinch_code fl_encoder_set_quality(AVCodecContext *c, const struct fl_encoder_settings *s,
                                        struct fl_error *err)
{
    char value[32];
    const bool x264 = !strcmp(c->codec->name, "libx264"), by_rate = s->kbit_s > 0;
    const double crf = fl_known(s->crf) ? s->crf : x264 && !by_rate ? 18 : FL_UNKNOWN;
    enum flinch_code code = FLINCH_OK;
    hush(c);
    if (by_rate)
        c->bit_rate = (int64_t)s->kbit_s * 1000;
    else if (!fl_known(crf))
        c->bit_rate =
            (int64_t)c->width * c->height * 8; /* for encoders that know nothing but a bit rate */
    if (fl_known(crf)) {
        if (!by_rate)
            c->bit_rate = 0;
        snprintf(value, sizeof value, "%.6g", crf);
        code = set_option(c, "crf", value, err);
    }
    if (!code && s->preset)
        code = check_preset(c, s->preset, err);
    if (!code && s->preset)
        code = set_option(c, "preset", s->preset, err);
    return code ? code : set_options(c, s->options, err);
}
