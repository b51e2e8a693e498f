//! What is asked and said.

use super::notice::Notice;
use crate::station::Where;

/// What is asked and said.
#[derive(Debug, Default)]
pub(super) struct Asking {
    pub notice: Option<Notice>,
    pub go_to: Option<Where>,
}
