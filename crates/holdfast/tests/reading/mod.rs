//! Reading pages in tests of the web door.

/// What a person reads: the text without tags, entities undone.
pub fn words(page: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for c in page.chars() {
        match c {
            '<' => inside = true,
            '>' => inside = false,
            c if !inside => out.push(c),
            _ => {}
        }
    }
    out.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
}
