//! How a list names a device or one end of it: `T1`, `T1 (internal)`, `T1; T2`.

use std::borrow::Cow;
use std::fmt::Write as _;

use register::id::DeviceId;

/// A device, or an end of one, by the name that a list gives it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// Its id, code or name.
    pub device: String,
    /// The end's key; where there is none, the device's only end is meant.
    pub end: Option<String>,
}

/// Characters that have a meaning in lists of names.
const MARKS: &[char] = &[';', '+', ',', '(', ')', '%', '"'];

impl Named {
    /// Reads `T1` or `T1 (internal)`; `%XX` within the brackets is a byte in hexadecimal.
    ///
    /// ```
    /// use intake::reference::Named;
    /// let named = Named::read("T1 (internal)");
    /// assert_eq!((named.device.as_str(), named.end.as_deref()), ("T1", Some("internal")));
    /// ```
    pub fn read(text: &str) -> Named {
        let text = text.trim();
        let split = text.strip_suffix(')').and_then(|inner| {
            let at = inner.rfind(" (")?;
            Some((inner[..at].trim_end(), &inner[at + 2..]))
        });
        match split {
            Some((device, end)) if !device.is_empty() && !end.is_empty() => {
                Named { device: device.to_owned(), end: Some(decoded(end)) }
            }
            _ => Named { device: text.to_owned(), end: None },
        }
    }

    /// Reads several, separated by `;`, `+` or `,`.
    pub fn read_list(text: &str) -> Vec<Named> {
        text.split([';', '+', ',']).filter(|one| !one.trim().is_empty()).map(Named::read).collect()
    }

    /// What [`Named::read`] reads.
    pub fn written(&self) -> String {
        match &self.end {
            Some(end) => format!("{} ({})", self.device, encoded(end)),
            None => self.device.clone(),
        }
    }
}

fn decoded(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut i = 0;
    while i < bytes.len() {
        let hex = (bytes[i] == b'%').then(|| text.get(i + 1..i + 3)).flatten();
        if let Some(byte) = hex.and_then(|hex| u8::from_str_radix(hex, 16).ok()) {
            out.push(byte);
            i += 3;
        } else {
            out.push(bytes[i]);
            i += 1;
        }
    }
    String::from_utf8(out).unwrap_or_else(|_| text.to_owned())
}

fn encoded(text: &str) -> Cow<'_, str> {
    let is_plain = |c: char| !MARKS.contains(&c) && !c.is_control() && !c.is_whitespace();
    if text.chars().all(is_plain) {
        return Cow::Borrowed(text);
    }
    let mut out = String::new();
    for c in text.chars() {
        if is_plain(c) || c == ' ' && text.trim() == text {
            out.push(c);
        } else {
            for byte in c.encode_utf8(&mut [0; 4]).bytes() {
                // Writing to a string can't fail.
                let _ = write!(out, "%{byte:02x}");
            }
        }
    }
    Cow::Owned(out)
}

/// The longest code or name by which a list names a device elsewhere, bytes.
const LONGEST_LABEL_BYTES: usize = 400;

/// Whether a list can name a device by this code or name without being misread.
pub fn can_name(label: &str) -> bool {
    let lower = label.to_lowercase();
    !label.is_empty()
        && label.len() <= LONGEST_LABEL_BYTES
        && label.trim() == label
        && !label.contains(MARKS)
        && !label.chars().any(char::is_control)
        && !matches!(lower.as_str(), "none" | "-" | "?" | "blank" | "set")
        && !["only ", "same as ", "print:"].iter().any(|start| lower.starts_with(start))
        && label.parse::<DeviceId>().is_err()
}

#[cfg(test)]
mod tests {
    use super::{Named, can_name};

    #[test]
    fn awkward_end_keys_come_back() {
        for end in ["internal", "2.4 GHz", " x", "a (b)", "50%", "a;b", "%28", "Süd", "a\nb"] {
            let named = Named { device: "T1".to_owned(), end: Some(end.to_owned()) };
            assert_eq!(Named::read(&named.written()), named, "{end:?}");
        }
    }

    #[test]
    fn names_that_would_be_misread_are_known() {
        for label in ["", "none", "Only me", " x", "a;b", "R7 (b)", "00000000-0000-0000-0000-000000000001"] {
            assert!(!can_name(label), "{label:?}");
        }
        assert!(can_name("R7 Glider <script>"));
    }
}
