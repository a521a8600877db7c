"""Checks that the ranges of settings which documents and help texts state are those of the one table.

ranges.py ROOT PRINT_RANGES FLINCH: PRINT_RANGES prints the table of src/study/input/take_spec.c.
"""
import pathlib
import re
import subprocess
import sys

# Options of commands: the key whose range they have.
OPTIONS = {'cpi': 'counts_per_inch', 'degrees-per-count': 'degrees_per_count', 'counts-per-turn': 'counts_per_turn',
           'fov': 'horizontal_fov_deg', 'base-rate': 'base_rate_hz', 'at-cpi': 'counts_per_inch',
           'at-degrees-per-count': 'degrees_per_count'}
NUMBER = r'[−-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?'


def number(text):
    return float(text.replace('−', '-'))


def in_document(text):
    """Of rows as `a`, `b` | 1 to 2, 3 to 4 |: the ranges of a and of b."""
    found = {}
    for row in re.findall(r'^\|(.*)\|$', text, re.M):
        names, _, rest = row.partition('|')
        names, ranges = re.findall(r'`(\w+)`', names), re.findall(rf'({NUMBER}) to ({NUMBER})', rest)
        if len(names) == len(ranges):
            found.update(zip(names, ranges))
    return found


def in_header(text):
    return {name: (low, high) for name, low, high in re.findall(rf'\bdouble (\w+);\s*/\* [^*]*?({NUMBER})\.\.({NUMBER})', text)}


def in_help(text):
    """Of entries that may go over several lines."""
    entries = re.split(r'\n  (?:-\w, |    )--', text)[1:]
    found = {}
    for entry in entries:
        ranges = re.search(rf'\(({NUMBER}) to ({NUMBER})\)', ' '.join(entry.split()))
        if ranges:
            found[re.match(r'[\w-]+', entry)[0]] = ranges.groups()
    return found


def main(root, program, flinch):
    root = pathlib.Path(root)
    table = {}
    for line in subprocess.check_output([program], encoding='utf-8').splitlines():
        name, low, high = line.split()
        table[name] = (float(low), float(high))
    faults, checked = [], set()

    def check(where, name, key, given):
        checked.add((where, name))
        if tuple(map(number, given)) != table[key]:
            faults.append(f'{where}: {name} says {given[0]} to {given[1]}, the table {table[key]}')

    said = in_document((root / 'docs/files.md').read_text('utf-8'))
    for key in table:
        if key in said:
            check('docs/files.md', key, key, said[key])
        else:
            faults.append(f'docs/files.md: no range of {key}')
    for name, given in in_header((root / 'include/flinch/flinch.h').read_text('utf-8')).items():
        if name in table:
            check('flinch.h', name, name, given)
    for command in ('look', 'check', 'plan'):
        said = in_help(subprocess.check_output([flinch, command, '--help'], encoding='utf-8'))
        for option, key in OPTIONS.items():
            if option in said:
                check(command, option, key, said[option])
    print('\n'.join(faults) or f'{len(checked)} ranges as in the table')
    enough = {('flinch.h', 'degrees_per_count'), ('look', 'cpi'), ('look', 'base-rate'), ('check', 'fov'), ('plan', 'at-cpi')}
    return 1 if faults or not enough <= checked else 0


if __name__ == '__main__':
    sys.exit(main(*sys.argv[1:]))
