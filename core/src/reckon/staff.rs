//! The levelling staff: which readings there can be. The one place that says it, for level books, the two-peg test
//! and books that are taken in from a file.
//!
//! Nothing is judged here: a reading that no staff can give is a slip of the hand and is refused by name.

use crate::faults::Faults;
use crate::quantity::Length;

/// The furthest from zero that a staff can be read, closed. Telescopic staffs for building sites are 3 m to 5 m long:
/// common practice. A negative reading is one on a staff held upside down against a soffit.
pub const LONGEST: Length = Length::from_mm(5_000);

/// True for a reading that a staff can give.
pub fn can_be_read(reading: Length) -> bool {
    reading.abs() <= LONGEST
}

/// Refuses a reading that no staff can give.
pub(super) fn refuse_impossible(place: impl FnOnce() -> String, reading: Length, faults: &mut Faults) {
    if !can_be_read(reading) {
        faults.add(place(), impossible(reading));
    }
}

/// What was meant when whole metres on no staff are millimetres on one, three or four digits of them: 1245 m is most
/// likely 1.245 m.
pub fn meant_as_millimetres(metres: Length) -> Option<Length> {
    let meant = Length::from_um(metres.um() / 1_000);
    let whole = metres.um() % 1_000_000 == 0;
    let digits = Length::from_mm(100) <= meant.abs();
    (whole && digits && !can_be_read(metres) && can_be_read(meant)).then_some(meant)
}

/// Why a reading is refused, worded to follow its place.
pub fn impossible(reading: Length) -> String {
    let longest = LONGEST.to_m_text();
    let hint = meant_as_millimetres(reading)
        .map_or_else(String::new, |meant| format!("; perhaps {} m?", meant.m_text(3)));
    format!("must lie within ±{longest} m: no levelling staff is longer (common practice){hint}")
}
