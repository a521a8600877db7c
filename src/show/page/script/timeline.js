/* The timeline of one take: its parts in the page, what it shows (from, to), and where its mark stands. */

const SCREEN = {narrow: 560};
const COLOURS = ["paper", "ink", "muted", "rule", "off", "off-soft", "on", "unseen", "series-1"];
let palette = null;

function colours() {
    if (!palette) {
        const style = getComputedStyle(document.documentElement);
        palette = {};
        for (const name of COLOURS)
            palette[name] = style.getPropertyValue("--" + name).trim();
    }
    return palette;
}

function element(tag, attributes, ...children) {
    const e = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes || {}))
        e.setAttribute(name, value);
    e.append(...children);
    return e;
}

class Timeline {
    constructor(section, data) {
        this.section = section;
        this.course = new Course(data);
        this.from = 0;
        this.to = this.course.end;
        this.mark = 0;
        this.hover = null;
        this.asked = false;
        this.watchers = []; /* called after the view, the mark or the hover has changed */
        this.build();
        this.look = {layout: () => this.layout, colours};
        this.measure();
        this.panels = this.hosts.map(({host, what}) => new Panel(host, this.course, what, this.look));
        new ResizeObserver(() => this.resize()).observe(this.plot);
        this.render();
    }
    build() {
        const whats = [ratePanel(this.course)].concat(this.course.speed ? [speedPanel(this.course)] : []);
        this.canvas = element("canvas", {class: "bands"});
        this.hosts = whats.map(what => ({what, host: element("div", {class: "panel"}, element("p", {class: "panel-name"}, what.name))}));
        this.markLine = element("div", {class: "mark"});
        this.hoverLine = element("div", {class: "hover"});
        this.plot = element("div", {class: "plot", tabindex: "0", role: "slider", "aria-label": "Time in take " + this.course.id,
                                    "aria-orientation": "horizontal", "aria-valuemin": "0"},
                            this.canvas, ...this.hosts.map(h => h.host), this.hoverLine, this.markLine);
        this.plot.setAttribute("aria-valuemax", this.course.end);
        this.shown = element("p", {class: "shown"});
        this.status = element("div", {class: "status"}, this.shown);
        this.tools = element("div", {class: "tools", role: "group", "aria-label": "Move in take " + this.course.id});
        this.below = element("div", {class: "below"});
        this.root = element("div", {class: "live"}, this.plot, this.status, this.tools,
                            element("p", {class: "legend"}, this.legend()), this.below);
        this.section.querySelector("noscript").after(this.root);
    }
    legend() {
        return "Shaded: a lapse. Filled bar: a rendered picture on screen; open bar: a synthesised one; " +
            "grey between them: kind not known." +
            (this.course.speed && this.course.speed.flicks.length
                ? " Flicks: \u25b2 tripped, \u25cb held, small dot not used." : "");
    }
    measure() {
        const width = Math.max(240, Math.floor(this.plot.clientWidth)), narrow = width < SCREEN.narrow;
        this.layout = {width, narrow, left: narrow ? 48 : 84, right: narrow ? 48 : 62};
        const scale = window.devicePixelRatio || 1;
        this.canvas.width = width * scale;
        this.canvas.height = BAND.height * scale;
        this.plot.style.setProperty("--left", this.layout.left + "px");
        this.canvas.style.width = width + "px";
        this.canvas.style.height = BAND.height + "px";
    }
    resize() {
        if (Math.floor(this.plot.clientWidth) === this.layout.width || !this.plot.clientWidth)
            return;
        this.measure();
        for (const panel of this.panels)
            panel.resize();
        this.render();
    }
    /* px from the left edge of the plot ↔ footage time */
    at(t) {
        const {left, right, width} = this.layout;
        return left + (t - this.from) / (this.to - this.from) * (width - left - right);
    }
    timeAt(x) {
        const {left, right, width} = this.layout;
        return this.from + (x - left) / (width - left - right) * (this.to - this.from);
    }
    clampTime(t) {
        return Math.min(Math.max(t, 0), this.course.end);
    }
    /* At least four capture frames, at most the take. The mark stays in view. */
    setView(from, to) {
        const span = Math.min(Math.max(to - from, 4 * this.course.period), this.course.end);
        const middle = (from + to) / 2;
        this.from = Math.min(Math.max(middle - span / 2, 0), this.course.end - span);
        this.to = this.from + span;
        this.mark = Math.min(Math.max(this.mark, this.from), this.to);
        this.ask();
    }
    pan(seconds) {
        const span = this.to - this.from, from = Math.min(Math.max(this.from + seconds, 0), this.course.end - span);
        this.setView(from, from + span);
    }
    /* factor > 1: closer. t stays where it is. */
    zoom(factor, t) {
        const span = Math.min(Math.max((this.to - this.from) / factor, 4 * this.course.period), this.course.end);
        const share = (t - this.from) / (this.to - this.from);
        this.setView(t - share * span, t - share * span + span);
    }
    setMark(t) {
        const span = this.to - this.from;
        t = this.clampTime(t);
        if (t < this.from || t > this.to)
            this.setView(t - span / 2, t + span / 2);
        this.mark = t;
        this.ask();
    }
    stepFrame(by) {
        this.setMark(this.course.frameTime(this.course.frameAt(this.mark) + by));
    }
    goLapse(lapse) {
        const margin = Math.max(lapse.to - lapse.from, 0.1);
        this.setView(lapse.from - margin, lapse.to + margin);
        this.setMark(lapse.first);
    }
    stepLapse(forward) {
        const lapse = this.course.nextLapse(this.mark, forward);
        if (lapse)
            this.goLapse(lapse);
    }
    setHover(t) {
        this.hover = t === null || t < this.from || t > this.to ? null : t;
        this.ask();
    }
    ask() {
        if (!this.asked)
            requestAnimationFrame(() => this.render());
        this.asked = true;
    }
    render() {
        this.asked = false;
        if (this.drawnFrom !== this.from || this.drawnTo !== this.to || this.drawnWidth !== this.layout.width || this.drawnIn !== colours())
            this.draw();
        this.place(this.markLine, this.mark);
        this.place(this.hoverLine, this.hover);
        for (const watch of this.watchers)
            watch();
    }
    draw() {
        const {from, to, layout} = this, scale = this.canvas.width / layout.width, ctx = this.canvas.getContext("2d");
        ctx.setTransform(scale, 0, 0, scale, 0, 0);
        ctx.clearRect(0, 0, layout.width, BAND.height);
        drawBands({ctx, from, to, left: layout.left, right: layout.width - layout.right, narrow: layout.narrow,
                   colours: colours(), at: t => this.at(t)}, this.course);
        const repainted = this.drawnIn !== colours();
        for (const panel of this.panels) {
            panel.show(from, to);
            if (repainted)
                panel.plot.redraw(true, true);
        }
        Object.assign(this, {drawnFrom: from, drawnTo: to, drawnWidth: layout.width, drawnIn: colours()});
    }
    place(line, t) {
        line.hidden = t === null;
        if (t !== null)
            line.style.transform = `translateX(${this.at(t)}px)`;
    }
}

/* All timelines so far, by their section. */
const timelines = new Map();

function repaint() {
    palette = null;
    for (const timeline of timelines.values())
        timeline.ask();
}
