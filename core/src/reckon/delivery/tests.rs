use super::*;
use crate::reckon::tests::repeat;

fn quantities(list: &[(&str, u32)]) -> Vec<Quantity> {
    list.iter().map(|(item, quantity)| Quantity { item: (*item).to_owned(), quantity: *quantity }).collect()
}

fn note(note: &str, lines: &[(&str, u32, u32, u32)]) -> Note {
    Note {
        note: note.to_owned(),
        lines: lines
            .iter()
            .map(|(item, delivered, damaged, unlabelled)| Line {
                item: (*item).to_owned(),
                delivered: *delivered,
                damaged: *damaged,
                unlabelled: *unlabelled,
            })
            .collect(),
    }
}

fn stage(stage: &str, needs: &[(&str, u32)]) -> Stage {
    Stage { stage: stage.to_owned(), needs: quantities(needs) }
}

fn order() -> Input {
    Input {
        ordered: quantities(&[("beam 4190", 16), ("beam 3590", 10), ("wide infill", 60)]),
        notes: vec![],
        stages: vec![
            stage("front bay", &[("beam 4190", 16), ("wide infill", 40)]),
            stage("back bay", &[("beam 3590", 10), ("wide infill", 20)]),
        ],
    }
}

#[test]
fn sound_stock_is_balanced_and_given_to_stages_in_order() {
    let mut input = order();
    input.notes = vec![
        note("N1", &[("beam 4190", 16, 1, 0), ("wide infill", 30, 0, 2)]),
        note("N2", &[("beam 3590", 11, 0, 0), ("wide infill", 20, 0, 0)]),
    ];
    let output = reckon(&input).unwrap();
    let balance: Vec<(u64, u64, u64, u64, u64)> = output
        .balance
        .iter()
        .map(|item| (item.sound, item.damaged, item.unlabelled, item.short, item.surplus))
        .collect();
    assert_eq!(balance, [(15, 1, 0, 1, 0), (11, 0, 0, 0, 1), (48, 0, 2, 12, 0)]);
    let [front, back] = output.stages.as_slice() else { panic!() };
    // The front bay cannot start and yet keeps its infill; the back bay gets what is then left.
    assert!(!front.can_start && !back.can_start);
    assert_eq!(front.missing, [Missing { item: "beam 4190".to_owned(), quantity: 1 }]);
    assert_eq!(back.missing, [Missing { item: "wide infill".to_owned(), quantity: 12 }]);
    assert_eq!(output.verdict, Verdict::Nonconforming);
    assert_eq!(output.working.result().unwrap().value.as_str(), "16");
    repeat(&output.working);
}

#[test]
fn an_order_fulfilled_exactly_conforms_and_every_shortfall_or_fault_does_not() {
    let full = [("beam 4190", 16, 0, 0), ("beam 3590", 10, 0, 0), ("wide infill", 60, 0, 0)];
    let verdict = |lines: &[(&str, u32, u32, u32)]| {
        let mut input = order();
        input.notes = vec![note("N1", lines)];
        let output = reckon(&input).unwrap();
        repeat(&output.working);
        (output.verdict, output.stages.iter().all(|stage| stage.can_start))
    };
    assert_eq!(verdict(&full), (Verdict::Conforming, true));
    let changed = |line: (&'static str, u32, u32, u32)| {
        let mut lines = full;
        lines[0] = line;
        verdict(&lines)
    };
    assert_eq!(changed(("beam 4190", 15, 0, 0)), (Verdict::Nonconforming, false));
    assert_eq!(changed(("beam 4190", 17, 0, 0)), (Verdict::Conforming, true), "surplus is no fault");
    assert_eq!(changed(("beam 4190", 17, 1, 0)), (Verdict::Nonconforming, true));
    assert_eq!(changed(("beam 4190", 17, 0, 1)), (Verdict::Nonconforming, true));
    let mut more = full.to_vec();
    more.push(("vent sleeve", 1, 0, 0));
    assert_eq!(verdict(&more), (Verdict::Nonconforming, true), "never ordered");
    let mut more = full.to_vec();
    more.push(("vent sleeve", 0, 0, 0));
    assert_eq!(verdict(&more), (Verdict::Conforming, true), "none came");
}

#[test]
fn what_was_never_ordered_is_set_apart_even_from_a_stage_that_asks_for_it() {
    let mut input = order();
    input.notes = vec![note("N1", &[("sheet", 5, 1, 0), ("sheet", 2, 0, 0)])];
    input.stages = vec![stage("infill", &[("sheet", 1)])];
    let output = reckon(&input).unwrap();
    let expect = Unordered { item: "sheet".to_owned(), delivered: 7, damaged: 1, unlabelled: 0 };
    assert_eq!(output.unordered, [expect]);
    assert!(!output.stages[0].can_start);
    repeat(&output.working);
}

#[test]
fn an_empty_order_decides_nothing() {
    let output = reckon(&Input { ordered: vec![], notes: vec![], stages: vec![stage("s", &[])] }).unwrap();
    assert_eq!(output.verdict, Verdict::Undetermined);
    assert!(output.stages[0].can_start);
    repeat(&output.working);
}

#[test]
fn an_item_spelled_two_ways_is_refused_with_the_near_one() {
    let mut input = order();
    input.ordered.push(Quantity { item: "Wide-Infill".to_owned(), quantity: 1 });
    input.stages[1].needs[1].item = "wide infil".to_owned();
    input.notes = vec![note(
        "N1",
        &[("BEAM 4190", 1, 0, 0), ("beam 4191", 1, 0, 0), ("sleeve", 1, 0, 0), ("Sleeve", 1, 0, 0)],
    )];
    let faults = reckon(&input).unwrap_err().to_string();
    assert_eq!(
        faults.lines().collect::<Vec<_>>(),
        [
            "/ordered/3/item: \"Wide-Infill\" is nearly \"wide infill\" of /ordered/2/item: if it is the same item, spell it so",
            "/stages/1/needs/1/item: \"wide infil\" is nearly \"wide infill\" of the order: if it is the same item, spell it so",
            "/notes/0/lines/0/item: \"BEAM 4190\" is nearly \"beam 4190\" of /ordered/0/item: if it is the same item, spell it so",
            "/notes/0/lines/3/item: \"Sleeve\" is nearly \"sleeve\" of /notes/0/lines/2/item: if it is the same item, spell it so",
        ]
    );
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = order();
    input.ordered.push(Quantity { item: "beam 4190".to_owned(), quantity: MAX_QUANTITY + 1 });
    input.notes = vec![
        note("N1", &[("beam 4190", 3, 2, 1), ("beam 4190", 3, 2, 2)]),
        note("N1", &[("beam 4190", MAX_QUANTITY, 0, 0), ("beam 4190", MAX_QUANTITY + 1, 0, 0)]),
    ];
    input.stages.push(stage("front bay", &[("beam 3590", 1), ("beam 3590", MAX_QUANTITY + 1)]));
    let faults = reckon(&input).unwrap_err().to_string();
    assert_eq!(
        faults.lines().collect::<Vec<_>>(),
        [
            "/ordered/3/item: \"beam 4190\" stands already at /ordered/0",
            "/notes/1/note: \"N1\" stands already at /notes/0",
            "/stages/2/stage: \"front bay\" stands already at /stages/0",
            "/ordered/3/quantity: must be at most 1000000",
            "/stages/2/needs/1/quantity: must be at most 1000000",
            "/notes/1/lines/1/delivered: must be at most 1000000",
            "/stages/2/needs/1/item: \"beam 3590\" stands already at /stages/2/needs/0",
            "/notes/0/lines/1/damaged: damaged and unlabelled together are 4, more than the 3 delivered",
        ]
    );
}

#[test]
fn lists_past_their_bounds_are_refused() {
    let lines = |count: usize| -> Input {
        let mut input = order();
        input.notes =
            vec![note("N1", &vec![("beam 4190", 1, 0, 0); count - 1]), note("N2", &[("beam 4190", 1, 0, 0)])];
        input
    };
    assert!(reckon(&lines(MAX_LINES)).is_ok());
    let faults = reckon(&lines(MAX_LINES + 1)).unwrap_err().to_string();
    assert_eq!(faults, "/notes: must have at most 5000 lines together");
    let items = |count: usize| {
        let ordered =
            (0..count).map(|index| Quantity { item: format!("item {index}"), quantity: 1 }).collect();
        reckon(&Input { ordered, notes: vec![], stages: vec![] })
    };
    assert!(items(MAX_ITEMS).is_ok());
    assert_eq!(items(MAX_ITEMS + 1).unwrap_err().to_string(), "/ordered: must have at most 500 items");
}
