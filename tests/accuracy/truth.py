"""What the stage knows about a take that it filmed, in footage time.

Moving, by which most figures are gated: true camera motion of at least 1.5 pixels of 512 across
per capture period, in whatever state.
"""
import csv
import json
import math
import pathlib
import statistics

import spans

MOVING_PX, ACROSS_PX = 1.5, 512
SPEEDS_PX = (0.25, 0.5, 1, 1.5, 3, math.inf)  # edges, of 512 across in a capture period
TURNING_DEG_S = 25
USUAL = 1.2  # a base period against their median: rates wander by a tenth, and a delay that jumps adds more
KEYS = (('camera_speed', 'theta_hi_deg_s'), ('image_step', 'px_hi'), ('count_rate', 'counts_hi_per_s'))


def read_table(path):
    with open(path, newline='') as file:
        return list(csv.DictReader(file))


def turn_rate(a, b):
    """deg/s of the camera from one rendered frame to the next, whatever the rate they were rendered at."""
    yaw = (float(b['yaw_deg']) - float(a['yaw_deg']) + 180) % 360 - 180
    lasts = float(b['sample_time_s']) - float(a['sample_time_s'])
    return math.hypot(yaw, float(b['pitch_deg']) - float(a['pitch_deg'])) / lasts if lasts > 1e-6 else 0.0


class Truth:
    def __init__(self, folder):
        folder = pathlib.Path(folder)
        self.json = json.loads((folder / 'truth.json').read_text())
        capture = self.json['capture']
        self.capture_rate, self.duration = capture['fps'], capture['duration_s']
        self.width = capture['width']
        self.torn = 'tears' in capture['presentation']
        self.renumbered = capture.get('times') == 'renumbered'
        self.family, self.about = self.json.get('family'), self.json.get('about')
        self.never_on = self.json['synthesis'] == 'never on'
        # yes: on and off can be told apart; no: nothing may be said; either: unseen is as right as the true state
        self.can_tell = self.json.get('tell_on_from_off', {}).get('can', 'yes')
        self.base_off = self.json['output_rate_off_hz']
        self._read_states()
        self._read_motion(read_table(folder / 'truth-rendered.csv'))
        missing = set(self.json.get('missing_events', ()))
        self.flips = self._as_filmed([float(r['time_s']) for r in read_table(folder / 'truth-outputs.csv')
                                      if int(r['event']) not in missing])

    def _as_filmed(self, flips):
        """Whole pictures show a flip when the next capture frame begins, and of several only the last."""
        if 'whole' not in self.json['capture']['presentation']:
            return flips
        return sorted({math.ceil(t * self.capture_rate - 1e-6) / self.capture_rate for t in flips})

    def _read_states(self):
        inside = [(0.0, self.duration)]
        self.lapses = [] if self.never_on else spans.common([tuple(s) for s in self.json['off_intervals']], inside)
        self.control = not self.lapses
        self.off = inside if self.never_on else self.lapses
        self.on = spans.rest(self.off, *inside[0])
        self.edges = sorted(t for s in self.lapses for t in s if 0 < t < self.duration)

    def _pixels(self, a, b):
        """Of 512 across in a capture period, in the middle of the picture, as the camera turns from a to b."""
        focal = float(b.get('focal_px') or self.json['view']['focal_px']) * ACROSS_PX / self.width
        return focal * math.tan(min(math.radians(turn_rate(a, b)) / self.capture_rate, 1.5))

    def _read_motion(self, rendered):
        at = [float(r['present_time_s']) for r in rendered]
        px = [0.0] + [self._pixels(a, b) for a, b in zip(rendered, rendered[1:])]
        on = [r['state_on'] == '1' for r in rendered]
        turned = [float(r['speed_deg_s']) > 2 for r in rendered]
        self.waits = [(t - float(r['sample_time_s']), o) for t, r, o, turns in zip(at, rendered, on, turned) if turns]
        sampled = [float(r['sample_time_s']) for r in rendered]
        self.intervals = [(at[i], at[i + 1], on[i], sampled[i + 1] - sampled[i])
                          for i in range(len(at) - 1) if on[i] == on[i + 1]]
        fast = [(at[i], at[i + 1]) for i in range(len(at) - 1) if min(px[i], px[i + 1]) >= MOVING_PX]
        self.turning = spans.common([(at[i], at[i + 1]) for i in range(len(at) - 1)
                                     if turn_rate(rendered[i], rendered[i + 1]) > TURNING_DEG_S], [(0.0, self.duration)])
        hidden = spans.joined([tuple(s) for s in self.json.get('hidden_stretches', ())])
        self.moving = spans.common(spans.joined(fast), spans.rest(hidden, 0.0, self.duration))
        self.still = spans.rest(self.moving, 0.0, self.duration)
        seen = spans.rest(hidden, 0.0, self.duration)
        self.at_speed = [spans.common(spans.joined([(at[i], at[i + 1]) for i in range(len(at) - 1)
                                                    if low <= min(px[i], px[i + 1]) < high]), seen)
                         for low, high in zip(SPEEDS_PX, SPEEDS_PX[1:])]

    def shows(self, flip_s):
        """Whether a flip at that time shows motion: the motion before it."""
        return bool(spans.holding(self.moving, flip_s - 1e-9))

    def away_from_edges(self, pad):
        return spans.rest(spans.joined([(t - pad, t + pad) for t in self.edges]), 0.0, self.duration)

    def trace_time(self, footage_s):
        """Trace time of the hand motion that a flip at footage_s first shows; L(on) = 0, and in
        a take that is never on L(off) = 0 (src/clock/clock.h)."""
        clock, delay = self.json['clock'], self.json['display_delay_ms']
        late = delay['off' if self.never_on else 'on'] / 1000
        return clock['offset_s'] + (1 + clock['drift_ppm'] * 1e-6) * footage_s - late

    def delay_gap(self):
        """L(off) - L(on) as it was: means of the rendered frames that turned at all. (A delay slides to that of the new
        state, so short stretches have not got there.) None where a state has under ten of them."""
        off, on = ([wait for wait, state_on in self.waits if state_on == want] for want in (False, True))
        return statistics.mean(off) - statistics.mean(on) if min(len(off), len(on)) >= 10 else None

    def base_rates(self):
        """On, off: rendered frames a second, by when they were rendered, in motion, where footage can show it; of all
        where there are few. Aside are frames of a heavy scene, which come at half the rate, and the one with which a
        renderer in step with the display takes up the other state's delay: it jumps by several ms. (While a delay
        slides, frames are shown closer together or farther apart than they are rendered.)"""
        def rate(state_on):
            every = [(b, lasts) for _, b, on, lasts in self.intervals if on == state_on]
            lasts = [lasts for b, lasts in every if self.shows(b)]
            lasts = lasts if len(lasts) >= 10 else [lasts for _, lasts in every]
            if len(lasts) < 10:
                return None
            middle = statistics.median(lasts)
            usual = [x for x in lasts if middle / USUAL < x < USUAL * middle]
            return 1 / statistics.mean(usual)
        return rate(True), rate(False)

    def cut_off(self):
        """(quantity, value that trips), or (None, None) in a control."""
        rule = self.json.get('cutoff') or {}
        return next(((q, rule[key]) for q, key in KEYS if rule.get(key) is not None), (None, None))
