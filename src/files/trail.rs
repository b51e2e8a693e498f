//! The trail of a station file: who saved it when, and what had changed, in a list that is only added to.
//!
//! Each entry carries the digest of the document as it was saved and a digest of all that stands before it in the list
//! and of itself. A document that was changed by other means since, and an entry that was changed, taken out or put in
//! between, show. It is no seal: who rewrites the whole list with the same rule leaves no trace in the file itself, but
//! the papers that were made from it then carry digests that it does not have.
//!
//! Digests are SHA-256 (FIPS 180-4).

use std::fmt::{Display, Formatter};
use std::str::FromStr;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use crate::station::Station;

/// A SHA-256 digest. As text, 64 hexadecimal digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Digest([u8; 32]);

impl Digest {
    /// Digits that stand on a page: enough that two states of one file do not share them.
    pub const ON_PAGE: usize = 12;

    /// Of some bytes.
    pub fn of_bytes(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Of a document: of its text as compact JSON, each part in the order of the file's format. How the file is laid out, and
    /// its trail, are not in it.
    pub fn of(station: &Station) -> Self {
        match serde_json::to_vec(station) {
            Ok(bytes) => Self::of_bytes(&bytes),
            Err(error) => {
                // plain data; only a map with odd keys could fail
                log::error!("a station has no digest: {error}");
                Self([0; 32])
            }
        }
    }

    /// The digits that stand on a page.
    pub fn on_page(&self) -> String {
        let mut text = self.to_string();
        text.truncate(Self::ON_PAGE);
        text
    }

    /// Whether it begins with these hexadecimal digits, large or small; blanks and hyphens do not count. Fewer than eight
    /// say nothing.
    pub fn begins_with(&self, digits: &str) -> bool {
        let digits: String = (digits.chars())
            .filter(|c| !c.is_whitespace() && *c != '-')
            .map(|c| c.to_ascii_lowercase())
            .collect();
        digits.len() >= 8 && self.to_string().starts_with(&digits)
    }
}

impl Display for Digest {
    fn fmt(&self, f: &mut Formatter<'_>) -> std::fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl From<Digest> for String {
    fn from(digest: Digest) -> Self {
        digest.to_string()
    }
}

impl TryFrom<String> for Digest {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        text.parse()
    }
}

impl FromStr for Digest {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || "a digest has 64 hexadecimal digits".to_owned();
        if text.len() != 64 || !text.is_ascii() {
            return Err(wrong());
        }
        let mut bytes = [0; 32];
        for (i, byte) in bytes.iter_mut().enumerate() {
            *byte = u8::from_str_radix(&text[2 * i..2 * i + 2], 16).map_err(|_| wrong())?;
        }
        Ok(Self(bytes))
    }
}

/// One time that the file was saved with something changed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Saved {
    /// When.
    pub at: Timestamp,
    /// Who and on which machine, as the system says.
    pub by: String,
    /// The version of Evenfield.
    pub program: String,
    /// What had changed since the entry before, part by part.
    pub what: Vec<String>,
    /// Of the document.
    pub document: Digest,
    /// Of this entry and all before it.
    pub chain: Digest,
}

impl Saved {
    /// When, as people read it: `2026-03-05 09:30:00`, UTC.
    pub fn at_in_words(&self) -> String {
        let at = self.at.to_string();
        let whole = at.split('.').next().unwrap_or(&at);
        whole.trim_end_matches('Z').replace('T', " ")
    }

    /// What the chain digest of an entry must be.
    fn chained(&self, before: Option<Digest>) -> Digest {
        let parts = (
            before,
            self.at,
            &self.by,
            &self.program,
            &self.what,
            self.document,
        );
        Digest::of_bytes(&serde_json::to_vec(&parts).unwrap_or_default())
    }
}

/// The trail, oldest first.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Trail(Vec<Saved>);

/// What is wrong with a trail, or with the document beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrailGap {
    /// The entry of that revision, or the one before it, is not as it was written.
    Entry(usize),
    /// The document is not the one of the last entry: it was changed by other means than Evenfield.
    Document,
}

/// Who saves, when and with what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Saver {
    /// When.
    pub at: Timestamp,
    /// Who and on which machine.
    pub by: String,
    /// The version of Evenfield.
    pub program: String,
}

impl Trail {
    /// The entries, oldest first; the revision of an entry is its place in the list, from 1.
    pub fn entries(&self) -> &[Saved] {
        &self.0
    }

    /// Whether nothing was ever put into it.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The revision that the file holds.
    pub fn revision(&self) -> usize {
        self.0.len()
    }

    /// The trail with an entry for a document that is saved now, where it is one that keeps a trail and something has changed.
    /// `before` is the document as it was read from the file, or saved last.
    pub fn with(&self, station: &Station, before: Option<&Station>, saver: Option<&Saver>) -> Self {
        let last = self.0.last();
        let keeps = station.papers.is_some() || last.is_some();
        let (Some(saver), true) = (saver, keeps) else {
            return self.clone();
        };
        let document = Digest::of(station);
        if last.is_some_and(|last| last.document == document) {
            return self.clone();
        }
        let mut what = match (last, before) {
            (None, _) => vec!["the trail begins".to_owned()],
            (Some(_), Some(before)) => station.parts_changed_since(before),
            (Some(_), None) => vec!["not told".to_owned()],
        };
        if what.is_empty() {
            what.push("another part".to_owned());
        }
        let was = before.map(Digest::of);
        if let (Some(last), Some(was)) = (last, was)
            && last.document != was
        {
            what.insert(0, FOUND_CHANGED.to_owned());
        }
        let mut saved = Saved {
            at: saver.at,
            by: saver.by.clone(),
            program: saver.program.clone(),
            what,
            document,
            chain: document,
        };
        saved.chain = saved.chained(last.map(|last| last.chain));
        let mut trail = self.clone();
        trail.0.push(saved);
        trail
    }

    /// What does not fit together, in the order of the list.
    pub fn gaps(&self, station: &Station) -> Vec<TrailGap> {
        let mut gaps: Vec<TrailGap> = self.broken().map(TrailGap::Entry).collect();
        let last = self.0.last();
        if last.is_some_and(|last| last.document != Digest::of(station)) {
            gaps.push(TrailGap::Document);
        }
        gaps
    }

    /// The revisions that are not as they were written.
    pub fn broken(&self) -> impl Iterator<Item = usize> {
        let before = self.0.iter().map(|saved| Some(saved.chain));
        let before = std::iter::once(None).chain(before);
        let all = self.0.iter().zip(before).enumerate();
        all.filter(|(_, (saved, before))| saved.chained(*before) != saved.chain)
            .map(|(i, _)| i + 1)
    }

    /// The revisions whose document has a digest that begins with these digits.
    pub fn revisions_of(&self, digits: &str) -> Vec<usize> {
        let all = self.0.iter().enumerate();
        all.filter(|(_, saved)| saved.document.begins_with(digits))
            .map(|(i, _)| i + 1)
            .collect()
    }
}

/// What an entry says first when the file was changed by other means since the entry before.
pub const FOUND_CHANGED: &str = "the file had been changed by other means since";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Shape;
    use crate::station::Papers;

    fn saver(second: i64) -> Saver {
        Saver {
            at: Timestamp::from_second(1_790_000_000 + second).expect("a time"),
            by: "ana on bench-2".into(),
            program: "0.1.0".into(),
        }
    }

    fn station() -> Station {
        let mut station = Station::new("Bench", Shape::Circle { diameter: 90.0 }, 70.0);
        station.papers = Some(Papers::default());
        station
    }

    /// Three saves of a document, each with another name.
    fn trail() -> (Trail, Station) {
        let mut station = station();
        let mut trail = Trail::default();
        let mut before = None;
        for (i, name) in ["one", "two", "three"].into_iter().enumerate() {
            station.name = name.into();
            trail = trail.with(&station, before.as_ref(), Some(&saver(i as i64)));
            before = Some(station.clone());
        }
        (trail, station)
    }

    #[test]
    fn the_digest_is_sha_256() {
        // FIPS 180-4's example, as NIST publishes it: one block, "abc"
        assert_eq!(
            Digest::of_bytes(b"abc").to_string(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
        let text = Digest::of_bytes(b"abc").to_string();
        assert_eq!(text.parse(), Ok(Digest::of_bytes(b"abc")));
        assert!("ba78".parse::<Digest>().is_err());
        assert!(Digest::of_bytes(b"abc").begins_with("BA78 16BF-8f01"));
        assert!(!Digest::of_bytes(b"abc").begins_with("ba78"));
    }

    #[test]
    fn what_is_saved_is_put_behind_what_was() {
        let (trail, station) = trail();
        assert_eq!(trail.revision(), 3);
        assert_eq!(trail.gaps(&station), []);
        assert_eq!(trail.entries()[0].what, ["the trail begins"]);
        assert_eq!(trail.entries()[2].what, ["name"]);
        // saved again with nothing changed
        assert_eq!(trail.with(&station, Some(&station), Some(&saver(9))), trail);
        let digits = Digest::of(&station).on_page();
        assert_eq!(trail.revisions_of(&digits), [3]);
    }

    #[test]
    fn a_document_without_people_keeps_no_trail() {
        let mut station = station();
        station.papers = None;
        let trail = Trail::default().with(&station, None, Some(&saver(0)));
        assert!(trail.is_empty());
    }

    #[test]
    fn whatever_is_changed_in_the_past_shows() {
        let (trail, station) = trail();
        let changed = |change: &dyn Fn(&mut Vec<Saved>)| {
            let mut other = trail.clone();
            change(&mut other.0);
            other.gaps(&station)
        };
        assert_eq!(
            changed(&|all| all[0].by = "eve".into()),
            [TrailGap::Entry(1)]
        );
        assert_eq!(changed(&|all| all[1].what.clear()), [TrailGap::Entry(2)]);
        assert_eq!(
            changed(&|all| all[2].at = saver(50).at),
            [TrailGap::Entry(3)]
        );
        let gone = changed(&|all| {
            all.remove(1);
        });
        assert_eq!(gone, [TrailGap::Entry(2)]);
        assert_eq!(changed(&|all| all.swap(0, 1)).len(), 3);
        // the last one taken out: the document is not that of the one before
        let cut = changed(&|all| {
            all.pop();
        });
        assert_eq!(cut, [TrailGap::Document]);
    }

    #[test]
    fn a_document_that_was_changed_by_other_means_is_said_when_it_is_saved_next() {
        let (trail, mut station) = trail();
        station.source.face_height = 71.0;
        assert_eq!(trail.gaps(&station), [TrailGap::Document]);
        let before = station.clone();
        station.notes = "looked over".into();
        let trail = trail.with(&station, Some(&before), Some(&saver(60)));
        let last = trail.entries().last().expect("an entry");
        assert_eq!(last.what, [FOUND_CHANGED, "notes"]);
        assert_eq!(trail.gaps(&station), []);
    }
}
