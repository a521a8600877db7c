/* Links to a take and a time: #take=ID&t=12.5&span=2, span being the seconds in view. */

function addressOf(timeline) {
    const {course, mark, from, to} = timeline, short = x => String(Math.round(x * 1e6) / 1e6);
    const whole = to - from >= course.end;
    return `#take=${encodeURIComponent(course.id)}&t=${short(mark)}` + (whole ? "" : `&span=${short(to - from)}`);
}

/* The address follows what the reader does, a little behind: browsers limit how often it may change. */
function attachAddress(timeline) {
    const link = element("a", {class: "here", href: addressOf(timeline)}, "Link to this moment");
    timeline.status.append(link);
    let waiting = 0, last = addressOf(timeline);
    timeline.watchers.push(() => {
        const now = addressOf(timeline);
        if (now === last)
            return;
        last = now;
        clearTimeout(waiting);
        waiting = setTimeout(() => {
            link.href = last;
            history.replaceState(null, "", last);
        }, 250);
    });
}

/* Goes where the address says; false if it names no take and time. */
function followAddress(hash) {
    const wanted = new URLSearchParams(hash.slice(1)), id = wanted.get("take");
    if (id === null)
        return false;
    const section = [...document.querySelectorAll("section.take")].find(s => s.dataset.take === id);
    const timeline = section ? wake(section) : null;
    if (!timeline)
        return false;
    const number = name => wanted.get(name) === null || wanted.get(name) === "" ? NaN : Number(wanted.get(name));
    const t = timeline.clampTime(number("t") || 0), span = number("span");
    if (span > 0)
        timeline.setView(t - span / 2, t + span / 2);
    timeline.setMark(t);
    section.scrollIntoView();
    return true;
}
