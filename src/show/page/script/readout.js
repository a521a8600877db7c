/* What holds at the mark, or where the mouse hovers: cells of the CSV files, in the digits that their
 * errors support; what the file has to the last digit is the cell's title. */

function attachReadout(timeline) {
    const {course} = timeline, cells = {};
    const list = element("dl", {class: "readout"});
    const add = (column, name, unit) => {
        cells[column] = element("span", {"data-column": column});
        list.append(element("div", {}, element("dt", {}, name), element("dd", {}, cells[column], unit ? " " + unit : "")));
    };
    add("frame", "capture frame");
    add("time_s", "its time", "s");
    for (const {column, label, unit} of stateFirst(course.columns))
        add(column, label, unit);
    if (course.speed)
        add(course.speed.column, course.speed.label, course.speed.unit);
    add("kind", "picture on screen");
    timeline.below.append(list);
    timeline.watchers.push(() => {
        const t = timeline.hover === null ? timeline.mark : timeline.hover;
        list.classList.toggle("hovering", timeline.hover !== null);
        fill(cells, course, t);
        tellSlider(timeline);
        timeline.shown.textContent = shownText(timeline);
    });
}

/* The state and how sure it is lead. */
function stateFirst(columns) {
    const leads = c => ["state", "confidence"].includes(c.column);
    return columns.filter(leads).concat(columns.filter(c => !leads(c)));
}

function put(cell, text, exact = text) {
    cell.textContent = text;
    cell.title = exact;
    cell.parentNode.classList.toggle("lacking", text === "");
}

/* Three digits; figures under a hundred thousand without an exponent. */
function threeDigits(text) {
    const v = Number(text);
    if (text === "" || !isFinite(v))
        return text;
    return Math.abs(v) < 100 ? String(Number(v.toPrecision(3))) : v.toFixed(0);
}

/* Sureness of what was not seen says nothing, and none is certain. */
function sureness(text, state) {
    if (state === UNSEEN || text === "")
        return "";
    return Number(text) > 0.99 ? "> 0.99" : Number(text).toFixed(2);
}

function shownCell(column, text, state) {
    return column === "confidence" ? sureness(text, state) : threeDigits(text);
}

function fill(cells, course, t) {
    const i = course.frameAt(t), state = course.state.values[i];
    put(cells.frame, String(i));
    put(cells.time_s, course.times.text(i));
    for (const {column, figures} of course.columns)
        if (column === "state")
            put(cells[column], STATES[state]);
        else
            put(cells[column], shownCell(column, figures.text(i), state), figures.text(i));
    if (course.speed)
        put(cells[course.speed.column], threeDigits(course.speedFigures.text(i)), course.speedFigures.text(i));
    put(cells.kind, kindText(course, t));
    const span = course.spanAt(t), reason = span && state === UNSEEN && REASONS[span.reason];
    cells.state.dataset.reason = reason ? "(" + reason + ")" : "";
}

/* The last flip's kind, as long as its picture is known to stay. */
function kindText(course, t) {
    const flip = course.flips.before(t);
    if (flip < 0 || course.shownUntil(flip) <= t)
        return KINDS[0];
    return `${KINDS[course.kind[flip]]}, since ${course.flips.text(flip)} s`;
}

function tellSlider(timeline) {
    const {course, plot, mark} = timeline, i = course.frameAt(mark), lapse = course.lapseAt(mark);
    const words = [mark.toFixed(3) + " s", "frame " + i, STATES[course.state.values[i]]];
    if (lapse)
        words.push(`lapse ${lapse.number + 1} of ${course.lapses.length}`);
    plot.setAttribute("aria-valuenow", mark.toFixed(3));
    plot.setAttribute("aria-valuetext", words.join(", "));
}

function shownText(timeline) {
    const {course, from, to} = timeline, n = course.lapses.filter(l => l.to > from && l.from < to).length;
    const lapses = n === 1 ? "1 lapse" : n ? n + " lapses" : "no lapse";
    const digits = to - from < 1 ? 3 : to - from < 20 ? 2 : 1;
    return `${from.toFixed(digits)} to ${to.toFixed(digits)} s of ${course.end.toFixed(1)} s in view, ${lapses}`;
}
