/* An audit: one moment at a time, answered by button or key, saved as a file. */

const asked = JSON.parse(document.getElementById("asked").textContent);
const sections = [...document.querySelectorAll(".moment")];
const buttons = [...document.querySelectorAll("[data-answer]")];
const byId = id => document.getElementById(id);
const given = new Array(sections.length).fill(null);
const place = "flinch-audit " + asked.takes.map(t => t.key).join(" ") + " " + asked.moments.map(m => m.take + " " + m.time_s).join(" ");
let now = 0;

/* What was answered before the page was closed, where the browser keeps it. */
function recall() {
    try {
        const kept = JSON.parse(localStorage.getItem(place) || "[]");
        kept.forEach((answer, i) => {
            if (i < given.length && buttons.some(b => b.dataset.answer === answer))
                given[i] = answer;
        });
    } catch (refused) { /* no storage for local files: answers hold until the page is closed */ }
}

function keep() {
    try {
        localStorage.setItem(place, JSON.stringify(given));
    } catch (refused) { /* as above */ }
}

function tell() {
    const n = given.filter(answer => answer).length;
    byId("done").max = given.length;
    byId("done").value = n;
    byId("count").textContent = `${n} of ${given.length} answered`;
    byId("unanswered").hidden = n === given.length;
}

function show(i, byKeyboard) {
    now = Math.max(0, Math.min(sections.length - 1, i));
    sections.forEach((section, k) => section.classList.toggle("now", k === now));
    for (const button of buttons)
        button.setAttribute("aria-pressed", String(given[now] === button.dataset.answer));
    byId("back").disabled = now === 0;
    byId("next").disabled = now === sections.length - 1;
    tell();
    if (byKeyboard !== undefined)
        sections[now].querySelector("h2").focus({preventScroll: true});
    if (byKeyboard !== undefined && sections[now].getBoundingClientRect().top < 0)
        sections[now].scrollIntoView();
}

/* The next one without an answer after i, else the first one; -1: all are answered. */
function unanswered(i) {
    const after = given.findIndex((answer, k) => k > i && !answer);
    return after >= 0 ? after : given.findIndex(answer => !answer);
}

/* The same answer again takes it back. */
function answer(word) {
    const taken = given[now] === word;
    given[now] = taken ? null : word;
    keep();
    if (taken) {
        show(now);
        return;
    }
    const next = unanswered(now);
    show(next >= 0 ? next : now, true);
    if (next < 0)
        byId("save").focus();
}

function save() {
    const answers = [];
    given.forEach((word, i) => {
        if (word)
            answers.push({...asked.moments[i], answer: word});
    });
    const {moments, ...head} = asked;
    const file = new Blob([JSON.stringify({...head, asked: moments.length, answers}, null, 1) + "\n"], {type: "application/json"});
    const link = document.createElement("a");
    link.href = URL.createObjectURL(file);
    link.download = "audit-answers.json";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
}

function onKey(event) {
    if (event.repeat || event.ctrlKey || event.altKey || event.metaKey) /* a key held down would flicker */
        return;
    const word = byId("keys").checked ? {1: "on", 2: "off", 3: "cannot tell"}[event.key] : undefined;
    if (word)
        answer(word);
    else if (event.key === "ArrowLeft")
        show(now - 1, true);
    else if (event.key === "ArrowRight")
        show(now + 1, true);
    else
        return;
    event.preventDefault();
}

for (const button of buttons)
    button.addEventListener("click", () => answer(button.dataset.answer));
byId("back").addEventListener("click", () => show(now - 1, true));
byId("next").addEventListener("click", () => show(now + 1, true));
byId("unanswered").addEventListener("click", () => show(unanswered(now), true));
byId("save").addEventListener("click", save);
addEventListener("keydown", onKey);
recall();
show(Math.max(0, unanswered(-1)));
