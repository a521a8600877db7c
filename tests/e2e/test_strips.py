"""Filmstrips of a staged take: that they show the frames they name, and when they are drawn.

Frames are fetched again by the ffmpeg program; PNG is read here (ISO/IEC 15948, section 10 and 11).
"""
import array
import json
import pathlib
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest
import zlib

FLINCH, STAGE = (pathlib.Path(sys.argv.pop(1)).resolve() for _ in range(2))
TAKE = 'torn-140'
# Layout of a strip, px, as in src/show/clip/filmstrip_sheet.h: where the first picture begins from the left, its size, and
# how far apart pictures and rows of them are. The height of the words above it depends on what they say.
LEFT, WIDTH, HEIGHT, PITCH, LINE, COLUMNS = 12 + 11 + 9 + 3, 220, 124, 273, 18 + 2 * 124 + 3 + 38, 3
FRAME = round((2126 * 0x59 + 7152 * 0x62 + 722 * 0x6f) / 10000)  # grey of the line about a picture
folder = None


def flinch(out, *args):
    subprocess.run([FLINCH, 'look', folder / TAKE / 'capture.mkv', '--trace', folder / TAKE / 'trace.csv', '--id', 'a', '--fov',
                    '90', '--cpi', '800', '--degrees-per-count', '0.044', '-o', folder / out, '--quiet', *args], check=True,
                   timeout=600)


def setUpModule():
    global folder
    folder = pathlib.Path(tempfile.mkdtemp(prefix='flinch-strips-'))
    subprocess.run([STAGE, TAKE, folder], check=True, timeout=600)
    flinch('out')


def tearDownModule():
    shutil.rmtree(folder)


def take():
    return json.loads((folder / 'out/takes/a.json').read_text())


def read_png(path):
    """Width, height and rows of grey levels of an indexed PNG without filters."""
    data, at, body, palette = path.read_bytes(), 8, b'', b''
    assert data[:8] == b'\x89PNG\r\n\x1a\n'
    while at < len(data):
        size, kind = struct.unpack('>I4s', data[at:at + 8])
        part = data[at + 8:at + 8 + size]
        assert zlib.crc32(kind + part) == struct.unpack('>I', data[at + 8 + size:at + 12 + size])[0]
        if kind == b'IHDR':
            width, height, depth, colour = struct.unpack('>IIBB', part[:10])
            assert (depth, colour) == (8, 3)
        palette = part if kind == b'PLTE' else palette
        body += part if kind == b'IDAT' else b''
        at += 12 + size
    raw = zlib.decompress(body)
    assert all(raw[y * (width + 1)] == 0 for y in range(height))
    # Luma, ITU-R BT.709.
    grey = bytes(round((2126 * r + 7152 * g + 722 * b) / 10000) for r, g, b in struct.iter_unpack('3B', palette))
    grey += bytes(256 - len(grey))
    return width, height, [raw[y * (width + 1) + 1:(y + 1) * (width + 1)].translate(grey) for y in range(height)]


def fetched(first, n):
    """Frames [first, first + n), reduced by ffmpeg."""
    done = subprocess.run(['ffmpeg', '-v', 'error', '-i', folder / TAKE / 'capture.mkv', '-vf',
                           f"select='between(n,{first},{first + n - 1})',scale={WIDTH}:{HEIGHT}:flags=area,format=gray", '-vsync', '0', '-f',
                           'rawvideo', '-'], check=True, stdout=subprocess.PIPE)
    size = WIDTH * HEIGHT
    assert len(done.stdout) == n * size
    return [done.stdout[i * size:(i + 1) * size] for i in range(n)]


def distance(a, b):
    """Mean |a - b| after both are brought to one mean and spread: strips may be brightened."""
    def even(v):
        mean = sum(v) / len(v)
        spread = (sum((x - mean) ** 2 for x in v) / len(v)) ** 0.5
        return array.array('d', ((x - mean) / spread for x in v))
    return sum(abs(x - y) for x, y in zip(even(a), even(b))) / len(a)


@unittest.skipIf(shutil.which('ffmpeg') is None, 'the ffmpeg program is not installed')
class Strips(unittest.TestCase):
    def test_one_a_lapse_and_small(self):
        strips = sorted(p.name for p in (folder / 'out/strips').iterdir())
        self.assertGreaterEqual(len(strips), 5)
        self.assertEqual(strips, [f'a-{i + 1:02d}.png' for i in range(sum(lapse['runs'] for lapse in take()['lapses']))])
        sizes = sorted(p.stat().st_size for p in (folder / 'out/strips').iterdir())
        self.assertLess(sizes[len(sizes) // 2], 400000)

    def test_cells_show_their_frames(self):
        """Of the frames around, ffmpeg's own is the nearest to each cell that moves."""
        rate, checked = take()['footage']['capture_rate_hz'], 0
        for lapse in take()['lapses']:
            low, high = lapse['start_range_s']
            if high - low > 1e-3 or not lapse['has_trip'] or checked == 4:
                continue
            checked += 1
            first = int(lapse['start_s'] * rate + 1e-6) - 3
            _, _, rows = read_png(folder / f"out/strips/a-{lapse['run'] + 1:02d}.png")
            top = 1 + next(y for y, row in enumerate(rows) if set(row[LEFT:LEFT + WIDTH]) == {FRAME})
            around = fetched(first - 2, 13)
            for k in range(9):
                x, y = LEFT + k % COLUMNS * PITCH, top + k // COLUMNS * LINE
                cell = b''.join(row[x:x + WIDTH] for row in rows[y:y + HEIGHT])
                far = [distance(cell, v) for v in around]
                self.assertEqual(far.index(min(far)), k + 2, (lapse['run'], k, far))
        self.assertGreaterEqual(checked, 2, 'no lapse with a start that is seen')

    def test_a_page_links_them(self):
        page = (folder / 'out/report.html').read_text()
        self.assertEqual(page.count('href="strips/a-'), sum(lapse['runs'] for lapse in take()['lapses']))

    def test_reused_takes_keep_theirs(self):
        before = {p.name: p.stat().st_mtime_ns for p in (folder / 'out/strips').iterdir()}
        flinch('out')
        flinch('out', '--no-strips')
        self.assertEqual(before, {p.name: p.stat().st_mtime_ns for p in (folder / 'out/strips').iterdir()})

    def test_missing_ones_are_drawn(self):
        shutil.copytree(folder / 'out', folder / 'less')
        (folder / 'less/strips/a-01.png').unlink()
        subprocess.run([FLINCH, 'show', folder / 'less', '--quiet'], check=True)
        self.assertNotIn('strips/a-01.png', (folder / 'less/report.html').read_text())
        self.assertIn('strips/a-02.png', (folder / 'less/report.html').read_text())
        flinch('less')
        for path in (folder / 'out/strips').iterdir():
            self.assertEqual(path.read_bytes(), (folder / 'less/strips' / path.name).read_bytes(), path.name)

    def test_they_can_be_left_out(self):
        flinch('none', '--no-strips')
        self.assertFalse((folder / 'none/strips').exists())
        self.assertNotIn('href="strips', (folder / 'none/report.html').read_text())

    def test_times_that_tell_nothing_are_counted(self):
        """The same stream in a container without usable times for seeking gives the same pictures."""
        raw = folder / 'raw.h264'
        subprocess.run(['ffmpeg', '-v', 'error', '-y', '-i', folder / TAKE / 'capture.mkv', '-c', 'copy', raw], check=True)
        subprocess.run([FLINCH, 'look', raw, '--id', 'a', '--fov', '90', '-o', folder / 'raw', '--quiet'], check=True, timeout=600)
        raw_take = json.loads((folder / 'raw/takes/a.json').read_text())
        self.assertEqual(len(list((folder / 'raw').glob('strips/*.png'))), sum(lapse['runs'] for lapse in raw_take['lapses']))


if __name__ == '__main__':
    unittest.main()
