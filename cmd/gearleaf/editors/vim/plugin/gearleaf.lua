-- Starts `gearleaf lsp` for worksheets in Neovim 0.7 and later, and shows the
-- value of every line at its end. Set vim.g.gearleaf_path for another program.
if vim.g.loaded_gearleaf then return end
vim.g.loaded_gearleaf = true

local space = vim.api.nvim_create_namespace('gearleaf')
local inlay = vim.lsp.inlay_hint -- from 0.10 on

-- show puts the values of a buffer at the ends of its lines.
local function show(client, buffer)
  if not vim.api.nvim_buf_is_loaded(buffer) then return end
  local lines = vim.api.nvim_buf_line_count(buffer)
  client.request('textDocument/inlayHint', {
    textDocument = { uri = vim.uri_from_bufnr(buffer) },
    range = { start = { line = 0, character = 0 }, ['end'] = { line = lines, character = 0 } },
  }, function(err, hints)
    if err or not hints or not vim.api.nvim_buf_is_loaded(buffer) then return end
    vim.api.nvim_buf_clear_namespace(buffer, space, 0, -1)
    for _, h in ipairs(hints) do
      if h.position.line < vim.api.nvim_buf_line_count(buffer) then
        local group = (h.label:match('^BROKEN') or h.label:match('^fault')) and 'DiagnosticVirtualTextError' or 'Comment'
        vim.api.nvim_buf_set_extmark(buffer, space, h.position.line, 0, { virt_text = { { '  ' .. h.label, group } }, virt_text_pos = 'eol' })
      end
    end
  end, buffer)
end

-- refresh shows the values of every buffer of a client again.
local function refresh(id)
  local client = vim.lsp.get_client_by_id(id)
  if client and client.attached_buffers then
    for buffer in pairs(client.attached_buffers) do show(client, buffer) end
  end
end

local handlers = {}
if not inlay then
  handlers['workspace/inlayHint/refresh'] = function(_, _, context)
    refresh(context.client_id)
    return vim.NIL
  end
end

local clients = {} -- by folder

local function start(buffer)
  local file = vim.api.nvim_buf_get_name(buffer)
  if file == '' then return end
  local folder = vim.fn.fnamemodify(file, ':p:h')
  local id = clients[folder]
  if not id or not vim.lsp.get_client_by_id(id) then
    local capabilities = vim.lsp.protocol.make_client_capabilities()
    capabilities.workspace.inlayHint = { refreshSupport = true }
    id = vim.lsp.start_client({
      name = 'gearleaf',
      cmd = { vim.g.gearleaf_path or 'gearleaf', 'lsp' },
      root_dir = folder,
      capabilities = capabilities,
      handlers = handlers,
      on_attach = function(client, attached)
        if inlay then
          inlay.enable(true, { bufnr = attached })
        else
          show(client, attached)
        end
      end,
    })
    clients[folder] = id
  end
  if id then vim.lsp.buf_attach_client(buffer, id) end
end

vim.api.nvim_create_autocmd('FileType', { pattern = 'gearleaf', callback = function(args) start(args.buf) end })
