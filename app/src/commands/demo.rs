//! `gaugerod demo`: the invented site through the whole main job.

use std::path::{Path, PathBuf};

use clap::Args;
use gaugerod_core::identity::Pin;
use gaugerod_core::ids::PlotId;
use gaugerod_core::register::Register;

use super::{DONE, NO, UNUSABLE, print_line, say, say_error, sign_off, surroundings};
use crate::demo;

/// Make the invented demo site.
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// Folder for the demo's files; the program's own data folder without it
    dir: Option<PathBuf>,
    /// Make the register and the PDFs, print their paths, and open no window
    #[arg(long)]
    no_window: bool,
}

/// Makes the demo, signs one plot off, drafts another, and opens the window unless told not to.
pub fn run(args: &DemoArgs, settings: PathBuf, trace_ui: Option<PathBuf>) -> i32 {
    let folder = args.dir.clone().or_else(|| surroundings::data_folder().map(|folder| folder.join("demo")));
    let Some(folder) = folder else {
        return say(UNUSABLE, "this system names no home folder: give a folder for the demo");
    };
    let made = surroundings::surroundings(&settings)
        .and_then(|surroundings| demo::build(&folder, surroundings, &mut |_, _| true));
    let made = match made {
        Ok(made) => made,
        Err(sentence) => return say(NO, &sentence),
    };
    print_line(&format!("register  {}", made.register.display()));
    print_line(&format!("authority {}", made.authority.display()));
    if let Err((code, sentence)) = documents(&made.register, &folder, &settings) {
        return say(code, &sentence);
    }
    for (name, role, pin) in demo::PEOPLE {
        print_line(&format!("person    {name}, {}, PIN {pin}", role.title()));
    }
    print_line("The demo's data are invented: no such site, drawing, firm or person exists.");
    if args.no_window {
        return DONE;
    }
    super::window(Some(made.register), settings, trace_ui)
}

/// The demo's documents: one signed, one draft of a plot with outstanding matters.
fn documents(path: &Path, folder: &Path, settings: &Path) -> Result<(), (i32, String)> {
    let surroundings = surroundings::surroundings(settings).map_err(|sentence| (UNUSABLE, sentence))?;
    let mut register =
        Register::open(path, surroundings).map_err(|error| (say_error(&error), String::new()))?;
    let plot = |name: &str| PlotId::new(name).expect("BUG: the demo's plots have names");
    let (name, _, pin) = demo::PEOPLE[1];
    let manager = register.person(name).map_err(|error| (NO, error.to_string()))?;
    let pin = Pin::new(pin).map_err(|fault| (NO, fault.to_string()))?;
    let session = register.unlock(manager, &pin).map_err(|error| (NO, error.to_string()))?;
    let signed = folder.join(format!("plot-{}-signed.pdf", demo::SIGNED));
    sign_off::sign(&mut register, &plot(demo::SIGNED), &session, Vec::new(), &signed)?;
    print_line(&format!("signed    {}", signed.display()));
    let draft = folder.join("plot-3-draft.pdf");
    sign_off::draft(&mut register, &plot("3"), &draft)?;
    print_line(&format!("draft     {}", draft.display()));
    Ok(())
}
