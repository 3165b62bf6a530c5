//! What every object has: names, a description, a place.

/// Names, description and place of an object.
#[derive(Debug, Clone, Default)]
pub(crate) struct Head {
    pub(crate) id: Option<Box<str>>,
    pub(crate) short_name: Box<str>,
    pub(crate) long_name: Option<Box<str>>,
    pub(crate) description: Option<Box<str>>,
    pub(crate) line: u32,
}

impl Head {
    /// What people call it: the long name, else the short one.
    pub(crate) fn label(&self) -> &str {
        self.long_name.as_deref().unwrap_or(&self.short_name)
    }
}
