//! Two radiometers read side by side.

use eframe::egui::Ui;

use super::super::fixture::list::{entry, framed};
use super::super::form::Form;
use super::super::{Panel, heading};
use super::common::{change, wrapped};
use crate::record::upkeep_words::comparison_words;
use crate::session::Command;
use crate::station::{Beside, Upkeep};

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, upkeep: &Upkeep) {
    let names: Vec<String> = (panel.session.station().radiometers.iter())
        .map(|r| r.name.clone())
        .collect();
    if names.len() < 2 && upkeep.beside.is_empty() {
        return;
    }
    heading(ui, "Side by side");
    if upkeep.beside.is_empty() {
        wrapped(
            ui,
            "Two radiometers in good calibration may disagree by both tolerances together. Read both at one place at three levels or more (by distance or drive), one after the other; then the stand-in's readings are converted",
        );
    }
    let daily = panel.session.answers().daily().any().cloned();
    let units = panel.session.preferences().units();
    for (index, beside) in upkeep.beside.iter().enumerate().rev() {
        let is_open = panel.state.upkeep.beside == Some(index);
        let name = format!("{} and {}", beside.main, beside.stand_in);
        let detail = format!("{}, {} pairs", beside.on, beside.pairs.len());
        if entry(ui, is_open, &name, &detail) {
            panel.state.upkeep.beside = (!is_open).then_some(index);
        }
        let compared = daily.as_ref().and_then(|d| d.comparisons.get(index));
        if let Some(compared) = compared {
            comparison_words(compared, units)
                .iter()
                .for_each(|s| wrapped(ui, s));
        }
        if is_open {
            framed(ui, |ui| form(ui, panel, upkeep, index, &names));
        }
    }
    if names.len() >= 2 && ui.button("Read two side by side").clicked() {
        let plan = panel.session.station().plan.radiometer.clone();
        let main = plan
            .filter(|p| names.contains(p))
            .unwrap_or_else(|| names[0].clone());
        let stand_in = names
            .iter()
            .find(|n| **n != main)
            .cloned()
            .unwrap_or_default();
        let mut all = upkeep.without_log();
        let on = panel.session.today();
        let at = all.beside.partition_point(|other| other.on <= on);
        all.beside.insert(
            at,
            Beside {
                on,
                main,
                stand_in,
                common_percent: None,
                by: String::new(),
                pairs: Vec::new(),
                note: String::new(),
            },
        );
        panel.state.upkeep.beside = Some(at);
        panel.send(Command::Edit(change("add comparison")(all)));
    }
}

fn form(ui: &mut Ui, panel: &mut Panel<'_>, upkeep: &Upkeep, index: usize, names: &[String]) {
    let key = format!("beside/{index}");
    let now = &upkeep.beside[index];
    let unit = panel.session.preferences().irradiance_unit;
    let edit = change("change comparison");
    let mut form = Form::new(ui, panel, &key, upkeep.without_log(), &edit);
    let place = |name: &String| names.iter().position(|n| n == name);
    let options: Vec<(Option<usize>, &str)> = (names.iter().enumerate())
        .map(|(i, name)| (Some(i), name.as_str()))
        .collect();
    form.optional_date("Day", Some(now.on), move |all, day| {
        if let Some(day) = day {
            all.beside[index].on = day;
        }
    });
    form.choose("Main", place(&now.main), &options, |all, picked| {
        if let Some(i) = picked {
            all.beside[index].main.clone_from(&names[i]);
        }
    });
    form.choose("Stand-in", place(&now.stand_in), &options, |all, picked| {
        if let Some(i) = picked {
            all.beside[index].stand_in.clone_from(&names[i]);
        }
    });
    let shown: Vec<(f64, f64)> = (now.pairs.iter())
        .map(|(a, b)| (unit.from_mw_cm2(*a), unit.from_mw_cm2(*b)))
        .collect();
    form.pairs(
        "Pairs",
        "81.2 80.1; 120 118.5",
        &shown,
        move |all, pairs| {
            all.beside[index].pairs = (pairs.into_iter())
                .map(|(a, b)| (unit.to_mw_cm2(a), unit.to_mw_cm2(b)))
                .collect();
        },
    );
    form.explain(&format!("Main and stand-in in {}, such as 81.2 80.1; 120 118.5. Levels within 3 % of each other, one after the other, count as repeats at one level", unit.symbol()));
    form.optional_number("In common", "%", now.common_percent, move |all, value| {
        all.beside[index].common_percent = value;
    });
    form.explain("The share of the uncertainty (k = 2) that both certificates have from the same laboratory: it is left out of both");
    form.text("By", &now.by, move |all, text| all.beside[index].by = text);
    form.text("Note", &now.note, move |all, text| {
        all.beside[index].note = text
    });
    if form.button("Delete comparison") {
        let mut all = upkeep.without_log();
        all.beside.remove(index);
        panel.state.upkeep.beside = None;
        panel.send(Command::Edit(change("delete comparison")(all)));
    }
}
