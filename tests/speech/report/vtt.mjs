// The subtitles as a reader of the standard finds them: webvtt-parser (npm) implements the parsing
// rules of the W3C's "WebVTT: The Web Video Text Tracks Format" and reports every deviation. That it
// does report is tried on subtitles made wrong on purpose.
//
// Usage: node vtt.mjs PROGRAM-THAT-PRINTS-SUBTITLES
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import parser from 'webvtt-parser';

const text = execFileSync(process.argv[2], { encoding: 'utf8' });
const read = (vtt) => new parser.WebVTTParser().parse(vtt, 'metadata');
const { cues, errors } = read(text);
assert.deepEqual(errors, []);

// A cue a word, in order, none over another; the address is its name.
assert.ok(cues.length > 20, `${cues.length} cues`);
let end = 0;
for (const cue of cues) {
    assert.match(cue.id, /^67:[1-3]:\d+( again)?$/);
    assert.ok(cue.startTime >= end && cue.endTime > cue.startTime, cue.id);
    end = cue.endTime;
}
assert.equal(cues.filter((cue) => cue.id.endsWith(' again')).length, 1);

// The text of a cue: the word in its language, then the verse.
const words = new parser.WebVTTParser().parse(text, 'captions');
assert.deepEqual(words.errors, []);
for (const cue of words.cues) {
    const [lang, verse] = cue.tree.children;
    assert.equal(lang.name, 'lang');
    assert.equal(lang.value ?? lang.classes?.[0] ?? 'ar', 'ar');
    assert.match(lang.children[0].value, /^\p{Script=Arabic}/u);
    assert.match(verse.value, /^ \(67:[1-3]\)$/);
}

// Made wrong: the parser says so.
for (const [good, bad] of [['WEBVTT', 'WEBVTTX'], [' --> ', ' -> '], [/\.(\d{3}) -->/, ',$1 -->']])
    assert.notEqual(read(text.replace(good, bad)).errors.length, 0, String(good));
console.log(`${cues.length} cues`);
