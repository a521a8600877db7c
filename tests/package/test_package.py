"""The Debian package: built by docs/debian/build, unpacked by dpkg into a root of its own, and used from there.

What an installed flinch consists of is asked of that root: program, manual, completions for every command, library with
header and pkg-config file, from which docs/examples/measure.c is compiled as its first lines say. Then it runs a session.
"""
import gzip
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / 'tests/cli'))
import footage  # noqa: E402

WORK = pathlib.Path(os.path.abspath(sys.argv.pop(1)))  # kept between runs: only what changed is built
NEEDED = ('dpkg-deb', 'dpkg-shlibdeps', 'dpkg-gencontrol', 'ffmpeg', 'scdoc', 'pkg-config')


def output(*words, **options):
    done = subprocess.run(list(map(str, words)), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding='utf-8', **options)
    if done.returncode:
        raise AssertionError(f'{words}: status {done.returncode}\n{done.stdout}')
    return done.stdout


class Package(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.package = pathlib.Path(output(ROOT / 'docs/debian/build', WORK).splitlines()[-1])
        cls.folder = pathlib.Path(tempfile.mkdtemp(prefix='flinch-package-'))
        cls.root = cls.folder / 'root'
        (cls.root / 'var/lib/dpkg').mkdir(parents=True)
        (cls.root / 'var/lib/dpkg/status').write_text('')
        # Of the libraries that it needs this root holds none: they are asked for below.
        output('dpkg', f'--root={cls.root}', '--force-depends', '--force-not-root', '--force-script-chrootless', f'--log={cls.folder}/log',
               '-i', cls.package)
        cls.env = {**os.environ, 'LD_LIBRARY_PATH': str(next(cls.root.glob('usr/lib/*/libflinch.so')).parent)}

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.folder)

    def flinch(self, *words):
        return output(self.root / 'usr/bin/flinch', *words, env=self.env)

    def test_it_is_installed_and_names_what_it_needs(self):
        self.assertIn('ok installed', (self.root / 'var/lib/dpkg/status').read_text())
        depends = output('dpkg-deb', '-f', self.package, 'Depends')
        for library in ('libavformat', 'libsndfile1', 'libyaml', 'libjansson4', 'libpango', 'libgsl', 'zlib1g', 'libc6'):
            self.assertIn(library, depends)
        # every one is a package that this system has, in that version or newer
        for name in re.findall(r'(?:^|, )([\w.+-]+)', depends):
            self.assertIn('install ok installed', output('dpkg-query', '-W', '-f=${Status}', name))

    def test_manual_and_completions_know_every_command(self):
        commands = re.findall(r'^  (\w+) ', self.flinch('--help'), re.MULTILINE)
        self.assertGreater(len(commands), 7)
        manual = gzip.decompress((self.root / 'usr/share/man/man1/flinch.1.gz').read_bytes()).decode()
        share = self.root / 'usr/share'
        texts = {'manual': manual, **{place: (share / place).read_text() for place in (
            'bash-completion/completions/flinch.bash', 'zsh/site-functions/_flinch', 'fish/vendor_completions.d/flinch.fish')}}
        for place, text in texts.items():
            for command in commands:
                self.assertRegex(text, rf'\b{command}\b', place)

    def test_the_example_is_compiled_against_it_and_finds_what_flinch_finds(self):
        env = {**self.env, 'PKG_CONFIG_SYSROOT_DIR': str(self.root),
               'PKG_CONFIG_LIBDIR': str(next(self.root.glob('usr/lib/*/pkgconfig')))}
        flags = output('pkg-config', '--cflags', '--libs', 'flinch', env=env).split()
        self.assertEqual(output('pkg-config', '--modversion', 'flinch', env=env).strip(),
                         self.flinch('--version').splitlines()[0].split()[1])
        example = self.folder / 'example'
        output('cc', '-std=c11', '-Wall', '-Wextra', '-Werror', '-o', example, ROOT / 'docs/examples/measure.c', *flags)
        movie = footage.pan(self.folder / 'take.mkv', 4)
        self.assertRegex(output(example, movie, env=self.env), r'^(off from .*\n)*\d+ lapses\n$')
        self.assertNotEqual(subprocess.run([example, self.folder / 'no.mkv'], stderr=subprocess.DEVNULL, env=self.env).returncode, 0)

    def test_it_runs_a_session(self):
        footage.pan(self.folder / 'one.mkv', 4)
        session = self.folder / 'session.yaml'
        session.write_text('session: Trial\ntakes:\n  - {id: one, game: Glass Canyon, footage: one.mkv}\n')
        self.flinch('run', session, '-o', self.folder / 'results')
        self.assertTrue((self.folder / 'results/report.html').stat().st_size > 10000)

    def test_it_goes_without_a_trace(self):
        gone = self.folder / 'gone'
        shutil.copytree(self.root, gone, symlinks=True)
        output('dpkg', f'--root={gone}', '--force-not-root', '--force-script-chrootless', f'--log={self.folder}/log', '-P', 'flinch')
        self.assertEqual([p for p in gone.rglob('*') if 'flinch' in p.name], [])


if __name__ == '__main__':
    lacking = [name for name in NEEDED if not shutil.which(name)]
    if lacking:
        print('skipped: not installed:', ' '.join(lacking), '(Debian: dpkg-dev, ffmpeg, scdoc, pkg-config)')
        sys.exit(77)
    unittest.main(verbosity=2)
