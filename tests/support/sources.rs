//! The project's own source files, for tests that hold them to the architecture.

use std::path::{Path, PathBuf};

/// One Rust source file: path from the top of the project, and its text.
pub struct Source {
    /// Path from the top of the project, with `/` between its parts.
    pub path: String,
    /// Whole text.
    pub text: String,
}

impl Source {
    /// Whether the file holds unit tests alone.
    pub fn is_test(&self) -> bool {
        self.path.ends_with("tests.rs") || self.path.starts_with("tests/") || self.path.contains("/tests/")
    }

    /// The lines of code that run in the product: without comments and without the unit tests at the file's foot.
    pub fn product_lines(&self) -> impl Iterator<Item = (usize, &str)> {
        let code = if self.is_test() { "" } else { self.text.as_str() };
        let code = code.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
        code.lines()
            .enumerate()
            .map(|(i, line)| (i + 1, line))
            .filter(|(_, line)| !line.trim_start().starts_with("//"))
    }
}

/// The top folder of the project.
pub fn top() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the tests lie one folder below the top")
}

/// Every Rust file below the given folders, in order of their paths.
pub fn rust_files(folders: &[&str]) -> Vec<Source> {
    let mut found = Vec::new();
    for folder in folders {
        walk(&top().join(folder), &mut found);
    }
    found.sort_by(|a, b| a.path.cmp(&b.path));
    assert!(!found.is_empty(), "no Rust file below {folders:?}");
    found
}

fn walk(folder: &Path, found: &mut Vec<Source>) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for path in entries.map(|entry| entry.expect("a folder of the project can be read").path()) {
        if path.is_dir() {
            walk(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(Source {
                path: from_top(&path),
                text: std::fs::read_to_string(&path).expect("a source is text"),
            });
        }
    }
}

fn from_top(path: &Path) -> String {
    let rest: PathBuf = path.strip_prefix(top()).expect("below the top").to_path_buf();
    rest.to_string_lossy().replace('\\', "/")
}
