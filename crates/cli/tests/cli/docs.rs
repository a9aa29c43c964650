//! Every command line in README and docs is run, and the output shown beside it compared.
//!
//! In a `console` block a line that begins with `$ ` is a command and what follows is its output; `...` stands for any lines,
//! `[exit N]` for the exit code where it is not 0. Without any `$ ` every line is a command. A block `json NAME` is written into
//! a file of that name first. Commands that build or test are known by name and not run from within a test.

use std::{
    fs,
    path::{Path, PathBuf},
};

use super::{folder, root, run_in, text};

/// What is not run here, because it builds or is this very test.
const NOT_HERE: &[&str] = &[
    "cargo test",
    "cargo bench",
    "cargo fmt",
    "cargo clippy",
    "cargo doc",
    "RUSTDOCFLAGS=\"-D warnings\" cargo doc",
    "cargo deny",
    "cargo mutants",
    "cargo run -p beamstay-tests",
    "cargo run --release -p",
    ".ci/run",
    "python3",
    "bash",
    "tests/",
];

/// A command of a page.
#[derive(Debug)]
struct Shown {
    command: String,
    output: Vec<String>,
}

/// A fenced block: what stands behind the fence, and its lines.
fn blocks(page: &str) -> Vec<(String, Vec<String>)> {
    let mut found = Vec::new();
    let mut open: Option<(String, Vec<String>)> = None;
    for line in page.lines() {
        match (line.strip_prefix("```"), &mut open) {
            (Some(_), Some(_)) => found.extend(open.take()),
            (Some(kind), None) => open = Some((kind.trim().to_owned(), Vec::new())),
            (None, Some((_, lines))) => lines.push(line.to_owned()),
            (None, None) => {}
        }
    }
    assert!(open.is_none(), "a fence is not closed");
    found
}

fn commands(lines: &[String]) -> Vec<Shown> {
    let marked = lines.iter().any(|line| line.starts_with("$ "));
    let mut shown: Vec<Shown> = Vec::new();
    for line in lines {
        match (line.strip_prefix("$ "), marked) {
            (Some(command), _) => shown.push(Shown { command: command.into(), output: Vec::new() }),
            (None, false) => shown.push(Shown { command: line.clone(), output: vec!["...".into()] }),
            (None, true) => shown.last_mut().expect("output before a command").output.push(line.clone()),
        }
    }
    shown
}

/// Words of a command line, single and double quotes heeded, a comment cut off.
fn words(line: &str) -> Vec<String> {
    let (mut words, mut word, mut quote) = (Vec::new(), String::new(), None);
    for c in line.chars() {
        match (c, quote) {
            ('#', None) if word.is_empty() => break,
            ('\'' | '"', None) => quote = Some(c),
            (c, Some(q)) if c == q => quote = None,
            (' ', None) => words.extend((!word.is_empty()).then(|| std::mem::take(&mut word))),
            (c, _) => word.push(c),
        }
    }
    words.extend((!word.is_empty()).then_some(word));
    words
}

/// Whether lines match the pattern, in which `...` stands for any lines.
fn matches(pattern: &[String], lines: &[&str]) -> bool {
    match pattern.split_first() {
        None => lines.is_empty(),
        Some((first, rest)) if first == "..." => (0..=lines.len()).any(|skip| matches(rest, &lines[skip..])),
        Some((first, rest)) => {
            lines.first().is_some_and(|line| line.trim_end() == first.trim_end())
                && matches(rest, &lines[1..])
        }
    }
}

fn check(page: &Path, folder: &Path, shown: &Shown) -> bool {
    let line = shown.command.trim();
    let line =
        line.strip_prefix("cargo run --release -- ").map_or(line.to_owned(), |l| format!("beamstay {l}"));
    if line.is_empty() || NOT_HERE.iter().any(|known| line.starts_with(known)) {
        return false;
    }
    let words = words(&line);
    assert_eq!(words[0], "beamstay", "{}: `{line}` is not a command of this page's test", page.display());
    let arguments: Vec<&str> = words[1..].iter().map(String::as_str).collect();
    let output = run_in(folder, &arguments, b"");
    let exit = |line: &String| line.strip_prefix("[exit ")?.strip_suffix(']')?.parse::<i32>().ok();
    let code = shown.output.iter().find_map(exit).unwrap_or(0);
    let wanted: Vec<String> = shown.output.iter().filter(|line| exit(line).is_none()).cloned().collect();
    let screen = format!("{}{}", text(&output.stdout), text(&output.stderr));
    assert_eq!(output.status.code(), Some(code), "{}: {line}\n{screen}", page.display());
    let lines: Vec<&str> = screen.lines().collect();
    let mut wanted = if wanted.is_empty() { vec!["...".to_owned()] } else { wanted };
    while wanted.last().is_some_and(|line| line.trim().is_empty()) {
        wanted.pop();
    }
    assert!(
        matches(&wanted, &lines),
        "{}: {line}\nshown:\n{}\nprinted:\n{screen}",
        page.display(),
        wanted.join("\n")
    );
    true
}

/// README, DEVELOPERS and every page under docs.
fn pages() -> Vec<PathBuf> {
    let mut pages = vec![root().join("README.md"), root().join("DEVELOPERS.md")];
    let mut folders = vec![root().join("docs")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "md") {
                pages.push(path);
            }
        }
    }
    pages.sort();
    pages
}

/// Copies the scenarios, so that what a page writes does not touch the repository.
fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            fs::copy(&path, target).unwrap();
        }
    }
}

#[test]
fn every_command_line_runs_and_prints_what_is_shown() {
    let mut run_count = 0;
    for (index, page) in pages().iter().enumerate() {
        let place = folder(&format!("docs-{index}"));
        copy(&root().join("scenarios"), &place.join("scenarios"));
        for (kind, lines) in blocks(&fs::read_to_string(page).unwrap()) {
            if let Some(name) = kind.strip_prefix("json ") {
                fs::write(place.join(name), lines.join("\n")).unwrap();
            } else if kind == "console" {
                run_count += commands(&lines).iter().filter(|shown| check(page, &place, shown)).count();
            }
        }
    }
    assert!(run_count >= 10, "only {run_count} commands were found");
}

#[test]
fn commands_named_in_the_text_exist_with_their_options() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let mut named = 0;
    for code in readme.split('`').skip(1).step_by(2) {
        let Some(rest) = code.strip_prefix("beamstay ").filter(|rest| !rest.contains('\n')) else { continue };
        let command = rest.split_whitespace().next().unwrap();
        let help = run_in(&root(), &[command, "--help"], b"");
        assert_eq!(help.status.code(), Some(0), "`{code}`");
        let help = text(&help.stdout);
        for option in
            rest.split(|c: char| c.is_whitespace() || c == '[' || c == ']').filter(|w| w.starts_with("--"))
        {
            assert!(help.contains(option), "`{code}` has no {option}");
        }
        named += 1;
    }
    assert!(named >= 5, "{named}");
}

#[test]
fn patterns_match_what_they_should() {
    let pattern = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
    assert!(matches(&pattern("a\n...\nd"), &["a", "b", "c", "d"]));
    assert!(!matches(&pattern("a\nd"), &["a", "b", "d"]));
    assert!(!matches(&pattern("a\n..."), &["b"]));
    assert_eq!(words("point x --set '/a=b c' # why"), ["point", "x", "--set", "/a=b c"]);
}

/// Codes of errors, as in `E0101`, in a text.
fn codes(text: &str) -> std::collections::BTreeSet<String> {
    let digits = |rest: &str| rest.len() >= 4 && rest.as_bytes()[..4].iter().all(u8::is_ascii_digit);
    text.match_indices('E')
        .filter(|(at, _)| text.get(at + 1..).is_some_and(digits))
        .map(|(at, _)| text[at..at + 5].to_owned())
        .collect()
}

fn codes_of_sources(folder: &Path, found: &mut std::collections::BTreeSet<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            codes_of_sources(&path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            found.extend(codes(&fs::read_to_string(path).unwrap()));
        }
    }
}

#[test]
fn every_error_code_is_explained_and_no_other() {
    let mut told = std::collections::BTreeSet::new();
    for part in ["crates/cli/src", "crates/planner/src"] {
        codes_of_sources(&root().join(part), &mut told);
    }
    assert!(told.len() > 20, "{told:?}");
    assert_eq!(told, codes(&fs::read_to_string(root().join("docs/errors.md")).unwrap()));
}
