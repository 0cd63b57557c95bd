//! What never happens in this project, as far as its sources and its dependency tree can tell.

use gaugerod_tests::program::tool;
use gaugerod_tests::sources::{Source, rust_files, top};

/// Lines of product code that name one of `banned`, as `path:line: text`.
fn lines_naming(sources: &[Source], banned: &[&str]) -> Vec<String> {
    let mut found = Vec::new();
    for source in sources {
        for (number, line) in source.product_lines() {
            if banned.iter().any(|word| line.contains(word)) {
                found.push(format!("{}:{number}: {}", source.path, line.trim()));
            }
        }
    }
    found
}

#[track_caller]
fn none(found: &[String], rule: &str) {
    assert!(found.is_empty(), "{rule}:\n{}", found.join("\n"));
}

#[test]
fn core_never_reaches_a_window() {
    let manifest = top().join("Cargo.toml");
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
    let tree = tool(
        &cargo,
        [
            "tree",
            "--offline",
            "--locked",
            "--manifest-path",
            manifest.to_str().expect("a path in UTF-8"),
            "--package",
            "gaugerod-core",
            "--edges",
            "normal,build",
            "--prefix",
            "none",
        ],
    )
    .expect_code(0);
    let crates: Vec<&str> = tree.out.lines().filter_map(|line| line.split_whitespace().next()).collect();
    assert!(crates.contains(&"rusqlite"), "the tree is not the one of the core:\n{}", tree.out);
    let windows = ["egui", "eframe", "winit", "glow", "glutin", "rfd", "wgpu", "accesskit"];
    let reached: Vec<String> =
        windows.iter().filter(|w| crates.contains(w)).map(|w| (*w).to_owned()).collect();
    none(&reached, "core depends on a window");
}

#[test]
fn core_has_no_ambient_time_randomness_locale_or_environment() {
    let banned = [
        "SystemTime::now",
        "Instant::now",
        "Utc::now",
        "Local::now",
        "OsRng",
        "thread_rng",
        "std::env::",
        "env::var",
        "getrandom",
        "chrono::Local",
    ];
    // Tests may be told to write a fixture; the product may be told nothing.
    let mut sources = rust_files(&["core/src"]);
    sources.retain(|source| !source.is_test());
    none(&lines_naming(&sources, &banned), "core reads its surroundings");
}

#[test]
fn only_the_store_speaks_to_sqlite() {
    let mut sources = rust_files(&["core/src", "app/src"]);
    sources.retain(|s| !s.path.starts_with("core/src/store/"));
    none(&lines_naming(&sources, &["rusqlite"]), "rusqlite is used outside core/src/store");
}

#[test]
fn conformity_does_no_input_or_output_and_reads_no_clock() {
    let mut sources = rust_files(&["core/src"]);
    sources.retain(|s| s.path.starts_with("core/src/conformity"));
    assert!(!sources.is_empty(), "core/src/conformity is gone");
    none(
        &lines_naming(&sources, &["std::fs", "std::io", "std::net", "Clock", "println!"]),
        "conformity is pure",
    );
}

#[test]
fn painting_does_no_slow_work() {
    let banned = [
        "std::fs",
        "File::open",
        "fs::read",
        "Sha256::",
        "Sha256Digest::of",
        "argon2",
        "lopdf",
        "image::load",
        "zune_jpeg",
    ];
    let sources = rust_files(&["app/src/screens", "app/src/widgets"]);
    none(&lines_naming(&sources, &banned), "a screen works on disk, hashes or decodes");
}

#[test]
fn colours_come_from_the_theme() {
    let sources = rust_files(&["app/src/screens", "app/src/widgets"]);
    let banned = ["Color32::from_rgb", "Color32::RED", "Color32::GREEN", "Color32::YELLOW", "Color32::BLUE"];
    none(&lines_naming(&sources, &banned), "a colour is named outside theme.rs");
}

#[test]
fn no_test_is_ignored_expected_to_panic_or_asleep() {
    // Put together here so that this file does not find itself.
    let banned = [concat!("#[ign", "ore"), concat!("should_", "panic"), concat!("thread::", "sleep")];
    let mut found = Vec::new();
    for source in rust_files(&["app", "core", "tests"]) {
        // The poll of the screen's trace is the one wait, bounded by its deadline.
        if source.path == "tests/support/window.rs" {
            continue;
        }
        for (i, line) in source.text.lines().enumerate() {
            if banned.iter().any(|word| line.contains(word)) {
                found.push(format!("{}:{}: {}", source.path, i + 1, line.trim()));
            }
        }
    }
    none(&found, "tests neither hide nor sleep");
}

#[test]
fn every_module_opens_with_what_it_is_for() {
    let mut found = Vec::new();
    for source in rust_files(&["app", "core", "tests"]) {
        if !source.is_test() && !source.text.starts_with("//!") {
            found.push(source.path);
        }
    }
    none(&found, "a file opens without //!");
}

/// The order of the core's modules: a module names those before it, never those after it.
const ORDER: [&[&str]; 10] = [
    &["ids", "time", "quantity", "faults"],
    &["conformity", "working"],
    &["floor"],
    &["reckon"],
    &["plan_of_work", "photo", "level_book_csv", "temperature_csv"],
    &["entry"],
    &["record", "identity", "inspection"],
    &["store", "plan_drawing", "chart"],
    &["register"],
    &["signoff"],
];

#[test]
fn core_modules_point_one_way() {
    let rank = |module: &str| ORDER.iter().position(|level| level.contains(&module));
    let mut found = Vec::new();
    for source in rust_files(&["core/src"]) {
        let module = source.path["core/src/".len()..].split(['/', '.']).next().unwrap_or_default().to_owned();
        if module == "lib" {
            continue;
        }
        let own = rank(&module).unwrap_or_else(|| panic!("module {module} has no place in ORDER"));
        for (number, line) in source.product_lines() {
            for named in line.split("crate::").skip(1) {
                let named: String =
                    named.chars().take_while(|c| c.is_ascii_lowercase() || *c == '_').collect();
                if rank(&named).is_some_and(|other| other > own) {
                    found.push(format!("{}:{number}: {module} names {named}", source.path));
                }
            }
        }
    }
    none(&found, "a module of the core points back");
}
