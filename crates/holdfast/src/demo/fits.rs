//! How some of the invented club's aircraft are fitted out, and what was proven on them.

use register::fit::{Part, Proof, Work};

/// A part of a fit: days ago, aircraft, part, text.
pub(super) const FITTED: &[(i64, &str, Part, &str)] = &[
    (64, "A1", Part::Outputs, include_str!("fits/a1.outputs.toml")),
    (64, "A1", Part::Supply, include_str!("fits/a1.supply.toml")),
    (63, "A1", Part::Failsafe, include_str!("fits/a1.failsafe.toml")),
    (63, "A1", Part::Antennas, include_str!("fits/a1.antennas.toml")),
    (50, "A3", Part::Supply, include_str!("fits/a3.supply.toml")),
    (45, "A5", Part::Outputs, include_str!("fits/a5.outputs.toml")),
    (33, "A19", Part::Outputs, include_str!("fits/a19.outputs.toml")),
    (33, "A19", Part::Supply, include_str!("fits/a19.supply.toml")),
    (32, "A19", Part::Failsafe, include_str!("fits/a19.failsafe.toml")),
];

/// A proof that was tried.
#[derive(Clone, Copy, Debug)]
pub(super) struct Proven {
    pub(super) days: i64,
    pub(super) code: &'static str,
    pub(super) proof: Proof,
    /// Empty where no transmitter matters.
    pub(super) transmitter: &'static str,
    pub(super) held: bool,
    pub(super) measured: &'static [(&'static str, f64)],
    pub(super) note: &'static str,
}

const fn held(
    days: i64,
    code: &'static str,
    proof: Proof,
    transmitter: &'static str,
    measured: &'static [(&'static str, f64)],
) -> Proven {
    Proven { days, code, proof, transmitter, held: true, measured, note: "" }
}

/// The proofs.
pub(super) const PROVEN: &[Proven] = &[
    held(62, "A1", Proof::Directions, "T1", &[]),
    held(62, "A1", Proof::Supply, "", &[("at_rest_v", 5.18), ("stirred_v", 4.96)]),
    held(62, "A1", Proof::Failsafe, "T1", &[("control_back_s", 0.9)]),
    held(62, "A1", Proof::Range, "T1", &[("distance_m", 48.0), ("reduction_db", 20.0)]),
    held(20, "A1", Proof::Failsafe, "T1", &[("control_back_s", 1.0)]),
    held(20, "A1", Proof::Range, "T1", &[("distance_m", 46.0), ("reduction_db", 20.0)]),
    Proven {
        days: 31,
        code: "A19",
        proof: Proof::Supply,
        transmitter: "",
        held: false,
        measured: &[("at_rest_v", 4.9), ("stirred_v", 3.4)],
        note: "The receiver went dark when both sticks were stirred.",
    },
];

/// Work that was noted: days ago, device, what, words.
pub(super) const WORKED: &[(i64, &str, Work, &str)] = &[
    (61, "A1", Work::PackPlace, "Moved forward by a thumb's width."),
    (12, "A1", Work::HardLanding, "The visiting pupil."),
];

/// When A1 was signed off with T1, days ago.
pub(super) const SIGNED: (i64, &str, &str) = (20, "A1", "T1");
