//! Where on the sheets the model stands: page 1, then each hold point, then the record itself.
//!
//! Never here: words of its own about the plot (they are the model's), a reading, a verdict.

use std::collections::BTreeMap;

use super::evidence::Purpose;
use super::flow::{BODY, Cell, Column, Field, Flow, Picture, SIGNATURE_BOX, SMALL, STRONG, TitleBlock};
use super::fonts::Fonts;
use super::marks::Mark;
use super::model::{CriterionPart, HoldPointPart, Line, MatterPart, Model, PhotoPart};
use super::page::Sheet;
use super::paper::Jpeg;
use super::{beams, chart, layers, level_books, plan, pour};
use crate::ids::Sha256Digest;
use crate::working::Step;

/// What every page says.
pub const NOT_AN_APPROVAL: &str = "The contractor's own record. Not an approval under the Building Regulations, not a structural certificate.";
/// What page 1 says of it.
const WHAT_THIS_IS: &str = "This is the contractor's own record of what was read, seen and released on site, \
    judged against the limits of the floor design. It is not an approval under the Building Regulations and not a \
    structural certificate; it never says that a floor is safe. Structure is the engineer's to certify, gas work a \
    registered gas engineer's. Local codes govern.";
/// What the times in the document are worth.
const TIMES: &str =
    "All times are those of the tablets' own clocks; no trusted timestamp is part of this document.";

/// The resource name under which a photograph stands in the document.
pub fn resource(original: Sha256Digest) -> String {
    format!("Ph{original}")
}

/// Lays the model out on sheets.
pub fn sheets(model: &Model, photos: &BTreeMap<Sha256Digest, Jpeg>, fonts: &Fonts) -> Vec<Sheet> {
    let mut flow = Flow::new(fonts, title_block(model));
    first_page(&mut flow, model);
    for part in &model.hold_points {
        hold_point(&mut flow, part, photos);
    }
    beams::lay_out(&mut flow, model.beams.as_ref());
    layers::lay_out(&mut flow, model.layers.as_ref());
    pour::lay_out(&mut flow, model.pour.as_ref());
    level_books::lay_out(&mut flow, &model.level_books);
    the_record(&mut flow, model);
    flow.into_sheets()
}

fn title_block(model: &Model) -> TitleBlock {
    let document = match model.purpose {
        Purpose::Draft => "Draft of a sign-off, suspended ground floor",
        Purpose::SignOff => "Sign-off, suspended ground floor",
    };
    let invented = if model.invented { " Invented data." } else { "" };
    TitleBlock {
        upper: vec![
            Field::new("Site", model.site.clone(), 0.40),
            Field::new("Plot", model.plot.clone(), 0.14),
            Field::new("Drawing", model.drawing.0.clone(), 0.22),
            Field::new("Revision", model.drawing.1.clone(), 0.12),
        ],
        lower: vec![
            Field::new("Document", document, 0.42),
            Field::new("Date", model.made.date(), 0.16),
            Field::new("Root of the record", model.root.to_string(), 0.42),
        ],
        head: format!("{NOT_AN_APPROVAL}{invented}"),
        across: (model.purpose == Purpose::Draft).then(|| "DRAFT".to_owned()),
    }
}

fn first_page(flow: &mut Flow<'_>, model: &Model) {
    let title = match model.purpose {
        Purpose::Draft => "Draft: sign-off of a ground floor",
        Purpose::SignOff => "Sign-off of a suspended ground floor",
    };
    flow.title(title);
    flow.facts(
        2,
        &[
            ("Site", model.site.clone()),
            ("Plot", model.plot.clone()),
            ("Floor design", format!("{}, revision {}", model.drawing.0, model.drawing.1)),
            ("Made", format!("{}, {}", model.made.minute(), model.program)),
            ("Title of the design, prepared by", format!("{}; {}", model.design.0, model.design.1)),
            (
                "Signed by",
                model.signer.as_ref().map_or_else(
                    || "nobody: this is a draft".to_owned(),
                    |(name, role)| format!("{name}, {role}"),
                ),
            ),
        ],
    );
    flow.space(1.0);
    flow.banner(model.overall.0.mark, &model.overall.0.text, &model.overall.1);
    flow.note("What this document is, and what it is not", WHAT_THIS_IS);
    flow.lead("Before anything else");
    if model.outstanding.is_empty() {
        flow.paragraph("Nothing was covered without release, nothing was conceded, nothing is open.", BODY);
    }
    for line in &model.outstanding {
        flow.marked(line.mark, &line.text, BODY);
    }
    let vouched = if model.fingerprint.is_empty() {
        "The certificate of the register's authority cannot be read.".to_owned()
    } else {
        format!(
            "The signer is vouched for by this register's own authority and by nobody outside of it. Its fingerprint \
             (SHA-256) must be the one that was handed over on paper before work began: {}",
            model.fingerprint
        )
    };
    flow.subheading("Who vouches for the signer");
    flow.paragraph(&vouched, BODY);
    flow.paragraph(TIMES, SMALL);
    flow.subheading("The hold points at a glance");
    let columns = [Column::words("Hold point", 4.2), Column::words("Gate", 1.8), Column::words("State", 1.8)];
    let rows: Vec<Vec<Cell>> = model
        .hold_points
        .iter()
        .map(|one| vec![Cell::text(&one.title), Cell::text(&one.gate), cell(&one.state)])
        .collect();
    flow.table(&columns, &rows);
    flow.on_first_sheet(|sheet, fonts| {
        let (x, y, width, _) = SIGNATURE_BOX;
        let words = match model.purpose {
            Purpose::Draft => "A draft is not signed.",
            Purpose::SignOff => "Valid only where the signature block covers this line.",
        };
        sheet.text_ending_at(fonts, (x + width - 3.0, y + 5.0), SMALL, words);
    });
}

fn hold_point(flow: &mut Flow<'_>, part: &HoldPointPart, photos: &BTreeMap<Sha256Digest, Jpeg>) {
    if flow.is_first_sheet() {
        flow.new_sheet();
    }
    flow.heading(&part.title);
    flow.marked(part.state.mark, &format!("{} — gate: {}", part.state.text, part.gate), STRONG);
    for decision in &part.decisions {
        flow.item("•", decision, SMALL);
    }
    for owed in &part.owed {
        flow.marked(Mark::Open, &format!("owed: {owed}"), BODY);
    }
    if !part.cautions.is_empty() {
        flow.note("Cautions", &part.cautions.join(" "));
    }
    for one in &part.criteria {
        criterion(flow, one);
    }
    if !part.matters.is_empty() {
        flow.subheading("Nonconformances");
        let columns = [
            Column::words("What does not conform", 3.4),
            Column::words("Noted by", 1.8),
            Column::words("What became of it", 3.0),
        ];
        let row = |matter: &MatterPart| {
            vec![cell(&matter.what), Cell::small(&matter.noted), Cell::text(&matter.state)]
        };
        flow.table(&columns, &part.matters.iter().map(row).collect::<Vec<_>>());
    }
    if !part.superseded.is_empty() {
        flow.subheading("Entries that later ones took the place of");
        for line in &part.superseded {
            flow.item("•", line, SMALL);
        }
    }
    if !part.photos.is_empty() {
        flow.subheading("Photographs");
        let pictures: Vec<Picture> = part.photos.iter().map(|photo| picture(photo, photos)).collect();
        flow.pictures(&pictures);
    }
}

fn criterion(flow: &mut Flow<'_>, part: &CriterionPart) {
    flow.subheading(&part.title);
    flow.marked(part.verdict.mark, &part.verdict.text, STRONG);
    if let Some(limit) = &part.limit {
        flow.paragraph(&format!("Limit: {limit}"), BODY);
    }
    flow.paragraph(&format!("Source: {}", part.source), SMALL);
    for remark in &part.remarks {
        flow.item("•", remark, SMALL);
    }
    for line in &part.summary {
        flow.marked(line.mark, &line.text, BODY);
    }
    for (drawn, height) in &part.charts {
        chart::draw(flow, drawn, *height);
    }
    // The plan comes first where it fits, else the table fills the sheet before it.
    let plan_first = part.plan.as_ref().is_some_and(|(drawing, _)| flow.has_room(plan::height(drawing)));
    let draw_plan = |flow: &mut Flow<'_>| {
        if let Some((drawing, offsets)) = &part.plan {
            plan::draw(flow, drawing, offsets);
        }
    };
    if plan_first {
        draw_plan(flow);
    }
    if !part.readings.is_empty() {
        let columns = [
            Column::words("Point", 1.1),
            Column::numbers(&part.unit, 1.7),
            Column::words("Verdict", 1.9),
            Column::words("Against the limit", 2.9),
            Column::words("Booked by", 2.6),
        ];
        let rows: Vec<Vec<Cell>> = part
            .readings
            .iter()
            .map(|row| {
                let verdict = row.verdict.as_ref().map_or_else(|| Cell::text("judged together"), cell);
                vec![
                    Cell::strong(&row.point),
                    Cell::text(&row.value),
                    verdict,
                    Cell::text(&row.words),
                    Cell::small(&row.booked),
                ]
            })
            .collect();
        flow.table(&columns, &rows);
    }
    if !plan_first {
        draw_plan(flow);
    }
    if !part.findings.is_empty() {
        let columns = [Column::words("What was found", 5.0), Column::words("Source", 2.4)];
        let rows: Vec<Vec<Cell>> =
            part.findings.iter().map(|(line, source)| vec![cell(line), Cell::small(source)]).collect();
        flow.table(&columns, &rows);
    }
    if !part.to_do.is_empty() {
        flow.paragraph("What would put it right, for the designer or engineer to decide", STRONG);
        for line in &part.to_do {
            flow.item("•", line, BODY);
        }
    }
    if !part.working.is_empty() {
        let reckoning = part.reckoning.as_deref().unwrap_or("reckoning");
        flow.lead(&format!("Working ({reckoning})"));
        working_table(flow, &part.working);
    }
}

/// The steps of a working.
fn working_table(flow: &mut Flow<'_>, working: &[Step]) {
    let columns = [
        Column::words("Step", 2.6),
        Column::words("Formula with its numbers", 4.2),
        Column::numbers("Value", 1.2),
        Column::words("Unit", 0.7),
        Column::words("Source", 2.2),
    ];
    let rows: Vec<Vec<Cell>> = working
        .iter()
        .map(|step| {
            vec![
                Cell::small(&step.step),
                Cell::small(&step.formula),
                Cell::text(step.value_shown()),
                Cell::small(&step.unit),
                Cell::small(&step.source),
            ]
        })
        .collect();
    flow.table(&columns, &rows);
}

fn the_record(flow: &mut Flow<'_>, model: &Model) {
    flow.new_sheet();
    flow.heading("The record behind this document");
    flow.facts(
        1,
        &[
            ("Floor designs that were in force, the last one governs", model.designs.join("; ")),
            ("Plan of work", model.plan.clone()),
            ("Default limits, where the design states none", model.limits.clone()),
            ("Entries attached as evidence", model.entries.to_string()),
            ("Root: SHA-256 over the ends of all chains below", model.root.to_string()),
        ],
    );
    if let Some(underlay) = &model.underlay {
        flow.facts(
            1,
            &[("Drawing behind the plan on the tablet, on no page of this document", underlay.clone())],
        );
    }
    flow.subheading("Ends of the chains");
    let columns =
        [Column::words("Device", 1.6), Column::numbers("Entry", 0.7), Column::words("Id (SHA-256)", 5.0)];
    let rows: Vec<Vec<Cell>> = model
        .heads
        .iter()
        .map(|[device, seq, id]| vec![Cell::text(device), Cell::text(seq), Cell::small(id)])
        .collect();
    flow.table(&columns, &rows);
    flow.subheading("People");
    let columns = [
        Column::words("Name", 2.4),
        Column::words("Role", 2.0),
        Column::words("Enrolled", 1.6),
        Column::words("State", 1.4),
    ];
    let rows: Vec<Vec<Cell>> =
        model.people.iter().map(|person| person.iter().map(Cell::text).collect()).collect();
    flow.table(&columns, &rows);
    flow.subheading("How to check this document");
    for (sign, text) in [
        (
            "1",
            "Any reader of PDF shows whether the signature is intact and covers the whole file. It does not know the \
             register's authority: compare the fingerprint on page 1 with the one on paper.",
        ),
        (
            "2",
            "gaugerod verify FILE --authority FINGERPRINT recomputes every verdict from the attached evidence, checks \
             that the record has no gap, and draws the pages again to compare them.",
        ),
        (
            "3",
            "The evidence is plain text (evidence.json, attached); the format of the record is published, so that \
             another program can check it too.",
        ),
    ] {
        flow.item(sign, text, BODY);
    }
    flow.paragraph(TIMES, SMALL);
}

fn picture(photo: &PhotoPart, photos: &BTreeMap<Sha256Digest, Jpeg>) -> Picture {
    match photos.get(&photo.original) {
        Some(jpeg) => Picture {
            resource: Some(resource(photo.original)),
            width: jpeg.width(),
            height: jpeg.height(),
            caption: photo.caption.clone(),
        },
        None => Picture { resource: None, width: 4, height: 3, caption: photo.caption.clone() },
    }
}

fn cell(line: &Line) -> Cell {
    Cell::marked(line.mark, &line.text)
}
