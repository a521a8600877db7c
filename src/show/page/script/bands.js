/* The bands above the curves: lapse numbers, states, and the pictures on screen in two lanes, rendered and
 * synthesised. Place, pattern and words tell them apart; colour only helps. */

const BAND = {number: 0, state: 22, stateHigh: 18, rendered: 46, synthesised: 61, laneHigh: 12, height: 78};
const FONT = "11px Inter, 'DejaVu Sans', system-ui, sans-serif";

/* g: {ctx, left, right, at(t) → px, from, to, narrow, colours} */
function drawBands(g, course) {
    drawLaneNames(g);
    drawSpans(g, course);
    drawLapseNumbers(g, course);
    drawLanes(g, course);
}

function drawLaneNames(g) {
    const names = g.narrow ? ["state", "rend.", "synth."] : ["state", "rendered", "synthesised"];
    const ctx = g.ctx;
    ctx.font = FONT;
    ctx.fillStyle = g.colours.muted;
    ctx.textAlign = "right";
    [BAND.state + 13, BAND.rendered + 10, BAND.synthesised + 10].forEach((y, i) => ctx.fillText(names[i], g.left - 7, y));
}

/* Diagonal lines as a tile, made once for a colour and a screen: many stretches are hatched in a frame. */
const tiles = new Map();

function hatchOf(ctx, colour) {
    const scale = ctx.getTransform().a, key = colour + " " + scale, side = 6;
    if (!tiles.has(key)) {
        const tile = element("canvas", {width: side * scale, height: side * scale}), pen = tile.getContext("2d");
        pen.scale(scale, scale);
        pen.strokeStyle = colour;
        pen.beginPath();
        for (const x of [-side, 0, side]) { /* neighbours' ends reach into the corners */
            pen.moveTo(x - 1, side + 1);
            pen.lineTo(x + side + 1, -1);
        }
        pen.stroke();
        const pattern = ctx.createPattern(tile, "repeat");
        pattern.setTransform(new DOMMatrix().scale(1 / scale));
        tiles.set(key, pattern);
    }
    return tiles.get(key);
}

const widths = new Map();

function widthOf(ctx, word) {
    if (!widths.has(word))
        widths.set(word, ctx.measureText(word).width);
    return widths.get(word);
}

function drawSpan(g, span) {
    const ctx = g.ctx, x0 = Math.max(g.at(span.from), g.left), x1 = Math.min(g.at(span.to), g.right);
    const width = Math.max(x1 - x0, span.state === OFF ? 1 : 0);
    if (span.state === UNSEEN) {
        ctx.fillStyle = hatchOf(ctx, g.colours.unseen);
    } else {
        ctx.fillStyle = span.state === OFF ? g.colours.off : g.colours.on;
    }
    ctx.fillRect(x0, BAND.state, width, BAND.stateHigh);
    const word = STATES[span.state], wide = widthOf(ctx, word);
    if (width < 8 + wide)
        return;
    if (span.state === UNSEEN) { /* a clear ground for the word among the hatch */
        ctx.fillStyle = g.colours.paper;
        ctx.fillRect((x0 + x1) / 2 - wide / 2 - 3, BAND.state + 2, wide + 6, 14);
    }
    ctx.textAlign = "center";
    ctx.fillStyle = span.state === OFF ? g.colours.paper : g.colours.ink;
    ctx.fillText(word, (x0 + x1) / 2, BAND.state + 13);
}

function drawSpans(g, course) {
    g.ctx.font = FONT;
    const seen = course.spans.filter(s => s.to > g.from && s.from < g.to);
    for (const off of [false, true]) /* off last: short lapses stay visible */
        for (const span of seen)
            if ((span.state === OFF) === off)
                drawSpan(g, span);
    g.ctx.strokeStyle = g.colours.muted;
    g.ctx.lineWidth = 1;
    g.ctx.strokeRect(g.left + 0.5, BAND.state + 0.5, g.right - g.left - 1, BAND.stateHigh - 1);
}

/* A lapse's number above its start, where there is room for it. */
function drawLapseNumbers(g, course) {
    const ctx = g.ctx;
    let free = g.left - 30;
    ctx.textAlign = "left";
    ctx.fillStyle = g.colours.ink;
    for (const lapse of course.lapses) {
        if (lapse.to <= g.from || lapse.from >= g.to)
            continue;
        const x = Math.max(g.at(lapse.from), g.left) + 6, text = String(lapse.number + 1), wide = widthOf(ctx, text);
        if (x < free || x + wide > g.right + 18)
            continue;
        ctx.fillText(text, x, BAND.number + 12);
        free = x + wide + 6;
    }
}

function drawLanes(g, course) {
    const first = Math.max(0, course.flips.before(g.from)), last = course.flips.before(g.to);
    g.ctx.strokeStyle = g.colours.rule;
    for (const y of [BAND.rendered, BAND.synthesised])
        g.ctx.strokeRect(g.left + 0.5, y + 0.5, g.right - g.left - 1, BAND.laneHigh - 1);
    if (last < first)
        return;
    const pictures = last - first + 1;
    if (pictures > (g.right - g.left) / 4)
        drawDense(g, course);
    else
        for (let i = first; i <= last; i++)
            drawPicture(g, course, i);
}

/* One picture: a bar as long as it stayed on screen, in its kind's lane; of unknown kind between the lanes. */
function drawPicture(g, course, i) {
    const kind = course.kind[i], until = course.shownUntil(i), ctx = g.ctx;
    const x0 = Math.max(g.at(course.flips.values[i]), g.left), x1 = Math.min(g.at(until), g.right);
    const y = kind === RENDERED ? BAND.rendered : kind === SYNTHESISED ? BAND.synthesised : BAND.rendered + 9;
    const width = Math.max(x1 - x0 - 1, 1);
    if (x0 > g.right || until < g.from)
        return;
    ctx.fillStyle = kind ? g.colours.ink : g.colours.unseen;
    if (kind === SYNTHESISED) { /* open bars: made up between two rendered ones */
        ctx.strokeStyle = g.colours.ink;
        ctx.strokeRect(x0 + 0.5, y + 2.5, Math.max(width - 1, 0.5), BAND.laneHigh - 5);
    } else {
        ctx.fillRect(x0, y + 2, width, BAND.laneHigh - 4);
    }
}

/* Too many to tell apart: each pixel says whether its time holds pictures of the kind. */
function drawDense(g, course) {
    const edges = [], span = g.to - g.from, width = Math.ceil(g.right - g.left);
    for (let x = 0; x <= width; x++)
        edges.push(course.flips.before(g.from + span * x / width) + 1);
    for (const [kind, y, colour] of [[RENDERED, BAND.rendered, g.colours.ink], [SYNTHESISED, BAND.synthesised, g.colours.muted],
                                     [0, BAND.rendered + 9, g.colours.unseen]]) {
        const counts = course.counts[kind], reach = Math.ceil(width * 0.03 / span); /* joins pictures of one run */
        let begun = -1, seen = -1;
        g.ctx.fillStyle = colour;
        for (let x = 0; x <= width; x++) {
            const here = x < width && counts[edges[x + 1]] > counts[edges[x]];
            if (here && begun < 0)
                begun = x;
            if (here)
                seen = x;
            if (begun >= 0 && (x === width || x - seen > reach)) {
                g.ctx.fillRect(g.left + begun, y + (kind ? 2 : 4), seen + 1 - begun, BAND.laneHigh - (kind ? 4 : 8));
                begun = -1;
            }
        }
    }
}
