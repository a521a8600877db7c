"""Adds up the tests in meson's logs and prints "N passed, N failed" as the last line.

A program that says how many of its tests passed (cmocka, unittest) counts with those; any other
program counts as one test.
"""
import json
import re
import sys


def counts(entry):
    out = (entry.get('stdout') or '') + (entry.get('stderr') or '')
    passed = sum(map(int, re.findall(r'\[  PASSED  \] (\d+) test', out)))
    failed = sum(map(int, re.findall(r'\[  FAILED  \] (\d+) test', out)))
    skipped = sum(map(int, re.findall(r'\[  SKIPPED \] (\d+) test', out)))
    for ran in re.findall(r'^Ran (\d+) tests? in', out, re.M):
        bad = sum(map(int, re.findall(r'\b(?:failures|errors)=(\d+)', out)))
        skip = sum(map(int, re.findall(r'\bskipped=(\d+)', out)))
        passed, failed, skipped = passed + int(ran) - bad - skip, failed + bad, skipped + skip
    if entry['result'] == 'SKIP':
        return 0, 0, 1
    if entry['result'] in ('OK', 'EXPECTEDFAIL'):
        return (passed if passed or skipped else 1), failed, skipped
    return passed, max(failed, 1), skipped  # a program that died counts, whatever it had said


def main(paths):
    passed = failed = skipped = 0
    for path in paths:
        with open(path) as log:
            for line in log:
                entry = json.loads(line)
                p, f, s = counts(entry)
                passed, failed, skipped = passed + p, failed + f, skipped + s
                if f:
                    print(f'failed: {entry["name"]}')
                if entry['result'] == 'SKIP':
                    print(f'skipped: {entry["name"]}')
    if skipped:
        print(f'{skipped} skipped')
    print(f'{passed} passed, {failed} failed')
    return 1 if failed or not passed else 0


if __name__ == '__main__':
    sys.exit(main(sys.argv[1:]))
