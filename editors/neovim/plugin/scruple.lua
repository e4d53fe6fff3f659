-- Starts `scruple lsp` for ledgers: by the settings in lsp/scruple.lua, or by hand where Neovim is older.

if vim.lsp.enable then
  vim.lsp.enable('scruple')
  return
end

-- The nearest folder above a file that holds a ledger or a repository; else the file's own.
local function root_of(path)
  local own = vim.fn.fnamemodify(path, ':p:h')
  local folder = own
  while true do
    if vim.fn.filereadable(folder .. '/practice.scruple') == 1 or vim.fn.isdirectory(folder .. '/.git') == 1 then
      return folder
    end
    local above = vim.fn.fnamemodify(folder, ':h')
    if above == folder then
      return own
    end
    folder = above
  end
end

local clients = {}

local function start(buffer)
  if vim.fn.executable('scruple') == 0 then
    return
  end
  local root = root_of(vim.api.nvim_buf_get_name(buffer))
  local config = { name = 'scruple', cmd = { 'scruple', 'lsp' }, root_dir = root }
  if vim.lsp.start then
    vim.lsp.start(config, { bufnr = buffer })
    return
  end
  -- Neovim 0.7
  if not (clients[root] and vim.lsp.get_client_by_id(clients[root])) then
    clients[root] = vim.lsp.start_client(config)
  end
  if clients[root] then
    vim.lsp.buf_attach_client(buffer, clients[root])
  end
end

vim.api.nvim_create_autocmd('FileType', {
  pattern = 'scruple',
  callback = function(event)
    start(event.buf or vim.api.nvim_get_current_buf())
  end,
})
