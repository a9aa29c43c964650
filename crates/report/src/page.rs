//! The page: chapters in, one HTML file out that needs no network, no server and, but for the sliders, no script.

use beamstay_planner::{PointReport, margin_grid::MarginGrid};
use serde_json::json;

use crate::{
    chapter::{verdict_words, what_if_limits},
    content::{Block, Cell, Chapter, Figure, Table},
    figure::{Theme, escape, theme::hex},
    number::quantity,
};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// Makes the page. All text of the user is escaped here.
pub fn page(report: &PointReport, grid: Option<&MarginGrid>, chapters: &[Chapter]) -> String {
    let mut html = String::with_capacity(1 << 19);
    html.push_str("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    html.push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    // Nothing is fetched, whatever a text may hold.
    html.push_str(
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'\">\n",
    );
    html.push_str(&format!(
        "<title>{}</title>\n<style>\n{}{STYLE}</style>\n</head>\n<body>\n",
        escape(&report.title),
        colours()
    ));
    html.push_str("<a class=\"skip\" href=\"#why\">Skip to the reasons</a>\n");
    html.push_str(&head(report, chapters));
    html.push_str("<main>\n");
    if let Some(grid) = grid {
        html.push_str(&what_if(grid));
    }
    for chapter in chapters {
        html.push_str(&format!("<section id=\"{}\">\n<h2>{}</h2>\n", chapter.id, escape(&chapter.heading)));
        chapter.blocks.iter().for_each(|block| html.push_str(&render(block)));
        html.push_str("</section>\n");
    }
    html.push_str("</main>\n");
    html.push_str(&format!(
        "<footer>Scenario {} · beamstay {} · planning figures only: the laser safety officer, the aviation authority, local codes and licensed practice decide.</footer>\n",
        escape(&report.digest),
        report.version
    ));
    if let Some(grid) = grid {
        html.push_str(&format!("<script type=\"application/json\" id=\"grid\">{}</script>\n", data(grid)));
        html.push_str(&format!("<script>\n{SCRIPT}</script>\n"));
    }
    html.push_str("</body>\n</html>\n");
    html
}

/// The colours of the theme as variables, light and dark.
fn colours() -> String {
    let rules = |pick: fn(
        &(String, plotters::style::RGBColor, plotters::style::RGBColor),
    ) -> plotters::style::RGBColor| {
        Theme::colours().iter().map(|c| format!("--{}:{};", c.0, hex(pick(c)))).collect::<String>()
    };
    format!(
        ":root{{{}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{}}}}}\n",
        rules(|c| c.1),
        rules(|c| c.2)
    )
}

/// What stands on the first screen: title, verdict, cautions, and the way to the rest.
fn head(report: &PointReport, chapters: &[Chapter]) -> String {
    let mut html = format!("<header>\n<h1>{}</h1>\n", escape(&report.title));
    let class = if report.point.feasible { "verdict" } else { "verdict broken" };
    html.push_str(&format!("<p class=\"{class}\">{}</p>\n", escape(&verdict_words(report))));
    html.push_str(&gists(chapters));
    html.push_str("<div class=\"cautions\" role=\"note\"><h2>Cautions</h2>\n");
    html.push_str(&list(report.cautions.iter().copied()));
    html.push_str("</div>\n");
    if !report.note.is_empty() {
        html.push_str(&format!("<p>{}</p>\n", escape(&report.note)));
    }
    html.push_str("</header>\n<nav aria-label=\"Chapters\"><ol>\n");
    for chapter in chapters {
        html.push_str(&format!("<li><a href=\"#{}\">{}</a></li>\n", chapter.id, escape(&chapter.heading)));
    }
    html.push_str("</ol></nav>\n");
    html
}

/// What the chapters add to the verdict, each with the way to its chapter.
fn gists(chapters: &[Chapter]) -> String {
    let item = |chapter: &Chapter| {
        let words = escape(chapter.gist.as_deref()?);
        Some(format!("<li><a href=\"#{}\">{}</a>: {words}</li>\n", chapter.id, escape(&chapter.heading)))
    };
    let items: String = chapters.iter().filter_map(item).collect();
    if items.is_empty() { items } else { format!("<ul class=\"gists\">\n{items}</ul>\n") }
}

fn list<'a>(items: impl Iterator<Item = &'a str>) -> String {
    let items: String = items.map(|item| format!("<li>{}</li>\n", escape(item))).collect();
    format!("<ul>\n{items}</ul>\n")
}

fn render(block: &Block) -> String {
    match block {
        Block::Paragraph(text) => format!("<p>{}</p>\n", escape(text)),
        Block::List(items) => list(items.iter().map(String::as_str)),
        Block::Table(inner) => table(inner),
        Block::Figure(inner) => drawing(inner),
        Block::Details { summary, blocks } => format!(
            "<details><summary>{}</summary>\n{}</details>\n",
            escape(summary),
            blocks.iter().map(render).collect::<String>()
        ),
    }
}

fn drawing(figure: &Figure) -> String {
    let svg = figure.svg.find("<svg").map_or("", |start| &figure.svg[start..]);
    format!(
        "<figure>\n<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"{caption}\"><div class=\"figure\">{svg}</div></div>\n<figcaption>{caption}</figcaption>\n</figure>\n",
        caption = escape(&figure.caption)
    )
}

fn table(table: &Table) -> String {
    let columns = table.header.len();
    let numeric: Vec<bool> = (0..columns)
        .map(|column| {
            table
                .rows
                .iter()
                .any(|row| matches!(row.get(column), Some(Cell::Number { .. } | Cell::Margin(_))))
        })
        .collect();
    let class = |column: usize| if numeric.get(column) == Some(&true) { " class=\"number\"" } else { "" };
    let header: String = table
        .header
        .iter()
        .enumerate()
        .map(|(i, name)| format!("<th scope=\"col\"{}>{}</th>", class(i), escape(name)))
        .collect();
    let rows: String = table.rows.iter().map(|row| table_row(row, &class)).collect();
    format!(
        "<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"{caption}\"><table>\n<caption>{caption}</caption>\n<thead><tr>{header}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table></div>\n",
        caption = escape(&table.caption)
    )
}

fn table_row(row: &[Cell], class: &impl Fn(usize) -> &'static str) -> String {
    let broken = row.iter().any(|cell| matches!(cell, Cell::Verdict(false)));
    let cells: String = row
        .iter()
        .enumerate()
        .map(|(column, cell)| {
            let shown = cell.shown();
            let class = if shown.starts_with('/') { " class=\"pointer\"" } else { class(column) };
            format!("<td{class}>{}</td>", escape(&shown))
        })
        .collect();
    format!("<tr{}>{cells}</tr>\n", if broken { " class=\"broken\"" } else { "" })
}

/// Sliders over the grid. They stay hidden until the script finds them.
fn what_if(grid: &MarginGrid) -> String {
    let mut html = String::from(
        "<section id=\"what-if\" class=\"what-if\" hidden aria-label=\"What if\">\n<h2>What if</h2>\n\
         <p>Every position of the sliders is a point that the program computed; nothing is interpolated. All other numbers stay as the scenario has them.</p>\n",
    );
    for (place, axis) in grid.axes.iter().enumerate() {
        html.push_str(&format!(
            "<label for=\"axis-{place}\"><span>{}</span><input type=\"range\" id=\"axis-{place}\" min=\"0\" max=\"{}\" step=\"1\" value=\"{}\"><output id=\"value-{place}\"></output></label>\n",
            escape(axis.name),
            axis.values.len().saturating_sub(1),
            axis.plan_index
        ));
    }
    html.push_str(
        "<p id=\"reading\" class=\"reading\" aria-live=\"polite\"></p>\n<button type=\"button\" id=\"what-if-reset\">Back to the plan</button>\n</section>\n",
    );
    html
}

/// The grid as the script reads it, every number already as text, so that page and program cannot differ.
fn data(grid: &MarginGrid) -> String {
    let (names, index_of) = what_if_limits(grid);
    let axes: Vec<_> = grid
        .axes
        .iter()
        .map(|axis| {
            let shown: Vec<String> = axis.values.iter().map(|v| quantity(*v, axis.unit)).collect();
            json!({"shown": shown, "plan": axis.plan_index})
        })
        .collect();
    let points: Vec<_> = grid
        .points
        .iter()
        .map(|point| {
            let verdict = match point.feasible {
                Some(true) => 0,
                Some(false) => 1,
                None => 2,
            };
            json!([verdict, point.margin_w.map(margin_words), index_of(point.binding)])
        })
        .collect();
    json!({
        "axes": axes,
        "verdicts": ["Closes", "Does not close", "Could not be computed"],
        "limits": names,
        "points": points,
    })
    .to_string()
    .replace('<', "\\u003c")
}

/// A margin of power in words.
pub(crate) fn margin_words(margin_w: f64) -> String {
    let word = if margin_w >= 0.0 { "left" } else { "missing" };
    format!("{} {word}", quantity(margin_w.abs(), "W"))
}
