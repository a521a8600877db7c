"""flinch plan --what-if on an invented session with known rules (tests/unit/write_ruled.c).

What the rules are is the source: a game that watches the camera does not care for counts per inch while
the turn per centimetre stays, one that watches counts does, and the other way round for sensitivity.
"""
import json
import math
import os
import pathlib
import random
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
OWN = ('--cpi', 800, '--degrees-per-count', 0.044)
keep = None  # the folder of everything
out = own = None


def flick(x):
    """Bell of least jerk (Flash and Hogan 1985), peak 1."""
    return 16 * x * x * (1 - x) ** 2 if 0 < x < 1 else 0


def write_trace(path, seconds=40, seed=4):
    rng, start, flicks = random.Random(seed), 0.5, []
    while start < seconds - 1:
        flicks.append((start, rng.uniform(0.16, 0.45), math.exp(rng.uniform(math.log(30), math.log(800)))))
        start += flicks[-1][1] + rng.uniform(0.25, 1.1)
    rows, moved, sent = ['time_us,dx,dy', '0,0,0'], 0, 0
    for k in range(1, 1000 * seconds):
        moved += sum(p * flick((k / 1000 - s) / d) for s, d, p in flicks) / 1000 / 0.044
        if int(moved) > sent or k + 1 == 1000 * seconds:
            rows.append(f'{1000 * k},{int(moved) - sent},0')
            sent = int(moved)
    path.write_text('\n'.join(rows) + '\n')


def setUpModule():
    global keep, out, own
    keep = tempfile.TemporaryDirectory(prefix='flinch-what-if-')
    out, own = pathlib.Path(keep.name) / 'out', pathlib.Path(keep.name) / 'own.csv'
    out.mkdir()
    subprocess.run([WRITE_RULED, out], check=True)
    write_trace(own)


def tearDownModule():
    keep.cleanup()


class WhatIf(unittest.TestCase):
    def flinch(self, *args, status=0):
        done = subprocess.run([FLINCH, 'plan', *map(str, args)], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              encoding='utf-8', timeout=300)
        self.assertEqual(done.returncode, status, f'{args}\n{done.stdout}\n{done.stderr}')
        return done

    def predicted(self, *args):
        """Rules by game, as --json prints them, checked against the schema."""
        value = json.loads(self.flinch(out, '--what-if', own, *OWN, *args, '--json').stdout)
        if jsonschema:
            schema = json.loads((DOCS / 'what-if.schema.json').read_text('utf-8'))
            jsonschema.Draft202012Validator.check_schema(schema)
            strict = json.loads(json.dumps(schema).replace('"additionalProperties": true', '"additionalProperties": false'))
            jsonschema.Draft202012Validator(strict).validate(value)
            self.assertFalse(jsonschema.Draft202012Validator(schema).is_valid({**value, 'prediction': False}))
        self.assertAlmostEqual(value['trace_s'], 40, delta=0.01)
        return {rule['game']: rule for rule in value['rules'] if rule['lead']}

    def share(self, rule, kept, cpi, degrees):
        row, = [r for r in rule['settings'] if r['kept'] == kept and r['counts_per_inch'] == cpi
                and math.isclose(r['degrees_per_count'], degrees)]
        self.assertIsNone(row['refused'])
        self.assertLessEqual(row['off_share_low'], row['off_share'])
        self.assertLessEqual(row['off_share'], row['off_share_high'])
        self.assertGreater(row['off_share'], 0)
        return row['off_share']

    def test_what_is_watched_decides(self):
        rules = self.predicted()
        camera, counts = rules['Glass Canyon'], rules['Tin Meadow']
        self.assertEqual((camera['quantity'], counts['quantity']), ('camera_speed', 'count_rate'))
        self.assertAlmostEqual(camera['theta_off'], 150, delta=15)
        self.assertAlmostEqual(counts['theta_off'], 4000, delta=400)
        recorded = self.share(camera, 'as_recorded', 800, 0.044)
        for cpi in (400, 1600, 3200):
            self.assertAlmostEqual(self.share(camera, 'hand_and_turns', cpi, 0.044 * 800 / cpi), recorded)
        for double, kept in ((0.088, 'turns'), (0.022, 'turns')):
            self.assertAlmostEqual(self.share(camera, kept, 800, double), recorded)
        self.assertGreater(self.share(camera, 'hand', 800, 0.088), recorded)
        ladder = [self.share(counts, 'hand_and_turns', cpi, 0.044 * 800 / cpi) for cpi in (400, 1600, 3200)]
        self.assertEqual(ladder, sorted(ladder))
        self.assertGreater(ladder[-1], ladder[0])
        self.assertAlmostEqual(self.share(counts, 'hand', 800, 0.088), self.share(counts, 'as_recorded', 800, 0.044))

    def test_one_setting_asked(self):
        rows = self.predicted('--at-cpi', 1600, '--at-degrees-per-count', 0.022)['Glass Canyon']['settings']
        self.assertEqual([r['kept'] for r in rows], ['as_recorded', 'hand_and_turns'])
        rows = self.predicted('--at-cpi', 1600)['Glass Canyon']['settings']
        self.assertEqual([r['kept'] for r in rows], ['as_recorded', 'hand', 'turns'])
        self.assertEqual({r['counts_per_inch'] for r in rows[1:]}, {1600})

    def test_a_game_without_a_rule_says_why(self):
        vale = self.predicted()['Quiet Vale']
        self.assertIn('no lapse', vale['refused'])
        self.assertEqual(vale['settings'], [])

    def test_one_screen(self):
        text = self.flinch(out, '--what-if', own, *OWN).stdout
        self.assertLessEqual(max(map(len, text.splitlines())), 80, text)
        self.assertTrue(text.startswith('Prediction, not measurement'))
        for word in ('Glass Canyon', 'camera speed', 'Tin Meadow', 'count rate', 'as recorded'):
            self.assertIn(word, text)
        self.assertEqual(self.flinch(out, '--what-if', own, *OWN, '--quiet').stdout, '')

    def test_what_is_not_given_is_named(self):
        text = self.flinch(out, '--what-if', own).stdout
        self.assertIn('camera speed needs degrees per count', text.replace('\n' + ' ' * 32, ' '))
        self.assertLessEqual(max(map(len, text.splitlines())), 80, text)

    def refused(self, *args, words):
        """One line on stderr that holds every word, nothing on stdout."""
        done = self.flinch(*args, status=2)
        self.assertEqual(done.stdout, '')
        self.assertEqual(done.stderr.count('\n'), 1, done.stderr)
        self.assertTrue(done.stderr.startswith('flinch: '), done.stderr)
        for word in words:
            self.assertIn(word, done.stderr)

    def test_bad_use(self):
        still = pathlib.Path(keep.name) / 'stick.csv'
        still.write_text('time_us,stick_x,stick_y\n0,0,0\n1000,0.5,0\n2000,0,0\n')
        self.refused(out, '--what-if', 'nowhere.csv', words=['nowhere.csv'])
        self.refused(out, '--what-if', still, words=['stick.csv', 'motion'])
        self.refused(keep.name, '--what-if', own, words=['session.json'])
        self.refused(out, '--what-if', own, '--cpi', 0, words=['--cpi'])
        self.refused(out, '--what-if', own, '--degrees-per-count', 'nan', words=['--degrees-per-count'])

    def test_nothing_to_predict_by(self):
        bare = pathlib.Path(keep.name) / 'bare'
        bare.mkdir()
        listed = json.loads((out / 'session.json').read_text())
        listed['takes'] = [t for t in listed['takes'] if t['game'] == 'Quiet Vale']
        (bare / 'session.json').write_text(json.dumps(listed))
        (bare / 'takes').symlink_to(out / 'takes')
        self.assertIn('no rule to predict by', ' '.join(self.flinch(bare, '--what-if', own, status=1).stdout.split()))

    def test_rules_come_back_from_the_files(self):
        written = (out / 'session.json').read_bytes()
        done = subprocess.run([FLINCH, 'show', str(out), '--quiet'], stderr=subprocess.PIPE, encoding='utf-8', timeout=600)
        self.assertEqual(done.returncode, 0, done.stderr)
        first, second = json.loads(written), json.loads((out / 'session.json').read_bytes())
        self.assertEqual(len(first['rules']), len(second['rules']))
        for a, b in zip(first['rules'], second['rules']): # figures in files are rounded
            self.assertEqual((a['game'], a['quantity'], a['lead'], a['refused']), (b['game'], b['quantity'], b['lead'], b['refused']))
            if not a['refused']:
                self.assertAlmostEqual(b['theta_off'] / a['theta_off'], 1, delta=0.02)
        report = (out / 'report.html').read_text('utf-8')
        self.assertIn('By what rule', report)


unittest.main()
