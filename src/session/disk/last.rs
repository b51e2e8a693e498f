//! What is known of the file, and of the last export.

use std::sync::Arc;

use crate::export::bundle::Sheets;
use crate::files::InUse;
use crate::station::Station;

/// What is known of who has the file open.
#[derive(Debug, Clone, Default)]
pub(super) struct Sign {
    /// Our own, when nobody else has it.
    pub mine: Option<Arc<InUse>>,
    /// Somebody else, as they call themselves.
    pub theirs: Option<String>,
}

/// What was exported last.
#[derive(Debug, Clone)]
pub(in crate::session) struct Exported {
    /// The document as it was then.
    pub station: Arc<Station>,
    /// The sheets written of it, by one export or by several.
    pub sheets: Sheets,
}
