"""Several runs that share one session and one folder, and the recipes of docs/sharing.md for one machine."""
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

import sharing

FLINCH = os.path.abspath(sys.argv.pop(1))
made = None


def setUpModule():
    global made
    made = pathlib.Path(tempfile.mkdtemp(prefix='flinch-sharing-'))
    sharing.survey(made)
    subprocess.run([FLINCH, 'run', made / 'survey.yaml', '-o', made / 'whole', '-q'], check=True, timeout=300)


def tearDownModule():
    shutil.rmtree(made)


class Case(unittest.TestCase):
    def setUp(self):
        self.session = made / 'survey.yaml'
        self.out = pathlib.Path(tempfile.mkdtemp(prefix='case-', dir=made)) / 'out'

    def flinch(self, *args, status=0):
        done = subprocess.run([FLINCH, *map(str, args)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding='utf-8',
                              timeout=300)
        self.assertEqual(done.returncode, status, done.stdout + done.stderr)
        return done

    def same_as_whole(self):
        whole, shared = sharing.written(made / 'whole'), sharing.written(self.out)
        self.assertEqual(sorted(whole), sorted(shared))
        for path in whole:
            self.assertTrue(whole[path] == shared[path], f'{path} differs')
        self.assertEqual([p for p in self.out.rglob('.part-*')], [])


class Only(Case):
    def test_listed_stored_gathered(self):
        self.assertEqual(self.flinch('run', self.session, '--list').stdout, 't0\nt1\nt2\nt3\n')
        self.assertIn('2 of 2 stored', self.flinch('run', self.session, '-o', self.out, '--only', 't3,t1').stdout)
        self.assertEqual(sorted(p.name for p in (self.out / 'takes').glob('*.json')), ['t1.json', 't3.json'])
        self.assertFalse((self.out / 'session.json').exists())
        self.assertFalse((self.out / 'report.html').exists())
        self.assertIn('(1 reused)', self.flinch('run', self.session, '-o', self.out, '--only', 't0,t1').stdout)
        self.assertIn('3 reused', self.flinch('run', self.session, '-o', self.out).stdout)
        self.same_as_whole()

    def test_show_gathers_what_is_stored(self):
        self.flinch('run', self.session, '-o', self.out, '--only', 't2,t0')
        self.flinch('show', self.out, '-q')
        self.assertTrue((self.out / 'report.html').exists())
        self.assertIn('"t0"', (self.out / 'session.json').read_text())
        self.assertIn('"t2"', (self.out / 'session.json').read_text())

    def test_wrong_words(self):
        for words, says in ((('--only', 'tt1'), "mean 't1'"), (('--only', 'canyon'), '--list'), (('--only', ''), 'empty'),
                            (('--only', 't1,'), '--list'), (('--only', 't1', '--json'), '--json')):
            done = self.flinch('run', self.session, '-o', self.out, *words, status=2)
            self.assertIn(says, done.stderr)
            self.assertEqual(done.stderr.count('\n'), 1, done.stderr)
        self.assertFalse(self.out.exists())

    def test_a_take_that_fails_is_named(self):
        session = self.out.parent / 'bad.yaml'
        session.write_text(self.session.read_text() + '  - {id: gone, footage: gone.mkv}\n')
        done = self.flinch('run', session, '-o', self.out, '--only', 'gone,t0', status=1)
        self.assertIn('1 of 2 stored', done.stdout)
        self.assertIn('take gone: ', done.stderr)


class AtOnce(Case):
    def test_two_whole_runs_on_one_folder(self):
        both = [subprocess.Popen([FLINCH, 'run', self.session, '-o', self.out, '-j', '2', '-q'], stderr=subprocess.PIPE)
                for _ in range(2)]
        for process in both:
            self.assertEqual((process.communicate(timeout=300)[1], process.returncode), (b'', 0))
        self.same_as_whole()

    @unittest.skipUnless(shutil.which('make'), 'make is not installed')
    def test_make_as_the_guide_says(self):
        (self.out.parent / 'survey.mk').write_text(sharing.recipe('make'))
        tools = self.out.parent / 'bin'
        tools.mkdir()
        (tools / 'flinch').symlink_to(FLINCH)
        make = ['make', '-j2', '-f', 'survey.mk', f'session={self.session}', f'folder={self.out}']
        env = {**os.environ, 'PATH': f'{tools}:{os.environ["PATH"]}'}
        done = subprocess.run(make, cwd=self.out.parent, env=env, stdout=subprocess.PIPE, encoding='utf-8', check=True, timeout=300)
        self.assertEqual(done.stdout.count('--only'), 4, done.stdout)
        self.same_as_whole()
        done = subprocess.run(make, cwd=self.out.parent, env=env, stdout=subprocess.PIPE, encoding='utf-8', check=True, timeout=300)
        self.assertIn('up to date', done.stdout)


if __name__ == '__main__':
    if not shutil.which('ffmpeg'):
        print('skipped: the ffmpeg program is not installed')
        sys.exit(77)
    unittest.main(verbosity=2)
