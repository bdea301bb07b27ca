//! The family files that come with the program.

/// Neutral starters to copy and complete from one's own manual: file name and text. They
/// carry only physics from public chip data sheets.
pub fn starters() -> &'static [(&'static str, &'static str)] {
    &[
        ("starter-css-2g4.toml", include_str!("../../families/starter-css-2g4.toml")),
        ("starter-css-sub-ghz.toml", include_str!("../../families/starter-css-sub-ghz.toml")),
        ("starter-fsk-2g4.toml", include_str!("../../families/starter-fsk-2g4.toml")),
    ]
}

/// The invented families of the demo workshop: file name and text.
pub fn demo_families() -> &'static [(&'static str, &'static str)] {
    &[
        ("whimbrel.toml", include_str!("../../families/whimbrel.toml")),
        ("plover.toml", include_str!("../../families/plover.toml")),
    ]
}
