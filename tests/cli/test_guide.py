"""The commands with which docs/recording.md leads from nothing to a report, as they stand there."""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

import footage

FLINCH = os.path.abspath(sys.argv.pop(1))
GUIDE = pathlib.Path(__file__).resolve().parents[2] / 'docs/recording.md'


def pad(path):
    rows = (f'{4000 * i},{0.5 if i % 250 > 125 else 0},0\n' for i in range(1000))
    path.write_text('time_us,stick_x,stick_y\n' + ''.join(rows))


def foreign(path, own):
    """The same trace under a logger's names, in milliseconds."""
    head, *rows = own.read_text().splitlines()
    columns = head.split(',')
    place = [columns.index(name) for name in ('time_us', 'dx', 'dy')]
    cells = ([row.split(',')[i] for i in place] for row in rows)
    path.write_text('Stamp (ms),Move X,Move Y\n' + ''.join(f'{int(t) / 1000},{x},{y}\n' for t, x, y in cells))


class Guide(unittest.TestCase):
    def test_each_short_way_ends_with_a_report(self):
        section = GUIDE.read_text().split('\n## From nothing to a report\n')[1].split('\n## ')[0]
        commands = re.findall(r'^    flinch (look .*)$', section, re.MULTILINE)
        self.assertEqual(len(commands), 4)
        with tempfile.TemporaryDirectory(prefix='flinch-guide-') as name:
            folder = pathlib.Path(name)
            footage.pan(folder / 'canyon.mkv', 4)
            footage.trace(folder / 'trace.csv', 6)
            foreign(folder / 'log.csv', folder / 'trace.csv')
            pad(folder / 'pad.csv')
            for command in commands:
                shutil.rmtree(folder / 'results', ignore_errors=True)
                done = subprocess.run(f"'{FLINCH}' {command}", shell=True, cwd=folder, stdout=subprocess.PIPE,
                                      stderr=subprocess.PIPE, encoding='utf-8', timeout=120)
                self.assertEqual(done.returncode, 0, (command, done.stderr))
                self.assertTrue((folder / 'results/report.html').exists(), command)
                for line in ('states', 'lapses', 'base rate', 'flicks', 'footage', 'clock'):
                    self.assertRegex(done.stdout, rf'(?m)^{line}  ', command)


if __name__ == '__main__':
    if not shutil.which('ffmpeg'):
        print('skipped: the ffmpeg program is not installed')
        sys.exit(77)
    unittest.main(verbosity=2)
