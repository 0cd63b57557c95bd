//! What stands together on a sheet.

use super::*;

const HEADING: &str = "Readings of the bearing walls";
const FOLLOWS: &str = "follows";

/// What can follow a heading; the first of it says [`FOLLOWS`].
fn follow(flow: &mut Flow<'_>, what: usize) {
    let columns = [Column::words(FOLLOWS, 1.0), Column::words("Second", 1.0)];
    let long = "a cell with many words in it ".repeat(24);
    match what {
        0 => flow.paragraph(FOLLOWS, BODY),
        1 => flow.marked(Mark::Conforming, FOLLOWS, STRONG),
        2 => flow.item("1", FOLLOWS, BODY),
        3 => flow.note(FOLLOWS, &long),
        4 => flow.banner(Mark::Open, FOLLOWS, &long),
        5 => flow.facts(2, &[(FOLLOWS, long.clone()), ("Site", "invented".to_owned())]),
        6 => flow.table(&columns, &[vec![Cell::text(&long), Cell::text("short")]]),
        7 => {
            flow.lead("Working");
            flow.table(&columns, &[vec![Cell::text("short"), Cell::text("short")]]);
        }
        _ => {
            let caption = vec![FOLLOWS.to_owned(), long.clone()];
            flow.pictures(&[Picture { resource: None, width: 4, height: 3, caption }]);
        }
    }
}

#[test]
fn no_lesser_heading_stands_alone_at_the_foot_of_a_sheet() {
    let fonts = Fonts::shipped();
    for what in 0..9 {
        let mut moved = 0;
        for down in 0..490_u16 {
            let mut flow = Flow::new(&fonts, TitleBlock::default());
            flow.new_sheet();
            flow.space(f32::from(down) / 2.0);
            flow.subheading(HEADING);
            follow(&mut flow, what);
            let sheets = flow.into_sheets();
            let on = |wanted: &str| sheets.iter().position(|sheet| sheet.texts().contains(&wanted));
            let (heading, follows) = (on(HEADING), on(FOLLOWS));
            assert!(heading.is_some(), "{what}: the heading is lost {down} half millimetres down");
            assert_eq!(heading, follows, "{what}, {down} half millimetres down");
            moved += u16::from(heading == Some(2));
        }
        assert!(moved > 0, "{what}: the heading never had to move to the next sheet");
    }
}

#[test]
fn the_head_of_a_table_stands_with_its_first_row() {
    let fonts = Fonts::shipped();
    let row = vec![Cell::text("a row of many words ".repeat(40))];
    for down in 0..490_u16 {
        let mut flow = Flow::new(&fonts, TitleBlock::default());
        flow.new_sheet();
        flow.space(f32::from(down) / 2.0);
        flow.table(&[Column::words("Head", 1.0)], std::slice::from_ref(&row));
        let heads = flow.into_sheets().iter().filter(|sheet| sheet.texts().contains(&"Head")).count();
        assert_eq!(heads, 1, "{down} half millimetres down");
    }
}

#[test]
fn a_heading_that_nothing_follows_is_still_written() {
    let fonts = Fonts::shipped();
    let mut flow = Flow::new(&fonts, TitleBlock::default());
    flow.subheading(HEADING);
    assert!(flow.into_sheets()[0].texts().contains(&HEADING));
}
