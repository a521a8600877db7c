"""Every command of flinch on good and bad input: exit status, one clear line, whole files.

The statuses are those of flinch(1): 0 all done, 1 some take failed, 2 wrong use or no session.
"""
import json
import os
import pathlib
import pty
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import unittest

import footage
import interrupt

try:
    import jsonschema
except ImportError:
    jsonschema = None

DOCS = pathlib.Path(__file__).resolve().parents[2] / 'docs'
FLINCH, LIBRARY_USER = (os.path.abspath(sys.argv.pop(1)) for _ in range(2))
made = None  # folder of the footage


def setUpModule():
    global made
    made = pathlib.Path(tempfile.mkdtemp(prefix='flinch-cli-'))
    footage.pan(made / 'good.mkv', 4)
    footage.pan(made / 'other.mp4', 4, seed=2)
    footage.pan(made / 'long.mkv', 120, seed=3, codec=('-c:v', 'mpeg4', '-qscale:v', '4'))
    footage.still(made / 'still.mp4')
    footage.one_frame(made / 'one.mkv')
    footage.no_frames(made / 'none.mkv')
    footage.audio_only(made / 'audio.mka')
    footage.cut(made / 'cut.mkv', made / 'good.mkv')
    footage.cut(made / 'cut.mp4', made / 'other.mp4')
    footage.size_change(made / 'size.ts', made)
    footage.trace(made / 'stranger.csv', 20)
    (made / 'text.mkv').write_text('not a video\n' * 200)
    (made / 'empty.mkv').write_bytes(b'')
    (made / 'empty.csv').write_text('time_us,dx,dy\n')
    (made / 'bare.csv').write_bytes(b'')
    (made / 'short.csv').write_text('time_us,dx,dy\n1000,1,0\n2000,1,0\n')


def tearDownModule():
    shutil.rmtree(made)


class Case(unittest.TestCase):
    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix='case-', dir=made))
        self.out = self.folder / 'out'

    def flinch(self, *args, status=0, **options):
        done = subprocess.run([FLINCH, *map(str, args)], stdout=options.pop('stdout', subprocess.PIPE),
                              stderr=subprocess.PIPE, encoding='utf-8', timeout=300, **options)
        if status is not None:
            self.assertEqual(done.returncode, status, f'{args}\n{done.stdout}\n{done.stderr}')
        return done

    def refused(self, *args, words=(), status=2, **options):
        """One line on stderr that holds every word, nothing on stdout."""
        done = self.flinch(*args, status=status, **options)
        self.assertEqual(done.stderr.count('\n'), 1, done.stderr)
        self.assertTrue(done.stderr.startswith('flinch: '), done.stderr)
        self.assertTrue('; ' in done.stderr, f'says nothing about what to do: {done.stderr}')
        for word in words:
            self.assertIn(str(word), done.stderr)
        return done

    def session(self, *takes, head='session: Trial\n', defaults='{game: Glass Canyon}'):
        path = self.folder / 'session.yaml'
        lines = [head, f'defaults: {defaults}\n', 'takes:\n']
        lines += [f'  - {{{take}}}\n' for take in takes]
        path.write_text(''.join(lines))
        return path

    def take(self, name, file=None, **more):
        more = ''.join(f', {key}: {value}' for key, value in more.items())
        return f'id: {name}, footage: {made / (file or name)}{more}'

    def no_leftovers(self, folder=None):
        folder = folder or self.folder
        self.assertEqual([p for p in folder.rglob('*') if '.part-' in p.name or p.name.startswith('.')], [])
        for path in folder.rglob('*.json'):
            json.loads(path.read_text())
        for path in folder.rglob('*.csv'):
            self.assertTrue(path.read_bytes().endswith(b'\n'), path)

    def measured(self, name):
        return json.loads((self.out / 'takes' / f'{name}.json').read_text())

    def warnings(self, name):
        return ' | '.join(w['text'] for w in self.measured(name)['warnings'])


class Usage(Case):
    def commands(self):
        """Name → its arguments, as in its help."""
        names = re.findall(r'^  (\w+) ', self.flinch('--help').stdout, re.MULTILINE)
        self.assertIn('run', names)
        return {name: self.flinch(name, '--help').stdout.removeprefix(f'Use: flinch {name} ').splitlines()[0]
                for name in names}

    def test_help_is_80_columns_wide(self):
        for args in ([], *([c] for c in self.commands())):
            text = self.flinch(*args, '--help').stdout
            self.assertLessEqual(max(map(len, text.splitlines())), 80, text)
            self.assertIn('Commands:' if not args else f'Use: flinch {args[0]} ', text)
            self.assertEqual(self.flinch('help', *args).stdout, text)

    def test_version(self):
        first, *libraries = self.flinch('--version').stdout.splitlines()
        self.assertRegex(first, r'^flinch \d+\.\d+\.\d+$')
        for line in libraries:
            self.assertRegex(line, r'^  [a-z]+ \d+\.\d+(\.\d+)?$')
        # pkg-config knows of each library what is installed, and the ffmpeg program what it runs with
        said = dict(line.split() for line in libraries)
        for name, package in (('gsl', 'gsl'), ('pango', 'pango'), ('libyaml', 'yaml-0.1'), ('libsndfile', 'sndfile')):
            found = subprocess.run(['pkg-config', '--modversion', package], stdout=subprocess.PIPE, encoding='utf-8')
            self.assertEqual(said[name], found.stdout.strip())
        ffmpeg = subprocess.run(['ffmpeg', '-version'], stdout=subprocess.PIPE, encoding='utf-8').stdout
        for name, version in re.findall(r'^(lib\w+) .* / ([ \d.]+)$', ffmpeg, re.MULTILINE):
            self.assertEqual(said.get(name, version.replace(' ', '')), version.replace(' ', ''), name)

    def test_wrong_words(self):
        self.assertIn('Commands', self.flinch(status=2).stderr)
        self.refused('dance', words=['dance', '--help'])
        for command, arguments in self.commands().items():
            if not arguments.startswith('['):
                self.refused(command, words=['missing argument'])
            self.refused(command, 'x', '--dance', words=['--dance', command])
            self.refused(command, 'x', '-Z', words=['-Z'])
        for command in ('run', 'look', 'show'):
            self.refused(command, 'x', 'y', words=["'y'", 'too many'])

    def test_a_mistyped_word_gets_the_nearest(self):
        for typed, meant in (('rnu', 'run'), ('chek', 'check'), ('clips', 'clip'), ('lok', 'look')):
            self.refused(typed, words=[f"unknown command '{typed}'; did you mean '{meant}'?"])
        self.refused('help', 'sohw', words=["did you mean 'show'?"])
        for command, typed, meant in (('run', '--treads=2', 'threads'), ('look', '--mark-flick', 'mark-flicks'),
                                      ('show', '--chart-titel', 'chart-title'), ('clip', '--crt', 'crf'),
                                      ('look', '--dpi=800', 'cpi'), ('look', '--cm-per-turn', 'degrees-per-count'),
                                      ('check', '--horizontal-fov-deg', 'fov')):
            self.refused(command, 'x', typed, words=[f"unknown option '{typed}'; did you mean '--{meant}'?", command])
        for words in (['transmogrify'], ['x'], ['run', 'x', '--transmogrify'], ['run', 'x', '-Z'],
                      ['run', 'x', '--' + 'w' * 300]):
            self.assertNotIn('did you mean', self.refused(*words).stderr)

    def test_wrong_values(self):
        self.refused('clip', 'x', 'y', '--place', 'under', words=["'under' is no choice; write inset, over or extend"])
        for command in ('run', 'look', 'check'):
            self.refused(command, 'x', '--decoder', 'abacus', words=['--decoder', "'abacus'", 'software, auto'])
        for value in ('-1', '1.5', 'many', '', '1e99', 'nan', '0x10', '257'):
            self.refused('run', 'x', '-o', self.out, f'--jobs={value}', words=['--jobs'])
        for option in ('--cpi', '--degrees-per-count', '--counts-per-turn', '--fov', '--base-rate'):
            for value in ('0', '-1', 'nan', 'inf', '1e30', 'x'):
                self.refused('look', 'x', option, value, words=[option])
        self.refused('look', 'x', '--cpi', words=['--cpi', 'needs a value'])
        self.refused('look', 'x', '--json=yes', words=['takes no value'])
        self.refused('look', 'x', '--fov=90', '--degrees-per-count=1', '--counts-per-turn=360',
                     words=['same thing'])
        self.refused('look', 'x', '--id', 'a/b', words=['a/b', 'letters'])
        self.refused('run', 'x', words=['-o FOLDER'])

    def test_output_that_cannot_be_written(self):
        with open('/dev/full', 'w') as full:
            self.refused('--version', status=1, stdout=full, words=['standard output', 'free space'])
            self.refused('look', made / 'still.mp4', status=1, stdout=full, words=['standard output'])


class Sessions(Case):
    def bad_session(self, text, *words):
        path = self.folder / 'session.yaml'
        path.write_text(text)
        self.refused('run', path, '-o', self.out, words=words)
        self.assertFalse(self.out.exists(), 'nothing may be written')

    def test_unreadable(self):
        self.refused('run', self.folder / 'no.yaml', '-o', self.out, words=['no.yaml'])
        self.refused('run', self.folder, '-o', self.out, words=[self.folder])
        self.bad_session('', 'session.yaml:1:1:', 'empty')
        self.bad_session('session: s\ntakes: [\n', 'session.yaml:3:1:')

    def test_unknown_key(self):
        self.bad_session('session: s\ntakes:\n  - id: a\n    game: g\n    footage: f\n    fotage: g\n',
                         'session.yaml:6:5:', 'fotage', "did you mean 'footage'")

    def test_absurd_values_are_named_with_line_and_column(self):
        for key, value in (('counts_per_inch', '1e12'), ('counts_per_inch', 0), ('counts_per_inch', 'nan'),
                           ('counts_per_inch', '1e400'), ('degrees_per_count', '1e-12'), ('degrees_per_count', -1),
                           ('counts_per_turn', '1e99'), ('horizontal_fov_deg', 180), ('base_rate_hz', '.nan'),
                           ('report_rate_hz', '1e9'), ('sound_offset_s', '1e12'), ('refresh_hz', 0)):
            with self.subTest(key=key, value=value):
                self.bad_session(f'session: s\ntakes:\n  - id: a\n    game: g\n    footage: f\n    {key}: {value}\n',
                                 f'session.yaml:6:{7 + len(key)}:', f"'{key}'")

    def test_two_takes_with_one_id(self):
        self.bad_session('session: s\ntakes:\n  - {id: a, game: g, footage: f}\n'
                         '  - {id: a, game: g, footage: h}\n', 'session.yaml:4:10:', "the id 'a'", 'line 3')

    def test_id_with_a_slash(self):
        self.bad_session('session: s\ntakes:\n  - {id: a/b, game: g, footage: f}\n',
                         'session.yaml:3:10:', 'a/b', 'letters')

    def test_output_folder(self):
        session = self.session(self.take('a', 'still.mp4'))
        (self.folder / 'file').write_text('in the way')
        self.refused('run', session, '-o', self.folder / 'file', words=['file', 'folder'])
        self.refused('run', session, '-o', self.folder / 'file' / 'deeper', words=['folder'])
        self.refused('look', made / 'still.mp4', '-o', self.folder / 'file', words=['folder'])
        self.refused('run', session, '-o', '/proc/no/such', words=['/proc', 'folder'])
        if os.getuid():
            closed = self.folder / 'closed'
            closed.mkdir(mode=0o555)
            self.refused('run', session, '-o', closed, words=['closed', 'folder'])


class Takes(Case):
    def test_bad_takes_do_not_stop_the_others(self):
        bad = {'missing': 'missing.mkv', 'text': 'text.mkv', 'empty': 'empty.mkv', 'audio': 'audio.mka',
               'none': 'none.mkv', 'one': 'one.mkv', 'moov': 'cut.mp4'}
        takes = [self.take(name, file) for name, file in bad.items()]
        session = self.session(self.take('first', 'good.mkv'), *takes, self.take('last', 'other.mp4'))
        done = self.flinch('run', session, '-o', self.out, status=1)
        lines = done.stderr.splitlines()
        self.assertEqual(len(lines), len(bad), done.stderr)
        failed = {f['id']: f['text'] for f in json.loads((self.out / 'session.json').read_text())['failed']}
        self.assertEqual(sorted(failed), sorted(bad))
        for name, file in bad.items():
            line = next(line for line in lines if line.startswith(f'flinch: take {name}: '))
            self.assertIn(file, line)
            self.assertIn(failed[name], line)
            self.assertFalse(list((self.out / 'takes').glob(f'{name}[.-]*')), name)
        self.assertEqual({p.stem for p in (self.out / 'takes').glob('*.json')}, {'first', 'last'})
        self.assertTrue((self.out / 'report.html').exists())
        self.no_leftovers()
        self.flinch('show', self.out)
        self.assertEqual(len(json.loads((self.out / 'session.json').read_text())['failed']), len(bad))

    def test_what_is_missing_is_told_before_the_first_take(self):
        """The first take waits for ever, as a pipe that nobody writes to."""
        os.mkfifo(self.folder / 'waits.mkv')
        session = self.session(self.take('waits', self.folder / 'waits.mkv'), self.take('missing', 'missing.mkv'))
        run = subprocess.Popen([FLINCH, 'run', session, '-o', self.out, '-j', '1'], stderr=subprocess.PIPE,
                               stdout=subprocess.DEVNULL, text=True)
        try:
            self.assertRegex(run.stderr.readline(), 'flinch: take missing: .*missing.mkv: cannot be opened')
        finally:
            run.kill()
            run.wait()
            run.stderr.close()

    def test_alone_each_is_one_clear_line(self):
        for file in ('missing.mkv', 'text.mkv', 'empty.mkv', 'audio.mka', 'none.mkv', 'one.mkv', 'cut.mp4'):
            for command in ('look', 'check'):
                done = self.flinch(command, made / file, status=1)
                if command == 'look' or done.stderr:
                    self.assertEqual(done.stderr.count('\n'), 1, done.stderr)
                self.assertIn(file, done.stdout + done.stderr)

    def test_cut_in_the_middle_is_measured_as_far_as_it_goes(self):
        session = self.session(self.take('cut', 'cut.mkv'), self.take('size', 'size.ts'))
        self.flinch('run', session, '-o', self.out)
        self.assertTrue(30 < self.measured('cut')['footage']['frames'] < 240)
        self.assertRegex(self.warnings('size'), r'480|size')
        self.assertEqual(self.measured('size')['footage']['width'], 320)
        self.no_leftovers()

    def test_no_motion(self):
        session = self.session(self.take('still', 'still.mp4'))
        self.flinch('run', session, '-o', self.out)
        take = self.measured('still')
        self.assertEqual({s['state'] for s in take['states']}, {'unseen'})
        self.assertEqual(take['lapses'], [])
        self.assertIsNone(take['exposure']['off_share'])
        self.assertTrue(take['warnings'])

    def test_traces_that_do_not_belong(self):
        takes = [self.take('stranger', 'good.mkv', trace=made / 'stranger.csv'),
                 self.take('short', 'good.mkv', trace=made / 'short.csv')]
        self.flinch('run', self.session(*takes), '-o', self.out)
        for name in ('stranger', 'short'):
            clock = self.measured(name)['clock']
            self.assertTrue(clock['refused'], name)
            self.assertIsNone(clock['offset_s'], name)
            self.assertIn('clock_refused', [w['code'] for w in self.measured(name)['warnings']])

    def test_report_rate_is_held_against_the_trace(self):
        rates = {'fits': 500, 'half': 1000, 'twice': 250}  # the trace has 500 reports a second
        self.flinch('run', self.session(*(self.take(name, 'good.mkv', trace=made / 'stranger.csv', report_rate_hz=rate)
                                          for name, rate in rates.items()), self.take('unsaid', 'good.mkv')), '-o', self.out)
        told = {name: self.measured(name)['polling'] for name in (*rates, 'unsaid')}
        self.assertAlmostEqual(told['fits']['missed_share'], 0, delta=0.01)
        self.assertAlmostEqual(told['half']['missed_share'], 0.5, delta=0.01)
        self.assertAlmostEqual(told['twice']['found_hz'], 500, delta=1)
        self.assertIsNone(told['unsaid']['found_hz'])
        self.assertEqual({name for name in told if 'polling' in [w['code'] for w in self.measured(name)['warnings']]},
                         {'half', 'twice'})

    def test_a_loggers_own_columns(self):
        own, foreign = made / 'stranger.csv', self.folder / 'foreign.csv'
        rows = [line.split(',') for line in own.read_text().splitlines()[1:]]
        foreign.write_text('Stamp (ms);Pad;Move X;Move Y\n' + ''.join(f'{int(t) / 1000:.3f};9;{x};{y}\n'.replace('.', ',')
                                                                     for t, x, y in rows))
        names = {'time_ms': 'Stamp (ms)', 'dx': 'Move X', 'dy': 'Move Y'}
        mapping = ','.join(f'{known}={name}' for known, name in names.items())
        read = [json.loads(self.flinch('check', made / 'good.mkv', '--json', *options, status=None).stdout)['recordings'][0]['trace']
                for options in (('--trace', own), ('--trace', foreign, '--columns', mapping))]
        self.assertEqual(*({key: trace[key] for key in ('length_s', 'report_rate_hz', 'gaps')} for trace in read))
        self.assertGreater(read[0]['length_s'], 19)
        self.assertIn(f'--columns {mapping}'.split(',')[0], self.flinch('look', made / 'good.mkv', '--trace', foreign, status=1)
                      .stderr.replace("'", ''))
        self.refused('look', made / 'good.mkv', '--trace', foreign, '--columns', 'speed=X', words=['--columns', 'speed'])
        keys = '{' + ', '.join(f'{known}: {name}' for known, name in names.items()) + '}'
        self.flinch('run', self.session(self.take('a', 'good.mkv', trace=foreign, trace_columns=keys)), '-o', self.out)
        self.assertRegex(self.warnings('a'), 'were not read: .*Pad')

    def test_traces_that_cannot_be_read(self):
        takes = [self.take(name, 'good.mkv', trace=made / file)
                 for name, file in (('void', 'empty.csv'), ('bare', 'bare.csv'), ('gone', 'gone.csv'))]
        done = self.flinch('run', self.session(*takes, self.take('fine', 'good.mkv')), '-o', self.out, status=1)
        for name, file in (('void', 'empty.csv'), ('bare', 'bare.csv'), ('gone', 'gone.csv')):
            line = next(line for line in done.stderr.splitlines() if f'take {name}: ' in line)
            self.assertIn(file, line)
        self.measured('fine')

    def test_reuse(self):
        trace = footage.trace(self.folder / 'a.csv', 5)
        session = self.session(self.take('a', 'good.mkv', trace=trace), self.take('b', 'other.mp4'))

        def run(*more):
            return self.flinch('run', session, '-o', self.out, *more).stdout

        def files():
            return {p.name: p.read_bytes() for p in (self.out / 'takes').iterdir()}
        self.assertNotIn('reused', run())
        before = files()
        self.assertIn('2 reused', run('-j', '2'))
        self.assertEqual(files(), before)
        footage.trace(trace, 6)
        self.assertIn('1 reused', run())
        self.assertNotIn('reused', run('--again'))
        self.assertNotIn('reused', run('--first', '3'))
        (self.out / 'takes' / 'b-frames.csv').unlink()
        self.assertIn('1 reused', run('--first', '3'))
        session.write_text(session.read_text().replace('Glass Canyon', 'Pale Harbour'))
        self.assertIn('2 reused', run('--first', '3'))
        self.assertEqual(self.measured('a')['game'], 'Pale Harbour')

    def test_reuse_by_a_copy_of_the_program_and_by_the_library(self):
        session = self.session(self.take('a', 'good.mkv'))
        copied = self.folder / 'elsewhere'
        shutil.copy(FLINCH, copied)
        self.flinch('run', session, '-o', self.out)
        done = subprocess.run([copied, 'run', session, '-o', self.out], stdout=subprocess.PIPE, encoding='utf-8', check=True)
        self.assertIn('1 reused', done.stdout)
        done = subprocess.run([LIBRARY_USER, 'reuse', session, self.out], stdout=subprocess.PIPE,
                              stderr=subprocess.STDOUT, encoding='utf-8')
        self.assertEqual((done.returncode, done.stdout), (0, ''))

    def test_a_decoder_is_used_where_there_is_one_and_changes_no_figure(self):
        session = self.session(*(self.take(k, 'still.mp4') for k in 'abc'))
        self.flinch('run', session, '-o', self.out)
        plain = self.measured('a')
        for decoder in ('auto', 'cuda', 'vaapi', 'software'):
            done = self.flinch('run', session, '-o', self.out, '--again', '--decoder', decoder)
            said = [line for line in done.stderr.splitlines() if 'software decodes' in line]
            self.assertLessEqual(len(said), 1, 'once, not for each take')
            self.assertTrue(decoder != 'software' or not said)
            self.assertTrue(all(decoder in line or decoder == 'auto' for line in said))
            self.assertEqual(self.measured('a'), plain)
            self.assertEqual(self.flinch('run', session, '-o', self.out, '--again', '--quiet', '--decoder',
                                         decoder).stderr, '')
        with open(made / 'still.mp4', 'rb') as pipe:
            cat = subprocess.Popen(['cat'], stdin=pipe, stdout=subprocess.PIPE)
            done = self.flinch('check', '/dev/stdin', '--decoder', 'auto', status=None, stdin=cat.stdout)
            cat.communicate()
        self.assertIn('software decodes: a device is tried on files only', done.stderr)

    def test_side_by_side_is_the_same(self):
        session = self.session(*(self.take(f't{i}', f) for i, f in
                                 enumerate(('good.mkv', 'other.mp4', 'still.mp4', 'cut.mkv'))))
        self.flinch('run', session, '-o', self.folder / 'one', '-j', '1')
        self.flinch('run', session, '-o', self.folder / 'four', '-j', '4')
        for path in (self.folder / 'one').rglob('*.*'):
            if path.is_file() and path.suffix in ('.json', '.csv'):
                same = self.folder / 'four' / path.relative_to(self.folder / 'one')
                self.assertEqual(path.read_bytes(), same.read_bytes(), path)

    def test_without_a_font(self):
        """A fontconfig that knows no folder, as on a bare machine: said before anything is measured or made."""
        bare = self.folder / 'fonts.conf'
        bare.write_text('<?xml version="1.0"?><fontconfig></fontconfig>')
        env = {**os.environ, 'FONTCONFIG_FILE': str(bare)}
        self.refused('run', self.session(self.take('a', 'good.mkv')), '-o', self.out, words=['no font'], env=env)
        self.refused('look', made / 'good.mkv', '-o', self.out, words=['no font'], env=env)
        self.assertFalse(self.out.exists())
        self.flinch('look', made / 'good.mkv', env=env)  # draws nothing


def caught(status, number):
    """Whether a process of that /proc status has a handler for a signal (proc(5))."""
    mask = int(re.search(r'SigCgt:\s*([0-9a-f]+)', status).group(1), 16)
    return mask >> (number - 1) & 1


class Interrupted(Case):
    def test_finished_takes_stay_whole(self):
        session = self.session(self.take('a', 'good.mkv'), self.take('b', 'long.mkv'), self.take('c', 'long.mkv'))
        status, text = interrupt.interrupted([FLINCH, 'run', session, '-o', self.out], rb'1 of 3 done')
        self.assertEqual(status, 1, text)
        self.assertIn('interrupted', text)
        self.measured('a')
        self.assertFalse((self.out / 'session.json').exists())
        self.no_leftovers()
        self.assertIn('1 reused', self.flinch('run', session, '-o', self.out).stdout)

    def test_signal_in_the_middle_of_decoding(self):
        for number in (signal.SIGINT, signal.SIGTERM):
            for command, word in (('look', 'interrupted'), ('check', 'stopped')):
                status, text = interrupt.interrupted([FLINCH, command, made / 'long.mkv'], number=number)
                self.assertEqual(status, 1, text)
                self.assertRegex(text, rf'^flinch: [^\n]*{word}[^\n]*\n$')

    def test_signal_while_a_pipe_says_nothing(self):
        """Whatever is waited for: nobody ever writes."""
        pipe = self.folder / 'pipe'
        os.mkfifo(pipe)
        session = self.session(f'id: a, footage: {pipe}', self.take('b', 'good.mkv', trace=pipe))
        for args in (['look', pipe], ['check', pipe], ['run', pipe, '-o', self.out], ['run', session, '-o', self.out]):
            process = subprocess.Popen([FLINCH, *map(str, args)], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, encoding='utf-8')
            while not caught(pathlib.Path(f'/proc/{process.pid}/status').read_text(), signal.SIGTERM):
                pass  # until it listens
            process.send_signal(signal.SIGTERM)
            answer = process.communicate(timeout=interrupt.PATIENCE_S)
            self.assertEqual(process.returncode, 1, (args, answer))
            self.assertRegex(answer[1], 'stopped|interrupted')
        self.no_leftovers()

    def test_signal_before_the_session_is_read(self):
        """The file is a pipe, so the command waits in its reading until it is given the text."""
        session = self.session(self.take('a', 'long.mkv'))
        for number in (signal.SIGINT, signal.SIGTERM):
            pipe = self.folder / f'pipe-{number}.yaml'
            os.mkfifo(pipe)
            process = subprocess.Popen([FLINCH, 'run', pipe, '-o', self.out], stdout=subprocess.PIPE,
                                       stderr=subprocess.PIPE, encoding='utf-8')
            with open(pipe, 'w') as text:  # opens once the other end reads
                process.send_signal(number)
                text.write(session.read_text())
            answer = process.communicate(timeout=interrupt.PATIENCE_S)
            self.assertEqual(process.returncode, 1, answer)
            self.assertIn('interrupted', answer[1])
            self.assertFalse((self.out / 'takes').exists())


class Untrusted(Case):
    """Files and folders that come from somebody else."""

    def test_lists_of_files_are_no_footage(self):
        """RFC 8216, 4.1 (playlists); FFmpeg formats documentation, concat; ISO/IEC 23009-1 (DASH)."""
        for name, text in (
                ('list.m3u8', f'#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:4,\n{made}/good.mkv\n#EXT-X-ENDLIST\n'),
                ('list.mkv', f'#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:4,\n{made}/good.mkv\n#EXT-X-ENDLIST\n'),
                ('list.ffconcat', f"ffconcat version 1.0\nfile '{made}/good.mkv'\n"),
                ('list.mpd', f'<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" '
                              f'profiles="urn:mpeg:dash:profile:isoff-on-demand:2011"><BaseURL>{made}/good.mkv</BaseURL></MPD>')):
            path = self.folder / name
            path.write_text(text)
            self.refused('look', path, status=1, words=[name, 'names other files'])
            self.refused('check', path, status=1, words=[name])
            session = self.session(self.take('a', 'good.mkv', sound=path))
            done = self.flinch('run', session, '-o', self.out / name, status=None)
            self.assertIn(name, done.stderr + done.stdout + ' | '.join(
                w['text'] for w in json.loads((self.out / name / 'takes/a.json').read_text())['warnings']), done)

    def test_a_list_through_a_pipe_is_refused_as_it_ends(self):
        """The pipe is written once: who opened it a second time would wait for ever."""
        for command in ('look', 'check'):
            pipe = self.folder / f'{command}.m3u8'
            os.mkfifo(pipe)
            process = subprocess.Popen([FLINCH, command, pipe], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
                                       encoding='utf-8', cwd=self.folder)
            with open(pipe, 'w') as text:  # opens once the other end reads
                text.write(f'#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:4,\n{made}/good.mkv\n#EXT-X-ENDLIST\n')
            answer = process.communicate(timeout=interrupt.PATIENCE_S)[1]
            self.assertEqual(process.returncode, 1, answer)
            self.assertRegex(answer, r'^flinch: [^\n]*names other files \(hls\)[^\n]*\n$')

    def results(self):
        self.flinch('run', self.session(self.take('a', 'good.mkv')), '-o', self.out)
        return self.out

    def test_links_in_a_folder_of_results_are_not_followed(self):
        out, prize = self.results(), self.folder / 'prize'
        prize.write_bytes(b'\x89PNG\r\n\x1a\nnobody should see this')
        strip = out / 'strips/a-01.png'
        strip.parent.mkdir(exist_ok=True)
        strip.unlink(missing_ok=True)
        strip.symlink_to(prize)
        self.flinch('show', out)
        self.assertNotIn('bm9ib2R5IHNob3VsZCBzZWUgdGhpc', (out / 'report.html').read_text())
        table = out / 'takes/a-flips.csv'
        table.rename(self.folder / 'moved.csv')
        table.symlink_to(self.folder / 'moved.csv')
        self.assertIn('link', self.flinch('show', out, status=1).stderr)

    def test_ids_that_run_refuses_show_refuses(self):
        out = self.results()
        text = (out / 'session.json').read_text()
        for name in ('../a', '-a', 'a b', 'x' * 500, ''):
            listed = json.loads(text)
            listed['takes'][0]['id'] = name
            (out / 'session.json').write_text(json.dumps(listed))
            self.assertIn('no usable id', self.flinch('show', out, status=1).stderr)
        listed = json.loads(text)
        listed['failed'] = [{'id': '../../elsewhere', 'text': 'gone'}]
        (out / 'session.json').write_text(json.dumps(listed))
        self.flinch('show', out, status=None)
        self.assertNotIn('elsewhere', (out / 'session.json').read_text() + (out / 'report.html').read_text())


class DiskFull(Case):
    def full(self, folder, **options):
        session = self.session(self.take('a', 'good.mkv'), self.take('b', 'still.mp4'))
        done = self.flinch('run', session, '-o', folder, status=1, **options)
        self.assertIn('cannot write', done.stderr)
        for line in done.stderr.splitlines():
            self.assertTrue(line.startswith('flinch: '), done.stderr)
        self.no_leftovers(folder)

    def test_file_size_limit(self):
        def limit():
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (3000, 3000))
        self.full(self.out, preexec_fn=limit)

    def test_small_file_system(self):
        self.out.mkdir()
        mount = ['mount', '-t', 'tmpfs', '-o', 'size=12k', 'tmpfs', str(self.out)]
        if os.getuid() or subprocess.run(mount, stderr=subprocess.DEVNULL).returncode:
            self.skipTest('no right to mount')
        try:
            self.full(self.out)
        finally:
            subprocess.run(['umount', str(self.out)], check=True)


class Printing(Case):
    def test_summary_is_80_columns_wide(self):
        session = self.session(self.take('a-take-with-a-rather-long-identifier', 'good.mkv'),
                               defaults='{game: Ein sehr langer Name für ein Spiel, condition: ein langes Etikett}')
        text = self.flinch('run', session, '-o', self.out).stdout
        for line in text.splitlines():
            if not line.startswith(('report', 'warning')):
                self.assertLessEqual(len(line), 80, line)
        self.assertIn(str(self.out / 'report.html'), text)
        self.assertFalse([line for line in text.splitlines() if line != line.rstrip()])

    def summary(self, *args, **env):
        """The summary as a script or a pipe gets it."""
        env = {**os.environ, 'LC_ALL': 'C.UTF-8', **env}
        return subprocess.run([FLINCH, *args], capture_output=True, text=True, env=env, encoding='utf-8').stdout

    def test_the_answer_comes_first_and_the_bar_adds_up(self):
        text = self.summary('look', made / 'good.mkv')
        self.assertTrue(text.startswith('good: '), text)
        self.assertLessEqual(max(map(len, text.splitlines())), 80, text)
        said = ' '.join(text.split())
        self.assertIn('needs --fov', said)  # options, where there is no session file
        self.assertNotIn('horizontal_fov_deg', said)
        self.assertIn('-o FOLDER writes a report', said)
        bar = next(line for line in text.splitlines() if line.startswith('state'))[13:]
        take = json.loads(self.flinch('look', made / 'good.mkv', '--json').stdout)
        self.assertEqual(len(bar), 67)
        end = take['footage']['duration_s']
        for i, sign in enumerate(bar):
            parts = {s['state'] for s in take['states']
                     if s['start_s'] < (i + 1) * end / 67 - 1e-9 and s['end_s'] > i * end / 67 + 1e-9}
            self.assertEqual(sign, '▄' if {'on', 'off'} <= parts else '▂' if 'off' in parts else
                             '▇' if 'on' in parts else '·', (i, parts))

    def test_plain_where_blocks_cannot_be_shown(self):
        text = self.summary('look', made / 'good.mkv', LC_ALL='C')
        for line in text.splitlines():
            if line.startswith(('state', 'speed')):
                self.assertTrue(line.isascii(), line)

    def on_terminal(self, args, stream, **env):
        """What a terminal on stdout or stderr is sent."""
        ours, theirs = pty.openpty()
        env = {**os.environ, 'LC_ALL': 'C.UTF-8', 'TERM': 'xterm', **env}
        streams = {'stdout': subprocess.DEVNULL, 'stderr': subprocess.DEVNULL, stream: theirs}
        process = subprocess.Popen([FLINCH, *args], env=env, **streams)
        os.close(theirs)
        shown = b''
        try:
            while chunk := os.read(ours, 4096):
                shown += chunk
        except OSError:  # the other end is closed
            pass
        os.close(ours)
        self.assertEqual(process.wait(), 0)
        return shown.decode().replace('\r\n', '\n')

    def test_colour_only_on_a_terminal_and_never_alone(self):
        plain = self.summary('look', made / 'good.mkv')
        self.assertNotIn('\x1b', plain)
        look = ('look', made / 'good.mkv')
        coloured = self.on_terminal(look, 'stdout', NO_COLOR='')
        self.assertIn('\x1b[', coloured)
        self.assertEqual(re.sub(r'\x1b\[[0-9;]*m', '', coloured), plain)
        self.assertEqual(self.on_terminal(look, 'stdout', NO_COLOR='1'), plain)
        self.assertEqual(self.on_terminal(look, 'stdout', TERM='dumb', NO_COLOR=''), plain)

    def test_names_cannot_turn_the_line(self):
        session = self.session(self.take('a', 'good.mkv'), defaults='{game: "\\u2066x\\u202Ey", condition: "\u202e5"}')
        text = self.summary('run', session, '-o', self.out)
        self.assertIn('\ufffdx\ufffdy', text)
        self.assertFalse(re.search('[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]', text), text)

    def test_json_and_quiet(self):
        session = self.session(self.take('a', 'good.mkv'))
        value = json.loads(self.flinch('run', session, '-o', self.out, '--json').stdout)
        self.assertEqual(value['takes'][0]['id'], 'a')
        self.assertEqual(value['settings']['jobs'], 0)
        self.assertEqual(self.flinch('run', session, '-o', self.out, '-q').stdout, '')
        self.assertEqual(json.loads(self.flinch('look', made / 'good.mkv', '--json').stdout)['id'], 'good')
        self.assertEqual(self.flinch('look', made / 'good.mkv', '-q').stdout, '')
        self.assertEqual(json.loads(self.flinch('show', self.out, '--json').stdout)['session'], 'Trial')

    def test_progress_only_on_a_terminal(self):
        look = ('look', made / 'good.mkv')
        self.assertIn('done', self.on_terminal(look, 'stderr'))
        self.assertEqual(self.on_terminal((*look, '-q'), 'stderr'), '')
        self.assertEqual(self.flinch('look', made / 'good.mkv').stderr, '')


class Check(Case):
    def checked(self, *args, status=0):
        """The recordings of --json, which must fit the schema; fields that it does not list are an error."""
        value = json.loads(self.flinch('check', '--json', *args, status=status).stdout)
        if jsonschema:
            schema = json.loads((DOCS / 'check.schema.json').read_text('utf-8'))
            jsonschema.Draft202012Validator.check_schema(schema)
            strict = json.loads(json.dumps(schema).replace('"additionalProperties": true', '"additionalProperties": false'))
            jsonschema.Draft202012Validator(strict).validate(value)
            self.assertFalse(jsonschema.Draft202012Validator(schema).is_valid({**value, 'version': 2}))
        return value['recordings']

    def codes(self, recording):
        return [f['code'] for f in recording['findings']]

    def test_findings(self):
        done = self.flinch('check', made / 'still.mp4', made / 'text.mkv', made / 'cut.mkv', status=1)
        self.assertIn('still.mp4: unusable: nothing moves\n', ' '.join(done.stdout.split('\n    ')))
        self.assertIn('1. film fast camera turns', done.stdout)
        self.assertIn('text.mkv', done.stderr)
        self.assertIn('cut.mkv: ', done.stdout)
        found = self.checked(made / 'still.mp4', made / 'text.mkv', status=1)
        self.assertEqual([f['usable'] for f in found], [False, False])
        self.assertEqual(found[0]['findings'][0]['code'], 'no_motion')
        self.assertEqual(found[0]['findings'][0]['kind'], 'unusable')
        self.assertEqual(found[0]['footage']['frames'], 120)
        self.assertIn('text.mkv', found[1]['error'])
        self.refused('check', made / 'still.mp4', '-q', status=1, words=['still.mp4', 'nothing moves'])

    def test_one_screen(self):
        for file in ('good.mkv', 'still.mp4'):
            text = self.flinch('check', made / file, status=1 if file == 'still.mp4' else None).stdout
            head, *lines = text.removeprefix(str(made) + '/').splitlines()
            self.assertLessEqual(len(lines), 23, text)
            self.assertLessEqual(max(map(len, [head, *lines])), 80, text)
            self.assertRegex(head, rf'^{file}: (usable|unusable)')

    def test_the_first_seconds_alone(self):
        """The rest is not read: with it overwritten the answer is the same."""
        data = bytearray((made / 'long.mkv').read_bytes())
        data[len(data) // 3:] = bytes(len(data) - len(data) // 3)
        (self.folder / 'spoilt.mkv').write_bytes(data)
        whole, = self.checked('--first', 5, made / 'long.mkv', status=None)
        spoilt, = self.checked('--first', 5, self.folder / 'spoilt.mkv', status=None)
        self.assertEqual(whole['footage']['frames'], 5 * footage.RATE)
        self.assertEqual({**whole, 'path': ''}, {**spoilt, 'path': ''})
        self.assertNotIn('short', self.codes(whole))

    def test_lost_frames(self):
        """Every tenth frame of good.mkv taken out: its times show the gaps, until they are closed up."""
        keep = "select='mod(n,10)'"
        footage.ffmpeg('-i', made / 'good.mkv', '-vf', keep, '-fps_mode', 'passthrough', '-c:v', 'libx264',
                       '-preset', 'ultrafast', self.folder / 'lost.mkv')
        lost, = self.checked(self.folder / 'lost.mkv', status=None)
        self.assertEqual(lost['footage']['missing_frames'], 23)  # of 240, the first one not counted
        self.assertIn('dropped', self.codes(lost))

    def test_interlaced_but_not_flagged(self):
        """Rows of two frames in one, in a file that calls itself progressive (FFmpeg's tinterlace); and every second
        frame of the same alone."""
        whole = footage.pan(self.folder / 'whole.mkv', 8, size='640x360')
        for name, rows in (('woven', 'tinterlace=interleave_top,setfield=prog'), ('plain', 'tinterlace=drop_even')):
            file = self.folder / f'{name}.mkv'
            footage.ffmpeg('-i', whole, '-vf', rows, '-c:v', 'libx264', '-preset', 'ultrafast', '-crf', 18, file)
            found, = self.checked(file, status=None)
            self.assertEqual('interlaced' in self.codes(found), name == 'woven')
            if name == 'woven':
                self.assertFalse(found['usable'])
                self.assertIn('odd and even rows show two moments', ' '.join(self.flinch('check', file, status=1).stdout.split()))

    def test_a_trace(self):
        args = (made / 'good.mkv', '--trace', made / 'stranger.csv', '--cpi', 800)
        stranger, = self.checked(*args, status=None)
        self.assertTrue(stranger['trace']['clock']['refused'])
        self.assertIn('clock_refused', self.codes(stranger))
        self.assertIn('not lined up', self.flinch('check', *args, status=None).stdout)
        self.refused('check', made / 'good.mkv', made / 'still.mp4', '--trace', made / 'stranger.csv', words=['--trace'])
        self.assertIn('gone.csv', self.flinch('check', made / 'good.mkv', '--trace', made / 'gone.csv', status=1).stderr)

    def test_hostile_names(self):
        name = 'x\n\x1b[31mred\r\x07.mp4'
        (self.folder / name).symlink_to(made / 'still.mp4')
        (self.folder / ('gone' + name)).symlink_to(self.folder / 'nowhere')
        for args in ((self.folder / name,), (self.folder / ('gone' + name),), (self.folder / name, '-q'),
                     (self.folder / name, made / 'still.mp4')):
            done = self.flinch('check', *args, status=1)
            for text in (done.stdout, done.stderr):
                self.assertNotRegex(text, r'[\x00-\x09\x0b-\x1f\x7f]')
            self.assertRegex(done.stdout + done.stderr, r'x(\ufffd\ufffd|  )\[31mred(\ufffd\ufffd|  )\.mp4')
        found, = self.checked(self.folder / name, status=1)
        self.assertTrue(found['path'].endswith(name), 'JSON has escapes of its own')


class Show(Case):
    def test_rebuilds(self):
        session = self.session(self.take('a', 'good.mkv'), self.take('b', 'other.mp4'))
        self.flinch('run', session, '-o', self.out)
        before = {p: p.read_bytes() for p in self.out.rglob('*') if p.is_file()}
        for path in self.out.rglob('charts/*'):
            path.unlink()
        (self.out / 'report.html').unlink()
        self.flinch('show', self.out)
        after = {p: p.read_bytes() for p in self.out.rglob('*') if p.is_file()}
        self.assertEqual(sorted(before), sorted(after))
        for path in before:
            if path.suffix in ('.json', '.csv', '.edl', '.vtt', '.ffmeta', '.otio'):
                self.assertEqual(before[path], after[path], path)

    def test_bad_folders(self):
        self.refused('show', self.folder / 'no', words=['session.json', 'flinch run'])
        self.out.mkdir()
        (self.out / 'session.json').write_text('{"session": 3}')
        self.refused('show', self.out, words=['session.json', 'flinch run'])
        (self.out / 'session.json').write_text('{')
        self.refused('show', self.out, words=['session.json'])

    def test_a_damaged_take_is_named(self):
        session = self.session(self.take('a', 'good.mkv'), self.take('b', 'other.mp4'))
        self.flinch('run', session, '-o', self.out)
        path = self.out / 'takes' / 'a.json'
        path.write_text(path.read_text()[:500])
        done = self.flinch('show', self.out, status=1)
        self.assertEqual(done.stderr.count('\n'), 1, done.stderr)
        self.assertIn('a.json', done.stderr)
        value = json.loads((self.out / 'session.json').read_text())
        self.assertEqual([t['id'] for t in value['takes']], ['b'])
        self.assertEqual([f['id'] for f in value['failed']], ['a'])


class Marks(Case):
    def test_the_edit_is_counted_as_asked(self):
        self.flinch('look', made / 'good.mkv', '-o', self.out, '--id', 'a', '--mark-rate', '29.97', '--mark-start', '01:00:00;00')
        self.assertIn('FCM: DROP FRAME\n', (self.out / 'marks/a.edl').read_text())
        start = json.loads((self.out / 'marks/a.otio').read_text())['global_start_time']
        self.assertEqual((start['value'], start['rate']), (107892, 30000 / 1001))  # SMPTE ST 12-1
        self.flinch('show', self.out, '--mark-rate=25', '--mark-flicks=none')
        self.assertIn('FCM: NON-DROP FRAME\n', (self.out / 'marks/a.edl').read_text())
        start = json.loads((self.out / 'marks/a.otio').read_text())['global_start_time']
        self.assertEqual((start['value'], start['rate']), (0, 25))

    def test_wrong_values(self):
        for command in (['run', 'x', '-o', self.out], ['look', 'x', '-o', self.out], ['show', self.out]):
            for words in (['--mark-flicks', 'some'], ['--mark-rate', '29,97'], ['--mark-rate', '0'], ['--mark-start', 'noon'],
                          ['--mark-start', '00:01:00;00'], ['--mark-drop', '--mark-rate', '25']):
                self.refused(*command, *words, words=[words[0], words[-1]])
        self.refused('show', self.out, '--mark-start=01:00:00:12', words=['--mark-rate'])
        self.assertFalse(self.out.exists(), 'nothing may be written')


class Library(Case):
    def test_a_stranger_measures_and_writes(self):
        done = subprocess.run([LIBRARY_USER, made / 'good.mkv', self.out], stdout=subprocess.PIPE,
                              stderr=subprocess.STDOUT, encoding='utf-8')
        self.assertEqual((done.returncode, done.stdout), (0, ''))
        self.assertEqual(self.measured('a')['id'], 'a')
        self.flinch('show', self.out)
        self.no_leftovers()


if __name__ == '__main__':
    if not shutil.which('ffmpeg'):
        print('skipped: the ffmpeg program is not installed')
        sys.exit(77)
    unittest.main(verbosity=2)
