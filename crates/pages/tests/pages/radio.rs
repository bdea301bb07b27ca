//! The page of the link sheet, drawn from what the engine says about invented gear.

use link::adviser::{Advice, advise};
use link::css::{Chip, Css};
use link::law::{Access, Limits};
use link::mode::{Mode, Modulation};
use link::sheet::{Sheet, sheet};
use link::wish::{Asked, GROUPS, Gear, GearMode, WISHES, build};
use pages::form::Typed;
use pages::radio::{CHOOSE, FORM, SheetPage};
use units::{Hertz, Khz, Mhz, Milliwatts, Seconds};

use crate::{check, site};

fn mode(name: &str, sf: u8, rate_hz: f64) -> GearMode {
    GearMode {
        mode: Mode {
            name: name.to_owned(),
            modulation: Modulation::Css(Css::neutral(Chip::Ghz2g4, sf, Khz(812.5), 5)),
            packet_rate: Hertz(rate_hz),
            payload_bytes: 12,
            telemetry_one_in: None,
        },
        shares: vec![4, 16],
        hop_every: Some(4),
    }
}

fn gear() -> Gear {
    Gear {
        family: "Whimbrel".to_owned(),
        band: "2.4 GHz".to_owned(),
        low: Mhz(2400.0),
        high: Mhz(2483.5),
        channels: Some(36),
        spacing: Some(Khz(2200.0)),
        access: Access::None,
        noise_figure: None,
        modes: vec![mode("Rapid", 5, 300.0), mode("Brook", 6, 180.0), mode("Mere", 8, 60.0)],
        power_steps: vec![Milliwatts(8.0), Milliwatts(90.0)],
        telemetry_power: Some(Milliwatts(20.0)),
        failsafe_after: Some(Seconds(0.6)),
    }
}

fn typed(values: &[(&str, &str)]) -> Typed {
    Typed {
        form: FORM.to_owned(),
        values: values.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned())).collect(),
        errors: Vec::new(),
    }
}

/// A question and its answers.
struct Answered {
    gear: Gear,
    typed: Typed,
    kept: Vec<(String, String)>,
    suggested: Vec<(String, String, String)>,
    regions: Vec<String>,
    found: Option<(Asked, Sheet, Advice)>,
}

impl Answered {
    fn to(gear: Gear, values: &[(&str, &str)]) -> Answered {
        let limits = Limits::shipped();
        let mut typed = typed(values);
        let found = match build(&gear, &typed.values, &limits) {
            Ok(asked) => {
                let sheet = sheet(&asked.setup, &asked.setting, &asked.others, &limits).unwrap();
                let advice = advise(&asked.setup, asked.all.as_ref().unwrap(), &limits).unwrap();
                Some((asked, sheet, advice))
            }
            Err(wrong) => {
                typed.errors = wrong
                    .iter()
                    .map(|one| (one.key().unwrap_or_default().to_owned(), one.to_string()))
                    .collect();
                None
            }
        };
        Answered {
            gear,
            typed,
            kept: Vec::new(),
            suggested: Vec::new(),
            regions: vec!["EU".to_owned(), "US".to_owned()],
            found,
        }
    }

    fn with<T>(&self, say: impl FnOnce(&SheetPage) -> T) -> T {
        let regions: Vec<&str> = self.regions.iter().map(String::as_str).collect();
        let found = self.found.as_ref();
        say(&SheetPage {
            title: "T1 to Hay Wagon".to_owned(),
            action: "/sheet/1/2".to_owned(),
            kept: &self.kept,
            gear: &self.gear,
            sheet: found.map(|(_, sheet, _)| sheet),
            advice: found.map(|(_, _, advice)| Ok(advice)),
            settings: found.map_or(&[], |(asked, _, _)| asked.all.as_deref().unwrap()),
            setup: found.map(|(asked, _, _)| &asked.setup),
            setting: found.map(|(asked, _, _)| &asked.setting),
            suggested: &self.suggested,
            others: &[],
            back: Some(("/link/1/2".to_owned(), "The link of T1 with Hay Wagon".to_owned())),
            typed: &self.typed,
            regions: &regions,
        })
    }

    fn page(&self) -> String {
        self.with(|page| pages::radio::page(&site("/sheet"), page)).into_string()
    }
}

fn good() -> Answered {
    let mut answered = Answered::to(gear(), &[("region", "EU"), ("mode", "Brook"), ("power_mw", "8")]);
    answered.suggested =
        vec![("rx_antennas".to_owned(), "two-crossed".to_owned(), "R2: antenna “two, crossed”".to_owned())];
    answered
}

fn over_the_limit() -> Answered {
    Answered::to(
        gear(),
        &[
            ("region", "EU"),
            ("distance_m", "6000"),
            ("power_mw", "500"),
            ("latency_ms", "30"),
            ("wifi", "1,6,11"),
            ("sensors", "variometer:4:0.02; position:15:0.3; logger:200:0.5"),
            ("trees_m", "8"),
        ],
    )
}

fn without_telemetry() -> Answered {
    Answered::to(gear(), &[("telemetry_one_in", "0")])
}

fn wrong() -> Answered {
    let values = [("distance_m", "far <b>out</b>"), ("k", "99"), ("sensors", "battery"), ("mode", "Bourne")];
    Answered::to(gear(), &values)
}

fn choose() -> String {
    let pairs = |all: &[(&str, &str)]| -> Vec<(String, String)> {
        all.iter().map(|(id, label)| ((*id).to_owned(), (*label).to_owned())).collect()
    };
    let families = vec![("Whimbrel".to_owned(), vec!["2.4 GHz".to_owned(), "900 MHz".to_owned()])];
    pages::radio::choose(
        &site("/sheet"),
        &pairs(&[("1", "T1"), ("2", "T2")]),
        &pairs(&[("7", "Hay Wagon"), ("8", "R3")]),
        &families,
        &Typed::none(),
    )
    .into_string()
}

fn all() -> Vec<(&'static str, String)> {
    vec![
        ("radio-good", good().page()),
        ("radio-over", over_the_limit().page()),
        ("radio-no-telemetry", without_telemetry().page()),
        ("radio-wrong", wrong().page()),
        ("radio-choose", choose()),
    ]
}

/// The same with every figure as a zero: what the engine reckons is checked there, and a
/// better figure is no change of the page.
fn without_figures(page: &str) -> String {
    let mut out = String::new();
    let mut chars = page.chars().peekable();
    while let Some(c) = chars.next() {
        if !c.is_ascii_digit() {
            out.push(c);
            continue;
        }
        out.push('0');
        while chars.next_if(|c| c.is_ascii_digit() || *c == '.').is_some() {}
    }
    out
}

#[test]
fn link_sheets_look_as_they_did() {
    for (name, page) in all() {
        insta::assert_snapshot!(name, without_figures(&page).replace("><", ">\n<"));
    }
}

#[test]
fn every_link_sheet_is_whole_and_can_be_used_without_sight_or_mouse() {
    let mut wrong = Vec::new();
    for (name, page) in all() {
        wrong.extend(check::wrong(&page).into_iter().map(|says| format!("{name}: {says}")));
        wrong.extend(check::blocks_in_paragraphs(&page).into_iter().map(|says| format!("{name}: {says}")));
        if page.contains("NaN") || page.contains("inf ") {
            wrong.push(format!("{name}: a figure that is none"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_input_has_its_field_in_its_group() {
    for page in [good().page(), wrong().page()] {
        let groups: Vec<&str> = page.split("<details class=\"group\"").skip(1).collect();
        assert_eq!(groups.len(), GROUPS.len());
        for (group, (heading, keys)) in groups.iter().zip(GROUPS) {
            assert!(group.contains(heading), "{heading}");
            for key in *keys {
                let name = format!(" name=\"{key}\"");
                assert_eq!(group.matches(&name).count(), 1, "{key} in {heading}");
                assert_eq!(page.matches(&name).count(), 1, "{key}");
            }
        }
    }
    assert_eq!(good().page().matches("name=\"").count(), WISHES.len() + 2, "two meta elements besides");
}

#[test]
fn what_was_typed_wrongly_is_kept_and_explained_beside_its_field() {
    let answered = wrong();
    let page = answered.page();
    assert!(page.contains("value=\"far &lt;b&gt;out&lt;/b&gt;\""));
    assert!(!page.contains("<b>"));
    for (key, says) in &answered.typed.errors {
        let id = format!("f-sheet-{}", key.replace('_', "-"));
        let field =
            page.split("<div class=\"field\"").find(|field| field.contains(&format!("id=\"{id}\""))).unwrap();
        assert!(field.contains("aria-invalid=\"true\"") && field.contains(&format!("{id}-error")), "{field}");
        assert!(page.contains(&format!("href=\"#{id}\"")), "the list on top leads to {id}");
        assert!(!says.is_empty());
    }
    assert!(!page.contains("<svg class=\"chart\""), "there is nothing to draw");
}

#[test]
fn a_group_with_a_wrong_value_stands_open() {
    let page = Answered::to(gear(), &[("shadow_db", "900")]).page();
    let group =
        page.split("<details class=\"group\"").find(|group| group.contains("name=\"shadow_db\"")).unwrap();
    assert!(group.starts_with(" open"), "{}", &group[..40]);
    let fine = good().page();
    let group =
        fine.split("<details class=\"group\"").find(|group| group.contains("name=\"shadow_db\"")).unwrap();
    assert!(!group.starts_with(" open"));
}

#[test]
fn a_suggestion_says_where_it_comes_from() {
    let page = good().page();
    let field =
        page.split("<div class=\"field\"").find(|field| field.contains("name=\"rx_antennas\"")).unwrap();
    let first = field.split("<option").nth(1).unwrap();
    assert!(
        first.starts_with(" value=\"\" selected") && first.contains("as recorded: two crossed"),
        "{first}"
    );
    assert!(field.contains("from R2: antenna “two, crossed”"), "{field}");
}

#[test]
fn every_choice_of_the_advice_opens_the_sheet_with_its_setting() {
    let answered = good();
    let page = answered.page();
    let (asked, _, advice) = answered.found.as_ref().unwrap();
    let mut links: Vec<&str> =
        page.split("href=\"/sheet/1/2?").skip(1).map(|rest| rest.split('"').next().unwrap()).collect();
    let others = advice
        .choices
        .iter()
        .map(|choice| &asked.all.as_ref().unwrap()[choice.judged.index])
        .filter(|one| **one != asked.setting);
    for setting in others {
        let query = links.remove(0);
        let typed: Vec<(String, String)> = query
            .split("&amp;")
            .map(|part| part.split_once('=').unwrap())
            .map(|(key, text)| (key.to_owned(), text.to_owned()))
            .collect();
        assert!(
            typed.contains(&("region".to_owned(), "EU".to_owned())),
            "what else was typed stays: {query}"
        );
        let opened = build(&answered.gear, &typed, &Limits::shipped()).unwrap().setting;
        assert_eq!(opened.mode, setting.mode);
        assert!((opened.power.0 - setting.power.0).abs() < 1e-3, "{query}");
    }
    assert!(links.is_empty());
}

#[test]
fn the_answer_comes_first_with_its_probability_and_interval() {
    let answered = good();
    let (_, sheet, _) = answered.found.as_ref().unwrap();
    let page = answered.page();
    let (first, rest) = page.split("<p class=\"answer\">").nth(1).unwrap().split_once("</p>").unwrap();
    assert!(first.contains("500 m out") && first.contains("of 100 spells"), "{first}");
    assert!(first.contains(" (") && first.contains(" to "), "no distance without its interval: {first}");
    assert!(
        rest.find("<svg class=\"chart\"").unwrap() < rest.find("<table").unwrap(),
        "the drawing, then the table"
    );
    for stair in &sheet.control.stairs {
        let level = stair.level.to_string().replace('-', "\u{2212}");
        assert!(rest.contains(&level), "{}: {level}", stair.says);
        assert!(stair.formula.is_empty() || rest.contains(&format!("href=\"/formula/{}", stair.formula)));
    }
    assert!(
        answered
            .with(pages::radio::answer)
            .into_string()
            .starts_with("<div class=\"sheet-answer\" id=\"sheet-answer\">")
    );
}

#[test]
fn limits_are_a_planning_aid_and_nothing_is_called_safe_or_legal() {
    for (name, page) in all() {
        let words = page.to_lowercase();
        for word in ["unsafe", " safe", "illegal", " legal", "allowed to fly"] {
            assert!(!words.contains(word), "{name}: {word}");
        }
    }
    let over = over_the_limit().page();
    assert!(over.contains("over the planning limit") && over.contains(link::law::NOTICE));
    assert!(over.contains("Power: over by"), "the demand that decides, and by how much");
    assert!(over.contains("ETSI EN 300 328"), "its clause");
    for caution in
        ["Never transmit without the antenna", "full power is restored", "Keep the aircraft in sight"]
    {
        assert!(over.contains(caution), "{caution}");
    }
}

#[test]
fn what_is_missing_is_said() {
    let page = without_telemetry().page();
    assert!(page.contains("Telemetry isn't reckoned"));
    assert!(page.contains("No region was chosen"));
    assert!(page.contains("There are no telemetry slots"));
    assert!(!page.contains("stair dashes") && !page.contains("\"ring\""), "no line for telemetry");
    let unknown = Answered::to(Gear { failsafe_after: None, ..gear() }, &[]).page();
    assert!(unknown.contains("time-out isn't known"));
}

#[test]
fn names_from_elsewhere_stay_words() {
    let evil = "<script>alert(1)</script>";
    let mut gear = gear();
    gear.family = evil.to_owned();
    gear.band = evil.to_owned();
    for (at, mode) in gear.modes.iter_mut().enumerate() {
        mode.mode.name = format!("{evil}{at}");
    }
    let page = Answered::to(gear, &[("sensors", "<script>x</script>:4:3"), ("wifi", "")]).page();
    assert_eq!(page.matches("<script").count(), 1, "only the page's own");
    assert!(page.contains("&lt;script&gt;"));
    assert_eq!(check::wrong(&page), Vec::<String>::new());
}

#[test]
fn a_sheet_with_little_in_it_is_still_a_page() {
    let mut answered = good();
    let (_, sheet, advice) = answered.found.as_mut().unwrap();
    sheet.curve.clear();
    sheet.gains.clear();
    sheet.control.stairs.clear();
    sheet.latency.histogram.clear();
    sheet.assumptions.clear();
    sheet.telemetry_fit = None;
    sheet.control.reach.distance = None;
    sheet.control.reach.low = None;
    advice.choices.clear();
    let page = answered.page();
    assert_eq!(check::wrong(&page), Vec::<String>::new());
    assert!(page.contains("not even 10 m") && page.contains("0 are worth choosing"));
}

#[test]
fn a_workshop_without_devices_is_told_what_is_next() {
    let typed = Typed { form: CHOOSE.to_owned(), ..Typed::none() };
    let page = pages::radio::choose(&site("/sheet"), &[], &[], &[], &typed).into_string();
    assert_eq!(check::wrong(&page), Vec::<String>::new());
    for way in ["/device/new?sort=transmitter", "/device/new?sort=receiver", "/import", "/family/new"] {
        assert!(page.contains(&format!("href=\"{way}\"")), "{way}");
    }
    let page = choose();
    assert!(page.contains("href=\"/sheet?family=Whimbrel&amp;band=900%20MHz\""), "{page}");
}
