"""Footage and traces that come as streams: pipes, and files that are still being written.

What a stream shows must not depend on how it comes: figures are compared with those of the file.
"""
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import threading
import unittest

import footage

FLINCH = os.path.abspath(sys.argv.pop(1))
made = None
CONTAINERS = {'matroska': 'mkv', 'mpegts': 'ts', 'nut': 'nut', 'avi': 'avi'}


def setUpModule():
    global made
    made = pathlib.Path(tempfile.mkdtemp(prefix='flinch-streams-'))
    source = footage.pan(made / 'source.mkv', 4, codec=('-c:v', 'libx264', '-preset', 'ultrafast', '-crf', '18', '-g', '60'))
    for name in ('ts', 'nut', 'avi'):
        footage.ffmpeg('-i', source, '-c', 'copy', *(['-bsf:v', 'h264_mp4toannexb'] if name == 'avi' else []), made / f'take.{name}')
    shutil.copy(source, made / 'take.mkv')
    footage.ffmpeg('-i', source, '-c', 'copy', '-movflags', 'frag_keyframe+empty_moov', made / 'take.mp4')
    footage.trace(made / 'trace.csv', 4)


def tearDownModule():
    shutil.rmtree(made)


def flinch(*args, **options):
    return subprocess.run([FLINCH, *map(str, args)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, timeout=300, **options)


def figures(done):
    """A take as JSON without what it is called."""
    take = json.loads(done.stdout)
    for name in ('footage_file', 'trace_file'):
        take['setup'].pop(name)
    for name in ('id', 'key'):
        take.pop(name)
    return take


def piped(path, *args, command='look', part=slice(None)):
    return flinch(command, '-', *args, input=pathlib.Path(path).read_bytes()[part])


class Streams(unittest.TestCase):
    def same(self, done, whole):
        self.assertEqual(done.returncode, 0, done.stderr)
        self.alike(figures(done), figures(whole))

    def alike(self, a, b, at=''):
        """Equal but for the sixth digit: what is not whole yet may declare no rate, which is then fitted."""
        if isinstance(a, dict):
            self.assertEqual(a.keys(), b.keys(), at)
            for key in a:
                self.alike(a[key], b[key], f'{at}.{key}')
        elif isinstance(a, list):
            self.assertEqual(len(a), len(b), at)
            for i, (x, y) in enumerate(zip(a, b)):
                self.alike(x, y, f'{at}[{i}]')
        elif isinstance(a, float) and isinstance(b, float):
            self.assertLessEqual(abs(a - b), 1e-5 * max(1, abs(b)), at)
        else:
            self.assertEqual(a, b, at)

    def refused(self, done, *words, status=1):
        self.assertEqual(done.returncode, status, done.stderr)
        self.assertEqual(done.stderr.count(b'\n'), 1, done.stderr)
        for word in words:
            self.assertIn(word, done.stderr.decode())

    def test_every_container_through_a_pipe(self):
        for name in CONTAINERS.values():
            with self.subTest(name):
                path = made / f'take.{name}'
                self.same(piped(path, '--json'), flinch('look', path, '--json'))

    def test_check_reads_a_pipe(self):
        done = piped(made / 'take.mkv', '--json', command='check')
        of_file = flinch('check', made / 'take.mkv', '--json')
        self.assertEqual(done.returncode, of_file.returncode)
        found, whole = (json.loads(d.stdout)['recordings'][0] for d in (done, of_file))
        self.assertEqual(found | {'path': 0}, whole | {'path': 0})

    def test_named_pipes_of_footage_and_trace(self):
        """Neither may wait for the other to end."""
        ways = {name: made / f'pipe-{name}' for name in ('take.mkv', 'trace.csv')}
        for name, pipe in ways.items():
            os.mkfifo(pipe)
            threading.Thread(target=lambda n=name, p=pipe: p.write_bytes((made / n).read_bytes()), daemon=True).start()
        done = flinch('look', ways['take.mkv'], '--trace', ways['trace.csv'], '--json')
        self.same(done, flinch('look', made / 'take.mkv', '--trace', made / 'trace.csv', '--json'))

    def test_a_file_that_grows_in_bursts(self):
        for name in ('mkv', 'mp4'):
            with self.subTest(name):
                whole = (made / f'take.{name}').read_bytes()
                grows = made / f'grows.{name}'
                grows.touch()
                reader = subprocess.Popen([FLINCH, 'look', grows, '--follow', '--json'], stdout=subprocess.PIPE,
                                          stderr=subprocess.PIPE)
                with open(grows, 'ab') as out:
                    for k in range(6):
                        out.write(whole[len(whole) * k // 6:len(whole) * (k + 1) // 6])
                        out.flush()
                        self.assertIsNone(reader.poll(), 'ended before the file did')
                out, err = reader.communicate(timeout=120)
                done = subprocess.CompletedProcess([], reader.returncode, out, err)
                self.same(done, flinch('look', made / f'take.{name}', '--json'))

    def test_a_stream_that_starts_in_the_middle(self):
        size = (made / 'take.ts').stat().st_size
        done = piped(made / 'take.ts', '--json', part=slice(size // 3, None))
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertLess(figures(done)['footage']['frames'], 240)

    def test_a_stream_that_ends_in_a_frame(self):
        size = (made / 'take.mkv').stat().st_size
        done = piped(made / 'take.mkv', '--json', part=slice(0, 2 * size // 3))
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn('cut off', json.dumps(figures(done)['warnings']))

    def test_what_is_no_video(self):
        self.refused(flinch('look', '-', input=b''), '-: ', '; ')
        self.refused(flinch('look', '-', input=b'not a video\n' * 5000), 'is not a video', '; ')

    def test_a_playlist_opens_nothing(self):
        listed = f'#EXTM3U\n#EXT-X-TARGETDURATION:4\n#EXTINF:4,\n{made}/take.ts\n#EXT-X-ENDLIST\n'
        self.refused(flinch('look', '-', input=listed.encode()), 'names other files (hls')
        self.refused(flinch('look', '-', input=f"ffconcat version 1.0\nfile '{made}/take.mkv'\n".encode()), 'names other files (concat')

    def test_standard_input_is_one_stream(self):
        self.refused(flinch('look', '-', '--trace', '-', input=b''), 'one stream', '; ', status=2)
        self.refused(flinch('check', '-', '-', input=b''), 'one stream', '; ', status=2)

    def test_a_stream_is_measured_anew_each_time(self):
        out = made / 'out'
        for name, frames in (('take.mkv', 240), ('take.ts', 240)):
            self.assertEqual(piped(made / name, '-o', out, '-q').returncode, 0)
        self.assertFalse(list(out.glob('strips/*')))
        self.assertTrue((out / 'report.html').exists())


if __name__ == '__main__':
    unittest.main()
