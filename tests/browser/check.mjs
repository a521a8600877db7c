// check.mjs BROWSER REPORTS OUT: the report page as a reader meets it. Screenshots and the PDF go to OUT/looks.
//
// Sources: aria-sort and the slider's keys are those of WAI-ARIA 1.2 and its authoring practices; the checks of
// accessibility are axe-core's of WCAG 2.0 to 2.2, levels A and AA; CSV is RFC 4180.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { launch, open, reading, runTests, settle, stand, timeline } from './page.mjs';

const [browserPath, reports, out] = process.argv.slice(2);
const here = path.dirname(fileURLToPath(import.meta.url)), looks = path.join(out, 'looks');
const addressOf = (kind, hash = '') => pathToFileURL(path.join(reports, kind, 'report.html')) + hash;
const near = (got, want, by, what) => assert.ok(Math.abs(got - want) <= by, `${what}: ${got}, not ${want}`);

function cellsOf(kind, name) {
    const [head, ...rows] = fs.readFileSync(path.join(reports, kind, 'takes', name), 'utf8').trim().split('\n').map(l => l.split(','));
    return rows.map(row => Object.fromEntries(head.map((column, i) => [column, row[i]])));
}
// The mark of a lapse stands on the first capture frame that begins in it.
const firstFrame = (id, t) => Number(cellsOf('plain', id + '-frames.csv').find(f => Number(f.time_s) >= t).time_s);
const lapsesOf = (kind, id) => JSON.parse(fs.readFileSync(path.join(reports, kind, 'takes', id + '.json'), 'utf8')).lapses;

const tests = {};
let browser;

tests.opens_from_a_file_without_network = async () => {
    const page = await open(browser, addressOf('plain'));
    await timeline(page, 'canyon-a');
    await timeline(page, 'harbour-a');
    await settle(page);
    assert.deepEqual(page.faults, []);
    assert.equal(await page.evaluate(() => fetch('https://example.org/').then(() => 'went out', () => 'refused')), 'refused');
    return page;
};

tests.the_first_screen_holds_answers_warning_and_ranking = async () => {
    const page = await open(browser, addressOf('plain'));
    const bottom = async selector => { const b = await page.locator(selector).first().boundingBox(); return b.y + b.height; };
    const row = (await page.locator('.brief tr', {hasText: 'Glass Canyon'}).innerText()).replace(/\s+/g, ' ');
    assert.match(row, /Glass Canyon 800 DPI · 26 cm per turn \d+( \(\d+–\d+\))? \d+ \([\d.]+–\d+\) [\d.]+ [\d.]+ \d+ \(\d+–\d+\) no: 2 takes/);
    for (const part of ['.brief', '.mind', '#ranking + figure svg.wide'])
        assert.ok(await bottom(part) <= 900, `${part} ends at ${await bottom(part)}`);
    return page;
};

tests.the_wheel_zooms_about_the_pointer_and_pans = async () => {
    const page = await open(browser, addressOf('plain')), section = await timeline(page, 'canyon-a');
    const box = await section.locator('.plot').boundingBox(), x = box.x + 0.6 * box.width, y = box.y + 0.5 * box.height;
    const whole = await stand(section);
    assert.equal(whole.span, whole.whole);
    await page.mouse.move(x, y);
    await settle(page);
    const under = async () => Number(await section.locator('[data-column=time_s]').textContent());
    const before = await under();
    await page.mouse.wheel(0, -400);
    const closer = await stand(section);
    assert.ok(closer.span < 0.7 * whole.span, `span ${closer.span}`);
    near(await under(), before, 0.05, 'time under the pointer'); // a pixel is 0.04 s
    for (let i = 0; i < 40; i++)
        await page.mouse.wheel(0, -400);
    const closest = await stand(section);
    near(closest.span, 4 / 120, 0.001, 'closest view, four capture frames at 120/s');
    await page.mouse.wheel(0, 500);
    const wider = await stand(section);
    assert.ok(wider.span > closest.span, 'wider');
    await page.mouse.wheel(200, 0);
    const along = await stand(section);
    assert.ok(along.from > wider.from && along.span === wider.span, 'sideways pans');
    for (let i = 0; i < 12; i++)
        await page.mouse.wheel(0, 400);
    assert.equal((await stand(section)).span, whole.whole);
    await section.locator('.plot').evaluate(plot => plot.scrollIntoView({block: 'center'}));
    const again = await section.locator('.plot').boundingBox(), scrolled = await page.evaluate(() => scrollY);
    await page.mouse.move(again.x + 300, again.y + 100);
    await settle(page); // the wheel's gesture has ended
    await page.mouse.wheel(0, 300); // at its widest, the page scrolls on
    await page.waitForFunction(y => scrollY > y, scrolled);
    return page;
};

tests.dragging_pans = async () => {
    const page = await open(browser, addressOf('plain', '#take=canyon-a&t=10&span=4')), section = await timeline(page, 'canyon-a');
    const before = await stand(section), box = await section.locator('.plot').boundingBox();
    const room = box.width - 84 - 62; // px that the view takes
    await page.mouse.move(box.x + 400, box.y + 150);
    await page.mouse.down();
    await page.mouse.move(box.x + 350, box.y + 152);
    await page.mouse.move(box.x + 300, box.y + 150);
    await page.mouse.up();
    const after = await stand(section);
    near(after.from - before.from, 100 / room * 4, 0.02, 'dragged by 100 px');
    assert.equal(after.span, 4);
    await page.mouse.click(box.x + 84 + room / 2, box.y + 150);
    near((await stand(section)).mark, (after.from + after.to) / 2, 0.02, 'a click puts the mark');
    return page;
};

tests.touch_pans_pinches_and_taps = async () => {
    const page = await open(browser, addressOf('plain', '#take=canyon-a&t=10&span=4'), {width: 390, height: 844, hasTouch: true, isMobile: true});
    const section = await timeline(page, 'canyon-a'), before = await stand(section);
    const box = await section.locator('.plot').boundingBox(), y = box.y + 120, x = box.x + 180;
    const devtools = await page.context().newCDPSession(page);
    const touch = (type, ...xs) => devtools.send('Input.dispatchTouchEvent', {type, touchPoints: xs.map((at, id) => ({x: at, y, id}))});
    await touch('touchStart', x);
    for (let i = 1; i <= 8; i++)
        await touch('touchMove', x - 10 * i);
    await touch('touchEnd');
    const panned = await stand(section);
    assert.ok(panned.from > before.from + 0.5, `panned from ${before.from} to ${panned.from}`);
    assert.equal(panned.span, 4);
    await touch('touchStart', x - 30, x + 30);
    for (let i = 1; i <= 8; i++)
        await touch('touchMove', x - 30 - 5 * i, x + 30 + 5 * i);
    await touch('touchEnd');
    const pinched = await stand(section);
    near(pinched.span, 4 * 60 / 140, 0.1, 'pinched');
    await page.touchscreen.tap(x, y);
    assert.notEqual((await stand(section)).mark, pinched.mark);
    assert.deepEqual(page.faults, []);
    return page;
};

tests.keys_move_zoom_and_step = async () => {
    const page = await open(browser, addressOf('plain')), section = await timeline(page, 'canyon-a');
    const plot = section.locator('.plot'), lapses = lapsesOf('plain', 'canyon-a'), press = key => page.keyboard.press(key);
    await plot.focus();
    await press('+');
    near((await stand(section)).span, (await stand(section)).whole / 2, 1e-6, 'closer');
    await press('0');
    assert.equal((await stand(section)).span, (await stand(section)).whole);
    for (const lapse of lapses) {
        await press('n');
        near((await stand(section)).mark, firstFrame('canyon-a', lapse.start_s), 1e-6, 'next lapse');
    }
    await press('n');
    near((await stand(section)).mark, firstFrame('canyon-a', lapses[lapses.length - 1].start_s), 1e-6, 'no lapse after the last');
    await press('p');
    near((await stand(section)).mark, firstFrame('canyon-a', lapses[lapses.length - 2].start_s), 1e-6, 'previous lapse');
    const frames = cellsOf('plain', 'canyon-a-frames.csv');
    const frame = async () => Number(await section.locator('[data-column=frame]').textContent());
    const reaches = async want => assert.equal(await reading(frame, now => now === want), want);
    const from = await frame();
    await press('.');
    await press('.');
    await press(',');
    await reaches(from + 1);
    near((await stand(section)).mark, Number(frames[from + 1].time_s), 1e-6, 'on a frame');
    await press('End');
    await reaches(frames.length - 1);
    await press('Home');
    await reaches(0);
    await press('ArrowRight');
    assert.ok(await reading(frame, now => now > 0) > 0);
    assert.match(await plot.getAttribute('aria-valuetext'), /^\d+\.\d{3} s, frame \d+, (on|off|unseen)/);
    assert.equal(await plot.getAttribute('role'), 'slider');
    return page;
};

tests.buttons_step_through_lapses_with_their_filmstrips = async () => {
    const page = await open(browser, addressOf('plain')), section = await timeline(page, 'canyon-a');
    const lapses = lapsesOf('plain', 'canyon-a'), next = section.getByRole('button', {name: 'Next lapse'});
    assert.ok(lapses.length >= 3);
    for (let i = 0; i < lapses.length; i++) {
        await next.click();
        near((await stand(section)).mark, firstFrame('canyon-a', lapses[i].start_s), 1e-6, 'lapse ' + i);
        await page.waitForFunction(width => document.querySelector('section.take[data-take=canyon-a] .strip img').naturalWidth === width, 200 + i);
        assert.match(await section.locator('.strip figcaption').innerText(), new RegExp(`^Lapse ${i + 1} of ${lapses.length}`));
        assert.equal(await section.locator('[data-column=state]').innerText(), 'off');
    }
    await section.getByRole('button', {name: 'Previous lapse'}).click();
    near((await stand(section)).mark, firstFrame('canyon-a', lapses[lapses.length - 2].start_s), 1e-6, 'back');
    const other = await timeline(page, 'harbour-a');
    await other.getByRole('button', {name: 'Next lapse'}).click();
    await other.getByText(/^Lapse 1 of .* No filmstrip was drawn of it\.$/).waitFor();
    assert.deepEqual(page.faults, []);
    return page;
};

tests.linked_filmstrips_are_files = async () => {
    const page = await open(browser, addressOf('linked')), section = await timeline(page, 'canyon-a');
    await section.getByRole('button', {name: 'Next lapse'}).click();
    await page.waitForFunction(() => document.querySelector('section.take[data-take=canyon-a] .strip img')?.naturalWidth === 200);
    assert.match(await section.locator('.strip img').getAttribute('src'), /^file:.*\/strips\/canyon-a-01\.png$/);
    assert.equal(await page.locator('script.picture').count(), 0);
    assert.deepEqual(page.faults, []);
    return page;
};

tests.the_readout_is_the_csv = async () => {
    const page = await open(browser, addressOf('plain')), section = await timeline(page, 'canyon-a');
    const frames = cellsOf('plain', 'canyon-a-frames.csv'), flips = cellsOf('plain', 'canyon-a-flips.csv');
    const picked = [0, 1, frames.length - 1, frames.findIndex(f => f.unique_rate_hz === ''), frames.findIndex(f => f.unique_rate_hz !== ''),
                    frames.findIndex(f => f.camera_speed_deg_s.includes('e-')), frames.findIndex(f => f.state === 'off')];
    for (let i = 37; i < frames.length; i += 97)
        picked.push(i);
    assert.ok(picked.every(i => i >= 0) && picked.length > 30);
    const columns = ['frame', 'time_s', 'state', 'confidence', 'unique_rate_hz', 'camera_speed_deg_s'];
    let kinds = 0;
    for (const i of picked) {
        await page.evaluate(hash => { location.hash = hash; }, `take=canyon-a&t=${frames[i].time_s}&span=0.5`);
        await page.waitForFunction(t => document.querySelector('section.take[data-take=canyon-a] [data-column=time_s]').textContent === t, frames[i].time_s);
        for (const column of columns) {
            const cell = section.locator(`[data-column=${column}]`), exact = frames[i][column], shown = await cell.textContent();
            if (['confidence', 'unique_rate_hz', 'camera_speed_deg_s'].includes(column))
                assert.equal(await cell.getAttribute('title'), exact, `frame ${i}, ${column}`);
            else
                assert.equal(shown, exact, `frame ${i}, ${column}`);
            if (column === 'confidence' && frames[i].state === 'unseen')
                assert.equal(shown, '');
            else if (column === 'confidence' && Number(exact) > 0.99)
                assert.equal(shown, '> 0.99');
            else if (column === 'camera_speed_deg_s' && exact !== '')
                near(Number(shown), Number(exact), Math.max(0.5, 0.006 * Number(exact)), `frame ${i}, ${column}`);
        }
        const flip = flips.filter(f => Number(f.time_s) <= Number(frames[i].time_s)).pop();
        const kind = await section.locator('[data-column=kind]').textContent();
        if (kind === 'not known')
            continue;
        assert.equal(kind, `${flip.kind}, since ${flip.time_s} s`);
        kinds++;
    }
    assert.ok(kinds >= 3, `${kinds} kinds`);
    return page;
};

tests.hovering_reads_without_moving_the_mark = async () => {
    const page = await open(browser, addressOf('plain', '#take=canyon-a&t=2&span=1')), section = await timeline(page, 'canyon-a');
    const box = await section.locator('.plot').boundingBox(), time = () => section.locator('[data-column=time_s]').textContent();
    const marked = await time();
    await page.mouse.move(box.x + 0.8 * box.width, box.y + 100);
    assert.notEqual(await reading(time, now => now !== marked), marked);
    assert.equal((await stand(section)).mark, 2);
    await page.mouse.move(5, 5);
    assert.equal(await reading(time, now => now === marked), marked);
    return page;
};

tests.links_open_a_take_at_a_time = async () => {
    const page = await open(browser, addressOf('plain', '#take=harbour-a&t=12.5&span=2'));
    const section = page.locator('section.take[data-take=harbour-a]');
    await section.locator('.plot').waitFor();
    const there = await stand(section);
    assert.deepEqual([there.mark, there.span, there.from, there.to], [12.5, 2, 11.5, 13.5]);
    const box = await section.boundingBox();
    assert.ok(Math.abs(box.y) < 120, `the take stands at ${box.y}`);
    await section.locator('.plot').focus();
    await page.keyboard.press('.');
    const moved = await stand(section), hash = new URL(page.url()).hash;
    assert.equal(new URLSearchParams(hash.slice(1)).get('t'), String(moved.mark));
    assert.notEqual(moved.mark, 12.5);
    const again = await open(browser, addressOf('plain', hash)), twin = again.locator('section.take[data-take=harbour-a]');
    await twin.locator('.plot').waitFor();
    assert.equal((await stand(twin)).mark, moved.mark);
    await again.context().close();
    for (const odd of ['#take=nobody&t=3', '#take=harbour-a&t=abc', '#take=harbour-a&t=-5&span=-1', '#take=harbour-a&t=1e9&span=1e9',
                       '#take=%E0%A4%A&t=1', '#take=empty&t=1', '#take=', '#t=3']) {
        await page.evaluate(h => { location.hash = h; }, odd);
        const at = await stand(section);
        assert.ok(at.mark >= 0 && at.mark <= at.whole && at.span > 0, odd);
    }
    assert.deepEqual(page.faults, []);
    return page;
};

tests.tables_sort_by_their_heads = async () => {
    const page = await open(browser, addressOf('plain'));
    const section = await timeline(page, 'canyon-a');
    await section.getByText(/^Flicks \(/).click();
    const table = section.locator('[aria-label=Flicks] table'), head = table.locator('th').nth(2);
    const column = () => table.locator('tbody tr td:nth-child(3)').allInnerTexts();
    const given = await column(), numbers = given.map(Number);
    await head.getByRole('button').click();
    assert.equal(await head.getAttribute('aria-sort'), 'ascending');
    assert.deepEqual((await column()).map(Number), numbers.slice().sort((a, b) => a - b));
    await page.keyboard.press('Enter'); // the button has the focus
    assert.equal(await head.getAttribute('aria-sort'), 'descending');
    assert.deepEqual((await column()).map(Number), numbers.slice().sort((a, b) => b - a));
    await page.keyboard.press('Space');
    assert.deepEqual(await column(), given);
    const last = table.locator('th').last(); // delays: empty where it did not trip
    await last.getByRole('button').click();
    const delays = await table.locator('tbody tr td:last-child').allInnerTexts(), known = delays.filter(d => d !== '').length;
    assert.ok(known > 0 && known < delays.length && delays.slice(known).every(d => d === ''), 'empty cells come last');
    assert.equal(await head.getAttribute('aria-sort'), null);
    return page;
};

tests.tables_copy_as_csv = async () => {
    const page = await open(browser, addressOf('plain'), {permissions: ['clipboard-read', 'clipboard-write']});
    const section = await timeline(page, 'canyon-a');
    await section.getByText(/^Lapses \(/).click();
    const region = section.locator('[aria-label=Lapses]');
    await section.locator('.table-tools', {has: page.locator('xpath=following-sibling::*[1][@aria-label="Lapses"]')}).getByRole('button').click();
    await section.getByText(/rows copied/).waitFor();
    const rows = (await page.evaluate(() => navigator.clipboard.readText())).split('\r\n');
    const lapses = lapsesOf('plain', 'canyon-a');
    assert.equal(rows.length, lapses.length + 2);
    assert.equal(rows.pop(), '');
    assert.match(rows[0], /^"start, s","bracket, ms","end, s",/);
    lapses.forEach((l, i) => assert.ok(rows[i + 1].startsWith(l.start_s.toFixed(3) + ','), rows[i + 1]));
    assert.equal(await region.locator('tbody tr').count(), lapses.length);
    return page;
};

tests.times_in_tables_lead_to_the_timeline = async () => {
    const page = await open(browser, addressOf('plain')), section = await timeline(page, 'canyon-a');
    await section.getByText(/^Lapses \(/).click();
    const lapses = lapsesOf('plain', 'canyon-a');
    await section.locator('[aria-label=Lapses] tbody tr').nth(2).locator('button.time').nth(1).click();
    near((await stand(section)).mark, lapses[2].end_s, 1e-6, 'end of the third lapse');
    await section.locator('[aria-label=Lapses] tbody tr').nth(1).locator('a').click();
    near((await stand(section)).mark, lapses[1].start_s, 1e-6, 'filmstrip of the second lapse');
    assert.equal(await page.evaluate(() => document.activeElement.className), 'plot');
    return page;
};

tests.the_keyboard_alone_reaches_everything = async () => {
    const page = await open(browser, addressOf('plain')), seen = new Set();
    for (const id of ['canyon-a', 'harbour-a'])
        await timeline(page, id); // they come when they are near, which a quick row of keys may outrun
    for (let i = 0; i < 400; i++) {
        await page.keyboard.press('Tab');
        const at = await page.evaluate(() => {
            const e = document.activeElement, style = getComputedStyle(e);
            return {name: e === document.body ? '' : e.className + ' ' + (e.getAttribute('aria-label') || e.innerText || '').slice(0, 40),
                    ring: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2};
        });
        if (at.name === '')
            break;
        assert.ok(at.ring, 'no visible focus on ' + at.name);
        seen.add(at.name.trim());
    }
    const all = [...seen].join('\n');
    for (const part of ['Dark colours', 'Time in take canyon-a', 'Time in take harbour-a', 'Next lapse', 'Frame on', 'Link to this moment',
                        'All warnings', 'Facts of this take', 'How to move in it'])
        assert.ok(all.includes(part), `Tab does not reach “${part}” among\n${all}`);
    return page;
};

async function axe(page) {
    await page.addScriptTag({path: path.join(here, 'node_modules/axe-core/axe.min.js')}).catch(() => null);
    if (!await page.evaluate(() => typeof axe === 'object')) // the page's policy forbids it, as it should
        await page.evaluate(fs.readFileSync(path.join(here, 'node_modules/axe-core/axe.min.js'), 'utf8'));
    const {violations} = await page.evaluate(() => axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}));
    return violations.map(v => `${v.id}: ${v.help}: ${v.nodes.slice(0, 3).map(n => n.target + ' ' + (n.any[0]?.message || '')).join(' | ')}`);
}

for (const [scheme, width] of [['light', 1440], ['dark', 390]])
    tests[`axe_finds_nothing_${scheme}_${width}`] = async () => {
        const page = await open(browser, addressOf('plain'), {width, colorScheme: scheme});
        for (const id of ['canyon-a', 'harbour-a'])
            await timeline(page, id);
        await page.evaluate(() => document.querySelectorAll('details').forEach(d => { d.open = true; }));
        await settle(page);
        assert.deepEqual(await axe(page), []);
        return page;
    };

tests.colours_switch_and_are_kept = async () => {
    const page = await open(browser, addressOf('plain'), {colorScheme: 'light'}), section = await timeline(page, 'canyon-a');
    const ground = () => page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor);
    const drawn = () => section.locator('canvas').nth(1).evaluate(c => c.toDataURL());
    const light = await ground(), lightDrawn = await drawn();
    await page.getByRole('button', {name: 'Dark colours'}).click();
    await settle(page);
    assert.notEqual(await ground(), light);
    assert.notEqual(await drawn(), lightDrawn);
    await page.reload();
    assert.notEqual(await ground(), light);
    await page.getByRole('button', {name: 'Light colours'}).click();
    assert.equal(await ground(), light);
    return page;
};

for (const width of [390, 820, 1440])
    tests[`fits_${width}_px`] = async () => {
        const page = await open(browser, addressOf('plain'), {width, height: 1000});
        const section = await timeline(page, 'canyon-a');
        await page.screenshot({path: path.join(looks, `take-${width}.png`)});
        await section.getByRole('button', {name: 'Next lapse'}).click();
        await page.evaluate(() => document.querySelectorAll('details').forEach(d => { d.open = true; }));
        assert.ok(await page.evaluate(() => document.documentElement.scrollWidth) <= width, 'no scrolling sideways');
        await page.evaluate(() => { document.querySelectorAll('details').forEach(d => { d.open = false; }); scrollTo(0, 0); });
        await page.screenshot({path: path.join(looks, `top-${width}.png`)});
        await page.locator('.plot').first().scrollIntoViewIfNeeded();
        await settle(page);
        await page.screenshot({path: path.join(looks, `lapse-${width}.png`)});
        return page;
    };

tests.prints_still_charts = async () => {
    const page = await open(browser, addressOf('plain'), {colorScheme: 'dark'});
    await timeline(page, 'canyon-a');
    const pdf = await page.pdf({path: path.join(looks, 'report.pdf'), format: 'A4', printBackground: true});
    assert.ok(pdf.length > 50000, `${pdf.length} bytes`);
    assert.equal(await page.locator('section.take .still').count(), 4, 'a chart a take, also of the empty one');
    await page.emulateMedia({media: 'print'});
    assert.equal(await page.locator('.live').first().isVisible(), false);
    assert.equal(await page.locator('section.take .still').first().isVisible(), true);
    assert.equal(await page.locator('.table-tools').first().isVisible(), false);
    await page.emulateMedia({media: 'screen'});
    assert.equal(await page.locator('section.take .still').first().isVisible(), false);
    return page;
};

tests.without_scripts_still_charts_stand = async () => {
    const page = await open(browser, addressOf('plain'), {javaScriptEnabled: false});
    assert.equal(await page.locator('section.take .roll svg').count(), 4);
    assert.equal(await page.locator('section.take .roll svg').first().isVisible(), true);
    assert.equal(await page.locator('button').count(), 0);
    return page;
};

tests.hostile_names_are_text = async () => {
    const page = await open(browser, addressOf('hostile'), {width: 390, height: 844});
    for (const id of ['hostile-a', 'hostile-b', 'hostile-c', 'hostile-d', 'hostile-e'])
        await (await timeline(page, id)).locator('.readout').waitFor();
    await page.evaluate(() => document.querySelectorAll('details').forEach(d => { d.open = true; }));
    assert.equal(await page.evaluate(() => window.broken), undefined);
    assert.equal(await page.locator('img:not(.strip img)').count(), 0);
    const text = await page.evaluate(() => document.body.innerText);
    for (const name of ['<script>window.broken=1</script><img src=x onerror=window.broken=1>"\'--></script><!--', '"quoted" & \'single\'',
                        '\ufffd\u0644\u0639\u0628\u0629 abc', 'W'.repeat(300), '\u{1F3AE}\u{1F3F3}\uFE0F\u200D\u{1F308} game'])
        assert.ok(text.includes(name), 'missing: ' + name.slice(0, 40));
    assert.equal(await page.title(), '</title><script>window.broken=1</script>');
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth) <= 390, 'no scrolling sideways');
    await page.evaluate(() => scrollTo(0, 0));
    await page.screenshot({path: path.join(looks, 'hostile-390.png')});
    await page.evaluate(() => document.querySelectorAll('section.take').forEach(s => { s.innerHTML += ''; })); // set anew: still nothing runs
    assert.equal(await page.evaluate(() => window.broken), undefined);
    return page;
};

tests.nothing_moves_by_itself = async () => {
    const page = await open(browser, addressOf('plain')), section = await timeline(page, 'canyon-a');
    await section.getByRole('button', {name: 'Next lapse'}).click();
    assert.equal(await page.evaluate(() => document.getAnimations().length), 0);
    assert.match(await page.locator('.care').innerText(), /seizures in photosensitive viewers/);
    return page;
};

async function main() {
    fs.mkdirSync(looks, {recursive: true});
    browser = await launch(browserPath);
    await runTests(tests, browser);
}

main();
