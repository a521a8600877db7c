/* The filmstrip of the lapse in view: from inside the page, or from its file beside the page. */

function pictureOf(section, lapse) {
    const inside = section.querySelector(`script.picture[data-lapse="${lapse.number}"]`);
    if (inside)
        return URL.createObjectURL(new Blob([bytesOf(inside.textContent)], {type: "image/png"}));
    const link = section.querySelector(`a[data-lapse="${lapse.number}"]`);
    return link ? link.href : null;
}

function attachStrips(timeline) {
    const {course, section, below} = timeline, known = new Map();
    if (!course.lapses.length)
        return;
    const image = element("img", {alt: ""});
    const whole = element("a", {target: "_blank"}, image);
    const scroll = element("div", {class: "strip-scroll"}, whole);
    const caption = element("figcaption", {});
    const figure = element("figure", {class: "strip"}, caption, scroll);
    below.append(figure);
    let shown = null, waiting = 0;
    const show = () => {
        const lapse = course.lapseIn(timeline.from, timeline.to, timeline.mark);
        if (lapse === shown)
            return;
        shown = lapse;
        if (lapse && !known.has(lapse))
            known.set(lapse, pictureOf(section, lapse));
        const address = lapse ? known.get(lapse) : null;
        scroll.hidden = !address;
        if (address) {
            image.src = whole.href = address;
            image.alt = `Filmstrip of lapse ${lapse.number + 1}: captured frames around its edges`;
        }
        caption.textContent = !lapse ? "No lapse in view." : lapseText(course, lapse) +
            (address ? "" : " No filmstrip was drawn of it.");
    };
    timeline.watchers.push(() => { /* once the view rests */
        clearTimeout(waiting);
        waiting = setTimeout(show, 120);
    });
}

function lapseText(course, lapse) {
    const edge = (t, known, word) => known ? t.toFixed(3) + " s" : word;
    return `Lapse ${lapse.number + 1} of ${course.lapses.length}, ${edge(lapse.from, lapse.trip, "already off at the start")} to ` +
        `${edge(lapse.to, lapse.back, "still off at the end")}.`;
}
