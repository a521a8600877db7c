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
KEYS = (('camera_speed', 'theta_hi_deg_s'), ('image_step', 'px_hi'), ('count_rate', 'counts_hi_per_s'))


def read_table(path):
    with open(path, newline='') as file:
        return list(csv.DictReader(file))


class Truth:
    def __init__(self, folder):
        folder = pathlib.Path(folder)
        self.json = json.loads((folder / 'truth.json').read_text())
        capture = self.json['capture']
        self.capture_rate, self.duration = capture['fps'], capture['duration_s']
        self.torn = 'tears' in capture['presentation']
        self.never_on = self.json['synthesis'] == 'never on'
        self._read_states()
        self._read_motion(read_table(folder / 'truth-rendered.csv'))
        missing = set(self.json.get('missing_events', ()))
        self.flips = [float(r['time_s']) for r in read_table(folder / 'truth-outputs.csv') if int(r['event']) not in missing]

    def _read_states(self):
        inside = [(0.0, self.duration)]
        self.lapses = [] if self.never_on else spans.common([tuple(s) for s in self.json['off_intervals']], inside)
        self.control = not self.lapses
        self.off = inside if self.never_on else self.lapses
        self.on = spans.rest(self.off, *inside[0])
        self.edges = sorted(t for s in self.lapses for t in s if 0 < t < self.duration)

    def _read_motion(self, rendered):
        half = MOVING_PX / (ACROSS_PX / 2) * math.tan(math.radians(self.json['view']['hfov_deg']) / 2)
        floor = math.degrees(math.atan(half)) * self.capture_rate
        at = [float(r['present_time_s']) for r in rendered]
        # speed_deg_s is the turn since the frame before at the nominal base rate
        slow = [tuple(s) for s in self.json.get('halved_base_stretches', ())]
        speed = [float(r['speed_deg_s']) * (0.5 if spans.holding(slow, t) else 1) for r, t in zip(rendered, at)]
        on = [r['state_on'] == '1' for r in rendered]
        self.intervals = [(at[i], at[i + 1], on[i]) for i in range(len(at) - 1) if on[i] == on[i + 1]]
        fast = [(at[i], at[i + 1]) for i in range(len(at) - 1) if min(speed[i], speed[i + 1]) >= floor]
        self.moving = spans.common(spans.joined(fast), [(0.0, self.duration)])
        self.still = spans.rest(self.moving, 0.0, self.duration)

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

    def base_rates(self):
        """On, off: 1/median interval between rendered frames in motion, where footage can show it;
        of all where there are few. (The stage's rate wanders by some percent about the nominal one.)"""
        def rate(state_on):
            every = [(a, b) for a, b, on in self.intervals if on == state_on]
            between = [(a, b) for a, b in every if self.shows(b)]
            between = between if len(between) >= 10 else every
            return 1 / statistics.median(b - a for a, b in between) if len(between) >= 10 else None
        return rate(True), rate(False)

    def cut_off(self):
        """(quantity, value that trips), or (None, None) in a control."""
        rule = self.json.get('cutoff') or {}
        return next(((q, rule[key]) for q, key in KEYS if rule.get(key) is not None), (None, None))
