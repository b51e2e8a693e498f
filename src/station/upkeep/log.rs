//! The irradiance log: long, and seldom changed but at its end.

use jiff::civil::DateTime;
use serde::{Deserialize, Serialize, Serializer};

use super::entry::LogEntry;
use crate::station::Shared;

/// Entries in the order of their time; those of one time in the order in which they came. The entries of a month are held
/// together, and versions of the document share the months that stayed the same: a further entry copies one month, however
/// long the log is.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(from = "Vec<Vec<LogEntry>>")]
pub struct Log(Vec<Shared<Vec<LogEntry>>>);

/// Year and month.
type Month = (i16, i8);

fn month(at: DateTime) -> Month {
    (at.year(), at.month())
}

impl Serialize for Log {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.0.serialize(serializer)
    }
}

impl From<Vec<Vec<LogEntry>>> for Log {
    fn from(months: Vec<Vec<LogEntry>>) -> Self {
        months.into_iter().flatten().collect()
    }
}

impl FromIterator<LogEntry> for Log {
    fn from_iter<I: IntoIterator<Item = LogEntry>>(entries: I) -> Self {
        let mut entries: Vec<LogEntry> = entries.into_iter().collect();
        entries.sort_by_key(|entry| entry.at);
        let mut months: Vec<Vec<LogEntry>> = Vec::new();
        for entry in entries {
            match months.last_mut() {
                Some(last) if month(last[0].at) == month(entry.at) => last.push(entry),
                _ => months.push(vec![entry]),
            }
        }
        Self(months.into_iter().map(Shared::from).collect())
    }
}

impl Log {
    /// How many entries there are.
    pub fn len(&self) -> usize {
        self.0.iter().map(|month| month.len()).sum()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// All entries, oldest first.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &LogEntry> {
        self.0.iter().flat_map(|month| month.iter())
    }

    /// The entry at that index, counted from the oldest.
    pub fn get(&self, index: usize) -> Option<&LogEntry> {
        let (month, row) = self.place(index)?;
        self.0[month].get(row)
    }

    /// The newest entry.
    pub fn last(&self) -> Option<&LogEntry> {
        self.0.last()?.last()
    }

    /// The months, each held by every version of the document in which it stayed the same.
    pub fn months(&self) -> &[Shared<Vec<LogEntry>>] {
        &self.0
    }

    /// A log of months that come from others.
    pub(in crate::station) fn of_months(months: Vec<Shared<Vec<LogEntry>>>) -> Self {
        Self(months)
    }

    /// Puts an entry behind all that are as old or older; its index.
    pub(in crate::station) fn insert(&mut self, entry: LogEntry) -> usize {
        let key = month(entry.at);
        let at = self.0.partition_point(|m| month(m[0].at) < key);
        let before: usize = self.0[..at].iter().map(|m| m.len()).sum();
        match self.0.get_mut(at).filter(|m| month(m[0].at) == key) {
            Some(of_month) => {
                let row = of_month.partition_point(|other| other.at <= entry.at);
                of_month.insert(row, entry);
                before + row
            }
            None => {
                self.0.insert(at, vec![entry].into());
                before
            }
        }
    }

    /// Takes an entry away.
    pub(in crate::station) fn remove(&mut self, index: usize) -> Option<LogEntry> {
        let (month, row) = self.place(index)?;
        let gone = self.0[month].remove(row);
        if self.0[month].is_empty() {
            self.0.remove(month);
        }
        Some(gone)
    }

    fn place(&self, index: usize) -> Option<(usize, usize)> {
        let mut row = index;
        for (i, month) in self.0.iter().enumerate() {
            if row < month.len() {
                return Some((i, row));
            }
            row -= month.len();
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn entry(month: i8, day: i8, value: f64) -> LogEntry {
        LogEntry::new(date(2026, month, day).at(8, 0, 0, 0), value)
    }

    #[test]
    fn entries_stand_in_the_order_of_their_time() {
        let mut log: Log = [entry(3, 2, 1.0), entry(1, 5, 2.0), entry(3, 1, 3.0)]
            .into_iter()
            .collect();
        assert_eq!(log.months().len(), 2);
        assert_eq!(log.insert(entry(2, 9, 4.0)), 1);
        assert_eq!(log.insert(entry(3, 1, 5.0)), 3);
        let values: Vec<f64> = log.iter().map(|e| e.irradiance).collect();
        assert_eq!(values, [2.0, 4.0, 3.0, 5.0, 1.0]);
        assert_eq!(log.get(3).map(|e| e.irradiance), Some(5.0));
        assert_eq!(log.remove(1).map(|e| e.irradiance), Some(4.0));
        assert_eq!((log.len(), log.months().len()), (4, 2));
        assert_eq!(log.remove(9), None);
        assert_eq!(log.last().map(|e| e.irradiance), Some(1.0));
    }

    #[test]
    fn a_further_entry_copies_its_month_only() {
        let mut log: Log = (1..=12).map(|m| entry(m, 1, f64::from(m))).collect();
        let before = log.clone();
        log.insert(entry(12, 2, 0.5));
        let shared = before.months().iter().zip(log.months());
        assert_eq!(shared.filter(|(a, b)| a.is(b)).count(), 11);
        assert_eq!(before.len(), 12);
    }
}
