use super::*;
use crate::faults::read_json;
use crate::quantity::Length;
use crate::reckon::tests::repeat;

fn plain(text: &str) -> Plain {
    Plain(Factor::parse(text).unwrap())
}

fn mm(text: &str) -> Mm {
    Mm(Length::parse_mm(text).unwrap())
}

/// A sound ticket for the concrete between doubled beams.
fn sheet() -> Input {
    read_json(
        r#"{
        "required": {"strength_class": "C20/25", "consistence_class": "S3", "largest_aggregate_mm": 10, "hours_to_discharge": 2},
        "ticket": {"strength_class": "C25/30", "consistence_class": "S3", "measured_slump_mm": 120, "largest_aggregate_mm": 10,
            "water_added_l": 0, "load_m3": 4.5, "batched_at": "2026-11-26T08:10:00Z", "discharged_at": "2026-11-26T09:45:00Z"},
        "air_C": 7, "concrete_C": 11, "least_air_C": 3, "least_concrete_C": 5
    }"#,
    )
    .unwrap()
}

/// The finding about an item, and the verdict of the whole.
fn found(input: &Input, item: &str) -> (Verdict, Verdict) {
    let output = reckon(input).unwrap();
    repeat(&output.working);
    let finding = output.findings.iter().find(|finding| finding.item == item);
    (finding.unwrap_or_else(|| panic!("no {item}: {:?}", output.findings)).verdict, output.verdict)
}

#[test]
fn a_sound_ticket_conforms() {
    let output = reckon(&sheet()).unwrap();
    assert_eq!(output.verdict, Verdict::Conforming, "{:?}", output.findings);
    let items: Vec<&str> = output.findings.iter().map(|finding| finding.item.as_str()).collect();
    assert_eq!(
        items,
        [
            "strength class",
            "consistence class",
            "measured slump",
            "largest aggregate",
            "water added on site",
            "time to discharge",
            "temperature of the air",
            "temperature of the concrete"
        ]
    );
    assert_eq!(output.findings[5].found, "1 h 35 min 00 s");
    repeat(&output.working);
}

#[test]
fn strength_is_met_under_every_reading_under_none_or_stays_open() {
    use Verdict::{Conforming as C, Nonconforming as N, Undetermined as U};
    for (required, ticket, expect) in [
        ("C20/25", "C20/25", C),
        ("C20/25", "C16/20", N),
        ("C20/25", "C25/30", C),
        // A bare C20 is C20/25 or, by cube, C16/20.
        ("C20/25", "C20", U),
        ("C16/20", "C20", C),
        ("C25/30", "C20", N),
        ("C20", "C20/25", C),
        ("C20", "C16/20", U),
        ("C20", "C12/15", N),
        ("C20", "C20", U),
        // C12 never was a cube grade of the list, so it is C12/15.
        ("C12/15", "C12", C),
        ("C16/20", "GEN3", C),
        ("C20/25", "GEN3", N),
        ("C20", "GEN3", U),
        ("GEN1", "gen 2", C),
        ("RC20/25", "RC25/30", C),
        ("C25/30", "RC25/30XF", C),
        ("C28/35", "RC25/30", N),
        ("C20/25", "C20/30", U),
        ("C20/25", "special 4", U),
        ("C20/25", "LC20/22", U),
    ] {
        let mut input = sheet();
        input.required.strength_class = required.to_owned();
        input.ticket.strength_class = ticket.to_owned();
        assert_eq!(found(&input, "strength class").0, expect, "{required} / {ticket}");
    }
    let mut input = sheet();
    input.ticket.strength_class = "C20".to_owned();
    let reason = reckon(&input).unwrap().findings[0].reason.clone().unwrap();
    assert_eq!(reason, "C20 can be a cylinder class or a former cube grade: ask which is meant");
}

#[test]
fn a_measured_slump_on_the_ends_of_its_range_conforms() {
    use Verdict::{Conforming as C, Nonconforming as N};
    for (slump, expect) in
        [("79.999", N), ("80", C), ("80.001", C), ("169.999", C), ("170", C), ("170.001", N)]
    {
        let mut input = sheet();
        input.ticket.measured_slump_mm = Some(mm(slump));
        assert_eq!(found(&input, "measured slump"), (expect, expect), "{slump}");
    }
    let mut input = sheet();
    input.required.consistence_class = Some("S5".to_owned());
    input.ticket.consistence_class = Some("s5".to_owned());
    assert_eq!(found(&input, "measured slump").0, Verdict::Undetermined);
    assert_eq!(found(&input, "consistence class").0, Verdict::Conforming);
    input.ticket.consistence_class = Some("S4".to_owned());
    assert_eq!(found(&input, "consistence class").0, Verdict::Nonconforming);
}

#[test]
fn limits_are_closed() {
    use Verdict::{Conforming as C, Nonconforming as N};
    for (aggregate, expect) in [("9.999", C), ("10", C), ("10.001", N)] {
        let mut input = sheet();
        input.ticket.largest_aggregate_mm = Some(mm(aggregate));
        assert_eq!(found(&input, "largest aggregate"), (expect, expect), "{aggregate}");
    }
    for (temperature, expect) in [("2.999999", N), ("3", C), ("3.000001", C)] {
        let mut input = sheet();
        input.air_c = plain(temperature);
        assert_eq!(found(&input, "temperature of the air"), (expect, expect), "{temperature}");
    }
    for (temperature, expect) in [("-1", N), ("4.999999", N), ("5", C)] {
        let mut input = sheet();
        input.concrete_c = plain(temperature);
        assert_eq!(found(&input, "temperature of the concrete"), (expect, expect), "{temperature}");
    }
    for (time, expect) in [("10:09:59", C), ("10:10:00", C), ("10:10:01", N)] {
        let mut input = sheet();
        input.ticket.discharged_at = format!("2026-11-26T{time}Z");
        assert_eq!(found(&input, "time to discharge"), (expect, expect), "{time}");
    }
    for (fibre, expect) in [("2.999999", N), ("3", C), ("3.000001", C)] {
        let mut input = sheet();
        input.required.fibre_kg_per_m3 = Some(plain("3"));
        input.ticket.fibre_kg_per_m3 = Some(plain(fibre));
        assert_eq!(found(&input, "fibre"), (expect, expect), "{fibre}");
    }
}

#[test]
fn micro_fibres_are_never_structural() {
    let mut input = sheet();
    input.required.fibre_kg_per_m3 = Some(plain("3"));
    input.ticket.fibre_kg_per_m3 = Some(plain("5"));
    input.ticket.fibre_type = Some("Micro-synthetic".to_owned());
    assert_eq!(found(&input, "fibre").0, Verdict::Nonconforming);
    input.required.fibre_type = Some("macro synthetic".to_owned());
    assert_eq!(found(&input, "fibre type").0, Verdict::Nonconforming);
    assert_eq!(found(&input, "fibre").0, Verdict::Nonconforming);
    // Asked for as such, against cracks, they are what is asked for.
    input.required.fibre_type = Some("micro synthetic".to_owned());
    assert_eq!(found(&input, "fibre type").0, Verdict::Conforming);
    assert_eq!(found(&input, "fibre").0, Verdict::Conforming);
    let reasons: Vec<_> =
        reckon(&input).unwrap().findings.into_iter().filter_map(|finding| finding.reason).collect();
    assert_eq!(reasons, ["micro fibres are never structural"]);
    input.required.fibre_type = Some("steel".to_owned());
    input.ticket.fibre_type = Some("Steel".to_owned());
    assert_eq!(found(&input, "fibre").0, Verdict::Conforming);
}

#[test]
fn what_the_ticket_does_not_say_stays_open() {
    let mut input = sheet();
    input.required.fibre_kg_per_m3 = Some(plain("3"));
    input.required.fibre_type = Some("steel".to_owned());
    input.ticket.consistence_class = None;
    input.ticket.largest_aggregate_mm = None;
    let output = reckon(&input).unwrap();
    let open: Vec<&str> = output
        .findings
        .iter()
        .filter(|finding| finding.verdict == Verdict::Undetermined)
        .map(|finding| finding.item.as_str())
        .collect();
    assert_eq!(open, ["consistence class", "largest aggregate", "fibre type", "fibre"]);
    assert_eq!(output.verdict, Verdict::Undetermined);
    // What nobody asks for may be missing.
    let mut input = sheet();
    input.required.consistence_class = None;
    input.required.largest_aggregate_mm = None;
    (input.ticket.consistence_class, input.ticket.largest_aggregate_mm, input.ticket.water_added_l) =
        (None, None, None);
    assert_eq!(reckon(&input).unwrap().verdict, Verdict::Conforming);
}

#[test]
fn any_water_added_waits_for_the_producer() {
    for (water, expect) in
        [("0", Verdict::Conforming), ("0.000001", Verdict::Undetermined), ("40", Verdict::Undetermined)]
    {
        let mut input = sheet();
        input.ticket.water_added_l = Some(plain(water));
        assert_eq!(found(&input, "water added on site"), (expect, expect), "{water}");
    }
}

#[test]
fn times_are_read_in_three_ways_and_compared_only_alike() {
    let time = |batched: &str, discharged: &str| {
        let mut input = sheet();
        (input.ticket.batched_at, input.ticket.discharged_at) = (batched.to_owned(), discharged.to_owned());
        reckon(&input).map(|output| output.findings[5].found.clone()).map_err(|faults| faults.to_string())
    };
    let ok = |text: &str| Ok(text.to_owned());
    assert_eq!(time("2026-11-26T08:10:00Z", "2026-11-26T10:00:30+01:00"), ok("0 h 50 min 30 s"));
    assert_eq!(time("2026-11-26T08:10Z", "2026-11-26T08:10+00:00"), ok("0 h 00 min 00 s"));
    assert_eq!(time("2026-11-26T23:50", "2026-11-27T00:20"), ok("0 h 30 min 00 s"));
    assert_eq!(time("08:10", "09:00:01"), ok("0 h 50 min 01 s"));
    for (batched, discharged, expect) in [
        (
            "08:10",
            "08:09",
            "/ticket/discharged_at: must not be earlier than batched_at; past midnight give the dates too",
        ),
        (
            "2026-11-26T08:10",
            "2026-11-26T08:09",
            "/ticket/discharged_at: must not be earlier than batched_at",
        ),
        (
            "08:10",
            "2026-11-26T08:09",
            "/ticket/discharged_at: must be written like batched_at: both with offset, with date, or by the clock",
        ),
        (
            "soon",
            "08:10",
            "/ticket/batched_at: must be a time such as 2026-11-26T08:10:00Z, 2026-11-26T08:10 or 08:10",
        ),
    ] {
        assert_eq!(time(batched, discharged), Err(expect.to_owned()));
    }
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = sheet();
    input.required.strength_class = "strong".to_owned();
    input.required.largest_aggregate_mm = Some(mm("0"));
    input.required.fibre_kg_per_m3 = Some(plain("-1"));
    input.required.hours_to_discharge = plain("0");
    input.ticket.measured_slump_mm = Some(mm("-1"));
    input.ticket.water_added_l = Some(plain("-1"));
    input.ticket.load_m3 = Some(plain("0"));
    input.ticket.discharged_at = "late".to_owned();
    let faults = reckon(&input).unwrap_err();
    let places: Vec<&str> = faults.iter().map(|fault| fault.place.as_str()).collect();
    assert_eq!(
        places,
        [
            "/required/strength_class",
            "/required/largest_aggregate_mm",
            "/required/fibre_kg_per_m3",
            "/ticket/water_added_l",
            "/ticket/measured_slump_mm",
            "/required/hours_to_discharge",
            "/ticket/load_m3",
            "/ticket/discharged_at",
        ]
    );
}
