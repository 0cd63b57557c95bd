//! Sign-off papers: the preview on screen, the draft file, the signed file. Files are written whole under another
//! name, flushed, and then given their own; nothing is recorded as issued before the file lies on disk.

use std::fs::{self, File};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;

use gaugerod_core::identity::Pin;
use gaugerod_core::ids::PlotId;
use gaugerod_core::signoff::evidence::PAD;
use gaugerod_core::signoff::fonts::Fonts;
use gaugerod_core::signoff::issue::{self, IssueFault};
use gaugerod_core::signoff::make;
use gaugerod_core::signoff::model::Model;

use super::Reply;
use super::desk::{Desk, NotDone};
use crate::messages;
use crate::state::Preview;

fn not_done(fault: IssueFault) -> NotDone {
    match fault {
        IssueFault::Register(error) => NotDone::Failed(error),
        other => NotDone::Said(messages::of_issue(&other)),
    }
}

/// Makes the draft of a plot as it stands, writes it beside the register, and sends its text page by page.
pub(super) fn preview(desk: &mut Desk, plot: &PlotId) -> Result<(), NotDone> {
    desk.stop.store(false, Ordering::SeqCst);
    let (reply, stop) = (desk.reply.clone(), desk.stop.clone());
    reply.busy("Making the pages", 0, 0);
    let mut go_on = |done: usize, whole: usize| {
        reply.busy("Making the pages", done as u64, whole as u64);
        !stop.load(Ordering::SeqCst)
    };
    let register = desk.register()?;
    let material = issue::material(register, plot, &mut go_on).map_err(not_done)?;
    let (evidence, opened) = make::evidence(&material, None).map_err(|fault| not_done(fault.into()))?;
    let pages = text_of(&Model::of(&evidence, &opened));
    let against = opened.standing.against_sign_off();
    let made = make::make_draft(&material, &Fonts::shipped()).map_err(|fault| not_done(fault.into()))?;
    let file = beside(desk, plot, "DRAFT")?;
    write_whole(&file, &made.bytes)?;
    desk.reply.send(Reply::Busy(None));
    let preview = Preview { plot: Some(plot.clone()), against, pages, signed: None, draft: Some(file) };
    desk.reply.send(Reply::Preview(Box::new(preview)));
    Ok(())
}

/// Signs a plot off with the PIN of whoever is at the tablet.
pub(super) fn sign_off(
    desk: &mut Desk,
    plot: &PlotId,
    pin: &str,
    drawn: &[Vec<[f32; 2]>],
) -> Result<(), NotDone> {
    desk.stop.store(false, Ordering::SeqCst);
    let person = desk.session()?.person;
    let pin = Pin::new(pin)?;
    let (reply, stop) = (desk.reply.clone(), desk.stop.clone());
    reply.busy("Signing", 0, 0);
    let session = desk.register()?.unlock(person, &pin)?;
    let mut go_on = |done: usize, whole: usize| {
        reply.busy("Signing", done as u64, whole as u64);
        !stop.load(Ordering::SeqCst)
    };
    let signed =
        issue::sign_off(desk.register()?, plot, &session, points(drawn), &Fonts::shipped(), &mut go_on)
            .map_err(not_done)?;
    let file = beside(desk, plot, "signed")?;
    write_whole(&file, &signed.made.bytes)?;
    signed.record(desk.register()?, &session)?;
    desk.session = Some(session);
    desk.reply.send(Reply::Busy(None));
    desk.reply.say(format!("Plot {plot} is signed off: {}", file.display()), false);
    let preview = Preview { plot: Some(plot.clone()), signed: Some(file), ..Preview::default() };
    desk.reply.send(Reply::Preview(Box::new(preview)));
    desk.saved_on(plot)
}

/// Strokes of 0 to 1 as whole parts of the pad.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 0..=PAD first")]
fn points(drawn: &[Vec<[f32; 2]>]) -> Vec<Vec<(u16, u16)>> {
    let part = |share: f32| (share.clamp(0.0, 1.0) * f32::from(PAD)).round() as u16;
    drawn.iter().map(|stroke| stroke.iter().map(|[x, y]| (part(*x), part(*y))).collect()).collect()
}

/// Where a paper of a plot lies: in a folder named after the register, beside it; an earlier one is never replaced.
pub(super) fn beside(desk: &Desk, plot: &PlotId, kind: &str) -> Result<PathBuf, NotDone> {
    let Some(open) = &desk.open else { return Err(NotDone::Said("No register is open.".to_owned())) };
    let folder = open.path.with_extension("papers");
    fs::create_dir_all(&folder).map_err(|error| NotDone::Said(messages::of_file(&folder, &error)))?;
    let safe: String = plot.as_str().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    let time = open.register.now().local().format("%Y-%m-%d-%H%M%S").to_string();
    Ok(folder.join(format!("plot-{safe}-{time}-{kind}.pdf")))
}

pub(super) fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), NotDone> {
    let part = path.with_extension("part");
    let written = File::create(&part)
        .and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()))
        .and_then(|()| fs::rename(&part, path));
    written.map_err(|error| {
        // What is half written is of no use to anybody; that it cannot be removed either changes nothing.
        let _ = fs::remove_file(&part);
        NotDone::Said(messages::of_file(path, &error))
    })
}

/// What the pages will say: the first one, then one for each hold point.
fn text_of(model: &Model) -> Vec<Vec<String>> {
    let mut first = vec![
        format!("{}, plot {}", model.site, model.plot),
        format!("Floor design {} revision {}", model.drawing.0, model.drawing.1),
        format!("{}: {}", model.overall.0.text, model.overall.1),
        "The contractor's own record: no approval under building regulations, no structural certificate."
            .to_owned(),
    ];
    if model.invented {
        first.push("Invented data.".to_owned());
    }
    first.extend(model.outstanding.iter().map(|line| line.text.clone()));
    first.push(format!("Record root {}", model.root));
    let mut pages = vec![first];
    for part in &model.hold_points {
        let mut page = vec![part.title.clone(), format!("{} · gate {}", part.state.text, part.gate)];
        page.extend(part.owed.iter().map(|owed| format!("Owed: {owed}")));
        for criterion in &part.criteria {
            page.push(format!("{}: {}", criterion.title, criterion.verdict.text));
            page.extend(
                criterion.limit.iter().map(|limit| format!("    limit {limit} ({})", criterion.source)),
            );
            for row in &criterion.readings {
                page.push(format!("    {}  {}  {}", row.point, row.value, row.words));
            }
            page.extend(
                criterion.findings.iter().map(|(line, source)| format!("    {} ({source})", line.text)),
            );
            page.extend(criterion.remarks.iter().map(|remark| format!("    {remark}")));
        }
        page.extend(part.matters.iter().map(|matter| format!("{}: {}", matter.what.text, matter.state)));
        page.extend(part.decisions.iter().cloned());
        page.extend(part.photos.iter().map(|photo| format!("Photo: {}", photo.caption.join(", "))));
        pages.push(page);
    }
    pages
}
