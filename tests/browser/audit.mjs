// audit.mjs BROWSER PAGES OUT: the page of an audit as the person meets it who answers. Screenshots go to OUT/looks.
//
// Sources: the checks of accessibility are axe-core's of WCAG 2.0 to 2.2, levels A and AA; that keys of one character can
// be turned off is WCAG 2.1.4, that targets are 24 px or more is 2.5.8.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { launch, open, runTests } from './page.mjs';

const [browserPath, pages, out] = process.argv.slice(2);
const here = path.dirname(fileURLToPath(import.meta.url)), looks = path.join(out, 'looks');
const addressOf = kind => pathToFileURL(path.join(pages, kind, 'audit.html')).href;
const MOMENTS = 9;

const tests = {};
let browser;

const heading = page => page.locator('.moment.now h2').innerText();
const pressed = page => page.locator('[data-answer][aria-pressed=true]').evaluateAll(list => list.map(b => b.dataset.answer));
const asked = page => page.evaluate(() => JSON.parse(document.getElementById('asked').textContent));
const button = (page, name) => page.getByRole('button', {name});

async function saved(page) {
    const [download] = await Promise.all([page.waitForEvent('download'), button(page, 'Save the answers').click()]);
    assert.equal(download.suggestedFilename(), 'audit-answers.json');
    return JSON.parse(fs.readFileSync(await download.path(), 'utf8'));
}

tests.one_moment_at_a_time_without_network = async () => {
    const page = await open(browser, addressOf('plain'));
    assert.equal(await page.locator('.moment').count(), MOMENTS);
    assert.equal(await page.locator('.moment:visible').count(), 1);
    assert.equal(await heading(page), `Moment 1 of ${MOMENTS}`);
    assert.equal(await page.locator('.moment.now .asked').count(), 1);
    assert.match(await page.locator('.care').innerText(), /flicker/);
    assert.deepEqual(page.faults, []);
    assert.equal(await page.evaluate(() => fetch('https://example.org/').then(() => 'went out', () => 'refused')), 'refused');
    return page;
};

// Grey of the middle of a cell, as the screen shows it.
async function greyOf(page, selector) {
    const box = await page.locator(selector).first().boundingBox();
    const png = await page.screenshot({clip: {x: Math.round(box.x + box.width / 2), y: Math.round(box.y + box.height / 2), width: 1, height: 1}});
    return page.evaluate(async data => {
        const image = await createImageBitmap(new Blob([Uint8Array.from(data)], {type: 'image/png'}));
        const canvas = new OffscreenCanvas(1, 1), draw = canvas.getContext('2d');
        draw.drawImage(image, 0, 0);
        return draw.getImageData(0, 0, 1, 1).data[0];
    }, [...png]);
}

tests.each_moment_shows_its_own_picture = async () => {
    const page = await open(browser, addressOf('plain'));
    for (let i = 0; i < MOMENTS; i++) {
        assert.equal(await greyOf(page, '.moment.now .asked i:nth-of-type(1)'), 20 + 20 * i, `moment ${i + 1}`);
        assert.equal(await greyOf(page, '.moment.now .asked i:nth-of-type(2)'), 250, `change of moment ${i + 1}`);
        await page.keyboard.press('ArrowRight');
    }
    return page;
};

tests.keys_answer_and_the_file_says_so = async () => {
    const page = await open(browser, addressOf('plain')), order = ['1', '2', '3', '2', '1', '1', '2', '3', '1'];
    for (const key of order)
        await page.keyboard.press(key);
    assert.equal(await page.locator('#count').innerText(), `${MOMENTS} of ${MOMENTS} answered`);
    assert.equal(await page.evaluate(() => document.activeElement.id), 'save');
    const file = await saved(page), question = await asked(page), words = {1: 'on', 2: 'off', 3: 'cannot tell'};
    assert.deepEqual(Object.keys(file), ['format', 'version', 'session', 'seed', 'takes', 'asked', 'answers']);
    assert.deepEqual([file.format, file.version, file.seed, file.asked], ['flinch-audit-answers', 1, 1, MOMENTS]);
    assert.deepEqual(file.takes, question.takes);
    assert.equal(file.takes[0].key.length, 64);
    assert.deepEqual(file.answers, question.moments.map((m, i) => ({...m, answer: words[order[i]]})));
    assert.deepEqual(page.faults, []);
    return page;
};

tests.answers_can_be_changed_and_taken_back = async () => {
    const page = await open(browser, addressOf('plain'));
    await page.keyboard.press('1');
    assert.equal(await heading(page), `Moment 2 of ${MOMENTS}`);
    await page.keyboard.press('ArrowLeft');
    assert.deepEqual(await pressed(page), ['on']);
    await page.keyboard.press('2');
    await page.keyboard.press('ArrowLeft');
    assert.deepEqual(await pressed(page), ['off']);
    await page.keyboard.press('2');
    assert.deepEqual(await pressed(page), []);
    assert.equal(await heading(page), `Moment 1 of ${MOMENTS}`, 'taking back stays');
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('3');
    await button(page, 'Go to one without an answer').click();
    assert.equal(await heading(page), `Moment 5 of ${MOMENTS}`);
    const file = await saved(page), question = await asked(page);
    assert.deepEqual(file.answers, [{...question.moments[2], answer: 'cannot tell'}], 'some answers are enough');
    return page;
};

tests.keys_can_be_turned_off_and_holding_one_does_nothing = async () => {
    const page = await open(browser, addressOf('plain'));
    await page.keyboard.down('1');
    for (let i = 0; i < 20; i++)
        await page.keyboard.down('1'); // as a key held down repeats
    await page.keyboard.up('1');
    assert.equal(await page.locator('#count').innerText(), `1 of ${MOMENTS} answered`);
    await page.getByLabel('answer by keys').uncheck();
    await page.keyboard.press('1');
    assert.equal(await page.locator('#count').innerText(), `1 of ${MOMENTS} answered`);
    await page.keyboard.press('Control+2');
    assert.equal(await page.locator('#count').innerText(), `1 of ${MOMENTS} answered`);
    return page;
};

tests.buttons_by_keyboard_alone = async () => {
    const page = await open(browser, addressOf('plain')), reached = [];
    for (let i = 0; i < 40; i++) {
        await page.keyboard.press('Tab');
        const at = await page.evaluate(() => {
            const e = document.activeElement, style = getComputedStyle(e);
            return {name: e === document.body ? '' : (e.id || e.dataset.answer || e.tagName).toLowerCase(),
                    ring: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2};
        });
        if (at.name === '')
            break;
        assert.ok(at.ring, 'no visible focus on ' + at.name);
        reached.push(at.name);
    }
    assert.deepEqual(reached, ['summary', 'on', 'off', 'cannot tell', 'next', 'keys', 'save', 'unanswered']);
    await page.getByLabel('answer by keys').uncheck();
    await page.locator('[data-answer=off]').focus();
    await page.keyboard.press('Enter');
    assert.equal(await heading(page), `Moment 2 of ${MOMENTS}`);
    assert.equal(await page.evaluate(() => document.activeElement.tagName), 'H2', 'what is new is read out');
    return page;
};

tests.touch_answers = async () => {
    const page = await open(browser, addressOf('plain'), {width: 390, height: 844, hasTouch: true, isMobile: true});
    for (const name of ['on', 'off', 'cannot tell']) {
        const target = page.locator(`[data-answer="${name}"]`), box = await target.boundingBox();
        assert.ok(box.height >= 44 && box.width >= 44, `${name}: ${box.width} × ${box.height}`);
        assert.ok(box.y + box.height <= 844, 'in view without scrolling');
        await target.tap();
    }
    assert.equal(await page.locator('#count').innerText(), `3 of ${MOMENTS} answered`);
    assert.equal(await page.locator('#keys').isVisible(), false, 'no keys to speak of');
    return page;
};

tests.answers_outlive_a_reload = async () => {
    const page = await open(browser, addressOf('plain'));
    await page.keyboard.press('1');
    await page.keyboard.press('3');
    await page.reload();
    assert.equal(await page.locator('#count').innerText(), `2 of ${MOMENTS} answered`);
    assert.equal(await heading(page), `Moment 3 of ${MOMENTS}`);
    return page;
};

async function axe(page) {
    await page.evaluate(fs.readFileSync(path.join(here, 'node_modules/axe-core/axe.min.js'), 'utf8'));
    const {violations} = await page.evaluate(() => axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}));
    return violations.map(v => `${v.id}: ${v.help}: ${v.nodes.slice(0, 3).map(n => n.target + ' ' + (n.any[0]?.message || '')).join(' | ')}`);
}

for (const [scheme, width] of [['light', 1440], ['dark', 1440], ['light', 390], ['dark', 390]])
    tests[`axe_finds_nothing_${scheme}_${width}`] = async () => {
        const page = await open(browser, addressOf('plain'), {width, colorScheme: scheme});
        await page.locator('summary').click();
        await page.keyboard.press('2');
        await page.keyboard.press('ArrowLeft');
        assert.deepEqual(await axe(page), []);
        assert.ok(await page.evaluate(() => document.documentElement.scrollWidth) <= width, 'no scrolling sideways');
        await page.screenshot({path: path.join(looks, `audit-${scheme}-${width}.png`), fullPage: true});
        return page;
    };

tests.without_scripts_it_says_so = async () => {
    const page = await open(browser, addressOf('plain'), {javaScriptEnabled: false});
    assert.match(await page.locator('noscript').innerText(), /needs its script/);
    assert.equal(await page.locator('[data-answer]:visible').count(), 0);
    assert.equal(await page.locator('.moment:visible').count(), MOMENTS);
    return page;
};

tests.hostile_names_are_text = async () => {
    const page = await open(browser, addressOf('hostile'));
    await page.keyboard.press('1');
    const file = await saved(page);
    assert.equal(await page.evaluate(() => window.broken), undefined);
    assert.equal(file.session, '</title><script>window.broken=1</script>');
    assert.equal(file.answers[0].take, '"\'</script><script>window.broken=1</script>');
    assert.match(await page.title(), /<script>/);
    assert.deepEqual(page.faults, []);
    return page;
};

async function main() {
    fs.mkdirSync(looks, {recursive: true});
    browser = await launch(browserPath);
    await runTests(tests, browser);
}

main();
