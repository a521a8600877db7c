"""Turns the figures of the recovery study into a page: table.py FIGURES.tsv > recovery.md"""
import math
import sys

NAMES = ('name text sessions numbers held open width error bounds right neither stray tested claims ratio_held '
         'settings').split()


def load(path):
    with open(path, encoding='utf-8') as f:
        for line in f:
            if line.startswith('watched\t'):
                continue
            row = dict(zip(NAMES, line.rstrip('\n').split('\t')))
            yield {k: v if k in ('name', 'text') else float(v) for k, v in row.items()}


def load_watched(path):
    with open(path, encoding='utf-8') as f:
        for line in f:
            if line.startswith('watched\t'):
                _, name, truth, text, *counts = line.rstrip('\n').split('\t')
                yield {'name': name, 'truth': truth, 'text': text,
                       **dict(zip(('sessions', 'right', 'wrong', 'untold', 'stands'), map(int, counts)))}


def percent(k, n):
    return f'{100 * k / n:.1f} %' if n else '–'


def factor(octaves):
    return 'open' if math.isinf(octaves) else '–' if math.isnan(octaves) else f'{2 ** octaves:.2f}'


def wilson(k, n):
    """95 % interval of a share (Wilson 1927)."""
    z, p = 1.959964, k / n
    middle, half = (p + z * z / (2 * n)) / (1 + z * z / n), z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    return f'{100 * (middle - half):.1f} to {100 * (middle + half):.1f}'


# Scenarios in which at least 60 flicks lie where both outcomes happen.
MANY_OVERLAP = {'soft', 'few_60', 'spread_4', 'spread_8', 'strays', 'wrong_quantity', 'ratio_1', 'ratio_0.7', 'ratio_0.7_more'}


def bounds_of(k, n):
    """99.8 % interval of a share (Wilson 1927): a target missed beyond it is missed by more than chance."""
    z, p = 3.090232, k / n
    middle, half = (p + z * z / (2 * n)) / (1 + z * z / n), z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    return middle - half, middle + half


def at_least(k, n, target):
    """The share, bold where it misses the target."""
    return f'**{percent(k, n)}**' if n and bounds_of(k, n)[1] < target else percent(k, n)


def at_most(k, n, target):
    return f'**{percent(k, n)}**' if n and bounds_of(k, n)[0] > target else percent(k, n)


def held(r):
    wide = r['name'] in MANY_OVERLAP and bounds_of(r['held'], r['numbers'])[0] > 0.97
    return at_least(r['held'], r['numbers'], 0.94) + (' †' if wide else '')


def trip_speeds(rows):
    print('| scenario | V50 given | interval holds the truth | 95 % of that | median width, high/low | one end open | median error of V50 | '
          'bound given | on the right side | stray rate shown |')
    print('|---|---|---|---|---|---|---|---|---|---|')
    for r in rows:
        n, curves = r['numbers'], r['sessions'] * r['settings']
        cells = [r['text'], f'{n:.0f}', held(r) if n else '–', wilson(r['held'], n) if n else '–', factor(r['width']),
                 percent(r['open'], n), '–' if math.isnan(r['error']) else f"{100 * (2 ** r['error'] - 1):.0f} %",
                 f"{r['bounds']:.0f}", at_least(r['right'], r['bounds'], 0.95), percent(r['stray'], curves)]
        print('| ' + ' | '.join(cells) + ' |')


def ratios(rows):
    print('| scenario | tested | effect claimed | 95 % of that | ratio interval holds the truth |')
    print('|---|---|---|---|---|')
    for r in rows:
        if r['settings'] > 1:
            n = r['tested']
            claims = at_most(r['claims'], n, 0.05) if r['name'] == 'ratio_1' else percent(r['claims'], n)
            print(f"| {r['text']} | {n:.0f} | {claims} | {wilson(r['claims'], n)} | {at_least(r['ratio_held'], n, 0.94)} |")


def watched(rows):
    if not rows:
        return
    wrong, sessions = sum(r['wrong'] for r in rows), sum(r['sessions'] for r in rows)
    print(f"""
## What the cut-off watches

Simulated sessions in which the quantity named first is watched. Five settings: 800 counts per inch and 0.044° a
count at 90°, then each of 1600 counts per inch, 0.088° a count, 67°, and a plainer scene alone; 4 takes of 40 flicks each,
with peaks within a factor of 2.5 of the trip speed, where it does not say otherwise. Two resolutions hold degrees per
count. Thresholds stray by 3.5 % from flick to flick and 2 % from take to take, measured peaks by 1.4 %, image change by
6 %. Target: named wrong in at most 2 % of the sessions. Over all: {wrong} of {sessions}, 95 % of that {wilson(wrong, sessions)} %.

| watched | recorded | sessions | named right | 95 % of that | named wrong | cannot tell | still possible or named |
|---|---|---|---|---|---|---|---|""")
    for r in rows:
        n = r['sessions']
        cells = [r['truth'], r['text'], str(n), percent(r['right'], n), wilson(r['right'], n), percent(r['wrong'], n),
                 percent(r['untold'], n), percent(r['stands'], n)]
        print('| ' + ' | '.join(cells) + ' |')


def main():
    rows = list(load(sys.argv[1]))
    print(f"""# Recovery study

Does flinch find the trip speeds that were put in? {rows[0]['sessions']:.0f} simulated sessions a scenario, made and measured by
`tests/recovery/run` (seeded: the same figures on every run). Peaks are log-uniform from 40 to 1200 deg/s, and each
session has its own V50, log-uniform from 150 to 400 deg/s where the scenario does not say otherwise. Only curves and comparisons are
studied; that flicks and states were read rightly is taken for granted. A short version runs with the tests. A figure
that misses its target by more than chance is **bold**.

## Trip speeds

Targets: of the intervals at least 94 % hold the truth, and 93 to 97 % where 60 flicks or more lie where both outcomes
happen; of the bounds at least 95 % lie on the right side. † marks intervals of the latter kind that hold it more often:
they are wider than they need be. With two to five takes an interval reckons with takes that differ, and so few
tell poorly by how much. Intervals of sharp thresholds, too, hold the truth more often. All are left so. An open end holds
everything. Where the watched quantity is another, the truth is the V50 of 100,000 flicks of the same mix.
""")
    trip_speeds(rows)
    print("""
## Mouse resolution

Targets: a resolution effect is claimed without cause in at most 5 % of the sessions; at least 94 % of the ratio intervals
hold the truth. Where there is an effect, the share of claims is the power. Not tested: a side without a V50.
""")
    ratios(rows)
    watched(list(load_watched(sys.argv[1])))


if __name__ == '__main__':
    main()
