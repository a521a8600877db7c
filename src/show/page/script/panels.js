/* The two curves on one time axis: unique rate and speed, each a uPlot. */

const LINE_FONT = "11px Inter, 'DejaVu Sans', system-ui, sans-serif";

/* As many decimals as the step between ticks needs, with a decimal point everywhere. */
function tickTexts(u, splits, axis, space, step) {
    const decimals = Math.min(6, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9)));
    return splits.map(v => v.toFixed(decimals));
}

/* Runs of values as uprights from least to greatest, each long enough to meet the one before: cheaper to draw than
 * a zigzag, whose every corner is worked out. */
function uprights(u, series) {
    const xs = u.data[0], ys = u.data[series], stroke = new Path2D();
    let was = null;
    for (let i = 0; i < xs.length; i++) { /* pairs: least, greatest */
        const low = ys[i];
        if (low === null) {
            was = null;
            continue;
        }
        const high = ys[++i], x = u.valToPos(xs[i - 1], "x", true);
        const from = was && was.high < low ? was.high : low, to = was && was.low > high ? was.low : high;
        const a = u.valToPos(from, "y", true), b = u.valToPos(to, "y", true);
        stroke.moveTo(x, a + 0.6);
        stroke.lineTo(x, b - 0.6);
        was = {low, high};
    }
    return {stroke, fill: null, clip: null, band: null, gaps: null, flags: 3};
}

/* Values that hold from their capture frame to the next; nothing where unknown. */
function steps(u, series) {
    const xs = u.data[0], ys = u.data[series], stroke = new Path2D(), n = xs.length;
    const x = i => u.valToPos(i < n ? xs[i] : 2 * xs[n - 1] - xs[n - 2], "x", true);
    for (let i = 0, joined = false; i < n; i++) {
        if (ys[i] !== null) {
            const y = u.valToPos(ys[i], "y", true);
            if (joined)
                stroke.lineTo(x(i), y);
            else
                stroke.moveTo(x(i), y);
            stroke.lineTo(x(i + 1), y);
        }
        joined = ys[i] !== null;
    }
    return {stroke, fill: null, clip: null, band: null, gaps: null, flags: 3};
}

/* what: {pyramid, top, width, colour, steps, lines: [{at, text}], marks: [[t, v, fate]], axis: bool}
 * look: {layout(), colours()} */
class Panel {
    constructor(host, course, what, look) {
        this.course = course;
        this.what = what;
        this.look = look;
        const {left, right, width} = look.layout();
        const colour = name => () => look.colours()[name];
        const axis = {stroke: colour("muted"), font: LINE_FONT, grid: {stroke: colour("rule"), width: 1}, ticks: {show: false}, values: tickTexts};
        const linear = uPlot.paths.linear();
        this.plot = new uPlot({
            width, height: this.height(), padding: [8, right, what.axis ? 0 : 8, 0],
            cursor: {show: false}, legend: {show: false}, select: {show: false},
            scales: {x: {time: false, auto: false}, y: {range: [0, what.top]}},
            axes: [{...axis, show: what.axis, size: 24, space: 70, label: "footage time, s", labelSize: 18, labelFont: LINE_FONT}, {...axis, size: left, gap: 7, space: 26}],
            series: [{}, {stroke: colour(what.colour), width: what.width, spanGaps: false,
                          points: {size: 5, width: 1, fill: colour(what.colour), stroke: colour(what.colour)},
                          paths: (u, s, a, b) => (!this.whole ? uprights : what.steps ? steps : linear)(u, s, a, b)}],
            hooks: {drawClear: [u => this.drawBehind(u)], draw: [u => this.drawOver(u)]},
        }, [[0, course.end], [null, null]], host);
    }
    height() {
        return 128 + (this.what.axis ? 42 : 0);
    }
    resize() {
        const {right, width} = this.look.layout();
        this.plot.padding = [8, right, this.what.axis ? 0 : 8, 0];
        this.plot.setSize({width, height: this.height()});
    }
    show(from, to) {
        const {course} = this, {width} = this.look.layout();
        const first = Math.max(0, course.times.before(from)), last = Math.min(course.n, course.times.before(to) + 2);
        const {x, y, whole} = this.what.pyramid.slice(course.times.values, first, last, width);
        this.whole = whole;
        this.plot.batch(() => {
            this.plot.setData([x, y], false);
            this.plot.setScale("x", {min: from, max: to});
        });
    }
    /* Lapses are shaded through the panel. */
    drawBehind(u) {
        const {ctx, bbox} = u, {min, max} = u.scales.x;
        ctx.fillStyle = this.look.colours()["off-soft"];
        for (const lapse of this.course.lapses) {
            if (lapse.to <= min || lapse.from >= max)
                continue;
            const a = Math.max(u.valToPos(lapse.from, "x", true), bbox.left);
            const b = Math.min(u.valToPos(lapse.to, "x", true), bbox.left + bbox.width);
            ctx.fillRect(a, bbox.top, Math.max(b - a, 1), bbox.height);
        }
    }
    drawOver(u) {
        for (const line of this.what.lines)
            if (line.at !== null && line.at < this.what.top)
                this.drawLine(u, line);
        const marks = this.what.marks.filter(mark => mark[0] >= u.scales.x.min && mark[0] <= u.scales.x.max);
        for (const mark of marks)
            this.drawMark(u, mark, marks.length > u.bbox.width / uPlot.pxRatio / 8 ? 2.4 : 4);
    }
    drawLine(u, line) {
        const {ctx, bbox} = u, scale = uPlot.pxRatio, y = Math.round(u.valToPos(line.at, "y", true));
        ctx.save();
        ctx.strokeStyle = ctx.fillStyle = this.look.colours().muted;
        ctx.lineWidth = scale;
        ctx.setLineDash([5 * scale, 4 * scale]);
        ctx.beginPath();
        ctx.moveTo(bbox.left, y);
        ctx.lineTo(bbox.left + bbox.width, y);
        ctx.stroke();
        ctx.font = FONT.replace("11px", 11 * scale + "px");
        ctx.textAlign = "left";
        ctx.textBaseline = "middle";
        ctx.fillText(this.look.layout().narrow && line.short || line.text, bbox.left + bbox.width + 5 * scale, y);
        ctx.restore();
    }
    /* A flick at its peak: filled triangle tripped, open circle held, small dot not used. */
    drawMark(u, [t, v, fate], size) {
        const {ctx} = u, scale = uPlot.pxRatio, colours = this.look.colours();
        const x = u.valToPos(t, "x", true), y = u.valToPos(Math.min(v, this.what.top), "y", true), r = size * scale;
        ctx.beginPath();
        if (fate === "tripped") {
            ctx.moveTo(x, y - r);
            ctx.lineTo(x + r, y + r);
            ctx.lineTo(x - r, y + r);
            ctx.closePath();
        } else {
            ctx.arc(x, y, fate === "held" ? r : r / 2, 0, 2 * Math.PI);
        }
        ctx.fillStyle = fate === "tripped" ? colours.off : fate === "held" ? colours.paper : colours.unseen;
        ctx.strokeStyle = colours.ink;
        ctx.lineWidth = 1.2 * scale;
        ctx.fill();
        if (fate === "held")
            ctx.stroke();
    }
}

function ratePanel(course) {
    const limit = Math.max(course.onHz || 0, course.offHz || 0, 10);
    const top = 1.12 * Math.max(limit, Math.min(greatest(course.rate.values, 10), 2 * limit));
    return {pyramid: course.ratePyramid, top, width: 1.5, colour: "ink", steps: true, marks: [], axis: !course.speed,
            name: "Unique rate, flips/s",
            lines: [{at: course.onHz, text: "on " + Number(course.onHz).toPrecision(3)},
                    {at: course.offHz, text: "off " + Number(course.offHz).toPrecision(3)}]};
}

function speedPanel(course) {
    const {label, unit, flicks, seen_from} = course.speed;
    return {pyramid: course.speedPyramid, top: 1.15 * greatest(course.speedFigures.values, 1), width: 1.2, colour: "series-1",
            steps: false, marks: flicks, axis: true, name: label[0].toUpperCase() + label.slice(1) + ", " + unit,
            lines: [{at: seen_from, text: "seen from", short: "seen"}]};
}
