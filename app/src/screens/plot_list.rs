//! Plots as people write them in one line: `1, 2, 5–9, 7A`.

use gaugerod_core::ids::PlotId;

/// The most plots that one line may name.
pub const MOST_PLOTS: usize = 2_000;

/// Reads plots in one line. Commas, semicolons and blanks part them; a range is two whole numbers with a dash of any
/// kind between them, both ends belonging to it.
///
/// # Errors
/// A sentence that names the part which is wrong. Nothing typed gives no plots.
pub fn read(line: &str) -> Result<Vec<PlotId>, String> {
    let mut plots: Vec<PlotId> = Vec::new();
    let mut take = |name: &str| -> Result<(), String> {
        let plot = PlotId::new(name).map_err(|fault| format!("“{name}” is no plot's name: it {fault}"))?;
        if !plots.contains(&plot) {
            plots.push(plot);
        }
        if plots.len() > MOST_PLOTS {
            return Err(format!("more than {MOST_PLOTS} plots at once"));
        }
        Ok(())
    };
    for part in line.split([',', ';', ' ', '\t']).filter(|part| !part.is_empty()) {
        match range(part) {
            None => take(part)?,
            Some((first, last)) if first > last => {
                return Err(format!("“{part}”: a range goes upwards, such as {last}–{first}"));
            }
            Some((first, last)) if last - first >= MOST_PLOTS as u64 => {
                return Err(format!("“{part}” names more than {MOST_PLOTS} plots"));
            }
            Some((first, last)) => {
                for number in first..=last {
                    take(&number.to_string())?;
                }
            }
        }
    }
    Ok(plots)
}

/// Two whole numbers with a dash between them; names such as `7-A` are not one.
fn range(part: &str) -> Option<(u64, u64)> {
    let (first, last) = part.split_once(['-', '–', '—'])?;
    let number = |text: &str| text.bytes().all(|b| b.is_ascii_digit()).then(|| text.parse().ok())?;
    Some((number(first)?, number(last)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(line: &str, wanted: &[&str]) {
        let read = read(line).map(|plots| plots.iter().map(ToString::to_string).collect::<Vec<_>>());
        assert_eq!(read, Ok(wanted.iter().map(ToString::to_string).collect()), "{line:?}");
    }

    #[test]
    fn plots_are_read_as_people_write_them() {
        check("", &[]);
        check("1, 2, 5–9", &["1", "2", "5", "6", "7", "8", "9"]);
        check("1,2;3 4", &["1", "2", "3", "4"]);
        check("7A, 7-B", &["7A", "7-B"]);
        check("3-3", &["3"]);
        check("2, 1-3", &["2", "1", "3"]);
    }

    #[test]
    fn what_is_wrong_is_named() {
        for (line, part) in [("9-5", "5–9"), ("1-99999", "more than"), (&"x".repeat(41), "no plot's name")]
        {
            assert!(read(line).unwrap_err().contains(part), "{line}");
        }
        assert!(read("1-2000").is_ok());
        assert!(read("1-2001").is_err());
        assert!(
            read("1-18446744073709551616").is_ok_and(|plots| plots.len() == 1),
            "too large for a number: a name"
        );
    }
}
