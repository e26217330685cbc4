// buzz.mjs – a sound file for the ear to measure: every sound of a reading as a buzz or a hiss of a
// colour of its own, as long as the reading says, with a pause at each stop. It is no speech and
// nothing to listen to.
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

export function buzz(reading, { seed = 7, held = 1 } = {}) {
  const random = chance(seed);
  const samples = [];
  const memory = [[0, 0], [0, 0], [0, 0]];
  let phase = 0;
  const silence = (ms) => {
    for (let n = 0; n < ms * 16; n++) samples.push((random() - 0.5) * 0.0006);
    memory.forEach((m) => m.fill(0));
  };
  silence(400);
  for (const sound of reading.sounds) {
    const c = colour(sound.phone);
    const counts = sound.counts ?? 0;
    const ms = (counts >= 2 ? counts * 130 * (sound.nasal ? 1.5 : 1) * held : counts === 1 ? 95 : sound.geminate ? 150 : 75) *
      (0.92 + 0.16 * random());
    const length = Math.round(ms * 16);
    for (let n = 0; n < length; n++) {
      phase += (118 + 6 * Math.sin(samples.length / 9000)) / rate;
      const pulse = phase >= 1 ? ((phase -= 1), 1) : 0;
      const x = c.hum * pulse + c.noise * (random() - 0.5) * 0.4;
      let y = 0;
      c.at.forEach((hz, k) => {
        const r = Math.exp(-Math.PI * (90 + 40 * k) / rate);
        const v = x + 2 * r * Math.cos(2 * Math.PI * hz / rate) * memory[k][0] - r * r * memory[k][1];
        memory[k][1] = memory[k][0];
        memory[k][0] = v;
        y += v * (1 - r) * (1 - 0.25 * k);
      });
      const edge = Math.min(1, n / 60, (length - n) / 60);
      samples.push(y * c.loud * 1.6 * edge);
    }
    if (sound.pause === "stop") silence(450 + 250 * random());
  }
  silence(400);
  let peak = 0;
  for (const s of samples) peak = Math.max(peak, Math.abs(s));
  const wav = Buffer.alloc(44 + samples.length * 2);
  wav.write("RIFF", 0);
  wav.writeUInt32LE(36 + samples.length * 2, 4);
  wav.write("WAVEfmt ", 8);
  wav.writeUInt32LE(16, 16);
  wav.writeUInt16LE(1, 20);
  wav.writeUInt16LE(1, 22);
  wav.writeUInt32LE(rate, 24);
  wav.writeUInt32LE(rate * 2, 28);
  wav.writeUInt16LE(2, 32);
  wav.writeUInt16LE(16, 34);
  wav.write("data", 36);
  wav.writeUInt32LE(samples.length * 2, 40);
  samples.forEach((s, n) => wav.writeInt16LE(Math.round((s / peak) * 20000), 44 + n * 2));
  return wav;
}
