//! Which numbers may be: each says what is wrong with one, and what to do.

use crate::geometry::{Corners, Footprint, Point, Shape, Unfit};

/// More rows or columns than this are refused by [`check`](super::Station::check) and never written out.
pub(super) const MOST_IN_A_ROW: u32 = 400;

/// Sites and positions that may be written out in one station, each.
pub(super) const MOST_PLACES: u64 = 10_000;

/// Heights that a plan may have.
pub(super) const MOST_HEIGHTS: usize = 20;

/// No length of a station lies beyond a kilometre, in mm.
pub(super) const LONGEST: f64 = 1e6;

/// No irradiance lies beyond a megawatt per square centimetre, in mW/cm².
pub(super) const BRIGHTEST: f64 = 1e9;

/// What is wrong and what to do, before it is known where.
pub(crate) type Fault = (String, String);

pub(super) type Sound = Result<(), Fault>;

pub(super) fn fault(what: impl Into<String>, mend: impl Into<String>) -> Sound {
    Err((what.into(), mend.into()))
}

pub(super) fn number(label: &str, value: f64, most: f64) -> Sound {
    if !value.is_finite() {
        fault(
            format!("the {label} is not a number"),
            "type a number such as 12.5",
        )
    } else if value.abs() > most {
        fault(
            format!("the {label} {value:e} is too large"),
            format!("type a number between -{most} and {most}"),
        )
    } else {
        Ok(())
    }
}

pub(super) fn length(label: &str, value: f64) -> Sound {
    number(label, value, LONGEST)
}

pub(super) fn above_zero(label: &str, value: f64, most: f64) -> Sound {
    number(label, value, most)?;
    if value > 0.0 {
        Ok(())
    } else {
        fault(
            format!("the {label} is {value}"),
            "type a number above zero",
        )
    }
}

pub(super) fn not_negative(label: &str, value: f64, most: f64) -> Sound {
    number(label, value, most)?;
    if value >= 0.0 {
        Ok(())
    } else {
        fault(
            format!("the {label} is {value}"),
            "type zero or a number above it",
        )
    }
}

pub(super) fn optional(value: Option<f64>, sound: impl Fn(f64) -> Sound) -> Sound {
    value.map_or(Ok(()), sound)
}

pub(super) fn shape(of: &str, shape: &Shape) -> Sound {
    match shape {
        Shape::Rectangle { width, depth } => {
            above_zero(&format!("width of the {of}"), *width, LONGEST)?;
            above_zero(&format!("depth of the {of}"), *depth, LONGEST)
        }
        Shape::Circle { diameter } => {
            above_zero(&format!("diameter of the {of}"), *diameter, LONGEST)
        }
        Shape::Polygon { corners } => polygon(of, corners),
    }
}

/// Corners are counted from 1, as the form does.
pub(super) fn polygon(of: &str, corners: &Corners) -> Sound {
    for (i, corner) in corners.iter().enumerate() {
        length(&format!("x of corner {} of the {of}", i + 1), corner.x)?;
        length(&format!("y of corner {} of the {of}", i + 1), corner.y)?;
    }
    let (what, mend) = match corners.fit() {
        Ok(()) => return Ok(()),
        Err(Unfit::TooFew) => (
            format!(
                "an outline needs three corners, that of the {of} has {}",
                corners.len()
            ),
            "add corners".to_owned(),
        ),
        Err(Unfit::TooMany) => (
            format!("the outline of the {of} has {} corners", corners.len()),
            format!(
                "leave corners out until there are no more than {}",
                Corners::MOST
            ),
        ),
        Err(Unfit::NotFinite(i)) => (
            format!("corner {} of the {of} is no number", i + 1),
            "type a number".to_owned(),
        ),
        Err(Unfit::Twice(i, j)) => (
            format!(
                "corners {} and {} of the {of} are in the same place",
                i + 1,
                j + 1
            ),
            "move or remove one of them".to_owned(),
        ),
        Err(Unfit::Crossing(i, j)) => {
            let side = |i: usize| format!("{} to {}", i + 1, (i + 1) % corners.len() + 1);
            (
                format!(
                    "the outline of the {of} crosses itself: its sides {} and {} meet",
                    side(i),
                    side(j)
                ),
                "give the corners in their order along the rim".to_owned(),
            )
        }
        Err(Unfit::NoArea) => (
            format!("the corners of the {of} lie on one line"),
            "move one of them, so that they enclose an area".to_owned(),
        ),
    };
    fault(what, mend)
}

pub(super) fn point(of: &str, point: Point) -> Sound {
    length(&format!("x of the {of}"), point.x)?;
    length(&format!("y of the {of}"), point.y)
}

pub(super) fn turn(of: &str, degrees: f64) -> Sound {
    number(&format!("turn of the {of}"), degrees, 3600.0)
}

pub(super) fn footprint(of: &str, footprint: &Footprint) -> Sound {
    shape(of, &footprint.shape)?;
    point(of, footprint.centre)?;
    turn(of, footprint.turn)
}

pub(super) fn rows_and_columns(of: &str, columns: u32, rows: u32) -> Sound {
    for (label, count) in [("columns", columns), ("rows", rows)] {
        if !(1..=MOST_IN_A_ROW).contains(&count) {
            return fault(
                format!("the {of} has {count} {label}"),
                format!("type a whole number between 1 and {MOST_IN_A_ROW}"),
            );
        }
    }
    Ok(())
}

/// Where there is only one, the pitch does not matter.
pub(super) fn pitch(label: &str, pitch: f64, count: u32) -> Sound {
    if count > 1 {
        above_zero(label, pitch, LONGEST)
    } else {
        length(label, pitch)
    }
}

pub(super) fn count_of_places(what: &str, count: u64) -> Sound {
    if count > MOST_PLACES {
        fault(
            format!("that makes {count} {what}"),
            format!("have at most {MOST_PLACES}"),
        )
    } else {
        Ok(())
    }
}
