//! Draws a life line as SVG.

#![allow(clippy::cast_precision_loss, reason = "the values of a setting that are drawn apart are few")]

use std::fmt::Write as _;

use time::OffsetDateTime;

use super::{LifeLine, StepKind};
use crate::escape::escape;
use crate::language::{Language, Numbers};

const WIDTH: f64 = 760.0;
/// Where the line begins: before it stand the values.
const LEFT: f64 = 132.0;
const RIGHT: f64 = 740.0;
const ROW: f64 = 26.0;
const TOP: f64 = 16.0;
/// The most rows that are drawn apart; more values than that share the height.
const ROWS: usize = 9;
/// The most letters of a value beside its row.
const LETTERS: usize = 20;

/// The whole time that a page shows: the same for all its lines, so that they can be read one below the other.
pub(crate) type TimeRange = (OffsetDateTime, OffsetDateTime);

/// The drawing of a line; `name` says what it shows to those who do not see it.
pub(crate) fn draw(line: &LifeLine, (from, to): TimeRange, name: &str, language: Language) -> String {
    let count = line.levels.len().max(1);
    let height = ROW * count.min(ROWS) as f64;
    let row = height / count as f64;
    let base = TOP + height + 8.0;
    let y = |level: usize| TOP + height - row * (level as f64 + 0.5);
    let length = (to - from).as_seconds_f64().max(1.0);
    let x = |at: OffsetDateTime| LEFT + (RIGHT - LEFT) * ((at - from).as_seconds_f64() / length).clamp(0.0, 1.0);
    let mut svg = format!("<svg viewBox=\"0 0 {WIDTH} {:.0}\" role=\"img\" aria-label=\"", base + 20.0);
    escape(name, &mut svg);
    svg.push_str("\">");
    let _ = write!(svg, "<path class=\"grid\" d=\"");
    for level in 0..count {
        let _ = write!(svg, "M{LEFT} {:.1}H{RIGHT}", y(level));
    }
    svg.push_str("\"/>");
    // Beside crowded rows only the lowest and the highest value stand.
    for (level, content) in
        line.levels.iter().enumerate().filter(|(at, _)| count <= ROWS || *at == 0 || *at + 1 == count)
    {
        let text = language.content(content);
        let short: String = text.chars().take(LETTERS).collect();
        let more = if text.chars().count() > LETTERS { "…" } else { "" };
        let _ = write!(svg, "<text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">", LEFT - 12.0, y(level) + 4.0);
        escape(&(short + more), &mut svg);
        svg.push_str("</text>");
    }
    ticks(&mut svg, line, base, &x);
    let _ = write!(svg, "<path class=\"step\" d=\"");
    for (at, step) in line.steps.iter().enumerate() {
        let (px, py) = (x(step.at), y(step.level));
        match step.from {
            Some(before) if at == 0 => {
                let _ = write!(svg, "M{LEFT} {:.1}H{px:.1}V{py:.1}", y(before));
            }
            None if at == 0 => {
                let _ = write!(svg, "M{px:.1} {py:.1}");
            }
            _ => {
                let _ = write!(svg, "H{px:.1}V{py:.1}");
            }
        }
    }
    let _ = write!(svg, "H{RIGHT}\"/>");
    for step in &line.steps {
        shape(&mut svg, step.kind, x(step.at), y(step.level));
    }
    let _ = write!(svg, "<text class=\"l\" x=\"{LEFT}\" y=\"{:.0}\">", base + 16.0);
    escape(&language.date(from), &mut svg);
    let _ = write!(svg, "</text><text class=\"l\" x=\"{RIGHT}\" y=\"{:.0}\" text-anchor=\"end\">", base + 16.0);
    escape(&language.date(to), &mut svg);
    svg.push_str("</text></svg>");
    svg
}

/// The base line with a tick for every reading; readings that would fall on one spot share a tick.
fn ticks(svg: &mut String, line: &LifeLine, base: f64, x: &impl Fn(OffsetDateTime) -> f64) {
    let _ = write!(svg, "<path class=\"base\" d=\"M{LEFT} {base:.1}H{RIGHT}\"/><path class=\"tick\" d=\"");
    let mut last = f64::MIN;
    for reading in &line.readings {
        let at = x(*reading);
        if at - last >= 1.5 {
            let _ = write!(svg, "M{at:.1} {:.1}v-7", base + 3.0);
            last = at;
        }
    }
    svg.push_str("\"/>");
}

/// The shape of a step: a point for the first that is known, an empty circle for what is stated, a full one for what was read back
/// or witnessed by a bus log, a cross for what is contradicted, a triangle for another hand.
fn shape(svg: &mut String, kind: StepKind, x: f64, y: f64) {
    let _ = match kind {
        StepKind::FirstKnown => write!(svg, "<circle class=\"k4\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3.5\"/>"),
        StepKind::CannotTell => {
            write!(svg, "<path class=\"k0\" d=\"M{x:.1} {:.1}l6.5 6.5l-6.5 6.5l-6.5 -6.5z\"/>", y - 6.5)
        }
        StepKind::Stated => write!(svg, "<circle class=\"k0\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"5\"/>"),
        StepKind::ReadBack(_) | StepKind::PartlyWitnessed(_) | StepKind::Witnessed(_) => {
            write!(svg, "<circle class=\"k1\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"6\"/>")
        }
        StepKind::AnotherHand => {
            write!(svg, "<path class=\"k2\" d=\"M{x:.1} {:.1}l6.5 12h-13z\"/>", y - 7.5)
        }
        StepKind::Contradicted(_) => {
            write!(svg, "<path class=\"k3\" d=\"M{:.1} {:.1}l10 10m0 -10l-10 10\"/>", x - 5.0, y - 5.0)
        }
    };
}

/// A shape alone, for the key.
pub(crate) fn sample(kind: StepKind) -> String {
    let mut svg = String::from("<svg viewBox=\"0 0 16 16\" aria-hidden=\"true\">");
    shape(&mut svg, kind, 8.0, 8.0);
    svg.push_str("</svg>");
    svg
}
