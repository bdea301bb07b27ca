//! Small clubs, each with what is wished of it, by a number.

use refits::ask::Question;
use register::field::{Field, Part};
use register::refit::{Reach, Wish};

use super::club::{self, Club, evenings, main_of, secret};
use super::draw::Draw;

/// A small club and what is wished of it, by a number.
#[expect(clippy::too_many_lines, reason = "one draw after the other")]
pub fn drawn(number: u64) -> (Club, Question) {
    let mut draw = Draw::new(number);
    let mut club = Club::new();
    let families = ["Alder", "Birch", "Cedar"];
    let two = draw.ratio() < 0.5;
    let family = families[draw.whole(0, 3)];
    let versions: &[&str] = match family {
        "Alder" => &["3.5", "3.9", "4.2", "4.6"],
        "Birch" => &["1.8", "2.4", "2.9"],
        _ => &["1"],
    };
    let version = versions[draw.whole(0, versions.len())];
    let mark = (family != "Birch")
        .then(|| if draw.ratio() < 0.3 { register::value::SecretMark::Blank } else { secret(7) });
    let mut transmitters = vec![club.transmitter("T1", family, version, mark.clone())];
    if two {
        let same = draw.ratio() < 0.7;
        let other = if same { family } else { families[draw.whole(0, 3)] };
        let version = if other == family { version } else { "2.9" };
        let mark = (other != "Birch").then(|| mark.clone().unwrap_or_else(|| secret(7)));
        let version = if other == "Cedar" {
            "1"
        } else if other == "Alder" && version == "2.9" {
            "4.2"
        } else {
            version
        };
        transmitters.push(club.transmitter("T2", other, version, mark));
    }
    let count = draw.whole(1, 4);
    let mut crafts = Vec::new();
    let mut receivers = Vec::new();
    for at in 0..count {
        let t = transmitters[draw.whole(0, transmitters.len())];
        let fleet = club.fleet();
        let end = &fleet.transmitter(t).unwrap().ends[0];
        let (name, version, mark) = (
            end.family.one().unwrap().clone(),
            end.firmware.one().unwrap().clone(),
            end.secret.one().cloned(),
        );
        let id = u32::try_from(at + 1).unwrap();
        let broken = draw.ratio() < 0.15;
        let version = if broken && name == "Alder" { "3.9".to_owned() } else { version };
        let (craft, receiver) = club.aircraft(&id.to_string(), &name, &version, mark, id);
        club.memory(t, craft, id);
        club.pair(receiver, t);
        if draw.ratio() < 0.35 && transmitters.len() == 2 {
            let other = transmitters[usize::from(t == transmitters[0])];
            club.memory(other, craft, id);
            if name != "Alder" {
                club.pair(receiver, other);
            }
        }
        if draw.ratio() < 0.2 {
            club.read(receiver, Part::Whole, vec![(Field::Model, club::text("tiny"))]);
        }
        crafts.push(craft);
        receivers.push(receiver);
    }
    let mut wishes = Vec::new();
    match draw.whole(0, 5) {
        0 => {
            let version = match family {
                "Alder" => ["4.6", "5.0", "4.2"][draw.whole(0, 3)],
                "Birch" => ["3.4", "2.4", "2.9"][draw.whole(0, 3)],
                _ => "2",
            };
            wishes.push(Wish::Version { end: main_of(transmitters[0]), version: version.to_owned() });
        }
        1 => wishes.push(Wish::Newest { family: family.to_owned() }),
        2 if family != "Birch" => {
            wishes.push(Wish::Secret { on: Reach::Ends(vec![main_of(transmitters[0])]), mark: secret(9) });
        }
        3 => wishes.push(Wish::AllPair),
        _ => {
            let fleet = club.fleet();
            let name = fleet.receiver(receivers[0]).unwrap().ends[0].family.one().unwrap().clone();
            let version = match name.as_str() {
                "Alder" => "4.6",
                "Birch" => "2.9",
                _ => "2",
            };
            wishes.push(Wish::Version { end: main_of(receivers[0]), version: version.to_owned() });
        }
    }
    if draw.ratio() < 0.3 {
        wishes.push(Wish::AllPair);
    }
    let count = draw.whole(1, 4);
    wishes.push(evenings(count, [25.0, 40.0, 60.0, 90.0][draw.whole(0, 4)]));
    if draw.ratio() < 0.25 {
        wishes.push(Wish::Grounded { most: u32::try_from(draw.whole(0, 2)).unwrap() });
    }
    if draw.ratio() < 0.25 {
        let after = u32::try_from(draw.whole(1, count + 1)).unwrap();
        wishes.push(Wish::Fly { aircraft: crafts[0], after });
    }
    if draw.ratio() < 0.3 {
        for receiver in &receivers {
            wishes.push(Wish::Replace { receiver: *receiver, by: None, cost: 30 });
        }
    }
    if draw.ratio() < 0.2 {
        wishes.push(Wish::Cover { aircraft: crafts[0], minutes: units::Minutes(14.0) });
    }
    (club, Question::new(wishes))
}
