//! The packet modes of a family file.

use units::{Dbm, Hertz, Khz, Micros};

use super::super::{Band, ChipKind, HeaderKind, InterleavingKind, Mode, Modulation, PacketFormat, squeeze};
use crate::desk::telling::shown;
use crate::desk::{Desk, Keys, Section};

const MODE: Keys = &[
    ("name", "\"120 Hz\""),
    ("bands", "[\"2.4 GHz\"]"),
    ("modulation", "\"css\""),
    ("spreading_factor", "7"),
    ("bandwidth_khz", "812.5"),
    ("coding_rate", "5"),
    ("preamble_symbols", "12"),
    ("header", "\"implicit\""),
    ("crc", "true"),
    ("interleaving", "\"standard\""),
    ("packet_format", "\"2g4\""),
    ("bit_rate_kbps", "100"),
    ("deviation_khz", "47.6"),
    ("sensitivity_dbm", "-105"),
    ("occupied_khz", "400"),
    ("airtime_us", "1800"),
    ("packet_rate_hz", "120"),
    ("payload_bytes", "10"),
    ("hop_every", "1"),
    ("telemetry_one_in", "[5, 20]"),
];

/// Every table of keys here, by its header.
#[cfg(test)]
pub(super) const ALL: &[(&str, Keys)] = &[("[[mode]]", MODE)];

/// How a mode's section says it modulates.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    Css,
    Fsk,
    Stated,
}

pub(super) fn modes(desk: &mut Desk<'_>, top: &Section<'_>, bands: &[Band]) -> Vec<Mode> {
    let mut out: Vec<Mode> = Vec::new();
    for section in top.sections(desk, "mode", MODE) {
        let name = section.need(desk, "name").filled(desk).unwrap_or_default();
        if !name.is_empty() && out.iter().any(|mode| squeeze(&mode.name) == squeeze(&name)) {
            let says =
                format!("says \"{}\", which names another mode already; give it another name", shown(&name));
            section.get("name").report(desk, says);
        }
        let on = mode_bands(desk, &section, bands);
        let modulation = modulation(desk, &section);
        let packet = packet(desk, &section, &modulation, &on, bands);
        let packet_rate =
            section.need(desk, "packet_rate_hz").number(desk, 0.01, 100_000.0).unwrap_or_default();
        let payload_bytes = section.need(desk, "payload_bytes").whole(desk, 1, 65_535).unwrap_or_default();
        let hop_every = section.get("hop_every").whole(desk, 1, 1_000);
        let shares = section.get("telemetry_one_in").list(desk);
        let telemetry_one_in = shares.iter().filter_map(|item| item.whole(desk, 1, 100_000)).collect();
        out.push(Mode {
            name,
            bands: on,
            modulation,
            packet,
            packet_rate: Hertz(packet_rate),
            payload_bytes,
            hop_every,
            telemetry_one_in,
        });
    }
    out
}

fn mode_bands(desk: &mut Desk<'_>, section: &Section<'_>, bands: &[Band]) -> Vec<String> {
    let mut out = Vec::new();
    for item in section.get("bands").list(desk) {
        let Some(text) = item.filled(desk) else { continue };
        let wanted = squeeze(&text);
        let band = bands.iter().find(|band| {
            squeeze(&band.name) == wanted || band.also.iter().any(|also| squeeze(also) == wanted)
        });
        if let Some(band) = band {
            out.push(band.name.clone());
        } else {
            let known: Vec<String> =
                bands.iter().take(5).map(|band| format!("\"{}\"", shown(&band.name))).collect();
            let says = format!(
                "is \"{}\", and no [[band]] is called that; the bands are {}",
                shown(&text),
                known.join(", ")
            );
            desk.report(item.line, item.key, says);
        }
    }
    out
}

fn modulation(desk: &mut Desk<'_>, section: &Section<'_>) -> Modulation {
    const CSS: [&str; 8] = [
        "spreading_factor",
        "bandwidth_khz",
        "coding_rate",
        "preamble_symbols",
        "header",
        "crc",
        "interleaving",
        "packet_format",
    ];
    const FSK: [&str; 2] = ["bit_rate_kbps", "deviation_khz"];
    const STATED: [&str; 3] = ["sensitivity_dbm", "occupied_khz", "airtime_us"];
    let way = section
        .need(desk, "modulation")
        .choice(desk, &[("css", Way::Css), ("fsk", Way::Fsk), ("stated", Way::Stated)]);
    for (one, names) in [(Way::Css, &CSS[..]), (Way::Fsk, &FSK[..]), (Way::Stated, &STATED[..])] {
        if way.is_some_and(|way| way != one) {
            let word = match one {
                Way::Css => "css",
                Way::Fsk => "fsk",
                Way::Stated => "stated",
            };
            section.only_with(desk, names, &format!("modulation = \"{word}\""));
        }
    }
    match way {
        Some(Way::Css) => Modulation::Css {
            spreading_factor: section.need(desk, "spreading_factor").whole(desk, 5, 12).unwrap_or_default(),
            bandwidth: Khz(section
                .need(desk, "bandwidth_khz")
                .number(desk, 0.1, 100_000.0)
                .unwrap_or_default()),
            coding_rate: section.get("coding_rate").whole(desk, 5, 8).unwrap_or(5),
        },
        Some(Way::Fsk) => Modulation::Fsk {
            bit_rate_kbps: section
                .need(desk, "bit_rate_kbps")
                .number(desk, 0.01, 100_000.0)
                .unwrap_or_default(),
            deviation: Khz(section
                .need(desk, "deviation_khz")
                .number(desk, 0.01, 100_000.0)
                .unwrap_or_default()),
        },
        Some(Way::Stated) => Modulation::Stated {
            sensitivity: Dbm(section
                .need(desk, "sensitivity_dbm")
                .number(desk, -200.0, 0.0)
                .unwrap_or_default()),
            occupied: section.get("occupied_khz").number(desk, 0.1, 100_000.0).map(Khz),
            airtime: section.get("airtime_us").number(desk, 1.0, 100_000_000.0).map(Micros),
        },
        None => Modulation::Stated { sensitivity: Dbm(0.0), occupied: None, airtime: None },
    }
}

/// The format of a chirp packet; `on` are the bands that the mode names, none for all.
fn packet(
    desk: &mut Desk<'_>,
    section: &Section<'_>,
    modulation: &Modulation,
    on: &[String],
    bands: &[Band],
) -> PacketFormat {
    let Modulation::Css { coding_rate, .. } = modulation else { return PacketFormat::default() };
    let packet = PacketFormat {
        preamble_symbols: section.get("preamble_symbols").whole(desk, 1, 65_535),
        header: section.get("header").choice(desk, &HeaderKind::ALL.map(|one| (one.word(), one))),
        crc: section.get("crc").flag(desk),
        interleaving: section
            .get("interleaving")
            .choice(desk, &InterleavingKind::ALL.map(|one| (one.word(), one))),
        chip: section.get("packet_format").choice(desk, &ChipKind::ALL.map(|one| (one.word(), one))),
    };
    if packet.interleaving == Some(InterleavingKind::Long) {
        let slot = section.get("interleaving");
        if *coding_rate == 7 {
            slot.report(
                desk,
                "is \"long\", which no chip has at coding rate 4/7; write \"standard\", or another coding_rate",
            );
        }
        let below = bands
            .iter()
            // A band whose edge is wrong or missing is told already.
            .filter(|band| band.low.0 > 0.0 && (on.is_empty() || on.contains(&band.name)))
            .find(|band| packet.chip_on(band) == ChipKind::SubGhz);
        if let Some(band) = below {
            let says = format!(
                "is \"long\", which packets on \"{}\" can't be: only the 2.4 GHz chip generation has it; \
                 write \"standard\", or packet_format = \"2g4\"",
                shown(&band.name)
            );
            slot.report(desk, says);
        }
    }
    packet
}
