//! Lists as people's spreadsheets write them.

use intake::csv::mapping::smells_of_secret;
use intake::csv::{self, Header, Job, Mapping, Options, Refused, Target};
use intake::inventory::Said;
use register::field::{Field, Part, Sort};
use register::value::Value;

use crate::support::{Book, guess, mapping, read};

/// The facts that a list states, in words: `R7 end:main firmware 4.1`.
fn stated(bytes: &[u8], rows: Option<Sort>) -> Vec<String> {
    let read = read(bytes, rows);
    assert_eq!(read.bad, [], "{:?}", String::from_utf8_lossy(bytes));
    let mut out = Vec::new();
    for item in &read.inventory.items {
        let name = item.code.clone().or_else(|| item.name.clone()).unwrap_or_default();
        for (part, facts) in item.parts() {
            for fact in facts {
                let words = match &fact.said {
                    Said::Value(Value::Text(text)) => text.clone(),
                    Said::Value(value) => format!("{value:?}"),
                    Said::Aircraft(name) => format!("in {name}"),
                    other => format!("{other:?}"),
                };
                out.push(format!("{name} {} {} {words}", part.word(), fact.field));
            }
        }
    }
    out
}

fn utf16(text: &str, unit: fn(u16) -> [u8; 2]) -> Vec<u8> {
    format!("\u{feff}{text}").encode_utf16().flat_map(unit).collect()
}

#[test]
fn the_same_list_in_every_dress_says_the_same() {
    let want = [
        "R7 whole code R7",
        "R7 whole name Süd, \"alt\"\nneu",
        "R7 end:main band 2.4 GHz",
        "R7 end:main firmware 4.1",
        "R8 whole code R8",
        "R8 whole name Öre",
        "R8 end:main band 868 MHz",
        "R8 end:main firmware 3.0",
    ];
    let semicolons =
        "Code;Name;Band;Firmware\r\nR7;\"Süd, \"\"alt\"\"\nneu\";2,4 GHz;4,1\r\nR8;Öre;868 MHz;3,0\r\n";
    let commas = "Code,Name,Band,Firmware\nR7,\"Süd, \"\"alt\"\"\nneu\",\"2,4 GHz\",4.1\nR8,Öre,868 MHz,3.0";
    let latin: Vec<u8> = semicolons.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    // Quoting: RFC 4180, section 2, rules 5 to 7.
    let dresses: Vec<(&str, Vec<u8>)> = vec![
        ("semicolons, decimal commas", semicolons.into()),
        ("the same with a byte order mark", format!("\u{feff}{semicolons}").into()),
        ("tabs", semicolons.replace(';', "\t").into()),
        ("commas", commas.into()),
        ("UTF-16, little end first", utf16(semicolons, u16::to_le_bytes)),
        ("UTF-16, big end first", utf16(semicolons, u16::to_be_bytes)),
        ("Windows-1252", latin),
        ("a line that states the delimiter", format!("sep=;\r\n{semicolons}").into()),
        ("empty lines", semicolons.replace("\r\nR8", "\r\n\r\n;;;\r\nR8").into()),
        ("empty columns at the end", semicolons.replace("\r\n", ";;\r\n").into()),
    ];
    for (dress, bytes) in dresses {
        assert_eq!(stated(&bytes, Some(Sort::Receiver)), want, "{dress}");
    }
}

#[test]
fn windows_1252_is_told_and_its_own_letters_are_read() {
    // 0x80 is the euro sign, 0x96 an en dash. Source: WHATWG Encoding Standard, index
    // windows-1252.
    let bytes = b"Code,Note\nR7,5 \x80 \x96 cheap\n";
    let list = read(bytes, Some(Sort::Receiver));
    assert!(list.notes[0].contains("Windows-1252"), "{:?}", list.notes);
    assert!(stated(bytes, Some(Sort::Receiver)).contains(&"R7 whole note 5 € – cheap".to_owned()));
}

#[test]
fn every_bad_row_is_told_by_number_and_the_others_are_offered() {
    let list = "Sort,Code,Name,Firmware,Model ID,Band,State,Seen\n\
                rx,R1,\"two\nlines\",4.1,1,2.4 GHz,shelf,2025-12-31\n\
                rx,R2,short\n\
                \n\
                rx,R3,,4.1,seven,,,\n\
                rx,,,4.1,,,,\n\
                rx,R1,two again,4.1,,,,\n\
                toaster,R4,,,,,,\n\
                rx,R5,,4.1,,,nowhere,\n\
                rx,R6,,4.1,,,,12/31/2025\n\
                rx,R7,,4.1,,,,31.12.2025\n\
                aircraft,A1,Glider,4.1,,,,\n\
                tx,T1,,,3,,,\n\
                rx,R8,,4.1,,,,,,,extra\n\
                rx,R9,\0,4.1,,,,\n";
    let (read, plan) = Book::new().plan_csv(list.as_bytes(), None);
    let told: Vec<String> = read.bad.iter().chain(&plan.bad).map(ToString::to_string).collect();
    let want = [
        "row 3 (line 4): has 3 cells where the header has 8; look for a missing or an extra separator, or a quotation \
         mark that is not closed",
        "row 5 (line 6), column `Model ID`: is no model ID; write a whole number, or `off`",
        "row 6 (line 7): has no code and no name; give the device one, so that it can be told apart",
        "row 7 (line 8), column `Name`: is given once more than in row 2; keep the one that holds, or write `also` \
         after the way it is known (`seen, also`) if both stand",
        "row 8 (line 9), column `Sort`: is no sort of device; write transmitter, receiver, aircraft or memory",
        "row 9 (line 10), column `State`: is no state; write one of: in use, shelf, lent, crashed, sold, destroyed",
        "row 10 (line 11), column `Seen`: is no date; write 2026-05-30 or 30.5.2026 (with slashes, day and month could \
         be mixed up)",
        "row 12 (line 13), column `Firmware`: is filled, but an aircraft has no firmware; its receivers have: give \
         each a row of its own",
        "row 13 (line 14), column `Model ID`: is filled, but a transmitter has no model ID; its model memories have: \
         give each a row of its own (sort `memory`)",
        "row 14 (line 15): has 11 cells where the header has 8; look for a missing or an extra separator, or a \
         quotation mark that is not closed",
        "row 15 (line 16), column `Name`: has a NUL character, which no list can carry; take it out",
    ];
    assert_eq!(told, want);
    let offered: Vec<(&str, &[u64])> =
        plan.proposals.iter().map(|proposal| (proposal.label.as_str(), proposal.rows.as_slice())).collect();
    assert_eq!(offered, [("R1 two\nlines", [2].as_slice()), ("R7", &[11])]);
}

#[test]
fn a_repeated_row_is_told_and_several_ends_are_not() {
    let list =
        "Code;Name;End;Band\nR7;Dual;low;868 MHz\nR7;Dual;high;2,4 GHz\nR7;Dual;low;868 MHz\nR8;;;\nR8;;;\n";
    let (read, plan) = Book::new().plan_csv(list.as_bytes(), Some(Sort::Receiver));
    let told: Vec<String> = read.bad.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "row 4: is about the same end of the same receiver as row 2; keep one of them, or give the ends \
             different keys",
            "row 6: is about the same receiver as row 5; keep one of them",
        ]
    );
    let ends: Vec<Part> = plan.proposals[0].changes.iter().map(|change| change.part.clone()).collect();
    assert!(
        ends.contains(&Part::End("low".to_owned())) && ends.contains(&Part::End("high".to_owned())),
        "{ends:?}"
    );
    assert_eq!(plan.proposals.len(), 2);
}

#[test]
fn a_quotation_mark_that_is_never_closed_is_told() {
    let list = "Code,Name\nR1,one\nR2,\"two\nR3,three\n";
    let read = read(list.as_bytes(), Some(Sort::Receiver));
    assert_eq!(read.inventory.items.len(), 1);
    assert_eq!(
        read.bad[0].to_string(),
        "row 3: a quotation mark opened in this row is never closed, so the rows below it are not read; close it or \
         take it out"
    );
}

#[test]
fn ten_thousand_characters_are_kept_and_one_more_is_told() {
    let fits = "ü".repeat(10_000);
    let list = format!("Code,Name\nR1,{fits}\nR2,{fits}x\n");
    let read = read(list.as_bytes(), Some(Sort::Receiver));
    assert_eq!(read.inventory.items[0].name.as_deref(), Some(fits.as_str()));
    assert_eq!(read.inventory.items.len(), 1);
    assert!(read.bad[0].to_string().starts_with("row 3, column `Name`: has more than 10,000 characters"));
}

#[test]
fn the_header_is_read_without_the_cells() {
    let header = Header::read("Kürzel;;Band;Band\nR7;x;2,4 GHz;\nR8;;;\n".as_bytes()).unwrap();
    let columns: Vec<(&str, u64)> =
        header.columns.iter().map(|column| (column.name.as_str(), column.filled)).collect();
    assert_eq!(columns, [("Kürzel", 2), ("column 2", 1), ("Band", 1), ("Band (2)", 0)]);
    assert_eq!((header.rows, header.delimiter), (2, b';'));
    assert_eq!(header.signature(), "kürzel | column 2 | band | band (2)");
}

#[test]
fn columns_are_guessed_by_their_names() {
    let rows: &[(&str, &str)] = &[
        ("Name,Band,Firmware", "Name=name Band=band Firmware=firmware"),
        ("Empfänger;Frequenz;FW;Notiz", "Empfänger=name Frequenz=band FW=firmware Notiz=note"),
        ("Nr.;Sender;Model ID", "Nr.=code Sender=of Model ID=model_id"),
        (
            "Code,Link secret,Fitted in,Paired with",
            "Code=code Link secret=secret Fitted in=aircraft Paired with=paired_with",
        ),
        ("Receiver,Name,PIN,Colour", "Name=name"),
    ];
    for (header, want) in rows {
        let guessed = guess(format!("{header}\n").as_bytes(), None);
        let got: Vec<String> =
            guessed.columns.iter().map(|(column, target)| format!("{column}={}", target.key())).collect();
        assert_eq!(got.join(" "), *want, "{header}");
    }
}

#[test]
fn every_column_of_an_export_is_guessed() {
    let header: Vec<&str> =
        Target::ALL.iter().filter(|target| **target != Target::Ignore).map(|target| target.key()).collect();
    let guessed = guess(format!("{}\n", header.join(",")).as_bytes(), None);
    assert!(header.len() > 20);
    assert_eq!(guessed.columns.iter().map(|(_, target)| target.key()).collect::<Vec<_>>(), header);
}

#[test]
fn a_mapping_is_kept_as_text() {
    let kept = Mapping {
        columns: vec![("a \"b\"\n= 1".to_owned(), Target::Code), ("Bänd".to_owned(), Target::Band)],
        rows: Some(Sort::Receiver),
    };
    assert_eq!(Mapping::from_text(&kept.to_text()), Ok(kept));
    for (text, want) in [
        ("", "the column mapping can't be read; map the columns again"),
        (
            "schema = 1\n[columns]\n\"a\" = \"nothing\"\n",
            "the column mapping can't be read; map the columns again",
        ),
        ("schema = 1\n[columns\n", "the column mapping can't be read (line 2); map the columns again"),
    ] {
        assert_eq!(Mapping::from_text(text).unwrap_err().to_string(), want, "{text}");
    }
}

#[test]
fn a_mapping_that_can_not_be_used_is_told() {
    use Target::{Band, Code, Firmware, Note, Secret};
    let list = b"Code,Band,Key phrase\nR1,2.4,x\n".to_vec();
    let rows = [
        (mapping(&[("Kode", Code)], Sort::Receiver), "the list has no column `Kode`; map its columns again"),
        (
            mapping(&[("Code", Code), ("Band", Code)], Sort::Receiver),
            "the columns `Code` and `Band` are both mapped to `code`; ignore one of them",
        ),
        (
            mapping(&[("Code", Code), ("Key phrase", Note)], Sort::Receiver),
            "the column `Key phrase` looks as if it held link secrets, but is mapped to `note`, which is shown; map it \
             to `secret` or `ignore`, or rename it",
        ),
        (
            mapping(&[("Band", Band)], Sort::Receiver),
            "no column is mapped to `code`, `name` or `id`; rows can't be told apart without one",
        ),
        (
            Mapping { columns: vec![("Code".to_owned(), Code)], rows: None },
            "no column is mapped to `sort`; say whether the rows are transmitters, receivers or aircraft",
        ),
    ];
    for (mapping, want) in rows {
        assert_eq!(Job::begin(list.clone(), &mapping, Options::default()).unwrap_err().to_string(), want);
    }
    let fine = mapping(&[("Code", Code), ("Key phrase", Secret), ("Band", Firmware)], Sort::Receiver);
    assert!(Job::begin(list, &fine, Options::default()).is_ok());
    assert!(smells_of_secret("Pass-Phrase") && smells_of_secret("PIN") && !smells_of_secret("Spinner"));
}

#[test]
fn what_is_no_list_is_told() {
    let any = Mapping::default();
    for bytes in [b"".to_vec(), b"\n\n \n".to_vec(), vec![0xef, 0xbb, 0xbf]] {
        assert_eq!(Job::begin(bytes, &any, Options::default()).unwrap_err(), Refused::Empty);
    }
    let wide = vec![b','; 300].into_iter().chain(*b"x").collect();
    assert_eq!(Job::begin(wide, &any, Options::default()).unwrap_err(), Refused::TooWide { columns: 301 });
}

#[test]
fn a_job_goes_on_in_pieces() {
    let mut list = String::from("Code;Firmware\n");
    for i in 0..1000 {
        list.push_str(&format!("R{i};4,{}\n", i % 7));
    }
    let mapping = guess(list.as_bytes(), Some(Sort::Receiver));
    let whole = csv::read(list.clone().into_bytes(), &mapping, Options::default()).unwrap();
    let mut job = Job::begin(list.into_bytes(), &mapping, Options::default()).unwrap();
    let mut before = 0;
    let mut steps = 0;
    loop {
        let progress = job.advance(99);
        assert!(progress.bytes_done > before && progress.bytes_done <= progress.bytes_total, "{progress:?}");
        steps += 1;
        if progress.finished {
            assert_eq!((progress.rows_done, progress.bytes_done), (1000, progress.bytes_total));
            break;
        }
        before = progress.bytes_done;
    }
    assert_eq!(steps, 11);
    assert_eq!(job.finish(), whole);
}

#[test]
fn memories_belong_to_their_transmitter_wherever_they_stand() {
    let list = "Sort,Of,Code,Name,Model ID,Aircraft,End\n\
                memory,Big one,1,Glider,7,Kestrel kite,internal\n\
                memory,big ONE,,Second,off,none,\n\
                tx,,T1,Big one,,,\n\
                memory,Nobody,1,,3,,\n";
    let (read, plan) = Book::new().plan_csv(list.as_bytes(), None);
    assert_eq!(read.bad, []);
    assert_eq!(
        plan.bad.iter().map(ToString::to_string).collect::<Vec<_>>(),
        [
            "row 5: belongs to a transmitter that is neither in this list nor in the workshop; correct its name, or add \
          a row for it"
        ]
    );
    let labels: Vec<&str> = plan.proposals.iter().map(|proposal| proposal.label.as_str()).collect();
    assert_eq!(labels, ["Kestrel kite", "T1 Big one"], "the aircraft is offered as a new one");
    let changes: Vec<String> = plan.proposals[1]
        .changes
        .iter()
        .filter(|change| change.part != Part::Whole)
        .map(|change| format!("{} {} {}", change.part.word(), change.field, change.after))
        .collect();
    assert_eq!(
        changes,
        [
            "memory:1 name Glider",
            "memory:1 model_id 7",
            "memory:1 aircraft Kestrel kite",
            "memory:1 end internal",
            "memory:Second model_id check off",
            "memory:Second aircraft none",
        ]
    );
}

#[test]
fn cells_say_nothing_where_they_are_empty_or_a_question_mark() {
    let list = "Code;Band;Firmware;Model ID;Aircraft;Paired with;Link secret\nR7;?;?;?;?;?;set\nR8;;;;;;\n";
    assert_eq!(stated(list.as_bytes(), Some(Sort::Receiver)), ["R7 whole code R7", "R8 whole code R8"]);
}

#[test]
fn guarded_cells_are_taken_word_for_word() {
    let list = "Code,Name,Note\nR7,'=1+1,'tis\nR8,' x ,''=1\n";
    let got = stated(list.as_bytes(), Some(Sort::Receiver));
    for want in ["R7 whole name =1+1", "R7 whole note 'tis", "R8 whole name  x ", "R8 whole note '=1"] {
        assert!(got.contains(&want.to_owned()), "{want}: {got:?}");
    }
    assert!(Field::ALL.len() > 10);
}
