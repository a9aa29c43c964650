//! `beamstay receiver`.

use beamstay_planner::receiver::receiver_trade;
use beamstay_report::figure::receiver::receiver_figure;

use super::{End, ready::Ready};
use crate::{
    args::TableArguments,
    text::receiver::{receiver_csv, receiver_text},
};

/// Computes and prints the receiver's mass against its power.
pub fn run(arguments: &TableArguments) -> Result<End, End> {
    let ready = Ready::read(&arguments.scenario, arguments.format)?;
    let trade = ready.study(&arguments.threads, receiver_trade)?;
    ready.draw(&arguments.figure, || receiver_figure(&trade))?;
    Ok(ready.show_table(&trade, |style| receiver_text(&trade, style), || receiver_csv(&trade)))
}
