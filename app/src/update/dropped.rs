//! Files dropped on the window: photos onto the open hold point, a document where one is asked for, a register
//! opens, a floor design is read.

use std::path::{Path, PathBuf};

use gaugerod_core::ids::PlotId;
use gaugerod_core::plan_of_work::CriterionKind;

use crate::action::{Action, DocumentFor};
use crate::screens::asking::{self, Asking};
use crate::state::{Screen, State};

/// What files dropped on the window ask for; a sentence where they ask for nothing, or for something more first.
pub fn ask(state: &mut State, files: Vec<PathBuf>) -> Result<Vec<Action>, String> {
    if is_writing_asked_for(state) {
        return asking::take_writing(state, files);
    }
    if let Some((plot, purpose)) = document_wanted(state) {
        let attach = |file| Action::Attach { plot: plot.clone(), purpose: purpose.clone(), file };
        return Ok(files.into_iter().map(attach).collect());
    }
    if let (Screen::Underlay(plot), Some(path)) = (&state.screen, files.first()) {
        let path = path.clone();
        return Ok(vec![Action::ReadDrawing { plot: plot.clone(), path, page: 1 }]);
    }
    let (photos, others): (Vec<PathBuf>, Vec<PathBuf>) = files.into_iter().partition(|file| is_photo(file));
    let mut actions = Vec::new();
    if !photos.is_empty() {
        actions.push(photos_onto(state, photos)?);
    }
    for file in others {
        let ending = ending(&file);
        match ending.as_str() {
            "gaugerod" => actions.push(Action::OpenRegister(file)),
            "csv" => actions.push(level_book(state, file)?),
            "toml" if state.register.is_some() => {
                actions.push(Action::Go(Screen::SiteFile));
                actions.push(Action::ReadDesign(file));
            }
            "toml" => return Err("Open a register first, then drop the floor design again.".to_owned()),
            _ => {
                return Err(format!(
                    "{} is no photo (JPEG or PNG), no floor design (.toml), no level book (.csv) and no register \
                     (.gaugerod). Nothing was taken in.",
                    file.display()
                ));
            }
        }
    }
    Ok(actions)
}

/// Whether the screen asks for a designer's own writing: a concession or an assessment.
fn is_writing_asked_for(state: &State) -> bool {
    match (&state.screen, &state.drafts.asking) {
        (Screen::Nonconformances(Some(own)), Some((plot, Asking::Concede(_)))) => own == plot,
        (Screen::HoldPoint(own, at), Some((plot, Asking::Assess(id)))) => own == plot && at == id,
        _ => false,
    }
}

/// The criterion that is being worked on, where it asks for a document and no photo is asked for beside it.
fn document_wanted(state: &State) -> Option<(PlotId, DocumentFor)> {
    let Screen::HoldPoint(plot, hold_point) = &state.screen else { return None };
    if matches!(state.drafts.asking, Some((_, Asking::Photo(_)))) {
        return None;
    }
    let (own, criterion) = state.drafts.criterion.as_ref().filter(|(own, _)| own == hold_point)?;
    let view = state.plot(plot)?;
    let asked = view.record.plan.hold_point(own)?.criterion(criterion)?;
    let purpose = DocumentFor::Criterion { hold_point: own.clone(), criterion: criterion.clone() };
    matches!(asked.kind, CriterionKind::Document { .. }).then(|| (plot.clone(), purpose))
}

fn photos_onto(state: &State, files: Vec<PathBuf>) -> Result<Action, String> {
    let Screen::HoldPoint(plot, hold_point) = &state.screen else {
        return Err("Open the hold point that the photos belong to, then drop them again.".to_owned());
    };
    let view = state.plot(plot).ok_or("The plot is still being read; drop the photos again.")?;
    let standing = view.standing.hold_point(hold_point).ok_or("This hold point is not known here.")?;
    let chosen = state.drafts.subject.as_ref();
    let known = |subject: &&String| standing.evidence.iter().any(|one| one.subject == **subject);
    let owed = || standing.evidence.iter().find(|one| one.photos.len() < one.wanted);
    let subject = chosen
        .filter(known)
        .cloned()
        .or_else(|| owed().or_else(|| standing.evidence.first()).map(|one| one.subject.clone()))
        .ok_or("This hold point asks for no photos.")?;
    Ok(Action::AddPhotos { plot: plot.clone(), hold_point: hold_point.clone(), subject, files })
}

/// A CSV file is a level book of the plot whose books are shown.
fn level_book(state: &State, path: PathBuf) -> Result<Action, String> {
    let Screen::LevelBook(plot, None) = &state.screen else {
        return Err(
            "Open the level books of the plot that the file belongs to, then drop it again.".to_owned()
        );
    };
    let begun = state.drafts.levels.for_file(plot);
    let begun = begun.ok_or("Say first with which instrument and from which bench mark it was levelled.")?;
    Ok(Action::ReadLevelBook { plot: plot.clone(), begun: Box::new(begun.clone()), path })
}

fn ending(file: &Path) -> String {
    file.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default()
}

fn is_photo(file: &Path) -> bool {
    matches!(ending(file).as_str(), "jpg" | "jpeg" | "png")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screens::fixture::{Site, hold_point, plot};

    #[test]
    fn photos_dropped_on_a_hold_point_go_to_the_chosen_subject_or_the_first_one_owed() {
        let mut site = Site::bare();
        let mut state = site.state(Screen::HoldPoint(plot("1"), hold_point("bearing-level")));
        let subject = |state: &mut State| match ask(state, vec![PathBuf::from("a.JPG")]).unwrap().as_slice() {
            [Action::AddPhotos { subject, files, .. }] => {
                assert_eq!(files.len(), 1);
                subject.clone()
            }
            other => panic!("{other:?}"),
        };
        let first = subject(&mut state);
        let view = state.plot(&plot("1")).unwrap();
        let evidence = &view.standing.hold_point(&hold_point("bearing-level")).unwrap().evidence;
        assert_eq!(first, evidence[0].subject);
        state.drafts.subject = Some(evidence[1].subject.clone());
        assert_eq!(subject(&mut state), evidence[1].subject);
        state.drafts.subject = Some("of another hold point".to_owned());
        assert_eq!(subject(&mut state), first);
    }

    #[test]
    fn what_is_dropped_where_a_document_is_asked_for_is_that_document() {
        let mut state = Site::bare().state(Screen::HoldPoint(plot("1"), hold_point("gas-pipes")));
        let criterion = gaugerod_core::ids::CriterionId::new("engineer").unwrap();
        state.drafts.criterion = Some((hold_point("gas-pipes"), criterion));
        let asked = ask(&mut state, vec![PathBuf::from("report.pdf")]).unwrap();
        assert!(matches!(asked.as_slice(), [Action::Attach { .. }]), "{asked:?}");
        // A photo that is asked for beside it goes under its subject, not under the criterion.
        state.drafts.asking = Some((plot("1"), Asking::Photo(hold_point("gas-pipes"))));
        let asked = ask(&mut state, vec![PathBuf::from("route.jpg")]).unwrap();
        assert!(matches!(asked.as_slice(), [Action::AddPhotos { .. }]), "{asked:?}");
    }

    #[test]
    fn the_designers_writing_is_taken_where_it_is_asked_for_once_the_designer_is_named() {
        let mut site = Site::new();
        let id = site.state(Screen::Section(plot("2"))).plot(&plot("2")).unwrap();
        let id = id.standing.nonconformances().next().unwrap().id;
        let concede = (Screen::Nonconformances(Some(plot("2"))), Asking::Concede(id));
        let assess =
            (Screen::HoldPoint(plot("2"), hold_point("oversite")), Asking::Assess(hold_point("oversite")));
        for (screen, asking) in [concede, assess] {
            let mut state = site.state(screen);
            state.drafts.asking = Some((plot("2"), asking.clone()));
            let file = || vec![PathBuf::from("/letters/writing.pdf")];
            // Without a name nothing is attached, but the file is not forgotten.
            assert!(ask(&mut state, file()).unwrap_err().contains("name"));
            assert_eq!(state.drafts.text(asking::PATH), "/letters/writing.pdf");
            assert!(state.drafts.asking.is_some());
            "  D. Rowan ".clone_into(state.drafts.text_mut(asking::WORDS));
            let two = vec![PathBuf::from("a.pdf"), PathBuf::from("b.pdf")];
            assert!(ask(&mut state, two).unwrap_err().contains("one document"));
            let asked = ask(&mut state, file()).unwrap();
            let (named, path) = match asked.as_slice() {
                [Action::Attach { purpose: DocumentFor::Concession { by, id: own }, file, .. }] => {
                    assert_eq!(*own, id);
                    (by, file)
                }
                [Action::Attach { purpose: DocumentFor::Assessment { by, .. }, file, .. }] => (by, file),
                other => panic!("{other:?}"),
            };
            assert_eq!((named.as_str(), path.to_str()), ("D. Rowan", Some("/letters/writing.pdf")));
            assert!(state.drafts.asking.is_none(), "{asking:?}");
            // Without the PIN it waits for it.
            state.drafts.asking = Some((plot("2"), asking));
            "D. Rowan".clone_into(state.drafts.text_mut(asking::WORDS));
            state.at_tablet.as_mut().unwrap().unlocked = false;
            assert_eq!(ask(&mut state, file()), Ok(Vec::new()));
            assert!(matches!(&state.drafts.waiting, Some(Action::Attach { .. })));
            assert!(matches!(&state.drafts.asking, Some((_, Asking::Pin))));
        }
    }

    #[test]
    fn photos_dropped_elsewhere_are_refused_with_a_way_out() {
        let mut state = Site::bare().state(Screen::Site);
        assert!(ask(&mut state, vec![PathBuf::from("a.png")]).unwrap_err().contains("hold point"));
        assert!(ask(&mut state, vec![PathBuf::from("a.exe")]).unwrap_err().contains("a.exe"));
    }

    #[test]
    fn a_csv_file_is_a_level_book_only_where_the_books_of_a_plot_are_shown() {
        use gaugerod_core::inspection::Command;
        let mut site = Site::bare();
        let file = || vec![PathBuf::from("house.csv")];
        let mut state = site.state(Screen::Section(plot("1")));
        assert!(ask(&mut state, file()).unwrap_err().contains("Open the level books"));
        let mut state = site.state(Screen::LevelBook(plot("1"), None));
        assert!(ask(&mut state, file()).unwrap_err().contains("with which instrument"));
        let own = gaugerod_core::entry::InstrumentRegistered {
            instrument: gaugerod_core::ids::InstrumentName::new("level 2").unwrap(),
            kind: gaugerod_core::entry::InstrumentKind::OpticalLevel,
            expanded_uncertainty_um: 3_000,
            checked: "2026-01-05".parse().unwrap(),
            due: "2027-01-05".parse().unwrap(),
            two_peg: None,
            remark: None,
        };
        site.register.perform(&Command::RegisterInstrument(own), &site.supervisor).unwrap();
        let state = site.state(Screen::LevelBook(plot("1"), None));
        // The form says how it was levelled once it is shown.
        let mut harness =
            crate::headless::harness(crate::headless::SIZES[0], crate::screens::window_ui, state);
        harness.run();
        let asked = ask(harness.state_mut(), file()).unwrap();
        assert!(matches!(asked.as_slice(), [Action::ReadLevelBook { .. }]), "{asked:?}");
    }

    #[test]
    fn a_register_opens_and_a_floor_design_is_read() {
        let mut state = Site::bare().state(Screen::Site);
        let asked = ask(&mut state, vec![PathBuf::from("x.gaugerod"), PathBuf::from("y.toml")]).unwrap();
        assert_eq!(asked[0], Action::OpenRegister(PathBuf::from("x.gaugerod")));
        assert_eq!(asked[2], Action::ReadDesign(PathBuf::from("y.toml")));
        assert!(ask(&mut State::default(), vec![PathBuf::from("y.toml")]).is_err());
    }
}
