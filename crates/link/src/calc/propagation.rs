//! Formulas by name: loss on the way.

use units::{Db, Degrees, Metres, Mhz};

use super::{Answer, CalcError, Formula, Given, Input, Kind, Output};
use crate::bounds::{Bound, CONDUCTIVITY, DISTANCE, EARTH_K, FREQUENCY, HEIGHT, PERMITTIVITY, TREES};
use crate::diffraction::{
    self, delta_bullington, knife_edge, knife_edge_exact, knife_edge_nu, spherical_loss,
};
use crate::free_space::{self, distance_factor, free_space_loss};
use crate::ground::{self, Ground, Polarisation, plane_earth_asymptote, plane_earth_loss};
use crate::horizon;
use crate::vegetation::{TreeModel, vegetation_loss};

const fn needed(key: &'static str, says: &'static str, bound: Bound) -> Input {
    Input { key, says, kind: Kind::Number(bound), default: None }
}

const fn number(key: &'static str, says: &'static str, bound: Bound, default: &'static str) -> Input {
    Input { key, says, kind: Kind::Number(bound), default: Some(default) }
}

const FREQUENCY_IN: Input = needed("frequency_mhz", "carrier frequency", FREQUENCY);
const DISTANCE_IN: Input = needed("distance_m", "distance along the ground", DISTANCE);
const HEIGHT_TX: Input = needed("height_tx_m", "height of the first antenna above its ground", HEIGHT);
const HEIGHT_RX: Input = needed("height_rx_m", "height of the second antenna above its ground", HEIGHT);
const DISTANCE1: Input = needed("distance1_m", "distance from one end", DISTANCE);
const DISTANCE2: Input = needed("distance2_m", "distance from the other end", DISTANCE);
const K: Input =
    number("k", "effective Earth radius over the true one (6371 km)", EARTH_K, "1.3333333333333333");
const K_OR_RADIUS: Input =
    number("k", "effective Earth radius over the true one (6371 km); 4/3 when left out", EARTH_K, "");
const RADIUS: Input =
    number("effective_radius_km", "effective Earth radius itself, instead of k", diffraction::RADIUS, "");
const POLARISATION: Input = Input {
    key: "polarisation",
    says: "direction of the electric field",
    kind: Kind::Choice(&["vertical", "horizontal"]),
    default: Some("vertical"),
};
const LAND_PERMITTIVITY: Input =
    number("permittivity", "relative permittivity of the ground", PERMITTIVITY, "22");
const LAND_CONDUCTIVITY: Input =
    number("conductivity_s_m", "conductivity of the ground", CONDUCTIVITY, "0.003");
const OWN_PERMITTIVITY: Input =
    number("permittivity", "relative permittivity, instead of a named ground", PERMITTIVITY, "");
const OWN_CONDUCTIVITY: Input =
    number("conductivity_s_m", "conductivity that goes with it", CONDUCTIVITY, "");
const GROUND: Input = Input {
    key: "ground",
    says: "the ground by name",
    kind: Kind::Choice(&[
        "average-land",
        "very-dry",
        "medium-dry",
        "wet",
        "fresh-water",
        "sea",
        "sea-diffraction",
        "typical",
    ]),
    default: Some("average-land"),
};

const LOSS_OUT: Output = Output { key: "loss_db", says: "loss between isotropic antennas" };
const FREE_SPACE_OUT: Output = Output { key: "free_space_db", says: "loss in free space" };

/// The formulas.
pub const FORMULAS: &[Formula] = &[
    Formula {
        name: "free-space-loss",
        says: "loss between isotropic antennas in free space",
        inputs: &[FREQUENCY_IN, needed("distance_m", "distance between the antennas", DISTANCE)],
        outputs: &[LOSS_OUT],
        formula: "20 log(4 pi d / lambda)",
        holds: "beyond a wavelength or so, with nothing near the path",
        source: "Rec. ITU-R P.525-4 (2019), exact form; read in a transcription",
        example: &[("frequency_mhz", "2450"), ("distance_m", "1000")],
        run: |given| {
            let loss = free_space_loss(frequency(given)?, metres(given, "distance_m")?)?;
            Ok(Answer::number("loss_db", loss.0))
        },
    },
    Formula {
        name: "plane-earth-loss",
        says: "loss over plane ground: the straight ray and the one that the ground throws back",
        inputs: &[
            FREQUENCY_IN,
            DISTANCE_IN,
            HEIGHT_TX,
            HEIGHT_RX,
            POLARISATION,
            GROUND,
            OWN_PERMITTIVITY,
            OWN_CONDUCTIVITY,
        ],
        outputs: &[
            LOSS_OUT,
            FREE_SPACE_OUT,
            Output { key: "asymptote_db", says: "40 log d - 20 log h1 - 20 log h2" },
            Output { key: "crossover_m", says: "where the asymptote meets free space, 4 pi h1 h2 / lambda" },
        ],
        formula: "-20 log( lambda / (4 pi) |exp(-jkR1)/R1 + rho exp(-jkR2)/R2| )",
        holds: "over smooth, level ground, up to where the Earth's bulge comes near the ray",
        source: "Rappaport, Wireless Communications, 2nd ed., 4.5-4.6; Parsons, The Mobile Radio Propagation Channel, 2nd ed., chapter 2 (both from memory); values computed anew",
        example: &[
            ("frequency_mhz", "868"),
            ("distance_m", "2000"),
            ("height_tx_m", "1.5"),
            ("height_rx_m", "50"),
        ],
        run: plane_earth,
    },
    Formula {
        name: "profile-loss",
        says: "diffraction over a path profile by the complete method (delta-Bullington)",
        inputs: &[
            FREQUENCY_IN,
            Input {
                key: "profile",
                says: "the ground along the path, distance_m,height_m from the first end",
                kind: Kind::Profile,
                default: None,
            },
            HEIGHT_TX,
            HEIGHT_RX,
            K_OR_RADIUS,
            RADIUS,
            POLARISATION,
            LAND_PERMITTIVITY,
            LAND_CONDUCTIVITY,
        ],
        outputs: &[
            Output { key: "diffraction_db", says: "loss over free space" },
            Output { key: "total_db", says: "with free space over the slant distance" },
            FREE_SPACE_OUT,
            Output { key: "bullington_db", says: "Bullington's loss over the profile" },
            Output { key: "smooth_bullington_db", says: "over the smooth surface laid through it" },
            Output { key: "spherical_db", says: "smooth Earth's loss over that surface" },
            Output { key: "smooth_tx_m", says: "the surface's height under the first antenna" },
            Output { key: "smooth_rx_m", says: "under the second" },
        ],
        formula: "Bullington(profile) + max(spherical - Bullington(smooth surface), 0)",
        holds: "25 MHz to 6 GHz here; a median, single paths differ by several decibels",
        source: "Rec. ITU-R P.526-16 (11/2025) 4.5.2, P.452-18 4.2, P.1812-8 4.3, as independent implementations give them",
        example: &[
            ("frequency_mhz", "868"),
            ("profile", "0,100;400,104;900,131;1500,112;2000,108"),
            ("height_tx_m", "1.5"),
            ("height_rx_m", "30"),
        ],
        run: profile_loss,
    },
    Formula {
        name: "spherical-loss",
        says: "diffraction over the smooth Earth, over free space",
        inputs: &[
            FREQUENCY_IN,
            DISTANCE_IN,
            HEIGHT_TX,
            HEIGHT_RX,
            K_OR_RADIUS,
            RADIUS,
            POLARISATION,
            LAND_PERMITTIVITY,
            LAND_CONDUCTIVITY,
        ],
        outputs: &[
            Output { key: "diffraction_db", says: "loss over free space, 0 where the path is clear" },
            Output { key: "total_db", says: "with free space over the slant distance" },
        ],
        formula: "-F(X) - G(Y1) - G(Y2); inside the horizon shared out by clearance",
        holds: "25 MHz to 6 GHz here",
        source: "Rec. ITU-R P.526-16 (11/2025) 3.1.1 and 3.2, as independent implementations give them",
        example: &[
            ("frequency_mhz", "868"),
            ("distance_m", "20000"),
            ("height_tx_m", "2"),
            ("height_rx_m", "10"),
        ],
        run: spherical,
    },
    Formula {
        name: "knife-edge",
        says: "diffraction over one sharp edge: give nu, or the edge's height and distances",
        inputs: &[
            number("nu", "the edge's height in the units of the theory", diffraction::NU, ""),
            number("frequency_mhz", "carrier frequency", FREQUENCY, ""),
            number(
                "height_m",
                "the edge's height above the line of sight, negative below",
                diffraction::EDGE,
                "",
            ),
            number("distance1_m", "its distance from one end", DISTANCE, ""),
            number("distance2_m", "its distance from the other end", DISTANCE, ""),
        ],
        outputs: &[
            Output { key: "loss_db", says: "exact, from Fresnel's integrals" },
            Output { key: "approximate_db", says: "by the usual approximation" },
            Output { key: "nu", says: "h sqrt( (2 / lambda) (1/d1 + 1/d2) )" },
        ],
        formula: "-20 log( sqrt((1-C-S)^2 + (C-S)^2) / 2 ); about 6.9 + 20 log( sqrt((nu-0.1)^2 + 1) + nu - 0.1 )",
        holds: "an edge that is sharp beside a wave and long across the path",
        source: "Rec. ITU-R P.526-16 (11/2025) 4.1; read in implementations",
        example: &[("nu", "1")],
        run: knife,
    },
    Formula {
        name: "fresnel-radius",
        says: "radius of the first Fresnel zone",
        inputs: &[FREQUENCY_IN, DISTANCE1, DISTANCE2],
        outputs: &[
            Output { key: "radius_m", says: "of the first zone" },
            Output { key: "clear_m", says: "0.552 of it: what a path needs free to count as clear" },
        ],
        formula: "sqrt(lambda d1 d2 / (d1 + d2))",
        holds: "distances long beside a wave",
        source: "Rec. ITU-R P.526-16 2.1 and 3.2, with the exact speed of light",
        example: &[("frequency_mhz", "868"), ("distance1_m", "2500"), ("distance2_m", "2500")],
        run: |given| {
            let (d1, d2) = (metres(given, "distance1_m")?, metres(given, "distance2_m")?);
            let radius = horizon::fresnel_radius(frequency(given)?, d1, d2)?.0;
            Ok(Answer::number("radius_m", radius).and("clear_m", horizon::CLEAR_SHARE * radius))
        },
    },
    Formula {
        name: "radio-horizon",
        says: "how far an antenna sees over the smooth Earth; two see each other up to the sum",
        inputs: &[needed("height_m", "height above the ground", HEIGHT), K],
        outputs: &[Output { key: "distance_m", says: "to the horizon" }],
        formula: "sqrt(2 k a h), a = 6371 km",
        holds: "heights small beside the Earth's radius",
        source: "geometry; Rec. ITU-R P.526-16 section 3",
        example: &[("height_m", "30")],
        run: |given| {
            let distance = horizon::horizon(metres(given, "height_m")?, given.number("k")?)?;
            Ok(Answer::number("distance_m", distance.0))
        },
    },
    Formula {
        name: "earth-bulge",
        says: "how far the Earth bulges up into a path",
        inputs: &[DISTANCE1, DISTANCE2, K],
        outputs: &[Output { key: "height_m", says: "of the bulge at that point" }],
        formula: "d1 d2 / (2 k a), a = 6371 km",
        holds: "paths short beside the Earth's radius",
        source: "geometry; Rec. ITU-R P.526-16 section 3",
        example: &[("distance1_m", "5000"), ("distance2_m", "5000")],
        run: |given| {
            let (d1, d2) = (metres(given, "distance1_m")?, metres(given, "distance2_m")?);
            Ok(Answer::number("height_m", horizon::bulge(d1, d2, given.number("k")?)?.0))
        },
    },
    Formula {
        name: "reflection",
        says: "Fresnel reflection of a smooth ground",
        inputs: &[
            FREQUENCY_IN,
            needed("grazing_deg", "angle between the ray and the ground", ground::GRAZING),
            POLARISATION,
            GROUND,
            OWN_PERMITTIVITY,
            OWN_CONDUCTIVITY,
        ],
        outputs: &[
            Output { key: "magnitude", says: "field thrown back over field that came" },
            Output { key: "phase_deg", says: "how far its phase is turned" },
        ],
        formula: "(e sin psi - r)/(e sin psi + r) vertical, (sin psi - r)/(sin psi + r) horizontal; e = eps - j sigma/(2 pi f eps0), r = sqrt(e - cos^2 psi)",
        holds: "ground that is smooth beside a wave",
        source: "Rappaport, Wireless Communications, 2nd ed., 4.5 (from memory); values computed anew",
        example: &[("frequency_mhz", "868"), ("grazing_deg", "1")],
        run: |given| {
            let grazing = Degrees(given.number("grazing_deg")?);
            let ground = ground_of(given)?;
            let found = ground::reflection(&ground, frequency(given)?, grazing, polarisation(given)?)?;
            let answer = Answer::number("magnitude", found.magnitude).and("phase_deg", found.phase.0);
            Ok(answer.note(ground_note(&ground)))
        },
    },
    Formula {
        name: "vegetation-loss",
        says: "loss through trees",
        inputs: &[
            Input {
                key: "model",
                says: "which fit to reckon with",
                kind: Kind::Choice(&TreeModel::WORDS),
                default: None,
            },
            FREQUENCY_IN,
            needed("depth_m", "how far the path runs through trees", TREES),
        ],
        outputs: &[LOSS_OUT],
        formula: "weissberger: 0.45 f^0.284 d under 14 m, else 1.33 f^0.284 d^0.588 (GHz); early-ccir: 0.2 f^0.3 d^0.6 (MHz); p833: Am (1 - exp(-d gamma/Am)), Am = A1 f^alpha (MHz)",
        holds: "weissberger 230 MHz to 95 GHz; early-ccir 200 MHz to 95 GHz; p833 30 MHz to 30 GHz, each campaign within its own frequencies; up to 400 m",
        source: "Weissberger 1982; CCIR 1986; Rec. ITU-R P.833-10 (2021) section 2.1 and table 1 (between its values: a power law); read in transcriptions",
        example: &[("model", "weissberger"), ("frequency_mhz", "868"), ("depth_m", "50")],
        run: |given| {
            let word = given.choice("model")?;
            let model = TreeModel::from_word(word).ok_or_else(|| CalcError::Undeclared(word.to_owned()))?;
            let found = vegetation_loss(model, frequency(given)?, metres(given, "depth_m")?)?;
            let answer = Answer::number("loss_db", found.loss.0);
            Ok(match found.note {
                Some(note) => answer.note(note),
                None => answer,
            })
        },
    },
    Formula {
        name: "reduced-power-range",
        says: "how many times less distance a range check at reduced power reaches",
        inputs: &[
            needed("power_reduction_db", "by how much the power is cut", free_space::REDUCTION),
            number("exponent", "a power of distance between or beside the two", free_space::EXPONENT, "3"),
        ],
        outputs: &[
            Output { key: "free_space_factor", says: "in free space (exponent 2)" },
            Output { key: "plane_earth_factor", says: "over plane earth beyond the crossover (exponent 4)" },
            Output { key: "exponent_factor", says: "with the exponent given" },
        ],
        formula: "10^(R / (10 n)), n = 2 in free space, 4 over plane earth",
        holds: "only if nothing stands in either path: a check passed at reduced power bounds the range at full power between the two factors",
        source: "derived from Rec. ITU-R P.525-4 and the two-ray model; no further source",
        example: &[("power_reduction_db", "30")],
        run: |given| {
            let reduction = Db(given.number("power_reduction_db")?);
            Ok(Answer::number("free_space_factor", distance_factor(reduction, 2.0)?)
                .and("plane_earth_factor", distance_factor(reduction, 4.0)?)
                .and("exponent_factor", distance_factor(reduction, given.number("exponent")?)?))
        },
    },
];

fn frequency(given: &Given) -> Result<Mhz, CalcError> {
    Ok(Mhz(given.number("frequency_mhz")?))
}

fn metres(given: &Given, key: &str) -> Result<Metres, CalcError> {
    Ok(Metres(given.number(key)?))
}

fn heights(given: &Given) -> Result<(Metres, Metres), CalcError> {
    Ok((metres(given, "height_tx_m")?, metres(given, "height_rx_m")?))
}

fn polarisation(given: &Given) -> Result<Polarisation, CalcError> {
    let word = given.choice("polarisation")?;
    Polarisation::from_word(word).ok_or_else(|| CalcError::Undeclared(word.to_owned()))
}

/// The named ground, or the one of given constants.
fn ground_of(given: &Given) -> Result<Ground, CalcError> {
    match (given.maybe_number("permittivity")?, given.maybe_number("conductivity_s_m")?) {
        (Some(permittivity), Some(conductivity)) => Ok(Ground::custom(permittivity, conductivity)?),
        (None, None) => {
            let name = given.choice("ground")?;
            Ground::named(name).ok_or_else(|| CalcError::Undeclared(name.to_owned()))
        }
        _ => Err(CalcError::DontGoTogether(
            "`permittivity` and `conductivity_s_m` go together: give both, or neither and a `ground`"
                .to_owned(),
        )),
    }
}

fn ground_note(ground: &Ground) -> String {
    format!(
        "Ground {}: permittivity {}, conductivity {} S/m; {}.",
        ground.name, ground.permittivity, ground.conductivity_s_m, ground.source
    )
}

/// The ground of given constants.
fn land(given: &Given) -> Result<Ground, CalcError> {
    Ok(Ground::custom(given.number("permittivity")?, given.number("conductivity_s_m")?)?)
}

fn radius(given: &Given) -> Result<Metres, CalcError> {
    match (given.maybe_number("effective_radius_km")?, given.maybe_number("k")?) {
        (Some(_), Some(_)) => {
            let why = "`k` and `effective_radius_km` say the same thing; give one of them";
            Err(CalcError::DontGoTogether(why.to_owned()))
        }
        (Some(km), None) => Ok(Metres(km * 1e3)),
        (None, k) => Ok(horizon::effective_radius(k.unwrap_or(4.0 / 3.0))?),
    }
}

fn plane_earth(given: &Given) -> Result<Answer, CalcError> {
    let (mhz, distance, (h1, h2)) = (frequency(given)?, metres(given, "distance_m")?, heights(given)?);
    let ground = ground_of(given)?;
    let loss = plane_earth_loss(mhz, distance, h1, h2, polarisation(given)?, &ground)?;
    let slant = Metres(distance.0.hypot(h1.0 - h2.0));
    Ok(Answer::number("loss_db", loss.0)
        .and("free_space_db", free_space::loss(mhz, slant).0)
        .and("asymptote_db", plane_earth_asymptote(distance, h1, h2)?.0)
        .and("crossover_m", ground::crossover_distance(mhz, h1, h2)?.0)
        .note(ground_note(&ground)))
}

fn profile_loss(given: &Given) -> Result<Answer, CalcError> {
    let (mhz, profile, (h1, h2)) = (frequency(given)?, given.profile("profile")?, heights(given)?);
    let found = delta_bullington(profile, mhz, h1, h2, polarisation(given)?, &land(given)?, radius(given)?)?;
    let ground = profile.heights_m();
    let ends = ground.first().zip(ground.last());
    let rise = ends.map_or(0.0, |(first, last)| last + h2.0 - first - h1.0);
    let free = free_space::loss(mhz, Metres(profile.length().0.hypot(rise)));
    Ok(Answer::number("diffraction_db", found.loss.0)
        .and("total_db", (free + found.loss).0)
        .and("free_space_db", free.0)
        .and("bullington_db", found.actual.0)
        .and("smooth_bullington_db", found.smooth.0)
        .and("spherical_db", found.spherical.0)
        .and("smooth_tx_m", found.smooth_h1.0)
        .and("smooth_rx_m", found.smooth_h2.0))
}

fn spherical(given: &Given) -> Result<Answer, CalcError> {
    let (mhz, distance, (h1, h2)) = (frequency(given)?, metres(given, "distance_m")?, heights(given)?);
    let loss = spherical_loss(mhz, distance, h1, h2, polarisation(given)?, &land(given)?, radius(given)?)?;
    let free = free_space::loss(mhz, Metres(distance.0.hypot(h1.0 - h2.0)));
    Ok(Answer::number("diffraction_db", loss.0).and("total_db", (free + loss).0))
}

fn knife(given: &Given) -> Result<Answer, CalcError> {
    let parts = ["frequency_mhz", "height_m", "distance1_m", "distance2_m"];
    let parts = parts.map(|key| given.maybe_number(key));
    let nu = match (given.maybe_number("nu")?, parts) {
        (Some(nu), [Ok(None), Ok(None), Ok(None), Ok(None)]) => nu,
        (None, [Ok(Some(mhz)), Ok(Some(height)), Ok(Some(d1)), Ok(Some(d2))]) => {
            knife_edge_nu(Mhz(mhz), Metres(height), Metres(d1), Metres(d2))?
        }
        _ => {
            return Err(CalcError::DontGoTogether(
                "give either `nu`, or all of `frequency_mhz`, `height_m`, `distance1_m` and `distance2_m`"
                    .to_owned(),
            ));
        }
    };
    Ok(Answer::number("loss_db", knife_edge_exact(nu)?.0)
        .and("approximate_db", knife_edge(nu)?.0)
        .and("nu", nu))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_words_are_those_of_the_types() {
        let Kind::Choice(words) = GROUND.kind else { panic!("the ground is a choice") };
        assert_eq!(words, Ground::NAMED.iter().map(|ground| ground.name).collect::<Vec<_>>());
        let Kind::Choice(words) = POLARISATION.kind else { panic!("the polarisation is a choice") };
        assert!(words.iter().all(|word| Polarisation::from_word(word).is_some()));
        assert!(TreeModel::WORDS.iter().zip(TreeModel::ALL).all(|(word, model)| *word == model.word()));
    }

    #[test]
    fn every_example_gives_its_outputs_in_order() {
        assert!(!FORMULAS.is_empty());
        for formula in FORMULAS {
            let typed: Vec<_> =
                formula.example.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect();
            let answer = formula.answer(&typed).unwrap();
            let keys: Vec<_> = answer.values.iter().map(|(key, _)| *key).collect();
            assert_eq!(keys, formula.outputs.iter().map(|output| output.key).collect::<Vec<_>>());
        }
    }
}
