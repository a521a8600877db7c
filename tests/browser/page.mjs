// A browser with no network, and pages that report whatever goes wrong in them.
import { chromium, firefox } from 'playwright-core';

export async function launch(executablePath) {
    return chromium.launch({executablePath, args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking',
                                                   '--disable-component-update', '--disable-sync', '--no-first-run']});
}

// A Firefox as distributed, through WebDriver BiDi (W3C), which playwright-core speaks to this channel: it needs neither a
// driver nor a browser of playwright's own.
export async function launchFirefox(executablePath) {
    return firefox.launch({executablePath, channel: 'moz-firefox'});
}

// faults gathers console errors, uncaught exceptions, and requests for anything but local files and the page's own data.
// The page's clock is the test's, unless it measures: settle() turns it on.
export async function open(browser, address, {width = 1440, height = 900, prepare = null, ownClock = false, ...options} = {}) {
    const context = await browser.newContext({viewport: {width, height}, offline: true, reducedMotion: 'reduce', ...options});
    const page = await context.newPage();
    page.faults = [];
    page.on('console', message => {
        if (message.type() === 'error' || message.type() === 'warning')
            page.faults.push(message.text());
    });
    page.on('pageerror', error => page.faults.push(String(error)));
    page.on('request', request => {
        if (!/^(file|data|blob):/.test(request.url()))
            page.faults.push('asked for ' + request.url());
    });
    if (!ownClock)
        await page.clock.install();
    if (prepare)
        await prepare(page);
    await page.goto(address);
    return page;
}

// The timeline of a take once it stands in the page.
export async function timeline(page, id) {
    const section = page.locator(`section.take[data-take="${id}"]`);
    await section.locator('h3').first().scrollIntoViewIfNeeded();
    await section.locator('.plot').waitFor();
    await section.locator('.plot').scrollIntoViewIfNeeded();
    return section;
}

// Whatever the page does a moment later (it draws, its address follows, a gesture has ended) is done.
export async function settle(page) {
    await page.clock.runFor(1000);
}

// Where it stands: the seconds in view and the mark, as the address says once it has caught up.
export async function stand(section) {
    await settle(section.page());
    const link = new URLSearchParams((await section.locator('a.here').getAttribute('href')).slice(1));
    const whole = Number(await section.locator('.plot').getAttribute('aria-valuemax'));
    const shown = (await section.locator('.shown').textContent()).match(/^([\d.]+) to ([\d.]+) s/);
    return {mark: Number(link.get('t')), span: Number(link.get('span') || whole), from: Number(shown[1]), to: Number(shown[2]), whole};
}

// Reads until what is read is right, as pages draw a moment after they are told to; the last reading after a minute.
export async function reading(read, right) {
    const end = Date.now() + 60000;
    let value = await read();
    while (!right(value) && Date.now() < end) {
        await new Promise(done => setTimeout(done, 50));
        value = await read();
    }
    return value;
}

/* Runs tests by name, those that hold ONLY; each gives back its page. Exits 1 if one failed. */
export async function runTests(tests, ...browsers) {
    const only = process.env.ONLY, failed = [], began = Date.now();
    let ran = 0;
    for (const [name, test] of Object.entries(tests)) {
        if (only && !name.includes(only))
            continue;
        const at = Date.now();
        try {
            const page = await test();
            if (page)
                await page.context().close();
        } catch (error) {
            failed.push(name);
            console.log(error.stack);
        }
        console.log(`${failed.includes(name) ? 'FAIL' : 'ok'} ${name} (${Date.now() - at} ms)`);
        ran++;
    }
    for (const browser of browsers)
        await browser.close();
    console.log(`Ran ${ran} tests in ${((Date.now() - began) / 1000).toFixed(1)}s`);
    console.log(failed.length ? `FAILED (failures=${failed.length})` : 'OK');
    process.exit(failed.length ? 1 : 0);
}
