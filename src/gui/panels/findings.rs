//! What is odd in a step: a click goes to where it is mended.

use eframe::egui::text::{LayoutJob, TextFormat};
use eframe::egui::{Button, CollapsingHeader, Color32, TextStyle, Ui};

use super::Panel;
use crate::session::{Command, Step};
use crate::station::{Finding, Severity};

/// Findings in view; more are folded away.
const IN_VIEW: usize = 4;
/// Findings listed at most: nobody mends more before looking again, and one mistake in rows and
/// columns makes one for each site.
const MOST: usize = 200;

/// The findings of a step, each as what is odd and what to do; nothing when there are none.
pub fn findings(ui: &mut Ui, panel: &mut Panel<'_>, step: Step) {
    let session = panel.session;
    let found: Vec<&Finding> = session
        .findings()
        .iter()
        .filter(|finding| Step::of(&finding.place) == step)
        .collect();
    let (in_view, folded) = found.split_at(found.len().min(IN_VIEW));
    for finding in in_view {
        show(ui, panel, finding);
    }
    if folded.is_empty() {
        return;
    }
    let plural = if folded.len() == 1 { "" } else { "s" };
    CollapsingHeader::new(format!("{} more finding{plural}", folded.len()))
        .id_salt(("more findings", step))
        .show(ui, |ui| {
            for finding in folded.iter().take(MOST) {
                show(ui, panel, finding);
            }
            if folded.len() > MOST {
                ui.weak(format!(
                    "and {} more; mend some of these first",
                    folded.len() - MOST
                ));
            }
        });
}

fn show(ui: &mut Ui, panel: &mut Panel<'_>, finding: &Finding) {
    let kind = match finding.severity {
        Severity::Warning => "Warning",
        Severity::Note => "Note",
    };
    let text = two_lines(
        ui,
        &format!("{kind}: {}", finding.what),
        &sentence(&finding.mend),
        false,
    );
    let button = Button::new(text).frame_when_inactive(false).wrap();
    if ui.add(button).clicked() {
        panel.send(Command::GoTo(finding.place.clone()));
    }
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
