// Samples to a WAV file: RIFF with 32-bit floats, one channel (format tag 3; Microsoft's RIFF description, 1994).

export function wav(blocks, rate) {
  const count = blocks.reduce((all, block) => all + block.length, 0);
  const bytes = new ArrayBuffer(44 + 4 * count);
  const view = new DataView(bytes);
  const letters = (at, text) => { for (let k = 0; k < text.length; k += 1) view.setUint8(at + k, text.charCodeAt(k)); };
  letters(0, "RIFF");
  view.setUint32(4, 36 + 4 * count, true);
  letters(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 3, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, rate, true);
  view.setUint32(28, 4 * rate, true);
  view.setUint16(32, 4, true);
  view.setUint16(34, 32, true);
  letters(36, "data");
  view.setUint32(40, 4 * count, true);
  let at = 44;
  for (const block of blocks) for (const value of block) { view.setFloat32(at, value, true); at += 4; }
  return bytes;
}
