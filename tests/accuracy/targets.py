"""What a take's figures ought to be. A target that a take has no figure for is neither met nor missed."""


def clock_met(row):
    """A refusal counts against a take with at least ten flicks."""
    if row['clock_ms'] is None:
        return False if row['flicks'] >= 10 else None
    return max(map(abs, row['clock_ms'])) <= 2


def most(field, limit, scale=1):
    return lambda row: None if row[field] is None else abs(row[field]) * scale <= limit


def least(field, limit, where=lambda row: True):
    return lambda row: None if row[field] is None or not where(row) else row[field] >= limit


def within_frame(field):
    """The larger of 8 ms and half an off-state frame."""
    return lambda row: None if row[field] is None else row[field] <= row['edge_limit_ms']


def base_rate(state):
    """Where nothing is said, the target is missed."""
    def judge(row):
        if row[f'moving_{state}_s'] < 1 or row['can_tell'] != 'yes':
            return None
        return row[f'base_{state}_error'] is not None and abs(row[f'base_{state}_error']) <= 0.01
    return judge


def stick_met(field, limit):
    """Of takes with a stick; where nothing is said, the target is missed."""
    return lambda row: (row[field] is not None and abs(row[field]) <= limit) if row['stick'] else None


def asked(row):
    """Are lapses there to be found?"""
    return not row['control'] and row['can_tell'] == 'yes'


def no_false_lapse(row):
    if asked(row):
        return None
    if row['can_tell'] == 'either' and not row['control']:
        return row['lapses_false'] + row['short_false'] == 0
    return row['lapses_found'] == 0


def torn_140(row):
    return row['torn_140']


# name, what it asks, judge: True, False or None
TARGETS = (
    ('F1', 'lapses of 60 ms and more: F1 ≥ 0.95 on each take',
     lambda row: row['f1'] >= 0.95 if asked(row) else None),
    ('control', 'no lapse where there is none, or none can be told', no_false_lapse),
    ('start', 'lapse start: median error ≤ the larger of 8 ms and half an off-state frame', within_frame('start_ms')),
    ('end', 'lapse end: median error of the best time ≤ 20 ms', most('end_ms', 20)),
    ('share', 'off share of the take, where not refused: within the larger of 1 point and 15 % of the truth',
     lambda row: row['share_close']),
    ('share range', 'off share of the take: its interval holds the truth', lambda row: row['share_holds']),
    ('turning', 'off share while turning: within 3 points, or in its interval', lambda row: row['turning_close']),
    ('wrong', 'states in motion: wrong ≤ 1 % of seen time (any, where they cannot be told)', most('wrong_moving', 1, 100)),
    ('unseen', 'states in motion: unseen ≤ 5 %', most('unseen_moving', 5, 100)),
    ('sure', 'of the time called with a confidence of at least 90 %, at least 90 % is right', least('right_at_90', 0.9)),
    ('recall', 'flips in motion, torn 120/s capture of 140/s: recall ≥ 0.95', least('flip_recall', 0.95, torn_140)),
    ('precision', 'the same: precision ≥ 0.98', least('flip_precision', 0.98, torn_140)),
    ('flip time', 'the same: median error ≤ 0.3 ms', lambda row: most('flip_ms', 0.3)(row) if torn_140(row) else None),
    ('unique rate', 'unique rate in 0.25 s windows in motion: median error ≤ 1 %', most('unique_rate_error', 1, 100)),
    ('base on', 'base rate with synthesis on within 1 %, of 1 s of motion or more', base_rate('on')),
    ('base off', 'base rate with synthesis off within 1 %, of 1 s of motion or more', base_rate('off')),
    ('clock', 'clock from motion within 2 ms all through, and found where there are ten flicks', clock_met),
    ('L(off)', 'L(off) − L(on): its interval holds it', lambda row: row['off_minus_on_holds']),
    ('L(off) given', 'L(off) − L(on) is given where each state moves for 1 s', lambda row: row['off_minus_on_given']),
    ('dead zone', 'a stick\'s dead zone: within 0.06 of full deflection, and found', stick_met('dead_zone_error', 0.06)),
    ('turn rates', 'a stick\'s turn rates: median error ≤ 5 %, and found', stick_met('turn_rate_error', 0.05)),
    ('V50', 'the 95 % interval of V50 holds the cut-off; a bound lies on the right side', lambda row: row['v50_holds']),
)


def missed(row):
    return [name for name, _, judge in TARGETS if judge(row) is False]


def badness(row):
    """Sorts the worst first: missed targets, then F1, then wrong states."""
    return -len(missed(row)), asked(row), row['f1'], -(row['wrong_moving'] or 0), row['take']
