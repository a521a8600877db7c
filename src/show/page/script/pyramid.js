/* The least and the greatest of ever longer runs of a series: a view of any length costs no more than its
 * width, and no peak is lost. */

class Pyramid {
    constructor(values) {
        this.values = values;
        this.levels = [{low: values, high: values}];
        for (let below = this.levels[0]; below.low.length > 64; below = this.levels[this.levels.length - 1]) {
            const n = Math.ceil(below.low.length / 2), low = new Float32Array(n), high = new Float32Array(n);
            for (let i = 0; i < n; i++) {
                const b = Math.min(2 * i + 1, below.low.length - 1);
                low[i] = least(below.low[2 * i], below.low[b]);
                high[i] = -least(-below.high[2 * i], -below.high[b]);
            }
            this.levels.push({low, high});
        }
    }
    /* Points of values from..to at their times, at most about 2 · room of them, null where unknown.
       Of runs (not whole), least and greatest follow each other. */
    slice(times, from, to, room) {
        let level = 0;
        while ((to - from) >> level > room && level + 1 < this.levels.length)
            level++;
        const x = [], y = [], {low, high} = this.levels[level], last = times.length - 1;
        for (let i = from >> level; i << level < to && i < low.length; i++) {
            const a = low[i], b = high[i];
            x.push(times[i << level]);
            y.push(a === a ? a : null);
            if (level && a === a) {
                x.push(times[Math.min((i << level) + (1 << level - 1), last)]);
                y.push(b);
            }
        }
        return {x, y, whole: level === 0};
    }
}

/* Of two, either of which may be unknown. */
function least(a, b) {
    return a <= b || b !== b ? a : b;
}
