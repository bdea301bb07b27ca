//! Loss along one path, from the antenna at the ground to the aircraft: free space, and what
//! ground, hills and trees do to it.
//!
//! Where the path is clear, the ground is a mirror (two rays); where it isn't, diffraction
//! tells the loss, and already holds the ground's. The two are joined by how clear the path
//! is, never added.

use units::{Db, Degrees, Metres, Mhz};

use crate::bounds::{Bound, DISTANCE, EARTH_K, FREQUENCY, HEIGHT, OutOfRange, TREES};
use crate::diffraction::{Sphere, Way, complete};
use crate::free_space;
use crate::ground::{Ground, Polarisation, two_rays};
use crate::horizon::effective_radius;
use crate::profile::Profile;
use crate::vegetation::{TreeModel, vegetation_loss};

/// How rough the ground is taken to be where it is a mirror: 5 cm, standard deviation.
///
/// Grass, furrows and tracks; a judgement, no source. It takes the sharpness from the maxima
/// and nulls of paths that meet the ground steeply and leaves flat ones as they are.
pub const ROUGHNESS: Metres = Metres(0.05);

/// The deepest null between the two rays that is reckoned with: 20 dB under free space.
///
/// A judgement, no source: an aircraft in motion flies through a null's depth in a fraction of
/// a metre, so that a deeper one is part of the fading, not of the path.
pub const DEEPEST_NULL: Db = Db(20.0);

/// One path between the ground and the air.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    /// The antenna of the person on the ground, above the ground there.
    pub ground_height: Metres,
    /// The aircraft's antenna, above the ground under it.
    pub air_height: Metres,
    /// The direction of the electric field.
    pub polarisation: Polarisation,
    /// The ground along the path.
    pub ground: Ground,
    /// The Earth's effective radius over its true one: 4/3 on average.
    pub earth_k: f64,
    /// The ground's heights; none for a smooth Earth. It begins under the person's antenna.
    pub profile: Option<Profile>,
    /// Trees in the way.
    pub trees: Option<Trees>,
}

/// Trees in the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trees {
    /// Which fit to reckon with.
    pub model: TreeModel,
    /// How far the path runs through them; of a shorter path, all of it.
    pub depth: Metres,
}

/// Loss along a path, and its parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PathLoss {
    /// In free space over the slant distance.
    pub free_space: Db,
    /// What the ground adds, as a mirror or an obstacle; negative where it helps.
    pub ground: Db,
    /// What the trees add.
    pub trees: Db,
    /// All together.
    pub total: Db,
    /// The distance between the antennas.
    pub slant: Metres,
    /// The least clearance over 0.552 of the first Fresnel radius: from 1 the path is clear,
    /// below 0 something stands in the line of sight.
    pub clearance: f64,
    /// How much of `ground` is diffraction: 0 is two rays alone, 1 is diffraction alone.
    pub diffraction_share: f64,
    /// How high the aircraft stands above the horizontal of the person on the ground.
    pub elevation: Degrees,
}

/// Ground as mirror and as obstacle, and how much of each.
struct Terrain {
    mirror: Db,
    obstacle: Db,
    clearance: f64,
    share: f64,
    /// How much higher the aircraft's antenna is than the person's.
    rise: f64,
}

impl Path {
    /// A path over level average land without trees, at k = 4/3, vertical polarisation.
    pub fn level(ground_height: Metres, air_height: Metres) -> Path {
        Path {
            ground_height,
            air_height,
            polarisation: Polarisation::Vertical,
            ground: Ground::AVERAGE_LAND,
            earth_k: 4.0 / 3.0,
            profile: None,
            trees: None,
        }
    }

    /// Whether everything but the distance lies in its range.
    ///
    /// # Errors
    /// [`OutOfRange`] for what doesn't.
    pub fn check(&self) -> Result<(), OutOfRange> {
        HEIGHT.check_as("ground_height_m", self.ground_height.0)?;
        HEIGHT.check_as("air_height_m", self.air_height.0)?;
        self.ground.check()?;
        EARTH_K.check(self.earth_k)?;
        if let Some(trees) = &self.trees {
            TREES.check_as("trees_depth_m", trees.depth.0)?;
        }
        Ok(())
    }

    /// Loss between isotropic antennas with the aircraft `distance` away along the ground.
    ///
    /// On a profile the aircraft stands over the profile at that distance. `ground` is, by the
    /// weight of clearance (a smooth step from 1 to 0 over 0.552 of the first Fresnel radius):
    ///
    /// - two rays (Rappaport 4.6, from memory) over the smooth Earth or the smooth surface laid
    ///   through the profile (Rec. ITU-R P.526-16 section 4.5.2), from the heights over the tangent
    ///   plane where the ray is thrown back, the mirrored field lessened by [`ROUGHNESS`] as
    ///   exp(-8 (pi s sin psi / lambda)^2) (Ament 1953; Rappaport chapter 4, from memory), nulls no
    ///   deeper than [`DEEPEST_NULL`];
    /// - diffraction: P.526-16 section 3.2 on the smooth Earth, 4.5.2 on a profile.
    ///
    /// The joining is the project's own. Changes smoothly with distance.
    ///
    /// # Errors
    /// [`OutOfRange`] for a frequency, a distance, or anything of the path outside its range;
    /// also for a distance beyond the profile's end.
    pub fn loss(&self, frequency: Mhz, distance: Metres) -> Result<PathLoss, OutOfRange> {
        FREQUENCY.check(frequency.0)?;
        DISTANCE.check(distance.0)?;
        self.check()?;
        let radius = effective_radius(self.earth_k)?;
        let sphere = Sphere::new(frequency, radius, self.polarisation, &self.ground);
        let terrain = match &self.profile {
            None => self.smooth(frequency, distance.0, radius, &sphere),
            Some(profile) => self.rough(profile, frequency, distance.0, radius, &sphere)?,
        };
        let slant = Metres(distance.0.hypot(terrain.rise));
        let trees = match &self.trees {
            None => Db::ZERO,
            Some(trees) => {
                let depth = Metres(trees.depth.0.min(distance.0));
                vegetation_loss(trees.model, frequency, depth)?.loss
            }
        };
        let free_space = free_space::loss(frequency, slant);
        let ground = terrain.mirror * (1.0 - terrain.share) + terrain.obstacle * terrain.share;
        let elevation = (terrain.rise / distance.0 - distance.0 / (2.0 * radius.0)).atan();
        Ok(PathLoss {
            free_space,
            ground,
            trees,
            total: free_space + ground + trees,
            slant,
            clearance: terrain.clearance,
            diffraction_share: terrain.share,
            elevation: Degrees(elevation.to_degrees()),
        })
    }

    /// Over a smooth Earth.
    fn smooth(&self, frequency: Mhz, d: f64, radius: Metres, sphere: &Sphere) -> Terrain {
        let (h1, h2) = (self.ground_height.0, self.air_height.0);
        let clearance = smooth_clearance(sphere, frequency, d, (h1, h2), radius);
        let share = share(clearance);
        Terrain {
            mirror: if share < 1.0 { self.mirror(frequency, d, (h1, h2), radius, sphere) } else { Db::ZERO },
            obstacle: if share > 0.0 { Db(sphere.loss(d / 1e3, h1, h2)) } else { Db::ZERO },
            clearance,
            share,
            rise: h2 - h1,
        }
    }

    /// Over the first part of a profile.
    fn rough(
        &self,
        profile: &Profile,
        frequency: Mhz,
        d: f64,
        radius: Metres,
        sphere: &Sphere,
    ) -> Result<Terrain, OutOfRange> {
        let (distances, heights) = first_part(profile, d)?;
        let way = Way {
            distances_m: &distances,
            heights_m: &heights,
            h1: self.ground_height.0,
            h2: self.air_height.0,
        };
        let found = complete(&way, frequency, radius, sphere);
        let (start, end) = (heights[0] + way.h1, heights[heights.len() - 1] + way.h2);
        let over = (start - found.smooth_h1.0, end - found.smooth_h2.0);
        let clearance = -found.nu / CLEAR_NU;
        // Two rays need both: a clear path, and a surface that is far enough below it.
        let share = share(clearance.min(smooth_clearance(sphere, frequency, d, over, radius)));
        Ok(Terrain {
            mirror: if share < 1.0 { self.mirror(frequency, d, over, radius, sphere) } else { Db::ZERO },
            obstacle: found.loss,
            clearance,
            share,
            rise: end - start,
        })
    }

    /// Loss over free space with the ground as a mirror.
    fn mirror(&self, frequency: Mhz, d: f64, (h1, h2): (f64, f64), radius: Metres, sphere: &Sphere) -> Db {
        let at = sphere.nearest(d / 1e3, h1, h2);
        let drop = |km: f64| 0.5e6 * km * km / radius.0;
        let heights = ((h1 - drop(at.d1)).max(1e-3), (h2 - drop(at.d2)).max(1e-3));
        let rays = two_rays(frequency, d, heights, self.polarisation, &self.ground);
        let rough = std::f64::consts::PI * ROUGHNESS.0 * rays.grazing_sin / frequency.wavelength().0;
        let excess = rays.excess(frequency, (-8.0 * rough * rough).exp());
        // Under half a wave the rays don't cut each other out, they fade together.
        if rays.turn(frequency) > std::f64::consts::PI && excess > DEEPEST_NULL {
            DEEPEST_NULL
        } else {
            excess
        }
    }
}

/// 0.552 of the first Fresnel radius in the units of the knife edge, 0.552 sqrt(2).
const CLEAR_NU: f64 = 0.552 * std::f64::consts::SQRT_2;

/// How much diffraction counts: all of it without clearance, none of it with enough.
fn share(clearance: f64) -> f64 {
    let c = clearance.clamp(0.0, 1.0);
    1.0 - c * c * (3.0 - 2.0 * c)
}

/// The smooth Earth's least clearance over 0.552 of the first Fresnel radius; beyond the horizon
/// that of the edge where the lines to both horizons meet.
fn smooth_clearance(sphere: &Sphere, frequency: Mhz, d: f64, (h1, h2): (f64, f64), radius: Metres) -> f64 {
    if d / 1e3 < sphere.horizon(h1, h2) {
        let at = sphere.nearest(d / 1e3, h1, h2);
        return at.clear / at.needed;
    }
    // Angles over the line of the rays that graze the Earth, in metres a metre.
    let angle = |h: f64, other: f64| d / (2.0 * radius.0) - (2.0 * h / radius.0).sqrt() + (h - other) / d;
    let (from1, from2) = (angle(h1, h2), angle(h2, h1));
    if from1 + from2 <= 0.0 {
        return 0.0;
    }
    let at = (d * from2 / (from1 + from2)).clamp(0.0, d);
    let wave = (frequency.wavelength().0 * at * (d - at) / d).sqrt();
    if wave > 0.0 { -from1.max(0.0) * at / (crate::horizon::CLEAR_SHARE * wave) } else { 0.0 }
}

/// The points of a profile up to `d`, its end drawn in between two points.
///
/// The middle of the first stretch counts as a point, so that even the shortest part has one
/// between its ends and nothing changes by a step when `d` passes a point.
fn first_part(profile: &Profile, d: f64) -> Result<(Vec<f64>, Vec<f64>), OutOfRange> {
    let length = profile.length().0;
    let end = Bound {
        name: "distance_m",
        unit: "m",
        low: DISTANCE.low,
        high: length,
        why: "the profile ends there; give a longer one",
    };
    end.check(d)?;
    let (have_d, have_h) = (profile.distances_m(), profile.heights_m());
    let inside = have_d.partition_point(|at| *at < d);
    let (mut distances, mut heights) = (Vec::with_capacity(inside + 2), Vec::with_capacity(inside + 2));
    distances.extend_from_slice(&have_d[..inside]);
    heights.extend_from_slice(&have_h[..inside]);
    let (d0, d1) = (have_d[inside - 1], have_d[inside]);
    distances.push(d);
    heights.push(have_h[inside - 1] + (have_h[inside] - have_h[inside - 1]) * ((d - d0) / (d1 - d0)));
    distances.insert(1, distances[1] / 2.0);
    heights.insert(1, f64::midpoint(heights[0], heights[1]));
    Ok((distances, heights))
}
