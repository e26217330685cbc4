// The layout's letters against a browser's: for 200 random sites the word is set in the same font
// as a web page, Range.getClientRects tells where Chromium has the trigger, and the mark must lie
// under (or over) it. Another shaper's use of the same font, another measuring of clusters.
//
// Usage: node browser.mjs PLACES-PROGRAM FONT.woff2
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { chromium } from 'playwright-core';

const [places_program, font_file] = process.argv.slice(2);
const browser_path = process.env.CHROMIUM ?? '/usr/bin/chromium';
if (!existsSync(browser_path)) {
    console.log(`skipped: there is no Chromium at ${browser_path}`);
    process.exit(77);
}
const seed = process.env.MISTARA_SEED ?? '20260101';
console.log(`seed ${seed}`);
const places = JSON.parse(execFileSync(places_program, [seed], { maxBuffer: 1 << 24 }));

const em = 400; // px; large, so that the browser's 1/64 px does not matter
const slack = 0.02; // em
const browser = await chromium.launch({
    executablePath: browser_path,
    args: ['--no-sandbox', '--disable-gpu', '--no-first-run', '--disable-background-networking',
        '--disable-component-update', '--disable-sync'],
});
let failures = [];
try {
    const page = await browser.newPage();
    const font = readFileSync(font_file).toString('base64');
    await page.setContent(`<!doctype html><meta charset="utf-8"><style>
        @font-face { font-family: scripture; src: url(data:font/woff2;base64,${font}); }
        div { font: ${em}px scripture; direction: rtl; white-space: pre; width: max-content;
              text-rendering: geometricPrecision; }
    </style><div lang="ar" id="word">ا</div>`);
    const loaded = await page.evaluate(async (size) => {
        await document.fonts.load(`${size}px scripture`, 'ا');
        return document.fonts.check(`${size}px scripture`, 'ا');
    }, em);
    if (!loaded) throw new Error('the browser did not load the font');
    const measured = await page.evaluate(([list, size]) => list.map((place) => {
        const box = document.getElementById('word');
        box.textContent = place.word;
        const left = box.getBoundingClientRect().left;
        const range = document.createRange();
        range.setStart(box.firstChild, place.start);
        range.setEnd(box.firstChild, place.end);
        const rects = [...range.getClientRects()].filter((r) => r.width > 0);
        return {
            width: box.getBoundingClientRect().width / size,
            left: rects.length ? (Math.min(...rects.map((r) => r.left)) - left) / size : null,
            right: rects.length ? (Math.max(...rects.map((r) => r.right)) - left) / size : null,
        };
    }), [places, em]);

    let compared = 0, worst = 0;
    places.forEach((place, i) => {
        const there = measured[i];
        const say = (what) => failures.push(
            `${place.at} ${place.rule}: ${what}; layout ${JSON.stringify(place)}, `
            + `browser ${JSON.stringify(there)}`);
        if (Math.abs(place.width - there.width) > slack) say('the word has another width');
        if (there.left === null) return; // a hamza without seat has no room of its own
        compared++;
        const off = Math.max(Math.abs(place.left - there.left), Math.abs(place.right - there.right));
        worst = Math.max(worst, off);
        if (off > slack) say('the letter lies elsewhere');
        if (place.anchor < there.left - slack || place.anchor > there.right + slack)
            say('the mark points beside its letter');
        if (place.x1 < there.left || place.x0 > there.right) say('the mark is not under its letter');
    });
    console.log(`${places.length} sites, ${compared} letters compared, furthest off `
        + `${worst.toFixed(4)} em`);
    if (compared < places.length * 0.95) failures.push('too few letters could be compared');
} finally {
    await browser.close();
}
failures.slice(0, 10).forEach((line) => console.error(line));
if (failures.length) console.error(`${failures.length} failures`);
process.exit(failures.length ? 1 : 0);
