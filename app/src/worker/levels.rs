//! What the record's thread does for levelling: instruments and bench marks of the site, level books from files.

use std::path::PathBuf;

use gaugerod_core::entry::{LevelBookBegun, SightBooked};
use gaugerod_core::faults::Fault;
use gaugerod_core::ids::PlotId;
use gaugerod_core::inspection::level_book::{TakenBook, taken_book};
use gaugerod_core::inspection::{Act, Command, Refusal, decide};
use gaugerod_core::level_book_csv::MAX_BYTES;

use super::Reply;
use super::desk::{Desk, Done, NotDone};
use super::photos::read_bounded;
use crate::screens::desk::sentence;
use crate::screens::level_book::ReadBook;

/// Registers an instrument or a bench mark.
pub(super) fn register(desk: &mut Desk, command: Command) -> Done {
    let by = desk.session()?.clone();
    let words = match &command {
        Command::RegisterInstrument(own) => {
            format!("{} is registered, check due {}.", own.instrument, own.due)
        }
        Command::RegisterBenchmark(own) => format!("{} is registered.", own.benchmark),
        _ => String::new(),
    };
    desk.register()?.perform(&command, &by)?;
    desk.reply.send(Reply::Registered);
    desk.saved()?;
    desk.reply.say(words, false);
    Ok(())
}

/// Reads a level book from a file, and asks the rules whether it would be taken in. Nothing is recorded.
pub(super) fn read(desk: &mut Desk, plot: PlotId, begun: LevelBookBegun, path: PathBuf) -> Done {
    let result = match read_bounded(&path, MAX_BYTES as u64) {
        Err(what) => Err(vec![what]),
        Ok(bytes) => match taken_book(&begun, &bytes) {
            Err(faults) => Err(faults.to_string().lines().map(sentence).collect()),
            Ok(taken) => allowed(desk, &plot, &begun, taken)?,
        },
    };
    desk.reply.send(Reply::LevelBook(Box::new(ReadBook { plot, path, begun, result })));
    Ok(())
}

/// The sights, where the rules would take them in; else what is against it, by rows of the file.
fn allowed(
    desk: &mut Desk,
    plot: &PlotId,
    begun: &LevelBookBegun,
    taken: TakenBook,
) -> Done<Result<Vec<SightBooked>, Vec<String>>> {
    let by = desk.session()?.person;
    let register = desk.register()?;
    let unknown = || NotDone::Said(format!("Plot {plot} is not known here."));
    let view = register.plot(plot)?.ok_or_else(unknown)?;
    let act = Act::TakeInLevelBook { begun: begun.clone(), sights: taken.sights.clone() };
    Ok(match decide::on_plot(register.site(), &view.record, &view.standing, &act, by) {
        Ok(_) => Ok(taken.sights),
        Err(Refusal::File(faults)) => Err(faults.iter().map(|fault| of_row(fault, &taken)).collect()),
        Err(refusal) => Err(vec![sentence(&refusal.to_string())]),
    })
}

/// A fault at `/sights/5`, as the row of the file that holds that sight.
fn of_row(fault: &Fault, taken: &TakenBook) -> String {
    let mut segments = fault.place.trim_start_matches('/').split('/');
    let index = (segments.next() == Some("sights")).then(|| segments.next()?.parse::<usize>().ok()).flatten();
    match index.and_then(|index| taken.rows.get(*taken.row_of.get(index)?)) {
        Some(row) => sentence(&format!("row {}: {}", row.row, fault.what)),
        None => sentence(&fault.what),
    }
}
