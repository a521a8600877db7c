"""flinch clip: the clips are decoded by the ffmpeg program and looked at here.

A small recording whose picture turns white as a click sounds is measured; lapses are then written into its
file, as docs/take.schema.json has them, so that where everything belongs is known by hand.
"""
import array
import json
import os
import pathlib
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
FLINCH = os.path.abspath(sys.argv.pop(1))
RATE, WIDTH, HEIGHT = footage.RATE, 640, 360
WHITE_S, TRIP_S, RETURN_S = 2.0, 1.5, 2.5
OFF = (0xff, 0x9a, 0x5c)  # as in src/show/draw/palette.c, dark
made = None


def film(path, extra='', sound="0.9*between(t,2,2.002)", codec=('-c:v', 'libx264', '-preset', 'ultrafast', '-crf', '18')):
    """footage.pan with white from WHITE_S on for a tenth of a second, and a click."""
    plain = footage.pan(made / 'plain.mkv', 4, size=f'{WIDTH}x{HEIGHT}')
    white = f"drawbox=t=fill:color=white:enable='between(t,{WHITE_S - 0.001},{WHITE_S + 0.099})'"
    footage.ffmpeg('-i', plain, '-f', 'lavfi', '-i', f"aevalsrc='{sound}':s=48000:d=4", '-vf', white + extra, '-pix_fmt', 'yuv420p', *codec,
                   '-c:a', 'flac', path)
    return path


def put_lapse(out, name, trip_s=TRIP_S, return_s=RETURN_S, **more):
    """Rewrites the states of a take: on, off from trip to return, on."""
    path = out / 'takes' / f'{name}.json'
    take = json.loads(path.read_text())
    end = take['footage']['duration_s']
    spans = [('on', 0, trip_s), ('off', trip_s, return_s), ('on', return_s, end)]
    take['states'] = [{'state': s, 'start_s': a, 'end_s': b, 'confidence': 1, 'reason': None, 'unique_rate_hz': None,
                       'evidence': ['rate'] if s == 'off' else []} for s, a, b in spans]
    take['lapses'] = [{'start_s': trip_s, 'end_s': return_s, 'start_range_s': [trip_s] * 2, 'end_range_s': [return_s] * 2,
                       'has_trip': True, 'has_return': True, 'unique_rate_hz': 30, 'confidence': 1, 'evidence': ['rate'],
                       'end_found': 'seen', 'parted_before': False, 'parted_after': False, 'run': 0, 'runs': 1, **more}]
    path.write_text(json.dumps(take))
    return take


def measure(out, movie, name):
    subprocess.run([FLINCH, 'look', movie, '-o', out, '--id', name, '--game', 'Glass Canyon', '--fov', '90', '--no-strips', '-q'], check=True)


def setUpModule():
    global made
    made = pathlib.Path(tempfile.mkdtemp(prefix='flinch-clip-'))
    film(made / 'take.mkv')
    measure(made / 'out', made / 'take.mkv', 'a')
    put_lapse(made / 'out', 'a')
    # A second take: the same recording, said to have tripped a little later.
    measure(made / 'second', made / 'take.mkv', 'b')
    put_lapse(made / 'second', 'b', TRIP_S + 0.2, RETURN_S + 0.2)
    for path in (made / 'second/takes').iterdir():
        shutil.copy(path, made / 'out/takes')
    session = json.loads((made / 'out/session.json').read_text())
    session['takes'] += json.loads((made / 'second/session.json').read_text())['takes']
    (made / 'out/session.json').write_text(json.dumps(session))


def tearDownModule():
    shutil.rmtree(made)


def pictures(path):
    """Frames as rows of RGB bytes, with their width and height."""
    size = subprocess.run(['ffprobe', '-v', 'error', '-select_streams', 'v', '-show_entries', 'stream=width,height', '-of', 'csv=p=0', path],
                          check=True, stdout=subprocess.PIPE, encoding='utf-8').stdout.split(',')
    width, height = int(size[0]), int(size[1])
    raw = subprocess.run(['ffmpeg', '-v', 'error', '-i', path, '-f', 'rawvideo', '-pix_fmt', 'rgb24', '-fps_mode', 'passthrough', '-'],
                         check=True, stdout=subprocess.PIPE).stdout
    step = 3 * width * height
    return width, height, [raw[i:i + step] for i in range(0, len(raw), step)]


def click(path):
    """Time of the loudest sample, s."""
    raw = subprocess.run(['ffmpeg', '-v', 'error', '-i', path, '-map', '0:a', '-ac', '1', '-ar', '48000', '-f', 'f32le', '-'], check=True,
                         stdout=subprocess.PIPE).stdout
    sound = array.array('f', raw)
    return max(range(len(sound)), key=lambda i: abs(sound[i])) / 48000


def streams(path):
    return json.loads(subprocess.run(['ffprobe', '-v', 'error', '-show_streams', '-show_format', '-of', 'json', path], check=True,
                                     stdout=subprocess.PIPE).stdout)


class View:
    """The drawn part of a clip, found by its colours alone."""

    def __init__(self, path):
        self.width, self.height, self.frames = pictures(path)

    def pixel(self, n, x, y):
        at = 3 * (y * self.width + x)
        return self.frames[n][at:at + 3]

    def is_off(self, n, x, y):
        return all(abs(a - b) < 40 for a, b in zip(self.pixel(n, x, y), OFF))

    def luma(self, n, x, y):
        r, g, b = self.pixel(n, x, y)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    def white(self, *columns, row=None):
        """Frames that are white in three places about each column, well inside the picture."""
        y = row or self.height // 4
        return [n for n in range(len(self.frames))
                if all(min(self.pixel(n, x + dx, y + dx)) > 235 for x in columns for dx in (-60, 0, 40))]

    def off_run(self, n, left=0, right=None):
        """Row and columns [x0, x1) of the longest stretch of the colour of off in the lower quarter."""
        best = (0, 0, 0)
        for y in range(3 * self.height // 4, self.height):
            columns = [x for x in range(left, right or self.width) if self.is_off(n, x, y)]
            if columns and columns[-1] + 1 - columns[0] > best[2] - best[1] and len(columns) > 0.8 * (columns[-1] + 1 - columns[0]):
                best = (y, columns[0], columns[-1] + 1)
        return best

    def mark(self, n, y, left=0, right=None):
        """Column of the mark: bright in all rows from well above the states' row to it."""
        rows = range(y - 12, y)
        return max(range(left, right or self.width), key=lambda x: min(self.luma(n, x, v) for v in rows))


class Case(unittest.TestCase):
    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix='case-', dir=made))
        self.file = self.folder / 'clip.mp4'

    def clip(self, *args, status=0, out=None, **options):
        done = subprocess.run([FLINCH, 'clip', *map(str, args)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding='utf-8',
                              timeout=300, **options)
        self.assertEqual(done.returncode, status, f'{args}\n{done.stdout}\n{done.stderr}')
        return done

    def fast(self, *args, **options):
        return self.clip(made / 'out', *args, '--preset', 'ultrafast', '-o', self.file, **options)

    def refused(self, *args, words=(), status=2, folder=None, **options):
        done = self.clip(folder or made / 'out', *args, status=status, **options)
        self.assertEqual(done.stderr.count('\n'), 1, done.stderr)
        self.assertTrue(done.stderr.startswith('flinch: '), done.stderr)
        self.assertIn('; ', done.stderr, 'says nothing about what to do')
        self.assertEqual(done.stdout, '')
        for word in words:
            self.assertIn(str(word), done.stderr)
        self.nothing_left()

    def nothing_left(self):
        left = [p for p in made.rglob('*') if '.part-' in p.name] + list(self.folder.glob('clip.*'))
        self.assertEqual(left, [])


class Frames(Case):
    def test_everything_is_at_the_right_frame(self):
        """Half a second before the lapse: the clip runs from 1.0 to 3.0 s at 60 pictures a second."""
        self.fast('a', '--lapses', 1, '--lead', 0.5, '--tail', 0.5)
        view = View(self.file)
        self.assertEqual(len(view.frames), 120)
        self.assertEqual((view.width, view.height), (WIDTH, HEIGHT))
        self.assertEqual(view.white(100, 300, 420), list(range(60, 66)))
        y, x0, x1 = view.off_run(0)
        self.assertGreater(x1 - x0, WIDTH // 5)
        marks = [view.mark(n, y) for n in range(120)]
        self.assertEqual(marks, sorted(marks))
        self.assertLess(max(b - a for a, b in zip(marks, marks[1:])), 8)
        # It reaches the stretch of off as the lapse begins and leaves it as the lapse ends.
        self.assertAlmostEqual(next(n for n in range(120) if marks[n] >= x0), 30, delta=1)
        self.assertAlmostEqual(next(n for n in range(120) if marks[n] >= x1), 90, delta=1)
        # State in words and as a patch, beside the picture, in the very frames of the lapse.
        beside = [sum(view.is_off(n, x, y) for x in range(int(0.77 * WIDTH), int(0.95 * WIDTH), 2) for y in range(10, HEIGHT // 4, 2))
                  for n in range(120)]
        self.assertEqual([n for n in range(120) if beside[n] > 20], list(range(30, 90)))

    def test_sound_is_in_step(self):
        for ending in ('mp4', 'mkv'):
            file = self.folder / f'sound.{ending}'
            self.clip(made / 'out', 'a', '--from', 1, '--to', 3, '--preset', 'ultrafast', '-o', file)
            start = {s['codec_type']: float(s['start_time']) for s in streams(file)['streams']}
            self.assertAlmostEqual(click(file) + start['audio'] - start['video'], 1, delta=0.01, msg=ending)

    def test_slow_motion_shows_each_frame_n_times(self):
        done = self.fast('a', '--from', 1.9, '--to', 2.2, '--slow', 4)
        self.assertIn('sound is left out', done.stdout)
        view = View(self.file)
        self.assertEqual(len(view.frames), 18 * 4)
        self.assertEqual(view.white(100, 300, 420), list(range(24, 48)))
        self.assertEqual([s['codec_type'] for s in streams(self.file)['streams']], ['video'])

    def test_two_takes_line_up_on_the_trip(self):
        self.fast('a', '--lapses', 1, '--beside', 'b', '--lead', 0.5, '--tail', 0.3, '--height', 720)
        view = View(self.file)
        half = view.width // 2
        for left, right in ((0, half), (half, view.width)):
            y, x0, _ = view.off_run(0, left, right)
            marks = [view.mark(n, y, left, right) for n in range(25, 36)]
            self.assertAlmostEqual(next(n for n, x in enumerate(marks, 25) if x >= x0), 30, delta=1)
        # The second take's white comes as much earlier as its trip came later.
        for x, first in ((half // 2, 60), (half + half // 2, 48)):
            self.assertEqual(view.white(x), list(range(first, first + 6)))

    def test_two_takes_line_up_in_time(self):
        self.fast('a', '--from', 1.8, '--to', 2.2, '--beside', 'b', '--height', 360)
        view = View(self.file)
        for x in (view.width // 4, 3 * view.width // 4):
            self.assertEqual(view.white(x), list(range(12, 18)))

    def test_a_second_take_that_ends_is_blank(self):
        self.fast('a', '--from', 0.5, '--to', 1.0, '--beside', 'b', '--from-beside', 3.8)
        view = View(self.file)
        self.assertEqual(len(view.frames), 30)
        corners = [(3 * view.width // 4 + dx, view.height // 8) for dx in (-60, 0, 60)]
        self.assertTrue(any(max(view.pixel(5, *p)) > 60 for p in corners))
        self.assertTrue(all(max(view.pixel(25, *p)) < 50 for p in corners))

    def test_places(self):
        for place, height in (('over', 360), ('extend', 360 + 122), ('inset', 360)):
            self.fast('a', '--from', 1, '--to', 1.2, '--place', place, '--again')
            video = streams(self.file)['streams'][0]
            self.assertEqual((video['width'], video['height']), (640, height))
            self.assertEqual(video['color_range'], 'tv')

    def test_the_notice_comes_first(self):
        self.fast('a', '--from', 1, '--to', 2, '--notice', 0.5)
        view = View(self.file)

        def ink(n):
            return sum(view.luma(n, x, y) > 150 for x in range(int(0.77 * WIDTH), int(0.95 * WIDTH)) for y in range(int(0.6 * HEIGHT), int(0.74 * HEIGHT)))
        self.assertGreater(ink(29), 1.3 * ink(30))
        self.assertIn('photosensitive', streams(self.file)['format']['tags']['comment'])


class Places(Case):
    """Where clips go, and where footage is looked for."""

    def test_a_clip_of_each_lapse(self):
        out = self.folder / 'out'
        shutil.copytree(made / 'out', out)
        for name in ('a', 'b'):
            self.clip(out, name, '--footage', made / 'take.mkv', '--lead', 0, '--tail', 0, '--preset', 'ultrafast', '-q')
        self.assertEqual(sorted(p.name for p in (out / 'clips').iterdir()), ['a-lapse-01.mp4', 'b-lapse-01.mp4'])
        self.refused('a', '--footage', made / 'take.mkv', folder=out, words=['is there already', '--again'])
        self.clip(out, 'a', '--footage', made / 'take.mkv', '--lead', 0, '--tail', 0, '--preset', 'ultrafast', '--again', '--slow', 2)
        self.assertTrue((out / 'clips/a-lapse-01-slow-2.mp4').exists())
        both = ('--footage', made / 'take.mkv', '--beside', 'b', '--footage-beside', made / 'take.mkv')
        self.clip(out, 'a', *both, '--lead', 0, '--tail', 0, '--preset', 'ultrafast', '--rate', '29.97')
        file = out / 'clips/a-lapse-01-beside-b-lapse-01-rate-29.97.mp4'
        self.assertEqual(streams(file)['streams'][0]['r_frame_rate'], '30000/1001')  # SMPTE ST 12-1's 29.97
        self.assertIn('a, lapse 1 beside b, lapse 1', streams(file)['format']['tags']['title'])
        self.refused('a', *both, '--rate', 'fast', folder=out, words=['--rate', 'fast'])

    def test_footage_is_looked_for(self):
        out = self.folder / 'results' / 'out'
        shutil.copytree(made / 'out', out)
        span = ('--from', 1, '--to', 1.1, '--preset', 'ultrafast', '-q', '-o', self.file, '--again')
        self.refused('a', *span, folder=out, words=['take.mkv', '--footage', '--session'], cwd=out)
        for home, cwd in ((out, None), (out.parent, None), (self.folder, self.folder)):
            shutil.copy(made / 'take.mkv', home / 'take.mkv')
            self.clip(out, 'a', *span, cwd=cwd)
            (home / 'take.mkv').unlink()
        session = self.folder / 'session.yaml'
        session.write_text(f'session: S\ntakes:\n  - {{id: a, game: G, footage: {made / "take.mkv"}}}\n')
        self.clip(out, 'a', *span, '--session', session)
        self.file.unlink()
        self.refused('b', *span, '--session', session, folder=out, words=['session.yaml', "'b'"])

    def test_encoders(self):
        span = (made / 'out', 'a', '--from', 1, '--to', 1.2)
        self.clip(*span, '-o', self.folder / 'x.webm', '--codec', 'libvpx-vp9', '--crf', 30, '--encoder-options', 'deadline=realtime:cpu-used=8')
        done = self.clip(*span, '-o', self.folder / 'x.mkv', '--codec', 'libx265', '--crf', 28, '--preset', 'ultrafast')
        self.assertEqual(done.stderr, '')
        self.clip(*span, '-o', self.folder / 'x.mov', '--bitrate', 500, '--mute')
        kinds = {p.suffix: [s['codec_name'] for s in streams(p)['streams']] for p in self.folder.glob('x.*')}
        self.assertEqual(kinds, {'.webm': ['vp9', 'opus'], '.mkv': ['hevc', 'aac'], '.mov': ['h264']})

    def test_json(self):
        done = self.fast('a', '--lapses', 1, '--json', '--beside', 'b', '--slow', 2)
        value = json.loads(done.stdout)
        clip, = value['clips']
        self.assertEqual((clip['take'], clip['beside'], clip['lapse'], clip['lapse_beside'], clip['sound']), ('a', 'b', 1, 1, False))
        self.assertEqual(clip['frames'], 2 * 180)
        self.assertAlmostEqual(clip['from_beside_s'], clip['from_s'] + 0.2, places=6)
        self.assertEqual(value['settings']['slow'], 2)
        if jsonschema:
            schema = json.loads((DOCS / 'clip.schema.json').read_text('utf-8'))
            jsonschema.Draft202012Validator.check_schema(schema)
            strict = json.loads(json.dumps(schema).replace('"additionalProperties": true', '"additionalProperties": false'))
            jsonschema.Draft202012Validator(strict).validate(value)
            self.assertFalse(jsonschema.Draft202012Validator(schema).is_valid({**value, 'version': 2}))

    def test_help_and_summary_are_80_columns_wide(self):
        for text in (self.clip('--help').stdout, self.fast('a', '--from', 1, '--to', 1.2).stdout):
            self.assertLessEqual(max(len(line) for line in text.splitlines() if not line.startswith('/')), 80, text)


class Flashes(Case):
    def test_flashes_are_told_and_calm_is_not(self):
        """8 full-screen flashes a second (WCAG 2.3.1: at most three), and none."""
        film(self.folder / 'flicker.mkv', extra=",drawbox=t=fill:color=white:enable='gt(mod(t,0.125),0.0625)*gt(t,1)'")
        measure(self.folder / 'out', self.folder / 'flicker.mkv', 'f')
        done = self.clip(self.folder / 'out', 'f', '--from', 0.5, '--to', 3, '-q', '-o', self.file, '--preset', 'ultrafast', '--place', 'over')
        self.assertIn('flashes from 0.', done.stderr)
        self.assertIn('up to 8 in a second', done.stderr)
        self.assertIn('WCAG 2.3.1', done.stderr)
        self.file.unlink()
        done = self.clip(self.folder / 'out', 'f', '--from', 0.5, '--to', 3, '--json', '-o', self.file, '--preset', 'ultrafast')
        flashes = json.loads(done.stdout)['clips'][0]['flashes']
        self.assertTrue(flashes['exceeds'])
        self.assertEqual(flashes['spans'][0]['kind'], 'general')
        self.assertAlmostEqual(flashes['spans'][0]['start_s'], 0.55, delta=0.1)
        calm = json.loads(self.fast('a', '--from', 1, '--to', 3, '--json', '--again').stdout)['clips'][0]['flashes']
        self.assertFalse(calm['exceeds'])
        self.assertEqual(calm['spans'], [])


class BadInput(Case):
    def test_wrong_wishes(self):
        for args, words in ((['x'], ["'x'", 'a, b']), (['a', '--lapses', 2], ['no lapse 2', '1 to 1']), (['a', '--lapses', 'some'], ['some']),
                            (['a', '--lapses', '0'], ['1,4-6']), (['a', '--lapses', '1,'], ['1,4-6']), (['a', '--lapses', '3-1'], ['1,4-6']),
                            (['a', '--lapses', 1, '--from', 1], ['one of them']), (['a', '--from', 5], ['span', '4.000']),
                            (['a', '--from', 1, '--to', 9], ['span']), (['a', '--from', 2, '--to', 1], ['span']),
                            (['a', '--place', 'under'], ['inset']), (['a', '--pixels', '40'], ['--pixels', '35,60']), (['a', '--pixels', '40,101'], ['100']), (['a', '--align', 'trip'], ['--beside']),
                            (['a', '--beside', 'b', '--align', 'up'], ['trip']), (['a', '--beside', 'b', '--lapse-beside', 4], ['lapse 4']),
                            (['a', '--beside', 'b', '--align', 'trip', '--from', 1], ['--lapses']), (['a', '--beside', 'y'], ["'y'"]),
                            (['a', '--lead', 'long'], ['--lead']), (['a', '--crf', '-1'], ['--crf']), (['a', '--notice', 'nan'], ['--notice']),
                            (['a', '--slow', 0], ['--slow']), (['../a'], ["'../a'"])):
            self.refused(*args, words=words)
        self.refused('a', folder=self.folder, words=['session.json'])
        self.refused('a', '-o', self.folder / 'clip.txt', words=['.mp4'])
        self.refused('a', '-o', self.file, '--codec', 'none-such', words=['none-such'])
        self.refused('a', '-o', self.file, '--preset', 'hasty', words=['hasty', 'ultrafast'])
        self.refused('a', '-o', self.file, '--encoder-options', 'none=1', words=["'none'"])

    def test_wrong_footage(self):
        footage.pan(self.folder / 'small.mkv', 4)
        footage.pan(self.folder / 'short.mkv', 2, size=f'{WIDTH}x{HEIGHT}')
        footage.pan(self.folder / 'other.mkv', 4, seed=5, size=f'{WIDTH}x{HEIGHT}')
        footage.cut(self.folder / 'cut.mkv', made / 'take.mkv', 0.4)
        span = ('a', '--from', 0.5, '--to', 3.5, '-o', self.file, '--preset', 'ultrafast')
        self.refused(*span, '--footage', self.folder / 'none.mkv', words=['none.mkv'], status=1)
        self.refused(*span, '--footage', self.folder / 'small.mkv', words=['320 x 180', '--footage'])
        self.refused(*span, '--footage', self.folder / 'short.mkv', words=['2.00 s long'])
        self.refused(*span, '--footage', self.folder / 'other.mkv', words=['does not move as take a'])
        self.refused(*span, '--footage', self.folder / 'cut.mkv', words=['ends before the span'])

    def test_a_take_without_lapses(self):
        out = self.folder / 'out'
        shutil.copytree(made / 'out', out)
        path = out / 'takes/a.json'
        path.write_text(json.dumps({**json.loads(path.read_text()), 'lapses': []}))
        self.refused('a', '--footage', made / 'take.mkv', folder=out, words=['no lapse', '--from'])
        put_lapse(out, 'a', has_trip=False)
        self.refused('a', '--footage', made / 'take.mkv', '--beside', 'b', folder=out, words=['no trip'])

    def test_places_that_cannot_be_written(self):
        (self.folder / 'file').write_text('x')
        self.refused('a', '--from', 1, '--to', 2, '-o', self.folder / 'file/clip.mp4', status=1, words=['file'])

        def little_room():
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (3000, 3000))
        self.refused('a', '--from', 1, '--to', 3, '-o', self.file, status=1, words=['clip.mp4', 'free space'], preexec_fn=little_room)

    def test_interruption_leaves_nothing(self):
        for number in (signal.SIGINT, signal.SIGTERM):
            status, text = interrupt.interrupted([FLINCH, 'clip', made / 'out', 'a', '--from', '0', '--to', '4', '--slow', '100',
                                                  '-o', self.file], number=number)
            self.assertIn('no clip was written', text)
            self.assertEqual(status, 1)
            self.nothing_left()

    def test_hostile_names_are_text(self):
        out = self.folder / 'out'
        shutil.copytree(made / 'out', out)
        for game in ('<script>alert("1")</script>', "'\"&\\;%s%n", '\u202eevil', '\u05d0\u05d1', 'x' * 300, '\U0001f600' * 40, 'a\nb\tc'):
            path = out / 'takes/a.json'
            path.write_text(json.dumps({**json.loads(path.read_text()), 'game': game, 'condition': game}))
            done = self.clip(out, 'a', '--from', 1, '--to', 1.1, '--footage', made / 'take.mkv', '-o', self.file, '--again', '--preset', 'ultrafast')
            self.assertNotIn('\u202e', done.stdout)
            title = streams(self.file)['format']['tags']['title']
            clean = game.replace('\u202e', '\ufffd').replace('\n', '\ufffd').replace('\t', '\ufffd')
            self.assertTrue(title.startswith(clean), title)
        odd = self.folder / 'odd:na"me <b>;%d.mp4'
        self.clip(out, 'a', '--from', 1, '--to', 1.1, '--footage', made / 'take.mkv', '-o', odd, '--preset', 'ultrafast')
        self.assertTrue(odd.exists())


if __name__ == '__main__':
    if not shutil.which('ffmpeg'):
        sys.exit(77)
    unittest.main()
