/* Puts the parts to work: timelines as they come near, tables, colours, links. */

function wake(section) {
    if (timelines.has(section))
        return timelines.get(section);
    const data = section.querySelector("script.course");
    const course = data ? JSON.parse(unpacked(data.textContent)) : null;
    section.classList.remove("waiting");
    addBody(section);
    if (!course || !course.time_s) {
        timelines.set(section, null);
        return null;
    }
    const timeline = new Timeline(section, course);
    section.classList.add("is-live");
    timelines.set(section, timeline);
    attachGestures(timeline);
    attachReadout(timeline);
    attachStrips(timeline);
    attachAddress(timeline);
    addKeyHelp(timeline);
    linkTables(section, timeline);
    timeline.ask();
    return timeline;
}

function addKeyHelp(timeline) {
    const keys = [["Wheel, or two fingers apart and together", "closer and wider"],
                  ["Drag, or wheel sideways or with Shift", "along the take"], ["Click, or tap", "puts the mark there"],
                  ["\u2190 \u2192, and , .", "moves the mark; , and . by one capture frame"], ["Page Up, Page Down", "half a view on, back"],
                  ["+ \u2212 0", "closer, wider, whole take"], ["n p", "next, previous lapse"], ["Home, End", "first, last frame"]];
    const list = element("dl", {});
    for (const [key, what] of keys)
        list.append(element("dt", {}, key), element("dd", {}, what));
    timeline.below.append(element("details", {class: "keys"}, element("summary", {}, "How to move in it"), list));
}

/* Times in the tables of lapses and flicks lead to the timeline. */
function linkTables(section, timeline) {
    for (const cell of section.querySelectorAll("td[data-time]")) {
        const button = element("button", {type: "button", class: "time", title: "show in the timeline"}, ...cell.childNodes);
        const t = Number(cell.dataset.time), lapse = timeline.course.lapses[Number(cell.dataset.lapse)];
        const go = () => {
            if (cell.dataset.lapse !== undefined && lapse)
                timeline.goLapse(lapse);
            else
                timeline.setView(t - 0.5, t + 1);
            timeline.setMark(t);
            timeline.plot.scrollIntoView({block: "nearest"});
            timeline.plot.focus({preventScroll: true});
        };
        button.addEventListener("click", go);
        cell.append(button);
        const strip = cell.parentNode.querySelector("a[data-lapse]");
        if (strip && cell === cell.parentNode.querySelector("td[data-time]"))
            strip.addEventListener("click", event => { event.preventDefault(); go(); });
    }
}

function addColourSwitch() {
    const root = document.documentElement, system = matchMedia("(prefers-color-scheme: dark)");
    const button = element("button", {type: "button", class: "colours"});
    const dark = () => root.dataset.colours ? root.dataset.colours === "dark" : system.matches;
    const name = () => { button.textContent = dark() ? "Light colours" : "Dark colours"; };
    button.addEventListener("click", () => {
        root.dataset.colours = dark() ? "light" : "dark";
        try {
            localStorage.setItem("flinch-colours", root.dataset.colours);
        } catch (refused) { /* holds for this visit only */ }
        name();
        repaint();
    });
    system.addEventListener("change", () => { name(); repaint(); });
    name();
    document.querySelector("header nav").append(button);
}

/* Still chart, facts and tables, which wait as text: for those without scripts, or packed. */
function addBody(section) {
    const waiting = section.querySelector("noscript"), packed = section.querySelector("script.body");
    if (!waiting || section.querySelector("div.body"))
        return;
    const place = element("div", {class: "body"});
    place.innerHTML = packed ? unpacked(packed.textContent) : waiting.textContent;
    waiting.after(place);
    place.querySelectorAll(".table.data").forEach(attachTable);
    place.querySelectorAll(SCROLLS).forEach(markEdges);
}

function watchSections() {
    const observer = new IntersectionObserver(entries => {
        for (const entry of entries)
            if (entry.isIntersecting) {
                observer.unobserve(entry.target);
                wake(entry.target);
            }
    }, {rootMargin: "400px"});
    for (const section of document.querySelectorAll("section.take")) {
        section.classList.add("waiting");
        observer.observe(section);
    }
}

const SCROLLS = ".table, .roll";

addColourSwitch();
document.querySelectorAll(".table.data").forEach(attachTable);
document.querySelectorAll(SCROLLS).forEach(markEdges);
watchSections();
followAddress(location.hash);
/* The event's own address: a late replaceState may have changed the page's since. */
addEventListener("hashchange", event => followAddress(new URL(event.newURL).hash));
addEventListener("beforeprint", () => document.querySelectorAll("section.take").forEach(addBody));
