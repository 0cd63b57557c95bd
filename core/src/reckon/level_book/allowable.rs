//! The misclosure that is allowed: so many millimetres times a root. Held against in whole numbers, since a root has no
//! last decimal: |misclosure| ≤ k·√n is misclosure² ≤ k²·n.

use super::Allowable;
use crate::faults::Faults;
use crate::quantity::{Km, Length, Mm};
use crate::working::mm;

/// Micrometres in a kilometre.
const UM_PER_KM: i128 = 1_000_000_000;

impl Allowable {
    /// So many millimetres times the root of the number of set-ups.
    pub fn per_root_setup(limit: Length) -> Self {
        Self { per_root_setup_mm: Some(Mm(limit)), ..Self::default() }
    }

    /// So many millimetres times the root of the distance levelled in kilometres.
    pub fn per_root_km(limit: Length, distance: Length) -> Self {
        Self { per_root_km_mm: Some(Mm(limit)), distance_km: Some(Km(distance)), ..Self::default() }
    }

    /// Millimetres, what their root is taken of as a fraction, and that as text.
    fn parts(self, setups: usize) -> (Length, i128, i128, String) {
        match (self.per_root_setup_mm, self.per_root_km_mm, self.distance_km) {
            (Some(limit), ..) => {
                (limit.0, i128::try_from(setups).unwrap_or(i128::MAX), 1, setups.to_string())
            }
            (None, Some(limit), Some(distance)) => {
                (limit.0, i128::from(distance.0.um()), UM_PER_KM, distance.0.to_km_text())
            }
            _ => (Length::ZERO, 0, 1, "0".to_owned()),
        }
    }

    /// Whether it holds a misclosure, closed.
    pub(super) fn holds(self, misclosure: Length, setups: usize) -> bool {
        let (limit, of, per, _) = self.parts(setups);
        let square = |length: Length| i128::from(length.um()) * i128::from(length.um());
        // Checked input stays below 10³⁴: 10 km squared, times 10,000 set-ups or a distance of 10 km.
        square(misclosure) * per <= square(limit) * of
    }

    /// In millimetres, for show.
    #[expect(clippy::cast_precision_loss, reason = "what the root is taken of stays below 2^53")]
    pub(super) fn mm(self, setups: usize) -> f64 {
        let (limit, of, per, _) = self.parts(setups);
        limit.to_mm_f64() * (of as f64 / per as f64).sqrt()
    }

    /// As arithmetic.
    pub(super) fn formula(self, setups: usize) -> String {
        let (limit, _, _, of) = self.parts(setups);
        format!("{} * sqrt({of})", mm(limit))
    }

    /// Exactly one rule, with all that it needs.
    pub(super) fn check(self, faults: &mut Faults) {
        match (self.per_root_setup_mm, self.per_root_km_mm) {
            (None, None) => faults.add(
                "/allowable/per_root_setup_mm",
                "is missing: give per_root_setup_mm, or per_root_km_mm and distance_km",
            ),
            (Some(_), Some(_)) => {
                faults.add("/allowable/per_root_km_mm", "stands beside per_root_setup_mm: give one of them")
            }
            _ => {}
        }
        match (self.per_root_km_mm, self.distance_km) {
            (Some(_), None) => faults.add("/allowable/distance_km", "is missing: per_root_km_mm needs it"),
            (None, Some(_)) => faults.add("/allowable/distance_km", "stands without per_root_km_mm"),
            _ => {}
        }
        for (key, length) in [
            ("per_root_setup_mm", self.per_root_setup_mm.map(|limit| limit.0)),
            ("per_root_km_mm", self.per_root_km_mm.map(|limit| limit.0)),
        ] {
            if length.is_some_and(Length::is_negative) {
                faults.add(format!("/allowable/{key}"), "must be at least 0");
            }
        }
        if self.distance_km.is_some_and(|distance| distance.0 <= Length::ZERO) {
            faults.add("/allowable/distance_km", "must be more than 0");
        }
    }
}
