//! Exact lines between interpreted numbers and the numbers that are shown.

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, Zero};

use super::Linear;
use crate::value::Decimal;

/// A line over the interpreted numbers `from` to `to`, in whole units of the last place that is shown:
/// units(n) = (`offset` + `factor` · n) / `divisor`, rounded half away from zero.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ScaleLine {
    pub(super) from: i128,
    pub(super) to: i128,
    offset: BigInt,
    factor: BigInt,
    /// Always above zero.
    divisor: BigInt,
}

/// The lines of a layout; all show the same number of decimal places.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ScaleLines {
    pub(super) places: u32,
    pub(super) lines: Vec<ScaleLine>,
}

/// What lines have for a number that somebody asks for.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct LineLookup {
    /// The interpreted number that is shown so.
    pub(super) exact: Option<i128>,
    /// The nearest smaller number that is shown, in units.
    pub(super) below: Option<BigInt>,
    /// The nearest larger number that is shown, in units.
    pub(super) above: Option<BigInt>,
}

impl ScaleLine {
    /// The line of `linear` in units of 10^−`places`; nothing where it divides by zero.
    pub(super) fn new(from: i128, to: i128, linear: &Linear, places: u32) -> Option<Self> {
        let (offset, factor) = ratios(linear)?;
        let unit = BigRational::from_integer(BigInt::from(10).pow(places));
        let (offset, factor) = (offset * &unit, factor * unit);
        let divisor = offset.denom() * factor.denom();
        let (offset, factor) = (offset.numer() * factor.denom(), factor.numer() * offset.denom());
        Some(Self { from, to, offset, factor, divisor })
    }

    /// What is shown for an interpreted number, in units.
    pub(super) fn units(&self, number: i128) -> BigInt {
        let exact = &self.offset + &self.factor * BigInt::from(number);
        let magnitude: BigInt = (exact.abs() * 2 + &self.divisor) / (&self.divisor * 2);
        if exact.is_negative() { -magnitude } else { magnitude }
    }

    /// The least and the largest number shown, in units.
    pub(super) fn ends(&self) -> (BigInt, BigInt) {
        let (a, b) = (self.units(self.from), self.units(self.to));
        if a <= b { (a, b) } else { (b, a) }
    }

    /// How many interpreted numbers the line is for, less one.
    pub(super) fn last_step(&self) -> u128 {
        self.to.abs_diff(self.from)
    }

    /// The interpreted number of a step, counted so that what is shown never falls from one step to the next.
    pub(super) fn at_step(&self, step: u128) -> i128 {
        let step = i128::try_from(step).expect("interpreted numbers have 64 bits at most");
        if self.factor.is_negative() { self.to - step } else { self.from + step }
    }

    /// The first step at which at least `wanted` is shown; one beyond the last if there is none.
    pub(super) fn first_step_from(&self, wanted: &BigRational) -> u128 {
        let (mut low, mut high) = (0, self.last_step() + 1);
        while low < high {
            let middle = low + (high - low) / 2;
            if BigRational::from_integer(self.units(self.at_step(middle))) < *wanted {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        low
    }

    /// Whether no two interpreted numbers are shown alike.
    ///
    /// Numbers that are a unit or more apart never round to the same. Where they are closer, rounding skips no unit between
    /// the first and the last, so the units that are shown can be counted from the ends.
    pub(super) fn tells_apart(&self) -> bool {
        let (least, most) = self.ends();
        self.factor.abs() >= self.divisor || most - least == BigInt::from(self.last_step())
    }

    fn find(&self, wanted: &BigRational, found: &mut LineLookup) {
        let step = self.first_step_from(wanted);
        let units = |step: u128| (step <= self.last_step()).then(|| self.units(self.at_step(step)));
        let here = units(step);
        let exact = here.as_ref().is_some_and(|units| BigRational::from_integer(units.clone()) == *wanted);
        if exact {
            found.exact = Some(self.at_step(step));
        }
        let below = step.checked_sub(1).and_then(units);
        let above = if exact { units(step + 1) } else { here };
        if below > found.below {
            found.below = below;
        }
        if above.is_some() && (found.above.is_none() || above < found.above) {
            found.above = above;
        }
    }
}

impl ScaleLines {
    /// What is shown for an interpreted number; nothing where no line has it.
    pub(super) fn shown(&self, number: i128) -> Option<Decimal> {
        let line = self.lines.iter().find(|line| (line.from..=line.to).contains(&number))?;
        Some(self.decimal(line.units(number)))
    }

    /// The interpreted number that is shown as `wanted`, and the nearest ones that are shown otherwise.
    pub(super) fn find(&self, wanted: &Decimal) -> LineLookup {
        let wanted = wanted.to_ratio() * BigRational::from_integer(BigInt::from(10).pow(self.places));
        let mut found = LineLookup::default();
        for line in &self.lines {
            line.find(&wanted, &mut found);
        }
        found
    }

    /// The least and the largest number that is shown.
    pub(super) fn limits(&self) -> Option<(Decimal, Decimal)> {
        let (least, most) = self.lines.iter().map(ScaleLine::ends).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))?;
        Some((self.decimal(least), self.decimal(most)))
    }

    /// Units as a decimal.
    pub(super) fn decimal(&self, units: BigInt) -> Decimal {
        Decimal::from_scaled(units, self.places)
    }
}

/// Offset and factor with the division done; nothing where it divides by zero.
pub(super) fn ratios(linear: &Linear) -> Option<(BigRational, BigRational)> {
    let divisor = linear.denominator.to_ratio();
    let [offset, factor] = linear.numerator.each_ref().map(Decimal::to_ratio);
    (!divisor.is_zero()).then(|| (offset / &divisor, factor / divisor))
}

/// The decimal places that a fraction needs; nothing where its decimals do not end.
pub(super) fn places_needed(ratio: &BigRational) -> Option<u32> {
    let mut rest = ratio.denom().clone();
    let mut places = 0;
    for prime in [2, 5] {
        let prime = BigInt::from(prime);
        let mut power = 0;
        while (&rest % &prime).is_zero() {
            rest /= &prime;
            power += 1;
        }
        places = places.max(power);
    }
    (rest == BigInt::from(1)).then_some(places)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn linear(offset: &str, factor: &str, denominator: &str) -> Linear {
        let decimal = |text: &str| text.parse().unwrap();
        Linear { numerator: [decimal(offset), decimal(factor)], denominator: decimal(denominator) }
    }

    fn line(from: i128, to: i128, linear: &Linear, places: u32) -> ScaleLine {
        ScaleLine::new(from, to, linear, places).unwrap()
    }

    #[test]
    fn rounds_half_away_from_zero() {
        let line = line(-3, 3, &linear("0", "1", "2"), 0);
        let shown: Vec<_> = (-3..=3).map(|n| i32::try_from(line.units(n)).unwrap()).collect();
        assert_eq!(shown, [-2, -1, -1, 0, 1, 1, 2]);
    }

    #[test]
    fn tells_apart_exactly_when_a_count_of_all_values_says_so() {
        for numerator in 1..=24 {
            for offset in [-7, -1, 0, 3, 8] {
                for last in [0, 1, 2, 5, 16] {
                    for sign in [-1, 1] {
                        let factor = (sign * numerator).to_string();
                        let line = line(0, last, &linear(&offset.to_string(), &factor, "16"), 0);
                        let shown: std::collections::BTreeSet<_> = (0..=last).map(|n| line.units(n)).collect();
                        assert_eq!(line.tells_apart(), shown.len() == usize::try_from(last).unwrap() + 1, "{line:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn finds_what_is_shown_and_its_neighbours_on_falling_lines_too() {
        let lines = ScaleLines { places: 1, lines: vec![line(0, 200, &linear("100", "-1", "2"), 1)] };
        let found = lines.find(&"49.5".parse().unwrap());
        assert_eq!(found, LineLookup { exact: Some(1), below: Some(490.into()), above: Some(500.into()) });
        let found = lines.find(&"49.6".parse().unwrap());
        assert_eq!(found, LineLookup { exact: None, below: Some(495.into()), above: Some(500.into()) });
        let found = lines.find(&"51".parse().unwrap());
        assert_eq!(found, LineLookup { exact: None, below: Some(500.into()), above: None });
        assert_eq!(lines.limits(), Some(("-50".parse().unwrap(), "50".parse().unwrap())));
    }

    #[test]
    fn knows_which_decimals_end() {
        let ratio = |numerator: i32, denominator: i32| BigRational::new(numerator.into(), denominator.into());
        for (ratio, places) in
            [(ratio(3, 8), Some(3)), (ratio(1, 50), Some(2)), (ratio(6, 3), Some(0)), (ratio(1, 3), None)]
        {
            assert_eq!(places_needed(&ratio), places);
        }
    }
}
