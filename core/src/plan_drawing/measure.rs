//! Scales of a drawing office and scale bars.

/// The reduction scales of ISO 5455, extended by its own factor of ten: 1 : n.
const SCALES: [u32; 16] = [
    10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000, 10_000, 20_000, 50_000, 100_000, 200_000, 500_000,
    1_000_000,
];

/// The largest usual scale 1 : n at which something of that size, in millimetres of the building, fits into the
/// room, in millimetres of paper.
pub fn scale(size_mm: [f64; 2], room_mm: [f64; 2]) -> u32 {
    let fits = |n: &u32| (0..2).all(|axis| size_mm[axis] <= room_mm[axis] * f64::from(*n));
    SCALES.into_iter().find(fits).unwrap_or(SCALES[SCALES.len() - 1])
}

/// A round length (1, 2 or 5 times a power of ten millimetres) no longer than `most`, and 1 mm at least.
pub fn round_mm(most: f64) -> u32 {
    let lengths = (0..8).flat_map(|power| [1, 2, 5].map(|n| n * 10_u32.pow(power)));
    lengths.take_while(|length| f64::from(*length) <= most).last().unwrap_or(1)
}

/// A round length as it is written at its bar: `2 m`, `500 mm`.
pub fn length_text(mm: u32) -> String {
    if mm.is_multiple_of(1_000) && mm > 0 { format!("{} m", mm / 1_000) } else { format!("{mm} mm") }
}
