"""Checks the layout of the C sources: .clang-format is kept, no line is over 100 columns.

format.py ROOT [--write]: --write mends what a formatter can. Skips (exit 77) without clang-format 14,
as another version lays out otherwise.
"""
import pathlib
import shutil
import subprocess
import sys

COLUMNS = 100
FOLDERS = ['src', 'include', 'demo', 'tests']


def formatter():
    for name in ('clang-format-14', 'clang-format'):
        path = shutil.which(name)
        if path and ' 14.' in subprocess.run([path, '--version'], capture_output=True, text=True).stdout:
            return path
    return None


def main(root, write):
    tool = formatter()
    if not tool:
        print('no clang-format 14 here: skipped')
        return 77
    files = [p for folder in FOLDERS for p in sorted((root / folder).rglob('*.[ch]'))]
    run = subprocess.run([tool, *(['-i'] if write else ['--dry-run', '-Werror']), *map(str, files)],
                         capture_output=True, text=True, cwd=root)
    faults = run.stderr.splitlines()
    for path in files:
        for number, line in enumerate(path.read_text('utf-8').splitlines(), 1):
            if len(line) > COLUMNS:
                faults.append(f'{path.relative_to(root)}:{number}: {len(line)} columns')
    print('\n'.join(faults[:40]) or f'{len(files)} files laid out as .clang-format says')
    return 1 if faults or len(files) < 100 else 0


if __name__ == '__main__':
    sys.exit(main(pathlib.Path(sys.argv[1]), '--write' in sys.argv[2:]))
