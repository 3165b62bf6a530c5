//! QR codes, as squares to draw.

use qrcode::{EcLevel, QrCode as Code, types::Color};
use thiserror::Error;

/// A text that no QR code holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("the text is too long for a QR code")]
pub struct TooLong;

/// A QR code (ISO/IEC 18004) of a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QrCode {
    text: String,
    width: usize,
    dark: Vec<bool>,
}

impl QrCode {
    /// How many empty squares must be left around it.
    pub const QUIET: usize = 4;

    /// The code of a text, with a quarter of it to spare for damage (level Q).
    ///
    /// # Errors
    /// When the text is too long.
    pub fn of(text: &str) -> Result<Self, TooLong> {
        let code = Code::with_error_correction_level(text, EcLevel::Q).map_err(|_| TooLong)?;
        let dark = code.to_colors().into_iter().map(|colour| colour == Color::Dark).collect();
        Ok(Self { text: text.to_owned(), width: code.width(), dark })
    }

    /// What it says.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// How many squares it has in a row, without the empty ones around it.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Whether a square is dark; none outside the code is.
    pub fn is_dark(&self, column: usize, row: usize) -> bool {
        column < self.width && row < self.width && self.dark[row * self.width + column]
    }

    /// The code in letters: each holds two squares, one above the other, with ink for what is dark. What is empty around it
    /// is as wide as it must be.
    pub(crate) fn half_blocks(&self) -> String {
        let quiet = " ".repeat(Self::QUIET);
        let mut text = "\n".repeat(Self::QUIET / 2);
        for row in (0..self.width).step_by(2) {
            text.push_str(&quiet);
            let line: String = (0..self.width)
                .map(|column| match (self.is_dark(column, row), self.is_dark(column, row + 1)) {
                    (true, true) => '█',
                    (true, false) => '▀',
                    (false, true) => '▄',
                    (false, false) => ' ',
                })
                .collect();
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text.push_str(&"\n".repeat(Self::QUIET / 2));
        text
    }

    /// The dark runs of every row: column, row, length.
    pub(crate) fn runs(&self) -> Vec<(usize, usize, usize)> {
        let mut runs = Vec::new();
        for row in 0..self.width {
            let mut column = 0;
            while column < self.width {
                let length = (column..self.width).take_while(|at| self.is_dark(*at, row)).count();
                if length > 0 {
                    runs.push((column, row, length));
                }
                column += length.max(1);
            }
        }
        runs
    }
}
