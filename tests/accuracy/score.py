#!/usr/bin/env python3
"""Scores measured takes against their truth.

usage: score.py OUT TAKES_DIR [TAKE ...]

OUT is the folder that `flinch run` wrote; TAKES_DIR/TAKE holds truth.json and the truth tables
beside the footage of each take. Prints a JSON row a take. Numbers are null where there is nothing
to compare. What each figure means stands beside its function.
"""
import bisect
import csv
import json
import pathlib
import statistics
import sys

import spans
import truth as truths

LEAST_LAPSE_S = 0.06    # shorter lapses are judged apart
NEAR_EDGE_S = 0.010     # states this close to a true edge are not judged
WIDEST_BRACKET_S = 0.5  # a wider bracket says nothing about where a lapse ends
BRACKET_SLACK_S = 0.004  # half a capture frame at 120/s
FLIP_MATCH_S = 0.002
WINDOW_S = 0.25
BINS = (0.0, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.01)  # edges, of a stated confidence
GROUP = ('game', 'condition', 'counts_per_inch', 'degrees_per_count')  # of a curve


def share(part, whole):
    return part / whole if whole else None


def median(values):
    return statistics.median(values) if values else None


def f1(hits, wanted, false):
    """1 where nothing was wanted and nothing said."""
    return 2 * hits / (hits + wanted + false) if wanted or false else 1.0


class Measured:
    """takes/ID.json with its tables, and the curves of that take in session.json."""

    def __init__(self, out, take):
        out = pathlib.Path(out)
        self.json = json.loads((out / 'takes' / f'{take}.json').read_text())
        self.flips = [float(r['time_s']) for r in truths.read_table(out / 'takes' / f'{take}-flips.csv')]
        self.frames = truths.read_table(out / 'takes' / f'{take}-frames.csv')
        session = json.loads((out / 'session.json').read_text())
        self.curves = [c for c in session['curves'] if all(c[k] == self.json[k] for k in GROUP)]


# ---- lapses ----

def end_bracket(lapse):
    r = lapse.get('end_range_s')
    return r if r and None not in r else None


def in_bracket(bracket, t):
    return bool(bracket) and bracket[0] - BRACKET_SLACK_S <= t <= bracket[1] + BRACKET_SLACK_S


def as_judged(lapse, want):
    """Its span; the true end stands in for the measured one if a narrow bracket holds it."""
    bracket = end_bracket(lapse)
    narrow = in_bracket(bracket, want[1]) and bracket[1] - bracket[0] <= WIDEST_BRACKET_S
    return lapse['start_s'], want[1] if narrow else lapse['end_s']


def match_lapses(wanted, got):
    """Pairs (want, lapse) that share at least half of their union; best first, each used once."""
    ranked = sorted(((spans.overlap_over_union(w, as_judged(l, w)), i, k)
                     for i, w in enumerate(wanted) for k, l in enumerate(got)), reverse=True)
    pairs, seen_w, seen_l = [], set(), set()
    for fit, i, k in ranked:
        if fit >= 0.5 and i not in seen_w and k not in seen_l:
            pairs.append((i, k))
            seen_w.add(i)
            seen_l.add(k)
    return sorted(pairs)


def end_fault(lapse, want_end, still):
    """0 in a bracket no wider than the still stretch around the true end + 25 ms; else the error."""
    bracket, stretch = end_bracket(lapse), spans.holding(still, want_end)
    widest = 0.025 + (stretch[1] - stretch[0] if stretch else 0)
    if in_bracket(bracket, want_end) and bracket[1] - bracket[0] <= widest:
        return 0.0
    return abs(lapse['end_s'] - want_end)


def long_enough(span):
    return span[1] - span[0] >= LEAST_LAPSE_S


def span_of(lapse):
    return lapse['start_s'], lapse['end_s']


def is_false(lapse, true_off):
    """Of a lapse that matches none: does it lie mostly where synthesis is not off?"""
    return spans.length(spans.common([span_of(lapse)], true_off)) < 0.3 * (lapse['end_s'] - lapse['start_s'])


def score_lapses(t, m):
    """Lapses of 60 ms and more by F1, shorter ones by precision and recall. Where on and off cannot be told none is
    wanted; where they need not be, none is missed."""
    got, true_off = m.json['lapses'], [] if t.never_on or t.can_tell == 'no' else t.off
    lapses = [] if t.can_tell == 'no' else t.lapses
    pairs = match_lapses(lapses, got)
    used = {k for _, k in pairs}
    false = [l for k, l in enumerate(got) if k not in used and is_false(l, true_off)]
    hit = {i for i, _ in pairs}
    wanted = [(i, w) for i, w in enumerate(lapses) if t.can_tell == 'yes' or i in hit]
    long, short = ([i for i, w in wanted if long_enough(w) == is_long] for is_long in (True, False))
    false_long = sum(long_enough(span_of(l)) for l in false)
    return {
        'lapses_true': len(long), 'lapses_found': len(got), 'lapses_hit': len(hit & set(long)), 'lapses_false': false_long,
        'short_true': len(short), 'short_hit': len(hit & set(short)), 'short_false': len(false) - false_long,
        'f1': f1(len(hit & set(long)), len(long), false_long),
        'missed_at_s': [round(w[0], 3) for i, w in wanted if i not in hit],
        'false_at_s': [round(l['start_s'], 3) for l in false],
        'lapse_bins': in_bins((l['confidence'], 1, l not in false) for l in got),
    } | score_edges(t, [(lapses[i], got[k]) for i, k in pairs if long_enough(lapses[i])])


def score_edges(t, both):
    starts = [(w, l) for w, l in both if w[0] > 0]
    ends = [(w, l) for w, l in both if w[1] < t.duration]
    brackets = [(b[1] - b[0], in_bracket(b, w[1])) for w, l in ends if (b := end_bracket(l))]
    return {
        'start_ms': median([1000 * abs(l['start_s'] - w[0]) for w, l in starts]),
        'end_ms': median([1000 * abs(l['end_s'] - w[1]) for w, l in ends]),
        'end_fault_ms': median([1000 * end_fault(l, w[1], t.still) for w, l in ends]),
        'edge_limit_ms': max(8, 500 / t.base_off),
        'bracket_ms': median([1000 * b for b, _ in brackets]),
        'brackets': len(brackets), 'brackets_hit': sum(hit for _, hit in brackets),
    }


# ---- confidence ----

def in_bins(claims):
    """claims: (stated confidence, weight, right part of the weight). A [weight, right] a bin."""
    bins = [[0.0, 0.0] for _ in BINS[1:]]
    for confidence, weight, right in claims:
        k = bisect.bisect_right(BINS, confidence) - 1
        bins[k][0] += weight
        bins[k][1] += right
    return bins


# ---- states ----

def state_claims(t, m, where, states=('on', 'off')):
    """(confidence, seconds, seconds right) of each stretch called on or off."""
    true = {state: spans_of for state, spans_of in (('on', t.on), ('off', t.off)) if state in states}
    for s in m.json['states']:
        if s['state'] in true:
            called = spans.common(where, [(s['start_s'], s['end_s'])])
            yield s['confidence'], spans.length(called), spans.length(spans.common(called, true[s['state']]))


def by_speed(t, m, where):
    """Of the time that moves at one speed: seconds in all, told, told rightly, stated to be right, and of what is called
    off, told and told rightly."""
    claims = list(state_claims(t, m, where))
    off = list(state_claims(t, m, where, ('off',)))
    told, right = (sum(c[i] for c in claims) for i in (1, 2))
    return [spans.length(where), told, right, sum(c[0] * c[1] for c in claims),
            sum(c[1] for c in off), sum(c[2] for c in off)]


def score_states(t, m):
    """Wrong: share of the seen time; unseen: share of all. Both in motion, away from true edges. Where on and off
    cannot be told apart all that is called is wrong. right_at_90: of the time, moving or not, that has a state with a
    confidence of at least 0.9."""
    clear = t.away_from_edges(NEAR_EDGE_S)
    judged = spans.common(t.moving, clear)
    claims, every = list(state_claims(t, m, judged)), list(state_claims(t, m, clear))
    moving, seen, right = spans.length(judged), sum(c[1] for c in claims), sum(c[2] for c in claims)
    sure = [c for c in every if c[0] >= 0.9]
    sure_s = sum(c[1] for c in sure)
    blind = t.can_tell == 'no'
    return {
        'moving_s': moving, 'can_tell': t.can_tell,
        'wrong_moving': share(seen, moving) if blind else share(seen - right, seen),
        'unseen_moving': share(moving - seen, moving) if t.can_tell == 'yes' else None,
        'wrong_seen': share(sum(c[1] - c[2] for c in every), sum(c[1] for c in every)),
        'sure_s': sure_s, 'right_at_90': share(sum(c[2] for c in sure), sure_s),
        'state_bins': in_bins(claims),
        'speed_bins': [by_speed(t, m, spans.common(where, clear)) for where in t.at_speed],
    }


# ---- shares ----

def true_share(t, where):
    return share(spans.length(spans.common(where, t.off)), spans.length(where))


def close(said, true, points, part=0.0):
    """None where nothing is said."""
    return None if said is None or true is None else abs(said - true) <= max(points, part * true)


def score_shares(t, m):
    """Off share of the take: within one percentage point or 15 % of the truth; in its interval, or refused with the
    range that holds without inference. While turning: within 3 points, or in its interval."""
    e = m.json['exposure']
    true, turning = true_share(t, [(0.0, t.duration)]), true_share(t, t.turning)
    said, low, high = (e.get('off_share_of_take' + end) for end in ('', '_low', '_high'))
    fast, slowest, most = (e.get('off_share_in_motion' + end) for end in ('', '_low', '_high'))
    inside = low is not None and low - 1e-6 <= true <= high + 1e-6
    near = close(fast, turning, 0.03)
    if near is False and slowest is not None:
        near = slowest <= turning <= most
    return {
        'share': said, 'share_low': low, 'share_high': high, 'share_true': true,
        'share_refused': e.get('off_share_of_take_refused'), 'open': share(e.get('open_s') or 0.0, t.duration),
        'share_close': close(said, true, 0.01, 0.15), 'share_holds': None if low is None else inside,
        'turning_share': fast, 'turning_true': turning,
        'turning_close': near,
    }


# ---- flips and rates ----

def score_flips(t, m):
    """One to one in order, within 2 ms; counted where it moves."""
    found, hit, errors, j = sorted(m.flips), set(), [], 0
    matched = set()
    for i, at in enumerate(t.flips):
        while j < len(found) and found[j] < at - FLIP_MATCH_S:
            j += 1
        if j < len(found) and found[j] <= at + FLIP_MATCH_S:
            matched.add(i)
            hit.add(j)
            if t.shows(at):
                errors.append(1000 * abs(found[j] - at))
            j += 1
    true = [i for i, at in enumerate(t.flips) if t.shows(at)]
    mine = [j for j, at in enumerate(found) if t.shows(at)]
    return {
        'flip_recall': share(len(matched.intersection(true)), len(true)),
        'flip_precision': share(len(hit.intersection(mine)), len(mine)),
        'flip_ms': median(errors),
    }


def flips_until(flips, at):
    """Count up to a time, running evenly from one flip to the next."""
    i = bisect.bisect_right(flips, at)
    if not 0 < i < len(flips):
        return float(i)
    return i + (at - flips[i - 1]) / (flips[i] - flips[i - 1])


def true_unique_rate(t, around):
    return share(sum(flips_until(t.flips, b) - flips_until(t.flips, a) for a, b in around), spans.length(around))


def score_rates(t, m):
    """Unique rate of each frame that moves, over 0.25 s about it inside the span of its state; base rates."""
    seen = [(s['start_s'], s['end_s']) for s in m.json['states'] if s['state'] != 'unseen']
    errors = []
    for row in m.frames:
        at = float(row['time_s']) + 0.5 / t.capture_rate
        if row['unique_rate_hz'] and spans.holding(t.moving, at):
            own = [s for s in seen if s[0] <= at < s[1]]
            true = true_unique_rate(t, spans.common(own, [(at - WINDOW_S / 2, at + WINDOW_S / 2)]))
            if true:
                errors.append(abs(float(row['unique_rate_hz']) / true - 1))
    out = {'unique_rate_error': median(errors)}
    for name, true in zip(('on', 'off'), t.base_rates()):
        got = m.json[f'base_rate_{name}_hz']
        out[f'base_{name}_error'] = got / true - 1 if got and true else None
        out[f'moving_{name}_s'] = spans.length(spans.common(t.moving, getattr(t, name)))
    return out


# ---- clock ----

def score_clock(t, m):
    """Errors near the start, in the middle and near the end; L(off) - L(on)."""
    clock = m.json['clock']
    edge = min(2.0, t.duration / 4)
    out = {'clock_ms': None, 'clock_refused': clock['refused'], 'off_minus_on_error_ms': None,
           'off_minus_on_holds': None, 'off_minus_on_given': None}
    if clock['offset_s'] is None or t.renumbered:  # no straight line fits times that were smoothed over
        return out
    delay = t.json['display_delay_ms']
    out['clock_ms'] = [1000 * (clock['offset_s'] + (1 + (clock['drift_ppm'] or 0) * 1e-6) * at - t.trace_time(at))
                       for at in (edge, t.duration / 2, t.duration - edge)]
    out['delay_span_ms'] = 0 if t.control else delay['on'] - delay['off']  # L(off) = 0 lies this far above
    gap = None if t.delay_gap() is None else 1000 * t.delay_gap()
    if clock['off_minus_on_ms'] is not None and gap is not None:
        out['off_minus_on_error_ms'] = clock['off_minus_on_ms'] - gap
        out['off_minus_on_holds'] = clock['off_minus_on_low_ms'] <= gap <= clock['off_minus_on_high_ms']
    if min(spans.length(spans.common(t.moving, state)) for state in (t.on, t.off)) >= 1:
        out['off_minus_on_given'] = clock['off_minus_on_ms'] is not None
    return out


# ---- sticks ----

def at_deflection(curve, deflection):
    """On straight lines between the points of a curve."""
    return next((b + (deflection - a) / (c - a) * (d - b) for (a, b), (c, d) in zip(curve, curve[1:])
                 if a <= deflection <= c), None)


def score_stick(t, m):
    """Dead zone, and turn rates of a tenth of the fastest and more against the game's own."""
    stick, found = t.json.get('stick'), m.json.get('stick') or {}
    out = {'stick': stick is not None, 'dead_zone_error': None, 'turn_rate_error': None}
    if not stick:
        return out
    if found.get('dead_zone') is not None:
        out['dead_zone_error'] = found['dead_zone'] - stick['dead_zone']
    rates = [(p['turn_rate_deg_s'], at_deflection(stick['deg_s_at'], p['deflection'])) for p in found.get('turn_rates', ())]
    fastest = stick['deg_s_at'][-1][1]
    out['turn_rate_error'] = median([abs(got / true - 1) for got, true in rates if got and true and true >= fastest / 10])
    return out


# ---- trip speed ----

def interval_holds(curve, theta):
    """None where nothing is claimed. A take that never trips agrees with a bound above alone."""
    low, high, bound, at = (curve[k] for k in ('v50_low', 'v50_high', 'bound', 'bound_at'))
    if bound in ('above', 'below'):
        return (theta is None or theta > at) if bound == 'above' else theta is not None and theta < at
    if curve['v50'] is None:
        return None
    return theta is not None and (low is None or low <= theta) and (high is None or theta <= high)


def score_curve(t, m):
    """The curve of the quantity that the game's cut-off watches (camera speed in a control)."""
    quantity, theta = t.cut_off()
    curve = next((c for c in m.curves if c['quantity'] == (quantity or 'camera_speed')), None)
    out = {'theta': theta, 'v50': None, 'v50_low': None, 'v50_high': None, 'bound': None, 'bound_at': None,
           'v50_holds': None}
    if curve:
        out.update((k, curve[k]) for k in out if k in curve)
        out['v50_holds'] = interval_holds(curve, theta)
    return out


def score(out, folder):
    """All figures of the take whose truth is in folder."""
    folder = pathlib.Path(folder)
    t, m = truths.Truth(folder), Measured(out, folder.name)
    row = {'take': folder.name, 'family': t.family, 'about': t.about, 'control': t.control,
           'flicks': 0 if t.renumbered else len(m.json['flicks']),
           'torn_140': t.torn and t.json['output_rate_on_hz'] == 140 and t.capture_rate == 120}
    for figures in (score_lapses, score_states, score_shares, score_flips, score_rates, score_clock, score_stick, score_curve):
        row.update(figures(t, m))
    return row


def main(args):
    if len(args) < 2:
        sys.exit(__doc__.strip())
    takes = pathlib.Path(args[1])
    names = args[2:] or sorted(p.parent.name for p in takes.glob('*/truth.json'))
    for name in names:
        print(json.dumps(score(args[0], takes / name)))


if __name__ == '__main__':
    main(sys.argv[1:])
