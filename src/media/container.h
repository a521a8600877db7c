/* Opening a recording: one file that holds all of itself. */
#ifndef FL_MEDIA_CONTAINER_H
#define FL_MEDIA_CONTAINER_H

#include <libavformat/avformat.h>

/* Opens path as avformat_open_input would, *demux being NULL or allocated before, and freed on
 * failure. Lists and scripts that name other files (playlists, manifests, numbered pictures) are
 * not opened: reading one would read whatever file it names. 0, or FFmpeg's error; *refused is then
 * FFmpeg's name of such a format, or NULL (always for what is no plain file). Thread safe. */
int fl_container_open(AVFormatContext **demux, const char *path, const char **refused);
/* The same of what comes through io, which is read once and stays the caller's. *demux is allocated
 * before. */
int fl_container_open_io(AVFormatContext **demux, AVIOContext *io, const char **refused);

#endif
