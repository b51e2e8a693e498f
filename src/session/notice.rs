//! What is said to the person.

/// How a notice is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Something went well.
    Done,
    /// Something went wrong, and nothing was lost.
    Trouble,
}

/// One sentence for the person, shown until it is dismissed or replaced.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// How it is meant.
    pub tone: Tone,
    /// The sentence.
    pub text: String,
    /// More lines, such as the rows that could not be read.
    pub details: Vec<String>,
}

impl Notice {
    pub(super) fn done(text: impl Into<String>) -> Self {
        Self {
            tone: Tone::Done,
            text: text.into(),
            details: Vec::new(),
        }
    }

    pub(super) fn trouble(text: impl Into<String>) -> Self {
        Self {
            tone: Tone::Trouble,
            text: text.into(),
            details: Vec::new(),
        }
    }
}
