//! What is typed comes in its order: a key that moves the keyboard has a frame of its own.
//!
//! A frame is given all that happened since the one before, and whoever has the keyboard when it begins is given all of it,
//! with what was meant for the next field or cell too. A person seldom types so fast; a meter that types what it shows
//! through a cable does, and so does anybody while the machine is busy. So what follows such a key waits for the next
//! frame, when the keyboard is where the key has brought it. Nothing is left out and nothing overtakes.

use eframe::egui::{Context, Event, Key, Plugin, RawInput};

/// From now on the events of this window come in turns.
pub fn install(ctx: &Context) {
    ctx.add_plugin(Turns::default());
}

/// Whether something typed waits for its turn.
pub fn is_waiting(ctx: &Context) -> bool {
    ctx.with_plugin(|turns: &mut Turns| !turns.waiting.is_empty()) == Some(true)
}

/// The events that wait for their turn.
#[derive(Default)]
struct Turns {
    waiting: Vec<Event>,
    /// The last frame had a key that moves the keyboard on to a place which may not be known before this one.
    moved: bool,
}

impl Plugin for Turns {
    fn debug_name(&self) -> &'static str {
        "turns"
    }

    fn input_hook(&mut self, ctx: &Context, input: &mut RawInput) {
        if self.waiting.is_empty() && input.events.is_empty() {
            self.moved = false;
            return;
        }
        let mut events = std::mem::take(&mut self.waiting);
        events.append(&mut input.events);
        let lost = self.moved && ctx.memory(|memory| memory.focused().is_none());
        let end = if lost {
            events.iter().position(is_typing).unwrap_or(events.len())
        } else {
            turn(&events)
        };
        self.waiting = events.split_off(end);
        self.moved = !lost && events.iter().any(|event| part(event) == Part::Turns);
        input.events = events;
        if !self.waiting.is_empty() {
            ctx.request_repaint();
        }
    }
}

/// What an event is in a run of them.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Part {
    /// Goes to whoever has the keyboard.
    Types,
    /// Ends what was typed before it, and goes to the same.
    Ends,
    /// May move the keyboard, or do something with what was typed so far.
    Turns,
    /// May give the keyboard to what is pointed at.
    Points,
    /// Neither.
    Other,
}

fn part(event: &Event) -> Part {
    match event {
        Event::Key {
            key: Key::Enter,
            pressed: true,
            modifiers,
            ..
        } if !modifiers.any() => Part::Ends,
        Event::Key {
            key,
            pressed: true,
            modifiers,
            ..
        } if modifiers.command || modifiers.ctrl || modifiers.alt || !is_of_text(*key) => {
            Part::Turns
        }
        Event::Key { pressed: true, .. } | Event::Text(_) | Event::Ime(_) => Part::Types,
        Event::Copy | Event::Cut | Event::Paste(_) => Part::Turns,
        Event::PointerButton { .. } => Part::Points,
        _ => Part::Other,
    }
}

fn is_typing(event: &Event) -> bool {
    matches!(part(event), Part::Types | Part::Ends | Part::Turns)
}

/// Whether a key writes, without Ctrl or Alt.
fn is_of_text(key: Key) -> bool {
    let is_function = key.name().len() > 1 && key.name().starts_with('F');
    !is_function
        && !matches!(
            key,
            Key::Enter
                | Key::Tab
                | Key::Escape
                | Key::Insert
                | Key::Delete
                | Key::Backspace
                | Key::ArrowUp
                | Key::ArrowDown
                | Key::ArrowLeft
                | Key::ArrowRight
                | Key::Home
                | Key::End
                | Key::PageUp
                | Key::PageDown
        )
}

/// How many of these events the next frame is given.
fn turn(events: &[Event]) -> usize {
    let (mut typed, mut pointed) = (false, false);
    for (i, event) in events.iter().enumerate() {
        match part(event) {
            Part::Types if pointed => return i,
            Part::Types => typed = true,
            Part::Ends if pointed => return i,
            Part::Ends => return i + 1,
            Part::Turns if typed || pointed => return i,
            Part::Turns => return i + 1,
            Part::Points if typed => return i,
            Part::Points => pointed = true,
            Part::Other => {}
        }
    }
    events.len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use eframe::egui::{Modifiers, PointerButton, pos2};

    fn text(text: &str) -> Event {
        Event::Text(text.to_owned())
    }

    fn key(key: Key, modifiers: Modifiers) -> Event {
        Event::Key {
            key,
            physical_key: None,
            pressed: true,
            repeat: false,
            modifiers,
        }
    }

    /// How many events each frame has.
    fn frames(mut events: Vec<Event>) -> Vec<usize> {
        let mut all = Vec::new();
        while !events.is_empty() {
            let n = turn(&events);
            all.push(n);
            events.drain(..n);
        }
        all
    }

    #[test]
    fn a_frame_ends_with_what_moves_the_keyboard() {
        let plain = Modifiers::NONE;
        let (enter, tab) = (key(Key::Enter, plain), key(Key::Tab, plain));
        let digits = || [key(Key::Num1, plain), text("1"), text("2")];
        // a meter: the value and Enter are one frame
        let mut two = digits().to_vec();
        two.push(enter.clone());
        two.extend(digits());
        two.push(enter);
        assert_eq!(frames(two), [4, 4]);
        // Tab is taken by the window before a field sees what was typed
        let mut with_tab = digits().to_vec();
        with_tab.push(tab.clone());
        with_tab.push(tab);
        with_tab.extend(digits());
        assert_eq!(frames(with_tab), [3, 1, 1, 3]);
    }

    #[test]
    fn commands_and_clicks_act_on_what_was_typed_before_them() {
        let save = key(Key::S, Modifiers::COMMAND);
        let press = Event::PointerButton {
            pos: pos2(1.0, 1.0),
            button: PointerButton::Primary,
            pressed: true,
            modifiers: Modifiers::NONE,
        };
        let moved = Event::PointerMoved(pos2(1.0, 1.0));
        let all = vec![text("7"), save, text("8"), moved, press.clone(), press];
        assert_eq!(frames(all), [1, 1, 2, 2]);
        let paste = Event::Paste("1\t2".to_owned());
        assert_eq!(frames(vec![paste, text("3")]), [1, 1]);
    }

    #[test]
    fn every_letter_and_digit_is_text() {
        let words = [
            Key::Space,
            Key::Comma,
            Key::Period,
            Key::Minus,
            Key::F,
            Key::Num7,
        ];
        assert!(words.into_iter().all(is_of_text));
        assert!(
            ![Key::F6, Key::F12, Key::Tab, Key::Home]
                .into_iter()
                .any(is_of_text)
        );
    }
}
