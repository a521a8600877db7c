"""test_pictures.py FLINCH WRITE_PAGE: filmstrips inside the report or beside it, as asked. Skips where the page was
built without its script."""
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

FLINCH, WRITE_PAGE = sys.argv[1:3]


class Pictures(unittest.TestCase):
    def setUp(self):
        self.scratch = tempfile.TemporaryDirectory()
        self.folder = self.scratch.name
        subprocess.run([WRITE_PAGE, self.folder, 'plain'], check=True)
        self.strips = len(list(pathlib.Path(self.folder, 'strips').glob('*.png')))

    def tearDown(self):
        self.scratch.cleanup()

    def shown(self, *options):
        done = subprocess.run([FLINCH, 'show', self.folder, '--quiet', *options], capture_output=True, text=True)
        self.assertEqual((done.returncode, done.stderr), (0, ''))
        page = pathlib.Path(self.folder, 'report.html').read_text('utf-8')
        if 'class="course"' not in page:
            self.skipTest('the page was built without its script')
        return len(re.findall('<script type="text/plain" class="picture"', page)), len(re.findall('href="strips/[^"]+[.]png"', page))

    def test_the_report_holds_its_filmstrips(self):
        self.assertEqual(self.shown(), (self.strips, self.strips))

    def test_the_report_links_its_filmstrips(self):
        self.assertEqual(self.shown('--link-pictures'), (0, self.strips))


unittest.main(argv=sys.argv[:1])
