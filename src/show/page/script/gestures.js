/* Wheel, drag, touch and keys on a timeline. */

const WHEEL = {line: 16, page: 400, rate: 0.0022, pause: 250};
const CLICK_REACH = 4; /* px that a press may wander and still be a click */

/* A wheel that has been scrolling the page goes on doing so when the page brings a timeline under it. */
let wheelLast = -1e9, wheelOwner = null;

document.addEventListener("wheel", event => {
    if (event.timeStamp - wheelLast > WHEEL.pause)
        wheelOwner = event.target instanceof Element ? event.target.closest(".plot") : null;
    wheelLast = event.timeStamp;
}, {passive: true, capture: true});

function attachWheel(timeline) {
    const plot = timeline.plot;
    plot.addEventListener("wheel", event => {
        const unit = event.deltaMode === 1 ? WHEEL.line : event.deltaMode === 2 ? WHEEL.page : 1;
        const across = (event.shiftKey && !event.deltaX ? event.deltaY : event.deltaX) * unit, down = event.deltaY * unit;
        const span = timeline.to - timeline.from, widest = span >= timeline.course.end;
        if (wheelOwner !== plot)
            return;
        if (event.shiftKey || Math.abs(across) > Math.abs(down)) {
            event.preventDefault();
            timeline.pan(across / plot.clientWidth * span);
        } else if (down < 0 || !widest) { /* at its widest, the page scrolls on */
            event.preventDefault();
            const t = timeline.timeAt(event.clientX - plot.getBoundingClientRect().left);
            timeline.zoom(Math.exp(-WHEEL.rate * Math.max(-300, Math.min(300, down))), Math.min(Math.max(t, timeline.from), timeline.to));
        }
    }, {passive: false});
}

/* Pointers that are down: one drags, two pinch. */
function attachPointers(timeline) {
    const plot = timeline.plot, down = new Map();
    let start = null;
    const x = event => event.clientX - plot.getBoundingClientRect().left;
    const begin = () => {
        const xs = [...down.values()];
        start = {xs, from: timeline.from, to: timeline.to, moved: start !== null && start.moved};
    };
    const follow = () => {
        const xs = [...down.values()], {left, right, width} = timeline.layout, room = width - left - right;
        const span = start.to - start.from, a = start.xs, t = px => start.from + (px - left) / room * span;
        if (xs.length === 1) {
            const by = (a[0] - xs[0]) / room * span;
            timeline.pan(start.from + by - timeline.from);
            return;
        }
        const apart = Math.max(Math.abs(a[1] - a[0]), 8), now = Math.max(Math.abs(xs[1] - xs[0]), 8);
        const wide = Math.min(Math.max(span * apart / now, 4 * timeline.course.period), timeline.course.end);
        const held = t((a[0] + a[1]) / 2), from = held - ((xs[0] + xs[1]) / 2 - left) / room * wide;
        timeline.setView(from, from + wide);
    };
    plot.addEventListener("pointerdown", event => {
        if (event.button || down.size === 2)
            return;
        down.set(event.pointerId, x(event));
        plot.setPointerCapture(event.pointerId);
        timeline.setHover(null);
        if (down.size === 1)
            start = null;
        begin();
    });
    plot.addEventListener("pointermove", event => {
        if (!down.has(event.pointerId)) {
            if (event.pointerType === "mouse")
                timeline.setHover(timeline.timeAt(x(event)));
            return;
        }
        down.set(event.pointerId, x(event));
        start.moved = start.moved || down.size > 1 || Math.abs(x(event) - start.xs[0]) > CLICK_REACH;
        plot.classList.toggle("dragging", start.moved);
        if (start.moved)
            follow();
    });
    const end = event => {
        if (!down.delete(event.pointerId))
            return;
        plot.classList.remove("dragging");
        if (!start.moved && event.type === "pointerup")
            timeline.setMark(Math.min(Math.max(timeline.timeAt(x(event)), timeline.from), timeline.to));
        if (down.size)
            begin();
    };
    plot.addEventListener("pointerup", end);
    plot.addEventListener("pointercancel", end);
    plot.addEventListener("pointerleave", event => { if (event.pointerType === "mouse") timeline.setHover(null); });
}

/* Key → what it does. */
function keyActions(timeline) {
    const span = () => timeline.to - timeline.from;
    const step = sign => {
        const frames = Math.max(1, Math.round(span() / 100 / timeline.course.period));
        timeline.stepFrame(sign * frames);
    };
    const closer = () => timeline.zoom(2, timeline.mark), wider = () => timeline.zoom(0.5, timeline.mark);
    return {
        ArrowLeft: () => step(-1), ArrowRight: () => step(1), ArrowDown: () => step(-1), ArrowUp: () => step(1),
        ",": () => timeline.stepFrame(-1), ".": () => timeline.stepFrame(1),
        PageUp: () => timeline.setMark(timeline.mark + span() / 2), PageDown: () => timeline.setMark(timeline.mark - span() / 2),
        Home: () => timeline.setMark(0), End: () => timeline.setMark(timeline.course.end),
        "+": closer, "=": closer, "-": wider, "0": () => timeline.setView(0, timeline.course.end),
        n: () => timeline.stepLapse(true), p: () => timeline.stepLapse(false),
    };
}

function attachKeys(timeline) {
    const actions = keyActions(timeline);
    timeline.plot.addEventListener("keydown", event => {
        const action = actions[event.key.length === 1 ? event.key.toLowerCase() : event.key];
        if (!action || event.ctrlKey || event.metaKey || event.altKey)
            return;
        event.preventDefault();
        timeline.setHover(null);
        action();
    });
}

/* Everything by single presses too, for those who cannot drag, pinch or type. */
function attachButtons(timeline) {
    const actions = keyActions(timeline), lapses = timeline.course.lapses.length > 0;
    const add = (text, key, title) => {
        const button = element("button", {type: "button", title}, text);
        button.addEventListener("click", actions[key]);
        timeline.tools.append(button);
    };
    if (lapses) {
        add("Previous lapse", "p", "p");
        add("Next lapse", "n", "n");
    }
    add("Closer", "+", "+");
    add("Wider", "-", "-");
    add("Whole take", "0", "0");
    add("Earlier", "PageDown", "Page Down");
    add("Later", "PageUp", "Page Up");
    add("Frame back", ",", "comma");
    add("Frame on", ".", "full stop");
}

function attachGestures(timeline) {
    attachWheel(timeline);
    attachPointers(timeline);
    attachKeys(timeline);
    attachButtons(timeline);
}
