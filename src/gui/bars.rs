//! What stands around the picture: the top bar, the steps, the answer line, notices and questions.

mod top;

use std::time::Duration;

use eframe::egui::{
    self, Align, Align2, Area, Button, Color32, Context, Frame, Id, Layout, Modal, Order, Rect,
    RichText, ScrollArea, Sense, Stroke, TextStyle, Ui, pos2, vec2,
};

use super::panels::findings;
use super::words;
use crate::session::{
    Action, Command, LeftUnsaved, Notice, Question, Reply, Session, Step, StepState, Tone,
};
use crate::work::Held;
pub use top::top;

/// One sentence over the lower end of the picture: what is worked on keeps its place. Of what was done it goes by itself,
/// trouble stays until it is dismissed.
pub fn notice(ctx: &Context, picture: Rect, notice: &Notice, commands: &mut Vec<Command>) {
    const AWAY: f32 = 8.0;
    let width = (picture.width() - 2.0 * AWAY).clamp(240.0, 640.0);
    let area = Area::new(Id::unique("notice"))
        .order(Order::Middle)
        .pivot(Align2::LEFT_BOTTOM)
        .fixed_pos(picture.left_bottom() + vec2(AWAY, -AWAY))
        .show(ctx, |ui| {
            let frame = Frame::popup(ui.style());
            let inside = width - frame.total_margin().sum().x;
            frame.show(ui, |ui| {
                ui.set_width(inside);
                let most = 0.5 * ctx.content_rect().height();
                ScrollArea::vertical()
                    .max_height(most)
                    .show(ui, |ui| said(ui, notice, commands));
            });
        });
    let pointed = area.response.contains_pointer();
    if notice.tone == Tone::Done && has_stood(ctx, notice, pointed) {
        commands.push(Command::DismissNotice);
    }
}

/// Whether a notice has stood as long as it takes to read it; the time begins anew while somebody points at it.
fn has_stood(ctx: &Context, notice: &Notice, pointed: bool) -> bool {
    /// Seconds to look there, and to read one letter.
    const TO_LOOK: f64 = 4.0;
    const A_LETTER: f64 = 0.06;
    let id = Id::unique("since when a notice stands");
    let (now, pass) = (ctx.input(|input| input.time), ctx.cumulative_pass_nr());
    // one that was not there in the pass before is another one, even if it says the same
    let stood = ctx.data(|data| data.get_temp::<(String, f64, u64)>(id));
    let stood = stood.filter(|(text, _, last)| *text == notice.text && last + 1 >= pass);
    let since = stood.map(|(_, since, _)| since).filter(|_| !pointed);
    let since = since.unwrap_or(now);
    ctx.data_mut(|data| data.insert_temp(id, (notice.text.clone(), since, pass)));
    let texts = std::iter::once(&notice.text).chain(&notice.details);
    let letters: usize = texts.map(|text| text.chars().count()).sum();
    let left = since + TO_LOOK + A_LETTER * letters as f64 - now;
    if left > 0.0 {
        ctx.request_repaint_after(Duration::from_secs_f64(left));
    }
    left <= 0.0
}

fn said(ui: &mut Ui, notice: &Notice, commands: &mut Vec<Command>) {
    const SHOWN: usize = 12;
    ui.horizontal(|ui| {
        let text = RichText::new(&notice.text);
        ui.with_layout(Layout::right_to_left(Align::TOP), |ui| {
            if ui.button("Dismiss").clicked() {
                commands.push(Command::DismissNotice);
            }
            ui.with_layout(
                Layout::left_to_right(Align::Center).with_main_wrap(true),
                |ui| {
                    match notice.tone {
                        Tone::Done => ui.label(text),
                        Tone::Trouble => ui.colored_label(ui.visuals().error_fg_color, text),
                    };
                },
            );
        });
    });
    if notice.tone == Tone::Done {
        // names of files: they are few and short, and the picture below wants the room
        if !notice.details.is_empty() {
            ui.label(notice.details.join(", "));
        }
        return;
    }
    for line in notice.details.iter().take(SHOWN) {
        ui.label(line);
    }
    if notice.details.len() > SHOWN {
        ui.weak(format!("and {} more", notice.details.len() - SHOWN));
    }
}

/// Whether the window is so low, in points, that the picture needs what room bars can spare: with large text.
fn is_low(ctx: &Context) -> bool {
    const LOW: f32 = 560.0;
    ctx.content_rect().height() < LOW
}

/// From the left edge of a step to its words, and from its upper and lower edge, points.
const INDENT: f32 = 26.0;
const ROW_RIM: f32 = 4.0;

/// The steps with how far each is: by shape and word, not by colour. In a narrow bar each is its number and its shape, and
/// the words are said to whoever points at it.
pub fn steps(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    const NARROW: f32 = 80.0;
    let is_narrow = ui.available_width() < NARROW;
    ui.add_space(6.0);
    for (i, step) in Step::ALL.into_iter().enumerate() {
        let state = session.state_of(step);
        let chosen = session.step() == step;
        // a verdict says more than that the step is done
        let said = match session.judged().filter(|_| step == Step::Limits) {
            Some(judged) if state == StepState::Done => judged.verdict.words().to_owned(),
            Some(judged) => format!("{}, {}", judged.verdict.words(), state.words()),
            None => state.words(),
        };
        // as high as what it says: a state of several words takes a second line, and nothing is cut off
        let width = ui.available_width();
        let room = width - INDENT - 4.0;
        let text = |style: TextStyle, said: &str| {
            let font = style.resolve(ui.style());
            ui.painter()
                .layout(said.to_owned(), font, Color32::PLACEHOLDER, room)
        };
        let name = format!("{} {}", i + 1, step.name());
        if is_narrow {
            let number = (i + 1).to_string();
            if narrow_step(ui, (&number, &name, &said), state, chosen) {
                go(ui, step, state, commands);
            }
            continue;
        }
        let (title, below) = (text(TextStyle::Body, &name), text(TextStyle::Small, &said));
        let height = (title.size().y + below.size().y + 3.0 * ROW_RIM).max(40.0);
        let row = ui.add_sized(
            vec2(width, height),
            Button::selectable(chosen, "").sense(Sense::click()),
        );
        row.widget_info(|| {
            egui::WidgetInfo::selected(egui::Role::Button, true, chosen, format!("{name}, {said}"))
        });
        let painter = ui.painter();
        let visuals = ui.style().interact_selectable(&row, chosen);
        let at = row.rect.left_top() + vec2(INDENT, ROW_RIM);
        let under = row.rect.left_bottom() + vec2(INDENT, -ROW_RIM - below.size().y);
        painter.galley(at, title, visuals.text_color());
        painter.galley(under, below, visuals.text_color());
        let centre = pos2(row.rect.left() + 13.0, row.rect.top() + 13.0);
        sign(
            painter,
            centre,
            state,
            Stroke::new(1.5, visuals.text_color()),
        );
        if row.on_hover_text(Action::Step(i).text().tip).clicked() {
            go(ui, step, state, commands);
        }
        ui.add_space(2.0);
    }
}

/// Goes to a step, and to what asks for attention there.
fn go(ui: &Ui, step: Step, state: StepState, commands: &mut Vec<Command>) {
    commands.push(Command::Go(step));
    if matches!(state, StepState::Attention(_)) {
        findings::show_all(ui.ctx());
    }
}

/// A step in a narrow bar; whether it was clicked.
fn narrow_step(
    ui: &mut Ui,
    (number, name, said): (&str, &str, &str),
    state: StepState,
    chosen: bool,
) -> bool {
    let size = vec2(ui.available_width(), 30.0);
    let row = ui.add_sized(size, Button::selectable(chosen, "").sense(Sense::click()));
    row.widget_info(|| {
        egui::WidgetInfo::selected(egui::Role::Button, true, chosen, format!("{name}, {said}"))
    });
    let visuals = ui.style().interact_selectable(&row, chosen);
    let colour = visuals.text_color();
    let painter = ui.painter();
    let middle = row.rect.left_center();
    let font = TextStyle::Body.resolve(ui.style());
    painter.text(
        middle + vec2(4.0, 0.0),
        Align2::LEFT_CENTER,
        number,
        font,
        colour,
    );
    let at = row.rect.right_center() - vec2(11.0, 0.0);
    sign(painter, at, state, Stroke::new(1.5, colour));
    row.on_hover_text(format!("{name}: {said}")).clicked()
}

/// Ring, half-filled ring, triangle, filled disk.
fn sign(painter: &egui::Painter, at: egui::Pos2, state: StepState, stroke: Stroke) {
    const R: f32 = 5.0;
    match state {
        StepState::Empty => {
            painter.circle_stroke(at, R, stroke);
        }
        StepState::InWork => {
            painter.circle_stroke(at, R, stroke);
            painter.circle_filled(at, R * 0.45, stroke.color);
        }
        StepState::Attention(_) => {
            let points = vec![
                at + vec2(0.0, -R),
                at + vec2(R, R * 0.8),
                at + vec2(-R, R * 0.8),
            ];
            painter.add(egui::Shape::closed_line(points, stroke));
        }
        StepState::Done => {
            painter.circle_filled(at, R, stroke.color);
        }
    }
}

/// The answer line. It is never empty: without an answer it says what is missing next.
pub fn answer(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    ui.add_space(3.0);
    ui.horizontal_wrapped(|ui| {
        let answers = session.answers();
        let stale = answers.is_answering();
        let held = answers.answer();
        let missing = match (session.survey(), answers.fit(), held) {
            (None, ..) => Some(
                "No survey yet: prepare one from the plan, or import readings, to see the field"
                    .to_owned(),
            ),
            (_, Held::Failed(why, _), _) | (_, _, Held::Failed(why, _)) => Some(why.to_owned()),
            _ => None,
        };
        if let Some(missing) = missing {
            ui.label(missing);
            let next = if session.survey().is_none() {
                Step::Plan
            } else {
                Step::Readings
            };
            if session.step() != next && ui.button(format!("Go to {}", next.name())).clicked() {
                commands.push(Command::Go(next));
            }
            return;
        }
        match held.any() {
            None => {
                ui.weak("Working out the field");
            }
            Some(answer) => {
                let preferences = session.preferences();
                let mut parts = words::answer_line(answer, preferences);
                if stale {
                    // in the place of the count of warnings: one part more might take a line more, and move the picture
                    parts.truncate(3);
                    parts.push("updating".to_owned());
                }
                if is_low(ui.ctx()) {
                    // one line, most important first; all of it to whoever points at it
                    let all = parts.join("\n");
                    let line = RichText::new(parts.join("  |  "));
                    let line = if stale { line.weak() } else { line };
                    ui.add(egui::Label::new(line).truncate()).on_hover_text(all);
                    return;
                }
                for (i, part) in parts.into_iter().enumerate() {
                    if i > 0 {
                        ui.separator();
                    }
                    if stale {
                        ui.weak(part);
                    } else if i == 0 || (i == 1 && session.judged().is_some()) {
                        ui.strong(part);
                    } else {
                        ui.label(part);
                    }
                }
            }
        }
    });
    ui.add_space(3.0);
}

/// What an earlier run left, in a sentence or two.
fn left_unsaved(left: &LeftUnsaved) -> String {
    let mut text = format!("The program ended before {} was saved", left.name);
    if let Some(path) = &left.path {
        text += &format!(" to {}", path.display());
    }
    text += &match left.changes {
        1 => ". One change is kept".to_owned(),
        n => format!(". {n} changes are kept"),
    };
    if let Some(time) = left.changed.and_then(words::time) {
        text += &format!(", the last of {time}");
    }
    if let Some(last) = &left.last {
        text += &format!(": {last}");
    }
    if left.is_damaged {
        text += ". What came after them can't be read";
    }
    if left.may_run {
        text += ". The disk can't tell whether another window is still at it: look for one first";
    }
    text
}

/// A question that something would be lost over.
pub fn question(ctx: &Context, question: &Question, commands: &mut Vec<Command>) {
    // The button that Enter presses is the one that loses nothing.
    let saves = matches!(
        question,
        Question::Unsaved(_) | Question::TakeUp(_) | Question::TheirVersion(_)
    );
    let cancel = match question {
        Question::TakeUp(_) => "Ask again at the next start",
        _ => "Cancel",
    };
    let (title, text, yes, no) = match question {
        Question::Unsaved(_) => (
            "Save the changes?",
            "The station was changed since it was saved. Discarded changes are lost".to_owned(),
            "Save",
            Some("Discard changes"),
        ),
        Question::Replace(path) => (
            "Replace the file?",
            format!(
                "{} is there already. The previous version is kept beside it as .bak",
                path.display()
            ),
            "Replace",
            None,
        ),
        Question::ReplaceExports { folder, files } => (
            if files.len() == 1 {
                "Replace the file?"
            } else {
                "Replace the files?"
            },
            format!(
                "{} {}: {}. What they hold now is kept beside them as .bak where it differs",
                folder.display(),
                if files.len() == 1 {
                    "has a file of that name already".to_owned()
                } else {
                    format!("has {} files of these names already", files.len())
                },
                files.join(", ")
            ),
            "Replace",
            None,
        ),
        Question::ChangedOnDisk(path) => (
            "Replace the other version?",
            format!(
                "{} was changed by somebody else since it was opened. Save under another name to keep both, or replace it; the other version is kept as .bak",
                path.display()
            ),
            "Replace",
            None,
        ),
        Question::TheirVersion(path) => (
            "Show the other version?",
            format!(
                "{} was changed by somebody else. You have changed nothing, so nothing is lost by showing theirs",
                path.display()
            ),
            "Show theirs",
            None,
        ),
        Question::TakeUp(left) => (
            "Restore unsaved work?",
            left_unsaved(left),
            "Restore it",
            Some("Discard it"),
        ),
    };
    let modal = Modal::new(Id::unique("question")).show(ctx, |ui| {
        ui.set_width(420.0);
        ui.heading(title);
        ui.add_space(6.0);
        ui.label(text);
        ui.add_space(10.0);
        ui.horizontal(|ui| {
            let answers = [
                (Some(yes), Reply::Yes, saves),
                (no, Reply::No, false),
                (Some(cancel), Reply::Cancel, !saves),
            ];
            let mut usual = None;
            let mut focused = false;
            for (text, reply, is_usual) in answers {
                let Some(text) = text else { continue };
                let button = ui.button(text);
                focused |= button.has_focus();
                if button.clicked() {
                    commands.push(Command::Reply(reply));
                }
                if is_usual {
                    usual = Some(button);
                }
            }
            if let Some(usual) = usual.filter(|_| !focused) {
                usual.request_focus();
            }
        });
    });
    if modal.should_close() {
        commands.push(Command::Reply(Reply::Cancel));
    }
}
