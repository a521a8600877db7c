"""Staged takes from footage to files: floors of accuracy, schemas, repeatability.

The floors are looser than the targets of tests/accuracy: what fails here is broken, not merely
less good. Truth comes from the stage, which shares no analysis with what it tests.
"""
import concurrent.futures
import filecmp
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

try:
    import jsonschema
except ImportError:
    jsonschema = None

FLINCH, STAGE, SOURCE = (pathlib.Path(sys.argv.pop(1)).resolve() for _ in range(3))
sys.path.insert(0, str(SOURCE / 'tests/accuracy'))
import score  # noqa: E402

# 16 s each: of a shorter take the clock may be refused, as too few flicks.
CUT_OFF = ('torn-140', 'torn-110', 'sync-120', 'local-missing', 'dark')
CONTROLS = ('never-on', 'always-on')
# ms; in the dark, rows that stand still are coded a little differently each time, and a trip is seen a frame late.
START_MS = {'dark': 20}
# In the dark few returns are seen: where the hold may be short or long, two lapses may be one, and
# an end is anywhere in its range.
LEAST_F1 = {'dark': 0.75}
KEYS = {'never-on': 'synthesis: disabled', 'local-missing': 'capture: local'}
JOBS = 2
folder, rows = None, {}


def film(scenario):
    subprocess.run([STAGE, scenario, folder / 'takes'], check=True, timeout=600)


def write_session():
    lines = ['session: Staged', 'defaults: {horizontal_fov_deg: 90, report_rate_hz: 1000, counts_per_inch: 800, '
             'degrees_per_count: 0.044}', 'takes:']
    for name in CUT_OFF + CONTROLS:
        lines += [f'  - id: {name}', f'    game: {name}', f'    footage: {name}/capture.mkv', f'    trace: {name}/trace.csv']
        lines += [f'    {KEYS[name]}'] if name in KEYS else []
    (folder / 'takes/session.yaml').write_text('\n'.join(lines) + '\n')


def run_flinch(*args):
    done = subprocess.run([FLINCH, *map(str, args)], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding='utf-8',
                          timeout=600)
    assert done.returncode == 0, f'{args}: {done.returncode}\n{done.stdout}'


def measure(out, jobs):
    run_flinch('run', folder / 'takes/session.yaml', '-o', out, '-j', jobs, '--quiet')


def setUpModule():
    global folder
    folder = pathlib.Path(tempfile.mkdtemp(prefix='flinch-e2e-'))
    with concurrent.futures.ThreadPoolExecutor(JOBS) as pool:
        for job in [pool.submit(film, name) for name in CUT_OFF + CONTROLS]:
            job.result()
    write_session()
    measure(folder / 'out', JOBS)
    for name in CUT_OFF + CONTROLS:
        rows[name] = score.score(folder / 'out', folder / 'takes' / name)


def tearDownModule():
    shutil.rmtree(folder)


def tree(root):
    return {p.relative_to(root): p for p in sorted(root.rglob('*')) if p.is_file()}


class Floors(unittest.TestCase):
    def each(self, names, check):
        for name in names:
            with self.subTest(take=name):
                check(rows[name])

    def finds_lapses(self, row):
        self.assertGreaterEqual(row['lapses_true'], 5, 'the take has too few lapses to judge')
        self.assertGreaterEqual(row['f1'], LEAST_F1.get(row['take'], 0.9), row)
        self.assertEqual(row['lapses_false'], 0, row)
        if row['take'] in LEAST_F1:
            self.assertGreaterEqual(row['brackets_hit'], 0.9 * row['brackets'], row)

    def finds_starts(self, row):
        self.assertLessEqual(row['start_ms'], START_MS.get(row['take'], 8), row)

    def tells_states(self, row):
        self.assertGreater(row['moving_s'], 0.3, 'the take moves too little to judge')
        self.assertLessEqual(row['wrong_moving'], 0.02, row)
        self.assertLessEqual(row['unseen_moving'], 0.5, row)

    def finds_clock(self, row):
        # The convention is L(on) = 0, but a take that moves for less than 3 s in state on cannot
        # tell the two delays apart: anywhere between them is right then.
        self.assertIsNotNone(row['clock_ms'], row['clock_refused'])
        self.assertGreaterEqual(min(row['clock_ms']), -5, row)
        self.assertLessEqual(max(row['clock_ms']), row['delay_span_ms'] + 5, row)

    def test_lapses_are_found(self):
        self.each(CUT_OFF, self.finds_lapses)

    def test_controls_have_no_lapse(self):
        self.each(CONTROLS, lambda row: self.assertEqual(row['lapses_found'], 0, row))

    def test_lapses_start_where_they_start(self):
        self.each(CUT_OFF, self.finds_starts)

    def test_states_in_motion(self):
        self.each(CUT_OFF + CONTROLS, self.tells_states)

    def test_clock(self):
        self.each(CUT_OFF + CONTROLS, self.finds_clock)


class Files(unittest.TestCase):
    def assertSameFiles(self, one, other):
        a, b = tree(one), tree(other)
        self.assertEqual(list(a), list(b))
        differ = [str(name) for name in a if not filecmp.cmp(a[name], b[name], shallow=False)]
        self.assertEqual(differ, [])

    @unittest.skipIf(jsonschema is None, 'python3-jsonschema is not installed')
    def test_json_agrees_with_its_schema(self):
        files = [p for p in tree(folder / 'out').values() if p.suffix == '.json']
        self.assertEqual(len(files), 1 + len(rows))
        for path in files:
            kind = 'session' if path.name == 'session.json' else 'take'
            schema = json.loads((SOURCE / f'docs/{kind}.schema.json').read_text())
            with self.subTest(file=path.name):
                jsonschema.Draft202012Validator(schema).validate(json.loads(path.read_text()))

    def test_same_inputs_give_the_same_bytes(self):
        measure(folder / 'again', 1)
        self.assertSameFiles(folder / 'out', folder / 'again')

    def test_show_rebuilds_the_report(self):
        shutil.copytree(folder / 'out', folder / 'shown')
        shutil.rmtree(folder / 'shown/charts')
        os.remove(folder / 'shown/report.html')
        run_flinch('show', folder / 'shown')
        self.assertSameFiles(folder / 'out', folder / 'shown')


if __name__ == '__main__':
    unittest.main()
