// The one script that the document carries as it is. It unpacks the others,
// which stand packed beside it because a phone's page is to be small, and adds
// them as a script: the browser runs it only if its hash is in the document's
// policy, as any other.

// unpacked returns what an element carries as gzip, in the letters of
// base64url.
globalThis.unpacked = (id) => {
  const letters = document.getElementById(id).textContent.replaceAll("-", "+").replaceAll("_", "/");
  const bytes = Uint8Array.from(atob(letters), (c) => c.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Response(stream);
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
