//! A drawing behind the plan: recorded, the last one governs, and what is refused.

use super::*;
use crate::entry::UnderlayPlaced;
use crate::inspection::Request;
use crate::inspection::underlay;

/// Enough of a PDF for its kind to be known; nothing here draws it.
const PDF: &[u8] = b"%PDF-1.7\ninvented";

impl Desk {
    fn placed(&mut self, revision: &str) -> UnderlayPlaced {
        let document = self.register.take_in_document("drawings/setting-out.pdf", PDF).unwrap();
        UnderlayPlaced {
            document,
            page: 1,
            revision: revision.to_owned(),
            picture_ppm: [[100_000, 900_000], [900_000, 900_000]],
            plan_um: [[Length::ZERO; 2], [Length::from_mm(8_400), Length::ZERO]],
        }
    }

    #[track_caller]
    fn says(&mut self, placed: UnderlayPlaced, says: &str) {
        let by = self.supervisor.clone();
        self.refused(Act::PlaceUnderlay(placed), &by, says);
    }
}

#[test]
fn the_last_drawing_placed_governs_and_its_bytes_are_kept() {
    let mut desk = Desk::new();
    assert!(underlay::of(&desk.view().record).is_none());
    let first = desk.placed("A");
    desk.supervise(Act::PlaceUnderlay(first.clone()));
    let second = desk.placed("B");
    desk.manage(Act::PlaceUnderlay(second.clone()));
    let view = desk.view();
    let (governs, noted) = underlay::of(&view.record).unwrap();
    assert_eq!((governs, noted.author), (&second, Some(desk.manager.person)));
    assert_eq!(view.record.underlays.len(), 2, "both stay readable");
    assert_eq!(governs.document.name, "setting-out.pdf");
    let bytes = desk.register.reader().original_bytes(governs.document.sha256).unwrap();
    assert_eq!(bytes, PDF);
    // The demo's design is revision B.
    assert!(underlay::is_of_another_revision(&view.record, &first));
    assert!(!underlay::is_of_another_revision(&view.record, governs));
}

#[test]
fn a_drawing_changes_no_verdict_and_takes_no_release_away() {
    let mut desk = Desk::new();
    desk.prove("oversite");
    desk.supervise(Act::Offer(Extent::HoldPoint(hold("oversite"))));
    desk.manage(Act::Release(Extent::HoldPoint(hold("oversite"))));
    let before = desk.view().standing.clone();
    let placed = desk.placed("B");
    desk.supervise(Act::PlaceUnderlay(placed));
    assert_eq!(desk.view().standing, before);
}

#[test]
fn a_request_with_a_file_becomes_a_placing() {
    let mut desk = Desk::new();
    let line = r#"{"do": "place-underlay", "plot": "7", "file": "plans/so.pdf", "page": 2, "revision": "C",
        "picture_ppm": [[0, 0], [1000000, 0]], "plan_mm": [[0, 7615.5], [8400, 7615.5]]}"#;
    let request = Request::read(line).unwrap();
    let command = desk.register.take_in(request, &|_| Ok(PDF.to_vec())).unwrap();
    let Command::OnPlot { act: Act::PlaceUnderlay(placed), .. } = &command else { panic!("{command:?}") };
    assert_eq!((placed.page, placed.revision.as_str(), placed.document.name.as_str()), (2, "C", "so.pdf"));
    assert_eq!(placed.plan_um[1], [Length::from_mm(8_400), Length::from_um(7_615_500)]);
    desk.register.perform(&command, &desk.supervisor).unwrap();
    for (line, place) in [
        (line.replace("\"page\": 2", "\"page\": -2"), "/page"),
        (line.replace("7615.5", "7615.00001"), "/plan_mm"),
        (line.replace("[[0, 0],", "[[0, 0, 0],"), "/picture_ppm"),
        (line.replace("\"revision\": \"C\",", ""), ""),
        (line.replace("\"page\"", "\"sheet\""), ""),
    ] {
        let faults = Request::read(&line).unwrap_err();
        assert!(faults.iter().any(|fault| fault.place.starts_with(place)), "{line}: {faults}");
    }
}

#[test]
fn places_outside_of_the_drawing_or_too_near_together_are_refused() {
    let mut desk = Desk::new();
    let sound = desk.placed("B");
    let with = |picture: [[i64; 2]; 2]| UnderlayPlaced { picture_ppm: picture, ..sound.clone() };
    // Just below, on, and just above every bound.
    for (picture, says) in [
        ([[-1, 0], [500_000, 0]], "place 1 lies outside"),
        ([[0, 0], [1_000_001, 0]], "place 2 lies outside"),
        ([[0, -1], [500_000, 0]], "place 1 lies outside"),
        ([[0, 0], [0, 20_000_001]], "place 2 lies outside"),
        ([[0, 0], [9_999, 0]], "at least a hundredth"),
        ([[7, 7], [7, 7]], "at least a hundredth"),
    ] {
        desk.says(with(picture), says);
    }
    for picture in [[[0, 0], [1_000_000, 20_000_000]], [[0, 0], [10_000, 0]], [[5, 5], [5, 10_006]]] {
        desk.supervise(Act::PlaceUnderlay(with(picture)));
    }
    let apart = |um: i64| UnderlayPlaced {
        plan_um: [[Length::ZERO; 2], [Length::ZERO, Length::from_um(um)]],
        ..sound.clone()
    };
    desk.says(apart(99_999), "100 mm apart");
    desk.supervise(Act::PlaceUnderlay(apart(100_000)));
    desk.supervise(Act::PlaceUnderlay(apart(-100_001)));
}

#[test]
fn what_is_no_drawing_no_page_or_no_revision_is_refused() {
    let mut desk = Desk::new();
    let sound = desk.placed("B");
    for page in [0, 10_001] {
        desk.says(UnderlayPlaced { page, ..sound.clone() }, "cannot be");
    }
    desk.supervise(Act::PlaceUnderlay(UnderlayPlaced { page: 10_000, ..sound.clone() }));
    for (revision, says) in
        [("", "revision"), (" ", "revision"), ("a\nb", "one line"), (&"x".repeat(101), "one line")]
    {
        desk.says(UnderlayPlaced { revision: revision.to_owned(), ..sound.clone() }, says);
    }
    desk.supervise(Act::PlaceUnderlay(UnderlayPlaced { revision: "x".repeat(100), ..sound.clone() }));
    let text = desk.register.take_in_document("notes.txt", b"no drawing").unwrap();
    desk.says(UnderlayPlaced { document: text, ..sound.clone() }, "a PDF, a JPEG or a PNG");
    let mut picture = sound.clone();
    picture.document.media_type = "image/png".to_owned();
    desk.says(UnderlayPlaced { page: 2, ..picture.clone() }, "page 2 cannot be");
    desk.supervise(Act::PlaceUnderlay(picture));
    // It is a fact of its own: it takes no other entry's place.
    let entry = desk.supervise(Act::PlaceUnderlay(sound.clone()));
    let by = desk.supervisor.clone();
    let instead = Act::Supersede {
        id: entry,
        because: Because::Mistake,
        remark: None,
        with: Box::new(Act::PlaceUnderlay(sound)),
    };
    desk.refused(instead, &by, "under that id");
}
