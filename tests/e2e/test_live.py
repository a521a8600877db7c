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


def whole(footage):
    take = json.loads(subprocess.run([FLINCH, 'look', footage, '--json'], check=True, stdout=subprocess.PIPE, timeout=600).stdout)
    return Course([(s['start_s'], s['end_s'], s['state']) for s in take['states']]), take['lapses']


def live(footage):
    lines = subprocess.run([PLAY, footage], check=True, stdout=subprocess.PIPE, encoding='utf-8', timeout=600).stdout.splitlines()
    events = [(word[0], float(word[1]), float(word[2]), word[3]) for word in map(str.split, lines)
              if word[0] not in ('clock', 'finding')]
    end = events[-1]
    states = [e for e in events if e[0] == 'state'] + [('state', end[1], 0, 'unseen')]
    spans = [(a[1], b[1], a[3]) for a, b in zip(states, states[1:])]
    return Course(spans), [e for e in events if e[0] == 'trip'], end


def compare(footage):
    """Share of the time called by both that they call alike, of the final time seen that was called, and trips."""
    final, lapses = whole(footage)
    called, trips, end = live(footage)
    both = alike = seen = 0
    for k in range(int(end[1] / STEP)):
        a, b = called.at(k * STEP), final.at(k * STEP)
        seen += b != 'unseen'
        both += a != 'unseen' and b != 'unseen'
        alike += a != 'unseen' and a == b
    true = [lapse['start_s'] for lapse in lapses if lapse['has_trip']]
    delays = []
    for t in true:
        near = [seen_at - t for _, at, seen_at, _ in trips if abs(at - t) < 0.06]
        delays += near[:1]
    print(f'{footage.parent.name}: alike {alike / max(both, 1):.4f} of {both * STEP:.2f} s called by both, '
          f'{both / max(seen, 1):.3f} of seen time, {len(delays)} of {len(true)} trips, {len(trips)} called, '
          f'latest {max(delays, default=0):.3f} s', flush=True)
    return alike / max(both, 1), both / max(seen, 1), delays, true, trips


class Live(unittest.TestCase):
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
            self.assertGreaterEqual(len(self.hold(next(pathlib.Path(folder).rglob('*.mkv')))), 3)

    @unittest.skipUnless((PRACTICE / 'session.yaml').is_file(), 'the practice takes are not here')
    def test_practice(self):
        self.assertGreaterEqual(len(self.hold(PRACTICE / 'hair-trigger/capture.mkv')), 10)


if __name__ == '__main__':
    unittest.main()
