//! Files are written whole or not at all: on a full disk, in a folder that takes no files, and when the program is killed
//! while it writes.

use std::{
    fs,
    os::unix::process::ExitStatusExt,
    path::Path,
    process::{Command, Output},
};

use super::{folder, root, run, text};

/// What stands in the place of a figure before.
const BEFORE: &str = "the figure of yesterday";

/// Draws a figure under a shell command that prepares the limits of the process.
fn plot_after(prepare: &str, place: &Path) -> Output {
    let program = env!("CARGO_BIN_EXE_beamstay");
    let script =
        format!("{prepare}; exec \"$0\" tether scenarios/breakwater-lookout.json --plot \"$1\" > /dev/null");
    Command::new("sh").arg("-c").arg(script).arg(program).arg(place).current_dir(root()).output().unwrap()
}

/// Names in a folder.
fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

#[test]
fn a_disk_that_fills_up_leaves_nothing_behind() {
    let folder = folder("fills-up");
    // No file may grow beyond a block, and the write fails as on a full disk.
    let output = plot_after("trap '' XFSZ; ulimit -f 1", &folder.join("new.svg"));
    assert_eq!(output.status.code(), Some(3), "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("new.svg"), "{}", text(&output.stderr));
    assert_eq!(names(&folder), Vec::<String>::new());
}

#[test]
fn a_disk_that_fills_up_leaves_the_old_file_as_it_was() {
    let folder = folder("fills-up-over");
    let place = folder.join("old.svg");
    fs::write(&place, BEFORE).unwrap();
    let output = plot_after("trap '' XFSZ; ulimit -f 1", &place);
    assert_eq!(output.status.code(), Some(3), "{}", text(&output.stderr));
    assert_eq!(fs::read_to_string(&place).unwrap(), BEFORE);
    assert_eq!(names(&folder), ["old.svg"]);
}

#[test]
fn a_program_killed_while_it_writes_leaves_the_old_file_as_it_was() {
    let folder = folder("killed");
    let place = folder.join("old.svg");
    fs::write(&place, BEFORE).unwrap();
    // The system kills a process that writes beyond its limit, in the middle of the file.
    let output = plot_after("ulimit -c 0; ulimit -f 1", &place);
    assert!(output.status.signal().is_some(), "{:?}", output.status);
    assert_eq!(fs::read_to_string(&place).unwrap(), BEFORE);
}

/// Writes a report under a shell command that prepares the limits of the process.
fn report_after(prepare: &str, place: &Path) -> Output {
    let script =
        format!("{prepare}; exec \"$0\" report scenarios/switchyard-sensor.json -o \"$1\" > /dev/null");
    let program = env!("CARGO_BIN_EXE_beamstay");
    Command::new("sh").arg("-c").arg(script).arg(program).arg(place).current_dir(root()).output().unwrap()
}

#[test]
fn a_report_on_a_disk_that_fills_up_leaves_the_old_one_as_it_was() {
    let folder = folder("report-fills-up");
    let place = folder.join("out");
    fs::create_dir(&place).unwrap();
    fs::write(place.join("report.html"), BEFORE).unwrap();
    let output = report_after("trap '' XFSZ; ulimit -f 8", &place);
    assert_eq!(output.status.code(), Some(3), "{}", text(&output.stderr));
    assert_eq!(fs::read_to_string(place.join("report.html")).unwrap(), BEFORE);
    assert_eq!(names(&place), ["report.html"]);
    assert_eq!(names(&folder), ["out"]);
}

#[test]
fn a_report_killed_while_it_is_written_leaves_the_old_one_as_it_was() {
    let folder = folder("report-killed");
    let place = folder.join("out");
    fs::create_dir(&place).unwrap();
    fs::write(place.join("report.html"), BEFORE).unwrap();
    let output = report_after("ulimit -c 0; ulimit -f 8", &place);
    assert!(output.status.signal().is_some(), "{:?}", output.status);
    assert_eq!(fs::read_to_string(place.join("report.html")).unwrap(), BEFORE);
    assert_eq!(names(&place), ["report.html"]);
    // What the killed one left beside it is not in the way of the next.
    let output = report_after("true", &place);
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", text(&output.stderr));
    assert!(fs::read_to_string(place.join("report.html")).unwrap().starts_with("<!"));
}

#[test]
fn a_report_in_a_folder_that_takes_no_files_is_told() {
    if !Path::new("/proc/self").exists() {
        return;
    }
    let output = report_after("true", Path::new("/proc/report"));
    assert_eq!(output.status.code(), Some(3), "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("/proc/report"), "{}", text(&output.stderr));
}

#[test]
fn a_full_standard_output_is_told() {
    let Ok(full) = fs::OpenOptions::new().write(true).open("/dev/full") else { return };
    let output = Command::new(env!("CARGO_BIN_EXE_beamstay"))
        .args(["point", "scenarios/breakwater-lookout.json"])
        .current_dir(root())
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(3), "{}", text(&output.stderr));
    assert!(!output.stderr.is_empty());
}

#[test]
fn a_device_is_written_to_and_not_replaced() {
    let Ok(full) = fs::metadata("/dev/full") else { return };
    let output = run(&["tether", "scenarios/breakwater-lookout.json", "--plot", "/dev/full"]);
    assert_eq!(output.status.code(), Some(3), "{}", text(&output.stderr));
    assert_eq!(fs::metadata("/dev/full").unwrap().file_type(), full.file_type());
}

#[test]
fn a_folder_that_takes_no_files_is_told() {
    if !Path::new("/proc/self").exists() {
        return;
    }
    let output = run(&["tether", "scenarios/breakwater-lookout.json", "--plot", "/proc/figure.svg"]);
    assert_eq!(output.status.code(), Some(3), "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("/proc/figure.svg"));
}

#[test]
fn the_file_behind_a_link_is_replaced_and_the_link_stays() {
    let folder = folder("link");
    let (place, link) = (folder.join("figure.svg"), folder.join("link.svg"));
    fs::write(&place, BEFORE).unwrap();
    std::os::unix::fs::symlink(&place, &link).unwrap();
    let output = plot_after("true", &link);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(fs::read_to_string(&place).unwrap().starts_with("<svg"));
    assert!(fs::symlink_metadata(&link).unwrap().file_type().is_symlink());
}
