// Captions as others read them: WebVTT by webvtt-parser (npm; the parsing rules of the W3C's "WebVTT:
// The Web Video Text Tracks Format") and in the <track> of a browser; SubRip and ASS by ffprobe. The
// three must tell the same.
//
// Usage: node film_captions.mjs PROGRAM-THAT-PRINTS-CAPTIONS
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import parser from 'webvtt-parser';
import { chromium } from 'playwright-core';

const print = (format) => execFileSync(process.argv[2], [format], { encoding: 'utf8' });
const vtt = print('vtt');
const folder = mkdtempSync(join(tmpdir(), 'captions-'));

// 1. The parser: no deviation, in order, none over another, one word in bold, the mark below.
// It counts the STYLE block, which it does not know, as a cue without times; that is left aside here
// and met in the browser below.
const plain = vtt.replace(/^STYLE\n(.+\n)+\n/m, '');
assert.notEqual(plain, vtt);
const { cues, errors } = new parser.WebVTTParser().parse(plain, 'captions');
assert.deepEqual(errors, []);
assert.ok(cues.length > 40, `${cues.length} cues`);
const text_of = (node) => (node.value && node.type === 'text' ? node.value : '') +
    (node.children ?? []).map(text_of).join('');
const find = (node, name) => node.name === name ? [node]
    : (node.children ?? []).flatMap((child) => find(child, name));
let end = 0;
const said = [];
for (const cue of cues) {
    assert.match(cue.id, /^\d+ 67:[1-3]:\d+$/);
    assert.ok(cue.startTime >= end && cue.endTime > cue.startTime, cue.id);
    end = cue.endTime;
    const bold = find(cue.tree, 'b');
    assert.equal(bold.length, 1, cue.id);
    const word = text_of(bold[0]);
    assert.match(word, /^\p{Script=Arabic}[^ ]*$/u);
    assert.ok(text_of(cue.tree).includes(word));
    assert.ok(text_of(cue.tree).split('\n')[0].split(' ').length <= 10);
    const address = cue.id.split(' ')[1];
    if (said.at(-1) !== address)
        said.push(address);
}
// Every word in its place; the one taken up again comes twice in a row.
assert.equal(said.length, new Set(said).size);
assert.ok(cues.some((cue) => /ikhf|hiding/i.test(text_of(cue.tree))) ||
    cues.some((cue) => /إخفاء|مد/.test(text_of(cue.tree))));

// Made wrong: the parser says so.
for (const [good, bad] of [['WEBVTT', 'WEBVTTX'], [' --> ', ' -> ']])
    assert.notEqual(new parser.WebVTTParser().parse(plain.replace(good, bad)).errors.length, 0);

// 2. SubRip and ASS by ffprobe: as many events at the same times (ASS: hundredths).
const events = (format) => {
    const file = join(folder, `captions.${format}`);
    writeFileSync(file, print(format));
    const shown = JSON.parse(execFileSync('ffprobe', ['-v', 'error', '-of', 'json',
        '-show_streams', '-show_packets', file], { encoding: 'utf8' }));
    assert.equal(shown.streams[0].codec_name, format === 'srt' ? 'subrip' : 'ass');
    execFileSync('ffmpeg', ['-v', 'error', '-xerror', '-i', file, '-map', '0:s', '-f', 'webvtt', '-'],
        { stdio: ['ignore', 'ignore', 'inherit'] });
    return shown.packets.map((p) => [Number(p.pts_time), Number(p.pts_time) + Number(p.duration_time)]);
};
for (const [format, slack] of [['srt', 0.0006], ['ass', 0.0101]]) {
    const read = events(format);
    assert.equal(read.length, cues.length, format);
    read.forEach(([from, to], n) => {
        assert.ok(Math.abs(from - cues[n].startTime) <= slack, `${format} ${n}`);
        assert.ok(Math.abs(to - cues[n].endTime) <= slack, `${format} ${n}`);
    });
}

// 3. The browser: a sound with a <track>, played across its first captions.
const sound = join(folder, 'sound.wav');
execFileSync('ffmpeg', ['-v', 'error', '-f', 'lavfi', '-i', 'sine=frequency=300:duration=40',
    '-ar', '16000', sound]);
const wav = execFileSync('cat', [sound], { maxBuffer: 1 << 26 });
const page_text = '<!doctype html><meta charset="utf-8"><video id="v" muted src="/s.wav">' +
    '<track id="t" kind="captions" srclang="ar" src="/c.vtt" default></video>';
const files = { '/': ['text/html', page_text], '/s.wav': ['audio/wav', wav], '/c.vtt': ['text/vtt', vtt] };
const server = createServer((request, answer) => {
    const [type, body] = files[request.url] ?? ['text/plain', ''];
    answer.writeHead(200, { 'content-type': type });
    answer.end(body);
});
await new Promise((ready) => server.listen(0, '127.0.0.1', ready));
const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--autoplay-policy=no-user-gesture-required'],
});
try {
    const page = await browser.newPage();
    await page.goto(`http://127.0.0.1:${server.address().port}/`);
    const seen = await page.evaluate(() => new Promise((resolve, reject) => {
        const track = document.getElementById('t'), video = document.getElementById('v');
        const heard = [];
        const all = () => [...track.track.cues].map((c) => [c.id, c.startTime, c.endTime]);
        track.onerror = () => reject(new Error('the track was refused'));
        const go = () => {
            track.track.mode = 'showing';
            track.track.oncuechange = () => {
                for (const c of track.track.activeCues)
                    heard.push([c.id, video.currentTime]);
            };
            video.play().catch(reject);
            video.ontimeupdate = () => {
                if (video.currentTime < 3)
                    return;
                video.pause();
                const shown = track.track.cues[0].getCueAsHTML();
                resolve({ all: all(), heard, bold: shown.querySelector('b')?.textContent,
                    lines: shown.textContent.split('\n').length });
            };
        };
        if (track.readyState === 2) go(); else track.onload = go;
    }));
    const near_ms = (seconds) => Math.round(seconds * 1000);
    assert.deepEqual(seen.all.map(([id, from, to]) => [id, near_ms(from), near_ms(to)]),
        cues.map((c) => [c.id, near_ms(c.startTime), near_ms(c.endTime)]));
    assert.equal(seen.bold, text_of(find(cues[0].tree, 'b')[0]));
    assert.equal(seen.lines, 2);
    const due = cues.filter((c) => c.startTime < 2.5).map((c) => c.id);
    const order = seen.heard.map(([id]) => id);
    assert.ok(order.length >= due.length / 2, `${order.length} of ${due.length} were shown`);
    for (const [id, at] of seen.heard) {
        const cue = cues.find((c) => c.id === id);
        assert.ok(at >= cue.startTime - 0.05, `${id} at ${at}`);
    }
} finally {
    await browser.close();
    server.close();
    rmSync(folder, { recursive: true });
}
console.log(`${cues.length} captions`);
