// The only script that the document contains unpacked. It unpacks the others,
// which are compressed to keep a phone's page small, and adds them as a script:
// the browser runs it only if its hash is in the document's policy, as for any
// other.

// bytesOf reads bytes written as letters: two of the 91 letters from # to ~
// without < are 13 bits, a single last one is 6.
function bytesOf(text) {
  const letter = (i) => {
    const code = text.charCodeAt(i) - 35;
    return code > 24 ? code - 1 : code;
  };
  const out = [];
  let [bits, have] = [0, 0];
  for (let i = 0; i < text.length; i += 2) {
    const alone = i + 1 === text.length;
    bits |= (alone ? letter(i) : letter(i) * 91 + letter(i + 1)) << have;
    for (have += alone ? 6 : 13; have >= 8; have -= 8) {
      out.push(bits & 0xff);
      bits >>>= 8;
    }
  }
  return new Uint8Array(out);
}

// unpacked returns the decompressed content of an element.
globalThis.unpacked = (id) => {
  const bytes = bytesOf(document.getElementById(id).textContent);
  return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip")));
};
globalThis.gearleaf = {
  ready: (async () => {
    const script = document.createElement("script");
    script.textContent = await unpacked("page-script").text();
    document.body.append(script);
    return globalThis.gearleaf.ready;
  })(),
};
gearleaf.ready.catch((error) => {
  document.getElementById("still").append(` (${error.message})`);
});
