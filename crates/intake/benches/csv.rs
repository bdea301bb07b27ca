//! A list of 100,000 rows: read, planned into an empty workshop and into one that has
//! it, and written out.

use std::fmt::Write as _;
use std::hint::black_box;

use intake::csv::{self, Header, Mapping, Options, Read};
use intake::plan::{Context, Plan, plan};
use register::entry::Stamp;
use register::field::{How, Sort};
use register::id::{DeviceId, EntryId, ReplicaId};
use register::register::Register;
use register::scene::Scene;
use register::time::{Clock, Moment};
use register::value::SecretMark;

const ROWS: u32 = 100_000;

fn main() {
    divan::main();
}

fn list() -> Vec<u8> {
    let mut list =
        String::from("Sort;Code;Name;Aircraft;Family;Band;Firmware;Model ID;Link secret;Paired with;Note\n");
    for i in 0..200 {
        let _ = writeln!(list, "tx;T{i};Desk {i};;Heron;2,4 GHz;4,{};;nest {i};;", i % 7);
    }
    for i in 200..ROWS {
        let (aircraft, end) = (i % 5000, i % 200);
        let _ = writeln!(
            list,
            "rx;R{i};\"Receiver; number {i}\";Kite {aircraft};Heron;2,4 GHz;4,{};{};nest {end};T{end};\"two\nlines\"",
            i % 7,
            i % 64,
        );
    }
    list.into_bytes()
}

fn mapping(list: &[u8]) -> Mapping {
    let mut mapping = csv::mapping::guess(&Header::read(list).expect("the list has a header"));
    mapping.rows = Some(Sort::Receiver);
    mapping
}

fn read() -> Read {
    let list = list();
    let mapping = mapping(&list);
    csv::read(list, &mapping, Options::default()).expect("the list is good")
}

fn planned(read: &Read, register: &Register) -> Plan {
    let mut next = 0;
    let mut new_id = || {
        next += 1;
        DeviceId(next)
    };
    let fingerprint = |secret: &str| SecretMark::Print { key: 1, print: secret.len() as u128 };
    let mut context =
        Context { now: Moment(0), how: How::Label, new_id: &mut new_id, fingerprint: &fingerprint };
    plan(&read.inventory, &Scene::new(register), &mut context)
}

fn filled(read: &Read) -> Register {
    let mut register = Register::begin(std::iter::empty());
    let plan = planned(read, &register);
    for (i, draft) in (1..).zip(plan.drafts()) {
        let stamp = Stamp {
            id: EntryId(u128::from(i)),
            replica: ReplicaId(1),
            clock: Clock(i),
            seen: draft.seen,
            recorded: draft.seen,
            subject: draft.subject,
        };
        let _ = register.fold(&stamp, draft.body.clone());
    }
    register
}

#[divan::bench(sample_count = 10)]
fn read_100k_rows(bencher: divan::Bencher<'_, '_>) {
    let list = list();
    let mapping = mapping(&list);
    bencher.with_inputs(|| list.clone()).bench_values(|list| {
        csv::read(black_box(list), &mapping, Options::default()).expect("the list is good")
    });
}

#[divan::bench(sample_count = 10)]
fn plan_into_an_empty_workshop(bencher: divan::Bencher<'_, '_>) {
    let (read, register) = (read(), Register::begin(std::iter::empty()));
    bencher.bench_local(|| planned(black_box(&read), &register));
}

#[divan::bench(sample_count = 10)]
fn plan_again_into_the_same(bencher: divan::Bencher<'_, '_>) {
    let read = read();
    let register = filled(&read);
    assert_eq!(planned(&read, &register).unchanged, u64::from(ROWS));
    bencher.bench_local(|| planned(black_box(&read), &register));
}

#[divan::bench(sample_count = 5)]
fn write_a_list(bencher: divan::Bencher<'_, '_>) {
    let register = filled(&read());
    bencher.bench_local(|| csv::write(&Scene::new(black_box(&register))));
}

#[divan::bench(sample_count = 5)]
fn write_a_workshop_file(bencher: divan::Bencher<'_, '_>) {
    let register = filled(&read());
    bencher.bench_local(|| intake::toml::write(&Scene::new(black_box(&register))));
}

#[divan::bench(sample_count = 5)]
fn read_a_workshop_file(bencher: divan::Bencher<'_, '_>) {
    let file = intake::toml::write(&Scene::new(&filled(&read())));
    bencher.bench_local(|| intake::toml::read("bench.toml", black_box(&file)));
}
