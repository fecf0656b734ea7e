// Asks the language server for every feature over the wire, with the client
// library that VS Code uses. Called with the program to start.
const assert = require('assert'), cp = require('child_process'), fs = require('fs'), os = require('os'), path = require('path');
const rpc = require('vscode-jsonrpc/node'), lsp = require('vscode-languageserver-protocol/node');
const { pathToFileURL } = require('url');

const dir = fs.realpathSync(fs.mkdtempSync(path.join(os.tmpdir(), 'gearleaf-')));
const write = (name, text) => fs.writeFileSync(path.join(dir, name), text);
const uri = name => pathToFileURL(path.join(dir, name)).href;

const bike = `title "Bike, invented"
section "Final drive"
# Countershaft sprocket.
front : 17 teeth  range 15..19  "Front sprocket"
rear  : 41 teeth  choice 38, 40, 41, 42
ratio = rear / front  "Final drive"
rollout : 2085 mm
shift : 11200 rpm
section "Gears é 𝄞"
table gears
  gear  : 1, 2, 3
  inner : 2.50, 1.90, 1.55
  overall = inner * ratio * 1.55
  speed = road_speed(shift, overall, rollout) as mph to 0.1
top = last(gears.speed) as mph to 0.1
limit top <= 190 mph "The tyre is not rated for this"
`;
const day = `use "bike.leaf"
rear : 42 teeth
faster = top * 1.01 as mph to 0.1
table book from "book.csv"
  pass : from "pass"
passes = count(book.pass)
`;
write('bike.leaf', bike);
write('day.leaf', day);
write('book.csv', 'pass\n1\n2\n');

const server = cp.spawn(process.argv[2], ['lsp'], { env: { ...process.env, XDG_CACHE_HOME: dir, HOME: dir } });
server.stderr.on('data', d => { console.error('server: ' + d); process.exitCode = 1; });
const c = rpc.createMessageConnection(new rpc.StreamMessageReader(server.stdout), new rpc.StreamMessageWriter(server.stdin));
const diagnostics = new Map(), waiting = [];
let refreshed = 0;
c.onNotification(lsp.PublishDiagnosticsNotification.type, p => { diagnostics.set(p.uri, p); waiting.splice(0).forEach(f => f()); });
c.onRequest(lsp.InlayHintRefreshRequest.type, () => { refreshed++; waiting.splice(0).forEach(f => f()); return null; });
c.listen();

// until waits for what the server tells by itself.
async function until(what, say) {
  const end = Date.now() + 15000;
  for (;;) {
    const got = await what();
    if (got) return got;
    assert(Date.now() < end, 'waited in vain: ' + say);
    await new Promise(r => { waiting.push(r); setTimeout(r, 200); });
  }
}
const texts = new Map(), versions = new Map();
function open(name, text) {
  texts.set(name, text); versions.set(name, 1);
  c.sendNotification(lsp.DidOpenTextDocumentNotification.type, { textDocument: { uri: uri(name), languageId: 'gearleaf', version: 1, text } });
}
const position = (text, at) => { const b = text.slice(0, at); return { line: b.split('\n').length - 1, character: at - b.lastIndexOf('\n') - 1 }; };
// place is in name's text, off characters behind the first needle.
const place = (name, needle, off = 0) => { const i = texts.get(name).indexOf(needle); assert(i >= 0, needle); return position(texts.get(name), i + off); };
function edit(name, old, text) {
  const t = texts.get(name), i = t.indexOf(old); assert(i >= 0, old);
  versions.set(name, versions.get(name) + 1);
  c.sendNotification(lsp.DidChangeTextDocumentNotification.type, {
    textDocument: { uri: uri(name), version: versions.get(name) },
    contentChanges: [{ range: { start: position(t, i), end: position(t, i + old.length) }, text }],
  });
  texts.set(name, t.slice(0, i) + text + t.slice(i + old.length));
}
// apply makes the edits of a WorkspaceEdit in texts, and returns them.
function applied(text, edits) {
  const at = p => text.split('\n').slice(0, p.line).join('\n').length + (p.line ? 1 : 0) + p.character;
  return [...edits].sort((a, b) => at(b.range.start) - at(a.range.start)).reduce((t, e) => t.slice(0, at(e.range.start)) + e.newText + t.slice(at(e.range.end)), text);
}
const td = name => ({ textDocument: { uri: uri(name) } });
const all = { start: { line: 0, character: 0 }, end: { line: 9999, character: 0 } };
const options = { tabSize: 2, insertSpaces: true };
const hints = async name => (await c.sendRequest(lsp.InlayHintRequest.type, { ...td(name), range: all })).map(h => [h.position.line, h.label]);
const hint = async (name, needle) => ((await hints(name)).find(h => h[0] === place(name, needle).line) || [])[1];
const errors = name => (diagnostics.get(uri(name)) || { diagnostics: [] }).diagnostics;

const features = {
  async initialize() {
    const r = await c.sendRequest(lsp.InitializeRequest.type, { processId: process.pid, rootUri: pathToFileURL(dir).href, workspaceFolders: null, capabilities: { workspace: { inlayHint: { refreshSupport: true } } } });
    assert.equal(r.capabilities.positionEncoding, 'utf-16');
    c.sendNotification(lsp.InitializedNotification.type, {});
    open('bike.leaf', bike);
    await until(() => diagnostics.has(uri('bike.leaf')), 'diagnostics of a sound sheet');
    assert.deepEqual(errors('bike.leaf'), []);
  },
  async 'values, unconfirmed, then confirmed'() {
    await until(async () => await hint('bike.leaf', 'top =') === '= 65.6 mph' || (await hint('bike.leaf', 'top =')).startsWith('=?') === false, 'confirmation');
    assert.match(await hint('bike.leaf', 'top ='), /^= [\d.]+ mph$/);
    assert.match(await hint('bike.leaf', '  speed ='), /^= [\d.]+ … [\d.]+ mph$/);
    assert.match(await hint('bike.leaf', 'limit top'), /^kept: [\d.]+ mph <= 190 mph$/);
    edit('bike.leaf', '41 teeth', '40 teeth');
    assert.match(await hint('bike.leaf', 'top ='), /^=\? [\d.]+ mph$/);
    const before = refreshed;
    await until(async () => /^= /.test(await hint('bike.leaf', 'top =')), 'confirmation after an edit');
    assert(refreshed >= before, 'values are asked for again');
    edit('bike.leaf', '40 teeth', '41 teeth');
  },
  async 'errors, with what is sound around them'() {
    edit('bike.leaf', 'rear / front ', 'rear / fron ');
    const d = await until(() => errors('bike.leaf').length > 0 && errors('bike.leaf'), 'an error');
    assert.equal(d[0].code, 'name-unknown');
    assert.deepEqual(d[0].range, { start: place('bike.leaf', 'fron  "', 0), end: place('bike.leaf', 'fron  "', 4) });
    assert.match(await hint('bike.leaf', 'top ='), /^was [\d.]+ mph, waits for the error in line 6$/);
    const fixes = await c.sendRequest(lsp.CodeActionRequest.type, { ...td('bike.leaf'), range: d[0].range, context: { diagnostics: d } });
    const fix = fixes.find(f => f.kind === 'quickfix');
    assert.match(fix.title, /front/);
    assert(applied(texts.get('bike.leaf'), fix.edit.changes[uri('bike.leaf')]).includes('rear / front '));
    edit('bike.leaf', 'rear / fron ', 'rear / front ');
    await until(() => errors('bike.leaf').length === 0, 'no error');
  },
  async 'related places'() {
    edit('bike.leaf', 'rollout : 2085', 'front : 3 teeth\nrollout : 2085');
    const d = await until(() => errors('bike.leaf').length > 0 && errors('bike.leaf')[0], 'a name twice');
    assert.equal(d.relatedInformation[0].location.uri, uri('bike.leaf'));
    assert.equal(d.relatedInformation[0].location.range.start.line, 3);
    edit('bike.leaf', 'front : 3 teeth\n', '');
  },
  async hover() {
    const h = async (needle, off) => (await c.sendRequest(lsp.HoverRequest.type, { ...td('bike.leaf'), position: place('bike.leaf', needle, off) })).contents.value;
    const ratio = await h('ratio =', 1);
    for (const part of ['Final drive', 'ratio = rear / front', '= 41 teeth / 17 teeth']) assert(ratio.includes(part), ratio);
    assert.match(await h('front :', 1), /17 teeth[^]*Front sprocket[^]*Countershaft sprocket[^]*range 15 teeth\.\.19 teeth/);
    assert.match(await h('road_speed', 1), /road_speed\(engine_speed[^]*Source/);
    assert.match(await h('mph', 1), /mile/i);
    assert.match(await h('gears.speed', 1), /table gears/);
  },
  async completion() {
    const labels = async (name, needle, off, typed) => {
      const t = texts.get(name), i = t.indexOf(needle) + off;
      edit(name, needle, needle.slice(0, off) + typed + needle.slice(off));
      const r = await c.sendRequest(lsp.CompletionRequest.type, { ...td(name), position: position(texts.get(name), i + typed.length) });
      edit(name, needle.slice(0, off) + typed + needle.slice(off), needle);
      return r.items;
    };
    assert((await labels('bike.leaf', 'limit top', 6, 'r')).some(i => i.label === 'rear'));
    const columns = (await labels('bike.leaf', 'last(gears.speed)', 11, '')).map(i => i.label);
    assert.deepEqual([...columns].sort(), ['gear', 'inner', 'overall', 'speed']);
    const functions = await labels('bike.leaf', 'ratio = rear', 8, 'road');
    const road = functions.find(i => i.label === 'road_speed');
    assert.match(road.textEdit.newText, /^road_speed\(\$\{1:engine_speed\}, /);
    const units = await labels('bike.leaf', 'top = last(gears.speed) as mph', 27, '');
    assert(['km/h', 'mph', 'm/s', 'ft/s', 'kn'].includes(units[0].label), units[0].label + ' comes first');
    const choices = await labels('bike.leaf', 'rear  : 41', 8, '');
    assert.deepEqual(choices.map(i => i.label), ['38 teeth', '40 teeth', '41 teeth', '42 teeth']);
    assert((await labels('bike.leaf', 'limit top', 0, '')).some(i => i.label === 'section'));
    open('new.leaf', '');
    const items = (await c.sendRequest(lsp.CompletionRequest.type, { ...td('new.leaf'), position: { line: 0, character: 0 } })).items;
    assert(items.some(i => i.kind === lsp.CompletionItemKind.Snippet && i.textEdit.newText.includes('section')));
    c.sendNotification(lsp.DidCloseTextDocumentNotification.type, td('new.leaf'));
  },
  async 'signature help'() {
    const s = await c.sendRequest(lsp.SignatureHelpRequest.type, { ...td('bike.leaf'), position: place('bike.leaf', 'overall, rollout', 3) });
    assert.match(s.signatures[0].label, /^road_speed\(/);
    assert.equal(s.activeParameter, 1);
  },
  async 'definition and references, across files and into the library'() {
    open('day.leaf', day);
    const def = async (name, needle, off) => c.sendRequest(lsp.DefinitionRequest.type, { ...td(name), position: place(name, needle, off) });
    assert.deepEqual((await def('day.leaf', 'top *', 1))[0], { uri: uri('bike.leaf'), range: { start: place('bike.leaf', 'top ='), end: place('bike.leaf', 'top =', 3) } });
    const lib = (await def('bike.leaf', 'road_speed', 2))[0];
    assert(fs.readFileSync(new URL(lib.uri), 'utf8').split('\n')[lib.range.start.line].includes('road_speed'));
    const refs = await c.sendRequest(lsp.ReferencesRequest.type, { ...td('bike.leaf'), position: place('bike.leaf', 'rear '), context: { includeDeclaration: true } });
    assert.deepEqual(refs.map(r => path.basename(r.uri)).sort(), ['bike.leaf', 'bike.leaf', 'day.leaf']);
    const marks = await c.sendRequest(lsp.DocumentHighlightRequest.type, { ...td('bike.leaf'), position: place('bike.leaf', 'rear ') });
    assert.equal(marks.length, 2);
  },
  async rename() {
    const ask = (needle, off, newName) => c.sendRequest(lsp.RenameRequest.type, { ...td('bike.leaf'), position: place('bike.leaf', needle, off), newName });
    const p = await c.sendRequest(lsp.PrepareRenameRequest.type, { ...td('bike.leaf'), position: place('bike.leaf', 'rear ', 1) });
    assert.equal(p.placeholder, 'rear');
    const e = (await ask('rear ', 1, 'rear_sprocket')).changes;
    assert.equal(e[uri('bike.leaf')].length, 2); assert.equal(e[uri('day.leaf')].length, 1);
    assert.equal((await ask('gears\n', 1, 'steps')).changes[uri('bike.leaf')].length, 2);
    assert.equal((await ask('inner :', 1, 'box')).changes[uri('bike.leaf')].length, 2);
    await assert.rejects(ask('rear ', 1, 'front'), /cannot be called front/);
    await assert.rejects(ask('rear ', 1, 'if'), /word of the language/);
    await assert.rejects(ask('rear ', 1, 'Rear'), /small letter/);
    await assert.rejects(ask('road_speed', 1, 'pace'), /library/);
    // A name that only a worksheet which is not open has.
    await assert.rejects(ask('top =', 1, 'faster'), /cannot be called faster/);
  },
  async 'symbols, folding, selection, links'() {
    const s = await c.sendRequest(lsp.DocumentSymbolRequest.type, td('bike.leaf'));
    assert.deepEqual(s.map(x => x.name), ['Final drive', 'Gears é 𝄞']);
    assert.deepEqual(s[1].children.map(x => x.name), ['gears', 'top', 'limit top <= 190 mph "The tyre is not rated for this"']);
    assert.deepEqual(s[1].children[0].children.map(x => x.name), ['gear', 'inner', 'overall', 'speed']);
    const f = await c.sendRequest(lsp.FoldingRangeRequest.type, td('bike.leaf'));
    assert.deepEqual(f.map(x => [x.startLine, x.endLine]), [[1, 7], [8, 15], [9, 13]]);
    const [sel] = await c.sendRequest(lsp.SelectionRangeRequest.type, { ...td('bike.leaf'), positions: [place('bike.leaf', 'inner * ratio', 1)] });
    let depth = 0; for (let x = sel; x; x = x.parent) { depth++; if (x.parent) assert(x.parent.range.start.line <= x.range.start.line); }
    assert(depth >= 4, 'word, expression, line, block, section, all: ' + depth);
    const l = await c.sendRequest(lsp.DocumentLinkRequest.type, td('day.leaf'));
    assert.deepEqual(l.map(x => x.target), [uri('bike.leaf'), uri('book.csv')]);
  },
  async formatting() {
    const whole = applied(texts.get('bike.leaf'), await c.sendRequest(lsp.DocumentFormattingRequest.type, { ...td('bike.leaf'), options }));
    assert(whole.includes('rollout : 2085 mm\nshift   : 11200 rpm'), whole);
    const at = place('bike.leaf', 'shift :').line;
    const some = await c.sendRequest(lsp.DocumentRangeFormattingRequest.type, { ...td('bike.leaf'), range: { start: { line: at, character: 0 }, end: { line: at, character: 5 } }, options });
    assert(some.length > 0 && some.every(e => e.range.start.line === at), JSON.stringify(some));
    edit('bike.leaf', 'section "Gears', '\nsection "Gears');
    const typed = await c.sendRequest(lsp.DocumentOnTypeFormattingRequest.type, { ...td('bike.leaf'), position: { line: at + 1, character: 0 }, ch: '\n', options });
    assert(applied(texts.get('bike.leaf'), typed).includes('shift   : 11200 rpm'));
    edit('bike.leaf', '\n\nsection "Gears', '\nsection "Gears');
  },
  async 'code actions that rewrite'() {
    const actions = async (needle, off = 0) => { const p = place('bike.leaf', needle, off); return c.sendRequest(lsp.CodeActionRequest.type, { ...td('bike.leaf'), range: { start: p, end: p }, context: { diagnostics: [] } }); };
    const given = (await actions('ratio =')).find(a => a.title.startsWith('turn ratio into a given'));
    assert(applied(texts.get('bike.leaf'), given.edit.changes[uri('bike.leaf')]).includes('ratio : 2.411764705882'));
    edit('bike.leaf', 'rear / front ', 'rear / front * 1.5 ');
    const named = (await actions('1.5  "', 1)).find(a => a.title.startsWith('name this number'));
    assert(applied(texts.get('bike.leaf'), named.edit.changes[uri('bike.leaf')]).includes('ratio_part : 1.5\nratio = rear / front * ratio_part '));
    edit('bike.leaf', 'rear / front * 1.5 ', 'rear / front ');
    edit('bike.leaf', 'rollout : 2085 mm', 'rollout : 2085 mm\nfar = rollout * 3');
    const unit = (await actions('far =')).find(a => a.title.startsWith('declare the unit'));
    assert.match(applied(texts.get('bike.leaf'), unit.edit.changes[uri('bike.leaf')]), /far = rollout \* 3 as \w+\n/);
    edit('bike.leaf', '\nfar = rollout * 3', '');
  },
  async 'semantic tokens'() {
    const t = (await c.sendRequest(lsp.SemanticTokensRequest.type, td('bike.leaf'))).data;
    const types = ['variable', 'property', 'struct', 'function', 'parameter', 'type', 'string', 'number', 'keyword', 'comment', 'operator'];
    let line = 0, character = 0; const lines = texts.get('bike.leaf').split('\n'), found = new Map();
    for (let i = 0; i < t.length; i += 5) {
      if (t[i]) { line += t[i]; character = 0; }
      character += t[i + 1];
      found.set(lines[line].substr(character, t[i + 2]) + ' ' + types[t[i + 3]], true);
    }
    for (const want of ['section keyword', 'front variable', 'gears struct', 'speed property', 'road_speed function', 'teeth type', 'mph type', '2085 number', '"Gears é 𝄞" string', '# Countershaft sprocket. comment', 'as keyword', '* operator']) assert(found.has(want), want + ' among ' + [...found.keys()]);
  },
  async lenses() {
    const l = await c.sendRequest(lsp.CodeLensRequest.type, td('bike.leaf'));
    assert.equal(l.length, 4);
    const one = await c.sendRequest(lsp.CodeLensResolveRequest.type, l[0]);
    assert.equal(one.command.title, 'reaches 4 cells, 1 limit');
  },
  async 'unsaved texts of used files, and files on the disk'() {
    const before = await hint('day.leaf', 'faster =');
    edit('bike.leaf', 'rollout : 2085', 'rollout : 2185');
    await until(async () => { const h = await hint('day.leaf', 'faster ='); return h.replace(/=\?/, '=') !== before.replace(/=\?/, '='); }, 'a used text that is not saved');
    edit('bike.leaf', 'rollout : 2185', 'rollout : 2085');
    assert.match(await hint('day.leaf', 'passes ='), / 2$/);
    await until(async () => /^= 2$/.test(await hint('day.leaf', 'passes =')), 'confirmation');
    write('book.csv', 'pass\n1\n2\n3\n');
    await until(async () => / 3$/.test(await hint('day.leaf', 'passes =')), 'a CSV that was saved');
    fs.unlinkSync(path.join(dir, 'book.csv'));
    await until(async () => /^fault/.test(await hint('day.leaf', 'passes =')), 'a CSV that has gone');
    fs.writeFileSync(path.join(dir, 'other'), 'pass\n1\n'); fs.renameSync(path.join(dir, 'other'), path.join(dir, 'book.csv'));
    await until(async () => / 1$/.test(await hint('day.leaf', 'passes =')), 'a CSV that has come back');
  },
  async 'cancelled requests'() {
    const source = new rpc.CancellationTokenSource();
    edit('bike.leaf', 'top = last', 'top = last');
    const asked = c.sendRequest(lsp.ReferencesRequest.type, { ...td('bike.leaf'), position: place('bike.leaf', 'rear '), context: { includeDeclaration: true } }, source.token);
    source.cancel();
    await asked.then(() => {}, e => assert.equal(e.code, lsp.LSPErrorCodes.RequestCancelled));
    await c.sendRequest(lsp.DocumentSymbolRequest.type, td('bike.leaf')); // and it goes on
  },
  async 'closing and leaving'() {
    c.sendNotification(lsp.DidCloseTextDocumentNotification.type, td('day.leaf'));
    await until(() => errors('day.leaf').length === 0, 'nothing is wrong in what is closed');
    await c.sendRequest(lsp.ShutdownRequest.type);
    const left = new Promise(r => server.on('exit', r));
    c.sendNotification(lsp.ExitNotification.type);
    assert.equal(await left, 0, 'exit status');
  },
};

(async () => {
  for (const [name, feature] of Object.entries(features)) {
    try { await feature(); } catch (e) { console.error('FAIL ' + name + ': ' + (e.stack || e)); server.kill(); process.exit(1); }
    console.log('ok ' + name);
  }
  fs.rmSync(dir, { recursive: true });
})();
