//! A log's readings put in order, one series a lamp.

use super::asked::{Asked, Mark, Refused};
use super::told::{Clock, Oddity};
use crate::numeric::quantile::median;

/// No more times than this in one series: beyond it readings of a day, or of several days, are put together.
const MOST: usize = 1000;
/// A clock of hours needs them at so many of the readings; between them hours are laid straight.
const KNOWN: f64 = 0.8;
/// What a median of many weighs beside their mean, for normal readings: 2/π.
const MEDIAN: f64 = 0.64;
/// Hours of a day, and some for clocks that are read at different times of it.
const DAY: f64 = 24.0;
const SLACK: f64 = 2.0;

/// A time of a series.
#[derive(Debug, Clone, PartialEq)]
pub struct Observed {
    /// Day.
    pub day: f64,
    /// Along the clock since the lamp was put in: hours or days.
    pub clock: f64,
    /// Logarithm of irradiance: of several, the mean of two and the median of more, so that one that stands out drags nothing.
    pub log: f64,
    /// How many readings' weight it has.
    pub together: f64,
    /// The conversion that they went through.
    pub conversion: Option<usize>,
    /// Index of the first of them in the question.
    pub reading: usize,
}

/// What is known to have changed between two times of a series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Known {
    /// The first time that has it.
    pub from: usize,
    /// Index of the mark.
    pub mark: usize,
    /// Size on the logarithm with its standard uncertainty; `None`: not known.
    pub size: Option<(f64, f64)>,
}

/// One lamp's readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// When the lamp was put in.
    pub since: f64,
    /// Along what.
    pub clock: Clock,
    /// Hours at clock 0, where the clock is hours.
    pub hours: Option<f64>,
    /// In the order of time; clocks never fall.
    pub times: Vec<Observed>,
    /// How many readings.
    pub readings: usize,
    /// In the order of time, no two from the same time on.
    pub known: Vec<Known>,
    /// Days and hours where both are known, in order.
    pub burnt: Vec<(f64, f64)>,
}

impl Series {
    /// Length along the clock.
    pub fn length(&self) -> f64 {
        match (self.times.first(), self.times.last()) {
            (Some(a), Some(b)) => b.clock - a.clock,
            _ => 0.0,
        }
    }

    /// Length in days.
    pub fn days(&self) -> f64 {
        match (self.times.first(), self.times.last()) {
            (Some(a), Some(b)) => b.day - a.day,
            _ => 0.0,
        }
    }
}

/// Looks through a question.
///
/// # Errors
/// [`Refused`] with the first thing that can't be used.
pub fn sound(asked: &Asked<'_>) -> Result<(), Refused> {
    for (i, u) in asked.conversions.iter().enumerate() {
        if !(u.is_finite() && *u >= 0.0) {
            return Err(Refused::BadConversion(i));
        }
    }
    for (i, reading) in asked.readings.iter().enumerate() {
        if !(reading.irradiance.is_finite() && reading.irradiance > 0.0) {
            return Err(Refused::NotPositive(i));
        }
        if !(reading.day.is_finite() && reading.hours.is_none_or(f64::is_finite)) {
            return Err(Refused::NoTime(i));
        }
        if reading
            .conversion
            .is_some_and(|c| c >= asked.conversions.len())
        {
            return Err(Refused::NoConversion(i));
        }
    }
    for (i, marked) in asked.marks.iter().enumerate() {
        let shift = match marked.mark {
            Mark::Recalibrated(Some((shift, u))) => {
                shift.is_finite() && shift > -1.0 && u.is_finite() && u >= 0.0
            }
            _ => true,
        };
        if !(shift && marked.day.is_finite()) {
            return Err(Refused::BadMark(i));
        }
    }
    if asked.limit.is_some_and(|l| !(l.is_finite() && l > 0.0)) {
        return Err(Refused::BadLimit);
    }
    if !(asked.resolution.is_finite() && asked.resolution >= 0.0) {
        return Err(Refused::BadResolution);
    }
    Ok(())
}

/// Sorts readings by time and parts them at new lamps.
pub fn series(asked: &Asked<'_>) -> (Vec<Series>, Vec<Oddity>) {
    let mut order: Vec<usize> = (0..asked.readings.len()).collect();
    order.sort_by(|&a, &b| asked.readings[a].day.total_cmp(&asked.readings[b].day));
    let mut changes: Vec<f64> = (asked.marks.iter())
        .filter(|m| m.mark == Mark::NewLamp)
        .map(|m| m.day)
        .collect();
    changes.sort_by(f64::total_cmp);
    let (mut all, mut oddities) = (Vec::new(), Vec::new());
    let mut rest = &order[..];
    for lamp in 0..=changes.len() {
        let until = changes.get(lamp).copied().unwrap_or(f64::INFINITY);
        let split = rest.partition_point(|&i| asked.readings[i].day < until);
        let (own, later) = rest.split_at(split);
        rest = later;
        if let Some(&first) = own.first() {
            let begun = lamp.checked_sub(1).map(|l| changes[l]);
            let since = begun.unwrap_or(asked.readings[first].day);
            all.push(one(asked, own, since, &mut oddities));
        }
    }
    (all, oddities)
}

fn one(asked: &Asked<'_>, own: &[usize], since: f64, oddities: &mut Vec<Oddity>) -> Series {
    let burnt = burnt(asked, own, oddities);
    let enough = burnt.len() >= 2
        && burnt.len() as f64 >= KNOWN * own.len() as f64
        && burnt[burnt.len() - 1].1 > burnt[0].1;
    let (clock, hours) = if enough {
        (Clock::Hours, Some(burnt[0].1))
    } else {
        (Clock::Days, None)
    };
    let first = asked.readings[own[0]].day;
    let along = |day: f64| {
        if enough {
            hours_at(&burnt, day) - burnt[0].1
        } else {
            day - since.min(first)
        }
    };
    let marks = marks_of(asked, since);
    let (mut times, starts) = together(asked, own, &marks);
    for time in &mut times {
        time.clock = along(time.day);
    }
    // rounding of straight laid hours must not run back
    for i in 1..times.len() {
        times[i].clock = times[i].clock.max(times[i - 1].clock);
    }
    let known = known(asked, &marks, &starts, &times);
    Series {
        since,
        clock,
        hours,
        times,
        readings: own.len(),
        known,
        burnt,
    }
}

/// Days and hours that make sense, in the order of time.
fn burnt(asked: &Asked<'_>, own: &[usize], oddities: &mut Vec<Oddity>) -> Vec<(f64, f64)> {
    let mut burnt: Vec<(f64, f64)> = Vec::new();
    for &i in own {
        let reading = &asked.readings[i];
        let Some(hours) = reading.hours else { continue };
        if let Some(&(day, before)) = burnt.last() {
            if hours < before {
                oddities.push(Oddity::HoursBack(i));
                continue;
            }
            if hours - before > DAY * (reading.day - day) + SLACK {
                oddities.push(Oddity::HoursTooMany(i));
                continue;
            }
        }
        burnt.push((reading.day, hours));
    }
    burnt
}

/// Hours at a day, straight between those known, on at the mean rate beyond them.
fn hours_at(burnt: &[(f64, f64)], day: f64) -> f64 {
    let last = burnt.len() - 1;
    let above = burnt.partition_point(|b| b.0 < day);
    if above <= last && burnt[above].0 == day {
        return burnt[above].1;
    }
    let (a, b) = if above == 0 || above > last {
        (burnt[0], burnt[last])
    } else {
        (burnt[above - 1], burnt[above])
    };
    let from = if above > last { b } else { a };
    let span = b.0 - a.0;
    let rate = if span > 0.0 { (b.1 - a.1) / span } else { 0.0 };
    from.1 + rate * (day - from.0)
}

/// Marks of a lamp but its own beginning, in the order of time.
fn marks_of(asked: &Asked<'_>, since: f64) -> Vec<usize> {
    let mut marks: Vec<usize> = (0..asked.marks.len())
        .filter(|&i| asked.marks[i].mark != Mark::NewLamp && asked.marks[i].day > since)
        .collect();
    marks.sort_by(|&a, &b| asked.marks[a].day.total_cmp(&asked.marks[b].day));
    marks
}

/// Readings as times; and for each time how many of the marks came before it.
fn together(asked: &Asked<'_>, own: &[usize], marks: &[usize]) -> (Vec<Observed>, Vec<usize>) {
    let day = |i: usize| asked.readings[i].day;
    let span = day(own[own.len() - 1]) - day(own[0]);
    let width = if own.len() > MOST {
        (span / MOST as f64).ceil().max(1.0)
    } else {
        0.0
    };
    let (mut times, mut starts) = (Vec::<Observed>::new(), Vec::new());
    let mut logs: Vec<f64> = Vec::new();
    let (mut box_of, mut before) = (f64::NAN, 0);
    for &i in own {
        let reading = &asked.readings[i];
        while marks
            .get(before)
            .is_some_and(|&m| asked.marks[m].day <= reading.day)
        {
            before += 1;
        }
        let place = if width > 0.0 {
            ((reading.day - day(own[0])) / width).floor()
        } else {
            f64::NAN // never the same: each reading is a time of its own
        };
        let log = reading.irradiance.ln();
        match times.last_mut() {
            Some(last)
                if place == box_of
                    && starts.last() == Some(&before)
                    && last.conversion == reading.conversion =>
            {
                logs.push(log);
                last.day += (reading.day - last.day) / logs.len() as f64;
                last.log = median(&logs).unwrap_or(log);
                last.together = match logs.len() {
                    2 => 2.0,
                    many => MEDIAN * many as f64,
                };
            }
            _ => {
                logs = vec![log];
                box_of = place;
                starts.push(before);
                times.push(Observed {
                    day: reading.day,
                    clock: 0.0,
                    log,
                    together: 1.0,
                    conversion: reading.conversion,
                    reading: i,
                });
            }
        }
    }
    (times, starts)
}

/// Marks between two times, those between the same two put together.
fn known(asked: &Asked<'_>, marks: &[usize], starts: &[usize], times: &[Observed]) -> Vec<Known> {
    let mut known: Vec<Known> = Vec::new();
    for (order, &mark) in marks.iter().enumerate() {
        // the first time that has this mark before it
        let from = starts.partition_point(|&before| before <= order);
        if from == 0 || from >= times.len() {
            continue;
        }
        let size = match asked.marks[mark].mark {
            Mark::Recalibrated(shift) => shift.map(|(shift, u)| (shift.ln_1p(), u / (1.0 + shift))),
            _ => None,
        };
        match known.last_mut() {
            Some(last) if last.from == from => {
                if last.size.is_some() && size.is_none() {
                    last.mark = mark;
                }
                last.size = last
                    .size
                    .zip(size)
                    .map(|(a, b)| (a.0 + b.0, a.1.hypot(b.1)));
            }
            _ => known.push(Known { from, mark, size }),
        }
    }
    known
}
