/* Tables that sort and copy. */

/* What a cell sorts by: its leading number in a column of figures, else its text; empty cells come last. */
function sortKey(cell, figures) {
    const text = cellText(cell);
    if (!figures)
        return text === "" ? null : text.toLowerCase();
    const number = parseFloat(text.replace("\u2212", "-"));
    return Number.isNaN(number) ? null : number;
}

function cellText(cell) {
    return (cell.innerText || "").replace(/\s*\n\s*/g, " ").trim();
}

function compareKeys(a, b, sign) {
    if (a === null || b === null)
        return a === b ? 0 : a === null ? 1 : -1;
    return sign * (typeof a === "number" ? a - b : a < b ? -1 : a > b ? 1 : 0);
}

/* none → ascending → descending → none, which is the order of the report. */
function sortBy(table, head, heads, order) {
    const was = head.getAttribute("aria-sort"), body = table.tBodies[0], column = heads.indexOf(head);
    const now = was === "ascending" ? "descending" : was === "descending" ? "none" : "ascending";
    for (const h of heads)
        h.removeAttribute("aria-sort");
    head.setAttribute("aria-sort", now);
    const rows = order.slice(), figures = head.classList.contains("n");
    if (now !== "none") {
        const keys = new Map(rows.map(row => [row, sortKey(row.cells[column], figures)]));
        rows.sort((a, b) => compareKeys(keys.get(a), keys.get(b), now === "ascending" ? 1 : -1));
    }
    body.append(...rows);
}

/* RFC 4180; a text that a spreadsheet would take for a formula gets an apostrophe in front. */
function csvCell(text) {
    if (/^[=+\-@\t]/.test(text) && Number.isNaN(Number(text)))
        text = "'" + text;
    return /[",\n\r]/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text;
}

function csvOf(table) {
    return [...table.rows].map(row => [...row.cells].map(cell => csvCell(cellText(cell))).join(",") + "\r\n").join("");
}

async function copyText(text) {
    try {
        await navigator.clipboard.writeText(text);
        return true;
    } catch (refused) { /* the older way, which asks for no leave */
        const area = element("textarea", {"aria-hidden": "true", class: "aside"});
        area.value = text;
        document.body.append(area);
        area.select();
        const copied = document.execCommand("copy");
        area.remove();
        return copied;
    }
}

function addCopy(region, table) {
    const button = element("button", {type: "button"}, "Copy as CSV"), said = element("span", {role: "status"});
    button.addEventListener("click", async () => {
        const copied = await copyText(csvOf(table));
        said.textContent = copied ? `${table.tBodies[0].rows.length} rows copied` : "The browser did not allow copying";
    });
    region.before(element("div", {class: "table-tools"}, button, said));
}

function attachTable(region) {
    const table = region.querySelector("table"), heads = [...table.tHead.rows[0].cells], order = [...table.tBodies[0].rows];
    for (const head of heads.filter(h => h.tagName === "TH")) {
        const button = element("button", {type: "button", class: "sort"}, ...head.childNodes);
        button.addEventListener("click", () => sortBy(table, head, heads, order));
        head.append(button);
    }
    addCopy(region, table);
}
