"""States called as the stream comes, against those of the whole take.

Played as fast as it goes: a call's delay is counted in footage time, from the flip to the newest
picture that had been seen, so that it does not depend on the machine.
"""
import json
import pathlib
import subprocess
import sys
import tempfile
import unittest

FLINCH, STAGE, PLAY, PRACTICE = (pathlib.Path(sys.argv.pop(1)).resolve() for _ in range(4))
STEP = 0.002


class Course:
    """States along time."""

    def __init__(self, spans):
        self.spans = spans

    def at(self, t):
        return next((state for start, end, state in self.spans if start <= t < end), 'unseen')


def desk(footage):
    """What is known beside footage: field of view, trace, degrees a count, trace time as the footage begins."""
    truth = json.loads((footage.parent / 'truth.json').read_text())
    return truth['view']['hfov_deg'], footage.parent / 'trace.csv', truth['mouse']['deg_per_count'], truth['clock']['offset_s']


def whole(footage, known=None):
    more = ('--fov', known[0], '--trace', known[1], '--degrees-per-count', known[2]) if known else ()
    take = json.loads(subprocess.run([FLINCH, 'look', footage, '--json', *map(str, more)], check=True, stdout=subprocess.PIPE, timeout=600).stdout)
    return Course([(s['start_s'], s['end_s'], s['state']) for s in take['states']]), take


def counted(flicks):
    """Of those that were at risk and whose outcome is known: start, speed, whether they tripped."""
    return [(start, peak, tripped) for start, peak, at_risk, tripped in flicks if at_risk and tripped is not None and peak]


def live(footage, known=()):
    lines = subprocess.run(list(map(str, (PLAY, footage, *known))), check=True, stdout=subprocess.PIPE, encoding='utf-8', timeout=600).stdout.splitlines()
    events = [(word[0], float(word[1]), float(word[2]), *word[3:]) for word in map(str.split, lines)
              if word[0] not in ('clock', 'finding')]
    end = events[-1]
    states = [e for e in events if e[0] == 'state'] + [('state', end[1], 0, 'unseen')]
    spans = [(a[1], b[1], a[3]) for a, b in zip(states, states[1:])]
    answer = {'0': False, '1': True, '2': None}
    flicks = [(e[1], float(e[3]), answer[e[4]], answer[e[5]]) for e in events if e[0] == 'flick']
    return Course(spans), [e for e in events if e[0] == 'trip'], end, counted(flicks)


def agreement(called, final, end):
    """Steps that both call, those of them that they call alike, and those that the final states have seen."""
    both = alike = seen = 0
    for k in range(int(end[1] / STEP)):
        a, b = called.at(k * STEP), final.at(k * STEP)
        seen += b != 'unseen'
        both += a != 'unseen' and b != 'unseen'
        alike += a != 'unseen' and a == b
    return both, alike, seen


def compare(footage):
    """Share of the time called by both that they call alike, of the final time seen that was called, and trips."""
    final, take = whole(footage)
    lapses = take['lapses']
    called, trips, end, _ = live(footage)
    both, alike, seen = agreement(called, final, end)
    true = [lapse['start_s'] for lapse in lapses if lapse['has_trip']]
    delays = []
    for t in true:
        near = [seen_at - t for _, at, seen_at, _ in trips if abs(at - t) < 0.06]
        delays += near[:1]
    print(f'{footage.parent.name}: alike {alike / max(both, 1):.4f} of {both * STEP:.2f} s called by both, '
          f'{both / max(seen, 1):.3f} of seen time, {len(delays)} of {len(true)} trips, {len(trips)} called, '
          f'latest {max(delays, default=0):.3f} s', flush=True)
    return alike / max(both, 1), both / max(seen, 1), delays, true, trips


def compare_with_trace(footage):
    """The same with the trace in step with the pictures, and of the flicks that count in the whole take those that were
    called to count as it played, with those of them of another outcome or speed."""
    known = desk(footage)
    final, take = whole(footage, known)
    called, _, end, flicks = live(footage, known)
    both, alike, seen = agreement(called, final, end)
    true = counted([(f['start_s'], f['peak_camera_speed_deg_s'], {'yes': True, 'no': False, 'unknown': None}[f['at_risk']],
                     f['tripped']) for f in take['flicks']])
    pairs = [(t, f) for t in true for f in flicks if abs(t[0] - f[0]) < 0.1]
    other = [(t, f) for t, f in pairs if t[2] != f[2] or not 0.9 < t[1] / f[1] < 1.1]
    print(f'{footage.parent.name} with its trace: alike {alike / max(both, 1):.4f} of {both * STEP:.2f} s called by both, '
          f'{both / max(seen, 1):.3f} of seen time; {len(flicks)} flicks counted, {len(true)} in the whole take, {len(pairs)} in both, '
          f'{len(other)} of them otherwise', flush=True)
    return alike / max(both, 1), both / max(seen, 1), len(flicks), len(true), len(pairs), len(other)


class Live(unittest.TestCase):
    def hold_with_trace(self, footage, least):
        alike, share, called, true, pairs, other = compare_with_trace(footage)
        self.assertGreaterEqual(alike, 0.98)
        self.assertGreaterEqual(share, 0.8)
        self.assertGreaterEqual(true, least)
        # The first few wait for the rates, and those before five returns are known for these.
        self.assertGreaterEqual(pairs, 0.75 * true - 3)
        self.assertLessEqual(called - pairs, 0.1 * true + 1)
        self.assertLessEqual(other, 0.05 * true)

    def hold(self, footage):
        alike, share, delays, true, trips = compare(footage)
        self.assertGreaterEqual(alike, 0.98)  # of the time called, as asked of it
        self.assertGreaterEqual(share, 0.85)
        self.assertGreaterEqual(len(delays), 0.9 * len(true))
        self.assertLessEqual(len(trips), len(true) + max(1, 0.1 * len(true)))
        # Before the rates are known nothing can be called: the first trips may wait for them.
        self.assertLessEqual(max(delays[2:], default=0), 0.5)
        return true

    def test_staged(self):
        with tempfile.TemporaryDirectory(prefix='flinch-live-') as folder:
            subprocess.run([STAGE, 'torn-140', folder, '--seconds', '12', '--width', '640', '--height', '360'],
                           check=True, stdout=subprocess.DEVNULL)
            footage = next(pathlib.Path(folder).rglob('*.mkv'))
            self.assertGreaterEqual(len(self.hold(footage)), 3)
            self.hold_with_trace(footage, 3)

    @unittest.skipUnless((PRACTICE / 'session.yaml').is_file(), 'the practice takes are not here')
    def test_practice(self):
        self.assertGreaterEqual(len(self.hold(PRACTICE / 'hair-trigger/capture.mkv')), 10)
        self.hold_with_trace(PRACTICE / 'hair-trigger/capture.mkv', 20)


if __name__ == '__main__':
    unittest.main()
