"""One staged take with its trace as different recorders write it, and with a mouse that the game turns by otherwise:
the clock, the counts, and what is found of the sensitivity, against the stage's truth. Nothing about sensitivity is
typed in but where it is wrong. The same for a take of a game engine where the practice takes are there."""
import csv
import json
import math
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

import trace_formats

FLINCH, STAGE, SOURCE, PRACTICE = (pathlib.Path(sys.argv.pop(1)).resolve() for _ in range(4))
sys.path.insert(0, str(SOURCE / 'tests/accuracy'))
import truth as truths  # noqa: E402

SCENARIO = 'up-and-down'
FORMATS = ('plain', 'evdev32', 'usb', 'foreign', 'positions')
folder, takes, true = None, {}, None


def upside_down(rows):
    """The game turns half as far for a count up or down, and the other way."""
    return [(us, dx, -2 * dy) for us, dx, dy in rows]


def sped_up(rows):
    """The game turns by a power of the speed: by a fifth more a count each time that the hand doubles its speed. As the
    turn is filmed, the counts must be fewer the faster it is; whole ones, with what is left kept for the next."""
    reach, out, left = 8, [], [0.0, 0.0]
    for i, (us, dx, dy) in enumerate(rows):
        near = [row for row in rows[max(i - reach, 0):i + reach + 1] if abs(row[0] - us) <= 1000 * reach]
        counts_s = math.hypot(sum(x for _, x, _ in near), sum(y for _, _, y in near)) / (2 * reach + 1) * 1e3
        less = max(counts_s / 1000, 0.01) ** -(0.263 / 1.263)  # 2^0.263 = 1.2, as counts shrink with it
        left = [left[0] + dx * less, left[1] + dy * less]
        whole = [round(v) for v in left]
        left = [a - b for a, b in zip(left, whole)]
        out.append((us, *whole))
    return out


def write_traces(home, rows):
    trace_formats.write_csv(home / 'plain', rows)
    trace_formats.write_evdev(home / 'evdev32', rows, 32)
    trace_formats.write_usb(home / 'usb', rows)
    trace_formats.write_foreign(home / 'foreign', rows)
    trace_formats.write_positions(home / 'positions', rows)
    trace_formats.write_csv(home / 'upside', upside_down(rows))
    trace_formats.write_csv(home / 'sped', sped_up(rows))


def write_session(home):
    more = {'foreign': ', trace_columns: {time_ms: "Stamp, ms", dx: Move X, dy: Move Y}'}
    lines = ['session: Desk', 'defaults: {footage: capture.mkv, horizontal_fov_deg: 90, counts_per_inch: 800}', 'takes:']
    for name in (*FORMATS, 'upside', 'sped'):
        lines.append(f'  - {{id: {name}, game: {name}, trace: {name}{more.get(name, "")}}}')
    lines.append('  - {id: wrong, game: wrong, trace: plain, degrees_per_count: 0.05}')
    (home / 'session.yaml').write_text('\n'.join(lines) + '\n')


def setUpModule():
    global folder, true
    folder = pathlib.Path(tempfile.mkdtemp(prefix='flinch-desk-'))
    subprocess.run([STAGE, SCENARIO, folder, '--width', '480', '--height', '272', '--seconds', '20'], check=True, timeout=600)
    home = folder / SCENARIO
    true = truths.Truth(home)
    # As devices tell it: nothing where nothing moved.
    write_traces(home, [row for row in trace_formats.read(home / 'trace.csv') if row[1] or row[2]])
    write_session(home)
    subprocess.run([FLINCH, 'run', home / 'session.yaml', '-o', folder / 'out', '--quiet', '-j', '2', '--no-strips'],
                   check=True, timeout=800)
    for path in (folder / 'out/takes').glob('*.json'):
        takes[path.stem] = json.loads(path.read_text())


def tearDownModule():
    shutil.rmtree(folder)


def warnings(name, code):
    return [w['text'] for w in takes[name]['warnings'] if w['code'] == code]


def column(name, column):
    with open(folder / f'out/takes/{name}-frames.csv', encoding='utf-8') as file:
        return [row[column] for row in csv.DictReader(file)]


def clock_error_ms(clock, at_s, truth):
    return 1000 * abs(clock['offset_s'] + (1 + clock['drift_ppm'] * 1e-6) * at_s - truth.trace_time(at_s))


class Formats(unittest.TestCase):
    def each(self, check):
        for name in FORMATS:
            with self.subTest(trace=name):
                check(name)

    def test_clock_within_two_ms_all_through(self):
        def check(name):
            self.assertIsNone(takes[name]['clock']['refused'])
            for at in (2, true.duration / 2, true.duration - 2):
                self.assertLess(clock_error_ms(takes[name]['clock'], at, true), 2)
        self.each(check)

    # Where every count at every time is the same, so is every rate, but for the rounding of sums.
    def test_counts_are_exact(self):
        def check(name):
            got, want = column(name, 'count_rate_counts_s'), column('plain', 'count_rate_counts_s')
            self.assertEqual(len(got), len(want))
            for a, b in zip(got, want):
                self.assertTrue(a == b or math.isclose(float(a), float(b), rel_tol=1e-5, abs_tol=1e-3), (a, b))
        self.each(check)

    def test_degrees_per_count_within_one_percent(self):
        per_count = true.json['mouse']['deg_per_count']
        self.each(lambda name: self.assertAlmostEqual(takes[name]['sensitivity']['degrees_per_count'] / per_count, 1, delta=0.01))

    def test_positions_are_warned_of(self):
        self.assertEqual(len(warnings('positions', 'trace_positions')), 1, takes['positions']['warnings'])
        self.assertEqual(warnings('plain', 'trace_positions'), [])

    def test_the_setting_goes_by_what_is_found(self):
        for result in json.loads((folder / 'out/session.json').read_text())['settings']:
            with self.subTest(game=result['game']):
                found = takes[result['game']]['sensitivity']['degrees_per_count']
                self.assertEqual(result['degrees_per_count_found'], result['game'] not in ('wrong', 'sped'))
                if result['degrees_per_count_found']:
                    self.assertAlmostEqual(result['degrees_per_count'], found, delta=1e-4 * found + 5e-6)


class Sensitivity(unittest.TestCase):
    def test_what_is_typed_wrong_is_told_with_both_figures(self):
        said = warnings('wrong', 'sensitivity_differs')
        self.assertEqual(len(said), 1, takes['wrong']['warnings'])
        self.assertIn('0.05', said[0])
        self.assertIn(f'{takes["wrong"]["sensitivity"]["degrees_per_count"]:.4g}', said[0])

    def test_inverted_axis_and_other_gain(self):
        found = takes['upside']['sensitivity']
        self.assertAlmostEqual(found['vertical_degrees_per_count'] / found['degrees_per_count'], -0.5, delta=0.04)
        self.assertEqual(len(warnings('upside', 'axes_differ')), 1)
        self.assertEqual(len(warnings('upside', 'axis_inverted')), 1)
        self.assertIn('vertical', warnings('upside', 'axis_inverted')[0])
        self.assertEqual(warnings('plain', 'axis_inverted') + warnings('plain', 'axes_differ'), [])

    # So strong a one that no one number holds for a tenth more or less: none is given. Weaker ones are told in
    # tests/unit/test_sensitivity.c.
    def test_acceleration(self):
        found = takes['sped']['sensitivity']
        self.assertIsNone(found['degrees_per_count'], found)
        self.assertIn('sped up', found['refused'])
        self.assertEqual(warnings('plain', 'sensitivity_grows'), [])


@unittest.skipUnless((PRACTICE / 'hair-trigger/truth.json').is_file(), f'the practice takes are not at {PRACTICE}')
class Practice(unittest.TestCase):
    """A take of a game engine, which is no part of the project, as a USB capture of a mouse with 16-bit axes, its clicks
    heard."""

    def test_usb_capture_of_an_engine_take(self):
        home = PRACTICE / 'hair-trigger'
        truth = truths.Truth(home)
        with open(home / 'clicks.csv', encoding='utf-8') as file:
            clicks = [(int(r['time_us']), int(r['state'])) for r in csv.DictReader(file)]
        trace_formats.write_usb(folder / 'engine.pcap', trace_formats.read(home / 'trace.csv'), clicks)
        subprocess.run([FLINCH, 'look', home / 'capture.mkv', '--trace', folder / 'engine.pcap', '--fov',
                        str(truth.json['view']['hfov_deg']), '--id', 'engine', '--sound', home / 'sound.flac', '-o', folder / 'engine', '--quiet', '--no-strips'],
                       check=True, timeout=600)
        take = json.loads((folder / 'engine/takes/engine.json').read_text())
        for at in (2, truth.duration / 2, truth.duration - 2):
            self.assertLess(clock_error_ms(take['clock'], at, truth), 2)
        self.assertAlmostEqual(take['sensitivity']['degrees_per_count'] / truth.json['mouse']['deg_per_count'], 1, delta=0.01)
        sound, mic_s = take['sound'], truth.json['mic']['minus_footage_ms'] / 1000
        self.assertTrue(sound['known'], sound)
        # Half a report more than 1 ms: clicks.csv has them as they are, not at the next report.
        for at in (2, truth.duration / 2, truth.duration - 2):  # sound time at + mic_s is footage time at
            heard = sound['offset_s'] + (1 + sound['drift_ppm'] * 1e-6) * (at + mic_s)
            shown = truth.json['clock']['offset_s'] + (1 + truth.json['clock']['drift_ppm'] * 1e-6) * at
            self.assertAlmostEqual(heard, shown, delta=1.5e-3)


if __name__ == '__main__':
    unittest.main()
