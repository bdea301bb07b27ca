//! Behind the bulge of a smooth Earth.

use std::f64::consts::PI;

use units::{Db, Metres, Mhz};

use crate::bounds::{DISTANCE, OutOfRange};
use crate::ground::{Ground, Polarisation};

/// Loss over free space that the smooth Earth makes, zero where the path is clear.
///
/// `distance` is along the ground, `h1` and `h2` are the antennas above it, `effective_radius`
/// is the Earth's as bent rays see it (k times 6371 km). Beyond the horizon it is the first
/// term of the residue series; inside, that term is shared out by clearance.
///
/// Source: Rec. ITU-R P.526-16 sections 3.1.1 and 3.2. Far inside the horizon with low
/// antennas it is an interpolation, within a decibel or two of two rays over plane earth.
///
/// # Errors
/// [`OutOfRange`] for a frequency (25 MHz to 50 GHz), distance, height, ground constant or
/// radius outside its range.
pub fn spherical_loss(
    frequency: Mhz,
    distance: Metres,
    h1: Metres,
    h2: Metres,
    polarisation: Polarisation,
    ground: &Ground,
    effective_radius: Metres,
) -> Result<Db, OutOfRange> {
    super::check(frequency, h1, h2, effective_radius)?;
    DISTANCE.check(distance.0)?;
    ground.check()?;
    let sphere = Sphere::new(frequency, effective_radius, polarisation, ground);
    Ok(Db(sphere.loss(distance.0 / 1e3, h1.0, h2.0)))
}

/// What stays the same for every path over one Earth at one frequency.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sphere {
    ghz: f64,
    wavelength_m: f64,
    radius_km: f64,
    polarisation: Polarisation,
    permittivity: f64,
    /// 18 sigma / f, the imaginary part of the permittivity.
    lossy: f64,
}

/// Where the bulge comes nearest to the line of sight.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Nearest {
    /// Its distance from the first end, kilometres.
    pub d1: f64,
    /// From the second.
    pub d2: f64,
    /// The line's height over it, metres.
    pub clear: f64,
    /// The height that would be clear: 0.552 of the first Fresnel radius, metres.
    pub needed: f64,
}

impl Sphere {
    pub(crate) fn new(frequency: Mhz, radius: Metres, polarisation: Polarisation, ground: &Ground) -> Sphere {
        let ghz = frequency.0 / 1e3;
        Sphere {
            ghz,
            wavelength_m: frequency.wavelength().0,
            radius_km: radius.0 / 1e3,
            polarisation,
            permittivity: ground.permittivity,
            lossy: 18.0 * ground.conductivity_s_m / ghz,
        }
    }

    /// How far apart the antennas still see each other, kilometres.
    pub(crate) fn horizon(&self, h1: f64, h2: f64) -> f64 {
        (2e-3 * self.radius_km).sqrt() * (h1.sqrt() + h2.sqrt())
    }

    /// Loss over free space, dB: `d` in kilometres, heights in metres.
    pub(crate) fn loss(&self, d: f64, h1: f64, h2: f64) -> f64 {
        if d >= self.horizon(h1, h2) {
            return self.first_term(self.radius_km, d, h1, h2).max(0.0);
        }
        let nearest = self.nearest(d, h1, h2);
        if nearest.clear > nearest.needed {
            return 0.0;
        }
        let grazed = d / (h1.sqrt() + h2.sqrt());
        let term = self.first_term(500.0 * grazed * grazed, d, h1, h2);
        (1.0 - nearest.clear / nearest.needed) * term.max(0.0)
    }

    /// Where the bulge comes nearest to the line of sight; for paths inside the horizon.
    pub(crate) fn nearest(&self, d: f64, h1: f64, h2: f64) -> Nearest {
        let c = (h1 - h2) / (h1 + h2);
        let m = 250.0 * d * d / (self.radius_km * (h1 + h2));
        let angle = (1.5 * c * (3.0 * m / (m + 1.0).powi(3)).sqrt()).clamp(-1.0, 1.0).acos();
        let b = 2.0 * ((m + 1.0) / (3.0 * m)).sqrt() * (PI / 3.0 + angle / 3.0).cos();
        let d1 = d / 2.0 * (1.0 + b.clamp(-1.0, 1.0));
        let d2 = d - d1;
        let drop = 500.0 / self.radius_km;
        let clear = ((h1 - drop * d1 * d1) * d2 + (h2 - drop * d2 * d2) * d1) / d;
        Nearest { d1, d2, clear, needed: 17.456 * (d1 * d2 * self.wavelength_m / d).sqrt() }
    }

    /// The first term of the residue series over an Earth of this radius; P.526-16 3.1.1.
    #[expect(clippy::many_single_char_names, reason = "the letters of the recommendation")]
    fn first_term(&self, radius_km: f64, d: f64, h1: f64, h2: f64) -> f64 {
        // A ground of nothing but air has no surface; it is kept a thousandth away from it.
        let off = (self.permittivity - 1.0).max(1e-3);
        let square = self.lossy * self.lossy;
        let horizontal = 0.036 / ((radius_km * self.ghz).cbrt() * (off * off + square).sqrt().sqrt());
        let k = match self.polarisation {
            Polarisation::Horizontal => horizontal,
            Polarisation::Vertical => horizontal * (self.permittivity * self.permittivity + square).sqrt(),
        };
        let k2 = k * k;
        let beta = (1.0 + 1.6 * k2 + 0.67 * k2 * k2) / (1.0 + 4.5 * k2 + 1.53 * k2 * k2);
        let x = 21.88 * beta * (self.ghz / (radius_km * radius_km)).cbrt() * d;
        let y = 0.9575 * beta * (self.ghz * self.ghz / radius_km).cbrt();
        let f = if x >= 1.6 {
            11.0 + 10.0 * x.log10() - 17.6 * x
        } else {
            -20.0 * x.log10() - 5.6488 * x.powf(1.425)
        };
        let least = 2.0 + 20.0 * k.log10();
        let gain = |h: f64| {
            let b = beta * y * h;
            let g = if b > 2.0 {
                17.6 * (b - 1.1).sqrt() - 5.0 * (b - 1.1).log10() - 8.0
            } else {
                20.0 * (b + 0.1 * b * b * b).log10()
            };
            g.max(least)
        };
        -f - gain(h1) - gain(h2)
    }
}
