//! Rows of a table that are compared to six decimals; all wrong ones are shown.

const SOURCE: &str = "exact fractions by exhaustive search; definitions after Breese & Heckerman 1996 \
                      (arXiv 1302.3563), Ottosen & Jensen 2010 (arXiv 1203.3502)";

#[derive(Default)]
pub struct Rows {
    ran: usize,
    wrong: Vec<String>,
}

impl Rows {
    pub fn minutes(&mut self, what: &str, got: f64, want: f64) {
        self.ran += 1;
        let close = (got - want).abs() <= 5e-7; // false for NaN
        if !close {
            self.wrong.push(format!("{what}: {got:.6}, not {want:.6} ({SOURCE})"));
        }
    }

    pub fn words(&mut self, what: &str, got: &str, want: &str) {
        self.ran += 1;
        if got != want {
            self.wrong.push(format!("{what}: {got}, not {want} ({SOURCE})"));
        }
    }

    pub fn end(self) {
        assert!(self.ran > 0, "no row ran");
        assert!(self.wrong.is_empty(), "{}", self.wrong.join("\n"));
    }
}
