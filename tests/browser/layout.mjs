// layout.mjs CHROMIUM REPORTS OUT FIREFOX: what a reader sees of the report at the width of a desk, a tablet and a phone,
// on paper, and of a session of 72 takes of three minutes; in Chromium, and in Firefox through WebDriver BiDi.
//
// Sources: widths and sizes are this project's own; what fits a page of A4 (ISO 216, 210 mm) less 15 mm on either side is
// 180 mm, 680 px of 1/96 inch (CSS Values 3).
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import vm from 'node:vm';
import { fileURLToPath, pathToFileURL } from 'node:url';
import zlib from 'node:zlib';
import { launch, launchFirefox, open, runTests, settle, timeline } from './page.mjs';

const [chromiumPath, reports, out, firefoxPath] = process.argv.slice(2);
const looks = path.join(out, 'looks');
const fileOf = kind => path.join(reports, kind, 'report.html'), addressOf = kind => String(pathToFileURL(fileOf(kind)));
const WIDTHS = {1440: 900, 820: 1100, 390: 844};
const tests = {}, browsers = {};

const openAll = page => page.evaluate(() => document.querySelectorAll('details').forEach(d => { d.open = true; }));

// Node's own zlib packs; the page's script unpacks: stored, fixed and dynamic blocks.
tests.packed_text_is_read = async () => {
    const scripts = process.env.FLINCH_SCRIPTS;
    const source = ['columns.js', 'inflate.js'].map(name => fs.readFileSync(path.join(scripts, name), 'utf8')).join('\n');
    const unpacked = vm.runInThisContext(`(function () { ${source}\nreturn unpacked; })()`);
    let seed = 1;
    const random = n => (seed = (seed * 1103515245 + 12345) % 2147483648) % n;
    const texts = ['', 'a', 'abc'.repeat(9000), Array.from({length: 70000}, () => String.fromCharCode(32 + random(95))).join(''),
                   Array.from({length: 3000}, (_, i) => `row ${i} \u2013 ${random(7)};`).join('')];
    for (const text of texts)
        for (const options of [{level: 9}, {level: 1}, {level: 0}, {strategy: zlib.constants.Z_FIXED}])
            assert.equal(unpacked(zlib.deflateSync(text, options).toString('base64')), text);
    assert.throws(() => unpacked(zlib.deflateSync('abc'.repeat(9000)).subarray(0, 20).toString('base64')));
    return null;
};

for (const engine of ['chromium', 'firefox']) {
    const name = what => `${what}_in_${engine}`;
    const opened = (kind, width, options) => open(browsers[engine], addressOf(kind), {width, height: WIDTHS[width], ...options});

    // Few elements stand there at first: takes are data, and none is read before it comes near.
    tests[name('many_takes_open_as_data')] = async () => {
        assert.ok(fs.statSync(fileOf('many')).size < 20e6, `${fs.statSync(fileOf('many')).size} bytes`);
        const page = await opened('many', 1440);
        const count = selector => page.locator(selector).count();
        assert.equal(await count('section.take'), 72);
        assert.equal(await count('section.take.waiting'), 72);
        assert.equal(await count('section.take table, section.take svg, section.take canvas'), 0);
        assert.ok(await count('*') < 12000, `${await count('*')} elements`);
        assert.ok(await page.locator('.brief table').first().isVisible(), 'answers stand there');
        const last = await timeline(page, 'take-72'); // the sign that it can be read
        assert.equal(await last.locator('table').count(), 3, 'facts, lapses, flicks');
        assert.ok(await count('section.take.is-live') <= 6, 'only those near it are read');
        assert.deepEqual(page.faults, []);
        return page;
    };

    for (const width of Object.keys(WIDTHS).map(Number)) {
        // No strip is shrunk, so that its text, 11 px at least, stays what it is.
        tests[name(`strips_are_legible_at_${width}_px`)] = async () => {
            const page = await opened('plain', width), section = await timeline(page, 'canyon-a');
            await section.getByRole('button', {name: 'Next lapse'}).click();
            await settle(page);
            const strip = section.locator('.strip');
            await strip.locator('img').first().waitFor();
            const size = await strip.locator('img').first().evaluate(async i => { await i.decode(); return [i.clientWidth, i.naturalWidth]; });
            assert.equal(size[0], size[1]);
            assert.match(await strip.locator('figcaption').innerText(), /^Lapse 1 of \d+, .*\. Off: .* new pictures a second.* On before it: /);
            await section.getByText(/^Lapses \(/).click();
            for (const why of await section.locator('[aria-label=Lapses] td.wide').allInnerTexts())
                assert.match(why, /^Off: .*\. On /);
            return page;
        };

        tests[name(`fits_${width}_px`)] = async () => {
            const page = await opened('plain', width), section = await timeline(page, 'canyon-a');
            await section.getByRole('button', {name: 'Next lapse'}).click();
            await openAll(page);
            await settle(page);
            assert.ok(await page.evaluate(() => document.documentElement.scrollWidth) <= width, 'no scrolling sideways');
            const faults = await page.evaluate(() => {
                const list = [];
                for (const e of document.querySelectorAll('.roll, .table, .strip-scroll'))
                    if (e.clientWidth && e.scrollWidth > e.clientWidth + 1 && !e.matches('.more-after, .more-before'))
                        list.push('no edge shows that more follows: ' + (e.getAttribute('aria-label') || e.className));
                for (const e of document.querySelectorAll('figure svg'))
                    if (e.clientWidth && e.getBoundingClientRect().right > innerWidth + 1 && !e.closest('.roll'))
                        list.push('a chart is cut');
                return list;
            });
            assert.deepEqual(faults, []);
            const top = selector => section.locator(selector).evaluate(e => e.getBoundingClientRect().top);
            assert.ok(await top('.tools') > await top('.plot'), 'the timeline comes before its buttons');
            // Lapse numbers stand in the 14 px above the band of states; the mark's head begins under them.
            const marked = await section.locator('.mark').evaluate(e => parseFloat(getComputedStyle(e).top) +
                                                                        parseFloat(getComputedStyle(e, '::before').top));
            assert.ok(marked >= 14, `the mark begins at ${marked}`);
            await section.locator('.plot').scrollIntoViewIfNeeded();
            await page.screenshot({path: path.join(looks, `${engine}-${width}.png`)});
            assert.deepEqual(page.faults, []);
            return page;
        };

        // What a table of takes says, all opened: digits that the error supports, and one word for a thing.
        tests[name(`figures_and_words_at_${width}_px`)] = async () => {
            const page = await opened('plain', width);
            for (const id of ['canyon-a', 'canyon-b', 'harbour-a'])
                await timeline(page, id);
            await openAll(page);
            await settle(page);
            const text = await page.evaluate(() => {
                document.querySelectorAll('[data-column=time_s], [data-column=kind]').forEach(e => e.remove()); // exact times of frames
                return document.querySelector('main').innerText;
            });
            const found = pattern => (text.match(pattern) || []).slice(0, 3);
            assert.deepEqual(found(/\d+\.\d{5,}|\d{3,}\.\d{2,}/g), [], 'digits that no error supports');
            assert.deepEqual(found(/(\d[\d.]*) to \1\s%/g), [], 'a range without width');
            assert.deepEqual(found(/confidence\s+1(\.0*)?\b/gi), [], 'nothing is certain');
            assert.deepEqual(found(/[^.\n]*\b(told|visible|recogni[sz]ed)\b[^.\n]*/gi), [], 'seen, unseen, inferred, open');
            return page;
        };
    }

    // Every column of every table is on the paper, and nothing that only a screen can do.
    tests[name('paper_holds_it_all')] = async () => {
        const page = await opened('plain', 1440), file = path.join(looks, engine + '.pdf');
        for (const id of ['canyon-a', 'canyon-b', 'harbour-a'])
            await timeline(page, id);
        await openAll(page);
        const lapses = await page.locator('section.take[data-take=canyon-a] [aria-label=Lapses] tbody tr').count();
        await page.pdf({path: file, format: 'A4', printBackground: true});
        const text = execFileSync('pdftotext', [file, '-'], {encoding: 'utf8'}).normalize('NFKC'); // fonts have ligatures
        const words = text.replace(/\s+/g, ' ');
        assert.ok(lapses > 2 && words.split('Off: ').length > lapses, 'why each lapse is called');
        for (const column of ['Invented survey', 'verdict', 'estimate', 'tripped', 'when synthesis was off'])
            assert.ok(words.includes(column), `“${column}” is not on the paper`);
        for (const gone of ['Dark colours', 'Copy as CSV', 'Next lapse', 'filmstrip 1', 'In short Ranking'])
            assert.ok(!words.includes(gone), `“${gone}” is on the paper`);
        const pages = text.split('\f').filter(p => p.trim()).map(p => p.split('\n').filter(l => l.trim()).length);
        assert.ok(pages.length > 3 && pages.filter(lines => lines < 5).length <= 1, `lines of the pages: ${pages}`);
        if (engine === 'chromium') { // the other has no way to take the screen for paper
            await page.setViewportSize({width: 680, height: 1000});
            await page.emulateMedia({media: 'print'});
            const wide = await page.evaluate(() => [...document.querySelectorAll('.table, figure')].filter(e => e.scrollWidth > 681)
                .map(e => `${e.getAttribute('aria-label') || e.innerText.slice(0, 40)}: ${e.scrollWidth}`));
            assert.deepEqual(wide, []);
        }
        return page;
    };
}

async function main() {
    fs.mkdirSync(looks, {recursive: true});
    browsers.chromium = await launch(chromiumPath);
    browsers.firefox = await launchFirefox(firefoxPath);
    await runTests(tests, ...Object.values(browsers));
}

main();
