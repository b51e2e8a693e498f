//! What an edit is called in the undo menu.

use super::Edit;
use crate::station::limits::Limits;
use crate::station::words::named;
use crate::station::{
    Fixture, KeepOut, Plan, PlanLayout, Position, Radiometer, Settings, SiteGroup, SiteLayout,
    Source, Station, Survey,
};

impl Edit {
    /// What the edit is called in "Undo ..." and "Redo ...": lower case, verb first, e.g. `move
    /// position B3`, `paste 12 cells`. `before` is the station it will be applied to.
    pub fn name(&self, before: &Station) -> String {
        match self {
            Self::Rename(_) => "rename station".into(),
            Self::SetNotes(_) => "change notes".into(),
            Self::SetSource(source) => source_change(&before.source, source).into(),
            Self::SetFixture(fixture) => fixture_change(&before.fixture, fixture).into(),
            Self::AddSites(group) => format!("add {}", sites(Some(group))),
            Self::SetSites(i, group) => sites_change(before.sites.get(*i), group),
            Self::RemoveSites(i) => format!("delete {}", sites(before.sites.get(*i))),
            Self::ArrangeSites(_) => "arrange sites".into(),
            Self::MoveSites(i, _) => format!("move {}", sites(before.sites.get(*i))),
            Self::AddKeepOut(keep_out) => format!("add {}", keep_out_called(Some(keep_out))),
            Self::SetKeepOut(i, keep_out) => keep_out_change(before.keep_outs.get(*i), keep_out),
            Self::RemoveKeepOut(i) => {
                format!("delete {}", keep_out_called(before.keep_outs.get(*i)))
            }
            Self::AddRadiometer(r) => format!("add {}", radiometer(Some(r))),
            Self::SetRadiometer(i, new) => radiometer_change(before.radiometers.get(*i), new),
            Self::RemoveRadiometer(i) => {
                format!("delete {}", radiometer(before.radiometers.get(*i)))
            }
            Self::SetPlan(plan) => plan_change(before, plan),
            Self::AddPosition { position, .. } => {
                called(&format!("{}add position", by_hand(before)), &position.name)
            }
            Self::MovePosition(i, _) => match before.positions().get(*i) {
                Some(position) => {
                    called(&format!("{}move position", by_hand(before)), &position.name)
                }
                None => "move position".into(),
            },
            Self::AddSurvey(s) => format!("add {}", survey(Some(s))),
            Self::SetSurveyDetails(i, new) => survey_change(before.survey_at(*i), new),
            Self::RemoveSurvey(i) => format!("delete {}", survey(before.survey_at(*i))),
            Self::InsertReadings { readings, .. } => counted("insert", readings.len()),
            Self::SetReadings { name, .. } => name.clone(),
            Self::RemoveReadings { rows, .. } => counted("delete", rows.len()),
            Self::SetRepeat(study) => match (&before.repeat, study) {
                (None, _) => "begin repeat study",
                (Some(_), None) => "delete repeat study",
                (Some(_), Some(_)) => "change repeat study",
            }
            .into(),
            Self::SetSettings(settings) => settings_change(&before.settings, settings).into(),
            Self::SetLimits(_) if before.limits.is_none() => "set limits".into(),
            Self::SetLimits(limits) => limits_change(before.limits.as_deref(), limits).into(),
            Self::RemoveLimits => "remove limits".into(),
            Self::FreezeLimits => "freeze limits".into(),
            Self::ThawLimits => "set limits free".into(),
            Self::SetTrials { trials, name } => match (name.as_str(), &before.trials, trials) {
                ("", _, None) => "delete cure trials".into(),
                ("", None, Some(_)) => "add cure trials".into(),
                ("", Some(_), Some(_)) => "change cure trials".into(),
                (name, ..) => name.into(),
            },
            Self::SetExposure(exposure) => match (&before.exposure, exposure) {
                (_, None) => "delete course of the exposure",
                (None, Some(_)) => "add course of the exposure",
                (Some(_), Some(_)) => "change course of the exposure",
            }
            .into(),
            Self::AddToLog { entries, name } => match (name.as_str(), entries.len()) {
                ("", 1) => "log a reading".into(),
                ("", n) => format!("log {n} readings"),
                (name, _) => name.into(),
            },
            Self::SetInLog(..) => "change entry of the log".into(),
            Self::RemoveFromLog(rows) => match rows.len() {
                1 => "delete entry of the log".into(),
                n => format!("delete {n} entries of the log"),
            },
            Self::SetUpkeep { name, .. } => name.clone(),
            Self::SetPapers(_) if before.papers.is_none() => "begin the record".into(),
            Self::SetPapers(_) => "change who answers for the record".into(),
        }
    }
}

/// What an edit of one position does first to rows and columns.
fn by_hand(before: &Station) -> &'static str {
    match before.plan.layout {
        PlanLayout::Grid { .. } => "place by hand and ",
        PlanLayout::ByHand(_) => "",
    }
}

fn counted(verb: &str, count: usize) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{verb} {count} reading{plural}")
}

fn called(what: &str, name: &str) -> String {
    named(what, name).trim_end().to_owned()
}

fn sites(group: Option<&SiteGroup>) -> String {
    match group {
        Some(group) => match group.layout {
            SiteLayout::Single { .. } => called("site", &group.name),
            SiteLayout::Grid { .. } | SiteLayout::Ring { .. } => called("sites", &group.name),
        },
        None => "sites".into(),
    }
}

fn keep_out_called(keep_out: Option<&KeepOut>) -> String {
    called("keep-out", keep_out.map_or("", |k| &k.name))
}

fn radiometer(radiometer: Option<&Radiometer>) -> String {
    called("radiometer", radiometer.map_or("", |r| &r.name))
}

fn survey(survey: Option<&Survey>) -> String {
    called("survey", survey.map_or("", |s| &s.name))
}

fn source_change(old: &Source, new: &Source) -> &'static str {
    let same_but = |change: fn(&mut Source, &Source)| {
        let mut changed = old.clone();
        change(&mut changed, new);
        changed == *new
    };
    if same_but(|s, new| s.face_height = new.face_height) {
        "change face height"
    } else if same_but(|s, new| s.name.clone_from(&new.name)) {
        "rename source"
    } else if same_but(|s, new| s.kind = new.kind) {
        "change kind of source"
    } else if same_but(|s, new| s.face.clone_from(&new.face)) {
        match (&old.face, &new.face) {
            (None, _) => "add face",
            (_, None) => "delete face",
            (Some(a), Some(b)) if a.shape == b.shape && a.turn == b.turn => "move face",
            _ => "change face",
        }
    } else if same_but(|s, new| s.array = new.array) {
        match (&old.array, &new.array) {
            (None, _) => "add rows of LEDs",
            (_, None) => "delete rows of LEDs",
            _ => "change rows of LEDs",
        }
    } else {
        "change source"
    }
}

fn fixture_change(old: &Fixture, new: &Fixture) -> &'static str {
    if old.shape != new.shape {
        "change outline of the fixture"
    } else if old.rim != new.rim {
        match (&old.rim, &new.rim) {
            (None, _) => "add rim",
            (_, None) => "delete rim",
            _ => "change rim",
        }
    } else if old.reflectance_percent != new.reflectance_percent {
        "change what walls throw back"
    } else {
        "rename fixture"
    }
}

fn sites_change(old: Option<&SiteGroup>, new: &SiteGroup) -> String {
    let group = sites(old);
    let Some(old) = old else {
        return format!("change {group}");
    };
    let same_but = |change: fn(&mut SiteGroup, &SiteGroup)| {
        let mut changed = old.clone();
        change(&mut changed, new);
        changed == *new
    };
    if same_but(|g, new| g.name.clone_from(&new.name)) {
        format!("rename {group}")
    } else if same_but(|g, new| g.height = new.height) {
        format!("change height of {group}")
    } else if same_but(|g, new| g.shape.clone_from(&new.shape)) {
        format!("change outline of {group}")
    } else if same_but(|g, new| g.turn = new.turn) {
        format!("turn {group}")
    } else if same_but(|g, new| g.top = new.top) {
        format!("change top of {group}")
    } else if same_but(|g, new| g.bond.clone_from(&new.bond)) {
        format!("change bond of {group}")
    } else if same_but(|g, new| g.layout = new.layout.clone()) {
        format!("{} {group}", layout_verb(&old.layout, &new.layout))
    } else {
        format!("change {group}")
    }
}

fn layout_verb(old: &SiteLayout, new: &SiteLayout) -> &'static str {
    let unplaced = |layout: &SiteLayout| {
        let mut layout = layout.clone();
        let (SiteLayout::Single { centre: at }
        | SiteLayout::Grid { first: at, .. }
        | SiteLayout::Ring { centre: at, .. }) = &mut layout;
        *at = Default::default();
        layout
    };
    if unplaced(old) == unplaced(new) {
        "move"
    } else if matches!(new, SiteLayout::Ring { .. }) {
        "change ring of"
    } else {
        "change rows and columns of"
    }
}

fn keep_out_change(old: Option<&KeepOut>, new: &KeepOut) -> String {
    let called = keep_out_called(old);
    let Some(old) = old else {
        return format!("change {called}");
    };
    let same_but = |change: fn(&mut KeepOut, &KeepOut)| {
        let mut changed = old.clone();
        change(&mut changed, new);
        changed == *new
    };
    if same_but(|k, new| k.name.clone_from(&new.name)) {
        format!("rename {called}")
    } else if same_but(|k, new| k.footprint.centre = new.footprint.centre) {
        format!("move {called}")
    } else if same_but(|k, new| k.height = new.height) {
        format!("change height of {called}")
    } else {
        format!("change {called}")
    }
}

fn radiometer_change(old: Option<&Radiometer>, new: &Radiometer) -> String {
    let only_name = old.is_some_and(|old| {
        let renamed = Radiometer {
            name: new.name.clone(),
            ..old.clone()
        };
        renamed == *new
    });
    let verb = if only_name { "rename" } else { "change" };
    format!("{verb} {}", radiometer(old))
}

fn survey_change(old: Option<&Survey>, new: &Survey) -> String {
    let details = |s: &Survey| Survey {
        name: String::new(),
        ..s.details()
    };
    let only_name = old.is_some_and(|old| details(old) == details(new));
    let verb = if only_name { "rename" } else { "change" };
    format!("{verb} {}", survey(old))
}

fn plan_change(before: &Station, new: &Plan) -> String {
    let old = &before.plan;
    if old.plate != new.plate {
        let mut only_plate = old.clone();
        only_plate.plate = new.plate;
        return match (only_plate == *new, &old.plate, &new.plate) {
            (true, None, _) => "read the plan with the pallet out",
            (true, _, None) => "read the plan with the pallet in place",
            (true, ..) => "change plate of the plan",
            _ => "change plan",
        }
        .into();
    }
    if let Some(part) = round_change(old, new) {
        return part.into();
    }
    if old.layout == new.layout {
        return match (old.heights == new.heights, old.radiometer == new.radiometer) {
            (false, true) => "change heights of the plan",
            (true, false) => "change radiometer of the plan",
            _ => "change plan",
        }
        .into();
    }
    if old.heights != new.heights || old.radiometer != new.radiometer {
        return "change plan".into();
    }
    match (&old.layout, &new.layout) {
        (PlanLayout::ByHand(old), PlanLayout::ByHand(new)) => positions_change(old, new),
        (PlanLayout::Grid { margin: a, .. }, PlanLayout::Grid { margin: b, .. }) => if a == b {
            "change rows and columns of the plan"
        } else {
            "change margin of the plan"
        }
        .into(),
        (PlanLayout::Grid { .. }, PlanLayout::ByHand(new)) => {
            match positions_change(&before.positions(), new) {
                change if change == MANY => "place positions by hand".into(),
                change => change,
            }
        }
        (PlanLayout::ByHand(_), PlanLayout::Grid { .. }) => {
            "place positions in rows and columns".into()
        }
    }
}

/// What changed of how the round is made, where nothing else did.
fn round_change(old: &Plan, new: &Plan) -> Option<&'static str> {
    let with = |change: fn(&mut Plan, &Plan)| {
        let mut changed = old.clone();
        change(&mut changed, new);
        changed != *old && changed == *new
    };
    type Taken = fn(&mut Plan, &Plan);
    let parts: [(Taken, &str); 5] = [
        (
            |p, n| p.start = n.start.clone(),
            "change start of the route",
        ),
        (
            |p, n| p.positions_first = n.positions_first,
            "change order of the route",
        ),
        (
            |p, n| p.reference = n.reference.clone(),
            "change reference position",
        ),
        (|p, n| p.cycle = n.cycle, "change what a reading takes"),
        (|p, n| p.bores = n.bores, "change bores of the plate"),
    ];
    (parts.into_iter()).find_map(|(change, name)| with(change).then_some(name))
}

const MANY: &str = "change positions";

/// What happened to one position; [`MANY`] when it was more than one or none.
fn positions_change(old: &[Position], new: &[Position]) -> String {
    let first = old
        .iter()
        .zip(new)
        .take_while(|(before, after)| before == after)
        .count();
    let (old_rest, new_rest) = (&old[first..], &new[first..]);
    match (old_rest, new_rest) {
        ([], [added]) => called("add position", &added.name),
        ([gone, old_rest @ ..], new_rest) if old_rest == new_rest => {
            called("delete position", &gone.name)
        }
        ([before, old_rest @ ..], [after, new_rest @ ..]) if old_rest == new_rest => {
            if before.name == after.name {
                called("move position", &before.name)
            } else if before.at == after.at {
                called("rename position", &before.name)
            } else {
                called("change position", &before.name)
            }
        }
        (old_rest, [added, new_rest @ ..]) if old_rest == new_rest => {
            called("add position", &added.name)
        }
        _ => MANY.to_owned(),
    }
}

fn settings_change(old: &Settings, new: &Settings) -> &'static str {
    let same_but = |change: fn(&mut Settings, &Settings)| {
        let mut changed = old.clone();
        change(&mut changed, new);
        changed == *new
    };
    if same_but(|s, new| s.rule = new.rule) {
        "change rule of the governing minimum"
    } else if same_but(|s, new| s.area = new.area) {
        "change assessed area"
    } else if same_but(|s, new| s.family = new.family) {
        "change model"
    } else if same_but(|s, new| s.drift = new.drift) {
        match new.drift {
            Some(false) => "leave drift in",
            _ => "take drift out",
        }
    } else if same_but(|s, new| s.scatter = new.scatter) {
        match new.scatter {
            Some(_) => "take over scatter of readings",
            None => "forget scatter of readings",
        }
    } else {
        "change settings"
    }
}

fn limits_change(old: Option<&Limits>, new: &Limits) -> &'static str {
    let Some(old) = old else {
        return "set limits";
    };
    if old.monitor != new.monitor {
        "change monitor position"
    } else if old.least != new.least {
        "change least irradiance"
    } else if old.safety_factor_percent != new.safety_factor_percent {
        "change safety factor"
    } else if old.upper != new.upper {
        "change upper limit"
    } else if old.exposure_s != new.exposure_s {
        "change exposure time"
    } else if old.allowances != new.allowances {
        "change allowances"
    } else if old.transmission != new.transmission {
        "change transmission"
    } else {
        "change limits"
    }
}
