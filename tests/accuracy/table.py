#!/usr/bin/env python3
"""Scores staged and practice takes, prints the table worst case first and writes it as Markdown.

usage: table.py DOC|- OUT TAKES_DIR [PRACTICE_OUT PRACTICE_DIR]

OUT and PRACTICE_OUT are folders that `flinch run` wrote. With - nothing is written.
"""
import collections
import json
import math
import pathlib
import sys

import score
import targets
import truth as truths

INTRO = """# Accuracy

Measured takes against their truth. `tests/accuracy/run` films every scenario of the stage that belongs to a family
(`demo/stage --list`), each with two hands, places and holds (30 to 500 ms, where it has none of its own), measures
them, and writes this page.
Worst first; **bold**: misses its target. The rules are those of `tests/accuracy/score.py`.

*In motion*: true camera motion of at least 1.5 pixels of 512 across per capture period. States within 10 ms
of a true edge are not judged. Lapses match at half of their union; a bracket of at most 0.5 s that
holds the true end stands for it. Flips match within 2 ms. In takes in which on and off cannot be told apart, named by
their true rates, all that is called in motion is wrong; where they need not be (*either*) unseen is as
right as the true state.
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


def share_cell(row):
    if row['share_low'] is None:
        return marked('', row, 'share range')
    said = 'refused' if row['share'] is None else marked(figure(row['share'], 1, 100), row, 'share')
    ends = f'{figure(row["share_low"], 1, 100)} to {figure(row["share_high"], 1, 100)}'
    return f'{said} ({marked(ends, row, "share range")})'


STATES = (
    ('take', lambda r: r['take']),
    ('F1', lambda r: marked(figure(r['f1'], 3), r, 'F1') if targets.asked(r) else ''),
    ('hit/true', lambda r: f'{r["lapses_hit"]}/{r["lapses_true"]}'),
    ('false', lambda r: marked(str(r['lapses_false'] if targets.asked(r) else r['lapses_found']), r, 'control')),
    ('short hit/true', lambda r: f'{r["short_hit"]}/{r["short_true"]}' if r['short_true'] else ''),
    ('short false', lambda r: str(r['short_false']) if r['short_false'] else ''),
    ('start ms', lambda r: marked(figure(r['start_ms']), r, 'start')),
    ('end ms', lambda r: marked(figure(r['end_ms']), r, 'end')),
    ('bracket ms', lambda r: figure(r['bracket_ms'], 0)),
    ('holds end', lambda r: f'{r["brackets_hit"]}/{r["brackets"]}' if r['brackets'] else ''),
    ('motion s', lambda r: figure(r['moving_s'])),
    ('wrong %', lambda r: marked(figure(r['wrong_moving'], 1, 100), r, 'wrong')),
    ('unseen %', lambda r: marked(figure(r['unseen_moving'], 1, 100), r, 'unseen')),
    ('right at ≥ 90 %', lambda r: marked(figure(r['right_at_90'], 1, 100), r, 'sure')),
    ('missed targets', lambda r: ', '.join(targets.missed(r))),
)
SHARES = (
    ('take', lambda r: r['take']),
    ('off, % of the take', lambda r: figure(r['share_true'], 1, 100)),
    ('said (95 %)', share_cell),
    ('open %', lambda r: figure(r['open'], 1, 100)),
    ('off while turning, %', lambda r: figure(r['turning_true'], 1, 100)),
    ('said', lambda r: marked(figure(r['turning_share'], 1, 100), r, 'turning')),
    ('refused because', lambda r: r['share_refused'] or ''),
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
    ('L(off) − L(on) ms', lambda r: marked(figure(r['off_minus_on_error_ms'], 1, sign=True), r, 'L(off)',
                                          'L(off) given')),
    ('flicks', lambda r: str(r['flicks'])),
    ('cut-off', lambda r: figure(r['theta'], 0)),
    ('V50 (95 %)', interval_cell),
)
STICKS = (
    ('take', lambda r: r['take']),
    ('dead zone', lambda r: marked(figure(r['dead_zone_error'], 2, sign=True), r, 'dead zone')),
    ('turn rates %', lambda r: marked(figure(r['turn_rate_error'], 1, 100), r, 'turn rates')),
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


def bold(text, met):
    return text if met else f'**{text}**'


def judged(rows):
    """How many takes meet each target."""
    f1 = pooled_f1(rows)
    lines = [f'| lapses of 60 ms and more: F1 ≥ 0.98, all takes pooled | {bold(figure(f1, 3), f1 >= 0.98)} |\n']
    hit, true, false = (sum(r[k] for r in rows) for k in ('short_hit', 'short_true', 'short_false'))
    if hit + false:
        lines.append('| shorter lapses, all takes pooled: precision ≥ 0.98 | '
                     f'{bold(figure(hit / (hit + false), 3), hit / (hit + false) >= 0.98)} |\n')
    if true:
        lines.append(f'| the same: recall | {hit / true:.3f} ({hit} of {true}) |\n')
    held, brackets = (sum(r[k] for r in rows) for k in ('brackets_hit', 'brackets'))
    if brackets:
        lines.append('| lapse end: its bracket holds it, in ≥ 95 % of all | '
                     f'{bold(f"{held / brackets:.3f} ({held} of {brackets})", held >= 0.95 * brackets)} |\n')
    for _, what, judge in targets.TARGETS:
        says = [judge(r) for r in rows]
        met, all_of = says.count(True), says.count(True) + says.count(False)
        lines.append(f'| {what} | {bold(f"{met} of {all_of}", met == all_of)} |\n')
    return '| target | takes that meet it |\n| --- | --- |\n' + ''.join(lines)


# ---- families ----

def families(rows):
    """(name, its rows), the family with the most missed targets a take first. Rows come worst first and stay so."""
    groups = collections.defaultdict(list)
    for r in rows:
        groups[r['family'] or ''].append(r)
    return sorted(groups.items(), key=lambda g: (-sum(len(targets.missed(r)) for r in g[1]) / len(g[1]), g[0]))


def worst(rows, field):
    return max((r[field] for r in rows if r[field] is not None), default=None)


def pooled(rows, field):
    """Share of the time in motion that all these takes have."""
    judged_rows = [r for r in rows if r[field] is not None and r['moving_s']]
    moving = sum(r['moving_s'] for r in judged_rows)
    return sum(r[field] * r['moving_s'] for r in judged_rows) / moving if moving else None


FAMILY = (
    ('family', lambda g: g[0]),
    ('takes', lambda g: str(len(g[1]))),
    ('F1 pooled', lambda g: figure(pooled_f1(g[1]), 3)),
    ('hit/true', lambda g: f'{sum(r["lapses_hit"] for r in g[1])}/{sum(r["lapses_true"] for r in g[1])}'),
    ('false', lambda g: str(sum(r['lapses_false'] for r in g[1]))),
    ('worst F1', lambda g: figure(min((r['f1'] for r in g[1] if targets.asked(r)), default=None), 3)),
    ('worst start ms', lambda g: figure(worst(g[1], 'start_ms'))),
    ('wrong %', lambda g: figure(pooled(g[1], 'wrong_moving'), 1, 100)),
    ('worst wrong %', lambda g: figure(worst(g[1], 'wrong_moving'), 1, 100)),
    ('unseen %', lambda g: figure(pooled(g[1], 'unseen_moving'), 1, 100)),
    ('worst unseen %', lambda g: figure(worst(g[1], 'unseen_moving'), 1, 100)),
)


# ---- calibration ----

def bin_name(k):
    low, high = score.BINS[k], score.BINS[k + 1]
    return 'under 0.5' if k == 0 else f'{low:g} and more' if high > 1 else f'{low:g} to {high:g}'


def summed(rows, field):
    return [[sum(r[field][k][i] for r in rows) for i in (0, 1)] for k in range(len(score.BINS) - 1)]


def calibration(rows):
    """Stated confidence against the share that is right."""
    text = '| stated confidence | seen in motion s | right % | lapses | true % |\n| --- | --- | --- | --- | --- |\n'
    for k, (state, lapse) in enumerate(zip(summed(rows, 'state_bins'), summed(rows, 'lapse_bins'))):
        right, true = (figure(100 * b / a) if a else '' for a, b in (state, lapse))
        text += f'| {bin_name(k)} | {state[0]:.1f} | {right} | {lapse[0]:.0f} | {true} |\n'
    return text


def by_speed(rows):
    """What is told at each true speed, how surely, and how rightly. Takes in which on and off cannot be told are left
    out."""
    text = ('| px of 512 a capture period | s | told % | stated % | right % | called off s | right % |\n'
            '| --- | --- | --- | --- | --- | --- | --- |\n')
    told = [r for r in rows if r['can_tell'] == 'yes']
    for k, (low, high) in enumerate(zip(truths.SPEEDS_PX, truths.SPEEDS_PX[1:])):
        whole, seen, right, stated, off, off_right = (sum(r['speed_bins'][k][i] for r in told) for i in range(6))
        name = f'{low:g} to {high:g}' if high < math.inf else f'{low:g} and more'
        part = [figure(100 * a / b) if b else '' for a, b in ((seen, whole), (stated, seen), (right, seen))]
        text += f'| {name} | {whole:.1f} | {" | ".join(part)} | {off:.1f} | {figure(100 * off_right / off) if off else ""} |\n'
    return text


BY_SPEED = """The same by how fast the camera truly moves: what is told of that time, the confidence stated with it, and how much of
it is right.
"""


CALIBRATION = """How often what is stated with a confidence is right: states over the seen time in motion, away from true edges; a
lapse is true if it matches one or lies for three tenths of its length where synthesis is off.
"""


UNITS = """*off share of the take*: time off over the whole take; without an interval it was not said. *open*: time that is neither
seen nor inferred. Errors: *start*, *end*, *flip*, *clock*, *L(off) − L(on)* in ms (clock: the largest of three times, of
L(on) = 0), rates in % of the true rate. *cut-off* and V50 in the unit that the game watches: deg/s, for image-key
px per base period, for count-key counts/s; a control has no cut-off. *dead zone*: error, of full deflection; *turn
rates*: of what the game makes of each deflection, from a tenth of the fastest on, median error. Unless a scenario says otherwise the stage's
delay is 7 ms shorter in state off, and most motion of these short takes is in state off: a clock that cannot
tell the two delays apart lies up to 7 ms above. Times that a device smoothed over have no clock to judge.
"""


def scenarios_told(rows):
    """What each scenario of these rows is, a line each."""
    about = {r['take'].rsplit('-', 1)[0]: r['about'] for r in rows if r['about']}
    return ''.join(f'- {name}: {text}\n' for name, text in sorted(about.items())) + ('\n' if about else '')


def family_section(name, rows):
    title = f'### {name.capitalize()}\n\n' if name else ''
    sticks = [r for r in rows if r['stick']]
    tables = '\n'.join(markdown(columns, rows) for columns in (STATES, SHARES, RATES))
    tables += '\n' + markdown(STICKS, sticks) if sticks else ''
    return f'{title}{scenarios_told(rows)}{tables}\n'


def section(rows):
    groups = families(rows)
    overview = f'### Families\n\n{markdown(FAMILY, groups)}\n' if len(groups) > 1 else ''
    return (f'{judged(rows)}\n{overview}### Confidence\n\n{CALIBRATION}\n{calibration(rows)}\n{BY_SPEED}\n{by_speed(rows)}\n### Columns\n\n{UNITS}\n'
            + '\n'.join(family_section(*g) for g in groups))


def scored(out, folder):
    """Rows of the takes that were measured, worst first."""
    out = pathlib.Path(out)
    session = json.loads((out / 'session.json').read_text())
    rows = (score.score(out, pathlib.Path(folder) / t['id']) for t in session['takes']
            if (out / 'takes' / f'{t["id"]}.json').exists())
    return sorted(rows, key=targets.badness)


def told(title, rows):
    """For a terminal, worst first."""
    print(f'\n{title} (* misses its target)\n\n{aligned(STATES, rows)}\n{aligned(SHARES, rows)}\n{aligned(RATES, rows)}\n'
          f'{aligned(FAMILY, families(rows))}\n{calibration(rows)}\n{by_speed(rows)}\npooled F1 {pooled_f1(rows):.3f}')


def main(args):
    if len(args) not in (3, 5):
        sys.exit(__doc__.strip())
    page, parts = INTRO, [('Staged takes', args[1:3])] + [('Practice takes', args[3:5])] * (len(args) == 5)
    for title, (out, folder) in parts:
        rows = scored(out, folder)
        told(title, rows)
        page += '\n' + (f'## {title}\n' if title == 'Staged takes' else PRACTICE_INTRO) + '\n' + section(rows)
    if args[0] != '-':
        pathlib.Path(args[0]).write_text(page.rstrip('\n') + '\n')


if __name__ == '__main__':
    main(sys.argv[1:])
