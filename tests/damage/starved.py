#!/usr/bin/env python3
"""Lets memory run out at one allocation after another of a short measurement: each time flinch must
end in one line and status 1, or go on without what failed, and leave nothing half written.

    tests/damage/starved.py FLINCH STARVE_LIBRARY [POINTS]
"""
import json
import os
import pathlib
import random
import resource
import shutil
import subprocess
import sys
import tempfile

CLIP = pathlib.Path(__file__).resolve().parent / 'clip.mkv'
PATIENCE_S = 300
LINE = b'flinch: out of memory: close other programs or measure fewer takes at once\n'


def look(flinch, folder, limit=None, **env):
    out = folder / 'out'
    shutil.rmtree(out, ignore_errors=True)

    def before():
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        if limit:
            resource.setrlimit(resource.RLIMIT_AS, (limit, limit))

    done = subprocess.run([flinch, 'look', CLIP, '-o', out, '-q', '--threads', '1'], env={**os.environ, **env}, cwd=folder,
                          stdin=subprocess.DEVNULL, capture_output=True, timeout=PATIENCE_S, preexec_fn=before)
    return done, out


def fault(done, out):
    """What is wrong, or None."""
    if done.returncode not in (0, 1):
        return f'status {done.returncode}'
    if done.returncode == 1 and (done.stderr.count(b'\n') != 1 or not done.stderr.startswith(b'flinch: ')):
        return 'not one line'
    for path in out.rglob('*') if out.exists() else ():
        if path.name.startswith('.part-'):
            return f'left {path.name}'
        if path.suffix == '.json':
            json.loads(path.read_text())
    return None


def main():
    flinch, library = map(os.path.abspath, sys.argv[1:3])
    points = int(sys.argv[3]) if len(sys.argv) > 3 else 24
    rng, bad, ended, tried = random.Random(3), 0, 0, 0
    with tempfile.TemporaryDirectory(prefix='flinch-starved-') as name:
        folder = pathlib.Path(name)
        count = folder / 'count'
        done, _ = look(flinch, folder, LD_PRELOAD=library, STARVE_COUNT=str(count))
        assert done.returncode == 0, done
        total = int(count.read_text())
        ways = [(f'allocation {p} of {total} and {what}', None, {'LD_PRELOAD': library, 'STARVE_FROM': str(p), **env})
                for p in sorted(rng.sample(range(total), points))
                for what, env in (('all after it', {}), ('no other', {'STARVE_FOR': '1'}))]
        # A batch system's limit on address space: the loader needs some, the whole measurement a little more.
        ways += [(f'{mb} MB of address space', mb << 20, {}) for mb in range(240, 720, 960 // points)]
        for what, limit, env in ways:
            done, out = look(flinch, folder, limit, **env)
            wrong = fault(done, out) if done.returncode != 127 else None  # 127: the loader found no room
            tried += 1
            ended += done.returncode == 1
            if wrong:
                bad += 1
                print(f'{what}: {wrong}: {done.stderr[-300:]!r}')
    print(f'{tried} times without memory: {ended} ended in one line, {tried - ended - bad} went on, {bad} otherwise')
    return 1 if bad or not ended else 0


if __name__ == '__main__':
    sys.exit(main())
