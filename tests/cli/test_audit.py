"""flinch audit: moments drawn and shown without labels, and the answers to them weighed.

A small recording is measured; on and off in turn are then written into its file, as docs/take.schema.json has them, so
that what was measured at every moment is known by hand.
"""
import csv
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

import footage

try:
    import jsonschema
except ImportError:
    jsonschema = None

DOCS = pathlib.Path(__file__).resolve().parents[2] / 'docs'
FLINCH = os.path.abspath(sys.argv.pop(1))
SECONDS, STRETCH_S, BASE_HZ = 6, 0.5, 30
made = None


def put_stretches(out, name):
    """On and off in turn, STRETCH_S each, turning throughout; both base rates BASE_HZ."""
    path = out / 'takes' / f'{name}.json'
    take = json.loads(path.read_text())
    end = take['footage']['duration_s']
    edges = [i * STRETCH_S for i in range(round(end / STRETCH_S))] + [end]
    spans = [('off' if i % 2 else 'on', a, b) for i, (a, b) in enumerate(zip(edges, edges[1:]))]
    take['states'] = [{'state': s, 'start_s': a, 'end_s': b, 'confidence': 1, 'reason': None, **{k: v for k, v in take['states'][0].items()
                       if k not in ('state', 'start_s', 'end_s', 'confidence', 'reason')}} for s, a, b in spans]
    take['lapses'] = []
    take['base_rate_on_hz'] = take['base_rate_off_hz'] = BASE_HZ
    path.write_text(json.dumps(take))
    frames = out / 'takes' / f'{name}-frames.csv'
    with open(frames, newline='') as f:
        rows = list(csv.DictReader(f))
    with open(frames, 'w', newline='') as f:
        writer = csv.DictWriter(f, rows[0].keys(), lineterminator='\n')
        writer.writeheader()
        writer.writerows({**row, 'camera_speed_deg_s': 60} for row in rows)  # a plane picture that slides is no turn


def state_at(time_s):
    return 'off' if int(time_s / STRETCH_S) % 2 else 'on'


def check_schema(value, name):
    """Fields that the schema does not list are an error."""
    if jsonschema:
        schema = json.loads((DOCS / f'{name}.schema.json').read_text('utf-8').replace('"additionalProperties": true', '"additionalProperties": false'))
        jsonschema.Draft202012Validator.check_schema(schema)
        jsonschema.Draft202012Validator(schema).validate(value)


def setUpModule():
    global made
    made = pathlib.Path(tempfile.mkdtemp(prefix='flinch-audit-'))
    footage.pan(made / 'a.mkv', SECONDS)
    footage.pan(made / 'b.mkv', SECONDS, seed=2)
    footage.ffmpeg('-i', made / 'a.mkv', '-vf', 'reverse', '-c:v', 'libx264', '-preset', 'ultrafast', '-crf', '18', made / 'backwards.mkv')
    (made / 'session.yaml').write_text('session: Trial <survey>\ndefaults: {game: Glass Canyon, horizontal_fov_deg: 90}\ntakes:\n'
                                       '  - {id: a, footage: a.mkv}\n  - {id: b, footage: b.mkv}\n')
    subprocess.run([FLINCH, 'run', made / 'session.yaml', '-o', made / 'measured', '--no-strips', '-q'], check=True)
    for name in 'ab':
        put_stretches(made / 'measured', name)


def tearDownModule():
    shutil.rmtree(made)


class Case(unittest.TestCase):
    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix='case-', dir=made))
        self.out = made / self.folder.name / 'out'
        shutil.copytree(made / 'measured', self.out)

    def audit(self, *args, status=0):
        session = () if '--session' in args or '--footage' in args else ('--session', made / 'session.yaml')
        done = subprocess.run([FLINCH, 'audit', self.out, *map(str, args), *session], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              encoding='utf-8', timeout=300)
        self.assertEqual(done.returncode, status, f'{args}\n{done.stdout}\n{done.stderr}')
        return done

    def refused(self, *args, words=(), status=2):
        done = self.audit(*args, status=status)
        self.assertEqual((done.stdout, done.stderr.count('\n')), ('', 1), done)
        self.assertTrue(done.stderr.startswith('flinch: ') and '; ' in done.stderr, done.stderr)
        for word in words:
            self.assertIn(str(word), done.stderr)

    def asked(self, *args):
        """What the page asks, after flinch audit with these options."""
        self.audit('-q', *args)
        page = (self.out / 'audit' / 'audit.html').read_text('utf-8')
        return json.loads(re.search(r'<script type="application/json" id="asked">(.*?)</script>', page)[1])

    def answers(self, change=lambda i, word: word, *args):
        """A file as the page saves it, right but for what change makes of answer i."""
        head = self.asked('-n', 12, *args)
        moments = head.pop('moments')
        head['asked'] = len(moments)
        head['answers'] = [{**m, 'answer': change(i, state_at(m['time_s']))} for i, m in enumerate(moments)]
        path = self.folder / 'answers.json'
        path.write_text(json.dumps(head))
        check_schema(head, 'audit-answers')
        return path

    def edit(self, path, **fields):
        path.write_text(json.dumps({**json.loads(path.read_text()), **fields}))
        return path

    def eye(self):
        return json.loads((self.out / 'session.json').read_text())['checked_by_eye']


class Asking(Case):
    def test_moments_keep_their_distance(self):
        moments = self.asked('-n', 15)['moments']
        self.assertEqual(len(moments), 15)
        self.assertEqual(len({(m['take'], int(m['time_s'] / STRETCH_S)) for m in moments}), 15, 'one a stretch')
        for m in moments:
            in_stretch = m['time_s'] % STRETCH_S
            edges = [e for e, there in ((in_stretch, m['time_s'] > STRETCH_S),
                                        (STRETCH_S - in_stretch - 1 / footage.RATE, m['time_s'] < SECONDS - STRETCH_S)) if there]
            self.assertGreater(min(edges), 1 / BASE_HZ - 1e-5, m)

    def test_the_seed_decides(self):
        first, again, other = (self.asked('-n', 9, '--seed', seed) for seed in (3, 3, 4))
        self.assertEqual(first, again)
        self.assertNotEqual(first['moments'], other['moments'])

    def test_what_is_told(self):
        told = self.audit('-n', 60).stdout
        self.assertLessEqual(max(map(len, told.splitlines())), 80 + len(str(self.out)), told)
        self.assertRegex(told, r'audit\.html: \d+ moments\n')
        self.assertIn('fewer than asked for', told)
        self.assertEqual([p.name for p in (self.out / 'audit').iterdir()], ['audit.html'])

    def test_json(self):
        told = json.loads(self.audit('-n', 10, '--json').stdout)
        check_schema(told, 'audit')
        self.assertEqual([told[k] for k in ('asked', 'moments', 'on_turning', 'off', 'near_edge')], [10, 10, 4, 3, 3])
        self.assertTrue(pathlib.Path(told['page']).samefile(self.out / 'audit' / 'audit.html'))
        self.assertIsNone(told['checked_by_eye'])

    def test_footage_that_is_not_there(self):
        hidden = self.folder / 'nowhere.yaml'
        hidden.write_text((made / 'session.yaml').read_text())  # its footage would lie beside it
        self.refused('--session', hidden, words=['a.mkv'], status=1)
        self.refused('--session', self.folder / 'no.yaml', words=['no.yaml'])
        self.refused('--footage', made / 'a.mkv', words=['2 takes', '--session'])
        self.assertFalse((self.out / 'audit' / 'audit.html').exists())

    def test_footage_of_another_take(self):
        other = self.folder / 'other.yaml'
        other.write_text((made / 'session.yaml').read_text().replace('footage: a', 'footage: ../backwards').replace('footage: b', 'footage: ../b'))
        self.refused('--session', other, words=['backwards.mkv', 'does not move as take a was measured to'])
        self.assertFalse((self.out / 'audit' / 'audit.html').exists())

    def test_wrong_use(self):
        self.refused('-n', '2', words=['--moments'])
        self.refused('--seed', '-1', words=['--seed'])


class Answers(Case):
    def test_agreement_goes_into_report_and_session(self):
        told = self.audit('--answers', self.answers()).stdout
        self.assertTrue(told.startswith('checked by eye: 12 of 12 agree\n'), told)
        self.assertLessEqual(max(map(len, told.splitlines())), 80, told)
        self.assertFalse((self.out / 'audit' / 'differences.html').exists())
        self.assertTrue('Checked by eye: 12 of 12 agree.' in (self.out / 'report.html').read_text('utf-8'))
        eye = self.eye()
        self.assertEqual([eye['agree'], eye['differ'], eye['cannot_tell'], eye['agreement']], [12, 0, 0, 1])
        # Wilson's limits of 4 of 4, by his formula: n / (n + z²), z = 1.959964.
        self.assertAlmostEqual(eye['near_edge']['agreement_low'], 4 / (4 + 1.959964 ** 2), 5)
        self.assertEqual(eye['near_edge']['agreement_high'], 1)

    def test_differences_are_shown_side_by_side(self):
        wrong = self.answers(lambda i, word: {3: {'on': 'off', 'off': 'on'}[word], 5: 'cannot tell'}.get(i, word))
        told = self.audit('--answers', wrong).stdout
        self.assertIn('checked by eye: 10 of 11 agree, 1 could not be seen\n', told)
        answer = json.loads(wrong.read_text())['answers'][3]
        self.assertRegex(told, rf"(?m)^{answer['take']} +{answer['time_s']:.3f} s  {state_at(answer['time_s'])} +{answer['answer']} ")
        page = (self.out / 'audit' / 'differences.html').read_text('utf-8')
        self.assertTrue(f"Measured: <strong>{state_at(answer['time_s'])}</strong>. By eye: <strong>{answer['answer']}</strong>" in page)
        self.assertEqual(page.count('<section'), 1)
        self.assertEqual([d['take'] for d in self.eye()['differences']], [answer['take']])
        told = json.loads(self.audit('--answers', wrong, '--json').stdout)
        check_schema(told, 'audit')
        self.assertEqual(told['checked_by_eye'], self.eye())
        check_schema(json.loads((self.out / 'session.json').read_text()), 'session')
        # Put right, the page of differences goes.
        self.audit('--answers', self.answers(), '-q')
        self.assertFalse((self.out / 'audit' / 'differences.html').exists())

    def test_it_needs_no_footage(self):
        wrong = self.answers(lambda i, word: 'on' if i else word)
        done = self.audit('--answers', wrong, '--session', self.folder / 'no.yaml')
        self.assertIn('agree', done.stdout)
        self.assertIn('no.yaml', done.stderr)
        self.assertLess(self.eye()['agree'], 12)

    def test_it_stays_until_a_take_is_measured_anew(self):
        self.audit('--answers', self.answers(), '-q')
        subprocess.run([FLINCH, 'show', self.out, '-q'], check=True)
        self.assertEqual(self.eye()['agree'], 12)
        self.assertTrue('Checked by eye' in (self.out / 'report.html').read_text('utf-8'))
        path = self.out / 'takes' / 'a.json'
        self.edit(path, key='0' * 64)
        subprocess.run([FLINCH, 'show', self.out, '-q'], check=True)
        self.assertIsNone(self.eye())
        self.assertFalse('Checked by eye' in (self.out / 'report.html').read_text('utf-8'))

    def test_answers_about_something_else_are_refused(self):
        good = self.answers()
        before = {p: p.read_bytes() for p in self.out.rglob('*') if p.is_file()}
        self.refused('--answers', self.folder / 'gone.json', words=['gone.json'])
        self.refused('--answers', self.out / 'session.json', words=['session.json', 'no answers of an audit'])
        self.refused('--answers', made / 'a.mkv', words=['a.mkv'])
        text = good.read_text()
        takes = json.loads(text)['takes']
        self.refused('--answers', self.edit(good, version=2), words=['"version" is not one'])
        good.write_text(text)
        self.refused('--answers', self.edit(good, takes=[{**t, 'key': '0' * 64} for t in takes]),
                     words=['another measurement of take', 'make the audit again'])
        self.refused('--answers', self.edit(good, takes=[{**t, 'id': 'c'} for t in takes]), words=["'c'"])
        good.write_text(text)
        self.refused('--answers', self.edit(good, answers=[]), words=['nothing is answered'])
        self.assertEqual({p: p.read_bytes() for p in self.out.rglob('*') if p.is_file()}, before, 'nothing may be written')


if __name__ == '__main__':
    if not shutil.which('ffmpeg'):
        print('skipped: the ffmpeg program is not installed')
        sys.exit(77)
    unittest.main(verbosity=2)
