#!/usr/bin/env python3
"""test_charts.py FLINCH WRITE_SURVEY: `flinch show` draws charts for publication.

SVG by an XML parser, PNG by the chunks and filters of its specification, PDF by poppler's pdftotext:
readers outside the project. Parts that need pdftotext are skipped where it is missing.
"""
import collections
import os
import pathlib
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree
import zlib

FLINCH, WRITE = sys.argv.pop(1), sys.argv.pop(1)
NAMES = ['Glass Canyon', 'Ember Harbour', 'Tin Meadow', 'Quiet Vale', "<script>alert('x')</script>", 'Paper Lantern', 'Salt Orchard',
         'Copper Hollow', 'Nine Ferries']
PAGE = (960, 540)  # pt
have_pdf = shutil.which('pdftotext')


def png(path):
    """Width, height and rows of pixels as bytes, with the filters undone (PNG specification, 9.2)."""
    data = path.read_bytes()
    assert data[:8] == b'\x89PNG\r\n\x1a\n'
    at, body = 8, b''
    while at < len(data):
        size, kind = struct.unpack('>I4s', data[at:at + 8])
        if kind == b'IHDR':
            width, height, depth, colour = struct.unpack('>IIBB', data[at + 8:at + 18])
        if kind == b'IDAT':
            body += data[at + 8:at + 8 + size]
        at += 12 + size
    assert depth == 8 and colour in (2, 6)
    step = 3 if colour == 2 else 4
    raw, stride, rows, before = zlib.decompress(body), width * step, [], None
    for y in range(height):
        kind, row = raw[y * (stride + 1)], bytearray(raw[y * (stride + 1) + 1:(y + 1) * (stride + 1)])
        before = before or bytearray(stride)
        if kind == 1:
            for i in range(step, stride):
                row[i] = row[i] + row[i - step] & 255
        elif kind == 2:
            row = bytearray(a + b & 255 for a, b in zip(row, before))
        elif kind == 3:
            for i in range(stride):
                row[i] = row[i] + ((row[i - step] if i >= step else 0) + before[i]) // 2 & 255
        elif kind == 4:
            for i in range(stride):
                a, b, c = row[i - step] if i >= step else 0, before[i], before[i - step] if i >= step else 0
                p = a + b - c
                d = (abs(p - a), abs(p - b), abs(p - c))
                row[i] = row[i] + (a if d[0] <= d[1] and d[0] <= d[2] else b if d[1] <= d[2] else c) & 255
        rows.append(bytes(row))
        before = row
        if y >= 120:  # the title stands above; the rest is not needed and slow in Python
            break
    return width, height, step, rows


def words(path):
    """Words of a PDF with their boxes, x0 y0 x1 y1 in pt from the top left."""
    text = subprocess.run(['pdftotext', '-bbox', path, '-'], check=True, capture_output=True, text=True, errors='replace').stdout
    text = re.sub(r'<(title|meta)[^>]*>([^<]*</title>)?', '', text)
    found = re.findall(r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">([^<]*)</word>', text)
    return [(*map(float, w[:4]), w[4]) for w in found]


def plain(path):
    return subprocess.run(['pdftotext', '-layout', path, '-'], check=True, capture_output=True, text=True, errors='replace').stdout


class Charts(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.out = cls.folder / 'twelve'
        subprocess.run([WRITE, cls.out], check=True)
        subprocess.run([FLINCH, 'show', cls.out, '--quiet', '--charts', 'ranking', '--chart-themes', 'light,dark,transparent',
                        '--chart-sizes', '1080,2160', '--chart-formats', 'svg,png,pdf'], check=True)
        (cls.out / 'charts').rename(cls.folder / 'rankings')
        cls.rankings = {p.name: p for p in sorted((cls.folder / 'rankings').iterdir())}

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.folder)

    def show(self, *args, out=None, status=0, locale='C.UTF-8'):
        done = subprocess.run([FLINCH, 'show', out or self.out, '--quiet', *map(str, args)], capture_output=True, text=True,
                              env={**os.environ, 'LC_ALL': locale})
        self.assertEqual(done.returncode, status, done.stderr)
        return done.stderr

    def fresh(self, *args, out=None, **more):
        folder = (out or self.out) / 'charts'
        shutil.rmtree(folder, ignore_errors=True)
        self.show(*args, out=out, **more)
        return {p.name: p for p in sorted(folder.iterdir())}

    def test_files_say_what_they_are(self):
        want = [f'ranking{theme}{end}' for theme in ('', '.dark', '.transparent') for end in ('.svg', '.png', '.2160.png', '.pdf')]
        self.assertEqual(sorted(self.rankings), sorted(want))

    def test_only_the_charts_asked_for(self):
        got = self.fresh('--charts', 'delay,timeline', '--chart-formats', 'svg')
        kinds = collections.Counter(name.split('-')[0] for name in got)
        self.assertEqual(set(kinds), {'delay', 'timeline'})
        self.assertEqual(kinds['timeline'], 24)

    def test_sizes_and_grounds(self):
        corner = {'ranking.png': b'\xfc\xfc\xfa', 'ranking.dark.png': b'\x16\x19\x1e', 'ranking.transparent.png': b'\0\0\0\0'}
        for name, path in self.rankings.items():
            if path.suffix != '.png':
                continue
            with self.subTest(name=name):
                width, height, step, rows = png(path)
                self.assertEqual((width, height), (3840, 2160) if '.2160.' in name else (1920, 1080))
                self.assertEqual(rows[0][:step], corner[name.replace('.2160', '')])
                if step == 4:  # nothing but the title has covered anything so far, and that fully
                    alphas = {a for row in rows for a in row[3::4]}
                    self.assertTrue({0, 255} <= alphas)

    def test_equal_charts_are_equal_files(self):
        got = self.fresh('--chart-formats', 'svg,pdf,png', '--charts', 'ranking', '--chart-themes', 'transparent')
        before = {name: self.rankings[name].read_bytes() for name in got}
        self.assertEqual(before, {name: path.read_bytes() for name, path in got.items()})
        self.assertNotIn(b'/CreationDate', before['ranking.transparent.pdf'])

    def test_svg_is_sound(self):
        for name, path in self.fresh('--chart-formats', 'svg', '--chart-title', 'A & B <i>"c"</i>').items():
            with self.subTest(name=name):
                root = xml.etree.ElementTree.parse(path).getroot()
                self.assertEqual((root.get('width'), root.get('height')), ('1920', '1080'))
                self.assertEqual([child.tag.split('}')[1] for child in root[:2]], ['title', 'desc'])
                self.assertEqual(root[0].text, 'A & B <i>"c"</i>')
                self.assertGreater(len(root[1].text), 40)
                ids = [node.get('id') for node in root.iter() if node.get('id')]
                self.assertEqual(len(ids), len(set(ids)))
                self.assertEqual(root.get('aria-labelledby').split(), ['title', 'desc'])
                tags = {node.tag.split('}')[1] for node in root.iter()}
                self.assertFalse(tags & {'script', 'text', 'image', 'foreignObject', 'a'}, tags)

    @unittest.skipUnless(have_pdf, 'pdftotext (poppler-utils) is not installed')
    def test_text_of_pdf_can_be_found(self):
        text = plain(self.rankings['ranking.pdf'])
        self.assertIn('How fast a turn switches synthesis off', text)
        self.assertIn('95 % interval', text)
        self.assertIn('2026-11-03/2026-11-05', text)  # ISO 8601-1, 5.5: an interval by its ends
        self.assertIn('Capture card, 120 frames/s', text)
        for name in NAMES:
            self.assertIn(name[:12], text)
        self.assertRegex(text, r'over \d')  # the game that never trips: a bound

    def assertClear(self, path):
        """No word lies on another or leaves the page. Boxes hold the font's full height, so a quarter of it
        at either edge is air; by how much boxes may touch is our own choice."""
        found = words(path)
        self.assertGreater(len(found), 15)
        boxes = []
        for x0, y0, x1, y1, word in found:
            self.assertTrue(0 <= x0 and x1 <= PAGE[0] and 0 <= y0 and y1 <= PAGE[1], (path.name, word, x0, y0, x1, y1))
            air = (y1 - y0) / 4
            boxes.append((x0 + 0.5, y0 + air, x1 - 0.5, y1 - air, word))
        for i, a in enumerate(boxes):
            for b in boxes[i + 1:]:
                apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
                self.assertTrue(apart, (path.name, a, b))

    @unittest.skipUnless(have_pdf, 'pdftotext (poppler-utils) is not installed')
    def test_words_do_not_overlap(self):
        for size in (28, 32):
            for name, path in self.fresh('--chart-formats', 'pdf', '--chart-text', size).items():
                if name.startswith('timeline') and '-a.' not in name:
                    continue
                with self.subTest(name=name, size=size):
                    self.assertClear(path)

    @unittest.skipUnless(have_pdf, 'pdftotext (poppler-utils) is not installed')
    def test_few_and_many_games(self):
        for games in (1, 3, 40):
            out = self.folder / f'games-{games}'
            subprocess.run([WRITE, out, str(games)], check=True)
            path = self.fresh('--charts', 'ranking', '--chart-formats', 'pdf', out=out)['ranking.pdf']
            with self.subTest(games=games):
                self.assertClear(path)
                rows = sum(f'{name[:10]}' in plain(path) for name in NAMES[:min(games, 9)])
                self.assertGreaterEqual(rows, min(games, 3))
                more = re.search(r'and (\d+) more', plain(path))  # what does not fit is counted
                self.assertEqual(plain(path).count('cm per turn') + (int(more[1]) if more else 0), 2 * games)

    @unittest.skipUnless(have_pdf, 'pdftotext (poppler-utils) is not installed')
    def test_text_size_is_kept_where_there_is_room(self):
        def height(size):
            path = self.fresh('--charts', 'rate', '--chart-formats', 'pdf', '--chart-text', size)['rate-glass-canyon-default.pdf']
            return next(w[3] - w[1] for w in words(path) if w[4] == 'Share')  # of the lead, running text
        small = height(20)
        self.assertAlmostEqual(height(30) / small, 1.5, delta=0.02)

    def test_help_names_every_kind(self):
        said = self.show('--charts', 'pie', status=2)
        kinds = re.search(r'none of (.*);', said)[1].replace(' or ', ', ')
        text = subprocess.run([FLINCH, 'show', '--help'], check=True, capture_output=True, text=True).stdout
        self.assertIn(f'({kinds})', ' '.join(text.split()))

    def test_bad_values_are_named(self):
        for args, say in [(('--charts', 'pie'), "--charts: 'pie' is none of ranking"), (('--charts', 'curve,curve'), 'twice'),
                          (('--chart-formats', 'jpg'), 'svg, png or pdf'), (('--chart-themes', 'blue'), 'light, dark or transparent'),
                          (('--chart-sizes', '720'), '1080 or 2160'), (('--chart-text', '12'), '18 to 32'),
                          (('--chart-text', '28.5'), 'whole'), (('--chart-title', ''), 'empty'), (('--charts', ''), 'empty')]:
            with self.subTest(args=args):
                shutil.rmtree(self.out / 'charts', ignore_errors=True)
                said = self.show(*args, status=2)
                self.assertIn(say, said)
                self.assertEqual(said.count('\n'), 1)
                self.assertFalse((self.out / 'charts').exists())


if __name__ == '__main__':
    unittest.main()
