//! What a stretch between two readings gains: exactly for degree hours, by Gauss-Legendre sums for the exponential
//! models.

use super::{Input, Model, real};

const NURSE_SAUL: &str = "Nurse-Saul, form of ASTM C1074";
const ARRHENIUS: &str = "Arrhenius, form of ASTM C1074";
const EC2: &str = "EN 1992-1-1 annex B";
/// 0 °C in kelvin.
const KELVIN: f64 = 273.15;
/// The figures of EN 1992-1-1: it rounds the kelvin.
const EC2_KELVIN: f64 = 273.0;
const EC2_ACTIVATION: f64 = 4000.0;
const EC2_CONSTANT: f64 = 13.65;
/// A part of a stretch over which the exponent changes by no more than this: the three-point sum is then right to
/// better than one part in 10⁸, since its error is the sixth power of that over two million.
const LARGEST_CHANGE: f64 = 0.5;
/// The most parts of a stretch: more than the bounds of temperature and activation ask for.
const MOST_PARTS: u32 = 100;

/// Temperature running straight from one reading to the next.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    pub from_h: f64,
    pub to_h: f64,
    pub from_c: f64,
    pub to_c: f64,
}

impl Stretch {
    /// The temperature at an hour.
    pub fn at(&self, hour: f64) -> f64 {
        self.from_c + (self.to_c - self.from_c) * (hour - self.from_h) / (self.to_h - self.from_h)
    }

    /// The part of it that is not below a temperature.
    fn above(&self, celsius: f64) -> Option<Self> {
        if self.from_c >= celsius && self.to_c >= celsius {
            return Some(*self);
        }
        if self.from_c <= celsius && self.to_c <= celsius {
            return None;
        }
        let hours = (celsius - self.from_c) / (self.to_c - self.from_c) * (self.to_h - self.from_h);
        let crossing = (self.from_h + hours).clamp(self.from_h, self.to_h);
        Some(if self.from_c < celsius {
            Self { from_h: crossing, from_c: celsius, ..*self }
        } else {
            Self { to_h: crossing, to_c: celsius, ..*self }
        })
    }

    /// Hours below a temperature, with their arithmetic.
    pub fn hours_below(&self, celsius: f64) -> (f64, Option<String>) {
        let (hours, low, high) =
            (self.to_h - self.from_h, self.from_c.min(self.to_c), self.from_c.max(self.to_c));
        let whole = format!("({} - {})", real(self.to_h), real(self.from_h));
        if high < celsius {
            (hours, Some(whole))
        } else if low < celsius {
            let part = (celsius - low) / (high - low);
            let formula =
                format!("{whole} * ({} - {}) / ({} - {})", real(celsius), real(low), real(high), real(low));
            (hours * part, Some(formula))
        } else {
            (0.0, None)
        }
    }
}

/// What an hour gains at a temperature.
#[derive(Debug, Clone, Copy)]
pub(super) enum Rate {
    /// Degrees above the datum, over those of the reference.
    Degrees { datum: f64, over: f64 },
    /// exp(activation · (1/(kelvin + reference) − 1/(kelvin + T))) from the datum on.
    Exponential { datum: f64, activation: f64, reference: f64 },
    /// exp(constant − activation/(kelvin + T)) from the datum on.
    Ec2 { datum: f64 },
}

impl Rate {
    /// Degree hours.
    pub fn degrees(datum: f64) -> Self {
        Self::Degrees { datum, over: 1.0 }
    }

    /// Equivalent hours by the model asked for.
    pub fn of(input: &Input) -> Self {
        let (datum, reference) = (input.datum.0, input.reference.0);
        match input.model {
            Model::NurseSaul => Self::Degrees { datum, over: reference - datum },
            Model::Arrhenius => {
                Self::Exponential { datum, activation: input.activation.unwrap_or_default().0, reference }
            }
            Model::Ec2 => Self::Ec2 { datum },
        }
    }

    pub fn source(self) -> &'static str {
        match self {
            Self::Degrees { .. } => NURSE_SAUL,
            Self::Exponential { .. } => ARRHENIUS,
            Self::Ec2 { .. } => EC2,
        }
    }

    fn datum(self) -> f64 {
        match self {
            Self::Degrees { datum, .. } | Self::Exponential { datum, .. } | Self::Ec2 { datum } => datum,
        }
    }

    /// What an hour gains at a temperature at or above the datum.
    pub fn at(self, celsius: f64) -> f64 {
        match self {
            Self::Degrees { datum, over } => (celsius - datum) / over,
            Self::Exponential { activation, reference, .. } => {
                libm::exp(activation * (1.0 / (KELVIN + reference) - 1.0 / (KELVIN + celsius)))
            }
            Self::Ec2 { .. } => libm::exp(EC2_CONSTANT - EC2_ACTIVATION / (EC2_KELVIN + celsius)),
        }
    }

    fn formula_at(self, celsius: f64) -> String {
        let celsius = real(celsius);
        match self {
            Self::Degrees { datum, .. } => format!("({celsius} - {})", real(datum)),
            Self::Exponential { activation, reference, .. } => format!(
                "exp({} * (1 / ({KELVIN} + {}) - 1 / ({KELVIN} + {celsius})))",
                real(activation),
                real(reference)
            ),
            Self::Ec2 { .. } => {
                format!("exp({EC2_CONSTANT} - {EC2_ACTIVATION} / ({EC2_KELVIN} + {celsius}))")
            }
        }
    }

    /// How fast the exponent changes at most over a stretch, in all.
    fn change(self, stretch: &Stretch) -> f64 {
        let coldest = stretch.from_c.min(stretch.to_c);
        let (activation, kelvin) = match self {
            Self::Degrees { .. } => return 0.0,
            Self::Exponential { activation, .. } => (activation, KELVIN + coldest),
            Self::Ec2 { .. } => (EC2_ACTIVATION, EC2_KELVIN + coldest),
        };
        activation / (kelvin * kelvin) * (stretch.to_c - stretch.from_c).abs()
    }

    /// What a stretch gains, with its arithmetic where it is told: nothing below the datum.
    pub fn over(self, stretch: &Stretch, told: bool) -> (f64, Vec<String>) {
        let Some(warm) = stretch.above(self.datum()) else {
            return (0.0, Vec::new());
        };
        if let Self::Degrees { datum, over } = self {
            let gained = (f64::midpoint(warm.from_c, warm.to_c) - datum) * (warm.to_h - warm.from_h) / over;
            let formula = format!(
                "(({} + {}) / 2 - {}) * ({} - {})",
                real(warm.from_c),
                real(warm.to_c),
                real(datum),
                real(warm.to_h),
                real(warm.from_h)
            );
            return (gained, vec![formula]);
        }
        let parts = self.parts(&warm);
        let width = (warm.to_h - warm.from_h) / f64::from(parts);
        let mut gained = 0.0;
        let mut formulas = Vec::new();
        for part in 0..parts {
            let start = warm.from_h + width * f64::from(part);
            let nodes = gauss_nodes(start, width).map(|hour| warm.at(hour));
            let [first, middle, last] = nodes;
            gained += width / 18.0 * (5.0 * self.at(first) + 8.0 * self.at(middle) + 5.0 * self.at(last));
            if told {
                formulas.push(format!(
                    "{} / 18 * (5 * {} + 8 * {} + 5 * {})",
                    real(width),
                    self.formula_at(first),
                    self.formula_at(middle),
                    self.formula_at(last)
                ));
            }
        }
        (gained, formulas)
    }

    /// The parts in which a stretch is summed.
    pub fn parts(self, stretch: &Stretch) -> u32 {
        let change = self.change(stretch);
        (1..MOST_PARTS).find(|parts| change <= LARGEST_CHANGE * f64::from(*parts)).unwrap_or(MOST_PARTS)
    }

    /// Within a stretch that gains at least `wanted`: an hour close by, and what still lacks there, after halving
    /// until the interval no longer shrinks to speak of.
    pub fn last_step(self, stretch: &Stretch, wanted: f64) -> (f64, f64) {
        let warm = stretch.above(self.datum()).unwrap_or(*stretch);
        let gained_by = |hour: f64| {
            let part = Stretch { to_h: hour, to_c: warm.at(hour), ..warm };
            if warm.from_h < hour { self.over(&part, false).0 } else { 0.0 }
        };
        let (mut early, mut late) = (warm.from_h, warm.to_h);
        for _ in 0..40 {
            let middle = f64::midpoint(early, late);
            if gained_by(middle) < wanted { early = middle } else { late = middle }
        }
        (late, wanted - gained_by(late))
    }
}

/// The three points of Gauss and Legendre in an interval.
fn gauss_nodes(start: f64, width: f64) -> [f64; 3] {
    let half = width / 2.0;
    let away = half * 0.6_f64.sqrt();
    [start + half - away, start + half, start + half + away]
}
