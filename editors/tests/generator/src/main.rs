//! Writes `src/parser.c` of the tree-sitter grammar anew from its `grammar.js`.

use std::path::Path;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("name the folder of the grammar")?;
    let grammar = Path::new(&folder).join("grammar.js");
    let grammar = grammar.to_str().ok_or("the folder's name is no UTF-8")?;
    // Version 14 is read by Neovim 0.9, Helix 23 and Emacs 29 as well as by what came after them.
    tree_sitter_generate::generate_parser_in_directory(
        Path::new(&folder),
        None,
        Some(grammar),
        14,
        None,
        None,
    )?;
    Ok(())
}
