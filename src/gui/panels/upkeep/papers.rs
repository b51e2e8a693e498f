//! The record: how often it is checked, who answers for it, and the trail of the file.

use eframe::egui::Ui;

use super::super::form::Form;
use super::super::{Panel, heading};
use super::common::{change, wrapped};
use crate::files::TrailGap;
use crate::session::Command;
use crate::station::{Edit, Papers, Signature};

/// Entries of the trail that are listed.
const LISTED: usize = 6;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    heading(ui, "Record");
    let station = panel.session.station().clone();
    let upkeep = station.upkeep();
    let edit = change("change days between checks");
    let mut form = Form::new(ui, panel, "upkeep", upkeep.without_log(), &edit);
    form.optional_number("Read every", "days", upkeep.every, |all, every| {
        all.every = every
    });
    let Some(papers) = station.papers.clone() else {
        wrapped(
            ui,
            "With names for author, reviewer and approver the file keeps a trail: each time it is saved, who changed what and when, each entry tied to the one before, so that what is changed by other means shows. Pages then carry the revision",
        );
        if ui.button("Begin the record").clicked() {
            panel.send(Command::Edit(Edit::SetPapers(Papers::default())));
        }
        return;
    };
    let edit = |papers| Edit::SetPapers(papers);
    let mut form = Form::new(ui, panel, "papers", papers.clone(), &edit);
    type Of = fn(&mut Papers) -> &mut Signature;
    let people: [(&str, &str, &Signature, Of); 3] = [
        ("Author", "Made on", &papers.author, |p| &mut p.author),
        ("Reviewer", "Reviewed on", &papers.reviewer, |p| {
            &mut p.reviewer
        }),
        ("Approver", "Approved on", &papers.approver, |p| {
            &mut p.approver
        }),
    ];
    for (label, on, signature, of) in people {
        form.text(label, &signature.name, move |p, name| of(p).name = name);
        form.optional_date(on, signature.on, move |p, day| of(p).on = day);
    }
    trail(ui, panel);
}

fn trail(ui: &mut Ui, panel: &Panel<'_>) {
    let trail = panel.session.trail();
    ui.add_space(4.0);
    ui.strong("Trail of the file");
    for gap in panel.session.gaps() {
        let what = match gap {
            TrailGap::Entry(revision) => format!("Revision {revision} is not as it was written: the trail was changed by other means than Evenfield"),
            TrailGap::Document => "What the file holds is not what was saved last: it was changed by other means than Evenfield".to_owned(),
        };
        ui.horizontal_top(|ui| {
            ui.colored_label(ui.visuals().warn_fg_color, "!");
            ui.vertical(|ui| wrapped(ui, &what));
        });
    }
    let entries = trail.entries();
    if entries.is_empty() {
        wrapped(ui, "It begins when the file is saved");
    }
    for (i, saved) in entries.iter().enumerate().rev().take(LISTED) {
        wrapped(
            ui,
            &format!(
                "{}: {} UTC, {}: {}",
                i + 1,
                saved.at_in_words(),
                saved.by,
                saved.what.join(", ")
            ),
        );
    }
    if entries.len() > LISTED {
        ui.weak(format!("and {} before", entries.len() - LISTED));
    }
}
