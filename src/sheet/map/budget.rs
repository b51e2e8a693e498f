//! The budget of uncertainties on the map's pages.

use super::sheet::MapSheet;
use crate::assess::limits::Counts;
use crate::record::{basis_words, counts_name};
use crate::sheet::flow::Flow;
use crate::sheet::table::{Column, Stand, Table};
use crate::units::fixed;

/// What leaves the irradiance at the coldest spot uncertain; nothing where it was not worked out.
pub(super) fn table(sheet: &MapSheet<'_>, flow: &mut Flow<'_>) {
    let Some(budget) = sheet.outlook.map(|o| &o.budget) else {
        return;
    };
    let mut rows: Vec<Vec<String>> = (budget.components.iter())
        .map(|c| {
            vec![
                c.what.to_owned(),
                c.percent
                    .map_or_else(|| "not known".to_owned(), |p| fixed(p, 2)),
                match c.counts {
                    Counts::Both => "relative and absolute",
                    Counts::Beside => "in neither",
                    other => counts_name(other),
                }
                .to_owned(),
                basis_words(c.from, sheet.length),
            ]
        })
        .collect();
    let mut sum = |what: &str, percent: f64| {
        let how = "combined as the GUM does (JCGM 100)".to_owned();
        rows.push(vec![what.to_owned(), fixed(percent, 2), String::new(), how]);
    };
    sum("Relative, combined", budget.relative.0);
    if let Some((percent, _)) = budget.absolute {
        sum("Absolute, combined", percent);
    }
    let column = |heading: &str, share, stand| Column {
        heading: heading.to_owned(),
        share,
        stand,
    };
    let table = Table {
        columns: vec![
            column("Component", 40.0, Stand::Left),
            column("% (k = 1)", 20.0, Stand::Point),
            column("Counts", 32.0, Stand::Left),
            column("Where it comes from", 88.0, Stand::Left),
        ],
        rows,
        row_height: 0.0,
        ruled: false,
    };
    flow.titled_table(
        "Where the uncertainty at the coldest spot comes from",
        &table,
    );
}
