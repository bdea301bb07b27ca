//! From a text's cells to a supply, with what is taken where nothing is given.

use std::collections::BTreeSet;

use link::wire::{Celsius, Gauge};
use units::{Amps, Metres, MilliampHours, Ohms, Volts};

use super::SCHEMA;
use super::data::{Chemistry, Class, chemistries, classes};
use super::model::{
    Charge, Doing, Join, KelvinPerWatt, Kind, Manoeuvre, Motor, Pack, Receiver, Regulator, Servo, Supply,
    Wire,
};
use crate::part::{self, Filled, Problem, Row};

/// How much of the flight all servos move where no manoeuvre is given (a judgement).
const MOVING_SHARE: f64 = 0.3;

impl Supply {
    /// Reads a supply's text; `origin` is what to call it in problems.
    ///
    /// # Errors
    /// Every problem, with its line and key.
    pub fn read(origin: &str, text: &str) -> Result<Supply, Vec<Problem>> {
        Supply::of(origin, &part::read(&SCHEMA, origin, text)?)
    }

    /// A supply from what was read.
    ///
    /// # Errors
    /// What can't be between cells: no pack or more than two, two packs without how they are joined,
    /// two of one name, a name that isn't there, shares above the whole, a receiver that resets above
    /// the voltage at which it surely works.
    pub fn of(origin: &str, filled: &Filled) -> Result<Supply, Vec<Problem>> {
        let mut desk = Desk { origin, problems: Vec::new(), taken: Vec::new() };
        let join = desk.join(filled);
        let mut packs = desk.packs(filled);
        desk.regulators(filled, &mut packs);
        desk.wires(filled, &mut packs);
        let receiver = desk.receiver(filled);
        let servos = desk.servos(filled);
        let manoeuvres = desk.manoeuvres(filled, &servos);
        let reserve =
            filled.one("supply").and_then(|row| row.number("reserve_percent")).unwrap_or(20.0) / 100.0;
        if !desk.problems.is_empty() {
            return Err(desk.problems);
        }
        Ok(Supply { packs, join, reserve, receiver, servos, manoeuvres, taken: desk.taken })
    }
}

struct Desk<'a> {
    origin: &'a str,
    problems: Vec<Problem>,
    taken: Vec<String>,
}

impl Desk<'_> {
    fn report(&mut self, row: &Row, key: &str, says: impl Into<String>) {
        self.problems.push(part::problem(self.origin, row, key, says));
    }

    fn join(&mut self, filled: &Filled) -> Join {
        let row = filled.one("supply");
        let packs = filled.rows("pack");
        let word = row.and_then(|row| row.text("join"));
        if packs.is_empty() {
            let says = "is missing; a supply has one pack or two, add [[pack]] with its chemistry and cells";
            let key = "pack".to_owned();
            self.problems.push(Problem {
                origin: self.origin.to_owned(),
                line: 0,
                key,
                says: says.to_owned(),
            });
        }
        if let Some(third) = packs.get(2) {
            self.report(third, "name", "is a third pack; one pack or two can be reckoned");
        }
        let of = |key| row.and_then(|row| row.number(key));
        match (word, packs.len()) {
            (None | Some("none"), 2) => {
                let says = "isn't given and there are two packs; say in [supply] how they are joined: join = \
                            \"diodes\", \"switch-over\" or \"parallel\"";
                match row {
                    Some(row) => self.report(row, "join", says),
                    None => self.report(&packs[1], "join", says),
                }
                Join::One
            }
            (Some("diodes"), 2) => Join::Diodes(Volts(of("diode_drop_v").unwrap_or(0.4))),
            (Some("switch-over"), 2) => Join::SwitchOver(Volts(of("switch_below_v").unwrap_or(4.5))),
            (Some("parallel"), 2) => Join::Parallel,
            (Some(word), 1) if word != "none" => {
                if let Some(row) = row {
                    self.report(
                        row,
                        "join",
                        format!("is {word} and there is one pack; add the second or leave it out"),
                    );
                }
                Join::One
            }
            _ => Join::One,
        }
    }

    fn packs(&mut self, filled: &Filled) -> Vec<Pack> {
        let rows = filled.rows("pack");
        let mut names = BTreeSet::new();
        let mut packs = Vec::new();
        for (place, row) in rows.iter().enumerate() {
            let unnamed = if rows.len() > 1 { format!("pack {}", place + 1) } else { "pack".to_owned() };
            let name = row.text("name").map_or(unnamed, str::to_owned);
            if !names.insert(name.clone()) {
                self.report(row, "name", format!("is {name}, as another pack; give each its own"));
            }
            let word = row.words("chemistry");
            let Some(chemistry) = chemistries().iter().find(|one| one.word == word) else { continue };
            packs.push(self.pack(row, name, chemistry));
        }
        packs
    }

    fn pack(&mut self, row: &Row, name: String, chemistry: &'static Chemistry) -> Pack {
        let capacity = row.number("capacity_mah").map(MilliampHours);
        let cell = row.number("cell_mohm").map_or_else(
            || {
                let ohms = chemistry.cell_resistance(capacity);
                self.taken.push(format!("{name}: {ohms} a cell ({})", chemistry.resistance_source));
                ohms
            },
            |milliohms| Ohms(milliohms / 1000.0),
        );
        // By half to three times with age and in the cold is common practice; the slopes are a
        // judgement.
        let ageing = row
            .number("age_factor")
            .or_else(|| row.number("age_years").map(|years| (1.0 + 0.25 * years).min(3.0)))
            .unwrap_or(1.0);
        let cold = row
            .number("temperature_c")
            .map_or(1.0, |celsius| (1.0 + (20.0 - celsius) / 20.0).clamp(1.0, 3.0));
        let state = match row.text("state") {
            Some("full") => Some(chemistry.full),
            Some("nominal") => Some(chemistry.nominal),
            Some("low") => Some(chemistry.low),
            _ => None,
        };
        if let Some(volts) = row.number("cell_v")
            && volts > chemistry.full.0 + 0.1
        {
            let says = format!(
                "is {volts} V, more than a full cell of {} has ({}); one cell's voltage is meant, not the pack's",
                chemistry.label, chemistry.full
            );
            self.report(row, "cell_v", says);
        }
        let motor = self.motor(row, &name);
        Pack {
            name,
            chemistry,
            cells: row.whole("cells").unwrap_or(1),
            capacity,
            cell,
            ageing,
            cold,
            stated: row.number("cell_v").map(Volts).or(state),
            motor,
            before: Vec::new(),
            regulator: None,
            after: Vec::new(),
        }
    }

    /// The motor on a pack; on average half of full throttle (a judgement).
    fn motor(&mut self, row: &Row, name: &str) -> Option<Motor> {
        let (full, average) = (row.number("motor_a"), row.number("motor_average_a"));
        let Some(full) = full else {
            if let Some(average) = average {
                let says = format!(
                    "is {average} A and motor_a isn't given; give what the motor draws at full throttle"
                );
                self.report(row, "motor_average_a", says);
            }
            return None;
        };
        if let Some(average) = average.filter(|average| *average > full) {
            let says = format!("is {average} A, more than the {full} A at full throttle; it is at most that");
            self.report(row, "motor_average_a", says);
        }
        let average = average.map_or(Amps(full / 2.0), Amps);
        if full > 0.0 && row.number("motor_average_a").is_none() {
            self.taken.push(format!(
                "{name}: its motor draws {average} on average, half of full throttle (a judgement)"
            ));
        }
        Some(Motor { full: Amps(full), average })
    }

    /// The places of the packs that a row is for.
    fn for_packs(&mut self, row: &Row, packs: &[Pack]) -> Vec<usize> {
        let Some(name) = row.text("pack") else { return (0..packs.len()).collect() };
        let found: Vec<usize> = (0..packs.len()).filter(|place| packs[*place].name == name).collect();
        if found.is_empty() {
            let names: Vec<&str> = packs.iter().map(|pack| pack.name.as_str()).collect();
            self.report(
                row,
                "pack",
                format!("is {name}; there is no pack of this name, only {}", names.join(", ")),
            );
        }
        found
    }

    fn regulators(&mut self, filled: &Filled, packs: &mut [Pack]) {
        let mut told = BTreeSet::new();
        for row in filled.rows("regulator") {
            let kind = match row.text("kind") {
                Some("linear") => Some(Kind::Linear),
                Some("switching") => Some(Kind::Switching),
                _ => None,
            };
            for place in self.for_packs(row, packs) {
                if !told.insert(place) {
                    let says = format!("is given twice; {} can have one regulator", packs[place].name);
                    self.report(row, "pack", says);
                }
                packs[place].regulator = kind.map(|kind| regulator(row, kind));
            }
            if let (Some(continuous), Some(burst)) = (row.number("continuous_a"), row.number("burst_a"))
                && burst < continuous
            {
                let says =
                    format!("is {burst} A, less than the continuous {continuous} A; it is at least that");
                self.report(row, "burst_a", says);
            }
        }
    }

    fn wires(&mut self, filled: &Filled, packs: &mut [Pack]) {
        let rows = filled.rows("wire");
        for row in rows {
            let wire = Wire {
                name: row.text("name").unwrap_or("lead").to_owned(),
                length: Metres(row.number("length_m").unwrap_or(0.0)),
                gauge: gauge(row.whole("gauge").unwrap_or(22)),
                connector: Ohms(row.number("connector_mohm").unwrap_or(0.0) / 1000.0),
                switch: Ohms(row.number("switch_mohm").unwrap_or(0.0) / 1000.0),
                temperature: Celsius(row.number("temperature_c").unwrap_or(20.0)),
            };
            for place in self.for_packs(row, packs) {
                let pack = &mut packs[place];
                let list =
                    if row.text("place") == Some("before") { &mut pack.before } else { &mut pack.after };
                list.push(wire.clone());
            }
        }
        if rows.is_empty() {
            self.taken.push(
                "lead from pack to receiver: 0.3 m of 22 AWG with 10 mohm of contacts (a judgement)"
                    .to_owned(),
            );
            for pack in packs {
                pack.after.push(Wire {
                    name: "lead".to_owned(),
                    length: Metres(0.3),
                    gauge: gauge(22),
                    connector: Ohms(0.01),
                    switch: Ohms(0.0),
                    temperature: Celsius(20.0),
                });
            }
        }
    }

    fn receiver(&mut self, filled: &Filled) -> Receiver {
        let row = filled.one("receiver");
        let of = |key, otherwise| row.and_then(|row| row.number(key)).unwrap_or(otherwise);
        let (works_to, resets_at) = (of("works_to_v", 3.5), of("resets_at_v", 3.2));
        if row.is_none() {
            self.taken.push(
                "receiver: 100 mA and 100 mA for telemetry, works down to 3.5 V, resets at 3.2 V (common \
                 practice, no source)"
                    .to_owned(),
            );
        }
        if let Some(row) = row
            && works_to < resets_at
        {
            let says = format!("is {resets_at} V, above the {works_to} V down to which it works");
            self.report(row, "resets_at_v", says);
        }
        Receiver {
            takes: Amps((of("idle_ma", 100.0) + of("telemetry_ma", 100.0)) / 1000.0),
            works_to: Volts(works_to),
            resets_at: Volts(resets_at),
            highest: row.and_then(|row| row.number("highest_v")).map(Volts),
        }
    }

    fn servos(&mut self, filled: &Filled) -> Vec<Servo> {
        let mut names = BTreeSet::new();
        let mut servos = Vec::new();
        for row in filled.rows("servo") {
            let word = row.text("class").unwrap_or("standard");
            let Some(class) = classes().iter().find(|one| one.word == word) else { continue };
            let name = row.text("name").unwrap_or(&class.word).to_owned();
            if name == "all" || !names.insert(name.clone()) {
                self.report(
                    row,
                    "name",
                    format!("is {name}, which stands for others; give each row its own name"),
                );
            }
            servos.push(self.servo(row, name, class));
        }
        servos
    }

    fn servo(&mut self, row: &Row, name: String, class: &'static Class) -> Servo {
        let amps = |key, otherwise: Amps| row.number(key).map_or(otherwise, Amps);
        let given = ["moving_a", "hold_a", "stall_a"].iter().filter(|key| row.number(key).is_some()).count();
        if given < 3 {
            self.taken.push(format!("{name}: currents of its class ({})", class.source));
        }
        Servo {
            name,
            class: &class.word,
            count: row.whole("count").unwrap_or(1),
            idle: row.number("idle_ma").map_or(class.idle.1, |milliamps| Amps(milliamps / 1000.0)),
            moving: amps("moving_a", class.moving.1),
            hold: amps("hold_a", class.hold.1),
            stall: amps("stall_a", class.stall.1),
            rated: row.number("rated_v").map_or(class.rated, Volts),
            highest: row.number("highest_v").map_or(class.highest, Volts),
            lead: Wire {
                name: "servo lead".to_owned(),
                length: Metres(row.number("lead_m").unwrap_or(0.3)),
                gauge: gauge(row.whole("lead_gauge").unwrap_or(26)),
                connector: Ohms(0.0),
                switch: Ohms(0.0),
                temperature: Celsius(20.0),
            },
        }
    }

    fn manoeuvres(&mut self, filled: &Filled, servos: &[Servo]) -> Vec<Manoeuvre> {
        let rows = filled.rows("manoeuvre");
        if rows.is_empty() {
            self.taken.push("manoeuvres: all servos moving for 30 % of the flight (a judgement)".to_owned());
            let doing = vec![Doing::Moving; servos.len()];
            return vec![Manoeuvre { name: "all moving".to_owned(), doing, share: MOVING_SHARE }];
        }
        let mut names = BTreeSet::new();
        let (mut manoeuvres, mut sum) = (Vec::new(), 0.0);
        for (place, row) in rows.iter().enumerate() {
            let name = row.text("name").map_or_else(|| format!("manoeuvre {}", place + 1), str::to_owned);
            if !names.insert(name.clone()) {
                self.report(row, "name", format!("is {name}, as another manoeuvre; give each its own"));
            }
            let mut doing = vec![Doing::Idle; servos.len()];
            // What draws most is told last, so that it stands.
            for (key, what) in
                [("moving", Doing::Moving), ("holding", Doing::Holding), ("stalled", Doing::Stalled)]
            {
                for word in row.list(key) {
                    self.set(row, key, word, what, servos, &mut doing);
                }
            }
            let share = row.number("share_percent").unwrap_or(10.0);
            sum += share;
            if sum > 100.0 + 1e-9 {
                self.report(
                    row,
                    "share_percent",
                    format!("brings the shares to {sum} %, more than the whole flight"),
                );
                sum = 0.0;
            }
            manoeuvres.push(Manoeuvre { name, doing, share: share / 100.0 });
        }
        manoeuvres
    }

    fn set(&mut self, row: &Row, key: &str, word: &str, what: Doing, servos: &[Servo], doing: &mut [Doing]) {
        let mut found = false;
        for (servo, doing) in servos.iter().zip(doing) {
            if word == "all" || servo.name == word {
                (*doing, found) = (what, true);
            }
        }
        if !found {
            let names: Vec<&str> = servos.iter().map(|servo| servo.name.as_str()).collect();
            let have = if names.is_empty() { "none".to_owned() } else { names.join(", ") };
            self.report(row, key, format!("names {word}; there is no servo of this name, only {have}"));
        }
    }
}

fn regulator(row: &Row, kind: Kind) -> Regulator {
    let (dropout, thermal) = match kind {
        Kind::Linear => (0.5, Some(40.0)),
        Kind::Switching => (0.3, None),
    };
    let of = |key, otherwise| row.number(key).unwrap_or(otherwise);
    Regulator {
        name: row.text("name").unwrap_or("regulator").to_owned(),
        kind,
        set: Volts(of("set_v", 5.0)),
        continuous: row.number("continuous_a").map(Amps),
        burst: row.number("burst_a").map(Amps),
        dropout: Volts(of("dropout_v", dropout)),
        efficiency: of("efficiency_percent", 85.0) / 100.0,
        thermal: row.number("thermal_k_per_w").or(thermal).map(KelvinPerWatt),
        junction_max: Celsius(of("junction_max_c", 125.0)),
        surroundings: Celsius(of("surroundings_c", 40.0)),
        quiescent: Amps(of("quiescent_ma", 10.0) / 1000.0),
    }
}

/// The gauge with this number; the schema lets 0 to 40 through, and all of them are.
fn gauge(number: u32) -> Gauge {
    Gauge::parse(&number.to_string()).expect("0 to 40 are wire gauges")
}

impl Charge {
    /// Every charge.
    pub const ALL: [Charge; 4] = [Charge::Full, Charge::Nominal, Charge::Low, Charge::Stated];
}
