//! Formulas of the bench and the field by name: air, wire, places.

use units::{Degrees, Metres};

use super::{Answer, CalcError, Formula, Input, Kind, Output};
use crate::atmosphere::{self, Pascals};
use crate::bounds::Bound;
use crate::geodesy::{self, Place};
use crate::wire::{self, Celsius, Gauge};

/// The formulas.
pub const FORMULAS: &[Formula] = &[PRESSURE_HEIGHT, HEIGHT_PRESSURE, WIRE_RESISTANCE, GEODESIC_DISTANCE];

const ATMOSPHERE: &str = "ISO 2533:1975 and ICAO Doc 7488 (constants carried over, checked against an \
                          independent implementation)";

const PRESSURE_HEIGHT: Formula = Formula {
    name: "pressure-height",
    says: "the height at which the standard atmosphere has a pressure",
    inputs: &[Input {
        key: "pressure_pa",
        says: "static pressure",
        kind: Kind::Number(atmosphere::PRESSURE),
        default: None,
    }],
    outputs: &[
        Output { key: "height_m", says: "geopotential height" },
        Output { key: "geometric_height_m", says: "the same above the sea in true metres" },
    ],
    formula: "H = 44330.77 (1 - (p / 101325)^0.190263)",
    holds: "-2000 to 11000 m in standard air; on another day the true height differs",
    source: ATMOSPHERE,
    example: &[("pressure_pa", "95000")],
    run: |given| {
        let height = atmosphere::height_at(Pascals(given.number("pressure_pa")?))?;
        // The bound's own ends may miss the height's range by a rounding.
        let within = Metres(height.0.clamp(atmosphere::HEIGHT.low, atmosphere::HEIGHT.high));
        Ok(Answer::number("height_m", height.0).and("geometric_height_m", atmosphere::geometric(within)?.0))
    },
};

const HEIGHT_PRESSURE: Formula = Formula {
    name: "height-pressure",
    says: "pressure, temperature and density of the standard atmosphere at a height",
    inputs: &[Input {
        key: "height_m",
        says: "geopotential height",
        kind: Kind::Number(atmosphere::HEIGHT),
        default: None,
    }],
    outputs: &[
        Output { key: "pressure_pa", says: "static pressure" },
        Output { key: "temperature_k", says: "temperature" },
        Output { key: "density_kg_m3", says: "density of dry air" },
        Output { key: "geometric_height_m", says: "the height above the sea in true metres" },
    ],
    formula: "p = 101325 (1 - 0.0065 H / 288.15)^5.255880; T = 288.15 - 0.0065 H; p / (287.05287 T)",
    holds: "-2000 to 11000 m in standard air",
    source: ATMOSPHERE,
    example: &[("height_m", "500")],
    run: |given| {
        let height = Metres(given.number("height_m")?);
        Ok(Answer::number("pressure_pa", atmosphere::pressure_at(height)?.0)
            .and("temperature_k", atmosphere::temperature_at(height)?.0)
            .and("density_kg_m3", atmosphere::density_at(height)?.0)
            .and("geometric_height_m", atmosphere::geometric(height)?.0))
    },
};

const WIRE_RESISTANCE: Formula = Formula {
    name: "wire-resistance",
    says: "resistance of a copper conductor by gauge",
    inputs: &[
        Input { key: "awg", says: "the gauge: 4/0 (also 0000) to 40", kind: Kind::Text, default: None },
        Input {
            key: "length_m",
            says: "the whole conductor; a run there and back is twice its length",
            kind: Kind::Number(wire::LENGTH),
            default: None,
        },
        Input {
            key: "temperature_c",
            says: "the conductor's temperature",
            kind: Kind::Number(wire::TEMPERATURE),
            default: Some("20"),
        },
    ],
    outputs: &[
        Output { key: "resistance_ohm", says: "its resistance" },
        Output { key: "diameter_mm", says: "diameter of the solid conductor" },
        Output { key: "area_mm2", says: "its cross-section" },
    ],
    formula: "d = 0.127 mm x 92^((36 - n) / 39); R = 0.017241 ohm mm2/m x length / area x \
              (1 + 0.00393 (t - 20))",
    holds: "4/0 to 40, solid; stranded wire has a few per cent more (common practice, no source)",
    source: "ASTM B258 (from memory; the rule also stands in a published reference page); IEC 60028 (from \
             memory)",
    example: &[("awg", "22"), ("length_m", "2")],
    run: |given| {
        let typed = given.text("awg")?;
        let gauge = Gauge::parse(typed).map_err(|error| CalcError::NotReadable {
            key: "awg",
            got: error.typed,
            wanted: "a wire gauge: 4/0 (also 0000), 3/0, 2/0, 0 (also 1/0), then 1 to 40".to_owned(),
        })?;
        let resistance =
            gauge.resistance(Metres(given.number("length_m")?), Celsius(given.number("temperature_c")?))?;
        Ok(Answer::number("resistance_ohm", resistance.0)
            .and("diameter_mm", gauge.diameter().0 * 1e3)
            .and("area_mm2", gauge.area().0))
    },
};

const fn angle(key: &'static str, says: &'static str, bound: Bound) -> Input {
    Input { key, says, kind: Kind::Number(bound), default: None }
}

const GEODESIC_DISTANCE: Formula = Formula {
    name: "geodesic-distance",
    says: "distance and bearing between two places on the Earth",
    inputs: &[
        angle("latitude1_deg", "latitude of the first place, north positive", geodesy::LATITUDE),
        angle("longitude1_deg", "its longitude, east positive", geodesy::LONGITUDE),
        angle("latitude2_deg", "latitude of the second place", geodesy::LATITUDE),
        angle("longitude2_deg", "its longitude", geodesy::LONGITUDE),
    ],
    outputs: &[
        Output { key: "distance_m", says: "length of the shortest way" },
        Output { key: "azimuth1_deg", says: "azimuth at the first place, east of north" },
        Output { key: "azimuth2_deg", says: "azimuth on arrival at the second" },
    ],
    formula: "the inverse problem on the WGS 84 ellipsoid",
    holds: "everywhere on Earth",
    source: "C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013) 43-55",
    example: &[
        ("latitude1_deg", "47.5"),
        ("longitude1_deg", "8.5"),
        ("latitude2_deg", "47.523"),
        ("longitude2_deg", "8.561"),
    ],
    run: |given| {
        let place = |latitude: &str, longitude: &str| -> Result<Place, CalcError> {
            Ok(Place {
                latitude: Degrees(given.number(latitude)?),
                longitude: Degrees(given.number(longitude)?),
            })
        };
        let way = geodesy::inverse(
            place("latitude1_deg", "longitude1_deg")?,
            place("latitude2_deg", "longitude2_deg")?,
        )?;
        Ok(Answer::number("distance_m", way.distance.0)
            .and("azimuth1_deg", way.start.0)
            .and("azimuth2_deg", way.end.0))
    },
};
