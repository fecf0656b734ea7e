// The module in the page has all opcodes together, and the operands of each
// opcode, which compresses better. This restores their order.

const [restStream, opcodeStream] = [-1, -2];

// joined returns the bytes of the module; streams describes the runs of bytes:
// pairs of an opcode and a length.
export function joined(bytes, streams) {
  const out = new Uint8Array(bytes.length);
  const from = []; // where a stream goes on, by its key and 2
  let start = 0;
  for (const [key, length] of streams) {
    from[key + 2] = start;
    start += length;
  }
  let at = 0;
  const used = new Uint8Array(128); // the locals of a function, the last one used first
  const take = (stream, count) => {
    const place = from[stream + 2];
    for (let i = 0; i < count; i++) out[at++] = bytes[place + i];
    from[stream + 2] = place + count;
  };
  // leb moves a number and returns it.
  const leb = (stream) => {
    let v = 0;
    for (let shift = 0; ; shift += 7) {
      take(stream, 1);
      v |= (out[at - 1] & 0x7f) << shift;
      if (out[at - 1] < 0x80) return v;
    }
  };
  // local moves the number of a local, coded as the number of others used
  // since.
  const local = (stream) => {
    take(stream, 1);
    const since = out[at - 1];
    const number = used[since];
    used.copyWithin(1, 0, since);
    used[0] = number;
    out[at - 1] = number;
  };
  const instruction = () => {
    take(opcodeStream, 1);
    const opcode = out[at - 1];
    if (opcode >= 0x20 && opcode <= 0x22 && bytes[from[opcode + 2]] < 0x80) {
      local(opcode);
      return;
    }
    const [lebs, plain] = opcode === 0xfd ? wideOperands(leb(opcodeStream)) : operands(opcode);
    for (let i = 0; i < lebs; i++) leb(opcode);
    if (plain > 0) take(opcode, plain);
  };
  // body moves a function: its size, its locals, its instructions.
  const body = () => {
    const size = leb(restStream);
    const end = at + size;
    for (let left = leb(restStream); left > 0; left--) {
      leb(restStream);
      take(restStream, 1);
    }
    for (let i = 0; i < used.length; i++) used[i] = i;
    while (at < end) instruction();
  };
  take(restStream, 8);
  while (at < out.length) {
    take(restStream, 1);
    const section = out[at - 1];
    const size = leb(restStream);
    if (section !== 10) take(restStream, size);
    else for (let left = leb(restStream); left > 0; left--) body();
  }
  return out;
}

// operands returns the numbers of LEB128 numbers and of plain bytes after an
// opcode.
function operands(o) {
  if (o >= 0x28 && o <= 0x3e) return [2, 0];
  if (o === 0x44) return [0, 8];
  return [(o >= 2 && o <= 4) || (o >= 0x20 && o <= 0x23) || [0x0c, 0x0d, 0x10, 0x41, 0x42, 0xfc].includes(o) ? 1 : 0, 0];
}

// wideOperands is operands for an instruction on v128.
function wideOperands(o) {
  if (o === 0 || o === 11) return [2, 0];
  return o === 12 ? [0, 16] : [o === 33 || o === 34 ? 1 : 0, 0];
}
