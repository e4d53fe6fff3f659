// Vim itself, and Neovim: the group under each place, asked of `synID`.

import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { root } from "../corpus.mjs";
import { run, scratch, versionOf } from "../tools.mjs";

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
export const neovim = engine("neovim", "nvim", ["-u", "NONE", "-i", "NONE", "-n", "--headless"]);
