"""Half-open intervals of time: lists of (start, end), in order and apart."""


def length(spans):
    return sum(b - a for a, b in spans)


def common(one, other):
    """The time in both."""
    out, i, j = [], 0, 0
    while i < len(one) and j < len(other):
        a, b = max(one[i][0], other[j][0]), min(one[i][1], other[j][1])
        if a < b:
            out.append((a, b))
        if one[i][1] < other[j][1]:
            i += 1
        else:
            j += 1
    return out


def joined(spans):
    """In order, touching and overlapping ones made one."""
    out = []
    for a, b in sorted(s for s in spans if s[0] < s[1]):
        if out and a <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], b))
        else:
            out.append((a, b))
    return out


def rest(spans, start, end):
    """The time of [start, end) in none of them."""
    out, at = [], start
    for a, b in common(spans, [(start, end)]):
        if at < a:
            out.append((at, a))
        at = b
    if at < end:
        out.append((at, end))
    return out


def holding(spans, t):
    """The span around t, or None."""
    return next((s for s in spans if s[0] <= t < s[1]), None)


def overlap_over_union(one, other):
    shared = min(one[1], other[1]) - max(one[0], other[0])
    return max(0.0, shared) / (max(one[1], other[1]) - min(one[0], other[0]))
