/* The filmstrips of the lapse in view, one a stretch seen off: from inside the page, or from their
 * files beside the page. */

function picturesOf(section, lapse) {
    const inside = [...section.querySelectorAll(`script.picture[data-lapse="${lapse.number}"]`)];
    if (inside.length)
        return inside.map(script => URL.createObjectURL(new Blob([bytesOf(script.textContent)], {type: "image/png"})));
    return [...section.querySelectorAll(`a[data-lapse="${lapse.number}"]`)].map(link => link.href);
}

function attachStrips(timeline) {
    const {course, section, below} = timeline, known = new Map();
    if (!course.lapses.length)
        return;
    const scroll = element("div", {class: "strip-scroll"});
    const caption = element("figcaption", {});
    const figure = element("figure", {class: "strip"}, caption, scroll);
    below.append(figure);
    markEdges(scroll);
    let shown = null, waiting = 0;
    const show = () => {
        const lapse = course.lapseIn(timeline.from, timeline.to, timeline.mark);
        if (lapse === shown)
            return;
        shown = lapse;
        if (lapse && !known.has(lapse))
            known.set(lapse, picturesOf(section, lapse));
        const addresses = lapse ? known.get(lapse) : [];
        scroll.hidden = !addresses.length;
        scroll.replaceChildren(...addresses.map(address => {
            const alt = `Filmstrip of lapse ${lapse.number + 1}: captured frames around its edges`;
            return element("a", {target: "_blank", href: address}, element("img", {alt, src: address}));
        }));
        caption.replaceChildren(!lapse ? "No lapse in view." : element("strong", {}, lapseText(course, lapse)));
        if (lapse)
            caption.append(" ", lapse.why, addresses.length ? "" : " No filmstrip was drawn of it.");
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
