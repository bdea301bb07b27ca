//! Sentences that both doors say.

use store::Outcome;

fn count(number: u64, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

/// What came of a merge or an import of a logbook.
pub fn outcome(outcome: &Outcome) -> String {
    let mut parts = vec![
        format!("{} new", count(outcome.added, "entry is", "entries are")),
        format!("{} here already", count(outcome.known, "was", "were")),
    ];
    if outcome.files_added > 0 {
        parts.push(format!("{} came along", count(outcome.files_added, "file", "files")));
    }
    if outcome.erased > 0 {
        parts
            .push(format!("{} erased there and so here", count(outcome.erased, "entry was", "entries were")));
    }
    format!("{}.", parts.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_outcome_is_a_sentence() {
        let one = Outcome { added: 1, known: 3, erased: 0, files_added: 0 };
        assert_eq!(outcome(&one), "1 entry is new, 3 were here already.");
        let more = Outcome { added: 0, known: 1, erased: 2, files_added: 1 };
        assert_eq!(
            outcome(&more),
            "0 entries are new, 1 was here already, 1 file came along, 2 entries were erased there and so here."
        );
    }
}
