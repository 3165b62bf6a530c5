//! How many drives without a sign it takes to trust that it is gone.
//!
//! A sign that comes and goes shows on each drive with the same chance. How large that chance is at least follows from how
//! often the sign showed; the absence is trusted once a sign of that chance would hardly have been missed.

/// How often a sign must have shown before its absence is trusted. With fewer showings a rare sign looks like one that
/// always shows too often.
pub(super) const SHOWINGS: u32 = 5;

/// How unlikely it must be that absences are misses. All absences that a finding rests on share it.
const MISSED: f64 = 0.01;

/// How likely it is at most that the limit lies above the true chance.
const LIMIT_WRONG: f64 = 0.15;

/// The chance that at least `showings` of `drives` show a sign, each with the chance `rate`.
fn at_least(showings: u32, drives: u32, rate: f64) -> f64 {
    let (mut term, mut fewer) = ((1.0 - rate).powf(f64::from(drives)), 0.0);
    for at in 0..showings {
        fewer += term;
        term *= f64::from(drives - at) / f64::from(at + 1) * rate / (1.0 - rate);
    }
    1.0 - fewer
}

/// The lower limit of Clopper and Pearson (Biometrika 26, 1934; from memory) for the chance to show on a drive, at 85 %
/// confidence on one side.
///
/// The same limit is exact when driving goes on until the sign has shown a given number of times, because that the last of
/// them came within so many drives is the same as that so many drives had that number of them.
pub(super) fn lower_limit(showings: u32, drives: u32) -> f64 {
    if showings == 0 {
        return 0.0;
    }
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if at_least(showings, drives, middle) > LIMIT_WRONG { high = middle } else { low = middle }
    }
    low
}

/// How many drives without a sign are needed to trust its absence, which is one of `absences` that a finding rests on. The
/// sign showed on `showings` of `drives` while what is named was in alone.
pub(super) fn drives_needed(showings: u32, drives: u32, absences: usize) -> u32 {
    // Showings that are still to come are taken to come on the next drives.
    let missing = SHOWINGS.saturating_sub(showings);
    let rate = lower_limit(showings + missing, drives + missing);
    let absences = u32::try_from(absences.max(1)).unwrap_or(u32::MAX);
    let needed = (MISSED / f64::from(absences)).ln() / (1.0 - rate).ln();
    // So few showings that nobody can wait for it need no exact number.
    if needed.is_finite() && needed < 10_000.0 {
        (1..10_000).find(|count| f64::from(*count) >= needed).unwrap_or(10_000)
    } else {
        10_000
    }
}

/// How often a cause must show at least so that this many drives would have shown it, but for a chance of 1 in 100.
pub(super) fn noticed_from(drives: u32) -> f64 {
    if drives == 0 { 1.0 } else { 1.0 - MISSED.powf(1.0 / f64::from(drives)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `scipy.stats.beta.ppf(0.15, k, n - k + 1)` of `SciPy` 1.17.1: the lower limit is that quantile.
    #[test]
    fn the_limit_is_that_of_scipy() {
        for (showings, drives, limit) in [
            (5, 5, 0.684_255_428_918_631_7),
            (5, 6, 0.538_696_400_455_299_9),
            (5, 7, 0.447_738_765_020_595_56),
            (5, 10, 0.299_843_491_423_849_14),
            (5, 25, 0.114_342_648_524_554_07),
            (1, 1, 0.15),
            (3, 4, 0.373_467_838_497_534_95),
            (8, 8, 0.788_880_838_459_446_9),
            (12, 40, 0.219_630_399_617_506_74),
            (1, 100, 0.001_623_869_389_984_144),
        ] {
            let found = lower_limit(showings, drives);
            assert!((found - limit).abs() < 1e-9, "{showings} of {drives}: {found} and not {limit}");
        }
        assert!(lower_limit(0, 7).abs() < f64::EPSILON);
    }

    /// The chance that absences are trusted which are all misses, worked out exactly: driving goes on until the sign has shown
    /// five times, and then as long as that asks for. It is below 1 in 100 whatever the rate is. A wrong answer needs one such
    /// absence at least, however many it rests on, so that its chance is no larger.
    #[test]
    fn absences_are_trusted_wrongly_in_fewer_than_one_of_a_hundred_cases() {
        let mut worst = 0.0_f64;
        for absences in 1..=4 {
            for step in 1..=199 {
                let rate = f64::from(step) / 200.0;
                let (mut exactly, mut wrong, mut covered) = (rate.powi(5), 0.0, 0.0);
                for drives in 5..5_000_u32 {
                    let needed = f64::from(drives_needed(5, drives, absences));
                    wrong += exactly * (1.0 - rate).powf(needed);
                    covered += exactly;
                    exactly *= f64::from(drives) / f64::from(drives - 4) * (1.0 - rate);
                    if covered > 1.0 - 1e-9 {
                        break;
                    }
                }
                assert!(covered > 1.0 - 1e-6, "{rate}");
                worst = worst.max(wrong);
            }
        }
        assert!(worst < 0.01, "{worst}");
        assert!(worst > 0.001, "{worst}: far fewer drives would do");
    }

    /// What the page on trouble codes says.
    #[test]
    fn so_many_drives_are_needed() {
        let needed = |drives| [1, 2, 3].map(|absences| drives_needed(5, drives, absences));
        assert_eq!(needed(5), [4, 5, 5]);
        assert_eq!(needed(6), [6, 7, 8]);
        assert_eq!(needed(10), [13, 15, 17]);
        assert_eq!(drives_needed(0, 0, 1), 4, "as if it showed on the next five");
        assert_eq!(drives_needed(2, 4, 1), drives_needed(5, 7, 1));
        assert!((noticed_from(4) - 0.6838).abs() < 1e-4, "1 - 0.01^(1/4)");
    }
}
