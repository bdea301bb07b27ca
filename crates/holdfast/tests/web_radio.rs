//! The link sheet and the formulas through the web door, asked without a socket.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails, in its helpers too")]

mod site;

use axum::body::Body;
use axum::http::response::Parts;
use axum::http::{Request, StatusCode};
use site::{HOST, HOSTILE, Site, enc, error, words};

impl Site {
    fn sheet(&self, transmitter: &str, other: &str) -> String {
        format!("/sheet/{}/{}", self.id(transmitter), self.id(other))
    }

    async fn ask_as(&self, path: &str, host: &str, origin: Option<&str>) -> (Parts, String) {
        let mut request = Request::get(path).header("host", host);
        if let Some(origin) = origin {
            request = request.header("origin", origin);
        }
        self.fetch(request.body(Body::empty()).unwrap()).await
    }

    /// Where a request is sent on to.
    async fn goes_to(&self, path: &str) -> String {
        let (status, text, to) = self.look(path).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{path}: {text}");
        to
    }
}

/// The tag of the field of this name.
fn field<'a>(page: &'a str, name: &str) -> &'a str {
    let at = page.find(&format!("name=\"{name}\"")).unwrap_or_else(|| panic!("no field {name}"));
    let from = page[..at].rfind('<').unwrap();
    &page[from..at + page[at..].find('>').unwrap()]
}

/// What stands in the field of this name: a line's value, the lines of an area, the choice.
fn holds(page: &str, name: &str) -> String {
    let tag = field(page, name);
    let rest = &page[page.find(tag).unwrap() + tag.len()..];
    if tag.starts_with("<input") {
        words(tag.split("value=\"").nth(1).unwrap_or_default().split('"').next().unwrap())
    } else if tag.starts_with("<textarea") {
        words(rest.split("</textarea>").next().unwrap().trim_start_matches(['>', '\n']))
    } else {
        let options = rest.split("</select>").next().unwrap();
        let chosen = options
            .split("<option value=\"")
            .find(|option| option.split('>').next().unwrap().contains(" selected"));
        words(chosen.unwrap_or_default().split('"').next().unwrap())
    }
}

#[tokio::test]
async fn the_choice_leads_to_the_sheet_of_any_link() {
    let site = Site::demo();
    let (status, page, _) = site.look("/sheet").await;
    assert_eq!(status, StatusCode::OK);
    for words in ["Copper Kettle", "Hay Wagon", "Whimbrel", "Plover"] {
        assert!(page.contains(words), "{words}");
    }
    let (t, a) = (site.id("T1"), site.id("A2"));
    let wanted = format!("/sheet/{t}/{a}");
    assert_eq!(site.goes_to(&format!("/sheet?transmitter={t}&other={a}")).await, wanted);
    assert_eq!(site.goes_to("/sheet?transmitter=T1&other=Hay+Wagon").await, wanted, "names do as well");
    let wanted = "/sheet/family/Whimbrel/2.4%20GHz";
    assert_eq!(site.goes_to("/sheet?family=Whimbrel&band=2.4+GHz").await, wanted);
    // From a device's page one of the two is chosen already.
    let (status, page, _) = site.look(&format!("/sheet?transmitter={t}")).await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains(&format!("value=\"{t}\" selected")), "{page}");
    for path in
        ["/sheet?transmitter=&other=", "/sheet?transmitter=T1&other=", "/sheet?transmitter=nobody&other=A2"]
    {
        let (status, page, _) = site.look(path).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{path}");
        assert!(page.contains("class=\"error\"") && page.contains("<h1>"), "{path}");
    }
    let (_, page, _) = site.look("/sheet?transmitter=nobody&other=A2").await;
    assert!(page.contains("value=\"nobody\" selected") && page.contains(&format!("value=\"{a}\" selected")));
    // In an empty workshop there is still something to do.
    let (status, page, _) = Site::empty().look("/sheet").await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains("/device/new") && page.contains("/sheet?family="), "{page}");
}

#[tokio::test]
async fn a_sheet_answers_for_a_receiver_an_aircraft_and_a_family() {
    let site = Site::demo();
    for path in [
        site.sheet("T1", "A2"),
        site.sheet("T1", "R2"),
        "/sheet/family/Whimbrel/868%20MHz".to_owned(),
        "/sheet/family/Whimbrel?band=868+MHz&power_mw=25&region=EU".to_owned(),
        "/sheet/family/plover".to_owned(),
    ] {
        let (status, page, _) = site.look(&path).await;
        assert_eq!(status, StatusCode::OK, "{path}: {}", words(&page));
        assert!(page.contains("id=\"sheet-answer\"") && page.contains("<html"), "{path}");
        // A range never stands alone: margin and probability stand beside it.
        let says = words(&page);
        assert!(says.contains("margin") && says.contains("of 100"), "{path}: {says}");
        // The script gets only what changes.
        let and = if path.contains('?') { '&' } else { '?' };
        let (status, part, _) = site.look(&format!("{path}{and}part=answer")).await;
        assert_eq!(status, StatusCode::OK, "{path}");
        assert!(part.starts_with("<div") && !part.contains("<html") && !part.contains("<input"), "{part}");
        assert!(page.contains(part.split("</p>").next().unwrap()), "{part}");
    }
}

#[tokio::test]
async fn ten_times_the_power_is_ten_decibels_more_margin() {
    let site = Site::demo();
    let path = site.sheet("T1", "A2");
    let mut margins = Vec::new();
    for power in ["2", "20"] {
        let (_, part, _) = site.look(&format!("{path}?part=answer&distance_m=800&power_mw={power}")).await;
        let says = words(&part);
        let margin = says.split("margin ").nth(1).unwrap().split(" dB").next().unwrap();
        margins.push(margin.parse::<f64>().unwrap_or_else(|_| panic!("{margin}: {says}")));
    }
    // 10 log 10 = 10; each is shown to a tenth.
    assert!((margins[1] - margins[0] - 10.0).abs() < 0.11, "{margins:?}");
    // What was typed stands in the form again.
    let (_, page, _) = site.look(&format!("{path}?distance_m=812.5&power_mw=33")).await;
    assert!(field(&page, "distance_m").contains("value=\"812.5\""), "{}", field(&page, "distance_m"));
    assert!(field(&page, "power_mw").contains("value=\"33\""));
}

#[tokio::test]
async fn nonsense_in_a_sheet_is_marked_where_it_stands_and_kept() {
    let site = Site::demo();
    let path = site.sheet("T1", "A2");
    let wrong = [
        ("power_mw", "0", "0.001 to 10000 mW"),
        ("distance_m", "-5", "0.1 to 1000000 m"),
        ("tx_gain_dbi", "40", "-30 to 30 dBi"),
        ("speed_m_per_s", "fast", "not a number"),
        ("quality", "NaN", "not a number"),
        ("other_links", "1.5", "whole number"),
        ("sensors", "battery", "name:bytes:seconds"),
        ("wifi", "99", "1 to 13"),
        ("profile", "0,1\nnonsense", "profile"),
    ];
    for (key, typed, says) in wrong {
        for part in ["", "&part=answer"] {
            let (status, page, _) =
                site.look(&format!("{path}?span_m=2.25&{key}={}{part}", enc(typed))).await;
            assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{key}");
            assert!(words(&page).contains(says), "{key}: {}", words(&page));
            if part.is_empty() {
                assert!(error(&page, "sheet", key).contains(says), "{key}: {}", error(&page, "sheet", key));
                assert!(field(&page, key).contains("aria-invalid=\"true\""), "{key}");
                assert!(field(&page, "span_m").contains("value=\"2.25\""), "the rest is kept beside {key}");
                if !typed.contains('\n') {
                    assert!(field(&page, key).contains(&format!("value=\"{typed}\"")), "{key}");
                }
            }
        }
    }
    // Several at once, each at its place.
    let (status, page, _) = site.look(&format!("{path}?power_mw=0&distance_m=-5&tx_gain_dbi=40")).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.matches("aria-invalid=\"true\"").count(), 3, "{}", words(&page));
    // Choices that no list offers.
    for (key, typed, says) in [
        ("region", "Atlantis", "Atlantis"),
        ("mode", "Warp", "Warp"),
        ("ground", "cheese", "cheese"),
        ("telemetry_one_in", "1", "1"),
    ] {
        let (status, page, _) = site.look(&format!("{path}?{key}={typed}")).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{key}");
        assert!(error(&page, "sheet", key).contains(says), "{key}: {}", error(&page, "sheet", key));
    }
    // Keys that there aren't are said of the whole form, in one sentence however many they are.
    for path in [path, "/formula/free-space-loss".to_owned()] {
        let (status, page, _) = site.look(&format!("{path}?wings=2")).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(words(&page).contains("wings"), "{}", words(&page));
        let many: Vec<String> = (0..2000).map(|at| format!("wing{at}=2")).collect();
        let (status, page, _) = site.look(&format!("{path}?part=answer&{}", many.join("&"))).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(words(&page).contains("“wing4” and 1995 more") && page.len() < 2000, "{page}");
    }
}

#[tokio::test]
async fn a_minus_as_pages_write_it_is_read_as_one() {
    let site = Site::demo();
    let path = site.sheet("T1", "A2");
    let (status, typed, _) = site.look(&format!("{path}?part=answer&noise_floor_dbm=-95")).await;
    assert_eq!(status, StatusCode::OK, "{}", words(&typed));
    let (status, copied, _) = site.look(&format!("{path}?part=answer&noise_floor_dbm=%E2%88%9295")).await;
    assert_eq!(status, StatusCode::OK, "{}", words(&copied));
    assert_eq!(words(&typed), words(&copied));
    let (_, formula, _) =
        site.look("/formula/radiated-power?part=answer&conducted_dbm=%E2%88%923&gain_dbi=2").await;
    // -3 dBm into 2 dBi without a loss is -1 dBm EIRP.
    assert!(
        words(&formula).contains("-1 dBm") || words(&formula).contains("\u{2212}1 dBm"),
        "{}",
        words(&formula)
    );
}

#[tokio::test]
async fn the_ends_of_a_link_go_along_with_every_question() {
    let site = Site::demo();
    let path = site.sheet("T1", "A2");
    let (status, page, _) = site.look(&format!("{path}?receiver_end=nose")).await;
    assert_eq!(status, StatusCode::OK);
    assert!(words(&page).contains("have no ends like that"), "{}", words(&page));
    let (status, page, _) = site.look(&format!("{path}?receiver_end=main&distance_m=700")).await;
    assert_eq!(status, StatusCode::OK, "{}", words(&page));
    assert_eq!(holds(&page, "receiver_end"), "main");
    // The settings of the advice keep it, too.
    let start = format!("href=\"{path}?");
    let settings = page.split(&start).skip(1);
    let kept = settings.map(|rest| rest.split('"').next().unwrap().contains("receiver_end=main"));
    let kept: Vec<bool> = kept.collect();
    assert!(!kept.is_empty() && kept.iter().all(|kept| *kept), "{kept:?}");
}

#[tokio::test]
async fn hostile_words_are_shown_as_words() {
    let site = Site::demo();
    let sheet = site.sheet("T1", "A2");
    for hostile in HOSTILE {
        let typed = enc(hostile);
        for path in [
            format!("{sheet}?mode={typed}"),
            format!("{sheet}?distance_m={typed}"),
            format!("{sheet}?profile={typed}&sensors={typed}"),
            format!("{sheet}?{typed}=1"),
            format!("{sheet}?part=answer&region={typed}"),
            format!("/sheet?transmitter={typed}&other={typed}"),
            format!("/sheet/family/{typed}"),
            format!("/sheet/family/Whimbrel/{typed}"),
            format!("/sheet/{typed}/{typed}"),
            format!("/formula/{typed}"),
            format!("/formula/free-space-loss?distance_m={typed}&frequency_mhz={typed}"),
            format!("/formula/free-space-loss?{typed}=1&part=answer"),
        ] {
            let (status, page, _) = site.look(&path).await;
            assert_ne!(status, StatusCode::INTERNAL_SERVER_ERROR, "{path}");
            assert!(!page.contains("<script>") && !page.contains("<img"), "{path}");
        }
    }
}

#[tokio::test]
async fn what_is_missing_leads_to_where_it_is_written_down() {
    let site = Site::demo();
    // Nobody has the manual of the old set's family; one aircraft has no receiver; a boat is
    // no transmitter; a transmitter is no receiver.
    let links = [
        (site.sheet("T5", "A23"), "family"),
        (site.sheet("T1", "A24"), "/device/new?sort=receiver"),
        (site.sheet("A18", "A2"), "no transmitter"),
        (site.sheet("T1", "T2"), "neither a receiver nor an aircraft"),
        ("/sheet/family/Whimbrel".to_owned(), "/sheet/family/Whimbrel/868%20MHz"),
        ("/sheet/family/Whimbrel/5+GHz".to_owned(), "2.4 GHz"),
    ];
    for (path, holds) in links {
        let (status, page, _) = site.look(&path).await;
        assert_eq!(status, StatusCode::OK, "{path}: {}", words(&page));
        assert!(page.contains(holds), "{path}: {page}");
        // Every way on is a page that is there.
        let main = page.split("<main").nth(1).unwrap().split("</main>").next().unwrap();
        let mut ways = 0;
        for way in main.split("href=\"").skip(1) {
            let way = way.split(['"', '#']).next().unwrap().replace("&amp;", "&");
            let (status, _, _) = site.look(&way).await;
            assert_eq!(status, StatusCode::OK, "{path} leads to {way}");
            ways += 1;
        }
        assert!(ways > 0, "{path} is a dead end");
    }
    let unknown = "00000000-0000-7000-8000-000000000000";
    for path in
        [format!("/sheet/{unknown}/{unknown}"), "/sheet/x/y".to_owned(), "/sheet/family/Nobody".to_owned()]
    {
        let (status, page, _) = site.look(&path).await;
        assert_eq!(status, StatusCode::NOT_FOUND, "{path}");
        assert!(page.contains("class=\"main\""), "{path}");
    }
}

#[tokio::test]
async fn pages_of_links_and_devices_lead_to_the_sheet() {
    let site = Site::demo();
    let (t, a, r) = (site.id("T1"), site.id("A2"), site.id("R2"));
    for (path, href) in [
        (format!("/device/{a}"), format!("/sheet/{t}/{a}")),
        (format!("/device/{t}"), format!("/sheet/{t}/{a}")),
        (format!("/link/{t}/{r}"), format!("/sheet/{t}/{r}")),
        (format!("/device/{}", site.id("A24")), format!("/sheet?other={}", site.id("A24"))),
        ("/".to_owned(), "/sheet".to_owned()),
        ("/".to_owned(), "/formulas".to_owned()),
    ] {
        let (_, page, _) = site.look(&path).await;
        assert!(page.contains(&format!("href=\"{href}\"")), "{path} doesn't lead to {href}");
    }
}

#[tokio::test]
async fn every_formula_is_listed_and_computes_its_example() {
    let site = Site::empty();
    let (status, list, _) = site.look("/formulas").await;
    assert_eq!(status, StatusCode::OK);
    let mut seen = 0;
    for formula in link::calc::list() {
        let path = format!("/formula/{}", formula.name);
        assert!(list.contains(&format!("href=\"{path}\"")), "{path} is not in the list");
        let (status, page, _) = site.look(&path).await;
        assert_eq!(status, StatusCode::OK, "{path}: {}", words(&page));
        assert!(words(&page).contains("An example, computed from"), "{path}");
        for (key, value) in formula.example {
            let lines = holds(&page, key).replace('\n', ";");
            assert_eq!(lines, *value, "{path}: {key}");
        }
        // The form as it stands, sent, gives the same answer.
        let query: Vec<String> = formula.example.iter().map(|(k, v)| format!("{k}={}", enc(v))).collect();
        let (status, sent, _) = site.look(&format!("{path}?{}", query.join("&"))).await;
        assert_eq!(status, StatusCode::OK, "{path}");
        let answer = |page: &str| {
            page.split("class=\"answer\"").nth(1).unwrap().split("</p>").next().unwrap().to_owned()
        };
        assert_eq!(answer(&page), answer(&sent), "{path}");
        seen += 1;
    }
    assert!(seen > 0);
}

#[tokio::test]
async fn a_formula_computes_what_is_typed_and_marks_what_cannot_be() {
    let site = Site::empty();
    let path = "/formula/free-space-loss";
    // Rec. ITU-R P.525-4: 20 log(4 pi d / lambda); 2400 MHz over 1000 m is 100.05 dB.
    let (status, page, _) =
        site.look(&format!("{path}?frequency_mhz=2400&distance_m=1000&part=answer")).await;
    assert_eq!(status, StatusCode::OK);
    assert!(words(&page).contains("100.05"), "{}", words(&page));
    let (status, page, _) = site.look(&format!("{path}?frequency_mhz=2400&distance_m=-5")).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        field(&page, "distance_m").contains("value=\"-5\"")
            && field(&page, "frequency_mhz").contains("value=\"2400\"")
    );
    assert!(error(&page, "formula", "distance_m").contains("0.1 to 1000000 m"));
    let (status, page, _) = site.look(&format!("{path}?frequency_mhz=2400")).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&page, "formula", "distance_m").contains("needed"));
    assert!(field(&page, "distance_m").contains("value=\"\""), "no example stands where nothing was typed");
    let (status, page, _) =
        site.look("/formula/css-airtime?chip=2g4&sf=13&bandwidth_hz=812500&payload_bytes=8").await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&page, "formula", "sf").contains("5 to 12"), "{}", error(&page, "formula", "sf"));
    assert!(field(&page, "sf").contains("value=\"13\""));
    let (status, page, _) = site.look("/formula/free-space-los").await;
    assert_eq!(status, StatusCode::NOT_FOUND);
    assert!(page.contains("href=\"/formula/free-space-loss\""), "a near name is offered");
}

#[tokio::test]
async fn the_guard_stands_before_the_new_pages_too() {
    let site = Site::demo();
    for path in [
        site.sheet("T1", "A2"),
        "/sheet".to_owned(),
        "/formulas".to_owned(),
        "/formula/free-space-loss".to_owned(),
    ] {
        let (head, page) = site.ask_as(&path, "evil.example", None).await;
        assert_eq!(head.status, StatusCode::FORBIDDEN, "{path}");
        assert!(!page.contains("Nethermoss"), "{path}");
        let (head, _) = site.ask_as(&path, HOST, Some("http://evil.example")).await;
        assert_eq!(head.status, StatusCode::FORBIDDEN, "{path}");
        let (head, page) = site.ask_as(&path, HOST, None).await;
        assert_eq!(head.status, StatusCode::OK, "{path}");
        let policy = head.headers["content-security-policy"].to_str().unwrap();
        assert!(policy.contains("default-src 'none'") && policy.contains("connect-src 'self'"), "{policy}");
        assert!(!policy.contains("unsafe") && !policy.contains('*'), "{policy}");
        assert!(
            !page.contains("style=\"") && !page.contains("<script>") && !page.contains("onchange"),
            "{path}"
        );
    }
}

/// Puts a family of one's own into the workshop: the demo's Whimbrel with its text changed.
fn own_family(site: &Site, change: impl Fn(&str) -> String) {
    let demo = register::family::shipped::demo_families();
    let (_, text) = demo.iter().find(|(name, _)| *name == "whimbrel.toml").unwrap();
    let text = change(&text.replace("name = \"Whimbrel\"", "name = \"Own\""));
    let family = register::family::read::read("own.toml", &text).unwrap();
    site.state.use_workshop(|workshop| workshop.add_family(&family, &text).unwrap());
}

#[tokio::test]
async fn a_family_with_more_settings_than_anybody_chooses_from_still_has_its_sheet() {
    let site = Site::empty();
    let steps: Vec<String> = (1..=900).map(|step| format!("{step}")).collect();
    let shares: Vec<String> = (2..=20).map(|share| format!("{share}")).collect();
    own_family(&site, |text| {
        let text = text.replace("steps_mw = [8, 40, 90]", &format!("steps_mw = [{}]", steps.join(", ")));
        let wanted = "telemetry_one_in = [";
        let (before, after) = text.split_once(wanted).unwrap();
        let after = after.split_once(']').unwrap().1;
        format!("{before}{wanted}{}]{after}", shares.join(", "))
    });
    let (status, page, _) = site.look("/sheet/family/Own/2.4%20GHz?distance_m=300").await;
    assert_eq!(status, StatusCode::OK);
    let text = words(&page);
    assert!(text.contains("are more than the 10000 that one advice looks at"), "{text}");
    assert!(text.contains("Where the power goes"), "the sheet itself is there: {text}");
}

#[tokio::test]
async fn a_family_without_modes_leads_to_its_own_page() {
    let site = Site::empty();
    own_family(&site, |text| {
        let modes = text.find("[[mode]]").unwrap();
        let power = text.find("[power]").unwrap();
        format!("{}{}", &text[..modes], &text[power..])
    });
    let (_, page, _) = site.look("/sheet/family/Own/2.4%20GHz").await;
    assert!(words(&page).contains("no packet modes"), "{}", words(&page));
    assert!(page.contains("href=\"/family/Own\""), "no way on to the family's page");
}
