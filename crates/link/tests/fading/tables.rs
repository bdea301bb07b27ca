//! Values computed elsewhere.

use link::aerial::{rural_k, rural_loss, rural_shadowing, rural_sight, urban_k};
use link::fading::{Scatter, margin_for, normal_cdf, normal_quantile, outage};
use units::{Db, Metres, Mhz};

const OUTAGE: &str = include_str!("../data/radio-fading-outage.csv");
const MARGIN: &str = include_str!("../data/radio-fading-margin.csv");
const AERIAL: &str = include_str!("../data/radio-aerial-rural.csv");

fn rows(csv: &str) -> Vec<Vec<&str>> {
    csv.lines().skip(1).map(|line| line.split(',').collect()).collect()
}

fn number(text: &str) -> f64 {
    text.parse().unwrap()
}

fn scatter(k: &str) -> Scatter {
    if k == "rayleigh" { Scatter::Rayleigh } else { Scatter::Rician { k: Db(number(k)) } }
}

/// What differs by more than the tolerance; NaN differs.
fn wrong(what: &str, got: f64, wanted: f64, tolerance: f64) -> Option<String> {
    let near = (got - wanted).abs() <= tolerance;
    (!near).then(|| format!("{what}: {got}, not {wanted}"))
}

fn none_wrong(checked: usize, least: usize, wrong: &[String]) {
    assert!(checked >= least, "only {checked} values were checked");
    assert!(wrong.is_empty(), "{} of {checked} are wrong:\n{}", wrong.len(), wrong.join("\n"));
}

/// Simon and Alouini, *Digital Communication over Fading Channels* (from memory); scipy 1.17.1's
/// noncentral chi-square, checked with its Rice distribution and by quadrature.
#[test]
fn outages() {
    let rows = rows(OUTAGE);
    let bad: Vec<String> = rows
        .iter()
        .filter_map(|row| {
            let (margin, wanted) = (number(row[1]), number(row[2]));
            let got = outage(scatter(row[0]), Db(margin)).unwrap();
            wrong(&format!("K {} margin {margin}", row[0]), got, wanted, (1e-5 * wanted).min(1e-6))
        })
        .collect();
    none_wrong(rows.len(), 40, &bad);
}

/// The same inverted. Tolerance 0.001 dB.
#[test]
fn margins() {
    let rows = rows(MARGIN);
    let bad: Vec<String> = rows
        .iter()
        .filter_map(|row| {
            let got = margin_for(scatter(row[0]), number(row[1])).unwrap().0;
            wrong(&format!("K {} outage {}", row[0], row[1]), got, number(row[2]), 0.001)
        })
        .collect();
    none_wrong(rows.len(), 24, &bad);
}

/// The Rice distribution's integral by mpmath 1.4.1 in 40 digits: from hardly a direct wave to hardly
/// anything else. K dB, margin dB, outage.
#[test]
fn outages_at_the_ends_of_k() {
    let rows = [
        (-40.0, 0.0, 0.632_120_557_909),
        (-40.0, 20.0, 0.009_950_166_201_58),
        (6.0, -5.0, 0.996_169_163_603),
        (13.0, -2.0, 0.961_031_464_449),
        (30.0, 1.0, 6.009_733_696_85e-7),
        (30.0, 0.5, 0.006_350_005_650_34),
        (30.0, -0.5, 0.996_124_487_931),
        (40.0, 0.5, 1.308_313_454_4e-15),
        (40.0, 0.2, 0.000_650_385_778_506),
        (40.0, -0.1, 0.949_624_094_464),
        (50.0, 0.1, 1.542_934_522_4e-7),
        (50.0, -0.05, 0.995_101_689_246),
        (60.0, 0.05, 2.386_632_077_95e-16),
        (60.0, 0.01, 0.051_880_857_222_8),
        (60.0, -0.01, 0.948_392_766_617),
    ];
    let bad: Vec<String> = rows
        .iter()
        .filter_map(|&(k, margin, wanted)| {
            let got = outage(Scatter::Rician { k: Db(k) }, Db(margin)).unwrap();
            wrong(&format!("K {k} margin {margin}"), got, wanted, 1e-8 * wanted)
        })
        .collect();
    none_wrong(rows.len(), 15, &bad);
}

/// 3GPP TR 36.777 v15.0, tables B-1, B-2, B-3 and B.1.2 (transcription). Tolerance 0.001.
#[test]
fn aerial_figures() {
    let rows = rows(AERIAL);
    let mut bad = Vec::new();
    for row in &rows {
        let (frequency, height, distance) =
            (Mhz(1e3 * number(row[0])), Metres(number(row[1])), Metres(number(row[2])));
        let loss = rural_loss(frequency, height, distance).unwrap();
        let got = [
            loss.sight.0,
            loss.no_sight.0,
            rural_shadowing(height).unwrap().0,
            rural_sight(height, distance).unwrap(),
            rural_k(height).unwrap().mean.0,
            urban_k(height).unwrap().mean.0,
        ];
        for (column, got) in got.into_iter().enumerate() {
            bad.extend(wrong(&format!("{row:?} column {column}"), got, number(row[3 + column]), 0.001));
        }
    }
    none_wrong(6 * rows.len(), 144, &bad);
}

/// scipy 1.17.1, `stats.norm`.
#[test]
fn the_normal_distribution() {
    let shares = [
        (-8.0, 6.220_960_574_271_74e-16),
        (-5.0, 2.866_515_718_791_933e-7),
        (-3.0, 0.001_349_898_031_630_093_3),
        (-1.5, 0.066_807_201_268_858_07),
        (-1.0, 0.158_655_253_931_457_07),
        (-0.3, 0.382_088_577_811_047_4),
        (0.0, 0.5),
        (0.7, 0.758_036_347_776_927),
        (1.0, 0.841_344_746_068_542_9),
        (1.9, 0.971_283_440_183_998_1),
        (2.9, 0.998_134_186_699_616),
        (3.0, 0.998_650_101_968_369_9),
        (4.0, 0.999_968_328_758_166_9),
        (6.0, 0.999_999_999_013_412_3),
    ];
    let quantiles = [
        (1e-10, -6.361_340_902_404_056),
        (1e-6, -4.753_424_308_822_899),
        (0.001, -3.090_232_306_167_813),
        (0.025, -1.959_963_984_540_054_5),
        (0.1, -1.281_551_565_544_600_4),
        (0.3, -0.524_400_512_708_041),
        (0.5, 0.0),
        (0.9, 1.281_551_565_544_600_4),
        (0.975, 1.959_963_984_540_054),
        (0.999, 3.090_232_306_167_813),
    ];
    let mut bad = Vec::new();
    for (x, wanted) in shares {
        bad.extend(wrong(&format!("share under {x}"), normal_cdf(x), wanted, 1e-12 * wanted));
    }
    for (p, wanted) in quantiles {
        bad.extend(wrong(&format!("quantile {p}"), normal_quantile(p), wanted, 1e-12));
    }
    none_wrong(shares.len() + quantiles.len(), 24, &bad);
}
