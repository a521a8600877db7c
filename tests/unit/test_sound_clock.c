/* The clock from clicks: staged recordings of known offset and drift over room noise, music and
 * speech; wrong recordings; few clicks. Music and speech come from outside, sox and espeak-ng,
 * where they are installed; music of our own is there in any case. */
#include "clock/sound_clock.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/units.h"
#include "clock/click_peaks.h"
#include "maths/random.h"
#include "media/sound_stream.h"
#include "test.h"

struct track {
    int rate;
    size_t n;
    float *x;
};

struct staged {
    struct track sound;
    struct fl_trace trace;
    double offset_s, drift; /* trace time = offset + (1 + drift)·sound time */
    double debounce_s;      /* releases are logged so late */
    double poll_s;          /* between reports; 0: a millisecond */
    int presses;
};

/* ---- backgrounds, each of rms 1 ---- */

static void scale_to_one(struct track *t)
{
    double sum = 0;
    for (size_t i = 0; i < t->n; i++)
        sum += (double)t->x[i] * (double)t->x[i];
    const float gain = (float)(1 / sqrt(sum / (double)t->n));
    for (size_t i = 0; i < t->n; i++)
        t->x[i] *= gain;
}

/* Of variance 1; a normal one would be most of the test's time. */
static double hiss(struct fl_random *r)
{
    return sqrt(12) * (fl_random_uniform(r) - 0.5);
}

/* Noise that falls by 3 dB an octave, roughly, by sums of slower and slower noise. */
static void room(struct track *t, struct fl_random *r)
{
    double slow[8] = {0};
    for (size_t i = 0; i < t->n; i++) {
        double sum = hiss(r) / 2;
        for (int k = 0; k < 8; k++) {
            if (i % ((size_t)2 << k) == 0)
                slow[k] = hiss(r);
            sum += slow[k];
        }
        t->x[i] = (float)sum;
    }
    scale_to_one(t);
}

static void add_note(struct track *t, double at_s, double hz, double decay_s, double loud,
                     double noise, struct fl_random *r)
{
    const size_t from = (size_t)(at_s * t->rate);
    double before = 0;
    for (size_t i = 0; i < (size_t)(5 * decay_s * t->rate) && from + i < t->n; i++) {
        const double s = (double)i / t->rate, sample = hiss(r);
        double tone = 0;
        for (int h = 1; h < 9; h++)
            tone += sin(2 * M_PI * hz * h * s) / h;
        t->x[from + i] += (float)(loud * exp(-s / decay_s) * (tone + noise * (sample - before)));
        before = sample;
    }
}

/* Drums and chords: cymbals are as sudden as clicks are. */
static void music(struct track *t, struct fl_random *r)
{
    static const double scale[] = {220, 262, 294, 330, 392, 440, 523};
    const double beat_s = 0.22 + 0.06 * fl_random_uniform(r);
    int k = 0;
    for (double at = 0; at < (double)t->n / t->rate; at += beat_s, k++) {
        const double late = 0.004 * fl_random_uniform(r);
        add_note(t, at + late, 0, 0.012, 0.5, 1, r);
        if (k % 4 == 0)
            add_note(t, at, 55, 0.08, 1.2, 0, r);
        if (k % 4 == 2)
            add_note(t, at, 180, 0.04, 0.5, 1.2, r);
        if (k % 2 == 0)
            add_note(t, at, scale[fl_random_below(r, 7)], 0.2, 0.4, 0, r);
    }
    scale_to_one(t);
}

/* What a program wrote to a WAV file, over and over; false if the program is not there. */
static bool from_program(struct track *t, const char *command)
{
    struct fl_sound_stream *s;
    struct fl_error err;
    float frames[1024 * FL_SOUND_CHANNELS];
    size_t n = 0, cap = 0;
    float *x = NULL;
    if (system(command) || fl_sound_stream_open(&s, "test-program.wav", 0, &err) || !s)
        return false;
    const struct fl_sound_info info = *fl_sound_stream_info(s);
    for (int got; (got = fl_sound_stream_read(s, frames, 1024)) > 0;)
        for (int i = 0; i < got; i++)
            FL_PUSH(x, n, cap, frames[i * info.channels]);
    fl_sound_stream_close(&s);
    unlink("test-program.wav");
    for (size_t i = 0; n > 0 && i < t->n; i++)
        t->x[i] = x[(size_t)((double)i * info.rate / t->rate) % n];
    free(x);
    if (n > 0)
        scale_to_one(t);
    return n > 0;
}

static bool sox_music(struct track *t)
{
    return from_program(t, "sox -q -n -r 48000 -c 1 test-program.wav synth 0.3 pluck A2 synth 0.3 "
                           "pluck mix E3 repeat 2 synth 0.25 noise mix fade 0 0.25 0.2 repeat 5 "
                           "2>/dev/null");
}

static bool speech(struct track *t)
{
    return from_program(
        t, "espeak-ng -w test-program.wav 'Peter Piper picked a peck of pickled peppers. A peck of "
           "pickled peppers Peter Piper picked. Turn left here, then quickly click the second "
           "button, stop, and wait until it ticks.' 2>/dev/null");
}

/* ---- clicks ---- */

/* Some damped tones between 1.5 and 6.5 kHz, over in a few milliseconds; rms `loud` over 5 ms. */
static void add_click(struct track *t, double at_s, double loud, struct fl_random *r)
{
    enum { TONES = 4 };
    double hz[TONES], decay[TONES], phase[TONES], *x, sum = 0;
    const int n = (int)(0.012 * t->rate);
    const size_t from = (size_t)ceil(at_s * t->rate);
    for (int k = 0; k < TONES; k++) {
        hz[k] = 1500 + 5000 * fl_random_uniform(r);
        decay[k] = 0.0004 + 0.0016 * fl_random_uniform(r);
        phase[k] = 2 * M_PI * fl_random_uniform(r);
    }
    x = FL_NEW(double, (size_t)n);
    for (int i = 0; i < n; i++) {
        const double s = (double)(from + (size_t)i) / t->rate - at_s;
        for (int k = 0; k < TONES; k++)
            x[i] += sin(2 * M_PI * hz[k] * s + phase[k]) * exp(-s / decay[k]);
        sum += s < 0.005 ? x[i] * x[i] : 0;
    }
    const double gain = loud / sqrt(sum / (0.005 * t->rate));
    for (int i = 0; i < n && from + (size_t)i < t->n; i++)
        t->x[from + (size_t)i] += (float)(gain * x[i]);
    free(x);
}

/* At the first poll after it; the first poll at a time of its own. */
static void log_button(struct staged *s, size_t *cap, double sound_s, int state)
{
    const double at_s = s->offset_s + (1 + s->drift) * sound_s + (state ? 0 : s->debounce_s);
    const double poll_s = s->poll_s > 0 ? s->poll_s : 0.001;
    const struct fl_event e = {
        .time_s = poll_s * (ceil(at_s / poll_s - 0.37) + 0.37), .button = 1, .state = state};
    s->trace.report_rate_hz = 1 / poll_s;
    FL_PUSH(s->trace.events, s->trace.n, *cap, e);
}

/* Presses at random, a tenth of them not heard, a tenth not logged; other clicks beside them. */
static void add_presses(struct staged *s, int presses, double loud, struct fl_random *r)
{
    const double length_s = (double)s->sound.n / s->sound.rate;
    size_t cap = 0;
    double at = 1;
    for (int k = 0; k < presses; k++) {
        const double room_s = (length_s - 2) / presses, hold = 0.06 + 0.08 * fl_random_uniform(r);
        at = 1 + room_s * (k + 0.7 * fl_random_uniform(r));
        const double chance = fl_random_uniform(r);
        if (chance > 0.1) {
            add_click(&s->sound, at, loud, r);
            add_click(&s->sound, at + hold, 0.6 * loud, r);
        }
        if (chance < 0.9) {
            log_button(s, &cap, at, 1);
            log_button(s, &cap, at + hold, 0);
            s->presses++;
        }
        if (fl_random_below(r, 6) == 0)
            add_click(&s->sound, 1 + (length_s - 2) * fl_random_uniform(r), loud, r);
    }
}

enum background { ROOM, MUSIC, SOX, SPEECH, BACKGROUNDS };

static bool make_background(struct track *t, enum background kind, struct fl_random *r)
{
    if (kind == SOX || kind == SPEECH)
        return kind == SOX ? sox_music(t) : speech(t);
    if (kind == ROOM)
        room(t, r);
    else
        music(t, r);
    return true;
}

/* A minute; kept for the next call of the same kind and seed. False if a program that makes it is
 * not there. */
static bool background(struct track *t, enum background kind, uint64_t seed, struct fl_random *r)
{
    static struct {
        enum background kind;
        uint64_t seed;
        struct track track;
        struct fl_random r;
    } kept;
    t->n = (size_t)(60 * t->rate);
    t->x = FL_NEW(float, t->n);
    if (!kept.track.x || kept.kind != kind || kept.seed != seed) {
        free(kept.track.x);
        kept.track = (struct track){t->rate, t->n, FL_NEW(float, t->n)};
        kept.kind = kind;
        kept.seed = seed;
        if (!make_background(&kept.track, kind, r)) {
            free(kept.track.x);
            kept.track.x = NULL;
            return false;
        }
        kept.r = *r;
    }
    memcpy(t->x, kept.track.x, t->n * sizeof *t->x);
    *r = kept.r;
    return true;
}

/* False if a program that makes the background is not there. */
static bool stage(struct staged *s, enum background kind, double db, uint64_t seed, int presses)
{
    static const int rates[] = {48000, 44100, 32000};
    struct fl_random r;
    fl_random_seed(&r, seed);
    *s = (struct staged){.sound = {.rate = rates[seed % 3]},
                         .offset_s = -20 + 60 * fl_random_uniform(&r),
                         .drift = 1e-6 * (200 * fl_random_uniform(&r) - 100),
                         .debounce_s = seed % 2 ? 0.008 : 0};
    if (!background(&s->sound, kind, seed, &r))
        return false;
    add_presses(s, presses, pow(10, db / 20), &r);
    return true;
}

static void staged_free(struct staged *s)
{
    free(s->sound.x);
    fl_trace_finish(&s->trace);
}

static struct fl_click_energy listen(const struct track *t, int channels)
{
    struct fl_click_meter *m = fl_click_meter_new(t->rate, channels);
    struct fl_click_energy e;
    float *frames = FL_NEW(float, t->n *(size_t)channels);
    for (size_t i = 0; i < t->n; i++) /* the last channel hears it, the others a hum */
        for (int c = 0; c < channels; c++)
            frames[i * (size_t)channels + (size_t)c] =
                c == channels - 1 ? t->x[i] / 40 : (float)sin(0.01 * (double)i) / 20;
    fl_click_meter_add(m, frames, t->n);
    fl_click_meter_finish(&m, &e);
    free(frames);
    return e;
}

/* Largest error of trace time over the sound, ms. */
static double error_ms(const struct staged *s, const struct fl_sound_clock *c)
{
    double worst = 0;
    for (double at = 0; at <= (double)s->sound.n / s->sound.rate; at += 5) {
        const double said = c->offset_s + (1 + 1e-6 * c->drift_ppm) * at;
        worst = fmax(worst, 1e3 * fabs(said - s->offset_s - (1 + s->drift) * at));
    }
    return worst;
}

/* Errors of one staging; worst and refused count on. False if it is not here. */
static bool judge(enum background kind, double db, uint64_t seed, double *worst, int *refused)
{
    struct staged s;
    struct fl_sound_clock c;
    if (!stage(&s, kind, db, seed, 20)) {
        staged_free(&s);
        return false;
    }
    struct fl_click_energy e = listen(&s.sound, 1);
    fl_clock_from_sound(&c, &e, &s.trace);
    *refused += !c.known;
    if (c.known) {
        const double wrong = error_ms(&s, &c);
        *worst = fmax(*worst, wrong);
        if (wrong > 1 || wrong > 1.5 * c.error_ms)
            fail_msg("%.0f dB, %d: %.2f ms off, %.2f said", db, (int)seed, wrong, c.error_ms);
        if (fl_known(c.release_ms))
            assert_near(c.release_ms, 1e3 * s.debounce_s, 0.5);
    }
    fl_click_energy_free(&e);
    staged_free(&s);
    return true;
}

static void clicks_over_noise_music_and_speech(void **state)
{
    (void)state;
    enum { LEVELS = 3, SEEDS = 3 };
    static const char *const names[] = {"room noise", "music", "music of sox",
                                        "speech of espeak-ng"};
    static const double levels[LEVELS] = {20, 10, 5};
    for (int kind = 0; kind < BACKGROUNDS; kind++) {
        double worst[LEVELS] = {0};
        int refused[LEVELS] = {0};
        bool here = true;
        for (uint64_t seed = 1; here && seed <= SEEDS; seed++)
            for (int l = 0; here && l < LEVELS; l++)
                here = judge((enum background)kind, levels[l], seed, &worst[l], &refused[l]);
        for (int l = 0; here && l < LEVELS; l++) {
            print_message("%s at %.0f dB: worst %.2f ms, %d of %d refused\n", names[kind],
                          levels[l], worst[l], refused[l], SEEDS);
            assert_true(refused[l] <= SEEDS / 3);
        }
        if (!here)
            print_message("%s: the program is not here, left out\n", names[kind]);
    }
}

/* A bare room of 0.5 s reverberation, with one loud reflection: each click comes back many times,
 * always later. Reverberation as noise that decays by 60 dB in that time (ISO 3382-2's T). */
static void add_echo(struct track *t, double reflection_s, double loud, struct fl_random *r)
{
    enum { TAPS = 60 };
    float *dry = FL_NEW(float, t->n);
    memcpy(dry, t->x, t->n * sizeof *dry);
    for (int k = 0; k <= TAPS; k++) {
        const double at_s = k ? 0.004 + 0.3 * fl_random_uniform(r) : reflection_s;
        const double gain = k ? 0.25 * hiss(r) * pow(10, -3 * at_s / 0.5) : loud;
        const size_t late = (size_t)(at_s * t->rate);
        for (size_t i = late; i < t->n; i++)
            t->x[i] += (float)gain * dry[i - late];
    }
    free(dry);
}

static void an_echo_does_not_move_it(void **state)
{
    (void)state;
    double worst = 0;
    for (uint64_t seed = 1; seed <= 3; seed++) {
        struct staged s;
        struct fl_sound_clock c;
        struct fl_random r;
        fl_random_seed(&r, seed + 50);
        assert_true(stage(&s, ROOM, 15, seed, 20));
        add_echo(&s.sound, 0.007 + 0.012 * fl_random_uniform(&r), 0.8, &r);
        struct fl_click_energy e = listen(&s.sound, 1);
        fl_clock_from_sound(&c, &e, &s.trace);
        assert_true(c.known);
        worst = fmax(worst, error_ms(&s, &c));
        fl_click_energy_free(&e);
        staged_free(&s);
    }
    print_message("echo: worst %.2f ms\n", worst);
    assert_true(worst < 1);
}

/* A game answers presses some frames later, never twice alike: beside clicks that are heard it does
 * no harm, alone it is refused. */
static void a_games_own_sounds(void **state)
{
    (void)state;
    for (int heard = 0; heard < 2; heard++)
        for (uint64_t seed = 1; seed <= 4; seed++) {
            struct staged s;
            struct fl_sound_clock c;
            struct fl_random r;
            fl_random_seed(&r, seed + 70);
            assert_true(stage(&s, ROOM, heard ? 10 : -60, seed, 20));
            for (size_t i = 0; i < s.trace.n; i++) {
                const struct fl_event *v = &s.trace.events[i];
                const double at = (v->time_s - s.offset_s) / (1 + s.drift);
                if (v->state)
                    add_click(&s.sound, at + 0.03 + 0.025 * fl_random_uniform(&r), 12, &r);
            }
            struct fl_click_energy e = listen(&s.sound, 1);
            fl_clock_from_sound(&c, &e, &s.trace);
            if (heard)
                assert_true(c.known && error_ms(&s, &c) < 1);
            else
                assert_false(c.known);
            fl_click_energy_free(&e);
            staged_free(&s);
        }
}

/* Mice and pads of 125 to 500 reports a second. */
static void slow_reports_are_allowed_for(void **state)
{
    (void)state;
    static const double hz[] = {500, 250, 125};
    for (int k = 0; k < 3; k++)
        for (uint64_t seed = 1; seed <= 4; seed++) {
            struct staged s = {
                .sound = {.rate = 32000, .n = 60 * 32000}, .offset_s = 3.3, .poll_s = 1 / hz[k]};
            struct fl_random r;
            struct fl_sound_clock c;
            fl_random_seed(&r, seed);
            s.sound.x = FL_NEW(float, s.sound.n);
            room(&s.sound, &r);
            add_presses(&s, 25, 10, &r);
            struct fl_click_energy e = listen(&s.sound, 1);
            fl_clock_from_sound(&c, &e, &s.trace);
            print_message("%.0f reports a second: %s, %.2f ms off, %.2f said\n", hz[k],
                          c.known ? "known" : c.refused, error_ms(&s, &c), c.error_ms);
            assert_true(!c.known || error_ms(&s, &c) < fmax(1, 1.5 * c.error_ms));
            assert_true(c.known || hz[k] < 500);
            fl_click_energy_free(&e);
            staged_free(&s);
        }
}

/* Presses like a metronome's fit at any multiple of its beat. */
static void even_presses_are_ambiguous(void **state)
{
    (void)state;
    struct staged s = {.sound = {.rate = 32000, .n = 60 * 32000}, .offset_s = 7};
    struct fl_random r;
    struct fl_sound_clock c;
    size_t cap = 0;
    fl_random_seed(&r, 4);
    s.sound.x = FL_NEW(float, s.sound.n);
    room(&s.sound, &r);
    for (int k = 0; k < 30; k++) {
        add_click(&s.sound, 5 + 0.5 * k, 10, &r);
        log_button(&s, &cap, 5 + 0.5 * k, 1);
    }
    struct fl_click_energy e = listen(&s.sound, 1);
    fl_clock_from_sound(&c, &e, &s.trace);
    assert_false(c.known);
    assert_non_null(strstr(c.refused, "another lag"));
    fl_click_energy_free(&e);
    staged_free(&s);
}

/* Twenty minutes at 90 ppm: the ends lie 108 ms from where no drift would put them. */
static void a_long_take_is_followed(void **state)
{
    (void)state;
    struct staged s = {
        .sound = {.rate = 16000, .n = 1200 * 16000}, .offset_s = -4, .drift = -90e-6};
    struct fl_random r;
    struct fl_sound_clock c;
    fl_random_seed(&r, 8);
    s.sound.x = FL_NEW(float, s.sound.n);
    room(&s.sound, &r);
    add_presses(&s, 120, 5, &r);
    struct fl_click_energy e = listen(&s.sound, 1);
    fl_clock_from_sound(&c, &e, &s.trace);
    assert_true(c.known);
    print_message("twenty minutes: %.2f ms off, %.2f said\n", error_ms(&s, &c), c.error_ms);
    assert_true(error_ms(&s, &c) < 1);
    fl_click_energy_free(&e);
    staged_free(&s);
}

/* Loud clicks, but of another take. */
static void another_takes_sound_is_refused(void **state)
{
    (void)state;
    double surest = 0;
    for (uint64_t seed = 1; seed <= 6; seed++) {
        struct staged a, b;
        struct fl_sound_clock c;
        assert_true(stage(&a, ROOM, 20, seed, 12 + (int)seed));
        assert_true(stage(&b, ROOM, 20, seed + 100, 12 + (int)seed));
        struct fl_click_energy e = listen(&a.sound, 1);
        fl_clock_from_sound(&c, &e, &b.trace);
        assert_false(c.known);
        assert_true(c.refused[0] != 0 && isnan(c.offset_s));
        surest = fmax(surest, c.confidence);
        fl_click_energy_free(&e);
        staged_free(&a);
        staged_free(&b);
    }
    print_message("surest of the wrong pairs: confidence %.2f\n", surest);
}

static void stereo_and_a_slate_alone(void **state)
{
    (void)state;
    struct staged s = {.sound = {.rate = 48000, .n = 90 * 48000}, .offset_s = 3, .drift = 40e-6};
    struct fl_random r;
    struct fl_sound_clock c;
    size_t cap = 0;
    fl_random_seed(&r, 9);
    s.sound.x = FL_NEW(float, s.sound.n);
    room(&s.sound, &r);
    static const double press[] = {5, 5.46, 5.99};
    for (int k = 0; k < 3; k++) {
        add_click(&s.sound, press[k], 10, &r);
        add_click(&s.sound, press[k] + 0.07 + 0.011 * k, 6, &r);
        log_button(&s, &cap, press[k], 1);
        log_button(&s, &cap, press[k] + 0.07 + 0.011 * k, 0);
    }
    for (int channels = 1; channels <= 3; channels++) {
        struct fl_click_energy e = listen(&s.sound, channels);
        fl_clock_from_sound(&c, &e, &s.trace);
        assert_true(c.known);
        assert_int_equal(c.heard, 3);
        assert_near(c.offset_s + (1 + 1e-6 * c.drift_ppm) * 5.5, 3 + (1 + 40e-6) * 5.5, 1e-3);
        assert_true(error_ms(&s, &c) <
                    c.error_ms); /* drift is not told: it says how wide that is */
        assert_true(c.error_ms > 5);
        fl_click_energy_free(&e);
    }
    staged_free(&s);
}

static void nothing_to_go_by_is_refused(void **state)
{
    (void)state;
    struct staged s;
    struct fl_sound_clock c;
    assert_true(stage(&s, ROOM, 20, 5, 12));
    struct fl_click_energy e = listen(&s.sound, 1), silent = {0};
    struct fl_trace none = {0};
    fl_clock_from_sound(&c, &e, &none);
    assert_false(c.known);
    assert_non_null(strstr(c.refused, "no button"));
    fl_clock_from_sound(&c, &silent, &s.trace);
    assert_false(c.known);
    assert_non_null(strstr(c.refused, "nothing sudden"));
    memset(s.sound.x, 0, s.sound.n * sizeof *s.sound.x);
    fl_click_energy_free(&e);
    e = listen(&s.sound, 1);
    fl_clock_from_sound(&c, &e, &s.trace);
    assert_false(c.known);
    fl_click_energy_free(&e);
    staged_free(&s);
}

/* An impulse stands out at its place, at any rate; by definition it has energy in every octave. */
static void an_impulse_is_heard_where_it_is(void **state)
{
    (void)state;
    static const int rates[] = {8000, 11025, 16000, 22050, 44100, 48000, 96000, 192000};
    for (size_t k = 0; k < sizeof rates / sizeof *rates; k++) {
        struct track t = {.rate = rates[k], .n = (size_t)rates[k] * 4};
        struct fl_random r;
        size_t n;
        fl_random_seed(&r, k);
        t.x = FL_NEW(float, t.n);
        for (size_t i = 0; i < t.n; i++)
            t.x[i] = (float)hiss(&r) * 0.01F;
        t.x[2 * (size_t)t.rate + (size_t)t.rate / 3] += 8;
        struct fl_click_energy e = listen(&t, 1);
        assert_true(e.n >= 4 * FL_CLICK_HZ - 2 && e.n <= 4 * FL_CLICK_HZ);
        struct fl_click_peak *p = fl_click_peaks(&e, &n), *loudest = p;
        for (size_t i = 0; i < n; i++)
            loudest = p[i].weight > loudest->weight ? &p[i] : loudest;
        assert_true(n > 0);
        assert_near(loudest->time_s, 2 + 1 / 3.0, 0.0004 / 2.3);
        free(p);
        free(t.x);
        fl_click_energy_free(&e);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_impulse_is_heard_where_it_is),
        cmocka_unit_test(clicks_over_noise_music_and_speech),
        cmocka_unit_test(an_echo_does_not_move_it),
        cmocka_unit_test(a_games_own_sounds),
        cmocka_unit_test(slow_reports_are_allowed_for),
        cmocka_unit_test(even_presses_are_ambiguous),
        cmocka_unit_test(a_long_take_is_followed),
        cmocka_unit_test(another_takes_sound_is_refused),
        cmocka_unit_test(stereo_and_a_slate_alone),
        cmocka_unit_test(nothing_to_go_by_is_refused),
    };
    return RUN_TESTS(tests);
}
