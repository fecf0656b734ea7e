-- Waits for an error, asks for an explanation, and changes a name in two files.
local function check(ok, what)
  if not ok then
    io.stderr:write(what .. '\n')
    vim.cmd('cquit 1')
  end
end
local function wait(what, f) check(vim.wait(15000, f, 50), 'waited in vain for ' .. what) end

wait('an error', function() return #vim.diagnostic.get(0) > 0 end)
local found = vim.diagnostic.get(0)
check(found[1].lnum == 2 and found[1].message:find('length'), vim.inspect(found))

wait('values', function()
  local space = vim.api.nvim_get_namespaces().gearleaf
  if vim.lsp.inlay_hint then return true end
  return space and #vim.api.nvim_buf_get_extmarks(0, space, 0, -1, {}) > 0
end)

vim.fn.cursor(3, 8) -- on ratio
local answer = vim.lsp.buf_request_sync(0, 'textDocument/hover', vim.lsp.util.make_position_params(), 5000)
local text = vim.inspect(answer)
check(text:find('Final drive') and text:find('42 teeth / 17 teeth'), text)

vim.fn.cursor(2, 1) -- on rear
vim.lsp.buf.rename('rear_sprocket')
wait('the name in both files', function()
  local other = vim.fn.bufnr('bike.leaf')
  if other < 0 then return false end
  local here = table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), '\n')
  local there = table.concat(vim.api.nvim_buf_get_lines(other, 0, -1, false), '\n')
  return here:find('rear_sprocket : 42') and there:find('ratio = rear_sprocket / front')
end)

io.stdout:write('all is well\n')
vim.cmd('qall!')
