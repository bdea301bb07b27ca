//! Gear for tests: invented modes with the public chips' modulation.

use link::css::{Chip, Css};
use link::law::Access;
use link::mode::{Mode, Modulation};
use link::wish::{Gear, GearMode};
use units::{Hertz, Khz, Mhz, Milliwatts, Seconds};

/// A chirp mode at 2.4 GHz.
pub fn mode(name: &str, sf: u8, rate_hz: f64) -> GearMode {
    GearMode {
        mode: Mode {
            name: name.to_owned(),
            modulation: Modulation::Css(Css::neutral(Chip::Ghz2g4, sf, Khz(812.5), 5)),
            packet_rate: Hertz(rate_hz),
            payload_bytes: 12,
            telemetry_one_in: None,
        },
        shares: vec![4, 16, 64],
        hop_every: Some(4),
    }
}

/// Three modes at 2.4 GHz.
pub fn brook() -> Gear {
    Gear {
        family: "Test".to_owned(),
        band: "2.4 GHz".to_owned(),
        low: Mhz(2400.0),
        high: Mhz(2483.5),
        channels: Some(36),
        spacing: Some(Khz(2200.0)),
        access: Access::None,
        noise_figure: None,
        modes: vec![mode("Rapid", 5, 300.0), mode("Brook", 6, 180.0), mode("Mere", 8, 60.0)],
        power_steps: vec![Milliwatts(8.0), Milliwatts(40.0), Milliwatts(90.0)],
        telemetry_power: Some(Milliwatts(20.0)),
        failsafe_after: Some(Seconds(0.6)),
    }
}
