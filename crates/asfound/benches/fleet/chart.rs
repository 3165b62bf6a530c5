//! Draws how times grow with the length of the journal.

use std::fmt::Write as _;

/// What is drawn: a name, and milliseconds by number of entries.
pub(crate) struct Line {
    pub(crate) name: String,
    pub(crate) points: Vec<(f64, f64)>,
}

/// Where a number lies on an axis of powers of ten.
struct Axis {
    powers: (i32, i32),
    paper: (f64, f64),
}

impl Axis {
    fn over(numbers: impl Iterator<Item = f64> + Clone, paper: (f64, f64)) -> Self {
        let least = numbers.clone().fold(f64::INFINITY, f64::min).log10().floor();
        let most = numbers.fold(0.0, f64::max).log10().ceil();
        #[allow(clippy::cast_possible_truncation, reason = "powers of ten of milliseconds and entries")]
        let (least, most) = (least as i32, most as i32);
        Self { powers: (least, most.max(least + 1)), paper }
    }

    fn at(&self, number: f64) -> f64 {
        let (least, most) = (f64::from(self.powers.0), f64::from(self.powers.1));
        self.paper.0 + (number.log10() - least) / (most - least) * (self.paper.1 - self.paper.0)
    }

    fn marks(&self) -> impl Iterator<Item = f64> {
        (self.powers.0..=self.powers.1).map(|power| 10_f64.powi(power))
    }
}

/// A chart with both axes in powers of ten. Lines differ by their dashes and have their names at their ends, so that nothing
/// is told by colour alone.
pub(crate) fn chart(title: &str, lines: &[Line]) -> String {
    let all = || lines.iter().flat_map(|line| line.points.iter().copied());
    let entries = Axis::over(all().map(|(x, _)| x).collect::<Vec<_>>().into_iter(), (70.0, 470.0));
    let time = Axis::over(all().map(|(_, y)| y).collect::<Vec<_>>().into_iter(), (330.0, 20.0));
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 680 390\" font-family=\"sans-serif\" font-size=\"12\">\n\
         <title>{title}</title>\n<rect width=\"680\" height=\"390\" fill=\"#fff\"/>\n"
    );
    let mut add = |piece: String| writeln!(text, "{piece}").unwrap();
    for mark in entries.marks() {
        let x = entries.at(mark);
        add(format!("<line x1=\"{x:.1}\" y1=\"20\" x2=\"{x:.1}\" y2=\"330\" stroke=\"#ddd\"/>"));
        add(format!("<text x=\"{x:.1}\" y=\"348\" text-anchor=\"middle\">{mark}</text>"));
    }
    for mark in time.marks() {
        let y = time.at(mark);
        add(format!("<line x1=\"70\" y1=\"{y:.1}\" x2=\"470\" y2=\"{y:.1}\" stroke=\"#ddd\"/>"));
        add(format!("<text x=\"62\" y=\"{:.1}\" text-anchor=\"end\">{mark}</text>", y + 4.0));
    }
    add("<text x=\"270\" y=\"374\" text-anchor=\"middle\">entries in the journal</text>".to_owned());
    add("<text x=\"18\" y=\"175\" text-anchor=\"middle\" transform=\"rotate(-90 18 175)\">milliseconds</text>"
        .to_owned());
    let dashes = ["", "7 3", "2 3", "9 3 2 3", "4 6", "1 5"];
    let mut ends: Vec<(f64, &str)> = Vec::new();
    for (line, dashes) in lines.iter().zip(dashes.iter().cycle()) {
        let points: Vec<(f64, f64)> = line.points.iter().map(|(x, y)| (entries.at(*x), time.at(*y))).collect();
        let path: Vec<String> = points.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
        add(format!(
            "<polyline points=\"{}\" fill=\"none\" stroke=\"#224\" stroke-width=\"1.6\" stroke-dasharray=\"{dashes}\"/>",
            path.join(" ")
        ));
        ends.extend(points.last().map(|(_, y)| (*y, line.name.as_str())));
    }
    // Names that would lie upon each other are moved down.
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut free = 0.0_f64;
    for (y, name) in ends {
        let at = (y + 4.0).max(free);
        free = at + 14.0;
        add(format!("<text x=\"478\" y=\"{at:.1}\">{name}</text>"));
    }
    text.push_str("</svg>\n");
    text
}
