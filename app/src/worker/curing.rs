//! What the record's thread does while a topping cures: temperatures of a logger's file, read and asked of the rules.
//! Nothing is recorded here.

use std::path::PathBuf;

use gaugerod_core::ids::{HoldPointId, PlotId};
use gaugerod_core::inspection::{Act, Refusal, curing_requests, decide};
use gaugerod_core::temperature_csv::{self, MAX_BYTES, Taken};

use super::Reply;
use super::desk::{Desk, Done, NotDone};
use super::photos::read_bounded;
use crate::screens::desk::sentence;
use crate::screens::hold_point::ReadTemperatures;

/// Reads a logger's file, and asks the rules whether it would be taken in.
pub(super) fn read(desk: &mut Desk, plot: PlotId, hold_point: HoldPointId, path: PathBuf) -> Done {
    let result = match read_bounded(&path, MAX_BYTES as u64) {
        Err(what) => Err(vec![what]),
        Ok(bytes) => match temperature_csv::read(&bytes) {
            Err(faults) => Err(faults.iter().map(|fault| sentence(&fault.to_string())).collect()),
            Ok(taken) => allowed(desk, &plot, hold_point, &taken, &path)?,
        },
    };
    desk.reply.send(Reply::Temperatures(Box::new(ReadTemperatures { plot, path, result })));
    Ok(())
}

type Allowed = Result<(gaugerod_core::entry::TemperaturesBooked, Vec<String>), Vec<String>>;

fn allowed(
    desk: &mut Desk,
    plot: &PlotId,
    hold_point: HoldPointId,
    taken: &Taken,
    path: &std::path::Path,
) -> Done<Allowed> {
    let by = desk.session()?.person;
    let register = desk.register()?;
    let unknown = || NotDone::Said(format!("Plot {plot} is not known here."));
    let view = register.plot(plot)?.ok_or_else(unknown)?;
    let booked = curing_requests::booked(hold_point, taken, &path.to_string_lossy());
    let act = Act::BookTemperatures(booked.clone());
    Ok(match decide::on_plot(register.site(), &view.record, &view.standing, &act, by) {
        Ok(_) => Ok((booked, taken.left_out.clone())),
        Err(Refusal::File(faults)) => Err(faults
            .iter()
            .map(|fault| match row_of(&fault.place, taken) {
                Some(row) => sentence(&format!("row {row}: {}", fault.what)),
                None => sentence(&fault.what),
            })
            .collect()),
        Err(refusal) => Err(vec![sentence(&refusal.to_string())]),
    })
}

/// The row of the file that a fault at `/readings/5/at` is about.
fn row_of(place: &str, taken: &Taken) -> Option<usize> {
    let index: usize = place.strip_prefix("/readings/")?.split('/').next()?.parse().ok()?;
    taken.rows.get(index).map(|row| row.row)
}
