#!/usr/bin/env python3
"""Scores staged and practice takes, prints the table worst case first and writes it as Markdown.

usage: table.py DOC OUT TAKES_DIR [PRACTICE_OUT PRACTICE_DIR]

OUT and PRACTICE_OUT are folders that `flinch run` wrote.
"""
import json
import pathlib
import sys

import score
import targets

INTRO = """# Accuracy

Measured takes against their truth. `tests/accuracy/run` films every small scenario of the stage
(`demo/stage --list`) with two seeds, measures them, and writes this page; figures are of the
commit that holds it. Worst takes first; **bold**: misses its target. The rules are those of
`tests/accuracy/score.py`.

*In motion*: true camera motion of at least 1.5 pixels of 512 across per capture period. States within 10 ms
of a true edge are not judged. Lapses match at half of their union; a bracket of at most 0.5 s that
holds the true end stands for it. Flips match within 2 ms.
"""
PRACTICE_INTRO = """## Practice takes

Filmed from a game engine, with truth; not part of the project. These rows are there only when the
folder `../shared/practice` lies beside the source tree.
"""


def figure(x, digits=1, scale=1, sign=False):
    if x is None:
        return ''
    return f'{x * scale:{"+" if sign else ""}.{digits}f}'


def marked(text, row, *names):
    """Bold where one of the named targets is missed."""
    return f'**{text or "none"}**' if set(names) & set(targets.missed(row)) else text


def clock_cell(row):
    if row['clock_ms'] is None:
        return marked('refused', row, 'clock')
    return marked(figure(max(row['clock_ms'], key=abs), 1, sign=True), row, 'clock')


def interval_cell(row):
    if row['bound'] in ('above', 'below'):
        text = f'{row["bound"]} {figure(row["bound_at"], 0)}'
    elif row['v50'] is None:
        return ''
    else:
        low, high = (figure(row[k], 0) or 'open' for k in ('v50_low', 'v50_high'))
        text = f'{figure(row["v50"], 0)} ({low} to {high})'
    return marked(text, row, 'V50')


STATES = (
    ('take', lambda r: r['take']),
    ('F1', lambda r: '' if r['control'] else marked(figure(r['f1'], 3), r, 'F1')),
    ('hit/true', lambda r: f'{r["lapses_hit"]}/{r["lapses_true"]}'),
    ('false', lambda r: marked(str(r['lapses_false']), r, 'control')),
    ('start ms', lambda r: marked(figure(r['start_ms']), r, 'start')),
    ('end ms', lambda r: marked(figure(r['end_ms']), r, 'end')),
    ('bracket ms', lambda r: marked(figure(r['bracket_ms'], 0), r, 'bracket')),
    ('holds end %', lambda r: figure(r['bracket_hit'], 0, 100)),
    ('motion s', lambda r: figure(r['moving_s'])),
    ('wrong %', lambda r: marked(figure(r['wrong_moving'], 1, 100), r, 'wrong')),
    ('unseen %', lambda r: marked(figure(r['unseen_moving'], 1, 100), r, 'unseen')),
    ('right at ≥ 90 %', lambda r: marked(figure(r['right_at_90'], 1, 100), r, 'sure')),
    ('missed targets', lambda r: ', '.join(targets.missed(r))),
)
RATES = (
    ('take', lambda r: r['take']),
    ('flip recall', lambda r: marked(figure(r['flip_recall'], 3), r, 'recall')),
    ('precision', lambda r: marked(figure(r['flip_precision'], 3), r, 'precision')),
    ('flip ms', lambda r: marked(figure(r['flip_ms'], 2), r, 'flip time')),
    ('unique rate %', lambda r: marked(figure(r['unique_rate_error'], 1, 100), r, 'unique rate')),
    ('base on %', lambda r: marked(figure(r['base_on_error'], 1, 100, True), r, 'base on')),
    ('base off %', lambda r: marked(figure(r['base_off_error'], 1, 100, True), r, 'base off')),
    ('clock ms', clock_cell),
    ('L(off) − L(on) ms', lambda r: marked(figure(r['off_minus_on_error_ms'], 1, sign=True), r, 'L(off)')),
    ('flicks', lambda r: str(r['flicks'])),
    ('cut-off', lambda r: figure(r['theta'], 0)),
    ('V50 (95 %)', interval_cell),
)


def markdown(columns, rows):
    lines = [[name for name, _ in columns], ['---'] * len(columns)]
    lines += [[cell(r) for _, cell in columns] for r in rows]
    return ''.join('| ' + ' | '.join(line) + ' |\n' for line in lines)


def aligned(columns, rows):
    """For a terminal; `*` marks a missed target."""
    cells = [[name for name, _ in columns]]
    cells += [[''.join(cell(r).split('**')[:-1]) + '*' if '**' in cell(r) else cell(r) for _, cell in columns]
              for r in rows]
    wide = [max(len(line[k]) for line in cells) for k in range(len(columns))]
    return ''.join('  '.join(f'{c:<{w}}' if k == 0 else f'{c:>{w}}' for k, (c, w) in enumerate(zip(line, wide))).rstrip()
                   + '\n' for line in cells)


def pooled_f1(rows):
    return score.f1(*(sum(r[k] for r in rows) for k in ('lapses_hit', 'lapses_true', 'lapses_false')))


def judged(rows):
    """How many takes meet each target."""
    f1 = pooled_f1(rows)
    lines = [f'| lapses of 60 ms and more: F1 ≥ 0.98, all takes pooled | {"" if f1 >= 0.98 else "**"}'
             f'{f1:.3f}{"" if f1 >= 0.98 else "**"} |\n']
    for _, what, judge in targets.TARGETS:
        says = [judge(r) for r in rows]
        met, all_of = says.count(True), says.count(True) + says.count(False)
        lines.append(f'| {what} | ' + (f'{met} of {all_of} |\n' if met == all_of else f'**{met} of {all_of}** |\n'))
    return '| target | takes that meet it |\n| --- | --- |\n' + ''.join(lines)


UNITS = """Errors: *start*, *end*, *flip*, *clock*, *L(off) − L(on)* in ms (clock: the largest of three times, of
L(on) = 0), rates in % of the true rate. *cut-off* and V50 in the unit that the game watches: deg/s, for image-key
px per base period, for count-key counts/s; a control has no cut-off. The stage's delay is 7 ms shorter in state
off, and most motion of these short takes is in state off: a clock that cannot tell the two delays apart
lies up to 7 ms above.
"""


def section(rows):
    return (f'{judged(rows)}\n### Lapses and states\n\n{markdown(STATES, rows)}\n'
            f'### Flips, rates, clock, trip speed\n\n{UNITS}\n{markdown(RATES, rows)}')


def scored(out, folder):
    session = json.loads((pathlib.Path(out) / 'session.json').read_text())
    rows = (score.score(out, pathlib.Path(folder) / t['id']) for t in session['takes'])
    return sorted(rows, key=targets.badness)


def main(args):
    if len(args) not in (3, 5):
        sys.exit(__doc__.strip())
    page, parts = INTRO, [('Staged takes', args[1:3])] + [('Practice takes', args[3:5])] * (len(args) == 5)
    for title, (out, folder) in parts:
        rows = scored(out, folder)
        print(f'\n{title} (* misses its target)\n\n{aligned(STATES, rows)}\n{aligned(RATES, rows)}\n'
              f'pooled F1 {pooled_f1(rows):.3f}')
        page += '\n' + (f'## {title}\n' if title == 'Staged takes' else PRACTICE_INTRO) + '\n' + section(rows)
    pathlib.Path(args[0]).write_text(page)


if __name__ == '__main__':
    main(sys.argv[1:])
