//! What is typed into a level book: digits without a point are millimetres, with a point metres; a receiver's offset
//! is in millimetres always. Read exactly, and under which names it is kept until it is on disk.

use gaugerod_core::entry::{BookMethod, SightKind};
use gaugerod_core::ids::{EntryId, LevelBookName, PlotId};
use gaugerod_core::quantity::Length;

/// Reads a staff (`1245` and `1.245` are the same, negative with the staff inverted) or an offset (`-2`).
///
/// # Errors
/// What is wrong with it, worded to follow `It`.
pub fn read(text: &str, method: BookMethod) -> Result<Length, String> {
    let whole = text.strip_suffix('.').unwrap_or(text);
    if whole.is_empty() || whole == "-" {
        return Err("has no figures yet".to_owned());
    }
    let read = if in_metres(text, method) { Length::parse_m(whole) } else { Length::parse_mm(whole) };
    read.map_err(|fault| fault.to_string())
}

/// Whether the text stands for metres.
fn in_metres(text: &str, method: BookMethod) -> bool {
    method != BookMethod::Receiver && text.contains('.')
}

/// The unit of what is typed so far.
pub fn unit(text: &str, method: BookMethod) -> &'static str {
    if in_metres(text, method) { "m" } else { "mm" }
}

/// What was read, as the keypad takes it: the shortest way to type it.
pub fn text(read: Length, method: BookMethod) -> String {
    match method {
        BookMethod::Receiver => read.to_mm_text(),
        // What is finer than a millimetre is typed in metres, as staffs are read.
        BookMethod::HeightOfCollimation | BookMethod::RiseAndFall if read.um() % 1_000 == 0 => {
            read.to_mm_text()
        }
        BookMethod::HeightOfCollimation | BookMethod::RiseAndFall => read.to_m_text(),
    }
}

/// What was read last, to be typed with one key: in metres once a point is typed.
pub fn again(read: Length, method: BookMethod, typed: &str) -> String {
    if in_metres(typed, method) { read.to_m_text() } else { text(read, method) }
}

/// What was read, as a book shows it: `1.245`, or `+3` off a receiver's target.
pub fn shown(read: Length, method: BookMethod) -> String {
    let text = match method {
        BookMethod::Receiver => read.signed_mm_text(decimals_mm(read)),
        BookMethod::HeightOfCollimation | BookMethod::RiseAndFall => read.m_text(decimals_m(read)),
    };
    text.replace('-', "−")
}

/// A level or a staff reading in metres, to the millimetre and no coarser than it is.
pub fn metres(length: Length) -> String {
    length.m_text(decimals_m(length)).replace('-', "−")
}

/// Millimetres with their sign.
pub fn signed_mm(length: Length) -> String {
    length.signed_mm_text(decimals_mm(length)).replace('-', "−")
}

fn decimals_m(length: Length) -> u32 {
    if length.um() % 1_000 == 0 { 3 } else { 4 }
}

fn decimals_mm(length: Length) -> u32 {
    u32::from(length.um() % 1_000 != 0)
}

/// A kind of sight in one word, for keys and columns.
pub const fn kind_word(kind: SightKind, method: BookMethod) -> &'static str {
    match (method, kind) {
        (BookMethod::Receiver, SightKind::Back) => "First check",
        (BookMethod::Receiver, SightKind::Inter) => "Point",
        (BookMethod::Receiver, SightKind::Fore) => "Last check",
        (_, SightKind::Back) => "Back",
        (_, SightKind::Inter) => "Inter",
        (_, SightKind::Fore) => "Fore",
    }
}

/// The name under which something of the next sight is kept: `what` is `value`, `point` or `sight`.
pub fn draft(plot: &PlotId, book: &LevelBookName, sights: usize, what: &str) -> String {
    format!("level/{plot}/{book}/{sights}/{what}")
}

/// The name under which the new value of a sight that is put right is kept.
pub fn correction(entry: EntryId) -> String {
    format!("level/put-right/{}", entry.to_hex())
}

#[cfg(test)]
mod tests {
    use super::*;

    const STAFF: BookMethod = BookMethod::HeightOfCollimation;

    #[test]
    fn digits_without_a_point_are_millimetres_and_with_a_point_metres() {
        let read = |text| read(text, STAFF).map(Length::um);
        assert_eq!(read("1245"), Ok(1_245_000));
        assert_eq!(read("1.245"), Ok(1_245_000));
        assert_eq!(read("-1245"), Ok(-1_245_000));
        assert_eq!(read("1.2455"), Ok(1_245_500));
        assert_eq!(read("0"), Ok(0));
        // The point is typed, nothing behind it yet: metres already.
        assert_eq!(read("1."), Ok(1_000_000));
        for nothing in ["", "-", "."] {
            assert!(read(nothing).is_err(), "{nothing:?}");
        }
    }

    #[test]
    fn an_offset_is_in_millimetres_with_or_without_a_point() {
        let read = |text| read(text, BookMethod::Receiver).map(Length::um);
        assert_eq!(read("3"), Ok(3_000));
        assert_eq!(read("-2"), Ok(-2_000));
        assert_eq!(read("2.5"), Ok(2_500));
        assert_eq!(
            (unit("2.5", BookMethod::Receiver), unit("2.5", STAFF), unit("2", STAFF)),
            ("mm", "m", "mm")
        );
    }

    #[test]
    fn what_was_read_is_typed_again_as_it_was() {
        for method in [STAFF, BookMethod::Receiver] {
            for um in [1_245_000, -1_245_000, 1_245_500, 0, 3_000, -2_500] {
                let length = Length::from_um(um);
                assert_eq!(read(&text(length, method), method), Ok(length), "{um} by {method:?}");
            }
        }
        assert_eq!(text(Length::from_um(1_245_000), STAFF), "1245");
    }

    #[test]
    fn a_book_shows_three_decimals_and_what_is_finer() {
        assert_eq!(shown(Length::from_um(1_245_000), STAFF), "1.245");
        assert_eq!(shown(Length::from_um(1_250_000), STAFF), "1.250");
        assert_eq!(shown(Length::from_um(1_245_500), STAFF), "1.2455");
        assert_eq!(shown(Length::from_um(-2_000), BookMethod::Receiver), "−2");
        assert_eq!(shown(Length::from_um(3_000), BookMethod::Receiver), "+3");
    }
}
