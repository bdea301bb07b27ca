//! Whole profiles: Bullington's edge, corrected by what a smooth Earth would add.

use units::{Db, Metres, Mhz};

use super::knife::approximate;
use super::smooth::Sphere;
use crate::bounds::OutOfRange;
use crate::ground::{Ground, Polarisation};
use crate::profile::Profile;

/// What diffraction over a profile loses, and how that came about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diffraction {
    /// Loss over free space: `actual` and what `spherical` exceeds `smooth` by.
    pub loss: Db,
    /// Bullington's loss over the profile.
    pub actual: Db,
    /// Bullington's loss over the smooth surface laid through the profile.
    pub smooth: Db,
    /// The smooth Earth's loss for antennas at those heights above that surface.
    pub spherical: Db,
    /// The smooth surface's height above the sea under the first antenna.
    pub smooth_h1: Metres,
    /// Under the second.
    pub smooth_h2: Metres,
    /// The height of the profile's worst point, or of Bullington's edge beyond the horizon,
    /// in the units of [`super::knife_edge_nu`]: below -0.78 the path is clear.
    pub nu: f64,
}

/// Diffraction over a profile by the complete method, often called delta-Bullington.
///
/// `h1` and `h2` are the antennas above the ground at the profile's ends, `effective_radius`
/// the Earth's as bent rays see it (k times 6371 km). The same both ways along a profile. Only
/// the given points can stand in the way, so leave out no hilltop; the ground is one kind all
/// along (for the sea take [`Ground::SEA_DIFFRACTION`]).
///
/// Source: Rec. ITU-R P.526-16 section 4.5.2 (Rec. ITU-R P.452-18 section 4.2, P.1812-8
/// section 4.3). A median over all kinds of terrain: single paths differ by several decibels.
/// A profile and its reverse give the same.
///
/// # Errors
/// [`OutOfRange`] for a frequency (25 MHz to 50 GHz), height, ground constant or radius
/// outside its range.
pub fn delta_bullington(
    profile: &Profile,
    frequency: Mhz,
    h1: Metres,
    h2: Metres,
    polarisation: Polarisation,
    ground: &Ground,
    effective_radius: Metres,
) -> Result<Diffraction, OutOfRange> {
    super::check(frequency, h1, h2, effective_radius)?;
    ground.check()?;
    let sphere = Sphere::new(frequency, effective_radius, polarisation, ground);
    let way = Way { distances_m: profile.distances_m(), heights_m: profile.heights_m(), h1: h1.0, h2: h2.0 };
    Ok(complete(&way, frequency, effective_radius, &sphere))
}

/// A profile (three points or more) with an antenna above each end.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Way<'a> {
    pub distances_m: &'a [f64],
    pub heights_m: &'a [f64],
    pub h1: f64,
    pub h2: f64,
}

/// [`delta_bullington`] without a check.
pub(crate) fn complete(way: &Way<'_>, frequency: Mhz, radius: Metres, sphere: &Sphere) -> Diffraction {
    let last = way.distances_m.len() - 1;
    let (ground1, ground2) = (way.heights_m[0], way.heights_m[last]);
    let line = Line::new(way.distances_m[last], ground1 + way.h1, ground2 + way.h2, radius.0);

    let (seen, surface) = survey(way.distances_m, way.heights_m, &line);
    let (nu, actual) = bullington(&line, &seen, way.distances_m, frequency);

    let (smooth_h1, smooth_h2) = surface.ends(line.length, ground1, ground2);
    let (up1, up2) = (line.start - smooth_h1, line.end - smooth_h2);
    let over = Line::new(line.length, up1, up2, radius.0);
    let (_, smooth) = bullington(&over, &survey_smooth(way.distances_m, &over), way.distances_m, frequency);
    let spherical = sphere.loss(line.length / 1e3, up1, up2);

    Diffraction {
        loss: Db(actual + (spherical - smooth).max(0.0)),
        actual: Db(actual),
        smooth: Db(smooth),
        spherical: Db(spherical),
        smooth_h1: Metres(smooth_h1),
        smooth_h2: Metres(smooth_h2),
        nu,
    }
}

/// The straight line between two antennas, metres above the sea (or a smooth surface).
struct Line {
    length: f64,
    start: f64,
    end: f64,
    slope: f64,
    /// 1 over twice the effective radius: the bulge is d1 d2 times this.
    bulge: f64,
}

impl Line {
    fn new(length: f64, start: f64, end: f64, radius: f64) -> Line {
        Line { length, start, end, slope: (end - start) / length, bulge: 0.5 / radius }
    }
}

/// What stands out towards the line, each the greatest over the points between the ends.
#[derive(Clone, Copy)]
struct Seen {
    /// Angle over the line from the start, the bulge counted.
    from_start: f64,
    /// From the end.
    from_end: f64,
    /// x |x| / (d1 d2) of the height x over the line, the bulge counted.
    square: f64,
}

/// The smooth surface's sums.
struct Surface {
    v1: f64,
    v2: f64,
    /// Greatest height over the line without the bulge, and its angles from both ends.
    over: f64,
    angle_start: f64,
    angle_end: f64,
}

impl Surface {
    /// The surface's heights under both ends: a line of least squares, lowered by what stands
    /// above the line of sight, never above the ground at an end.
    fn ends(&self, d: f64, ground1: f64, ground2: f64) -> (f64, f64) {
        let (mut first, mut second) =
            ((2.0 * self.v1 * d - self.v2) / (d * d), (self.v2 - self.v1 * d) / (d * d));
        if self.over > 0.0 {
            let sum = self.angle_start + self.angle_end;
            first -= self.over * self.angle_start / sum;
            second -= self.over * self.angle_end / sum;
        }
        (first.min(ground1), second.min(ground2))
    }
}

/// How many points go side by side.
const LANES: usize = 4;

/// The greater one, in the form that processors have an instruction for.
#[inline(always)]
#[expect(clippy::inline_always, reason = "the loop around it vectorizes only when it is inlined")]
fn greater(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// Running maxima and sums of one lane.
#[derive(Clone, Copy)]
struct Lanes<const FIELDS: usize>([[f64; LANES]; FIELDS]);

impl<const FIELDS: usize> Lanes<FIELDS> {
    fn lowest() -> Self {
        Lanes([[f64::NEG_INFINITY; LANES]; FIELDS])
    }

    fn greatest(&self, field: usize) -> f64 {
        self.0[field].iter().copied().fold(f64::NEG_INFINITY, greater)
    }
}

/// One pass over the ground.
fn survey(d: &[f64], h: &[f64], line: &Line) -> (Seen, Surface) {
    let last = d.len() - 1;
    let mut most = Lanes::<6>::lowest();
    let mut sums = [[0.0; LANES]; 2];
    let mut point = |lane: usize, d0: f64, d1: f64, h0: f64, h1: f64| {
        let step = d1 - d0;
        sums[0][lane] += step * (h1 + h0);
        sums[1][lane] += step * (h1 * (2.0 * d1 + d0) + h0 * (d1 + 2.0 * d0));
        let rest = line.length - d1;
        let over = h1 - (line.start + line.slope * d1);
        let product = d1 * rest;
        let both = 1.0 / product;
        let x = over + line.bulge * product;
        let from_start = rest * both;
        let from_end = d1 * both;
        most.0[0][lane] = greater(x * from_start, most.0[0][lane]);
        most.0[1][lane] = greater(x * from_end, most.0[1][lane]);
        most.0[2][lane] = greater(x * x.abs() * both, most.0[2][lane]);
        most.0[3][lane] = greater(over, most.0[3][lane]);
        most.0[4][lane] = greater(over * from_start, most.0[4][lane]);
        most.0[5][lane] = greater(over * from_end, most.0[5][lane]);
    };
    let (d0, d0_rest) = d[..last - 1].as_chunks::<LANES>();
    let (d1, d1_rest) = d[1..last].as_chunks::<LANES>();
    let (h0, h0_rest) = h[..last - 1].as_chunks::<LANES>();
    let (h1, h1_rest) = h[1..last].as_chunks::<LANES>();
    for (((d0, d1), h0), h1) in d0.iter().zip(d1).zip(h0).zip(h1) {
        for lane in 0..LANES {
            point(lane, d0[lane], d1[lane], h0[lane], h1[lane]);
        }
    }
    for (((d0, d1), h0), h1) in d0_rest.iter().zip(d1_rest).zip(h0_rest).zip(h1_rest) {
        point(0, *d0, *d1, *h0, *h1);
    }
    let step = d[last] - d[last - 1];
    let v1 = step * (h[last] + h[last - 1]);
    let v2 = step * (h[last] * (2.0 * d[last] + d[last - 1]) + h[last - 1] * (d[last] + 2.0 * d[last - 1]));
    let surface = Surface {
        v1: v1 + sums[0].iter().sum::<f64>(),
        v2: v2 + sums[1].iter().sum::<f64>(),
        over: most.greatest(3),
        angle_start: most.greatest(4),
        angle_end: most.greatest(5),
    };
    (Seen { from_start: most.greatest(0), from_end: most.greatest(1), square: most.greatest(2) }, surface)
}

/// What stands out of the smooth surface, whose heights are all zero, at the profile's points.
///
/// All three measures rise to one maximum along the path and fall beyond it, so only the points
/// on both sides of it need a look: angles over the line from the start at sqrt(start / bulge),
/// from the end as far from there, and the closest point where the measure of P.526 section 3.2
/// changes sign, which is convex up to the middle and concave beyond and so does it once.
fn survey_smooth(d: &[f64], line: &Line) -> Seen {
    let inner = &d[1..d.len() - 1];
    let (length, sum) = (line.length, line.start + line.end);
    let most = |at: usize, of: &dyn Fn(f64) -> f64| {
        let near = inner[at.saturating_sub(1)..(at + 1).min(inner.len())].iter();
        near.map(|d| of(*d)).fold(f64::NEG_INFINITY, greater)
    };
    let over = |d: f64| line.bulge * d * (length - d) - (line.start + line.slope * d);
    let (from1, from2) = ((line.start / line.bulge).sqrt(), length - (line.end / line.bulge).sqrt());
    let closest = |d: f64| {
        let t = d / length;
        sum * t - line.start + line.bulge * d * (length - d) * (2.0 * t - 1.0) < 0.0
    };
    Seen {
        from_start: most(inner.partition_point(|d| *d < from1), &|d| over(d) / d),
        from_end: most(inner.partition_point(|d| *d < from2), &|d| over(d) / (length - d)),
        square: most(inner.partition_point(|d| closest(*d)), &|d| {
            let x = over(d);
            x * x.abs() / (d * (length - d))
        }),
    }
}

/// Bullington's edge in the units of the theory, and the loss; P.526-16 4.5.1.
fn bullington(line: &Line, seen: &Seen, d: &[f64], frequency: Mhz) -> (f64, f64) {
    let double = 2.0 * line.length / frequency.wavelength().0;
    let angles = seen.from_start + seen.from_end;
    let nu = if seen.from_start < 0.0 || angles <= 0.0 {
        // The ends see each other: the worst point.
        seen.square.signum() * (seen.square.abs() * double).sqrt()
    } else {
        // They don't: where the lines to both horizons meet.
        let at = (line.length * seen.from_end / angles).clamp(d[1], d[d.len() - 2]);
        seen.from_start * at * (double / (at * (line.length - at))).sqrt()
    };
    let edge = approximate(nu);
    (nu, edge - (-edge / 6.0).exp_m1() * (10.0 + 0.02 * line.length / 1e3))
}
