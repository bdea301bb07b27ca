//! Every row of the tables in `data/`, whose README names their sources.

use std::collections::BTreeMap;

use link::diffraction::{
    Diffraction, delta_bullington, knife_edge, knife_edge_exact, knife_edge_nu, spherical_loss,
};
use link::free_space::{distance_factor, free_space_distance, free_space_loss};
use link::ground::{Ground, Polarisation, Soil, plane_earth_asymptote, plane_earth_loss, reflection};
use link::horizon;
use link::profile::Profile;
use link::vegetation::{Campaign, TreeModel, vegetation_loss, woodland_loss};
use units::{Db, Degrees, Metres, Mhz};

/// One row: what stands under each heading.
struct Row(BTreeMap<String, String>);

impl Row {
    fn text(&self, column: &str) -> &str {
        self.0.get(column).unwrap_or_else(|| panic!("no column {column}"))
    }

    fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse().unwrap_or_else(|_| panic!("{column} is {text:?}"))
    }

    fn numbers(&self, column: &str) -> Vec<f64> {
        self.text(column).split_whitespace().map(|text| text.parse().expect("a number")).collect()
    }

    fn mhz(&self) -> Mhz {
        Mhz(self.number("f_mhz"))
    }

    fn metres(&self, column: &str) -> Metres {
        Metres(self.number(column))
    }

    fn polarisation(&self) -> Polarisation {
        match self.text("pol") {
            "V" => Polarisation::Vertical,
            "H" => Polarisation::Horizontal,
            other => panic!("polarisation {other:?}"),
        }
    }

    fn ground(&self) -> Ground {
        let name = match self.text("ground") {
            "typical_rappaport" => "typical".to_owned(),
            name => name.replace('_', "-"),
        };
        let ground = Ground::named(&name).expect("a named ground");
        assert!(close(ground.permittivity, self.number("eps_r"), 1e-9), "{name}");
        assert!(close(ground.conductivity_s_m, self.number("sigma_s_m"), 1e-9), "{name}");
        ground
    }
}

fn read(table: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let head: Vec<String> = reader.headers().expect("headings").iter().map(str::to_owned).collect();
    let row =
        |record: csv::StringRecord| Row(head.iter().cloned().zip(record.iter().map(str::to_owned)).collect());
    reader.records().map(|record| row(record.expect("a row"))).collect()
}

/// False for NaN.
fn close(got: f64, wanted: f64, tolerance: f64) -> bool {
    (got - wanted).abs() <= tolerance
}

/// Collects what is wrong; all of it shows at the end.
#[derive(Default)]
struct Check {
    compared: usize,
    wrong: Vec<String>,
}

impl Check {
    fn near(&mut self, what: &str, got: f64, wanted: f64, tolerance: f64) {
        self.compared += 1;
        if !close(got, wanted, tolerance) {
            self.wrong.push(format!("{what}: {got}, not {wanted} (+-{tolerance})"));
        }
    }

    fn done(self, compared: usize) {
        assert!(
            self.wrong.is_empty(),
            "{} of {} wrong:\n{}",
            self.wrong.len(),
            self.compared,
            self.wrong.join("\n")
        );
        assert_eq!(self.compared, compared, "values compared");
    }
}

/// Rec. ITU-R P.525-4 (2019); computed with scipy 1.17.1's constants, pycraf 2.1.0 agrees to 1e-6 dB.
#[test]
fn free_space() {
    let mut check = Check::default();
    for row in read(include_str!("../data/radio-fspl.csv")) {
        let (mhz, d, wanted) = (row.mhz(), row.metres("d_m"), row.number("fspl_db"));
        let loss = free_space_loss(mhz, d).unwrap();
        check.near(&format!("{mhz} {d}"), loss.0, wanted, 0.001);
        let back = free_space_distance(mhz, loss).unwrap();
        check.near(&format!("{mhz} {d} and back"), back.0 / d.0, 1.0, 1e-12);
    }
    check.done(80);
}

/// Rec. ITU-R P.526-16 4.1; exact column computed with scipy 1.17.1's Fresnel integrals, the
/// other with numpy 2.4.6.
#[test]
fn knife_edges() {
    let mut check = Check::default();
    for row in read(include_str!("../data/radio-knife-edge.csv")) {
        let nu = row.number("nu");
        check.near(
            &format!("exact {nu}"),
            knife_edge_exact(nu).unwrap().0,
            row.number("J_exact_fresnel_db"),
            1e-4,
        );
        check.near(&format!("about {nu}"), knife_edge(nu).unwrap().0, row.number("J_approx_db"), 1e-4);
    }
    for row in read(include_str!("../data/radio-knife-edge-geometry.csv")) {
        let nu = knife_edge_nu(row.mhz(), row.metres("h_m"), row.metres("d1_m"), row.metres("d2_m")).unwrap();
        check.near("nu", nu, row.number("nu"), 1e-5);
        check.near("loss", knife_edge(nu).unwrap().0, row.number("J_approx_db"), 1e-4);
    }
    check.done(60);
}

struct Terrain {
    profile: Profile,
    h1: Metres,
    h2: Metres,
    sea: bool,
}

fn terrains() -> BTreeMap<String, Terrain> {
    read(include_str!("../data/radio-profiles.csv"))
        .into_iter()
        .map(|row| {
            let profile =
                Profile::new(row.numbers("distance_m"), row.numbers("height_m")).expect("a profile");
            assert_eq!(profile.distances_m().len().to_string(), row.text("n_points"));
            let (h1, h2) = (row.metres("tx_agl_m"), row.metres("rx_agl_m"));
            let sea = row.number("sea_fraction") > 0.5;
            (row.text("id").to_owned(), Terrain { profile, h1, h2, sea })
        })
        .collect()
}

fn diffraction(terrain: &Terrain, row: &Row) -> Diffraction {
    let ground = if terrain.sea { Ground::SEA_DIFFRACTION } else { Ground::AVERAGE_LAND };
    let radius = row.metres("ae_km") * 1e3;
    delta_bullington(&terrain.profile, row.mhz(), terrain.h1, terrain.h2, row.polarisation(), &ground, radius)
        .expect("inside the ranges")
}

/// Rec. ITU-R P.526-16 4.5.2 = P.452-18 4.2 = P.1812-8 4.3; computed with crc-covlib 4.6.2, which
/// agrees with the implementations of P.452-18 and P.1812-8 that ITU-R Study Group 3 links to, to
/// 5e-10 dB on all 248, and with pycraf 2.1.0 (P.452-16) on the 236 over land to 0.00023 dB.
#[test]
fn whole_profiles() {
    let terrains = terrains();
    assert_eq!(terrains.len(), 62);
    let mut check = Check::default();
    let mut worst: f64 = 0.0;
    for row in read(include_str!("../data/radio-diffraction.csv")) {
        let id = row.text("profile");
        let got = diffraction(&terrains[id], &row);
        let what = |column: &str| format!("{id} {} {} {column}", row.text("f_mhz"), row.text("pol"));
        let mut near = |column: &str, got: f64, tolerance: f64| {
            check.near(&what(column), got, row.number(column), tolerance);
        };
        near("hstd_m", got.smooth_h1.0, 0.001);
        near("hsrd_m", got.smooth_h2.0, 0.001);
        near("bullington_actual_db", got.actual.0, 0.005);
        near("bullington_smooth_db", got.smooth.0, 0.005);
        near("spherical_db", got.spherical.0, 0.005);
        near("delta_bullington_db", got.loss.0, 0.005);
        // The independent implementations themselves.
        near("check_py452_db", got.loss.0, 0.005);
        near("check_py1812_db", got.loss.0, 0.005);
        if !row.text("check_pycraf_db").is_empty() {
            near("check_pycraf_db", got.loss.0, 0.005);
        }
        worst = worst.max((got.loss.0 - row.number("delta_bullington_db")).abs());
    }
    println!("largest difference of 248 losses: {worst:.6} dB");
    check.done(248 * 8 + 236);
}

/// What the shapes were chosen for.
#[test]
fn profiles_with_a_point_of_their_own() {
    let terrains = terrains();
    let mut seen = 0;
    for row in read(include_str!("../data/radio-diffraction.csv")) {
        let id = row.text("profile");
        let number: u32 = id[1..].parse().unwrap();
        let got = diffraction(&terrains[id], &row);
        seen += 1;
        match number {
            13..=21 => assert_eq!(got.loss, got.actual, "{id}: the smooth Earth adds nothing"),
            36 | 37 => {
                let least = if row.text("f_mhz") == "868" { 10.0 } else { 5.0 };
                assert!(got.loss.0 > got.actual.0 + least, "{id}: the smooth Earth adds over {least} dB");
            }
            38 => {
                let other = diffraction(&terrains["P39"], &row);
                assert!(
                    close(got.loss.0, other.loss.0, 1e-9),
                    "P38 slopes the other way than P39, the loss is equal"
                );
            }
            28 | 44..=46 => assert_eq!(got.loss, Db::ZERO, "{id}: clear"),
            _ => seen -= 1,
        }
    }
    assert_eq!(seen, (9 + 2 + 1 + 4) * 4);
}

/// Rec. ITU-R P.526-16 3.2; computed with crc-covlib 4.6.2.
#[test]
fn smooth_earth() {
    let mut check = Check::default();
    for row in read(include_str!("../data/radio-spherical.csv")) {
        let ground = match row.text("ground") {
            "land" => Ground::AVERAGE_LAND,
            "sea" => Ground::SEA_DIFFRACTION,
            other => panic!("ground {other:?}"),
        };
        for (polarisation, column) in
            [(Polarisation::Vertical, "loss_vertical_db"), (Polarisation::Horizontal, "loss_horizontal_db")]
        {
            let (d, h1, h2) = (row.metres("d_km") * 1e3, row.metres("h1_m"), row.metres("h2_m"));
            let got = spherical_loss(row.mhz(), d, h1, h2, polarisation, &ground, row.metres("ae_km") * 1e3)
                .unwrap();
            check.near(&format!("{} {d} {h1} {h2} {column}", row.mhz()), got.0, row.number(column), 0.005);
        }
    }
    check.done(96);
}

/// Published by ITU-R Working Party 3M as validation examples for Rec. ITU-R P.452 (flat land). They
/// reckon with a wavelength of 0.2998 / f, this with the exact speed of light: 0.002 dB.
#[test]
fn published_smooth_earth() {
    let mut check = Check::default();
    for row in read(include_str!("../data/radio-published-diffraction.csv")) {
        let mhz = Mhz(row.number("f_ghz") * 1e3);
        let (d, radius) = (row.metres("d_km") * 1e3, row.metres("ae_km") * 1e3);
        let (h1, h2) = (row.metres("h1_m"), row.metres("h2_m"));
        let got = spherical_loss(mhz, d, h1, h2, row.polarisation(), &Ground::AVERAGE_LAND, radius).unwrap();
        check.near(&format!("{mhz} {d} smooth"), got.0, row.number("published_Ldsph_db"), 0.002);
        // The whole method over the same flat land, every 100 m at height 0.
        let steps = (0..=1000).map(|step| d.0 * f64::from(step) / 1000.0).collect();
        let flat = Profile::new(steps, vec![0.0; 1001]).unwrap();
        let got = delta_bullington(&flat, mhz, h1, h2, row.polarisation(), &Ground::AVERAGE_LAND, radius);
        check.near(&format!("{mhz} {d} whole"), got.unwrap().loss.0, row.number("published_Ld50_db"), 0.002);
    }
    check.done(40);
}

/// Rappaport, Wireless Communications, 2nd ed., 4.5-4.6 (formulas from memory); computed with numpy 2.4.6.
#[test]
fn two_rays() {
    let mut check = Check::default();
    for row in read(include_str!("../data/radio-two-ray.csv")) {
        let (mhz, d, ground, polarisation) = (row.mhz(), row.metres("d_m"), row.ground(), row.polarisation());
        let (h1, h2) = (row.metres("ht_m"), row.metres("hr_m"));
        let what = format!("{mhz} {} {polarisation} {d}", ground.name);
        let loss = plane_earth_loss(mhz, d, h1, h2, polarisation, &ground).unwrap();
        check.near(&what, loss.0, row.number("two_ray_loss_db"), 0.01);
        let asymptote = plane_earth_asymptote(d, h1, h2).unwrap();
        check.near(&format!("{what} asymptote"), asymptote.0, row.number("plane_earth_asymptote_db"), 0.001);
        let slant = Metres(d.0.hypot(h1.0 - h2.0));
        let free = free_space_loss(mhz, slant).unwrap();
        check.near(&format!("{what} free space"), free.0, row.number("free_space_db"), 0.001);
        let grazing = Degrees(((h1.0 + h2.0) / d.0).atan().to_degrees());
        check.near(&format!("{what} grazing"), grazing.0, row.number("grazing_deg"), 1e-6);
        let rho = reflection(&ground, mhz, grazing, polarisation).unwrap();
        check.near(&format!("{what} rho"), rho.magnitude, row.number("rho_abs"), 1e-5);
        check.near(&format!("{what} phase"), turned(rho.phase, &row, "rho_phase_deg"), 0.0, 0.001);
    }
    check.done(18 * 6);
}

/// How far a phase is from the column's, round the circle.
fn turned(phase: Degrees, row: &Row, column: &str) -> f64 {
    let apart = (phase.0 - row.number(column)).rem_euclid(360.0);
    apart.min(360.0 - apart)
}

/// Fresnel's coefficients, computed with numpy 2.4.6.
#[test]
fn reflections() {
    let mut check = Check::default();
    for row in read(include_str!("../data/radio-reflection.csv")) {
        let (mhz, grazing, ground) = (row.mhz(), Degrees(row.number("grazing_deg")), row.ground());
        for (polarisation, size, phase) in [
            (Polarisation::Vertical, "rhoV_abs", "rhoV_phase_deg"),
            (Polarisation::Horizontal, "rhoH_abs", "rhoH_phase_deg"),
        ] {
            let rho = reflection(&ground, mhz, grazing, polarisation).unwrap();
            let what = format!("{} {mhz} {grazing:?} {polarisation}", ground.name);
            check.near(&what, rho.magnitude, row.number(size), 1e-5);
            check.near(&format!("{what} phase"), turned(rho.phase, &row, phase), 0.0, 0.001);
        }
    }
    check.done(98 * 4);
}

/// Rec. ITU-R P.2040-3 table 3 at 2.45 GHz, from transcriptions that agree; not for 868 MHz.
#[test]
fn soils() {
    let mut check = Check::default();
    for (soil, permittivity, conductivity) in [
        (Soil::VeryDry, 3.0, 0.001_435),
        (Soil::MediumDry, 13.7143, 0.150_803),
        (Soil::Wet, 20.9631, 0.480_847),
    ] {
        let ground = soil.at(Mhz(2450.0)).unwrap();
        check.near(ground.name, ground.permittivity, permittivity, 5e-5);
        check.near(ground.name, ground.conductivity_s_m, conductivity, 5e-7);
        assert!(soil.at(Mhz(868.0)).is_err(), "P.2040 does not cover 868 MHz");
    }
    check.done(6);
}

/// Weissberger 1982, CCIR 1986, Rec. ITU-R P.833-10 (2021); Python float arithmetic on formulas
/// that several transcriptions agree on. The four rows of COST 235 (from memory, 9.6 to 57.6 GHz)
/// are outside every band of model control and are only counted.
#[test]
fn trees() {
    let mut check = Check::default();
    let mut elsewhere = 0;
    for row in read(include_str!("../data/radio-vegetation.csv")) {
        let (model, mhz) = (row.text("model"), row.mhz());
        let parameter = |name: &str| -> f64 {
            let mut words = row.text("parameters").split_whitespace();
            let text = words.find_map(|word| word.strip_prefix(name)?.strip_prefix('='));
            text.unwrap_or_else(|| panic!("no {name}")).parse().unwrap()
        };
        let got = match model {
            "weissberger" => {
                vegetation_loss(TreeModel::Weissberger, mhz, row.metres("depth_m")).unwrap().loss
            }
            "early_ccir_0.2f0.3d0.6" => {
                vegetation_loss(TreeModel::EarlyCcir, mhz, row.metres("depth_m")).unwrap().loss
            }
            "p833_rio_Am" => Campaign::Rio.maximum(mhz).unwrap(),
            "p833_mulhouse_Am" => Campaign::Mulhouse.maximum(mhz).unwrap(),
            "p833_st_petersburg_Am" => Campaign::StPetersburg.maximum(mhz).unwrap(),
            "p833_eq1_table" => {
                woodland_loss(parameter("gamma"), Db(parameter("Am")), row.metres("depth_m")).unwrap()
            }
            "cost235_in_leaf" | "cost235_out_of_leaf" => {
                elsewhere += 1;
                continue;
            }
            other => panic!("model {other:?}"),
        };
        check.near(&format!("{model} {mhz} {}", row.text("depth_m")), got.0, row.number("loss_db"), 0.001);
    }
    assert_eq!(elsewhere, 4);
    check.done(71);
}

/// The whole of P.833's form at a frequency of its table 1: gamma is the table's, Am the fit's.
#[test]
fn woodland_meets_the_printed_table() {
    for (mhz, gamma, most) in [
        (105.9, 0.04, 9.4),
        (466.475, 0.12, 18.0),
        (949.0, 0.17, 26.5),
        (1852.2, 0.30, 29.0),
        (2117.5, 0.34, 34.1),
    ] {
        let campaign = Campaign::StPetersburg;
        // The first metre is lost at gamma.
        let got = vegetation_loss(TreeModel::Woodland(campaign), Mhz(mhz), Metres(0.001)).unwrap();
        assert!(close(got.loss.0 / 0.001, gamma, gamma * 1e-4), "{mhz}: {got:?}");
        assert_eq!(got.note, None);
        // Table 1 prints Am as measured; the fit that equation 2 lays through it stays within 3.5 dB.
        let fit = campaign.maximum(Mhz(mhz)).unwrap();
        assert!(close(fit.0, most, 3.5), "{mhz}: {fit} against {most}");
    }
    let stretched = vegetation_loss(TreeModel::Woodland(Campaign::Rio), Mhz(2450.0), Metres(50.0)).unwrap();
    assert!(stretched.note.is_some(), "2450 MHz is outside all three campaigns");
}

/// Geometry and Rec. ITU-R P.526; computed in Python, the Fresnel radius agrees with pamoja-lora
/// 0.2.0 (20.778 m at 868 MHz in the middle of 5 km).
#[test]
fn horizon_bulge_and_fresnel() {
    let mut check = Check::default();
    for row in read(include_str!("../data/radio-horizon-fresnel.csv")) {
        let k = || if row.text("k") == "1.333333" { 4.0 / 3.0 } else { row.number("k") };
        let got = match row.text("quantity") {
            "horizon_km" => horizon::horizon(row.metres("arg1"), k()).unwrap().0 / 1e3,
            "bulge_m" => horizon::bulge(row.metres("arg1") * 1e3, row.metres("arg2") * 1e3, k()).unwrap().0,
            "fresnel1_m" => {
                horizon::fresnel_radius(row.mhz(), row.metres("arg1"), row.metres("arg2")).unwrap().0
            }
            other => panic!("quantity {other:?}"),
        };
        let what = format!("{} {} {}", row.text("quantity"), row.text("arg1"), row.text("arg2"));
        check.near(&what, got, row.number("value"), 0.001);
    }
    let middle = horizon::fresnel_radius(Mhz(868.0), Metres(2500.0), Metres(2500.0)).unwrap();
    check.near("pamoja-lora", middle.0, 20.778, 0.001);
    check.done(43);
}

/// The distance at which a loss is reached, by halving: the functions themselves are asked.
fn reaches(loss: f64, of: impl Fn(Metres) -> Db) -> f64 {
    let (mut near, mut far) = (0.1_f64, 1e6_f64);
    assert!(of(Metres(near)).0 < loss && loss < of(Metres(far)).0, "{loss} dB lies outside");
    for _ in 0..200 {
        let middle = (near * far).sqrt();
        if of(Metres(middle)).0 < loss { near = middle } else { far = middle }
    }
    near
}

/// Less power is less distance: Rec. ITU-R P.525-4 and two rays beyond the crossover. A check at
/// 30 dB less power reaches 31.6 times less far in free space, 5.6 times over plane earth.
#[test]
fn reduced_power() {
    let mhz = Mhz(868.0);
    let free = |d: Metres| free_space_loss(mhz, d).unwrap();
    // So far beyond the crossover (110 m) that the last trace of interference is gone.
    let (h1, h2) = (Metres(1.5), Metres(2.0));
    let plane =
        |d: Metres| plane_earth_loss(mhz, d, h1, h2, Polarisation::Horizontal, &Ground::MEDIUM_DRY).unwrap();
    let mut check = Check::default();
    for row in read(include_str!("../data/radio-range-test.csv")) {
        let reduction = row.number("power_reduction_db");
        let what = |law: &str| format!("{reduction} dB {law}");
        let mut near = |law: &str, got: f64, column: &str| {
            let wanted = row.number(column);
            check.near(&what(law), got, wanted, 1e-5 * wanted);
        };
        let full = free(Metres(100_000.0)).0;
        near("free space solved", 100_000.0 / reaches(full - reduction, free), "distance_ratio_n2");
        let full = plane(Metres(900_000.0)).0;
        near("plane earth solved", 900_000.0 / reaches(full - reduction, plane), "distance_ratio_n4");
        for (exponent, column) in
            [(2.0, "distance_ratio_n2"), (4.0, "distance_ratio_n4"), (2.7, "distance_ratio_n2.7")]
        {
            near("formula", distance_factor(Db(reduction), exponent).unwrap(), column);
        }
    }
    check.done(9 * 5);

    // At distances that are flown, to the digits that the rule of thumb has.
    let full = plane(Metres(5000.0)).0;
    let ratio = 5000.0 / reaches(full - 30.0, plane);
    assert!(close(ratio, 5.62, 0.05), "{ratio}");
}

/// Rec. ITU-R P.1812-8 4.3 by the crate p1812 0.1.0 (MIT), an implementation of its own: every
/// profile over land, both frequencies and polarisations. It reckons with a wavelength of
/// 0.2998 / f.
#[test]
fn whole_profiles_against_another_crate() {
    let mut check = Check::default();
    for row in read(include_str!("../data/radio-profiles.csv")) {
        if row.number("sea_fraction") > 0.0 {
            continue;
        }
        let list = |name: &str| row.text(name).split(' ').map(|n| n.parse().unwrap()).collect::<Vec<f64>>();
        let (metres, heights) = (list("distance_m"), list("height_m"));
        let km: Vec<f64> = metres.iter().map(|d| d / 1e3).collect();
        let (h1, h2) = (row.metres("tx_agl_m"), row.metres("rx_agl_m"));
        let (from, to) = (heights[0] + h1.0, heights[heights.len() - 1] + h2.0);
        let profile = Profile::new(metres, heights.clone()).unwrap();
        for ghz in [0.868, 2.45] {
            let surface =
                p1812::terrain::smooth_earth_heights(&km, &heights, &heights, h1.0, h2.0, 8500.0, ghz);
            let (hstd, hsrd) = (surface.hstd, surface.hsrd);
            let theirs = p1812::diffraction::dl_delta_bull(
                &km, &heights, from, to, hstd, hsrd, 8500.0, ghz, 0.0, false,
            );
            for (polarisation, loss) in
                [(Polarisation::Horizontal, theirs.ld[0]), (Polarisation::Vertical, theirs.ld[1])]
            {
                let radius = Metres(8_500_000.0);
                let ours = delta_bullington(
                    &profile,
                    Mhz(ghz * 1e3),
                    h1,
                    h2,
                    polarisation,
                    &Ground::AVERAGE_LAND,
                    radius,
                );
                let what = format!("{} {ghz} {polarisation}", row.text("id"));
                check.near(&what, ours.unwrap().loss.0, loss, 0.005);
            }
        }
    }
    check.done(240);
}
