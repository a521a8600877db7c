"""The recorder for Windows, run under Wine with input made by another program.

test_log_windows.py FLINCH_EXE MOVE_MOUSE_EXE. Skips (exit 77) without Wine. What Wine without a
screen cannot show: game pads, the end of a session, Ctrl-C of a console, speed.
"""
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time

LOG, MOVE = (os.path.abspath(path) for path in sys.argv[1:3])
failures = 0


def check(what, good, more=''):
    global failures
    failures += not good
    print(f'{"ok" if good else "FAILED"}: {what}{" (" + str(more) + ")" if more != "" and not good else ""}')


def wine(folder, *words, **more):
    environment = {**os.environ, 'WINEPREFIX': str(folder / 'prefix'), 'WINEDEBUG': '-all',
                   'WINEDLLOVERRIDES': 'mscoree=;mshtml='}
    environment.pop('DISPLAY', None)
    return subprocess.Popen(['wine', *words], cwd=folder, env=environment, stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, text=True, **more)


def run(folder, *words):
    process = wine(folder, *words)
    stdout, stderr = process.communicate(timeout=180)
    return process.returncode, stdout, stderr


def wait_for(condition, seconds=60):
    until = time.monotonic() + seconds
    while time.monotonic() < until and not condition():
        time.sleep(0.05)
    return condition()


def rows(path):
    return [line.split(',') for line in path.read_text().splitlines() if line[:1].isdigit()]


def words(folder):
    status, stdout, _ = run(folder, LOG, '--version')
    check('tells its version', status == 0 and stdout.startswith('flinch '), stdout)
    for asked in (['--help'], ['log', '-h']):
        status, stdout, _ = run(folder, LOG, *asked)
        check('says what it records and what it may be taken for', status == 0 and 'never what is typed' in stdout
              and 'cheat' in stdout and '--devices' in stdout, stdout)
        check('in 80 columns', max(map(len, stdout.splitlines())) <= 80, stdout)
    for options, part in ((['log', '--until', 'x', '-o', 'a'], 'not a number'), (['log'], 'missing argument'),
                          (['log', '--untill', '1'], 'did you mean'), (['log', '-o', 'a', '--stick', 'up'], 'right or left'),
                          (['look'], 'no more'), ([], 'no more')):
        status, _, stderr = run(folder, LOG, *options)
        check(f'refuses: {part}', status == 2 and part in stderr, stderr)


def recording(folder):
    out = folder / 'a.csv'
    recorder = wine(folder, LOG, 'log', '-o', 'a.csv', '--until', '10')
    ready = wait_for(lambda: out.exists() and b'time_us' in out.read_bytes())
    check('the file is there while it records', ready)
    status, _, stderr = run(folder, MOVE, '70')
    check('input is made', status == 0 and 'error' not in stderr, stderr)
    early = wait_for(lambda: len(rows(out)) == 73, 10)
    check('rows reach the disk at once', early, len(rows(out)))
    status = recorder.wait(timeout=60)
    stdout, stderr = recorder.communicate()
    got = rows(out)
    moves = [[i % 7 - 3, i % 5 - 2] for i in range(70) if i % 7 - 3 or i % 5 - 2]
    check('every move, in order', [[int(r[1]), int(r[2])] for r in got[:68]] == moves, len(got))
    check('clicks and the wheel', [r[3:6] for r in got[68:]] ==
          [['', '1', '1'], ['', '1', '0'], ['', '2', '1'], ['', '2', '0'], ['1', '', '']], got[68:])
    times = [int(r[0]) for r in got]
    check('times rise by what they should', times == sorted(times) and 0.1e6 < times[67] - times[0] < 60e6)
    check('--until ends it, with the counts', status == 0 and '73 reports' in stdout and '2 presses' in stdout, stdout)
    check('a line a second', stderr.count(' reports ') >= 5, stderr)
    status, _, stderr = run(folder, LOG, 'log', '-o', 'a.csv')
    check('touches no file that is there', status == 1 and 'is there already' in stderr, stderr)


def main():
    if not shutil.which('wine'):
        print('no wine here: skipped')
        return 77
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        print(f'{os.path.getsize(LOG)} bytes')
        words(folder)
        recording(folder)
        subprocess.run(['wineserver', '-k'], env={**os.environ, 'WINEPREFIX': str(folder / 'prefix')}, check=False)
    return failures > 0


if __name__ == '__main__':
    sys.exit(main())
