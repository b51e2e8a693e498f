//! The report: several documents bound into one, behind a page that says what it holds, who answers for it and from which data
//! it was made; and the mark of revision and data that each page of a record carries.

use super::flow::Flow;
use super::page::{Align, Page, PaperSize};
use super::table::Table;
use super::title::{Title, source};
use super::words::recorded;
use crate::proof::Example;
use crate::station::{Papers, Signature, Station};

/// Size of the mark at the foot, mm.
const MARK: f64 = 2.5;

/// What a page was made from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MadeFrom {
    /// Revision of the file; 0: it was never saved with a trail.
    pub revision: usize,
    /// Something was changed since that.
    pub is_changed: bool,
    /// The first digits of the digest of the document.
    pub digits: String,
}

impl MadeFrom {
    /// `Revision 4, data 3fa2 b1c0 d9e8`
    pub fn words(&self) -> String {
        let revision = match (self.revision, self.is_changed) {
            (0, _) => "Not saved with a trail".to_owned(),
            (n, false) => format!("Revision {n}"),
            (n, true) => format!("Revision {n} with changes that were not saved"),
        };
        format!("{revision}, data {}", self.groups())
    }

    /// The digits in groups of four.
    pub fn groups(&self) -> String {
        let digits: Vec<char> = self.digits.chars().collect();
        let groups: Vec<String> = digits.chunks(4).map(|c| c.iter().collect()).collect();
        groups.join(" ")
    }
}

/// Writes at the foot of each page what it was made from.
pub fn mark(pages: &mut [Page], made_from: &MadeFrom) {
    for page in pages {
        let (x, y) = (0.5 * page.width, page.height - 8.0);
        page.text(x, y, made_from.words(), MARK, Align::Centre);
    }
}

/// One document of a report.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Such as `Map of irradiance`.
    pub name: String,
    /// Its pages.
    pub pages: Vec<Page>,
}

/// What a report is bound of.
#[derive(Debug, Clone)]
pub struct Report<'a> {
    /// The document.
    pub station: &'a Station,
    /// In their order.
    pub parts: Vec<Part>,
    /// What is missing, as sentences.
    pub missing: Vec<String>,
    /// The last entries of the trail, the newest first: revision, when, who, what.
    pub trail: Vec<[String; 4]>,
    /// What is wrong with the trail, as sentences.
    pub gaps: Vec<String>,
    /// The day.
    pub on: String,
    /// From which data it is made.
    pub made_from: MadeFrom,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
}

impl Report<'_> {
    /// All pages, the first with the contents, numbered through.
    pub fn pages(&self) -> Vec<Page> {
        // how many pages the contents take does not depend on the numbers in it
        let own = self.first(0).len();
        let mut pages = self.first(own);
        pages.extend(self.parts.iter().flat_map(|part| part.pages.clone()));
        mark(&mut pages, &self.made_from);
        let all = pages.len();
        for (i, page) in pages.iter_mut().enumerate() {
            let (x, y) = (page.width - 15.0, page.height - 4.4);
            let text = format!("report page {} of {all}", i + 1);
            page.text(x, y, text, MARK, Align::Right);
        }
        pages
    }

    fn first(&self, own: usize) -> Vec<Page> {
        let title = self.title();
        let mut flow = Flow::new(self.paper, &title, self.version);
        let mut next = own + 1;
        let rows = self.parts.iter().map(|part| {
            let row = vec![
                part.name.clone(),
                part.pages.len().to_string(),
                next.to_string(),
            ];
            next += part.pages.len();
            row
        });
        let rows: Vec<Vec<String>> = rows.collect();
        flow.titled_table(
            "Contents",
            &plain(
                &["Document", "Pages", "From report page"],
                &[4.0, 0.8, 1.4],
                rows,
            ),
        );
        for missing in &self.missing {
            flow.point(missing);
        }
        flow.heading("Who answers for it", 24.0);
        let papers = self.station.papers.clone().unwrap_or_default();
        let Papers {
            author,
            reviewer,
            approver,
        } = papers;
        for (what, who) in [
            ("Author", author),
            ("Reviewer", reviewer),
            ("Approver", approver),
        ] {
            signed(&mut flow, what, &who);
        }
        flow.heading("From which data", 12.0);
        flow.paragraph(&format!(
            "{}. Each page carries the revision and the first digits of the SHA-256 digest of the document that it was made from; 'evenfield check' tells whether a file holds these data, or held them in which revision.",
            self.made_from.words()
        ));
        for gap in &self.gaps {
            flow.point(gap);
        }
        if !self.trail.is_empty() {
            let rows = self.trail.iter().map(|row| row.to_vec()).collect();
            flow.titled_table(
                "Trail of the file, the newest first",
                &plain(
                    &["Revision", "Saved, UTC", "By", "What had changed"],
                    &[0.7, 1.3, 1.5, 3.6],
                    rows,
                ),
            );
        }
        flow.paragraph(super::cautions::RESPONSIBILITY);
        flow.finish()
    }

    fn title(&self) -> Title {
        let station = self.station;
        Title {
            document: "Report",
            subject: station.name.clone(),
            columns: vec![
                vec![
                    ("Source", source(station)),
                    ("Fixture", recorded(&station.fixture.name)),
                ],
                vec![("On", self.on.clone()), ("Data", self.made_from.groups())],
            ],
            later: vec![("On", self.on.clone())],
        }
    }
}

/// A line of a person who has signed, or room to do so by hand.
fn signed(flow: &mut Flow<'_>, what: &str, who: &Signature) {
    if who.is_empty() {
        return flow.line_to_write_on(&format!("{what}, day and signature"), 9.0);
    }
    let on = who
        .on
        .map_or_else(|| "no day".to_owned(), |on| on.to_string());
    flow.pairs(&[(what.to_owned(), format!("{}, {on}", recorded(&who.name)))]);
}

fn plain(headings: &[&str], shares: &[f64], rows: Vec<Vec<String>>) -> Table {
    Table::to_read(headings, shares, &[], 4.6, rows)
}

/// The page of the self-check.
pub fn proof_pages(examples: &[Example], on: &str, paper: PaperSize, version: &str) -> Vec<Page> {
    let held = examples.iter().filter(|e| e.holds()).count();
    let said = format!("{held} of {} come out as published", examples.len());
    let title = Title {
        document: "Self-check",
        subject: format!("Evenfield {version}"),
        columns: vec![
            vec![("Published examples", said.clone())],
            vec![("On", on.to_owned())],
        ],
        later: vec![("On", on.to_owned())],
    };
    let mut flow = Flow::new(paper, &title, version);
    let rows = examples
        .iter()
        .map(|e| {
            vec![
                e.what.to_owned(),
                e.source.to_owned(),
                e.figure.to_owned(),
                digits(e.published),
                digits(e.computed),
                if e.holds() { "yes" } else { "NO" }.to_owned(),
            ]
        })
        .collect();
    flow.titled_table(
        "Published examples, worked out on this machine",
        &plain(
            &["What", "Source", "Figure", "Published", "Here", "Holds"],
            &[2.2, 2.2, 1.7, 1.5, 1.5, 0.7],
            rows,
        ),
    );
    flow.paragraph(&format!(
        "{said}. A figure holds where it differs by no more than half a unit of the last printed digit, or by what the digits of the data leave."
    ));
    flow.finish()
}

fn digits(value: f64) -> String {
    let text = format!("{value:.10e}");
    match text.parse::<f64>() {
        Ok(rounded) if (1e-3..1e7).contains(&rounded.abs()) => rounded.to_string(),
        Ok(rounded) => format!("{rounded:e}"),
        Err(_) => text,
    }
}
