//! Bytes changed at random.

use super::random::{between, pick};
use beamstay_numerics::random::Random;

/// What readers of text and numbers stumble over.
const TOKENS: &[&str] = &[
    "1e-300",
    "1e300",
    "1e999",
    "-1e999",
    "5e-324",
    "2.2250738585072011e-308",
    "-0.0",
    "0",
    "-1",
    "NaN",
    "Infinity",
    "-inf",
    "null",
    "true",
    "{}",
    "[]",
    "\"\"",
    "{",
    "}",
    "[",
    "]",
    ",",
    ":",
    "\"",
    "\\",
    "\\u0000",
    "\\ud800",
    "\u{feff}",
    "\u{202e}",
    "\u{0}",
    "\n",
    "\r\n",
    "\t",
    ",,",
    ";",
    "#",
    "//",
    "/*",
    "1.7976931348623157e308",
    "4.9e-324",
    "99999999999999999999",
    "-9223372036854775808",
    "18446744073709551616",
    "0x10",
    "1_000",
    "１",
    "1,5",
    "é",
    "\u{1F4A5}",
    "999",
    "999999",
    "99.9",
    "2013-02-30",
    "9999-99-99T99:99:99Z",
    "<script>",
    "&amp;",
];

/// A few changes of a text, each small or of a block.
pub fn of_bytes(text: &[u8], random: &mut Random) -> Vec<u8> {
    let mut bytes = text.to_vec();
    for _ in 0..1 + random.below(3) {
        change(&mut bytes, random);
    }
    bytes
}

fn change(bytes: &mut Vec<u8>, random: &mut Random) {
    let at = random.below(bytes.len() + 1);
    let most = 1 << random.below(8);
    let end = (at + 1 + random.below(most)).min(bytes.len());
    match random.below(12) {
        0 if at < bytes.len() => bytes[at] ^= 1 << random.below(8),
        1 if at < bytes.len() => bytes[at] = random.bits() as u8,
        2 => drop(bytes.drain(at..end)),
        3 => {
            let block = bytes[at..end].to_vec();
            let place = random.below(bytes.len() + 1);
            bytes.splice(place..place, block);
        }
        4 => {
            let token = pick(random, TOKENS);
            bytes.splice(at..at, token.bytes());
        }
        // Most of the meaning of these files is in their numbers.
        5..=10 => replace_number(bytes, at, random),
        _ => bytes.truncate(at.max(random.below(bytes.len() + 1))),
    }
}

/// Puts a token or another number in place of the next number behind `at`.
fn replace_number(bytes: &mut Vec<u8>, at: usize, random: &mut Random) {
    let is_part = |b: &u8| b.is_ascii_digit() || b"+-.eE".contains(b);
    let Some(start) = (at..bytes.len()).find(|&i| bytes[i].is_ascii_digit()) else { return };
    let end = (start..bytes.len()).find(|&i| !is_part(&bytes[i])).unwrap_or(bytes.len());
    let new = match random.below(3) {
        0 => pick(random, TOKENS).to_owned(),
        1 => format!("{:e}", f64::from_bits(random.bits())),
        _ => format!("{}", between(random, 1e-3, 1e4)),
    };
    bytes.splice(start..end, new.bytes());
}
