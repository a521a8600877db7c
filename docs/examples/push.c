/* Pictures as they come, through the library: grey pictures on standard input, what is seen in them
 * on standard output.
 *
 *     cc -o push push.c $(pkg-config --cflags --libs flinch)
 *     ffmpeg -i take.mkv -f rawvideo -pix_fmt gray - | ./push 1920 1080 120 90
 *
 * (width, height, pictures a second, horizontal field of view in degrees) */
#include <flinch/live.h>

#include <stdio.h>
#include <stdlib.h>

static void print(const struct flinch_live_event *e)
{
    const double deg_s = e->flick.peak[FLINCH_CAMERA_SPEED];
    if (e->kind == FLINCH_LIVE_TRIP)
        printf("%8.3f s  off (seen %.2f s later)\n", e->time_s, e->seen_at_s - e->time_s);
    else if (e->kind == FLINCH_LIVE_RETURN)
        printf("%8.3f s  on again\n", e->time_s);
    else if (e->kind == FLINCH_LIVE_FLICK)
        printf("%8.3f s  flick of %.0f deg/s\n", e->time_s, deg_s);
    else if (e->kind == FLINCH_LIVE_RATES)
        printf("%8.3f s  new pictures a second: on %.0f, off %.0f\n", e->time_s, e->on_hz, e->off_hz);
}

static int finish(flinch_live **live)
{
    struct flinch_message why;
    struct flinch_lapse lapse;
    flinch_take *take;
    if (flinch_live_finish(live, &take, &why)) {
        fprintf(stderr, "%s\n", why.text);
        return 1;
    }
    for (size_t i = 0; flinch_take_lapse(take, i, &lapse); i++)
        printf("lapse %.3f to %.3f s\n", lapse.start_s, lapse.end_s);
    flinch_take_free(&take);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc != 5) {
        fprintf(stderr, "usage: live WIDTH HEIGHT RATE FIELD_OF_VIEW <grey pictures\n");
        return 2;
    }
    const struct flinch_live_format format = {
        .width = atoi(argv[1]), .height = atoi(argv[2]), .rate_hz = atof(argv[3])};
    const struct flinch_take_settings settings = {.horizontal_fov_deg = atof(argv[4])};
    struct flinch_message why;
    struct flinch_live_event event;
    flinch_live *live;
    if (flinch_live_open(&live, &format, &settings, &why)) {
        fprintf(stderr, "%s\n", why.text);
        return 2;
    }
    const size_t size = (size_t)format.width * (size_t)format.height;
    unsigned char *picture = malloc(size);
    for (long n = 0; picture && fread(picture, 1, size, stdin) == size; n++) {
        if (flinch_live_push(live, picture, format.width, (double)n / format.rate_hz, false, &why))
            fprintf(stderr, "%s\n", why.text);
        while (flinch_live_poll(live, &event))
            print(&event);
    }
    free(picture);
    return finish(&live);
}
