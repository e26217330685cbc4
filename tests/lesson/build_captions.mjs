// A lesson's WebVTT by webvtt-parser (npm; the parsing rules of the W3C's "WebVTT: The Web Video Text
// Tracks Format"). It does not know STYLE blocks, which are left aside.
// Usage: node build_captions.mjs FILE.vtt
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import parser from 'webvtt-parser';

const text = readFileSync(process.argv[2], 'utf8').replace(/^STYLE\n(.+\n)+\n/m, '');
const { cues, errors } = new parser.WebVTTParser().parse(text, 'captions');
assert.deepEqual(errors, []);
assert.ok(cues.length > 20, `${cues.length} cues`);
