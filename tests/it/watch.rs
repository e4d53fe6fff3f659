//! `watch`: what it makes of the contents of a folder, and the real program while files are saved in every way.

mod looks;
mod saves;
