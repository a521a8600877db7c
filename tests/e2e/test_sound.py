"""Clicks of a staged take, heard: the delay from hand to picture, a clock where motion gives none, and
none where the two contradict each other. Truth comes from the stage."""
import csv
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

FLINCH, STAGE = (pathlib.Path(sys.argv.pop(1)).resolve() for _ in range(2))
folder, truth, takes = None, {}, {}


def add_clicks(source):
    """The stage logs buttons on the trace's clock in a file of their own."""
    rows = []
    for name in ('trace.csv', 'clicks.csv'):
        with open(source / name, encoding='utf-8') as file:
            rows += list(csv.DictReader(file))
    rows.sort(key=lambda row: int(row['time_us']))
    with open(source / 'both.csv', 'w', encoding='utf-8', newline='') as file:
        writer = csv.DictWriter(file, ['time_us', 'dx', 'dy', 'button', 'state'], restval='')
        writer.writeheader()
        writer.writerows(rows)


def put_sound_in(source, out, late_s):
    subprocess.run(['ffmpeg', '-nostdin', '-v', 'error', '-y', '-i', source / 'capture.mkv', '-itsoffset', str(late_s),
                    '-i', source / 'sound.flac', '-map', '0:v', '-map', '1:a', '-c', 'copy', out], check=True)


def write_session(moving, still):
    offset = f'sound_offset_s: {truth["mic"]["minus_footage_ms"] / 1000}'
    sound = f'sound: {moving}/sound.flac'
    lines = ['session: Heard', f'defaults: {{game: a, horizontal_fov_deg: 90, trace: {moving}/both.csv}}', 'takes:']
    for name, *keys in (('measured', f'footage: {moving}/capture.mkv', sound, offset),
                        ('own', 'footage: own.mkv'),
                        ('late', 'footage: late.mkv'),
                        ('still', f'footage: {still}/capture.mkv', sound, offset),
                        ('unplaced', f'footage: {still}/capture.mkv', sound)):
        lines.append(f'  - {{id: {name}, {", ".join(keys)}}}')
    (folder / 'session.yaml').write_text('\n'.join(lines) + '\n')


def setUpModule():
    global folder
    folder = pathlib.Path(tempfile.mkdtemp(prefix='flinch-sound-'))
    for scenario in ('torn-140', 'still'):
        subprocess.run([STAGE, scenario, folder, '--width', '480', '--height', '272'], check=True, timeout=600)
    moving, still = folder / 'torn-140', folder / 'still'
    truth.update(json.loads((moving / 'truth.json').read_text()))
    add_clicks(moving)
    put_sound_in(moving, folder / 'own.mkv', 0)
    put_sound_in(moving, folder / 'late.mkv', 3)
    write_session(moving.name, still.name)
    subprocess.run([FLINCH, 'run', folder / 'session.yaml', '-o', folder / 'out', '--quiet', '-j', '2', '--no-strips'],
                   check=True, timeout=800)
    for path in (folder / 'out/takes').glob('*.json'):
        takes[path.stem] = json.loads(path.read_text())


def tearDownModule():
    shutil.rmtree(folder)


def codes(take):
    return {w['code'] for w in takes[take]['warnings']}


class Sound(unittest.TestCase):
    def test_clicks_are_heard(self):
        sound = takes['measured']['sound']
        self.assertTrue(sound['known'], sound)
        self.assertEqual(sound['heard'], sound['presses'])
        at_zero = truth['clock']['offset_s'] - truth['mic']['minus_footage_ms'] / 1000
        self.assertAlmostEqual(sound['offset_s'], at_zero, delta=max(1e-3, sound['error_ms'] / 1000))

    # Half a millisecond more than the interval: the stage logs clicks as they are, not at the next report.
    def test_the_delay_itself_where_the_offset_is_measured(self):
        sound, delay = takes['measured']['sound'], truth['display_delay_ms']
        low, high = sound['delay_on_low_ms'], sound['delay_on_high_ms']
        self.assertTrue(low - 0.5 <= delay['on'] <= high + 0.5, (low, high, delay))
        self.assertLess(high - low, 12)
        self.assertEqual(takes['measured']['clock']['method'], 'motion')

    def test_a_footages_own_sound(self):
        sound = takes['own']['sound']
        self.assertIsNone(sound['delay_on_ms'])
        self.assertAlmostEqual(sound['picture_behind_ms'],
                               truth['display_delay_ms']['on'] - truth['mic']['minus_footage_ms'], delta=5)
        self.assertFalse({'sound_refused', 'sound_drift', 'clock_refused'} & codes('own'), codes('own'))

    def test_contradiction_is_no_clock(self):
        take = takes['late']
        self.assertTrue(take['sound']['at_odds'])
        self.assertFalse(take['clock']['known'])
        self.assertIn('s apart', take['clock']['refused'])
        self.assertIsNone(take['clock']['offset_s'])

    def test_sound_stands_in_where_nothing_moves(self):
        clock = takes['still']['clock']
        self.assertEqual(clock['method'], 'sound')
        self.assertAlmostEqual(clock['offset_s'], truth['clock']['offset_s'], delta=2e-3)
        self.assertGreater(clock['error_ms'], 100)
        self.assertIn('clock_by_sound', codes('still'))

    def test_but_not_where_its_place_is_unknown(self):
        self.assertFalse(takes['unplaced']['clock']['known'])
        self.assertTrue({'sound_unplaced', 'clock_refused'} <= codes('unplaced'), codes('unplaced'))

    def test_it_is_said(self):
        done = subprocess.run([FLINCH, 'check', folder / 'own.mkv', '--trace', folder / 'torn-140/both.csv', '--first', '14'],
                              stdout=subprocess.PIPE, encoding='utf-8', timeout=600)
        self.assertRegex(done.stdout, r'sound +\d+ of \d+ clicks heard')


if __name__ == '__main__':
    if not shutil.which('ffmpeg'):
        print('skipped: no ffmpeg')
        sys.exit(77)
    unittest.main()
