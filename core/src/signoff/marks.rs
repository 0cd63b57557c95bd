//! The verdict marks, the same here as on screen: shape first, colour only as a filling.
//!
//! Fillings are from the palette of Okabe and Ito (Color Universal Design, 2002), outlines and signs in ink.

use super::fonts::{Fonts, Weight};
use super::page::{Ink, MM_PER_POINT, Pen, Place, Sheet, Style};
use crate::conformity::Verdict;

/// What a mark says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mark {
    /// Disc with a tick.
    Conforming,
    /// Triangle with a bar.
    Nonconforming,
    /// Half-filled diamond.
    Undetermined,
    /// Square with a C in a circle.
    Concession,
    /// Empty ring: nothing to judge yet.
    Open,
}

impl Mark {
    /// The words that always stand beside the mark: the trade's own, the same as on screen.
    pub fn word(self) -> &'static str {
        match self {
            Self::Conforming => "OK",
            Self::Nonconforming => "not OK",
            Self::Undetermined => "too near to call",
            Self::Concession => "conceded",
            Self::Open => "open",
        }
    }

    /// The mark of a verdict.
    pub fn of(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Conforming => Self::Conforming,
            Verdict::Nonconforming => Self::Nonconforming,
            Verdict::Undetermined => Self::Undetermined,
        }
    }

    /// Draws the mark around `centre`; `size` is its height in millimetres.
    pub fn draw(self, sheet: &mut Sheet, fonts: &Fonts, centre: Place, size: f32) {
        let (x, y) = centre;
        let r = size / 2.0;
        let outline = Some(Pen { width: size * 0.2, ..Pen::NARROW });
        let sign = Pen { width: size * 0.3, ..Pen::NARROW };
        match self {
            Self::Conforming => {
                sheet.disc(centre, r, Some(Ink(0x00, 0x9e, 0x73)), outline);
                sheet.line(
                    &[(x - 0.45 * r, y + 0.05 * r), (x - 0.1 * r, y + 0.42 * r), (x + 0.5 * r, y - 0.38 * r)],
                    sign,
                );
            }
            Self::Nonconforming => {
                let corners = [(x, y - r), (x + 1.1 * r, y + 0.9 * r), (x - 1.1 * r, y + 0.9 * r)];
                sheet.polygon(&corners, Some(Ink(0xd5, 0x5e, 0x00)), outline);
                sheet.line(&[(x - 0.42 * r, y + 0.38 * r), (x + 0.42 * r, y + 0.38 * r)], sign);
            }
            Self::Undetermined => {
                let (top, right) = ((x, y - 1.1 * r), (x + 1.1 * r, y));
                let (bottom, left) = ((x, y + 1.1 * r), (x - 1.1 * r, y));
                sheet.polygon(&[top, right, bottom, left], Some(Ink::PAPER), None);
                sheet.polygon(&[top, bottom, left], Some(Ink(0xe6, 0x9f, 0x00)), None);
                sheet.polygon(&[top, right, bottom, left], None, outline);
            }
            Self::Concession => {
                // The blue is too dark for a letter in ink: the letter stands on a paper disc.
                sheet.rectangle((x - r, y - r), size, size, Some(Ink(0x00, 0x72, 0xb2)), outline);
                sheet.disc(centre, 0.74 * r, Some(Ink::PAPER), outline);
                let letter = Style::new(Weight::Semibold, size * 0.62 / MM_PER_POINT);
                sheet.text_centred(fonts, (x, y + size * 0.22), letter, "C");
            }
            Self::Open => sheet.disc(centre, 0.85 * r, None, outline),
        }
    }
}
