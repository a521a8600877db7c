#!/usr/bin/env python3
"""Prints the session of staged takes: what a tester would know of them, which is the set-up and that a control is one.

usage: session.py TAKES_DIR TAKE ...
"""
import json
import pathlib
import sys


def entry(folder):
    truth = json.loads((folder / 'truth.json').read_text())
    presentation, mouse = truth['capture']['presentation'], truth.get('mouse')
    lines = [f'id: {folder.name}', f'game: {folder.name}', f'footage: {folder.name}/{next(folder.glob("capture.*")).name}',
             f'trace: {folder.name}/trace.csv', f'horizontal_fov_deg: {truth["view"]["hfov_deg"]}']
    if mouse:
        lines += [f'counts_per_inch: {mouse["counts_per_inch"]}', f'degrees_per_count: {mouse["deg_per_count"]}']
    if truth['synthesis'] == 'never on':
        lines.append('synthesis: disabled')
    if presentation == 'local recording':
        lines.append('capture: local')
    if 'variable' in presentation:
        lines.append('output: variable')
    return '  - ' + '\n    '.join(lines)


def main(args):
    if len(args) < 2:
        sys.exit(__doc__.strip())
    print('session: Accuracy\ntakes:')
    for take in args[1:]:
        print(entry(pathlib.Path(args[0]) / take))


if __name__ == '__main__':
    main(sys.argv[1:])
