//! The main job in the real window, by pointer and keys: from the welcome sheet to a new register, people, a floor
//! design, every reading, answer and photograph, the releases and the signed document, which then verifies.
//! Pictures of each stage lie under tests/pictures afterwards, for people to look at.

use std::path::PathBuf;
use std::time::Duration;

use gaugerod_tests::floor_work::{GATES, Reading, answers, conforming_readings, subjects};
use gaugerod_tests::program::{Tablet, tool};
use gaugerod_tests::random::Random;
use gaugerod_tests::site::{House, MANAGER, SUPERVISOR, photo};
use gaugerod_tests::sources::top;
use gaugerod_tests::window::{Frame, Item, Window};

const PASSPHRASE: &str = "an invented passphrase of six words";
const PLOT: &str = "7";
/// The field for a place that the person names.
const OWN_PLACE: &str = "or another place, in your words";
/// One deadline for the whole journey.
const TIME: Duration = Duration::from_mins(9);

/// Titles of the shipped plan's hold points (short) and criteria, read from the file itself.
struct Titles(Vec<TitlesOf>);

/// A hold point's id and short title, and the ids and titles of its criteria.
type TitlesOf = (String, String, Vec<(String, String)>);

impl Titles {
    fn read() -> Self {
        let text = std::fs::read_to_string(top().join("assets/hold-points.toml")).expect("the shipped plan");
        let quoted = |line: &str| line.split('"').nth(1).unwrap_or_default().to_owned();
        let mut all: Vec<TitlesOf> = Vec::new();
        let mut section = "";
        for line in text.lines().map(str::trim) {
            match line {
                "[[hold_points]]" => {
                    section = "hold point";
                    all.push(Default::default());
                }
                "[[hold_points.criteria]]" => {
                    section = "criterion";
                    all.last_mut().expect("within a hold point").2.push(Default::default());
                }
                _ if line.starts_with('[') => section = "",
                _ => {}
            }
            let Some(own) = all.last_mut() else { continue };
            if section == "criterion" && own.2.is_empty() {
                continue;
            }
            match (section, line.split(" = ").next().unwrap_or_default()) {
                ("hold point", "id") => own.0 = quoted(line),
                ("hold point", "short_title") => own.1 = quoted(line),
                ("criterion", "id") => own.2.last_mut().expect("a criterion").0 = quoted(line),
                ("criterion", "title") => own.2.last_mut().expect("a criterion").1 = quoted(line),
                // This journey's design draws no beams: what is asked for only where they are, is not asked here.
                ("criterion", "only_where") => drop(own.2.pop()),
                _ => {}
            }
        }
        Self(all)
    }

    fn of(&self, hold_point: &str) -> &(String, String, Vec<(String, String)>) {
        self.0.iter().find(|one| one.0 == hold_point).unwrap_or_else(|| panic!("no hold point {hold_point}"))
    }
}

struct Journey {
    window: Window,
    tablet: Tablet,
    titles: Titles,
    photos: u64,
}

impl Journey {
    /// Fills a field by its label. What is typed arrives before anything else is done: hands are slower than this.
    #[track_caller]
    fn fill(&mut self, label: &str, text: &str) {
        self.window.click(label);
        let own =
            |frame: &Frame| frame.items.iter().find(|item| item.label == label && item.focused).cloned();
        self.window.until(&format!("the keyboard in {label:?}"), own);
        // A field may still hold what the last person needed.
        self.window.key("ctrl+a");
        self.window.write(text);
        let typed = |item: &Item| {
            item.value.as_ref().is_some_and(|value| value.chars().count() == text.chars().count())
        };
        self.window.until(&format!("{text:?} in {label:?}"), |frame| own(frame).filter(typed));
    }

    /// Presses the digits of a PIN on the pad.
    #[track_caller]
    fn pin(&mut self, pin: &str, done: &str) {
        for (typed, digit) in pin.chars().enumerate() {
            self.window.see(&format!("PIN, {typed} figures typed"));
            self.window.click(&digit.to_string());
        }
        self.window.see(&format!("PIN, {} figures typed", pin.len()));
        self.window.click(done);
    }

    fn enrol(&mut self, name: &str, role: &str, pin: &str) {
        self.window.on_screen("site-file");
        self.fill("Name", name);
        self.window.click(role);
        self.fill("PIN", pin);
        self.fill("PIN once more", pin);
        self.fill("Passphrase of the authority", PASSPHRASE);
        self.window.click("Enrol");
        self.window.see_part(&format!("{name}, "));
    }

    /// Hands the tablet to somebody, with their PIN.
    fn hand_to(&mut self, name: &str, pin: &str) {
        self.window.click_start("Tablet: ");
        self.window.click_start(&format!("{name}, "));
        self.pin(pin, "Give PIN");
        self.window.until("the tablet in other hands", |frame| {
            frame
                .starting(&format!("Tablet: {name}"))
                .filter(|item| item.label.contains("PIN given"))
                .map(drop)
        });
        if self.window.frame().screen == "tablet" {
            self.window.click("Back");
        }
    }

    /// From wherever to the section of the plot.
    fn go_to_section(&mut self) {
        let section = format!("section {PLOT}");
        loop {
            let now = self
                .window
                .until("a settled screen", |frame| (!frame.screen.is_empty()).then(|| frame.screen.clone()));
            if now == section {
                return;
            }
            if now.starts_with("hold-point")
                || now.starts_with("sign-off")
                || now.starts_with("working")
                || now == "tablet"
            {
                self.window.click("Back");
                self.window.until("another screen", |frame| (frame.screen != now).then_some(()));
            } else {
                self.window.click("Site sheet");
                self.window.on_screen("site");
                self.window.click_start(&format!("plot {PLOT}: "));
                self.window.on_screen(&section);
            }
        }
    }

    /// Books the readings of one criterion, whatever order the keypad asks for them in.
    fn book(&mut self, readings: &[&Reading]) {
        let mut left = readings.to_vec();
        while !left.is_empty() {
            let up = |label: &str| {
                left.iter().position(|r| {
                    let rest = label.strip_prefix(&format!("{}: ", r.point));
                    rest.is_some_and(|rest| rest.starts_with(|c: char| c.is_alphabetic()))
                })
            };
            let which = self.window.until("the keypad with a point", |frame| {
                let found = frame.items.iter().find_map(|item| up(&item.label));
                // Where people name the places themselves, what is offered may be another one.
                found.map(Some).or_else(|| frame.item(OWN_PLACE).map(|_| None))
            });
            let Some(which) = which else {
                let point = left[0].point.clone();
                self.fill(OWN_PLACE, &point);
                continue;
            };
            let reading = left.remove(which);
            // The keyboard writes into the place where one was named.
            if left.len() % 3 == 2 || self.window.frame().item(OWN_PLACE).is_some() {
                // As a finger does it.
                for key in reading.written.chars() {
                    self.window.click(&if key == '.' { "decimal point".to_owned() } else { key.to_string() });
                }
                self.window.click_start("Book");
            } else {
                self.window.write(&reading.written);
                let typed = |item: &&Item| item.value.as_ref() == Some(&reading.written);
                self.window.until(&format!("{} typed", reading.written), |frame| {
                    frame.items.iter().find(typed).map(drop)
                });
                self.window.key("Return");
            }
            let subject = format!("{}: ", reading.point);
            self.window.until(&format!("{} booked", reading.point), |frame| {
                let still = frame.items.iter().any(|item| {
                    item.label
                        .strip_prefix(&subject)
                        .is_some_and(|rest| rest.starts_with(|c: char| c.is_alphabetic()))
                });
                (!still).then_some(())
            });
        }
    }

    /// Opens a criterion by its box.
    #[track_caller]
    fn open(&mut self, title: &str) {
        self.window.click_start(&format!("{title}: "));
    }

    /// Everything that a hold point asks for.
    fn prove(&mut self, house: &House, hold_point: &str, readings: &[Reading]) {
        self.go_to_section();
        let (_, short, criteria) = self.titles.of(hold_point).clone();
        // A hold point that shares its zone with others is listed once the zone is tapped.
        let door = format!("{short}: ");
        let frame = self.window.frame();
        let zone = frame.items.iter().find(|item| {
            item.label.split_once(" done").is_some_and(|(_, names)| {
                names.split_once(": ").is_some_and(|(_, names)| names.split(", ").any(|one| one == short))
            })
        });
        match zone.map(|zone| zone.label.clone()) {
            Some(zone) => {
                self.window.click(&zone);
                self.window.click_start(&format!("{short} ("));
            }
            None => self.window.click_start(&door),
        }
        self.window.on_screen(&format!("hold-point {PLOT} {hold_point}"));
        for (id, title) in &criteria {
            let mine: Vec<&Reading> =
                readings.iter().filter(|r| r.hold_point == hold_point && r.criterion == id).collect();
            let answer = answers(PLOT, hold_point).into_iter().find(|a| a["criterion"] == id.as_str());
            self.open(title);
            if !mine.is_empty() {
                self.book(&mine);
            } else if let Some(answer) = answer {
                let box_of = format!("{title}: ");
                let before = self.window.frame().starting(&box_of).map(|item| item.label.clone());
                if answer["answer"] == "yes" {
                    self.window.click("yes");
                } else {
                    if self.window.frame().item("not applicable").is_some() {
                        self.window.click("not applicable");
                    }
                    self.window.click(answer["reason"].as_str().expect("a reason"));
                }
                self.window.until(&format!("{title} answered"), |frame| {
                    frame.starting(&box_of).filter(|item| Some(&item.label) != before.as_ref()).map(drop)
                });
            }
        }
        for (number, subject) in subjects(house, hold_point).into_iter().enumerate() {
            self.add_photo(&subject, number % 2 == 0);
        }
        self.window.picture(hold_point);
    }

    fn add_photo(&mut self, subject: &str, by_drop: bool) {
        self.photos += 1;
        let file: PathBuf = photo(&self.tablet, self.photos);
        let name = format!("photo: {}, ", subject.replace(['-', ':'], " "));
        let there = |frame: &Frame| {
            frame
                .items
                .iter()
                .filter(|item| item.label.starts_with(&name) && !item.label.ends_with("owed"))
                .count()
        };
        let before = there(&self.window.frame());
        self.window.click(&format!("{name}owed"));
        let field = self.window.see("or its path, or drop the file here");
        if by_drop {
            self.window.drop_files(&field, &[file]);
        } else {
            self.fill(&field.label, file.to_str().expect("a path in UTF-8"));
            self.window.click("Add this file");
        }
        self.window.until(&format!("a photo of {subject}"), |frame| (there(frame) > before).then_some(()));
    }
}

#[test]
fn from_a_new_register_to_a_signed_document_in_the_real_window() {
    let tablet = Tablet::new();
    let mut random = Random::new(404);
    let house = House {
        x: 2_600,
        bearing_points: ["N1", "N2", "S1", "S2"].map(String::from).to_vec(),
        ..House::random(&mut random)
    };
    let design = tablet.write("design.toml", house.design("A"));
    let readings = conforming_readings(&house, &mut random);
    let register = tablet.site("site.gaugerod");
    let window = Window::open(&tablet, &[], (1400, 1050), TIME);
    let mut journey = Journey { window, tablet, titles: Titles::read(), photos: 0 };

    journey.window.see("Look at the demo site");
    journey.window.picture("welcome");
    journey.window.click("Start a new register");
    journey.window.on_screen("new-register");
    journey.fill("Name of the site", "Invented Meadow");
    journey.fill("Register file", register.to_str().expect("a path in UTF-8"));
    journey.fill("Passphrase of the authority", PASSPHRASE);
    journey.fill("Passphrase once more", PASSPHRASE);
    journey.window.picture("new-register");
    journey.window.click("Make the register");

    journey.enrol(SUPERVISOR, "site supervisor", "274915");
    journey.enrol(MANAGER, "quality manager", "660318");
    journey.hand_to(MANAGER, "660318");
    journey.window.click("Site file");
    journey.fill("Floor design file", design.to_str().expect("a path in UTF-8"));
    journey.window.click("Read design");
    journey.fill("For plots", PLOT);
    journey.window.click("Issue for 1 plot");
    journey.window.see_part("IM-GF-07 rev A");
    journey.window.picture("site-file");
    let fingerprint = journey.window.until("the fingerprint", |frame| {
        let digits = |label: &str| label.chars().filter(char::is_ascii_hexdigit).collect::<String>();
        let is_one = |label: &str| {
            label.chars().all(|c| c.is_ascii_hexdigit() || c.is_whitespace()) && digits(label).len() == 64
        };
        frame.items.iter().find(|item| is_one(&item.label)).map(|item| digits(&item.label))
    });

    for (gate, hold_points) in GATES {
        journey.hand_to(SUPERVISOR, "274915");
        for hold_point in hold_points {
            journey.prove(&house, hold_point, &readings);
        }
        journey.go_to_section();
        journey.window.picture(gate);
        if gate == "finished" {
            break;
        }
        journey.window.click("Offer gate");
        journey.window.see_part("Waits for the quality manager");
        journey.hand_to(MANAGER, "660318");
        journey.go_to_section();
        journey.window.click("Release gate");
        journey.window.until("the gate released", |frame| frame.item("Release gate").is_none().then_some(()));
    }

    journey.hand_to(MANAGER, "660318");
    journey.window.click("Go to Invented Meadow");
    journey.window.on_screen("site");
    journey.window.see_part(&format!("plot {PLOT}: "));
    journey.window.picture("site-sheet");
    journey.window.click("Register");
    journey.window.on_screen("register");
    journey.window.picture("register");
    journey.go_to_section();
    journey.window.click("Sign-off");
    journey.window.on_screen(&format!("sign-off {PLOT}"));
    journey.window.click("Make the draft pages");
    journey.window.see_part("page 1 of");
    let pad = journey.window.see(&format!("signature of {MANAGER}"));
    journey.window.stroke(&pad, &[(0.2, 0.6), (0.35, 0.3), (0.45, 0.7), (0.6, 0.4), (0.8, 0.6)]);
    journey.window.picture("sign-off");
    journey.pin("660318", "Sign");
    journey.window.see(&format!("Plot {PLOT} is signed off"));
    journey.window.picture("signed");
    let file = journey.window.until("the signed file", |frame| {
        frame
            .items
            .iter()
            .map(|item| PathBuf::from(&item.label))
            .find(|path| path.is_absolute() && path.extension().is_some_and(|e| e == "pdf"))
    });
    let Journey { window, tablet, .. } = journey;
    drop(window);

    let file = file.to_str().expect("a path in UTF-8").to_owned();
    tablet.run(["verify", &file, "--authority", &fingerprint]).expect_code(0);
    tablet.run(["check", "site.gaugerod", "--every", "--against", &file]).expect_code(0);
    let text = tool("pdftotext", ["-layout", &file, "-"]).expect_code(0).out;
    for reading in &readings {
        let row = text.lines().find(|line| {
            line.contains(&reading.point) && line.split_whitespace().any(|w| w == reading.written)
        });
        assert!(row.is_some(), "{reading:?} is not in\n{text}");
    }
}
