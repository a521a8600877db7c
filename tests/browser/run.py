"""run.py WRITE_PAGE SOURCE BUILD SCRIPT: runs a script in node with what it needs.

Installs playwright-core and axe-core into BUILD from the committed lock file, has WRITE_PAGE make invented reports,
and runs SOURCE/SCRIPT with BUILD and the folder of the reports. Exits 77 (skipped) without Chromium (layout.mjs: or
Firefox) or npm, and where the page was built without its script.
"""
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

KINDS = {'check.mjs': ['plain', 'linked', 'hostile'], 'audit.mjs': ['plain', 'hostile'],
         'bench.mjs': ['long', 'many'], 'layout.mjs': ['plain', 'many']}
NPM_CI = ['npm', 'ci', '--ignore-scripts', '--no-audit', '--no-fund']


def skip(why):
    print('skipped:', why)
    sys.exit(77)


def install(source, build):
    """npm ci, unless it has been done from the same lock file."""
    build.mkdir(parents=True, exist_ok=True)
    lock = (source / 'package-lock.json').read_text()
    done = build / 'node_modules' / 'installed-lock.json'
    if done.exists() and done.read_text() == lock:
        return
    for name in ('package.json', 'package-lock.json'):
        shutil.copy(source / name, build / name)
    subprocess.run(NPM_CI, cwd=build, check=True, stdout=subprocess.DEVNULL)
    done.write_text(lock)


def main(write_page, source, build, script):
    source, build = pathlib.Path(source), pathlib.Path(build)
    browser = shutil.which('chromium') or shutil.which('chromium-browser')
    firefox = shutil.which('firefox-esr') or shutil.which('firefox')
    if not browser:
        skip('no chromium')
    if script == 'layout.mjs' and not firefox:
        skip('no firefox')
    if not shutil.which('npm') or not shutil.which('node'):
        skip('no npm')
    with tempfile.TemporaryDirectory() as reports:
        for kind in KINDS[script]:
            subprocess.run([write_page, f'{reports}/{kind}', kind], check=True)
            report = pathlib.Path(reports, kind, 'report.html')
            if report.exists() and 'class="course"' not in report.read_text('utf-8'):
                skip('the page was built without its script')
        install(source, build)
        shutil.copy(source / script, build / script)  # node finds its packages beside the script
        shutil.copy(source / 'page.mjs', build / 'page.mjs')
        return subprocess.run(['node', build / script, browser, reports, build, firefox or ''],
                              env=os.environ | {'FLINCH_SCRIPTS': str(source / '../../src/show/page/script')}).returncode


if __name__ == '__main__':
    sys.exit(main(*sys.argv[1:]))
