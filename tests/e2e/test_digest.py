"""Same files in, same files out, to the byte: whatever number of threads and of takes side by side, and whether the run went
through or was broken off and taken up again.

The whole folder counts: measurements, tables, charts, filmstrips, marks and report. Its digest is printed, so that builds
by other compilers can be held against each other.
"""
import hashlib
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

FLINCH, STAGE, ROOT = (pathlib.Path(sys.argv.pop(1)).resolve() for _ in range(3))
sys.path.insert(0, str(ROOT / 'tests/cli'))
import interrupt  # noqa: E402

TAKES = ('watch-counts', 'watch-camera', 'torn-140')
SECONDS = '6'
folder = None


def setUpModule():
    global folder
    folder = pathlib.Path(tempfile.mkdtemp(prefix='flinch-digest-'))
    lines = ['session: Digest', 'defaults: {game: Glass Canyon, counts_per_inch: 800, horizontal_fov_deg: 90}', 'takes:']
    for name in TAKES:
        subprocess.run([STAGE, name, folder, '--seconds', SECONDS, '--width', '480', '--height', '270'], check=True,
                       timeout=600, stdout=subprocess.DEVNULL)
        lines.append(f'  - {{id: {name}, footage: {name}/capture.mkv, trace: {name}/trace.csv}}')
    (folder / 'session.yaml').write_text('\n'.join(lines) + '\n')


def tearDownModule():
    shutil.rmtree(folder)


def command(out, *args):
    return [FLINCH, 'run', folder / 'session.yaml', '-o', folder / out, *args]


def run(out, *args):
    subprocess.run(command(out, '--quiet', *args), check=True, timeout=600)
    return digests(out)


def digests(out):
    """Path in the folder → digest of the file."""
    return {str(p.relative_to(folder / out)): hashlib.sha256(p.read_bytes()).hexdigest()
            for p in sorted((folder / out).rglob('*')) if p.is_file()}


class Digest(unittest.TestCase):
    maxDiff = None

    @classmethod
    def setUpClass(cls):
        cls.plain = run('plain', '--threads', '1', '-j', '1')
        whole = hashlib.sha256(repr(sorted(cls.plain.items())).encode()).hexdigest()
        print(f'{len(cls.plain)} files, digest {whole}', file=sys.stderr)

    def test_there_is_something_to_compare(self):
        for name in TAKES:
            self.assertIn(f'takes/{name}.json', self.plain)
        self.assertIn('report.html', self.plain)
        self.assertTrue(any(p.startswith('strips/') for p in self.plain), 'lapses with filmstrips')

    def test_any_number_of_threads(self):
        self.assertEqual(run('threads', '--threads', '5', '-j', '1'), self.plain)

    def test_any_number_of_takes_side_by_side(self):
        self.assertEqual(run('jobs', '-j', '3'), self.plain)

    def test_broken_off_and_taken_up_again(self):
        status, text = interrupt.interrupted(command('again', '--threads', '2', '-j', '1'), rb'1 of 3 done')
        self.assertEqual(status, 1, text)
        self.assertFalse((folder / 'again/session.json').exists())
        done = subprocess.run(command('again', '-j', '2'), check=True, timeout=600, capture_output=True, text=True)
        self.assertIn('1 reused', done.stdout)
        self.assertEqual(digests('again'), self.plain)

    def test_read_back_as_a_whole(self):
        shutil.copytree(folder / 'plain', folder / 'read', copy_function=shutil.copy2)
        self.assertEqual(run('read'), self.plain)
        subprocess.run([FLINCH, 'show', folder / 'read'], check=True, timeout=600, stdout=subprocess.DEVNULL)
        self.assertEqual(digests('read'), self.plain)


if __name__ == '__main__':
    unittest.main()
