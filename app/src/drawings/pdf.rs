//! A page of a PDF drawn into grey. Only the child calls this on drawings from outside (see [`super`]).

use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::{LoadPdfError, Pdf};
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{PixmapSettings, RenderCache, RenderSettings, render};

use super::{LONGEST_SIDE, Page, check_proportions};

/// The longest side of a page, in PDF points: 200 inches, the limit of ISO 32000-1, annex C.2.
const LONGEST_POINTS: f32 = 14_400.0;
/// The least side of a page, in PDF points (the same annex).
const LEAST_POINTS: f32 = 3.0;
/// The most pixels to a point: finer than a drawing is printed.
const FINEST: f32 = 4.0;

/// Draws a page, counted from 1.
///
/// # Errors
/// A sentence without a full stop: what is wrong with the drawing.
pub fn draw(bytes: &[u8], page: u32) -> Result<Page, String> {
    let pdf = Pdf::new(bytes.to_vec()).map_err(|fault| match fault {
        LoadPdfError::Decryption(_) => "the PDF is locked with a password".to_owned(),
        LoadPdfError::Invalid => "the PDF cannot be read".to_owned(),
    })?;
    let all = pdf.pages();
    let pages = u32::try_from(all.len()).unwrap_or(u32::MAX);
    if pages == 0 {
        return Err("the PDF has no pages".to_owned());
    }
    let wanted =
        page.checked_sub(1).and_then(|place| usize::try_from(place).ok()).and_then(|place| all.get(place));
    let Some(wanted) = wanted else {
        return Err(format!("the PDF has no page {page}: its pages count from 1 to {pages}"));
    };
    let (across, down) = wanted.render_dimensions();
    if ![across, down].into_iter().all(|side| (LEAST_POINTS..=LONGEST_POINTS).contains(&side)) {
        return Err(format!(
            "the page's sides must lie within {LEAST_POINTS:.0} and {LONGEST_POINTS:.0} points"
        ));
    }
    check_proportions(across.into(), down.into())?;
    #[expect(clippy::cast_precision_loss, reason = "a few thousand pixels")]
    let scale = (LONGEST_SIDE as f32 / across.max(down)).min(FINEST);
    let settings = PixmapSettings { x_scale: scale, y_scale: scale, bg_color: WHITE };
    let interpreter = InterpreterSettings::default();
    let pixmap = render(wanted, &RenderCache::new(), &interpreter, &RenderSettings::default(), &settings);
    let size = [u32::from(pixmap.width()), u32::from(pixmap.height())];
    if !size.iter().all(|side| (1..=LONGEST_SIDE).contains(side)) {
        return Err("the page cannot be drawn".to_owned());
    }
    let ink = pixmap.data_as_u8_slice().chunks_exact(4).map(|pixel| 255 - light(pixel)).collect();
    Ok(Page { size, ink, pages })
}

/// How light a pixel looks (ITU-R BT.601, in whole thousandths).
fn light(pixel: &[u8]) -> u8 {
    let [r, g, b] = [pixel[0], pixel[1], pixel[2]].map(u32::from);
    u8::try_from((299 * r + 587 * g + 114 * b) / 1000).unwrap_or(u8::MAX)
}
