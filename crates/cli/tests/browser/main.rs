//! The report as a reader has it: opened from disk in a real browser.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod devtools;

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
    sync::OnceLock,
};

use beamstay_report::number::quantity;
use devtools::Browser;
use serde_json::{Value, json};

const HOSTILE: &str = "<script>alert(1)</script> & \"quotes\"";
const MAIN: &str = "scenarios/breakwater-lookout.json";

fn scratch(name: &str) -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join(name)
}

fn beamstay(arguments: &[&str]) -> std::process::Output {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    Command::new(env!("CARGO_BIN_EXE_beamstay")).args(arguments).current_dir(root).output().unwrap()
}

fn write_report(name: &str, more: &[&str], code: i32) -> PathBuf {
    let folder = scratch(name);
    let _ = fs::remove_dir_all(&folder);
    let title = format!("/title={}", json!(HOSTILE));
    let place = folder.to_str().unwrap();
    let output = beamstay(&[&["report", MAIN, "-o", place, "--set", &title], more].concat());
    assert_eq!(output.status.code(), Some(code), "{}", String::from_utf8_lossy(&output.stderr));
    folder
}

/// The main scenario under a title that is an attack; written once.
fn report() -> &'static Path {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    FOLDER.get_or_init(|| write_report("browser-report", &[], 0))
}

fn opened(name: &str) -> Browser {
    let mut browser = Browser::start(scratch(name));
    browser.open(&report().join("report.html"));
    browser
}

/// Nothing but the file itself was asked for, nothing was complained about, no dialog opened.
fn assert_quiet(browser: &Browser, file: &Path) {
    let own = format!("file://{}", file.canonicalize().unwrap().display());
    for event in &browser.events {
        let method = event["method"].as_str().unwrap();
        let of = &event["params"];
        let bad = match method {
            "Network.requestWillBeSent" => of["request"]["url"] != own,
            "Runtime.exceptionThrown" | "Page.javascriptDialogOpening" => true,
            "Runtime.consoleAPICalled" => of["type"] == "error" || of["type"] == "warning",
            "Log.entryAdded" => of["entry"]["level"] == "error" || of["entry"]["level"] == "warning",
            _ => false,
        };
        assert!(!bad, "{event}");
    }
}

#[test]
fn the_page_is_quiet_and_a_title_that_is_an_attack_is_text() {
    let mut browser = opened("browser-quiet");
    let page = report().join("report.html");
    assert!(browser.told("Network.requestWillBeSent"), "requests are heard");
    assert_quiet(&browser, &page);
    // That the ear works: what is wrong on purpose is heard.
    browser.value("console.error('on purpose')");
    let heard = |event: &Value| event["params"]["type"] == "error";
    assert!(browser.events.iter().any(heard), "errors are heard");
    assert_eq!(browser.value("document.title"), HOSTILE);
    assert_eq!(browser.value("document.querySelector('h1').textContent"), HOSTILE);
    assert_eq!(browser.value("document.scripts.length"), 2, "the grid and the sliders' script");
    let figures = browser.value(
        "[...document.querySelectorAll('figure svg')].map((svg) => [svg.getAttribute('role'), \
         svg.querySelector('title')?.textContent ?? '', svg.querySelector('desc')?.textContent ?? ''])",
    );
    let figures = figures.as_array().unwrap();
    assert!(figures.len() >= 11, "{} figures", figures.len());
    for figure in figures {
        assert_eq!(figure[0], "img");
        let (title, words) = (figure[1].as_str().unwrap(), figure[2].as_str().unwrap());
        assert!(!title.is_empty() && words.len() > 20, "{figure}");
    }
    // What a screen reader is given.
    let tree = browser.call("Accessibility.getFullAXTree", json!({}));
    let images: Vec<&Value> = tree["nodes"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|node| ["image", "img"].iter().any(|role| node["role"]["value"] == *role))
        .collect();
    assert_eq!(images.len(), figures.len());
    for image in images {
        assert!(image["name"]["value"].as_str().is_some_and(|name| !name.is_empty()), "{image}");
        assert!(image["description"]["value"].as_str().is_some_and(|name| !name.is_empty()), "{image}");
    }
    let files: Vec<PathBuf> = fs::read_dir(report()).unwrap().map(|entry| entry.unwrap().path()).collect();
    let drawings: Vec<&PathBuf> = files.iter().filter(|path| path.extension().unwrap() == "svg").collect();
    assert_eq!(drawings.len(), figures.len());
    for file in drawings {
        browser.open(file);
        assert_quiet(&browser, file);
        assert_eq!(browser.value("document.documentElement.nodeName"), "svg", "{}", file.display());
        assert_eq!(browser.value("document.querySelectorAll('script, parsererror').length"), 0);
        let title = browser.value("document.querySelector('title').textContent");
        assert!(title.as_str().unwrap().contains(HOSTILE), "{}: {title}", file.display());
    }
}

/// What the panel must say for one point of the program.
fn reading(point: &Value, limits: &dyn Fn(&str) -> String) -> String {
    let verdict = match point["feasible"].as_bool() {
        Some(true) => "Closes",
        Some(false) => "Does not close",
        None => "Could not be computed",
    };
    let margin = point["margin_w"].as_f64().map_or_else(String::new, |margin_w| {
        let word = if margin_w >= 0.0 { "left" } else { "missing" };
        format!(": {} {word}", quantity(margin_w.abs(), "W"))
    });
    let limit =
        point["binding"].as_str().map_or_else(String::new, |c| format!(". Nearest limit: {}", limits(c)));
    format!("{verdict}{margin}{limit}")
}

#[test]
fn every_position_of_the_sliders_reads_what_the_program_computes() {
    let results: Value =
        serde_json::from_str(&fs::read_to_string(report().join("report.json")).unwrap()).unwrap();
    let (axes, points) = (&results["grid"]["axes"], results["grid"]["points"].as_array().unwrap());
    let counts: Vec<usize> =
        axes.as_array().unwrap().iter().map(|axis| axis["values"].as_array().unwrap().len()).collect();
    assert_eq!(counts.iter().product::<usize>(), points.len());
    let names = |code: &str| {
        let code: beamstay_planner::limit::LimitCode = beamstay_planner::limit::LimitCode::ALL
            .iter()
            .copied()
            .find(|known| json!(known) == code)
            .unwrap();
        code.words().name.to_owned()
    };
    let mut browser = opened("browser-sliders");
    // All positions, moved as a reader would move them.
    let seen = browser.value(
        "(() => { const inputs = [...document.querySelectorAll('input[type=range]')]; const seen = []; \
         const walk = (place) => { if (place === inputs.length) { seen.push([document.getElementById('reading').textContent, \
         ...inputs.map((_, i) => document.getElementById('value-' + i).textContent)]); return; } \
         for (let at = 0; at <= Number(inputs[place].max); at++) { inputs[place].value = at; \
         inputs[place].dispatchEvent(new Event('input')); walk(place + 1); } }; walk(0); return seen; })()",
    );
    let seen = seen.as_array().unwrap();
    assert_eq!(seen.len(), points.len());
    for (index, (shown, point)) in seen.iter().zip(points).enumerate() {
        assert_eq!(shown[0].as_str().unwrap(), reading(point, &names), "position {index}");
        let mut rest = index;
        for (place, axis) in axes.as_array().unwrap().iter().enumerate().rev() {
            let value = axis["values"][rest % counts[place]].as_f64().unwrap();
            rest /= counts[place];
            assert_eq!(shown[place + 1], quantity(value, axis["unit"].as_str().unwrap()));
        }
    }
    // The same places by the command for one point.
    let mut compared_count = 0;
    for share in 0..12 {
        let index = (share * points.len() + 7 * share) / 13 % points.len();
        let (mut rest, mut sets) = (index, Vec::new());
        for (place, axis) in axes.as_array().unwrap().iter().enumerate().rev() {
            sets.push(format!(
                "{}={}",
                axis["pointer"].as_str().unwrap(),
                axis["values"][rest % counts[place]]
            ));
            rest /= counts[place];
        }
        let mut arguments = vec!["point", MAIN, "--format", "json"];
        sets.iter().for_each(|set| arguments.extend(["--set", set]));
        let output = beamstay(&arguments);
        let single: Value = serde_json::from_slice(&output.stdout).unwrap();
        let point = &points[index];
        if output.status.code() == Some(3) {
            assert!(point["feasible"].is_null(), "{sets:?}");
            continue;
        }
        compared_count += 1;
        assert_eq!(single["feasible"], point["feasible"], "{sets:?}");
        match (single["margin_w"].as_f64(), point["margin_w"].as_f64()) {
            (Some(one), Some(grid)) => assert!((one - grid).abs() <= 1e-5 * one.abs().max(1.0), "{sets:?}"),
            (one, grid) => assert_eq!(one, grid, "{sets:?}"),
        }
    }
    assert!(compared_count >= 8, "only {compared_count} places have a point");
    // By the keyboard alone: the first slider one to the right, then back to the plan.
    browser.value("document.getElementById('what-if-reset').click()");
    let before = browser.value("document.getElementById('value-0').textContent");
    let mut tabs = 0;
    while browser.value("document.activeElement.id") != "axis-0" {
        browser.press("Tab", 9);
        tabs += 1;
        assert!(tabs < 60, "the sliders are not reached by the Tab key");
    }
    browser.press("ArrowRight", 39);
    let after = browser.value("document.getElementById('value-0').textContent");
    assert_ne!(before, after);
    assert_eq!(browser.value("document.getElementById('axis-0').getAttribute('aria-valuetext')"), after);
}

const WIDER: &str = "[...document.querySelectorAll('body *')].filter((e) => !e.closest('.scroll > *') && \
    !e.closest('.skip') && e.getBoundingClientRect().right > innerWidth + 0.5).map((e) => e.outerHTML.slice(0, 80))";

#[test]
fn nothing_overflows_and_every_text_stands_out_in_light_and_dark() {
    let broken = write_report("browser-broken", &["--set", "/payload/mass_kg=2.5"], 1);
    let mut browser = opened("browser-looks");
    for folder in [report(), broken.as_path()] {
        browser.open(&folder.join("report.html"));
        browser.value("document.querySelectorAll('details').forEach((d) => { d.open = true; })");
        for width_px in [360, 768, 1280] {
            browser.width(width_px);
            let scroll = browser.value("document.documentElement.scrollWidth").as_u64().unwrap();
            assert!(scroll <= u64::from(width_px), "{scroll} px on a screen of {width_px}");
            let wider = browser.value(WIDER);
            assert_eq!(wider.as_array().unwrap().len(), 0, "{width_px} px: {wider}");
        }
        for scheme in ["light", "dark"] {
            browser.medium("screen", scheme);
            let paper = browser.value("getComputedStyle(document.body).backgroundColor");
            assert_eq!(paper == "rgb(255, 255, 255)", scheme == "light", "{paper}");
            let texts = browser.value(include_str!("contrast.js"));
            let texts = texts.as_array().unwrap();
            let in_figures = texts.iter().filter(|text| text["inFigure"] == true).count();
            assert!(in_figures > 200 && texts.len() > in_figures + 300, "{in_figures} of {}", texts.len());
            let faint: Vec<&Value> =
                texts.iter().filter(|text| text["contrast"].as_f64().is_none_or(|c| c < 4.5)).collect();
            assert!(faint.is_empty(), "{scheme}: {faint:#?}");
        }
        browser.medium("screen", "light");
    }
}

#[test]
fn without_scripts_and_on_paper_the_page_is_whole() {
    let mut browser = Browser::start(scratch("browser-plain"));
    browser.call("Emulation.setScriptExecutionDisabled", json!({"value": true}));
    let page = report().join("report.html");
    browser.open(&page);
    assert_quiet(&browser, &page);
    // Sliders that do nothing would mislead.
    assert_eq!(browser.value("document.getElementById('what-if').hidden"), true);
    let shown = browser.value("document.body.innerText");
    for words in [
        HOSTILE,
        "Closes: ",
        "Cautions",
        "Why",
        "What to change",
        "Method, sources and defaults",
        "beamstay ",
    ] {
        assert!(shown.as_str().unwrap().contains(words), "{words}");
    }
    // What could be held against the verdict stands under it, and every link leads somewhere.
    let results: Value =
        serde_json::from_str(&fs::read_to_string(report().join("report.json")).unwrap()).unwrap();
    let share = 100.0 * results["risk"]["closes_ratio"].as_f64().unwrap();
    let gists = browser.value("document.querySelector('.gists').innerText");
    for words in [&format!("closes in {share:.1} % of 512 draws"), "On station", "NO SHUT-OFF", "LANDS"] {
        assert!(gists.as_str().unwrap().to_lowercase().contains(&words.to_lowercase()), "{words}: {gists}");
    }
    let lost = "[...document.querySelectorAll('a[href^=\"#\"]')].filter((a) => !document.getElementById(a.hash.slice(1))).length";
    assert_eq!(browser.value(lost), 0, "links without a place");
    // Verdict and all cautions on the first screen of a laptop.
    browser.width(1280);
    let end = browser.value("document.querySelector('.cautions').getBoundingClientRect().bottom");
    assert!(end.as_f64().unwrap() <= 800.0, "the cautions end at {end} px");
    browser.medium("print", "dark");
    let style = "(s) => getComputedStyle(document.querySelector(s))";
    assert_eq!(browser.value(&format!("({style})('nav').display")), "none");
    let paper = browser.value(&format!("({style})('body').backgroundColor"));
    assert_eq!(paper, "rgb(255, 255, 255)", "paper is white whatever the screen");
    let hidden = browser.value(
        "[...document.querySelectorAll('details table')].filter((t) => t.getBoundingClientRect().height < 10).length",
    );
    assert_eq!(hidden, 0, "what is folded on the screen is printed");
}
