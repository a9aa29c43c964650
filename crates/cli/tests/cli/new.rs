//! `new` for every vehicle and way of the power; completions and manual page.

use super::{json, run, run_in, text};

const KINDS: [&str; 4] = ["multirotor", "fixed-wing", "underwater", "load"];
const WAYS: [&str; 4] = ["fiber", "beam", "copper", "none"];
/// What makes no sense.
const REFUSED: [(&str, &str); 3] =
    [("fixed-wing", "fiber"), ("fixed-wing", "copper"), ("underwater", "beam")];

#[test]
fn every_combination_that_makes_sense_gives_a_plan_that_closes() {
    for kind in KINDS {
        for way in WAYS {
            let made = run(&["new", "--kind", kind, "--delivery", way]);
            if REFUSED.contains(&(kind, way)) {
                assert_eq!(made.status.code(), Some(2), "{kind} {way}");
                let message = text(&made.stderr);
                assert!(message.contains("E0009") && message.contains("try --delivery"), "{message}");
                assert!(made.stdout.is_empty());
                continue;
            }
            assert_eq!(made.status.code(), Some(0), "{kind} {way}: {}", text(&made.stderr));
            let point = run_in(&super::root(), &["point", "-"], &made.stdout);
            assert_eq!(
                point.status.code(),
                Some(0),
                "{kind} {way}: {}{}",
                text(&point.stdout),
                text(&point.stderr)
            );
        }
    }
}

#[test]
fn the_kind_alone_takes_the_delivery_that_suits_it() {
    assert!(json(&run(&["new", "--kind", "fixed-wing"]))["delivery"]["free_beam"].is_object());
    assert!(json(&run(&["new", "--kind", "underwater"]))["delivery"]["fiber"].is_object());
}

#[test]
fn completions_and_manual_know_every_command() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let output = run(&["completions", shell]);
        assert_eq!(output.status.code(), Some(0));
        assert!(text(&output.stdout).contains("lightloss"), "{shell}");
    }
    let page = text(&run(&["manual"]).stdout);
    assert!(page.contains(".TH beamstay"), "{}", &page[..200]);
    for word in ["beamstay point", "beamstay remedy", "beamstay completions"] {
        assert!(page.replace("\\-", "-").contains(word), "{word}");
    }
}

#[test]
fn a_narrow_terminal_gets_narrow_lines() {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_beamstay"))
        .args(["point", "scenarios/breakwater-lookout.json"])
        .current_dir(super::root())
        .env("COLUMNS", "44")
        .output()
        .unwrap();
    let screen = text(&output.stdout);
    assert_eq!(output.status.code(), Some(0));
    for line in screen.lines() {
        assert!(line.chars().count() <= 44, "{line}");
    }
}
