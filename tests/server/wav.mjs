// wav.mjs – samples of 16 bits as a WAV file, one channel.
export function wavFile(samples, rate = 16000) {
  const file = Buffer.alloc(44 + samples.length * 2);
  file.write("RIFF", 0);
  file.writeUInt32LE(36 + samples.length * 2, 4);
  file.write("WAVEfmt ", 8);
  file.writeUInt32LE(16, 16);
  file.writeUInt16LE(1, 20);
  file.writeUInt16LE(1, 22);
  file.writeUInt32LE(rate, 24);
  file.writeUInt32LE(rate * 2, 28);
  file.writeUInt16LE(2, 32);
  file.writeUInt16LE(16, 34);
  file.write("data", 36);
  file.writeUInt32LE(samples.length * 2, 40);
  const at = new DataView(file.buffer, file.byteOffset + 44);
  for (let n = 0; n < samples.length; n++) at.setInt16(2 * n, Math.max(-32768, Math.min(32767, Math.round(samples[n]))), true);
  return file;
}
