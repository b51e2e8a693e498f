//! What upkeep says in sentences, in the reader's units.

use jiff::civil::{Date, DateTime};

use crate::station::{Event, Happened, Station, Upkeep, named};
use crate::units::{Units, fixed};
use crate::upkeep::beside::{NoComparison, Shift};
use crate::upkeep::life::{Life, NotProven};
use crate::upkeep::trend::{Cause, Clock, LampTrend, Oddity, Outlook, Refused, TooLittle, Trend};
use crate::upkeep::{
    Again, Carried, Comparison, Due, DueWhat, Figure, MonitorWindow, Remedy, Review, Scale, Side,
    Standing, Touched, Why, moment_of,
};

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
fn percent_between(figure: Figure, decimals: usize) -> String {
    format!(
        "{} ({} to {} with 95 % confidence)",
        signed_percent(figure.value, decimals),
        signed_percent(figure.low, decimals),
        signed_percent(figure.high, decimals)
    )
}

/// A day in words; nothing beyond all calendars.
fn day_words(day: f64) -> String {
    moment_of(day).map_or_else(|| "?".to_owned(), |at| at.date().to_string())
}

/// What stands for an event in lists and beside its line in the picture.
pub fn event_words(event: &Event, units: Units) -> String {
    let with = |what: &str, detail: &str| match detail.trim() {
        "" => what.to_owned(),
        detail => format!("{what}: {detail}"),
    };
    match &event.what {
        Happened::LampChanged { serial, hours } => {
            let hours = if *hours > 0.0 {
                format!("{serial} with {} h on it", fixed(*hours, 0))
            } else {
                serial.clone()
            };
            with("Lamp changed", &hours)
        }
        Happened::Adjusted { face_height, drive } => {
            let height = face_height.map(|h| format!("face at {}", units.length.show_with_unit(h)));
            let drive = Some(drive.trim()).filter(|d| !d.is_empty());
            let drive = drive.map(|drive| format!("drive {drive}"));
            let both: Vec<String> = height.into_iter().chain(drive).collect();
            with("Set anew", &both.join(", "))
        }
        Happened::Calibrated(of) => with("Calibrated", &of.radiometer),
        Happened::Cleaned { what } => with("Cleaned or changed", what),
        Happened::Other => with("Noted", &event.note),
    }
}

/// One letter for an event beside its line in the picture.
pub fn event_letter(event: &Event) -> &'static str {
    match event.what {
        Happened::LampChanged { .. } => "L",
        Happened::Adjusted { .. } => "A",
        Happened::Calibrated(_) => "C",
        Happened::Cleaned { .. } => "W",
        Happened::Other => "N",
    }
}

/// What the letters mean.
pub const EVENT_LETTERS: &str =
    "L lamp changed, A set anew, C radiometer calibrated, W cleaned or changed, N noted";

/// Where a reading lies.
pub fn side_words(side: Side) -> &'static str {
    match side {
        Side::NoWindow => "no limits",
        Side::Inside => "inside",
        Side::Below => "too low",
        Side::Above => "too high",
    }
}

/// Why an entry does not count.
pub fn why_words(why: &Why, set_aside: Option<&str>) -> String {
    match why {
        Why::SetAside => match set_aside {
            Some(reason) => format!("set aside: {reason}"),
            None => "set aside".to_owned(),
        },
        Why::OverRange => "over range".to_owned(),
        Why::NotRegistered => "radiometer not in the register".to_owned(),
        Why::PastDue(due) => format!("calibration ended on {due}"),
        Why::OtherBand => "other band".to_owned(),
        Why::NotCompared => "not read side by side".to_owned(),
        Why::Zero => "zero".to_owned(),
    }
}

/// How an entry stands.
pub fn standing_words(standing: &Standing, set_aside: Option<&str>) -> String {
    match standing {
        Standing::Counts { side, outside, .. } => {
            let side = side_words(*side);
            match outside {
                true => format!("{side}, beyond the levels compared"),
                false => side.to_owned(),
            }
        }
        Standing::Note(why) => why_words(why, set_aside),
    }
}

/// How readings on a scale come to that of the limits.
pub fn carried_words(scale: &Scale, upkeep: &Upkeep) -> String {
    let share = |added: f64| format!("adds {} % (k = 1)", fixed(100.0 * added, 2));
    match &scale.carried {
        Carried::Own => "the limits' own scale".to_owned(),
        Carried::ByCalibrations {
            factor,
            added,
            unknown,
        } => {
            let unknown = if *unknown {
                "; how it was found is not known for one of them"
            } else {
                ""
            };
            format!(
                "by calibrations times {}, {}{unknown}",
                fixed(*factor, 4),
                share(*added)
            )
        }
        Carried::ByComparison { beside, .. } => {
            let on = upkeep.beside.get(*beside).map(|b| b.on.to_string());
            format!("by the comparison of {}", on.unwrap_or_default())
        }
        Carried::NotCompared => "kept as notes: not read side by side with the main one".to_owned(),
    }
}

/// What must be read at the monitor position, as it is written elsewhere.
pub fn window_words(window: MonitorWindow, units: Units) -> String {
    let exact = |e: f64| units.irradiance.exact(e);
    let with_unit = |e: f64| units.irradiance.exact_with_unit(e);
    match window.most {
        Some(most) => format!("{} to {}", exact(window.least), with_unit(most)),
        None => format!("at least {}", with_unit(window.least)),
    }
}

/// What the newest reading means, and what to do.
pub fn latest_words(review: &Review, upkeep: &Upkeep, units: Units) -> Vec<String> {
    let Some(latest) = &review.daily.latest else {
        return vec![match upkeep.log.is_empty() {
            true => "Nothing was read at the monitor position yet".to_owned(),
            false => "No entry of the log counts; the table says why".to_owned(),
        }];
    };
    let show = |e: f64| units.irradiance.show_with_unit(e, None);
    let row = &review.daily.rows[latest.row];
    let on = upkeep.log.get(row.entry).map(|entry| entry.at.date());
    let on = on.map_or_else(String::new, |on| on.to_string());
    let read = show(latest.irradiance);
    let mut all = Vec::new();
    let Some(window) = review.terms.window else {
        all.push(format!(
            "{on}: {read}. It is held against nothing: there are no limits at the monitor position; set them in the step Limits"
        ));
        return all;
    };
    let ends = window_words(window, units);
    all.push(format!(
        "{on}: {read}, {} ({ends})",
        match latest.side {
            Side::Below => "below the least",
            Side::Above => "above the most",
            Side::Inside | Side::NoWindow => "inside the limits",
        }
    ));
    let site = review.terms.coldest_site.as_deref();
    let part = site.map_or_else(|| "the coldest spot".to_owned(), |s| named("site", s));
    if let (Some(coldest), true) = (latest.coldest, latest.side == Side::Below) {
        let lower = review.terms.lower.map(|lower| {
            format!(
                ", the lower limit is {}; that it gets enough is not proven any more",
                show(lower)
            )
        });
        all.push(format!(
            "By the map {part} gets {} now{}",
            show(coldest),
            lower.unwrap_or_default()
        ));
    }
    if let (Some(coldest), true) = (latest.coldest, latest.side == Side::Above) {
        all.push(format!(
            "By the map {part} gets {} now; the hottest part may get more than the upper limit allows",
            show(coldest)
        ));
    }
    match (latest.at_coldest, latest.coldest) {
        (Some(read), Some(told)) => all.push(format!(
            "Read at {part}: {}, {} from what the map says there; one monitor position can't see local wear",
            show(read),
            signed_percent(read / told - 1.0, 1)
        )),
        _ if matches!(latest.side, Side::Below | Side::Above) => all.push(format!(
            "Read {part} as well before anything is changed: one monitor position can't see local wear"
        )),
        _ => {}
    }
    all.extend(latest.remedy.map(|remedy| match remedy {
        Remedy::FaceAt(height) => format!(
            "To bring it back set the lamp's face to {} above the fixture's base, then read again; the pattern changes with the distance",
            units.length.show_with_unit(height)
        ),
        Remedy::DriveBy(factor) => format!(
            "To bring it back the light has to change by {}; set the drive, then read again. Where the drive is at its end, change the panel",
            signed_percent(factor - 1.0, 1)
        ),
        Remedy::OtherLamp => {
            "No distance within the measured heights brings it back: clean reflector and window, then change the lamp".to_owned()
        }
    }));
    all
}

/// When the next check is due; `None`: nobody said how often.
pub fn next_words(review: &Review) -> Option<String> {
    let next = review.daily.next?;
    Some(match next.days {
        0 => "The next check is due today".to_owned(),
        1 => format!("The next check is due tomorrow, {}", next.on),
        n if n > 0 => format!("The next check is due in {n} days, {}", next.on),
        -1 => format!("The check was due yesterday, {}", next.on),
        n => format!("The check was due {} days ago, {}", -n, next.on),
    })
}

fn too_little_words(why: TooLittle) -> String {
    match why {
        TooLittle::Readings { have, need } => {
            format!("{have} readings of this lamp count, {need} are needed")
        }
        TooLittle::Short => "all readings of this lamp are of less than five days".to_owned(),
    }
}

/// How fast a lamp fades.
pub fn slope_words(lamp: &LampTrend) -> String {
    match &lamp.slope {
        Ok(slope) => {
            let month = percent_between(slope.per_month, 2);
            match slope.per_1000_hours {
                Some(hours) => {
                    format!("{month} a month, {} in 1000 h", percent_between(hours, 1))
                }
                None => format!("{month} a month"),
            }
        }
        Err(why) => format!("Too little is known: {}", too_little_words(*why)),
    }
}

/// When the level reaches the least of the window.
pub fn outlook_words(trend: &Trend) -> Option<String> {
    Some(match trend.outlook? {
        Outlook::Reached { since, probability } => format!(
            "The level is below the least since {} (probability {} %)",
            day_words(since),
            fixed(100.0 * probability, 0)
        ),
        Outlook::Reaches(passage) => {
            let latest = passage.latest.map_or_else(
                || {
                    format!(
                        "after {}, further than which nothing is said",
                        day_words(passage.until)
                    )
                },
                day_words,
            );
            let hours = passage.hours.map(|(median, earliest, latest)| {
                let latest = latest.map_or_else(|| "more".to_owned(), |h| fixed(h, 0));
                format!(
                    "; at {} lamp hours ({} to {latest})",
                    fixed(median, 0),
                    fixed(earliest, 0)
                )
            });
            format!(
                "The least will be reached about {} (95 %: {} to {latest}){}",
                day_words(passage.day),
                day_words(passage.earliest),
                hours.unwrap_or_default()
            )
        }
        Outlook::NotInSight {
            until,
            probability,
            earliest,
            ..
        } => {
            let earliest = earliest.map(|day| {
                format!(
                    "; it is reached before {} with a probability of 2.5 %",
                    day_words(day)
                )
            });
            format!(
                "Not in sight: until {} the least is reached with a probability of {} %{}. Nothing is said further ahead",
                day_words(until),
                fixed(100.0 * probability, 0),
                earliest.unwrap_or_default()
            )
        }
        Outlook::TooLittle(why) => format!("Too little is known: {}", too_little_words(why)),
    })
}

/// The exponential beside it.
pub fn exponential_words(lamp: &LampTrend) -> Option<String> {
    let fit = lamp.exponential.as_ref()?;
    let per = match lamp.clock {
        Clock::Hours => ("1000 h", 1000.0),
        Clock::Days => ("30 days", 30.0),
    };
    let rate = |alpha: f64| -(-alpha * per.1).exp_m1();
    Some(format!(
        "Exponential by least squares: {} % in {} (standard error {} %), readings scatter by {} % about it",
        fixed(100.0 * rate(fit.alpha), 2),
        per.0,
        fixed(100.0 * fit.alpha_error * per.1, 2),
        fixed(100.0 * fit.scatter, 2)
    ))
}

/// What was taken out of a lamp's fading, and readings that stand out.
pub fn offset_words(
    lamp: &LampTrend,
    review: &Review,
    upkeep: &Upkeep,
    units: Units,
) -> Vec<String> {
    let offsets = lamp.offsets.iter().map(|offset| {
        let size = percent_between(offset.size, 1);
        let day = day_words(offset.day);
        match offset.cause {
            Cause::Found => format!(
                "{day}: the light changed all at once by {size}; nothing in the list of events tells of it"
            ),
            Cause::Mark(mark) => {
                let event = review.fading.events.get(mark);
                let event = event.and_then(|&i| upkeep.events.get(i));
                let what = event.map_or_else(String::new, |event| event_words(event, units));
                format!("{day}, {what}: {size}")
            }
        }
    });
    let outliers = lamp.outliers.iter().map(|outlier| {
        let last = if outlier.last {
            "; it is the last one and may be a change that stays: read again"
        } else {
            ""
        };
        format!(
            "{}: one reading {} off the level{last}",
            day_words(outlier.day),
            signed_percent(outlier.off, 1)
        )
    });
    offsets.chain(outliers).collect()
}

/// How long lamps last.
pub fn life_words(life: &Life, share: f64, by_hours: bool) -> String {
    let unit = if by_hours { "h" } else { "days" };
    let to = format!("to {} % of its beginning", fixed(100.0 * share, 0));
    match &life.next {
        Ok(expected) => format!(
            "The next lamp is expected to last {} {unit} {to} (95 %: {} to {}); {} lamps got there, {} were changed before or burn",
            fixed(expected.next.value, 0),
            fixed(expected.next.low, 0),
            fixed(expected.next.high, 0),
            expected.reached,
            expected.longer
        ),
        Err(NotProven::Few(n)) => format!(
            "How long a lamp lasts {to} is not proven: {n} got there, two are needed"
        ),
        Err(NotProven::BadShare) => {
            "How long a lamp lasts can't be said: the window at the monitor position is too narrow or too wide".to_owned()
        }
    }
}

/// Why there is no trend.
pub fn refused_words(why: Refused) -> String {
    match why {
        Refused::NotPositive(i) => format!("reading {} is not above zero", i + 1),
        Refused::NoTime(i) => format!("reading {} has no time", i + 1),
        Refused::NoConversion(i) | Refused::BadConversion(i) => {
            format!("a conversion between radiometers is wrong ({})", i + 1)
        }
        Refused::BadMark(i) => format!("event {} can't be used", i + 1),
        Refused::BadLimit => "the limit is not above zero".to_owned(),
        Refused::BadResolution => "the radiometer's resolution can't be".to_owned(),
    }
}

/// What is odd in the log.
pub fn oddity_words(trend: &Trend, review: &Review, upkeep: &Upkeep) -> Vec<String> {
    let at = |reading: usize| -> Option<DateTime> {
        let row = review.daily.rows.get(*review.fading.rows.get(reading)?)?;
        Some(upkeep.log.get(row.entry)?.at)
    };
    let oddities = trend.oddities.iter().map(|oddity| match oddity {
        Oddity::HoursBack(i) => (at(*i), "fewer lamp hours than before; they are not used"),
        Oddity::HoursTooMany(i) => (
            at(*i),
            "more lamp hours than there were in the days between; they are not used",
        ),
    });
    oddities
        .filter_map(|(at, what)| Some(format!("{}: {what}", at?.date())))
        .collect()
}

/// Why nothing can be said of two radiometers.
pub fn no_comparison_words(why: NoComparison) -> String {
    match why {
        NoComparison::FewPairs(n) => {
            format!("{n} pairs of readings are too few: two are needed, at three levels or more")
        }
        NoComparison::NotPositive(i) => format!("pair {} is not above zero", i + 1),
        NoComparison::BadCertificate => {
            "a certificate's uncertainty can't be, or what both have in common is more than one of them".to_owned()
        }
    }
}

/// What two radiometers side by side tell.
pub fn comparison_words(comparison: &Comparison, units: Units) -> Vec<String> {
    let compared = match comparison {
        Ok(compared) => compared,
        Err(why) => return vec![no_comparison_words(*why)],
    };
    let ratio = compared.ratio;
    let mut all = vec![format!(
        "Main over stand-in {} ({} to {} with 95 % confidence), {} levels, {} pairs; a converted reading gains {} % (k = 1)",
        fixed(ratio.value, 4),
        fixed(ratio.low, 4),
        fixed(ratio.high, 4),
        compared.counts.0,
        compared.counts.1,
        fixed(100.0 * compared.uncertainty, 2)
    )];
    all.push(match &compared.dependence {
        None => "Whether the ratio depends on the level is not known: read at three levels or more, a tenth apart".to_owned(),
        Some(of) if of.depends => format!(
            "It depends on the level: main = {} + {} times stand-in; readings are converted by that line",
            units.irradiance.show_with_unit(of.intercept.value, None),
            fixed(of.factor.value, 4)
        ),
        Some(of) => format!(
            "That it depends on the level is not proven (p = {})",
            fixed(of.p, 2)
        ),
    });
    all.push(match &compared.agreement {
        None => "The certificates are not told: whether they explain the difference can't be said"
            .to_owned(),
        Some(agreement) => format!(
            "En {}: {} the certificates (up to {} % allowed)",
            fixed(agreement.en, 2),
            if agreement.agrees {
                "within"
            } else {
                "more than is explained by"
            },
            fixed(100.0 * agreement.allowed, 1)
        ),
    });
    all
}

/// What a calibration changed.
pub fn shift_words(shift: Option<&Result<Shift, NoComparison>>) -> String {
    match shift {
        None => {
            "how the radiometer was found is not told; ask the laboratory for the figure as found"
                .to_owned()
        }
        Some(Err(why)) => no_comparison_words(*why),
        Some(Ok(shift)) => {
            let agreement = shift.agreement.map_or(String::new(), |a| {
                let how = if a.agrees {
                    "within what the certificates allow"
                } else {
                    "more than the certificates allow"
                };
                format!(", {how} (En {})", fixed(a.en, 2))
            });
            format!(
                "it reads {} since{agreement}",
                percent_between(shift.shift, 1)
            )
        }
    }
}

/// What a calibration touches.
pub fn touched_words(
    touched: &Touched,
    entries: usize,
    station: &Station,
    units: Units,
) -> Vec<String> {
    let mut all = vec![shift_words(touched.shift.as_ref())];
    let log = match entries {
        0 => "no entry of the log".to_owned(),
        1 => "one entry of the log".to_owned(),
        n => format!("{n} entries of the log"),
    };
    all.push(format!(
        "read with it since the calibration before: {log}, {} surveys",
        touched.surveys.len()
    ));
    for (survey, again) in &touched.surveys {
        let name = station.surveys.get(*survey).map_or("", |s| s.name.as_str());
        all.push(match again {
            None => format!("{}: nothing to judge again", named("survey", name)),
            Some(again) => again_words(name, again, units),
        });
    }
    all
}

fn again_words(name: &str, again: &Again, units: Units) -> String {
    let show = |e: Option<f64>| {
        e.map_or_else(
            || "no bound".to_owned(),
            |e| units.irradiance.show_with_unit(e, None),
        )
    };
    format!(
        "{}: {} as read (assured {}); {} with the radiometer as it was found all along (assured {})",
        named("survey", name),
        again.was.words(),
        show(again.judged.0),
        again.now.words(),
        show(again.judged.1)
    )
}

/// What is due, and what to do.
pub fn due_words(due: &Due, units: Units) -> String {
    let on = due.on.map(|on| format!("{on}: ")).unwrap_or_default();
    let what = match &due.what {
        DueWhat::Check(days) => format!("the monitor position was to be read {days} days ago"),
        DueWhat::Outside(side) => format!("the newest reading is {}", side_words(*side)),
        DueWhat::LimitNear => "the level reaches the least at the monitor position".to_owned(),
        DueWhat::Lamp(serial) => match serial.as_str() {
            "" => "the lamp was changed".to_owned(),
            serial => format!("the lamp was changed ({serial})"),
        },
        DueWhat::Adjusted(Some(height)) => format!(
            "the lamp was set to {}, another height",
            units.length.show_with_unit(*height)
        ),
        DueWhat::Adjusted(None) => {
            "the drive was set anew; read the coldest site as well".to_owned()
        }
        DueWhat::Cleaned(what) => match what.as_str() {
            "" => "something in the light's way was cleaned or changed".to_owned(),
            what => format!("cleaned or changed: {what}"),
        },
        DueWhat::Calibrated(name) => format!(
            "{} was calibrated: limits that were found with it are carried over; look at its shift",
            named("radiometer", name)
        ),
        DueWhat::Calibration(name, days) if *days < 0 => format!(
            "the calibration of {} ended {} days ago: its readings are kept as notes",
            named("radiometer", name),
            -days
        ),
        DueWhat::Calibration(name, days) => format!(
            "the calibration of {} ends in {days} days",
            named("radiometer", name)
        ),
        DueWhat::Step(share) => format!(
            "the light changed all at once by {}; look for its cause",
            signed_percent(*share, 1)
        ),
        DueWhat::Old(days) => format!("it has become {days} days old"),
    };
    format!("{on}{what}")
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
