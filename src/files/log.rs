//! Irradiance logs as files and pasted blocks: a row a reading, under a header that says what stands where.

use std::path::Path;

use jiff::civil::{Date, DateTime, Time, date};

use super::csv::{excluded, said_yes, unguarded};
use super::headers::{Field, Use, in_words, number_of};
use super::raw::Raw;
use super::table::{Cell, Row};
use super::{Drive, FileError, csv_cell, open_readings};
use crate::station::{Log, LogEntry};
use crate::units::parse_date;

/// What a column of a log holds.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Column {
    /// Day and time, or a day.
    At,
    /// The day alone.
    Day,
    /// The time of the day.
    Time,
    /// The reading, after multiplying by the factor to mW/cm²; `None`: it says no unit.
    Irradiance(Option<f64>),
    /// The same at the coldest site.
    AtColdest(Option<f64>),
    Radiometer,
    Hours,
    By,
    SetAside,
    Saturated,
    Note,
}

/// The columns of a log as it is written, in their order.
const HEADER: &str = "date,time,irradiance_mw_cm2,radiometer,lamp_hours,at_coldest_mw_cm2,by,set_aside,saturated,note";

/// Letters and digits of a header, lower case.
fn plain(header: &str) -> String {
    let lower = header.to_lowercase();
    lower.chars().filter(|c| c.is_alphanumeric()).collect()
}

impl Column {
    fn of_header(header: &str) -> Option<Self> {
        let name = plain(header);
        if let Some(rest) = name
            .strip_prefix("atcoldest")
            .or(name.strip_prefix("coldest"))
        {
            return Some(Self::AtColdest(factor(&format!("irradiance_{rest}"))?));
        }
        Some(match name.as_str() {
            "at" | "when" | "datetime" | "dateandtime" | "timestamp" => Self::At,
            "date" | "day" => Self::Day,
            "time" | "timeofday" => Self::Time,
            "radiometer" | "meter" => Self::Radiometer,
            "lamphours" | "hours" | "hoursh" | "lamphoursh" => Self::Hours,
            "by" | "initials" | "operator" => Self::By,
            "setaside" | "excluded" => Self::SetAside,
            "saturated" | "overrange" => Self::Saturated,
            "note" | "notes" => Self::Note,
            "reading" => Self::Irradiance(None),
            _ => Self::Irradiance(factor(header)?),
        })
    }

    /// What two columns of a kind are told apart by.
    fn kind(self) -> std::mem::Discriminant<Self> {
        std::mem::discriminant(&self)
    }
}

/// What a column of irradiance is multiplied by; `Some(None)`: it says no unit; `None`: it is none.
fn factor(header: &str) -> Option<Option<f64>> {
    match Use::of_header(header) {
        Use::Is(Field::Irradiance, factor) => Some(Some(factor)),
        Use::NoUnit(Field::Irradiance) => Some(None),
        _ => None,
    }
}

/// Reads a log from a file.
///
/// # Errors
/// Everything that is wrong, at least one, with the file's path, line and column; nothing is read by halves.
pub fn read_log(drive: &Drive, path: &Path) -> Result<Vec<LogEntry>, Vec<FileError>> {
    let raw = open_readings(drive, path).map_err(|error| vec![error])?;
    parse(&raw).map_err(|errors| errors.into_iter().map(|e| e.of(path)).collect())
}

/// Reads a log from a pasted block of cells.
///
/// # Errors
/// As [`read_log`], without a path.
pub fn pasted_log(cells: &[Vec<String>]) -> Result<Vec<LogEntry>, Vec<FileError>> {
    parse(&Raw::of_block(cells))
}

/// Reads a log from the bytes of a file.
///
/// # Errors
/// As [`read_log`], without a path.
pub fn parse_log(bytes: &[u8]) -> Result<Vec<LogEntry>, Vec<FileError>> {
    parse(&Raw::new(bytes.to_vec()).map_err(|error| vec![error])?)
}

fn parse(raw: &Raw) -> Result<Vec<LogEntry>, Vec<FileError>> {
    let rows = raw.sheets.first().map_or(&[][..], |sheet| &sheet.rows);
    let Some((header, rows)) = rows.split_first() else {
        return Err(vec![FileError::new(
            "there is no row",
            format!("have a header such as {HEADER} and rows under it"),
        )]);
    };
    let columns = columns(header).map_err(|error| vec![error])?;
    let is_book = raw.how_cut().is_none();
    let (mut entries, mut wrong) = (Vec::new(), Vec::new());
    for row in rows {
        match entry(row, &columns, is_book) {
            Ok(entry) => entries.push(entry),
            Err(error) => wrong.push(error),
        }
    }
    if entries.is_empty() && wrong.is_empty() {
        wrong.push(FileError::new(
            "there is a header and no reading under it",
            "have a row a reading",
        ));
    }
    if wrong.is_empty() {
        Ok(entries)
    } else {
        Err(wrong)
    }
}

fn columns(header: &Row) -> Result<Vec<Option<Column>>, FileError> {
    let at_header = |what: String, mend: String, cell: Option<&Cell>| {
        let column = cell.map_or(1, |cell| cell.column);
        FileError::new(what, mend).at(header.line, column)
    };
    let columns: Vec<Option<Column>> = (header.cells.iter())
        .map(|cell| Column::of_header(cell.text.trim()))
        .collect();
    for (i, column) in columns.iter().enumerate() {
        let Some(column) = column else { continue };
        let twice = columns[..i]
            .iter()
            .flatten()
            .any(|c| c.kind() == column.kind());
        if twice {
            return Err(at_header(
                format!("a second column says '{}'", header.cells[i].text.trim()),
                "leave one of them out or give it another name".to_owned(),
                header.cells.get(i),
            ));
        }
        if matches!(column, Column::Irradiance(None) | Column::AtColdest(None)) {
            return Err(at_header(
                format!("the column '{}' says no unit", header.cells[i].text.trim()),
                "call it irradiance_mw_cm2, irradiance_w_cm2 or irradiance_w_m2".to_owned(),
                header.cells.get(i),
            ));
        }
    }
    let has = |wanted: &dyn Fn(&Column) -> bool| columns.iter().flatten().any(wanted);
    let is_dated = has(&|c| matches!(c, Column::At | Column::Day));
    let is_read = has(&|c| matches!(c, Column::Irradiance(_)));
    if !(is_dated && is_read) {
        let names: Vec<&str> = header.cells.iter().map(|cell| cell.text.trim()).collect();
        let missing = if is_dated {
            "column of irradiance such as irradiance_mw_cm2"
        } else {
            "column named date"
        };
        return Err(at_header(
            format!(
                "there is no {missing}; the columns are {}",
                in_words(&names)
            ),
            format!("have a header such as {HEADER}"),
            None,
        ));
    }
    Ok(columns)
}

fn entry(row: &Row, columns: &[Option<Column>], is_book: bool) -> Result<LogEntry, FileError> {
    let at = |cell: &Cell, what: String, mend: &str| {
        FileError::new(what, mend).at(row.line, cell.column)
    };
    let (mut moment, mut time, mut irradiance) = (None, None, None);
    let mut entry = LogEntry::new(date(1970, 1, 1).at(0, 0, 0, 0), 0.0);
    for (cell, column) in row.cells.iter().zip(columns) {
        let text = unguarded(cell.text.trim());
        let (Some(column), false) = (column, text.is_empty()) else {
            continue;
        };
        let number = || {
            number_of(cell).filter(|n| n.is_finite()).ok_or_else(|| {
                at(
                    cell,
                    format!("'{text}' is not a number"),
                    "type a number such as 81.2",
                )
            })
        };
        let not_negative = || {
            let value = number()?;
            if value < 0.0 {
                return Err(at(
                    cell,
                    format!("{text} is below zero"),
                    "type zero or a number above it",
                ));
            }
            Ok(value)
        };
        match column {
            Column::At | Column::Day => {
                let serial = cell.number.filter(|_| is_book);
                let read = serial.map_or_else(|| parse_moment(text), moment_of_serial);
                moment = Some(read.map_err(|why| {
                    at(
                        cell,
                        why,
                        "type year, month and day, and the time where it is known, such as 2026-03-31 08:15",
                    )
                })?);
            }
            Column::Time => {
                let serial = cell.number.filter(|_| is_book);
                let read = serial.map_or_else(|| parse_time(text), time_of_serial);
                time = Some(
                    read.map_err(|why| at(cell, why, "type hours and minutes such as 08:15"))?,
                );
            }
            Column::Irradiance(factor) => {
                irradiance = Some(factor.unwrap_or(1.0) * not_negative()?);
            }
            Column::AtColdest(factor) => {
                entry.at_coldest = Some(factor.unwrap_or(1.0) * not_negative()?);
            }
            Column::Hours => entry.lamp_hours = Some(not_negative()?),
            Column::Radiometer => entry.radiometer = text.to_owned(),
            Column::By => entry.by = text.to_owned(),
            Column::SetAside => entry.set_aside = excluded(text.to_owned()),
            Column::Saturated => {
                entry.saturated = said_yes(text).ok_or_else(|| {
                    at(
                        cell,
                        format!("'{text}' says neither yes nor no"),
                        "type yes or no",
                    )
                })?;
            }
            Column::Note => entry.note = text.to_owned(),
        }
    }
    let missing = |what: &str| {
        let error = FileError::new(
            format!("the row has no {what}"),
            "fill it in or take the row out",
        );
        error.at(row.line, 1)
    };
    let (day, own) = moment.ok_or_else(|| missing("date"))?;
    entry.at = day.to_datetime(time.or(own).unwrap_or(Time::midnight()));
    entry.irradiance = irradiance.ok_or_else(|| missing("reading"))?;
    Ok(entry)
}

/// A day, with its time where that is said.
type Moment = (Date, Option<Time>);

/// Reads `2026-03-31`, `2026-03-31 08:15`, `2026-03-31T08:15:30` or `31.3.2026 8:15`.
///
/// # Errors
/// A sentence.
pub fn parse_moment(text: &str) -> Result<Moment, String> {
    let text = text.trim();
    let (day, time) = match text.split_once(['T', ' ']) {
        Some((day, time)) => (day, Some(time.trim())),
        None => (text, None),
    };
    let wrong = || format!("'{text}' is not a date");
    let day = parse_date(day).map_err(|_| wrong())?;
    let time = match time {
        None | Some("") => None,
        Some(time) => Some(parse_time(time).map_err(|_| wrong())?),
    };
    Ok((day, time))
}

/// Reads `8:15`, `08:15` or `08:15:30`.
fn parse_time(text: &str) -> Result<Time, String> {
    let wrong = || format!("'{text}' is not a time of the day");
    let text = text.trim().trim_end_matches('Z');
    let mut parts = text.split(':').map(|part| part.trim().parse::<i8>().ok());
    let (hour, minute) = (parts.next().flatten(), parts.next().flatten());
    let second = match parts.next() {
        None => Some(0),
        // parts of a second do not matter here
        Some(second) => second.or_else(|| {
            let last = text.rsplit(':').next()?;
            last.split('.').next()?.parse().ok()
        }),
    };
    let (Some(hour), Some(minute), Some(second)) = (hour, minute, second) else {
        return Err(wrong());
    };
    Time::new(hour, minute, second, 0).map_err(|_| wrong())
}

/// Days from 30 December 1899, as spreadsheets count them.
fn moment_of_serial(days: f64) -> Result<Moment, String> {
    let wrong = || format!("{days} is not a date");
    if !(1.0..200_000.0).contains(&days) {
        return Err(wrong());
    }
    let day = date(1899, 12, 30)
        .checked_add(jiff::Span::new().days(days.floor() as i64))
        .map_err(|_| wrong())?;
    let time = days.fract();
    Ok((day, (time > 0.0).then(|| time_of_serial(time)).transpose()?))
}

fn time_of_serial(share: f64) -> Result<Time, String> {
    let wrong = || format!("{share} is not a time of the day");
    if !(0.0..1.0).contains(&share) {
        return Err(wrong());
    }
    let seconds = ((share * 86_400.0).round() as i32).min(86_399);
    let part = |n: i32| i8::try_from(n).map_err(|_| wrong());
    Time::new(
        part(seconds / 3600)?,
        part(seconds / 60 % 60)?,
        part(seconds % 60)?,
        0,
    )
    .map_err(|_| wrong())
}

/// A log as CSV, one entry a row under a header, in mW/cm² and hours; [`parse_log`] reads it back.
pub fn log_csv<'a>(entries: impl IntoIterator<Item = &'a LogEntry>) -> String {
    let mut text = format!("{HEADER}\n");
    let number = |value: Option<f64>| value.map(|v| v.to_string()).unwrap_or_default();
    for entry in entries {
        let cells = [
            entry.at.date().to_string(),
            entry.at.time().to_string(),
            entry.irradiance.to_string(),
            csv_cell(entry.radiometer.trim()),
            number(entry.lamp_hours),
            number(entry.at_coldest),
            csv_cell(entry.by.trim()),
            entry
                .set_aside
                .as_deref()
                .map(super::csv::reason)
                .unwrap_or_default(),
            if entry.saturated { "yes" } else { "" }.to_owned(),
            csv_cell(entry.note.trim()),
        ];
        text += &cells.join(",");
        text.push('\n');
    }
    text
}

/// Those of some entries that a log does not have yet: of the same moment, reading and radiometer; and how many it has.
pub fn not_in_log(entries: Vec<LogEntry>, log: &Log) -> (Vec<LogEntry>, usize) {
    let key = |entry: &LogEntry| {
        (
            entry.at,
            entry.irradiance.to_bits(),
            entry.radiometer.clone(),
        )
    };
    let there: std::collections::HashSet<(DateTime, u64, String)> = log.iter().map(key).collect();
    let all = entries.len();
    let new: Vec<LogEntry> = (entries.into_iter())
        .filter(|entry| !there.contains(&key(entry)))
        .collect();
    let known = all - new.len();
    (new, known)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_log_is_read_whatever_it_is_written_with() {
        let text = "Date;Time;Irradiance (W/cm²);Lamp hours;Radiometer;Note\n\
                    9.3.2026;7:05;0,1012;12,5;R1;\n\
                    2026-03-10;08:15:30;0,1008;;R1;\"after; cleaning\"\n";
        let entries = parse_log(text.as_bytes()).expect("a log");
        assert_eq!(entries.len(), 2);
        assert_eq!(entries[0].at, date(2026, 3, 9).at(7, 5, 0, 0));
        assert!((entries[0].irradiance - 101.2).abs() < 1e-9);
        assert_eq!(entries[0].lamp_hours, Some(12.5));
        assert_eq!(entries[1].at, date(2026, 3, 10).at(8, 15, 30, 0));
        assert_eq!(entries[1].note, "after; cleaning");
        let one = "when,irradiance_mw_cm2\n2026-03-09T07:05,99.5\n";
        let entries = parse_log(one.as_bytes()).expect("a log");
        assert_eq!(entries[0].at, date(2026, 3, 9).at(7, 5, 0, 0));
    }

    #[test]
    fn what_is_wrong_is_said_with_its_place() {
        let said = |text: &str| -> Vec<String> {
            let errors = parse_log(text.as_bytes()).expect_err("wrong");
            errors.iter().map(ToString::to_string).collect()
        };
        let text = "date,irradiance_mw_cm2\n2026-03-09,eighty\n3/9/2026,80\n,80\n2026-03-09,-4\n";
        let all = said(text);
        assert_eq!(all.len(), 4);
        assert!(
            all[0].starts_with("line 2, column 12: 'eighty' is not a number"),
            "{}",
            all[0]
        );
        assert!(
            all[1].starts_with("line 3, column 1: '3/9/2026' is not a date"),
            "{}",
            all[1]
        );
        assert!(all[2].contains("no date"), "{}", all[2]);
        assert!(all[3].contains("below zero"), "{}", all[3]);
        assert!(said("date,irradiance\n2026-03-09,80\n")[0].contains("no unit"));
        assert!(said("date,comment\n2026-03-09,80\n")[0].contains("no column of irradiance"));
        assert!(said("irradiance_mw_cm2\n80\n")[0].contains("no column named date"));
        assert!(said("date,date,irradiance_mw_cm2\n")[0].contains("second column"));
        assert!(said("date,irradiance_mw_cm2\n")[0].contains("no reading"));
    }

    #[test]
    fn what_is_written_is_read_back() {
        let mut entry = LogEntry::new(date(2026, 3, 9).at(7, 5, 30, 0), 101.25);
        entry.radiometer = "=R1".into();
        entry.set_aside = Some("read before warm-up, twice".into());
        entry.saturated = true;
        entry.at_coldest = Some(80.5);
        entry.lamp_hours = Some(1234.5);
        entry.note = "a \"note\"".into();
        let all = vec![entry, LogEntry::new(date(2026, 3, 10).at(0, 0, 0, 0), 0.1)];
        let back = parse_log(log_csv(&all).as_bytes()).expect("what was written");
        assert_eq!(back, all);
        let log: Log = all.iter().take(1).cloned().collect();
        let (new, known) = not_in_log(back, &log);
        assert_eq!((new.len(), known), (1, 1));
    }

    #[test]
    fn spreadsheets_count_days_from_1899() {
        // 1 January 2000 is day 36526 (common practice, no source)
        assert_eq!(
            moment_of_serial(36_526.25),
            Ok((date(2000, 1, 1), Some(Time::constant(6, 0, 0, 0))))
        );
        assert!(moment_of_serial(-3.0).is_err());
    }
}
