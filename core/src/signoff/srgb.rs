//! A small colour profile for sRGB, made here from the published figures, so that none of anyone's has to be
//! copied: ICC.1:2004-10 (profile version 4.2), display class, matrix and parametric curve.

/// Primaries and transfer of IEC 61966-2-1, adapted to the profile connection space's D50 by the Bradford
/// transform: columns red, green, blue; rows X, Y, Z; in 1/65536.
const COLOURANTS: [[i32; 3]; 3] = [[28576, 14581, 912], [25239, 46983, 6361], [9375, 3972, 46787]];
/// D50 as ICC.1:2004-10, 6.3.4.3 gives it, in 1/65536.
const D50: [i32; 3] = [63190, 65536, 54061];
/// The Bradford transform from D65 to D50, row by row, in 1/65536.
const BRADFORD: [i32; 9] = [68674, 1502, -3291, 1939, 64912, -1119, -606, 988, 49262];
/// IEC 61966-2-1: ((x + 0.055) / 1.055)^2.4 above 0.04045, x / 12.92 below; as g, a, b, c, d in 1/65536.
const CURVE: [i32; 5] = [157_286, 62_119, 3_417, 5_072, 2_651];

/// The profile's bytes.
pub fn profile() -> Vec<u8> {
    let curve = parametric(&CURVE);
    let tags: [(&[u8; 4], Vec<u8>); 10] = [
        (b"desc", text("sRGB IEC 61966-2-1")),
        (b"cprt", text("No copyright claimed; made from published figures")),
        (b"wtpt", numbers(*b"XYZ ", &D50)),
        (b"chad", numbers(*b"sf32", &BRADFORD)),
        (b"rXYZ", numbers(*b"XYZ ", &COLOURANTS[0])),
        (b"gXYZ", numbers(*b"XYZ ", &COLOURANTS[1])),
        (b"bXYZ", numbers(*b"XYZ ", &COLOURANTS[2])),
        (b"rTRC", curve.clone()),
        (b"gTRC", curve.clone()),
        (b"bTRC", curve),
    ];
    let count = u32::try_from(tags.len()).expect("BUG: ten tags");
    let mut offset = 128 + 4 + 12 * count;
    let mut table = count.to_be_bytes().to_vec();
    let mut data = Vec::new();
    for (name, bytes) in tags {
        let size = u32::try_from(bytes.len()).expect("BUG: a tag of a few dozen bytes");
        table.extend_from_slice(name);
        table.extend(offset.to_be_bytes());
        table.extend(size.to_be_bytes());
        data.extend(bytes);
        offset += size;
    }
    let mut out = header(offset);
    out.extend(table);
    out.extend(data);
    out
}

fn header(size: u32) -> Vec<u8> {
    let mut out = vec![0; 128];
    let mut put = |at: usize, bytes: &[u8]| out[at..at + bytes.len()].copy_from_slice(bytes);
    put(0, &size.to_be_bytes());
    put(8, &[0x04, 0x20, 0, 0]);
    put(12, b"mntrRGB XYZ ");
    // The day of the format's edition: a profile needs a date, and a fixed one.
    for (at, number) in [(24, 2004_u16), (26, 10), (28, 1)] {
        put(at, &number.to_be_bytes());
    }
    put(36, b"acsp");
    for (at, number) in [(68, D50[0]), (72, D50[1]), (76, D50[2])] {
        put(at, &number.to_be_bytes());
    }
    out
}

fn numbers(kind: [u8; 4], values: &[i32]) -> Vec<u8> {
    let mut out = kind.to_vec();
    out.extend([0; 4]);
    out.extend(values.iter().flat_map(|value| value.to_be_bytes()));
    out
}

fn parametric(values: &[i32; 5]) -> Vec<u8> {
    let mut out = b"para\0\0\0\0\0\x03\0\0".to_vec();
    out.extend(values.iter().flat_map(|value| value.to_be_bytes()));
    out
}

fn text(words: &str) -> Vec<u8> {
    let units: Vec<u8> = words.encode_utf16().flat_map(u16::to_be_bytes).collect();
    let mut out = b"mluc\0\0\0\0\0\0\0\x01\0\0\0\x0cenGB".to_vec();
    out.extend(u32::try_from(units.len()).expect("BUG: a short text").to_be_bytes());
    out.extend(28_u32.to_be_bytes());
    out.extend(units);
    // Tags begin on four-byte boundaries (7.3).
    out.resize(out.len().next_multiple_of(4), 0);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_follow_from_the_standard_primaries() {
        // IEC 61966-2-1 gives linear sRGB to XYZ (D65); the Bradford matrix takes it to D50.
        let srgb = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];
        let unit = |value: i32| f64::from(value) / 65536.0;
        for row in 0..3 {
            for (colour, colourant) in COLOURANTS.iter().enumerate() {
                let adapted: f64 = (0..3).map(|k| unit(BRADFORD[3 * row + k]) * srgb[k][colour]).sum();
                assert!(
                    (adapted - unit(colourant[row])).abs() < 1e-4,
                    "row {row}, colour {colour}: {adapted}"
                );
            }
        }
    }

    #[test]
    fn full_red_green_and_blue_make_the_white_of_the_connection_space() {
        for row in 0..3 {
            let sum: i32 = COLOURANTS.iter().map(|colourant| colourant[row]).sum();
            assert!((sum - D50[row]).abs() <= 2, "row {row}: {sum}");
        }
    }

    #[test]
    fn every_tag_lies_within_the_profile_and_on_a_boundary() {
        let bytes = profile();
        let word = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
        assert_eq!(word(0), bytes.len());
        assert_eq!(&bytes[36..40], b"acsp");
        for tag in 0..word(128) {
            let (offset, size) = (word(132 + 12 * tag + 4), word(132 + 12 * tag + 8));
            assert_eq!(offset % 4, 0);
            assert!(offset + size <= bytes.len());
        }
    }
}
