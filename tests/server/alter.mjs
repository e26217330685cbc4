// alter.mjs – a recitation made into that of many learners: holds let go early by taking a piece out
// of their middle, and the whole played a little faster or slower, which moves its pitch and its
// resonances as well, as other throats do. The recitations are not in the project: MISTARA_AUDIO names
// their folder, RECITER/SSSVVV.mp3.
import { execFileSync } from "node:child_process";
import { existsSync, writeFileSync } from "node:fs";
import path from "node:path";
import { wavFile } from "./wav.mjs";

const rate = 16000, fade = rate / 100;

// The verses of a passage such as 78:1-16 or 83:31, one after another, as 16-bit samples at 16 kHz.
export function recited(passage, folder, reciter = "a") {
  const [, sura, from, to = from] = /^(\d+):(\d+)(?:-(\d+))?$/.exec(passage).map((part) => part && Number(part));
  const verses = Array.from({ length: to - from + 1 }, (_, n) =>
    path.join(process.env.MISTARA_AUDIO, reciter, `${String(sura).padStart(3, "0")}${String(from + n).padStart(3, "0")}.mp3`));
  for (const file of verses) if (!existsSync(file)) throw new Error(`no recitation ${file}`);
  const list = path.join(folder, "verses.txt");
  writeFileSync(list, verses.map((file) => `file '${file}'\n`).join(""));
  const raw = execFileSync("ffmpeg", ["-v", "error", "-f", "concat", "-safe", "0", "-i", list, "-ar", rate, "-ac", "1", "-f", "s16le", "-"], { maxBuffer: 1 << 28 });
  return new Int16Array(raw.buffer.slice(raw.byteOffset, raw.byteOffset + raw.length));
}

// How far on from `there` the sound goes on most like it goes at `here`: at most a period of a low voice.
function likest(samples, here, there) {
  let best = 0, most = -Infinity;
  for (let shift = 0; shift < rate / 80; shift++) {
    let sum = 0, power = 1;
    for (let n = 0; n < fade; n += 2) {
      sum += samples[here + n] * samples[there + shift + n];
      power += samples[there + shift + n] ** 2;
    }
    if (sum / Math.sqrt(power) > most) [best, most] = [shift, sum / Math.sqrt(power)];
  }
  return there + best;
}

// sounds: [{start_ms, end_ms, share}], in order; those with a share keep that part of their length.
export function shortened(samples, sounds) {
  const out = new Float64Array(samples.length);
  let have = 0, at = 0;
  const keep = (end) => { while (at < end) out[have++] = samples[at++]; };
  for (const sound of sounds) {
    if (!(sound.share < 1)) continue;
    const [start, end] = [sound.start_ms, sound.end_ms].map((ms) => Math.round(ms * rate / 1000));
    const stays = Math.round((end - start) * sound.share);
    const here = start + (stays >> 1), there = likest(samples, here, here + (end - start) - stays);
    if (here <= at || there + 2 * fade > samples.length) continue;
    keep(here);
    for (let n = 0; n < fade; n++) {
      const share = 0.5 - 0.5 * Math.cos(Math.PI * (n + 0.5) / fade);
      out[have++] = (1 - share) * samples[here + n] + share * samples[there + n];
    }
    at = there + fade;
  }
  keep(samples.length);
  return out.subarray(0, have);
}

// Played `speed` times as fast, with a little noise of a room, as a WAV file.
export function wav(samples, { speed = 1, seed = 1 } = {}) {
  let state = seed >>> 0;
  const chance = () => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) / 2 ** 32;
  return wavFile(Float64Array.from({ length: Math.floor((samples.length - 1) / speed) }, (_, n) => {
    const from = Math.floor(n * speed), part = n * speed - from;
    return samples[from] * (1 - part) + samples[from + 1] * part + (chance() - 0.5) * 40;
  }), rate);
}
