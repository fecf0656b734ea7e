// Tokenises worksheets with the grammar, as VS Code does, and checks every
// line: comments, texts, statement words, numbers with their units.
const fs = require('fs'), path = require('path');
const tm = require('vscode-textmate'), onig = require('vscode-oniguruma');
const wasm = fs.readFileSync(require.resolve('vscode-oniguruma/release/onig.wasm'));
const { statements, units } = JSON.parse(process.argv[2]);
const known = new Set(units);
let wrong = 0, seen = 0;

(async () => {
  await onig.loadWASM(wasm.buffer.slice(wasm.byteOffset, wasm.byteOffset + wasm.byteLength));
  const file = path.join(__dirname, '../../editors/vscode/syntaxes/gearleaf.tmLanguage.json');
  const registry = new tm.Registry({
    onigLib: Promise.resolve({ createOnigScanner: p => new onig.OnigScanner(p), createOnigString: s => new onig.OnigString(s) }),
    loadGrammar: async () => tm.parseRawGrammar(fs.readFileSync(file, 'utf8'), file),
  });
  const grammar = await registry.loadGrammar('source.gearleaf');
  for (const name of process.argv.slice(3)) {
    let state = tm.INITIAL;
    fs.readFileSync(name, 'utf8').split('\n').forEach((line, number) => {
      const r = grammar.tokenizeLine(line, state);
      state = r.ruleStack;
      const scopeAt = i => { const t = r.tokens.find(t => t.startIndex <= i && i < t.endIndex); return t ? t.scopes.join(' ') : ''; };
      const want = (at, scope) => {
        seen++;
        if (!scopeAt(at).includes(scope)) { wrong++; console.error(`${name}:${number + 1}:${at + 1}: ${scopeAt(at)} is not ${scope}: ${line}`); }
      };
      // The text outside quotes, with a mark in place of each quoted text.
      let plain = '', inside = false, comment = -1;
      for (let i = 0; i < line.length; i++) {
        if (line[i] === '#' && !inside) { comment = i; break; }
        if (line[i] === '"') inside = !inside;
        plain += inside || line[i] === '"' ? '\u0001' : line[i];
      }
      if (comment >= 0) { want(comment, 'comment'); want(line.length - 1, 'comment'); }
      for (let i = 0; i < plain.length; i++) if (plain[i] === '\u0001') want(i, 'string');
      const first = /^([a-z]+)\b(?!\s*[:=(.])/.exec(plain);
      if (first && statements.includes(first[1])) want(0, 'keyword.control');
      for (const m of plain.matchAll(/(?<![A-Za-z0-9_.])(\d+(?:\.\d+)?) +([A-Za-z%]+)(?![A-Za-z0-9_%(/.])/g)) {
        want(m.index, 'constant.numeric');
        if (known.has(m[2])) want(m.index + m[0].length - m[2].length, 'support.type.unit');
      }
      for (const m of plain.matchAll(/\bas +([A-Za-z%]+)(?![A-Za-z0-9_%(/.])/g)) if (known.has(m[1])) want(m.index + m[0].length - m[1].length, 'support.type.unit');
    });
    if (state.depth > 1) { wrong++; console.error(name + ': something is left open at the end'); }
  }
  console.log(`${seen} places in ${process.argv.length - 3} worksheets, ${wrong} wrong`);
  process.exit(wrong || seen < 500 ? 1 : 0);
})();
