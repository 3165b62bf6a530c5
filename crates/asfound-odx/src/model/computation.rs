//! How a coded value becomes a physical one (`COMPU-METHOD`).

/// The categories.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Category {
    Identical,
    Linear,
    ScaleLinear,
    TextTable,
    TabInterpolated,
    Rational,
    ScaleRational,
    Code,
}

impl Category {
    pub(crate) fn named(name: &str) -> Option<Self> {
        Some(match name {
            "IDENTICAL" => Self::Identical,
            "LINEAR" => Self::Linear,
            "SCALE-LINEAR" => Self::ScaleLinear,
            "TEXTTABLE" => Self::TextTable,
            "TAB-INTP" => Self::TabInterpolated,
            "RAT-FUNC" => Self::Rational,
            "SCALE-RAT-FUNC" => Self::ScaleRational,
            "COMPUCODE" => Self::Code,
            _ => return None,
        })
    }
}

/// Whether a limit itself belongs to the interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum LimitKind {
    Closed,
    Open,
    Infinite,
}

/// One end of an interval; as text, because it may be a decimal, hexadecimal bytes or a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Limit {
    pub(crate) text: Box<str>,
    pub(crate) kind: LimitKind,
}

/// One scale (`COMPU-SCALE`).
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Scale {
    pub(crate) lower: Option<Limit>,
    pub(crate) upper: Option<Limit>,
    /// `COMPU-INVERSE-VALUE`, a number or a text.
    pub(crate) inverse: Option<Box<str>>,
    /// `COMPU-CONST` with a text (`VT`).
    pub(crate) text: Option<Box<str>>,
    /// `COMPU-CONST` with a number (`V`).
    pub(crate) number: Option<Box<str>>,
    pub(crate) rational: Option<Rational>,
}

/// The coefficients of two polynomials (`COMPU-RATIONAL-COEFFS`), from the lowest power on.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Rational {
    pub(crate) numerator: Vec<Box<str>>,
    pub(crate) denominator: Vec<Box<str>>,
}

/// How a coded value becomes a physical one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Computation {
    pub(crate) category: Category,
    /// `COMPU-INTERNAL-TO-PHYS`.
    pub(crate) scales: Vec<Scale>,
    /// `COMPU-DEFAULT-VALUE` of it, as text.
    pub(crate) default: Option<Box<str>>,
}

/// How values of a range count (`VALIDITY` of a `SCALE-CONSTR`).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Validity {
    Valid,
    /// `NOT-VALID`, `NOT-DEFINED` or `NOT-AVAILABLE`.
    Excluded,
}

/// One range of constrained values.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct ValidityRange {
    pub(crate) lower: Option<Limit>,
    pub(crate) upper: Option<Limit>,
    pub(crate) validity: Validity,
}
