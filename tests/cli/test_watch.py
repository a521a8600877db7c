"""flinch watch: on a pipe, on a terminal (read by a terminal emulator), with a copy, and when things go wrong."""
import fcntl
import json
import os
import pathlib
import pty
import resource
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import unittest

import footage

try:
    import pyte
except ImportError:
    pyte = None

FLINCH, STAGE = (os.path.abspath(sys.argv.pop(1)) for _ in range(2))
SPEEDS = ('--fov', '90')
made = take = None


def setUpModule():
    global made, take
    made = pathlib.Path(tempfile.mkdtemp(prefix='flinch-watch-'))
    subprocess.run([STAGE, 'torn-140', made, '--seconds', '10', '--width', '480', '--height', '270'],
                   check=True, stdout=subprocess.DEVNULL)
    take = made / 'torn-140'
    footage.size_change(made / 'size.ts', made)


def tearDownModule():
    shutil.rmtree(made)


def flinch(*args, **options):
    return subprocess.run([FLINCH, *map(str, args)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding=None,
                          timeout=600, **options)


def events_of(text):
    """The lines of events, and what comes after them."""
    lines, at = [], 0
    for line in text.splitlines(keepends=True):
        if not line.startswith('{"event"'):
            break
        lines.append(json.loads(line))
        at += len(line)
    return lines, text[at:]


class Watch(unittest.TestCase):
    def refused(self, done, *words, status):
        self.assertEqual(done.returncode, status, done.stderr)
        self.assertEqual(done.stderr.count(b'\n'), 1, done.stderr)
        for word in words:
            self.assertIn(word, done.stderr.decode())

    def test_a_pipe_with_its_trace_and_a_copy(self):
        kept, pipe = made / 'kept.mkv', made / 'trace-pipe'
        os.mkfifo(pipe)
        feeder = subprocess.Popen(['cp', take / 'trace.csv', pipe])
        with open(take / 'capture.mkv', 'rb') as source:
            done = flinch('watch', '--trace', pipe, '--keep', kept, '--every', '--json', *SPEEDS, stdin=source)
        feeder.wait(timeout=60)
        self.assertEqual(done.returncode, 0, done.stderr)
        events, rest = events_of(done.stdout.decode())
        # The copies are what came, byte for byte, and the take is that of `look` on them.
        self.assertEqual(kept.read_bytes(), (take / 'capture.mkv').read_bytes())
        self.assertEqual(pathlib.Path(f'{kept}.csv').read_bytes(), (take / 'trace.csv').read_bytes())
        whole = json.loads(flinch('look', kept, '--trace', f'{kept}.csv', '--json', *SPEEDS).stdout)
        live = json.loads(rest)
        for section in ('states', 'lapses', 'flicks', 'clock', 'exposure', 'base_rate_on_hz', 'base_rate_off_hz'):
            self.assertEqual(live[section], whole[section], section)
        kinds = [e['event'] for e in events]
        self.assertEqual(kinds[-1], 'end')
        self.assertGreater(kinds.count('flick'), 3)
        self.assertTrue(all(e['seen_at_s'] >= e['time_s'] for e in events), events)
        # Each trip of the whole take was called, within half a second once the rates were known.
        known = next(e['seen_at_s'] for e in events if e['event'] == 'rates')
        trips = [e for e in events if e['event'] == 'trip']
        true = [lapse['start_s'] for lapse in whole['lapses'] if lapse['has_trip']]
        self.assertGreater(len(true), 2)
        for t in true:
            near = [e['seen_at_s'] for e in trips if abs(e['time_s'] - t) < 0.06]
            self.assertTrue(near, f'{t}: not called in {trips}')
            self.assertLess(near[0] - max(t, known), 0.5)
        # The last word on V50 is by the flicks that were called to count.
        counted = [e for e in events if e['event'] == 'flick' and e['at_risk'] and e['tripped'] is not None and e['peak_deg_s']]
        said = [e for e in events if e['event'] == 'next']
        self.assertEqual(len(said), len(counted))
        self.assertEqual(said[-1]['trips'], sum(e['tripped'] for e in counted))

    @unittest.skipUnless(pyte, 'python3-pyte is not installed')
    def test_the_screen(self):
        ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack('HHHH', 24, 80, 0, 0))
        watching = subprocess.Popen([FLINCH, 'watch', take / 'capture.mkv', '--every', *SPEEDS], stdin=subprocess.DEVNULL,
                                    stdout=theirs, stderr=theirs, env={**os.environ, 'LC_ALL': 'C.UTF-8', 'TERM': 'xterm'})
        os.close(theirs)
        screen = pyte.Screen(80, 24)
        stream = pyte.ByteStream(screen)
        seen = set()
        try:
            while data := os.read(ours, 65536):
                stream.feed(data)
                if screen.display[0].startswith(' flinch watch'):
                    seen.add('\n'.join(screen.display))
        except OSError:
            pass  # the other end is closed
        self.assertEqual(watching.wait(timeout=600), 0)
        looks = '\n'.join(seen)
        self.assertIn('480x270', looks)
        self.assertIn('█', looks)
        for words in ('new pictures/s', 'TRIPPED', 'quarter turn', ' V50 ', ' NEXT ', 'deg/s: a quarter turn in', 'trip'):
            self.assertIn(words, looks)
        whole = [look for look in seen if 'Ctrl-C ends.' in look]
        self.assertTrue(whole)
        for look in whole:  # nothing ran over an edge: the first and the last row are where they belong
            self.assertEqual(len(look.split('\n')), 24)
        self.assertIn('Ctrl-C ends.', '\n'.join(sorted(whole)[0].split('\n')[-1:]))

    def test_plain_lines_and_the_end_by_a_signal(self):
        grows = made / 'grows.mkv'
        shutil.copy(take / 'capture.mkv', grows)
        watching = subprocess.Popen([FLINCH, 'watch', grows, '--follow', '--every', '--keep', made / 'kept2.mkv', *SPEEDS],
                                    stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding='utf-8')
        lines = []
        for line in watching.stdout:
            lines.append(line)
            if 'tripped: off' in line:
                break
        watching.send_signal(signal.SIGINT)
        rest, err = watching.communicate(timeout=600)
        self.assertEqual(watching.returncode, 0, err)
        text = ''.join(lines) + rest
        for words in ('new pictures: ', 'flick ', 'the stream has ended: ', 'lapse'):
            self.assertIn(words, text)

    def test_a_full_disk_ends_the_copy_alone(self):
        def little_room():
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (100000, 100000))
        with open(take / 'capture.mkv', 'rb') as source:
            done = flinch('watch', '-', '--keep', made / 'full.mkv', '--every', '--json', *SPEEDS, stdin=source,
                          preexec_fn=little_room)
        self.assertEqual(done.returncode, 0, done.stderr)
        events, rest = events_of(done.stdout.decode())
        self.assertEqual(rest, '')  # nothing is measured from half a copy
        self.assertIn('the copy ends after 0.1 MB', next(e['text'] for e in events if e.get('code') == 'keep'))
        self.assertGreater(events[-1]['time_s'], 9)
        self.assertEqual(os.path.getsize(made / 'full.mkv'), 100000)

    def test_streams_that_break(self):
        with open(made / 'size.ts', 'rb') as source:
            done = flinch('watch', '--json', '--every', '--keep', made / 'sizes.ts', stdin=source)
        self.assertEqual((made / 'sizes.ts').read_bytes(), (made / 'size.ts').read_bytes())  # all of it is kept
        events, _ = events_of(done.stdout.decode())
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertTrue(any('size changes' in e.get('text', '') for e in events), events)
        data = (take / 'capture.mkv').read_bytes()
        done = flinch('watch', '--json', '--every', input=data[:len(data) // 2])
        events, _ = events_of(done.stdout.decode())
        self.assertEqual(events[-1]['event'], 'end')
        self.assertTrue(2 < events[-1]['time_s'] < 8, events[-1])

    def test_beside_the_takes_of_a_session(self):
        (made / 'session.yaml').write_text(f"""session: Desk
defaults: {{footage: {take}/capture.mkv, horizontal_fov_deg: 90, counts_per_inch: 800}}
takes:
  - {{id: reef-a, game: Reef}}
  - {{id: canyon-a, game: Canyon}}
""")
        out = made / 'out'
        done = flinch('run', made / 'session.yaml', '-o', out, '--quiet', '--no-strips')
        self.assertEqual(done.returncode, 0, done.stderr)
        session = ('--session', out, '--setting', 'reef-a')
        with open(take / 'capture.mkv', 'rb') as source:
            done = flinch('watch', '-', '--every', '--json', *session, stdin=source)
        self.assertEqual(done.returncode, 0, done.stderr)
        events, _ = events_of(done.stdout.decode())
        told = [e for e in events if e['event'] == 'session']
        self.assertIs(told[0], events[0])
        study = {c['game']: c for c in json.loads((out / 'session.json').read_text())['curves']
                 if c['condition'] and c['quantity'] == 'camera_speed'}
        before, last = ({s['id']: s for s in e['settings']} for e in (told[0], told[-1]))
        self.assertEqual(sorted(before), ['canyon-a', 'reef-a'])
        for name, game in (('reef-a', 'Reef'), ('canyon-a', 'Canyon')):
            self.assertEqual(before[name]['flicks'], study[game]['flicks'])
            self.assertEqual(before[name]['trips'], study[game]['trips'])
            self.assertEqual(before[name]['takes'], 1)
            if study[game]['v50']:
                self.assertAlmostEqual(before[name]['v50_deg_s'] / study[game]['v50'], 1, delta=0.02)
        # The field of view is the setting's, so flicks have speeds; those that count are a take more of it alone.
        counted = [e for e in events if e['event'] == 'flick' and e['at_risk'] and e['tripped'] is not None and e['peak_deg_s']]
        self.assertGreater(len(counted), 1)
        self.assertEqual(len(told), 1 + len(counted))
        self.assertEqual(last['reef-a']['flicks'], before['reef-a']['flicks'] + len(counted))
        self.assertEqual(last['reef-a']['takes'], 2)
        self.assertEqual(last['canyon-a'], before['canyon-a'])
        # Both have been seen little, and alike: nothing is won by a change.
        self.assertEqual(told[-1]['next'], 'reef-a')
        lines = flinch('watch', take / 'capture.mkv', '--every', *session).stdout.decode()
        self.assertIn('session: 0 of 2 settings finished; stay with reef-a', lines)
        for more, words in ((('--session', out), ('--setting', '; ')), (('--session', out, '--setting', 'reef-b'), ("'reef-a'?",)),
                            ((*session, '--cpi', '1600'), ('--cpi', '800', '; ')), (('--session', made / 'none', '--setting', 'a'), ('none',))):
            self.refused(flinch('watch', take / 'capture.mkv', *more), *words, status=2)

    def test_bad_input(self):
        self.refused(flinch('watch', '-', input=b'no video\n' * 9000), 'is not a video', '; ', status=1)
        self.refused(flinch('watch', '-', '--trace', '-', input=b''), 'one stream', '; ', status=2)
        self.refused(flinch('watch', take / 'capture.mkv', '--keep', take / 'trace.csv'), 'not there yet', status=1)
        self.refused(flinch('watch', take / 'capture.mkv', '--trace', made / 'none.csv'), 'cannot be opened', '; ', status=1)


if __name__ == '__main__':
    unittest.main()
