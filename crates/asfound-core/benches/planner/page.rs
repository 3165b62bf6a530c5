//! Writes what was measured into `docs/performance.md`, and draws it.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::time::Duration;

use super::Row;

const DOCS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs");
const BEGIN: &str = "<!-- planner: begin; written by `cargo bench -p asfound-core --bench planner`, not by hand -->";
const END: &str = "<!-- planner: end -->";
const WRITES: &str = "a text takes everything";

/// Puts the section in place of the one that is there, or at the end.
pub fn write(rows: &[Row]) {
    let page = Path::new(DOCS).join("performance.md");
    let text = fs::read_to_string(&page).unwrap_or_else(|_| "# Performance\n".to_owned());
    let section = format!("{BEGIN}\n{}{END}\n", section(rows));
    let text = match (text.find(BEGIN), text.find(END)) {
        (Some(begin), Some(end)) => {
            format!("{}{section}{}", &text[..begin], text[end + END.len()..].trim_start_matches('\n'))
        }
        _ => format!("{}\n\n{section}", text.trim_end()),
    };
    fs::write(&page, text).expect("the page can be written");
    fs::write(Path::new(DOCS).join("planner-time.svg"), chart(rows)).expect("the chart can be written");
}

fn milliseconds(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

fn shown(time: Duration) -> String {
    let time = milliseconds(time);
    if time < 10.0 { format!("{time:.2}") } else { format!("{time:.0}") }
}

fn thousands(number: usize) -> String {
    let digits = number.to_string();
    let split = |(at, digit): (usize, char)| {
        let comma = at > 0 && (digits.len() - at).is_multiple_of(3);
        if comma { format!(",{digit}") } else { digit.to_string() }
    };
    digits.chars().enumerate().map(split).collect()
}

fn section(rows: &[Row]) -> String {
    let processors = std::thread::available_parallelism().map_or(0, usize::from);
    let load = fs::read_to_string("/proc/loadavg").ok();
    let load = load.as_deref().and_then(|text| text.split_whitespace().next());
    let load = load.map_or_else(String::new, |load| format!(", with a load average of {load} at the end"));
    let mut text = format!(
        "## Planner\n\n\
         Medians of five runs or more in milliseconds, on one thread of a machine with {processors} processors ({} on {}{load}).\n\
         The history is traced before a plan is made, and measured for itself (*trace*). *Set* is a plan that gives every setting\n\
         another value; *back* is the wish to take every change back, together with its plan. There are two rules for three\n\
         settings, across modules, which ask for another order than that of names, and a knot for each hundred settings, for\n\
         which a record is written twice.\n\n\
         | settings | modules | rules | entries | trace | set | steps | back | steps |\n\
         | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n",
        std::env::consts::ARCH,
        std::env::consts::OS,
    );
    for row in rows {
        writeln!(
            text,
            "| {} | {} | {} | {} | {} | {} | {} | {} | {} |",
            thousands(row.size.settings),
            row.size.modules,
            row.size.rules,
            thousands(row.entries),
            shown(row.trace),
            shown(row.set),
            row.set_steps,
            shown(row.back),
            row.back_steps,
        )
        .expect(WRITES);
    }
    text.push_str("\n![Time to plan against the length of the journal](planner-time.svg)\n");
    text
}

/// Where a number lies on an axis of powers of ten.
struct Axis {
    /// The power at its start, and at its end.
    powers: (i32, i32),
    /// Where it starts and ends on the paper.
    paper: (f64, f64),
}

impl Axis {
    fn at(&self, number: f64) -> f64 {
        let (least, most) = (f64::from(self.powers.0), f64::from(self.powers.1));
        self.paper.0 + (number.log10() - least) / (most - least) * (self.paper.1 - self.paper.0)
    }

    fn marks(&self) -> impl Iterator<Item = f64> {
        (self.powers.0..=self.powers.1).map(|power| 10_f64.powi(power))
    }
}

/// Lines for putting everything back, by number of settings, and a broken one for tracing; both axes in powers of ten.
#[allow(clippy::cast_precision_loss, reason = "for drawing")]
fn chart(rows: &[Row]) -> String {
    let entries = Axis { powers: (2, 5), paper: (70.0, 520.0) };
    let time = Axis { powers: (-2, 4), paper: (330.0, 20.0) };
    let mut text = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 680 390\" font-family=\"sans-serif\" font-size=\"12\">\n\
                    <title>Time to plan against the length of the journal</title>\n\
                    <rect width=\"680\" height=\"390\" fill=\"#fff\"/>\n"
        .to_owned();
    for mark in entries.marks() {
        let x = entries.at(mark);
        writeln!(text, "<line x1=\"{x:.1}\" y1=\"20\" x2=\"{x:.1}\" y2=\"330\" stroke=\"#ddd\"/>").expect(WRITES);
        writeln!(text, "<text x=\"{x:.1}\" y=\"348\" text-anchor=\"middle\">{mark}</text>").expect(WRITES);
    }
    for mark in time.marks() {
        let y = time.at(mark);
        writeln!(text, "<line x1=\"70\" y1=\"{y:.1}\" x2=\"520\" y2=\"{y:.1}\" stroke=\"#ddd\"/>").expect(WRITES);
        writeln!(text, "<text x=\"62\" y=\"{:.1}\" text-anchor=\"end\">{mark}</text>", y + 4.0).expect(WRITES);
    }
    text.push_str("<text x=\"295\" y=\"374\" text-anchor=\"middle\">entries in the journal</text>\n");
    text.push_str(
        "<text x=\"18\" y=\"175\" text-anchor=\"middle\" transform=\"rotate(-90 18 175)\">milliseconds</text>\n",
    );
    let mut settings: Vec<usize> = rows.iter().map(|row| row.size.settings).collect();
    settings.dedup();
    let mut labels: Vec<(f64, String)> = Vec::new();
    let mut line = |dashes: &str, label: String, points: Vec<(f64, f64)>| {
        let path: Vec<String> = points.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
        let path = path.join(" ");
        writeln!(
            text,
            "<polyline points=\"{path}\" fill=\"none\" stroke=\"#224\" stroke-width=\"1.6\" stroke-dasharray=\"{dashes}\"/>"
        )
        .expect(WRITES);
        labels.push((points.last().map_or(0.0, |(_, y)| *y), label));
    };
    for settings in &settings {
        let of_size: Vec<&Row> = rows.iter().filter(|row| row.size.settings == *settings).collect();
        let points = |of: fn(&Row) -> Duration| {
            let point = |row: &&Row| (entries.at(row.entries as f64), time.at(milliseconds(of(row)).max(0.01)));
            of_size.iter().map(point).collect::<Vec<_>>()
        };
        line("none", format!("back, {settings} settings"), points(|row| row.back));
        if *settings == 300 {
            line("2 3", "trace, 300 settings".to_owned(), points(|row| row.trace));
        }
    }
    // Labels that would lie on each other are moved apart.
    labels.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut least = 0.0_f64;
    for (y, label) in labels {
        least = y.max(least + 15.0);
        writeln!(text, "<text x=\"528\" y=\"{:.1}\">{label}</text>", least + 4.0).expect(WRITES);
    }
    text.push_str("</svg>\n");
    text
}
