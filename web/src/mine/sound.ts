// Sentence by sentence becomes one sound: decoded, put in a row with a breath between, written as
// WAV. A single part is handed in as it was recorded, byte for byte.
const rate_hz = 24_000, breath_s = 0.5;

export function wav(samples: Float32Array, rate: number): ArrayBuffer {
  const head = 44, bytes = new ArrayBuffer(head + samples.length * 2), view = new DataView(bytes);
  const text = (at: number, letters: string) => [...letters].forEach((one, n) => view.setUint8(at + n, one.charCodeAt(0)));
  text(0, "RIFF");
  view.setUint32(4, bytes.byteLength - 8, true);
  text(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true); // PCM
  view.setUint16(22, 1, true); // one channel
  view.setUint32(24, rate, true);
  view.setUint32(28, rate * 2, true);
  view.setUint16(32, 2, true);
  view.setUint16(34, 16, true);
  text(36, "data");
  view.setUint32(40, samples.length * 2, true);
  samples.forEach((one, n) => view.setInt16(head + n * 2, Math.round(Math.max(-1, Math.min(1, one)) * 32767), true));
  return bytes;
}

export async function joined(parts: Blob[]): Promise<Blob> {
  if (parts.length === 1) return parts[0]!;
  const decoder = new OfflineAudioContext(1, 1, rate_hz);
  const heard: AudioBuffer[] = [];
  for (const part of parts) heard.push(await decoder.decodeAudioData(await part.arrayBuffer()));
  const breath = Math.round(breath_s * rate_hz);
  const all = new Float32Array(heard.reduce((sum, one) => sum + one.length + breath, 0));
  let at = 0;
  for (const one of heard) {
    all.set(one.getChannelData(0), at);
    at += one.length + breath;
  }
  return new Blob([wav(all, rate_hz)], { type: "audio/wav" });
}
