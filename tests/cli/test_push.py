"""The library's push interface, through the example that comes with it: the take at the end is that of the file, and
what was called on the way is in it."""
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

EXAMPLE, FLINCH, STAGE = (pathlib.Path(sys.argv.pop(1)).resolve() for _ in range(3))


class Push(unittest.TestCase):
    def test_pictures_pushed_are_the_file_measured(self):
        with tempfile.TemporaryDirectory(prefix='flinch-push-') as folder:
            subprocess.run([STAGE, 'torn-140', folder, '--seconds', '10', '--width', '480', '--height', '270'],
                           check=True, stdout=subprocess.DEVNULL)
            capture = next(pathlib.Path(folder).rglob('capture.mkv'))
            pictures = subprocess.Popen(['ffmpeg', '-v', 'error', '-nostdin', '-i', capture, '-f', 'rawvideo', '-pix_fmt', 'gray',
                                         '-fps_mode', 'passthrough', '-'], stdout=subprocess.PIPE)
            done = subprocess.run([EXAMPLE, '480', '270', '120', '90'], stdin=pictures.stdout, stdout=subprocess.PIPE,
                                  encoding='utf-8', timeout=600)
            pictures.stdout.close()
            self.assertEqual(pictures.wait(), 0)
            self.assertEqual(done.returncode, 0)
            whole = json.loads(subprocess.run([FLINCH, 'look', capture, '--fov', '90', '--json'], check=True,
                                              stdout=subprocess.PIPE, timeout=600).stdout)
        lapses = [(float(a), float(b)) for a, b in re.findall(r'lapse ([\d.]+) to ([\d.]+) s', done.stdout)]
        trips = [(float(t), float(d)) for t, d in re.findall(r'([\d.]+) s  off \(seen ([\d.]+) s', done.stdout)]
        self.assertGreater(len(lapses), 2)
        self.assertEqual(len(lapses), len(whole['lapses']))
        # Grey pictures from limited luma are stretched to full range, so edges may move by a row or two: a ms.
        for ours, theirs in zip(lapses, whole['lapses']):
            self.assertAlmostEqual(ours[0], theirs['start_s'], delta=0.005)
        for lapse in (entry for entry in whole['lapses'] if entry['has_trip']):
            self.assertTrue(any(abs(t - lapse['start_s']) < 0.06 for t, _ in trips), (lapse['start_s'], trips))
        self.assertIn('flick of ', done.stdout)

    def test_misuse_is_one_line(self):
        for words in (['0', '270', '120', '90'], ['480', '270', '-1', '90'], ['480', '270', '120', '900']):
            done = subprocess.run([EXAMPLE, *words], stdin=subprocess.DEVNULL, stderr=subprocess.PIPE, encoding='utf-8')
            self.assertEqual(done.returncode, 2, words)
            self.assertEqual(done.stderr.count('\n'), 1, done.stderr)
        done = subprocess.run([EXAMPLE, '480', '270', '120', '90'], stdin=subprocess.DEVNULL, stderr=subprocess.PIPE, encoding='utf-8')
        self.assertEqual((done.returncode, done.stderr.count('\n')), (1, 1))


if __name__ == '__main__':
    unittest.main()
