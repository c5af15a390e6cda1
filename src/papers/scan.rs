//! A parcel's ref as a QR code.
//!
//! Handed a ref; gives the drawing of its code as SVG with nothing but black squares, which stays sharp at any size.
//! Turned down: a linear barcode, which takes three times the width of a row and which telephones read less well; and
//! a picture of pixels, which printers smear.

use std::fmt::Write as _;

use qrcode::types::Color;
use qrcode::{EcLevel, QrCode};
use serde::Serialize;

/// Modules of white that must stand round a code (ISO/IEC 18004:2015, section 6.3.8).
const QUIET: usize = 4;

/// A code to scan, and what it says in words.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct ScanCode {
    /// The drawing.
    pub svg: String,
    /// `QR code of 1125-01`, for those who can't see it.
    pub alt: String,
}

/// The code of `text`; nothing where no code holds it.
pub(super) fn code(text: &str) -> Option<ScanCode> {
    // A quarter of it may be smeared or under a thumb (level Q).
    let code = QrCode::with_error_correction_level(text, EcLevel::Q).ok()?;
    let width = code.width();
    let size = width + 2 * QUIET;
    let mut path = String::new();
    for (y, row) in code.to_colors().chunks(width).enumerate() {
        let mut x = 0;
        for run in row.chunk_by(|a, b| a == b) {
            if run.first() == Some(&Color::Dark) {
                // Writing to a string can't fail.
                let _ = write!(path, "M{} {}h{}v1h-{}z", x + QUIET, y + QUIET, run.len(), run.len());
            }
            x += run.len();
        }
    }
    let svg =
        format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {size} {size}\"><path d=\"{path}\"/></svg>");
    Some(ScanCode { svg, alt: format!("QR code of {text}") })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ref_makes_the_smallest_code_with_its_quiet_zone() {
        let code = code("1125-01").unwrap();
        // Version 1: 21 modules, and 4 on either side. That it reads as it should is zbar's to say: tests/peers.
        assert!(code.svg.contains("viewBox=\"0 0 29 29\""), "{}", code.svg);
        assert!(code.svg.contains("d=\"M4 4h7v1h-7z"), "{}", code.svg);
        assert_eq!(code.alt, "QR code of 1125-01");
    }
}
