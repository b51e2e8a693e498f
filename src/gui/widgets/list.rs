//! A list to choose from, which opens on its present choice.

use eframe::egui::{Align, AsIdSalt, ComboBox, Response, Ui};

/// Shows a list of things with their names, told apart from other lists by `salt`, and takes the choice:
/// `response.changed()` says whether another one was picked.
pub fn list<T: PartialEq + Clone>(
    ui: &mut Ui,
    salt: impl AsIdSalt,
    now: &mut T,
    options: &[(T, impl AsRef<str>)],
) -> Response {
    let named = options.iter().find(|(option, _)| option == now);
    let name = named.map_or("", |(_, name)| name.as_ref());
    let mut picked = None;
    let shown = ComboBox::from_id_salt(salt)
        .selected_text(name.to_owned())
        .show_ui(ui, |ui| {
            for (option, name) in options {
                let row = ui.selectable_label(option == now, name.as_ref());
                open_on(ui, &row, option == now);
                if row.clicked() {
                    picked = Some(option.clone());
                    // picked by the keyboard, too, the list is done with
                    ui.close();
                }
            }
        });
    let mut response = shown.response;
    if let Some(picked) = picked {
        // the keyboard was in the list that is gone
        response.request_focus();
        if picked != *now {
            *now = picked;
            response.mark_changed();
        }
    }
    response
}

/// To be told of each row of an open list: when it opens, the keyboard goes to the present choice, and that comes into view.
/// The arrow keys go on from there.
pub fn open_on(ui: &Ui, row: &Response, is_present: bool) {
    if !is_present || ui.is_sizing_pass() {
        return;
    }
    let pass = ui.ctx().cumulative_pass_nr();
    let before = ui.data_mut(|data| {
        let before = data.get_temp::<u64>(ui.scope_id());
        data.insert_temp(ui.scope_id(), pass);
        before
    });
    if before.is_none_or(|before| before + 1 < pass) {
        row.request_focus();
        row.scroll_to_me(Some(Align::Center));
    }
}
