/* One take in time: what src/show/page/page_course.c wrote, and the questions asked of it. */

const STATES = ["unseen", "on", "off"], UNSEEN = 0, ON = 1, OFF = 2;
const KINDS = ["not known", "rendered", "synthesised"], RENDERED = 1, SYNTHESISED = 2;
const REASONS = {
    still: "nothing moves enough",
    rates: "the footage cannot show both rates",
    ambiguous: "on and off look alike here",
      use: "left out of the measurement",
};

class Course {
    constructor(data) {
        this.id = data.id;
        this.end = data.duration_s;
        this.times = new Times(data.time_s);
        this.n = this.times.values.length;
        this.columns = data.columns.map(c => ({...c, figures: new Figures(c.v)}));
        const figures = name => this.columns.find(c => c.column === name).figures;
        this.state = figures("state");
        this.rate = figures("unique_rate_hz");
        this.ratePyramid = new Pyramid(this.rate.values);
        this.onHz = data.on_hz;
        this.offHz = data.off_hz;
        this.speed = data.speed || null;
        if (this.speed) {
            this.speedFigures = new Figures(this.speed.v);
            this.speedPyramid = new Pyramid(this.speedFigures.values);
        }
        this.spans = data.spans.map(s => ({from: s[0], to: s[1], state: s[2], reason: s[4]}));
        for (let i = this.spans.length - 1, until = this.end; i >= 0; i--) { /* how long states go on being seen */
            until = this.spans[i].state === UNSEEN ? this.spans[i].from : until;
            this.spans[i].seenUntil = until;
        }
        this.lapses = data.lapses.map((l, i) => ({number: i, from: l[0], to: l[1], trip: l[2], back: l[3], why: l[4],
                                                  first: this.firstFrame(l[0], l[1])}));
        this.readFlips(data.flips);
        this.period = this.n > 1 ? (this.times.values[this.n - 1] - this.times.values[0]) / (this.n - 1) : this.end;
    }
    /* Counts of each kind before flip i, so that any stretch is counted at once. */
    readFlips(flips) {
        this.flips = flips.time_s ? new Times(flips.time_s) : new Times({base64: "", bytes: 1, first: 0});
        this.kind = integersOf(flips.kind);
        this.counts = KINDS.map(() => new Uint32Array(this.kind.length + 1));
        for (let i = 0; i < this.kind.length; i++)
            KINDS.forEach((name, k) => { this.counts[k][i + 1] = this.counts[k][i] + (this.kind[i] === k ? 1 : 0); });
    }
    /* Time of the first capture frame from `from` on; `from` itself if none begins before `to`. */
    firstFrame(from, to) {
        const before = this.times.before(from), t = this.times.values[before];
        const next = t === from ? t : before + 1 < this.n ? this.times.values[before + 1] : to;
        return next < to ? next : from;
    }
    frameAt(t) {
        return Math.max(0, this.times.before(t));
    }
    frameTime(i) {
        return this.times.values[Math.min(Math.max(i, 0), this.n - 1)];
    }
    spanAt(t) {
        let low = 0, high = this.spans.length;
        while (low < high) {
            const middle = (low + high) >> 1;
            if (this.spans[middle].from <= t)
                low = middle + 1;
            else
                high = middle;
        }
        return low ? this.spans[low - 1] : null;
    }
    lapseAt(t) {
        return this.lapses.find(l => l.from <= t && t < l.to) || null;
    }
    /* The lapse that a view is about: at t, else in view nearest to it. */
    lapseIn(from, to, t) {
        const away = l => Math.max(l.from - t, t - l.to, 0);
        return this.lapses.filter(l => l.to > from && l.from < to)
            .reduce((best, l) => !best || away(l) < away(best) ? l : best, null);
    }
    nextLapse(t, forward) {
        const eps = 1e-6;
        return forward ? this.lapses.find(l => l.first > t + eps) || null
                       : this.lapses.filter(l => l.first < t - eps).pop() || null;
    }
    /* Where the picture of flip i ends for sure: at the next flip, or where states cannot be told any more. Not at
       all where the next is so far off that one between them was missed: a pair's length on, twice the usual off. */
    shownUntil(i) {
        const t = this.flips.values[i], next = i + 1 < this.kind.length ? this.flips.values[i + 1] : this.end;
        const span = this.spanAt(t), hz = !span || span.state === UNSEEN ? null : span.state === ON ? this.onHz : this.offHz;
        return hz && next - t < 2 / hz ? Math.min(next, span.seenUntil) : t;
    }
}

function greatest(values, otherwise) {
    let top = -Infinity;
    for (const v of values)
        if (v > top)
            top = v;
    return top > 0 ? top : otherwise;
}
