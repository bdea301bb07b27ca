//! Whether an antenna is made for its band: its length, and what a wrong one costs.

use link::mismatch::{self, Element, USUAL_RADIUS};
use units::{Db, Metres, Mhz};

use super::check::mm;
use super::{Antenna, Sort};
use crate::finding::{Finding, Weight};

/// A working length may be off by this share: 10 %.
const LENGTH_SHARE: f64 = 0.10;

/// Below this a receiver's wire is shorter than a quarter of the wave and matched by parts in front of it:
/// about a metre at 27 to 72 MHz (common practice, no source).
const LOADED_BELOW: Mhz = Mhz(100.0);

/// A chip or a patch works this far beside its middle: 3 % of the frequency. Judgement, no source.
const NARROW_SHARE: f64 = 0.03;

/// What this antenna is to the engine, with the share of a wave that its working part has.
fn element(sort: Sort) -> Option<(Element, f64)> {
    match sort {
        Sort::Wire | Sort::BareTip => Some((Element::Monopole, 0.25)),
        // The bare tip is one arm; the sleeve, which isn't measured, the other.
        Sort::Sleeve => Some((Element::Dipole, 0.25)),
        Sort::Dipole => Some((Element::Dipole, 0.5)),
        Sort::Chip | Sort::Patch => None,
    }
}

/// The working length at a frequency: a quarter of the wave, or half of it for a dipole.
pub(super) fn right_length(sort: Sort, at: Mhz) -> Option<Metres> {
    element(sort).map(|(_, share)| Metres(at.wavelength().0 * share))
}

/// What an antenna of this length costs here over one of the right length.
fn cost_of(sort: Sort, length: Metres, at: Mhz) -> Option<Db> {
    let (element, share) = element(sort)?;
    let whole = if element == Element::Dipole && share < 0.5 { Metres(length.0 * 2.0) } else { length };
    let right = mismatch::resonant_length(element, USUAL_RADIUS, at).ok()?;
    let right = mismatch::impedance(element, right, USUAL_RADIUS, at).ok()?.mismatch();
    let has = mismatch::impedance(element, whole, USUAL_RADIUS, at).ok()?.mismatch();
    Some(Db((has.0 - right.0).max(0.0)))
}

fn weight(cost: Db) -> Weight {
    match cost.0 {
        cost if cost >= 6.0 => Weight::Fault,
        cost if cost >= 1.0 => Weight::Warning,
        _ => Weight::Note,
    }
}

/// Longer than this, in waves from tip to tip, the pattern of a straight antenna breaks into lobes: five
/// quarters. Balanis, Antenna Theory, 4.5 (from memory).
const LOBES_FROM: f64 = 1.25;

/// What a mismatch costs, with a word on antennas so long that their pattern is another.
fn loses(cost: Db, waves: f64) -> String {
    let left = 100.0 * mismatch::range_share(cost);
    let price = if cost.0 < 0.05 {
        "The mismatch alone costs next to nothing".to_owned()
    } else {
        format!("The mismatch alone costs {:.1} dB: {left:.0} % of the range in free space is left", cost.0)
    };
    if waves > LOBES_FROM {
        format!("{price}. So long for its band it hears in lobes with holes between, which are not reckoned")
    } else {
        price
    }
}

/// From tip to tip, both arms, in waves.
fn waves(sort: Sort, length: Metres, at: Mhz) -> f64 {
    let arms = if element(sort).is_some_and(|(_, share)| share < 0.5) { 2.0 } else { 1.0 };
    arms * length.0 / at.wavelength().0
}

/// What is wrong with an antenna's band and length, with what it costs where that can be reckoned.
pub(super) fn findings(antenna: &Antenna, band: Option<Mhz>) -> (Vec<Finding>, Option<Db>) {
    let about = format!("antenna {}", antenna.name);
    let at = band.or(antenna.made_for);
    if let (Some(made_for), Some(band)) = (antenna.made_for, band) {
        let cost = element(antenna.sort)
            .and_then(|(element, _)| mismatch::wrong_band(element, USUAL_RADIUS, made_for, band).ok())
            .map(|wrong| wrong.cost());
        let off = (made_for.0 - band.0).abs() / band.0;
        // What is made for a band is half a wave of it.
        let lobes = 0.5 * band.0 / made_for.0;
        let (weight, consequence) = match cost {
            Some(cost) if cost.0 >= 0.5 || lobes > LOBES_FROM => {
                let least = if off > LENGTH_SHARE { Weight::Warning } else { Weight::Note };
                (weight(cost).max(least), loses(cost, lobes))
            }
            None if off > NARROW_SHARE => (
                Weight::Warning,
                "Such an antenna works in a narrow band only; how much it loses beside it isn't reckoned"
                    .to_owned(),
            ),
            _ => return (length(antenna, at, about), cost),
        };
        let finding = Finding {
            key: "wrong_band",
            weight,
            about,
            text: format!("It is made for {} MHz and used at {} MHz.", made_for.0, band.0),
            consequence: format!("{consequence}."),
            mend: format!("Fit an antenna that is made for {} MHz.", band.0),
        };
        return (vec![finding], cost);
    }
    let loaded = antenna.length.zip(at).is_some_and(|(length, at)| {
        at.0 < LOADED_BELOW.0 && right_length(antenna.sort, at).is_some_and(|right| length < right)
    });
    let cost = antenna.length.zip(at).filter(|_| !loaded);
    let cost = cost.and_then(|(length, at)| cost_of(antenna.sort, length, at));
    (length(antenna, at, about), cost)
}

fn length(antenna: &Antenna, at: Option<Mhz>, about: String) -> Vec<Finding> {
    let Some((has, at)) = antenna.length.zip(at) else { return Vec::new() };
    let Some((right, (_, share))) = right_length(antenna.sort, at).zip(element(antenna.sort)) else {
        return Vec::new();
    };
    let off = has.0 / right.0 - 1.0;
    // A millimetre on a ruler is no reason.
    if off.abs() <= LENGTH_SHARE + 1e-9 {
        return Vec::new();
    }
    let cost = cost_of(antenna.sort, has, at);
    if at.0 < LOADED_BELOW.0 && off < 0.0 {
        return vec![Finding {
            key: "shorter_than_wave",
            weight: Weight::Note,
            about,
            text: format!(
                "Its working part is {}; {} of the wave at {} MHz is {}.",
                mm(has),
                if share < 0.5 { "a quarter" } else { "half" },
                at.0,
                mm(right)
            ),
            consequence:
                "On such bands receivers are matched to a shorter wire; what it costs isn't reckoned."
                    .to_owned(),
            mend: "Keep the length that the maker's manual gives; never cut, coil or fold it.".to_owned(),
        }];
    }
    let wave = if share < 0.5 { "a quarter" } else { "half" };
    let fits = Mhz(at.0 * right.0 / has.0);
    let side = if off > 0.0 { "longer" } else { "shorter" };
    vec![Finding {
        key: "wrong_length",
        weight: cost.map_or(Weight::Warning, |cost| weight(cost).max(Weight::Warning)),
        about,
        text: format!(
            "Its working part is {}, {:.0} % {side} than {wave} of the wave at {} MHz ({}); it is as long as for \
             {:.0} MHz.",
            mm(has),
            100.0 * off.abs(),
            at.0,
            mm(right),
            fits.0
        ),
        consequence: cost.map_or_else(
            || "What that costs isn't reckoned for a part so short.".to_owned(),
            |cost| format!("{}.", loses(cost, waves(antenna.sort, has, at))),
        ),
        mend: format!(
            "Measure the working part alone, without its cable. If it is so, fit an antenna whose working part is {} \
             long; never cut or splice one to size without measuring what it does.",
            mm(right)
        ),
    }]
}
