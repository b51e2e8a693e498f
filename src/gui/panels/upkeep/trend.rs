//! The trend: how fast the lamp fades, when the least is reached, what is no fading.

use eframe::egui::{Label, RichText, Ui};

use super::super::{Panel, heading_of};
use super::common::wrapped;
use crate::record::upkeep_words as words;
use crate::station::Upkeep;
use crate::upkeep::trend::{AHEAD, FALSE_STEPS};

pub(super) fn show(ui: &mut Ui, panel: &Panel<'_>, upkeep: &Upkeep) {
    let held = panel.session.answers().review();
    let Some(review) = held.any() else { return };
    if upkeep.log.is_empty() {
        return;
    }
    heading_of(ui, "Trend", held.is_updating());
    let trend = match &review.fading.trend {
        Ok(trend) => trend,
        Err(why) => {
            return wrapped(
                ui,
                &format!("There is no trend: {}", words::refused_words(*why)),
            );
        }
    };
    if let Some(outlook) = words::outlook_words(trend) {
        ui.add(Label::new(RichText::new(outlook).strong()).wrap());
    }
    let Some(lamp) = trend.lamps.last() else {
        return wrapped(ui, "No reading counts yet");
    };
    wrapped(
        ui,
        &format!("Fading of the present lamp: {}", words::slope_words(lamp)),
    );
    if let Some(borrowed) = trend.borrowed {
        wrapped(
            ui,
            &format!(
                "It borrows from {} former lamps: about {} a month",
                borrowed.lamps,
                words::signed_percent(borrowed.per_month.value, 2)
            ),
        );
    }
    if let Some(fit) = words::exponential_words(lamp) {
        wrapped(ui, &fit);
    }
    let units = panel.session.preferences().units();
    let offsets: Vec<String> = (trend.lamps.iter())
        .flat_map(|lamp| words::offset_words(lamp, review, upkeep, units))
        .collect();
    if !offsets.is_empty() {
        ui.add_space(4.0);
        ui.strong("What is no fading");
        offsets.iter().rev().take(12).for_each(|o| wrapped(ui, o));
    }
    for odd in words::oddity_words(trend, review, upkeep).iter().take(5) {
        wrapped(ui, odd);
    }
    ui.add_space(2.0);
    ui.weak(format!(
        "The level is that of a lamp that fades with noise that lasts from day to day; nothing is said further ahead than {AHEAD} times what was read. On simulated logs {FALSE_STEPS} sudden changes a year were told that were none, at most; of those of 4 % nine in ten were found, of 2 % a third"
    ));
}
