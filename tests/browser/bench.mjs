// bench.mjs BROWSER REPORTS: how fast the pages of a ten-minute take at 240 frames/s and of 72 takes of three minutes
// open, and the first one's frame times while its timeline is panned by a wheel event a frame, at several zooms. Prints
// figures; nothing depends on them.
import fs from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { launch, open, timeline } from './page.mjs';

const [browserPath, reports] = process.argv.slice(2);
const fileOf = kind => path.join(reports, kind, 'report.html'), address = pathToFileURL(fileOf('long'));
const rank = (sorted, share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];

// Processor time of the page's main thread so far, s: what other work on the machine does not touch.
const sessions = new Map();

async function prepare(page) {
    const devtools = await page.context().newCDPSession(page);
    await devtools.send('Performance.enable');
    sessions.set(page, devtools);
}

async function processorTime(page) {
    const {metrics} = await sessions.get(page).send('Performance.getMetrics');
    return metrics.find(m => m.name === 'ThreadTime').value;
}

const browser = await launch(browserPath);
async function openTimes(kind, take, t, round) {
    const began = Date.now();
    const page = await open(browser, `${pathToFileURL(fileOf(kind))}#take=${take}&t=${t}`, {prepare, ownClock: true});
    await page.locator(`section.take[data-take=${take}] .readout [data-column=time_s]`).getByText(t + '.').waitFor();
    const drawn = Date.now() - began;
    const {load, paint} = await page.evaluate(() => ({load: performance.getEntriesByType('navigation')[0].loadEventEnd,
        paint: performance.getEntriesByName('first-contentful-paint')[0].startTime}));
    console.log(`open ${kind}, ${(fs.statSync(fileOf(kind)).size / 1e6).toFixed(1)} MB, round ${round}: first paint ${paint.toFixed(0)} ms, loaded ${load.toFixed(0)} ms, timeline drawn ${drawn} ms; ` +
        `${(1000 * await processorTime(page)).toFixed(0)} ms of the processor`);
    await page.context().close();
}

for (const [kind, take, t] of [['long', 'long', 300], ['many', 'take-36', 90]])
    for (let round = 1; round <= 3; round++)
        await openTimes(kind, take, t, round);

const page = await open(browser, address + '#take=long&t=300', {prepare, ownClock: true});
const section = await timeline(page, 'long');
for (const span of [301, 60, 10, 1, 0.1]) {
    await page.evaluate(s => { location.hash = `take=long&t=300&span=${s}`; }, span);
    await page.waitForFunction(s => { // as wide as asked for, and drawn
        const [, from, to] = /^([\d.]+) to ([\d.]+) s/.exec(document.querySelector('section.take .shown').textContent);
        return Math.abs(to - from - s) < 0.01 * s;
    }, span);
    await page.evaluate(() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done))));
    const before = await processorTime(page);
    const times = await section.locator('.plot').evaluate(plot => new Promise(done => {
        const box = plot.getBoundingClientRect(), out = [], frames = 122;
        let last = null, n = 0;
        const step = now => {
            if (n > 1) // the first frames warm up
                out.push(now - last);
            last = now;
            if (++n > frames)
                return done(out);
            plot.dispatchEvent(new WheelEvent('wheel', {deltaX: n % 120 < 60 ? 9 : -9, clientX: box.x + 400, clientY: box.y + 90,
                                                        bubbles: true, cancelable: true}));
            requestAnimationFrame(step);
        };
        requestAnimationFrame(step);
    }));
    const each = 1000 * (await processorTime(page) - before) / times.length;
    times.sort((a, b) => a - b);
    console.log(`pan, ${span} s in view: frame median ${rank(times, 0.5).toFixed(1)} ms, 95 % ${rank(times, 0.95).toFixed(1)} ms, ` +
        `longest ${times[times.length - 1].toFixed(1)} ms, over 50 ms ${times.filter(t => t > 50).length} of ${times.length}; ` +
        `${each.toFixed(1)} ms of the processor a frame`);
}
await browser.close();
