//! The header of a logger's table: which columns hold the time and the temperature.

use crate::faults::Faults;

/// Names of columns without anything but their letters, in small ones.
const TIMES: &[&str] = &["time", "datetime", "timestamp", "dateandtime", "localtime", "at"];
const DATES: &[&str] = &["date", "day"];
const TEMPERATURES: &[&str] = &[
    "temp",
    "tempc",
    "tempdegc",
    "temperature",
    "temperaturec",
    "temperaturedegc",
    "concrete",
    "concretec",
    "concretetemperature",
    "concretetemperaturec",
    "celsius",
];
const FAHRENHEIT: &[&str] =
    &["tempf", "temperaturef", "concretef", "concretetemperaturef", "fahrenheit", "tempdegf"];

/// Where the columns stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Header {
    pub width: usize,
    date: Option<usize>,
    time: usize,
    pub time_name: String,
    pub temperature: usize,
    pub temperature_name: String,
    pub left_out: Vec<String>,
}

/// A name with its letters alone, in small ones.
fn plain(name: &str) -> String {
    name.chars().filter(char::is_ascii_alphabetic).map(|c| c.to_ascii_lowercase()).collect()
}

fn is(name: &str, list: &[&str]) -> bool {
    list.contains(&plain(name).as_str())
}

impl Header {
    /// Whether a row names a time and a temperature.
    pub fn is_one(cells: &[String]) -> bool {
        let some = |list: &[&str]| cells.iter().any(|name| is(name, list));
        (some(TIMES) || some(DATES)) && (some(TEMPERATURES) || some(FAHRENHEIT))
    }

    pub fn read(row: usize, cells: &[String]) -> Result<Self, Faults> {
        let mut faults = Faults::new();
        let mut only = |what: &str, list: &[&str]| -> Option<usize> {
            let mut all = cells.iter().enumerate().filter(|(_, name)| is(name, list));
            let first = all.next()?;
            for (_, other) in all {
                let what =
                    format!("is a second column for {what} beside {:?}: leave one in the file", first.1);
                faults.add(format!("row {row}, column {other}"), what);
            }
            Some(first.0)
        };
        let (date, time) = (only("the date", DATES), only("the time", TIMES));
        let temperature = only("the temperature", TEMPERATURES);
        let fahrenheit = cells.iter().find(|name| is(name, FAHRENHEIT));
        match (temperature, fahrenheit) {
            (None, Some(name)) => {
                faults.add(format!("row {row}, column {name}"), "is in Fahrenheit: export the table in °C");
            }
            (None, None) => faults.add(format!("row {row}"), "names no temperature"),
            _ => {}
        }
        // A date alone may hold the time as well.
        let (date, time) = match (date, time) {
            (date, Some(time)) => (date, Some(time)),
            (date, None) => (None, date),
        };
        let Some((temperature, time)) = temperature.zip(time).filter(|_| faults.is_empty()) else {
            if faults.is_empty() {
                faults.add(format!("row {row}"), "names no time");
            }
            return Err(faults);
        };
        let used = [Some(temperature), Some(time), date];
        let left_out = cells.iter().enumerate().filter(|(place, _)| !used.contains(&Some(*place)));
        Ok(Self {
            width: cells.len(),
            date,
            time,
            time_name: cells[time].clone(),
            temperature,
            temperature_name: cells[temperature].clone(),
            left_out: left_out.map(|(_, name)| name.clone()).filter(|name| !name.is_empty()).collect(),
        })
    }

    /// The text of a row's moment.
    pub fn time_of(&self, cells: &[String]) -> String {
        let cell = |place: usize| cells.get(place).map_or("", String::as_str);
        match self.date {
            Some(date) => format!("{} {}", cell(date), cell(self.time)).trim().to_owned(),
            None => cell(self.time).to_owned(),
        }
    }
}
