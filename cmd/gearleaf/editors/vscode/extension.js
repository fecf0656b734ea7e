// Starts `gearleaf lsp` for worksheets. The client that speaks with it is
// vscode-languageclient, bundled in languageclient.js so that nothing is
// fetched when this folder is packed or installed.
const vscode = require('vscode');
const { LanguageClient } = require('./languageclient.js');

let client;

function activate() {
  const command = vscode.workspace.getConfiguration('gearleaf').get('path') || 'gearleaf';
  client = new LanguageClient('gearleaf', 'Gearleaf', { command, args: ['lsp'] }, {
    documentSelector: [{ scheme: 'file', language: 'gearleaf' }],
  });
  client.start().catch(e =>
    vscode.window.showErrorMessage(`${command} lsp cannot be started (${e.message}). Put gearleaf on the path, or set gearleaf.path.`));
}

function deactivate() { return client && client.stop(); }

module.exports = { activate, deactivate };
