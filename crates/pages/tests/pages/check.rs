//! What must hold for every page, looked at as text: the pages come from templates that
//! close what they open, so no parser is needed to see these.

/// The elements of a page: name and attributes, in order.
fn tags(page: &str) -> Vec<(String, Vec<(String, String)>)> {
    let mut tags = Vec::new();
    let mut rest = page;
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        if rest.starts_with('/') || rest.starts_with('!') {
            continue;
        }
        let end = rest.find([' ', '>']).unwrap();
        let name = rest[..end].to_owned();
        rest = &rest[end..];
        let mut attributes = Vec::new();
        while !rest.starts_with('>') {
            rest = rest.trim_start();
            let end = rest.find(['=', ' ', '>']).unwrap();
            let key = rest[..end].to_owned();
            rest = &rest[end..];
            let mut value = String::new();
            if let Some(quoted) = rest.strip_prefix("=\"") {
                let end = quoted.find('"').unwrap();
                quoted[..end].clone_into(&mut value);
                rest = &quoted[end + 1..];
            }
            attributes.push((key, value));
        }
        tags.push((name, attributes));
    }
    tags
}

fn get<'a>(attributes: &'a [(String, String)], key: &str) -> Option<&'a str> {
    attributes.iter().find(|(have, _)| have == key).map(|(_, value)| value.as_str())
}

/// Everything that is wrong with a page.
pub fn wrong(page: &str) -> Vec<String> {
    let tags = tags(page);
    let mut wrong = Vec::new();
    let count = |name: &str| tags.iter().filter(|(have, _)| have == name).count();
    for once in ["html", "head", "main", "h1", "footer"] {
        if count(once) != 1 {
            wrong.push(format!("{} <{once}>", count(once)));
        }
    }
    // A drawing's parts have titles of their own.
    if page.split("<body").next().is_none_or(|head| head.matches("<title>").count() != 1) {
        wrong.push("not one title".to_owned());
    }
    if !page.contains("<html lang=\"en\">") || !page.contains("class=\"skip\"") {
        wrong.push("no language or no skip link".to_owned());
    }
    if !page.contains("Planning and record-keeping aid; local rules and the maker's manual prevail.") {
        wrong.push("no footer words".to_owned());
    }
    let labelled: Vec<&str> =
        tags.iter().filter(|(name, _)| name == "label").filter_map(|(_, tag)| get(tag, "for")).collect();
    let ids: Vec<&str> = tags.iter().filter_map(|(_, tag)| get(tag, "id")).collect();
    for (at, id) in ids.iter().enumerate() {
        if ids[..at].contains(id) {
            wrong.push(format!("id {id} twice"));
        }
    }
    let mut in_post = false;
    let mut token_seen = true;
    for (name, tag) in &tags {
        for (key, value) in tag {
            if key == "style" || key.starts_with("on") {
                wrong.push(format!("<{name} {key}>"));
            }
            if (key == "href" || key == "src" || key == "action")
                && !value.starts_with('/')
                && !value.starts_with('#')
                && !(name == "link" && value == "data:,")
            {
                wrong.push(format!("<{name} {key}={value}>"));
            }
            if matches!(key.as_str(), "aria-describedby" | "aria-labelledby" | "for" | "list") {
                for id in value.split(' ').filter(|id| !ids.contains(id)) {
                    wrong.push(format!("<{name} {key}> points at {id}, which isn't there"));
                }
            }
        }
        match name.as_str() {
            "form" => {
                if !token_seen {
                    wrong.push("a POST form without its token".to_owned());
                }
                in_post = get(tag, "method") == Some("post");
                token_seen = !in_post;
            }
            "input" if in_post && get(tag, "name") == Some("token") => token_seen = true,
            "script" if get(tag, "src").is_none() => wrong.push("a script in the page".to_owned()),
            "style" => wrong.push("a style in the page".to_owned()),
            "th" if !matches!(get(tag, "scope"), Some("col" | "row")) => {
                wrong.push("a heading cell without scope".to_owned());
            }
            "svg" if get(tag, "aria-hidden").is_none() && get(tag, "aria-label").is_none() => {
                wrong.push("a drawing without words".to_owned());
            }
            _ => {}
        }
        let needs_label = matches!(name.as_str(), "select" | "textarea")
            || name == "input" && get(tag, "type") != Some("hidden");
        if needs_label && !get(tag, "id").is_some_and(|id| labelled.contains(&id)) {
            wrong.push(format!("<{name} {:?}> without a label", get(tag, "name")));
        }
        if name == "input" && get(tag, "type") == Some("password") && get(tag, "value").is_some() {
            wrong.push("a secret filled in".to_owned());
        }
    }
    if !token_seen {
        wrong.push("a POST form without its token".to_owned());
    }
    if page.matches("class=\"main-action\"").count() > 1 {
        wrong.push("more than one main action".to_owned());
    }
    if count("table") != count("caption") {
        wrong.push("a table without a caption".to_owned());
    }
    wrong
}

/// Block elements that a paragraph may not hold: a browser would close the paragraph.
pub fn blocks_in_paragraphs(page: &str) -> Vec<String> {
    let mut found = Vec::new();
    for piece in page.split("<p").skip(1).filter(|piece| piece.starts_with(['>', ' '])) {
        let inside = piece.split("</p>").next().unwrap();
        for block in ["<details", "<ul", "<ol", "<table", "<div", "<p>", "<form", "<section", "<h2"] {
            if inside.contains(block) {
                found.push(format!("{block} in <p{}", &inside.chars().take(120).collect::<String>()));
            }
        }
    }
    found
}
