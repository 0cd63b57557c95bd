//! The two faces of the document: regular and semibold, embedded as subsets.
//!
//! Never here: a font of the machine. The faces are built into the program, so that the output is the same
//! everywhere. A character that a face lacks is written as `[U+4E2D]`, never dropped.

use printpdf::ParsedFont;

use super::page::MM_PER_POINT;

/// Which of the two faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Weight {
    /// Running text.
    #[default]
    Regular,
    /// Headings, labels of values, verdicts.
    Semibold,
}

impl Weight {
    /// The resource name in the PDF; six capitals, because it doubles as the subset tag (ISO 32000-1, 9.6.4).
    pub(super) fn resource(self) -> &'static str {
        match self {
            Self::Regular => "GAUGEA",
            Self::Semibold => "GAUGEB",
        }
    }
}

/// Why a font file cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FontFault {
    /// The bytes are no font that can be read.
    #[error("the {face} font file cannot be read as a TrueType or OpenType font")]
    Unreadable {
        /// `regular` or `semibold`.
        face: &'static str,
    },
    /// The font lacks a character that everything else falls back on.
    #[error("the {face} font has no glyph for {letter:?}, without which nothing can be written")]
    Incomplete {
        /// `regular` or `semibold`.
        face: &'static str,
        /// The missing character.
        letter: char,
    },
}

/// Both faces, read once and shared by every page.
#[derive(Debug, Clone)]
pub struct Fonts {
    regular: ParsedFont,
    semibold: ParsedFont,
}

impl Fonts {
    /// The faces that ship with the program (assets/fonts, SIL Open Font License).
    pub fn shipped() -> Self {
        Self::from_bytes(
            include_bytes!("../../../assets/fonts/Inter-Regular.ttf"),
            include_bytes!("../../../assets/fonts/Inter-SemiBold.ttf"),
        )
        .expect("BUG: the shipped fonts can be read and hold every printable ASCII character")
    }

    /// Reads both faces from the bytes of their files.
    pub fn from_bytes(regular: &[u8], semibold: &[u8]) -> Result<Self, FontFault> {
        Ok(Self {
            regular: face_from_bytes("regular", regular)?,
            semibold: face_from_bytes("semibold", semibold)?,
        })
    }

    pub(super) fn face(&self, weight: Weight) -> &ParsedFont {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Semibold => &self.semibold,
        }
    }

    /// Width of a line of text in millimetres at `size` points. It is reckoned from the same whole
    /// thousandths of an em that the PDF's width table holds, so that measured and printed agree.
    pub fn width(&self, weight: Weight, size: f32, text: &str) -> f32 {
        let face = self.face(weight);
        let thousandths: u32 = self.readable(weight, text).chars().map(|c| advance(face, c)).sum();
        // Exact in f32: a line is far below 2^24 thousandths of an em.
        #[expect(clippy::cast_precision_loss)]
        let em = thousandths as f32 / 1000.0;
        em * size * MM_PER_POINT
    }

    /// The text as it will be written: blanks made plain, and every character that the face lacks replaced
    /// by its number in brackets. Nothing is dropped.
    pub fn readable(&self, weight: Weight, text: &str) -> String {
        let face = self.face(weight);
        let mut out = String::with_capacity(text.len());
        for letter in text.chars() {
            match letter {
                '\t' | '\n' | '\r' | '\u{a0}' | '\u{202f}' | '\u{2009}' => out.push(' '),
                _ if !letter.is_control() && has(face, letter) => out.push(letter),
                _ => {
                    use std::fmt::Write as _;
                    write!(out, "[U+{:04X}]", u32::from(letter)).expect("BUG: writing to a string");
                }
            }
        }
        out
    }
}

fn face_from_bytes(face: &'static str, bytes: &[u8]) -> Result<ParsedFont, FontFault> {
    let mut warnings = Vec::new();
    let font = ParsedFont::from_bytes(bytes, 0, &mut warnings).ok_or(FontFault::Unreadable { face })?;
    let needed = (' '..='~').find(|letter| !has(&font, *letter));
    match needed {
        Some(letter) => Err(FontFault::Incomplete { face, letter }),
        None => Ok(font),
    }
}

fn has(face: &ParsedFont, letter: char) -> bool {
    face.lookup_glyph_index(u32::from(letter)).is_some_and(|glyph| glyph != 0)
}

/// Advance in whole thousandths of an em, cut off as the engine's width table cuts it off.
fn advance(face: &ParsedFont, letter: char) -> u32 {
    let Some(glyph) = face.lookup_glyph_index(u32::from(letter)) else {
        return 0;
    };
    let units = u32::from(face.get_horizontal_advance(glyph));
    units * 1000 / u32::from(face.pdf_font_metrics.units_per_em.max(1))
}
