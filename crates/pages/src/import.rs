//! `/import`: a list from elsewhere, from upload to the differences.

use maud::{Markup, html};

use crate::form::{Form, Input, Typed, hidden, send_main};
use crate::sheet::{DeviceDifference, ImportPreview, MappingSheet, Progress};
use crate::site::Site;
use crate::words;

/// Choose a file. Posts `file` (multipart) to `/import` (form `import`).
pub fn upload(site: &Site, typed: &Typed) -> Markup {
    let form = Form::new("import", typed);
    let body = html! {
        p.answer { "Bring the list you have; nothing is written before you have seen the differences." }
        (form.upload(site, "/import", &html! {
            (form.file(
                Input::new("file", "The file").hint("A spreadsheet saved as CSV, a workshop file (TOML), or a logbook (JSON Lines)").required(),
                ".csv,.tsv,.txt,.toml,.jsonl,.ndjson,text/csv",
            ))
            (send_main("Read it"))
        }))
        h2 { "What may be in it" }
        dl.rules {
            dt { "CSV" }
            dd { "One row a device. Any columns in any order: you say once what they mean, and the workshop remembers. Commas, semicolons or tabs; quoted line breaks and decimal commas are fine." }
            dt { "Workshop file (TOML)" }
            dd { "Devices, ends, memories and readings as " a href="/export" { "this workshop writes them" } "." }
            dt { "Logbook (JSON Lines)" }
            dd { "Another copy of this workshop, or a club mate's: entries are added to yours, none is replaced." }
        }
        p { "The same list can come again when it was edited: devices are found by their code, and only what differs is changed." }
    };
    site.page("Import", &body)
}

/// What the columns mean. Posts `column.N` (a meaning's key) and the file's options to
/// `/import/{job}/mapping` (form `mapping`).
pub fn mapping(site: &Site, sheet: &MappingSheet, typed: &Typed) -> Markup {
    let form = Form::new("mapping", typed);
    let body = html! {
        p.answer {
            (words::name(&sheet.file)) " has " (words::counted(sheet.columns.len() as u64, "column", "columns"))
            " and " (words::counted(sheet.rows, "row", "rows")) ". What do the columns mean?"
        }
        @if sheet.remembered { p { "Filled in as you said for an earlier list with these columns." } }
        @if !sheet.shape.is_empty() { ul.small { @for one in &sheet.shape { li { (words::prose(one)) } } } }
        (form.post(site, &format!("/import/{}/mapping", words::encode(&sheet.job)), &html! {
            @if !sheet.options.is_empty() {
                div.fields {
                    @for option in &sheet.options {
                        (form.select(Input::new(&option.name, &option.label).start(&option.chosen), &option.choices))
                    }
                }
            }
            div.columns {
                @for column in &sheet.columns {
                    @let name = format!("column.{}", column.at);
                    @let title = if column.name.trim().is_empty() {
                        format!("Column {} (no header)", column.at + 1)
                    } else {
                        words::clip(&column.name)
                    };
                    @let filled = format!("{} filled", words::counted(column.filled, "cell", "cells"));
                    (form.select(Input::new(&name, &title).hint(&filled).start(&column.means), &sheet.meanings))
                }
            }
            p.small { "Only column names are shown here, for a cell may hold a link secret." }
            (send_main("Show the differences"))
        }))
        p { a href="/import" { "Choose another file" } }
    };
    site.page("Columns", &body)
}

fn difference(device: &DeviceDifference) -> Markup {
    html! {
        tr {
            th scope="row" {
                (words::name(&device.name))
                br; small { @if let Some(sort) = device.sort { (sort.word()) ", " } (words::name(&device.place)) }
            }
            td data-label="It" { (if device.new { "is new" } else { "changes" }) }
            td data-label="What" {
                @if device.new {
                    @for (at, one) in device.differences.iter().enumerate() {
                        @if at > 0 { "; " }
                        (words::name(&one.what)) " " ins { (words::name(&one.after)) }
                    }
                } @else {
                ul.plain-list {
                    @for one in &device.differences {
                        li {
                            (words::name(&one.what)) ": "
                            @if !one.before.is_empty() { del { (words::name(&one.before)) } " becomes " }
                            ins { (words::name(&one.after)) }
                        }
                    }
                }
                }
            }
        }
    }
}

/// What would change, before anything does. Posts to `/import/{job}/apply` (form `apply`;
/// `good_only=1` is sent when there are bad rows and the good ones are taken).
pub fn preview(site: &Site, sheet: &ImportPreview) -> Markup {
    let none = Typed::none();
    let form = Form::new("apply", &none);
    let job = words::encode(&sheet.job);
    let changes = sheet.added + sheet.changed;
    let body = html! {
        p.answer {
            (words::name(&sheet.file)) ": "
            (words::count(sheet.added)) " new, " (words::count(sheet.changed)) " changed, "
            (words::count(sheet.unchanged)) " as they are"
            @if sheet.bad > 0 { ", " (words::counted(sheet.bad, "row", "rows")) " that can't be read" }
            "."
        }
        p { "Nothing has been written yet." }
        @for note in &sheet.notes { p { (words::prose(note)) } }
        @if sheet.bad > 0 {
            section.problems aria-labelledby="bad" {
                h2 id="bad" { "Rows that can't be read" }
                table.stack {
                    caption { "By their number in the file; the header is row 1" }
                    thead { tr { th scope="col" { "Row" } th scope="col" { "Column" } th scope="col" { "What to do" } } }
                    tbody {
                        @for row in &sheet.bad_rows {
                            tr { th scope="row" { (row.row) } td data-label="Column" { (words::name(&row.column)) } td data-label="What to do" { (words::prose(&row.says)) } }
                        }
                    }
                }
                @if sheet.more_bad_rows > 0 { p { "and " (words::counted(sheet.more_bad_rows, "more row", "more rows")) } }
            }
        }
        @if !sheet.differences.is_empty() {
            table.stack data-filter {
                caption { "Differences" }
                thead { tr { th scope="col" { "Device" } th scope="col" { "It" } th scope="col" { "What" } } }
                tbody { @for device in &sheet.differences { (difference(device)) } }
            }
            @if sheet.more_differences > 0 { p { "and " (words::counted(sheet.more_differences, "more device", "more devices")) } }
        }
        @if changes > 0 {
            div.take {
            (form.post(site, &format!("/import/{job}/apply"), &html! {
                @if sheet.bad > 0 { (hidden("good_only", "1")) }
                (send_main(if sheet.bad > 0 { "Take the good rows, leave the others" } else { "Take these in" }))
            }))
            }
        } @else {
            p { "There is nothing to take in. " a href="/" { "To today" } }
        }
        ul.ways {
            @if sheet.has_mapping { li { a href={ "/import/" (job) "/mapping" } { "The columns mean something else" } } }
            li { a href="/import" { "Choose another file" } }
        }
    };
    site.page("Differences", &body)
}

/// How far it is; the page asks for itself again every second.
pub fn progress(site: &Site, progress: &Progress) -> Markup {
    let body = html! {
        p.answer { (words::prose(&progress.what)) }
        p role="status" {
            (words::count(progress.done))
            @if progress.total > 0 { " of " (words::count(progress.total)) }
            " " (progress.unit)
        }
        @if progress.total > 0 {
            progress max=(progress.total) value=(progress.done.min(progress.total)) aria-label="How far it is" {}
        }
        p.small { "This page asks again by itself. Nothing is written half: you may leave, and come back to this address." }
    };
    site.waiting_page("Working", 1, &body)
}
