//! The real window on a screen of its own (Xvfb), driven by pointer and keys (xdotool) and watched through the
//! program's trace of what is on screen. Every wait ends with what it waited for or with the one deadline.

use std::fs::File;
use std::io::{BufRead, BufReader, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::program::{self, Tablet, tool};
use crate::sources::top;

/// Between two looks at the trace.
const POLL: Duration = Duration::from_millis(15);

/// One thing on screen: what it is called and where it is, in pixels of the window.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// The accessible name.
    pub label: String,
    /// What it is (`button`, `label`, `text input`, …).
    pub role: String,
    /// What has been typed into it.
    pub value: Option<String>,
    /// Whether it can be used.
    pub enabled: bool,
    /// Whether the keyboard writes into it.
    pub focused: bool,
    /// Left, top, width, height.
    pub rect: [f64; 4],
}

/// What was on screen when it last changed.
#[derive(Debug, Clone, Default)]
pub struct Frame {
    /// Number of the frame.
    pub number: u64,
    /// Name of the screen.
    pub screen: String,
    /// Everything with a name.
    pub items: Vec<Item>,
}

impl Frame {
    fn read(line: &str) -> Option<Self> {
        let value: Value = serde_json::from_str(line).ok()?;
        let items = value["items"].as_array()?.iter().map(|item| Item {
            label: item["label"].as_str().unwrap_or_default().to_owned(),
            role: item["role"].as_str().unwrap_or_default().to_owned(),
            value: item["value"].as_str().map(str::to_owned),
            enabled: item["enabled"].as_bool().unwrap_or(true),
            focused: item["focused"].as_bool().unwrap_or(false),
            rect: std::array::from_fn(|i| item["rect"][i].as_f64().unwrap_or_default()),
        });
        Some(Self {
            number: value["frame"].as_u64()?,
            screen: value["screen"].as_str()?.to_owned(),
            items: items.collect(),
        })
    }

    /// The thing of exactly this name, one that can be pressed before one that can only be read.
    pub fn item(&self, label: &str) -> Option<&Item> {
        self.best(|item| item.label == label)
    }

    /// The thing whose name contains `part`, one that can be pressed before one that can only be read.
    pub fn containing(&self, part: &str) -> Option<&Item> {
        self.best(|item| item.label.contains(part))
    }

    /// The thing whose name begins with `start`, one that can be pressed before one that can only be read.
    pub fn starting(&self, start: &str) -> Option<&Item> {
        self.best(|item| item.label.starts_with(start))
    }

    fn best(&self, fits: impl Fn(&Item) -> bool) -> Option<&Item> {
        let mut fitting = self.items.iter().filter(|item| fits(item));
        let pressed = self
            .items
            .iter()
            .find(|item| fits(item) && item.enabled && !matches!(item.role.as_str(), "label" | "text"));
        pressed.or_else(|| fitting.next())
    }
}

/// The program in a window on a screen of its own.
pub struct Window {
    screen: Child,
    display: String,
    program: Child,
    id: String,
    corner: (f64, f64),
    trace: PathBuf,
    read: u64,
    last: Frame,
    deadline: Instant,
    pictures: u32,
}

impl Window {
    /// Opens the program's window on a new screen of `size` pixels; everything must be done before `time` is over.
    pub fn open(tablet: &Tablet, args: &[&str], size: (u32, u32), time: Duration) -> Self {
        let deadline = Instant::now() + time;
        let mut screen = Command::new("Xvfb")
            .args(["-displayfd", "1", "-nolisten", "tcp", "-noreset", "-screen", "0"])
            .arg(format!("{}x{}x24", size.0, size.1))
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xvfb is installed");
        let mut number = String::new();
        BufReader::new(screen.stdout.take().expect("a pipe"))
            .read_line(&mut number)
            .expect("Xvfb names its display");
        let display = format!(":{}", number.trim());
        let trace = tablet.site("trace.jsonl");
        let log = std::fs::File::create(tablet.site("window.log")).expect("a log file");
        let mut command = Command::new(program::path());
        tablet.furnish(&mut command);
        command
            .args(args)
            .arg("--trace-ui")
            .arg(&trace)
            .env("DISPLAY", &display)
            .env("LIBGL_ALWAYS_SOFTWARE", "1")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(log);
        let program = command.spawn().expect("the program starts");
        let mut window = Self {
            screen,
            display,
            program,
            id: String::new(),
            corner: (0.0, 0.0),
            trace,
            read: 0,
            last: Frame::default(),
            deadline,
            pictures: 0,
        };
        window.until("the first frame", |frame| (frame.number > 0 || !frame.items.is_empty()).then_some(()));
        window.focus(size);
        window
    }

    fn xdotool<const N: usize>(&self, args: [&str; N]) -> String {
        let mut command = Command::new("xdotool");
        command.args(args).env("DISPLAY", &self.display);
        program::finish(command, b"").out
    }

    /// There is no window manager: the keyboard is given to the window by hand.
    fn focus(&mut self, size: (u32, u32)) {
        let id = self.program.id().to_string();
        let deadline = self.deadline;
        while self.id.is_empty() {
            assert!(Instant::now() < deadline, "no window appears");
            let found = self.xdotool(["search", "--onlyvisible", "--pid", &id]);
            let found = if found.trim().is_empty() {
                self.xdotool(["search", "--onlyvisible", "--name", "Gaugerod"])
            } else {
                found
            };
            found.lines().last().unwrap_or_default().clone_into(&mut self.id);
            std::thread::sleep(POLL);
        }
        self.xdotool(["windowmove", "--sync", &self.id, "0", "0"]);
        self.xdotool(["windowsize", "--sync", &self.id, &size.0.to_string(), &size.1.to_string()]);
        self.xdotool(["windowfocus", "--sync", &self.id]);
        let geometry = self.xdotool(["getwindowgeometry", "--shell", &self.id]);
        let read = |key: &str| {
            geometry
                .lines()
                .find_map(|l| l.strip_prefix(key))
                .and_then(|v| v.parse::<f64>().ok())
                .unwrap_or_default()
        };
        self.corner = (read("X="), read("Y="));
    }

    /// What is on screen now.
    pub fn frame(&mut self) -> Frame {
        let mut bytes = Vec::new();
        if let Ok(mut file) = File::open(&self.trace)
            && file.seek(SeekFrom::Start(self.read)).is_ok()
            && file.read_to_end(&mut bytes).is_ok()
            && let Some(end) = bytes.iter().rposition(|b| *b == b'\n')
        {
            self.read += u64::try_from(end).expect("a file's length") + 1;
            let text = String::from_utf8_lossy(&bytes[..end]);
            if let Some(frame) = text.lines().next_back().and_then(Frame::read) {
                self.last = frame;
            }
        }
        self.last.clone()
    }

    /// Waits until `found` sees what it looks for, and returns that.
    #[track_caller]
    pub fn until<T>(&mut self, what: &str, found: impl Fn(&Frame) -> Option<T>) -> T {
        loop {
            let frame = self.frame();
            if let Some(answer) = found(&frame) {
                return answer;
            }
            let ended = self.program.try_wait().expect("a child can be asked");
            if ended.is_some() || Instant::now() > self.deadline {
                self.picture("failed");
                let labels: Vec<&str> = frame.items.iter().map(|i| i.label.as_str()).collect();
                let log =
                    std::fs::read_to_string(self.trace.with_file_name("window.log")).unwrap_or_default();
                panic!(
                    "waiting for {what} on screen {:?} ({ended:?})\n{log}\nseen: {labels:#?}",
                    frame.screen
                );
            }
            std::thread::sleep(POLL);
        }
    }

    /// Waits for a thing of exactly this name.
    #[track_caller]
    pub fn see(&mut self, label: &str) -> Item {
        self.until(&format!("{label:?}"), |frame| frame.item(label).cloned())
    }

    /// Waits for a thing whose name contains `part`.
    #[track_caller]
    pub fn see_part(&mut self, part: &str) -> Item {
        self.until(&format!("…{part:?}…"), |frame| frame.containing(part).cloned())
    }

    /// Waits until a screen is up.
    #[track_caller]
    pub fn on_screen(&mut self, name: &str) {
        self.until(&format!("screen {name:?}"), |frame| (frame.screen == name).then_some(()));
    }

    /// Waits until a thing can be used and presses the pointer on its middle.
    #[track_caller]
    pub fn click(&mut self, label: &str) {
        let item = self.settled(&format!("{label:?} to press"), |frame| frame.item(label));
        self.press(&item);
    }

    /// Waits for a thing whose name contains `part` and presses the pointer on its middle.
    #[track_caller]
    pub fn click_part(&mut self, part: &str) {
        let item = self.settled(&format!("…{part:?}…"), |frame| frame.containing(part));
        self.press(&item);
    }

    /// Waits for a thing whose name begins with `start` and presses the pointer on its middle.
    #[track_caller]
    pub fn click_start(&mut self, start: &str) {
        let item = self.settled(&format!("{start:?}…"), |frame| frame.starting(start));
        self.press(&item);
    }

    /// Waits until a thing can be used and has stayed where it is for some looks: a sheet may take a frame or two
    /// until everything on it has its place.
    #[track_caller]
    fn settled(&mut self, what: &str, find: impl Fn(&Frame) -> Option<&Item>) -> Item {
        let mut last: Option<Item> = None;
        let mut looks = 0;
        loop {
            let item = self.until(what, |frame| find(frame).filter(|item| item.enabled).cloned());
            looks = if last.as_ref() == Some(&item) { looks + 1 } else { 0 };
            if looks == 6 {
                return item;
            }
            last = Some(item);
            std::thread::sleep(POLL);
        }
    }

    /// Presses the pointer on the middle of a thing.
    pub fn press(&self, item: &Item) {
        let [x, y, w, h] = item.rect;
        let (x, y) = (self.corner.0 + x + w / 2.0, self.corner.1 + y + h / 2.0);
        let (x, y) = (format!("{x:.0}"), format!("{y:.0}"));
        self.xdotool(["mousemove", &x, &y, "click", "1"]);
    }

    /// Draws a stroke over a thing, as a finger signs: points are shares of its width and height.
    pub fn stroke(&self, item: &Item, points: &[(f64, f64)]) {
        let at = |(px, py): (f64, f64)| {
            let [x, y, w, h] = item.rect;
            (format!("{:.0}", self.corner.0 + x + w * px), format!("{:.0}", self.corner.1 + y + h * py))
        };
        for (i, point) in points.iter().enumerate() {
            let (x, y) = at(*point);
            self.xdotool(["mousemove", "--sync", &x, &y]);
            if i == 0 {
                self.xdotool(["mousedown", "1"]);
            }
        }
        self.xdotool(["mouseup", "1"]);
    }

    /// Types on the keyboard.
    pub fn write(&self, text: &str) {
        self.xdotool(["type", "--delay", "8", text]);
    }

    /// Presses a key by its X name (`Return`, `ctrl+a`).
    pub fn key(&self, name: &str) {
        self.xdotool(["key", name]);
    }

    /// Drops files on the middle of a thing, as from a file manager.
    #[track_caller]
    pub fn drop_files(&self, item: &Item, files: &[PathBuf]) {
        let [x, y, w, h] = item.rect;
        let (x, y) = (self.corner.0 + x + w / 2.0, self.corner.1 + y + h / 2.0);
        let mut command = Command::new(top().join("tests/.venv/bin/python"));
        command.arg(top().join("tests/support/drop_files.py"));
        command.args([&self.id, &format!("{x:.0}"), &format!("{y:.0}")]);
        command.args(files).env("DISPLAY", &self.display);
        program::finish(command, b"").expect_code(0);
    }

    /// Turns the wheel downwards over a thing.
    pub fn scroll_down(&self, item: &Item) {
        let [x, y, w, h] = item.rect;
        let (x, y) =
            (format!("{:.0}", self.corner.0 + x + w / 2.0), format!("{:.0}", self.corner.1 + y + h / 2.0));
        self.xdotool(["mousemove", &x, &y, "click", "5"]);
    }

    /// Keeps a picture of the screen under `tests/pictures`, numbered in order.
    pub fn picture(&mut self, name: &str) {
        self.pictures += 1;
        let folder = top().join("tests/pictures");
        std::fs::create_dir_all(&folder).expect("a folder for pictures");
        let file = folder.join(format!("{:02}-{name}.png", self.pictures));
        let done = tool("import", ["-display", &self.display, "-window", "root", &path_text(&file)]);
        assert_eq!(done.code, Some(0), "no picture of the screen: {}", done.err);
    }
}

fn path_text(path: &Path) -> String {
    path.to_str().expect("a path in UTF-8").to_owned()
}

impl Drop for Window {
    fn drop(&mut self) {
        for child in [&mut self.program, &mut self.screen] {
            // Already ended is as good.
            child.kill().ok();
            child.wait().ok();
        }
    }
}
