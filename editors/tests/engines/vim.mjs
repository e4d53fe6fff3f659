// Vim itself, and Neovim: the group under each place, asked of `synID`.

import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { delimiter, join } from "node:path";
import { root } from "../corpus.mjs";
import { fakeServer, run, scratch, versionOf } from "../tools.mjs";

const runtime = join(root, "editors/vim");

const START = `
set encoding=utf-8
set runtimepath^=${runtime}
filetype plugin indent on
syntax on

" A group of ours may be linked to the one that it is coloured as.
function! Group(line, column) abort
  let l:names = [synIDattr(synID(a:line, a:column, 1), 'name')]
  while !empty(l:names[-1])
    let l:next = matchstr(execute('highlight ' . l:names[-1]), 'links to \\zsscruple\\w\\+')
    if empty(l:next)
      break
    endif
    call add(l:names, l:next)
  endwhile
  return join(l:names, ' ')
endfunction

function! Probe() abort
  let l:out = []
  for [l:path, l:points] in json_decode(join(readfile($SCRUPLE_ASKED), "\\n"))
    execute 'edit ' . fnameescape(l:path)
    if &filetype !=# 'scruple' || &commentstring !=# '# %s' || &shiftwidth != 2 || empty(&indentexpr)
      throw 'the file type is ' . &filetype . ', or its settings are not those of scruple'
    endif
    call add(l:out, map(copy(l:points), {_, point -> Group(point[0] + 1, point[1] + 1)}))
  endfor
  return l:out
endfunction

function! Type() abort
  enew
  setfiletype scruple
  execute "normal iformula short tea\\<CR>take\\<CR>mint   2 g\\<CR>part   3 g\\<Esc>"
  return getline(1, '$')
endfunction

function! Answer(asked) abort
  try
    let l:answer = a:asked()
  catch
    let l:answer = v:exception . ' at ' . v:throwpoint
  endtry
  call writefile([json_encode(l:answer)], $SCRUPLE_FOUND)
  qall!
endfunction
`;

const TYPED = ["formula short tea", "  take", "    mint   2 g", "    part   3 g"];

function engine(name, program, words) {
  const asked = join(scratch, `${name}-asked.json`);
  const found = join(scratch, `${name}-found.json`);
  const answer = (question) => {
    const script = join(scratch, `${name}-${question}.vim`);
    writeFileSync(script, `${START}\ncall Answer(function('${question}'))\n`);
    run(program, [...words, "-S", script], {
      env: { ...process.env, SCRUPLE_ASKED: asked, SCRUPLE_FOUND: found, TERM: "dumb", HOME: scratch },
    });
    const said = JSON.parse(readFileSync(found, "utf8"));
    if (typeof said === "string") throw new Error(said);
    return said;
  };
  return {
    name,
    prepare: () => versionOf(program),
    probe: (files) => {
      writeFileSync(asked, JSON.stringify(files.map(({ path, points }) => [path, points.map(({ line, byte }) => [line, byte])])));
      return answer("Probe");
    },
    // what has no colour may still stand in the region of its line
    says: (names, { vim }) => (vim === undefined ? /^(scrupleLineOf(Steps|Dose))?$/.test(names) : names.split(" ").includes(vim)),
    more: () => {
      const typed = answer("Type");
      if (JSON.stringify(typed) !== JSON.stringify(TYPED)) throw new Error(`typed lines are indented so: ${JSON.stringify(typed)}`);
      return ", lines indented as they are typed";
    },
  };
}

export const vim = engine("vim", "vim", ["-u", "NONE", "-i", "NONE", "-n", "-N", "-es", "-X"]);

const headless = ["-u", "NONE", "-i", "NONE", "-n", "--headless"];
const plain = engine("neovim", "nvim", headless);

export const neovim = {
  ...plain,
  more: () => `${plain.more()}, ${starts()}, ${parses()}`,
};

/** Opens an example with both folders in the runtime path, and looks at what the server was told. */
function starts() {
  const { folder, told } = fakeServer();
  const script = join(scratch, "neovim-lsp.vim");
  const opened = join(root, "examples/low-barn/formulas/supper.scruple");
  writeFileSync(
    script,
    `set runtimepath^=${runtime},${join(root, "editors/neovim")}
runtime! plugin/scruple.lua
filetype plugin on
edit ${opened}
call wait(8000, {-> filereadable($SCRUPLE_NOTES) && join(readfile($SCRUPLE_NOTES)) =~# 'didOpen'})
qall!
`,
  );
  run("nvim", [...headless, "-S", script], {
    env: { ...process.env, PATH: `${folder}${delimiter}${process.env.PATH}`, SCRUPLE_NOTES: told.path, HOME: scratch },
  });
  const said = told.read();
  const expected = [
    { words: ["lsp"] },
    { method: "initialize", root: `file://${join(root, "examples/low-barn")}` },
    { method: "textDocument/didOpen", uri: `file://${opened}`, language: "scruple" },
  ];
  if (JSON.stringify(said) !== JSON.stringify(expected)) throw new Error(`the language server was told ${JSON.stringify(said)}`);
  return "`scruple lsp` started and told of the file";
}

/** Loads the parser as Neovim does, with the queries of editors/neovim, and looks at what they find. */
function parses() {
  const runtime = join(scratch, "neovim-runtime");
  const grammar = join(root, "grammar/tree-sitter/src");
  mkdirSync(join(runtime, "parser"), { recursive: true });
  run("cc", ["-shared", "-fPIC", "-O0", `-I${grammar}`, join(grammar, "parser.c"), join(grammar, "scanner.c"), "-o", join(runtime, "parser/scruple.so")]);
  const found = join(scratch, "neovim-captures.json");
  const script = join(scratch, "neovim-parser.lua");
  writeFileSync(
    script,
    `local out = {}
local done, fault = pcall(function()
  vim.cmd('edit ${join(root, "examples/first-blend/practice.scruple")}')
  local tree = vim.treesitter.get_parser(0, 'scruple'):parse()[1]
  local get = vim.treesitter.query.get or vim.treesitter.query.get_query
  for _, name in ipairs({ 'highlights', 'folds', 'injections', 'textobjects' }) do
    local query = get('scruple', name)
    local count = 0
    for _ in query:iter_captures(tree:root(), 0, 0, -1) do count = count + 1 end
    out[name] = count
  end
end)
vim.fn.writefile({ vim.fn.json_encode(done and out or tostring(fault)) }, '${found}')
vim.cmd('qall!')
`,
  );
  run("nvim", [...headless, "--cmd", `set runtimepath^=${runtime},${join(root, "editors/neovim")}`, "-c", `luafile ${script}`], {
    env: { ...process.env, HOME: scratch },
  });
  const counts = JSON.parse(readFileSync(found, "utf8"));
  if (typeof counts === "string" || Object.values(counts).some((count) => count === 0)) throw new Error(`the queries find ${JSON.stringify(counts)}`);
  return `its tree-sitter finds ${counts.highlights} colours and ${counts.folds} folds in an example`;
}
