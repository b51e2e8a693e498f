//! What is odd in a step: a click goes to where it is mended.

use eframe::egui::text::{LayoutJob, TextFormat};
use eframe::egui::{
    Align, Button, CollapsingHeader, Color32, Context, Id, Response, TextStyle, Ui,
};

use super::Panel;
use crate::session::{Command, Step};
use crate::station::{Alike, Severity};

/// Findings in view; more are folded away.
const IN_VIEW: usize = 4;
/// Findings listed at most: nobody mends more before looking again.
const MOST: usize = 200;

/// The findings of a step, each as what is odd and what to do; nothing when there are none.
pub fn findings(ui: &mut Ui, panel: &mut Panel<'_>, step: Step) {
    let findings = panel.session.findings().iter();
    let found = Alike::groups(findings.filter(|finding| Step::of(&finding.place) == step));
    let wanted = ui.data_mut(|data| data.remove_temp::<()>(wanted_id()).is_some());
    let (in_view, folded) = found.split_at(found.len().min(IN_VIEW));
    for (i, alike) in in_view.iter().enumerate() {
        let row = show(ui, panel, alike);
        if wanted && i == 0 {
            row.request_focus();
            row.scroll_to_me(Some(Align::TOP));
        }
    }
    if folded.is_empty() {
        return;
    }
    let plural = if folded.len() == 1 { "" } else { "s" };
    CollapsingHeader::new(format!("{} more finding{plural}", folded.len()))
        .id_salt(("more findings", step))
        .open(wanted.then_some(true))
        .show(ui, |ui| {
            for alike in folded.iter().take(MOST) {
                show(ui, panel, alike);
            }
            if folded.len() > MOST {
                ui.weak(format!(
                    "and {} more; mend some of these first",
                    folded.len() - MOST
                ));
            }
        });
}

/// Unfolds all findings of the step that is shown next, and brings the keyboard to the first.
pub fn show_all(ctx: &Context) {
    ctx.data_mut(|data| data.insert_temp(wanted_id(), ()));
    ctx.request_repaint();
}

fn wanted_id() -> Id {
    Id::unique("findings to be shown")
}

/// One line for findings that are alike; a click leads to the first.
fn show(ui: &mut Ui, panel: &mut Panel<'_>, alike: &Alike<'_>) -> Response {
    /// Findings named in the hint of a line.
    const NAMED: usize = 12;
    let finding = alike.first();
    let kind = match finding.severity {
        Severity::Warning => "Warning",
        Severity::Note => "Note",
    };
    let text = two_lines(
        ui,
        &format!("{kind}: {}", alike.what()),
        &sentence(&finding.mend),
        false,
    );
    let button = Button::new(text).frame_when_inactive(false).wrap();
    let mut row = ui.add(button);
    if row.clicked() {
        panel.send(Command::GoTo(finding.place.clone()));
    }
    if let [_, others @ ..] = &alike.findings[..]
        && !others.is_empty()
    {
        let named = others.iter().take(NAMED).map(|f| f.what.as_str());
        let mut hint = named.collect::<Vec<_>>().join("\n");
        if others.len() > NAMED {
            hint += &format!("\nand {} more", others.len() - NAMED);
        }
        row = row.on_hover_text(hint);
    }
    row
}

/// A line and, weaker, one below it; on the colour of what is chosen both are as strong as that needs.
pub(super) fn two_lines(ui: &Ui, first: &str, second: &str, chosen: bool) -> LayoutJob {
    let font_id = TextStyle::Body.resolve(ui.style());
    let weak = if chosen {
        Color32::PLACEHOLDER
    } else {
        ui.visuals().weak_text_color()
    };
    let mut job = LayoutJob::default();
    for (text, color) in [
        (format!("{first}\n"), Color32::PLACEHOLDER),
        (second.to_owned(), weak),
    ] {
        let format = TextFormat::simple(font_id.clone(), color);
        job.append(&text, 0.0, format);
    }
    job
}

/// With a capital at its beginning.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}
