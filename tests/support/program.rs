//! The built program as a child process, with settings, device and home folder of its own.

use std::ffi::OsStr;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// What one run of the program left behind.
#[derive(Debug)]
pub struct Ran {
    /// Exit code; `None` if a signal ended it.
    pub code: Option<i32>,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Ran {
    /// The run, if it ended with `code`; otherwise the test fails with all that the program said.
    #[expect(
        clippy::return_self_not_must_use,
        reason = "the check is the point; the run itself is often of no more use"
    )]
    #[track_caller]
    pub fn expect_code(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "standard output:\n{}\nstandard error:\n{}", self.out, self.err);
        assert!(!self.err.contains("panicked at"), "the program panicked:\n{}", self.err);
        self
    }

    /// Fails unless `text` stands in what was said on standard error, letter case aside.
    #[track_caller]
    pub fn says(&self, text: &str) -> &Self {
        assert!(
            self.err.to_lowercase().contains(&text.to_lowercase()),
            "{text:?} is not said in:\n{}",
            self.err
        );
        self
    }

    /// Standard output as JSON.
    #[track_caller]
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("not JSON ({e}):\n{}", self.out))
    }
}

/// The program that was built with these tests: it lies two folders above the running test program.
/// GAUGEROD_PROGRAM names another one.
pub fn path() -> PathBuf {
    if let Some(other) = std::env::var_os("GAUGEROD_PROGRAM") {
        return PathBuf::from(other);
    }
    let here = std::env::current_exe().expect("a running program has a path");
    let folder = here.parent().and_then(Path::parent).expect("test programs lie in target/release/deps");
    let program = folder.join("gaugerod");
    assert!(
        program.exists(),
        "{} is not built: run `cargo build --workspace --all-targets --release`",
        program.display()
    );
    program
}

/// A tablet: a folder for registers and files, and apart from it the program's own settings and device keys.
pub struct Tablet {
    folder: tempfile::TempDir,
}

impl Default for Tablet {
    fn default() -> Self {
        Self::new()
    }
}

impl Tablet {
    /// A tablet that has never seen the program.
    pub fn new() -> Self {
        let folder =
            tempfile::Builder::new().prefix("gaugerod-journey-").tempdir().expect("a temporary folder");
        for part in ["site", "home"] {
            std::fs::create_dir(folder.path().join(part)).expect("a folder in a new temporary folder");
        }
        Self { folder }
    }

    /// A file or folder among the site's files.
    pub fn site(&self, name: &str) -> PathBuf {
        self.folder.path().join("site").join(name)
    }

    /// Writes a file among the site's files and returns its path.
    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) -> PathBuf {
        let file = self.site(name);
        std::fs::write(&file, content).expect("the site's folder can be written");
        file
    }

    /// The program with `args`, working in the site's folder, not yet started.
    pub fn command<S: AsRef<OsStr>>(&self, args: impl IntoIterator<Item = S>) -> Command {
        let mut command = Command::new(path());
        self.furnish(&mut command);
        command.args(args);
        command
    }

    /// Gives any command this tablet's folders and nothing of this machine's own settings.
    pub fn furnish(&self, command: &mut Command) {
        let home = self.folder.path().join("home");
        command
            .current_dir(self.site(""))
            .env("HOME", &home)
            .env("XDG_CONFIG_HOME", home.join("config"))
            .env("XDG_DATA_HOME", home.join("data"))
            .env("XDG_STATE_HOME", home.join("state"))
            .env("XDG_CACHE_HOME", home.join("cache"))
            .env("TZ", "UTC")
            .env("LC_ALL", "C.UTF-8")
            .env_remove("DISPLAY")
            .env_remove("WAYLAND_DISPLAY");
    }

    /// Runs the program with `args` and nothing on standard input.
    pub fn run<S: AsRef<OsStr>>(&self, args: impl IntoIterator<Item = S>) -> Ran {
        self.run_with_input(args, "")
    }

    /// Runs the program with `args` and `input` on standard input.
    pub fn run_with_input<S: AsRef<OsStr>>(
        &self,
        args: impl IntoIterator<Item = S>,
        input: impl AsRef<[u8]>,
    ) -> Ran {
        finish(self.command(args), input.as_ref())
    }
}

/// Starts a command, hands it `input` and waits for its end.
pub fn finish(mut command: Command, input: &[u8]) -> Ran {
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap_or_else(|e| panic!("{command:?} does not start: {e}"));
    let mut pipe = child.stdin.take().expect("standard input is a pipe");
    let input = input.to_vec();
    // A program that refuses its arguments does not read its input: a broken pipe is no fault of it.
    let writer = std::thread::spawn(move || drop(pipe.write_all(&input)));
    let output = child.wait_with_output().expect("a started program can be waited for");
    writer.join().expect("the writer does not panic");
    Ran {
        code: output.status.code(),
        out: String::from_utf8_lossy(&output.stdout).into_owned(),
        err: String::from_utf8_lossy(&output.stderr).into_owned(),
    }
}

/// Runs a tool of the machine (pdftotext, qpdf, …) and returns what it printed.
pub fn tool<S: AsRef<OsStr>>(name: &str, args: impl IntoIterator<Item = S>) -> Ran {
    let mut command = Command::new(name);
    command.args(args).env("LC_ALL", "C.UTF-8").env("TZ", "UTC");
    finish(command, b"")
}
