"""flinch plan on an invented session (tests/unit/write_ruled.c), and before a first one.

"Glass Canyon" trips at 150 deg/s and "Tin Meadow" at 4000 counts/s by construction; "Quiet Vale" never trips.
"""
import json
import math
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

DOCS = pathlib.Path(__file__).resolve().parents[2] / 'docs'
FLINCH, WRITE_RULED = (os.path.abspath(sys.argv.pop(1)) for _ in range(2))
keep = None
out = None


def setUpModule():
    global keep, out
    keep = tempfile.TemporaryDirectory(prefix='flinch-plan-')
    out = pathlib.Path(keep.name) / 'out'
    out.mkdir()
    subprocess.run([WRITE_RULED, out], check=True)


def tearDownModule():
    keep.cleanup()


class Plan(unittest.TestCase):
    def flinch(self, *args, status=0):
        done = subprocess.run([FLINCH, 'plan', *map(str, args)], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              encoding='utf-8', timeout=300)
        self.assertEqual(done.returncode, status, f'{args}\n{done.stdout}\n{done.stderr}')
        return done

    def planned(self, *args):
        value = json.loads(self.flinch(*args, '--json').stdout)
        if jsonschema:
            schema = json.loads((DOCS / 'plan.schema.json').read_text('utf-8'))
            jsonschema.Draft202012Validator.check_schema(schema)
            strict = json.loads(json.dumps(schema).replace('"additionalProperties": true', '"additionalProperties": false'))
            jsonschema.Draft202012Validator(strict).validate(value)
            self.assertFalse(jsonschema.Draft202012Validator(schema).is_valid({**value, 'takes_now': -1}))
        return value

    def test_from_what_is_measured(self):
        plan = self.planned(out)
        self.assertEqual(plan['session'], 'Known rules')
        self.assertAlmostEqual(plan['wanted_percent'], 20)
        for s in plan['settings']:
            self.assertEqual(s['more_flicks'], s['more_takes'] * s['flicks_a_take'])
            self.assertEqual(len(s['bands']), 3)
            self.assertEqual(sum(b['flicks_a_take'] for b in s['bands']), s['flicks_a_take'])
        canyon = [s for s in plan['settings'] if s['game'] == 'Glass Canyon']
        self.assertEqual([s['counts_per_inch'] for s in canyon], [400, 1600])
        for s in canyon:
            self.assertTrue(s['reached'] and s['more_flicks'] > 0)
            self.assertLessEqual(s['more_takes'], 6)
            self.assertLessEqual(s['expected_percent'], 20)
            self.assertLess(s['expected_percent'], s['width_now_percent'])
            self.assertTrue(s['bands'][0]['from']['peak'] < 150 < s['bands'][2]['to']['peak'])
            for v in (b[end] for b in s['bands'] for end in ('from', 'to')):
                self.assertTrue(50 < v['peak'] < 450, v)
                # by hand: counts/s = deg/s / deg per count; cm/s = counts/s · 2.54 / cpi
                hand = v['peak'] / s['degrees_per_count'] * 2.54 / s['counts_per_inch']
                self.assertTrue(math.isclose(v['hand_speed_cm_s'], hand, rel_tol=1e-6))
                # least jerk: peak = 1.875 × mean (Flash and Hogan 1985)
                self.assertTrue(math.isclose(v['quarter_turn_s'], 90 * 1.875 / v['peak'], rel_tol=1e-4))
        vale, = [s for s in plan['settings'] if s['game'] == 'Quiet Vale']
        self.assertTrue(vale['searching'])
        self.assertIsNone(vale['v50'])
        self.assertIsNone(vale['width_now_percent'])

    def test_a_wider_wish_costs_less(self):
        flicks = [sum(s['more_flicks'] for s in self.planned(out, '--width', w)['settings']) for w in (15, 30, 100)]
        self.assertEqual(flicks, sorted(flicks, reverse=True))
        self.assertGreater(flicks[0], flicks[2])

    def test_steps(self):
        plan = self.planned(out)
        kinds = [s['kind'] for s in plan['steps']]
        self.assertEqual(kinds[:2], ['caution', 'caution'])
        self.assertEqual(kinds[-1], 'after')
        text = ' '.join(s['text'] for s in plan['steps'])
        for word in ('photosensitive', 'doctor', 'medical professional', 'local rules', 'Slate', 'flinch check'):
            self.assertIn(word, text)
        takes = [s for s in plan['steps'] if s['kind'] == 'take']
        self.assertEqual(len(takes), plan['takes_now'])
        for game in {s['game'] for s in takes}:
            rows = [(s['kind'], s['counts_per_inch']) for s in plan['steps'] if s['game'] == game]
            self.assertEqual([rows[0][0], rows[-1][0]], ['control', 'control'])
            order = [cpi for kind, cpi in rows if kind == 'take']
            mean = {c: sum(i for i, x in enumerate(order) if x == c) / order.count(c) for c in set(order)}
            self.assertEqual(len(set(mean.values())), 1, order)

    def test_before_a_first_session(self):
        plan = self.planned('--settings', 3)
        self.assertIsNone(plan['session'])
        self.assertEqual([s['condition'] for s in plan['settings']], ['A', 'B', 'C'])
        bands = plan['settings'][0]['bands']
        for a, b in zip(bands, bands[1:]):
            self.assertEqual(a['to'], b['from'])
        self.assertTrue(all(b['to']['peak'] > 1.3 * b['from']['peak'] for b in bands), 'a hand hits them')
        self.assertTrue(bands[0]['from']['peak'] < 100 and bands[2]['to']['peak'] > 500)
        self.assertTrue(all(s['reached'] and s['more_takes'] <= 6 for s in plan['settings']), 'fits an afternoon')
        takes = ''.join(s['condition'] for s in plan['steps'] if s['kind'] == 'take')
        self.assertEqual(takes, ('ABCCBA' * 3)[:len(takes)])
        self.assertEqual(len(takes) + plan['takes_left'], sum(s['more_takes'] for s in plan['settings']))

    def test_one_setting_only(self):
        plan = self.planned('--settings', 1, '--width', 30)
        self.assertEqual(len(plan['settings']), 1)
        self.assertGreaterEqual(plan['takes_now'], 3)

    def test_80_columns(self):
        for args in ([out], [], ['--settings', 8], [out, '--width', 100]):
            text = self.flinch(*args).stdout
            self.assertLessEqual(max(map(len, text.splitlines())), 80, text)
        self.assertEqual(self.flinch(out, '--quiet').stdout, '')
        self.assertEqual(self.flinch('--quiet').stdout, '')

    def refused(self, *args, words, status=2):
        done = self.flinch(*args, status=status)
        self.assertEqual(done.stdout, '')
        self.assertEqual(done.stderr.count('\n'), 1, done.stderr)
        self.assertTrue(done.stderr.startswith('flinch: ') and '; ' in done.stderr, done.stderr)
        for word in words:
            self.assertIn(word, done.stderr)

    def test_bad_use(self):
        for width in ('0', '-5', '101', 'nan', 'ten'):
            self.refused(out, '--width', width, words=['--width'])
        self.refused('--settings', 0, words=['--settings'])
        self.refused(out, '--settings', 2, words=['--settings'])
        self.refused('--what-if', 'own.csv', words=['--what-if', 'folder'])
        self.refused(out, '--cpi', 800, words=['--what-if'])
        self.refused(out, out, words=['one argument too many'])
        self.refused(keep.name, words=['session.json'])
        self.refused(out / 'nowhere', words=['nowhere'])

    def folder(self, name, ids, **more):
        """A folder with some of the takes."""
        folder = pathlib.Path(keep.name) / name
        folder.mkdir()
        listed = json.loads((out / 'session.json').read_text())
        listed['takes'] = [t for t in listed['takes'] if t['id'] in ids]
        (folder / 'session.json').write_text(json.dumps({**listed, **more}))
        (folder / 'takes').symlink_to(out / 'takes')
        return folder

    def test_broken_session(self):
        folder = self.folder('broken', [])
        (folder / 'session.json').write_text('{"session": "x", "takes": ')
        self.refused(folder, words=['session.json', 'run'])

    def test_no_takes(self):
        self.refused(self.folder('bare', []), words=['bare', 'no flick'], status=1)

    def test_one_take(self):
        plan = self.planned(self.folder('single', ['canyon-a']))
        setting, = plan['settings']
        self.assertEqual(setting['takes'], 1)
        self.assertTrue(setting['takes_differ_assumed'])
        self.assertGreaterEqual(setting['more_takes'], 2, 'three takes of a setting at least')

    def test_a_take_that_cannot_be_read(self):
        folder = self.folder('torn', ['canyon-a', 'canyon-c'], failed=[])
        (folder / 'takes').unlink()
        (folder / 'takes').mkdir()
        for path in (out / 'takes').glob('canyon-a*'):
            shutil.copy(path, folder / 'takes')
        (folder / 'takes' / 'canyon-c.json').write_text('{')
        done = self.flinch(folder, status=1)
        self.assertIn('canyon-c', done.stderr)
        self.assertIn('Glass Canyon', done.stdout)


unittest.main()
