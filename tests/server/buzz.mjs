// buzz.mjs – a sound file for the ear to measure: every sound of a reading as a buzz or a hiss of a
// colour of its own, as long as the reading says, with a pause at each stop. It is no speech and
// nothing to listen to. A sound with a share is held for that share of its length.
import { wavFile } from "./wav.mjs";

const rate = 16000;

function chance(seed) {
  let state = seed >>> 0;
  return () => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) / 2 ** 32;
}

// Three resonances and whether it hums, by what the sound is called.
function colour(phone) {
  let hash = 2166136261;
  for (const c of phone) hash = Math.imul(hash ^ c.charCodeAt(0), 16777619) >>> 0;
  const vowels = { a: [700, 1250], aa: [740, 1150], i: [310, 2250], ii: [270, 2400], u: [340, 850], uu: [300, 720], ee: [450, 1900] };
  const nasals = { n: [250, 1500], m: [240, 1000], n_hidden: [300, 1900], m_hidden: [260, 800], w_nasal: [330, 640], y_nasal: [280, 2050] };
  if (vowels[phone]) return { hum: 1, noise: 0.02, at: [...vowels[phone], 2600], loud: 1 };
  if (nasals[phone]) return { hum: 1, noise: 0.02, at: [...nasals[phone], 2300], loud: 0.45 };
  const voiced = "b d dh dd z zz j r l w y gh ayn".split(" ").includes(phone);
  return { hum: voiced ? 0.5 : 0, noise: voiced ? 0.3 : 0.6,
    at: [600 + (hash % 97) * 22, 1800 + (hash % 53) * 45, 3500 + (hash % 41) * 70], loud: 0.4 };
}

// Sounds one after another, in an array that grows.
function buffer() {
  let have = new Float64Array(1 << 20), length = 0;
  return {
    length: () => length,
    // Room for so many more, to be written from `length` on.
    more(count) {
      if (length + count > have.length) {
        const larger = new Float64Array(2 * (length + count));
        larger.set(have);
        have = larger;
      }
      length += count;
      return have;
    },
    all: () => have.subarray(0, length),
  };
}

export function buzz(reading, { seed = 7, held = 1 } = {}) {
  const random = chance(seed), samples = buffer();
  const memory = new Float64Array(6);
  let phase = 0;
  const silence = (ms) => {
    const count = Math.ceil(ms * 16), from = samples.length(), out = samples.more(count);
    for (let n = 0; n < count; n++) out[from + n] = (random() - 0.5) * 0.0006;
    memory.fill(0);
  };
  silence(400);
  for (const sound of reading.sounds) {
    const c = colour(sound.phone);
    const counts = sound.counts ?? 0;
    const ms = (counts >= 2 ? counts * 130 * (sound.nasal ? 1.5 : 1) * held : counts === 1 ? 95 : sound.geminate ? 150 : 75) * (sound.share ?? 1) *
      (0.92 + 0.16 * random());
    const length = Math.round(ms * 16), from = samples.length(), out = samples.more(length);
    const resonances = c.at.map((hz, k) => {
      const r = Math.exp(-Math.PI * (90 + 40 * k) / rate);
      return { once: 2 * r * Math.cos(2 * Math.PI * hz / rate), twice: r * r, share: (1 - r) * (1 - 0.25 * k) };
    });
    for (let n = 0; n < length; n++) {
      phase += (118 + 6 * Math.sin((from + n) / 9000)) / rate;
      const pulse = phase >= 1 ? ((phase -= 1), 1) : 0;
      const x = c.hum * pulse + c.noise * (random() - 0.5) * 0.4;
      let y = 0;
      for (let k = 0; k < 3; k++) {
        const { once, twice, share } = resonances[k];
        const v = x + once * memory[2 * k] - twice * memory[2 * k + 1];
        memory[2 * k + 1] = memory[2 * k];
        memory[2 * k] = v;
        y += v * share;
      }
      out[from + n] = y * c.loud * 1.6 * Math.min(1, n / 60, (length - n) / 60);
    }
    if (sound.pause === "stop") silence(450 + 250 * random());
  }
  silence(400);
  let peak = 0;
  const all = samples.all();
  for (const s of all) peak = Math.max(peak, Math.abs(s));
  return wavFile(all.map((s) => (s / peak) * 20000), rate);
}
