//! Poppler's command line tools and a reader of QR codes. A tool that is missing fails the test.
#![expect(
    clippy::disallowed_types,
    clippy::disallowed_methods,
    reason = "the engine stays pure; its output is read back by programs that want a file"
)]

use std::process::Command;

use tempfile::TempDir;

/// A PDF in a file.
pub struct Pdf {
    folder: TempDir,
}

/// A row of `pdffonts`.
#[derive(Debug)]
pub struct Font {
    pub embedded: bool,
    pub subset: bool,
    pub to_unicode: bool,
}

/// A page as a picture, shades of grey.
pub struct Picture {
    width: usize,
    height: usize,
    grey: Vec<u8>,
}

/// A code that was found in a picture.
pub struct Found {
    pub text: String,
    /// The length of its upper edge, in the picture's pixels.
    pub across: f64,
}

impl Pdf {
    pub fn new(bytes: &[u8]) -> Pdf {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("it.pdf"), bytes).unwrap();
        Pdf { folder }
    }

    fn run(&self, tool: &str, arguments: &[&str]) -> Vec<u8> {
        let mut command = Command::new(tool);
        command.args(arguments).current_dir(self.folder.path());
        let out = command.output().unwrap_or_else(|error| {
            panic!("{tool} did not start ({error}): install poppler-utils, ./test does it")
        });
        let said = String::from_utf8_lossy(&out.stderr);
        assert!(out.status.success() && said.is_empty(), "{tool} {arguments:?}: {said}");
        out.stdout
    }

    fn told(&self, tool: &str, arguments: &[&str]) -> String {
        String::from_utf8(self.run(tool, arguments)).unwrap()
    }

    /// The text of each page, in the order of the file.
    pub fn pages(&self) -> Vec<String> {
        let text = self.told("pdftotext", &["-raw", "-enc", "UTF-8", "it.pdf", "-"]);
        let mut pages: Vec<String> = text.split('\u{c}').map(str::to_owned).collect();
        assert_eq!(pages.pop().as_deref(), Some(""), "a form feed ends the last page");
        let count: usize = self.fact("Pages").unwrap().parse().unwrap();
        assert_eq!(pages.len(), count);
        pages
    }

    /// A line of `pdfinfo`.
    pub fn fact(&self, name: &str) -> Option<String> {
        let told = self.told("pdfinfo", &["-enc", "UTF-8", "it.pdf"]);
        let line = told.lines().find_map(|line| line.strip_prefix(name)?.strip_prefix(':'));
        line.map(|value| value.trim().to_owned())
    }

    /// Width and height of the first page, points.
    pub fn page_size(&self) -> (f64, f64) {
        let size = self.fact("Page size").unwrap();
        let numbers: Vec<f64> = size.split_whitespace().filter_map(|word| word.parse().ok()).collect();
        (numbers[0], numbers[1])
    }

    pub fn fonts(&self) -> Vec<Font> {
        let told = self.told("pdffonts", &["it.pdf"]);
        let row = |line: &str| {
            // The last five columns are: emb sub uni, then the object's two numbers.
            let words: Vec<&str> = line.split_whitespace().rev().collect();
            Font { embedded: words[4] == "yes", subset: words[3] == "yes", to_unicode: words[2] == "yes" }
        };
        told.lines().skip(2).map(row).collect()
    }

    /// The sizes of letters in the file, points, to a third of one.
    pub fn letter_sizes(&self) -> Vec<f64> {
        let told = self.told("pdftohtml", &["-xml", "-stdout", "-i", "-zoom", "3", "it.pdf"]);
        let sizes = told.lines().filter_map(|line| {
            let size = line.trim().strip_prefix("<fontspec")?.split("size=\"").nth(1)?.split('"').next()?;
            Some(size.parse::<f64>().unwrap() / 3.0)
        });
        sizes.collect()
    }

    /// The one code on a page and the millimetres that it has across. The reader gets several
    /// pictures, as a phone takes many: it doesn't find every code at every resolution.
    pub fn code(&self, page: usize) -> Found {
        for dpi in [220.0, 300.0, 250.0, 400.0] {
            let mut codes = self.picture(page, dpi).codes();
            assert!(codes.len() < 2, "one code on a page");
            if let Some(code) = codes.pop() {
                return Found { across: code.across / dpi * 25.4, ..code };
            }
        }
        panic!("no code found on page {page}");
    }

    /// A page, counted from one, as a picture.
    pub fn picture(&self, page: usize, dpi: f64) -> Picture {
        let (page, dpi) = (page.to_string(), dpi.to_string());
        let bytes = self.run("pdftoppm", &["-gray", "-r", &dpi, "-f", &page, "-l", &page, "it.pdf"]);
        // A portable grey map: `P5`, width, height, the greatest value, one blank, the pixels.
        let mut at = 0;
        let mut word = || {
            let start = at;
            while !bytes[at].is_ascii_whitespace() {
                at += 1;
            }
            at += 1;
            std::str::from_utf8(&bytes[start..at - 1]).unwrap().to_owned()
        };
        assert_eq!(word(), "P5");
        let (width, height) = (word().parse().unwrap(), word().parse().unwrap());
        assert_eq!(word(), "255");
        let grey = bytes[at..].to_vec();
        assert_eq!(grey.len(), width * height);
        Picture { width, height, grey }
    }
}

impl Picture {
    /// The darkest shade in a border so wide: 255 is paper.
    pub fn darkest_border(&self, millimetres: f64, dpi: f64) -> u8 {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few pixels")]
        let border = (millimetres / 25.4 * dpi) as usize;
        let inside = |at: usize, of: usize| (border..of - border).contains(&at);
        let edge = |&(at, _): &(usize, &u8)| {
            !inside(at % self.width, self.width) || !inside(at / self.width, self.height)
        };
        self.grey.iter().enumerate().filter(edge).map(|(_, &shade)| shade).min().unwrap()
    }

    /// A rectangle of the picture: its left and upper edge, its width and height, millimetres.
    pub fn part(&self, edges: [f64; 4], dpi: f64) -> Picture {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few pixels")]
        let [left, top, width, height] = edges.map(|edge| (edge / 25.4 * dpi) as usize);
        let lines = self.grey.chunks(self.width).skip(top).take(height);
        let grey = lines.flat_map(|line| &line[left..left + width]).copied().collect();
        Picture { width, height, grey }
    }

    /// The codes in the picture, as an independent reader reads them.
    pub fn codes(&self) -> Vec<Found> {
        let shade = |x: usize, y: usize| self.grey[y * self.width + x];
        let mut picture = rqrr::PreparedImage::prepare_from_greyscale(self.width, self.height, shade);
        let found = picture.detect_grids().into_iter().map(|grid| {
            let text = grid.decode().unwrap().1;
            let (from, to) = (grid.bounds[0], grid.bounds[1]);
            let (right, down) = (f64::from(to.x - from.x), f64::from(to.y - from.y));
            Found { text, across: right.hypot(down) }
        });
        found.collect()
    }
}
