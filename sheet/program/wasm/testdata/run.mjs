// Runs modules outside the tool: each argument is the name of a module. Beside
// NAME.wasm it leaves NAME.run and NAME.care, its memory after run and after care.
import { readFileSync, writeFileSync } from "node:fs";

for (const name of process.argv.slice(2)) {
  const module = new WebAssembly.Module(readFileSync(name + ".wasm"));
  if (WebAssembly.Module.imports(module).length !== 0) {
    throw new Error(name + " has imports");
  }
  for (const form of ["run", "care"]) {
    const { memory, given, [form]: compute } = new WebAssembly.Instance(module).exports;
    given();
    compute();
    writeFileSync(name + "." + form, new Uint8Array(memory.buffer));
  }
}
