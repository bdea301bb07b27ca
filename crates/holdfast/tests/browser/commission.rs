//! Commissioning in a browser: one aircraft of the demo from unpaired to signed off and printed.

use std::time::{Duration, SystemTime, UNIX_EPOCH};

use serde_json::json;

use crate::bench::{Bench, decent};
use crate::house::{House, Visitor};

/// An electric helicopter, its swashplate mixed at the transmitter, a gyro on the tail: usual figures
/// (common practice, no source). Part, output, sort, function.
const PARTS: [(&str, &str, &str, &str); 6] = [
    ("left cyclic servo", "1", "servo", "aileron"),
    ("front cyclic servo", "2", "servo", "elevator"),
    ("speed controller", "3", "speed-controller", ""),
    ("gyro", "4", "controller", ""),
    ("gyro's gain lead", "5", "controller", ""),
    ("right cyclic servo", "6", "servo", ""),
];

/// What its channels do without a link, as they ought to: channel, function, action, value.
const CHANNELS: [(&str, &str, &str, &str); 6] = [
    ("1", "aileron", "value", "1500"),
    ("2", "elevator", "value", "1500"),
    ("3", "throttle", "value", "1000"),
    ("4", "rudder", "value", "1500"),
    ("5", "gyro gain", "hold", ""),
    ("6", "pitch", "value", "1400"),
];

/// Two whips, one to the left and one upright, clear of carbon and leads (common practice, no source).
const ANTENNAS: &str = r#"[[antenna]]
name = "left"
kind = "bare-tip"
length_mm = 31
for_mhz = 2440
azimuth_deg = -90
carbon_mm = 200
motor_lead_mm = 180
pack_mm = 120
metal_mm = 60
around = "clear"

[[antenna]]
name = "upright"
kind = "bare-tip"
length_mm = 31
for_mhz = 2440
elevation_deg = 90
carbon_mm = 200
motor_lead_mm = 180
pack_mm = 120
metal_mm = 60
around = "clear"

[between]
apart_mm = 90
"#;

/// The figures of a proof: key and what is typed.
type Figures = &'static [(&'static str, &'static str)];

/// The proofs, in the order of the work: word, what the list calls it, figures.
const PROOFS: [(&str, &str, Figures); 4] = [
    ("directions", "control directions", &[]),
    ("supply", "supply check", &[("at_rest_v", "5.78"), ("stirred_v", "5,41")]),
    ("failsafe", "failsafe proof", &[("control_back_s", "1.1")]),
    ("range", "range check", &[("distance_m", "45"), ("reduction_db", "20"), ("motor_distance_m", "44")]),
];

/// Some checks hold for one day: no test begins in the last minutes of one.
async fn not_at_midnight() {
    const DAY: u64 = 86_400;
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_secs();
    let left = DAY - now % DAY;
    if left < 180 {
        tokio::time::sleep(Duration::from_secs(left + 1)).await;
    }
}

/// Pairs the aircraft's receiver by the mend that its link page knows.
async fn pair(bench: &Bench<'_>) {
    let v = bench.v;
    assert_eq!(bench.standing("link").await, "Did not hold");
    assert_eq!(v.text(".next a.main").await, "See why it doesn't link");
    bench.decent("unpaired").await;
    v.press(".next a.main").await;
    assert!(v.text("p.answer").await.contains("they differ"), "{}", v.text("main").await);
    assert!(v.text(".next .caution").await.contains("Caution: "));
    v.press_words(".next button.main", "I did this").await;
    assert!(v.text("p.answer").await.contains("every rule that is written down holds"));
    bench.list().await;
    assert_eq!(bench.standing("link").await, "Checked");
    assert_eq!(v.text(".next a.main").await, "Write the outputs down");
}

/// The outputs on their form, with a row for each part and a number that is none.
async fn outputs(bench: &Bench<'_>) {
    let v = bench.v;
    v.press(".next a.main").await;
    bench.decent("outputs-empty").await;
    bench.cell("transmitter.1.label", "T1").await;
    bench.cell("transmitter.1.order", "AETR, gyro gain, pitch, throttle hold").await;
    bench.cell("transmitter.1.channels", "8").await;
    for (row, (name, output, sort, function)) in (1..).zip(PARTS) {
        bench.add_row("part").await;
        bench.cell(&format!("part.{row}.name"), name).await;
        bench.cell(&format!("part.{row}.sort"), sort).await;
        bench.cell(&format!("part.{row}.output"), output).await;
        if !function.is_empty() {
            bench.cell(&format!("part.{row}.function"), function).await;
        }
    }
    bench.wrong("part.3.output", "the third").await;
    bench.decent("outputs-wrong").await;
    bench.cell("part.3.output", "3").await;
    bench.write().await;
    bench.written("outputs").await;
    bench.decent("outputs").await;
    assert_eq!(bench.cells().await.len(), 3 + 6 * 3 + 2);
}

/// The supply on its form; a pack of no cells is refused.
async fn supply(bench: &Bench<'_>) {
    let v = bench.v;
    v.go(&format!("{}/supply", bench.craft)).await;
    for (path, text) in [("chemistry", "lipo"), ("capacity_mah", "3300")] {
        bench.cell(&format!("pack.1.{path}"), text).await;
    }
    bench.add_row("regulator").await;
    for (path, text) in [("kind", "switching"), ("set_v", "5,8"), ("continuous_a", "8"), ("burst_a", "15")] {
        bench.cell(&format!("regulator.1.{path}"), text).await;
    }
    bench.add_row("wire").await;
    for (path, text) in [("length_m", "0.15"), ("gauge", "18"), ("connector_mohm", "5")] {
        bench.cell(&format!("wire.1.{path}"), text).await;
    }
    bench.add_row("servo").await;
    let servo = [
        ("name", "cyclic and tail"),
        ("class", "high-torque"),
        ("count", "4"),
        ("moving_a", "0.8"),
        ("stall_a", "2.5"),
    ];
    for (path, text) in servo {
        bench.cell(&format!("servo.1.{path}"), text).await;
    }
    bench.wrong("pack.1.cells", "0").await;
    bench.cell("pack.1.cells", "6").await;
    bench.write().await;
    bench.written("supply").await;
    bench.decent("supply").await;
    assert!(v.text("p.answer").await.contains(" V"), "{}", v.text("p.answer").await);
}

/// The failsafe on its form: a throttle that is held is found, and no longer found once it is mended.
async fn failsafe(bench: &Bench<'_>) {
    let v = bench.v;
    v.go(&format!("{}/failsafe", bench.craft)).await;
    for (row, (channel, function, action, value)) in (1..).zip(CHANNELS) {
        if row > 1 {
            bench.add_row("channel").await;
        }
        bench.cell(&format!("channel.{row}.channel"), channel).await;
        bench.cell(&format!("channel.{row}.function"), function).await;
        let is_throttle = function == "throttle";
        bench.cell(&format!("channel.{row}.action"), if is_throttle { "hold" } else { action }).await;
        if !value.is_empty() && !is_throttle {
            bench.cell(&format!("channel.{row}.value_us"), value).await;
        }
    }
    bench.cell("flight.1.speed_m_s", "8").await;
    bench.cell("flight.1.height_m", "20").await;
    bench.write().await;
    bench.written("failsafe").await;
    let fault = "section[aria-labelledby=found] .finding strong.flag";
    assert!(v.all(fault).await.contains(&"Fault".to_owned()), "{}", v.text("main").await);
    let found = v.text("section[aria-labelledby=found]").await;
    assert!(found.to_lowercase().contains("throttle") && found.contains("Do: "), "{found}");
    bench.decent("failsafe-held").await;
    bench.list().await;
    assert_eq!(bench.standing("failsafe").await, "Did not hold");
    v.go(&format!("{}/failsafe", bench.craft)).await;
    for (key, text) in [("action", "value"), ("value_us", "1000"), ("idle_us", "1000")] {
        bench.cell(&format!("channel.3.{key}"), text).await;
    }
    bench.write().await;
    bench.written("failsafe").await;
    assert_eq!(v.all(fault).await, [""; 0], "{}", v.text("main").await);
    bench.decent("failsafe").await;
}

/// The same parts as texts.
async fn outputs_and_failsafe_as_texts(bench: &Bench<'_>) {
    let mut outputs = String::from(
        "[[transmitter]]\nlabel = \"T1\"\norder = [\"AETR\", \"gyro gain\", \"pitch\", \"throttle hold\"]\nchannels = 8\n",
    );
    for (name, output, sort, function) in PARTS {
        outputs += &format!("\n[[part]]\nname = \"{name}\"\nsort = \"{sort}\"\noutput = {output}\n");
        if !function.is_empty() {
            outputs += &format!("function = \"{function}\"\n");
        }
    }
    bench.as_text("outputs", &outputs).await;
    bench.decent("outputs").await;
    let mut failsafe = String::from("[flight]\nspeed_m_s = 8\nheight_m = 20\n");
    for (channel, function, action, value) in CHANNELS {
        failsafe += &format!(
            "\n[[channel]]\nchannel = {channel}\nfunction = \"{function}\"\naction = \"{action}\"\n"
        );
        if !value.is_empty() {
            failsafe += &format!("value_us = {value}\n");
        }
    }
    bench.as_text("failsafe", &failsafe).await;
    bench.decent("failsafe").await;
}

/// The steps of a proof, and the cautions before what they are for, are seen; then it is recorded.
async fn prove(bench: &Bench<'_>, word: &str, label: &str, figures: &[(&str, &str)]) {
    let v = bench.v;
    let item = format!("#item-proof-{word}");
    assert_eq!(bench.standing(&format!("proof-{word}")).await, "Not checked");
    v.unfold(&format!("Steps of the {label}, and how it went")).await;
    let ask = "
        const item = document.querySelector(arguments[0]), send = item.querySelector('button');
        const before = (one, other) => !!(one.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING);
        const steps = [...item.querySelectorAll('.steps-list > li')];
        const cautioned = steps.filter((one) => one.querySelector('.caution'));
        return [steps.length, cautioned.length, [
            steps.every((one) => one.checkVisibility() && before(one, send)),
            cautioned.every((one) => one.querySelector('.caution').checkVisibility()
                && before(one.querySelector('.caution'), one.querySelector('label'))),
            cautioned.every((one) => one.querySelector('.caution').innerText.includes('Caution: ')),
            steps.some((one) => one.innerText.includes('blades'))]]";
    let seen = v.ask(ask, vec![json!(item)]).await;
    assert!(seen[0].as_u64().unwrap() >= 3 && seen[1].as_u64().unwrap() >= 2, "{word}: {seen}");
    assert_eq!(seen[2], json!([true, true, true, true]), "{word}: {}", v.text(&item).await);
    if word == "range" {
        v.picture("70-steps-of-range").await;
    }
    bench.tick(&format!("{item} input[name=went][value=held]")).await;
    for (key, figure) in figures {
        v.fill(&format!("{item} [name='{key}']"), figure).await;
    }
    v.press(&format!("{item} button")).await;
    let says = v.text("[role=status]").await;
    assert_eq!(says, format!("Written down: the {label} held."));
    assert_eq!(bench.standing(&format!("proof-{word}")).await, "Checked", "{}", v.text(&item).await);
}

/// Puts a name under it.
async fn sign(bench: &Bench<'_>) {
    let v = bench.v;
    v.unfold("Put your name under it").await;
    v.fill("section[aria-labelledby=signing] input[name=note]", "On the club's bench.").await;
    v.press_words("section[aria-labelledby=signing] button", "Sign that this is how it stands").await;
    assert_eq!(v.text("[role=status]").await, "Signed: 9 checked, 0 not checked.");
    let signed = v.text("section[aria-labelledby=signing]").await;
    assert!(
        signed.contains("All of it still stands.") && signed.contains("On the club's bench."),
        "{signed}"
    );
    bench.decent("signed").await;
}

/// The proofs that the table's page says lapse by this, in the order of the work.
async fn by_the_table(v: &Visitor, what: &str) -> Vec<String> {
    v.go("/commission/table").await;
    decent(v, "the table").await;
    let ask = "
        const row = [...document.querySelectorAll('.lapses tbody tr')].find((one) => one.querySelector('th').innerText === arguments[0]);
        const heads = [...document.querySelectorAll('.lapses thead th')].map((one) => one.textContent);
        return [...row.children].flatMap((one, at) => one.innerText.trim() === 'lapses' ? [heads[at]] : [])";
    let found: Vec<String> = serde_json::from_value(v.ask(ask, vec![json!(what)]).await).unwrap();
    let called = |label: &str| found.iter().any(|one| one.eq_ignore_ascii_case(label));
    PROOFS.iter().filter(|(_, label, _)| called(label)).map(|(word, _, _)| (*word).to_owned()).collect()
}

/// Work is noted: exactly what the table says lapses, and the signature says so.
async fn work(bench: &Bench<'_>, work: &str, what: &str, expected: &[&str]) {
    let v = bench.v;
    assert_eq!(by_the_table(v, what).await, expected);
    bench.list().await;
    v.unfold("Note work, or what befell it").await;
    v.choose("#note-work select[name=work]", work).await;
    v.press_words("#note-work button", "Note it").await;
    assert!(
        v.text("[role=status]").await.starts_with(&format!("Noted: {}. By it lapse: ", what.to_lowercase()))
    );
    let lapsed: Vec<String> = expected.iter().map(|word| format!("proof-{word}")).collect();
    assert_eq!(bench.with_standing("Lapsed").await, lapsed);
    assert_eq!(bench.with_standing("Checked").await.len(), 9 - lapsed.len());
    let signed = v.text("section[aria-labelledby=signing]").await;
    let since = signed.split("No longer so: ").nth(1).unwrap_or_else(|| panic!("{signed}"));
    let since = since.split('.').next().unwrap();
    let labels = PROOFS.iter().filter(|(word, _, _)| expected.contains(word)).map(|(_, label, _)| *label);
    assert_eq!(since.split(", ").collect::<Vec<_>>(), labels.collect::<Vec<_>>());
    assert!(!signed.contains("All of it still stands."), "{signed}");
    bench.decent("lapsed").await;
}

/// What a link to a PDF answers: status, sort, and how it begins.
async fn is_a_pdf(v: &Visitor, css: &str) {
    let ask = "
        const done = arguments[1];
        fetch(document.querySelector(arguments[0]).href).then(async (one) => {
            const bytes = new Uint8Array(await one.arrayBuffer());
            done([one.status, one.headers.get('content-type'), String.fromCharCode(...bytes.slice(0, 5))]);
        }, (error) => done(String(error)));";
    let seen = v.client.execute_async(ask, vec![json!(css)]).await.unwrap();
    assert_eq!(seen, json!([200, "application/pdf", "%PDF-"]));
}

/// The squares of a page: each drawn, and wide enough that its modules are a third of a millimetre.
async fn squares(v: &Visitor) -> u64 {
    let ask = "
        const all = [...document.querySelectorAll('main svg.square')];
        const drawn = all.filter((one) => {
            const box = one.getBoundingClientRect(), path = one.querySelector('path.dark');
            return one.checkVisibility() && box.width / one.viewBox.baseVal.width >= 96 / 25.4 / 3 - 0.01
                && path.getTotalLength() > 500 && one.getAttribute('aria-label').startsWith('QR code of ');
        });
        return [all.length, drawn.length]";
    let seen = v.ask(ask, vec![]).await;
    assert_eq!(seen[0], seen[1], "a square can't be read");
    seen[0].as_u64().unwrap()
}

/// A card on the screen, as it is printed, and as a PDF.
///
/// With every proof to be done again the bench card's boxes and cautions fill three sheets; the
/// field card stays on the two sides of one.
async fn card(bench: &Bench<'_>, words: &str, name: &str, paper: (f64, f64), lapsed: &[&str]) {
    let v = bench.v;
    bench.list().await;
    v.press_words("section[aria-labelledby=onto-paper] a", words).await;
    bench.decent(name).await;
    assert_eq!(squares(v).await, 1);
    is_a_pdf(v, "main a.main").await;
    let text = v.text("article.paper").await;
    assert!(
        text.contains("A9") && text.contains("Slow Thunder") && text.contains("makers' manuals prevail"),
        "{text}"
    );
    for (word, label, _) in PROOFS {
        let says = text.lines().any(|line| line.to_lowercase().contains(label) && line.contains("lapsed"));
        assert_eq!(says, lapsed.contains(&word), "{label}: {text}");
    }
    v.media("print", "light").await;
    assert_eq!(v.all("form, nav, button, input, .no-print, header, footer").await, [""; 0]);
    assert_eq!(squares(v).await, 1);
    v.picture(&format!("71-printed-{name}")).await;
    v.media("", "light").await;
    let sheets = v.printed(name).await;
    assert!(
        !sheets.is_empty() && sheets.len() <= if paper == A6 { 2 } else { 3 },
        "{name} is printed on {} sheets",
        sheets.len()
    );
    for (width, height) in sheets {
        assert!(
            (width - paper.0).abs() < 1.0 && (height - paper.1).abs() < 1.0,
            "{name}: {width} x {height} pt"
        );
    }
}

/// Labels of the aircraft, its receiver and its transmitter.
async fn labels(bench: &Bench<'_>) {
    let v = bench.v;
    bench.list().await;
    v.press_words("section[aria-labelledby=onto-paper] a", "Label").await;
    bench.decent("labels").await;
    let ticked = "return [...document.querySelectorAll('input[name=d]:checked')].map((one) => one.labels[0].innerText)";
    let ticked = v.ask(ticked, vec![]).await;
    assert!(ticked.as_array().unwrap().len() == 1 && ticked[0].as_str().unwrap().contains("A9"), "{ticked}");
    for code in ["R10", "T1"] {
        let find = "return [...document.querySelectorAll('input[name=d]')].find((one) => one.labels[0].innerText.split(/\\W/).includes(arguments[0])).id";
        let id = v.ask(find, vec![json!(code)]).await;
        bench.tick(&format!("[id='{}']", id.as_str().unwrap())).await;
    }
    v.press_words("button.main", "Labels to print").await;
    bench.decent("labels-print").await;
    assert_eq!(squares(v).await, 3);
    let titles = v.all(".label-title").await;
    for code in ["A9", "R10", "T1"] {
        assert!(titles.iter().any(|title| title.contains(code)), "{code}: {titles:?}");
    }
    is_a_pdf(v, "main a.main").await;
    v.media("print", "light").await;
    v.picture("71-printed-labels").await;
    v.media("", "light").await;
    assert_eq!(v.printed("labels").await.len(), 1);
}

/// A4 and A6 in points: ISO 216.
const A4: (f64, f64) = (210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0);
const A6: (f64, f64) = (105.0 / 25.4 * 72.0, 148.0 / 25.4 * 72.0);

/// From unpaired to signed off, and on to paper; `refused` forms were sent with something wrong.
async fn from_unpaired_to_signed_off(
    v: &Visitor,
    is_on_forms: OnForms,
    noted: (&str, &str, &[&str]),
    refused: usize,
) {
    v.go("/commission").await;
    v.press_words(".commissions th a", "A9").await;
    let craft = v.address().await.trim_end_matches("/commission").to_owned();
    let bench = &Bench { v, craft };
    let not_checked = bench.with_standing("Not checked").await;
    assert_eq!(not_checked.len(), 8, "nothing but the link is known: {not_checked:?}");
    pair(bench).await;
    if is_on_forms {
        outputs(bench).await;
    } else {
        outputs_and_failsafe_as_texts(bench).await;
    }
    supply(bench).await;
    if is_on_forms {
        failsafe(bench).await;
    }
    bench.as_text("antennas", ANTENNAS).await;
    bench.decent("antennas").await;
    bench.list().await;
    for (word, label, figures) in PROOFS {
        prove(bench, word, label, figures).await;
    }
    let items = bench.items().await;
    assert!(items.len() == 9 && items.iter().all(|(_, standing)| standing == "Checked"), "{items:?}");
    assert!(v.text("p.answer").await.contains("all 9 items are checked"), "{}", v.text("p.answer").await);
    sign(bench).await;
    work(bench, noted.0, noted.1, noted.2).await;
    card(bench, "Bench card", "bench-card", A4, noted.2).await;
    card(bench, "Field card", "field-card", A6, noted.2).await;
    labels(bench).await;
    // The browser tells of every answer that isn't `200`; else it has nothing to complain of.
    let (told, other): (Vec<_>, Vec<_>) =
        v.complaints().await.into_iter().partition(|one| one.contains("status of 422"));
    assert_eq!(other, [""; 0]);
    assert_eq!(told.len(), refused, "{told:?}");
}

/// Whether the parts are written on their forms.
type OnForms = bool;

#[tokio::test(flavor = "multi_thread")]
async fn a_helicopter_is_commissioned_from_unpaired_to_signed_off() {
    not_at_midnight().await;
    let house = House::demo().await;
    let visitor = Visitor::arrive(&house, 1280, 900).await;
    let noted: (_, _, &[&str]) =
        ("motor", "Motor or speed controller changed", &["directions", "supply", "failsafe", "range"]);
    from_unpaired_to_signed_off(&visitor, true, noted, 2).await;
    visitor.leave().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_on_a_phone() {
    not_at_midnight().await;
    let house = House::demo().await;
    let visitor = Visitor::arrive(&house, 360, 780).await;
    from_unpaired_to_signed_off(
        &visitor,
        false,
        ("servo", "Servo or linkage changed", &["directions", "supply"]),
        1,
    )
    .await;
    visitor.leave().await;
}
