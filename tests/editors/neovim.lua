-- Neovim without a screen, with nothing set up but the server: opens, types, hovers, completes, mends,
-- renames and tidies, by the editor's own commands, and looks at the buffers. Any Neovim from 0.7 on.
-- In the environment: SCRUPLE, the program; LEDGER, a copy of the demo ledger.

local ledger = vim.env.LEDGER
local supper = ledger .. "/formulas/supper.scruple"

local function fail(message)
  io.stderr:write("FAILED: " .. message .. "\n")
  vim.cmd("cquit 1")
end

local function check(condition, message)
  if not condition then fail(message) end
end

local function wait(what, condition)
  if not vim.wait(30000, condition, 20) then
    local all = vim.inspect(vim.diagnostic.get(0))
    fail("never came: " .. what .. "\n" .. table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), "\n") .. all)
  end
end

local function text(buffer)
  return table.concat(vim.api.nvim_buf_get_lines(buffer or 0, 0, -1, false), "\n")
end

-- The line, counted from zero, that holds a piece of text.
local function line_of(piece)
  for number, line in ipairs(vim.api.nvim_buf_get_lines(0, 0, -1, false)) do
    local start = line:find(piece, 1, true)
    if start then return number - 1, start - 1 end
  end
  fail("no line holds `" .. piece .. "`")
end

local function go_to(piece, further)
  local line, column = line_of(piece)
  vim.api.nvim_win_set_cursor(0, { line + 1, column + (further or 0) })
end

local function found(code)
  for _, one in ipairs(vim.diagnostic.get(0)) do
    if one.code == code then return one end
  end
end

local function main()
  vim.o.swapfile = false
  vim.cmd("edit " .. vim.fn.fnameescape(supper))
  local client
  local config = {
    name = "scruple",
    cmd = { vim.env.SCRUPLE, "lsp" },
    root_dir = ledger,
  }
  if vim.lsp.start then
    client = vim.lsp.start(config)
  else
    client = vim.lsp.start_client(config)
    vim.lsp.buf_attach_client(0, client)
  end
  check(client, "the server does not start")
  wait("the server", function()
    local running = vim.lsp.get_client_by_id(client)
    return running and running.initialized and vim.lsp.buf_is_attached(0, client)
  end)

  -- Hover, in the editor's own window.
  go_to("1 heaped teaspoon", 4)
  vim.lsp.buf.hover()
  local shown
  wait("the window of the hover", function()
    for _, window in ipairs(vim.api.nvim_list_wins()) do
      if vim.api.nvim_win_get_config(window).relative ~= "" then
        shown = text(vim.api.nvim_win_get_buf(window))
        return true
      end
    end
  end)
  check(shown:find("2.98 g", 1, true), "the hover says\n" .. shown)

  -- Typing a slip, which is told, and its quick fix.
  local line = line_of("rose petal ")
  vim.api.nvim_win_set_cursor(0, { line + 1, 0 })
  vim.api.nvim_feedkeys(
    vim.api.nvim_replace_termcodes("O    camomille flower   10 g<Esc>", true, false, true), "x", false)
  check(text():find("camomille flower", 1, true), "the slip is not typed")
  wait("the finding", function() return found("unknown-name") end)
  vim.api.nvim_feedkeys("ccx", "x", false)
  vim.api.nvim_buf_set_lines(0, line, line + 1, false, { "    rose petl   10 g" })
  wait("the other finding", function()
    local one = found("unknown-name")
    return one and one.message:find("rose petl", 1, true)
  end)
  local chosen
  vim.ui.select = function(items, options, choose)
    for at, item in ipairs(items) do
      local label = options.format_item and options.format_item(item) or ""
      if label:find("write `rose petal`", 1, true) then
        chosen = label
        return choose(item, at)
      end
    end
    fail("no fix among " .. vim.inspect(items))
  end
  go_to("rose petl", 2)
  vim.lsp.buf.code_action()
  wait("the fix", function() return text():find("    rose petal   10 g", 1, true) end)
  check(chosen, "nothing was chosen")
  wait("nothing more to find", function() return not found("unknown-name") end)

  -- Tidying, as formatting.
  if vim.lsp.buf.format then
    vim.lsp.buf.format({ async = false, timeout_ms = 20000 })
  else
    vim.lsp.buf.formatting_sync(nil, 20000)
  end
  check(text():find("    rose petal                    10 g", 1, true), "not tidied:\n" .. text())
  vim.api.nvim_buf_set_lines(0, line, line + 1, false, {})

  -- Completion, as the editor makes it from the answer.
  vim.api.nvim_buf_set_lines(0, line, line, false, { "    ging" })
  vim.api.nvim_win_set_cursor(0, { line + 1, 7 })
  local params = vim.lsp.util.make_position_params(0, vim.lsp.get_client_by_id(client).offset_encoding)
  params.position.character = 8
  local answers = vim.lsp.buf_request_sync(0, "textDocument/completion", params, 20000)
  local result = answers and answers[client] and answers[client].result
  check(result, "no completion: " .. vim.inspect(answers))
  local ginger
  for _, item in ipairs(result.items) do
    if item.label == "ginger rhizome" then ginger = item end
  end
  check(ginger, "ginger rhizome is not offered: " .. vim.inspect(result))
  vim.lsp.util.apply_text_edits({ ginger.textEdit }, 0, vim.lsp.get_client_by_id(client).offset_encoding)
  check(vim.api.nvim_buf_get_lines(0, line, line + 1, false)[1]:find("^    ginger rhizome  "), "not completed:\n" .. text())
  vim.api.nvim_buf_set_lines(0, line, line + 1, false, {})

  -- Renaming, in this file and in the one that declares it.
  go_to("orange peel", 3)
  vim.lsp.buf.rename("sweet orange peel")
  wait("the new name here", function() return text():find("    sweet orange peel ", 1, true) end)
  local declared
  wait("the new name where it is declared", function()
    for _, buffer in ipairs(vim.api.nvim_list_bufs()) do
      if buffer ~= vim.api.nvim_get_current_buf() and vim.api.nvim_buf_is_loaded(buffer)
        and text(buffer):find("herb sweet orange peel", 1, true) then
        declared = vim.api.nvim_buf_get_name(buffer)
      end
    end
    return declared
  end)
  check(declared:find("materia/", 1, true), "declared in " .. declared)
  wait("a ledger without a slip", function() return not found("unknown-name") end)
  io.stdout:write("the buffers say what they should\n")
  vim.cmd("qall!")
end

local fine, why = pcall(main)
if not fine then fail(tostring(why)) end
