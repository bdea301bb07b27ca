//! Loss behind what stands in the way: knife edges, the smooth Earth, whole profiles.
//!
//! Source throughout: Rec. ITU-R P.526-16 (11/2025), whose complete method for profiles is the
//! one of Rec. ITU-R P.452-18 section 4.2 and P.1812-8 section 4.3; written from the
//! equations as independent implementations of these give them.

mod bullington;
mod knife;
mod smooth;

pub use bullington::{Diffraction, delta_bullington};
pub(crate) use bullington::{Way, complete};
pub(crate) use knife::{EDGE, NU};
pub use knife::{knife_edge, knife_edge_exact, knife_edge_nu};
pub(crate) use smooth::Sphere;
pub use smooth::spherical_loss;

use units::{Metres, Mhz};

use crate::bounds::{Bound, OutOfRange};

/// Where the method may be asked.
pub(crate) const FREQUENCY: Bound = Bound {
    name: "frequency_mhz",
    unit: "MHz",
    low: 25.0,
    high: 50_000.0,
    why: "Rec. ITU-R P.452 takes the method up to 50 GHz",
};

/// The Earth's radius as bent rays see it.
pub(crate) const RADIUS: Bound = Bound {
    name: "effective_radius_km",
    unit: "km",
    low: 1900.0,
    high: 650_000.0,
    why: "0.3 to 100 times the Earth's radius",
};

fn check(frequency: Mhz, h1: Metres, h2: Metres, effective_radius: Metres) -> Result<(), OutOfRange> {
    FREQUENCY.check(frequency.0)?;
    crate::bounds::HEIGHT.check_as("height_tx_m", h1.0)?;
    crate::bounds::HEIGHT.check_as("height_rx_m", h2.0)?;
    RADIUS.check(effective_radius.0 / 1e3)?;
    Ok(())
}
