"""flinch show --against on two invented sessions (tests/unit/write_pair.c), of which the later differs in known ways.

What was put in is the source: Glass Canyon trips at 225 in place of 150 deg/s, Quiet Vale no more, Tin Meadow is as it
was, Local Hill is captured otherwise, Slow Lake renders at 50 in place of 70 a second, the control of Pale Dunes a tenth
faster, and Pale Dunes has another transfer.
"""
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unicodedata
import unittest

try:
    import jsonschema
except ImportError:
    jsonschema = None

DOCS = pathlib.Path(__file__).resolve().parents[2] / 'docs'
FLINCH, WRITE_PAIR = (os.path.abspath(sys.argv.pop(1)) for _ in range(2))
keep = before = now = there = screen = None


def setUpModule():
    global keep, before, now
    keep = tempfile.TemporaryDirectory(prefix='flinch-against-')
    before, now = pathlib.Path(keep.name) / 'before', pathlib.Path(keep.name) / 'now'
    before.mkdir()
    now.mkdir()
    subprocess.run([WRITE_PAIR, before, now], check=True)


def tearDownModule():
    keep.cleanup()


def contents(folder):
    return {p: (p.stat().st_mtime_ns, p.read_bytes()) for p in sorted(folder.rglob('*')) if p.is_file()}


def columns(line):
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in 'WF' else 1 for c in line)


class Against(unittest.TestCase):
    def compared(self):
        """Now against before as JSON and on the screen, made once; nothing in the folders is touched."""
        global there, screen
        if there is None:
            untouched = contents(before), contents(now)
            there = self.checked(self.flinch(now, '--against', before, '--json').stdout)
            screen = self.flinch(now, '--against', before).stdout
            self.assertEqual((contents(before), contents(now)), untouched)
        return there, screen

    def flinch(self, *args, status=0, locale='C.UTF-8'):
        done = subprocess.run([FLINCH, 'show', *map(str, args)], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              encoding='utf-8', timeout=300, env={**os.environ, 'LC_ALL': locale})
        self.assertEqual(done.returncode, status, f'{args}\n{done.stdout}\n{done.stderr}')
        return done

    def small(self, name, folder, *games):
        """A copy of the folder with the takes of these games only."""
        path = pathlib.Path(keep.name) / name
        shutil.copytree(folder, path)
        listed = json.loads((path / 'session.json').read_text('utf-8'))
        listed['takes'] = [t for t in listed['takes'] if t['game'] in games]
        (path / 'session.json').write_text(json.dumps(listed))
        return path

    def checked(self, text):
        value = json.loads(text)
        if jsonschema:
            schema = json.loads((DOCS / 'against.schema.json').read_text('utf-8'))
            jsonschema.Draft202012Validator.check_schema(schema)
            strict = json.loads(json.dumps(schema).replace('"additionalProperties": true', '"additionalProperties": false'))
            jsonschema.Draft202012Validator(strict).validate(value)
            self.assertFalse(jsonschema.Draft202012Validator(schema).is_valid({**value, 'tests': -1}))
        return value

    def refused(self, *args, words, status=2):
        """One line on stderr that holds every word, nothing on stdout; with --json the reason there too."""
        done = self.flinch(*args, status=status)
        self.assertEqual(done.stdout, '')
        self.assertEqual(done.stderr.count('\n'), 1, done.stderr)
        self.assertTrue(done.stderr.startswith('flinch: '), done.stderr)
        for word in words:
            self.assertIn(word, done.stderr)
        return done.stderr.removeprefix('flinch: ').strip()

    def refused_in_json(self, *args, words, status=2):
        why = self.refused(*args, words=words, status=status)
        value = self.checked(self.flinch(*args, '--json', status=status).stdout)
        self.assertEqual(value['refused'], why)
        self.assertEqual((value['settings'], value['delays'], value['tests']), ([], [], 0))

    def test_what_changed(self):
        value, _ = self.compared()
        self.assertIsNone(value['refused'])
        self.assertEqual(value['now']['session'], 'Driver 2')
        by_game = {(s['game'], s['synthesis_disabled']): s for s in value['settings']}
        canyon, meadow, vale, hill, lake, dunes = (by_game[g, False] for g in (
            'Glass Canyon', 'Tin Meadow', 'Quiet Vale', 'Local Hill', 'Slow Lake', 'Pale Dunes'))

        def v50(setting, quantity='camera_speed'):
            row, = [v for v in setting['v50'] if v['quantity'] == quantity]
            return row
        self.assertEqual(canyon['lead'], 'camera_speed')
        self.assertTrue(1 < v50(canyon)['low'] < 1.5 < v50(canyon)['high'], v50(canyon))
        self.assertEqual(v50(canyon)['finding'], 'higher')
        self.assertRegex(canyon['sentence'], '^trips at 1[.][0-9]+ times the camera speed of before [(]95 % interval ')
        self.assertEqual(v50(canyon, 'hand_speed')['same_test_as'], 'count_rate')
        self.assertTrue(v50(meadow)['low'] < 1 < v50(meadow)['high'])
        self.assertEqual(v50(meadow)['finding'], 'cannot_tell')
        self.assertEqual(v50(vale)['finding'], 'one_sided')
        self.assertGreater(v50(vale)['low'], 1)
        self.assertIsNone(v50(vale)['ratio'])
        self.assertEqual(vale['off_share_standardised']['finding'], 'lower')
        self.assertIn('or more: no flick tripped now', vale['sentence'])
        self.assertIn('captured by card before, locally now', hill['refused'])
        self.assertIsNone(v50(lake)['refused'])
        self.assertIn('one take before', v50(lake)['unsure'])
        self.assertEqual(v50(lake)['now']['kernel_ms'], v50(lake)['before']['kernel_ms'])
        self.assertAlmostEqual(lake['base_rate_on_hz']['ratio'], 5 / 7, delta=1e-5)
        self.assertIn('one take before', lake['base_rate_on_hz']['unsure'])
        self.assertIn('transfers differ: bt709 before, smpte2084', v50(dunes, 'image_change')['refused'])
        control = by_game['Pale Dunes', True]
        self.assertEqual((control['v50'], control['base_rate_off_hz']['finding']), ([], 'higher'))
        self.assertAlmostEqual(control['base_rate_off_hz']['ratio'], 83.7 / 76.1, delta=0.01)
        self.assertEqual([s['game'] for s in value['only_before']], ['Old Mill'])
        self.assertEqual([s['game'] for s in value['only_now']], ['New Pier'])
        delays = [d for d in value['delays'] if not d['refused']]
        self.assertEqual([d['edge'] for d in delays if d['game'] == 'Glass Canyon'], ['trip', 'return'])
        for d in delays: # the rule's own delays are as they were
            self.assertEqual(d['finding'], 'cannot_tell', d)
            if d['game'] == 'Glass Canyon':
                self.assertIn('threshold', d['unsure'])
                self.assertIsNone(d['p'])
        self.assertTrue(all(d['refused'] for d in value['delays'] if d['game'] in ('Quiet Vale', 'Local Hill')))

    def test_the_other_way_round(self):
        """Ratios turn over, differences change sign."""
        there, _ = self.compared()
        back = self.checked(self.flinch(before, '--against', now, '--json').stdout)
        for s in there['settings']:
            t, = [t for t in back['settings'] if all(t[k] == s[k] for k in ('game', 'condition', 'synthesis_disabled'))]
            for a, b in zip(s['v50'], t['v50']):
                if a['low'] and b['high']:
                    self.assertAlmostEqual(a['low'] * b['high'], 1, delta=1e-5)
                self.assertEqual(a['p'], b['p'])
            a, b = s['off_share_standardised'], t['off_share_standardised']
            if a['low'] is not None:
                self.assertAlmostEqual(a['low'], -b['high'], delta=1e-6)

    def test_one_screen(self):
        _, text = self.compared()
        self.assertLessEqual(max(map(columns, text.splitlines())), 80, text)
        plain = ' '.join(text.split())
        for words in ('Glass Canyon / default: ', 'times the camera speed of before', 'Local Hill / default: not compared: ',
                      'Only before: Old Mill', 'Only now: New Pier',
                      'V50 image change: transfers differ', 'tests together (Holm)'):
            self.assertIn(words, plain)
        self.assertRegex(plain, 'a control; it renders at 1[.]10* times the rate of before')

    def test_what_many_settings_share_is_said_once(self):
        folders = []
        for name, folder in (('one-before', before), ('one-now', now)):
            path = pathlib.Path(keep.name) / name
            shutil.copytree(folder, path)
            listed, kept, settings = json.loads((path / 'session.json').read_text('utf-8')), [], set()
            for take in listed['takes']:  # one take a setting: nothing can be tested
                setting = (take['game'], take['condition'], take['counts_per_inch'], take['degrees_per_count'])
                if setting not in settings:
                    settings.add(setting)
                    kept.append(take)
            listed['takes'] = kept
            (path / 'session.json').write_text(json.dumps(listed))
            folders.append(path)
        text = ' '.join(self.flinch(folders[1], '--against', folders[0]).stdout.split())
        self.assertEqual(text.count('so how much takes differ is unknown'), 1, text)
        self.assertRegex(text, r'Untested in (all )?\d+ (of \d+ )?settings: ')

    def test_hostile_names_stay_text(self):
        value, text = self.compared()
        for bad in '\x1b\u202e\u202c':
            self.assertNotIn(bad, text)
        self.assertIn('</script><b>"\'&', text)
        odd, = [s for s in value['settings'] if s['game'].startswith('</script>')]
        self.assertEqual(len(odd['game'].encode()), 300)
        self.assertIn('\u202etfel\u202c 🎮 \x1b[31m', odd['game'])
        self.assertIn('one take before', odd['sentence'])
        self.assertIn('\u202e', value['before']['session'])

    def test_quiet_and_not_in_utf_8(self):
        small = self.small('few', before, 'Old Mill', 'Pale Dunes')
        self.assertEqual(self.flinch(small, '--against', now, '--quiet').stdout, '')
        text = self.flinch(small, '--against', now, locale='C').stdout
        self.assertLessEqual(max(map(len, text.splitlines())), 80, text)

    def test_plain_show_is_as_it_was(self):
        small = self.small('rebuilt', before, 'Old Mill')
        self.flinch(small, '--quiet')
        self.assertTrue((small / 'report.html').is_file())

    def test_folders_that_cannot_be_compared(self):
        link, old = (pathlib.Path(keep.name) / n for n in ('link', 'old'))
        link.symlink_to(now)
        self.refused_in_json(now, '--against', now, words=['one folder'])
        self.refused_in_json(now, '--against', f'{link}/', words=['one folder'])
        listed = json.loads((before / 'session.json').read_text('utf-8'))
        old.mkdir()
        (old / 'session.json').write_text(json.dumps({**listed, 'version': 0}))
        self.refused_in_json(now, '--against', old, words=['session.json', 'version 0', 'measure that session again'])
        self.refused_in_json(old, '--against', before, words=['session.json', 'version 0'])
        mill, pier = self.small('mill', before, 'Old Mill'), self.small('pier', now, 'New Pier')
        why = self.refused(pier, '--against', mill, words=['no take in common'], status=1)
        value = self.checked(self.flinch(pier, '--against', mill, '--json', status=1).stdout)
        self.assertEqual((value['refused'], value['settings']), (why, []))
        self.assertEqual(len(value['only_before']), 1)

    def test_a_take_of_an_older_format(self):
        old, new = self.small('older-take', before, 'Pale Dunes'), self.small('newer-take', now, 'Pale Dunes')
        first = json.loads((old / 'session.json').read_text('utf-8'))['takes'][0]['id']
        path = old / 'takes' / f'{first}.json'
        path.write_text(json.dumps({**json.loads(path.read_text('utf-8')), 'version': 0}))
        done = self.flinch(new, '--against', old, '--json', status=1)
        self.assertEqual(done.stderr.count('\n'), 1, done.stderr)
        for word in (f'{first}.json', '"version"', 'measure the take again'):
            self.assertIn(word, done.stderr)
        value = self.checked(done.stdout)
        self.assertEqual([f['id'] for f in value['before']['failed']], [first])
        self.assertNotIn(first, value['settings'][0]['takes_before'])

    def test_bad_use(self):
        small = self.small('short', now, 'New Pier')
        self.refused(small, '--against', 'nowhere', words=['nowhere/session.json', 'flinch run'])
        self.refused(keep.name, '--against', small, words=['session.json'])
        self.refused(now, '--against', words=['--against'])
        self.refused(now, '--against', '', words=['--against'])
        self.refused('--against', now, words=['missing argument'])
        for option in ('--link-pictures', '--mark-drop', ['--mark-rate', '25'], ['--charts', 'ranking'], ['--chart-text', '30']):
            more = option if isinstance(option, list) else [option]
            self.refused(small, '--against', now, *more, words=['--against writes nothing', 'leave out'])
        broken = pathlib.Path(keep.name) / 'broken'
        broken.mkdir()
        (broken / 'session.json').write_text('{"version": 1, "takes": 3')
        self.refused(small, '--against', broken, words=['broken/session.json'])


unittest.main()
