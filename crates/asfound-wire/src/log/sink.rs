//! Where the items of a log go.

use super::LogItem;

/// Takes the items of a log in their order.
pub(super) trait Sink {
    /// Takes the next item.
    fn item(&mut self, item: LogItem<'_>);

    /// Everything that was read so far has been given, and reading on may take long: a log can be written while it is read.
    fn pause(&mut self) {}
}

/// A function that takes items.
pub(super) struct Plain<F>(pub F);

impl<F: FnMut(LogItem<'_>)> Sink for Plain<F> {
    #[inline]
    fn item(&mut self, item: LogItem<'_>) {
        (self.0)(item);
    }
}
