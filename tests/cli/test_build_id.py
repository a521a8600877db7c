"""The build id: the same for the same sources wherever they lie, another for other sources; stored takes go by it."""
import hashlib
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

SCRIPT, SOURCES, PRINT_KEY, PRINT_OTHER_KEY = (pathlib.Path(sys.argv.pop(1)).resolve() for _ in range(4))


class BuildId(unittest.TestCase):
    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix='build-id-'))
        self.addCleanup(shutil.rmtree, self.folder)
        self.here = self.copy('here')

    def copy(self, name):
        shutil.copytree(SOURCES, self.folder / name, ignore=shutil.ignore_patterns('__pycache__'))
        return self.folder / name

    def build_id(self, root, *words):
        header, depfile = self.folder / 'out.h', self.folder / 'out.d'
        header.unlink(missing_ok=True)
        subprocess.run([sys.executable, SCRIPT, root, header, depfile, *words], check=True)
        found = re.search(r'^#define FL_BUILD_ID "([0-9a-f]{64})"$', header.read_text(), re.M)
        return found[1]

    def test_the_same_sources_elsewhere(self):
        there = self.copy('elsewhere, with a blank')
        for path in there.rglob('*'):
            os.utime(path, (1e9, 1e9))
        (there / 'notes.txt').write_text('no source')
        self.assertEqual(self.build_id(self.here, 'gcc'), self.build_id(there, 'gcc'))

    def test_any_other_source_or_compiler(self):
        seen = {self.build_id(self.here, 'gcc', '12.2'), self.build_id(self.here, 'gcc', '12.3'),
                self.build_id(self.here, 'gcc1', '2.3')}
        (self.here / 'state/label.c').write_text((self.here / 'state/label.c').read_text() + '\n')
        seen.add(self.build_id(self.here, 'gcc', '12.2'))
        (self.here / 'base/units.h').write_text((self.here / 'base/units.h').read_text().replace('2.54', '2.53'))
        seen.add(self.build_id(self.here, 'gcc', '12.2'))
        (self.here / 'maths/meson.build').write_text('')
        seen.add(self.build_id(self.here, 'gcc', '12.2'))
        (self.here / 'state/added.c').write_text('')
        seen.add(self.build_id(self.here, 'gcc', '12.2'))
        (self.here / 'state/added.c').rename(self.here / 'state/moved.c')
        seen.add(self.build_id(self.here, 'gcc', '12.2'))
        self.assertEqual(len(seen), 8)

    def test_the_build_knows_what_it_depends_on(self):
        self.build_id(self.here, 'gcc')
        target, _, names = (self.folder / 'out.d').read_text().partition(': ')
        self.assertEqual(target, str(self.folder / 'out.h'))
        named = set(names.split())
        for path in [self.here, *self.here.rglob('*.[ch]')]:
            self.assertIn(str(path), named)

    def test_nothing_is_written_again(self):
        """Or all that includes it would be compiled again."""
        self.build_id(self.here, 'gcc')
        os.utime(self.folder / 'out.h', (1e9, 1e9))
        subprocess.run([sys.executable, SCRIPT, self.here, self.folder / 'out.h', self.folder / 'out.d', 'gcc'], check=True)
        self.assertEqual((self.folder / 'out.h').stat().st_mtime, 1e9)

    def test_the_digest_is_of_names_and_contents(self):
        """By hand: FIPS 180-4 over what the script says that it hashes."""
        shutil.rmtree(self.here)
        (self.here / 'b').mkdir(parents=True)
        (self.here / 'b/x.c').write_text('int x;')
        (self.here / 'a.h').write_text('')
        want = hashlib.sha256(b'a.h 0\nb/x.c 6\nint x;3 gcc\n').hexdigest()
        self.assertEqual(self.build_id(self.here, 'gcc'), want)

    def test_the_key_goes_by_the_id_and_not_by_the_program(self):
        footage, copied = self.folder / 'a.mkv', self.folder / 'print_key'
        footage.write_text('no matter')
        shutil.copy(PRINT_KEY, copied)
        mine, copys, others = (subprocess.check_output([program, footage]) for program in (PRINT_KEY, copied, PRINT_OTHER_KEY))
        self.assertRegex(mine, rb'^[0-9a-f]{64}\n$')
        self.assertEqual(mine, copys)
        self.assertNotEqual(mine, others)


if __name__ == '__main__':
    unittest.main(verbosity=2)
