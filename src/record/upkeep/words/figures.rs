//! Percentages, days and periods.

use jiff::civil::{Date, DateTime};

use crate::units::fixed;
use crate::upkeep::{Figure, moment_of};

/// A share as a percentage with its sign.
pub fn signed_percent(share: f64, decimals: usize) -> String {
    let text = fixed(100.0 * share, decimals);
    if share > 0.0 && !text.starts_with('-') {
        format!("+{text} %")
    } else {
        format!("{} %", text.replacen('-', "\u{2212}", 1))
    }
}

/// A percentage with its interval.
pub(super) fn percent_between(figure: Figure, decimals: usize) -> String {
    format!(
        "{} ({} to {} with 95 % confidence)",
        signed_percent(figure.value, decimals),
        signed_percent(figure.low, decimals),
        signed_percent(figure.high, decimals)
    )
}

/// A day in words; nothing beyond all calendars.
pub(super) fn day_words(day: f64) -> String {
    moment_of(day).map_or_else(|| "?".to_owned(), |at| at.date().to_string())
}

/// A period in words.
pub fn period_words(from: Option<Date>, to: Option<Date>) -> String {
    match (from, to) {
        (None, None) => "all of it".to_owned(),
        (Some(from), None) => format!("from {from}"),
        (None, Some(to)) => format!("until {to}"),
        (Some(from), Some(to)) => format!("{from} to {to}"),
    }
}

/// A moment as it is typed and read: `2026-03-31 08:15`, seconds only where there are some.
pub fn moment_words(at: DateTime) -> String {
    let text = at.to_string().replace('T', " ");
    text.strip_suffix(":00").unwrap_or(&text).to_owned()
}
