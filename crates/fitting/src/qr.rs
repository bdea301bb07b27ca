//! QR codes (ISO/IEC 18004), error correction M or better.

use qrcodegen::{QrCode, QrCodeEcc, QrSegment};

/// Modules of light space that a reader wants on every side of a symbol (ISO/IEC 18004, 'quiet
/// zone').
pub const QUIET: usize = 4;

/// The bytes that the largest symbol holds at error correction M (ISO/IEC 18004, version 40-M,
/// byte mode).
pub const MOST_BYTES: usize = 2331;

/// The assignment number that says 'UTF-8' (ECI 26).
const UTF_8: u32 = 26;

/// A QR symbol: a square of modules.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Symbol {
    /// Modules along one side, without the quiet zone.
    pub side: usize,
    dark: Vec<bool>,
}

/// A text that no symbol holds.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "the text for the QR code has {bytes} bytes and a QR code of error correction M holds at most \
     {MOST_BYTES} (ISO/IEC 18004): shorten the text"
)]
pub struct TooLong {
    /// Bytes of the text, as UTF-8.
    pub bytes: usize,
}

impl Symbol {
    /// The smallest symbol that holds the text at error correction M; where that symbol has room
    /// to spare, it corrects more. Text outside ASCII is marked as UTF-8, since a reader takes
    /// unmarked bytes for ISO/IEC 8859-1.
    ///
    /// # Errors
    /// [`TooLong`] when no symbol holds the text.
    pub fn of(text: &str) -> Result<Symbol, TooLong> {
        let mut segments = QrSegment::make_segments(text);
        if !text.is_ascii() {
            segments.insert(0, QrSegment::make_eci(UTF_8));
        }
        let code = QrCode::encode_segments(&segments, QrCodeEcc::Medium)
            .map_err(|_| TooLong { bytes: text.len() })?;
        let along = 0..code.size();
        let dark = along.clone().flat_map(|y| along.clone().map(move |x| (x, y)));
        let dark = dark.map(|(x, y)| code.get_module(x, y)).collect();
        Ok(Symbol { side: along.count(), dark })
    }

    /// Whether a module is dark; those outside are light.
    pub fn is_dark(&self, x: usize, y: usize) -> bool {
        x < self.side && y < self.side && self.dark[y * self.side + x]
    }

    /// Modules along one side with the quiet zone on both ends.
    pub fn with_quiet(&self) -> usize {
        self.side + 2 * QUIET
    }
}
