//! `beamstay receiver`.

use beamstay_planner::receiver::receiver_trade;
use beamstay_report::figure::receiver::receiver_figure;

use super::{End, failed, print, print_json, ready::read, study::draw};
use crate::{
    args::{ReceiverArguments, TableFormat},
    messages::wants_colour,
    text::{
        point::Style,
        receiver::{receiver_csv, receiver_text},
    },
};

/// Computes and prints the receiver's mass against its power.
pub fn run(arguments: &ReceiverArguments) -> End {
    let faults_as = arguments.format.of_faults();
    let computed = read(&arguments.file, &arguments.assignments, faults_as).and_then(|ready| {
        ready.compute(arguments.threads, |watch| receiver_trade(&ready.document, &ready.loaded, watch))
    });
    let trade = match computed {
        Ok(trade) => trade,
        Err(end) => return end,
    };
    if let Some(file) = &arguments.plot
        && let Err(message) = draw(file, receiver_figure(&trade))
    {
        return failed(faults_as, &message);
    }
    match arguments.format {
        TableFormat::Text => {
            print(&receiver_text(&trade, Style { colour: wants_colour(&std::io::stdout()) }))
        }
        TableFormat::Json => match serde_json::to_value(&trade) {
            Ok(value) => print_json(&value),
            Err(error) => failed(faults_as, &error.to_string()),
        },
        TableFormat::Csv => print(&receiver_csv(&trade)),
    }
}
