//! From a file's bytes to text.

/// How a list's bytes were read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, with or without a byte order mark.
    Utf8,
    /// UTF-16, by its byte order mark.
    Utf16,
    /// Windows-1252, because the bytes are not UTF-8.
    Windows1252,
}

impl Encoding {
    /// What to tell the person, where there is something to tell.
    pub fn note(self) -> Option<&'static str> {
        match self {
            Encoding::Utf8 => None,
            Encoding::Utf16 => Some("The list was read as UTF-16."),
            Encoding::Windows1252 => Some(
                "The list is not UTF-8 and was read as Windows-1252; look at letters with accents, and save it as \
                 UTF-8 if they are wrong.",
            ),
        }
    }
}

/// The characters of the bytes 0x80 to 0x9f.
/// Source: WHATWG Encoding Standard, index windows-1252 (the five bytes that Microsoft
/// leaves undefined are control characters).
const WINDOWS_1252: [char; 32] = [
    '\u{20ac}', '\u{81}', '\u{201a}', '\u{192}', '\u{201e}', '\u{2026}', '\u{2020}', '\u{2021}', '\u{2c6}',
    '\u{2030}', '\u{160}', '\u{2039}', '\u{152}', '\u{8d}', '\u{17d}', '\u{8f}', '\u{90}', '\u{2018}',
    '\u{2019}', '\u{201c}', '\u{201d}', '\u{2022}', '\u{2013}', '\u{2014}', '\u{2dc}', '\u{2122}', '\u{161}',
    '\u{203a}', '\u{153}', '\u{9d}', '\u{17e}', '\u{178}',
];

/// The text of a list, without a byte order mark.
pub fn decode(bytes: Vec<u8>) -> (String, Encoding) {
    let utf16 = |bytes: &[u8], unit: fn([u8; 2]) -> u16| {
        let units = bytes.chunks(2).map(|pair| unit([pair[0], pair.get(1).copied().unwrap_or(0)]));
        char::decode_utf16(units).map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER)).collect::<String>()
    };
    match bytes.as_slice() {
        [0xff, 0xfe, rest @ ..] => return (utf16(rest, u16::from_le_bytes), Encoding::Utf16),
        [0xfe, 0xff, rest @ ..] => return (utf16(rest, u16::from_be_bytes), Encoding::Utf16),
        _ => {}
    }
    match String::from_utf8(bytes) {
        Ok(mut text) => {
            if text.starts_with('\u{feff}') {
                text.drain(..'\u{feff}'.len_utf8());
            }
            (text, Encoding::Utf8)
        }
        Err(error) => {
            let text = error
                .as_bytes()
                .iter()
                .map(|byte| match byte {
                    0x80..=0x9f => WINDOWS_1252[usize::from(byte - 0x80)],
                    byte => char::from(*byte),
                })
                .collect();
            (text, Encoding::Windows1252)
        }
    }
}
