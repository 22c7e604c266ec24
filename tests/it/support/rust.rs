//! The program's own sources, read as Rust and not as text, and its templates.
use std::path::{Path, PathBuf};

use proc_macro2::{TokenStream, TokenTree};

/// A file, by its path within `src`, and what is in it.
pub struct Source {
    pub path: PathBuf,
    pub file: syn::File,
}

/// All files of a folder of `src`, and of the folders in it.
pub fn sources(folder: &str) -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    walk(&root.join(folder), &mut found);
    let read = |file: PathBuf| {
        let text = std::fs::read_to_string(&file).unwrap();
        let path = file.strip_prefix(&root).unwrap().to_path_buf();
        Source { file: syn::parse_file(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display())), path }
    };
    found.sort();
    found.into_iter().map(read).collect()
}

/// The files of the templates, by their paths within `templates`, and what each says.
pub fn templates() -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates");
    let (mut found, mut folders) = (Vec::new(), vec![root.clone()]);
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(&root).unwrap().to_str().unwrap().to_owned();
                found.push((name, std::fs::read_to_string(path).unwrap()));
            }
        }
    }
    found
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            walk(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// The tokens of a macro's call, those in its brackets too.
pub fn flat(tokens: &TokenStream) -> Vec<TokenTree> {
    let mut all = Vec::new();
    for token in tokens.clone() {
        match token {
            TokenTree::Group(group) => all.extend(flat(&group.stream())),
            token => all.push(token),
        }
    }
    all
}
