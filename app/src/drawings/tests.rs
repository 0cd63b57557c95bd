//! Drawings made here, byte by byte, and what is made of them; hostile ones end in a sentence.

use super::*;

/// A PDF of these objects (numbered from 1, the first is the catalogue), with a sound cross-reference table.
fn pdf(objects: &[String]) -> Vec<u8> {
    let mut bytes = b"%PDF-1.7\n".to_vec();
    let mut places = Vec::new();
    for (number, object) in (1..).zip(objects) {
        places.push(bytes.len());
        bytes.extend(format!("{number} 0 obj\n{object}\nendobj\n").into_bytes());
    }
    let start = bytes.len();
    let mut table = format!("xref\n0 {}\n0000000000 65535 f \n", objects.len() + 1);
    for place in places {
        table.push_str(&format!("{place:010} 00000 n \n"));
    }
    table.push_str(&format!(
        "trailer\n<< /Size {} /Root 1 0 R >>\nstartxref\n{start}\n%%EOF\n",
        objects.len() + 1
    ));
    bytes.extend(table.into_bytes());
    bytes
}

fn stream(content: &str) -> String {
    format!("<< /Length {} >>\nstream\n{content}\nendstream", content.len())
}

/// One page of that size with that content.
fn page_of(across: &str, down: &str, content: &str) -> Vec<u8> {
    pdf(&[
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        "<< /Type /Pages /Kids [3 0 R] /Count 1 >>".to_owned(),
        format!("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {across} {down}] /Contents 4 0 R >>"),
        stream(content),
    ])
}

fn drawn(bytes: &[u8], page: u32) -> Result<Page, String> {
    Draughtsman::Here.draw(bytes, page)
}

fn ink(page: &Page, x: f64, y: f64) -> u8 {
    let at = |share: f64, side: u32| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a pixel of a test")]
        let pixel = (share * f64::from(side)) as usize;
        pixel
    };
    page.ink[at(y, page.size[1]) * page.size[0] as usize + at(x, page.size[0])]
}

#[test]
fn ink_comes_to_lie_where_the_page_has_it_and_paper_stays_empty() {
    // A black square over the left half of the upper half of a page twice as wide as tall.
    let page = drawn(&page_of("400", "200", "0 0 0 rg 0 100 200 100 re f"), 1).unwrap();
    assert_eq!((page.size[0], page.size[1], page.pages), (1_600, 800, 1), "four pixels to the point");
    assert_eq!([ink(&page, 0.1, 0.1), ink(&page, 0.45, 0.45)], [255, 255]);
    assert_eq!([ink(&page, 0.6, 0.1), ink(&page, 0.1, 0.6), ink(&page, 0.9, 0.9)], [0, 0, 0]);
    assert!((page.tall() - 0.5).abs() < 1e-9);
    let picture = page.picture();
    assert_eq!((picture.size, picture.pixels[0].a(), picture.pixels[1_599].a()), ([1_600, 800], 255, 0));
}

#[test]
fn a_large_page_is_drawn_no_larger_than_a_picture_may_be() {
    // A0 is 2384 × 3370 points (ISO 216: 841 × 1189 mm).
    let page = drawn(&page_of("3370", "2384", "0 0 m 3370 2384 l S"), 1).unwrap();
    assert!(page.size[0] <= LONGEST_SIDE && page.size[0] > LONGEST_SIDE - 2, "{:?}", page.size);
}

#[test]
fn a_turned_page_is_seen_upright() {
    let turned = pdf(&[
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        "<< /Type /Pages /Kids [3 0 R] /Count 1 >>".to_owned(),
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 100 300] /Rotate 90 /Contents 4 0 R >>".to_owned(),
        stream("0 0 0 rg 0 0 100 100 re f"),
    ]);
    let page = drawn(&turned, 1).unwrap();
    assert_eq!([page.size[0], page.size[1]], [1_200, 400]);
    // What was at the foot is now on the left: the page is turned clockwise.
    assert_eq!([ink(&page, 0.1, 0.5), ink(&page, 0.9, 0.5)], [255, 0]);
}

#[test]
fn pages_are_counted_and_one_that_is_not_there_is_named() {
    let two = pdf(&[
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        "<< /Type /Pages /Kids [3 0 R 4 0 R] /Count 2 /MediaBox [0 0 200 200] >>".to_owned(),
        "<< /Type /Page /Parent 2 0 R >>".to_owned(),
        "<< /Type /Page /Parent 2 0 R >>".to_owned(),
    ]);
    assert_eq!(drawn(&two, 1).unwrap().pages, 2);
    assert_eq!(drawn(&two, 2).unwrap().pages, 2);
    for page in [0, 3, u32::MAX] {
        let said = drawn(&two, page).unwrap_err();
        assert!(said.contains(&format!("no page {page}")) && said.contains("1 to 2"), "{said}");
    }
}

#[test]
fn sides_and_proportions_are_bounded_before_anything_is_drawn() {
    for (across, down, sound) in [
        ("3", "3", true),
        ("2.9", "3", false),
        ("14400", "14400", true),
        ("14401", "14400", false),
        ("200", "10", true),
        ("200.5", "10", false),
        ("10", "200", true),
        ("10", "200.5", false),
    ] {
        let page = drawn(&page_of(across, down, ""), 1);
        assert_eq!(page.is_ok(), sound, "{across} × {down}: {page:?}");
    }
}

#[test]
fn what_is_cut_short_or_damaged_ends_in_a_sentence_or_a_picture_never_in_a_panic() {
    let whole = page_of("200", "200", "0 0 0 rg 10 10 50 50 re f BT /F1 12 Tf (x) Tj ET");
    for end in (0..whole.len()).step_by(7) {
        drop(drawn(&whole[..end], 1));
    }
    let mut seed = 1_u32;
    for _ in 0..300 {
        let mut broken = whole.clone();
        for _ in 0..4 {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let place = (seed >> 8) as usize % broken.len();
            broken[place] = seed.to_le_bytes()[0];
        }
        // The header stays, so that it is taken for a PDF.
        broken[..5].copy_from_slice(b"%PDF-");
        drop(drawn(&broken, 1));
    }
}

#[test]
fn a_page_that_calls_itself_for_ever_comes_to_an_end() {
    let form = "/Fm Do /Fm Do";
    let itself = pdf(&[
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        "<< /Type /Pages /Kids [3 0 R 2 0 R] /Count 2 >>".to_owned(),
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 200 200] /Contents 4 0 R /Resources << /XObject << /Fm 5 0 R >> >> >>"
            .to_owned(),
        stream("/Fm Do"),
        format!(
            "<< /Type /XObject /Subtype /Form /BBox [0 0 200 200] /Resources << /XObject << /Fm 6 0 R >> >> /Length {} >>\nstream\n{}\nendstream",
            "/Fm Do".len(),
            "/Fm Do"
        ),
        format!(
            "<< /Type /XObject /Subtype /Form /BBox [0 0 200 200] /Resources << >> /Length {} >>\nstream\n{form}\nendstream",
            form.len()
        ),
    ]);
    assert!(drawn(&itself, 1).is_ok());
    let deep = "[".repeat(200_000);
    drop(drawn(&page_of("200", "200", &deep), 1));
}

#[test]
fn photographs_and_scans_are_drawings_too_and_anything_else_is_not() {
    let grey = image::GrayImage::from_fn(60, 30, |x, _| image::Luma([if x < 20 { 0 } else { 255 }]));
    let mut jpeg = std::io::Cursor::new(Vec::new());
    grey.write_to(&mut jpeg, image::ImageFormat::Jpeg).unwrap();
    let page = drawn(jpeg.get_ref(), 1).unwrap();
    assert_eq!((page.size, page.pages), ([60, 30], 1));
    assert!(ink(&page, 0.1, 0.5) > 240 && ink(&page, 0.9, 0.5) < 15);
    assert!(drawn(jpeg.get_ref(), 2).unwrap_err().contains("one page"));
    for bytes in [&b""[..], b"no drawing", b"\x89PNG\r\n\x1a\nbroken", b"GIF89a", &[0xff, 0xd8, 0xff]] {
        assert!(drawn(bytes, 1).is_err());
    }
}

#[test]
fn what_a_child_hands_over_is_taken_only_whole() {
    let page = Page { size: [3, 2], ink: vec![0, 1, 2, 253, 254, 255], pages: 9 };
    let packed = pack(&page);
    assert_eq!(unpack(&packed), Some(page));
    for end in 0..packed.len() {
        assert_eq!(unpack(&packed[..end]), None, "cut at {end}");
    }
    let mut more = packed;
    more.push(0);
    assert_eq!(unpack(&more), None);
    for head in ["3001 1 1\n", "0 0 1\n", "-1 1 1\n", "1 1\n", "1 1 1 1\n", "x\n"] {
        assert_eq!(unpack(format!("{head}{}", "\0".repeat(3001)).as_bytes()), None, "{head}");
    }
}

#[test]
fn a_child_that_cannot_be_run_is_told_in_a_sentence() {
    let nobody = Draughtsman::Child("/no/such/program".into());
    assert!(nobody.draw(b"%PDF-1.7", 1).unwrap_err().contains("cannot be drawn"));
}
