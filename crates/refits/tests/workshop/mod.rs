//! Workshops of a real size, drawn: transmitters and aircraft of three families, each family with
//! a wish of its own.

use register::field::{Field, Part};
use register::id::DeviceId;
use register::refit::{Reach, Wish};
use register::value::Value;
use units::Minutes;

use super::club::{Club, evenings, secret};
use super::draw::Draw;

/// A workshop of so many transmitters and aircraft, with what is wished of it.
pub fn workshop(
    seed: u64,
    transmitters: usize,
    aircraft: usize,
    nights: usize,
    minutes: f64,
) -> (Club, Vec<Wish>) {
    let mut draw = Draw::new(seed);
    let mut club = Club::new();
    let families = ["Alder", "Birch", "Cedar"];
    let versions = ["4.2", "1.8", "1"];
    let mark = |family: usize| (family != 1).then(|| secret(7));
    let sets: Vec<(DeviceId, usize)> = (0..transmitters)
        .map(|at| {
            let family = at % 3;
            let code = format!("T{}", at + 1);
            (club.transmitter(&code, families[family], versions[family], mark(family)), family)
        })
        .collect();
    let mut wishes = vec![
        Wish::Newest { family: "Birch".to_owned() },
        Wish::Secret { on: Reach::Family("Cedar".to_owned()), mark: secret(9) },
    ];
    for (transmitter, _) in sets.iter().filter(|(_, family)| *family == 0) {
        let end = super::club::main_of(*transmitter);
        wishes.push(Wish::Version { end, version: "5.0".to_owned() });
    }
    for at in 0..aircraft {
        let id = u32::try_from(at % 49 + 1).unwrap_or(1);
        let (transmitter, family) = sets[draw.whole(0, sets.len())];
        let code = (at + 1).to_string();
        let (craft, receiver) = club.aircraft(&code, families[family], versions[family], mark(family), id);
        let mut flown_by = vec![transmitter];
        // Some are flown with two.
        let others: Vec<DeviceId> = sets
            .iter()
            .filter(|(other, of)| *of == family && *other != transmitter)
            .map(|one| one.0)
            .collect();
        if !others.is_empty() && draw.ratio() < 0.3 {
            flown_by.push(others[draw.whole(0, others.len())]);
        }
        for (number, transmitter) in flown_by.into_iter().enumerate() {
            let key = format!("m{}", at + 1);
            club.read(
                transmitter,
                Part::Memory(key),
                vec![
                    (Field::Aircraft, Value::Device(craft)),
                    (Field::ModelId, Value::Number(id)),
                    (Field::End, Value::Text(Part::MAIN.to_owned())),
                ],
            );
            if number == 0 || family != 0 {
                club.pair(receiver, transmitter);
            }
        }
        if draw.ratio() < 0.5 {
            #[expect(clippy::cast_precision_loss, reason = "a few minutes")]
            let minutes = Minutes(draw.whole(2, 16) as f64);
            wishes.push(Wish::Cover { aircraft: craft, minutes });
        }
    }
    wishes.push(evenings(nights, minutes));
    (club, wishes)
}
