//! Short sums of on-board power that stand alone.

use link::bounds::OutOfRange;
use link::wire::{Celsius, Gauge};
use units::{Amps, Farads, Metres, MilliampHours, Minutes, Ohms, Seconds, Volts};

use super::model::KelvinPerWatt;

/// The capacitor that carries a current for a time while its voltage falls by `drop`: I·t / drop.
/// Holds for a constant current and without the capacitor's own resistance.
pub fn holding_capacitor(amps: Amps, time: Seconds, drop: Volts) -> Farads {
    Farads(amps.0 * time.0 / drop.0)
}

/// How far a capacitor's voltage falls while it alone carries a current for a time: I·t / C.
pub fn capacitor_drop(farads: Farads, amps: Amps, time: Seconds) -> Volts {
    Volts(amps.0 * time.0 / farads.0)
}

/// How long a pack lasts down to a reserve (a share, 0 to 1) at an average current.
pub fn lasts(capacity: MilliampHours, reserve: f64, average: Amps) -> Minutes {
    Minutes(capacity.0 * (1.0 - reserve) / 1000.0 / average.0 * 60.0)
}

/// What an average current uses in a time.
pub fn uses(average: Amps, time: Minutes) -> MilliampHours {
    MilliampHours(average.0 * time.0 / 60.0 * 1000.0)
}

/// The average of currents with their shares of the time: what empties a pack.
pub fn average(parts: &[(Amps, f64)]) -> Amps {
    parts.iter().map(|(amps, share)| *amps * *share).sum()
}

/// Their root mean square: what heats a wire.
pub fn root_mean_square(parts: &[(Amps, f64)]) -> Amps {
    Amps(parts.iter().map(|(amps, share)| amps.0 * amps.0 * share).sum::<f64>().sqrt())
}

/// The no-load voltage and the resistance of a pack with its leads, from its voltage under two
/// loads; `None` where both currents are the same.
pub fn from_two_loads(light: (Volts, Amps), heavy: (Volts, Amps)) -> Option<(Volts, Ohms)> {
    let ohms = (light.0.0 - heavy.0.0) / (heavy.1.0 - light.1.0);
    ohms.is_finite().then(|| (light.0 + light.1 * Ohms(ohms), Ohms(ohms)))
}

/// The most current of a linear regulator before its chip is too hot: (hottest - air) / thermal
/// resistance, over the voltage that it takes away. `None` where it takes none away.
pub fn most_by_heat(
    input: Volts,
    output: Volts,
    hottest: Celsius,
    air: Celsius,
    thermal: KelvinPerWatt,
) -> Option<Amps> {
    let watts = (hottest.0 - air.0).max(0.0) / thermal.0;
    (input > output).then(|| Amps(watts / (input.0 - output.0)))
}

/// The thinnest gauge that loses no more than `most` at a current over a run (its length one way;
/// both conductors are counted).
///
/// # Errors
/// [`OutOfRange`] for a length or a temperature for which [`Gauge::resistance`] doesn't hold.
pub fn thinnest(
    amps: Amps,
    one_way: Metres,
    most: Volts,
    temperature: Celsius,
) -> Result<Option<Gauge>, OutOfRange> {
    let mut found = None;
    for gauge in Gauge::all() {
        if amps * gauge.resistance(one_way + one_way, temperature)? <= most {
            found = Some(gauge);
        }
    }
    Ok(found)
}

/// The longest run (one way) of a gauge that loses no more than `most` at a current.
///
/// # Errors
/// [`OutOfRange`] for a temperature for which [`Gauge::resistance`] doesn't hold.
pub fn longest_run(
    gauge: Gauge,
    amps: Amps,
    most: Volts,
    temperature: Celsius,
) -> Result<Metres, OutOfRange> {
    let a_metre = gauge.resistance(Metres(2.0), temperature)?;
    Ok(Metres(most.0 / (amps * a_metre).0))
}
